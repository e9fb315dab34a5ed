"""How do the bricks of the base ring lie, and is any of them cut?

A single course round a rectangle, each side running from one corner to the next
past the end of the one before (a pinwheel), so that all four sides are laid
alike. Where whole bricks nearly fill a side the joints take up the rest;
elsewhere the last brick of the side is cut.

Units: mm, plan coordinates of the design (x to the right, y to the back).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.shape.model import Base, Point

WIDEST_JOINT_MM = 15.0
"""Laid dry, a joint up to this wide needs no cut brick (common practice, no source)."""
LEAST_PIECE_MM = 40.0
"""A shorter piece of brick breaks (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Side:
    """One side of the ring.

    Args:
        bricks: Corners of each brick in plan, the cut ones last.
        whole: How many are whole.
        joint_mm: Joint between them.
        pieces_mm: Lengths of the cut bricks.
    """

    bricks: tuple[tuple[Point, Point, Point, Point], ...]
    whole: int
    joint_mm: float
    pieces_mm: tuple[float, ...]


def course(base: Base, outside: Point) -> tuple[Side, ...]:
    """Return the four sides: front, right, back, left; none without a ring."""
    long, wide, _ = base.brick_mm
    if not base.ring_length_mm or long <= 0:
        return ()
    x0, y0 = (outside[0] - base.ring_length_mm) / 2, (outside[1] - base.ring_width_mm) / 2
    x1, y1 = x0 + base.ring_length_mm, y0 + base.ring_width_mm
    runs: list[tuple[Point, Point, float]] = [
        ((x0, y0), (1.0, 0.0), base.ring_length_mm - wide),
        ((x1, y0), (0.0, 1.0), base.ring_width_mm - wide),
        ((x1, y1), (-1.0, 0.0), base.ring_length_mm - wide),
        ((x0, y1), (0.0, -1.0), base.ring_width_mm - wide),
    ]
    return tuple(_side(base, start, way, run) for start, way, run in runs)


def _side(base: Base, start: Point, way: Point, run: float) -> Side:
    long, wide, _ = base.brick_mm
    whole, joint, pieces = divided(run, long, base.joint_mm)
    inward = (-way[1] * wide, way[0] * wide)
    bricks = []
    at = 0.0
    for size in (*[long] * whole, *pieces):
        a = (start[0] + way[0] * at, start[1] + way[1] * at)
        b = (a[0] + way[0] * size, a[1] + way[1] * size)
        bricks.append((a, b, (b[0] + inward[0], b[1] + inward[1]), (a[0] + inward[0], a[1] + inward[1])))
        at += size + joint
    return Side(tuple(bricks), whole, joint, pieces)


def divided(run: float, long: float, joint: float) -> tuple[int, float, tuple[float, ...]]:
    """Return whole bricks, joint and cut pieces that fill a side, with a joint after the last of them."""
    whole = math.floor((run + 1e-6) / (long + joint))
    if whole and run / whole - long <= max(WIDEST_JOINT_MM, joint):
        return whole, run / whole - long, ()
    piece = run - whole * (long + joint) - joint
    if piece >= LEAST_PIECE_MM:
        return whole, joint, (piece,)
    if not whole:
        return 0, joint, (max(run - joint, 0.0),)
    # a short rest and the last whole brick become two pieces of one length
    return whole - 1, joint, ((long + piece) / 2,) * 2


def bricks_needed(sides: tuple[Side, ...], long: float, kerf: float = 5.0) -> int:
    """Return how many bricks all sides take; two cut pieces come from one brick where they fit."""
    pieces = sorted((piece for side in sides for piece in side.pieces_mm), reverse=True)
    rests: list[float] = []
    for piece in pieces:
        place = next((n for n, rest in enumerate(rests) if piece + kerf <= rest + 1e-6), None)
        if place is None:
            rests.append(long - piece)
        else:
            rests[place] -= piece + kerf
    return sum(side.whole for side in sides) + len(rests)
