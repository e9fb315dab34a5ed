"""Can one sheet yield exactly these parts, and by which cuts?

Rectangles are joined beside or above each other, from single parts up to all
parts of the sheet, in true sizes; for several sheets of the same stock at once,
which share most of their rectangles. A rectangle stays only when the parts of one
of the sheets include its own, when no other one with the same parts is as narrow
and as low, and when its parts are worth enough for its size to be a piece of the
sheet (the table and the room of `enumeration.py`). Exact; stages unlimited.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Space, Tree
from enclosure.nesting.sheets.state import State

MOST_RECTANGLES = 60_000
MOST_PAIRS = 8_000_000
AT_ONCE = 64
"""Sheets placed together: a bit of a word each."""
ALL = np.iinfo(np.uint64).max


@dataclass(frozen=True, slots=True)
class Bounds:
    """What a piece must be worth: place tables of `enumeration.py` at values of the kinds."""

    space: Space
    values: IntArray
    table: IntArray
    room: IntArray


@dataclass(slots=True)
class Rectangles:
    """Rectangles that hold the same number of parts: packed uses, size, worth, and what they are joined from."""

    codes: Words
    width: IntArray
    height: IntArray
    worth: IntArray
    made: IntArray
    """(axis, parts of the first, its index, index of the second) or (-1, leaf, 0, 0), a row each."""
    inside: Words
    """A bit for each sheet that may have the rectangle, or more bits than that until pruned."""

    def keep(self, which: NDArray[np.bool_] | IntArray) -> Rectangles:
        """Return some of them."""
        return Rectangles(
            self.codes[which], self.width[which], self.height[which], self.worth[which], self.made[which],
            self.inside[which],
        )


class Placer:
    """Places the parts of sheets.

    Args:
        state: Shared knowledge.
        bounds: What a piece must be worth.
    """

    def __init__(self, state: State, bounds: Bounds) -> None:
        self.state, self.bounds = state, bounds

    def place(self, stock: int, sheets: IntArray) -> Sequence[Tree | None]:
        """Return for each sheet a tree that yields its parts, None when there is none, () when it stays open.

        Args:
            stock: The stock that all are cut from.
            sheets: Uses of each kind, a row for each sheet; at most `AT_ONCE`.
        """
        stay_open: list[Tree | None] = [()] * len(sheets)
        sheet = self.state.problem.stocks[stock]
        self.size = sheet.width, sheet.height
        end = self.bounds.space.ends(self.state.problem.stocks)[stock]
        most = sheets.max(axis=0)
        packing = Packing(most)
        if packing.words > 1:
            return stay_open
        self.bias, self.guard = packing.bias(most[None, :])[0, 0], packing.guard[0]
        self.wholes = packing.pack(sheets.astype(np.uint64))[:, 0] | self.guard
        whole = self.bounds.table[end]
        self.spare = int(self.bounds.room[end] - (whole - (sheets @ self.bounds.values).min()))
        levels = [self._pruned([])]
        singles = self._leaves(packing, most)
        kept = 0
        for size in range(1, int(sheets.sum(axis=1).max()) + 1):
            several = [singles[size]] if size in singles else []
            for first in range(1, size // 2 + 1):
                one, two = levels[first], levels[size - first]
                if len(one.codes) * len(two.codes) > MOST_PAIRS:
                    return stay_open
                several.extend(self._join(first, one, two))
            levels.append(self._pruned(several))
            kept += len(levels[-1].codes)
            self.state.budget.spend(0.5 + 2e-3 * len(levels[-1].codes))
            if kept > MOST_RECTANGLES or self.state.budget.over():
                return stay_open
        trees: list[Tree | None] = []
        for uses, whole in zip(sheets, self.wholes, strict=True):
            size = int(uses.sum())
            found = np.flatnonzero((levels[size].codes | self.guard) == whole)
            trees.append(self._tree(levels, size, int(found[0])) if len(found) else None)
        return trees

    def _leaves(self, packing: Packing, uses: IntArray) -> dict[int, Rectangles]:
        """Return the leaves by their number of parts."""
        out: dict[int, list[int]] = {}
        for index, leaf in enumerate(self.state.problem.leaves):
            if (self.state.part_uses[index] <= uses).all():
                out.setdefault(len(leaf.parts), []).append(index)
        found = {}
        for size, indices in out.items():
            leaves = [self.state.problem.leaves[i] for i in indices]
            made = np.array([(-1, i, 0, 0) for i in indices], dtype=np.int64)
            found[size] = Rectangles(
                packing.pack(self.state.part_uses[indices].astype(np.uint64))[:, 0],
                np.array([x.width for x in leaves], dtype=np.int64),
                np.array([x.height for x in leaves], dtype=np.int64),
                self.state.part_uses[indices] @ self.bounds.values,
                made,
                np.full(len(leaves), ALL, dtype=np.uint64),
            )
        return found

    def _join(self, first: int, one: Rectangles, two: Rectangles) -> list[Rectangles]:
        """Return the joins of two rectangles along both axes that fit the stock and a sheet."""
        if not len(one.codes) or not len(two.codes):
            return []
        self.state.budget.spend(0.05 + 2e-5 * len(one.codes) * len(two.codes))
        a, b = np.nonzero(one.inside[:, None] & two.inside[None, :])
        codes = one.codes[a] + two.codes[b]
        proper = np.flatnonzero(((codes + self.bias) & self.guard) == 0)
        a, b, codes = a[proper], b[proper], codes[proper]
        out = []
        for axis in (0, 1):
            width = one.width[a] + two.width[b] if axis == 0 else np.maximum(one.width[a], two.width[b])
            height = np.maximum(one.height[a], two.height[b]) if axis == 0 else one.height[a] + two.height[b]
            fits = np.flatnonzero((width <= self.size[0]) & (height <= self.size[1]))
            i, j = a[fits], b[fits]
            made = np.empty((len(i), 4), dtype=np.int64)
            made[:, 0], made[:, 1], made[:, 2], made[:, 3] = axis, first, i, j
            worth = one.worth[i] + two.worth[j]
            out.append(Rectangles(codes[fits], width[fits], height[fits], worth, made, one.inside[i] & two.inside[j]))
        return out

    def _pruned(self, several: list[Rectangles]) -> Rectangles:
        """Return those that may be pieces of the sheet, none with another as narrow and low with the same parts."""
        none = np.zeros(0, dtype=np.int64)
        if not sum(len(r.codes) for r in several):
            return Rectangles(np.zeros(0, dtype=np.uint64), none, none, none, np.zeros((0, 4), dtype=np.int64),
                              np.zeros(0, dtype=np.uint64))
        every = Rectangles(
            np.concatenate([r.codes for r in several]),
            np.concatenate([r.width for r in several]),
            np.concatenate([r.height for r in several]),
            np.concatenate([r.worth for r in several]),
            np.concatenate([r.made for r in several]),
            np.concatenate([r.inside for r in several]),
        )
        space = self.bounds.space
        i = np.searchsorted(space.xs.at, every.width // space.unit_x)
        j = np.searchsorted(space.ys.at, every.height // space.unit_y)
        inside = (i < len(space.xs.at)) & (j < len(space.ys.at))
        i, j = np.minimum(i, len(space.xs.at) - 1), np.minimum(j, len(space.ys.at) - 1)
        room = self.bounds.room[i, j]
        least = np.maximum(self.bounds.table[i, j] - room + self.spare, 1)
        every = every.keep(inside & (room >= 0) & (every.worth >= least))
        order = np.lexsort((every.height, every.width, every.codes))
        every = every.keep(order)
        group = np.cumsum(np.concatenate([[0], every.codes[1:] != every.codes[:-1]])) if len(order) else none
        falling = every.height - group * (2 * self.size[1] + 1)
        before = np.concatenate([[np.iinfo(np.int64).max], np.minimum.accumulate(falling)[:-1]]) if len(order) else none
        every = every.keep(falling < before)
        bits = np.uint64(1) << np.arange(len(self.wholes), dtype=np.uint64)
        fits = ((self.wholes[None, :] - every.codes[:, None]) & self.guard) == self.guard
        every.inside = (fits * bits[None, :]).sum(axis=1, dtype=np.uint64)
        return every.keep(every.inside != 0)

    def _tree(self, levels: list[Rectangles], size: int, index: int) -> Tree:
        """Return the cuts behind a rectangle."""
        axis, first, one, two = (int(v) for v in levels[size].made[index])
        if axis < 0:
            return ("leaf", first)
        return ("xy"[axis], (self._tree(levels, first, one), self._tree(levels, size - first, two)))
