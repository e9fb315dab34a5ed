"""Which share of the velocity pressure acts on a wall, on a roof, on one panel, on the inside?

Coefficients only; the pressure they multiply comes from `wind_pressure`, the
choice of set from `wind`. Positive pushes toward the surface, negative pulls
off. A shelter of a metre or two lies wholly within the edge zones of every
code, so the edge values stand for every panel of it.

References:
    [ASCE7-16] figures 27.3-1, 29.4-1 (29.5-1 in 7-10), 30.3-1, 30.3-2A; table 26.13-1.
    [EN1991-1-4] tables 7.1 to 7.4b, clause 7.2.9 (values seen as coded in open libraries).
    [NBCC] figures 4.1.7.6-A to -C as digitised on opened pages.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import interpolate, within
from enclosure.errors import RangeError

Rows = tuple[tuple[float, float], ...]


def square_tower_force(ratio: float, diagonal: bool = False) -> float:
    """Return the force coefficient Cf of a square tower, tank or chimney.

    Args:
        ratio: Height over least width h/D, above 0 to 25; below 1 the value of 1 holds.
        diagonal: Wind along the diagonal; Cf then applies to the area projected square to that wind.

    References:
        [ASCE7-16] figure 29.4-1 (29.5-1 in 7-10): h/D 1, 7, 25: 1.3, 1.4, 2.0 square on; 1.0, 1.1, 1.5 diagonal.
    """
    within("h/D", ratio, 1e-9, 25.0)
    square: Rows = ((1.0, 1.3), (7.0, 1.4), (25.0, 2.0))
    along: Rows = ((1.0, 1.0), (7.0, 1.1), (25.0, 1.5))
    return interpolate(ratio, along if diagonal else square)


def en_wall_zones(ratio: float) -> dict[str, float]:
    """Return cpe,10 of the walls of a box by zone: A, B, C along the side, D windward, E leeward.

    Args:
        ratio: Height over depth h/d, above 0; end values beyond 0.25 and 5.

    References:
        [EN1991-1-4] table 7.1.
    """
    within("h/d", ratio, 1e-9, 100.0)
    return {
        "A": -1.2,
        "B": -0.8,
        "C": -0.5,
        "D": interpolate(ratio, ((0.25, 0.7), (1.0, 0.8))),
        "E": interpolate(ratio, ((0.25, -0.3), (1.0, -0.5), (5.0, -0.7))),
    }


EN_WALL_LOCAL = {"A": -1.4, "D": 1.0}
"""[EN1991-1-4] table 7.1, cpe,1 of zones A and D (loaded area up to 1 m²)."""

_EN_ROOF_LOCAL: dict[str, Rows] = {
    "flat": ((0.0, -2.5),),
    "mono": ((5.0, -2.6), (15.0, -2.9), (30.0, -2.9), (45.0, -2.4)),
    "gable": ((5.0, -2.5), (15.0, -2.0), (30.0, -1.5), (45.0, -1.5)),
}


def en_roof_local(kind: str, slope: float) -> float:
    """Return the worst cpe,1 on a roof panel (zone F, all wind directions).

    Args:
        kind: "flat", "mono" or "gable".
        slope: Roof slope [deg], 0 to 60.

    References:
        [EN1991-1-4] tables 7.2, 7.3a/b, 7.4a/b, cpe,1 columns (from memory).
    """
    return _of_roof(_EN_ROOF_LOCAL, kind, slope)


def _of_roof(rows: dict[str, Rows], kind: str, slope: float) -> float:
    within("the roof slope", slope, 0.0, 60.0, "deg")
    if kind not in rows:
        raise RangeError(f"roof kind {kind} is unknown", "use flat, mono or gable")
    return interpolate(slope, rows[kind])


_EN_ROOF_WHOLE: dict[str, Rows] = {
    "flat": ((0.0, -1.2),),
    "mono": ((5.0, -1.3), (15.0, -1.3), (30.0, -1.2), (45.0, -1.2)),
    "gable": ((5.0, -1.2), (15.0, -1.0), (30.0, -1.0), (45.0, -1.1)),
}


def en_roof_whole(kind: str, slope: float) -> float:
    """Return the coefficient for the lift on a whole small roof.

    Zones F to I averaged by their areas, in the worst wind direction, and rounded up, for a roof that is at
    least a third of e long in the wind (e: the smaller of its breadth and twice the height).

    Args:
        kind: "flat", "mono" or "gable".
        slope: Roof slope [deg], 0 to 60.

    References:
        [EN1991-1-4] tables 7.2, 7.3a/b, 7.4a/b, cpe,10 columns (from memory); one mean for the whole roof is
        common practice, no source.
    """
    return _of_roof(_EN_ROOF_WHOLE, kind, slope)


def asce_roof_whole(slope: float, ratio: float) -> float:
    """Return the strongest Cp on the windward part of a roof, taken for all of a small roof.

    Args:
        slope: Roof slope [deg], 0 to 60; wind along the ridge makes every slope act as a flat one.
        ratio: Height over length along the wind h/L, above 0; -0.9 to 0.5, -1.3 from 1.0.

    References:
        [ASCE7-16] figure 27.3-1, roof parallel to ridge or below 10 deg, 0 to h/2 from the windward edge,
        straight between h/L 0.5 and 1.0 (as quoted in an engineering forum thread).
    """
    within("the roof slope", slope, 0.0, 60.0, "deg")
    within("h/L", ratio, 1e-9, 100.0)
    return interpolate(ratio, ((0.5, -0.9), (1.0, -1.3)))


def asce_wall_local(area: float) -> tuple[float, float]:
    """Return GCp of a wall panel: strongest push (zone 4, 5) and pull (zone 5).

    Args:
        area: Effective wind area [m²], above 0.

    References:
        [ASCE7-16] figure 30.3-1: +1.0/-1.4 to 0.93 m², +0.7/-0.8 from 46 m², straight on the
        logarithm of the area between (from memory).
    """
    within("the area", area, 1e-9, 1e5, "m²")
    log = math.log10(area)
    ends = (math.log10(0.929), math.log10(46.45))
    return interpolate(log, ((ends[0], 1.0), (ends[1], 0.7))), interpolate(
        log, ((ends[0], -1.4), (ends[1], -0.8))
    )


def asce_roof_local(kind: str, slope: float, area: float) -> tuple[float, float]:
    """Return GCp of a roof panel: push down, and the pull of the worst corner (zone 3, 3r under a ridge).

    Args:
        kind: "flat", "mono" or "gable".
        slope: Roof slope [deg], 0 to 60.
        area: Effective wind area [m²].

    References:
        [ASCE7-16] figure 30.3-2A (to 7 deg): +0.3/-3.2 to 0.93 m², +0.2 from 9.3 m², -1.4 from 46 m².
        Steeper from memory, rounded up: figures 30.3-2B and -2C (gable to 27 deg) +0.7/-3.6, falling to -1.8;
        30.3-2D +0.9; a mono roof (30.3-5A and -5B, at most -2.9) and steep gables keep -3.2.
    """
    within("the roof slope", slope, 0.0, 60.0, "deg")
    within("the area", area, 1e-9, 1e5, "m²")
    log = math.log10(area)
    down = interpolate(log, ((math.log10(0.929), 0.3), (math.log10(9.29), 0.2)))
    near, far = (-3.6, -1.8) if kind == "gable" and 7.0 < slope <= 27.0 else (-3.2, -1.4)
    up = interpolate(log, ((math.log10(0.929), near), (math.log10(46.45), far)))
    return (down if slope <= 7.0 else 0.7 if slope <= 27.0 else 0.9), up


NBCC_WHOLE = {"windward": 0.8, "leeward": -0.5, "side": -0.7, "roof": -1.0}
"""[NBCC] Cp of a whole small building, to be used with Cg = 2.0."""

NBCC_WALL_LOCAL = (1.8, -2.1)
"""[NBCC] figure 4.1.7.6-B, CpCg of a panel up to 1 m² in the end zone: push, pull (gust included)."""

NBCC_ROOF_LOCAL = (0.5, -5.4)
"""[NBCC] figure 4.1.7.6-C, CpCg of a roof corner panel up to 1 m², slope to 7 deg: push, pull."""


def internal(route: str, opened: bool = False) -> tuple[float, float]:
    """Return the internal pressure coefficients (least, greatest), gust included where the code does.

    Args:
        route: "gust", "asce7", "en1991" or "nbcc".
        opened: A panel is missing or the front is open.

    References:
        [ASCE7-16] table 26.13-1: +-0.18 enclosed (as quoted in course notes), +-0.55 partially enclosed
        (from memory).
        [EN1991-1-4] 7.2.9: +0.2/-0.3; opening on the windward side 0.9 * 0.8 (from memory).
        [NBCC] 4.1.7.7: Cpi +0.3/-0.45 (category 2), +-0.7 (category 3), times Cgi 2.0.
        A gust uses the ASCE 7 pair when closed and the full windward +0.8 when open.
    """
    sets = {
        "gust": ((-0.18, 0.18), (-0.5, 0.8)),
        "asce7": ((-0.18, 0.18), (-0.55, 0.55)),
        "en1991": ((-0.3, 0.2), (-0.63, 0.72)),
        "nbcc": ((-0.9, 0.6), (-1.4, 1.4)),
    }
    if route not in sets:
        raise RangeError(f"wind route {route} is unknown", "use a gust, asce7, en1991 or nbcc")
    return sets[route][1 if opened else 0]
