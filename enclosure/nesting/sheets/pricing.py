"""What is a sheet worth at given values of the parts, and which pattern is worth it?

The closure of `closure.py` with demand carried exactly for some kinds
(decremental state-space relaxation): a state says how many of each such kind a
piece may hold at most. Values are integers; for every stock the value read at
its size is an upper bound on what any permitted pattern of it is worth, so

    sum over stocks of value * sheets >= sum over kinds of worth * demand

holds for every plan: one `Cut` on the numbers of sheets.
"""

from __future__ import annotations

from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.closure import Space, Tree
from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Problem

Table = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class CountCut:
    """`sum(worth[b] * sheets[b]) >= need` for every plan."""

    worth: IntArray
    need: int


@dataclass(frozen=True, slots=True)
class Priced:
    """Result of one pricing: the cut, and for each stock the relaxed pattern (None when unreadable)."""

    cut: CountCut
    trees: tuple[Tree | None, ...]


class Pricer:
    """Prices sheets over one space.

    Args:
        problem: The job in scaled integers.
        space: Grids and leaves.
        demand: Copies wanted of each kind.
        counted: Kinds whose demand is carried exactly.
    """

    def __init__(self, problem: Problem, space: Space, demand: IntArray, counted: tuple[int, ...] = ()) -> None:
        self.problem, self.space, self.demand = problem, space, demand
        self.counted = counted
        caps = [min(int(demand[k]), self._most(k)) for k in counted]
        self.states = list(product(*[range(c + 1) for c in caps]))
        number = {s: n for n, s in enumerate(self.states)}
        self.splits: list[tuple[IntArray, IntArray]] = []
        for state in self.states:
            ones = list(product(*[range(c + 1) for c in state]))
            twos = [tuple(a - b for a, b in zip(state, one, strict=True)) for one in ones]
            self.splits.append((np.array([number[o] for o in ones]), np.array([number[t] for t in twos])))
        self.leaf_from = self._leaf_states(number)
        ends = [(space.xs.floor(s.width), space.ys.floor(s.height)) for s in problem.stocks]
        self.ends = ends

    def _most(self, kind: int) -> int:
        """Return how many of a kind fit the largest sheet by area."""
        leaf = min(
            (x.width * x.height // len(x.parts) for x in self.problem.leaves if kind in x.parts), default=1
        )
        return max(s.width * s.height for s in self.problem.stocks) // max(leaf, 1)

    def _leaf_states(self, number: dict[tuple[int, ...], int]) -> list[IntArray | None]:
        """Return for each leaf the states that permit it (None when demand never does)."""
        out: list[IntArray | None] = []
        for leaf in self.problem.leaves:
            need = tuple(leaf.parts.count(k) for k in self.counted)
            fits = [n for s, n in number.items() if all(a >= b for a, b in zip(s, need, strict=True))]
            lone = all(self.demand[p] >= leaf.parts.count(p) for p in leaf.parts)
            out.append(np.array(fits, dtype=np.int64) if fits and lone else None)
        return out

    def pairs(self) -> int:
        """Return the number of ways to divide states between two pieces."""
        return sum(len(a) for a, _ in self.splits)

    def work(self) -> float:
        """Return the work of one pricing in units."""
        rounds = self.problem.stages * 1.0 if self.problem.stages else 2.5
        return self.space.round_work() * self.pairs() * rounds

    def price(self, values: IntArray) -> Priced:
        """Return cut and patterns at the given integer value of each kind."""
        worth = np.array([int(values[list(x.parts)].sum()) for x in self.problem.leaves], dtype=np.int64)
        runs = ["y", "x"] if self.problem.stages is not None else ["y"]
        values_best = np.zeros(len(self.problem.stocks), dtype=np.int64)
        trees: list[Tree | None] = [None] * len(self.problem.stocks)
        for first in runs:
            levels = self._close(worth, first)
            last = len(self.states) - 1
            for stock, (i, j) in enumerate(self.ends):
                value = int(levels[-1][1][i, last, j])
                if value > values_best[stock]:
                    values_best[stock] = value
                    trees[stock] = self._read(levels, worth, len(levels) - 1, (i, last, j))
        need = int((values * self.demand).sum())
        return Priced(CountCut(values_best, need), tuple(trees))

    def _base(self, worth: IntArray) -> Table:
        """Return leaf values as (x, state, y)."""
        table = np.zeros((len(self.space.xs.at), len(self.states), len(self.space.ys.at)), dtype=np.int64)
        for leaf, states in enumerate(self.leaf_from):
            i, j = int(self.space.leaf_x[leaf]), int(self.space.leaf_y[leaf])
            if states is not None and i < table.shape[0] and j < table.shape[2]:
                table[i, states, j] = np.maximum(table[i, states, j], worth[leaf])
        if self.problem.stages is None:
            np.maximum.accumulate(table, axis=0, out=table)
            np.maximum.accumulate(table, axis=2, out=table)
        return table

    def _close(self, worth: IntArray, first: str) -> list[tuple[str, Table]]:
        """Return the tables after each closure."""
        stages = self.problem.stages
        levels: list[tuple[str, Table]] = [("", self._base(worth))]
        axis = first if stages is None or stages % 2 == 1 else ("x" if first == "y" else "y")
        if stages is None:
            axis = "x"
        while stages is None or len(levels) <= stages:
            last = levels[-1][1]
            if axis == "x":
                after = self._join(last, self.space.xs)
            else:
                after = np.ascontiguousarray(
                    self._join(np.ascontiguousarray(last.transpose(2, 1, 0)), self.space.ys).transpose(2, 1, 0)
                )
            if stages is None and len(levels) >= 3 and np.array_equal(after, last):
                break
            levels.append((axis, after))
            axis = "y" if axis == "x" else "x"
        return levels

    def _join(self, values: Table, grid: Grid) -> Table:
        """Return the closure along the first axis; states are divided between the two pieces."""
        out = values.copy()
        single = len(self.states) == 1
        for index in range(1, len(out)):
            row = out[index]
            np.maximum(row, out[index - 1], out=row)
            count = grid.near[index]
            if not count:
                continue
            far = grid.far[index]
            if single:
                both = out[far]
                both += out[1 : count + 1]
                np.maximum(row, both.max(axis=0), out=row)
                continue
            near_rows, far_rows = out[1 : count + 1], out[far]
            for state, (one, two) in enumerate(self.splits):
                both = near_rows[:, one]
                both += far_rows[:, two]
                np.maximum(row[state], both.max(axis=(0, 1)), out=row[state])
        return out

    def _read(
        self, levels: list[tuple[str, Table]], worth: IntArray, depth: int, spot: tuple[int, int, int]
    ) -> Tree | None:
        """Return the pattern behind a value; joins are found again by looking for their sum."""
        axis, table = levels[depth]
        value = table[spot]
        if value <= 0:
            return None
        if depth == 0:
            return self._leaf_at(worth, int(value), spot)
        i, state, j = spot
        before = levels[depth - 1][1]
        line, base, grid, at = (
            (table[:, :, j], before[:, :, j], self.space.xs, i)
            if axis == "x"
            else (table[i].T, before[i].T, self.space.ys, j)
        )
        children: list[Tree] = []
        pending = [(at, state)]
        while pending:
            place, now = pending.pop()
            here = line[place, now]
            if here <= 0:
                continue
            while place and line[place - 1, now] == here:
                place -= 1
            if base[place, now] == here:
                child = self._read(
                    levels, worth, depth - 1, (place, now, j) if axis == "x" else (i, now, place)
                )
                if child is not None:
                    children.append(child)
                continue
            one, two = self.splits[now]
            sums = line[1 : grid.near[place] + 1][:, one] + line[grid.far[place]][:, two]
            hit, split = np.unravel_index(int(np.argmax(sums)), sums.shape)
            if sums[hit, split] != here:
                return None
            pending.append((int(hit) + 1, int(one[split])))
            pending.append((int(grid.far[place][hit]), int(two[split])))
        if not children:
            return None
        if len(children) == 1 and self.problem.stages is None:
            return children[0]
        return (axis, tuple(children))

    def _leaf_at(self, worth: IntArray, value: int, spot: tuple[int, int, int]) -> Tree | None:
        """Return a leaf of that value at the place (exactly there when stages are limited)."""
        i, state, j = spot
        for leaf, states in enumerate(self.leaf_from):
            x, y = int(self.space.leaf_x[leaf]), int(self.space.leaf_y[leaf])
            exact = x == i and y == j
            if worth[leaf] == value and states is not None and state in states:
                if exact or (self.problem.stages is None and x <= i and y <= j):
                    return ("leaf", leaf)
        return None
