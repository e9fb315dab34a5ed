"""How are sheets cut at least cost, and what is proved about it?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from enclosure.errors import ShortageError
from enclosure.nesting.model import SheetJob, SheetPlan
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.goods import Goods, Orderer
from enclosure.nesting.sheets.problem import Problem, least_area, prepare
from enclosure.nesting.sheets.search import search
from enclosure.nesting.sheets.shortage import told
from enclosure.nesting.sheets.state import State

DEFAULT_WORK = 1500
SHORTAGE_WORK = 200.0
"""Work spent on saying by how much a stock is too small."""


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
        CuttingError: A size is impossible or a part fits no sheet.
        ShortageError: No plan exists or was found in a finite stock; says which parts find no room.
    """
    limit = float(DEFAULT_WORK if work_limit is None else work_limit)
    goods = goods or Goods()
    budget = Budget(limit, seconds, progress)
    try:
        return _solved(job, budget, goods)
    except ShortageError as error:
        if budget.cancelled:
            raise
        few = Budget(min(limit, SHORTAGE_WORK), None if seconds is None else min(seconds, 1.0))
        found = told(job, error, lambda more: _solved(more, few, Goods(setups=False, cuts=False)))
        if isinstance(found, ShortageError):
            raise found from error
        prices = {sheet.key: sheet.price for sheet in job.sheets}
        price = sum(prices[pattern.sheet] * pattern.copies for pattern in found.patterns)
        return SheetPlan(found.patterns, price, 0, "gap" if price else "proved", int(budget.spent + few.spent))


def _solved(job: SheetJob, budget: Budget, goods: Goods) -> SheetPlan:
    problem = prepare(job)
    if not problem.demand:
        return SheetPlan((), 0, 0, "proved")
    state = State(problem, budget)
    state.raise_bound(area_bound(problem))
    search(state)
    if state.best is None:
        raise ShortageError(
            "no plan was found within the stock given",
            "add sheets or offcuts to your stock file, or allow more work",
        )
    return state.plan(Orderer(state, goods).run())


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
