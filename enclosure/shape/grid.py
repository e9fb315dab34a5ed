"""Where do the walls, tiers, bays and transoms run?

Decides every line of the shelter before any member is drawn: the planes of the
walls and roofs, the height of the roof over each point, how walls split into
frame tiers, and into how many bays and panel tiers each frame is divided by the
sizes of the stock and by the span limits handed down from the checks.

Left out: members, tracks, panels (see `frame`, `roof`, `glazing`).
Units: mm; local coordinates as in `model.Plane`.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace

from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.fit import ceil_to
from enclosure.shape.model import Face, Plane, Point, Vec
from enclosure.shape.space import add, extent, ordered, plane, tidy, unit

SIDES: dict[str, Face] = {"front": "FRONT", "right": "RIGHT", "back": "BACK", "left": "LEFT"}
LEAST_TIER_MM = 300.0
LEAST_BAY_MM = 150.0
SASH_LOSS_MM = 14.0
"""What play, webs and edge clearances take from a vent sash on each axis, about; practice, no source."""
BEARING_MM = 20.0
"""Least width of a verge rafter that lies on the wall below; practice, no source."""


@dataclass(frozen=True, slots=True)
class Vent:
    """The opening of one bay from height `low` to the frame's top."""

    bays: tuple[int, ...]
    low: float


@dataclass(frozen=True, slots=True)
class FrameGrid:
    """All lines of one frame. Fields as in `model.Frame`; `through` frames run past the others' ends."""

    face: Face
    level: int
    plane: Plane
    outline: tuple[Point, ...]
    glazed: tuple[Point, ...]
    bay_lines: tuple[float, ...]
    tier_lines: tuple[float, ...]
    transom_lines: tuple[float, ...]
    skin: str
    depth: float
    member_face: float
    inner_rise: float
    """Height of the top at the inside face less that at the outside face (a bevelled head)."""
    through: bool
    lift_out_sill: bool
    first_tier: int
    vent: Vent | None = None
    is_roof: bool = False


@dataclass(frozen=True, slots=True)
class RoofLine:
    """The underside of the roof as a height over (x, y)."""

    kind: str
    slope: float
    toward: str
    clear_height: float
    depth_of_member: float
    width: float
    depth: float

    def __call__(self, x: float, y: float) -> float:
        """Return the height of the roof's underside over (x, y) [mm]."""
        inward = {
            "front": y,
            "back": self.depth - y,
            "left": x,
            "right": self.width - x,
            "x": min(y, self.depth - y),
            "y": min(x, self.width - x),
            "": self.depth_of_member,
        }[self.toward]
        return tidy(self.clear_height + (inward - self.depth_of_member) * self.slope)


def roof_line(ctx: Context) -> RoofLine:
    """Return the roof's underside for the brief's roof kind."""
    roof = ctx.brief.roof
    slope = 0.0 if roof.kind == "flat" else math.tan(math.radians(roof.fall_deg))
    toward = {"flat": "", "mono": roof.falls_to, "gable": roof.ridge}[roof.kind] or ""
    return RoofLine(roof.kind, slope, toward, ctx.box.height, ctx.section.depth, ctx.outside_width, ctx.outside_depth)


def wall_plane(ctx: Context, face: Face, height: float) -> tuple[Plane, float]:
    """Return the outside plane of a wall frame and its length."""
    width, depth, f = ctx.outside_width, ctx.outside_depth, ctx.section.depth
    up: Vec = (0.0, 0.0, 1.0)
    if face == "FRONT":
        return plane((0.0, 0.0, height), (1.0, 0.0, 0.0), up), width
    if face == "BACK":
        return plane((width, depth, height), (-1.0, 0.0, 0.0), up), width
    if face == "RIGHT":
        return plane((width, f, height), (0.0, 1.0, 0.0), up), ctx.box.depth
    return plane((0.0, depth - f, height), (0.0, -1.0, 0.0), up), ctx.box.depth


def wall_grids(ctx: Context, roof: RoofLine) -> tuple[FrameGrid, ...]:
    """Return the grids of all wall frames, tier by tier, front right back left within a tier."""
    splits = tier_heights(ctx, roof)
    grids: list[FrameGrid] = []
    tiers_so_far = dict.fromkeys(SIDES.values(), 0)
    for level, (low, high) in enumerate(zip(splits, [*splits[1:], math.inf], strict=True), start=1):
        for side, face in SIDES.items():
            grid = _wall_grid(ctx, roof, side, level, low, high, tiers_so_far[face])
            tiers_so_far[face] += len(grid.tier_lines) + 1
            grids.append(grid)
    return tuple(grids)


