"""Which plans come from filling sheet after sheet?

Each sheet is filled round the dearest part still wanted (`strips.py`); afterwards
the values of the parts move towards what their sheets spent on them, so that parts
that met waste come earlier next time (sequential value correction). Several plans
go side by side. The same filling finds patterns that suit given values.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.strips import Filled, Strips
from enclosure.nesting.sheets.trees import Layout

SCALE = float(1 << 20)
FEW = 3
"""Up to so many sheets plans are drawn anew each time; with more, values learn from the plans before."""
THRIFT = (0.4, 0.85)
"""Least and greatest weight of the area spoken for while sheets are filled."""
TOGETHER = 128
"""Partial patterns that grow side by side: plans times width of the beam."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """One filled sheet: stock, uses, cuts, and the share of it that parts take."""

    stock: int
    used: IntArray
    tree: Tree
    share: float


class Builder:
    """Makes plans.

    Args:
        state: Shared knowledge.
        seed: Of the random choices.
    """

    def __init__(self, state: State, seed: int = 17) -> None:
        self.state = state
        self.generator = np.random.default_rng(seed)
        self.ways = (Strips(state, False), Strips(state, True))
        self.area: FloatArray = state.leaf_area_of_kind
        self.sizes: FloatArray = np.array([s.width * s.height for s in state.problem.stocks], dtype=np.float64)
        need = float(self.area @ state.demand)
        parts = float(self.sizes.max()) * float(state.demand.sum()) / need
        self.width = 32 if parts > 15 else 16 if parts > 8 else 8
        self.batch = TOGETHER // self.width
        self.few = need < FEW * self.sizes.max()
        self.firm = 0.6 if self.few else 0.95
        self.values: FloatArray = self.start()
        self.turn = 0

    def start(self) -> FloatArray:
        """Return areas to slightly different powers, a row for each plan."""
        powers = 1.0 + 0.1 * self.generator.standard_normal((self.batch, 1))
        values: FloatArray = SCALE * (self.area / self.area.max())[None, :] ** powers
        return values

    def fresh(self, rounds: int) -> list[list[Sheet]]:
        """Make plans from nothing and offer them; return those that cover everything."""
        state = self.state
        out: list[list[Sheet]] = []
        for _ in range(rounds):
            if state.done():
                break
            wanted = np.repeat(state.demand[None, :], self.batch, axis=0)
            limits = np.repeat(state.limits[None, :], self.batch, axis=0)
            tight = self.few and len(state.prices) > 1 and state.best is not None
            most = np.full(self.batch, state.price - 1) if tight else None
            plans, left = self.lay(self.values, wanted, limits, most)
            whole = [plan for plan, rest in zip(plans, left, strict=True) if not rest.any()]
            for plan in whole:
                self.offer(plan)
            out += whole
            if self.few:
                self.values = self.start() * self.generator.uniform(0.95, 1.05, self.values.shape)
            else:
                self._correct(plans)
        return out

    def _correct(self, plans: list[list[Sheet]]) -> None:
        """Move the values towards what the sheets spent on the parts."""
        for row, plan in enumerate(plans):
            for sheet in plan:
                parts = np.flatnonzero(sheet.used)
                weight = self.generator.uniform(0.1, 0.5)
                target = self.area[parts] / self.area.max() * SCALE / max(sheet.share, 0.05)
                self.values[row, parts] = (1 - weight) * self.values[row, parts] + weight * target
        self.values *= self.generator.uniform(0.97, 1.03, self.values.shape)

    def offer(self, plan: list[Sheet]) -> None:
        """Offer a plan that covers everything; its sheets go into the pool when it is good enough."""
        state = self.state
        price = self.price(plan)
        if state.best is None or price < state.price:
            state.offer([Layout(s.stock, s.tree) for s in plan])
        if price <= state.price + int(state.prices.max()):
            for sheet in plan:
                state.add_pattern(sheet.stock, sheet.tree)

    def price(self, plan: list[Sheet]) -> int:
        """Return what a plan costs."""
        return sum(int(self.state.prices[s.stock]) for s in plan)

    def lay(
        self,
        values: FloatArray,
        wanted: IntArray,
        limits: IntArray,
        most: IntArray | None = None,
        paid: bool = False,
    ) -> tuple[list[list[Sheet]], IntArray]:
        """Fill sheets for every row until all is laid or none is left; return the sheets and what is left.

        Args:
            values: Value of each kind, a row per plan.
            wanted: Parts to lay, a row per plan.
            limits: Copies of each stock, negative for unlimited, a row per plan.
            most: Price that a plan may not pass, a row per plan.
            paid: The sheets are paid already: the fullest comes next, and what fits none of them is left.
        """
        state = self.state
        left, hoped, free = wanted.copy(), wanted.copy(), limits.copy()
        spent = np.zeros(len(values), dtype=np.int64)
        plans: list[list[Sheet]] = [[] for _ in range(len(values))]
        way = self.ways[self.turn % 2]
        self.turn += 1
        whole = np.maximum(np.rint(values), 1.0).astype(np.int64)
        thrift = self.generator.uniform(*THRIFT, len(values)) + 0.15 * self.few
        likes = self.generator.uniform(self.firm, 1.0, (len(values), len(state.prices)))
        rows = np.flatnonzero(left.any(axis=1))
        while len(rows) and not state.budget.over():
            able = free[rows] != 0
            if most is not None:
                able &= spent[rows, None] + state.prices[None, :] <= most[rows, None]
            at, stock = np.nonzero(able)
            if not len(at):
                break
            line = rows[at]
            seeds = np.where(hoped > 0, values * self.generator.uniform(0.9, 1.1, values.shape), -1.0).argmax(axis=1)
            found = way.fill(stock, whole[line], left[line], seeds[line], thrift[line], self.width)
            state.budget.spend(0.3 * len(way.fronts) + 1e-6 * way.nodes)
            best = self._choose(found, line, stock, left, None if paid else likes)
            for row, filled in best.items():
                kind = int(stock[filled.group])
                times = self._times(filled.used, left[row], int(free[row, kind])) if most is None else 1
                share = float(filled.used @ self.area) / self.sizes[kind]
                plans[row].extend([Sheet(kind, filled.used, way.tree(filled), share)] * times)
                left[row] -= filled.used * times
                free[row, kind] -= times * (free[row, kind] > 0)
                spent[row] += int(state.prices[kind]) * times
            hoped = np.minimum(hoped, left)
            if paid:
                for row in set(rows.tolist()) - set(best):
                    hoped[row, seeds[row]] = 0
            rows = np.array([r for r in rows if hoped[r].any() and (paid or r in best)], dtype=np.int64)
        return plans, left

    def _choose(
        self, found: list[Filled], line: IntArray, stock: IntArray, left: IntArray, likes: FloatArray | None
    ) -> dict[int, Filled]:
        """Return the sheet that each plan takes next: by value, price and what it likes, or the fullest."""
        best: dict[int, tuple[float, Filled]] = {}
        for filled in found:
            row, kind = int(line[filled.group]), int(stock[filled.group])
            price = float(self.state.prices[kind])
            if likes is None:
                score = float(filled.used @ self.area) / self.sizes[kind] * self.generator.uniform(0.94, 1.0)
            elif len(self.state.prices) > 1 and (filled.used == left[row]).all():
                score = 1e15 / (price + 1.0)
            else:
                score = filled.worth / max(price, 1e-6) * likes[row, kind] * self.generator.uniform(0.95, 1.0)
            if row not in best or score > best[row][0]:
                best[row] = (score, filled)
        return {row: filled for row, (_, filled) in best.items()}

    @staticmethod
    def _times(used: IntArray, left: IntArray, free: int) -> int:
        """Return how many sheets may be cut alike."""
        held = used > 0
        times = int((left[held] // used[held]).min())
        return times if free < 0 else min(times, free)

    def propose(self, values: FloatArray, left: IntArray, many: int = 3) -> int:
        """Put good patterns at these values into the pool, each round another part; return how many are new.

        Args:
            values: Value of each kind, in money.
            left: Parts free.
            many: Patterns taken of each.
        """
        state = self.state
        top = float(values.max())
        weight = np.where(left > 0, values, 0.0)
        if top <= 0 or not weight.any():
            return 0
        rows = max(6, TOGETHER // (self.width * len(state.prices)))
        number = min(rows, int((weight > 0).sum()))
        seeds = self.generator.choice(state.kinds, number, replace=False, p=weight / weight.sum())
        noisy = values[None, :] * self.generator.uniform(0.92, 1.08, (number, state.kinds))
        noisy[: number // 2] = values
        whole = np.maximum(np.rint(noisy * (SCALE / top)), 1.0).astype(np.int64)
        stocks = np.arange(len(state.prices))
        stock, line = np.repeat(stocks, number), np.tile(np.arange(number), len(stocks))
        way = self.ways[self.turn % 2]
        self.turn += 1
        caps = np.repeat(left[None, :], len(stock), axis=0)
        thrift = self.generator.uniform(*THRIFT, len(stock))
        found = way.fill(stock, whole[line], caps, seeds[line], thrift, self.width, many)
        state.budget.spend(0.3 * len(way.fronts) + 1e-6 * way.nodes)
        new = 0
        for filled in found:
            kind = int(stock[filled.group])
            if float(filled.used @ values) > float(state.prices[kind]) * (1 - 1e-6):
                new += state.add_pattern(kind, way.tree(filled)) is not None
        return new
