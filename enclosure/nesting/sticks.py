"""Which sticks should be bought, and how are they cut, so that the price is least?

One-dimensional cutting stock with several stock lengths and prices, a finite
rack, kerf, squaring cuts and bad stretches, in exact whole numbers. The result
says that its price is proved least, or gives a valid lower bound. After the
price, and without touching it: one large offcut worth keeping, then few saw
set-ups (`sticks_goods`).

The heavy libraries are loaded when a job is solved, not when this is imported.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import replace

from enclosure.nesting.model import StickJob, StickPlan

# Enough for some seconds on a small machine; see `sticks_search` for the unit.
DEFAULT_WORK = 3_000_000


def solve_sticks(
    job: StickJob,
    *,
    work_limit: int | None = None,
    seconds: float | None = None,
    progress: Callable[[int | None, int], bool | None] | None = None,
    goods: bool = True,
) -> StickPlan:
    """Return a plan of least price for the job.

    Args:
        job: Parts wanted and sticks to be had; a quantity of 0 is allowed.
        work_limit: Most work units; a limit of work gives the same plan every time.
        seconds: Most seconds [s]; the plan may then differ from run to run.
        progress: Called with the price so far (None before the first plan) and
            the bound, also now and then when neither is new; returning False ends the search with the best plan so far.
        goods: After the price, look for one large offcut and few set-ups.

    Raises:
        CuttingError: A part is longer than every stick, the finite stock is too
            small, or a number makes no sense.
    """
    if any(kind.holes for kind in job.sticks):
        from enclosure.nesting.sticks_ends import clear_ends

        return clear_ends(
            job,
            lambda bare: solve_sticks(bare, work_limit=work_limit, seconds=seconds, progress=progress, goods=goods),
        )
    from enclosure.nesting.sticks_engine import run_job
    from enclosure.nesting.sticks_many import is_large, solve_many

    asked = replace(job, parts=tuple(part for part in job.parts if part.quantity != 0))
    if job.parts and not asked.parts:
        return StickPlan((), 0, 0, "proved")
    deadline = None if seconds is None else time.monotonic() + seconds
    if work_limit is None and seconds is None:
        work_limit = DEFAULT_WORK
    if not is_large(asked):
        return run_job(asked, work_limit, deadline, progress, goods=goods)

    def share(job: StickJob, jobs: int) -> StickPlan:
        until = None if seconds is None else time.monotonic() + seconds / jobs
        return run_job(job, None if work_limit is None else work_limit // jobs, until, None, goods=False)

    return solve_many(asked, share)
