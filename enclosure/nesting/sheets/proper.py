"""Which whole plan lies near the linear one, when every part is wanted only a few times?

The linear mix over proper patterns is solved for what is still wanted, without
the patterns that ask for more of a part than that; pricing adds patterns of the
rest, refitted to it; the patterns used most are cut; and so on. Known patterns
stay, so that a later dive, or one for a part of the plan only, starts richer.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.columns import whole_values
from enclosure.nesting.sheets.masters import FloatArray, LinearMaster
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.refit import Refitter
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State

QUICK = 2
"""Closures of a quick pricing."""
MOST_PATTERNS = 15_000
REFIT_WORK = 0.4


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet of a plan: stock, tree, uses of each kind."""

    stock: int
    tree: Tree
    used: IntArray


@dataclass(frozen=True, slots=True)
class Manner:
    """How a dive goes.

    Args:
        rounds: Pricings at each step.
        sure: Patterns used at least so much by the linear mix are cut at once, beside the most used one.
        noise: Chance in the choice of the most used.
        most: Patterns cut at a step, at most.
    """

    rounds: int
    sure: float = 0.7
    noise: float = 0.0
    most: int = 6


class ProperMaster:
    """Linear mix over proper patterns, and dives in it.

    Args:
        state: Shared knowledge.
        pricer: Over high grids; its patterns are refitted.
        dear: Price of leaving one copy of each kind uncovered.
        seed: Of the random choices.
    """

    def __init__(self, state: State, pricer: Pricer, dear: FloatArray, seed: int = 17) -> None:
        self.state, self.pricer = state, pricer
        self.refitter = Refitter(state.problem)
        self.master = LinearMaster(state.demand, state.limits, dear)
        self.sheets: list[Sheet] = []
        self.uses: NDArray[np.int16] = np.zeros((256, state.kinds), dtype=np.int16)
        self.closed: NDArray[np.bool_] = np.zeros(256, dtype=bool)
        self.generator = np.random.default_rng(seed)
        self._known: set[tuple[int, bytes]] = set()
        self._turn = 0

    def add(self, stock: int, tree: Tree, left: IntArray, values: FloatArray) -> bool:
        """Add the pattern refitted to what is left; return True when it is new."""
        self.state.budget.spend(REFIT_WORK)
        found = self.refitter.refit(stock, tree, left, values)
        if found is None or len(self.sheets) >= MOST_PATTERNS:
            return False
        proper, used = found
        key = (stock, used.tobytes())
        if key in self._known:
            return False
        self._known.add(key)
        count = len(self.sheets)
        if count == len(self.uses):
            self.uses = np.concatenate([self.uses, np.zeros_like(self.uses)])
            self.closed = np.concatenate([self.closed, np.zeros_like(self.closed)])
        self.uses[count] = used
        self.sheets.append(Sheet(stock, proper, used))
        self.master.add(used, stock, float(self.state.prices[stock]))
        return True

    def solve(self) -> tuple[float, FloatArray, FloatArray]:
        """Return linear price, values of the kinds and use of each pattern."""
        price, values, _, mix, steps = self.master.solve()
        self.state.budget.spend(0.3 + steps * 0.02)
        return price, values, mix

    def price(self, values: FloatArray, left: IntArray, more: int = 2) -> int:
        """Add the best patterns at these values, refitted to what is left; return how many are new."""
        wanted = np.where(left > 0, values, 0.0)
        if wanted.max() <= 0:
            return 0
        self._turn += 1
        priced = self.pricer.price(whole_values(self.state, wanted), QUICK, more, "xy"[self._turn % 2])
        self.state.budget.spend(self.pricer.last_work)
        return sum(self.add(stock, tree, left, values) for stock, tree in priced.trees if tree is not None)

    def enrich(self, rounds: int) -> None:
        """Add patterns for the whole demand."""
        _, values, _ = self.solve()
        smooth = values
        for _ in range(rounds):
            smooth = 0.5 * (smooth + values)
            new = sum(self.price(at, self.state.demand, 3) for at in (values, smooth))
            _, values, _ = self.solve()
            if not new or self.state.budget.over():
                break

    def open_only(self, left: IntArray) -> None:
        """Close the patterns that ask for more than is left, open the others."""
        count = len(self.sheets)
        beyond: NDArray[np.bool_] = np.any(self.uses[:count] > left[None, :], axis=1)
        for pattern in np.flatnonzero(beyond != self.closed[:count]):
            top = 0.0 if beyond[pattern] else highspy.kHighsInf
            self.master.solver.changeColBounds(self.state.kinds + int(pattern), 0.0, top)
        self.closed[:count] = beyond

    def dive(self, wanted: IntArray, stock_left: IntArray, manner: Manner, below: float) -> list[Sheet] | None:
        """Return sheets that cover `wanted` for less than `below`, None when the dive finds none.

        Args:
            wanted: Copies wanted of each kind.
            stock_left: Copies of each stock, negative for unlimited.
            manner: How the dive goes.
            below: The price to beat.
        """
        left, stock_left = wanted.copy(), stock_left.copy()
        out: list[Sheet] = []
        price = 0
        while left.any():
            if self.state.budget.over():
                return None
            self.master.set_demand(left)
            self.master.set_limits(stock_left)
            self.open_only(left)
            linear, mix = self._priced(left, manner.rounds)
            if price + linear > below - 1 + 1e-6:
                return None
            before = len(out)
            for pattern, times in self._chosen(mix, manner):
                sheet = self.sheets[pattern]
                inside = sheet.used > 0
                times = min(times, int((left[inside] // sheet.used[inside]).min()))
                if stock_left[sheet.stock] >= 0:
                    times = min(times, int(stock_left[sheet.stock]))
                    stock_left[sheet.stock] -= times
                left -= sheet.used * times
                price += int(self.state.prices[sheet.stock]) * times
                out += [sheet] * times
            if len(out) == before:
                return None
        return out

    def _priced(self, left: IntArray, rounds: int) -> tuple[float, FloatArray]:
        """Return linear price and mix for the rest after some pricing."""
        linear, values, mix = self.solve()
        smooth = values
        for number in range(rounds):
            smooth = 0.5 * (smooth + values)
            if self.price(smooth if number % 2 else values, left):
                linear, values, mix = self.solve()
            elif number % 2:
                break
        return linear, mix

    def _chosen(self, mix: FloatArray, manner: Manner) -> list[tuple[int, int]]:
        """Return patterns to cut now, with their number of sheets."""
        whole = np.flatnonzero(mix > 1 - 1e-6)
        if len(whole):
            return [(int(p), int(mix[p] + 1e-6)) for p in whole]
        some = np.flatnonzero(mix > 1e-6)
        score = mix[some] + manner.noise * self.generator.random(len(some))
        order = some[np.argsort(-score, kind="stable")][: manner.most]
        return [(int(p), 1) for k, p in enumerate(order) if k == 0 or mix[p] > manner.sure]
