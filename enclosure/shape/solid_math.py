"""Which volume, bounds and overlaps do the plain prisms of a design have?

Everything here is exact geometry on convex prisms, without a CAD kernel. Two
convex bodies are apart if and only if one of these directions separates them: a
face normal of either, or the cross product of an edge of one and an edge of the
other. Bodies that touch do not overlap: an overlap must be deeper than
`TOLERANCE_MM` along every one of those directions. (The shape rounds its places to
1e-4 mm, so that parts which touch may lie that deep in one another.)

Left out: curved bodies, bodies with hollows. Units: mm, mm³, kg.

References:
    [Gottschalk1996] S. Gottschalk, "Separating axis theorem", TR96-024, University of
    North Carolina at Chapel Hill: the list of directions that suffices.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from enclosure.shape.model import Design, Part, Point, Prism, Vec
from enclosure.shape.space import area, cross, dot

TOLERANCE_MM = 1e-3
_PARALLEL = 1e-12

Box = tuple[Vec, Vec]


@dataclass(frozen=True, slots=True)
class Clash:
    """Two prisms that overlap.

    Args:
        first: Mark of one part.
        second: Mark of the other; the same mark when a part's own prisms overlap.
        depth_mm: Least distance by which one must move to be clear of the other.
        at: Middle of the box common to both (world, mm).
    """

    first: str
    second: str
    depth_mm: float
    at: Vec


def normal(prism: Prism) -> Vec:
    """Return the direction of the sweep, u x v."""
    return cross(prism.u, prism.v)


def place(prism: Prism, point: Point, height_mm: float = 0.0) -> Vec:
    """Return the world point of an outline coordinate, `height_mm` up the sweep."""
    n = normal(prism)
    o, u, v = prism.origin, prism.u, prism.v
    a, b = point
    return (
        o[0] + a * u[0] + b * v[0] + height_mm * n[0],
        o[1] + a * u[1] + b * v[1] + height_mm * n[1],
        o[2] + a * u[2] + b * v[2] + height_mm * n[2],
    )


def corners(prism: Prism) -> tuple[Vec, ...]:
    """Return the corners: the outline as it starts, then the outline at the end of the sweep."""
    n, d = normal(prism), prism.depth
    foot = tuple(place(prism, point) for point in prism.outline)
    return foot + tuple((x + d * n[0], y + d * n[1], z + d * n[2]) for x, y, z in foot)


def volume(prism: Prism) -> float:
    """Return the volume of a prism [mm³]."""
    return area(prism.outline) * prism.depth


def part_volume(part: Part) -> float:
    """Return the volume of a part [mm³]: its prisms touch and do not overlap."""
    return math.fsum(volume(prism) for prism in part.solids)


def bounding_box(prisms: Iterable[Prism]) -> Box:
    """Return the least and greatest corner of the box around prisms (world, mm).

    Raises:
        ValueError: There are no prisms.
    """
    points = [point for prism in prisms for point in corners(prism)]
    if not points:
        raise ValueError("a box needs at least one prism")
    low = tuple(min(point[axis] for point in points) for axis in range(3))
    high = tuple(max(point[axis] for point in points) for axis in range(3))
    return (low[0], low[1], low[2]), (high[0], high[1], high[2])


def design_box(design: Design) -> Box:
    """Return the box around all parts of a design."""
    return bounding_box(prism for part in design.parts for prism in part.solids)


def prism_faults(prism: Prism, tolerance: float = 1e-9) -> list[str]:
    """Return what is wrong with a prism, in words: axes, outline, sweep; empty when it is sound."""
    faults = []
    u, v = prism.u, prism.v
    if abs(dot(u, u) - 1) > tolerance or abs(dot(v, v) - 1) > tolerance or abs(dot(u, v)) > tolerance:
        faults.append("its u and v must be unit vectors square to each other")
    if not prism.depth > 0:
        faults.append("its depth must be greater than 0")
    points = prism.outline
    if len(points) < 3 or not area(points) > 0:
        return [*faults, "its outline must be a polygon that runs counter-clockwise"]
    if any(math.dist(points[i - 1], points[i]) <= TOLERANCE_MM for i in range(len(points))):
        return [*faults, "two neighbouring corners of its outline are the same"]
    bends = [_bend(points[i - 2], points[i - 1], points[i]) for i in range(len(points))]
    if min(bends) < -tolerance or sum(bends) > 3 * math.pi:
        faults.append("its outline must be convex")
    return faults


def overlap_depth(first: Prism, second: Prism) -> float:
    """Return how deep two prisms overlap [mm], 0 when they are apart or touch."""
    return _Body("", first).depth_in(_Body("", second))


def clashes(design: Design) -> list[Clash]:
    """Return all pairs of prisms that overlap, in the order of the parts."""
    bodies = [_Body(part.mark, prism) for part in design.parts for prism in part.solids]
    found = []
    for one, two in sorted(_close_pairs(bodies)):
        first, second = bodies[one], bodies[two]
        depth = first.depth_in(second)
        if depth > 0:
            found.append(Clash(first.mark, second.mark, depth, _middle(first, second)))
    return found


# --- separating directions --------------------------------------------------------


class _Body:
    """A prism with its corners, box, face normals and edge directions worked out once."""

    __slots__ = ("edges", "high", "low", "mark", "normals", "points")

    def __init__(self, mark: str, prism: Prism) -> None:
        self.mark = mark
        self.points = corners(prism)
        self.low = tuple(min(point[axis] for point in self.points) for axis in range(3))
        self.high = tuple(max(point[axis] for point in self.points) for axis in range(3))
        n = normal(prism)
        sides = [_along(prism, i) for i in range(len(prism.outline))]
        directions = _distinct([side for side in sides if side is not None])
        self.edges = [n, *directions]
        self.normals = [n, *(cross(side, n) for side in directions)]

    def depth_in(self, other: _Body) -> float:
        """Return the least overlap over all separating directions, 0 when one separates."""
        least = math.inf
        for axis in range(3):
            least = min(least, self.high[axis] - other.low[axis], other.high[axis] - self.low[axis])
        if least <= TOLERANCE_MM:
            return 0.0
        for direction in self._directions(other):
            least = min(least, _overlap(self.points, other.points, direction))
            if least <= TOLERANCE_MM:
                return 0.0
        return least

    def _directions(self, other: _Body) -> Iterator[Vec]:
        yield from self.normals
        yield from other.normals
        for one in self.edges:
            for two in other.edges:
                across = cross(one, two)
                length = math.sqrt(dot(across, across))
                if length > _PARALLEL:
                    yield (across[0] / length, across[1] / length, across[2] / length)


def _overlap(first: tuple[Vec, ...], second: tuple[Vec, ...], direction: Vec) -> float:
    x, y, z = direction
    one = [p[0] * x + p[1] * y + p[2] * z for p in first]
    two = [p[0] * x + p[1] * y + p[2] * z for p in second]
    return min(max(one) - min(two), max(two) - min(one))


def _along(prism: Prism, index: int) -> Vec | None:
    """Return the unit direction of one outline edge, None for an edge without length."""
    (a1, b1), (a2, b2) = prism.outline[index - 1], prism.outline[index]
    length = math.hypot(a2 - a1, b2 - b1)
    if length <= TOLERANCE_MM:
        return None
    a, b = (a2 - a1) / length, (b2 - b1) / length
    u, v = prism.u, prism.v
    return (a * u[0] + b * v[0], a * u[1] + b * v[1], a * u[2] + b * v[2])


def _distinct(directions: list[Vec]) -> list[Vec]:
    kept: list[Vec] = []
    for direction in directions:
        if all(max(map(abs, cross(direction, other))) > _PARALLEL for other in kept):
            kept.append(direction)
    return kept


def _close_pairs(bodies: list[_Body]) -> Iterator[tuple[int, int]]:
    """Yield pairs (lower index first) whose boxes overlap: sweep along x, then compare y and z."""
    order = sorted(range(len(bodies)), key=lambda index: (bodies[index].low[0], index))
    open_now: list[int] = []
    for index in order:
        body = bodies[index]
        start = body.low[0] + TOLERANCE_MM
        open_now = [other for other in open_now if bodies[other].high[0] > start]
        for other in open_now:
            if all(
                bodies[other].high[axis] - body.low[axis] > TOLERANCE_MM
                and body.high[axis] - bodies[other].low[axis] > TOLERANCE_MM
                for axis in (1, 2)
            ):
                yield min(index, other), max(index, other)
        open_now.append(index)


def _middle(first: _Body, second: _Body) -> Vec:
    middle = [
        (max(first.low[axis], second.low[axis]) + min(first.high[axis], second.high[axis])) / 2
        for axis in range(3)
    ]
    return middle[0], middle[1], middle[2]


def _bend(a: Point, b: Point, c: Point) -> float:
    """Return by how much the path a, b, c turns at b [rad]."""
    first = math.atan2(b[1] - a[1], b[0] - a[0])
    return (math.atan2(c[1] - b[1], c[0] - b[0]) - first + math.pi) % (2 * math.pi) - math.pi
