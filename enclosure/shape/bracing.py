"""What keeps a wall frame square?

A plywood gusset in each corner whose timber lies free on the inside face, a
steel angle where it does not (front and back frames, whose stiles the side
walls cover), and one diagonal in each wall that has room for one. (The rule of
the trade asks for it in walls longer than half their height; the racking check
shows that a narrower wall needs its diagonal more: 43 x 92 in without one comes
to a utilisation of 5.8.)
Units: mm, local coordinates of the frame's plane.
"""

from __future__ import annotations

import math

from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.fit import floor_to
from enclosure.shape.frame import lowered, top_line, under
from enclosure.shape.grid import FrameGrid
from enclosure.shape.lengths import longest_stick
from enclosure.shape.model import Part, Point, SheetCut, StickCut
from enclosure.shape.ridge import DEEPEST_MM
from enclosure.shape.space import area, box, extent, level_at, ordered, slab, tidy
from enclosure.stock.model import Board, Timber

GUSSET_LEG_MM = 200.0
LEAST_LEG_MM = 60.0
"""A smaller gusset has no room for its six screws; a steel angle takes its place; practice, no source."""
FREE_FACE_MM = 25.0
"""A gusset needs at least this much of the stile's inside face; practice, no source."""
THICKEST_BRACE_MM = 40.0
"""A thicker brace would stand too far into the clear box; practice, no source."""
WIDE_BRACE_MM = 60.0
RIDGE_GAP_MM = 5.0
"""Between a diagonal and the ridge board on a low gable wall; practice, no source."""


def most_screws(width: float) -> int:
    """Return how many screws find room on the end of a diagonal so wide [mm]: two across, two or three along.

    Common practice, no source: closer ones split a lath.
    """
    return 4 if width < WIDE_BRACE_MM else 6


def gusset_board(ctx: Context) -> Board | None:
    """Return the sheet from which gussets are cut, None when the stock has none."""
    chosen = ctx.brief.frame.gusset
    if chosen:
        return ctx.stock.boards[chosen]
    boards = [b for b in ctx.stock.boards.values() if b.use in ("gusset", "any")]
    return min(boards, key=lambda b: (b.thickness_mm, b.key)) if boards else None


def has_gussets(ctx: Context, grid: FrameGrid) -> bool:
    """Return whether this frame's corners take gussets rather than steel angles."""
    board = gusset_board(ctx)
    if board is None or grid.is_roof or _leg(grid) < LEAST_LEG_MM:
        return False
    return not grid.through or grid.member_face - (grid.depth + board.thickness_mm) >= FREE_FACE_MM


def bracing(ctx: Context, grid: FrameGrid) -> list[Part]:
    """Return the gussets and the diagonal of one wall frame, marks still empty."""
    if grid.is_roof:
        return []
    parts = _gussets(ctx, grid) if has_gussets(ctx, grid) else []
    parts += _diagonal(ctx, grid)
    return parts


def _leg(grid: FrameGrid) -> float:
    left, bottom, right, _ = extent(grid.outline)
    eave = min(level_at(grid.outline, left), level_at(grid.outline, right))
    return tidy(min(GUSSET_LEG_MM, (right - left) / 4, (eave - bottom) / 4))


def _inside_ceiling(grid: FrameGrid, thickness: float) -> list[tuple[Point, Point]]:
    """The roof's underside over something that stands `thickness` proud of the inside face."""
    fall_inward = max(0.0, -grid.inner_rise) * (grid.depth + thickness) / grid.depth
    return lowered(top_line(grid.outline), fall_inward)


def _gussets(ctx: Context, grid: FrameGrid) -> list[Part]:
    board = gusset_board(ctx)
    assert board is not None
    left, bottom, right, _ = extent(grid.outline)
    inset = grid.depth + board.thickness_mm if grid.through else 0.0
    start, end, leg = left + inset, right - inset, floor_to(_leg(grid), ctx.step)
    ceiling = _inside_ceiling(grid, board.thickness_mm)
    shapes: list[tuple[Point, ...]] = []
    if not grid.lift_out_sill:
        shapes += [
            ordered([(start, bottom), (start + leg, bottom), (start, bottom + leg)]),
            ordered([(end, bottom), (end, bottom + leg), (end - leg, bottom)]),
        ]
    for corner, toward in ((start, leg), (end, -leg)):
        under_roof = box(min(corner, corner + toward), bottom, max(corner, corner + toward), 1e5)
        room = under(under_roof, ceiling)
        high, low = level_at(room, corner), level_at(room, corner + toward)
        foot = high - leg
        # The far corner comes down to a length that can be marked out.
        far = foot + floor_to(low - foot, ctx.step)
        shapes.append(ordered([(corner, foot), (corner + toward, far), (corner, high)]))
    return [_gusset(grid, board, shape) for shape in shapes]


def _gusset(grid: FrameGrid, board: Board, shape: tuple[Point, ...]) -> Part:
    solid = slab(grid.plane, shape, -grid.depth - board.thickness_mm, -grid.depth)
    left, bottom, right, top = extent(shape)
    outline = ordered([(a - left, b - bottom) for a, b in shape])
    mass = round(abs(area(shape)) * 1e-6 * board.mass_kg_m2, 4)
    cut = SheetCut(tidy(right - left), tidy(top - bottom), outline, turnable=board.turnable)
    return Part("", "gusset", "gusset", grid.face, grid.level, 0, 0, board.key, cut, (solid,), mass)


