"""Can the wasteful sticks of a plan be cut again, together with a few good ones, into fewer?

A plan that is one stick too many often has all its waste on a few sticks. These,
and some others drawn at random, make a small job of their own, which column
generation and a dive solve in an instant.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace

import numpy as np

from enclosure.nesting.sticks_dive import Effort, dive
from enclosure.nesting.sticks_master import Master
from enclosure.nesting.sticks_problem import Problem, shape_is_plain
from enclosure.nesting.sticks_search import Meter, OutOfWork, Search
from enclosure.nesting.sticks_whole import Solution

# Parts of the first small job; each further try takes some more.
FIRST_PARTS = 40
MOST_PARTS = 120
# Work for each small job.
WORK = 40_000


def repair(search: Search, tries: int) -> bool:
    """Cut parts of the best plan again; return whether its price came down to the bound."""
    if not all(shape_is_plain(item) for item in search.problem.bins):
        return False
    for turn in range(tries):
        if search.proved:
            return True
        chosen, kept = _choose(search, FIRST_PARTS + 4 * turn)
        if chosen:
            _again(search, chosen, kept)
    return search.proved


def _waste(search: Search, column: int) -> int:
    slot = search.layout.slots[search.master.slot_of[column]]
    return slot.capacity - int(search.master.counts[column] @ search.sizes)


def _choose(search: Search, parts: int) -> tuple[list[int], Solution]:
    """Return the sticks to cut again, by column, and the rest of the plan."""
    single = [column for column, times in search.best for _ in range(times)]
    waste = np.array([_waste(search, column) for column in single])
    order = np.lexsort((search.draw.random(len(single)), -waste))
    chosen: list[int] = []
    size, spare = 0, 0
    shortest = min(slot.capacity for slot in search.layout.slots)
    for place in order.tolist():
        # Less waste together than the shortest stick could never save one.
        if size >= MOST_PARTS or (size >= parts and spare >= shortest):
            break
        spare += int(waste[place])
        chosen.append(single[place])
        size += int(search.master.counts[single[place]].sum())
    if spare < shortest:
        return [], []
    left: dict[int, int] = dict(search.best)
    for column in chosen:
        left[column] -= 1
    return chosen, [(column, times) for column, times in left.items() if times]


def _again(search: Search, chosen: list[int], kept: Solution) -> None:
    """Solve the small job of the sticks chosen, and offer the whole plan if it came out cheaper."""
    master = search.master
    wanted, limits = search.wanted.copy(), search.limits.copy()
    for column, times in kept:
        master.shift(column, times, wanted, limits)
    kinds = np.flatnonzero(wanted > 0)
    small = _small(search, wanted, limits, kinds)
    price = sum(master.costs[column] for column in chosen)
    meter = search.meter
    limit = meter.done + WORK
    part = Meter(limit if meter.limit is None else min(limit, meter.limit), meter.deadline, meter.done)
    inner = Search(small, part)
    inner.price = price
    with suppress(OutOfWork):
        _start(search, inner, chosen, kinds)
        inner.length_bound()
        if not inner.proved:
            dive(inner, Effort(rounds=10, tries=3, most=1_200))
    meter.done = part.done
    meter.spend(0)
    if inner.price is None or inner.price >= price:
        return
    taken = dict(kept)
    for column, times in inner.best:
        counts = inner.master.counts[column]
        place = search.column(inner.master.slot_of[column], kinds, counts)
        taken[place] = taken.get(place, 0) + times
    search.offer(sorted(taken.items()))


def _small(
    search: Search,
    wanted: np.ndarray[tuple[int], np.dtype[np.int64]],
    limits: np.ndarray[tuple[int], np.dtype[np.int64]],
    kinds: np.ndarray[tuple[int], np.dtype[np.int64]],
) -> Problem:
    """Return the problem of what is wanted from the sticks that are left."""
    bins = []
    for index, item in enumerate(search.problem.bins):
        row = search.layout.copies_rows[index]
        copies = None if row < 0 else max(0, int(limits[row - len(search.sizes)]))
        bins.append(replace(item, copies=copies))
    return replace(
        search.problem,
        sizes=tuple(search.problem.sizes[kind] for kind in kinds.tolist()),
        wanted=tuple(int(wanted[kind]) for kind in kinds.tolist()),
        members=tuple(search.problem.members[kind] for kind in kinds.tolist()),
        bins=tuple(bins),
    )


def _start(search: Search, inner: Search, chosen: list[int], kinds: np.ndarray[tuple[int], np.dtype[np.int64]]) -> None:
    """Give the small job the patterns of the plan, so that its linear program has a solution."""
    source: Master = search.master
    for column in chosen:
        inner.master.add(source.slot_of[column], np.minimum(source.counts[column][kinds], inner.wanted))
