"""Can the parts come out of exactly these sheets? (whole sheet by whole sheet)

1. Values of the parts are sought at which the sheets are worth as little as
   possible beside the demand (`stretch.py`). Worth less than it: refuted.
2. Every multiset of parts that can be cut from a sheet without losing more than so
   much value is listed (`enumeration.py`), little at first. The best of a stock says
   what a sheet of it is worth in truth: the sheets then exceed the demand by a
   smaller slack, all that a plan may lose, or do not reach it: refuted.
3. A plan is sought among sheets listed, and others of two listed pieces (`remainder.py`).
4. Once all is listed that a plan can be made of, the linear program over the list
   gives sharper values; what no longer reaches them is struck. Choices of listed
   sheets that make up the demand exactly are sought from both ends (`covering.py`):
   none: refuted.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.covering import Cover
from enclosure.nesting.sheets.enumeration import Enumerator, Found
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.remainder import Remainder
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.stretch import CLOSE, Sharp, Stretcher, StretchMaster
from enclosure.nesting.sheets.trees import Layout

FLOOR = 0.02
"""Least share of its own area's value that every kind keeps, lest the list hold it in any number."""
ENTIRE = 3
"""So many times more rectangles may be kept for the entire list, which proves."""
FIRST = 0.01
"""Share of its worth that a sheet may lose in the first list."""
MORE = 8
"""About so many times more rectangles are listed each time."""
FEW = 3
"""Sheets left to be tested by themselves when a plan of two more or above is begun with listed ones."""
BEGINNINGS = 3
WIDE = 2
"""So many times more may be lost by a sheet made of two listed rectangles."""


@dataclass(frozen=True, slots=True)
class Listed:
    """Sheets that a plan may be made of, a row each: stock, uses, loss, rectangle; and what all may lose together."""

    stock: IntArray
    uses: IntArray
    loss: IntArray
    number: IntArray
    slack: int
    top: IntArray

    def keep(self, which: IntArray) -> Listed:
        """Return some of them."""
        return Listed(
            self.stock[which], self.uses[which], self.loss[which], self.number[which], self.slack, self.top
        )


