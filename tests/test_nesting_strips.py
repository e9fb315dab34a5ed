"""Are patterns and plans made strip by strip what they say they are?

Tiny random jobs, sloped pairs, filled drops and racks among them, against trying
everything: no sheet may be worth more than an exhaustive search finds, every plan
must be cut within its sheets, and on the smallest jobs most sheets must be as good
as they can be. The classes of larger jobs come from `tests.benchmarks.families`.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
import pytest

from enclosure.nesting.model import SheetJob
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.building import Builder
from enclosure.nesting.sheets.goods import Goods
from enclosure.nesting.sheets.problem import prepare
from enclosure.nesting.sheets.rebuilding import Rebuilder
from enclosure.nesting.sheets.shelves import shelf_plan
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.strips import Strips
from enclosure.nesting.sheets.trees import min_size, part_counts
from enclosure.nesting.verify import verify_sheets
from tests.benchmarks.families import sheet_class
from tests.oracle_cases import tiny_drop_job, tiny_sheet_job
from tests.oracle_guillotine import least_sheet_price, sheet_yields

# Expected values are found by exhaustive search, not printed anywhere: our own arithmetic.
pytestmark = pytest.mark.regression
PLAIN = Goods(offcut=False, setups=False, cuts=False, crosscuts_first=False, together=False)


def _state(job: SheetJob) -> State | None:
    """Return a new state of a job that has a plan."""
    return None if least_sheet_price(job) is None else State(prepare(job), Budget(1e9))


def _job(seed: int) -> SheetJob:
    return tiny_drop_job(seed) if seed % 4 == 0 else tiny_sheet_job(seed, sloped=seed % 4 == 1)


@pytest.mark.parametrize("turned", [False, True])
def test_no_sheet_is_worth_more_than_the_best(turned: bool) -> None:
    best = worst = 0
    for seed in range(5000, 5020):
        state = _state(_job(seed))
        if state is None:
            continue
        job, problem = state.problem.job, state.problem
        strips = Strips(state, turned)
        stocks = np.arange(len(problem.stocks))
        generator = np.random.default_rng(seed)
        values = generator.integers(1, 50, (len(stocks), state.kinds))
        caps = np.repeat(state.demand[None, :], len(stocks), axis=0)
        seeds, thrift = np.full(len(stocks), -1), np.full(len(stocks), 0.6)
        for filled in strips.fill(stocks, values, caps, seeds, thrift, 16):
            tree, stock = strips.tree(filled), problem.stocks[filled.group]
            width, height = min_size(tree, problem)
            assert width <= stock.width
            assert height <= stock.height
            counts = part_counts(tree, problem)
            assert counts == Counter({k: int(n) for k, n in enumerate(filled.used) if n})
            assert filled.worth == int(filled.used @ values[filled.group])
            true = job.sheets[stock.members[0]]
            yields = sheet_yields(job, true.width - 2 * true.trim, true.height - 2 * true.trim)
            of_kind = [next(k for k, m in enumerate(problem.members) if i in m) for i in range(len(job.kinds))]
            most = max(sum(n * int(values[filled.group, of_kind[i]]) for i, n in enumerate(y)) for y in yields)
            assert filled.worth <= most
            best += filled.worth == most
            worst += filled.worth < most
    assert best > 2 * worst


def test_a_seed_lies_on_its_sheet() -> None:
    job = sheet_class(7, 20, 1)
    state = State(prepare(job), Budget(1e9))
    strips = Strips(state, False)
    kinds = np.arange(state.kinds)
    values = np.repeat(state.leaf_area_of_kind.astype(np.int64)[None, :], state.kinds, axis=0)
    caps = np.repeat(state.demand[None, :], state.kinds, axis=0)
    found = strips.fill(np.zeros_like(kinds), values, caps, kinds, np.full(state.kinds, 0.6), 4)
    assert len(found) == state.kinds
    assert all(filled.used[filled.group] > 0 for filled in found)
    assert all((filled.used <= state.demand).all() for filled in found)


def test_sheets_given_are_filled_or_left_open() -> None:
    settled = 0
    for seed in range(6000, 6015):
        state = _state(_job(seed))
        if state is None:
            continue
        first = shelf_plan(state.problem)
        if first is None:
            continue
        counts = np.zeros(len(state.problem.stocks), dtype=np.int64)
        for layout in first:
            counts[layout.stock] += layout.copies
        rebuilder = Rebuilder(state, Builder(state))
        if rebuilder.settle(counts, 5):
            settled += 1
            verify_sheets(state.problem.job, state.plan())
            assert state.price <= int((counts * state.prices).sum())
    assert settled > 7


@pytest.mark.parametrize("number", range(1, 11))
def test_plans_of_the_classes_can_be_cut_and_repeat(number: int) -> None:
    job = sheet_class(number, 35, 3, turnable=number % 2 == 0)
    plan, again = (solve_sheets(job, work_limit=150, goods=PLAIN) for _ in range(2))
    verify_sheets(job, plan)
    assert again.patterns == plan.patterns
    assert again.work == plan.work
    shelves = shelf_plan(prepare(job))
    assert shelves is not None
    assert plan.bound <= plan.price <= sum(layout.copies for layout in shelves)