def tier_heights(ctx: Context, roof: RoofLine) -> list[float]:
    """Return the foot heights of the frame tiers, from the ground."""
    width, depth = ctx.outside_width, ctx.outside_depth
    corners = [roof(x, y) for x in (0.0, width / 2, width) for y in (0.0, depth / 2, depth)]
    highest, lowest = max(corners), min(corners)
    if ctx.feet:
        return list(ctx.feet)
    count = ctx.brief.frame.levels or ctx.levels
    if not count:
        count = max(1, math.ceil(highest / ctx.brief.frame.max_frame_height_mm - 1e-9))
    if count == 1:
        return [0.0]
    share = min(highest / count, lowest / count * 1.15)
    feet = [ceil_to(share * level, ctx.step) for level in range(count)]
    if lowest - feet[-1] < LEAST_TIER_MM:
        raise DesignError(
            f"{count} frame tiers leave {max(0.0, lowest - feet[-1]):.0f} mm for the lowest part of the top tier; "
            f"it needs {LEAST_TIER_MM:.0f} mm (walls from {lowest:.0f} to {highest:.0f} mm high)",
            "ask for fewer tiers (frame.levels), higher frames (frame.max_frame_height) or a flatter roof",
        )
    return feet


def _wall_grid(
    ctx: Context, roof: RoofLine, side: str, level: int, low: float, high: float, tiers_below: int
) -> FrameGrid:
    face = SIDES[side]
    where, length = wall_plane(ctx, face, low)
    skin = ctx.skin(side)
    rise = 0.0
    if math.isinf(high):
        outline, rise = _top_outline(roof, where, length, low, ctx.section.depth)
        drop = max(0.0, rise / ctx.section.depth * ctx.out(skin)) if rise > 0 else 0.0
    else:
        top = tidy(high - low)
        outline, drop = ordered([(0, 0), (length, 0), (length, top), (0, top)]), 0.0
    glazed = ordered([(a, b - drop if b > 1.0 else b) for a, b in outline]) if drop else outline
    grid = FrameGrid(
        face=face,
        level=level,
        plane=where,
        outline=outline,
        glazed=glazed,
        bay_lines=(),
        tier_lines=(),
        transom_lines=(),
        skin=skin,
        depth=ctx.section.depth,
        member_face=ctx.section.face,
        inner_rise=rise,
        through=face in ("FRONT", "BACK"),
        lift_out_sill=face == "FRONT" and level == 1,
        first_tier=tiers_below + 1,
    )
    top_level = math.isinf(high)
    return divide(ctx, grid, side, vent_here=top_level and ctx.brief.vent is not None and ctx.brief.vent.wall == side)


def _top_outline(roof: RoofLine, where: Plane, length: float, low: float, f: float) -> tuple[tuple[Point, ...], float]:
    def height(a: float, inside: float = 0.0) -> float:
        x = where.origin[0] + where.u[0] * a - where.n[0] * inside
        y = where.origin[1] + where.u[1] * a - where.n[1] * inside
        return tidy(roof(x, y) - low)

    middle = length / 2
    corners = [(0.0, 0.0), (length, 0.0), (length, height(length)), (middle, height(middle)), (0.0, height(0.0))]
    rise = tidy(height(middle, f) - height(middle))
    ends_rise = tidy(height(0.0, f) - height(0.0))
    sloped_along = abs(height(0.0) - height(middle)) > 1e-3
    return ordered(corners), 0.0 if sloped_along else (rise or ends_rise)


def roof_grids(ctx: Context, roof: RoofLine) -> tuple[FrameGrid, ...]:
    """Return the grid of the roof frame, or of both slopes of a gable."""
    if roof.kind == "gable":
        first, second = ("front", "back") if roof.toward == "x" else ("left", "right")
        return (_roof_grid(ctx, roof, first, "ROOF A"), _roof_grid(ctx, roof, second, "ROOF B"))
    return (_roof_grid(ctx, roof, roof.toward or "front", "ROOF"),)


