"""Do sticks come out at least price, in every case that the shop can bring?"""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.errors import CuttingError
from enclosure.nesting.model import UNITS_PER_MM, StickJob, StickKind, StickPart, StickPlan
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sticks
from tests.benchmarks.families import shelter, triplets, uniform, zero_waste
from tests.oracle_cases import tiny_stick_job
from tests.oracle_guillotine import least_stick_price


def _mm(length: float) -> int:
    return round(length * UNITS_PER_MM)


def _solved(job: StickJob, **limits: int) -> StickPlan:
    plan = solve_sticks(job, **limits)
    verify_sticks(job, plan)
    return plan


# --- known optima ------------------------------------------------------------------


@pytest.mark.regression
@pytest.mark.parametrize("seed", range(4))
def test_triplets_are_cut_without_waste(seed: int) -> None:
    """The least number of sticks is known by construction: every stick is one triplet."""
    job, sticks = triplets(90, seed)
    plan = _solved(job)
    assert (plan.price, plan.status) == (sticks, "proved")


@pytest.mark.regression
@pytest.mark.parametrize("kerf", [0, 3])
@pytest.mark.parametrize("seed", range(3))
def test_sticks_cut_up_are_put_together_again(seed: int, kerf: int) -> None:
    """The least number of sticks is known by construction: whole sticks were cut up."""
    job, sticks = zero_waste(60, seed, kerf=kerf)
    plan = _solved(job)
    assert (plan.price, plan.status) == (sticks, "proved")


@pytest.mark.regression
@pytest.mark.parametrize("seed", range(4))
def test_uniform_jobs_are_proved(seed: int) -> None:
    assert _solved(uniform(120, seed)).status == "proved"


@pytest.mark.regression
@pytest.mark.parametrize("seed", range(6))
def test_shelter_jobs_are_proved(seed: int) -> None:
    assert _solved(shelter(seed)).status == "proved"


# --- the shop's cases --------------------------------------------------------------


@pytest.mark.practice(words="common practice, no source")
def test_parts_in_a_row_need_one_kerf_less_than_their_number() -> None:
    """Four parts of 609.6 mm and three kerfs of 3.2 mm need 2448 mm: an 8 ft stick (2438.4) is too short."""
    parts = (StickPart("rail", _mm(609.6), 4),)
    eight, ten = StickKind("8 ft", _mm(2438.4), 900), StickKind("10 ft", _mm(3048), 1200)
    assert _solved(StickJob(parts, (eight, ten), _mm(3.2))).price == 1200
    assert _solved(StickJob(parts, (eight, ten), 0)).price == 900


@pytest.mark.regression
def test_rack_sticks_that_cost_nothing_come_first() -> None:
    job = StickJob(
        (StickPart("post", _mm(900), 3),),
        (
            StickKind("new", _mm(2400), 800),
            StickKind("old", _mm(1000), 0, 2, owned=True),
        ),
        _mm(3),
    )
    plan = _solved(job)
    assert plan.price == 800
    assert sum(pattern.copies for pattern in plan.patterns if pattern.stick == "old") >= 1


@pytest.mark.regression
def test_a_squaring_cut_shortens_the_stick() -> None:
    parts = (StickPart("post", _mm(1000), 2),)
    whole = StickJob(parts, (StickKind("new", _mm(2003), 500),), _mm(3))
    assert _solved(whole).price == 500
    squared = StickJob(parts, (StickKind("new", _mm(2003), 500, squaring=_mm(5)),), _mm(3))
    assert _solved(squared).price == 1000


@pytest.mark.regression
def test_bad_stretches_are_left_out() -> None:
    stick = StickKind("knotty", _mm(2400), 500, defects=((_mm(1190), _mm(1210)), (0, _mm(20))))
    job = StickJob((StickPart("post", _mm(1000), 4),), (stick,), _mm(3))
    plan = _solved(job)
    assert plan.price == 1000
    assert {piece.start for pattern in plan.patterns for piece in pattern.pieces} == {_mm(20), _mm(1210)}


