"""Which plan comes from taking the worst sheets of a good one apart?

A few sheets of a plan are taken apart and filled anew from their parts alone; what
is no dearer and more uneven - full sheets beside one that is nearly empty - is
kept, until a sheet falls out. With the sheets given, plans that leave a few parts
over are mended in the same way until nothing is left. Several plans go side by side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from enclosure.nesting.sheets.building import SCALE, Builder, Sheet
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout

APART = 16
"""About so many parts are laid anew at once."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """Sheets, the parts they leave over, and the area of these."""

    sheets: list[Sheet]
    left: IntArray
    short: float


class Rebuilder:
    """Takes plans apart and fills their sheets anew.

    Args:
        state: Shared knowledge.
        builder: Fills sheets.
    """

    def __init__(self, state: State, builder: Builder) -> None:
        self.state, self.builder = state, builder
        self.generator = builder.generator
        self.chains: list[list[Sheet]] = []
        self.attempts: dict[bytes, list[Attempt]] = {}

    def take(self, plans: list[list[Sheet]]) -> None:
        """Take plans as chains; the best stay."""
        self.chains = sorted(self.chains + plans, key=lambda p: (self.builder.price(p), -self._uneven(p)))
        del self.chains[self.builder.batch :]

    def _uneven(self, plan: list[Sheet]) -> float:
        """Return how unevenly the sheets are filled, weighed by their prices."""
        return sum(float(self.state.prices[s.stock]) * s.share**2 for s in plan)

    def rebuild(self, rounds: int, duals: FloatArray | None) -> None:
        """Rebuild a few sheets of every chain, some at values near the duals."""
        state, builder = self.state, self.builder
        for _ in range(rounds):
            if state.done() or not self.chains:
                return
            picked = [self.chains[k % len(self.chains)] for k in range(builder.batch)]
            gone, stays = self._apart(picked)
            wanted = np.array([sum(s.used for s in sheets) for sheets in gone])
            most = np.array([builder.price(sheets) for sheets in gone])
            plans, left = builder.lay(self._values(duals), wanted, self._free(stays, state.limits), most)
            for row, (plan, rest) in enumerate(zip(plans, left, strict=True)):
                if rest.any():
                    continue
                least = self._uneven(gone[row]) - 0.02 * self.generator.random() * float(most[row])
                if builder.price(plan) < most[row] or self._uneven(plan) > least:
                    self.chains[row % len(self.chains)] = stays[row] + plan
                    builder.offer(stays[row] + plan)

    def _values(self, duals: FloatArray | None) -> FloatArray:
        """Return values for the parts laid anew."""
        values = self.builder.start()
        values *= self.generator.uniform(0.9, 1.1, values.shape)
        if duals is not None and duals.max() > 0:
            values[::2] = 0.5 * values[::2] + 0.5 * SCALE * duals / duals.max()
        return values

    def _apart(self, plans: list[list[Sheet]]) -> tuple[list[list[Sheet]], list[list[Sheet]]]:
        """Return for each plan the sheets to take apart, the emptier the likelier, and those that stay."""
        gone, stays = [], []
        for plan in plans:
            parts = sum(int(s.used.sum()) for s in plan) / max(len(plan), 1)
            few = int(np.clip(round(APART / max(parts, 1.0)), 2, 6))
            number = min(len(plan), int(self.generator.integers(2, few + 1)))
            weight = np.array([1.05 - min(s.share, 1.0) for s in plan])
            out = set(self.generator.choice(len(plan), number, replace=False, p=weight / weight.sum()).tolist())
            if self.generator.random() < 0.5:
                out.add(int(weight.argmax()))
            gone.append([plan[k] for k in sorted(out)])
            stays.append([s for k, s in enumerate(plan) if k not in out])
        return gone, stays

    def _free(self, stays: list[list[Sheet]], limits: IntArray) -> IntArray:
        """Return the sheets still free beside those that stay."""
        free = np.repeat(limits[None, :], len(stays), axis=0)
        for row, plan in enumerate(stays):
            for sheet in plan:
                free[row, sheet.stock] -= free[row, sheet.stock] > 0
        return free

    def settle(self, counts: IntArray, rounds: int) -> bool:
        """Try to lay everything into exactly these sheets; return True when a plan was offered."""
        state, builder = self.state, self.builder
        known = self.attempts.get(counts.tobytes(), [])
        for _ in range(rounds):
            if state.done():
                break
            if len(known) < builder.batch or self.generator.random() < 0.2:
                kept: list[list[Sheet]] = [[] for _ in range(builder.batch)]
            else:
                kept = self._apart([known[k % len(known)].sheets for k in range(builder.batch)])[1]
            wanted = np.repeat(state.demand[None, :], builder.batch, axis=0)
            for row, sheets in enumerate(kept):
                wanted[row] -= sum((s.used for s in sheets), np.zeros(state.kinds, dtype=np.int64))
            plans, left = builder.lay(self._values(None), wanted, self._free(kept, counts), None, True)
            for sheets, plan, rest in zip(kept, plans, left, strict=True):
                if not rest.any():
                    return state.offer([Layout(s.stock, s.tree) for s in sheets + plan])
                known.append(Attempt(sheets + plan, rest, float(rest @ builder.area)))
            known = self._distinct(known)
            self.attempts[counts.tobytes()] = known
        return False

    def _distinct(self, attempts: list[Attempt]) -> list[Attempt]:
        """Return the attempts that leave least over, no two of which leave the same parts."""
        out: dict[bytes, Attempt] = {}
        for attempt in sorted(attempts, key=lambda a: a.short):
            out.setdefault(attempt.left.tobytes(), attempt)
        return list(out.values())[: self.builder.batch]
