"""What gives the heat, how much of it stays, and what must be kept away from it?

Kinds of source a grower plugs in, the share of their input that ends as heat in
the air of a clear shelter, and how many strings of bulbs a power asks for.
Left out: fuel burners. A flame in a closed shelter makes carbon monoxide and
water and eats the oxygen; the program plans electric heat only.

Units: W, mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.ranges import within
from enclosure.errors import RangeError
from enclosure.language import later


@dataclass(frozen=True, slots=True)
class HeatSource:
    """One kind of heat source.

    Args:
        name: As written in a brief.
        heat_share: Share of the input that becomes heat inside, 0 to 1.
        clearance_mm: Free distance to cloth, film, foam and dry fronds; 0 where the
            maker's words suffice.
        band_k: Usual hysteresis of its thermostat, off minus on [K].
        inside_tent: True when it may stand inside a cloth tent. Heaters that must keep their
            distance stand outside it, and then the tent only delays the cold.
        note: What to know of it.
        source: Where the figures come from.
    """

    name: str
    heat_share: float
    clearance_mm: float
    band_k: float
    inside_tent: bool
    note: str
    source: str


KINDS: tuple[HeatSource, ...] = (
    HeatSource(
        later("light string"),
        0.95,
        150.0,
        5.0,
        True,
        later("filament bulbs only: light-emitting diodes give almost no heat; each dead bulb is heat lost"),
        later("10 to 15 % leaves a filament as light, most is absorbed inside; 0.92 to 1.0, common practice"),
    ),
    HeatSource(
        later("heating cable"),
        1.0,
        0.0,
        5.0,
        True,
        later("never cross or bundle the cable; it warms roots or trunk before it warms the air"),
        later("all electric input ends as heat"),
    ),
    HeatSource(
        later("fan heater"),
        1.0,
        500.0,
        3.0,
        False,
        later("a fan stirs the air and stops when the fan fails; keep drips and leaves out of it"),
        later("all electric input ends as heat; clearance is common practice, no source"),
    ),
    HeatSource(
        later("oil radiator"),
        1.0,
        300.0,
        3.0,
        False,
        later("slow and safe, heavy; stands level on a slab"),
        later("all electric input ends as heat; clearance is common practice, no source"),
    ),
    HeatSource("none", 0.0, 0.0, 5.0, True, later("no heat: only ground and sun"), "-"),
)


def source_kind(name: str) -> HeatSource:
    """Return a kind of heat source by its name.

    Raises:
        RangeError: There is no such kind.
    """
    for kind in KINDS:
        if kind.name == name:
            return kind
    raise RangeError(f"heat source {name!r} is not known", "name one of: " + ", ".join(kind.name for kind in KINDS))


def string_watts(bulbs: int, watts_a_bulb: float, dead: int = 0) -> float:
    """Return the power of a string of filament bulbs [W].

    Args:
        bulbs: Bulbs on the string, 1 to 500.
        watts_a_bulb: Power of one bulb [W], 1 to 200; a lamp below 1 W is a diode
            and gives almost no heat.
        dead: Bulbs burned out.

    Raises:
        RangeError: A value lies outside its range.
    """
    within("bulbs on a string", bulbs, 1, 500)
    within("watts a bulb", watts_a_bulb, 1.0, 200.0, "W")
    within("dead bulbs", dead, 0, bulbs)
    return (bulbs - dead) * watts_a_bulb


def strings_needed(heat_w: float, string_w: float, heat_share: float = 0.95) -> int:
    """Return how many strings give at least a heat [W]."""
    within("power of a string", string_w, 1.0, 5000.0, "W")
    within("heat share", heat_share, 0.01, 1.0)
    return max(0, math.ceil(heat_w / (string_w * heat_share) - 1e-9))
