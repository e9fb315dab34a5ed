"""Can a plan that leaves a few parts over be mended?

For given sheets: of a plan that does not cover everything, the parts of two or
three sheets are taken out again and, with those left over, laid anew at other
values, several plans side by side. Plans that leave less area over are kept.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.correction import SCALE, Filler
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout

MOST_SHEETS = 40
KEPT = 5


@dataclass(slots=True)
class Attempt:
    """A plan on given sheets: one layout a sheet, and what it leaves over."""

    layouts: list[Layout]
    left: IntArray
    short: float


class Repairer:
    """Mends plans.

    Args:
        state: Shared knowledge.
        filler: Lays sheets.
        seed: Of the random choices.
    """

    def __init__(self, state: State, filler: Filler, seed: int = 11) -> None:
        self.state, self.filler = state, filler
        self.generator = np.random.default_rng(seed)

    def attempts(self, layouts: list[list[Layout]], left: IntArray) -> list[Attempt]:
        """Return filled plans as attempts, the shortest first."""
        out = []
        for plan, rest in zip(layouts, left, strict=True):
            single = [Layout(x.stock, x.tree) for x in plan for _ in range(x.copies)]
            out.append(Attempt(single, rest.copy(), float((rest * self.filler.area).sum())))
        out.sort(key=lambda a: a.short)
        return out

    def mend(self, counts: IntArray, known: list[Attempt], rounds: int) -> list[Attempt]:
        """Offer a plan that covers everything when one is found; return the best attempts.

        Args:
            counts: Sheets of each stock.
            known: Attempts so far.
            rounds: How many batches are tried.
        """
        state = self.state
        if not known or len(known[0].layouts) > MOST_SHEETS:
            return known
        known = self._distinct(known)
        for number in range(rounds):
            if state.done():
                break
            picked = [known[k % len(known)] for k in range(self.filler.batch)]
            kept, left, stock_left = self._take_out(counts, picked)
            values = self.filler.start_values()
            values *= self.generator.uniform(0.92, 1.08, values.shape)
            for row, attempt in enumerate(picked):
                values[row, attempt.left > 0] *= self.generator.uniform(1.0, 1.4)
            np.minimum(values, 4 * SCALE, out=values)
            layouts, rest, _ = self.filler.fill(values, stock_left, "yx"[number % 2], True, left)
            fresh = self.attempts([k + n for k, n in zip(kept, layouts, strict=True)], rest)
            if fresh[0].short == 0:
                state.offer(fresh[0].layouts)
                return fresh[:1]
            known = self._distinct(known + fresh)
        return known

    def _take_out(self, counts: IntArray, picked: list[Attempt]) -> tuple[list[list[Layout]], IntArray, IntArray]:
        """Return for each plan the layouts that stay, what is wanted then, and the sheets free then."""
        kept, wanted, free = [], [], []
        for attempt in picked:
            fill = np.array([self._fill(x) for x in attempt.layouts])
            waste = 1.05 - fill
            number = min(len(fill), 2 + int(self.generator.random() < 0.3))
            out = set(self.generator.choice(len(fill), number, replace=False, p=waste / waste.sum()).tolist())
            stays = [x for k, x in enumerate(attempt.layouts) if k not in out]
            left = self.state.demand.copy()
            stock_left = counts.copy()
            for layout in stays:
                stock_left[layout.stock] -= 1
                for part, times in self.state.uses_of(layout.tree).items():
                    left[part] -= times
            kept.append(stays)
            wanted.append(left)
            free.append(stock_left)
        return kept, np.array(wanted), np.array(free)

    def _fill(self, layout: Layout) -> float:
        """Return the share of a sheet that parts take."""
        area = sum(self.filler.area[p] * n for p, n in self.state.uses_of(layout.tree).items())
        return min(1.0, float(area) / float(self.filler.sizes[layout.stock]))

    @staticmethod
    def _distinct(attempts: list[Attempt]) -> list[Attempt]:
        """Return the best attempts, no two of which leave the same parts over."""
        out: dict[bytes, Attempt] = {}
        for attempt in sorted(attempts, key=lambda a: a.short):
            out.setdefault(attempt.left.tobytes(), attempt)
        return list(out.values())[:KEPT]
