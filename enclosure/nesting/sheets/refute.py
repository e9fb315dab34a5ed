"""Can the parts come out of exactly these sheets, by the relaxation?

For given sheet counts the linear master minimises the area left uncovered. A
dual vector whose cut the counts violate refutes them - and every other vector
that violates the same cut. While the counts stay open, the kind that the
fractional plan over-uses most is carried exactly from then on.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.masters import FloatArray, LinearMaster
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import CountCut, Pricer
from enclosure.nesting.sheets.problem import least_area
from enclosure.nesting.sheets.state import State, make_space


class Refuter:
    """Tests sheet count vectors.

    Args:
        state: Shared knowledge.
        columns: Patterns known, and the cuts to which refutations are added.
        places: Most places of the grids along x and y.
    """

    def __init__(self, state: State, columns: Columns, places: tuple[int, int]) -> None:
        self.state, self.columns, self.places = state, columns, places
        self.space = make_space(state.problem, state.demand, places, True)
        self.counted: tuple[int, ...] = ()
        self.pricer = Pricer(state.problem, self.space, state.demand)
        area = np.array(least_area(state.problem), dtype=np.float64)
        self.weight: FloatArray = area / area.max()
        self.patterns: list[tuple[int, IntArray]] = list(columns.fitting)
        self.known = {(s, u.tobytes()) for s, u in self.patterns}
        self.mix: list[tuple[float, int, IntArray]] = []
        self.master = self._new_master()

    def _new_master(self) -> LinearMaster:
        """Return a master over the patterns that respect the counted demands."""
        master = LinearMaster(self.state.demand, self.state.limits, self.weight)
        counted = list(self.counted)
        self.patterns = [(s, u) for s, u in self.patterns if (u[counted] <= self.state.demand[counted]).all()]
        for stock, used in self.patterns:
            master.add(used, stock, 0.0)
        return master

    def test(self, counts: IntArray, most_work: float, rounds: int = 60) -> bool:
        """Return True when the counts are refuted; widen the counted set while a pricing stays within `most_work`."""
        while True:
            answer = self._linear(counts, rounds)
            if answer is not None or self.state.budget.over():
                return bool(answer)
            if not self._count_more(most_work):
                return False

    def _linear(self, counts: IntArray, rounds: int) -> bool | None:
        """Return True when refuted, False when out of rounds, None when the relaxation can cover everything."""
        self.master.set_limits(counts)
        for _ in range(rounds):
            short, duals, _, mix, steps = self.master.solve()
            self.state.budget.spend(0.3 + steps * 0.01)
            if short <= 1e-7:
                self.mix = [(float(v), *self.patterns[i]) for i, v in enumerate(mix) if v > 1e-7]
                return None
            priced = self.pricer.price(whole_values(self.state, duals))
            self.state.budget.spend(self.pricer.last_work)
            if self._violated(priced.cut, counts):
                self.columns.cuts.append(priced.cut)
                return True
            new = False
            for stock, tree in priced.trees:
                if tree is None or counts[stock] == 0:
                    continue
                used = self.columns.tree_uses(tree)
                self.columns.keep_proper(stock, tree, used)
                key = (stock, used.tobytes())
                if key not in self.known:
                    self.known.add(key)
                    self.patterns.append((stock, used))
                    self.master.add(used, stock, 0.0)
                    new = True
            if not new or self.state.budget.over():
                return False
        return False

    @staticmethod
    def _violated(cut: CountCut, counts: IntArray) -> bool:
        """Return True when the counts violate the cut (exact integers)."""
        return int((cut.worth * counts).sum()) < cut.need

    def _count_more(self, most_work: float) -> bool:
        """Carry one more kind exactly; return False when that would cost too much or nothing is over-used."""
        over = np.zeros(self.state.kinds)
        for value, _, used in self.mix:
            over += value * np.maximum(used - self.state.demand, 0)
        for kind in np.argsort(-over, kind="stable"):
            if over[kind] <= 1e-6:
                return False
            wider = (*self.counted, int(kind))
            pricer = Pricer(self.state.problem, self.space, self.state.demand, wider)
            if pricer.work() <= most_work:
                self.counted, self.pricer = wider, pricer
                self.master = self._new_master()
                return True
        return False
