"""Which plans come from laying one part after another into what is left?

Every open sheet is a set of free rectangles. The next part takes the free
rectangle that it fits best; what is left of that is divided by one cut into two
free rectangles. Order, measure of fit and direction of the cut are drawn anew
for every pass. Fast, and good where few parts go on a sheet.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np

from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout

Slot = list[Any]
"""A mutable node: [] while free, ["leaf", i] or ["x" | "y", slot, slot] later."""

MOST_PARTS = 1500

ORDERS: tuple[Callable[[float, float], float], ...] = (
    lambda w, h: w * h,
    lambda w, h: h + 1e-3 * w,
    lambda w, h: w + 1e-3 * h,
    lambda w, h: max(w, h) + 1e-3 * min(w, h),
    lambda w, h: w + h,
    lambda w, h: min(w, h) + 1e-3 * max(w, h),
)


class Inserter:
    """Makes plans by insertion.

    Args:
        state: Shared knowledge.
        seed: Of the random choices.
    """

    def __init__(self, state: State, seed: int = 5) -> None:
        self.state = state
        self.generator = np.random.default_rng(seed)
        self.turn = 0
        leaves = state.problem.leaves
        self.choices: list[list[int]] = [[] for _ in range(state.kinds)]
        for index, leaf in enumerate(leaves):
            if len(leaf.parts) == 1:
                self.choices[leaf.parts[0]].append(index)
        self.first = [leaves[c[0]] for c in self.choices]
        self.items = np.repeat(np.arange(state.kinds), state.demand) if self.usable() else np.zeros(0, np.int64)
        scale = max(max(x.width, x.height) for x in leaves)
        self.keys = np.array([[f(x.width / scale, x.height / scale) for x in self.first] for f in ORDERS])
        self.late = np.ones(state.kinds)

    def usable(self) -> bool:
        """Return True when the job suits: stages unlimited, not too many parts."""
        return self.state.problem.stages is None and int(self.state.demand.sum()) <= MOST_PARTS

    def passes(self, count: int) -> None:
        """Make plans, offer them; good sheets go into the pool."""
        if not self.usable():
            return
        for _ in range(count):
            if self.state.done():
                return
            self._pass()

    def _pass(self) -> None:
        """Make one plan."""
        state, number = self.state, self.turn
        self.turn += 1
        base = self.keys[number % len(ORDERS)] * self.late
        spread = 0.0 if number < 12 else self.generator.choice([0.05, 0.15, 0.3])
        key = base[self.items] * (1.0 + spread * self.generator.standard_normal(len(self.items)))
        order = self.items[np.argsort(-key, kind="stable")]
        made = _Pass(state, self.choices, self.generator, number)
        if not made.run(order):
            return
        layouts = made.layouts()
        state.budget.spend(0.03 * len(order))
        price = sum(int(state.prices[x.stock]) * x.copies for x in layouts)
        better = state.offer(layouts)
        slack = max(int(state.prices.max()), 1)
        if better or (price <= state.price + slack and len(state.pool) < 2500):
            for layout in layouts:
                state.add_pattern(layout.stock, layout.tree)
        if number >= 12:
            last = layouts[-1]
            for part in state.uses_of(last.tree):
                self.late[part] *= 1.05
            self.late /= self.late.mean()


class _Pass:
    """One plan in the making: free rectangles of all open sheets as arrays."""

    def __init__(self, state: State, choices: list[list[int]], generator: np.random.Generator, number: int) -> None:
        self.state, self.choices, self.generator = state, choices, generator
        self.fit = number % 3 if number < 12 else int(generator.integers(0, 3))
        self.split = (number // 3) % 2 if number < 12 else int(generator.integers(0, 3))
        self.wide = np.zeros(256, dtype=np.int64)
        self.high = np.zeros(256, dtype=np.int64)
        self.slots: list[Slot] = []
        self.sheets: list[tuple[int, Slot]] = []
        self.stock_left = state.limits.copy()
        for stock in np.flatnonzero((state.prices == 0) & (state.limits > 0)):
            for _ in range(int(state.limits[stock])):
                self.open(int(stock))

    def run(self, order: IntArray) -> bool:
        """Lay the parts in this order; return False when the stock runs out."""
        leaves = self.state.problem.leaves
        for kind in order:
            best: tuple[float, int, int] | None = None
            count = len(self.slots)
            wide, high = self.wide[:count], self.high[:count]
            for leaf in self.choices[kind]:
                x = leaves[leaf]
                where = np.flatnonzero((wide >= x.width) & (high >= x.height))
                if len(where):
                    score = self._score(wide[where] - x.width, high[where] - x.height, wide[where] * high[where])
                    pick = int(score.argmin())
                    if best is None or score[pick] < best[0]:
                        best = (float(score[pick]), int(where[pick]), leaf)
            if best is None:
                leaf = self._new_sheet(int(kind))
                if leaf < 0:
                    return False
                best = (0.0, len(self.slots) - 1, leaf)
            self._place(best[1], best[2])
        return True

    def _score(self, across: IntArray, up: IntArray, area: IntArray) -> IntArray:
        """Return how badly a part fits: area left, or the short or long side left."""
        if self.fit == 0:
            return area
        if self.fit == 1:
            return np.minimum(across, up)
        return np.maximum(across, up)

    def _new_sheet(self, kind: int) -> int:
        """Open the sheet with the least price per area that takes the part; return the leaf, -1 when none does."""
        state, problem = self.state, self.state.problem
        best: tuple[float, int, int] | None = None
        for leaf in self.choices[kind]:
            for stock, sheet in enumerate(problem.stocks):
                x = problem.leaves[leaf]
                if self.stock_left[stock] == 0 or x.width > sheet.width or x.height > sheet.height:
                    continue
                rate = float(state.prices[stock]) / (sheet.width * sheet.height) * self.generator.uniform(1, 1.15)
                if best is None or rate < best[0]:
                    best = (rate, stock, leaf)
        if best is None:
            return -1
        self.open(best[1])
        return best[2]

    def open(self, stock: int) -> None:
        """Open one sheet of that stock."""
        sheet = self.state.problem.stocks[stock]
        if self.stock_left[stock] > 0:
            self.stock_left[stock] -= 1
        slot: Slot = []
        self.sheets.append((stock, slot))
        self._free(slot, sheet.width, sheet.height)

    def _free(self, slot: Slot, width: int, height: int) -> None:
        """Add a free rectangle."""
        count = len(self.slots)
        if count == len(self.wide):
            self.wide = np.concatenate([self.wide, np.zeros_like(self.wide)])
            self.high = np.concatenate([self.high, np.zeros_like(self.high)])
        self.wide[count], self.high[count] = width, height
        self.slots.append(slot)

    def _place(self, place: int, leaf: int) -> None:
        """Lay a leaf into a free rectangle and divide what is left."""
        x = self.state.problem.leaves[leaf]
        slot, width, height = self.slots[place], int(self.wide[place]), int(self.high[place])
        self.wide[place] = self.high[place] = 0
        across, up = width - x.width, height - x.height
        if self.split == 0:
            rip = across >= up
        elif self.split == 1:
            rip = across < up
        else:
            rip = max(across * height, x.width * up) >= max(up * width, x.height * across)
        part: Slot = ["leaf", leaf]
        beside: Slot = []
        beyond: Slot = []
        if rip:
            slot.extend(["x", ["y", part, beyond], beside])
            sizes = ((beside, across, height), (beyond, x.width, up))
        else:
            slot.extend(["y", ["x", part, beside], beyond])
            sizes = ((beside, across, x.height), (beyond, width, up))
        for rest, wide, high in sizes:
            if wide > 0 and high > 0:
                self._free(rest, wide, high)

    def layouts(self) -> list[Layout]:
        """Return the sheets in use."""
        out = []
        for stock, slot in self.sheets:
            tree = _frozen(slot)
            if tree is not None:
                out.append(Layout(stock, tree))
        return out


def _frozen(slot: Slot) -> Tree | None:
    """Return the tree of a slot without what stayed free."""
    if not slot:
        return None
    if slot[0] == "leaf":
        return ("leaf", slot[1])
    children = [c for c in (_frozen(slot[1]), _frozen(slot[2])) if c is not None]
    if not children:
        return None
    return children[0] if len(children) == 1 else (slot[0], tuple(children))