@pytest.mark.regression
def test_a_bad_stretch_thinner_than_the_kerf_pushes_the_next_part_along() -> None:
    """Two parts of 500 around a bad spot at 500 to 501 with a kerf of 4 need 1004."""
    spot = ((_mm(500), _mm(501)),)
    parts = (StickPart("post", _mm(500), 2),)
    short = StickJob(parts, (StickKind("new", _mm(1003.9), 5, defects=spot),), _mm(4))
    assert _solved(short).price == 10
    enough = StickJob(parts, (StickKind("new", _mm(1004), 5, defects=spot),), _mm(4))
    assert _solved(enough).price == 5


@pytest.mark.regression
def test_equal_lengths_with_two_names_are_dealt_out_exactly() -> None:
    parts = (StickPart("a", _mm(700), 5), StickPart("b", _mm(700), 4), StickPart("c", _mm(333), 7))
    plan = _solved(StickJob(parts, (StickKind("new", _mm(2400), 500),), _mm(3.2)))
    assert plan.status == "proved"


@pytest.mark.regression
def test_a_thousand_copies_cost_little_more_work_than_one() -> None:
    job = shelter(3)
    many = StickJob(tuple(replace(part, quantity=part.quantity * 1000) for part in job.parts), job.sticks, job.kerf)
    one, thousand = _solved(job), _solved(many)
    assert thousand.work < 40 * max(one.work, 5_000)
    assert len(thousand.patterns) < 60 + 4 * len(job.parts)


@pytest.mark.regression
def test_a_longer_list_of_sticks_never_costs_more() -> None:
    for seed in range(20):
        job = tiny_stick_job(seed)
        if least_stick_price(job) is None:
            continue
        before = _solved(job)
        after = _solved(replace(job, sticks=(*job.sticks, StickKind("more", 33, 6))))
        assert after.price <= before.price


