"""How much inside space does the tree need, now and at its last winter?

Units: mm. The box is rounded up to the cutting step, so that every length that
follows is a length a person can mark out.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.brief.model import Brief, Window
from enclosure.errors import DesignError
from enclosure.shape.fit import ceil_to, step_for


@dataclass(frozen=True, slots=True)
class ClearBox:
    """Clear width (x), depth (y) and height under the lowest point of the roof [mm]."""

    width: float
    depth: float
    height: float
    side_clearance: float
    top_clearance: float


def clear_box(
    brief: Brief, ring_height: float, side_clearance: float | None = None, top_clearance: float | None = None
) -> ClearBox:
    """Return the clear box for the last winter that the shelter must serve.

    Args:
        brief: What is asked.
        ring_height: Height of the base ring above the bed's foot [mm].
        side_clearance: Value to use inside the brief's window [mm]; its least when None.
        top_clearance: The same at the top [mm].

    Raises:
        DesignError: A value outside its window, or a height that is not positive.

    References:
        width = spread + winters x growth + 2 side clearance; height = crown + plant + winters x growth
        + top clearance - height of the ring on which the frame stands.
    """
    side = _inside(brief.clearance.side, side_clearance, "clearance.side")
    top = _inside(brief.clearance.top, top_clearance, "clearance.top")
    plant, years = brief.plant, brief.winters
    step = step_for(brief.papers.units)
    width = plant.spread_x_mm + years * plant.growth_spread_mm + 2 * side
    depth = plant.spread_y_mm + years * plant.growth_spread_mm + 2 * side
    height = plant.crown_mm + plant.height_mm + years * plant.growth_height_mm + top - ring_height
    if height <= 0:
        raise DesignError(
            f"the clear height comes to {height:.0f} mm: the base ring of {ring_height:.0f} mm is taller "
            "than the plant with its crown and clearance",
            "check plant.height and plant.crown, or use a lower brick",
        )
    return ClearBox(ceil_to(width, step), ceil_to(depth, step), ceil_to(height, step), side, top)


def _inside(window: Window, value: float | None, key: str) -> float:
    least, most = window.least_mm, window.most_mm
    if value is None:
        return least
    if not least - 1e-6 <= value <= most + 1e-6:
        raise DesignError(
            f"{key} = {value:g} mm lies outside its window of {least:g} to {most:g} mm",
            f"widen {key} in the brief",
        )
    return value
