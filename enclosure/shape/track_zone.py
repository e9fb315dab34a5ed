"""Which panels and which track cover one zone of a frame?

A zone is a convex area with a level foot, upright sides and a level, sloped or
pointed top. Edge channel lies along its edges, joiners on its bay lines and
tier lines; uprights of track run through, the level pieces stand between them,
all cut square except where they meet a slope. Each panel is as large as the
webs allow after its edge clearance.

Left out: films and screwed boards (`glazing`), which need no track.
Units: mm, local coordinates of the frame's plane; c counts outward.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

from enclosure.errors import DesignError
from enclosure.shape.context import Context, takes
from enclosure.shape.fit import AxisFit, demand_cover, fit_axis, floor_to, needed_clearance
from enclosure.shape.frame import lowered, slope_deg, top_line, under
from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Fit, Hole, Part, Point, SheetCut, StickCut
from enclosure.shape.space import area, box, clip, extent, level_at, ordered, slab, tidy
from enclosure.stock.model import Skin, Track

LEAST_PANEL_MM = 30.0
SASH_PLAY_MM = 3.0
"""Play all round a vent sash; practice, no source."""
HOLE_STEP_MM = 400.0
HOLE_EDGE_MM = 50.0
BUTTON_SCREW_MM = 5.0
HOLE_OVERSIZE_MM = 8.0
"""A panel's fixing hole is this much larger than its screw; practice, no source (6 to 10 mm)."""


@dataclass(frozen=True, slots=True)
class Zone:
    """What is to be covered, and the words for it.

    `ceilings` lowers the top of single bays (the part below a vent).
    """

    outline: tuple[Point, ...]
    bay_lines: tuple[float, ...]
    tier_lines: tuple[float, ...]
    first_bay: int
    first_tier: int
    ceilings: tuple[tuple[int, float], ...] = ()
    vent: bool = False


@dataclass(frozen=True, slots=True)
class _Kit:
    """The zone's track and skin, resolved once."""

    ctx: Context
    grid: FrameGrid
    zone: Zone
    skin: Skin
    edge: Track
    joiner: Track
    top: Track
    base: Track

    def band(self, track: Track) -> float:
        return track.web_mm + track.slot_depth_mm


def cover_zone(ctx: Context, grid: FrameGrid, zone: Zone) -> list[Part]:
    """Return the panels and track pieces of one zone, marks still empty."""
    skin = ctx.stock.skins[grid.skin]
    edge, joiner = ctx.track(grid.skin, "edge"), ctx.track(grid.skin, "joiner")
    kinds = {t.kind for t in ctx.stock.tracks.values() if takes(t, skin)}
    kit = _Kit(
        ctx,
        grid,
        zone,
        skin,
        edge,
        joiner,
        ctx.track(grid.skin, "cap") if "cap" in kinds else edge,
        ctx.track(grid.skin, "base") if "base" in kinds else edge,
    )
    parts = _upright_tracks(kit)
    left, _, right, _ = extent(zone.outline)
    lines = [left, *zone.bay_lines, right]
    for index in range(len(lines) - 1):
        parts += _bay(kit, index, lines)
    return parts


def _piece(
    kit: _Kit,
    track: Track,
    role: str,
    band: tuple[Point, ...],
    web: tuple[Point, ...],
    cut: StickCut,
    bay: int,
    tier: int,
    *,
    lifts: bool = False,
) -> Part:
    where = kit.grid.plane
    flange, slot = track.flange_mm, track.slot_width_mm
    solids = (
        slab(where, band, 0.0, flange),
        slab(where, web, flange, flange + slot),
        slab(where, band, flange + slot, 2 * flange + slot),
    )
    mass = round(cut.length_mm / 1000 * track.mass_kg_m, 4)
    grid, vent = kit.grid, kit.zone.vent
    lift_out = lifts and grid.lift_out_sill and not vent
    return Part(
        "", "track", role, grid.face, grid.level, bay, tier, track.key, cut, solids, mass, vent=vent, lift_out=lift_out
    )


