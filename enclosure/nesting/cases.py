"""How are the cases of a file solved, one after another or side by side on several cores?

Each core takes one case at a time. What comes out, and its order, is the same whatever the
number of cores when the limit is in work units. A watch tells how far a search is and ends
it with the best plan so far.
"""

from __future__ import annotations

import signal
import sys
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from functools import partial
from itertools import islice
from multiprocessing import current_process, get_context
from types import FrameType
from typing import Any

from enclosure.errors import EnclosureError
from enclosure.nesting.casefile import Case, number, plan_record
from enclosure.nesting.model import SheetJob, SheetPlan, StickPlan
from enclosure.nesting.solver import silence_banner
from enclosure.nesting.verify import verify_sheets, verify_sticks

Record = dict[str, Any]

BOUNDLESS = 10**9
"""Work units that no run reaches: a limit in seconds is then the only one."""
STICK_WORK = 2_000
"""Work units of the stick engine for one of the sheet engine; both come to about a millisecond."""


class Watch:
    """Shows on a terminal how far a search is, and ends it when Ctrl-C was pressed.

    Args:
        shown: Write the line; where nobody watches nothing is written and Ctrl-C ends the program as usual.
    """

    def __init__(self, *, shown: bool = False) -> None:
        self.stopped, self.shown = False, shown
        self.name, self.begun = "", time.monotonic()

    def begin(self, name: str) -> None:
        """Name the case that is solved now."""
        self.name, self.begun = name, time.monotonic()

    def tell(self, price: float | None, bound: float) -> bool:
        """Show price and gap; return False when the search is to end."""
        if self.shown and price is not None:
            gap = f"gap {(price - bound) / price:.2%}" if price > bound else "proved"
            line = f"{self.name}: {price:g}, {gap}, {time.monotonic() - self.begun:.0f} s"
            print(f"\r{line:<70}", end="", file=sys.stderr, flush=True)
        return not self.stopped

    def clear(self) -> None:
        """Take the line away."""
        if self.shown:
            print(f"\r{'':<70}\r", end="", file=sys.stderr, flush=True)

    def stop(self, number: int, frame: FrameType | None) -> None:
        """Let the first Ctrl-C end the search and a second one the program."""
        if self.stopped:
            raise KeyboardInterrupt
        self.stopped = True

    @contextmanager
    def listening(self) -> Iterator[None]:
        """Listen to Ctrl-C meanwhile, where the search is shown."""
        if not self.shown:
            yield
            return
        before = signal.signal(signal.SIGINT, self.stop)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)


def solve_cases(
    cases: list[Case], seconds: float | None, work: int | None, watch: Watch, cores: int = 1
) -> Iterable[Record]:
    """Yield the record of each case, in order; arguments as in `solve_case`."""
    if min(cores, len(cases)) < 2:
        return (solve_case(case, seconds, work, watch) for case in cases)
    return _on_cores(cases, partial(solve_case, seconds=seconds, work=work), cores)


def _on_cores(cases: list[Case], solve: Callable[[Case], Record], cores: int) -> Iterator[Record]:
    """Yield the records in the order of the cases; few cases are waiting at a time, so that the run can be ended."""
    from concurrent.futures import Future, ProcessPoolExecutor

    context = get_context("spawn")
    left = iter(cases)
    with ProcessPoolExecutor(cores, mp_context=context, initializer=_listen) as pool:
        waiting: list[Future[Record]] = [pool.submit(solve, case) for case in islice(left, 2 * cores)]
        try:
            while waiting:
                yield waiting.pop(0).result()
                waiting.extend(pool.submit(solve, case) for case in islice(left, 1))
        finally:
            pool.shutdown(cancel_futures=True)


_QUIET = Watch()
"""What a worker process heeds: Ctrl-C reaches it too, and ends its search."""


def _listen() -> None:
    signal.signal(signal.SIGINT, _QUIET.stop)


def solve_case(
    case: Case, seconds: float | None, work: int | None = None, watch: Watch | None = None
) -> Record:
    """Return one case's result as plain objects; a case without a plan has an `error`.

    Args:
        case: The case.
        seconds: Processor seconds allowed, None for no limit of time.
        work: Work units allowed instead.
        watch: Told how far the search is.
    """
    head = {"set": case.set_name, "name": case.name, "mode": case.mode}
    watch = watch or _QUIET
    watch.begin(f"{case.name} {case.mode}".strip())
    begin = time.perf_counter()
    try:
        plan = _solve(case, seconds, work, watch)
    except EnclosureError as error:
        hint = {"hint": error.hint} if error.hint else {}
        return {**head, "error": error.message, **hint, "seconds": round(time.perf_counter() - begin, 4)}
    return {
        **head,
        "price": number(plan.price, case.money),
        "lower_bound": number(plan.bound, case.money),
        "proved": plan.status == "proved",
        "seconds": round(time.perf_counter() - begin, 4),
        "work": plan.work,
        "plan": plan_record(case, plan),
    }


def _solve(case: Case, seconds: float | None, work: int | None, watch: Watch) -> SheetPlan | StickPlan:
    told = watch.shown or current_process().name != "MainProcess"
    # The engines load numpy and HiGHS, which `--help` should not pay for.
    silence_banner()
    if isinstance(case.job, SheetJob):
        from enclosure.nesting.sheets import solve_sheets

        sheet_plan: SheetPlan = solve_sheets(
            case.job,
            work_limit=work or (BOUNDLESS if seconds else None),
            seconds=seconds,
            progress=(lambda found: watch.tell(found.price / case.money, found.bound / case.money)) if told else None,
        )
        verify_sheets(case.job, sheet_plan)
        return sheet_plan
    from enclosure.nesting.sticks import solve_sticks

    stick_plan: StickPlan = solve_sticks(
        case.job,
        work_limit=work * STICK_WORK if work else None,
        seconds=seconds,
        progress=lambda price, bound: watch.tell(None if price is None else price / case.money, bound / case.money),
    )
    verify_sticks(case.job, stick_plan)
    return stick_plan
