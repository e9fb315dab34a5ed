"""In which order are the ways to a plan of sticks tried, and when is it good enough?"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress

from enclosure.nesting import sticks_greedy
from enclosure.nesting.model import Status, StickJob, StickPlan
from enclosure.nesting.sticks_counts import Counts
from enclosure.nesting.sticks_dive import Effort, dive
from enclosure.nesting.sticks_goods import improve_goods
from enclosure.nesting.sticks_plan import Run, build, drop_surplus
from enclosure.nesting.sticks_problem import Problem, reduce_job, shortage
from enclosure.nesting.sticks_repair import repair
from enclosure.nesting.sticks_search import Meter, OutOfWork, Search

# Work spent at most on what is good beyond the price.
GOODS_WORK = 80_000

Progress = Callable[[int | None, int], bool | None]


def run_job(
    job: StickJob, work_limit: int | None, deadline: float | None, progress: Progress | None, *, goods: bool
) -> StickPlan:
    """Return the plan for a job; see `sticks.solve_sticks`."""
    problem = reduce_job(job)
    meter = Meter(work_limit, deadline)

    def tell(price: int | None, bound: int) -> bool | None:
        if progress is None:
            return None
        return progress(None if price is None else price * problem.money, bound * problem.money)

    search = Search(problem, meter, tell)
    meter.beat = search.tell
    with suppress(OutOfWork):
        sticks_greedy.start(search)
        improve(search)
    runs = drop_surplus(problem, read_runs(search))
    if problem.emergency:
        _refuse_emergency(job, problem, runs)
    if goods:
        limit = meter.done + GOODS_WORK
        later = Meter(limit if meter.limit is None else min(limit, meter.limit), meter.deadline, meter.done)
        runs = drop_surplus(problem, improve_goods(problem, runs, later))
        meter.done = later.done
    price = sum(problem.bins[run.bin].price * run.copies for run in runs)
    bound = min(search.bound, price)
    if not problem.exact:
        bound = min(bound, _relaxed_bound(job, meter, price))
    patterns = build(job, problem, runs)
    status: Status = "proved" if bound == price else "gap"
    return StickPlan(patterns, price * problem.money, bound * problem.money, status, meter.done)


def improve(search: Search) -> None:
    """Search until the price is proved or the work is spent."""
    if search.proved:
        return
    if search.one_price and repair(search, 4):
        return
    search.root()
    if search.proved:
        return
    dive(search, Effort(rounds=30))
    if search.proved or (len(search.problem.bins) > 1 and _by_counts(search)):
        return
    if search.close(nodes=200, most=3_000) and search.proved:
        return
    for turn in range(1, 1000):
        dive(search, Effort(skip=min(1 + turn // 2, 5), most=1_500 + 500 * turn, nodes=20 + 10 * turn))
        if not search.proved and turn % 4 == 0:
            search.recombine(nodes=50 * turn)
        if not search.proved and turn % 8 == 0:
            search.close(nodes=400 * turn, most=4_000 * turn)
        if search.proved:
            return


def _by_counts(search: Search) -> bool:
    """Go over the vectors of stick counts with growing effort; return whether the price is proved."""
    counts = Counts(search)
    for turn in range(8):
        if counts.run(dives=5 + 3 * turn, nodes=100 * 4**turn, most=2_000 * 3**turn):
            return True
        if counts.too_many:
            return False
    return False


def read_runs(search: Search) -> list[Run]:
    """Return the best solution as runs of equal sticks."""
    layout, master = search.layout, search.master
    fills: dict[tuple[int, int, int], list[list[object]]] = {}
    runs: list[Run] = []
    bundles: dict[tuple[int, int], int] = {}
    for column, times in search.best:
        slot = master.slot_of[column]
        if slot < 0:
            stick = layout.sticks[column]
            bundles[(stick.bin, stick.version)] = times
            continue
        place = layout.slots[slot]
        counts = tuple(int(count) for count in master.counts[column])
        if any(stick.bin == place.bin for stick in layout.sticks):
            fills.setdefault((place.bin, place.version, place.place), []).append([counts, times])
        else:
            runs.append(Run(place.bin, 0, (counts,), times))
    nothing = tuple(0 for _ in search.sizes)
    for (index, version), copies in bundles.items():
        stretches = len(search.problem.bins[index].versions[version])
        while copies:
            row, alike = [], copies
            for place_number in range(stretches):
                waiting = fills.get((index, version, place_number), [])
                if waiting:
                    counts_now, left = waiting[0]
                    assert isinstance(left, int)
                    alike = min(alike, left)
                    row.append(counts_now)
                else:
                    row.append(nothing)
            for place_number in range(stretches):
                waiting = fills.get((index, version, place_number), [])
                if waiting:
                    left = waiting[0][1]
                    assert isinstance(left, int)
                    waiting[0][1] = left - alike
                    if left == alike:
                        waiting.pop(0)
            runs.append(Run(index, version, tuple(row), alike))  # type: ignore[arg-type]
            copies -= alike
    return runs


def _refuse_emergency(job: StickJob, problem: Problem, runs: list[Run]) -> None:
    missing = [0] * len(problem.sizes)
    last = len(problem.bins) - 1
    for run in runs:
        if run.bin == last:
            for fill in run.fills:
                for kind, count in enumerate(fill):
                    missing[kind] += count * run.copies
    if any(missing):
        raise shortage(job, problem, missing)


def _relaxed_bound(job: StickJob, meter: Meter, price: int) -> int:
    """Return a bound that holds although some versions of sticks were left out."""
    problem = reduce_job(job, relaxed=True)
    search = Search(problem, Meter(meter.limit, meter.deadline))
    with suppress(OutOfWork):
        sticks_greedy.start(search)
        improve(search)
    meter.done += search.meter.done
    return min(search.bound, price)
