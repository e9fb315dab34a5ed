"""In which order are bounds, plans and proofs sought?

1. Shelves and the linear relaxation: a first plan, a first bound, values of the parts.
2. Sheets filled at these values, the patterns mixed.
3. Sheet counts below the best price, cheapest first: each is refuted, filled, or
   stays open; the bound is the price of the cheapest that is not refuted.
4. More of the same with finer grids, more kinds counted exactly, other values.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.building import Builder
from enclosure.nesting.sheets.columns import Columns
from enclosure.nesting.sheets.correction import SCALE, Filler
from enclosure.nesting.sheets.counts import list_counts, satisfies
from enclosure.nesting.sheets.diving import Diver
from enclosure.nesting.sheets.insertion import Inserter
from enclosure.nesting.sheets.many import ManyKinds
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.mixing import Mixer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.rebuilding import Rebuilder
from enclosure.nesting.sheets.refute import Refuter
from enclosure.nesting.sheets.repair import Attempt, Repairer
from enclosure.nesting.sheets.shelves import shelf_plan
from enclosure.nesting.sheets.state import MOST_KINDS, State, make_space
from enclosure.nesting.sheets.whole import Prover

MOST_COUNTS = 300
PROOF_WORK = 6000.0
"""Work allowed for one sheet count vector at first; twice as much at each level."""
BATCH = 8
FEW_SHEETS = 12
"""Up to so many sheets a count vector is tested whole sheet by whole sheet."""


def search(state: State) -> None:
    """Search until proved, spent or cancelled; jobs with very many kinds by shelves and insertion only."""
    first = shelf_plan(state.problem)
    if first is not None:
        state.offer(first)
    if state.done():
        return
    if ManyKinds.suits(state):
        ManyKinds(state).run()
        return
    if state.kinds > MOST_KINDS:
        if state.kinds <= 1000:
            Inserter(state).passes(40)
        return
    Search(state).run()


class Search:
    """One search, from the first plan to the last proof.

    Args:
        state: Shared knowledge.
    """

    def __init__(self, state: State) -> None:
        self.state = state
        self.mixer = Mixer(state)
        self.columns = Columns(state)
        self.inserter = Inserter(state)
        self.filler = Filler(state, BATCH)
        self.many = state.kinds > 30
        # With many copies of each kind, laying part after part is slow and no better.
        self.bulk = int(state.demand.sum()) > max(150, 8 * state.kinds)
        suits = state.problem.stages is None and not self.bulk
        self.builder = Builder(state) if suits else None
        self.rebuilder = Rebuilder(state, self.builder) if self.builder is not None else None
        self.diver = Diver(state, self.mixer, self.filler, self.builder)
        self.repairer = Repairer(state, self.filler)
        self.attempts: dict[bytes, list[Attempt]] = {}
        self.values: FloatArray = self.filler.start_values()
        self.turn = 0
        self.pricer: Pricer | None = None
        self.settled = False
        self.refuted: list[IntArray] = []
        self.proof_work = 0.0
        self.fewest = FEW_SHEETS + 1
        self._refuter: tuple[int, Refuter] | None = None
        self._prover: tuple[int, Prover] | None = None

    def run(self) -> None:
        """Search until proved, spent or cancelled."""
        state = self.state
        if self.rebuilder is not None and self.many:
            self._run_many(self.rebuilder)
            return
        self.inserter.passes(0 if self.bulk else 60 if self.many else 12)
        if state.done():
            return
        if self.many and not self.bulk:
            self._recombine(4, 10, 200)
        self.bound_linear(0.55 if self.many else 0.5)
        if state.done():
            return
        if self.bulk:
            self._steer(6, 0)
        elif self.rebuilder is not None:
            self.by_strips(self.rebuilder, 0)
        elif not (self.many or self.is_small()):
            self._fill_first()
        if not state.done() and not self.many:
            self.try_counts(0)
        level = 0
        while not state.done():
            if self.rebuilder is not None:
                self.by_strips(self.rebuilder, level + 1)
            else:
                if not self.bulk:
                    self.inserter.passes(60 if self.many else 20)
                self._recombine(3, 30, 250)
                self._steer(4 if self.many or self.bulk else 3, level)
            if level % 3 == 2 or not (self.many or self.bulk):
                self.fill_round(state.limits, False)
            self.mixer.mix(50, 300)
            if self.many:
                self.bound_linear(0.7 + 0.1 * level)
            if not state.done() and (level > 2 or not self.many):
                self.try_counts(level if not self.many else 0)
            level += 1

    def _run_many(self, rebuilder: Rebuilder) -> None:
        """Search where kinds are many."""
        state = self.state
        self.inserter.passes(12)
        level = 0
        while not state.done():
            self.by_strips(rebuilder, level)
            self.bound_linear(state.budget.used() + (0.3 if level == 0 else 0.15))
            if level % 3 == 2 and not state.done():
                self.fill_round(state.limits, False)
                self.try_counts(0)
            level += 1

    def by_strips(self, rebuilder: Rebuilder, level: int) -> None:
        """Make plans by strips, dive from the linear mix of the patterns met, and rebuild the plans."""
        state, builder = self.state, rebuilder.builder
        first = level == 0
        rounds = (9 if self.many else 4) if builder.few else 3 if self.many else 2
        rebuilder.take(builder.fresh(rounds if first else max(1, rounds - 2)))
        if state.done():
            return
        linear = self.diver.polish(8 if first and self.many else 4)
        for attempt in range(2 if first else 4):
            if not state.done() and linear <= state.price - self.mixer.step + 1e-6:
                self.diver.dive(4, 0.2 * (attempt > 0 or not first))
        if not first:
            rebuilder.rebuild(6, self.mixer.duals)
        if not first or self.many:
            self.mixer.mix(10, 200)

    def _fill_first(self) -> None:
        """Fill a first batch of plans and mix their patterns."""
        self.fill_round(self.state.limits, False)
        self.mixer.mix(10, 150)

    def _steer(self, rounds: int, level: int) -> None:
        """Add proper patterns at the duals, dive with pricing, mix."""
        self.diver.guide = self.columns.values
        linear = self.diver.polish(rounds)
        for attempt in range(-1, 2):
            if not self.state.done() and linear <= self.state.price - 1:
                self.diver.dive(int(attempt >= 0), 0.15 * (level + max(attempt, 0) > 0))
        if level == 0:
            self.mixer.mix(20, 200)

    def _recombine(self, dives: int, nodes: int, most: int) -> None:
        """Dive without pricing, then mix."""
        for attempt in range(dives):
            if not self.state.done():
                self.diver.dive(0, 0.2 * (attempt > 0))
        self.mixer.mix(nodes, most)

    def bound_linear(self, share: float) -> None:
        """Generate columns until `share` of the budget is spent and raise the bound by whole sheet counts."""
        state = self.state
        if self.settled:
            return
        self.columns.add_pool()
        if self.pricer is None:
            space = make_space(state.problem, state.demand, (80, 220), True)
            self.pricer = Pricer(state.problem, space, state.demand)
        self.settled = self.columns.run(self.pricer, 1000, share)
        self.raise_bound()

    def is_small(self) -> bool:
        """Return True when the cheapest sheets that satisfy all cuts are few: proofs then find plans as well."""
        return self.fewest <= FEW_SHEETS and self.prover(0).usable

    def raise_bound(self) -> IntArray | None:
        """Raise the bound to the least price of counts that satisfy all cuts; return these counts."""
        counts = self.columns.raise_bound()
        if counts is not None:
            self.fewest = int(counts.sum())
        return counts

    def fill_round(self, limits: IntArray, fixed: bool) -> list[Attempt]:
        """Fill a batch of plans, offer them and correct the values; return the plans."""
        state = self.state
        values = self.values
        duals = self.mixer.duals if self.turn % 2 else self.columns.values
        if duals is not None and duals.max() > 0:
            noise = self.filler.generator.uniform(0.95, 1.05, (2, state.kinds))
            floor = 0.3 * self.filler.area / self.filler.area.max()
            unit = duals / duals.max()
            values[:2] = np.maximum(np.maximum(unit, floor) * noise * SCALE, 1.0)
        rows = slice(0, 3) if state.kinds > 30 else slice(None)
        self.filler.rounds = 2 + 2 * (state.kinds <= 30 or self.turn % 2)
        layouts, left, values[rows] = self.filler.fill(
            values[rows], limits, "yx"[(self.turn // (1 + (state.kinds > 30))) % 2], fixed
        )
        self.turn += 1
        for plan, rest in zip(layouts, left, strict=True):
            if not rest.any():
                state.offer(plan)
        return self.repairer.attempts(layouts, left)

    def try_counts(self, level: int) -> None:
        """Refute or fill sheet counts below the best price, the cheapest first."""
        state = self.state
        most_work = 12.0 * (4**level)
        below = state.price
        complete = False
        vectors: list[IntArray] = []
        while not complete and below > state.bound:
            vectors, complete = list_counts(
                self.columns.cuts, state.prices, state.limits, state.bound, below, MOST_COUNTS
            )
            state.budget.spend(2.0)
            if not complete:
                below = state.bound + (below - state.bound) // 4
        is_open: list[IntArray] = []
        for counts in vectors:
            price = int((counts * state.prices).sum())
            if state.done() or len(is_open) >= 2 + 2 * (level > 0) or price >= state.price:
                break
            if self.closed(counts):
                continue
            few = int(counts.sum()) <= FEW_SHEETS and self.prover(level).usable
            if self.refuter(0 if few else level).test(counts, 12.0 if few else most_work):
                continue
            if not is_open and not state.budget.over():
                state.raise_bound(min(price, state.price))
            if self.rebuilder is not None and self.rebuilder.settle(counts, 4):
                break
            found = self.prove(counts, level) if few and self.proof_due() else None
            if found is False and state.price > price:
                found = None
            if found is not False and self.rebuilder is None and self.turn == 0 and not state.done():
                self._fill_first()
            if found:
                self.refuted.append(counts)
            elif found is None:
                is_open.append(counts)
        for counts in is_open:
            if state.done() or int((counts * state.prices).sum()) >= state.price:
                break
            if self.rebuilder is not None and self.rebuilder.settle(counts, 8 * (level + 1)):
                break
            key = counts.tobytes()
            known = self.attempts.get(key, []) + self.fill_round(counts, True)
            self.attempts[key] = self.repairer.mend(counts, known, 4 * (level + 1))
            self.mixer.mix(10, 200)
        if complete and not is_open and not state.budget.over():
            state.raise_bound(min(below, state.price))

    def prove(self, counts: IntArray, level: int) -> bool | None:
        """Return True when the counts are refuted, False when a plan was offered, None when open; within limits."""
        budget = self.state.budget
        whole, before = budget.limit, budget.spent
        budget.limit = budget.spent + min(PROOF_WORK * 2**level, 0.5 * (whole - budget.spent))
        try:
            return self.prover(level).test(counts, 120_000 * 3**level)
        finally:
            budget.limit = whole
            self.proof_work += budget.spent - before

    def proof_due(self) -> bool:
        """Return True while proofs have not taken much more work than everything else."""
        return self.proof_work <= 1.5 * (self.state.budget.spent - self.proof_work) + PROOF_WORK / 2

    def refuter(self, level: int) -> Refuter:
        """Return the refuter with the grids of a level."""
        if self._refuter is None or self._refuter[0] != level:
            self._refuter = level, Refuter(self.state, self.columns, (160 * (level + 1), 500 * (level + 1)))
        return self._refuter[1]

    def prover(self, level: int) -> Prover:
        """Return the prover with the grids of a level."""
        if self._prover is None or self._prover[0] != level:
            self._prover = level, Prover(self.state, self.columns, (120 + 40 * level, 250 + 80 * level))
        return self._prover[1]

    def closed(self, counts: IntArray) -> bool:
        """Return True when a cut or an earlier proof refutes the counts."""
        known = any((counts <= refuted).all() for refuted in self.refuted)
        return known or not satisfies(counts, self.columns.cuts)
