"""How are sheets cut at least cost, and what is proved about it?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from enclosure.errors import CuttingError
from enclosure.nesting.model import SheetJob, SheetPlan
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.goods import Goods, Orderer
from enclosure.nesting.sheets.problem import Problem, least_area, prepare
from enclosure.nesting.sheets.search import search
from enclosure.nesting.sheets.state import State

DEFAULT_WORK = 1500


def solve_sheets(
    job: SheetJob,
    *,
    work_limit: int | None = None,
    seconds: float | None = None,
    progress: Callable[[SheetPlan], bool] | None = None,
    goods: Goods | None = None,
) -> SheetPlan:
    """Return the cheapest plan found for the job, with a valid lower bound.

    Args:
        job: Parts, sheets, kerf, stages.
        work_limit: Work units (one to a few milliseconds each); the same limit gives the same plan.
        seconds: Processor seconds allowed on top of the work limit.
        progress: Called with each better plan or bound; returns False to cancel.
        goods: What matters after the price; None for the usual order.

    Raises:
        CuttingError: No plan exists, or none was found in a finite stock.
    """
    problem = prepare(job)
    if not problem.demand:
        return SheetPlan((), 0, 0, "proved")
    limit = DEFAULT_WORK if work_limit is None else work_limit
    state = State(problem, Budget(float(limit), seconds, progress))
    state.raise_bound(area_bound(problem))
    search(state)
    if state.best is None:
        raise CuttingError(
            "no plan was found within the stock given",
            "add sheets or offcuts to your stock file, or allow more work",
        )
    return state.plan(Orderer(state, goods or Goods()).run())


def area_bound(problem: Problem) -> int:
    """Return the least price of sheets whose area is that of the parts."""
    need = sum(d * a for d, a in zip(problem.demand, least_area(problem), strict=True))
    left, price = float(need), 0.0
    for stock in sorted(problem.stocks, key=lambda s: s.price / (s.width * s.height)):
        size = stock.width * stock.height
        count = left / size if stock.copies is None else min(left / size, float(stock.copies))
        price += count * stock.price
        left -= count * size
        if left <= 0:
            break
    return int(np.ceil(price - 1e-6 - 1e-9 * price))
