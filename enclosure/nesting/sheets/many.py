"""How is a job with very many kinds of parts searched?

1. Column generation for the whole job: the bound, and values of the parts.
2. The patterns met, refitted to demand, as a first linear mix of proper ones; several dives in it.
3. Again and again a part of the best plan, the wasteful sheets first, is taken out and dived for anew.

With very many kinds most are wanted only a few times and many are nearly equal,
so the linear bound is close and its patterns are all but proper.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from enclosure.nesting.sheets.columns import Columns
from enclosure.nesting.sheets.insertion import Inserter
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.proper import Manner, ProperMaster, Sheet
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.trees import Layout

FEWEST_KINDS, FEWEST_PARTS = 30, 120
"""Jobs with fewer kinds or fewer parts are searched otherwise (`search`)."""
MOST_KINDS = 1000
PLACES = (300, 500)
"""Places of a sheet across and along that the relaxation tells apart."""
MANNERS = (
    Manner(rounds=2, sure=0.9, noise=0.2),
    Manner(rounds=3),
    Manner(rounds=1, noise=0.2),
    Manner(rounds=2, sure=2.0),
)
ANEW = Manner(rounds=2, sure=2.0, noise=0.15, most=1)
"""How a part of a plan is dived for."""
TAKEN_OUT = 30
"""Sheets that are taken out of a plan at once, about."""


class ManyKinds:
    """One search.

    Args:
        state: Shared knowledge.
        seed: Of the random choices.
    """

    def __init__(self, state: State, seed: int = 23) -> None:
        self.state = state
        self.columns = Columns(state)
        self.columns.more, self.columns.trees = 2, []
        space = make_space(state.problem, state.demand, PLACES, True)
        self.pricer = Pricer(state.problem, space, state.demand)
        self.proper = ProperMaster(state, self.pricer, self.columns.dear)
        self.values: FloatArray = np.zeros(state.kinds)
        self.generator = np.random.default_rng(seed)

    @staticmethod
    def suits(state: State) -> bool:
        """Return True for jobs with very many kinds and no limit of stages."""
        large = state.kinds > FEWEST_KINDS and int(state.demand.sum()) > FEWEST_PARTS
        return large and state.kinds <= MOST_KINDS and state.problem.stages is None

    def run(self) -> None:
        """Search until proved, spent or cancelled."""
        state = self.state
        Inserter(state).passes(8)
        self.bound(0.6)
        if state.done():
            return
        for stock, tree in self.columns.trees or []:
            self.proper.add(stock, tree, state.demand, self.values)
        for layout in state.best or []:
            self.proper.add(layout.stock, layout.tree, state.demand, self.values)
        self.proper.enrich(40)
        for manner in MANNERS:
            if state.done():
                return
            sheets = self.proper.dive(state.demand, state.limits, manner, self._price())
            if sheets is not None:
                self._offer(sheets)
        while state.best is not None and not state.done():
            self.improve()

    def bound(self, share: float) -> None:
        """Generate columns until `share` of the budget is spent and raise the bound; keep the values of the parts."""
        state = self.state
        for layout in state.best or []:
            self.columns.add(layout.stock, self._uses(layout))
        self.columns.run(self.pricer, 4000, share)
        _, self.values, *_ = self.columns.master.solve()
        self.columns.raise_bound()

    def improve(self) -> None:
        """Take some sheets out of the best plan, the wasteful ones first, and dive for their parts anew."""
        state = self.state
        plan = [
            Sheet(layout.stock, layout.tree, used)
            for layout in state.best or []
            for used in [self._uses(layout)]
            for _ in range(layout.copies)
        ]
        waste = np.array([state.prices[s.stock] - float(s.used @ self.values) for s in plan])
        chance = np.maximum(waste, 0.0) + 0.02 * float(state.prices.max()) + 1e-9
        number = min(len(plan), max(2, int(TAKEN_OUT * self.generator.uniform(0.5, 1.5))))
        out = set(self.generator.choice(len(plan), number, replace=False, p=chance / chance.sum()).tolist())
        kept = [s for k, s in enumerate(plan) if k not in out]
        wanted: IntArray = sum((plan[k].used for k in sorted(out)), np.zeros(state.kinds, dtype=np.int64))
        price = sum(int(state.prices[plan[k].stock]) for k in out)
        free = state.limits.copy()
        for stock, times in Counter(s.stock for s in kept).items():
            if free[stock] >= 0:
                free[stock] -= times
        found = self.proper.dive(wanted, free, ANEW, price)
        state.budget.spend(1.0)
        if found is not None:
            self._offer(kept + found)

    def _offer(self, sheets: list[Sheet]) -> None:
        """Offer a plan; its sheets as they end up are known from then on."""
        state = self.state
        state.budget.spend(0.05 * len(sheets))
        if state.offer([Layout(s.stock, s.tree) for s in sheets]):
            for layout in state.best or []:
                self.proper.add(layout.stock, layout.tree, state.demand, self.values)

    def _price(self) -> float:
        return float(self.state.price) if self.state.best is not None else float("inf")

    def _uses(self, layout: Layout) -> IntArray:
        used = np.zeros(self.state.kinds, dtype=np.int64)
        for part, times in self.state.uses_of(layout.tree).items():
            used[part] = times
        return used
