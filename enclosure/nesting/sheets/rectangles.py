"""Which rectangles of parts can be pieces of a plan that has little value to lose?

Parts are joined beside and above each other in their own sizes, from the left-most
column of the table of `pricing.py` to the right-most: within a column first what
stands side by side, then, round by round, what stands on something. A rectangle
stays when its parts are worth at least what its cell of the table asks for, when
none of them is used more often than wanted, and when no other one with the same
parts is as narrow and as low. Among those not divided along an axis (or divided)
the last is asked of its own kind only: a row is made by setting a rectangle that
is itself no row beside any other.

What is listed can be cut, and all that can be cut within the limits is listed,
but for the rounding where lengths are measured more coarsely than they are.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.packing import Words
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Space, Tree

Bools = NDArray[np.bool_]
MOST_AT_ONCE = 4_000_000
"""Joins looked at together; more would take too much memory."""
FAR = np.int64(1 << 60)
"""More than anything is worth."""
NOT_X, NOT_Y, EVERY = 0, 1, 2
"""Not divided along x (y) at the top; all."""


@dataclass(slots=True)
class Batch:
    """Rectangles: packed uses, size, worth, and what each is made of."""

    codes: Words
    width: IntArray
    height: IntArray
    worth: IntArray
    made: IntArray
    """(axis, number of the first, number of the second) or (-1, leaf, 0), a row each."""

    def keep(self, which: Bools | IntArray) -> Batch:
        """Return some of them."""
        return Batch(
            self.codes[which], self.width[which], self.height[which], self.worth[which], self.made[which]
        )


def joined(several: list[Batch]) -> Batch:
    """Return several batches as one."""
    return Batch(
        np.concatenate([b.codes for b in several]),
        np.concatenate([b.width for b in several]),
        np.concatenate([b.height for b in several]),
        np.concatenate([b.worth for b in several]),
        np.concatenate([b.made for b in several]),
    )


class Pool:
    """Rectangles by the cell they lie in, those of a cell by what they lose.

    Args:
        numbers: Of the rectangles, ascending by column, row and loss.
        column: Of each.
        row: Of each.
        loss: Of each, against the table.
        big: More than any loss.
    """

    def __init__(self, numbers: IntArray, column: IntArray, row: IntArray, loss: IntArray, big: int) -> None:
        self.numbers, self.loss, self.big = numbers, loss, big
        new = np.ones(len(numbers), dtype=bool)
        new[1:] = (column[1:] != column[:-1]) | (row[1:] != row[:-1])
        self.start = np.flatnonzero(new)
        self.column, self.row, self.low = column[self.start], row[self.start], loss[self.start]
        self.key = (np.cumsum(new) - 1) * big + loss

    def followed_by(self, other: Pool) -> Pool:
        """Return this pool with that of a later column."""
        out = Pool.__new__(Pool)
        out.big = self.big
        out.numbers = np.concatenate([self.numbers, other.numbers])
        out.loss = np.concatenate([self.loss, other.loss])
        out.start = np.concatenate([self.start, other.start + len(self.numbers)])
        out.column = np.concatenate([self.column, other.column])
        out.row = np.concatenate([self.row, other.row])
        out.low = np.concatenate([self.low, other.low])
        out.key = np.concatenate([self.key, other.key + len(self.start) * self.big])
        return out

    def up_to(self, cells: IntArray, loss: IntArray) -> IntArray:
        """Return how many of each cell lose at most so much."""
        last = self.key.searchsorted(cells * self.big + np.minimum(loss, self.big - 1), side="right")
        several: IntArray = np.maximum(last - self.start[cells], 0)
        return several


class Front:
    """The least height known for each multiset of parts, over all columns before."""

    def __init__(self) -> None:
        self.codes: Words = np.zeros(0, dtype=np.uint64)
        self.height: IntArray = np.zeros(0, dtype=np.int64)

    def lower(self, codes: Words, height: IntArray) -> Bools:
        """Return which are lower than any known with the same parts."""
        if not len(self.codes):
            return np.ones(len(codes), dtype=bool)
        place = np.minimum(self.codes.searchsorted(codes), len(self.codes) - 1)
        lower: Bools = (self.codes[place] != codes) | (height < self.height[place])
        return lower

    def add(self, codes: Words, height: IntArray) -> None:
        """Take note of more."""
        order = np.lexsort((height, codes))
        codes, height = codes[order], height[order]
        first = np.ones(len(codes), dtype=bool)
        np.not_equal(codes[1:], codes[:-1], out=first[1:])
        codes, height = codes[first], height[first]
        place = self.codes.searchsorted(codes)
        known = np.zeros(len(codes), dtype=bool)
        inside = place < len(self.codes)
        known[inside] = self.codes[place[inside]] == codes[inside]
        self.height[place[known]] = np.minimum(self.height[place[known]], height[known])
        self.codes = np.insert(self.codes, place[~known], codes[~known])
        self.height = np.insert(self.height, place[~known], height[~known])


class Builder:
    """Makes the rectangles.

    Args:
        space: High grids.
        table: What a piece is worth at most, by column and row.
        room: What it may lose, negative where it cannot be part of a plan.
        leaves: Parts and pairs of parts.
        caps: Bias and guard of the packed words that show a kind used too often.
        budget: Work.
    """

    def __init__(
        self, space: Space, table: IntArray, room: IntArray, leaves: Batch,
        caps: tuple[np.uint64, np.uint64], budget: Budget,
    ) -> None:
        self.space, self.table, self.leaves, self.budget = space, table, leaves, budget
        self.bias, self.guard = caps
        self.least: IntArray = np.where(room >= 0, table - room, FAR)
        self.open = np.flatnonzero((room >= 0).any(axis=1))
        self.big = int(room.max()) + 2
        across, up = int(space.xs.at[-1]), int(space.ys.at[-1])
        self.column_of: IntArray = space.xs.at.searchsorted(np.arange(across + 1)).astype(np.int64)
        self.row_of: IntArray = space.ys.at.searchsorted(np.arange(up + 1)).astype(np.int64)
        self.kept = 0
        self.all: Batch = leaves.keep(np.zeros(0, dtype=np.int64))
        self.fronts = [Front(), Front(), Front()]

    def run(self, most: int) -> Batch | None:
        """Return all rectangles; None when there are more than about `most`, or the work is spent."""
        none = np.zeros(0, dtype=np.int64)
        before = [Pool(none, none, none, none, self.big) for _ in range(3)]
        place = self.column_of[np.minimum(self.leaves.width, len(self.column_of) - 1)]
        place[self.leaves.width >= len(self.column_of)] = -1
        for column in self.open[self.open > 0].tolist():
            several = [self.leaves.keep(place == column)]
            rows = self._rows(column, before[NOT_X], before[EVERY])
            if rows is None:
                return None
            several.extend(rows)
            own = _Column(self, column, before)
            new = own.take(self._sound(joined(several), column))
            while new is not None:
                if self.kept > most or self.budget.over():
                    return None
                stacks = own.stacks(new)
                if stacks is None:
                    return None
                new = own.take(self._sound(joined(stacks), column)) if stacks else None
            before = own.close()
        self.pools = before
        return self.all

    def sharper(self) -> IntArray:
        """Return the table with what is known of every piece once all is made."""
        best = np.zeros_like(self.table)
        np.maximum.at(best, (self.column_of[self.all.width], self.row_of[self.all.height]), self.all.worth)
        np.maximum.accumulate(best, axis=0, out=best)
        np.maximum.accumulate(best, axis=1, out=best)
        # What is not listed is worth less than was asked for.
        return np.where(self.least < FAR, np.maximum(best, self.least - 1), self.table)

    def wide(self, end: tuple[int, int], worth: int, lose: int, most: int) -> IntArray:
        """Join rectangles once more to whole sheets that may lose more; return their numbers.

        Args:
            end: Column and row of the sheet.
            worth: What it is worth.
            lose: What a joined sheet may lose; less is taken when there are more than `most` pairs.
            most: Most pairs looked at.
        """
        across, up = int(self.space.xs.at[end[0]]), int(self.space.ys.at[end[1]])
        out: list[Batch] = []
        for axis, first in ((0, self.pools[NOT_X]), (1, self.pools[NOT_Y])):
            second = self.pools[EVERY]
            if not len(first.start):
                continue
            grid, limit = (self.space.xs, across) if axis == 0 else (self.space.ys, up)
            keep_one, keep_two = (self._halves(axis, end, p, worth - lose) for p in (first, second))
            one, two = keep_one.repeat(len(keep_two)), np.tile(keep_two, len(keep_one))
            a_at, b_at = (p.column if axis == 0 else p.row for p in (first, second))
            fits = grid.least[a_at[one]] + grid.least[b_at[two]] <= limit
            one, two = one[fits], two[fits]
            both = self._worth(first, one) + self._worth(second, two) - worth
            self.budget.spend(3e-5 * len(keep_one) * len(keep_two))
            spare = both - first.low[one] - second.low[two]
            for share in (1.0, 0.85, 0.7, 0.6, 0.5, 0.4):
                allowed = int(lose * share)
                keep = np.flatnonzero(spare >= -allowed)
                pairs = self._pairs(axis, first, second, one[keep], two[keep], both[keep] + allowed, most)
                if pairs is not None:
                    out.extend(b.keep((b.width <= across) & (b.height <= up)) for b in pairs)
                    break
        if not out:
            return np.zeros(0, dtype=np.int64)
        return self.number(joined(out))

    def _halves(self, axis: int, end: tuple[int, int], pool: Pool, least: int) -> IntArray:
        """Return the cells of a pool that, with the best beside (x) or above (y) them, may make a sheet worth it."""
        grid, at = (self.space.xs, pool.column) if axis == 0 else (self.space.ys, pool.row)
        across = pool.row <= end[1] if axis == 0 else pool.column <= end[0]
        fits = np.flatnonzero(across & (at < end[axis]))
        far = grid.far(end[axis], at[fits])
        rest = self.table[far, end[1]] if axis == 0 else self.table[end[0], far]
        worth = self.table[pool.column[fits], pool.row[fits]] - pool.low[fits]
        cells: IntArray = fits[worth + rest >= least]
        return cells

    def number(self, batch: Batch) -> IntArray:
        """Keep a batch and return its numbers."""
        first = len(self.all.codes)
        self.all = joined([self.all, batch])
        self.kept += len(batch.codes)
        return np.arange(first, first + len(batch.codes))

    def _sound(self, batch: Batch, column: int) -> Batch:
        """Return those that lie in the column and are worth enough."""
        inside = (batch.width < len(self.column_of)) & (batch.height < len(self.row_of))
        batch = batch.keep(inside)
        keep = (self.column_of[batch.width] == column) & (
            batch.worth >= self.least[column, self.row_of[batch.height]]
        )
        return batch.keep(keep)

    def _rows(self, column: int, first: Pool, second: Pool) -> list[Batch] | None:
        """Return what stands side by side in a column: one of `first` beside one of `second`."""
        if not len(first.start) or not len(second.start):
            return []
        grid = self.space.xs
        near = first.column
        low = self.column_of[np.maximum(grid.at[column - 1] - grid.at[near] + 1, 1)]
        high = np.minimum(grid.far(column, near), column - 1)
        start = second.column.searchsorted(low, side="left")
        count = np.maximum(second.column.searchsorted(high, side="right") - start, 0)
        one = np.arange(len(near)).repeat(count)
        two = np.arange(len(one)) - (count.cumsum() - count - start).repeat(count)
        row = np.maximum(first.row[one], second.row[two])
        may = self._worth(first, one) + self._worth(second, two) - self.least[column, row]
        return self._pairs(0, first, second, one, two, may)

    def _worth(self, pool: Pool, cells: IntArray) -> IntArray:
        """Return the table's values of cells of a pool."""
        return self.table[pool.column, pool.row][cells]

    def pairs_up(self, column: int, first: Pool, second: Pool) -> list[Batch] | None:
        """Return what stands one on the other in a column: one of `first` with one of `second`."""
        if not len(first.start) or not len(second.start):
            return []
        grid = self.space.ys
        keep_one, keep_two = self._raised(column, first), self._raised(column, second)
        one = keep_one.repeat(len(keep_two))
        two = np.tile(keep_two, len(keep_one))
        low = grid.least[first.row[one]] + grid.least[second.row[two]]
        fits = low < len(self.row_of)
        one, two, low = one[fits], two[fits], low[fits]
        row = self.row_of[low]
        last = self.row_of[np.minimum(grid.at[first.row[one]] + grid.at[second.row[two]], len(self.row_of) - 1)]
        asked = self.least[column, row]
        for _ in range(int((last - row).max()) if len(row) else 0):
            row = np.minimum(row + 1, last)
            asked = np.minimum(asked, self.least[column, row])
        may = self._worth(first, one) + self._worth(second, two) - asked
        return self._pairs(1, first, second, one, two, may)

    def _raised(self, column: int, pool: Pool) -> IntArray:
        """Return the cells of a pool that may be pieces as wide as a column."""
        worth = self.table[pool.column, pool.row] - pool.low
        return np.flatnonzero(worth >= self.least[column, pool.row])

    def _pairs(
        self, axis: int, first: Pool, second: Pool, one: IntArray, two: IntArray, may: IntArray,
        most: int = MOST_AT_ONCE,
    ) -> list[Batch] | None:
        """Return the joins of the rectangles in pairs of cells that together lose at most `may`; None if too many."""
        self.budget.spend(0.1 + 2e-5 * len(one))
        keep = may >= first.low[one] + second.low[two]
        one, two, may = one[keep], two[keep], may[keep]
        count = first.up_to(one, may - second.low[two])
        if int(count.sum()) > most:
            return None
        a = np.arange(int(count.sum())) - (count.cumsum() - count - first.start[one]).repeat(count)
        two, rest = two.repeat(count), may.repeat(count) - first.loss[a]
        count = second.up_to(two, rest)
        total = int(count.sum())
        self.budget.spend(1e-4 * len(a) + 1.2e-4 * total)
        if total > most:
            return None
        b = np.arange(total) - (count.cumsum() - count - second.start[two]).repeat(count)
        a, b = first.numbers[a.repeat(count)], second.numbers[b]
        every = self.all
        codes = every.codes[a] + every.codes[b]
        proper = ((codes + self.bias) & self.guard) == 0
        a, b, codes = a[proper], b[proper], codes[proper]
        if axis == 0:
            width, height = every.width[a] + every.width[b], np.maximum(every.height[a], every.height[b])
        else:
            width, height = np.maximum(every.width[a], every.width[b]), every.height[a] + every.height[b]
        made = np.empty((len(a), 3), dtype=np.int64)
        made[:, 0], made[:, 1], made[:, 2] = axis, a, b
        return [Batch(codes, width, height, every.worth[a] + every.worth[b], made)]

    def tree(self, number: int) -> Tree:
        """Return the cuts behind a rectangle."""
        axis, one, two = (int(v) for v in self.all.made[number])
        if axis < 0:
            return ("leaf", one)
        return ("xy"[axis], (self.tree(one), self.tree(two)))


