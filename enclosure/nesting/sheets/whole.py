"""Can the parts come out of exactly these sheets? (whole sheet by whole sheet)

1. Values of the parts are sought at which the sheets are worth as little as
   possible beside the demand (`stretch.py`). Worth less than it: refuted.
2. What the sheets are worth beyond the demand is the slack, all that a plan may
   lose. Every multiset of parts that a sheet of such a plan may hold is listed
   (`enumeration.py`), first those that lose little.
3. The linear program over the whole list gives sharper values; what no longer
   reaches them is struck.
4. Choices of listed sheets that make up the demand exactly are sought from both
   ends (`covering.py`). None left: refuted. One whose sheets can be cut
   (`placing.py`) is a plan; a sheet that cannot be cut is struck.

Where the slack is so large that the list would be too long, plans abound, and one
with a few parts more is sought instead: each part added takes up slack.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.columns import Columns, whole_values
from enclosure.nesting.sheets.covering import Choice, Cover
from enclosure.nesting.sheets.enumeration import Enumerator, Found
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.placing import Bounds, Placer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.stretch import CLOSE, Sharp, Stretcher, StretchMaster
from enclosure.nesting.sheets.trees import Layout

FLOOR = 0.02
"""Least share of its own area's value that every kind keeps, lest the list hold it in any number."""
SHARES = (0.25, 0.5, 1.0)
"""Shares of the slack that one sheet may lose, tried one after the other."""
MUCH = 0.012
"""Slack, as a share of the demand, above which a larger demand is tried first."""


@dataclass(frozen=True, slots=True)
class Listed:
    """Sheets that a plan may be made of, a row each: stock, uses, and what they lose, with all that can be lost."""

    stock: IntArray
    uses: IntArray
    loss: IntArray
    slack: int
    top: IntArray

    def keep(self, which: IntArray) -> Listed:
        """Return some of them."""
        return Listed(self.stock[which], self.uses[which], self.loss[which], self.slack, self.top)


