"""How is a plan of least price found, and how is it proved least?

1. Greedy plans give a first price: the best fill for its price, stick after stick.
2. Column generation: the linear program over patterns, new patterns from exact
   knapsacks, until none would lower the price. Every set of duals gives a valid
   lower bound (`sticks_bound`).
3. Dives: take whole numbers of sticks from the linear program, price new
   patterns for what is left, and go on; a dive stops where its own bound shows
   that it cannot beat the best plan.
4. A whole-number program over the patterns known.
5. Closing: every pattern that a better plan could still use is listed (those
   whose reduced cost is within the gap); a whole-number program over them all
   is then the truth.

Work is counted in knapsack cells, simplex iterations and tree nodes, never in
seconds, so that equal limits give equal plans.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil

import numpy as np

from enclosure.nesting.sticks_bound import count_bound
from enclosure.nesting.sticks_master import FloatArray, Layout, Master, lay_out
from enclosure.nesting.sticks_price import IntArray, Table, as_array, exact_best
from enclosure.nesting.sticks_problem import Problem
from enclosure.nesting.sticks_whole import Solution, whole_number

TINY = 1e-6
# New patterns of a slot in one round; more would only make the linear program slow.
MOST_LEADERS = 60
# Rounds of new patterns at one step of a dive while its price is still too high.
MOST_ROUNDS = 60
# Work after which a caller is told again how far the search is, so that it can be cancelled.
BEAT = 100_000


class OutOfWork(Exception):  # noqa: N818
    """The limit of work or time is reached; caught inside the search."""


@dataclass(slots=True)
class Meter:
    """Counts work; a clock only where the caller set seconds."""

    limit: int | None
    deadline: float | None
    done: int = 0
    beat: Callable[[], None] | None = None
    told: int = 0

    def spend(self, work: int) -> None:
        """Count work, stop the search when the limit is passed; `beat` is called now and then."""
        self.done += work
        if self.beat is not None and self.done - self.told >= BEAT:
            self.told = self.done
            self.beat()
        if self.limit is not None and self.done >= self.limit:
            raise OutOfWork
        if self.deadline is not None and time.monotonic() >= self.deadline:
            raise OutOfWork

    def seconds_left(self) -> float:
        """Return the time that is left for a solver call."""
        return 1e9 if self.deadline is None else max(0.01, self.deadline - time.monotonic())


class Search:
    """The state of one search: patterns, best plan, bound."""

    def __init__(
        self, problem: Problem, meter: Meter, progress: Callable[[int | None, int], bool | None] | None = None
    ) -> None:
        self.problem, self.meter, self.progress = problem, meter, progress
        self.layout: Layout = lay_out(problem)
        self.master = Master(problem, self.layout)
        self.sizes = as_array(problem.sizes)
        self.wanted = as_array(problem.wanted)
        self.limits = as_array(self.layout.limits)
        self.best: Solution = []
        self.price: int | None = None
        self.bound = 0
        self.root_price = 0.0
        self.root_duals: FloatArray | None = None
        self.one_price = len({item.price for item in problem.bins if item.price > 0}) == 1
        self.tiny = TINY
        self.draw = np.random.default_rng(7)

    # --- what is known ----------------------------------------------------------

    def offer(self, solution: Solution) -> bool:
        """Keep a solution when it is cheaper than the best; return whether it is."""
        price = sum(self.master.costs[column] * times for column, times in solution)
        if self.price is not None and price >= self.price:
            return False
        self.best, self.price = solution, price
        self.tell()
        return True

    def raise_bound(self, bound: int) -> None:
        """Keep a larger bound."""
        if self.price is not None:
            bound = min(bound, self.price)
        if bound > self.bound:
            self.bound = bound
            self.tell()

    def tell(self) -> None:
        """Tell the caller price and bound; stop when it wants no more."""
        if self.progress is not None and self.progress(self.price, self.bound) is False:
            raise OutOfWork

    @property
    def proved(self) -> bool:
        """Return True when the best plan's price is the bound."""
        return self.price is not None and self.bound >= self.price

    # --- pricing ----------------------------------------------------------------

    def scaled(self, duals: FloatArray, wanted: IntArray) -> tuple[IntArray, int]:
        """Return the duals of the kinds as whole worths, and the scale."""
        worth = np.maximum(duals[: len(wanted)], 0.0)
        total = float(worth @ wanted) + float(worth.max(initial=0.0)) + 1.0
        scale = max(1, int((1 << 57) / total))
        return np.floor(worth * scale).astype(np.int64), scale

    def table(self, worth: IntArray, wanted: IntArray) -> tuple[Table, IntArray]:
        """Return the knapsack table of the kinds still wanted, and which these are."""
        kinds = np.flatnonzero((wanted > 0) & (worth > 0))
        longest = max(slot.capacity for slot in self.layout.slots)
        table = Table(self.sizes[kinds], wanted[kinds], worth[kinds], longest)
        self.meter.spend(1 + table.values.size // 256)
        return table, kinds

    def price_out(self, table: Table, kinds: IntArray, scale: int, duals: FloatArray) -> int:
        """Add patterns that would lower the price; return how many."""
        added = 0
        for index, slot in enumerate(self.layout.slots):
            side = -duals[slot.row] if slot.row >= 0 else 0.0
            hurdle = int((slot.price + max(side, 0.0)) * scale * (1 + 1e-10)) + int(1e-7 * scale) + 1
            if not len(kinds) or table.best(slot.capacity) <= hurdle:
                continue
            if table.coarse > 1:
                found = exact_best(table, slot.capacity, hurdle)
                added += found is not None and self._add(index, kinds, found)
                continue
            leaders, copies = table.leaders(slot.capacity)
            for first in np.argsort(-leaders, kind="stable")[:MOST_LEADERS]:
                if leaders[first] <= hurdle:
                    break
                added += self._add(index, kinds, table.read(slot.capacity, int(first), int(copies[first])))
        return added

    def _add(self, slot: int, kinds: IntArray, counts: IntArray) -> bool:
        full = np.zeros(len(self.sizes), dtype=np.int64)
        full[kinds] = counts
        return self.master.add(slot, full)

    def column(self, slot: int, kinds: IntArray, counts: IntArray) -> int:
        """Return the column of a pattern, added if need be."""
        full = np.zeros(len(self.sizes), dtype=np.int64)
        full[kinds] = counts
        self.master.add(slot, full)
        return self.master.place(slot, full)

    def lagrangian(self, table: Table, kinds: IntArray, wanted: IntArray, limits: IntArray, most: int) -> int:
        """Return a bound on the price of covering `wanted` that no plan can beat."""
        need = sum(int(worth) * int(wanted[kind]) for kind, worth in zip(kinds, table.worth, strict=True))
        prices, copies, worths = [], [], []
        for index, item in enumerate(self.problem.bins):
            best = max(sum(table.best(stretch.capacity) for stretch in version) for version in item.versions)
            prices.append(item.price)
            row = self.layout.copies_rows[index]
            copies.append(None if row < 0 else int(limits[row - len(self.sizes)]))
            worths.append(best)
        return count_bound(prices, copies, worths, need, most)

    # --- column generation ------------------------------------------------------

    def generate(
        self, wanted: IntArray, limits: IntArray, *, rounds: int, ceiling: float
    ) -> tuple[float, FloatArray, FloatArray] | None:
        """Solve the linear program with new patterns; None when it must end above `ceiling`.

        Where all sticks cost the same, any price up to the ceiling will do; else the
        program is brought further down so that its values guide the dive.
        """
        self.master.set_residual(wanted, limits)
        for number in range(MOST_ROUNDS):
            solved = self._solve()
            if solved is None:
                return None
            price, _, duals = solved
            if price <= ceiling + self.tiny and (number >= rounds or self.one_price):
                return solved
            worth, scale = self.scaled(duals, wanted)
            table, kinds = self.table(worth, wanted)
            if not self.price_out(table, kinds, scale, duals):
                return None if price > ceiling + self.tiny else solved
        return self._solve()

    def _solve(self) -> tuple[float, FloatArray, FloatArray] | None:
        before = self.master.iterations
        solved = self.master.solve()
        self.meter.spend(1 + self.master.iterations - before)
        return solved

    def length_bound(self) -> None:
        """Set the bound that counts lengths alone."""
        assert self.price is not None
        table, kinds = self.table(self.sizes, self.wanted)
        self.raise_bound(self.lagrangian(table, kinds, self.wanted, self.limits, self.price))

    def root(self) -> None:
        """Bring the linear program to its end and set the bound."""
        self.master.set_residual(self.wanted, self.limits)
        rounds = 0
        while True:
            solved = self._solve()
            assert solved is not None
            self.root_price, _, duals = solved
            if self.one_price and self.root_price <= self.bound + self.tiny:
                # Nothing below the bound can come, so the duals are as good as they get.
                self.root_duals = duals
                return
            worth, scale = self.scaled(duals, self.wanted)
            table, kinds = self.table(worth, self.wanted)
            added = self.price_out(table, kinds, scale, duals)
            rounds += 1
            if not added or rounds % 8 == 0:
                assert self.price is not None
                self.raise_bound(self.lagrangian(table, kinds, self.wanted, self.limits, self.price))
                if self.proved:
                    return
            if not added:
                self.root_duals = duals
                return

    # --- whole-number programs --------------------------------------------------

    def recombine(self, *, nodes: int) -> bool:
        """Look for a better plan among the patterns known; return whether there is one."""
        assert self.price is not None
        solution, _, work = whole_number(
            self.master, list(range(self.master.columns)), self.wanted, self.limits,
            nodes=nodes, ceiling=self.price - 1, seconds=self.meter.seconds_left(),
        )  # fmt: skip
        self.meter.spend(work)
        return solution is not None and self.offer(solution)

    def close(self, *, nodes: int, most: int) -> bool:
        """List every pattern that a cheaper plan could use and decide; False when there are too many.

        With whole worths, no stick is worth more than `rate` for its price; a
        plan that is cheaper than the best falls short of that by no more than
        `spare` in total, so none of its patterns may fall short by more.
        """
        if self.root_duals is None or self.price is None:
            return False
        worth, _ = self.scaled(self.root_duals, self.wanted)
        kinds = np.arange(len(self.sizes))
        table = Table(self.sizes, self.wanted, worth, self.problem.longest)
        self.meter.spend(1 + table.values.size // 256)
        rate, spare = self._spare(table, worth)
        if spare < 0:
            self.raise_bound(self.price)
            return True
        columns = [column for column in range(self.master.columns) if self.master.slot_of[column] < 0]
        for index, slot in enumerate(self.layout.slots):
            full = rate * slot.price if slot.price else Fraction(table.best(slot.capacity))
            found = table.at_least(slot.capacity, ceil(full - spare), most)
            if found is None or len(found) + len(columns) > most:
                return False
            self.meter.spend(1 + len(found))
            for counts in found:
                columns.append(self.column(index, kinds, counts))
        ceiling = self.price - 1
        solution, bound, work = whole_number(
            self.master, sorted(set(columns)), self.wanted, self.limits,
            nodes=nodes, ceiling=ceiling, seconds=self.meter.seconds_left(),
        )  # fmt: skip
        if solution is not None:
            self.offer(solution)
        self.raise_bound(min(bound, self.price))
        self.meter.spend(work)
        return True

    def _spare(self, table: Table, worth: IntArray) -> tuple[Fraction, Fraction]:
        """Return the largest worth for a price, and what a cheaper plan may fall short of it."""
        assert self.price is not None
        need = sum(int(one) * int(count) for one, count in zip(worth, self.wanted, strict=True))
        rate, free = Fraction(0), 0
        for item in self.problem.bins:
            best = max(sum(table.best(stretch.capacity) for stretch in version) for version in item.versions)
            if item.price > 0:
                rate = max(rate, Fraction(best, item.price))
            else:
                free += best * (item.copies if item.copies is not None else int(self.wanted.sum()))
        return rate, rate * (self.price - 1) + free - need
