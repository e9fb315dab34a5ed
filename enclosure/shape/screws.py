"""Where does each screw of a joint go, and how long must a bolt be?

Places in the plane of the frame (a to the right, b up, seen from outside), so
that papers can give them as dimensions and count them one by one.

Units: mm. Distances are common practice, no source, unless said.
"""

from __future__ import annotations

import math
from collections.abc import Mapping

from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Part, Point
from enclosure.shape.space import extent
from enclosure.stock.model import Hardware

SCREWS_IN_LEG = 3
SCREW_EDGE_MM = 12.0
"""A screw keeps this far from the edges of a gusset and from the joint under it."""
BRACKET_STEP_MM = 15.0
"""First screw of an angle from the corner, and the next from that."""
SINK_WIDE_MM = 25.4
SINK_DEEP_MM = 12.0
"""Hole in which head and washer of a corner bolt lie below the face that the track covers."""
WASHER_MM = 1.6
NUT_MM = 6.8
THREAD_MM = 3.0
"""Thickness of a washer (ISO 7089), height of a nut (ISO 4032), thread beyond it; M8, from memory."""


def bolt_needed(grip_mm: float, sunk_mm: float = 0.0) -> float:
    """Return how long a bolt must be to clamp a thickness, two washers and a nut, its head sunk or not."""
    return grip_mm - sunk_mm + 2 * WASHER_MM + NUT_MM + THREAD_MM


def bolt_for(stock: Mapping[str, Hardware], needed_mm: float) -> str:
    """Return the key of the shortest bolt that is long enough; the longest where none is.

    A list that gives no lengths has one bolt for everything.
    """
    told = sorted((item.length_mm, key) for key, item in stock.items() if key.startswith("bolt_m8") and item.length_mm)
    if not told:
        return "bolt_m8"
    return next((key for length, key in told if length >= needed_mm - 0.5), told[-1][1])


def first_listed(stock: Mapping[str, Hardware], key: str) -> str:
    """Return a key, or that of the plain wood screw where the list has no such screw."""
    return key if key in stock else "frame_screw"


def gusset_screws(grid: FrameGrid, part: Part, inset_mm: float, head_mm: float) -> list[Point]:
    """Return the screws of a gusset: three over the stile, three over the sill or head.

    Args:
        grid: Its frame.
        part: The gusset; its corner lies in a corner of the frame's inside face.
        inset_mm: How much of the stile's inside face something else covers (0 where it is free).
        head_mm: How high the head's inside face stands behind an upper gusset; less than the others on a bevelled head.
    """
    outline = part.solids[0].outline
    left, _, right, _ = extent(outline)
    middle = sum(extent(grid.outline)[0::2]) / 2
    at_left = abs(left - middle) > abs(right - middle)
    edge = left if at_left else right
    inward = 1.0 if at_left else -1.0
    on_edge = sorted((p for p in outline if abs(p[0] - edge) < 0.5), key=lambda p: p[1])
    far = next(p for p in outline if abs(p[0] - edge) >= 0.5)
    low, high = on_edge[0], on_edge[-1]
    corner, other = (low, high) if math.dist(far, low) * abs(far[1] - low[1]) < 1.0 else (high, low)
    stile = (grid.member_face - inset_mm) / 2
    level = head_mm if corner == high else grid.member_face
    return [
        *_row((corner, other, far), (inward, 0.0), stile, level),
        *_row((corner, far, other), _square_to(corner, far, other), level / 2, 2 * stile),
    ]


def _row(shape: tuple[Point, Point, Point], across: Point, away: float, past: float) -> list[Point]:
    """Return screws in a row along one leg, clear of the joint and of the edge opposite the corner.

    `shape` is the corner, the end of this leg and the end of the other one.
    """
    corner, end, opposite = shape
    long, slope = math.dist(corner, end), math.dist(end, opposite)
    along = ((end[0] - corner[0]) / long, (end[1] - corner[1]) / long)

    def from_edge(way: Point) -> float:
        return abs((opposite[0] - end[0]) * way[1] - (opposite[1] - end[1]) * way[0]) / slope

    first = past + SCREW_EDGE_MM
    # at the end of the leg a screw lies on the edge; it comes nearer with every mm across, farther with every mm back
    last = max(first, long - (SCREW_EDGE_MM + away * from_edge(across)) / from_edge(along))
    step = (last - first) / (SCREWS_IN_LEG - 1)
    return [
        (
            corner[0] + along[0] * (first + step * k) + across[0] * away,
            corner[1] + along[1] * (first + step * k) + across[1] * away,
        )
        for k in range(SCREWS_IN_LEG)
    ]


def _square_to(corner: Point, end: Point, inside: Point) -> Point:
    """Return the direction square to the leg, toward the inside of the gusset."""
    long = math.dist(corner, end)
    x, y = (end[0] - corner[0]) / long, (end[1] - corner[1]) / long
    turned = (-y, x)
    toward = (inside[0] - corner[0]) * turned[0] + (inside[1] - corner[1]) * turned[1]
    return turned if toward > 0 else (y, -x)


def brace_screws(part: Part, count: int, face_mm: float) -> list[Point]:
    """Return the screws of both ends of a diagonal: in zigzag over the sill and over the head."""
    outline = part.solids[0].outline
    _, bottom, _, top = extent(outline)
    middle = (bottom + top) / 2
    ends = [[p for p in outline if (p[1] < middle) is low] for low in (True, False)]
    (low_a, low_b), (high_a, high_b) = ((_mean(end, 0), _mean(end, 1)) for end in ends)
    long = math.hypot(high_a - low_a, high_b - low_b)
    way = ((high_a - low_a) / long, (high_b - low_b) / long)
    wide = _width(outline, way)
    found = []
    for (a, b), sign in (((low_a, low_b), 1.0), ((high_a, high_b), -1.0)):
        reach = face_mm / abs(way[1])
        for k in range(count):
            down = reach * (k + 1) / (count + 1) * sign
            aside = wide / 4 * (1 if k % 2 else -1)
            found.append((a + way[0] * down - way[1] * aside, b + way[1] * down + way[0] * aside))
    return found


def _mean(points: list[Point], axis: int) -> float:
    return math.fsum(p[axis] for p in points) / len(points)


def _width(outline: tuple[Point, ...], way: Point) -> float:
    across = [p[0] * -way[1] + p[1] * way[0] for p in outline]
    return max(across) - min(across)
