"""How far may each skin span freely?

Plain numbers handed down to the shape by whoever has reckoned them (the checks
do, from wind, snow and the skin's stiffness): the shape itself holds no load
and no formula. Every dictionary is keyed by skin key. A skin that is missing
from a dictionary has no limit of that sort.

Units: mm. Free spans, from held edge to held edge, not centre lines.
"""

from __future__ import annotations

from dataclasses import dataclass, field


@dataclass(frozen=True)
class SpanLimits:
    """The largest free panel sizes between held edges.

    Args:
        bay_mm: Width of a wall bay, across the flutes.
        transom_mm: Height between transoms on a wall, along the flutes.
        purlin_mm: Length between purlins on a roof, down the slope.
        roof_bay_mm: Width of a roof bay, across the flutes.
    """

    bay_mm: dict[str, float] = field(default_factory=dict)
    transom_mm: dict[str, float] = field(default_factory=dict)
    purlin_mm: dict[str, float] = field(default_factory=dict)
    roof_bay_mm: dict[str, float] = field(default_factory=dict)