def _upright_tracks(kit: _Kit) -> list[Part]:
    zone, edge, joiner = kit.zone, kit.edge, kit.joiner
    left, bottom, right, top = extent(zone.outline)
    ceiling = lowered(top_line(zone.outline), 0.0)
    width = kit.band(edge)
    half_web, half_band = joiner.web_mm / 2, joiner.web_mm / 2 + joiner.slot_depth_mm
    rows = [
        (edge, "edge channel", (left, left + width), (left, left + edge.web_mm), zone.first_bay),
        *[
            (
                joiner,
                "joiner",
                (line - half_band, line + half_band),
                (line - half_web, line + half_web),
                zone.first_bay + i,
            )
            for i, line in enumerate(zone.bay_lines)
        ],
        (
            edge,
            "edge channel",
            (right - width, right),
            (right - edge.web_mm, right),
            zone.first_bay + len(zone.bay_lines),
        ),
    ]
    parts = []
    for track, role, band_span, web_span, bay in rows:
        band = under(box(band_span[0], bottom, band_span[1], top + 1), ceiling)
        web = under(box(web_span[0], bottom, web_span[1], top + 1), ceiling)
        tops = [level_at(band, a) for a in band_span]
        angle = round(math.degrees(math.atan(abs(tops[0] - tops[1]) / (band_span[1] - band_span[0]))), 3)
        cut = StickCut(floor_to(max(b for _, b in band) - bottom, kit.ctx.step), 0.0, angle)
        parts.append(_piece(kit, track, role, band, web, cut, bay, 0, lifts=role == "joiner"))
    return parts


def _bay(kit: _Kit, index: int, lines: list[float]) -> list[Part]:
    zone = kit.zone
    bay = zone.first_bay + index
    left_half, left_slot = _side(kit, index == 0)
    right_half, right_slot = _side(kit, index == len(lines) - 2)
    webs = (lines[index] + left_half, lines[index + 1] - right_half)
    mouths = (webs[0] + left_slot, webs[1] - right_slot)
    if mouths[1] - mouths[0] < 20.0:
        raise DesignError(
            f"{kit.grid.face} bay {bay} is only {mouths[1] - mouths[0]:.0f} mm wide between its tracks",
            "ask for fewer bays, or a wider shelter",
        )
    bottom = extent(zone.outline)[1]
    line = top_line(zone.outline)
    ceiling = dict(zone.ceilings).get(bay)
    if ceiling is not None:
        line = ((lines[index], ceiling), (lines[index + 1], ceiling))
    floors = [bottom, *[b for b in zone.tier_lines if b < _lowest(line, webs) - 2 * kit.band(kit.edge) - 60]]
    parts: list[Part] = []
    for row, floor in enumerate(floors):
        tier = zone.first_tier + row
        is_last = row == len(floors) - 1
        parts += _level_tracks(kit, bay, tier, floor, row == 0, mouths)
        if is_last:
            parts += _top_tracks(kit, bay, tier, line, mouths)
            cell_line = lowered(line, kit.top.web_mm)
        else:
            above = floors[row + 1] - kit.joiner.web_mm / 2
            cell_line = [((webs[0] - 1, above), (webs[1] + 1, above))]
        low_web = floor + (kit.base.web_mm if row == 0 else kit.joiner.web_mm / 2)
        parts.append(_panel(kit, bay, tier, webs, low_web, cell_line, min(left_slot, right_slot)))
    return parts


def _side(kit: _Kit, is_end: bool) -> tuple[float, float]:
    if is_end:
        return kit.edge.web_mm, kit.edge.slot_depth_mm
    return kit.joiner.web_mm / 2, kit.joiner.slot_depth_mm


def _lowest(line: tuple[Point, ...], webs: tuple[float, float]) -> float:
    points = ordered([(line[0][0], -1e4), (line[-1][0], -1e4), *reversed(line)])
    return min(level_at(points, max(webs[0], line[0][0])), level_at(points, min(webs[1], line[-1][0])))


