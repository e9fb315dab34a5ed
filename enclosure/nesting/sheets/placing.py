"""Can one sheet yield exactly these parts, and by which cuts?

Rectangles are joined beside or above each other, from single parts up to all
parts of the sheet, in true sizes. A rectangle stays only when no other one with
the same parts is as narrow and as low, and when its parts are worth enough for
its size to be a piece of the sheet (the table and the room of `enumeration.py`).
Exact; stages unlimited.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Space, Tree
from enclosure.nesting.sheets.state import State

MOST_RECTANGLES = 30_000
MOST_PAIRS = 4_000_000


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

    def keep(self, which: NDArray[np.bool_] | IntArray) -> Rectangles:
        """Return some of them."""
        return Rectangles(
            self.codes[which], self.width[which], self.height[which], self.worth[which], self.made[which]
        )


class Placer:
    """Places the parts of one sheet.

    Args:
        state: Shared knowledge.
        bounds: What a piece must be worth.
    """

    def __init__(self, state: State, bounds: Bounds) -> None:
        self.state, self.bounds = state, bounds

    def place(self, stock: int, uses: IntArray) -> Tree | None:
        """Return a tree that yields `uses` from the sheet, None when there is none, () when it stays open."""
        state = self.state
        sheet = state.problem.stocks[stock]
        self.room = sheet.width, sheet.height
        packing = Packing(uses)
        if packing.words > 1:
            return ()
        self.bias, self.guard = packing.bias(uses[None, :])[0, 0], packing.guard[0]
        levels: list[Rectangles] = [self._pruned([])]
        singles = self._leaves(packing, uses)
        kept = 0
        for size in range(1, int(uses.sum()) + 1):
            several = [singles[size]] if size in singles else []
            for first in range(1, size // 2 + 1):
                one, two = levels[first], levels[size - first]
                if len(one.codes) * len(two.codes) > MOST_PAIRS:
                    return ()
                several.extend(self._join(first, one, two))
            level = self._pruned(several)
            levels.append(level)
            kept += len(level.codes)
            state.budget.spend(0.3 + 1e-3 * len(level.codes))
            if kept > MOST_RECTANGLES:
                return ()
        last = levels[-1]
        return self._tree(levels, len(levels) - 1, 0) if len(last.codes) else None

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
            )
        return found

    def _join(self, first: int, one: Rectangles, two: Rectangles) -> list[Rectangles]:
        """Return the proper joins of two rectangles along both axes that fit the sheet."""
        if not len(one.codes) or not len(two.codes):
            return []
        codes = one.codes[:, None] + two.codes[None, :]
        a, b = np.nonzero(((codes + self.bias) & self.guard) == 0)
        self.state.budget.spend(0.02 + 1e-5 * codes.size)
        out = []
        for axis in (0, 1):
            width = one.width[a] + two.width[b] if axis == 0 else np.maximum(one.width[a], two.width[b])
            height = np.maximum(one.height[a], two.height[b]) if axis == 0 else one.height[a] + two.height[b]
            fits = np.flatnonzero((width <= self.room[0]) & (height <= self.room[1]))
            i, j = a[fits], b[fits]
            made = np.stack([np.full(len(i), axis), np.full(len(i), first), i, j], axis=1)
            out.append(Rectangles(codes[i, j], width[fits], height[fits], one.worth[i] + two.worth[j], made))
        return out

    def _pruned(self, several: list[Rectangles]) -> Rectangles:
        """Return those that may be pieces of the sheet, none with another as narrow and low with the same parts."""
        none = np.zeros(0, dtype=np.int64)
        if not several:
            return Rectangles(np.zeros(0, dtype=np.uint64), none, none, none, np.zeros((0, 4), dtype=np.int64))
        every = Rectangles(
            np.concatenate([r.codes for r in several]),
            np.concatenate([r.width for r in several]),
            np.concatenate([r.height for r in several]),
            np.concatenate([r.worth for r in several]),
            np.concatenate([r.made for r in several]),
        )
        space = self.bounds.space
        i = np.searchsorted(space.xs.at, every.width // space.unit_x)
        j = np.searchsorted(space.ys.at, every.height // space.unit_y)
        inside = (i < len(space.xs.at)) & (j < len(space.ys.at))
        i, j = np.minimum(i, len(space.xs.at) - 1), np.minimum(j, len(space.ys.at) - 1)
        room = self.bounds.room[i, j]
        every = every.keep(inside & (room >= 0) & (every.worth >= self.bounds.table[i, j] - room))
        order = np.lexsort((every.height, every.width, every.codes))
        every = every.keep(order)
        group = np.cumsum(np.concatenate([[0], every.codes[1:] != every.codes[:-1]])) if len(order) else none
        falling = every.height - group * (2 * self.room[1] + 1)
        before = np.concatenate([[np.iinfo(np.int64).max], np.minimum.accumulate(falling)[:-1]]) if len(order) else none
        return every.keep(falling < before)

    def _tree(self, levels: list[Rectangles], size: int, index: int) -> Tree:
        """Return the cuts behind a rectangle."""
        axis, first, one, two = (int(v) for v in levels[size].made[index])
        if axis < 0:
            return ("leaf", first)
        return ("xy"[axis], (self._tree(levels, first, one), self._tree(levels, size - first, two)))