def _roof_grid(ctx: Context, roof: RoofLine, low_side: str, face: Face) -> FrameGrid:
    width, depth = ctx.outside_width, ctx.outside_depth
    angle = math.atan(roof.slope)
    cos, sin = math.cos(angle), math.sin(angle)
    corner, u, span, run = {
        "front": ((0.0, 0.0), (1.0, 0.0, 0.0), width, depth),
        "back": ((width, depth), (-1.0, 0.0, 0.0), width, depth),
        "right": ((width, 0.0), (0.0, 1.0, 0.0), depth, width),
        "left": ((0.0, depth), (0.0, -1.0, 0.0), depth, width),
    }[low_side]
    outward = (u[1], -u[0], 0.0)
    v = unit(-outward[0] * cos, -outward[1] * cos, sin)
    section, drip = ctx.roof_section, ctx.brief.roof.drip_edge_mm
    foot = (corner[0], corner[1], roof(*corner) if roof.kind != "flat" else roof.clear_height)
    where = plane(foot, u, v)
    where = plane(add(foot, where.n, section.depth), u, v)
    if face == "ROOF":
        top = (run + drip) / cos
    else:
        top = (run / 2 - ctx.ridge_thickness / 2) / cos
    verge = verge_mm(ctx)
    outline = ordered([(-verge, -drip / cos), (span + verge, -drip / cos), (span + verge, top), (-verge, top)])
    grid = FrameGrid(
        face=face,
        level=1,
        plane=where,
        outline=outline,
        glazed=outline,
        bay_lines=(),
        tier_lines=(),
        transom_lines=(),
        skin=ctx.skin("roof"),
        depth=section.depth,
        member_face=section.face,
        inner_rise=0.0,
        through=True,
        lift_out_sill=False,
        first_tier=1,
        is_roof=True,
    )
    return divide(ctx, grid, "roof", vent_here=False)


def verge_mm(ctx: Context) -> float:
    """Return how far the roof runs past the side walls [mm].

    The verge rafter must still lie on the wall, so that each roof panel is held
    in track on a framed edge on all four sides; the drip edge is full at the eaves only.
    """
    return tidy(max(0.0, min(ctx.brief.roof.drip_edge_mm, ctx.roof_section.face - BEARING_MM)))


def divide(ctx: Context, grid: FrameGrid, side: str, *, vent_here: bool) -> FrameGrid:
    """Return the grid with its bays, panel tiers, transoms and vent."""
    left, bottom, right, top = extent(grid.glazed)
    skin = ctx.stock.skins[grid.skin]
    _slot_is_deep_enough(ctx, grid)
    bays = _bay_count(ctx, grid, side, right - left)
    web, joint = ctx.webs(grid.skin)
    clear = (right - left - 2 * web - (bays - 1) * joint) / bays
    bay_lines = tuple(tidy(left + web + clear * k + joint * (k - 0.5)) for k in range(1, bays))
    tiers = _tier_count(ctx, grid, clear, top - bottom)
    tier_lines = tuple(tidy(bottom + (top - bottom) * k / tiers) for k in range(1, tiers))
    limit = (ctx.limits.purlin_mm if grid.is_roof else ctx.limits.transom_mm).get(grid.skin, math.inf)
    forced = None if grid.is_roof else ctx.brief.frame.transoms
    edges = [bottom, *tier_lines, top]
    transoms: list[float] = list(tier_lines)
    for low, high in itertools.pairwise(edges):
        free = high - low - 2 * grid.member_face
        count = forced if forced is not None else max(0, math.ceil(free / limit - 1e-9) - 1)
        transoms += [low + (high - low) * k / (count + 1) for k in range(1, count + 1)]
    vent = _vent(ctx, grid, clear, bays, skin.fixing) if vent_here else None
    return replace(
        grid,
        bay_lines=bay_lines,
        tier_lines=tier_lines,
        transom_lines=tuple(sorted(tidy(b) for b in transoms)),
        vent=vent,
    )


def _slot_is_deep_enough(ctx: Context, grid: FrameGrid) -> None:
    skin, in_slot = ctx.stock.skins[grid.skin], ctx.longest_in_slot(grid.skin)
    if in_slot < LEAST_BAY_MM:
        slot = ctx.slot_depth(grid.skin)
        raise DesignError(
            f"the {slot:g} mm slot is too shallow for {skin.name}: with {skin.least_cover_mm:g} mm of cover at "
            f"{ctx.climate.coldest_degc:.0f} degC no panel longer than {in_slot:.0f} mm would stay in it",
            f"use a track with a slot at least {math.ceil(slot + 10)} mm deep",
        )


