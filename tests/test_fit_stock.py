"""Which size within the clearance windows costs least?"""

from __future__ import annotations

import itertools
import random
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.model import Brief, Window
from enclosure.brief.read import read_all
from enclosure.choose.bounds import least_price, relaxed, sheet_bound, stick_bound
from enclosure.choose.fit_grid import Block, critical, grid_for, make_up
from enclosure.choose.fit_stock import Search, Variant, difference, fit_stock
from enclosure.choose.price import Pricer, asked, full_price
from enclosure.nesting.model import (
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPlan,
)
from enclosure.nesting.plans import BuyingLine
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sticks import solve_sticks
from enclosure.pipeline.fit import bay_variants, builder_for
from enclosure.shape.base import ring_height
from enclosure.shape.fit import ceil_to
from tests.oracle_guillotine import least_sheet_price

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


class BoundPricer(Pricer):
    """Prices every job at its cheap bound, so that a search can be compared with all sizes in seconds."""

    def sheets(self, job: SheetJob) -> SheetPlan:
        price = sheet_bound(job)
        return SheetPlan((Pattern(job.sheets[-1].key, 1, Rest()),), price, price, "proved")

    def sticks(self, job: StickJob) -> StickPlan:
        price = stick_bound(job)
        return StickPlan((StickPattern(job.sticks[-1].key, 1),), price, price, "proved")

    def known(self, job: object) -> bool:
        return True


# --- the sizes -----------------------------------------------------------------------


@pytest.mark.regression
def test_critical_sizes_by_hand() -> None:
    # Spread 805 mm, window 100 to 103 mm, step 5 mm: widths 1005 to 1011, rounded up 1005, 1010, 1015.
    # 805 + 2 s = 1005 at s = 100, = 1010 at 102.5; the window's end 103 gives 1011, rounded up 1015.
    assert critical((805.0,), 100.0, 103.0, 2, 5.0) == [100.0, 102.5, 103.0]
    assert critical((805.0,), 100.0, 100.0, 2, 5.0) == [100.0]


@settings(max_examples=60, deadline=None)
@given(
    st.floats(300, 2000),
    st.floats(300, 2000),
    st.floats(0, 200),
    st.floats(0, 60),
    st.sampled_from([1.0, 25.4 / 16]),
)
def test_no_size_lies_between_two_critical_ones(x: float, y: float, least: float, wide: float, step: float) -> None:
    values = critical((x, y), least, least + wide, 2, step)
    sizes = [(ceil_to(x + 2 * v, step), ceil_to(y + 2 * v, step)) for v in values]
    fine = [least + wide * k / 400 for k in range(401)]
    assert {(ceil_to(x + 2 * v, step), ceil_to(y + 2 * v, step)) for v in fine} <= set(sizes)
    assert values == sorted(values)
    assert values[0] >= least - 1e-9
    assert values[-1] == pytest.approx(least + wide)


