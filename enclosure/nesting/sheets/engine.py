"""How are sheets cut at least cost, and what is proved about it?"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np

from enclosure.errors import CuttingError
from enclosure.nesting.model import SheetJob, SheetPlan
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.columns import Columns
from enclosure.nesting.sheets.correction import Filler
from enclosure.nesting.sheets.counts import integer_bound
from enclosure.nesting.sheets.masters import FloatArray, solve_integer
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.problem import Problem, least_area, prepare
from enclosure.nesting.sheets.shelves import shelf_plan
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.trees import Layout

DEFAULT_WORK = 500


def solve_sheets(
    job: SheetJob,
    *,
    work_limit: int | None = None,
    seconds: float | None = None,
    progress: Callable[[SheetPlan], bool] | None = None,
) -> SheetPlan:
    """Return the cheapest plan found for the job, with a valid lower bound.

    Args:
        job: Parts, sheets, kerf, stages.
        work_limit: Work units (about a millisecond each); the same limit gives the same plan.
        seconds: Processor seconds allowed on top of the work limit.
        progress: Called with each better plan or bound; returns False to cancel.

    Raises:
        CuttingError: No plan exists, or none was found in a finite stock.
    """
    problem = prepare(job)
    if not problem.demand:
        return SheetPlan((), 0, 0, "proved")
    limit = DEFAULT_WORK if work_limit is None else work_limit
    state = State(problem, Budget(float(limit), seconds, progress))
    state.raise_bound(area_bound(problem))
    first = shelf_plan(problem)
    if first is not None:
        state.offer(first)
    _improve(state)
    if state.best is None:
        raise CuttingError(
            "no plan was found within the stock given",
            "add sheets or offcuts to your stock file, or allow more work",
        )
    return state.plan()


def area_bound(problem: Problem) -> int:
    """Return the least price of sheets whose area is that of the parts."""
    need = sum(d * a for d, a in zip(problem.demand, least_area(problem), strict=True))
    price = 0.0
    for stock in sorted(problem.stocks, key=lambda s: s.price / (s.width * s.height)):
        size = stock.width * stock.height
        count = need / size if stock.copies is None else min(need / size, float(stock.copies))
        price += count * stock.price
        need -= count * size
        if need <= 0:
            break
    return int(np.ceil(price - 1e-6 - 1e-9 * price))


def _improve(state: State) -> None:
    """Fill sheets, bound the price, mix the patterns."""
    if state.kinds > 400:
        return
    filler = Filler(state, make_space(state.problem, state.demand, 60, 120))
    values = filler.start_values(8)
    values = fill_round(state, filler, values, "y")
    if state.done():
        return
    columns = Columns(state)
    columns.add_pool()
    pricer = Pricer(state.problem, make_space(state.problem, state.demand, 100, 500, True), state.demand)
    columns.run(pricer, 300, 0.6)
    bound, work = integer_bound(columns.cuts, state.prices, state.limits)
    state.budget.spend(0.05 * work)
    if bound is not None:
        state.raise_bound(bound)
    mix(state, 50)
    turn = 0
    while not state.done() and turn < 6:
        turn += 1
        values = fill_round(state, filler, values, "xy"[turn % 2])
        mix(state, 50)


def fill_round(state: State, filler: Filler, values: FloatArray, first: str) -> FloatArray:
    """Offer one batch of filled plans; return corrected values."""
    layouts, left, values = filler.fill(values, state.limits, first)
    for plan, rest in zip(layouts, left, strict=True):
        if not rest.any():
            state.offer(plan)
    return values


def mix(state: State, nodes: int) -> None:
    """Offer the cheapest combination of the patterns in the pool."""
    if not state.pool or state.proved():
        return
    costs = np.array([state.prices[s] for s, _, _ in state.pool], dtype=np.float64)
    used = np.array([u for _, u, _ in state.pool], dtype=np.int64)
    stock = np.array([s for s, _, _ in state.pool], dtype=np.int64)
    finite = np.flatnonzero(state.limits >= 0)
    rows = np.vstack([used.T, (stock[None, :] == finite[:, None]).astype(np.int64)])
    low = np.concatenate([state.demand.astype(np.float64), np.full(len(finite), -np.inf)])
    high = np.concatenate([np.full(state.kinds, np.inf), state.limits[finite].astype(np.float64)])
    upper = np.full(len(costs), float(state.demand.max()))
    answer = solve_integer(costs, rows, low, high, upper, nodes)
    state.budget.spend(answer.steps * 0.05)
    if answer.counts is None:
        return
    layouts = [
        Layout(state.pool[p][0], state.pool[p][2], int(answer.counts[p])) for p in np.flatnonzero(answer.counts)
    ]
    state.offer(layouts)
