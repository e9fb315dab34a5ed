"""In which winter is a shelter outgrown?

The plant grows by a yearly amount that nobody knows: a low, a likely and a high
guess are carried side by side. The shelter serves a winter while the plant, with
its least clearance, fits the clear box; the first winter in which it does not is
the one in which it is outgrown. The first winter after planning is winter 1, by
which the plant has grown once.

Left out: frost dieback and pruning (give a smaller growth, or none).

Units: mm; growth in mm a year.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from enclosure.brief.model import Brief
from enclosure.errors import RangeError
from enclosure.shape.base import ring_height
from enclosure.shape.model import Design
from enclosure.stock.model import Stock

LOW, HIGH = 0.7, 1.5
"""A poor and a lush year as a share of the growth given; common practice, no source."""
LONGEST = 60
"""Winters looked ahead."""

Guess = Literal["low", "likely", "high"]
GUESSES: tuple[Guess, ...] = ("low", "likely", "high")


@dataclass(frozen=True, slots=True)
class Room:
    """How far a plant may grow on one axis.

    Args:
        axis: "height", "width" or "depth".
        now_mm: What the plant takes today: its size and the least clearance on that axis.
        growth_mm: Growth a year, likely.
        clear_mm: What the shelter gives.
    """

    axis: str
    now_mm: float
    growth_mm: float
    clear_mm: float


@dataclass(frozen=True, slots=True)
class Outgrown:
    """When one axis is outgrown.

    Args:
        axis: "height", "width" or "depth".
        low: First winter in which it no longer fits if it grows slowly; None beyond `LONGEST`.
        likely: The same at the growth given.
        high: The same if it grows fast.
    """

    axis: str
    low: int | None
    likely: int | None
    high: int | None


@dataclass(frozen=True, slots=True)
class ChartRow:
    """One winter on the chart: what the plant takes on an axis by each guess, and what there is [mm]."""

    axis: str
    winter: int
    low_mm: float
    likely_mm: float
    high_mm: float
    clear_mm: float


@dataclass(frozen=True, slots=True)
class Growth:
    """The whole answer: when it is outgrown, by what, and rows for a chart."""

    outgrown: tuple[Outgrown, ...]
    rows: tuple[ChartRow, ...]

    def first(self, guess: Guess = "likely") -> tuple[int, str] | None:
        """Return the first winter in which any axis is outgrown, and which; None when it is never."""
        found = [(when, row.axis) for row in self.outgrown if (when := getattr(row, guess)) is not None]
        return min(found, key=lambda pair: pair[0]) if found else None


def factor(guess: Guess, low: float = LOW, high: float = HIGH) -> float:
    """Return the share of the likely growth that a guess stands for."""
    return {"low": low, "likely": 1.0, "high": high}[guess]


def first_winter(room: Room, share: float = 1.0) -> int | None:
    """Return the first winter in which the plant no longer fits, 1 up; None beyond `LONGEST`.

    Args:
        room: Sizes on one axis [mm].
        share: Share of the likely growth, >= 0.
    """
    if share < 0 or room.growth_mm < 0:
        raise RangeError(f"growth {room.growth_mm:g} mm and share {share:g} must not be negative")
    spare = room.clear_mm - room.now_mm
    if spare < -1e-6:
        return 1
    yearly = room.growth_mm * share
    if yearly <= 0:
        return None
    winter = math.floor(spare / yearly + 1e-9) + 1
    return winter if winter <= LONGEST else None


def rooms(brief: Brief, stock: Stock, clear_mm: tuple[float, float, float]) -> tuple[Room, ...]:
    """Return what the plant of a brief takes and what a clear box gives, on three axes [mm]."""
    plant, side, top = brief.plant, brief.clearance.side.least_mm, brief.clearance.top.least_mm
    ring = ring_height(brief, stock)
    return (
        Room("height", plant.crown_mm + plant.height_mm + top - ring, plant.growth_height_mm, clear_mm[2]),
        Room("width", plant.spread_x_mm + 2 * side, plant.growth_spread_mm, clear_mm[0]),
        Room("depth", plant.spread_y_mm + 2 * side, plant.growth_spread_mm, clear_mm[1]),
    )


def growth(
    brief: Brief,
    stock: Stock,
    design: Design,
    *,
    low: float = LOW,
    high: float = HIGH,
    winters: int | None = None,
) -> Growth:
    """Return when a design is outgrown by the plant of a brief.

    Args:
        brief: Plant, growth and least clearances.
        stock: For the height of the base ring.
        design: The shelter.
        low: Share of the growth given that a poor year brings, 0 to 1.
        high: Share that a lush year brings, 1 or more.
        winters: Length of the chart; two beyond the last change when None.
    """
    if not 0 <= low <= 1 <= high:
        raise RangeError(f"guesses of {low:g} and {high:g} times the growth do not lie on both sides of 1")
    axes = rooms(brief, stock, design.clear_mm)
    shares = [factor(guess, low, high) for guess in GUESSES]
    found = tuple(Outgrown(room.axis, *(first_winter(room, share) for share in shares)) for room in axes)
    last = max(
        (w for row in found for w in (row.low, row.likely, row.high) if w is not None), default=brief.winters
    )
    length = winters or min(LONGEST, max(last, brief.winters) + 2)
    rows = tuple(_chart_row(room, winter, low, high) for room in axes for winter in range(length + 1))
    return Growth(found, rows)


def _chart_row(room: Room, winter: int, low: float, high: float) -> ChartRow:
    slow, likely, fast = (room.now_mm + room.growth_mm * share * winter for share in (low, 1.0, high))
    return ChartRow(room.axis, winter, slow, likely, fast, room.clear_mm)
