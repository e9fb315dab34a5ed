"""Which timbers make a flat frame, and how is each end cut?

One routine serves walls and roofs, since both are flat frames: a lower and an
upper member run through, uprights stand between them on the bay lines, cross
members lie between the uprights. Only the words differ (sill, head, stile,
mullion, transom; eaves rail, rafter, purlin).

Left out: bracing (`bracing`), the ridge board (`ridge`).
Units: mm, local coordinates of the frame's plane.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass

from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.fit import floor_to
from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Part, Point, Prism, StickCut
from enclosure.shape.space import bar_along, box, clip, extent, ordered, slab, volume_mm3

LEAST_BEVEL_SHARE = 0.5
"""A bevelled head keeps at least this share of the member's face at its low edge; practice, no source."""

WALL_WORDS = {"foot": "sill", "top": "head", "end": "stile", "upright": "mullion", "cross": "transom"}
ROOF_WORDS = {"foot": "eaves rail", "top": "top rail", "end": "rafter", "upright": "rafter", "cross": "purlin"}


@dataclass(frozen=True, slots=True)
class Upright:
    """Where an upright stands: from a = left to a = right, and its word."""

    left: float
    right: float
    role: str


def top_line(outline: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return the corners of an outline's upper edge, from left to right."""
    return tuple(reversed(outline[2:])) if len(outline) > 2 else ()


def lowered(line: tuple[Point, ...], by: float) -> list[tuple[Point, Point]]:
    """Return each stretch of a top line moved down square to itself by `by`, as (left, right) points."""
    moved = []
    for p, q in itertools.pairwise(line):
        drop = by * math.hypot(q[0] - p[0], q[1] - p[1]) / (q[0] - p[0])
        moved.append(((p[0], p[1] - drop), (q[0], q[1] - drop)))
    return moved


def under(points: tuple[Point, ...], stretches: list[tuple[Point, Point]]) -> tuple[Point, ...]:
    """Keep the part of an outline that lies below every stretch's line."""
    for left, right in stretches:
        points = clip(points, right, left)
    return points


def slope_deg(p: Point, q: Point) -> float:
    """Return the slope of a stretch [deg], always positive."""
    return round(math.degrees(math.atan(abs(q[1] - p[1]) / abs(q[0] - p[0]))), 3)


def uprights(grid: FrameGrid) -> tuple[Upright, ...]:
    """Return the uprights of a frame from left to right."""
    left, _, right, _ = extent(grid.outline)
    m = grid.member_face
    words = ROOF_WORDS if grid.is_roof else WALL_WORDS
    inner = [Upright(line - m / 2, line + m / 2, words["upright"]) for line in grid.bay_lines]
    return (Upright(left, left + m, words["end"]), *inner, Upright(right - m, right, words["end"]))


def frame_members(ctx: Context, grid: FrameGrid) -> list[Part]:
    """Return every member of one frame, marks still empty."""
    words = ROOF_WORDS if grid.is_roof else WALL_WORDS
    left, bottom, right, _ = extent(grid.outline)
    m = grid.member_face
    section = ctx.roof_section if grid.is_roof else ctx.section
    top, ceiling = _top_members(ctx, grid, words["top"])
    parts = top
    foot_left, foot_right = (left + m, right - m) if grid.lift_out_sill else (left, right)
    parts.append(
        _member(
            ctx,
            grid,
            words["foot"],
            section.key,
            box(foot_left, bottom, foot_right, bottom + m),
            StickCut(floor_to(foot_right - foot_left, ctx.step)),
            lift_out=grid.lift_out_sill,
        )
    )
    columns = uprights(grid)
    _demand_room(grid, columns)
    for column in columns:
        parts.append(_upright(ctx, grid, column, ceiling, section.key, words))
    for low_column, high_column, bay in zip(columns, columns[1:], range(1, len(columns)), strict=False):
        for b in _cross_heights(grid, bay):
            piece = box(low_column.right, b - m / 2, high_column.left, b + m / 2)
            if not piece or under(piece, ceiling) != piece:
                continue
            parts.append(
                _member(
                    ctx,
                    grid,
                    words["cross"],
                    section.key,
                    piece,
                    StickCut(floor_to(high_column.left - low_column.right, ctx.step)),
                    bay=bay,
                    lift_out=grid.lift_out_sill,
                )
            )
    return parts


def _demand_room(grid: FrameGrid, columns: tuple[Upright, ...]) -> None:
    """Raise DesignError when uprights would stand in each other."""
    for one, other in itertools.pairwise(columns):
        if other.left < one.right - 1e-6:
            left, _, right, _ = extent(grid.outline)
            raise DesignError(
                f"the {grid.face.lower()} frame is {right - left:.0f} mm wide and has no room for its {len(columns)} "
                f"uprights, each {grid.member_face:g} mm wide",
                "choose a smaller section (frame.section, frame.roof_section, frame.on_edge), fewer bays, or more room "
                "beside the plant (clearance.side)",
            )


def _cross_heights(grid: FrameGrid, bay: int) -> list[float]:
    heights = list(grid.transom_lines)
    if grid.vent and bay in grid.vent.bays:
        keep_below = grid.vent.low - 3 * grid.member_face
        heights = [b for b in heights if b < keep_below] + [grid.vent.low]
    m = grid.member_face
    for below, above in itertools.pairwise([extent(grid.outline)[1] + m / 2, *heights]):
        if above - below < m - 1e-6:
            what = "purlins" if grid.is_roof else "transoms"
            raise DesignError(
                f"the {grid.face.lower()} has {max(0.0, above - below):.0f} mm from member to member for its {what}, "
                f"which are {m:g} mm high",
                f"ask for fewer {what} or tiers (frame.transoms, frame.levels), a smaller section or a smaller vent",
            )
    return heights


def _top_members(ctx: Context, grid: FrameGrid, role: str) -> tuple[list[Part], list[tuple[Point, Point]]]:
    line = top_line(grid.outline)
    section = ctx.roof_section if grid.is_roof else ctx.section
    if grid.inner_rise:
        return _bevelled_head(ctx, grid, role, line)
    ceiling = lowered(line, grid.member_face)
    parts = []
    for (p, q), (low_p, low_q) in zip(itertools.pairwise(line), ceiling, strict=True):
        outline = ordered([low_p, low_q, q, p])
        angle = slope_deg(p, q)
        along = math.hypot(q[0] - p[0], q[1] - p[1]) + grid.member_face * math.tan(math.radians(angle))
        cut = StickCut(floor_to(along, ctx.step), angle, -angle if angle else 0.0)
        parts.append(_member(ctx, grid, role, section.key, outline, cut))
    return parts, ceiling


def _bevelled_head(
    ctx: Context, grid: FrameGrid, role: str, line: tuple[Point, ...]
) -> tuple[list[Part], list[tuple[Point, Point]]]:
    left, _, right, _ = extent(grid.outline)
    outer = line[0][1]
    inner = outer + grid.inner_rise
    highest, lowest = max(outer, inner), min(outer, inner)
    key, face = _bevel_timber(ctx, grid, highest - lowest)
    foot = highest - face
    profile = ((0.0, foot), (grid.depth, foot), (grid.depth, inner), (0.0, outer))
    solid = bar_along(grid.plane, profile, left, right)
    angle = round(math.degrees(math.atan((highest - lowest) / grid.depth)), 3)
    cut = StickCut(floor_to(right - left, ctx.step), 0.0, 0.0, angle, round(lowest - foot, 4))
    part = Part("", "member", role, grid.face, grid.level, 0, 0, key, cut, (solid,), _mass(ctx, key, (solid,)))
    return [part], [((left, foot), (right, foot))]


def _bevel_timber(ctx: Context, grid: FrameGrid, rise: float) -> tuple[str, float]:
    fits = []
    for timber in ctx.stock.timbers.values():
        for face, depth in ((timber.width_mm, timber.thickness_mm), (timber.thickness_mm, timber.width_mm)):
            if abs(depth - grid.depth) < 0.6 and face >= grid.member_face - 0.6:
                fits.append((face, timber.key))
    need = rise + LEAST_BEVEL_SHARE * grid.member_face
    for face, key in sorted(fits):
        if face >= need - 1e-6:
            return key, face
    raise DesignError(
        f"the {grid.face.lower()} head would be ripped to a bevel that takes {rise:.0f} mm; no timber "
        f"{grid.depth:g} mm deep in the stock is {need:.0f} mm wide",
        "give the roof less fall, use a frame section that is less deep, or list a wider timber",
    )


def _upright(
    ctx: Context, grid: FrameGrid, column: Upright, ceiling: list[tuple[Point, Point]], key: str, words: dict[str, str]
) -> Part:
    _, bottom, _, top = extent(grid.outline)
    is_end = column.role == words["end"] and not grid.is_roof
    foot = bottom if grid.lift_out_sill and is_end else bottom + grid.member_face
    outline = under(box(column.left, foot, column.right, top + 1.0), ceiling)
    apex = next((right[0] for _, right in ceiling[:-1]), None)
    if apex is not None and column.left < apex < column.right:
        # A point under the ridge would want two sloped cuts; a square end loses nothing.
        shoulders = [b for a, b in outline if abs(a - apex) > 1e-3 and b > foot + 1e-3]
        outline = box(column.left, foot, column.right, min(shoulders))
    levels = sorted({round(b, 3) for a, b in outline if b > foot + 1e-3})
    if not levels:
        raise DesignError(
            f"the {grid.face.lower()} frame is too low for its own timber: nothing is left for its {column.role}s",
            "choose a smaller section (frame.section, frame.roof_section), fewer tiers, or a larger shelter",
        )
    angle = 0.0
    if len(levels) > 1:
        angle = round(math.degrees(math.atan((levels[-1] - levels[0]) / (column.right - column.left))), 3)
    cut = StickCut(floor_to(max(levels) - foot, ctx.step), 0.0, angle)
    lift_out = grid.lift_out_sill and column.role == "mullion"
    return _member(ctx, grid, column.role, key, outline, cut, lift_out=lift_out)


def _mass(ctx: Context, key: str, solids: tuple[Prism, ...]) -> float:
    return round(volume_mm3(solids) * 1e-9 * ctx.stock.timbers[key].density_kg_m3, 4)


def _member(
    ctx: Context,
    grid: FrameGrid,
    role: str,
    key: str,
    outline: tuple[Point, ...],
    cut: StickCut,
    *,
    bay: int = 0,
    lift_out: bool = False,
) -> Part:
    solid = slab(grid.plane, outline, -grid.depth, 0.0)
    return Part(
        "",
        "member",
        role,
        grid.face,
        grid.level,
        bay,
        0,
        key,
        cut,
        (solid,),
        _mass(ctx, key, (solid,)),
        lift_out=lift_out,
    )
