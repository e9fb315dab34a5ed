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

import numpy as np

from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import IntArray

AT_ONCE = 1_000_000
MOST_PAIRS = 25_000_000
Choice = list[tuple[int, int]]
"""A sheet of a plan: its stock and its place in the list of that stock."""


@dataclass(slots=True)
class Sums:
    """Sums over some sheets: packed words with what they lose, by falling value."""

    codes: Words
    loss: IntArray

    def cut(self, most: int) -> Sums:
        """Return those that lose at most `most`."""
        end = int(np.searchsorted(self.loss, most, side="right"))
        return Sums(self.codes[:end], self.loss[:end])


class Cover:
    """Finds choices of sheets that yield the demand exactly.

    Args:
        demand: Copies wanted of each kind.
        lists: For each stock the uses listed, a row each, and what each loses.
        counts: Sheets of each stock.
        slack: What all sheets lose together.
        budget: Work.
    """

    def __init__(
        self,
        demand: IntArray,
        lists: dict[int, tuple[IntArray, IntArray]],
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
        for stock, (uses, loss) in lists.items():
            order = np.argsort(loss, kind="stable")
            self.order[stock] = order
            self.single[stock] = Sums(self.packing.pack(uses[order].astype(np.uint64))[:, 0], loss[order])
        self.halves = self._halves(counts)

    def _halves(self, counts: IntArray) -> tuple[list[int], list[int]]:
        """Return the stocks of the sheets, divided so that both halves have about as many sums."""
        slots = [s for s in self.single for _ in range(int(counts[s]))]
        slots.sort(key=lambda s: (-len(self.single[s].codes), s))
        halves: tuple[list[int], list[int]] = ([], [])
        weight = [0.0, 0.0]
        for stock in slots:
            side = int(weight[1] < weight[0])
            halves[side].append(stock)
            weight[side] += float(np.log(1.0 + len(self.single[stock].codes)))
        return sorted(halves[0]), sorted(halves[1])

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
            kept = np.sort(second.codes)
            wanted = self.target - first.codes
            place = np.minimum(np.searchsorted(kept, wanted), len(kept) - 1)
            self.budget.spend(2e-4 * (len(kept) + len(wanted)))
            for code in first.codes[np.flatnonzero(kept[place] == wanted)]:
                one = self._read(self.halves[0], sides[0], code)
                two = self._read(self.halves[1], sides[1], self.target - code)
                if one is not None and two is not None:
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
            base = int(reach[start - 1]) if start else 0
            stop = max(start + 1, int(np.searchsorted(reach, base + AT_ONCE, side="right")))
            some = count[start:stop]
            one = np.repeat(np.arange(start, stop), some)
            two = np.arange(len(one)) - np.repeat(np.cumsum(some) - some, some)
            both = first.codes[one] + second.codes[two]
            proper = np.flatnonzero(((both + self.bias) & self.guard) == 0)
            both, place = np.unique(both[proper], return_index=True)
            codes.append(both)
            losses.append(first.loss[one[proper[place]]] + second.loss[two[proper[place]]])
            start = stop
        if not codes:
            return Sums(np.zeros(0, dtype=np.uint64), np.zeros(0, dtype=np.int64))
        every, place = np.unique(np.concatenate(codes), return_index=True)
        loss = np.concatenate(losses)[place]
        order = np.argsort(loss, kind="stable")
        return Sums(every[order], loss[order])

    def _read(self, stocks: list[int], layers: list[Sums], code: np.uint64) -> Choice | None:
        """Return the sheets behind a sum."""
        chosen: Choice = []
        for depth in range(len(stocks) - 1, -1, -1):
            single = self.single[stocks[depth]].codes
            before = np.sort(layers[depth].codes)
            fits = np.flatnonzero((((self.guard | code) - single) & self.guard) == self.guard)
            rest = code - single[fits]
            place = np.minimum(np.searchsorted(before, rest), len(before) - 1)
            hit = np.flatnonzero(before[place] == rest)
            if not len(hit):
                return None
            chosen.append((stocks[depth], int(self.order[stocks[depth]][fits[hit[0]]])))
            code = rest[hit[0]]
        return chosen
