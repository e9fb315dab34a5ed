"""Which numbers of sticks of each kind could a cheaper plan have at all?

With several stock lengths and prices the linear program's price lies between
two real ones, and trees of patterns close that gap slowly. So the search goes
over vectors of stick counts, cheapest first. A vector is refuted by a linear
program that cannot place all parts in it: its duals give an inequality (worth
of the sticks >= worth of the parts) that every plan must satisfy and that
refutes many other vectors as well. A vector that is not refuted is filled by
dives, or decided by a whole-number program over all patterns that waste no more
than these sticks have to spare. The first vector filled is a plan of least price.

Sticks that cost nothing are always there in full.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from enclosure.nesting.sticks_dive import Effort, dive
from enclosure.nesting.sticks_price import IntArray, Table
from enclosure.nesting.sticks_problem import Problem
from enclosure.nesting.sticks_search import Search
from enclosure.nesting.sticks_whole import Solution, whole_number

# Vectors kept at once.
MOST_VECTORS = 400_000


class Counts:
    """The vectors of stick counts that could still beat the best plan."""

    def __init__(self, search: Search) -> None:
        self.search = search
        problem = search.problem
        self.priced = [index for index, item in enumerate(problem.bins) if item.price > 0]
        self.prices = np.array([problem.bins[index].price for index in self.priced], dtype=np.int64)
        self.cuts: list[tuple[IntArray, int, IntArray]] = []
        self.filler = _filler(search)
        self.too_many = False

    # --- vectors ----------------------------------------------------------------

    def cut_from(self, worth: IntArray) -> tuple[IntArray, int, IntArray]:
        """Return the inequality that whole worths of all kinds give: worth of sticks, need, worths."""
        search, problem = self.search, self.search.problem
        kinds = np.flatnonzero(worth > 0)
        table = Table(search.sizes[kinds], search.wanted[kinds], worth[kinds], problem.longest)
        search.meter.spend(1 + table.values.size // 256)
        need = sum(int(one) * int(count) for one, count in zip(worth, search.wanted, strict=True))
        best = [
            max(sum(table.best(stretch.capacity) for stretch in version) for version in item.versions)
            for item in problem.bins
        ]
        for index, item in enumerate(problem.bins):
            if item.price == 0:
                need -= best[index] * (item.copies if item.copies is not None else 0)
                if item.copies is None and best[index] > 0:
                    need = -(1 << 61)
        return np.array([best[index] for index in self.priced], dtype=np.int64), need, worth

    def vectors(self) -> IntArray | None:
        """Return all vectors cheaper than the best plan that satisfy the cuts, cheapest first.

        None if there are too many.
        """
        search = self.search
        assert search.price is not None
        most = search.price - 1
        count = len(self.priced)
        total = np.zeros(1, dtype=np.int64)
        rows = np.zeros((1, 0), dtype=np.int64)
        for place in range(count):
            item = search.problem.bins[self.priced[place]]
            price = int(self.prices[place])
            top = most // price
            if item.copies is not None:
                top = min(top, item.copies)
            top = min(top, int(search.wanted.sum()))
            if len(rows) * (top + 1) > 20 * MOST_VECTORS:
                return None
            steps = np.arange(top + 1, dtype=np.int64)
            total = (total[:, None] + steps[None, :] * price).ravel()
            rows = np.column_stack([np.repeat(rows, top + 1, axis=0), np.tile(steps, len(rows))]).astype(np.int64)
            keep = total <= most
            for worths, need, _ in self.cuts:
                keep &= self._can_reach(rows, total, worths, need, place + 1, most)
            total, rows = total[keep], rows[keep]
            if len(rows) > MOST_VECTORS:
                return None
        order = np.lexsort((*rows.T[::-1], total))
        found: IntArray = rows[order]
        return found

    def _can_reach(
        self, rows: IntArray, total: IntArray, worths: IntArray, need: int, done: int, most: int
    ) -> np.ndarray[tuple[int], np.dtype[np.bool_]]:
        """Return which partial vectors can still satisfy a cut within the price, rounding in their favour."""
        lacking = need - rows @ worths[:done]
        if done == len(worths):
            return np.asarray(lacking <= 0)
        rate = float((worths[done:] / self.prices[done:]).max())
        return np.asarray((most - total).astype(float) * rate * (1 + 1e-9) + 1.0 >= lacking)

    # --- deciding ---------------------------------------------------------------

    def run(self, *, dives: int, nodes: int, most: int) -> bool:
        """Go through the vectors, cheapest first; return True when the price is proved.

        Args:
            dives: Dives into each vector.
            nodes: Most tree nodes for each whole-number program.
            most: Most patterns for it.
        """
        search = self.search
        assert search.price is not None
        if not self.cuts and search.root_duals is not None:
            worth, _ = search.scaled(search.root_duals, search.wanted)
            self.cuts += [self.cut_from(worth), self.cut_from(search.sizes)]
        open_rows: IntArray | None = self.vectors()
        if open_rows is None:
            self.too_many = True
            return False
        sure = True
        while len(open_rows):
            vector = open_rows[0]
            price = int(vector @ self.prices)
            if sure:
                search.raise_bound(price)
            if price >= search.price:
                break
            verdict = self._decide(vector, dives=dives, nodes=nodes, most=most)
            if verdict == "filled":
                break
            if verdict == "refuted":
                worths, need, _ = self.cuts[-1]
                open_rows = open_rows[open_rows @ worths >= need]
                if len(open_rows) and np.array_equal(open_rows[0], vector):
                    open_rows = open_rows[1:]
                continue
            if verdict == "open":
                sure = False
            open_rows = open_rows[1:]
        if sure:
            search.raise_bound(search.price)
        return search.proved

    def _decide(self, vector: IntArray, *, dives: int, nodes: int, most: int) -> str:
        """Return "refuted" (with a new cut), "filled", "empty" (no plan) or "open"."""
        filler = self.filler
        limits = filler.limits_for(self.priced, vector)
        solved = filler.generate(filler.wanted, limits, rounds=60, ceiling=1e18)
        if solved is None:
            return "open"
        if solved[0] > filler.tiny:
            worth, _ = filler.scaled(solved[2], filler.wanted)
            cut = self.cut_from(worth)
            if int(vector @ cut[0]) < cut[1]:
                self.cuts.append(cut)
                return "refuted"
        for turn in range(dives):
            filler.price, filler.best = 1, []
            if dive(filler, Effort(rounds=6, skip=turn, tries=1 + turn % 2), limits):
                self._take(filler.best)
                return "filled"
        return self._whole(vector, limits, nodes=nodes, most=most)

    def _whole(self, vector: IntArray, limits: IntArray, *, nodes: int, most: int) -> str:
        """Decide a vector by a whole-number program over all patterns these sticks can afford.

        Together the sticks may fall short of their most by no more than a cut
        leaves to spare, so no single pattern may either.
        """
        filler = self.filler
        columns = [column for column in range(filler.master.columns) if filler.master.slot_of[column] == -1]
        every = np.arange(len(filler.sizes))
        tables = [(self._table(worth), int(vector @ worths) - need) for worths, need, worth in self.cuts]
        tables.sort(key=lambda row: row[1] / max(1, row[0].best(self.search.problem.longest)))
        for index, slot in enumerate(filler.layout.slots):
            copies_row = filler.layout.copies_rows[slot.bin]
            if copies_row >= 0 and limits[copies_row - len(filler.sizes)] <= 0:
                continue
            found = self._affordable(slot.capacity, tables, most)
            if found is None or len(columns) + len(found) > most:
                return "open"
            for counts in found:
                columns.append(filler.column(index, every, counts))
        solution, bound, work = whole_number(
            filler.master, sorted(set(columns)), filler.wanted, limits,
            nodes=nodes, ceiling=0, seconds=filler.meter.seconds_left(),
        )  # fmt: skip
        filler.meter.spend(work)
        if solution is not None:
            self._take(solution)
            return "filled"
        return "empty" if bound >= 1 else "open"

    def _table(self, worth: IntArray) -> Table:
        table = Table(self.filler.sizes, self.filler.wanted, worth, self.search.problem.longest)
        self.search.meter.spend(1 + table.values.size // 256)
        return table

    def _affordable(self, capacity: int, tables: list[tuple[Table, int]], most: int) -> IntArray | None:
        """Return the patterns that fall short of the best by no more than any cut leaves to spare."""
        found: IntArray | None = None
        for table, spare in tables:
            if spare >= 1 << 60:
                continue
            if found is None:
                found = table.at_least(capacity, table.best(capacity) - spare, 30 * most)
            else:
                found = found[found @ table.worth >= table.best(capacity) - spare]
        if found is not None:
            self.search.meter.spend(1 + len(found))
        return found

    def _take(self, solution: Solution) -> None:
        """Give a plan of the filler to the search."""
        filler, master = self.filler.master, self.search.master
        taken: dict[int, int] = {}
        for column, times in solution:
            slot = filler.slot_of[column]
            if slot == -1:
                taken[column] = taken.get(column, 0) + times
                continue
            master.add(slot, filler.counts[column])
            place = master.place(slot, filler.counts[column])
            taken[place] = taken.get(place, 0) + times
        self.search.offer(sorted(taken.items()))


class Filler(Search):
    """A search for any plan within given counts of sticks: the price is the length left over."""

    def limits_for(self, priced: list[int], vector: IntArray) -> IntArray:
        """Return the right-hand sides of the side rows for a vector of counts."""
        limits = self.limits.copy()
        for place, index in enumerate(priced):
            limits[self.layout.copies_rows[index] - len(self.sizes)] = int(vector[place])
        return limits

    def leave_out(self) -> None:
        """Let parts be left over, at the price of their length."""
        self.tiny = 1e-6 * max(1, self.problem.sizes[0])
        for kind, size in enumerate(self.problem.sizes):
            counts = np.zeros(len(self.sizes), dtype=np.int64)
            counts[kind] = 1
            self.master.append(-2, counts, size, ())


def _filler(search: Search) -> Filler:
    problem: Problem = search.problem
    total = int(search.wanted.sum())
    bins = tuple(replace(item, price=0, copies=total if item.copies is None else item.copies) for item in problem.bins)
    filler = Filler(replace(problem, bins=bins), search.meter)
    filler.leave_out()
    for column in range(search.master.columns):
        slot = search.master.slot_of[column]
        if slot >= 0:
            filler.master.add(slot, search.master.counts[column])
    return filler
