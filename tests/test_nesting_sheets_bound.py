"""Do the parts of the sheet engine that lead to proofs ever claim too much?

Tiny random jobs against trying everything. Grids are thinned far below what the
engine would use and kinds are counted at random, so that rounding up, atoms and
states are all exercised: no cut may exclude the sheet counts of an optimal plan,
and with every kind counted on exact grids the linear relaxation of one sheet is exact.
"""

from __future__ import annotations

from random import Random

import numpy as np
import pytest

from enclosure.errors import CuttingError
from enclosure.nesting.model import PartKind, SheetJob, SheetKind
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.columns import Columns
from enclosure.nesting.sheets.counts import integer_bound, satisfies
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.problem import prepare
from enclosure.nesting.sheets.refute import Refuter
from enclosure.nesting.sheets.state import State, make_space
from tests.oracle_cases import tiny_sheet_job
from tests.oracle_guillotine import least_sheet_price, sheet_yields

# Expected values are found by exhaustive search, not printed anywhere: our own arithmetic.
pytestmark = pytest.mark.regression


def _optimal_counts(job: SheetJob) -> tuple[State, np.ndarray, int] | None:
    """Return a state, sheet counts of an optimal plan and its price, when the job has a plan proved least."""
    least = least_sheet_price(job)
    if least is None:
        return None
    plan = solve_sheets(job, work_limit=300)
    if plan.price != least:
        return None
    problem = prepare(job)
    counts = np.zeros(len(problem.stocks), dtype=np.int64)
    for pattern in plan.patterns:
        for index, stock in enumerate(problem.stocks):
            if any(job.sheets[m].key == pattern.sheet for m in stock.members):
                counts[index] += pattern.copies
    return State(problem, Budget(1e9)), counts, least


@pytest.mark.parametrize("block", range(6))
def test_no_cut_excludes_an_optimal_plan(block: int) -> None:
    checked = 0
    for seed in range(block * 25 + 1000, block * 25 + 1025):
        draw = Random(seed)
        job = tiny_sheet_job(seed, stages=draw.choice([None, None, None, 2, 3]), sloped=draw.random() < 0.2)
        found = _optimal_counts(job)
        if found is None:
            continue
        state, counts, least = found
        for limit in (3, 5, 100):
            counted = tuple(draw.sample(range(state.kinds), draw.randint(0, min(3, state.kinds))))
            space = make_space(state.problem, state.demand, (limit, limit), True)
            columns = Columns(state)
            columns.run(Pricer(state.problem, space, state.demand, counted), 60)
            bound, _, _ = integer_bound(columns.cuts, state.prices, state.limits)
            assert bound is not None
            assert bound <= least, (seed, limit, counted)
            assert satisfies(counts, columns.cuts), (seed, limit, counted)
            refuter = Refuter(state, columns, (limit, limit))
            assert not refuter.test(counts, 1e9), (seed, limit, refuter.counted)
            assert satisfies(counts, columns.cuts)
            checked += 1
    assert checked > 30


@pytest.mark.parametrize("seed", range(2000, 2060))
def test_with_every_kind_counted_a_sheet_is_worth_exactly_what_can_be_cut(seed: int) -> None:
    draw = Random(seed)
    job = tiny_sheet_job(seed, stages=draw.choice([None, 2, 3]), sloped=draw.random() < 0.3)
    try:
        problem = prepare(job)
    except CuttingError:
        return
    state = State(problem, Budget(1e9))
    space = make_space(problem, state.demand, (1000, 1000), True)
    pricer = Pricer(problem, space, state.demand, tuple(range(state.kinds)))
    values = np.array([draw.randint(0, 50) for _ in range(state.kinds)], dtype=np.int64)
    priced = pricer.price(values)
    worth = np.zeros(len(job.kinds), dtype=np.int64)
    for merged, members in enumerate(problem.members):
        worth[list(members)] = values[merged]
    for index, stock in enumerate(problem.stocks):
        sheet = job.sheets[stock.members[0]]
        yields = sheet_yields(job, sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim)
        best = max(int((np.array(y) * worth).sum()) for y in yields)
        assert int(priced.cut.worth[index]) == best


@pytest.mark.parametrize("seed", range(12))
def test_thinned_grids_round_to_the_safe_side(seed: int) -> None:
    draw = Random(f"thin {seed}")
    kinds = tuple(
        PartKind(f"p{i}", draw.randint(40, 160), draw.randint(50, 200), draw.randint(1, 4), draw.random() < 0.3)
        for i in range(draw.randint(3, 7))
    )
    sheets = (SheetKind("a", draw.randint(250, 420), draw.randint(300, 600), 10), SheetKind("b", 230, 310, 6))
    stages = draw.choice([None, None, 2, 3])
    problem = prepare(SheetJob(kinds, sheets, draw.choice([0, 3]), stages))
    state = State(problem, Budget(1e9))
    counted = tuple(draw.sample(range(state.kinds), draw.randint(0, 2)))
    exact = Pricer(problem, make_space(problem, state.demand, (10**6, 10**6), True), state.demand, counted)
    assert exact.space.xs.exact
    assert exact.space.ys.exact
    thinned = 0
    for limit in (12, 20, 40):
        high = Pricer(problem, make_space(problem, state.demand, (limit, limit), True), state.demand, counted)
        low = Pricer(problem, make_space(problem, state.demand, (limit, limit), False), state.demand, counted)
        thinned += not high.space.ys.exact
        for _ in range(4):
            values = np.array([draw.randint(1, 1000) for _ in range(state.kinds)], dtype=np.int64)
            top, true, under = (p.price(values).cut.worth for p in (high, exact, low))
            assert (top >= true).all(), (seed, limit)
            assert (true >= under).all(), (seed, limit)
    assert thinned
