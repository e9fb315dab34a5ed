"""Is the proof by listing whole sheets ever wrong?

Tiny random jobs against trying everything: counts of sheets of an optimal plan
may never be refuted, cheaper counts may never be filled, every multiset that a
sheet can yield within the slack is listed, and what is placed can be cut.
"""

from __future__ import annotations

from itertools import product
from random import Random

import numpy as np
import pytest

from enclosure.errors import CuttingError
from enclosure.nesting.model import PartKind, SheetJob, SheetKind
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.covering import Cover
from enclosure.nesting.sheets.enumeration import Enumerator
from enclosure.nesting.sheets.placing import Bounds, Placer
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.problem import prepare
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.trees import min_size, part_counts
from enclosure.nesting.sheets.whole import Prover
from enclosure.nesting.verify import verify_sheets
from tests.oracle_cases import tiny_sheet_job
from tests.oracle_guillotine import sheet_yields

# Expected values are found by exhaustive search, not printed anywhere: our own arithmetic.
pytestmark = pytest.mark.regression


def _yields(job: SheetJob, state: State) -> list[frozenset[tuple[int, ...]]]:
    """Return for each stock of the problem all largest uses of its kinds."""
    out = []
    for stock in state.problem.stocks:
        sheet = job.sheets[stock.members[0]]
        found = sheet_yields(job, sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim)
        merged = {
            tuple(
                min(sum(y[m] for m in members), int(state.demand[k]))
                for k, members in enumerate(state.problem.members)
            )
            for y in found
        }
        out.append(frozenset(merged))
    return out


def _can(yields: list[frozenset[tuple[int, ...]]], counts: tuple[int, ...], demand: tuple[int, ...]) -> bool:
    """Return True when so many sheets of each stock cover the demand, found by trying everything."""
    left = {demand}
    for stock, count in enumerate(counts):
        for _ in range(count):
            left |= {tuple(max(0, a - b) for a, b in zip(v, y, strict=True)) for v in left for y in yields[stock]}
    return any(not any(v) for v in left)


def _job(seed: int) -> SheetJob:
    draw = Random(seed)
    return tiny_sheet_job(seed, stages=None, sloped=draw.random() < 0.2)


@pytest.mark.parametrize("block", range(8))
def test_sheet_counts_are_refuted_exactly_when_nothing_fits(block: int) -> None:
    refuted = filled = 0
    for seed in range(block * 40 + 5000, block * 40 + 5040):
        job = _job(seed)
        try:
            state = State(prepare(job), Budget(1e9))
        except CuttingError:
            continue
        yields = _yields(job, state)
        draw = Random(seed + 1)
        space = make_space(state.problem, state.demand, (100, 100), True)
        columns = Columns(state)
        columns.run(Pricer(state.problem, space, state.demand), 30)
        most = [3 if s.copies is None else min(3, s.copies) for s in state.problem.stocks]
        every = [c for c in product(*[range(m + 1) for m in most]) if 0 < sum(c) <= 4]
        for counts in draw.sample(every, min(6, len(every))):
            prover = Prover(state, columns, draw.choice([(3, 3), (5, 4), (100, 100)]))
            state.best, state.price = None, 10**12
            answer = prover.test(np.array(counts), 10**6, 2)
            possible = _can(yields, counts, state.problem.demand)
            assert answer is not None, (seed, counts)
            assert answer is not possible, (seed, counts)
            if possible:
                assert state.best is not None
                used = np.bincount([x.stock for x in state.best for _ in range(x.copies)], minlength=len(counts))
                assert (used * state.prices).sum() <= (np.array(counts) * state.prices).sum(), (seed, counts)
            refuted += not possible
            filled += possible
    assert refuted > 20
    assert filled > 20


