"""Is there a plan among sheets listed?

Sheets are summed, those that lose least first, the sums that lose least kept (a
beam), but for the last sheet: what the demand leaves to it is looked up among the
sheets listed for its stock. It may hold more than is left, as long as a listed sheet
holds all of it. Finds plans; proves nothing.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.enumeration import distinct
from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import IntArray

MOST_SUMS = 1_000_000
BEAM = 1000
MOST_LEFT = 40
"""Sums whose remainder is looked for in the last two sheets."""
MOST_CLIPPED = 200
"""Sheets that hold more of a kind than is left, tried as the last but one."""
Choice = list[tuple[int, int]]
"""A sheet of a plan: its stock and its row in the list of that stock."""


@dataclass(frozen=True, slots=True)
class Sheets:
    """Listed sheets of one stock, those that lose least first: uses, packed and not, what each loses, its row."""

    codes: Words
    uses: IntArray
    loss: IntArray
    rows: IntArray
    order: IntArray
    """Places by ascending code."""
    ascending: Words


class Remainder:
    """Seeks plans.

    Args:
        demand: Copies wanted of each kind.
        values: Of the kinds.
        counts: Sheets of each stock.
        lists: For each stock the uses listed, a row each, and what each loses.
        slack: What all sheets of a plan lose together.
        budget: Work.
    """

    def __init__(
        self, demand: IntArray, values: IntArray, counts: IntArray,
        lists: dict[int, tuple[IntArray, IntArray]], slack: int, budget: Budget,
    ) -> None:
        self.values, self.counts, self.slack, self.budget = values, counts, slack, budget
        self.packing = Packing(demand)
        self.usable = self.packing.words == 1
        if not self.usable:
            return
        self.bias = self.packing.bias(demand[None, :])[0, 0]
        self.guard = self.packing.guard[0]
        self.target = self.packing.pack(demand.astype(np.uint64)[None, :])[0, 0]
        self.sheets: dict[int, Sheets] = {}
        for stock, (uses, loss) in lists.items():
            rows = np.argsort(loss, kind="stable")
            codes = self.packing.pack(uses[rows].astype(np.uint64))[:, 0]
            order = np.argsort(codes, kind="stable")
            self.sheets[stock] = Sheets(codes, uses[rows], loss[rows], rows, order, codes[order])
        one = self.packing.pack(np.eye(len(demand), dtype=np.uint64))[:, 0]
        kinds = range(len(demand))
        pairs = [one[a] + one[b] for a in kinds for b in kinds[a:]]
        self.extras: Words = np.array([np.uint64(0), *one, *pairs], dtype=np.uint64)

    def stocks(self) -> list[int]:
        """Return the stock of every sheet; last those with the longest lists: there what is left most likely fits."""
        every = [s for s, n in enumerate(self.counts.tolist()) for _ in range(n)]
        return sorted(every, key=lambda s: (len(self.sheets[s].codes), s))

    def plans(self) -> Iterator[Choice]:
        """Yield choices of sheets that hold the demand and perhaps more."""
        every = self.stocks()
        if any(not len(self.sheets[s].codes) for s in every):
            return
        if len(every) == 1:
            yield from ([(every[0], row)] for _, row in self._held(every[0], self.target[None]))
            return
        *before, one, two = every
        turns = {(one, two), (two, one)}
        for left, chosen in self.sums(before):
            for first, second in sorted(turns):
                if self.budget.over():
                    return
                yield from ([*chosen, *pair] for pair in self._last_two(left, first, second))

    def sums(self, stocks: list[int]) -> Iterator[tuple[np.uint64, Choice]]:
        """Yield what sheets of these stocks leave of the demand, those first that lose least, and which they are."""
        codes, loss = np.zeros(1, dtype=np.uint64), np.zeros(1, dtype=np.int64)
        layers: list[tuple[IntArray, IntArray]] = []
        for stock in stocks:
            single = self.sheets[stock]
            most = min(len(single.codes), MOST_SUMS // len(codes))
            self.budget.spend(0.1 + 4e-5 * len(codes) * most)
            both = (codes[:, None] + single.codes[None, :most]).ravel()
            lost = (loss[:, None] + single.loss[None, :most]).ravel()
            proper = np.flatnonzero((((both + self.bias) & self.guard) == 0) & (lost <= self.slack))
            _, place = distinct(both[proper])
            proper = proper[place]
            proper = proper[np.argsort(lost[proper], kind="stable")[:BEAM]]
            codes, loss = both[proper], lost[proper]
            layers.append((proper // most, proper % most))
            if not len(codes):
                return
        # Neighbours are much alike: every so many of them.
        for at in range(0, len(codes), max(1, len(codes) // MOST_LEFT)):
            chosen, index = [], at
            for stock, (parent, pick) in zip(reversed(stocks), reversed(layers), strict=True):
                chosen.append((stock, int(self.sheets[stock].rows[pick[index]])))
                index = int(parent[index])
            yield self.target - codes[at], chosen

    def _last_two(self, left: np.uint64, first: int, second: int) -> Iterator[Choice]:
        """Yield pairs of sheets that hold what is left."""
        single = self.sheets[first]
        self.budget.spend(0.1 + 3e-5 * len(single.codes))
        # A sheet that holds more of a kind than is left yields what is left of it.
        rest = self.packing.unpack(np.array([left]))
        over = np.flatnonzero((((left | self.guard) - single.codes) & self.guard) != self.guard)
        inside = np.flatnonzero((((left | self.guard) - single.codes) & self.guard) == self.guard)
        few = over[self._most_of(rest, single.uses[over])]
        clipped = self.packing.pack(np.minimum(single.uses[few], rest).astype(np.uint64))[:, 0]
        codes = np.concatenate([left - single.codes[inside], left - clipped])
        rows = np.concatenate([single.rows[inside], single.rows[few]])
        yield from ([(first, int(rows[at])), (second, row)] for at, row in self._held(second, codes))

    def _most_of(self, rest: IntArray, uses: IntArray) -> IntArray:
        """Return the rows of `uses` that yield most of the rest."""
        value = np.minimum(uses, rest) @ self.values
        return np.argsort(-value, kind="stable")[:MOST_CLIPPED]

    def _held(self, stock: int, left: Words) -> Iterator[tuple[int, int]]:
        """Yield (place in `left`, row of a listed sheet) where the sheet holds just that, or up to two parts more."""
        single = self.sheets[stock]
        ascending = single.ascending
        for extra in self.extras:
            wanted = left + extra
            self.budget.spend(1e-4 * len(left))
            place = np.minimum(ascending.searchsorted(wanted), len(ascending) - 1)
            for at in np.flatnonzero(ascending[place] == wanted).tolist():
                yield at, int(single.rows[single.order[place[at]]])
