"""Does a panel bear the wind and the snow without slipping out of its track or breaking?

A panel is judged by what ends it first in practice: sagging so far that its
edges draw out of the slots, then stress. Each kind of skin has its own judge;
all give rows of (demand, capacity). The same judges serve the span limits that
the shape is built with (`span`), so the shape and the check cannot disagree.

Units: mm, Pa, MPa.

References: `plates`; the limits are common practice or from memory and say so.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks import plates
from enclosure.checks.model import Line, SourceKind
from enclosure.language import tr
from enclosure.stock.model import Skin

SAG_SHARE = 20.0
"""Sag at most a twentieth of the shorter side ..."""
SAG_MOST_MM = 50.0
"""... or 50 mm (common practice, no source)."""
COVER_LEFT_MM = 5.0
"""Edge cover that must be left in a gust (common practice, no source)."""

PLASTIC_ALLOWED_MPA = {"multiwall": 20.0, "acrylic": 15.0, "foam board": 0.05}
"""Yield (60, 70 MPa; bending strength 0.15 MPa for the foam) over 3 to 4.5; from memory."""
GLASS_ALLOWED_MPA = 23.3
GLASS_LONG_MPA = 10.0
"""Annealed glass, 8 breakages in 1000: 3 s gust, and a month of snow (ASTM E1300, from memory)."""
FILM_ALLOWED_MPA = 6.0
FILM_E_MPA = 200.0
MODULUS_MPA = {
    "multiwall": plates.POLYCARBONATE_E_MPA, "glass": 70000.0, "acrylic": 3100.0, "foam board": 6.0, "film": FILM_E_MPA,
}  # fmt: skip
"""Short-term modulus of elasticity of the solid stuff (from memory)."""
FILM_SAG_SHARE = 8.0


@dataclass(frozen=True, slots=True)
class PanelLoad:
    """Net pressures on one panel [Pa]: wind either way, and snow lying for weeks."""

    push_pa: float
    pull_pa: float
    snow_pa: float = 0.0


@dataclass(frozen=True, slots=True)
class Verdict:
    """One demand against one capacity of one panel."""

    what: str
    demand: float
    capacity: float
    unit: str
    source: str
    source_kind: SourceKind
    lines: tuple[Line, ...]

    @property
    def utilisation(self) -> float:
        """Demand over capacity; infinite when there is no capacity at all."""
        if self.capacity <= 0.0:
            return math.inf if self.demand > 0 else 0.0
        return self.demand / self.capacity


def stiffnesses(skin: Skin, long_term: bool) -> tuple[float, float, float]:
    """Return (D along, D across, membrane A) [N m, N m, N/m] of a skin, softer under lasting load."""
    along, across = skin.stiffness_along_n_m, skin.stiffness_across_n_m
    share = plates.POLYCARBONATE_E_LONG_MPA / plates.POLYCARBONATE_E_MPA if long_term else 1.0
    if skin.kind == "multiwall":
        along = along or plates.multiwall_stiffness(skin.mass_kg_m2, skin.thickness_mm)
        membrane = plates.multiwall_membrane(skin.mass_kg_m2)
        return along * share, (across or along / 5.0) * share, membrane * share
    modulus = MODULUS_MPA[skin.kind]
    flat = plates.flat_stiffness(modulus, skin.thickness_mm)
    if skin.kind == "glass":
        share = 1.0
    membrane = 0.0 if skin.kind == "foam board" else modulus * 1000.0 * skin.thickness_mm
    return (along or flat) * share, (across or flat) * share, membrane * share


def judge(skin: Skin, along: float, across: float, load: PanelLoad, cover: float | None = None) -> tuple[Verdict, ...]:
    """Return every verdict on one panel.

    Args:
        skin: The skin.
        along: Free size along the flutes (or the height) [mm].
        across: Free size across the flutes [mm].
        load: Net pressures.
        cover: Edge cover at the coldest [mm]; the skin's least cover when None.
    """
    if skin.kind == "film":
        return _film(skin, along, across, load)
    if skin.kind == "glass":
        return _glass(skin, along, across, load)
    held = skin.least_cover_mm if cover is None else cover
    verdicts: list[Verdict] = []
    for name, pressure, lasting in _cases(load):
        verdicts += _plate(skin, along, across, pressure, name, held, lasting)
    return tuple(verdicts)


def worst(verdicts: tuple[Verdict, ...]) -> Verdict:
    """Return the verdict with the greatest utilisation (the first of equals)."""
    return max(verdicts, key=lambda v: v.utilisation)


def _cases(load: PanelLoad) -> list[tuple[str, float, bool]]:
    cases = [("wind", max(load.push_pa, load.pull_pa), False)]
    if load.snow_pa > 0.0:
        cases.append(("snow", load.snow_pa, True))
    return cases


def _plate(
    skin: Skin, along: float, across: float, pressure: float, name: str, cover: float, lasting: bool
) -> list[Verdict]:
    d1, d2, membrane = stiffnesses(skin, lasting)
    short = min(along, across)
    sag = plates.plate_sag(pressure, along, across, d1, d2, membrane)
    book = tr("Theory of Plates and Shells, articles 30, 85, 101")
    skins = tr("membrane stiffness, 3/4 of the plastic in the skins (from memory)")
    common = (
        Line("q", "", "", pressure, "Pa", tr("net {load} pressure").format(load=tr(name))),
        Line("a", "", "", along, "mm", tr("free size along the flutes")),
        Line("b", "", "", across, "mm", tr("free size across the flutes")),
        Line(
            "Dx, Dy",
            "",
            tr("{along:.2f} and {across:.2f}").format(along=d1, across=d2),
            d1,
            "N m",
            tr("stock list, softened for lasting load") if lasting else tr("stock list"),
        ),
        Line("A", "", "", membrane, "N/m", skins),
        Line("d", "K d + N d³ = 16 q / pi⁶", tr("orthotropic plate, edges free to slide"), sag, "mm", book),
    )
    rows = [_sagging(name, sag, short, common)]
    if skin.fixing == "track":
        rows.append(_drawing(name, sag, short, cover, common))
    rows.append(_stressed(skin, name, sag, short, lasting, common))
    return rows


def _sagging(name: str, sag: float, short: float, common: tuple[Line, ...]) -> Verdict:
    limit = min(short / SAG_SHARE, SAG_MOST_MM)
    words = f"min({short:.0f}/20, 50)"
    lines = (*common, Line(tr("d most"), "min(b/20, 50)", words, limit, "mm", tr("common practice, no source")))
    source = tr("sag <= b/20 and 50 mm; common practice, no source")
    return Verdict(f"sag under {name}", sag, limit, "mm", source, "practice", lines)


def _drawing(name: str, sag: float, short: float, cover: float, common: tuple[Line, ...]) -> Verdict:
    drawn = plates.pull_in(sag, short)
    room = cover - COVER_LEFT_MM
    words = f"4 x {sag:.1f}² / (3 x {short:.0f})"
    lines = (
        *common,
        Line("u", "4 d² / 3 b", words, drawn, "mm", tr("statics of an arc")),
        Line(
            tr("room"), tr("cover - 5"), f"{cover:.1f} - 5", room, "mm", tr("cover when coldest and pushed to one side")
        ),
    )
    source = tr("arc of a flat parabola; 5 mm left is common practice, no source")
    return Verdict(f"draw from the track under {name}", drawn, room, "mm", source, "practice", lines)


def _stressed(skin: Skin, name: str, sag: float, short: float, lasting: bool, common: tuple[Line, ...]) -> Verdict:
    modulus = MODULUS_MPA[skin.kind]
    stress = plates.curvature_stress(sag, short, skin.thickness_mm, modulus)
    allowed = PLASTIC_ALLOWED_MPA[skin.kind] * (0.6 if lasting else 1.0)
    words = f"{modulus:.0f} x {skin.thickness_mm:g}/2 x pi² x {sag:.1f}/{short:.0f}²"
    lines = (*common, Line("sigma", "E t/2 pi² d/b²", words, stress, "MPa", tr("sheet bent to a half sine")))
    source = tr("yield over 3 or more; from memory")
    return Verdict(f"stress under {name}", stress, allowed, "MPa", source, "memory", lines)


def _glass(skin: Skin, along: float, across: float, load: PanelLoad) -> tuple[Verdict, ...]:
    short, long = sorted((along, across))
    rows = []
    for name, pressure, lasting in _cases(load):
        stress = plates.glass_stress(pressure, short, long, skin.thickness_mm)
        allowed = GLASS_LONG_MPA if lasting else GLASS_ALLOWED_MPA
        rows.append(
            Verdict(
                f"stress under {name}",
                stress,
                allowed,
                "MPa",
                tr("ASTM E1300 annealed glass (from memory)"),
                "memory",
                (
                    Line("q", "", "", pressure, "Pa", tr("net {load} pressure").format(load=tr(name))),
                    Line(
                        "sigma",
                        "beta q b²/t²",
                        f"b {short:.0f} mm, t {skin.thickness_mm:g} mm",
                        stress,
                        "MPa",
                        tr("Theory of Plates and Shells, table 8"),
                    ),
                ),
            )
        )
    if skin.max_pane_m2:
        area = short * long * 1e-6
        rows.append(
            Verdict(
                "size of the pane",
                area,
                skin.max_pane_m2,
                "m²",
                tr("stock list's largest pane; common practice, no source"),
                "practice",
                (Line(tr("area"), "a b", f"{along:.0f} x {across:.0f}", area, "m²", ""),),
            )
        )
    return tuple(rows)


def _film(skin: Skin, along: float, across: float, load: PanelLoad) -> tuple[Verdict, ...]:
    span = min(along, across)
    rows = []
    for name, pressure, lasting in _cases(load):
        modulus = FILM_E_MPA * (0.5 if lasting else 1.0)
        pull = plates.film_pull(pressure, span, modulus, skin.thickness_mm)
        stress, sag = pull / skin.thickness_mm / 1000.0, plates.film_sag(pressure, span, pull)
        lines = (
            Line("q", "", "", pressure, "Pa", tr("net {load} pressure").format(load=tr(name))),
            Line(
                "T",
                "(E t q² L²/24)^(1/3)",
                f"L {span:.0f} mm, t {skin.thickness_mm:g} mm, E {modulus:.0f} MPa",
                pull,
                "N/m",
                tr("flat taut strip"),
            ),
            Line(
                "d",
                "q L²/8 T",
                f"{pressure:.0f} x {span / 1000:.3f}² / (8 x {pull:.0f})",
                sag,
                "mm",
                tr("statics"),
            ),
        )
        allowed = FILM_ALLOWED_MPA * (0.5 if lasting else 1.0)
        rows.append(
            Verdict(
                f"pull under {name}",
                stress,
                allowed,
                "MPa",
                tr("half the yield of polyethylene; from memory"),
                "memory",
                lines,
            )
        )
        rows.append(
            Verdict(
                f"sag under {name}",
                sag,
                span / FILM_SAG_SHARE,
                "mm",
                tr("sag <= L/8, so that water or snow does not pocket; common practice, no source"),
                "practice",
                lines,
            )
        )
    return tuple(rows)