# --- the cheap bounds ----------------------------------------------------------------


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 30), st.integers(1, 40)), min_size=1, max_size=3), st.integers(1, 200))
def test_least_price_against_all_counts(rows: list[tuple[int, int]], need: int) -> None:
    best = (
        min(
            sum(n * p for n, (p, _) in zip(counts, rows, strict=True))
            for counts in itertools.product(*(range(-(-need // w) + 1) for _, w in rows))
            if sum(n * w for n, (_, w) in zip(counts, rows, strict=True)) >= need
        )
        if len(rows) < 3 or need <= 60
        else None
    )
    found = least_price([(p, float(w), None) for p, w in rows], need)
    if best is not None:
        assert found == best


def test_sheet_bound_never_above_the_exact_least_price() -> None:
    rng = random.Random(20)
    for _ in range(30):
        sheets = tuple(
            SheetKind(f"s{i}", rng.randint(5, 9), rng.randint(5, 9), rng.randint(5, 12), rng.choice([None, None, 1]))
            for i in range(rng.randint(1, 2))
        )
        sheets = (*sheets, SheetKind("all", 9, 9, 20))
        kinds = tuple(
            PartKind(f"k{i}", rng.randint(2, 7), rng.randint(2, 7), 1, rng.random() < 0.3)
            for i in range(rng.randint(1, 3))
        )
        job = SheetJob(kinds, sheets, rng.randint(0, 1))
        exact = least_sheet_price(job)
        assert exact is not None
        assert sheet_bound(job) <= exact


def test_stick_bound_never_above_the_engine() -> None:
    rng = random.Random(21)
    for _ in range(40):
        sticks = tuple(StickKind(f"s{i}", rng.randint(80, 200), rng.randint(50, 120)) for i in range(2))
        longest = max(s.length for s in sticks)
        parts = tuple(StickPart(f"p{i}", rng.randint(10, longest), rng.randint(1, 4)) for i in range(3))
        job = StickJob(parts, sticks, 3)
        assert stick_bound(job) <= solve_sticks(job, work_limit=200_000).price


def test_flattened_slopes_cost_no_more() -> None:
    # two trapezoids 500 x (400, 600) share one rectangle of 500 x about 1003: the mean heights are 500 each
    kinds = (PartKind("t", 5_000_000, 6_000_000, 2, False, "", (4_000_000, 6_000_000)),)
    job = SheetJob(kinds, (SheetKind("s", 5_000_000, 10_100_000, 100),), 30_000)
    assert solve_sheets(job).price == 100
    assert sheet_bound(job) <= 100
    assert {k.height for k in relaxed(job).kinds} == {5_000_000}


# --- the search ----------------------------------------------------------------------


def narrowed(brief: Brief, side: tuple[float, float], top: tuple[float, float]) -> Brief:
    clearance = brief.clearance.model_copy(
        update={
            "side": Window(least_mm=side[0], most_mm=side[1]),
            "top": Window(least_mm=top[0], most_mm=top[1]),
        }
    )
    return brief.model_copy(update={"clearance": clearance})


@pytest.mark.parametrize(
    ("name", "side", "top"),
    [
        ("tree-fern", (100.0, 116.0), (100.0, 104.0)),
        ("olive-glass", (100.0, 108.0), (120.0, 122.0)),
        ("potted-lemon", (80.0, 90.0), (100.0, 102.0)),
    ],
)
def test_search_against_every_size_of_a_fine_grid(
    name: str, side: tuple[float, float], top: tuple[float, float]
) -> None:
    brief, site, stock = read_all(BRIEFS / f"{name}.toml")
    brief = narrowed(brief, side, top)
    pricer = BoundPricer(stock)
    builder, ring = builder_for(brief, site, stock), ring_height(brief, stock)
    grid, window = grid_for(brief, stock, builder, ring, (0.0, 0.0))
    search = Search([Variant(grid, window)], pricer)
    search.run()
    assert search.best is not None
    built = grid.built
    prices = {}
    for cell in itertools.product(range(len(grid.sides)), range(len(grid.tops))):
        wanted = grid.asked(cell)
        if wanted is not None:
            prices[cell] = full_price(pricer, wanted)
    assert search.best[0] == min(prices.values())
    assert search.bound == search.best[0]
    assert len(prices) > 20
    assert built < len(prices), "the search must not build every size"


def test_make_up_between_equal_corners_is_the_same() -> None:
    brief, site, stock = read_all(BRIEFS / "olive-glass.toml")
    brief = narrowed(brief, (100.0, 130.0), (120.0, 120.0))
    grid, window = grid_for(brief, stock, builder_for(brief, site, stock), ring_height(brief, stock), (0.0, 0.0))
    assert window.high[0] > 25
    runs = []
    for i in range(0, window.high[0] + 1, 2):
        design = grid.design((i, 0))
        assert design is not None
        if not runs or runs[-1] != make_up(design):
            runs.append(make_up(design))
    assert len(runs) == len(set(runs)), "a make-up must not come back"


def test_block_halves_cover_it() -> None:
    block = Block((0, 3), (6, 5))
    left, right = block.halves()
    cells = {
        (i, j) for b in (left, right) for i in range(b.low[0], b.high[0] + 1) for j in range(b.low[1], b.high[1] + 1)
    }
    assert cells == {(i, j) for i in range(7) for j in range(3, 6)}
    assert not (set(left.corners()) & set(right.corners()))


@pytest.mark.regression
def test_difference_in_words() -> None:
    here = (BuyingLine("skins", "twin wall", "4 x 8 ft", 3, "sheet", 9000, 27000),)
    there = (
        BuyingLine("skins", "twin wall", "4 x 8 ft", 2, "sheet", 9000, 18000),
        BuyingLine("hardware", "screws", "pack of 50", 1, "pack", 300, 300),
    )
    assert difference(here, there) == "1 less of twin wall 4 x 8 ft (sheet), 1 more of screws pack of 50"


def test_answer_with_variants_and_near_misses() -> None:
    brief, site, stock = read_all(BRIEFS / "olive-glass.toml")
    builder, ring = builder_for(brief, site, stock), ring_height(brief, stock)
    pairs = [(brief, ""), *bay_variants(brief, site, stock)]
    variants = [Variant(*grid_for(b, stock, builder, ring, (20.0, 20.0), label)) for b, label in pairs]
    pricer = BoundPricer(stock)
    fit = fit_stock(variants, pricer)
    assert fit.proved
    assert fit.chosen.price_cents <= fit.tightest.price_cents
    least, most = brief.clearance.side.least_mm, brief.clearance.side.most_mm
    assert least - 1e-6 <= fit.chosen.side_mm <= most + 1e-6
    for miss in fit.near:
        if miss.change_mm < 0:
            assert miss.change_cents < 0
        else:
            assert miss.change_cents > 0
    # what the answer says is what its design asks for
    assert fit.design.clear_mm == fit.chosen.clear_mm
    assert full_price(pricer, asked(fit.design, stock)) == fit.chosen.price_cents
