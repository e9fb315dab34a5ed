"""Which good patterns of single sheets come from laying part after part in strips? (beam search)

A sheet is cut into strips, a strip into rows across it, a row into cells, and what
is left above a low part of a row takes further parts. Partial patterns grow part by
part; of each number of parts only the most promising stay: those worth most beyond
the area they have spoken for. Many sheets, each with its own values and demands,
grow side by side, because the time goes into the number of table operations. Parts
follow each other in one order within a row, so that a pattern is met once.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State

CELL, ROW, STRIP, STACK = range(4)
START, WIDE, BASE, TALL, USED, OVER, ABOVE = range(7)
"""Rows of `Front.shape`: start and width of the last strip, start and height of its last row, width used
of that row, width of its last cell and height left above it."""


@dataclass(slots=True)
class Front:
    """Partial patterns of as many parts each, one entry a pattern.

    Args:
        group: Sheet that they belong to.
        rest: Parts still free, by kind.
        shape: See above.
        last: Leaf before which none may follow in the row; -1 while the row may still grow in height.
        worth: Value so far.
        mark: Equal for equal parts.
        before: Entry of the front before.
        leaf: Leaf laid last.
        how: CELL, ROW, STRIP or STACK.
    """

    group: IntArray
    rest: IntArray
    shape: IntArray
    last: IntArray
    worth: IntArray
    mark: IntArray
    before: IntArray
    leaf: IntArray
    how: IntArray


@dataclass(frozen=True, slots=True)
class Filled:
    """A pattern: its sheet, its value, its uses, and where it stands among the fronts."""

    group: int
    worth: int
    used: IntArray
    depth: int
    entry: int


class Strips:
    """Fills sheets strip by strip.

    Args:
        state: Shared knowledge.
        turned: True when strips lie across the sheet.
    """

    def __init__(self, state: State, turned: bool) -> None:
        problem = state.problem
        wide = np.array([x.width for x in problem.leaves], dtype=np.int64)
        high = np.array([x.height for x in problem.leaves], dtype=np.int64)
        sheet = np.array([(s.width, s.height) for s in problem.stocks], dtype=np.int64)
        if turned:
            wide, high, sheet = high, wide, sheet[:, ::-1]
        self.axes = ("y", "x") if turned else ("x", "y")
        self.leaf = np.lexsort((-wide, -high))
        self.wide, self.high, self.sheet = wide[self.leaf], high[self.leaf], sheet
        self.uses: IntArray = state.part_uses[self.leaf]
        self.places = np.arange(len(self.leaf), dtype=np.int64)
        most = max(len(x.parts) for x in problem.leaves)
        padded = [(x.parts * most)[:most] for x in problem.leaves]
        self.parts = np.array(padded, dtype=np.int64)[self.leaf].T
        self.needs: IntArray = np.array([self.uses[self.places, row] for row in self.parts])
        self.area: FloatArray = state.leaf_area_of_kind
        self.narrow, self.low = int(wide.min()), int(high.min())
        generator = np.random.default_rng(7)
        marks = generator.integers(1, 1 << 60, state.kinds, dtype=np.int64)
        self.marks: IntArray = self.uses @ marks
        self.shape_marks = generator.integers(1, 1 << 60, (6, 1), dtype=np.int64)
        self.nodes = 0
        self.fronts: list[Front] = []

    def fill(
        self,
        stock: IntArray,
        values: IntArray,
        caps: IntArray,
        seeds: IntArray,
        thrift: FloatArray,
        width: int,
        many: int = 1,
    ) -> list[Filled]:
        """Return the best patterns found for every sheet, sheet by sheet, the best first.

        Args:
            stock: Stock of each sheet.
            values: Value of each kind, a row per sheet.
            caps: Parts free, a row per sheet.
            seeds: Kind that the sheet must hold; -1 for any.
            thrift: How much area spoken for counts against a partial pattern, 1 for what parts on it are worth.
            width: Partial patterns kept for each sheet and number of parts.
            many: Patterns returned for each sheet.
        """
        count = len(stock)
        worth = values @ self.uses.T
        rate = thrift * (values * caps).sum(axis=1) / np.maximum((self.area * caps).sum(axis=1), 1.0)
        none = np.zeros(count, dtype=np.int64)
        shape = np.zeros((7, count), dtype=np.int64)
        front = Front(np.arange(count), caps, shape, none, none, none, none, none, none)
        self.fronts, self.nodes = [front], 0
        while True:
            first = seeds if len(self.fronts) == 1 else None
            grown = self._grow(front, self.sheet[stock], worth, rate, first, width)
            if grown is None:
                return self._best(count, caps, many)
            self.fronts.append(grown)
            front = grown

    def _grow(
        self, front: Front, room: IntArray, worth: IntArray, rate: FloatArray, seeds: IntArray | None, width: int
    ) -> Front | None:
        """Return the most promising patterns of one part more."""
        across, up = room[front.group].T
        self.nodes += len(front.group) * len(self.leaf)
        entry, leaf, how, area = self._ways(front, across, up, seeds)
        if not len(entry):
            return None
        group = front.group[entry]
        value = front.worth[entry] + worth[group, leaf]
        score = value - rate[group] * area
        kept = self._promising(group, score, 4 * width * len(room))
        kept = kept[_first_of_each(group[kept], score[kept], len(room), 2 * width)]
        shape = self._shapes(front.shape[:, entry[kept]], leaf[kept], how[kept])
        mark = front.mark[entry[kept]] + self.marks[leaf[kept]]
        key = mark ^ (shape[:6] * self.shape_marks).sum(axis=0)
        once = np.sort(np.unique(key + group[kept], return_index=True)[1])
        once = once[_first_of_each(group[kept[once]], score[kept[once]], len(room), width)]
        kept, shape, mark = kept[once], shape[:, once], mark[once]
        entry, leaf, how, group = entry[kept], leaf[kept], how[kept], group[kept]
        last = np.where(how == STACK, front.last[entry], leaf)
        if seeds is not None:
            last = np.where(seeds[group] < 0, leaf, -1)
        rest = front.rest[entry] - self.uses[leaf]
        return Front(group, rest, shape, last, value[kept], mark, entry, leaf, how)

    @staticmethod
    def _promising(group: IntArray, score: FloatArray, most: int) -> IntArray:
        """Return about `most` places, those nearest below the best of their group."""
        if len(score) <= 2 * most:
            return np.arange(len(score))
        best = np.full(int(group.max()) + 1, -np.inf)
        np.maximum.at(best, group, score)
        below = best[group] - score
        return np.flatnonzero(below <= np.partition(below, most)[most])

    def _ways(
        self, front: Front, across: IntArray, up: IntArray, seeds: IntArray | None
    ) -> tuple[IntArray, IntArray, IntArray, FloatArray]:
        """Return every way to lay one more leaf: entry, leaf, how, and the area spoken for then."""
        free = front.rest[:, self.parts[0]] >= self.needs[0]
        for part, need in zip(self.parts[1:], self.needs[1:], strict=True):
            free &= front.rest[:, part] >= need
        if seeds is not None:
            free &= (self.uses.T[seeds] > 0) | (seeds[:, None] < 0)
            at, leaf = np.nonzero(free & (self.wide <= across[:, None]) & (self.high <= up[:, None]))
            wide, high = self.wide[leaf], self.high[leaf]
            area = self._spoken_for(np.zeros_like(at), wide, np.zeros_like(at), high, wide, across[at], up[at])
            return at, leaf, np.full(len(at), STRIP), area
        start, wide, base, tall, used, over, above = front.shape
        limits = (
            (across - start - used, np.where(front.last < 0, up - base, tall)),
            (across - start, up - base - tall),
            (across - start - wide, up),
            (over, above),
        )
        entries, leaves = np.nonzero(free)
        leaf_wide, leaf_high = self.wide[leaves], self.high[leaves]
        out = []
        for how, (most_wide, most_high) in enumerate(limits):
            fits = (leaf_wide <= most_wide[entries]) & (leaf_high <= most_high[entries])
            if how == CELL:
                fits &= leaves >= front.last[entries]
            where = np.flatnonzero(fits)
            at, w, h = entries[where], leaf_wide[where], leaf_high[where]
            if how == CELL:
                high = np.maximum(tall[at], h)
                w = w + used[at]
                s = (start[at], np.maximum(wide[at], w), base[at], high, w)
            elif how == ROW:
                s = (start[at], np.maximum(wide[at], w), (base + tall)[at], h, w)
            elif how == STRIP:
                s = ((start + wide)[at], w, np.zeros_like(w), h, w)
            else:
                s = (start[at], wide[at], base[at], tall[at], used[at])
            out.append((at, leaves[where], np.full(len(at), how), self._spoken_for(*s, across[at], up[at])))
        entry, leaf, ways, area = (np.concatenate(x) for x in zip(*out, strict=True))
        return entry, leaf, ways, area

    def _shapes(self, old: IntArray, leaf: IntArray, how: IntArray) -> IntArray:
        """Return the shapes after laying the leaves."""
        wide, high = self.wide[leaf], self.high[leaf]
        new = old.copy()
        cell, row, strip = how == CELL, how == ROW, how == STRIP
        laid = how != STACK
        new[START] += np.where(strip, old[WIDE], 0)
        new[BASE] = np.where(strip, 0, old[BASE] + np.where(row, old[TALL], 0))
        new[TALL] = np.where(cell, np.maximum(old[TALL], high), np.where(laid, high, old[TALL]))
        new[USED] = np.where(laid, wide + np.where(cell, old[USED], 0), old[USED])
        new[WIDE] = np.maximum(new[USED], np.where(strip, 0, old[WIDE]))
        new[OVER] = np.where(laid, wide, old[OVER])
        new[ABOVE] = np.where(laid, new[TALL], old[ABOVE]) - high
        return new

    def _spoken_for(
        self, start: IntArray, wide: IntArray, base: IntArray, tall: IntArray, used: IntArray,
        across: IntArray, up: IntArray,
    ) -> FloatArray:  # fmt: skip
        """Return the area that can take no more parts but by stacking; slivers too small for any part count."""
        beside = across - start
        wide = np.where(beside - wide < self.narrow, beside, wide)
        above = up - base
        tall = np.where(above - tall < self.low, above, tall)
        used = np.where(wide - used < self.narrow, wide, used)
        area: FloatArray = (start * up + wide * base + used * tall).astype(np.float64)
        return area

    def _best(self, count: int, caps: IntArray, many: int) -> list[Filled]:
        """Return the patterns of most value for every sheet."""
        fronts = self.fronts[1:]
        if not fronts:
            return []
        group = np.concatenate([f.group for f in fronts])
        worth = np.concatenate([f.worth for f in fronts])
        depth = np.repeat(np.arange(1, len(fronts) + 1), [len(f.group) for f in fronts])
        entry = np.concatenate([np.arange(len(f.group)) for f in fronts])
        if many > 1:
            mark = np.concatenate([f.mark for f in fronts])
            one = np.unique(mark + group, return_index=True)[1]
            group, worth, depth, entry = group[one], worth[one], depth[one], entry[one]
        out = []
        for pick in _first_of_each(group, worth, count, many):
            sheet, at, where = int(group[pick]), int(depth[pick]), int(entry[pick])
            out.append(Filled(sheet, int(worth[pick]), caps[sheet] - self.fronts[at].rest[where], at, where))
        return out

    def tree(self, filled: Filled) -> Tree:
        """Return the cuts of a pattern of the last filling."""
        path = []
        entry = filled.entry
        for depth in range(filled.depth, 0, -1):
            front = self.fronts[depth]
            path.append((int(self.leaf[front.leaf[entry]]), int(front.how[entry])))
            entry = int(front.before[entry])
        strips: list[list[list[list[Tree]]]] = []
        for leaf, how in reversed(path):
            if how == STRIP:
                strips.append([])
            if how in (STRIP, ROW):
                strips[-1].append([])
            if how != STACK:
                strips[-1][-1].append([])
            strips[-1][-1][-1].append(("leaf", leaf))
        one, two = self.axes
        return _joined(one, [
            _joined(two, [_joined(one, [_joined(two, cell) for cell in row]) for row in strip]) for strip in strips
        ])  # fmt: skip


def _joined(axis: str, pieces: list[Tree]) -> Tree:
    """Return the pieces side by side; a single one as it is."""
    return pieces[0] if len(pieces) == 1 else (axis, tuple(pieces))


def _first_of_each(group: IntArray, score: IntArray | FloatArray, count: int, most: int) -> IntArray:
    """Return the places of the `most` highest scores of each group, group by group (scores to 30 bits or so)."""
    if not len(group):
        return group
    low = float(score.min())
    places = len(group).bit_length()
    fine = 62 - places - int(count).bit_length()
    step = ((1 << fine) - 1) / max(float(score.max()) - low, 1.0)
    # Group, score downwards and place in one number: sorting numbers is much faster than sorting by several keys.
    key = (group + 1 << fine) - 1 - ((score - low) * step).astype(np.int64)
    key = np.sort((key << places) | np.arange(len(group)))
    sorted_group = key >> (fine + places)
    start = np.searchsorted(sorted_group, np.arange(count))
    kept: IntArray = (key & ((1 << places) - 1))[np.arange(len(key)) - start[sorted_group] < most]
    return kept
