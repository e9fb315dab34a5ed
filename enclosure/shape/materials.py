"""Which facts of the stock file does a design carry with it?

A design is read years later, without the stock file: what its parts are made of
is copied into it.
"""

from __future__ import annotations

from enclosure.shape.context import Context
from enclosure.shape.model import Material, Part

_SKINS = ("panel", "film")


def materials_of(ctx: Context, parts: tuple[Part, ...]) -> tuple[Material, ...]:
    """Return the facts of every material used, by key; a board that is a skin too has the facts of the skin."""
    used = sorted({(part.kind not in _SKINS, part.kind, part.material) for part in parts})
    rows: dict[str, Material] = {}
    for _, kind, key in used:
        rows.setdefault(key, _material(ctx, kind, key))
    return tuple(rows[key] for key in sorted(rows))


def _material(ctx: Context, kind: str, key: str) -> Material:
    stock = ctx.stock
    if kind in ("member", "diagonal", "batten"):
        timber = stock.timbers[key]
        per_metre = timber.thickness_mm * timber.width_mm * 1e-6 * timber.density_kg_m3
        return Material(
            key, timber.name, "timber", timber.thickness_mm, timber.width_mm, round(per_metre, 4), source=timber.source
        )
    if kind == "track":
        track = stock.tracks[key]
        sides = 2 if track.kind == "joiner" else 1
        width = track.web_mm + sides * track.slot_depth_mm
        return Material(key, track.name, "track", track.flange_mm, width, track.mass_kg_m, source=track.source)
    if kind in ("gusset", "lining"):
        board = stock.boards[key]
        return Material(
            key,
            board.name,
            "board",
            board.thickness_mm,
            mass_kg_m2=board.mass_kg_m2,
            u_value_w_m2k=board.u_value_w_m2k or 0.0,
            source=board.source,
        )
    skin = stock.skins[key]
    return Material(
        key,
        skin.name,
        skin.kind,
        skin.thickness_mm,
        mass_kg_m2=skin.mass_kg_m2,
        u_value_w_m2k=skin.u_value_w_m2k or 0.0,
        light=skin.light,
        alpha_1e6_k=skin.alpha_1e6_k,
        flutes=skin.flutes,
        stiffness_along_n_m=skin.stiffness_along_n_m,
        stiffness_across_n_m=skin.stiffness_across_n_m,
        source=skin.source,
    )
