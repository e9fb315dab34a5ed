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
from enclosure.choose.dominance import undercuts
from enclosure.choose.fit_grid import Block, critical, grid_for, make_up
from enclosure.choose.fit_stock import Search, difference, fit_stock
from enclosure.choose.price import Pricer, asked, full_price
from enclosure.choose.soundness import Judge, judge_for
from enclosure.choose.variants import variants
from enclosure.cli.fit import brief_lines, exact_length, told
from enclosure.errors import DesignError
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
from enclosure.pipeline.fit import builder_for, fit_models, trials_for, variant_for
from enclosure.pipeline.walk import rebuild
from enclosure.shape.base import ring_height
from enclosure.shape.fit import ceil_to
from enclosure.units import parse_length
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
        ("tree-fern", (130.0, 138.0), (100.0, 101.6)),
        ("olive-glass", (100.0, 103.0), (120.0, 121.0)),
        ("potted-lemon", (80.0, 84.0), (100.0, 101.0)),
        ("banana-clump", (101.6, 101.6), (150.0, 160.0)),
    ],
)
def test_search_against_every_size_of_a_fine_grid(
    name: str, side: tuple[float, float], top: tuple[float, float]
) -> None:
    """Every size is built, checked and priced, between the critical sizes too; none may be cheaper."""
    brief, site, stock = read_all(BRIEFS / f"{name}.toml")
    brief = narrowed(brief, side, top)
    pricer, judge = BoundPricer(stock), judge_for(rebuild(brief, site, stock).design, brief, site, stock)
    trials = trials_for(brief, site, stock, judge)
    tried = variants(brief, trials, frame=False)[:3]
    search = Search([variant_for(changed, trials) for changed in tried], pricer)
    search.run()
    assert search.best is not None
    assert search.bound == search.best[0]
    prices, failed = [], 0
    builder = builder_for(brief, site, stock)
    steps = [side[0] + (side[1] - side[0]) * k / 6 for k in range(7)]
    rises = [top[0] + (top[1] - top[0]) * k / 2 for k in range(3)]
    for changed, wide, high in itertools.product(tried, steps, rises):
        try:
            design = builder(changed.brief, wide, high)
        except DesignError:
            continue
        if judge.failing(design, changed.brief):
            failed += 1
        else:
            prices.append(full_price(pricer, asked(design, stock)))
    for variant in search.variants:
        for cell in itertools.product(range(len(variant.grid.sides)), range(len(variant.grid.tops))):
            wanted = variant.grid.asked(cell)
            if wanted is not None and variant.grid.sound(cell):
                prices.append(full_price(pricer, wanted))
    assert search.best[0] == min(prices)
    assert len(prices) + failed > 30


def test_a_size_neither_found_nor_refuted_stays_in_the_bound() -> None:
    """Where no plan is proved least, the answer must not call itself proved."""

    class Vague(BoundPricer):
        def sheets(self, job: SheetJob) -> SheetPlan:
            price = sheet_bound(job)
            return SheetPlan((Pattern(job.sheets[-1].key, 1, Rest()),), price + 500, price, "gap")

    brief, site, stock = read_all(BRIEFS / "potted-lemon.toml")
    brief = narrowed(brief, (80.0, 84.0), (100.0, 100.0))
    trials = trials_for(brief, site, stock, Judge(site, stock, excused=frozenset()))
    first = variants(brief, trials, frame=False)[0]
    search = Search([variant_for(first, trials)], Vague(stock))
    search.run()
    assert search.best is not None
    assert search.bound <= search.best[0] - 500


# --- what solved jobs tell of others ---------------------------------------------------


def random_job(rng: random.Random, sheets: tuple[SheetKind, ...], sloped: bool) -> SheetJob:
    kinds = []
    for i in range(rng.randint(1, 3)):
        wide, high = rng.randint(1, 6), rng.randint(1, 6)
        slope = (rng.randint(1, high), high) if sloped and rng.random() < 0.6 else None
        kinds.append(PartKind(f"k{i}", wide, high, 1, slope is None and rng.random() < 0.3, "", slope))
    return SheetJob(tuple(kinds), sheets, 1)


@pytest.mark.parametrize("sloped", [False, True])
def test_an_undercut_job_is_never_dearer(sloped: bool) -> None:
    """Against an exhaustive search over all guillotine plans of tiny jobs."""
    rng, seen = random.Random(31), 0
    sheets = (SheetKind("a", 7, 9, 10), SheetKind("b", 9, 7, 9), SheetKind("c", 12, 8, 17))
    for _ in range(1000 if sloped else 400):
        one, other = random_job(rng, sheets, sloped), random_job(rng, sheets, sloped)
        if undercuts(one, other):
            small, large = (least_sheet_price(job) if not sloped else solve_sheets(job).price for job in (one, other))
            assert small is not None
            assert large is not None
            assert small <= large
            seen += 1
    assert seen > 15


def test_undercut_sticks_by_hand() -> None:
    sticks = (StickKind("s", 100, 10),)
    short = StickJob((StickPart("a", 30, 2), StickPart("b", 20, 1)), sticks, 3)
    long = StickJob((StickPart("a", 31, 2), StickPart("b", 20, 2)), sticks, 3)
    assert undercuts(short, long)
    assert not undercuts(long, short)
    # 30 30 20 against 40 29 29: the second piece of 30 has no partner
    assert not undercuts(short, StickJob((StickPart("a", 40, 1), StickPart("b", 29, 2)), sticks, 3))


