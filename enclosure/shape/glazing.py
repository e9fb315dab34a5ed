"""Which panels, films, boards, battens and track cover a frame?

Chooses by the skin's way of fixing: in track (multiwall, glass, acrylic), under
battens (film), or screwed with washers (foam board).
Units: mm, local coordinates of the frame's plane.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from enclosure.errors import DesignError
from enclosure.shape.context import WASHER_JOINT_MM, Context
from enclosure.shape.fit import AxisFit, fit_axis, floor_to
from enclosure.shape.frame import lowered, top_line, under
from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Fit, Part, Point, SheetCut, StickCut
from enclosure.shape.space import area, box, clip, extent, level_at, ordered, slab, tidy
from enclosure.shape.track_zone import SASH_PLAY_MM, Zone, cover_zone

FILM_LAP_MM = 60.0
"""Film beyond the frame on every side, to turn round it under the batten; practice, no source."""
FILM_SOLID_MM = 0.2
LEAST_LAP_MM = 3.0
"""Of a screwed board over its member in the cold; practice, no source."""


def glazing(ctx: Context, grid: FrameGrid, members: list[Part]) -> list[Part]:
    """Return everything that covers one frame, marks still empty.

    Args:
        ctx: Brief, stock and choices.
        grid: The frame's lines.
        members: The frame's members, over which battens are laid.
    """
    fixing = ctx.stock.skins[grid.skin].fixing
    if fixing == "batten":
        return _film(ctx, grid, members)
    if fixing == "washers":
        return _boards(ctx, grid)
    ceilings = tuple((bay, grid.vent.low) for bay in grid.vent.bays) if grid.vent else ()
    zone = Zone(grid.glazed, grid.bay_lines, grid.tier_lines, 1, grid.first_tier, ceilings)
    parts = cover_zone(ctx, grid, zone)
    for bay, low in ceilings:
        below = max(p.tier for p in parts if p.kind == "panel" and p.bay == bay)
        parts += cover_zone(ctx, grid, _sash(ctx, grid, bay, low, below))
    return parts


def _sash(ctx: Context, grid: FrameGrid, bay: int, low: float, tier_below: int) -> Zone:
    """A vent: a sash with edge channel all round, hung between the joiners' mouths."""
    edge, joiner = ctx.track(grid.skin, "edge"), ctx.track(grid.skin, "joiner")
    left, _, right, top = extent(grid.glazed)
    lines = [left, *grid.bay_lines, right]
    from_edge = edge.web_mm + edge.slot_depth_mm
    from_joiner = joiner.web_mm / 2 + joiner.slot_depth_mm
    start = lines[bay - 1] + (from_edge if bay == 1 else from_joiner) + SASH_PLAY_MM
    end = lines[bay] - (from_edge if bay == len(lines) - 1 else from_joiner) - SASH_PLAY_MM
    outline = under(box(start, low + SASH_PLAY_MM, end, top + 1), lowered(top_line(grid.glazed), SASH_PLAY_MM))
    return Zone(outline, (), (), bay, tier_below + 1, vent=True)


def _film(ctx: Context, grid: FrameGrid, members: list[Part]) -> list[Part]:
    skin, lath = ctx.stock.skins[grid.skin], ctx.lath
    left, bottom, right, top = extent(grid.outline)
    width = floor_to(right - left + 2 * FILM_LAP_MM, ctx.step)
    height = floor_to(top - bottom + 2 * FILM_LAP_MM, ctx.step)
    parts: list[Part] = []
    out = 0.0
    for layer in range(1, skin.layers + 1):
        solid = slab(grid.plane, grid.glazed, out, out + FILM_SOLID_MM)
        out += FILM_SOLID_MM
        cut = SheetCut(width, height, box(0, 0, width, height), turnable=True)
        mass = round(width * height * 1e-6 * skin.mass_kg_m2, 4)
        tier = grid.first_tier
        parts.append(
            Part("", "film", "film", grid.face, grid.level, 0, tier, skin.key, cut, (solid,), mass, layer=layer)
        )
        for member in members:
            if member.role not in ("transom", "purlin", "ridge"):
                parts.append(_batten(ctx, grid, member, out, layer))
        out += lath.thickness_mm
    return parts


def _batten(ctx: Context, grid: FrameGrid, member: Part, out: float, layer: int) -> Part:
    lath = ctx.lath
    face = _face_of(grid, member)
    for left, right in lowered(top_line(grid.glazed), 0.0):
        face = clip(face, right, left)
    outline, long = _narrowed(face, lath.width_mm)
    solid = slab(grid.plane, outline, out, out + lath.thickness_mm)
    assert isinstance(member.cut, StickCut)
    mass = round(abs(area(outline)) * lath.thickness_mm * 1e-9 * lath.density_kg_m3, 4)
    length = member.cut.length_mm if outline == face else floor_to(long, ctx.step)
    cut = replace(member.cut, length_mm=length, bevel_deg=0.0, bevel_low_mm=0.0)
    return Part(
        "",
        "batten",
        "batten",
        grid.face,
        grid.level,
        member.bay,
        0,
        lath.key,
        cut,
        (solid,),
        mass,
        layer=layer,
        lift_out=member.lift_out,
    )


