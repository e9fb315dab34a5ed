"""How many times over could given sheets yield the parts?

A linear program over patterns, its answer bounded from above by pricing: at any
values of the parts the sheets are worth at most so many times the demand. Less
than once: these sheets cannot hold the parts.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np

from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.masters import FloatArray, simplex_rows
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.state import State

CLOSE = 5e-4
"""The search for values ends when the bound is within so much of the linear answer."""


class StretchMaster:
    """The linear program over known patterns.

    Args:
        demand: Copies wanted of each kind.
        counts: Sheets of each stock.
    """

    def __init__(self, demand: IntArray, counts: IntArray) -> None:
        self.kinds = len(demand)
        self.solver = simplex_rows(np.zeros(self.kinds), counts)
        rows = np.arange(self.kinds, dtype=np.int32)
        self.solver.addCol(-1.0, 0.0, 100.0, self.kinds, rows, -demand.astype(np.float64))

    def add(self, stocks: IntArray, uses: IntArray) -> None:
        """Add patterns: the stock and the uses of each kind, a row each."""
        table = np.zeros((len(uses), self.solver.getNumRow()), dtype=np.float64)
        table[:, : self.kinds] = uses
        table[np.arange(len(uses)), self.kinds + stocks] = 1.0
        rows, index = np.nonzero(table)
        starts = np.searchsorted(rows, np.arange(len(uses))).astype(np.int32)
        zero, top = np.zeros(len(uses)), np.full(len(uses), highspy.kHighsInf)
        self.solver.addCols(
            len(uses), zero, zero, top, len(index), starts, index.astype(np.int32), table[rows, index]
        )

    def solve(self) -> tuple[float, FloatArray, int]:
        """Return how many times over, the values of the kinds, and simplex steps."""
        self.solver.run()
        info = self.solver.getInfo()
        dual = np.array(self.solver.getSolution().row_dual[: self.kinds], dtype=np.float64)
        return -float(info.objective_function_value), np.maximum(dual, 0.0), int(max(info.simplex_iteration_count, 0))


@dataclass(frozen=True, slots=True)
class Sharp:
    """Values of the kinds, and what the sheets are worth at them as a multiple of the demand (1 or more)."""

    values: FloatArray
    times: float


class Stretcher:
    """Seeks the values of the parts at which given sheets are worth least beside a demand.

    Args:
        state: Shared knowledge.
        columns: Patterns known, and the cuts to which refutations of the job's own demand are added.
        pricer: Prices sheets for that demand.
        counts: Sheets of each stock.
    """

    def __init__(self, state: State, columns: Columns, pricer: Pricer, counts: IntArray) -> None:
        self.state, self.columns, self.pricer, self.counts = state, columns, pricer, counts
        self.master = StretchMaster(pricer.demand, counts)
        fitting = [(s, u) for s, u in columns.fitting if counts[s] > 0]
        self.known = {(s, u.tobytes()) for s, u in fitting}
        if fitting:
            self.master.add(np.array([s for s, _ in fitting]), np.array([u for _, u in fitting]))

    def run(self, rounds: int = 60) -> Sharp | None:
        """Return the sharpest values found, None when the sheets are worth less than the demand."""
        sharp: Sharp | None = None
        start = self.columns.values
        if start is not None and (whole_values(self.state, start) * self.pricer.demand).any():
            worth, _ = self._price(start)
            if worth < 1.0:
                return None
            sharp = Sharp(start, worth)
        for _ in range(rounds):
            times, duals, steps = self.master.solve()
            self.state.budget.spend(0.3 + 0.01 * steps)
            if sharp is not None and (sharp.times <= times + CLOSE or self.state.budget.over()):
                break
            trials = [duals] if sharp is None else [0.5 * (_unit(duals) + _unit(sharp.values)), duals]
            new = False
            for values in trials:
                worth, added = self._price(values)
                if worth < 1.0:
                    return None
                if sharp is None or worth < sharp.times:
                    sharp = Sharp(values, worth)
                new = new or added
                if added:
                    break
            if not new:
                break
        return sharp

    def _price(self, values: FloatArray) -> tuple[float, bool]:
        """Return what the sheets are worth as a multiple of the demand, and whether a new pattern was found."""
        priced = self.pricer.price(whole_values(self.state, values))
        self.state.budget.spend(self.pricer.last_work)
        worth = int((priced.cut.worth * self.counts).sum())
        if self.pricer.demand is self.state.demand and worth < priced.cut.need:
            self.columns.cuts.append(priced.cut)
        new = False
        for stock, tree in priced.trees:
            if tree is None or self.counts[stock] == 0:
                continue
            used = self.columns.tree_uses(tree)
            self.columns.keep_proper(stock, tree, used)
            if (stock, used.tobytes()) not in self.known:
                self.known.add((stock, used.tobytes()))
                self.master.add(np.array([stock]), used[None, :])
                new = True
        # Not a float comparison of near equals: exact integers decide what counts as less than once.
        return (worth / priced.cut.need if worth >= priced.cut.need else 0.0), new


def _unit(values: FloatArray) -> FloatArray:
    """Return the values scaled to a sum of one."""
    scaled: FloatArray = values / max(float(values.sum()), 1e-300)
    return scaled