# --- timber, track, bays ---------------------------------------------------------------


def test_a_stout_frame_gives_way_to_the_least_that_passes() -> None:
    brief, site, stock = read_all(BRIEFS / "tree-fern.toml")
    stout = brief.model_copy(update={"frame": brief.frame.model_copy(update={"section": "4x4", "roof_section": "2x4"})})
    judge = judge_for(rebuild(stout, site, stock).design, stout, site, stock)
    trials = trials_for(stout, site, stock, judge)
    found = variants(stout, trials, bays=False)
    assert any(c.brief.frame.section == "2x3" and c.brief.frame.roof_section == "2x3" for c in found)
    for changed in found:
        design = trials.design(changed.brief)
        assert design is not None
        assert not judge.failing(design, changed.brief)
    assert trials.refused, "2x2 is too weak for this snow"
    assert all(row.utilisation > 1.0 or row.utilisation == 0.0 for row in trials.refused)


def test_a_low_track_holds_glass_and_one_too_low_does_not() -> None:
    brief, site, stock = read_all(BRIEFS / "olive-glass.toml")
    trials = trials_for(brief, site, stock, judge_for(rebuild(brief, site, stock).design, brief, site, stock))
    names = [c.brief.frame.tracks for c in variants(brief, trials, bays=False)]
    assert "edge-4-low, joiner-4-low" in names
    low = {key: track for key, track in stock.tracks.items() if "low" in key}
    shallow = {key: track.model_copy(update={"slot_depth_mm": 9.0}) for key, track in low.items()}
    poor = stock.model_copy(update={"tracks": stock.tracks | shallow})
    trials = trials_for(brief, site, poor, Judge(site, poor))
    assert all(c.brief.frame.tracks is None for c in variants(brief, trials, bays=False))
    assert any("low" in row.words and "slot" in row.row for row in trials.refused)


def test_the_lines_for_the_brief_give_the_price_told(tmp_path: Path) -> None:
    """What is printed is put into the brief by hand, read, built and priced again."""
    text = (BRIEFS / "olive-glass.toml").read_text(encoding="utf-8")
    text = text.replace('side = { least = "10 cm", most = "16 cm" }', 'side = { least = "10 cm", most = "10.4 cm" }')
    file = tmp_path / "olive.toml"
    file.write_text(text, encoding="utf-8")
    found = fit_models(*read_all(file), bays=False, near=False)
    lines = brief_lines(found)
    assert lines[:2] == ["[clearance]", f'side = {{ least = "{found.fit.chosen.side_mm:g} mm", most = "104 mm" }}']
    changed = text.replace('side = { least = "10 cm", most = "10.4 cm" }', lines[1])
    changed = changed.replace("[frame]", "[frame]\n" + "\n".join(lines[lines.index("[frame]") + 1 :]))
    file.write_text(changed, encoding="utf-8")
    again = rebuild(*read_all(file))
    assert again.design.clear_mm == found.fit.chosen.clear_mm
    assert full_price(Pricer(again.stock), asked(again.design, again.stock)) == found.fit.chosen.price_cents
    assert found.fit.saving_cents > 0
    said = "\n".join(told(found))
    assert "low edge channel" in said
    assert "sheets and lengths to buy" in said


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 20 * 64), st.booleans())
def test_lengths_for_the_brief_read_back(sixty_fourths: int, inch: bool) -> None:
    size = sixty_fourths * 25.4 / 64 if inch else sixty_fourths / 2
    assert float(parse_length(exact_length(size, "inch" if inch else "metric"))) == pytest.approx(size, abs=1e-4)


def test_make_up_between_equal_corners_is_the_same() -> None:
    brief, site, stock = read_all(BRIEFS / "olive-glass.toml")
    brief = narrowed(brief, (100.0, 130.0), (120.0, 120.0))
    builder = builder_for(brief, site, stock)
    grid, window = grid_for(brief, stock, builder, ring_height(brief, stock), (0.0, 0.0))
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
    trials = trials_for(brief, site, stock, judge_for(rebuild(brief, site, stock).design, brief, site, stock))
    grids = [variant_for(changed, trials, (20.0, 20.0)) for changed in variants(brief, trials)]
    pricer = BoundPricer(stock)
    fit = fit_stock(grids, pricer)
    assert fit.proved
    assert fit.chosen.price_cents <= fit.tightest.price_cents
    least, most = brief.clearance.side.least_mm, brief.clearance.side.most_mm
    assert least - 1e-6 <= fit.chosen.side_mm <= most + 1e-6
    for miss in fit.near:
        if miss.change_mm < 0:
            assert miss.change_cents < 0
        else:
            assert miss.change_cents > 0
    assert not trials.judge(fit.design, brief), "the answer passes the checks that the brief passes"
    # what the answer says is what its design asks for
    assert fit.design.clear_mm == fit.chosen.clear_mm
    assert full_price(pricer, asked(fit.design, stock)) == fit.chosen.price_cents
