"""Does "proved least price" tell the truth? Tiny random jobs against trying everything.

The oracle shares no idea with the engines. For every job the bound must not lie
above the true least price, the price not below it, and both must meet where the
engine says "proved". Every plan is also replayed by the verifier.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from enclosure.errors import CuttingError
from enclosure.nesting.model import SheetJob, StickJob
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from tests.oracle_cases import tiny_sheet_job, tiny_stick_job
from tests.oracle_guillotine import least_sheet_price, least_stick_price

# The expected value is found by exhaustive search, not printed anywhere: our own arithmetic.
pytestmark = pytest.mark.regression


def _check_sheets(job: SheetJob, seconds: float = 0.3) -> bool:
    least = least_sheet_price(job)
    if least is None:
        with pytest.raises(CuttingError):
            solve_sheets(job, seconds=seconds)
        return True
    plan = solve_sheets(job, seconds=seconds)
    verify_sheets(job, plan)
    assert plan.bound <= least <= plan.price
    return plan.status == "proved"


def _check_sticks(job: StickJob) -> bool:
    least = least_stick_price(job)
    if least is None:
        with pytest.raises(CuttingError):
            solve_sticks(job)
        return True
    plan = solve_sticks(job)
    verify_sticks(job, plan)
    assert plan.bound <= least <= plan.price
    return plan.status == "proved"


@pytest.mark.parametrize("block", range(8))
def test_sheet_bound_never_passes_the_true_least_price(block: int) -> None:
    for seed in range(block * 20, block * 20 + 20):
        _check_sheets(tiny_sheet_job(seed))


@pytest.mark.parametrize("stages", [2, 3])
def test_staged_sheet_bound_never_passes_the_true_least_price(stages: int) -> None:
    for seed in range(24):
        _check_sheets(tiny_sheet_job(seed, stages=stages))


def test_bound_with_sloped_parts_never_passes_the_true_least_price() -> None:
    for seed in range(24):
        _check_sheets(tiny_sheet_job(seed, sloped=True))


def test_most_tiny_sheet_jobs_are_proved() -> None:
    proved = sum(_check_sheets(tiny_sheet_job(seed), 2.0) for seed in range(1000, 1024))
    assert proved >= 18


@pytest.mark.parametrize("block", range(10))
def test_sticks_are_proved_and_the_proof_is_true(block: int) -> None:
    for seed in range(block * 40, block * 40 + 40):
        assert _check_sticks(tiny_stick_job(seed)), f"stick job {seed} was left with a gap"


def test_a_scale_of_real_lengths_changes_no_price() -> None:
    """The same tiny jobs in tenths of a micrometre, as the program uses them."""
    for seed in range(30):
        job = tiny_stick_job(seed)
        times = 317_503
        scaled = StickJob(
            tuple(replace(part, length=part.length * times) for part in job.parts),
            tuple(
                replace(
                    stick,
                    length=stick.length * times,
                    squaring=stick.squaring * times,
                    defects=tuple((a * times, b * times) for a, b in stick.defects),
                )
                for stick in job.sticks
            ),
            job.kerf * times,
        )
        least = least_stick_price(job)
        if least is None:
            continue
        plan = solve_sticks(scaled)
        verify_sticks(scaled, plan)
        assert plan.price == least
