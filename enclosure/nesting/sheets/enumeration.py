"""Which whole sheets can a plan be made of, when it has little value to lose?

At given values of the parts every sheet is worth at most its entry in the closed
table of `pricing.py`. When the sheets of a plan are fixed, their entries together
exceed the value of the demand by a slack; so no sheet of any such plan is worth
less than its entry minus the slack. All multisets of parts that reach this and can
be cut are listed, none of which uses a kind more often than it is wanted.

From the sheets down, every piece gets the greatest slack it can be left with;
pieces with none are dropped. From the leaves up, `rectangles.py` then joins parts
in their own sizes. High grids: what a piece is worth is never understated.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.packing import Packing
from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.pricing import Pricer
from enclosure.nesting.sheets.rectangles import Batch, Builder
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import min_size

Codes = NDArray[np.uint64]
MOST_WIDE = 1_000_000
"""Pairs of rectangles looked at for sheets of one stock that lose more."""


@dataclass(frozen=True, slots=True)
class Found:
    """Multisets of parts of one stock: packed uses, ascending, what each is worth, and the rectangle that holds it."""

    codes: Codes
    values: IntArray
    numbers: IntArray


def distinct(codes: Codes) -> tuple[Codes, IntArray]:
    """Return the different codes, ascending, and where each stands."""
    order = codes.argsort(kind="stable")
    ascending = codes[order]
    keep = np.ones(len(codes), dtype=bool)
    np.not_equal(ascending[1:], ascending[:-1], out=keep[1:])
    return ascending[keep], order[keep]


class Enumerator:
    """Lists the multisets of parts within a slack.

    Args:
        state: Shared knowledge.
        pricer: A pricer without counted kinds, over high grids.
    """

    def __init__(self, state: State, pricer: Pricer) -> None:
        self.state, self.pricer = state, pricer
        area = max(s.width * s.height for s in state.problem.stocks)
        most = np.minimum(pricer.demand, np.maximum(area // np.maximum(state.leaf_area_of_kind, 1), 1))
        self.packing = Packing(most.astype(np.int64))
        self.caps = self.packing.bias(most.astype(np.int64)[None, :])[0, 0]
        self.guard = self.packing.guard[0]
        self.kept = 0
        self.builder: Builder | None = None
        space = pricer.space
        self.splits_x = [_splits(space.xs, i) for i in range(len(space.xs.at))]
        self.splits_y = [_splits(space.ys, j) for j in range(len(space.ys.at))]

    def usable(self) -> bool:
        """Return True when the job suits: stages unlimited, uses fit one word."""
        return self.state.problem.stages is None and self.packing.words == 1

    def run(
        self, table: IntArray, values: IntArray, slack: int, stocks: list[int], most: int
    ) -> dict[int, Found] | None:
        """Return the multisets of each stock within the slack; None when more than about `most` would be kept.

        Args:
            table: Closed table of the pricer at these values.
            values: Integer value of each kind.
            slack: What one sheet may lose against its entry.
            stocks: The stocks wanted.
            most: Most rectangles kept.
        """
        room = self.room(table, slack, stocks)
        space = self.pricer.space
        builder = Builder(space, table, room, self._leaves(values), (self.caps, self.guard), self.state.budget)
        every = builder.run(most)
        self.kept = builder.kept
        if every is None:
            return None
        self.builder = builder
        out = {}
        for stock in stocks:
            i, j = self.pricer.ends[stock]
            across, up = int(space.xs.at[i]), int(space.ys.at[j])
            fits = (every.width <= across) & (every.height <= up)
            which = np.flatnonzero(fits & (every.worth >= int(table[i, j]) - slack))
            codes, place = distinct(every.codes[which])
            which = which[place]
            out[stock] = Found(codes, every.worth[which], which)
        return out

    def wide(self, table: IntArray, lose: int, stocks: list[int]) -> dict[int, Found]:
        """Return more sheets of each stock, of two listed rectangles each, that lose at most `lose`; not all."""
        assert self.builder is not None
        out = {}
        for stock in stocks:
            end = self.pricer.ends[stock]
            numbers = self.builder.wide(end, int(table[end]), lose, MOST_WIDE)
            codes, place = distinct(self.builder.all.codes[numbers])
            out[stock] = Found(codes, self.builder.all.worth[numbers[place]], numbers[place])
        return out

    def uses(self, codes: Codes) -> IntArray:
        """Return how often each kind is used, a row each."""
        return ((codes[:, None] >> self.packing.shift[None, :]) & self.packing.full[None, :]).astype(np.int64)

    def tree(self, stock: int, number: int) -> Tree | None:
        """Return the cuts of a listed sheet; None when it holds too much by less than a step of the grids."""
        assert self.builder is not None
        tree = self.builder.tree(number)
        width, height = min_size(tree, self.state.problem)
        sheet = self.state.problem.stocks[stock]
        return tree if width <= sheet.width and height <= sheet.height else None

    def _leaves(self, values: IntArray) -> Batch:
        """Return the leaves that are wanted, measured as on the grids."""
        state, space = self.state, self.pricer.space
        wanted = np.flatnonzero((state.part_uses <= self.pricer.demand).all(axis=1))
        leaves = [state.problem.leaves[k] for k in wanted]
        made = np.stack([np.full(len(wanted), -1), wanted, np.zeros(len(wanted), dtype=np.int64)], axis=1)
        return Batch(
            self.packing.pack(state.part_uses[wanted].astype(np.uint64))[:, 0],
            np.array([x.width // space.unit_x for x in leaves], dtype=np.int64),
            np.array([x.height // space.unit_y for x in leaves], dtype=np.int64),
            state.part_uses[wanted] @ values,
            made,
        )

    def room(self, table: IntArray, slack: int, stocks: list[int]) -> IntArray:
        """Return the greatest slack of every piece, negative where it cannot be part of a plan."""
        room = np.full(table.shape, -1, dtype=np.int64)
        for stock in stocks:
            room[self.pricer.ends[stock]] = slack
        for i in range(len(room) - 1, 0, -1):
            self._divide_up(table[i], room[i])
            alive = np.flatnonzero(room[i] >= 0)
            if not len(alive):
                continue
            here, value = room[i, alive], table[i, alive]
            room[i - 1, alive] = np.maximum(room[i - 1, alive], here - (value - table[i - 1, alive]))
            near, far = self.splits_x[i]
            for n, f in zip(near.tolist(), far.tolist(), strict=True):
                first, second = table[n, alive], table[f, alive]
                left = here - (value - first - second)
                left[(first == 0) | (second == 0)] = -1
                room[n, alive] = np.maximum(room[n, alive], left)
                room[f, alive] = np.maximum(room[f, alive], left)
            self.state.budget.spend(0.01 * len(near))
        return room

    def _divide_up(self, table: IntArray, room: IntArray) -> None:
        """Hand the slack of the pieces of one width down to what they divide into along y."""
        for j in range(len(room) - 1, 0, -1):
            here = room[j]
            if here < 0:
                continue
            value = table[j]
            room[j - 1] = max(room[j - 1], here - (value - table[j - 1]))
            near, far = self.splits_y[j]
            first, second = table[near], table[far]
            left = here - (value - first - second)
            keep = (left >= 0) & (first > 0) & (second > 0)
            if keep.any():
                np.maximum.at(room, near[keep], left[keep])
                np.maximum.at(room, far[keep], left[keep])


def _splits(grid: Grid, index: int) -> tuple[IntArray, IntArray]:
    """Return the near and far pieces into which place `index` divides, the near one not the larger."""
    near = np.arange(1, index + 1)
    far = grid.far(index, near)
    keep = (far < index) & (near <= far) & (far > 0)
    return near[keep], far[keep]
