"""Which patterns use no part more often than it is still wanted?

The closure of `closure.py` with one plan kept per size: its value and how often
it uses each kind. Two plans join only when together they stay within demand. A
heuristic (another plan of the same size might join better), but every pattern
read from it is proper and can be cut.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.closure import Space, Tree
from enclosure.nesting.sheets.points import Grid, IntArray

Counts = NDArray[np.uint8]


@dataclass(frozen=True, slots=True)
class BoundedLevel:
    """Values and uses after one closure along `axis`, both as (x place, y place)."""

    axis: str
    values: IntArray
    used: Counts


def close_bounded(
    space: Space, worth: IntArray, cap: Counts, part_uses: Counts, stages: int | None, first: str, rounds: int = 4
) -> list[BoundedLevel]:
    """Return the tables after each closure.

    Args:
        space: Low or exact grids and leaves.
        worth: Value of each leaf.
        cap: Most uses of each kind in one sheet.
        part_uses: Uses of each kind by each leaf.
        stages: Number of closures when limited.
        first: Axis of the first cut of a sheet.
        rounds: Number of closures when not limited.
    """
    count_x, count_y = len(space.xs.at), len(space.ys.at)
    values = np.zeros((count_x, count_y), dtype=np.int64)
    used = np.zeros((count_x, count_y, len(cap)), dtype=np.uint8)
    order = np.argsort(worth, kind="stable")
    for leaf in order:
        i, j = int(space.leaf_x[leaf]), int(space.leaf_y[leaf])
        if i >= count_x or j >= count_y or worth[leaf] <= 0 or (part_uses[leaf] > cap).any():
            continue
        if stages is None:
            values[i:, j:] = worth[leaf]
            used[i:, j:] = part_uses[leaf]
        else:
            values[i, j] = worth[leaf]
            used[i, j] = part_uses[leaf]
    levels = [BoundedLevel("", values, used)]
    total = rounds if stages is None else stages
    axis = first if total % 2 == 1 else ("x" if first == "y" else "y")
    for _ in range(total):
        last = levels[-1]
        if axis == "x":
            after = _join(last.values, last.used, space.xs, cap)
        else:
            flipped = np.ascontiguousarray(last.values.T), np.ascontiguousarray(last.used.transpose(1, 0, 2))
            turned = _join(*flipped, space.ys, cap)
            after = np.ascontiguousarray(turned[0].T), np.ascontiguousarray(turned[1].transpose(1, 0, 2))
        levels.append(BoundedLevel(axis, *after))
        axis = "y" if axis == "x" else "x"
    return levels


def _join(values: IntArray, used: Counts, grid: Grid, cap: Counts) -> tuple[IntArray, Counts]:
    """Return the closure along the first axis, uses staying within `cap`."""
    values, used = values.copy(), used.copy()
    for index in range(1, len(values)):
        better = np.flatnonzero(values[index - 1] > values[index])
        values[index, better] = values[index - 1, better]
        used[index, better] = used[index - 1, better]
        count = grid.near[index]
        if count == 0:
            continue
        far = grid.far[index]
        sums = values[1 : count + 1] + values[far]
        columns = np.arange(values.shape[1])
        for _ in range(3):
            best = sums[:, columns].argmax(axis=0)
            gain = sums[best, columns] > values[index, columns]
            columns, best = columns[gain], best[gain]
            if not len(columns):
                break
            both = used[best + 1, columns] + used[far[best], columns]
            proper = (both <= cap).all(axis=1)
            done = columns[proper]
            values[index, done] = sums[best[proper], done]
            used[index, done] = both[proper]
            columns, best = columns[~proper], best[~proper]
            sums[best, columns] = -1
    return values, used


def read_bounded(space: Space, levels: list[BoundedLevel], worth: IntArray, part_uses: Counts, i: int, j: int) -> Tree | None:
    """Return the plan at place (i, j) of the last level."""
    return _read(space, levels, worth, part_uses, len(levels) - 1, i, j)


def _read(
    space: Space, levels: list[BoundedLevel], worth: IntArray, part_uses: Counts, depth: int, i: int, j: int
) -> Tree | None:
    """Return the plan of a piece; joins are found again by value and uses."""
    level = levels[depth]
    if level.values[i, j] <= 0:
        return None
    if depth == 0:
        fits = (space.leaf_x <= i) & (space.leaf_y <= j) & (worth == level.values[i, j])
        fits &= (part_uses == level.used[i, j]).all(axis=1)
        return ("leaf", int(np.flatnonzero(fits)[0]))
    before = levels[depth - 1]
    if level.axis == "x":
        line, base, grid, at = (level.values[:, j], level.used[:, j]), (before.values[:, j], before.used[:, j]), space.xs, i
    else:
        line, base, grid, at = (level.values[i], level.used[i]), (before.values[i], before.used[i]), space.ys, j
    children: list[Tree] = []
    pending = [at]
    while pending:
        spot = pending.pop()
        here, count = line[0][spot], line[1][spot]
        if here <= 0:
            continue
        while spot and line[0][spot - 1] == here and (line[1][spot - 1] == count).all():
            spot -= 1
        if base[0][spot] == here and (base[1][spot] == count).all():
            pair = (spot, j) if level.axis == "x" else (i, spot)
            child = _read(space, levels, worth, part_uses, depth - 1, *pair)
            if child is not None:
                children.append(child)
            continue
        near, far = np.arange(1, grid.near[spot] + 1), grid.far[spot]
        hit = np.flatnonzero(
            (line[0][near] + line[0][far] == here) & (line[1][near] + line[1][far] == count).all(axis=1)
        )
        pending.extend((int(near[hit[0]]), int(far[hit[0]])))
    return (level.axis, tuple(children)) if children else None
