"""What is the largest shelter that so many sheets make, and how long does it last?

The question of `growth` the other way round. The shelter is made for one winter
more, as long as the sheets are enough; what is then left over goes into
clearance, the same at the sides and at the top, step by step. More winters or
more clearance never need fewer sheets (but for a vent's panel and a new bay),
so both are found by bisection.

Units: mm; sheets are counted, whatever their size.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from enclosure.brief.model import Brief
from enclosure.choose.bounds import sheet_bound
from enclosure.choose.growth import LONGEST, Growth, growth
from enclosure.choose.price import Pricer
from enclosure.errors import DesignError
from enclosure.nesting.demand import sheet_demands
from enclosure.nesting.model import SheetJob
from enclosure.shape.fit import step_for
from enclosure.shape.model import Design, SheetCut
from enclosure.stock.model import Stock

MOST_WINTERS = 40
MOST_EXTRA_MM = 400.0
Maker = Callable[[Brief], Design]
"""Builds the design of a brief at the least of its clearances."""


@dataclass(frozen=True, slots=True)
class Largest:
    """The answer.

    Args:
        material: Key of the sheet that is counted.
        sheets: How many it takes.
        winters: Winters it serves for certain, at the growth given.
        extra_mm: Clearance on top of the least, at the sides and at the top.
        design: The shelter.
        growth: When it is outgrown, by each guess.
        next_sheets: Sheets that one more winter would need; None when that cannot be made.
    """

    material: str
    sheets: int
    winters: int
    extra_mm: float
    design: Design
    growth: Growth
    next_sheets: int | None


def main_skin(design: Design) -> str:
    """Return the skin that covers most of a shelter."""
    areas: dict[str, float] = {}
    for part in design.parts:
        if part.kind in ("panel", "film") and isinstance(part.cut, SheetCut):
            areas[part.material] = areas.get(part.material, 0.0) + part.cut.width_mm * part.cut.height_mm
    return max(sorted(areas), key=lambda key: areas[key])


def counted(design: Design, stock: Stock, material: str) -> SheetJob | None:
    """Return the job of one sheet material with every sheet that is bought at a price of 1."""
    for demand in sheet_demands(design, stock):
        if demand.material == material:
            sheets = tuple(s if s.owned else replace(s, price=1) for s in demand.job.sheets)
            return replace(demand.job, sheets=sheets)
    return None


class _Sheets:
    """Counts the sheets that a brief needs, or tells that they are more than allowed."""

    def __init__(self, make: Maker, pricer: Pricer, material: str) -> None:
        self.make, self.pricer, self.material = make, pricer, material

    def design(self, brief: Brief) -> Design | None:
        try:
            return self.make(brief)
        except DesignError:
            return None

    def within(self, brief: Brief, most: int) -> bool:
        """Return whether the sheets are enough."""
        design = self.design(brief)
        if design is None:
            return False
        job = counted(design, self.pricer.stock, self.material)
        if job is None:
            return True
        return sheet_bound(job) <= most and self.pricer.sheets(job).price <= most

    def count(self, brief: Brief) -> int | None:
        """Return how many sheets a brief needs; None when it cannot be made."""
        design = self.design(brief)
        if design is None:
            return None
        job = counted(design, self.pricer.stock, self.material)
        return self.pricer.sheets(job).price if job else 0


def largest(brief: Brief, make: Maker, pricer: Pricer, sheets: int, material: str | None = None) -> Largest:
    """Return the largest shelter for a plant that a number of sheets makes.

    Args:
        brief: Plant, growth, clearances; its own `winters` is not used.
        make: Builds a design.
        pricer: Solves and remembers cutting jobs; its stock says what sheets there are.
        sheets: Sheets that may be bought, >= 1; what is on the rack comes on top.
        material: Which sheet is meant; the skin that covers most when None.

    Raises:
        DesignError: The sheets are not even enough for the coming winter.
    """
    first = brief.model_copy(update={"winters": 1})
    key = material or main_skin(make(first))
    counter = _Sheets(make, pricer, key)
    if not counter.within(first, sheets):
        needed = counter.count(first)
        raise DesignError(
            f"{sheets} sheets of {key} are not enough for the coming winter"
            + (f"; {needed} are" if needed is not None else ""),
            "allow more sheets, or less clearance",
        )
    winters = _last(1, MOST_WINTERS, lambda w: counter.within(brief.model_copy(update={"winters": w}), sheets))
    chosen = brief.model_copy(update={"winters": winters})
    step = step_for(brief.papers.units)
    steps = _last(0, int(MOST_EXTRA_MM // step), lambda k: counter.within(roomier(chosen, k * step), sheets))
    final = roomier(chosen, steps * step)
    design = make(final)
    above = counter.count(brief.model_copy(update={"winters": winters + 1})) if winters < MOST_WINTERS else None
    return Largest(
        key,
        counter.count(final) or 0,
        winters,
        steps * step,
        design,
        growth(brief, pricer.stock, design, winters=min(LONGEST, winters + 3)),
        above,
    )


def roomier(brief: Brief, extra_mm: float) -> Brief:
    """Return a brief with so much more clearance at the sides and at the top than its least."""
    side, top = brief.clearance.side, brief.clearance.top
    wider = {
        name: window.model_copy(
            update={
                "least_mm": window.least_mm + extra_mm,
                "most_mm": max(window.most_mm, window.least_mm + extra_mm),
            }
        )
        for name, window in (("side", side), ("top", top))
    }
    return brief.model_copy(update={"clearance": brief.clearance.model_copy(update=wider)})


def _last(low: int, high: int, good: Callable[[int], bool]) -> int:
    """Return the last number from `low` (which is good) up to `high` that is good."""
    span = 1
    while low + span <= high and good(low + span):
        low += span
        span *= 2
    top = min(high, low + span - 1)
    while low < top:
        middle = (low + top + 1) // 2
        low, top = (middle, top) if good(middle) else (low, middle - 1)
    return low
