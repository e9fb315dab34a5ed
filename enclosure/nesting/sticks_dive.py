"""How does a fractional plan become a whole one?

A dive takes whole numbers of sticks from the linear program, prices new
patterns for what is left, and goes on until nothing is left or its own bound
shows that it cannot beat the best plan. Then the way back: what was left some
sticks earlier is small enough to list every pattern that could still help and
to decide it by a whole-number program.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sticks_master import FloatArray
from enclosure.nesting.sticks_price import IntArray, Table
from enclosure.nesting.sticks_search import TINY, Search
from enclosure.nesting.sticks_whole import Solution, whole_number


@dataclass(frozen=True, slots=True)
class _Level:
    """A place on the way down: what is taken, what it cost, what is left and the program's duals there."""

    taken: dict[int, int]
    spent: int
    wanted: IntArray
    limits: IntArray
    price: float
    duals: FloatArray


@dataclass(frozen=True, slots=True)
class Effort:
    """How hard a dive tries.

    Args:
        rounds: Rounds of new patterns at each step.
        skip: The column taken is drawn from the first `skip` + 1.
        together: A column at or above this value is taken along with the first.
        most: Most patterns of a whole-number program on the way back.
        nodes: Most tree nodes of each.
        tries: How many of them.
    """

    rounds: int = 8
    skip: int = 0
    together: float = 1.1
    most: int = 1_500
    nodes: int = 30
    tries: int = 3


def dive(search: Search, effort: Effort, limits: IntArray | None = None) -> bool:
    """Round the linear program down stick by stick; return whether a better plan came out.

    Args:
        search: The search to improve.
        effort: How hard to try.
        limits: Right-hand sides of the side rows, when not those of the problem.
    """
    assert search.price is not None
    wanted = search.wanted.copy()
    limits = (search.limits if limits is None else limits).copy()
    taken: dict[int, int] = {}
    spent = 0
    levels: list[_Level] = []
    while True:
        ceiling = search.price - 1 - spent
        solved = search.generate(wanted, limits, rounds=effort.rounds, ceiling=ceiling)
        if solved is None or solved[0] > ceiling + search.tiny:
            return _way_back(search, levels, effort)
        levels.append(_Level(dict(taken), spent, wanted.copy(), limits.copy(), solved[0], solved[2]))
        for column, times in _choose(search, solved[1], wanted, effort):
            taken[column] = taken.get(column, 0) + times
            spent += times * search.master.costs[column]
            search.master.shift(column, times, wanted, limits)
        if not wanted.any() and np.all(limits >= 0):
            return search.offer(sorted(taken.items()))


def _choose(search: Search, values: FloatArray, wanted: IntArray, effort: Effort) -> Solution:
    """Return the columns to take now: all whole ones, else the likeliest."""
    whole = np.floor(values + TINY).astype(np.int64)
    chosen = np.flatnonzero(whole)
    if len(chosen):
        return [(column, int(whole[column])) for column in chosen.tolist()]
    rank = int(search.draw.integers(0, effort.skip + 1)) if effort.skip else 0
    order = np.argsort(-values, kind="stable")
    first = int(order[rank]) if rank < len(order) and values[order[rank]] > TINY else int(order[0])
    picked = [first]
    left = wanted - search.master.counts[first]
    for column in order.tolist():
        if values[column] < effort.together:
            break
        if column != first and np.all(left >= search.master.counts[column]):
            left = left - search.master.counts[column]
            picked.append(column)
    return [(column, 1) for column in picked]


def _way_back(search: Search, levels: list[_Level], effort: Effort) -> bool:
    """Decide what was left at some earlier levels by whole-number programs; the smallest first."""
    assert search.price is not None
    tries, size = 0, 0
    for level in reversed(levels):
        parts = int(level.wanted.sum())
        if parts < 1.4 * size or parts < 12:
            continue
        ceiling = search.price - 1 - level.spent
        columns = useful(search, level, ceiling, effort.most)
        if columns is None:
            return False
        size, tries = parts, tries + 1
        solution, _, work = whole_number(
            search.master,
            columns,
            level.wanted,
            level.limits,
            nodes=effort.nodes,
            ceiling=ceiling,
            seconds=search.meter.seconds_left(),
        )
        search.meter.spend(work)
        if solution is not None:
            taken = dict(level.taken)
            for column, times in solution:
                taken[column] = taken.get(column, 0) + times
            return search.offer(sorted(taken.items()))
        if tries >= effort.tries:
            return False
    return False


def useful(search: Search, level: _Level, ceiling: int, most: int) -> list[int] | None:
    """Return all columns that what is left could use within the ceiling, None if too many."""
    worth, scale = search.scaled(level.duals, level.wanted)
    kinds = np.flatnonzero(level.wanted > 0)
    longest = search.problem.longest
    table = Table(search.sizes[kinds], level.wanted[kinds], worth[kinds], longest)
    search.meter.spend(1 + table.values.size // 256)
    gap = ceiling - level.price + 1e-4
    columns = [column for column in range(search.master.columns) if search.master.slot_of[column] == -1]
    for index, slot in enumerate(search.layout.slots):
        side = 0.0
        if slot.row >= 0:
            side = max(-level.duals[slot.row], 0.0)
            copies_row = search.layout.copies_rows[slot.bin]
            if copies_row >= 0 and level.limits[copies_row - len(search.sizes)] <= 0:
                continue
        hurdle = int((slot.price + side - gap) * scale * (1 - 1e-9)) - int(1e-6 * scale) - 1
        found = table.at_least(slot.capacity, hurdle, 20 * most)
        if found is None or len(found) + len(columns) > most:
            return None
        for counts in found:
            columns.append(search.column(index, kinds, counts))
    return sorted(set(columns))
