"""What does the shelter stand on?

The base ring of bricks under the sills and the lining boards of the bed. Posts
and stakes are in `anchoring`.
Units: mm, world coordinates.
"""

from __future__ import annotations

import math
from dataclasses import replace

from enclosure.brief.model import Brief
from enclosure.shape.context import Context
from enclosure.shape.course import bricks_needed, course
from enclosure.shape.fit import floor_to
from enclosure.shape.model import Base, Part, Prism, SheetCut, Vec
from enclosure.shape.space import box, tidy, vec
from enclosure.stock.model import Stock

SPARE_BRICKS = 0.05
BED_INSET_MM = 10.0
BRICK_GAP_MM = 5.0
"""From the bricks to the lining boards, which can then be set after them; practice, no source."""


def base_ring(ctx: Context) -> Base:
    """Return the brick ring: its centre line lies under the centre line of the sills.

    References:
        Bricks of a course = 2 [(L - b) + (W - b)] / (l + joint), along the middle of the course
        (UK brick 215 x 102.5 mm, joint 10, 1.6 x 1.6 m: 26.6, so 27).
    """
    bed = ctx.brief.bed.depth_mm if ctx.brief.bed else 0.0
    crown = ctx.brief.plant.crown_mm
    f = ctx.section.depth
    if ctx.brief.base_ring is None:
        diagonal = tidy(math.hypot(ctx.outside_width, ctx.outside_depth))
        return Base(ctx.outside_width, ctx.outside_depth, (0.0, 0.0, 0.0), 0.0, 0, 0, diagonal, bed, crown)
    brick = ctx.stock.bricks[ctx.brief.base_ring.brick]
    length = tidy(ctx.outside_width - f + brick.width_mm)
    width = tidy(ctx.outside_depth - f + brick.width_mm)
    exact = 2 * ((length - brick.width_mm) + (width - brick.width_mm)) / (brick.length_mm + brick.joint_mm)
    count = math.ceil(exact - 1e-9)
    ring = Base(
        length,
        width,
        (brick.length_mm, brick.width_mm, brick.height_mm),
        brick.joint_mm,
        count,
        math.ceil(count * (1 + SPARE_BRICKS) - 1e-9),
        tidy(math.hypot(length, width)),
        bed,
        crown,
    )
    laid = bricks_needed(course(ring, (ctx.outside_width, ctx.outside_depth)), brick.length_mm)
    return replace(ring, bricks_to_buy=max(ring.bricks_to_buy, laid))


def ring_height(brief: Brief, stock: Stock) -> float:
    """Return the height of the base ring [mm], 0 without one."""
    return stock.bricks[brief.base_ring.brick].height_mm if brief.base_ring else 0.0


def _inset(ctx: Context) -> float:
    """Return how far inside the frame's outer edge the boards begin: clear of the sill and of the bricks."""
    f = ctx.section.depth
    brick = ctx.stock.bricks[ctx.brief.base_ring.brick].width_mm if ctx.brief.base_ring else 0.0
    return tidy(max(f + BED_INSET_MM, (brick + f) / 2 + BRICK_GAP_MM if brick else 0.0))


def lining(ctx: Context) -> list[Part]:
    """Return the foam boards that line the bed's four sides, marks still empty."""
    bed = ctx.brief.bed
    if bed is None or bed.lining is None:
        return []
    board = ctx.stock.boards[bed.lining]
    longest = max((max(s.width_mm, s.height_mm) for s in board.sizes), default=0.0)
    t = board.thickness_mm
    inset = _inset(ctx)
    inside_x, inside_y = ctx.outside_width - 2 * inset, ctx.outside_depth - 2 * inset
    x0, y0 = inset, inset
    ring = ring_height(ctx.brief, ctx.stock)
    top, depth = -ring, bed.depth_mm
    z = (0.0, 0.0, 1.0)
    runs: list[tuple[Vec, Vec, float]] = [
        ((x0, y0 + t, top - depth), (1.0, 0.0, 0.0), inside_x),
        ((x0 + inside_x, y0 + inside_y - t, top - depth), (-1.0, 0.0, 0.0), inside_x),
        ((x0 + inside_x - t, y0 + t, top - depth), (0.0, 1.0, 0.0), inside_y - 2 * t),
        ((x0 + t, y0 + inside_y - t, top - depth), (0.0, -1.0, 0.0), inside_y - 2 * t),
    ]
    parts = []
    for origin, u, length in runs:
        pieces = max(1, math.ceil(length / longest)) if longest else 1
        size = floor_to(length / pieces, ctx.step)
        for k in range(pieces):
            start = vec(*(origin[i] + u[i] * length / pieces * k for i in range(3)))
            outline = box(0, 0, size, depth)
            solid = Prism(start, u, z, outline, t)
            mass = round(size * depth * 1e-6 * board.mass_kg_m2, 4)
            cut = SheetCut(size, tidy(depth), outline, turnable=True)
            parts.append(Part("", "lining", "lining board", "BASE", 0, 0, 0, board.key, cut, (solid,), mass))
    return parts
