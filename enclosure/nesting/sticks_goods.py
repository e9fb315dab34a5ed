"""What else is good about a plan once its price is fixed?

In this order, and never at a greater price: the largest single offcut, kept
whole on one stick; then few set-ups of the saw stop, counted as the distinct
lengths of every distinct pattern.

The offcut is found by taking a length away from one stick and asking whether
all parts still fit (`sticks_counts` has the tools), with a bisection on that
length. The set-ups come from a whole-number program over the patterns met. Both
look only at plans with the same number of sticks of each kind; they improve the
plan, and prove nothing about these goods.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from enclosure.nesting.model import UNITS_PER_MM
from enclosure.nesting.solver import quiet_highs
from enclosure.nesting.sticks_counts import Filler
from enclosure.nesting.sticks_dive import Effort, dive
from enclosure.nesting.sticks_plan import Counts, Run
from enclosure.nesting.sticks_problem import Bin, Problem, Stretch, shape_is_plain
from enclosure.nesting.sticks_search import Meter, OutOfWork

# Shorter remainders are not worth a bisection step [units].
FINEST = 10 * UNITS_PER_MM
# Patterns in the program for set-ups, times the kinds of parts; a larger program is left alone.
MOST_ENTRIES = 2_500


def improve_goods(problem: Problem, runs: list[Run], meter: Meter) -> list[Run]:
    """Return runs of the same price with a larger offcut and fewer set-ups, as far as the work goes."""
    if not runs or any(not shape_is_plain(problem.bins[run.bin]) for run in runs):
        return runs
    return _fewest_setups(problem, _largest_offcut(problem, runs, meter), meter)


def left_over(problem: Problem, run: Run) -> int:
    """Return what a plain stick of a run has left [steps]."""
    used = sum(size * count for size, count in zip(problem.sizes, run.fills[0], strict=True))
    return problem.bins[run.bin].versions[0][0].capacity - used


# --- the largest offcut -----------------------------------------------------------


def _largest_offcut(problem: Problem, runs: list[Run], meter: Meter) -> list[Run]:
    counts: dict[int, int] = {}
    for run in runs:
        counts[run.bin] = counts.get(run.bin, 0) + run.copies
    slack = sum(left_over(problem, run) * run.copies for run in runs)
    best = max(left_over(problem, run) for run in runs)
    finest = max(1, FINEST // problem.step)
    for index in sorted(counts, key=lambda place: -problem.bins[place].price):
        room = problem.bins[index].versions[0][0].capacity
        low, high = best, min(slack, room - problem.sizes[-1])
        if high <= low:
            continue
        length = high
        for _ in range(7):
            if length - low < finest:
                break
            try:
                found = _with_offcut(problem, counts, index, length, meter)
            except OutOfWork:
                return runs
            if found is None:
                high = length
            else:
                runs = found
                low = best = max(left_over(problem, run) for run in runs)
            length = (low + high) // 2
            if high - low < finest:
                break
    return runs


def _with_offcut(problem: Problem, counts: dict[int, int], index: int, length: int, meter: Meter) -> list[Run] | None:
    """Return a plan with these counts of sticks in which one stick of a bin keeps `length` whole."""
    bins: list[Bin] = []
    origin: list[int] = []
    for place, count in sorted(counts.items()):
        item = problem.bins[place]
        copies = count - (place == index)
        if copies:
            bins.append(replace(item, price=0, copies=copies))
            origin.append(place)
    whole = problem.bins[index].versions[0][0]
    short = ((Stretch(whole.start, whole.capacity - length),),)
    bins.append(Bin(problem.bins[index].keys, 0, 1, short))
    origin.append(index)
    filler = Filler(replace(problem, bins=tuple(bins), emergency=False), meter)
    filler.leave_out()
    filler.price, filler.best = 1, []
    if not dive(filler, Effort(rounds=12, tries=2, most=800)):
        return None
    return [
        Run(
            origin[filler.layout.slots[filler.master.slot_of[column]].bin],
            0,
            (tuple(int(count) for count in filler.master.counts[column]),),
            times,
        )
        for column, times in filler.best
    ]


# --- the fewest set-ups -----------------------------------------------------------


def setups(runs: list[Run]) -> int:
    """Return the distinct lengths of every distinct pattern, added up."""
    return sum(sum(count > 0 for fill in run.fills for count in fill) for run in _joined(runs))


def _joined(runs: list[Run]) -> list[Run]:
    joined: dict[tuple[int, tuple[Counts, ...]], int] = {}
    for run in runs:
        joined[(run.bin, run.fills)] = joined.get((run.bin, run.fills), 0) + run.copies
    return [Run(index, 0, fills, copies) for (index, fills), copies in joined.items()]


def _fewest_setups(problem: Problem, runs: list[Run], meter: Meter) -> list[Run]:
    """Return runs with fewer set-ups: patterns used more often instead of many used once."""
    runs = _joined(runs)
    kept = max(runs, key=lambda run: left_over(problem, run))
    rest = [Run(run.bin, 0, run.fills, run.copies - (run is kept)) for run in runs]
    rest = [run for run in rest if run.copies]
    wanted = np.array(problem.wanted, dtype=np.int64) - np.array(kept.fills[0], dtype=np.int64)
    np.maximum(wanted, 0, out=wanted)
    too_large = len(rest) * len(problem.sizes) > MOST_ENTRIES
    if meter.seconds_left() < 0.05 or not wanted.any() or too_large:
        return runs
    patterns = _pool(problem, rest, wanted)
    solution = _setup_program(problem, patterns, rest, wanted, meter)
    if solution is None:
        return runs
    better = _joined([*solution, Run(kept.bin, 0, kept.fills, 1)])
    return better if setups(better) < setups(runs) else runs


def _pool(problem: Problem, rest: list[Run], wanted: np.ndarray[tuple[int], np.dtype[np.int64]]) -> list[Run]:
    """Return patterns worth repeating: those of the plan, and few-length fills of each bin in it."""
    pool: dict[tuple[int, Counts], None] = {(run.bin, run.fills[0]): None for run in rest}
    kinds = len(problem.sizes)
    most = MOST_ENTRIES // kinds
    for index in sorted({run.bin for run in rest}):
        room = problem.bins[index].versions[0][0].capacity
        found: list[tuple[int, Counts]] = []
        for first in range(kinds):
            for many in range(min(int(wanted[first]), room // problem.sizes[first]), 0, -1):
                left = room - many * problem.sizes[first]
                for second in range(first + 1, kinds):
                    more = min(int(wanted[second]), left // problem.sizes[second])
                    if more:
                        counts = [0] * kinds
                        counts[first], counts[second] = many, more
                        found.append((left - more * problem.sizes[second], tuple(counts)))
                if left < problem.sizes[-1]:
                    counts = [0] * kinds
                    counts[first] = many
                    found.append((left, tuple(counts)))
        found.sort()
        for _, counts_now in found[:most]:
            pool[(index, counts_now)] = None
    return [Run(index, 0, (counts_now,), 0) for index, counts_now in list(pool)[: len(rest) + most]]


def _setup_program(
    problem: Problem,
    patterns: list[Run],
    rest: list[Run],
    wanted: np.ndarray[tuple[int], np.dtype[np.int64]],
    meter: Meter,
) -> list[Run] | None:
    """Choose how often each pattern is used, with as many sticks of each bin as before."""
    import highspy

    solver = quiet_highs()
    kinds, size = len(wanted), len(patterns)
    counts: dict[int, int] = {}
    for run in rest:
        counts[run.bin] = counts.get(run.bin, 0) + run.copies
    bins = sorted(counts)
    # Columns: times of each pattern, then whether it is used at all.
    most = [max(counts[run.bin], 1) for run in patterns]
    lengths = [sum(count > 0 for count in run.fills[0]) for run in patterns]
    empty = np.zeros(0, dtype=np.int32)
    upper = np.array([*most, *[1] * size], dtype=float)
    price = np.array([*[0] * size, *lengths], dtype=float)
    solver.addCols(2 * size, price, np.zeros(2 * size), upper, 0, empty, empty, np.zeros(0))
    every = np.arange(2 * size, dtype=np.int32)
    solver.changeColsIntegrality(2 * size, every, np.array([highspy.HighsVarType.kInteger] * (2 * size)))
    table = np.array([run.fills[0] for run in patterns], dtype=float)
    for kind in range(kinds):
        columns = np.flatnonzero(table[:, kind]).astype(np.int32)
        solver.addRow(float(wanted[kind]), np.inf, len(columns), columns, table[columns, kind])
    for index in bins:
        columns = np.array([at for at, run in enumerate(patterns) if run.bin == index], dtype=np.int32)
        solver.addRow(-np.inf, float(counts[index]), len(columns), columns, np.ones(len(columns)))
    for at in range(size):
        pair = np.array([at, size + at], dtype=np.int32)
        solver.addRow(-np.inf, 0.0, 2, pair, np.array([1.0, -float(most[at])]))
    start = highspy.HighsSolution()
    used = {(run.bin, run.fills): run.copies for run in rest}
    times = [used.get((run.bin, run.fills), 0) for run in patterns]
    start.col_value = [float(one) for one in [*times, *[min(1, one) for one in times]]]
    solver.setSolution(start)
    solver.setOptionValue("mip_max_nodes", 20)
    solver.setOptionValue("mip_heuristic_effort", 0.02)
    solver.setOptionValue("mip_abs_gap", 0.99)
    solver.setOptionValue("time_limit", float(min(meter.seconds_left(), 1e9)))
    solver.run()
    meter.done += 200 * max(1, int(solver.getInfo().mip_node_count))
    values = np.array(solver.getSolution().col_value)
    if len(values) != 2 * size:
        return None
    chosen = np.rint(values[:size]).astype(np.int64)
    runs = [replace(run, copies=int(chosen[at])) for at, run in enumerate(patterns) if chosen[at] > 0]
    cut = sum((np.array(run.fills[0]) * run.copies for run in runs), np.zeros(kinds, dtype=np.int64))
    return runs if np.all(cut >= wanted) else None
