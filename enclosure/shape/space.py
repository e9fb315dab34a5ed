"""How are points, convex outlines and prisms handled?

Small exact-enough vector and polygon work in mm. Outlines are convex,
counter-clockwise and start at their lowest, then leftmost corner, so that equal
shapes compare equal. Left out: anything that is not convex (a track is several
prisms).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from enclosure.shape.model import Plane, Point, Prism, Vec

GRAIN = 1e-4
"""Coordinates are kept to 0.0001 mm, so that JSON is exact and runs agree."""


def tidy(value: float) -> float:
    """Round to the grain and drop the sign of zero."""
    return round(value, 4) + 0.0


def vec(x: float, y: float, z: float) -> Vec:
    """Return a point rounded to the grain."""
    return (tidy(x), tidy(y), tidy(z))


def add(a: Vec, b: Vec, times: float = 1.0) -> Vec:
    """Return a + times * b."""
    return (a[0] + times * b[0], a[1] + times * b[1], a[2] + times * b[2])


def cross(a: Vec, b: Vec) -> Vec:
    """Return the vector product a x b."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Vec, b: Vec) -> float:
    """Return the scalar product of a and b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def unit(x: float, y: float, z: float) -> Vec:
    """Return a direction of length 1, kept to twelve digits."""
    length = math.sqrt(x * x + y * y + z * z)
    return (round(x / length, 12) + 0.0, round(y / length, 12) + 0.0, round(z / length, 12) + 0.0)


def plane(origin: Vec, u: Vec, v: Vec) -> Plane:
    """Return the plane through `origin` with right-hand normal u x v."""
    return Plane(vec(*origin), u, v, unit(*cross(u, v)))


def at(where: Plane, a: float, b: float, c: float = 0.0) -> Vec:
    """Return the world point of local coordinates (a right, b up, c outward)."""
    point = add(add(add(where.origin, where.u, a), where.v, b), where.n, c)
    return vec(*point)


def ordered(points: Iterable[Point]) -> tuple[Point, ...]:
    """Return a clean counter-clockwise outline: no doubled or straight-line corners."""
    rough = [(tidy(x), tidy(y)) for x, y in points]
    kept: list[Point] = []
    for point in rough:
        if not kept or math.dist(point, kept[-1]) > 2 * GRAIN:
            kept.append(point)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) <= 2 * GRAIN:
        kept.pop()
    corners = _without_straight_ones(kept)
    if len(corners) < 3:
        return ()
    if area(corners) < 0:
        corners.reverse()
    first = min(range(len(corners)), key=lambda i: (corners[i][1], corners[i][0]))
    return tuple(corners[first:] + corners[:first])


def _without_straight_ones(corners: list[Point]) -> list[Point]:
    """Drop corners on a straight line, one at a time: of two that are nearly one, the second then stands out."""
    count = len(corners)
    for i, point in enumerate(corners):
        if count >= 3 and not _stands_out(corners[i - 1], point, corners[(i + 1) % count]):
            return _without_straight_ones(corners[:i] + corners[i + 1 :])
    return corners


def _stands_out(before: Point, here: Point, after: Point) -> bool:
    """True when a corner lies off the straight line between its neighbours by more than rounding explains."""
    return abs(_turn(before, here, after)) > 4 * GRAIN * max(math.dist(before, after), 1.0)


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def area(points: Iterable[Point]) -> float:
    """Return the signed area of an outline [mm²], positive counter-clockwise.

    A fan of triangles from the first corner, so that an outline far from the origin loses no digits.
    """
    (a0, b0), *others = points
    return 0.5 * math.fsum((a1 - a0) * (b2 - b0) - (a2 - a0) * (b1 - b0) for (a1, b1), (a2, b2) in pairwise(others))


def mean_corner(points: Sequence[Point]) -> Point:
    """Return the mean of the corners of an outline."""
    return math.fsum(x for x, _ in points) / len(points), math.fsum(y for _, y in points) / len(points)


def box(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    """Return an upright rectangle."""
    return ordered([(left, bottom), (right, bottom), (right, top), (left, top)])


def clip(points: tuple[Point, ...], p: Point, q: Point) -> tuple[Point, ...]:
    """Keep the part of a convex outline to the left of the line from p to q."""
    kept: list[Point] = []
    count = len(points)
    sides = [_turn(p, q, corner) for corner in points]
    for i in range(count):
        here, there = points[i], points[(i + 1) % count]
        side, next_side = sides[i], sides[(i + 1) % count]
        if side >= 0:
            kept.append(here)
        if (side > 0 > next_side) or (side < 0 < next_side):
            share = side / (side - next_side)
            kept.append((here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1])))
    return ordered(kept)


def extent(points: Iterable[Point]) -> tuple[float, float, float, float]:
    """Return (left, bottom, right, top)."""
    corners = list(points)
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    return (min(xs), min(ys), max(xs), max(ys))


def level_at(points: tuple[Point, ...], a: float, *, top: bool = True) -> float:
    """Return the highest (or lowest) b of a convex outline at a given a."""
    hits: list[float] = []
    for p, q in zip(points, points[1:] + points[:1], strict=True):
        low, high = min(p[0], q[0]), max(p[0], q[0])
        if low - GRAIN <= a <= high + GRAIN:
            if high - low < GRAIN:
                hits += [p[1], q[1]]
            else:
                hits.append(p[1] + (q[1] - p[1]) * (a - p[0]) / (q[0] - p[0]))
    return max(hits) if top else min(hits)


def slab(where: Plane, outline: tuple[Point, ...], low: float, high: float) -> Prism:
    """Return a prism whose outline lies in the plane, from c = low to c = high."""
    return Prism(at(where, 0.0, 0.0, low), where.u, where.v, ordered(outline), tidy(high - low))


def bar_along(where: Plane, section: tuple[Point, ...], start: float, end: float) -> Prism:
    """Return a prism swept along u from `start` to `end`.

    `section` is in (inward depth, b): the first coordinate runs from the outside
    face into the wall.
    """
    inward = unit(-where.n[0], -where.n[1], -where.n[2])
    return Prism(at(where, start, 0.0, 0.0), inward, where.v, ordered(section), tidy(end - start))


def volume_mm3(solids: Iterable[Prism]) -> float:
    """Return the volume of prisms that do not overlap [mm³]."""
    return math.fsum(abs(area(s.outline)) * s.depth for s in solids)
