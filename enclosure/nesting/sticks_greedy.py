"""Which simple plan is good enough to start from?

Stick after stick, the bin whose best fill gives most for its price; the fill is
an exact knapsack in which long parts count a little more than their length, so
that they are not left for last. Several weightings are tried.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sticks_price import IntArray, Table, exact_best
from enclosure.nesting.sticks_search import Search
from enclosure.nesting.sticks_whole import Solution

# Worth of a part: its length to this power, as a share of the longest.
POWERS = (1.0, 1.04, 1.4, 1.15, 1.08, 1.02, 1.25)
# Cells of all knapsack tables together, up to which the greedy fill is exact.
MOST_CELLS = 900_000_000


def start(search: Search) -> None:
    """Give the master a plan that always exists, and offer the greedy plans."""
    _single_kinds(search)
    solution = _fill(search, 1.0, exact=False)
    assert solution is not None
    search.offer(solution)
    search.length_bound()
    longest = search.problem.longest
    sticks = 1 + int(search.sizes @ search.wanted) // longest
    cells = sticks * len(search.sizes) * (longest + 3_000)
    tried = 0
    for power in POWERS:
        tried += cells
        if search.proved or tried > MOST_CELLS:
            return
        solution = _fill(search, power, exact=True)
        if solution is not None:
            search.offer(solution)
        if not search.one_price:
            # Among several prices the vectors of stick counts lead further than more greed.
            return


def _single_kinds(search: Search) -> None:
    """Add, for each kind and slot, as many copies as fit; so the linear program always has a plan."""
    for index, slot in enumerate(search.layout.slots):
        for kind, size in enumerate(search.problem.sizes):
            fits = min(slot.capacity // size, search.problem.wanted[kind])
            if fits:
                counts = np.zeros(len(search.sizes), dtype=np.int64)
                counts[kind] = fits
                search.master.add(index, counts)


def _fill(search: Search, power: float, *, exact: bool) -> Solution | None:
    worth = np.maximum(1, ((search.sizes / search.sizes[0]) ** power * 1e6)).astype(np.int64)
    wanted, limits = search.wanted.copy(), search.limits.copy()
    taken: dict[int, int] = {}
    longest = max(slot.capacity for slot in search.layout.slots)
    while wanted.any():
        table = Table(search.sizes, wanted, worth, longest if exact else 0)
        if exact:
            search.meter.spend(1 + table.values.size // 256)
        choice = _best_bin(search, table, limits)
        if choice is None:
            return None
        row, columns, patterns = choice
        total = np.sum(patterns, axis=0)
        used = total > 0
        times = int((wanted[used] // total[used]).min())
        if row >= 0:
            times = min(times, int(limits[row - len(search.sizes)]))
        for column in columns:
            taken[column] = taken.get(column, 0) + times
            search.master.shift(column, times, wanted, limits)
    return sorted(taken.items())


def _best_bin(search: Search, table: Table, limits: IntArray) -> tuple[int, list[int], list[IntArray]] | None:
    """Return the row of copies, columns and patterns of the stick that gives most for its price."""
    kinds_rows = len(search.sizes)
    best: tuple[float, int, list[int], list[IntArray]] | None = None
    for index, item in enumerate(search.problem.bins):
        row = search.layout.copies_rows[index]
        if row >= 0 and limits[row - kinds_rows] <= 0:
            continue
        ways = _ways(search, index)
        for column, slots in ways:
            patterns = _fill_slots(search, table, slots)
            if patterns is None:
                continue
            total = sum(int(counts @ table.worth) for counts in patterns)
            rate = total / (item.price + 1e-9)
            if total > 0 and (best is None or rate > best[0]):
                columns = [] if column < 0 else [column]
                for slot, counts in zip(slots, patterns, strict=True):
                    if not counts.any():
                        continue
                    search.master.add(slot, counts)
                    columns.append(search.master.place(slot, counts))
                best = (rate, row, columns, patterns)
    return None if best is None else best[1:]


def _ways(search: Search, index: int) -> list[tuple[int, list[int]]]:
    """Return (stick column or -1, slots) for every version of a bin."""
    ways = []
    for number, stick in enumerate(search.layout.sticks):
        if stick.bin == index:
            ways.append((number, [at for at, slot in enumerate(search.layout.slots) if slot.row in stick.rows]))
    if not ways:
        ways.append((-1, [at for at, slot in enumerate(search.layout.slots) if slot.bin == index]))
    return ways


def _fill_slots(search: Search, table: Table, slots: list[int]) -> list[IntArray] | None:
    """Fill the stretches of one stick one after another, largest first."""
    left = table.limits.copy()
    found: dict[int, IntArray] = {}
    for slot in sorted(slots, key=lambda at: -search.layout.slots[at].capacity):
        capacity = search.layout.slots[slot].capacity
        if table.values.shape[1] == 1:
            counts = longest_first(table.sizes, left, capacity)
        else:
            current = table if not found else Table(table.sizes, left, table.worth, capacity)
            best = exact_best(current, capacity, 0)
            counts = np.zeros(len(table.sizes), dtype=np.int64) if best is None else best
        found[slot] = counts
        left = left - counts
    if not any(counts.any() for counts in found.values()):
        return None
    return [found[slot] for slot in slots]


def longest_first(sizes: IntArray, left: IntArray, capacity: int) -> IntArray:
    """Fill a stretch with the longest parts that still fit."""
    counts = np.zeros(len(sizes), dtype=np.int64)
    kind = 0
    while True:
        # Sizes fall, so what fits from here on starts at one place.
        fits = np.flatnonzero((left[kind:] > 0) & (sizes[kind:] <= capacity))
        if not len(fits):
            return counts
        kind += int(fits[0])
        counts[kind] = min(int(left[kind]), capacity // int(sizes[kind]))
        capacity -= int(counts[kind]) * int(sizes[kind])
        kind += 1
