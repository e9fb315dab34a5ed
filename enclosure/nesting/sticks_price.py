"""Which pattern of one clear stretch is worth most, and which are worth enough?

Bounded knapsacks over all lengths at once, in whole numbers: `Table` holds the
most that a stretch of each length can be worth with the kinds from one place on.
One table serves every stick. Where lengths are too fine for a table they are
floored to coarser steps; the values are then upper bounds, still valid for
every pattern, and patterns are read by enumeration against the exact lengths.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]

# Cells of a table; beyond, lengths are floored.
MOST_CELLS = 6_000_000
# States of an enumeration kept at once.
MOST_STATES = 200_000


class Table:
    """Largest worth of a stretch by length and by first kind allowed.

    Args:
        sizes: Lengths of the kinds [steps], longest first.
        limits: Most copies of each kind in one pattern.
        worth: Worth of one copy of each kind, whole, >= 0.
        longest: Longest stretch asked for [steps].
    """

    def __init__(self, sizes: IntArray, limits: IntArray, worth: IntArray, longest: int) -> None:
        self.sizes, self.limits, self.worth = sizes, limits, worth
        kinds = len(sizes)
        self.coarse = max(1, -(-(longest + 1) * (kinds + 1) // MOST_CELLS))
        cells = longest // self.coarse + 1
        values = np.zeros((kinds + 1, cells), dtype=np.int64)
        for kind in range(kinds - 1, -1, -1):
            size = int(sizes[kind]) // self.coarse
            _add_kind(values[kind + 1], values[kind], size, int(limits[kind]), int(worth[kind]))
        self.values = values

    def best(self, capacity: int) -> int:
        """Return the most that a stretch can be worth (an upper bound when floored)."""
        return int(self.values[0, capacity // self.coarse])

    def leaders(self, capacity: int) -> tuple[IntArray, IntArray]:
        """Return, for each kind, the most a stretch is worth with it as its longest part, and its copies."""
        cell = capacity // self.coarse
        steps = self.sizes // self.coarse
        after = np.arange(1, len(self.sizes) + 1)
        most = np.minimum(self.limits, cell // steps)
        found = np.full(len(self.sizes), -1, dtype=np.int64)
        copies = np.zeros(len(self.sizes), dtype=np.int64)
        for count in range(1, int(most.max(initial=0)) + 1):
            rests = cell - count * steps
            now = count * self.worth + self.values[after, np.maximum(rests, 0)]
            better = (count <= most) & (now > found)
            found[better] = now[better]
            copies[better] = count
        return found, copies

    def read(self, capacity: int, first: int = 0, taken: int = 0) -> IntArray:
        """Return the counts of a best pattern of kinds from `first` on, with `taken` of it set."""
        counts = np.zeros(len(self.sizes), dtype=np.int64)
        rest, kind = capacity, first
        if taken:
            counts[first] = taken
            rest -= taken * int(self.sizes[first])
            kind = first + 1
        values, kinds = self.values, len(self.sizes)
        while kind < kinds:
            column = values[kind:, rest]
            now = column[0]
            if now == 0:
                break
            # Values fall from kind to kind; the last place that still holds `now` uses its kind.
            kind += int(np.searchsorted(-column, -now, side="right")) - 1
            if kind >= kinds:
                break
            size, worth = int(self.sizes[kind]), int(self.worth[kind])
            copies = 1
            while values[kind + 1, rest - copies * size] + copies * worth != now:
                copies += 1
            counts[kind] += copies
            rest -= copies * size
            kind += 1
        return counts

    def at_least(self, capacity: int, threshold: int, most: int = MOST_STATES) -> IntArray | None:
        """Return the counts of all largest patterns worth at least `threshold`, None if too many.

        A pattern to which another wanted part could be added is left out; the
        larger one is at least as useful.
        """
        kinds = len(self.sizes)
        most = min(most, 20_000_000 // kinds)
        rest = np.array([capacity], dtype=np.int64)
        value = np.zeros(1, dtype=np.int64)
        counts = np.zeros((1, kinds), dtype=np.int16)
        for kind in range(kinds):
            size, worth = int(self.sizes[kind]), int(self.worth[kind])
            parts = []
            for copies in range(min(int(self.limits[kind]), capacity // size) + 1):
                fits = np.flatnonzero(rest >= copies * size)
                left = rest[fits] - copies * size
                now = value[fits] + copies * worth
                enough = now + self.values[kind + 1, left // self.coarse] >= threshold
                chosen = fits[enough]
                if not len(chosen):
                    if not len(fits):
                        break
                    continue
                taken = counts[chosen]
                taken[:, kind] = copies
                parts.append((left[enough], now[enough], taken))
            if not parts:
                return np.zeros((0, kinds), dtype=np.int64)
            if sum(len(part[0]) for part in parts) > most:
                return None
            rest, value = (np.concatenate([part[index] for part in parts]) for index in (0, 1))
            counts = np.concatenate([part[2] for part in parts])
        room = np.where(counts < self.limits, self.sizes, np.iinfo(np.int64).max)
        largest: IntArray = counts[room.min(axis=1) > rest].astype(np.int64)
        return largest


def _add_kind(before: IntArray, after: IntArray, size: int, limit: int, worth: int) -> None:
    """Write into `after` the table `before` with up to `limit` copies of one more kind."""
    after[:] = before
    cells = len(before)
    if worth <= 0 or limit <= 0 or size >= cells or size == 0:
        if size == 0 and worth > 0:
            after += worth * limit
        return
    most = (cells - 1) // size
    if limit >= most and most > 3:
        for start in range(size, cells, size):
            stop = min(start + size, cells)
            block = after[start:stop]
            np.maximum(block, after[start - size : stop - size] + worth, out=block)
        return
    for copies in range(1, min(limit, most) + 1):
        shift = copies * size
        np.maximum(after[shift:], before[: cells - shift] + copies * worth, out=after[shift:])


def exact_best(table: Table, capacity: int, least: int) -> IntArray | None:
    """Return the counts of a pattern worth more than `least`, the best one found, None if there is none."""
    top = table.best(capacity)
    if top <= least:
        return None
    if table.coarse == 1:
        return table.read(capacity)
    slack = max(1, (top - least) // 64)
    while True:
        threshold = max(least + 1, top - slack)
        found = table.at_least(capacity, threshold)
        if found is None:
            return _simple(table, capacity, least)
        if len(found):
            return _first(found, table.worth)
        if threshold == least + 1:
            return None
        slack *= 4


def _simple(table: Table, capacity: int, least: int) -> IntArray | None:
    """Fill a stretch with what is worth most for its length, where a full search is too large."""
    counts = np.zeros(len(table.sizes), dtype=np.int64)
    for kind in np.argsort(-(table.worth / table.sizes), kind="stable").tolist():
        counts[kind] = min(int(table.limits[kind]), capacity // int(table.sizes[kind]))
        capacity -= int(counts[kind]) * int(table.sizes[kind])
    return counts if int(counts @ table.worth) > least else None


def _first(found: IntArray, worth: IntArray) -> IntArray:
    chosen: IntArray = found[int(np.argmax(found @ worth))]
    return chosen


def as_array(values: Sequence[int]) -> IntArray:
    """Return whole numbers as an array."""
    return np.array(values, dtype=np.int64)
