"""How large may a panel be, so that it neither buckles in July nor falls out in January?

A panel lies between two track webs. It is cut at one temperature and lives
between two others. The frame is timber, whose change of length along the grain
is a fourteenth of the sheet's, so the panel's own free movement is counted in
full (the aluminium track is short pieces screwed to the timber and follows it).

Left out: swelling of timber across the grain (a frame member's face, 1 % for
4 % of moisture), which the least cover has to carry.

Units: mm, degC, expansion in 1e-6/K.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.errors import DesignError, RangeError
from enclosure.shape.space import tidy

INCH_STEP = 25.4 / 16
METRIC_STEP = 1.0


def step_for(units: str) -> float:
    """Return the step to which parts are cut [mm]: 1/16 in, or 1 mm."""
    return INCH_STEP if units == "inch" else METRIC_STEP


def floor_to(value: float, step: float) -> float:
    """Round down to a multiple of `step`; a hair below a multiple counts as that multiple."""
    return tidy(math.floor(value / step + 1e-6) * step)


def ceil_to(value: float, step: float) -> float:
    """Round up to a multiple of `step`; a hair above a multiple counts as that multiple."""
    return tidy(math.ceil(value / step - 1e-6) * step)


def thermal_movement(length: float, alpha: float, change: float) -> float:
    """Return the free change of length of a body [mm].

    Args:
        length: Length at the reference temperature [mm], >= 0.
        alpha: Linear expansion [1e-6/K], 0 to 500.
        change: Change of temperature [K].

    Raises:
        RangeError: Negative length or an expansion outside 0 to 500.

    References:
        dL = alpha L dT: 2.4 m of polycarbonate over 60 K moves 9.4 mm.
    """
    if length < 0 or not 0 <= alpha <= 500:
        raise RangeError(f"length {length} mm or expansion {alpha}e-6/K is out of range")
    return length * alpha * 1e-6 * change


@dataclass(frozen=True, slots=True)
class Climate:
    """Temperatures of a sheet [degC]: when cut, at its hottest and at its coldest."""

    cut_degc: float
    hottest_degc: float
    coldest_degc: float


@dataclass(frozen=True, slots=True)
class AxisFit:
    """A panel's size on one axis and how it sits [mm]; meanings as in `model.Fit`."""

    size: float
    clearance: float
    needed: float
    cover_cold: float
    movement: float
    slot_depth_that_would_do: float


def needed_clearance(distance: float, alpha: float, climate: Climate, cut_tolerance: float) -> float:
    """Return the least gap behind each edge [mm]: half the growth in the heat plus half the cut tolerance.

    Args:
        distance: Distance between the two track webs [mm].
        alpha: Expansion of the sheet [1e-6/K].
        climate: Temperatures.
        cut_tolerance: Whole tolerance of a cut [mm].
    """
    heat = max(0.0, climate.hottest_degc - climate.cut_degc)
    return 0.5 * thermal_movement(distance, alpha, heat) + 0.5 * cut_tolerance


def fit_axis(
    distance: float, slot_depth: float, alpha: float, climate: Climate, cut_tolerance: float, step: float
) -> AxisFit:
    """Return the largest panel that still has room in the heat, rounded down to the cutting step.

    Args:
        distance: Distance between the webs [mm].
        slot_depth: Depth of the shallower of the two slots [mm].
        alpha: Expansion of the sheet [1e-6/K].
        climate: Temperatures.
        cut_tolerance: Whole tolerance of a cut [mm].
        step: Cutting step [mm].

    References:
        Length = web distance - 2 clearance; the cover is
        counted with the panel hard against one web at the coldest.
    """
    needed = needed_clearance(distance, alpha, climate, cut_tolerance)
    size = floor_to(distance - 2 * needed, step)
    clearance = (distance - size) / 2
    shrink = thermal_movement(max(size, 0.0), alpha, max(0.0, climate.cut_degc - climate.coldest_degc))
    cover = slot_depth - (2 * clearance + shrink)
    movement = thermal_movement(max(size, 0.0), alpha, climate.hottest_degc - climate.coldest_degc)
    return AxisFit(size, tidy(clearance), tidy(needed), tidy(cover), tidy(movement), 2 * clearance + shrink)


def demand_cover(name: str, axis: str, fit: AxisFit, least: float, slot: float, climate: Climate) -> None:
    """Raise DesignError when a panel's edge cover falls under the least cover."""
    if fit.cover_cold + 1e-9 >= least:
        return
    needed_slot = math.ceil(fit.slot_depth_that_would_do + least)
    raise DesignError(
        f"{name}: at {climate.coldest_degc:.0f} degC its {axis} edge is covered by only "
        f"{fit.cover_cold:.1f} mm of the {slot:g} mm slot; the least is {least:g} mm",
        f"use a track with a slot at least {needed_slot} mm deep, or more bays or tiers, so that the panel is shorter",
    )
