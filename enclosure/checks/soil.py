"""What does the ground give to a post driven into it?

Side bearing by the embedded pole formulas of the building code, holding
against uplift by friction. Both are presumptive: a garden is made-up ground,
water halves it, frost jacks posts out.

Units: N, m, kPa. Code values are psf and psf per foot of depth.

References:
    [IBC] International Building Code 2018, 1806.2, 1807.3.2, 1810.3.3.1.4 (1806.2 as printed in a handbook).
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import within

PSF = 0.04788025898
"""One pound-force per square foot [kPa]."""

PSF_PER_FOOT = PSF / 0.3048
"""One psf per foot of depth [kPa/m]."""

WET_FACTOR = 0.5
"""Share left in saturated soil: "about one half" (stake tests quoted by a fabric industry article)."""

DEAD_TOP_M = 0.30
"""Depth of loose or freezing soil that is not counted in friction (common practice, no source)."""

FRICTION_CAP_KPA = 500 * PSF


def lateral_bearing(psf_per_foot: float, wet: bool = False, doubled: bool = False) -> float:
    """Return the lateral soil bearing per metre of depth [kPa/m].

    Args:
        psf_per_foot: Row of [IBC] table 1806.2, 10 to 1500.
        wet: Saturated: half.
        doubled: Isolated pole not hurt by 1/2 in of motion at grade ([IBC] 1806.3.4).
    """
    within("the lateral soil bearing", psf_per_foot, 10.0, 1500.0, "psf/ft")
    return psf_per_foot * PSF_PER_FOOT * (WET_FACTOR if wet else 1.0) * (2.0 if doubled else 1.0)


def pole_depth_free(load: float, height: float, width: float, bearing: float) -> float:
    """Return the embedment that a pole free at the ground needs [m].

    Args:
        load: Side force [N], >= 0.
        height: Height of the force above the ground [m], >= 0.
        width: Width of the post (diagonal of a square one) [m], above 0.
        bearing: Lateral bearing per metre [kPa/m], above 0.

    References:
        [IBC] equation 18-1: d = 0.5 A {1 + sqrt(1 + 4.36 h/A)}, A = 2.34 P/(S1 b), S1 = bearing at d/3.
    """
    within("the side force", load, 0.0, 1e6, "N")
    within("the height of the force", height, 0.0, 20.0, "m")
    within("the post width", width, 1e-3, 5.0, "m")
    within("the lateral bearing", bearing, 1e-3, 1e4, "kPa/m")
    if load == 0.0:
        return 0.0
    low, high = 1e-6, 50.0
    for _ in range(200):
        depth = 0.5 * (low + high)
        a = 2.34 * load / (bearing * 1000.0 * min(depth, 3.66) / 3.0 * width)
        needed = 0.5 * a * (1 + math.sqrt(1 + 4.36 * height / a))
        if needed > depth:
            low = depth
        else:
            high = depth
    return 0.5 * (low + high)


def pole_load_free(depth: float, height: float, width: float, bearing: float) -> float:
    """Return the side force that a pole free at the ground bears at this embedment [N]: 18-1 turned round.

    References:
        [IBC] equation 18-1 with A solved from d: A = d² / (d + 1.09 h).
    """
    within("the embedment", depth, 0.0, 12.0, "m")
    if depth == 0.0:
        return 0.0
    a = depth**2 / (depth + 1.09 * height)
    return a * bearing * 1000.0 * min(depth, 3.66) / 3.0 * width / 2.34


def shaft_friction(bearing_psf: float) -> float:
    """Return the presumptive friction along a driven post [kPa].

    References:
        [IBC] 1810.3.3.1.4: one sixth of the bearing value of table 1806.2, at most 500 psf (from memory).
    """
    within("the bearing value", bearing_psf, 100.0, 20000.0, "psf")
    return min(bearing_psf * PSF / 6.0, FRICTION_CAP_KPA)


def uplift_hold(
    depth: float, perimeter: float, friction: float, wet: bool = True, dead_top: float = DEAD_TOP_M
) -> float:
    """Return what a driven post holds against a straight pull upward [N].

    Args:
        depth: Embedment [m], 0 to 5.
        perimeter: Outline that the soil grips [m], 0.02 to 1.
        friction: Shaft friction [kPa].
        wet: Saturated: half.
        dead_top: Depth left out at the top [m].

    References:
        Friction times gripped surface; leaving out the top is common practice, no source.
    """
    within("the embedment", depth, 0.0, 5.0, "m")
    within("the post's outline", perimeter, 0.02, 1.0, "m")
    gripped = max(0.0, depth - dead_top)
    return friction * 1000.0 * perimeter * gripped * (WET_FACTOR if wet else 1.0)
