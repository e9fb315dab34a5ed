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

from enclosure.nesting.sheets.space import Space, Tree
from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Problem

Table = NDArray[np.int32]


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
        self.minus = np.full((len(self.states), len(self.states)), -1, dtype=np.int64)
        for state, s in enumerate(self.states):
            for one, o in enumerate(self.states):
                rest = tuple(a - b for a, b in zip(s, o, strict=True))
                self.minus[state, one] = number.get(rest, -1)
        self.less = [
            [number[(*s[:k], s[k] - 1, *s[k + 1 :])] for k in range(len(s)) if s[k]] for s in self.states
        ]
        self.leaf_from = self._leaf_states(number)
        self.last_work = 0.0
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

    def work(self) -> float:
        """Return the work of one pricing in units (measured on the run before when there was one)."""
        if self.last_work:
            return self.last_work
        rounds = self.problem.stages * 1.0 if self.problem.stages else 2.5
        atoms = 3 * len(self.problem.leaves)
        cells = len(self.space.xs.at) * len(self.space.ys.at) * len(self.states)
        return rounds * (cells * atoms * 1e-6 + 0.01 * (len(self.space.xs.at) + len(self.space.ys.at)))

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
        table = np.zeros((len(self.space.xs.at), len(self.states), len(self.space.ys.at)), dtype=np.int32)
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
        self.last_work = 0.0
        while stages is None or len(levels) <= stages:
            last = levels[-1][1]
            closed = levels[-2][1] if len(levels) >= 3 else None
            if axis == "x":
                after = self._join(last, closed, self.space.xs)
            else:
                after = np.ascontiguousarray(
                    self._join(
                        np.ascontiguousarray(last.transpose(2, 1, 0)),
                        None if closed is None else np.ascontiguousarray(closed.transpose(2, 1, 0)),
                        self.space.ys,
                    ).transpose(2, 1, 0)
                )
            if stages is None and len(levels) >= 3 and np.array_equal(after, last):
                break
            levels.append((axis, after))
            axis = "y" if axis == "x" else "x"
        return levels

    def _atoms(self, values: Table, closed: Table | None) -> tuple[IntArray, IntArray]:
        """Return the near pieces worth trying, as (place, state).

        A near piece must be worth more than a smaller one, than one with less of a
        counted kind, and than what was already there when this axis was last closed.
        """
        gain = values[1:] > values[:-1]
        if closed is not None:
            gain &= values[1:] > closed[1:]
        for state, less in enumerate(self.less):
            for other in less:
                gain[:, state] &= values[1:, state] > values[1:, other]
        place, state = np.nonzero(gain.any(axis=2))
        return place + 1, state

    def _join(self, values: Table, closed: Table | None, grid: Grid) -> Table:
        """Return the closure along the first axis; states are divided between the two pieces.

        Args:
            values: Values as (place along the axis, state, place across).
            closed: Values when this axis was last closed: these need no joining again.
            grid: The axis.
        """
        length, states, across = values.shape
        place, one = self._atoms(values, closed)
        out = np.concatenate([values, np.full((1, states, across), -1, dtype=values.dtype)])
        out[-1] = np.iinfo(values.dtype).min // 4
        state, entry = np.nonzero(self.minus[:, one] >= 0)
        near, near_state = place[entry], one[entry]
        rest = self.minus[state, near_state]
        order = np.argsort(near, kind="stable") if states == 1 else np.arange(len(near))
        state, near, near_state, rest = state[order], near[order], near_state[order], rest[order]
        starts = np.flatnonzero(np.diff(state, prepend=-1)) if len(state) else np.zeros(0, dtype=np.int64)
        groups = state[starts] if len(state) else state
        piece = values[near, near_state]
        least = grid.least[near]
        ends = np.searchsorted(near, np.arange(length), side="right") if states == 1 else None
        for index in range(1, length):
            row = out[index]
            np.maximum(row, out[index - 1], out=row)
            if ends is not None:
                count = int(ends[index])
                if count == 0:
                    continue
                both = out[grid.beside[np.maximum(grid.at[index] - least[:count], -1)], 0]
                both += piece[:count]
                np.maximum(row[0], both.max(axis=0), out=row[0])
            elif len(near):
                far = grid.beside[np.maximum(grid.at[index] - least, -1)]
                both = out[far, rest]
                both += piece
                best = np.maximum.reduceat(both, starts, axis=0)
                row[groups] = np.maximum(row[groups], best)
        self.last_work += length * (len(near) + 2) * across * 1e-6 + 0.008 * length
        return out[:-1]

    def _read(
        self, levels: list[tuple[str, Table]], worth: IntArray, depth: int, spot: tuple[int, int, int]
    ) -> Tree | None:
        """Return the pattern behind a value; joins are found again by looking for their sum."""
        axis, table = levels[depth]
        if table[spot] <= 0:
            return None
        if depth == 0:
            return self._leaf_at(worth, int(table[spot]), spot)
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
            found = (place, now, 0, 0)
            if base[place, now] != here:
                split = self._split(line, base, grid, place, now)
                if split is None:
                    return None
                found = split
                pending.append((found[2], found[3]))
            child = self._read(
                levels, worth, depth - 1, (found[0], found[1], j) if axis == "x" else (i, found[1], found[0])
            )
            if child is not None:
                children.append(child)
        if not children:
            return None
        if len(children) == 1 and self.problem.stages is None:
            return children[0]
        return (axis, tuple(children))

    def _split(
        self, line: Table, base: Table, grid: Grid, place: int, now: int
    ) -> tuple[int, int, int, int] | None:
        """Return near and far piece, each (place, state), whose values make up the value at `place`."""
        near = np.arange(1, place + 1)
        far = grid.far(place, near)
        near, far = near[far < place], far[far < place]
        for one in range(len(self.states)):
            two = int(self.minus[now, one])
            if two < 0:
                continue
            hit = np.flatnonzero(base[near, one] + line[far, two] == line[place, now])
            if len(hit):
                return int(near[hit[0]]), one, int(far[hit[0]]), two
        return None

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