def _diagonal_timber(ctx: Context, rise: float) -> Timber:
    """Return the brief's timber, or the thinnest other one, that reaches from sill to head in one stick."""
    chosen = ctx.brief.frame.diagonal
    flat = [t for t in ctx.stock.timbers.values() if t.thickness_mm <= THICKEST_BRACE_MM and t.width_mm >= 30.0]
    flat.sort(key=lambda t: (t.key != chosen, t.thickness_mm < 15.0, t.thickness_mm, t.width_mm, t.key))
    for timber in flat:
        if longest_stick(ctx, timber.key) - 2 * timber.width_mm > rise * 1.02:
            return timber
    raise DesignError(
        f"the diagonals must reach {rise:.0f} mm up; no timber in stock up to {THICKEST_BRACE_MM:g} mm thick "
        "is that long",
        "list a longer one, or let the walls be split into more tiers (frame.levels)",
    )


def _diagonal(ctx: Context, grid: FrameGrid) -> list[Part]:
    left, bottom, right, top = extent(grid.outline)
    timber = _diagonal_timber(ctx, top - bottom)
    board = gusset_board(ctx)
    inset = (grid.depth + (board.thickness_mm if board else 0.0)) if grid.through else 0.0
    clear_of = inset + (_leg(grid) + 20.0 if has_gussets(ctx, grid) else 60.0)
    width = timber.width_mm
    start, end = left + clear_of, right - clear_of
    if end - start < 2.0 * width:
        return []
    ceiling = _inside_ceiling(grid, timber.thickness_mm)
    outline, angle = _strip(ctx, grid, timber, (start, end), ceiling)
    if _meets_the_ridge(ctx, grid, outline):
        end = (left + right) / 2 - ctx.ridge_thickness / 2 - RIDGE_GAP_MM
        if end - start < 2.0 * width:
            return []
        outline, angle = _strip(ctx, grid, timber, (start, end), ceiling)
    along = (math.cos(angle), math.sin(angle))
    reach = [a * along[0] + b * along[1] for a, b in outline]
    tilt = round(90.0 - math.degrees(angle), 3)
    cut = StickCut(floor_to(max(reach) - min(reach), ctx.step), tilt, -round(tilt + _slope_at_top(outline, angle), 3))
    solid = slab(grid.plane, outline, -grid.depth - timber.thickness_mm, -grid.depth)
    mass = round(abs(area(outline)) * timber.thickness_mm * 1e-9 * timber.density_kg_m3, 4)
    return [
        Part(
            "",
            "diagonal",
            "diagonal",
            grid.face,
            grid.level,
            0,
            0,
            timber.key,
            cut,
            (solid,),
            mass,
            lift_out=grid.lift_out_sill,
        )
    ]


def _slope_at_top(outline: tuple[Point, ...], angle: float) -> float:
    """Return the slope of the upper end of a diagonal that runs at an angle [rad]: 0 where it ends level.

    Where the roof cuts it, the end has the roof's slope; of two slopes under a ridge the longer counts.
    """
    bottom = extent(outline)[1]
    longest, slope = 0.0, 0.0
    for p, q in zip(outline, outline[1:] + outline[:1], strict=True):
        across = (q[1] - p[1]) * math.cos(angle) - (q[0] - p[0]) * math.sin(angle)
        if abs(across) > 1.0 and max(p[1], q[1]) > bottom + 1.0 and math.dist(p, q) > longest:
            left, right = sorted((p, q))
            longest, slope = math.dist(p, q), math.degrees(math.atan2(right[1] - left[1], right[0] - left[0]))
    return slope


def _strip(
    ctx: Context, grid: FrameGrid, timber: Timber, ends: tuple[float, float], ceiling: list[tuple[Point, Point]]
) -> tuple[tuple[Point, ...], float]:
    """Return the outline of a diagonal between two places on the sill's line, and its angle [rad]."""
    left, bottom, right, _ = extent(grid.outline)
    start, end = ends
    width = timber.width_mm
    roof_at_end = level_at(under(box(left, bottom, right, 1e5), ceiling), end)
    rise = roof_at_end - bottom
    longest = longest_stick(ctx, timber.key) - 2 * width
    # A brace in one stick: on a long wall it stands steeper and stops short of the far corner.
    run = min(end - start, math.sqrt(max(longest**2 - rise**2, width**2)) + width)
    angle = math.atan2(rise, run)
    for _ in range(30):
        # The strip's corners must stay inside start..end, so its axis is steeper than the corners' line.
        slant = width / math.sin(angle)
        angle = math.atan2(rise, max(run - slant, width))
    slant = width / math.sin(angle)
    far = start + rise / math.tan(angle)
    strip = ordered([(start, bottom), (start + slant, bottom), (far + slant, bottom + rise), (far, bottom + rise)])
    return under(strip, ceiling), angle


def _meets_the_ridge(ctx: Context, grid: FrameGrid, outline: tuple[Point, ...]) -> bool:
    """Return whether a diagonal would lie where the end of the ridge board hangs on a gable wall."""
    roof = ctx.brief.roof
    if roof.kind != "gable" or grid.face not in (("LEFT", "RIGHT") if roof.ridge == "x" else ("FRONT", "BACK")):
        return False
    left, _, right, top = extent(grid.outline)
    if top - level_at(grid.outline, left) < 1.0:  # a lower tier; the ridge hangs above it
        return False
    half = ctx.ridge_thickness / 2 + RIDGE_GAP_MM
    middle = (left + right) / 2
    reach = [level_at(outline, a) for a in (middle - half, middle, middle + half) if _spans(outline, a)]
    return bool(reach) and max(reach) > top - DEEPEST_MM


def _spans(outline: tuple[Point, ...], a: float) -> bool:
    left, _, right, _ = extent(outline)
    return left < a < right