def _bay_count(ctx: Context, grid: FrameGrid, side: str, length: float) -> int:
    skin = ctx.stock.skins[grid.skin]
    web, joint = ctx.webs(grid.skin)
    cover = ctx.slot_depth(grid.skin)
    table = ctx.limits.roof_bay_mm if grid.is_roof else ctx.limits.bay_mm
    limit = table.get(grid.skin, skin.max_span_mm)
    widest = max((size.width_mm - 2 * size.trim_mm for size in skin.sizes), default=math.inf)
    if not skin.flutes:
        widest = max((max(s.width_mm, s.height_mm) - 2 * s.trim_mm for s in skin.sizes), default=widest)
    widest = min(widest, ctx.longest_in_slot(grid.skin))
    chosen = (ctx.brief.frame.bays or {}).get(side)
    for bays in [chosen] if chosen else range(1, 200):
        clear = (length - 2 * web - (bays - 1) * joint) / bays
        if skin.fixing == "batten":
            if chosen or clear <= limit:
                return bays
            continue
        if clear < LEAST_BAY_MM and chosen:
            raise DesignError(
                f"{bays} bays leave {max(clear, 0.0):.0f} mm each on the {length:.0f} mm of the {grid.face.lower()}; "
                f"a bay needs {LEAST_BAY_MM:.0f} mm",
                f"ask for fewer (frame.bays.{side} = {max(1, int(length // (2 * LEAST_BAY_MM)))}), or leave bays out",
            )
        if clear < LEAST_BAY_MM:
            break
        if clear - 2 * cover <= limit + 1e-6 and clear <= widest + 2 * ctx.least_gap(grid.skin):
            return bays
        if chosen:
            raise DesignError(
                f"{grid.face.lower()} in {bays} bay{'' if bays == 1 else 's'} asks for panels {clear:.0f} mm wide; "
                f"the widest sheet is {widest:.0f} mm and the widest free span {limit:.0f} mm",
                f"ask for more bays (frame.bays.{side} = {bays + 1}), or list a wider or stiffer sheet",
            )
    raise DesignError(
        f"no number of bays lets {skin.name} cover the {length:.0f} mm of the {grid.face.lower()}: "
        f"its span limit of {limit:.0f} mm leaves bays narrower than {LEAST_BAY_MM:.0f} mm",
        "choose a stiffer skin for this side",
    )


def _tier_count(ctx: Context, grid: FrameGrid, clear: float, height: float) -> int:
    skin = ctx.stock.skins[grid.skin]
    if skin.fixing == "batten":
        return 1
    longest = max((size.height_mm - 2 * size.trim_mm for size in skin.sizes), default=math.inf)
    if not skin.flutes:
        sides = [sorted((s.width_mm - 2 * s.trim_mm, s.height_mm - 2 * s.trim_mm)) for s in skin.sizes]
        longest = max((long for short, long in sides if short >= min(clear, height)), default=longest)
    in_slot = ctx.longest_in_slot(grid.skin)
    longest = min(longest, in_slot)
    largest = (skin.max_pane_m2 or math.inf) * 1e6
    for tiers in range(1, 40):
        panel = height / tiers
        if panel <= longest and panel * clear <= largest:
            return tiers
    raise DesignError(
        f"{skin.name} would have to be cut into more than 40 tiers on the {grid.face.lower()}",
        "check the sizes of this skin in the stock file",
    )


def _vent(ctx: Context, grid: FrameGrid, clear: float, bays: int, fixing: str) -> Vent | None:
    wanted = ctx.brief.vent
    if wanted is None or fixing != "track":
        return None
    area = wanted.share * ctx.box.width * ctx.box.depth
    eave = min(b for a, b in grid.glazed if b > 1.0)
    floor = max((b for b in grid.tier_lines), default=0.0)
    room = (eave - floor) * 0.5
    middle = (bays + 1) // 2
    # The sash loses its own channel and play on both sides, and at head and foot.
    sash = clear - 2 * ctx.slot_depth(grid.skin) - SASH_LOSS_MM
    for count in range(1, bays + 1):
        height = area / (count * max(sash, LEAST_BAY_MM / 2)) + SASH_LOSS_MM
        if height <= room or count == bays:
            first = max(1, middle - (count - 1) // 2)
            first = min(first, bays - count + 1)
            opening = min(height, room)
            return Vent(tuple(range(first, first + count)), tidy(eave - max(opening, 200.0)))
    return None
