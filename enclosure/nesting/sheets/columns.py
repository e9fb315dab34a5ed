"""Which values of the parts bound the price best? (column generation)

The linear master mixes patterns; its duals value the parts; the pricer finds
what a sheet is worth at these values. Every pricing leaves a valid cut on sheet
counts, whatever the duals were. Duals are smoothed towards the best values so
far, and rounded down to integers before use.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from enclosure.errors import ShortageError
from enclosure.nesting.sheets.counts import fractional_bound, integer_bound
from enclosure.nesting.sheets.masters import FloatArray, LinearMaster
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import CountCut, Priced, Pricer
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import drop_surplus, min_size, part_counts

TABLE_TOP = float(1 << 29)


def whole_values(state: State, values: FloatArray) -> IntArray:
    """Return the values as integers, scaled so that no table entry can pass `TABLE_TOP`."""
    rate = float((values / state.leaf_area_of_kind).max())
    area = max(s.width * s.height for s in state.problem.stocks)
    return np.floor(values * (TABLE_TOP / max(rate * area, 1e-9)) + 1e-6).astype(np.int64)


class Columns:
    """Linear master, cuts and patterns found by pricing.

    Args:
        state: Shared knowledge.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        top = float(max(state.prices.max(), 1))
        self.dear: FloatArray = np.full(state.kinds, 3.0 * top)
        self.master = LinearMaster(state.demand, state.limits, self.dear)
        self.in_master: list[tuple[int, IntArray]] = []
        self.fitting: list[tuple[int, IntArray]] = []
        self.trees: list[tuple[int, Tree]] | None = None
        """When a list, the patterns priced are kept here as they are, and not as proper ones in the pool."""
        self._known: set[tuple[int, bytes]] = set()
        self.cuts: list[CountCut] = []
        self.values: FloatArray | None = None
        self.lagrange = -1.0
        self.quick = 2
        self.more = 0
        self.often = 5
        self.turn = False
        self.linear = 0.0
        self.mix: FloatArray = np.zeros(0)
        self.overused: Counter[int] = Counter()

    def raise_bound(self) -> IntArray | None:
        """Raise the bound to the least price of sheet counts that satisfy all cuts; return these counts.

        Raises:
            ShortageError: No counts of the sheets in stock satisfy them.
        """
        state = self.state
        bound, work, counts = integer_bound(self.cuts, state.prices, state.limits)
        state.budget.spend(0.05 * work)
        if bound is None:
            raise ShortageError(
                "the stock is too small for the parts: all the sheets in stock cannot hold them",
                "add sheets or offcuts to your stock file, or let a sheet kind be bought without limit",
            )
        state.raise_bound(bound)
        return counts

    def add(self, stock: int, used: IntArray, fits: bool = True) -> bool:
        """Add a column when it is new; say whether it fits its sheet in truth and not by rounding only."""
        key = (stock, used.tobytes())
        if key in self._known:
            return False
        self._known.add(key)
        self.master.add(used, stock, float(self.state.prices[stock]))
        self.in_master.append((stock, used))
        if fits:
            self.fitting.append((stock, used))
        return True

    def add_pool(self) -> None:
        """Add every pattern of the pool."""
        for stock, used, _ in self.state.pool:
            self.add(stock, used)

    def price(self, pricer: Pricer, values: FloatArray) -> Priced:
        """Price at float values; keep the cut, put readable patterns into master and pool."""
        whole = whole_values(self.state, values)
        priced = pricer.price(whole, None, self.more)
        self.state.budget.spend(pricer.last_work)
        self.cuts.append(priced.cut)
        found = fractional_bound(priced.cut, self.state.prices, self.state.limits)
        if found > self.lagrange:
            self.lagrange, self.values = found, values.copy()
        return priced

    def take(self, priced: Priced) -> bool:
        """Add the patterns of a pricing; return True when one is new."""
        new = False
        for stock, tree in priced.trees:
            if tree is None:
                continue
            used = self.tree_uses(tree)
            fresh = self.add(stock, used, self.fits(stock, tree))
            new = new or fresh
            if self.trees is None:
                self.keep_proper(stock, tree, used)
            elif fresh:
                self.trees.append((stock, tree))
        return new

    def tree_uses(self, tree: Tree) -> IntArray:
        """Return how often each kind is in a tree."""
        used = np.zeros(self.state.kinds, dtype=np.int64)
        for part, times in part_counts(tree, self.state.problem).items():
            used[part] = times
        return used

    def fits(self, stock: int, tree: Tree) -> bool:
        """Return True when the tree can be cut from the sheet."""
        width, height = min_size(tree, self.state.problem)
        sheet = self.state.problem.stocks[stock]
        return width <= sheet.width and height <= sheet.height

    def keep_proper(self, stock: int, tree: Tree, used: IntArray) -> None:
        """Put a pattern into pool and master, without the parts beyond demand."""
        over = np.flatnonzero(used > self.state.demand)
        proper: Tree | None = tree
        if len(over):
            self.overused.update(over.tolist())
            proper = drop_surplus(tree, Counter(dict(enumerate(self.state.problem.demand))), self.state.problem)
        if proper is None:
            return
        if not self.fits(stock, proper):
            return
        uses = self.state.add_pattern(stock, proper)
        if uses is not None:
            self.add(stock, uses)

    def _rounds_up_alike(self) -> bool:
        """Return True when, with one kind of sheet, bound and linear price round up to the same count."""
        if len(self.state.prices) > 1:
            return False
        each = max(float(self.state.prices[0]), 1.0)
        return bool(np.ceil(self.lagrange / each - 1e-6) >= np.ceil(self.linear / each - 1e-6))

    def run(self, pricer: Pricer, rounds: int, share: float = 1.0, smooth: float = 0.6) -> bool:
        """Generate columns; return True when the master is proved optimal for the relaxation.

        Most rounds price with few closures, which finds columns but no bound; the full
        pricing comes when these find nothing, and every eighth round.
        """
        if self.values is None:
            self.take(self.price(pricer, np.sqrt(self.state.leaf_area_of_kind) ** 2.1))
        quick_left = self.often
        for _ in range(rounds):
            if self.state.budget.over(share):
                return False
            self.linear, duals, _, self.mix, steps = self.master.solve()
            self.state.budget.spend(0.3 + steps * 0.01)
            if self.lagrange >= self.linear * (1 - 1e-7) - 1e-7 or self._rounds_up_alike():
                return True
            values = duals
            if self.values is not None and smooth > 0:
                values = smooth * self.values + (1 - smooth) * duals
            if quick_left > 0:
                quick_left -= 1
                self.turn = not self.turn
                first = "x" if self.turn else "y"
                priced = pricer.price(whole_values(self.state, values), self.quick, self.more, first)
                self.state.budget.spend(pricer.last_work)
                if self.take(priced):
                    continue
            quick_left = self.often
            new = self.take(self.price(pricer, values))
            if not new and self.values is not None and smooth > 0:
                new = self.take(self.price(pricer, duals))
            if not new:
                return True
        return False
