"""From a design and a stock file to verified cutting plans and a buying list.

The one door to the cutting engines for everybody above: makes the jobs, solves
them, has each plan checked by the independent verifier, adds up what to buy.
"""

from __future__ import annotations

from collections.abc import Callable

from enclosure.nesting.buying import buying_list
from enclosure.nesting.demand import SheetDemand, StickDemand, sheet_demands, stick_demands, to_units
from enclosure.nesting.model import SheetPlan
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.sheets import Goods, solve_sheets
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.shape.model import Design
from enclosure.stock.model import Stock

Progress = Callable[[str], None]


def cut_everything(
    design: Design, stock: Stock, progress: Progress | None = None, gaps: Progress | None = None
) -> Plans:
    """Return the cutting plans and the buying list of one design.

    Args:
        design: The shelter.
        stock: What can be bought and what is on the rack.
        progress: Told the name of each material as its plan is begun.
        gaps: Told the name and how far the price may lie over the least one, while a plan is sought.

    Returns:
        A plan for every sheet and stick material, cutting lengths in 1/10 000 mm, prices in cents, and the buying list.

    Raises:
        CuttingError: A part does not fit any sheet or stick, or finite stock is too small.
        VerifyError: A plan failed its check; nothing should be written.

    >>> from enclosure import design_from
    >>> from enclosure.templates_home import find_template
    >>> shelter = design_from(find_template("briefs", "tree-fern"))
    >>> plans = cut_everything(shelter.design, shelter.stock)
    >>> plans.total_cents == sum(line.total_cents for line in plans.buying)
    True
    >>> all(item.plan.bound <= item.plan.price for item in plans.sheet_jobs)
    True
    """
    keep = to_units(stock.rack.least_sheet_mm)
    goods = Goods(keep_width=keep, keep_height=keep)
    sheets = tuple(_cut_sheets(demand, goods, progress, gaps) for demand in sheet_demands(design, stock))
    sticks = tuple(_cut_sticks(demand, progress, gaps) for demand in stick_demands(design, stock))
    lines = buying_list(design, stock, sheets, sticks)
    return Plans(sheets, sticks, lines, stock.currency, stock.prices_note)


def _cut_sheets(
    demand: SheetDemand, goods: Goods, progress: Progress | None, gaps: Progress | None
) -> MaterialSheets:
    if progress:
        progress(demand.name)

    def tell(found: SheetPlan) -> bool:
        if gaps:
            gaps(f"{demand.name}, {_gap(found.price, found.bound)}")
        return True

    plan = solve_sheets(demand.job, progress=tell if gaps else None, goods=goods)
    verify_sheets(demand.job, plan)
    return MaterialSheets(demand.material, demand.name, demand.job, plan, demand.marks, demand.ordered)


def _cut_sticks(demand: StickDemand, progress: Progress | None, gaps: Progress | None) -> MaterialSticks:
    if progress:
        progress(demand.name)

    def tell(price: int | None, bound: int) -> bool:
        if gaps and price is not None:
            gaps(f"{demand.name}, {_gap(price, bound)}")
        return True

    plan = solve_sticks(demand.job, progress=tell)
    verify_sticks(demand.job, plan)
    return MaterialSticks(demand.material, demand.name, demand.job, plan, demand.marks)


def _gap(price: int, bound: int) -> str:
    """Return in words how far a price may lie over the least one."""
    return "least price proved" if price <= bound else f"gap {(price - bound) / price:.1%}"
