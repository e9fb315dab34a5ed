"""What if there are thousands of different lengths?

Then the linear programs would be too large to be of use in reasonable time and
memory. The lengths are dealt out over several jobs, each with its share of long
and short parts, which are cut one after another from what is left in stock. The
bound counts lengths alone.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import replace

from enclosure.nesting.model import Status, StickJob, StickPattern, StickPlan
from enclosure.nesting.sticks_bound import count_bound
from enclosure.nesting.sticks_problem import reduce_job

# Kinds of parts in one job.
MOST_KINDS = 800


def is_large(job: StickJob) -> bool:
    """Return True when a job has too many lengths for one linear program."""
    return len({part.length for part in job.parts}) > 2 * MOST_KINDS


def solve_many(job: StickJob, solve: Callable[[StickJob, int], StickPlan]) -> StickPlan:
    """Return a plan of several jobs; `solve` is given each job and how many there are.

    Raises:
        CuttingError: A part is longer than every stick, or a finite stock ran out.
    """
    problem = reduce_job(job)
    bins = problem.bins[:-1] if problem.emergency else problem.bins
    worths = [max(sum(stretch.capacity for stretch in version) for version in item.versions) for item in bins]
    need = sum(size * count for size, count in zip(problem.sizes, problem.wanted, strict=True))
    jobs = -(-len(problem.sizes) // MOST_KINDS)
    parts = sorted(job.parts, key=lambda part: (-part.length, part.key))
    used: Counter[str] = Counter()
    patterns: list[StickPattern] = []
    price = work = 0
    for number in range(jobs):
        sticks = tuple(
            stick if stick.copies is None else replace(stick, copies=stick.copies - used[stick.key])
            for stick in job.sticks
        )
        plan = solve(replace(job, parts=tuple(parts[number::jobs]), sticks=sticks), jobs)
        for pattern in plan.patterns:
            used[pattern.stick] += pattern.copies
        patterns += plan.patterns
        price += plan.price
        work += plan.work
    prices, copies = [item.price for item in bins], [item.copies for item in bins]
    bound = count_bound(prices, copies, worths, need, price // problem.money) * problem.money
    status: Status = "proved" if bound == price else "gap"
    return StickPlan(tuple(patterns), price, bound, status, work)