class _Column:
    """The rectangles of one column.

    Args:
        owner: Makes them.
        column: Which.
        before: Pools of the columns before: not divided along x, not along y, all.
    """

    def __init__(self, owner: Builder, column: int, before: list[Pool]) -> None:
        self.owner, self.column, self.before = owner, column, before
        none = np.zeros(0, dtype=np.int64)
        self.members: list[IntArray] = [none, none, none]

    def take(self, batch: Batch) -> list[Pool] | None:
        """Keep what is not as wide and as high as another; return it by classes, None when there is nothing new."""
        owner = self.owner
        if not len(batch.codes):
            return None
        axis = batch.made[:, 0]
        classes = [axis != 0, axis != 1, np.ones(len(axis), dtype=bool)]
        stay = [
            np.flatnonzero(own)[self._better(kind, batch.keep(own))] for kind, own in enumerate(classes)
        ]
        used = np.unique(np.concatenate(stay))
        if not len(used):
            return None
        numbers = owner.number(batch.keep(used))
        fresh = [numbers[used.searchsorted(s)] for s in stay]
        owner.budget.spend(0.05 + 5e-4 * len(batch.codes))
        self.members = [np.concatenate([m, f]) for m, f in zip(self.members, fresh, strict=True)]
        return [self._pool(f) for f in fresh]

    def _better(self, kind: int, batch: Batch) -> IntArray:
        """Return which are narrower or lower than all kept of their class with the same parts."""
        place = np.flatnonzero(self.owner.fronts[kind].lower(batch.codes, batch.height))
        held = self.members[kind]
        every = self.owner.all
        codes = np.concatenate([every.codes[held], batch.codes[place]])
        width = np.concatenate([every.width[held], batch.width[place]])
        height = np.concatenate([every.height[held], batch.height[place]])
        if not len(codes):
            return place
        order = np.lexsort((height, width, codes))
        new = np.ones(len(order), dtype=bool)
        np.not_equal(codes[order][1:], codes[order][:-1], out=new[1:])
        # Heights fall from group to group, so that the least so far is that of the own group.
        falling = height[order] - np.cumsum(new) * (2 * len(self.owner.row_of))
        least = np.minimum.accumulate(falling)
        lower = np.ones(len(order), dtype=bool)
        lower[1:] = falling[1:] < least[:-1]
        fresh = order[lower]
        return place[np.sort(fresh[fresh >= len(held)]) - len(held)]

    def _pool(self, numbers: IntArray) -> Pool:
        """Return rectangles of this column as a pool."""
        every = self.owner.all
        row = self.owner.row_of[every.height[numbers]]
        loss = self.owner.table[self.column, row] - every.worth[numbers]
        order = np.lexsort((loss, row))
        return Pool(numbers[order], np.full(len(order), self.column), row[order], loss[order], self.owner.big)

    def stacks(self, new: list[Pool]) -> list[Batch] | None:
        """Return what stands on something else, one of the two new; None when there is too much."""
        every = self.before[EVERY].followed_by(self._pool(self.members[EVERY]))
        old = np.setdiff1d(self.members[NOT_Y], new[NOT_Y].numbers)
        older = self.before[NOT_Y].followed_by(self._pool(old))
        out = []
        for first, second in ((new[NOT_Y], every), (older, new[EVERY])):
            pairs = self.owner.pairs_up(self.column, first, second)
            if pairs is None:
                return None
            out.extend(pairs)
        return out

    def close(self) -> list[Pool]:
        """Return the pools with this column, for those to come."""
        every = self.owner.all
        for front, held in zip(self.owner.fronts, self.members, strict=True):
            front.add(every.codes[held], every.height[held])
        return [
            pool.followed_by(self._pool(held)) for pool, held in zip(self.before, self.members, strict=True)
        ]