def _level_tracks(
    kit: _Kit, bay: int, tier: int, floor: float, is_foot: bool, mouths: tuple[float, float]
) -> list[Part]:
    if is_foot:
        track, role = kit.base, "edge channel"
        low, high = floor, floor + kit.band(track)
        web = (floor, floor + track.web_mm)
    else:
        track, role = kit.joiner, "joiner"
        half = track.web_mm / 2
        low, high = floor - half - track.slot_depth_mm, floor + half + track.slot_depth_mm
        web = (floor - half, floor + half)
    # the foot channel stays on the frame; what has a tier goes on and off with its panel
    cut = StickCut(floor_to(mouths[1] - mouths[0], kit.ctx.step))
    return [
        _piece(
            kit,
            track,
            role,
            box(mouths[0], low, mouths[1], high),
            box(mouths[0], web[0], mouths[1], web[1]),
            cut,
            bay,
            0 if is_foot else tier,
            lifts=is_foot,
        )
    ]


def _top_tracks(kit: _Kit, bay: int, tier: int, line: tuple[Point, ...], mouths: tuple[float, float]) -> list[Part]:
    track = kit.top
    parts = []
    for p, q in itertools.pairwise(line):
        left, right = max(p[0], mouths[0]), min(q[0], mouths[1])
        if right - left < 1.0:
            continue
        column = box(left, min(p[1], q[1]) - 400.0, right, max(p[1], q[1]) + 1.0)
        ((low_p, low_q),) = lowered((p, q), kit.band(track))
        ((web_p, web_q),) = lowered((p, q), track.web_mm)
        below_edge = clip(column, q, p)
        band = clip(below_edge, low_p, low_q)
        web = clip(below_edge, web_p, web_q)
        angle = slope_deg(p, q)
        along = (right - left) / math.cos(math.radians(angle)) + kit.band(track) * math.tan(math.radians(angle))
        cut = StickCut(floor_to(along, kit.ctx.step), angle, -angle if angle else 0.0)
        parts.append(_piece(kit, track, "edge channel", band, web, cut, bay, tier))
    return parts


def _panel(
    kit: _Kit,
    bay: int,
    tier: int,
    webs: tuple[float, float],
    low_web: float,
    ceiling: list[tuple[Point, Point]],
    side_slot: float,
) -> Part:
    skin, ctx = kit.skin, kit.ctx
    name = f"{kit.grid.face} bay {bay} tier {tier}"
    across = fit_axis(webs[1] - webs[0], side_slot, skin.alpha_1e6_k, ctx.climate, skin.cut_tolerance_mm, ctx.step)
    room = under(box(webs[0], low_web, webs[1], 1e5), ceiling)
    tallest = extent(room)[3] - low_web if len(room) > 2 else 0.0
    if tallest < LEAST_PANEL_MM:
        raise DesignError(
            f"{name} has {max(tallest, 0.0):.0f} mm between its tracks; a panel needs {LEAST_PANEL_MM:.0f} mm",
            "ask for fewer tiers, a smaller vent or none, or a higher shelter",
        )
    along_slot = min(kit.base.slot_depth_mm, kit.top.slot_depth_mm, kit.joiner.slot_depth_mm)
    along = fit_axis(tallest, along_slot, skin.alpha_1e6_k, ctx.climate, skin.cut_tolerance_mm, ctx.step)
    if min(across.size, along.size) < LEAST_PANEL_MM:
        raise DesignError(f"{name} would be only {across.size:g} x {along.size:g} mm", "ask for fewer bays or tiers")
    left = webs[0] + across.clearance
    if all(abs(p[1] - q[1]) < 1e-6 for p, q in ceiling):
        outline = box(0, 0, across.size, along.size)
        foot = low_web + along.clearance
    else:
        outline, along, foot = _sloped(kit, across, along, left, low_web, ceiling, tallest, along_slot)
    demand_cover(name, "side", across, skin.least_cover_mm, side_slot, ctx.climate)
    demand_cover(name, "end", along, skin.least_cover_mm, along_slot, ctx.climate)
    return _make_panel(kit, bay, tier, outline, (left, foot), (across, along), min(side_slot, along_slot))


