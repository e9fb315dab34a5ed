"""What is the best value that can be cut from a piece of any size?

Unbounded two-stage closure: starting from the values of the leaves, pieces are
joined side by side for every height at once, then one above the other for every
width at once, until nothing gains. The values after k closures are exactly the
values of plans with k stages; without a limit the last table holds for any
number of stages. Demand is not counted here, so with dual values the table gives
a bound valid for every guillotine plan. All values are integers.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Leaf

Table = NDArray[np.int64]
Tree = tuple  # type: ignore[type-arg]  # ("leaf", i) or ("x" | "y", (tree, ...))


@dataclass(frozen=True, slots=True)
class Level:
    """One closure: the axis joined along, and the values after it."""

    axis: str
    values: Table


@dataclass(frozen=True, slots=True)
class Space:
    """The two grids and where each leaf stands on them."""

    xs: Grid
    ys: Grid
    leaf_x: IntArray
    leaf_y: IntArray
    leaves: tuple[Leaf, ...]

    def round_work(self) -> float:
        """Return the work of one closure along each axis, in millions of additions."""
        return self.xs.work(len(self.ys.at)) + self.ys.work(len(self.xs.at))


def join(values: Table, grid: Grid) -> Table:
    """Return the closure of `values` (places along the first axis) under joining along that axis."""
    out = values.copy()
    far, near = grid.far, grid.near
    for index in range(1, len(out)):
        row = out[index]
        np.maximum(row, out[index - 1], out=row)
        count = near[index]
        if count == 1:
            np.maximum(row, out[1] + out[far[index][0]], out=row)
        elif count:
            both = out[far[index]]
            both += out[1 : count + 1]
            np.maximum(row, both.max(axis=0), out=row)
    return out


def leaf_table(space: Space, worth: IntArray) -> Table:
    """Return the values of single leaves at exactly their size."""
    table = np.zeros((len(space.xs.at), len(space.ys.at)), dtype=np.int64)
    inside = (space.leaf_x < table.shape[0]) & (space.leaf_y < table.shape[1])
    np.maximum.at(table, (space.leaf_x[inside], space.leaf_y[inside]), worth[inside])
    return table


def close(space: Space, worth: IntArray, stages: int | None, first: str = "y") -> list[Level]:
    """Return the tables after each closure, the last one holding for the whole sheet.

    Args:
        space: Grids and leaves.
        worth: Value of each leaf.
        stages: Number of closures, or None to go on until nothing gains.
        first: Axis of the first cut of a sheet when stages are limited.
    """
    base = leaf_table(space, worth)
    levels = [Level("", base)]
    if stages is None:
        np.maximum.accumulate(base, axis=0, out=base)
        np.maximum.accumulate(base, axis=1, out=base)
        axis = "x"
    else:
        axis = first if stages % 2 == 1 else ("x" if first == "y" else "y")
    while stages is None or len(levels) <= stages:
        last = levels[-1].values
        if axis == "x":
            after = join(last, space.xs)
        else:
            after = np.ascontiguousarray(join(np.ascontiguousarray(last.T), space.ys).T)
        if stages is None and len(levels) >= 3 and np.array_equal(after, last):
            break
        levels.append(Level(axis, after))
        axis = "y" if axis == "x" else "x"
    return levels


def read_tree(space: Space, levels: list[Level], worth: IntArray, i: int, j: int, staged: bool) -> Tree | None:
    """Return the plan behind the value at place (i, j) of the last level, None when it is empty."""
    return _read(space, levels, worth, len(levels) - 1, i, j, staged)


def _read(space: Space, levels: list[Level], worth: IntArray, depth: int, i: int, j: int, staged: bool) -> Tree | None:
    """Return the plan of a piece as `read_tree`; the join is found again by looking for its value."""
    value = levels[depth].values[i, j]
    if value <= 0:
        return None
    if depth == 0:
        return _leaf_at(space, worth, int(value), i, j, staged)
    level, before = levels[depth], levels[depth - 1].values
    if level.axis == "x":
        line, base, grid, at = level.values[:, j], before[:, j], space.xs, i
    else:
        line, base, grid, at = level.values[i, :], before[i, :], space.ys, j
    children: list[Tree] = []
    pending = [at]
    while pending:
        spot = pending.pop()
        here = line[spot]
        if here <= 0:
            continue
        while spot and line[spot - 1] == here:
            spot -= 1
        if base[spot] == here:
            pair = (spot, j) if level.axis == "x" else (i, spot)
            child = _read(space, levels, worth, depth - 1, pair[0], pair[1], staged)
            if child is not None:
                children.append(child)
            continue
        count = grid.near[spot]
        sums = line[1 : count + 1] + line[grid.far[spot]]
        hit = int(np.argmax(sums))
        if sums[hit] != here:  # a high grid may hold a value through the row below only
            return None
        pending.extend((hit + 1, int(grid.far[spot][hit])))
    if not children:
        return None
    return children[0] if len(children) == 1 and not staged else (level.axis, tuple(children))


def _leaf_at(space: Space, worth: IntArray, value: int, i: int, j: int, staged: bool) -> Tree | None:
    """Return a leaf of that value: exactly at the place when staged, else the largest that fits."""
    if staged:
        fits = (space.leaf_x == i) & (space.leaf_y == j)
    else:
        fits = (space.leaf_x <= i) & (space.leaf_y <= j)
    found = np.flatnonzero(fits & (worth == value))
    if not len(found):
        return None
    area = [space.leaves[k].width * space.leaves[k].height for k in found]
    return ("leaf", int(found[int(np.argmax(area))]))


def uses(tree: Tree | None, leaves: tuple[Leaf, ...], kinds: int) -> IntArray:
    """Return how often each kind is in the plan."""
    count = np.zeros(kinds, dtype=np.int64)
    pending = [tree] if tree is not None else []
    while pending:
        node = pending.pop()
        if node[0] == "leaf":
            for part in leaves[node[1]].parts:
                count[part] += 1
        else:
            pending.extend(node[1])
    return count