@pytest.mark.parametrize("seed", range(6000, 6040))
def test_every_multiset_within_the_slack_is_listed_and_placed(seed: int) -> None:
    job = _job(seed)
    try:
        state = State(prepare(job), Budget(1e9))
    except CuttingError:
        return
    yields = _yields(job, state)
    draw = Random(seed)
    values = np.array([draw.uniform(0.2, 1.0) for _ in range(state.kinds)]) * state.leaf_area_of_kind
    whole = whole_values(state, values)
    for places in ((3, 4), (100, 100)):
        pricer = Pricer(state.problem, make_space(state.problem, state.demand, places, True), state.demand)
        enumerator = Enumerator(state, pricer)
        table = pricer.closed_table(whole)
        for stock in range(len(state.problem.stocks)):
            worth = int(table[pricer.ends[stock]])
            slack = int(worth * draw.choice([0.0, 0.1, 0.4, 0.9]))
            listed = enumerator.run(table, whole, slack, [stock], 10**7)
            assert listed is not None
            packing = enumerator.packing
            uses = ((listed[stock].codes[:, None] >> packing.shift[None, :]) & packing.full[None, :]).astype(int)
            found = {tuple(u) for u in uses.tolist()}
            every = {
                v
                for y in yields[stock]
                for v in product(*[range(n + 1) for n in y])
                if any(v) and int(np.array(v) @ whole) >= max(1, worth - slack)
            }
            assert every <= found, (seed, stock, places)
            placer = Placer(state, Bounds(pricer.space, whole, table, enumerator.last_room))
            rows = np.array(sorted(found), dtype=np.int64)[:64]
            if not len(rows):
                continue
            for row, tree in zip(rows, placer.place(stock, rows), strict=True):
                assert (tree is not None) == (tuple(row.tolist()) in every), (seed, stock, places, row)
                if tree:
                    counts = part_counts(tree, state.problem)
                    assert all(counts[k] == n for k, n in enumerate(row))
                    width, height = min_size(tree, state.problem)
                    sheet = state.problem.stocks[stock]
                    assert width <= sheet.width
                    assert height <= sheet.height


@pytest.mark.parametrize("seed", range(40))
def test_meeting_in_the_middle_finds_a_choice_when_there_is_one(seed: int) -> None:
    draw = Random(seed)
    kinds = draw.randint(2, 5)
    counts = np.array(draw.choice([(1, 1), (2, 1), (3,), (2, 2), (1, 2, 1), (4,)]))
    lists, picked = {}, np.zeros(kinds, dtype=np.int64)
    loss_sum = 0
    for stock, count in enumerate(counts):
        uses = np.array([[draw.randint(0, 3) for _ in range(kinds)] for _ in range(draw.randint(2, 6))])
        loss = np.array([draw.randint(0, 9) for _ in uses])
        lists[stock] = uses, loss, np.zeros(len(uses), dtype=np.int64)
        for _ in range(count):
            row = draw.randrange(len(uses))
            picked += uses[row]
            loss_sum += int(loss[row])
    target = picked if draw.random() < 0.6 else picked + np.array([draw.randint(0, 1) for _ in range(kinds)])
    possible = False
    rows = [range(len(lists[s][0])) for s, c in enumerate(counts) for _ in range(c)]
    stocks = [s for s, c in enumerate(counts) for _ in range(c)]
    for choice in product(*rows):
        total = sum(lists[s][0][r] for s, r in zip(stocks, choice, strict=True))
        lost = sum(int(lists[s][1][r]) for s, r in zip(stocks, choice, strict=True))
        # What is lost is settled by the uses in a real job; here by chance, so it may only be kept below.
        possible = possible or bool((total == target).all() and lost <= loss_sum // 2)
    cover = Cover(target, lists, counts, loss_sum, Budget(1e9))
    found = list(cover.choices())
    assert cover.complete
    for choice in found:
        assert sorted(s for s, _ in choice) == stocks
        assert (sum(lists[s][0][r] for s, r in choice) == target).all()
    if possible:
        assert found


def test_a_small_shelter_that_shelves_cannot_fill_is_proved() -> None:
    # Twelve panels of five sizes on sheets 1219 mm wide, all invented.
    kinds = tuple(
        PartKind(f"p{i}", w * 10_000, h * 10_000, n)
        for i, (w, h, n) in enumerate([(639, 388, 3), (569, 801, 2), (446, 843, 2), (377, 436, 3), (341, 535, 2)])
    )
    sheets = (SheetKind("a", 12_190_000, 24_380_000, 3651), SheetKind("b", 12_190_000, 30_480_000, 4782))
    job = SheetJob(kinds, sheets, 32_000)
    plan = solve_sheets(job, work_limit=4000)
    verify_sheets(job, plan)
    assert plan.status == "proved"
