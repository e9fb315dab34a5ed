"""Which corners does the outline of some points have?

Units: mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from enclosure.shape.model import Point

_ONE_POINT_DIGITS = 6
_FLAT_MM = 2e-6
"""A corner that stands out less than this from the straight line between its neighbours is none."""


def hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the convex hull, counter-clockwise, without points on its edges; points 1e-6 mm apart count as one.

    References:
        Andrew, "Another efficient algorithm for convex hulls in two dimensions", 1979 (monotone chain).
    """
    ordered = sorted({(round(x, _ONE_POINT_DIGITS) + 0.0, round(y, _ONE_POINT_DIGITS) + 0.0) for x, y in points})
    if len(ordered) < 3:
        return tuple(ordered)

    def half(line: Sequence[Point]) -> list[Point]:
        kept: list[Point] = []
        for point in line:
            while len(kept) > 1 and not _turns_left(kept[-2], kept[-1], point):
                kept.pop()
            kept.append(point)
        return kept[:-1]

    return (*half(ordered), *half(ordered[::-1]))


def _turns_left(a: Point, b: Point, c: Point) -> bool:
    """Return True when the way from a over b to c bends to the left by more than rounding."""
    twice_area = (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
    return twice_area > _FLAT_MM * math.dist(a, c)