def _narrowed(face: tuple[Point, ...], width: float) -> tuple[tuple[Point, ...], float]:
    """Return a strip of some width along the middle of a member's face, the whole of a narrow one, and its length."""
    p, q = max(zip(face, (*face[1:], face[0]), strict=True), key=lambda edge: math.dist(*edge))
    long = math.dist(p, q)
    along = ((q[0] - p[0]) / long, (q[1] - p[1]) / long)
    across = [a * -along[1] + b * along[0] for a, b in face]
    strip = face
    if max(across) - min(across) > width + 0.5:
        for side in (-1.0, 1.0):
            off = (max(across) + min(across)) / 2 + side * width / 2
            start = (-along[1] * off, along[0] * off)
            end = (start[0] + along[0], start[1] + along[1])
            strip = clip(strip, start, end) if side < 0 else clip(strip, end, start)
    run = [a * along[0] + b * along[1] for a, b in strip]
    return strip, max(run) - min(run)


def _face_of(grid: FrameGrid, member: Part) -> tuple[Point, ...]:
    """Return the member's outside face in the frame's (a, b)."""
    solid = member.solids[0]
    if not isinstance(member.cut, StickCut) or member.cut.bevel_deg == 0.0:
        return solid.outline
    left, _, right, _ = extent(grid.outline)
    outer = [b for depth, b in solid.outline if depth < 1e-6]
    return box(left, min(outer), right, max(outer))


def _boards(ctx: Context, grid: FrameGrid) -> list[Part]:
    """Screwed boards: butted over the members with a small joint, clamped by washers."""
    skin = ctx.stock.skins[grid.skin]
    left, bottom, right, _ = extent(grid.glazed)
    lines = [left, *grid.bay_lines, right]
    stretches = lowered(top_line(grid.glazed), 0.0)
    parts = []
    for bay, (start, end) in enumerate(itertools.pairwise(lines), start=1):
        across = fit_axis(end - start, grid.member_face / 2, skin.alpha_1e6_k, ctx.climate, WASHER_JOINT_MM, ctx.step)
        lowest = min(level_at(grid.glazed, start), level_at(grid.glazed, end))
        floors = [bottom, *[b for b in grid.tier_lines if b < lowest - 100]]
        for row, floor in enumerate(floors):
            is_last = row == len(floors) - 1
            ceiling = stretches if is_last else [((start, floors[row + 1]), (end, floors[row + 1]))]
            room = under(box(start, floor, end, 1e5), ceiling)
            parts.append(_board(ctx, grid, bay, grid.first_tier + row, room, across))
    return parts


def _board(
    ctx: Context, grid: FrameGrid, bay: int, tier: int, room: tuple[Point, ...], across: AxisFit
) -> Part:
    skin = ctx.stock.skins[grid.skin]
    start, floor, _, top = extent(room)
    width, gap_a = across.size, across.clearance
    along = fit_axis(top - floor, grid.member_face / 2, skin.alpha_1e6_k, ctx.climate, WASHER_JOINT_MM, ctx.step)
    left, foot = start + gap_a, floor + along.needed
    stretches = [pair for p, q in lowered(top_line(room), 0.0) for pair in lowered((p, q), along.needed)]
    inner = under(box(left, foot, left + width, 1e5), stretches)
    corners = [(tidy(a - left), floor_to(b - foot, ctx.step) if b > foot + 1 else 0.0) for a, b in inner]
    outline = ordered(corners)
    _, _, wide, high = extent(outline)
    solid = slab(grid.plane, tuple((a + left, b + foot) for a, b in outline), 0.0, skin.thickness_mm)
    shrink = (
        skin.alpha_1e6_k * 1e-6 * (ctx.climate.cut_degc - ctx.climate.coldest_degc) * wide / 2,
        skin.alpha_1e6_k * 1e-6 * (ctx.climate.cut_degc - ctx.climate.coldest_degc) * high / 2,
    )
    half = grid.member_face / 2
    cover = (tidy(half - gap_a - shrink[0]), tidy(half - along.needed - shrink[1]))
    if min(cover) < LEAST_LAP_MM:
        raise DesignError(
            f"{grid.face} bay {bay} tier {tier}: at {ctx.climate.coldest_degc:.0f} degC the board lies only "
            f"{min(cover):.1f} mm over its {grid.member_face:g} mm timber; the least is {LEAST_LAP_MM:g} mm",
            "use a wider section (frame.section, frame.roof_section, frame.on_edge), or more bays or tiers",
        )
    fit = Fit(
        half,
        (gap_a, along.needed),
        (across.needed, along.needed),
        cover,
        LEAST_LAP_MM,
        (across.movement, along.movement),
        ctx.climate.hottest_degc,
        ctx.climate.coldest_degc,
        ctx.climate.cut_degc,
    )
    mass = round(abs(area(outline)) * 1e-6 * skin.mass_kg_m2, 4)
    cut = SheetCut(wide, high, outline, turnable=not skin.flutes)
    return Part("", "panel", "panel", grid.face, grid.level, bay, tier, skin.key, cut, (solid,), mass, fit=fit)
