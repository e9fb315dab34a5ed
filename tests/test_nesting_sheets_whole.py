"""Is the proof by listing whole sheets ever wrong?

Tiny random jobs against trying everything: counts of sheets of an optimal plan
may never be refuted, cheaper counts may never be filled, every multiset that a
sheet can yield within the slack is listed and nothing else, no piece is worth more
than is said of it afterwards, and what is listed can be cut.
"""

from __future__ import annotations

from itertools import product
from random import Random

import numpy as np
import pytest

from enclosure.errors import CuttingError
from enclosure.nesting.model import PartKind, SheetJob, SheetKind
from enclosure.nesting.sheets import solve_sheets, whole
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.covering import Cover
from enclosure.nesting.sheets.enumeration import Enumerator, Found
from enclosure.nesting.sheets.points import reachable, thin
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


@pytest.mark.parametrize("allowed", [10**6, 40, 8])
@pytest.mark.parametrize("block", range(8))
def test_sheet_counts_are_refuted_exactly_when_nothing_fits(
    block: int, allowed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    # With few rectangles allowed it may stay open, and plans are begun with listed sheets.
    monkeypatch.setattr(whole, "FEW", 1 if allowed < 100 else 3)
    monkeypatch.setattr(whole, "MORE", 2 if allowed < 100 else 8)
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
            answer = prover.test(np.array(counts), allowed)
            possible = _can(yields, counts, state.problem.demand)
            assert allowed < 100 or answer is not None, (seed, counts)
            assert answer is not possible, (seed, counts)
            if answer is False:
                assert state.best is not None
                used = np.bincount([x.stock for x in state.best for _ in range(x.copies)], minlength=len(counts))
                assert (used * state.prices).sum() <= (np.array(counts) * state.prices).sum(), (seed, counts)
            refuted += not possible
            filled += possible
    assert refuted > 20
    assert filled > 20


@pytest.mark.parametrize("block", range(4))
def test_every_multiset_within_the_slack_is_listed_and_can_be_cut(block: int) -> None:
    listed_sheets = 0
    for seed in range(block * 40 + 6000, block * 40 + 6040):
        job = _job(seed)
        try:
            state = State(prepare(job), Budget(1e9))
        except CuttingError:
            continue
        yields = _yields(job, state)
        draw = Random(seed)
        values = np.array([draw.uniform(0.2, 1.0) for _ in range(state.kinds)]) * state.leaf_area_of_kind
        whole = whole_values(state, values)
        for places in ((3, 4), (100, 100)):
            space = make_space(state.problem, state.demand, places, True)
            enumerator = Enumerator(state, Pricer(state.problem, space, state.demand))
            table = enumerator.pricer.closed_table(whole)
            stocks = list(range(len(state.problem.stocks)))
            # Little first, then more, against what is known by then.
            for share in sorted(draw.choice([0.0, 0.1, 0.4, 0.9]) for _ in range(2)):
                worth = [int(table[end]) for end in enumerator.pricer.ends]
                slack = int(max(worth) * share)
                found = enumerator.run(table, whole, slack, stocks, 10**7)
                assert found is not None
                for stock in stocks:
                    got = _checked(state, enumerator, stock, found[stock])
                    every = _within(yields[stock], whole, max(1, worth[stock] - slack))
                    assert got == every, (seed, stock, places, share)
                    listed_sheets += len(got)
                assert enumerator.builder is not None
                table = enumerator.builder.sharper()
                _no_piece_is_worth_more(job, state, enumerator, whole, table, draw)
                wide = enumerator.wide(table, 2 * slack, stocks)
                for stock in stocks:
                    _checked(state, enumerator, stock, wide[stock])
    assert listed_sheets > 1000


def _within(
    yields: frozenset[tuple[int, ...]], whole: np.ndarray, least: int
) -> set[tuple[int, ...]]:
    """Return every multiset that a sheet yields, worth at least so much."""
    every = {v for y in yields for v in product(*[range(n + 1) for n in y])}
    return {v for v in every if any(v) and int(np.array(v) @ whole) >= least}


def _checked(state: State, enumerator: Enumerator, stock: int, found: Found) -> set[tuple[int, ...]]:
    """Return the multisets listed, each seen to be cut from the sheet by its tree."""
    uses = enumerator.uses(found.codes)
    sheet = state.problem.stocks[stock]
    for row, number in zip(uses, found.numbers.tolist(), strict=True):
        tree = enumerator.tree(stock, number)
        assert tree is not None
        counts = part_counts(tree, state.problem)
        assert all(counts[k] == n for k, n in enumerate(row))
        width, height = min_size(tree, state.problem)
        assert width <= sheet.width
        assert height <= sheet.height
    return {tuple(row) for row in uses.tolist()}


def _no_piece_is_worth_more(
    job: SheetJob, state: State, enumerator: Enumerator, whole: np.ndarray, table: np.ndarray, draw: Random
) -> None:
    """Hold some pieces of the table against what they yield in truth."""
    space, problem = enumerator.pricer.space, state.problem
    for _ in range(4):
        i, j = draw.randrange(1, len(space.xs.at)), draw.randrange(1, len(space.ys.at))
        width, height = (int(grid.at[at]) * problem.scale - job.kerf for grid, at in ((space.xs, i), (space.ys, j)))
        for found in sheet_yields(job, width, height):
            own = [
                min(sum(found[m] for m in members), int(state.demand[k])) for k, members in enumerate(problem.members)
            ]
            assert int(np.array(own) @ whole) <= int(table[i, j])


@pytest.mark.parametrize("seed", range(300))
def test_places_rounded_alike_never_hold_a_piece_and_another_beside_it(seed: int) -> None:
    draw = Random(seed)
    sizes = [(draw.randint(9, 40), draw.randint(1, 3)) for _ in range(draw.randint(2, 5))]
    every = reachable(sizes, draw.randint(60, 300))
    single = [s for s, _ in sizes if s <= every[-1]]
    kept = thin(every, [*single, int(every[-1])], draw.randint(4, 20), min(single))
    if kept is None:
        return
    place = np.searchsorted(kept, every)
    for at in np.unique(place):
        alike = every[place == at]
        assert alike[-1] - alike[0] < min(single)


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


def _pieces(draw: Random, width: int, height: int, kerf: int, most: int) -> list[tuple[int, int]]:
    """Saw a piece up at random into at most so many, with little waste; lengths in mm * 10."""
    across = width > height if draw.random() < 0.8 else draw.random() < 0.5
    extent = width if across else height
    if most < 2 or extent < 6000:
        return [(width - draw.choice([0, 0, 0, 30]), height - draw.choice([0, 0, 0, 50]))]
    at = draw.randint(extent * 3 // 10, extent * 7 // 10)
    near = draw.randint(1, most - 1)
    one, two = ((at, height), (extent - at - kerf, height)) if across else ((width, at), (width, extent - at - kerf))
    return _pieces(draw, *one, kerf, near) + _pieces(draw, *two, kerf, most - near)


@pytest.mark.parametrize("seed", range(30))
def test_sheets_that_parts_were_sawn_from_are_never_refuted(seed: int) -> None:
    draw = Random(seed)
    kerf = 32
    sizes = [(12_190, 24_380), (12_190, 30_480), (9_000, draw.randint(9_000, 20_000))]
    counts = np.array(draw.choice([(1, 1, 0), (2, 0, 0), (1, 1, 1), (0, 2, 1), (3, 0, 0)]))
    pieces = [
        piece
        for size, count in zip(sizes, counts, strict=True)
        for _ in range(count)
        for piece in _pieces(draw, *size, kerf, draw.randint(4, 9))
    ]
    kinds = tuple(PartKind(f"p{i}", w * 1000, h * 1000, 1) for i, (w, h) in enumerate(pieces))
    sheets = tuple(SheetKind(f"s{i}", w * 1000, h * 1000, w * h // 100_000) for i, (w, h) in enumerate(sizes))
    state = State(prepare(SheetJob(kinds, sheets, kerf * 1000)), Budget(4000.0))
    columns = Columns(state)
    prover = Prover(state, columns, draw.choice([(20, 40), (60, 120), (120, 250)]))
    answer = prover.test(counts, 20_000)
    assert answer is not True
    # Nor does any inequality that was learned on the way forbid them.
    assert all(int((cut.worth * counts).sum()) >= cut.need for cut in columns.cuts)
    if answer is False:
        assert state.best is not None
        assert state.price <= int((counts * state.prices).sum())