def _sloped(
    kit: _Kit,
    across: AxisFit,
    along: AxisFit,
    left: float,
    low_web: float,
    ceiling: list[tuple[Point, Point]],
    tallest: float,
    slot: float,
) -> tuple[tuple[Point, ...], AxisFit, float]:
    ctx, skin = kit.ctx, kit.skin
    gap = needed_clearance(tallest, skin.alpha_1e6_k, ctx.climate, skin.cut_tolerance_mm)
    foot = low_web + gap
    limits = [pair for p, q in ceiling for pair in lowered((p, q), gap)]
    room = under(box(left, foot, left + across.size, 1e5), limits)
    corners = [(0.0, 0.0), (across.size, 0.0)]
    corners.append((across.size, floor_to(level_at(room, left + across.size) - foot, ctx.step)))
    apex = [a for a, b in room if left + 1 < a < left + across.size - 1 and b > foot + 1]
    corners += [(tidy(a - left), floor_to(level_at(room, a) - foot, ctx.step)) for a in apex]
    corners.append((0.0, floor_to(level_at(room, left) - foot, ctx.step)))
    outline = ordered(corners)
    size = extent(outline)[3]
    clearance = gap + ctx.step / 2
    shrink = along.slot_depth_that_would_do - 2 * along.clearance
    cover = slot - 2 * clearance - shrink
    fit = AxisFit(size, tidy(clearance), along.needed, tidy(cover), along.movement, 2 * clearance + shrink)
    return outline, fit, foot


def _make_panel(
    kit: _Kit,
    bay: int,
    tier: int,
    outline: tuple[Point, ...],
    foot: Point,
    fits: tuple[AxisFit, AxisFit],
    slot: float,
) -> Part:
    skin, ctx, grid = kit.skin, kit.ctx, kit.grid
    placed = tuple((a + foot[0], b + foot[1]) for a, b in outline)
    flange = max(kit.edge.flange_mm, kit.joiner.flange_mm)
    play = (min(kit.edge.slot_width_mm, kit.joiner.slot_width_mm) - skin.thickness_mm) / 2
    solid = slab(grid.plane, placed, flange + play, flange + play + skin.thickness_mm)
    _, _, width, height = extent(outline)
    holes = () if kit.zone.vent else _holes(kit, outline, foot)
    across, along = fits
    fit = Fit(
        slot,
        (across.clearance, along.clearance),
        (across.needed, along.needed),
        (across.cover_cold, along.cover_cold),
        skin.least_cover_mm,
        (across.movement, along.movement),
        ctx.climate.hottest_degc,
        ctx.climate.coldest_degc,
        ctx.climate.cut_degc,
    )
    mass = round(abs(area(outline)) * 1e-6 * skin.mass_kg_m2, 4)
    cut = SheetCut(width, height, outline, turnable=not skin.flutes, holes=holes)
    part = Part(
        "",
        "panel",
        "panel",
        grid.face,
        grid.level,
        bay,
        tier,
        skin.key,
        cut,
        (solid,),
        mass,
        fit=fit,
        vent=kit.zone.vent,
    )
    return replace(part, tape_mm=_tape(outline, width)) if skin.flutes else part


def _tape(outline: tuple[Point, ...], width: float) -> tuple[float, float]:
    top = math.fsum(math.dist(p, q) for p, q in zip(top_line(outline), top_line(outline)[1:], strict=False))
    return (tidy(top), tidy(width))


def _holes(kit: _Kit, outline: tuple[Point, ...], foot: Point) -> tuple[Hole, ...]:
    """Fixing holes where the panel crosses a transom or purlin that is no joint."""
    skin, grid = kit.skin, kit.grid
    if skin.kind not in ("multiwall", "acrylic"):
        return ()
    left, bottom, right, top = extent(outline)
    holes = []
    for line in grid.transom_lines:
        b = line - foot[1]
        if line in grid.tier_lines or not bottom + 80 < b < top - 80:
            continue
        count = max(1, math.ceil((right - left) / HOLE_STEP_MM - 1e-9) - 1)
        for k in range(1, count + 1):
            a = left + (right - left) * k / (count + 1)
            if level_at(outline, a) > b + HOLE_EDGE_MM:
                holes.append(Hole(tidy(a), tidy(b), BUTTON_SCREW_MM + HOLE_OVERSIZE_MM))
    return tuple(holes)
