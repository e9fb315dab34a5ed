"""Which parts have the same shape, and where does each stand?

Every part is written in axes of its own: x along the longest edge of its first
prism's outline, from that edge's start, z along the sweep. Two parts of one size then
have equal prisms, so that a file can hold the shape once and place it many times.

Units: mm.
"""

from __future__ import annotations

import math

from enclosure.shape.model import Part, Prism, Vec
from enclosure.shape.solid_math import place
from enclosure.shape.space import cross, dot

_DIGITS_MM, _DIGITS_UNIT = 6, 12


def own_axes(part: Part) -> tuple[Prism, tuple[Prism, ...]]:
    """Return a part's own axes and its prisms in them.

    Returns:
        The first prism, turned so that its outline starts along its longest edge at
        (0, 0): its origin, u and v are the axes. Then all prisms written in those axes,
        rounded to 1e-6 mm.
    """
    first = _from_longest_edge(part.solids[0])
    axes = (first.u, first.v, cross(first.u, first.v))

    def turned(vector: Vec, digits: int) -> Vec:
        x, y, z = (round(dot(vector, axis), digits) + 0.0 for axis in axes)
        return x, y, z

    prisms = []
    for solid in part.solids:
        prism = _from_longest_edge(solid)
        away = tuple(here - there for here, there in zip(prism.origin, first.origin, strict=True))
        outline = tuple((round(a, _DIGITS_MM) + 0.0, round(b, _DIGITS_MM) + 0.0) for a, b in prism.outline)
        prisms.append(
            Prism(
                turned((away[0], away[1], away[2]), _DIGITS_MM), turned(prism.u, _DIGITS_UNIT),
                turned(prism.v, _DIGITS_UNIT), outline, round(prism.depth, _DIGITS_MM),
            )
        )
    return first, tuple(prisms)


def _from_longest_edge(prism: Prism) -> Prism:
    """Return the same body with its outline starting at (0, 0) along its longest edge."""
    points = prism.outline
    count = len(points)
    longs = [math.dist(points[i], points[(i + 1) % count]) for i in range(count)]
    start = next(i for i, long in enumerate(longs) if long > max(longs) - 10**-_DIGITS_MM)
    ring = (*points[start:], *points[:start])
    (a0, b0), (a1, b1) = ring[0], ring[1]
    c, s = (a1 - a0) / longs[start], (b1 - b0) / longs[start]
    u, v = prism.u, prism.v
    along = (c * u[0] + s * v[0], c * u[1] + s * v[1], c * u[2] + s * v[2])
    across = (c * v[0] - s * u[0], c * v[1] - s * u[1], c * v[2] - s * u[2])
    outline = tuple(((a - a0) * c + (b - b0) * s, (b - b0) * c - (a - a0) * s) for a, b in ring)
    return Prism(place(prism, ring[0]), along, across, outline, prism.depth)
