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
from enclosure.nesting.sheets.covering import Cover
from enclosure.nesting.sheets.enumeration import Enumerator, Found
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.placing import AT_ONCE, Bounds, Placer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.stretch import CLOSE, Sharp, Stretcher, StretchMaster
from enclosure.nesting.sheets.trees import Layout

FLOOR = 0.02
"""Least share of its own area's value that every kind keeps, lest the list hold it in any number."""
MOST_PLACED = 2000
"""Up to so many listed sheets are all placed before any are chosen; a fifth for a larger demand."""
ENTIRE = 5
"""So many times more entries may be kept for the entire list, which proves."""
MUCH = 0.04
"""Slack, as a share of the demand, above which a larger demand is tried first."""
UNKNOWN: Tree = ("unknown",)
FIRST = 0.02
"""Share of its worth that a sheet may lose in the first list."""


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

    def without(self, rows: set[int]) -> Listed:
        """Return all but some of them."""
        return self.keep(np.setdiff1d(np.arange(len(self.stock)), np.array(sorted(rows), dtype=np.int64)))


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
            trials: How many larger demands are tried where the slack is too large for an entire list.
        """
        if not self.usable:
            return None
        stretcher = Stretcher(self.state, self.columns, self.pricer, counts)
        sharp = stretcher.run()
        if sharp is None:
            return True
        if sharp.times > 1.0 + MUCH and self._more_fits(stretcher, sharp, FIRST / 4, most, 1.0, 3):
            return False
        own = _Test(self.state, self.pricer, counts, sharp)
        answer = own.run(most)
        if answer is None and self._more_fits(stretcher, sharp, own.reach, most, own.reach, trials):
            return False
        return answer

    def _more_fits(
        self, stretcher: Stretcher, sharp: Sharp, reach: float, most: int, at_once: float, trials: int
    ) -> bool:
        """Return True when a plan was found for one of so many larger demands; the rest as in `_with_more`."""
        return any(
            not self.state.budget.over() and self._with_more(stretcher, sharp, reach, most, at_once)
            for _ in range(trials)
        )

    def _with_more(
        self, stretcher: Stretcher, sharp: Sharp, reach: float, most: int, at_once: float
    ) -> bool:
        """Try a demand with parts added at random until the slack suits; return True when a plan was found.

        Args:
            stretcher: Of the demand itself.
            sharp: Its values.
            reach: What one sheet could lose, as a share of the demand, without listing too much.
            most: Most entries kept while listing.
            at_once: What a listed sheet may lose, as a share of the demand.
        """
        demand = self.state.demand.copy()
        need = float(sharp.values @ demand)
        aim = reach * float(stretcher.counts.sum()) * self.generator.uniform(0.25, 0.6)
        open_kinds = list(range(self.state.kinds))
        spare = sharp.times - 1.0
        while open_kinds and spare > aim:
            kind = int(self.generator.choice(open_kinds))
            demand[kind] += 1
            if sharp.values[kind] / need > spare or stretcher.times_at(demand) < 1.0 + CLOSE:
                demand[kind] -= 1
                open_kinds.remove(kind)
            else:
                spare -= float(sharp.values[kind]) / need
        if (demand == self.state.demand).all():
            return False
        pricer = self._pricer(demand)
        sharper = Stretcher(self.state, self.columns, pricer, stretcher.counts).run()
        # Refuting a larger demand says nothing about the demand itself.
        return sharper is not None and _Test(self.state, pricer, stretcher.counts, sharper).run(most, at_once) is False


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
        self.reach = 0.0
        self.most_placed = MOST_PLACED

    def run(self, most: int, at_once: float | None = None) -> bool | None:
        """Return True when refuted, False when a plan was offered, None when open.

        Args:
            most: Most entries kept while listing.
            at_once: List what loses at most so much of the demand, and no more; None to list more and more.
        """
        whole = whole_values(self.state, self.values)
        enumerator = Enumerator(self.state, self.pricer)
        table = self.pricer.closed_table(whole)
        worth = np.array([table[end] for end in self.pricer.ends])
        need = int((whole * self.demand).sum())
        slack = int((worth * self.counts).sum()) - need
        if slack < 0:
            return True
        stocks = [s for s, n in enumerate(self.counts) if n > 0]
        lose = float(worth.max()) * FIRST if at_once is None else at_once * need
        self.most_placed = MOST_PLACED if at_once is None else MOST_PLACED // 5
        kept, growth = 0, 2.5
        while True:
            entire = lose >= slack
            found = enumerator.run(table, whole, min(int(lose), slack), stocks, ENTIRE * most if entire else most)
            if found is None or self.state.budget.over():
                return None
            self.reach = lose / need
            self.placer = Placer(self.state, Bounds(self.pricer.space, whole, table, enumerator.last_room))
            answer = None
            if entire or all(len(f.codes) for f in found.values()):
                answer = self._choose(self._unpack(enumerator, found), entire)
            if answer is not None or entire or at_once is not None:
                return answer
            if kept:
                growth = float(np.log2(max(enumerator.kept / kept, 1.2)))
            kept = enumerator.kept
            step = float(np.log2(max(most / max(kept, 1), 1.0))) / growth
            if kept * (slack / lose) ** growth < 0.5 * ENTIRE * most:
                lose = float(slack)
            elif step < 0.25:
                return None
            else:
                lose *= 2.0 ** min(1.0, step)

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
        sure = entire
        if entire:
            struck = self._strike(listed)
            if struck is None:
                return True
            listed = struck
        first = np.argsort(listed.loss, kind="stable")[: self.most_placed]
        every = {int(s): set(first[listed.stock[first] == s].tolist()) for s in np.unique(listed.stock)}
        wrong, unsure = self._place(every, listed)
        sure = sure and not unsure
        sound = listed.keep(np.array(sorted(set(first.tolist()) - wrong), dtype=np.int64))
        some = len(first) < len(listed.stock)
        listed = listed.without(wrong) if some else sound
        if entire:
            struck = self._strike(listed)
            if struck is None:
                return True if sure else None
            listed = struck
        elif listed.slack < 0:
            return None
        if some and self._cover(sound, False) is False:
            return False
        return self._cover(listed, sure)

    def _cover(self, listed: Listed, sure: bool) -> bool | None:
        """Return True when no choice of listed sheets is a plan, False when one was offered, None when open."""
        keys = zip(listed.stock.tolist(), listed.uses, strict=True)
        bad = {row for row, (s, u) in enumerate(keys) if not self.placed.get((s, u.tobytes()), UNKNOWN)}
        listed = listed.without(bad)
        while len(listed.stock) and not self.state.budget.over():
            lists, rows = self._lists(listed)
            cover = Cover(self.demand, lists, self.counts, listed.slack, self.state.budget)
            if not cover.usable:
                return None
            choices: list[list[tuple[int, int]]] = []
            fresh: dict[int, set[int]] = {stock: set() for stock in rows}
            for choice in cover.choices():
                real = [(stock, int(rows[stock][place])) for stock, place in choice]
                choices.append([(stock, row) for stock, row in real if row >= 0])
                for stock, row in choices[-1]:
                    if (stock, listed.uses[row].tobytes()) not in self.placed:
                        fresh[stock].add(row)
                most = max(len(f) for f in fresh.values())
                if most == 0 or most >= 3 * AT_ONCE or len(choices) >= 1000:
                    break
            if not choices:
                return True if sure and cover.complete else None
            wrong, unsure = self._place(fresh, listed)
            if any(self._offer(choice, listed) for choice in choices):
                return False
            sure = sure and not unsure
            listed = listed.without(wrong)
        return None

    def _place(self, fresh: dict[int, set[int]], listed: Listed) -> tuple[set[int], bool]:
        """Place sheets not placed before; return those that cannot be cut, and whether that is unsure of one."""
        wrong: set[int] = set()
        unsure = False
        for stock, several in fresh.items():
            rows = []
            for row in sorted(several):
                known = self.placed.get((stock, listed.uses[row].tobytes()), UNKNOWN)
                if known == UNKNOWN:
                    rows.append(row)
                elif not known:
                    wrong.add(row)
                    unsure = unsure or known == ()
            # Those that lose about as much are placed together: what they may lose bounds their pieces.
            rows.sort(key=lambda row: int(listed.loss[row]))
            for start in range(0, len(rows), AT_ONCE):
                some = rows[start : start + AT_ONCE]
                for row, tree in zip(some, self.placer.place(stock, listed.uses[some]), strict=True):
                    self.placed[stock, listed.uses[row].tobytes()] = tree
                    if not tree:
                        wrong.add(row)
                        unsure = unsure or tree == ()
        return wrong, unsure

    def _offer(self, choice: list[tuple[int, int]], listed: Listed) -> bool:
        """Offer the chosen sheets as a plan when all can be cut; return True then."""
        trees = [(stock, self.placed.get((stock, listed.uses[row].tobytes()))) for stock, row in choice]
        if not all(tree for _, tree in trees):
            return False
        self.state.offer([Layout(stock, tree) for stock, tree in trees if tree])
        return True

    def _lists(self, listed: Listed) -> tuple[dict[int, tuple[IntArray, IntArray, IntArray]], dict[int, IntArray]]:
        """Return for each stock uses, losses and ranks, and the rows they come from (-1: a sheet left empty)."""
        out, origin = {}, {}
        for stock in np.flatnonzero(self.counts > 0).tolist():
            rows = np.flatnonzero(listed.stock == stock)
            uses, loss = listed.uses[rows], listed.loss[rows]
            rank = np.array([(stock, u.tobytes()) not in self.placed for u in uses], dtype=np.int64)
            if listed.top[stock] <= listed.slack:
                uses = np.vstack([uses, np.zeros((1, self.state.kinds), dtype=np.int64)])
                loss, rows = np.append(loss, listed.top[stock]), np.append(rows, -1)
                rank = np.append(rank, 0)
            out[stock], origin[stock] = (uses, loss, rank), rows
        return out, origin

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
