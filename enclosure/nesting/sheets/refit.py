"""Which pattern within demand lies nearest to one that uses parts too often?

Where parts come in many nearly equal sizes, a pattern that wants a part which is
no longer wanted serves almost as well with the next smaller one in its place. A
tree of joined pieces is walked with the room that each piece has: a leaf stays
when its parts are still wanted, else the most valuable leaf that fits takes its
room; what is left beside it is filled while anything fits. The result keeps to
demand and can be cut; it may have more stages than the tree it comes from.
"""

from __future__ import annotations

from collections import Counter

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.problem import Problem
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.trees import min_size

Fitted = tuple[Tree, int, int]
"""A tree with the width and height that it takes."""


class Refitter:
    """Makes proper patterns of others.

    Args:
        problem: The job in scaled integers.
    """

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.width: IntArray = np.array([x.width for x in problem.leaves], dtype=np.int64)
        self.height: IntArray = np.array([x.height for x in problem.leaves], dtype=np.int64)
        most = max(len(x.parts) for x in problem.leaves)
        rows = [sorted(Counter(x.parts).items()) for x in problem.leaves]
        padded = [row + [(0, 0)] * (most - len(row)) for row in rows]
        self.parts: IntArray = np.array([[part for part, _ in row] for row in padded], dtype=np.int64)
        self.times: IntArray = np.array([[times for _, times in row] for row in padded], dtype=np.int64)
        self.size = (self.width * self.height).astype(np.float64)
        self._left: IntArray = np.zeros(0, dtype=np.int64)
        self._worth: FloatArray = np.zeros(0)
        self._least = (0, 0)

    def refit(self, stock: int, tree: Tree, left: IntArray, values: FloatArray) -> tuple[Tree, IntArray] | None:
        """Return the nearest pattern that uses no more than `left`, and its uses; None when it would be empty.

        Args:
            stock: Which sheet.
            tree: The pattern; it need not fit the sheet.
            left: Copies still wanted of each kind.
            values: Value of each kind, by which substitutes are chosen.
        """
        self._left = left.copy()
        self._worth = np.sum(values[self.parts] * self.times, axis=1) + 1e-9 * self.size
        wanted = self._wanted()
        if not wanted.any():
            return None
        self._least = int(self.width[wanted].min()), int(self.height[wanted].min())
        sheet = self.problem.stocks[stock]
        found = self._beside(self._node(tree, sheet.width, sheet.height), sheet.width, sheet.height)
        return None if found is None else (found[0], left - self._left)

    def _beside(self, kept: Fitted | None, width: int, height: int) -> Fitted | None:
        """Return a tree with what still fits beyond and beside it in a room, the larger rest whole."""
        if kept is None:
            return None
        _, wide, high = kept
        beside, beyond = width - wide, height - high
        rip_first = beside * height >= beyond * width
        for axis in ("y", "x") if rip_first else ("x", "y"):
            if axis == "y" and beyond >= self._least[1]:
                more = self._fill(wide if rip_first else width, beyond)
            elif axis == "x" and beside >= self._least[0]:
                more = self._fill(beside, height if rip_first else high)
            else:
                continue
            if more is not None:
                kept = _joined(axis, [kept, more])
                assert kept is not None
        return kept

    def _node(self, tree: Tree, width: int, height: int) -> Fitted | None:
        """Return the tree refitted into a room."""
        if tree[0] == "leaf":
            return self._leaf(tree[1], width, height)
        axis, children = tree
        room, across = (width, height) if axis == "x" else (height, width)
        side = 0 if axis == "x" else 1
        least = [min_size(child, self.problem)[side] for child in children]
        spare, rest = room - sum(least), room
        kept: list[Fitted] = []
        for child, need in zip(children, least, strict=True):
            length = need + spare if spare >= 0 else min(need, rest)
            if length <= 0:
                continue
            found = self._node(child, *((length, across) if axis == "x" else (across, length)))
            took = 0
            if found is not None:
                kept.append(found)
                took = found[1:][side]
            rest -= took
            spare += need - took
        while rest >= self._least[side]:
            found = self._fill(*((rest, across) if axis == "x" else (across, rest)))
            if found is None:
                break
            kept.append(found)
            rest -= found[1:][side]
        return _joined(axis, kept)

    def _leaf(self, leaf: int, width: int, height: int) -> Fitted | None:
        """Return the leaf itself when it may stay, else what fills its room best."""
        fits = self.width[leaf] <= width and self.height[leaf] <= height
        if fits and (self._left[self.parts[leaf]] >= self.times[leaf]).all():
            return self._take(leaf)
        return self._fill(width, height)

    def _wanted(self) -> NDArray[np.bool_]:
        """Return which leaves use no part more often than it is still wanted."""
        found: NDArray[np.bool_] = np.all(self._left[self.parts] >= self.times, axis=1)
        return found

    def _take(self, leaf: int) -> Fitted:
        for part in self.problem.leaves[leaf].parts:
            self._left[part] -= 1
        return ("leaf", leaf), int(self.width[leaf]), int(self.height[leaf])

    def _fill(self, width: int, height: int) -> Fitted | None:
        """Return the most valuable leaf that fits a room, with what then still fits beside and beyond it."""
        where = np.flatnonzero((self.width <= width) & (self.height <= height) & self._wanted())
        if not len(where):
            return None
        return self._beside(self._take(int(where[self._worth[where].argmax()])), width, height)


def _joined(axis: str, kept: list[Fitted]) -> Fitted | None:
    """Return trees side by side along an axis."""
    if len(kept) < 2:
        return kept[0] if kept else None
    wide, high = [k[1] for k in kept], [k[2] for k in kept]
    size = (sum(wide), max(high)) if axis == "x" else (max(wide), sum(high))
    return ((axis, tuple(k[0] for k in kept)), *size)
