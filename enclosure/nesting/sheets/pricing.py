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

from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Problem
from enclosure.nesting.sheets.space import Space, Tree

Table = NDArray[np.int32]


@dataclass(frozen=True, slots=True)
class CountCut:
    """`sum(worth[b] * sheets[b]) >= need` for every plan."""

    worth: IntArray
    need: int


@dataclass(frozen=True, slots=True)
class Priced:
    """Result of one pricing: the cut, and relaxed patterns with their stock (None when unreadable)."""

    cut: CountCut
    trees: tuple[tuple[int, Tree | None], ...]


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
        self.less = [[number[(*s[:k], s[k] - 1, *s[k + 1 :])] for k in range(len(s)) if s[k]] for s in self.states]
        self.leaf_from = self._leaf_states(number)
        most = max(len(x.parts) for x in problem.leaves)
        self.leaf_parts = np.array([(*x.parts, *[-1] * (most - len(x.parts))) for x in problem.leaves], dtype=np.int64)
        self.leaf_fits = np.zeros((len(problem.leaves), len(self.states)), dtype=bool)
        for leaf, fits in enumerate(self.leaf_from):
            if fits is not None:
                self.leaf_fits[leaf, fits] = True
        self.last_work = 0.0
        self.ends = space.ends(problem.stocks)

    def _most(self, kind: int) -> int:
        """Return how many of a kind fit the largest sheet by area."""
        leaf = min((x.width * x.height // len(x.parts) for x in self.problem.leaves if kind in x.parts), default=1)
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

    def price(self, values: IntArray, quick: int | None = None, more: int = 0, first: str = "y") -> Priced:
        """Return cut and patterns at the given integer value of each kind, `more` others besides the best.

        With `quick` only so many closures are made: the patterns are good, the cut is NOT valid.
        """
        worth = self.leaf_worth(values)
        runs = ["y", "x"] if self.problem.stages is not None else [first]
        values_best = np.zeros(len(self.problem.stocks), dtype=np.int64)
        trees: list[tuple[int, Tree | None]] = []
        for first in runs:
            levels = self._close(worth, first, quick)
            last = len(self.states) - 1
            for stock, (i, j) in enumerate(self.ends):
                value = int(levels[-1][1][i, last, j])
                if value > values_best[stock]:
                    values_best[stock] = value
                    trees.append((stock, self._read(levels, worth, len(levels) - 1, (i, last, j))))
                if more and len(self.states) == 1:
                    trees.extend((stock, t) for t in self._others(levels, worth, i, j, more))
        need = int((values * self.demand).sum())
        return Priced(CountCut(values_best, need), tuple(trees))

    def leaf_worth(self, values: IntArray) -> IntArray:
        """Return the value of each leaf at the given value of each kind."""
        worth: IntArray = (values[self.leaf_parts] * (self.leaf_parts >= 0)).sum(axis=1)
        return worth

    def closed_table(self, values: IntArray) -> IntArray:
        """Return the value of every piece at the given values, by (x, y), all demands counted permitted."""
        worth = self.leaf_worth(values)
        return self._close(worth, "y", None)[-1][1][:, -1].astype(np.int64)

    def _others(self, levels: list[tuple[str, Table]], worth: IntArray, i: int, j: int, most: int) -> list[Tree]:
        """Return the best patterns that differ in the first piece cut off, the very best left out."""
        out: list[Tree] = []
        for depth in range(len(levels) - 1, max(0, len(levels) - 3), -1):
            axis, table = levels[depth]
            before = levels[depth - 1][1]
            line, base, grid, at = (
                (table[:, 0, j], before[:, 0, j], self.space.xs, i)
                if axis == "x"
                else (table[i, 0], before[i, 0], self.space.ys, j)
            )
            near = np.flatnonzero(base[1 : at + 1] > base[:at]) + 1
            far = grid.far(at, near)
            near, far = near[far < at], far[far < at]
            total = base[near] + line[far]
            for pick in np.argsort(-total, kind="stable")[: most + 1]:
                spots = [(int(near[pick]), depth - 1), (int(far[pick]), depth)]
                pieces = [
                    self._read(levels, worth, d, (spot, 0, j) if axis == "x" else (i, 0, spot)) for spot, d in spots
                ]
                kept = tuple(p for p in pieces if p is not None)
                if kept:
                    out.append((axis, kept))
            if self.problem.stages is not None:
                break
        return out

    def _base(self, worth: IntArray) -> Table:
        """Return leaf values as (x, state, y)."""
        table = np.zeros((len(self.space.xs.at), len(self.states), len(self.space.ys.at)), dtype=np.int32)
        xs, ys = self.space.leaf_x, self.space.leaf_y
        leaf, state = np.nonzero(self.leaf_fits & ((xs < table.shape[0]) & (ys < table.shape[2]))[:, None])
        np.maximum.at(table, (xs[leaf], state, ys[leaf]), worth[leaf].astype(np.int32))
        if self.problem.stages is None:
            np.maximum.accumulate(table, axis=0, out=table)
            np.maximum.accumulate(table, axis=2, out=table)
        return table

    def _close(self, worth: IntArray, first: str, quick: int | None) -> list[tuple[str, Table]]:
        """Return the tables after each closure; at most `quick` of them when given."""
        stages = self.problem.stages
        levels: list[tuple[str, Table]] = [("", self._base(worth))]
        axis = first if stages is None or stages % 2 == 1 else ("x" if first == "y" else "y")
        if stages is None:
            axis = "y" if (quick is not None and (quick % 2 == 0) == (first == "x")) else "x"
        self.last_work = 0.0
        while stages is None or len(levels) <= stages:
            last = levels[-1][1]
            closed = levels[-2][1] if len(levels) >= 3 else None
            final = len(levels) == (stages if stages is not None else quick)
            after = self._closed(last, closed, axis, final)
            if stages is None and not final and len(levels) >= 3 and np.array_equal(after, last):
                break
            levels.append((axis, after))
            if final:
                break
            axis = "y" if axis == "x" else "x"
        return levels

    def _closed(self, last: Table, closed: Table | None, axis: str, final: bool) -> Table:
        """Return the closure of `last` along `axis`; at the sizes of the sheets only when it is the final one."""
        turn = (0, 1, 2) if axis == "x" else (2, 1, 0)
        grid = self.space.xs if axis == "x" else self.space.ys
        where = sorted({end[1] if axis == "x" else end[0] for end in self.ends}) if final else slice(None)
        values = np.ascontiguousarray(last.transpose(turn)[:, :, where])
        before = None if closed is None else closed.transpose(turn)[:, :, where]
        joined = self._join(values, before, grid)
        if not final:
            return np.ascontiguousarray(joined.transpose(turn))
        after = np.zeros_like(last)
        after.transpose(turn)[:, :, where] = joined
        return after

    def _atoms(self, values: Table, closed: Table | None) -> tuple[IntArray, IntArray]:
        """Return the near pieces worth trying, as (place, state).

        A near piece must be worth more than a smaller one, than one with less of a
        counted kind, and than what was already there when this axis was last closed.
        """
        gain = values[1:] > values[:-1]
        if closed is not None:
            gain &= values[1:] > closed[1:]
        for each, less in enumerate(self.less):
            for other in less:
                gain[:, each] &= values[1:, each] > values[1:, other]
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
        out = np.empty((length + 1, states, across), dtype=values.dtype)
        np.maximum.accumulate(values, axis=0, out=out[:-1])
        out[-1] = np.iinfo(values.dtype).min // 4
        if len(place) == 0:
            return out[:-1]
        if states == 1:
            self._join_plain(out[:, 0], values[place, 0], place, grid)
        else:
            self._join_states(out, values, place, one, grid)
        return out[:-1]

    def _join_plain(self, out: Table, piece: Table, near: IntArray, grid: Grid) -> None:
        """Join the pieces `piece` at the places `near` into `out`, without states."""
        length, across = len(out) - 1, out.shape[1]
        least = grid.least[near]
        ends = np.searchsorted(near, np.arange(length), side="right").tolist()
        buffer = np.empty((len(near), across), dtype=out.dtype)
        for start in range(1, length, 256):
            stop = min(start + 256, length)
            far = grid.beside[np.maximum(grid.at[start:stop, None] - least[None, :], -1)]
            for index in range(start, stop):
                count = ends[index]
                if count == 0:
                    continue
                both = buffer[:count]
                np.take(out, far[index - start, :count], axis=0, out=both, mode="clip")
                both += piece[:count]
                row = out[index]
                np.maximum(row, np.maximum.reduce(both, axis=0), out=row)
        self.last_work += 0.5 * length * len(near) * across * 1e-6 + 0.005 * length

    def _join_states(self, out: Table, values: Table, place: IntArray, one: IntArray, grid: Grid) -> None:
        """Join the pieces at `place` with states `one` into `out`, dividing states between the two pieces."""
        length, across = len(out) - 1, out.shape[2]
        state, entry = np.nonzero(self.minus[:, one] >= 0)
        near, near_state = place[entry], one[entry]
        rest = self.minus[state, near_state]
        starts = np.flatnonzero(np.diff(state, prepend=-1))
        groups = state[starts]
        piece = values[near, near_state]
        least = grid.least[near]
        for index in range(1, length):
            far = grid.beside[np.maximum(grid.at[index] - least, -1)]
            both = out[far, rest]
            both += piece
            row = out[index]
            row[groups] = np.maximum(row[groups], np.maximum.reduceat(both, starts, axis=0))
        self.last_work += length * len(near) * across * 1e-6 + 0.008 * length

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

    def _split(self, line: Table, base: Table, grid: Grid, place: int, now: int) -> tuple[int, int, int, int] | None:
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
        fits = (worth == value) & self.leaf_fits[:, state]
        xs, ys = self.space.leaf_x, self.space.leaf_y
        exact = np.flatnonzero(fits & (xs == i) & (ys == j))
        if len(exact):
            return ("leaf", int(exact[0]))
        if self.problem.stages is not None:
            return None
        found = np.flatnonzero(fits & (xs <= i) & (ys <= j))
        return ("leaf", int(found[0])) if len(found) else None
