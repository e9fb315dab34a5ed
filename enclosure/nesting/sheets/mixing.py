"""Which known patterns together cover the demand at least price?

A linear master over the proper patterns of the pool gives reduced costs: a
pattern whose reduced cost is above the gap between the next better price and the
linear price cannot be in a better mix. The cheapest of the others go into an
integer program; of patterns that the linear mix uses very often all but a few
sheets are taken as they are, so that the effort does not grow with the copies.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.masters import FloatArray, LinearMaster, solve_integer
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout

SPARE = 3
"""Sheets of each pattern of the linear mix that stay open to the integer program."""


class Mixer:
    """Combines the patterns of the pool.

    Args:
        state: Shared knowledge.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        top = float(max(state.prices.max(), 1))
        self.master = LinearMaster(state.demand, state.limits, np.full(state.kinds, 3.0 * top))
        self.done = 0
        self.duals: FloatArray | None = None
        self.step = max(1, int(np.gcd.reduce(state.prices)))
        self._uses = np.zeros((256, state.kinds))
        self._stock = np.zeros(256, dtype=np.int64)

    def linear(self) -> tuple[float, FloatArray, FloatArray]:
        """Return the linear price over the pool, the reduced costs and the column values."""
        pool = self.state.pool
        while len(self._stock) < len(pool):
            self._uses = np.concatenate([self._uses, np.zeros_like(self._uses)])
            self._stock = np.concatenate([self._stock, np.zeros_like(self._stock)])
        for place in range(self.done, len(pool)):
            kind, uses, _ = pool[place]
            self.master.add(uses, kind, float(self.state.prices[kind]))
            self._uses[place], self._stock[place] = uses, kind
        self.done = len(pool)
        price, duals, stock_duals, values, steps = self.master.solve()
        self.state.budget.spend(0.3 + steps * 0.02)
        self.duals = duals
        stock = self._stock[: self.done]
        reduced = self.state.prices[stock] - self._uses[: self.done] @ duals - stock_duals[stock]
        return price, reduced, values

    def mix(self, nodes: int, most: int) -> bool:
        """Offer the best integer combination found; return True when it is better."""
        state = self.state
        if not state.pool or state.done():
            return False
        price, reduced, values = self.linear()
        gap = state.price - self.step - price if state.best is not None else float("inf")
        order = np.argsort(reduced, kind="stable")
        order = order[reduced[order] <= gap + 1e-6][:most]
        if not len(order):
            return False
        used = np.array([state.pool[p][1] for p in order], dtype=np.int64)
        stock = np.array([state.pool[p][0] for p in order], dtype=np.int64)
        finite = np.flatnonzero(state.limits >= 0)
        rows = np.vstack([used.T, (stock[None, :] == finite[:, None]).astype(np.int64)])
        sure = np.maximum(np.floor(values[order] + 1e-6).astype(np.int64) - SPARE, 0)
        demand = np.maximum(state.demand - sure @ used, 0)
        limits = state.limits[finite] - np.array([int(sure[stock == s].sum()) for s in finite], dtype=np.int64)
        low = np.concatenate([demand.astype(np.float64), np.full(len(finite), -np.inf)])
        high = np.concatenate([np.full(state.kinds, np.inf), limits.astype(np.float64)])
        with np.errstate(divide="ignore"):
            need = np.where(used > 0, -(-demand[None, :] // np.maximum(used, 1)), 0).max(axis=1)
        below = None
        if state.best is not None:
            below = float(state.price - int((sure * state.prices[stock]).sum()) - self.step) + 0.5
        answer = solve_integer(
            state.prices[stock].astype(np.float64),
            rows,
            low,
            high,
            need.astype(np.float64),
            nodes,
            seconds=state.budget.left(),
            below=below,
        )
        state.budget.spend(1.0 + answer.steps * 0.05 + 0.03 * len(order))
        if answer.counts is None:
            return False
        counts = answer.counts + sure
        return state.offer(
            [Layout(state.pool[order[i]][0], state.pool[order[i]][2], int(counts[i])) for i in np.flatnonzero(counts)]
        )
