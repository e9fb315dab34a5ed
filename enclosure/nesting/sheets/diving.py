"""Which whole plan lies near the linear one? (diving)

The linear mix over proper patterns is solved for what is still wanted; the
patterns it uses most are cut; pricing adds patterns that suit the rest; and so on
until all is covered or the price can no longer beat the best plan.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.building import Builder
from enclosure.nesting.sheets.correction import SCALE, Filler
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.mixing import Mixer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout


class Diver:
    """Dives from the linear mix to whole plans.

    Args:
        state: Shared knowledge.
        mixer: Holds the linear master over the pool.
        filler: Finds proper patterns at given values.
        builder: Finds more of them faster, or None when the job does not suit it.
        seed: Of the random choices.
    """

    def __init__(
        self, state: State, mixer: Mixer, filler: Filler, builder: Builder | None = None, seed: int = 3
    ) -> None:
        self.state, self.mixer, self.filler, self.builder = state, mixer, filler, builder
        self.generator = np.random.default_rng(seed)
        self.turn = 0
        self.batch = 6
        self.guide: FloatArray | None = None

    def dive(self, rounds: int, noise: float) -> bool:
        """Offer one dived plan; return True when it is better than the best."""
        state, master = self.state, self.mixer.master
        left, stock_left = state.demand.copy(), state.limits.copy()
        layouts: list[Layout] = []
        price = 0
        try:
            while left.any():
                if state.budget.over():
                    return False
                master.set_demand(left)
                master.set_limits(stock_left)
                enough = state.price - self.mixer.step - price if state.best is not None else None
                linear, values = self._price(rounds, left, enough)
                if state.best is not None and price + linear > state.price - self.mixer.step + 1e-6:
                    return False
                chosen = self._choose(values, left, stock_left, noise)
                if not chosen:
                    return False
                for pattern, times in chosen:
                    stock, used, tree = state.pool[pattern]
                    left = np.maximum(left - used * times, 0)
                    if stock_left[stock] >= 0:
                        stock_left[stock] -= times
                    price += int(state.prices[stock]) * times
                    layouts.append(Layout(stock, tree, times))
        finally:
            master.set_demand(state.demand)
            master.set_limits(state.limits)
        return state.offer(layouts)

    def polish(self, rounds: int) -> float:
        """Add proper patterns at the duals of the linear mix; return the linear price."""
        return self._price(rounds, self.state.demand)[0]

    def _price(self, rounds: int, left: IntArray, enough: int | None = None) -> tuple[float, FloatArray]:
        """Return linear price and column values for the rest after some pricing, none once the price is low enough."""
        state = self.state
        linear, _, values = self.mixer.linear()
        if self.builder is not None:
            return self._price_strips(rounds, left, linear, values, enough)
        smooth = self.mixer.duals
        for _ in range(rounds):
            duals = self.mixer.duals
            if duals is None or smooth is None or duals.max() <= 0 or state.budget.over():
                break
            smooth = 0.4 * smooth + 0.6 * duals
            noise = self.generator.uniform(0.85, 1.15, (self.batch, len(duals)))
            noise[0] = 1.0
            rows = smooth * noise
            rows[0] = duals
            if self.guide is not None:
                rows[1::2] = 0.5 * (rows[1::2] + self.guide * noise[1::2])
            rows *= SCALE / rows.max()
            self.turn += 1
            before = len(state.pool)
            self.filler.rounds = 2 + (self.turn % 4 == 0)
            self.filler.propose(rows, np.repeat(left[None, :], self.batch, axis=0), "xy"[self.turn % 2])
            if len(state.pool) == before and self.turn % 4 == 0:
                break
            linear, _, values = self.mixer.linear()
        return linear, values

    def _price_strips(
        self, rounds: int, left: IntArray, linear: float, values: FloatArray, enough: int | None
    ) -> tuple[float, FloatArray]:
        """Return linear price and column values after pricing by strips, until nothing new is found twice."""
        assert self.builder is not None
        vain = 0
        for _ in range(rounds):
            duals = self.mixer.duals
            if duals is None or vain > 1 or self.state.budget.over():
                break
            if enough is not None and linear <= enough + 1e-6:
                break
            vain = 0 if self.builder.propose(duals, left) else vain + 1
            if not vain:
                linear, _, values = self.mixer.linear()
        return linear, values

    def _choose(self, values: FloatArray, left: IntArray, stock_left: IntArray, noise: float) -> list[tuple[int, int]]:
        """Return patterns to cut now, with their number of sheets."""
        pool = self.state.pool
        whole = [(int(p), int(values[p] + 1e-6)) for p in np.flatnonzero(values > 1 - 1e-6)]
        if whole:
            return whole
        some = np.flatnonzero(values > 1e-6)
        if not len(some):
            return []
        score = values[some] + noise * self.generator.random(len(some))
        rest = left.copy()
        chosen: list[tuple[int, int]] = []
        for index in np.argsort(-score, kind="stable"):
            pattern = int(some[index])
            stock, used, _ = pool[pattern]
            if chosen and (score[index] < 0.7 or (used > rest).any()):
                continue
            if stock_left[stock] == 0:
                continue
            chosen.append((pattern, 1))
            rest = np.maximum(rest - used, 0)
            if stock_left[stock] > 0:
                break
        return chosen
