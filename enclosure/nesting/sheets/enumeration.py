"""Which whole sheets can a plan be made of, when it has little value to lose?

At given values of the parts every sheet is worth at most its entry in the closed
table of `pricing.py`. When the sheets of a plan are fixed, their entries together
exceed the value of the demand by a slack; so no sheet of any such plan is worth
less than its entry minus the slack. All multisets of parts that reach this are
listed, none of which uses a kind more often than it is wanted.

From the sheets down, every piece gets the greatest slack it can be left with;
pieces with none are dropped. From the leaves up, every piece then gets its
multisets: leaves, those of smaller pieces, and the joins of two pieces beside or
above each other. The piece cut off first is the smallest of its row or column and
is itself not divided along the same axis. High grids: what is listed includes
all that can be cut in truth, and perhaps more.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.packing import Packing
from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.state import State

Codes = NDArray[np.uint64]
MOST_AT_ONCE = 4_000_000
"""Joins looked at in one piece; more would take too much memory."""


class Found:
    """Multisets of parts.

    Args:
        codes: Packed uses, ascending.
        values: What each is worth.
    """

    __slots__ = ("_falling", "codes", "high", "low", "values")

    def __init__(self, codes: Codes, values: IntArray) -> None:
        self.codes, self.values = codes, values
        self.low = int(values.min()) if len(values) else 0
        self.high = int(values.max()) if len(values) else 0
        self._falling: tuple[Codes, IntArray] | None = None

    def falling(self) -> tuple[Codes, IntArray]:
        """Return codes and values, the most valuable first."""
        if self._falling is None:
            order = (-self.values).argsort(kind="stable")
            self._falling = self.codes[order], self.values[order]
        return self._falling

    def at_least(self, value: int) -> Found:
        """Return those worth at least `value`."""
        if self.low >= value:
            return self
        if self.high < value:
            return NOTHING
        keep = self.values >= value
        return Found(self.codes[keep], self.values[keep])

    def without(self, other: Found) -> Found:
        """Return those that are not in `other`."""
        if self is other:
            return NOTHING
        if not len(other.codes) or not len(self.codes):
            return self
        place = other.codes.searchsorted(self.codes)
        np.minimum(place, len(other.codes) - 1, out=place)
        keep = other.codes[place] != self.codes
        return Found(self.codes[keep], self.values[keep])


NOTHING = Found(np.zeros(0, dtype=np.uint64), np.zeros(0, dtype=np.int64))


def merged(several: list[Found]) -> Found:
    """Return the union."""
    several = [s for s in several if len(s.codes)]
    if not several:
        return NOTHING
    first = several[0]
    if all(s is first for s in several):
        return first
    codes, place = distinct(np.concatenate([s.codes for s in several]))
    if len(codes) == len(first.codes):
        return first
    return Found(codes, np.concatenate([s.values for s in several])[place])


def distinct(codes: Codes) -> tuple[Codes, IntArray]:
    """Return the different codes, ascending, and where each stands."""
    order = codes.argsort(kind="stable")
    ascending = codes[order]
    keep = np.ones(len(codes), dtype=bool)
    np.not_equal(ascending[1:], ascending[:-1], out=keep[1:])
    return ascending[keep], order[keep]


class Enumerator:
    """Lists the multisets of parts within a slack.

    Args:
        state: Shared knowledge.
        pricer: A pricer without counted kinds, over high grids.
    """

    def __init__(self, state: State, pricer: Pricer) -> None:
        self.state, self.pricer = state, pricer
        area = max(s.width * s.height for s in state.problem.stocks)
        most = np.minimum(pricer.demand, np.maximum(area // np.maximum(state.leaf_area_of_kind, 1), 1))
        self.packing = Packing(most.astype(np.int64))
        self.caps = self.packing.bias(most.astype(np.int64)[None, :])[0, 0]
        self.guard = self.packing.guard[0]
        self.last_room: IntArray = np.zeros((0, 0), dtype=np.int64)
        self.kept = 0
        self.leaf_codes: Codes = self.packing.pack(state.part_uses.astype(np.uint64))[:, 0]
        space = pricer.space
        self.splits_x = [_splits(space.xs, i) for i in range(len(space.xs.at))]
        self.splits_y = [_splits(space.ys, j) for j in range(len(space.ys.at))]

    def usable(self) -> bool:
        """Return True when the job suits: stages unlimited, uses fit one word."""
        return self.state.problem.stages is None and self.packing.words == 1

    def run(
        self, table: IntArray, values: IntArray, slack: int, stocks: list[int], most: int
    ) -> dict[int, Found] | None:
        """Return the multisets of each stock within the slack; None when more than about `most` would be kept.

        Args:
            table: Closed table of the pricer at these values.
            values: Integer value of each kind.
            slack: What one sheet may lose against its entry.
            stocks: The stocks wanted.
            most: Most entries kept over all pieces.
        """
        self.last_room = room = self._room(table, slack, stocks)
        worth = np.array([int(values[list(x.parts)].sum()) for x in self.state.problem.leaves], dtype=np.int64)
        every = _Builder(self, table, room, worth).run(most)
        if every is None:
            return None
        out = {}
        for stock in stocks:
            i, j = self.pricer.ends[stock]
            out[stock] = every.get((i, j), NOTHING).at_least(int(table[i, j]) - slack)
        return out

    def _room(self, table: IntArray, slack: int, stocks: list[int]) -> IntArray:
        """Return the greatest slack of every piece, negative where it cannot be part of a plan."""
        room = np.full(table.shape, -1, dtype=np.int64)
        for stock in stocks:
            room[self.pricer.ends[stock]] = slack
        for i in range(len(room) - 1, 0, -1):
            self._divide_up(table[i], room[i])
            alive = np.flatnonzero(room[i] >= 0)
            if not len(alive):
                continue
            here, value = room[i, alive], table[i, alive]
            room[i - 1, alive] = np.maximum(room[i - 1, alive], here - (value - table[i - 1, alive]))
            near, far = self.splits_x[i]
            for n, f in zip(near.tolist(), far.tolist(), strict=True):
                first, second = table[n, alive], table[f, alive]
                left = here - (value - first - second)
                left[(first == 0) | (second == 0)] = -1
                room[n, alive] = np.maximum(room[n, alive], left)
                room[f, alive] = np.maximum(room[f, alive], left)
            self.state.budget.spend(0.01 * len(near))
        return room

    def _divide_up(self, table: IntArray, room: IntArray) -> None:
        """Hand the slack of the pieces of one width down to what they divide into along y."""
        for j in range(len(room) - 1, 0, -1):
            here = room[j]
            if here < 0:
                continue
            value = table[j]
            room[j - 1] = max(room[j - 1], here - (value - table[j - 1]))
            near, far = self.splits_y[j]
            first, second = table[near], table[far]
            left = here - (value - first - second)
            keep = (left >= 0) & (first > 0) & (second > 0)
            if keep.any():
                np.maximum.at(room, near[keep], left[keep])
                np.maximum.at(room, far[keep], left[keep])


class _Builder:
    """The multisets of every piece, from the smallest up."""

    def __init__(self, owner: Enumerator, table: IntArray, room: IntArray, worth: IntArray) -> None:
        self.owner, self.table, self.room, self.worth = owner, table, room, worth
        # Not divided along x (y) at the top; all; the former without those of the next narrower (lower) piece.
        self.not_x: dict[tuple[int, int], Found] = {}
        self.not_y: dict[tuple[int, int], Found] = {}
        self.every: dict[tuple[int, int], Found] = {}
        self.fresh_x: dict[tuple[int, int], Found] = {}
        self.fresh_y: dict[tuple[int, int], Found] = {}
        # The most that any entry is worth, for a quick look whether a join can matter; 0 where there is none.
        self.top = np.zeros(table.shape, dtype=np.int64)
        self.top_x = np.zeros(table.shape, dtype=np.int64)
        self.top_y = np.zeros(table.shape, dtype=np.int64)
        self.leaves: dict[tuple[int, int], list[int]] = {}
        state, space = owner.state, owner.pricer.space
        for leaf in range(len(state.problem.leaves)):
            if (state.part_uses[leaf] <= owner.pricer.demand).all():
                self.leaves.setdefault((int(space.leaf_x[leaf]), int(space.leaf_y[leaf])), []).append(leaf)

    def run(self, most: int) -> dict[tuple[int, int], Found] | None:
        """Return the multisets of every piece; None when too many are kept or the work is spent."""
        owner = self.owner
        owner.kept = 0
        budget = self.owner.state.budget
        for i in range(1, len(self.room)):
            for j in np.flatnonzero(self.room[i, 1:] >= 0) + 1:
                made = self._piece(i, int(j))
                if made is None:
                    return None
                owner.kept += made
                if owner.kept > most or budget.over():
                    return None
        return self.every

    def _piece(self, i: int, j: int) -> int | None:
        """Fill the sets of one piece; return how many entries they have, None when it has too many joins."""
        least = max(1, int(self.table[i, j] - self.room[i, j]))
        left, below = (i - 1, j), (i, j - 1)
        leaf = [
            Found(self.owner.leaf_codes[k : k + 1], self.worth[k : k + 1])
            for k in self.leaves.get((i, j), ())
            if self.worth[k] >= least
        ]
        across = self._joins(i, j, "x", least)
        up = self._joins(i, j, "y", least)
        if across is None or up is None:
            return None
        not_x = merged([*leaf, *up, *self._older(self.not_x, left, below, least)])
        not_y = merged([*leaf, *across, *self._older(self.not_y, left, below, least)])
        every = merged([not_x, not_y])
        if not len(every.codes):
            return 0
        place = (i, j)
        self.not_x[place], self.not_y[place], self.every[place] = not_x, not_y, every
        self.fresh_x[place] = not_x.without(self.not_x.get(left, NOTHING))
        self.fresh_y[place] = not_y.without(self.not_y.get(below, NOTHING))
        self.top[place] = every.high
        self.top_x[place], self.top_y[place] = self.fresh_x[place].high, self.fresh_y[place].high
        self.owner.state.budget.spend(0.08 + 2e-4 * len(every.codes))
        return len(every.codes)

    @staticmethod
    def _older(
        sets: dict[tuple[int, int], Found], left: tuple[int, int], below: tuple[int, int], least: int
    ) -> Iterator[Found]:
        """Yield what the next narrower and the next lower piece hold."""
        for place in (left, below):
            found = sets.get(place)
            if found is not None:
                yield found.at_least(least)

    def _joins(self, i: int, j: int, axis: str, least: int) -> list[Found] | None:
        """Return the joins of two pieces beside (x) or above (y) each other; None when there are too many."""
        if axis == "x":
            near, far = self.owner.splits_x[i]
            first, second = self.top_x[near, j], self.top[far, j]
        else:
            near, far = self.owner.splits_y[j]
            first, second = self.top_y[i, near], self.top[i, far]
        pick = ((first > 0) & (second > 0) & (first + second >= least)).nonzero()[0]
        if not len(pick):
            return []
        fresh = self.fresh_x if axis == "x" else self.fresh_y
        pairs = [
            (fresh[n, j], self.every[f, j]) if axis == "x" else (fresh[i, n], self.every[i, f])
            for n, f in zip(near[pick].tolist(), far[pick].tolist(), strict=True)
        ]
        return self._combine(pairs, least)

    def _combine(self, pairs: list[tuple[Found, Found]], least: int) -> list[Found] | None:
        """Return all proper sums of one entry of each half of a pair that are worth at least `least`."""
        falling = [b.falling() for _, b in pairs]
        sizes = [len(c) for c, _ in falling]
        codes = np.concatenate([a.codes for a, _ in pairs])
        values = np.concatenate([a.values for a, _ in pairs])
        other_codes = np.concatenate([c for c, _ in falling])
        key = np.concatenate([v for _, v in falling])
        np.negative(key, out=key)
        below = values - least
        starts: IntArray | int = 0
        if len(pairs) > 1:
            # Ascending within and across pairs, so that one search finds all that are worth enough beside an entry.
            number = np.arange(len(pairs))
            pair = number.repeat([len(a.codes) for a, _ in pairs])
            key += number.repeat(sizes) << 33
            below += pair << 33
            starts = np.array([0, *accumulate(sizes[:-1])])[pair]
        count = key.searchsorted(below, side="right") - starts
        np.maximum(count, 0, out=count)
        reach = count.cumsum()
        total = int(reach[-1])
        self.owner.state.budget.spend(0.04 + 5e-5 * len(key) + 4e-5 * total)
        if total == 0:
            return []
        if total > MOST_AT_ONCE:
            return None
        one = np.arange(len(codes)).repeat(count)
        two = np.arange(total) + (starts - reach + count).repeat(count)
        both = codes[one]
        both += other_codes[two]
        proper = (((both + self.owner.caps) & self.owner.guard) == 0).nonzero()[0]
        if not len(proper):
            return []
        both, place = distinct(both[proper])
        place = proper[place]
        two = two[place]
        worth = values[one[place]] + np.concatenate([v for _, v in falling])[two]
        return [Found(both, worth)]


def _splits(grid: Grid, index: int) -> tuple[IntArray, IntArray]:
    """Return the near and far pieces into which place `index` divides, the near one not the larger."""
    near = np.arange(1, index + 1)
    far = grid.far(index, near)
    keep = (far < index) & (near <= far) & (far > 0)
    return near[keep], far[keep]