class Prover:
    """Tests sheet count vectors one by one.

    Args:
        state: Shared knowledge.
        columns: Patterns known, and the cuts to which refutations are added.
        places: Most places of the grids along x and y.
    """

    def __init__(self, state: State, columns: Columns, places: tuple[int, int]) -> None:
        self.state, self.columns, self.places = state, columns, places
        self.pricer = Pricer(state.problem, make_space(state.problem, state.demand, places, True), state.demand)
        self.enumerator = Enumerator(state, self.pricer)
        self.usable = self.enumerator.usable()

    def test(self, counts: IntArray, most: int) -> bool | None:
        """Return True when the counts are refuted, False when a plan was found (and offered), None when open.

        Args:
            counts: Sheets of each stock.
            most: Most rectangles kept while listing.
        """
        if not self.usable:
            return None
        sharp = Stretcher(self.state, self.columns, self.pricer, counts).run()
        if sharp is None:
            return True
        own = _Test(self.state, self.enumerator, counts, sharp)
        several = int(counts.sum()) > FEW + 1
        for share in (MORE, 1) if several else (1,):
            answer = own.run(most // share)
            if answer is not None or self.state.budget.over():
                return answer
            if several and any(self._completed(*some, most // MORE) for some in own.beginnings()):
                return False
        return None

    def _completed(self, left: IntArray, counts: IntArray, begun: list[Layout], most: int) -> bool:
        """Return True when a plan was offered that begins with the sheets `begun`: what is left is a smaller job."""
        if self.state.budget.over():
            return False
        if not left.any():
            return self.state.offer(begun)
        pricer = Pricer(self.state.problem, make_space(self.state.problem, left, self.places, True), left)
        sharp = Stretcher(self.state, self.columns, pricer, counts).run()
        if sharp is None:
            return False
        return _Test(self.state, Enumerator(self.state, pricer), counts, sharp, begun).run(most) is False


class _Test:
    """Tests one sheet count vector.

    Args:
        state: Shared knowledge.
        enumerator: Lists sheets.
        counts: Sheets of each stock.
        sharp: Values of the kinds to start from.
        begun: Sheets that a plan has besides.
    """

    def __init__(
        self, state: State, enumerator: Enumerator, counts: IntArray, sharp: Sharp, begun: list[Layout] | None = None
    ) -> None:
        self.state, self.enumerator, self.counts, self.begun = state, enumerator, counts, begun or []
        self.demand = enumerator.pricer.demand
        rate = float(sharp.values @ self.demand) / float(state.leaf_area_of_kind @ self.demand)
        self.values: FloatArray = np.maximum(sharp.values, FLOOR * rate * state.leaf_area_of_kind)
        self.whole = whole_values(state, self.values)
        self.table = enumerator.pricer.closed_table(self.whole)
        self.worth = np.array([self.table[end] for end in enumerator.pricer.ends])
        self.spare = int((self.worth * counts).sum()) - int((self.whole * self.demand).sum())
        self.lose, self.last, self.kept, self.growth = int(float(self.worth.max()) * FIRST), 1, 0, 4.0
        self.latest: Listed | None = None

    def run(self, most: int) -> bool | None:
        """Return True when refuted, False when a plan was offered, None when open; goes on where it stopped before.

        Args:
            most: Most rectangles kept while listing.
        """
        need = int((self.whole * self.demand).sum())
        stocks = np.flatnonzero(self.counts > 0)
        enumerator = self.enumerator
        while self.spare >= 0:
            lose = min(self.lose, self.spare)
            limit = ENTIRE * most if lose == self.spare else most
            found = enumerator.run(self.table, self.whole, lose, stocks.tolist(), limit)
            if found is None or enumerator.builder is None or self.state.budget.over():
                return None
            self.latest = None
            # What is not listed is worth less than was asked for: all pieces are known better now.
            self.table, before = enumerator.builder.sharper(), self.worth
            self.worth = np.array([self.table[end] for end in enumerator.pricer.ends])
            self.spare = int((self.worth * self.counts).sum()) - need
            if self.spare < 0:
                return True
            reach = lose - int((before - self.worth)[stocks].max())
            if reach >= self.spare:
                return self._choose(self._unpack(found))
            wide = enumerator.wide(self.table, WIDE * lose, stocks.tolist())
            if self._among(self._unpack(wide, self.spare, self.worth)):
                return False
            if not self._more(lose, reach, most):
                return None
        return True

    def _more(self, lose: int, reach: int, most: int) -> bool:
        """Settle what may be lost in the next list; return False when that would be too long."""
        kept = max(self.enumerator.kept, 1)
        if self.kept and reach > 0.9 * lose:
            self.growth = max(float(np.log(max(kept / self.kept, 1.1)) / np.log(lose / self.last)), 3.0)
        self.kept, self.last = kept, lose
        if kept * (self.spare / lose) ** max(self.growth, 4.0) < 0.7 * ENTIRE * most:
            self.lose = self.spare
            return True
        step = max(min(0.6 * most, MORE * kept) / kept, 1.0) ** (1.0 / self.growth)
        self.lose = int(lose * min(max(step, 1.05), 2.0 if kept < most / MORE else 1.25)) + 1
        return reach < 0.9 * lose or step >= 1.08

    def beginnings(self) -> list[tuple[IntArray, IntArray, list[Layout]]]:
        """Return beginnings of plans, all sheets but `FEW`: parts left, sheets left, and the sheets begun with."""
        if self.latest is None:
            return []
        search, rows = self._searched(self.latest)
        if not search.usable:
            return []
        stocks = search.stocks()[:-FEW]
        out = []
        for left, chosen in search.sums(stocks):
            trees = [(s, self._tree(self.latest, int(rows[s][p]))) for s, p in chosen if rows[s][p] >= 0]
            begun = [Layout(s, tree) for s, tree in trees if tree]
            counts = self.counts - np.bincount(stocks, minlength=len(self.counts))
            out.append((search.packing.unpack(np.array([left])), counts, begun))
            if len(out) == BEGINNINGS:
                break
        return out

    def _unpack(self, found: dict[int, Found], slack: int = 0, top: IntArray | None = None) -> Listed:
        """Return what was found as rows; what they lose is against `top`, or else the best of each stock."""
        stock = np.concatenate([np.full(len(f.codes), s, dtype=np.int64) for s, f in found.items()])
        uses = np.concatenate([self.enumerator.uses(f.codes) for f in found.values()])
        number = np.concatenate([f.numbers for f in found.values()])
        if top is None:
            return self._valued(stock, uses, number, self.values)
        value = np.concatenate([f.values for f in found.values()])
        return Listed(stock, uses, top[stock] - value, number, slack, top)

    def _valued(self, stock: IntArray, uses: IntArray, number: IntArray, values: FloatArray) -> Listed:
        """Return rows with what they lose at these values, each stock worth as much as its best row."""
        whole = whole_values(self.state, values)
        value = uses @ whole
        top = np.zeros(len(self.counts), dtype=np.int64)
        np.maximum.at(top, stock, value)
        slack = int((top * self.counts).sum()) - int((whole * self.demand).sum())
        return Listed(stock, uses, top[stock] - value, number, slack, top)

    def _choose(self, listed: Listed) -> bool | None:
        """Return True when no choice of all sheets there are is a plan, False when one was offered, None when open."""
        struck = self._strike(listed)
        if struck is None:
            return True
        return False if self._among(struck) else self._cover(struck)

    def _cover(self, listed: Listed) -> bool | None:
        """Return True when no choice of listed sheets is a plan, False when one was offered, None when open."""
        lists, rows = self._lists(listed)
        cover = Cover(self.demand, lists, self.counts, listed.slack, self.state.budget)
        if not cover.usable:
            return None
        sure = True
        for choice in cover.choices():
            if self._offer(listed, [(stock, int(rows[stock][place])) for stock, place in choice]):
                return False
            sure = False
        return True if sure and cover.complete else None

    def _among(self, listed: Listed) -> bool:
        """Return True when a plan made of listed sheets was offered."""
        self.latest = listed
        search, rows = self._searched(listed)
        if not search.usable or listed.slack < 0:
            return False
        return any(
            self._offer(listed, [(stock, int(rows[stock][place])) for stock, place in choice])
            for choice in search.plans()
        )

    def _searched(self, listed: Listed) -> tuple[Remainder, dict[int, IntArray]]:
        """Return a search among listed sheets, and the rows of its lists."""
        lists, rows = self._lists(listed)
        values = whole_values(self.state, self.values)
        plain = {stock: (uses, loss) for stock, (uses, loss, _) in lists.items()}
        return Remainder(self.demand, values, self.counts, plain, listed.slack, self.state.budget), rows

    def _tree(self, listed: Listed, row: int) -> Tree | None:
        """Return the cuts of a listed sheet, None when it cannot be cut after all."""
        return self.enumerator.tree(int(listed.stock[row]), int(listed.number[row]))

    def _offer(self, listed: Listed, choice: list[tuple[int, int]]) -> bool:
        """Offer chosen rows (-1: a sheet left empty) as a plan when all can be cut; return True when it was taken."""
        sheets = [(stock, self._tree(listed, row)) for stock, row in choice if row >= 0]
        if not all(tree for _, tree in sheets):
            return False
        return self.state.offer(self.begun + [Layout(stock, tree) for stock, tree in sheets if tree])

    def _lists(self, listed: Listed) -> tuple[dict[int, tuple[IntArray, IntArray, IntArray]], dict[int, IntArray]]:
        """Return for each stock uses, losses and ranks, and the rows they come from (-1: a sheet left empty)."""
        out, origin = {}, {}
        for stock in np.flatnonzero(self.counts > 0).tolist():
            rows = np.flatnonzero(listed.stock == stock)
            uses, loss = listed.uses[rows], listed.loss[rows]
            if listed.top[stock] <= listed.slack:
                uses = np.vstack([uses, np.zeros((1, self.state.kinds), dtype=np.int64)])
                loss, rows = np.append(loss, listed.top[stock]), np.append(rows, -1)
            out[stock], origin[stock] = (uses, loss, np.zeros(len(rows), dtype=np.int64)), rows
        return out, origin

    def _strike(self, listed: Listed) -> Listed | None:
        """Return the listed sheets that can still be part of a plan at sharper values, None when there is no plan."""
        for _ in range(12):
            if not len(listed.stock):
                return None
            self.values = self._list_values(listed)
            listed = self._valued(listed.stock, listed.uses, listed.number, self.values)
            if listed.slack < 0:
                return None
            keep = np.flatnonzero(listed.loss <= listed.slack)
            enough = len(keep) > 0.95 * len(listed.stock)
            listed = listed.keep(keep)
            if enough:
                break
        return listed

    def _list_values(self, listed: Listed, rounds: int = 80) -> FloatArray:
        """Return the values at which the listed sheets are worth least beside the demand."""
        stock, uses, counts = listed.stock, listed.uses, self.counts
        master = StretchMaster(self.demand, counts)
        inside = np.zeros(len(stock), dtype=bool)
        values = best = self.values / float(self.values @ self.demand)
        least = np.inf
        for turn in range(rounds):
            worth = uses @ values
            top = np.zeros(len(counts))
            np.maximum.at(top, stock, worth)
            if float(top @ counts) < least:
                best, least = values, float(top @ counts)
            gain = worth - top[stock]
            gain[inside] = -np.inf
            fresh = np.argsort(-gain, kind="stable")[: 300 if turn == 0 else 100]
            fresh = fresh[~inside[fresh]]
            if len(fresh):
                master.add(stock[fresh], uses[fresh])
                inside[fresh] = True
            times, duals, steps = master.solve()
            self.state.budget.spend(0.3 + 0.01 * steps + 1e-5 * uses.size)
            if least <= times + CLOSE or times <= 0:
                break
            values = np.maximum(0.6 * best + 0.4 * duals / float(duals @ self.demand), 1e-15)
            values = values / float(values @ self.demand)
        return best