@pytest.mark.regression
@settings(max_examples=60, deadline=None)
@given(
    st.lists(st.tuples(st.integers(1, 40), st.integers(1, 9)), min_size=1, max_size=7, unique_by=lambda row: row[0]),
    st.integers(40, 90),
    st.integers(0, 4),
    st.integers(0, 3),
    st.integers(1, 3),
)
def test_plans_are_sound_and_scale_with_the_unit(
    rows: list[tuple[int, int]], stock: int, kerf: int, squaring: int, times: int
) -> None:
    job = StickJob(
        tuple(StickPart(f"p{length}", length * times, count) for length, count in rows),
        (StickKind("new", (stock + squaring) * times, 7, squaring=squaring * times),),
        kerf * times,
    )
    plan = _solved(job)
    assert plan.bound <= plan.price
    need = sum((length + kerf) * count for length, count in rows)
    assert plan.price >= 7 * -(-need // (stock + kerf))
    plain = StickJob(
        tuple(StickPart(f"p{length}", length, count) for length, count in rows),
        (StickKind("new", stock, 7),),
        kerf,
    )
    assert _solved(plain).price == plan.price


# --- limits, repeatability, progress -----------------------------------------------


@pytest.mark.regression
def test_equal_work_gives_equal_plans() -> None:
    for job in (shelter(1), uniform(120, 9)):
        first, second = _solved(job, work_limit=20_000), _solved(job, work_limit=20_000)
        assert first == second


@pytest.mark.regression
def test_a_plan_comes_even_with_no_work_to_spend() -> None:
    for job in (shelter(2), triplets(120, 1)[0], tiny_stick_job(4)):
        plan = _solved(job, work_limit=1)
        assert plan.patterns


@pytest.mark.regression
def test_progress_tells_price_and_bound_and_can_end_the_search() -> None:
    told: list[tuple[int | None, int]] = []

    def keep(price: int | None, bound: int) -> bool:
        told.append((price, bound))
        return True

    plan = solve_sticks(shelter(1), progress=keep)
    assert told
    assert told[-1] == (plan.price, plan.bound)
    assert all(price is None or bound <= price for price, bound in told)
    stopped = solve_sticks(shelter(1), progress=lambda price, bound: False)
    verify_sticks(shelter(1), stopped)


# --- bad input ---------------------------------------------------------------------


@pytest.mark.regression
@pytest.mark.parametrize(
    ("parts", "sticks", "words"),
    [
        ((StickPart("post", _mm(2500)),), (StickKind("new", _mm(2400), 1),), "post is 2500 mm long"),
        ((StickPart("post", _mm(2400)),), (StickKind("new", _mm(2400), 1, squaring=1),), "longest clear"),
        (
            (StickPart("post", _mm(1300)),),
            (StickKind("new", _mm(2400), 1, defects=((_mm(1190), _mm(1210)),)),),
            "longest clear stick in stock is 1190 mm, short by 110 mm",
        ),
        ((StickPart("post", _mm(900), 5),), (StickKind("old", _mm(2000), 0, 2),), "short by"),
        ((StickPart("post", _mm(1100), 3),), (StickKind("old", _mm(2000), 0, 2),), "no room for 1 of post"),
        ((StickPart("post", 0),), (StickKind("new", _mm(2400), 1),), "post is 0 mm long"),
        ((StickPart("post", -5),), (StickKind("new", _mm(2400), 1),), "quantities"),
        ((StickPart("post", 5, -1),), (StickKind("new", _mm(2400), 1),), "wanted -1 times"),
        ((StickPart("post", 5),), (), "no sticks in stock"),
        ((), (StickKind("new", _mm(2400), 1),), "no parts"),
        ((StickPart("post", 5),), (StickKind("new", -1, 1),), "stick new is"),
        ((StickPart("post", 5),), (StickKind("new", 10, -1),), "costs -1"),
        ((StickPart("post", 5),), (StickKind("new", 10, 1, 0),), "longest clear"),
    ],
)
def test_impossible_jobs_say_why(parts: tuple[StickPart, ...], sticks: tuple[StickKind, ...], words: str) -> None:
    with pytest.raises(CuttingError) as caught:
        solve_sticks(StickJob(parts, sticks, 0))
    assert words in f"{caught.value.message} {caught.value.hint}"
    assert caught.value.hint


@pytest.mark.regression
def test_free_sticks_and_quantities_of_nothing_are_sane() -> None:
    free = StickJob((StickPart("post", 5, 7), StickPart("none", 6, 0)), (StickKind("new", 11, 0),), 1)
    plan = _solved(free)
    assert (plan.price, plan.status) == (0, "proved")
    nothing = solve_sticks(StickJob((StickPart("none", 6, 0),), (StickKind("new", 11, 3),), 1))
    assert (nothing.price, nothing.patterns, nothing.status) == (0, (), "proved")


@pytest.mark.regression
def test_lengths_without_a_common_step_are_still_exact() -> None:
    """Inch and millimetre lengths together leave steps too fine for a table of every length."""
    parts = tuple(StickPart(f"p{index}", 3_000_001 + 777_777 * index, 1 + index % 3) for index in range(20))
    sticks = (StickKind("8 ft", _mm(2438.4), 1000), StickKind("4 m", _mm(4000), 1630))
    assert _solved(StickJob(parts, sticks, 32_001)).status == "proved"


@pytest.mark.regression
def test_thousands_of_lengths_end_in_a_sound_plan() -> None:
    parts = tuple(StickPart(f"p{index}", _mm(300) + 7_919 * index, 1 + index % 2) for index in range(1_700))
    sticks = (StickKind("8 ft", _mm(2438.4), 1000), StickKind("rack", _mm(2000), 0, 5, owned=True))
    job = StickJob(parts, sticks, 32_000)
    plan = _solved(job, work_limit=3)
    assert plan.bound > 0.8 * plan.price