class Prover:
    """Tests sheet count vectors one by one.

    Args:
        state: Shared knowledge.
        columns: Patterns known, and the cuts to which refutations are added.
        places: Most places of the grids along x and y.
        seed: Of the parts added.
    """

    def __init__(self, state: State, columns: Columns, places: tuple[int, int], seed: int = 7) -> None:
        self.state, self.columns, self.places = state, columns, places
        self.generator = np.random.default_rng(seed)
        self.pricer = self._pricer(state.demand)
        self.usable = Enumerator(state, self.pricer).usable()

    def _pricer(self, demand: IntArray) -> Pricer:
        """Return a pricer over high grids for a demand."""
        return Pricer(self.state.problem, make_space(self.state.problem, demand, self.places, True), demand)

    def test(self, counts: IntArray, most: int, trials: int) -> bool | None:
        """Return True when the counts are refuted, False when a plan was found (and offered), None when open.

        Args:
            counts: Sheets of each stock.
            most: Most entries kept while listing.
            trials: How many larger demands are tried where the slack is large.
        """
        if not self.usable:
            return None
        stretcher = Stretcher(self.state, self.columns, self.pricer, counts)
        sharp = stretcher.run()
        if sharp is None:
            return True
        if sharp.times > 1.0 + MUCH:
            for _ in range(trials):
                if self.state.budget.over():
                    return None
                if self._with_more(stretcher, sharp, most // 4):
                    return False
        return _Test(self.state, self.pricer, counts, sharp).run(most)

    def _with_more(self, stretcher: Stretcher, sharp: Sharp, most: int) -> bool:
        """Try a demand with parts added at random until little slack is left; return True when a plan was found."""
        demand = self.state.demand.copy()
        open_kinds = list(range(self.state.kinds))
        spare = (sharp.times - 1.0) * float(sharp.values @ demand)
        while open_kinds and spare > 0.003 * float(sharp.values @ demand):
            kind = int(self.generator.choice(open_kinds))
            demand[kind] += 1
            if sharp.values[kind] > spare or stretcher.times_at(demand) < 1.0 + CLOSE:
                demand[kind] -= 1
                open_kinds.remove(kind)
            else:
                spare -= float(sharp.values[kind])
        if (demand == self.state.demand).all():
            return False
        pricer = self._pricer(demand)
        more = Stretcher(self.state, self.columns, pricer, stretcher.counts)
        sharper = more.run()
        return sharper is not None and _Test(self.state, pricer, stretcher.counts, sharper).run(most) is False


class _Test:
    """Tests one sheet count vector against one demand.

    Args:
        state: Shared knowledge.
        pricer: Prices sheets for the demand.
        counts: Sheets of each stock.
        sharp: Values of the kinds to start from.
    """

    def __init__(self, state: State, pricer: Pricer, counts: IntArray, sharp: Sharp) -> None:
        self.state, self.pricer, self.counts = state, pricer, counts
        self.demand = pricer.demand
        rate = float(sharp.values @ self.demand) / float(state.leaf_area_of_kind @ self.demand)
        self.values: FloatArray = np.maximum(sharp.values, FLOOR * rate * state.leaf_area_of_kind)
        self.placed: dict[tuple[int, bytes], Tree | None] = {}

    def run(self, most: int) -> bool | None:
        """Return True when refuted, False when a plan was offered, None when open."""
        whole = whole_values(self.state, self.values)
        enumerator = Enumerator(self.state, self.pricer)
        table = self.pricer.closed_table(whole)
        worth = np.array([table[end] for end in self.pricer.ends])
        slack = int((worth * self.counts).sum()) - int((whole * self.demand).sum())
        if slack < 0:
            return True
        stocks = [s for s, n in enumerate(self.counts) if n > 0]
        for share in SHARES:
            found = enumerator.run(table, whole, int(slack * share), stocks, most)
            if found is None or self.state.budget.over():
                return None
            if share < 1.0 and any(not len(f.codes) for f in found.values()):
                continue
            assert enumerator.last_room is not None
            self.placer = Placer(self.state, Bounds(self.pricer.space, whole, table, enumerator.last_room))
            answer = self._choose(self._unpack(enumerator, found), share >= 1.0)
            if answer is not None:
                return answer
        return None

    def _unpack(self, enumerator: Enumerator, found: dict[int, Found]) -> Listed:
        """Return what was found as rows of uses."""
        packing = enumerator.packing
        stock = np.concatenate([np.full(len(f.codes), s, dtype=np.int64) for s, f in found.items()])
        codes = np.concatenate([f.codes for f in found.values()])
        uses = ((codes[:, None] >> packing.shift[None, :]) & packing.full[None, :]).astype(np.int64)
        return self._valued(stock, uses, self.values)

    def _valued(self, stock: IntArray, uses: IntArray, values: FloatArray) -> Listed:
        """Return rows with what they lose at these values, each stock worth as much as its best row."""
        whole = whole_values(self.state, values)
        value = uses @ whole
        top = np.zeros(len(self.counts), dtype=np.int64)
        np.maximum.at(top, stock, value)
        slack = int((top * self.counts).sum()) - int((whole * self.demand).sum())
        return Listed(stock, uses, top[stock] - value, slack, top)

    def _choose(self, listed: Listed, entire: bool) -> bool | None:
        """Return True when no choice of the listed sheets is a plan, False when one was offered, None when open."""
        if entire:
            struck = self._strike(listed)
            if struck is None:
                return True
            listed = struck
        elif listed.slack < 0:
            return None
        sure = entire
        while not self.state.budget.over():
            lists = self._lists(listed)
            cover = Cover(self.demand, {s: rows[:2] for s, rows in lists.items()}, self.counts, listed.slack,
                          self.state.budget)  # fmt: skip
            if not cover.usable:
                return None
            wrong: set[int] = set()
            seen = 0
            for seen, choice in enumerate(cover.choices(), start=1):
                bad, unsure = self._cut(choice, {s: rows[2] for s, rows in lists.items()}, listed)
                if not bad:
                    return False
                wrong.update(bad)
                sure = sure and not unsure
                if len(wrong) >= 30 or seen >= 300 or self.state.budget.over():
                    break
            if seen == 0:
                return True if sure and cover.complete else None
            listed = listed.keep(np.setdiff1d(np.arange(len(listed.stock)), np.array(sorted(wrong))))
        return None

    def _lists(self, listed: Listed) -> dict[int, tuple[IntArray, IntArray, IntArray]]:
        """Return for each stock uses, losses, and the rows they come from (-1: a sheet left empty)."""
        out = {}
        for stock in np.flatnonzero(self.counts > 0):
            rows = np.flatnonzero(listed.stock == stock)
            uses, loss = listed.uses[rows], listed.loss[rows]
            if listed.top[stock] <= listed.slack:
                uses = np.vstack([uses, np.zeros((1, self.state.kinds), dtype=np.int64)])
                loss, rows = np.append(loss, listed.top[stock]), np.append(rows, -1)
            out[int(stock)] = uses, loss, rows
        return out

    def _strike(self, listed: Listed) -> Listed | None:
        """Return the listed sheets that can still be part of a plan at sharper values, None when there is no plan."""
        for _ in range(12):
            if not len(listed.stock):
                return None
            self.values = self._list_values(listed)
            listed = self._valued(listed.stock, listed.uses, self.values)
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

    def _cut(self, choice: Choice, rows: dict[int, IntArray], listed: Listed) -> tuple[list[int], bool]:
        """Offer the chosen sheets as a plan; return the rows that cannot be cut, and whether that is unsure of one."""
        layouts: list[Layout] = []
        bad: list[int] = []
        unsure = False
        for stock, place in choice:
            row = int(rows[stock][place])
            if row < 0:
                continue
            key = stock, listed.uses[row].tobytes()
            if key not in self.placed:
                self.placed[key] = self.placer.place(stock, listed.uses[row])
            tree = self.placed[key]
            if tree:
                layouts.append(Layout(stock, tree))
            else:
                bad.append(row)
                unsure = unsure or tree == ()
        if not bad:
            self.state.offer(layouts)
        return bad, unsure
