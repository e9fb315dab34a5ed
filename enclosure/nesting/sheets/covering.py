"""Which choices of listed sheets yield the demand exactly? (meeting in the middle)

Sums of multisets of parts are packed words, so that two lists join in one table
operation. One half of the sheets is joined to all sums that do not use a kind too
often nor lose too much value, the other half likewise; a sum of the one half and
a sum of the other meet where they make up the demand. What all sheets lose
together is the slack, so either half may be held to half of it, one after the other.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.enumeration import distinct
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import IntArray

AT_ONCE = 1_000_000
BINS = 64
"""Steps of loss in which the numbers of sums are reckoned beforehand."""
MOST_PAIRS = 25_000_000
Choice = list[tuple[int, int]]
"""A sheet of a plan: its stock and its place in the list of that stock."""


@dataclass(slots=True)
class Sums:
    """Sums over some sheets: packed words with what they lose, the least first."""

    codes: Words
    loss: IntArray
    ascending: Words | None = None

    def has(self, codes: Words) -> NDArray[np.bool_]:
        """Return which of the words are among the sums."""
        if self.ascending is None:
            self.ascending = np.sort(self.codes)
        place = np.minimum(np.searchsorted(self.ascending, codes), len(self.ascending) - 1)
        found: NDArray[np.bool_] = self.ascending[place] == codes
        return found


class Cover:
    """Finds choices of sheets that yield the demand exactly.

    Args:
        demand: Copies wanted of each kind.
        lists: For each stock the uses listed, a row each, what each loses, and its rank: of several
            choices with the same sum, that with sheets of low rank is found.
        counts: Sheets of each stock.
        slack: What all sheets lose together.
        budget: Work.
    """

    def __init__(
        self,
        demand: IntArray,
        lists: dict[int, tuple[IntArray, IntArray, IntArray]],
        counts: IntArray,
        slack: int,
        budget: Budget,
    ) -> None:
        self.slack, self.budget = slack, budget
        self.packing = Packing(demand)
        self.usable = self.packing.words == 1
        self.complete = True
        if not self.usable:
            return
        self.bias = self.packing.bias(demand[None, :])[0, 0]
        self.guard = self.packing.guard[0]
        self.target = self.packing.pack(demand.astype(np.uint64)[None, :])[0, 0]
        self.order: dict[int, IntArray] = {}
        self.single: dict[int, Sums] = {}
        self.rank = {stock: rank for stock, (_, _, rank) in lists.items()}
        for stock, (uses, loss, _) in lists.items():
            order = np.argsort(loss, kind="stable")
            self.order[stock] = order
            self.single[stock] = Sums(self.packing.pack(uses[order].astype(np.uint64))[:, 0], loss[order])
        self.halves = self._halves(counts)

    def _halves(self, counts: IntArray) -> tuple[list[int], list[int]]:
        """Return the stocks of the sheets, divided so that both halves have few sums."""
        stocks = sorted(self.single)
        bins = np.arange(BINS + 1) * (self.slack / BINS)
        shares = {}
        for stock in stocks:
            single: FloatArray = np.histogram(self.single[stock].loss, bins)[0].astype(np.float64)
            several = [np.eye(1, BINS)[0]]
            for copies in range(1, int(counts[stock]) + 1):
                several.append(np.convolve(several[-1], single)[:BINS] / copies)
            shares[stock] = several
        best: tuple[float, tuple[int, ...]] = (np.inf, ())
        for part in product(*[range(int(counts[s]) + 1) for s in stocks]):
            sizes = []
            rest = tuple(int(counts[s]) - k for s, k in zip(stocks, part, strict=True))
            for half in (part, rest):
                sums = np.eye(1, BINS)[0]
                for stock, k in zip(stocks, half, strict=True):
                    sums = np.convolve(sums, shares[stock][k])[:BINS] if k else sums
                sizes.append((float(sums.sum()), float(sums[: BINS // 2].sum())))
            cost = max(sizes[0][1] + sizes[1][0], sizes[0][0] + sizes[1][1])
            if cost < best[0]:
                best = cost, part
        halves: tuple[list[int], list[int]] = ([], [])
        for stock, k in zip(stocks, best[1], strict=True):
            halves[0].extend([stock] * k)
            halves[1].extend([stock] * (int(counts[stock]) - k))
        return halves

    def choices(self) -> Iterator[Choice]:
        """Yield choices of sheets that yield the demand exactly; `complete` says whether none was left out."""
        if any(not len(s.codes) for s in self.single.values()):
            return
        half = self.slack // 2
        for limits in ((half, self.slack), (self.slack, half)):
            sides = [self._layers(half, limit) for half, limit in zip(self.halves, limits, strict=True)]
            first, second = sides[0][-1], sides[1][-1]
            if not len(first.codes) or not len(second.codes):
                continue
            wanted = self.target - first.codes
            self.budget.spend(2e-4 * (len(second.codes) + len(wanted)))
            for at in np.flatnonzero(second.has(wanted)):
                one = self._read(self.halves[0], sides[0], first.codes[at])
                two = self._read(self.halves[1], sides[1], wanted[at])
                if one is None or two is None:
                    self.complete = False
                    continue
                yield one + two

    def _layers(self, stocks: list[int], most: int) -> list[Sums]:
        """Return the sums over the first sheet, the first two, and so on, that lose at most `most`."""
        layers = [Sums(np.zeros(1, dtype=np.uint64), np.zeros(1, dtype=np.int64))]
        for stock in stocks:
            layers.append(self._join(layers[-1], self.single[stock], most))
        return layers

    def _join(self, first: Sums, second: Sums, most: int) -> Sums:
        """Return all sums of one of each that stay within the demand and lose at most `most`."""
        count = np.searchsorted(second.loss, most - first.loss, side="right")
        reach = np.cumsum(count)
        if len(reach) and reach[-1] > MOST_PAIRS:
            self.complete = False
            end = int(np.searchsorted(reach, MOST_PAIRS))
            count, reach = count[:end], reach[:end]
        total = int(reach[-1]) if len(reach) else 0
        self.budget.spend(0.05 + 1e-4 * total)
        codes, losses = [], []
        start = 0
        while start < len(count):
            if self.budget.over():
                self.complete = False
                break
            base = int(reach[start - 1]) if start else 0
            stop = max(start + 1, int(np.searchsorted(reach, base + AT_ONCE, side="right")))
            some = count[start:stop]
            one = np.repeat(np.arange(start, stop), some)
            two = np.arange(len(one)) - np.repeat(np.cumsum(some) - some, some)
            both = first.codes[one] + second.codes[two]
            proper = np.flatnonzero(((both + self.bias) & self.guard) == 0)
            both, place = distinct(both[proper])
            codes.append(both)
            losses.append(first.loss[one[proper[place]]] + second.loss[two[proper[place]]])
            start = stop
        if not codes:
            return Sums(np.zeros(0, dtype=np.uint64), np.zeros(0, dtype=np.int64))
        every, place = distinct(np.concatenate(codes))
        loss = np.concatenate(losses)[place]
        order = np.argsort(loss, kind="stable")
        return Sums(every[order], loss[order])

    def _read(self, stocks: list[int], layers: list[Sums], code: np.uint64) -> Choice | None:
        """Return the sheets behind a sum, those known to be sound first."""
        chosen: Choice = []
        for depth in range(len(stocks) - 1, -1, -1):
            stock = stocks[depth]
            single = self.single[stock].codes
            fits = np.flatnonzero((((self.guard | code) - single) & self.guard) == self.guard)
            hit = fits[layers[depth].has(code - single[fits])]
            if not len(hit):
                return None
            place = self.order[stock][hit]
            pick = int(np.argmin(self.rank[stock][place]))
            chosen.append((stock, int(place[pick])))
            code = code - single[hit[pick]]
        return chosen
