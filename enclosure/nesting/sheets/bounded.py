"""Which patterns use no part more often than it is still wanted?

The closure of `pricing.py` with one plan kept per size: its value and how often
it uses each kind. Two plans join only when together they stay within demand. A
heuristic (another plan of the same size might join better), but every pattern
read from it is proper and can be cut. Several sets of values and demands are
closed at once, side by side in the columns of the tables, because the time goes
into the number of table operations, not into their length.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.packing import Packing, Words
from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.space import Space, Tree


@dataclass(frozen=True, slots=True)
class BoundedTables:
    """Tables after each closure: axis, values (x, batch, y) and uses (x, batch, y, word).

    Args:
        space: Low or exact grids and leaves.
        packing: How uses are packed.
        part_uses: Packed uses of each kind by each leaf.
        worth: Value of each leaf, one row per batch member.
        levels: The tables, first the leaves.
    """

    space: Space
    packing: Packing
    part_uses: Words
    worth: IntArray
    levels: list[tuple[str, IntArray, Words]]

    def uses(self, member: int, i: int, j: int) -> IntArray:
        """Return the uses of each kind at a place of the last level."""
        return self.packing.unpack(self.levels[-1][2][i, member, j])


def close_bounded(
    space: Space,
    worth: IntArray,
    caps: IntArray,
    packing: Packing,
    part_uses: IntArray,
    ends: list[tuple[int, int]],
    stages: int | None,
    first: str,
    rounds: int = 4,
) -> BoundedTables:
    """Return the tables after each closure; the last one is filled at the sizes of the sheets only.

    Args:
        space: Low or exact grids and leaves.
        worth: Value of each leaf, one row per batch member.
        caps: Most uses of each kind in one sheet, one row per batch member.
        packing: How uses are packed.
        part_uses: Uses of each kind by each leaf.
        ends: Places of the sheets.
        stages: Number of closures when limited.
        first: Axis of the first cut of a sheet.
        rounds: Number of closures when not limited.
    """
    packed = packing.pack(part_uses.astype(np.uint64))
    allowed: NDArray[np.bool_] = np.all(part_uses[None, :, :] <= caps[:, None, :], axis=2)
    values, used = _leaves(space, worth, allowed, packed, stages is None)
    bias = packing.bias(caps)
    levels = [("", values, used)]
    total = rounds if stages is None else stages
    axis = first if total % 2 == 1 else ("x" if first == "y" else "y")
    for step in range(total):
        _, values, used = levels[-1]
        closed = levels[-2][1] if len(levels) >= 3 else None
        turn = (0, 1, 2) if axis == "x" else (2, 1, 0)
        where: slice | list[int] = slice(None)
        if step == total - 1:
            where = sorted({end[1] if axis == "x" else end[0] for end in ends})
        after = _join(
            np.ascontiguousarray(values.transpose(turn)[:, :, where]),
            np.ascontiguousarray(used.transpose(*turn, 3)[:, :, where]),
            None if closed is None else closed.transpose(turn)[:, :, where],
            space.xs if axis == "x" else space.ys,
            bias,
            packing.guard,
        )
        if step == total - 1:
            values, used = np.zeros_like(values), np.zeros_like(used)
            values.transpose(turn)[:, :, where], used.transpose(*turn, 3)[:, :, where] = after
        else:
            values, used = after[0].transpose(turn), after[1].transpose(*turn, 3)
        levels.append((axis, values, used))
        axis = "y" if axis == "x" else "x"
    return BoundedTables(space, packing, packed, worth, levels)


def _leaves(
    space: Space, worth: IntArray, allowed: NDArray[np.bool_], packed: Words, spread: bool
) -> tuple[IntArray, Words]:
    """Return the tables of single leaves, at their size or wherever they fit."""
    count_x, count_y, batch = len(space.xs.at), len(space.ys.at), len(worth)
    values = np.zeros((count_x, batch, count_y), dtype=np.int64)
    which = np.full((count_x, batch, count_y), -1, dtype=np.int64)
    inside = (space.leaf_x < count_x) & (space.leaf_y < count_y)
    for member in range(batch):
        fits = np.flatnonzero(inside & allowed[member] & (worth[member] > 0))
        order = fits[np.argsort(worth[member, fits], kind="stable")]
        values[space.leaf_x[order], member, space.leaf_y[order]] = worth[member, order]
        which[space.leaf_x[order], member, space.leaf_y[order]] = order
    if spread:
        for axis in (0, 2):
            _spread(np.moveaxis(values, axis, 0), np.moveaxis(which, axis, 0))
    used = np.zeros((count_x, batch, count_y, packed.shape[1]), dtype=np.uint64)
    found = which >= 0
    used[found] = packed[which[found]]
    return values, used


def _spread(values: IntArray, which: IntArray) -> None:
    """Let every place along the first axis hold the best leaf at or before it."""
    for index in range(1, len(values)):
        better = values[index - 1] > values[index]
        values[index][better] = values[index - 1][better]
        which[index][better] = which[index - 1][better]


def _join(
    values: IntArray, used: Words, closed: IntArray | None, grid: Grid, bias: Words, guard: Words
) -> tuple[IntArray, Words]:
    """Return the closure along the first axis; uses plus bias may not touch the guard bits."""
    length, batch, across = values.shape
    words = used.shape[3]
    values = values.reshape(length, batch * across).copy()
    used = used.reshape(length, batch * across, words).copy()
    bias = np.repeat(bias, across, axis=0)
    everywhere = np.arange(batch * across)
    gain = values[1:] > values[:-1]
    if closed is not None:
        gain &= values[1:] > closed[1:].reshape(length - 1, batch * across)
    near = np.flatnonzero(gain.any(axis=1)) + 1
    atom_values, atom_used = values[near], used[near]
    values = np.concatenate([values, np.full((1, batch * across), -(1 << 40), dtype=np.int64)])
    for index in range(1, length):
        row = values[index]
        better = np.flatnonzero(values[index - 1] > row)
        row[better] = values[index - 1, better]
        used[index, better] = used[index - 1, better]
        count = int(np.searchsorted(near, index, side="right"))
        if count == 0:
            continue
        far = grid.far(index, near[:count])
        sums = values[far]
        sums += atom_values[:count]
        columns = everywhere
        for attempt in range(3):
            best = sums.argmax(axis=0) if attempt == 0 else sums[:, columns].argmax(axis=0)
            total = sums[best, columns]
            more = np.flatnonzero(total > row[columns])
            if not len(more):
                break
            columns, best, total = columns[more], best[more], total[more]
            both = atom_used[best, columns] + used[far[best], columns]
            proper = (((both + bias[columns]) & guard) == 0).all(axis=1)
            done = columns[proper]
            row[done] = total[proper]
            used[index, done] = both[proper]
            columns, best = columns[~proper], best[~proper]
            sums[best, columns] = -1
    values = values[:-1]
    return values.reshape(length, batch, across), used.reshape(length, batch, across, words)


def read_bounded(tables: BoundedTables, member: int, i: int, j: int) -> Tree | None:
    """Return the plan of a batch member at place (i, j) of the last level."""
    return _read(tables, member, len(tables.levels) - 1, i, j)


def _read(tables: BoundedTables, member: int, depth: int, i: int, j: int) -> Tree | None:
    """Return the plan of a piece; joins are found again by value and uses."""
    axis, values, used = tables.levels[depth]
    space = tables.space
    if values[i, member, j] <= 0:
        return None
    if depth == 0:
        fits = (space.leaf_x <= i) & (space.leaf_y <= j) & (tables.worth[member] == values[i, member, j])
        fits &= (tables.part_uses == used[i, member, j]).all(axis=1)
        return ("leaf", int(np.flatnonzero(fits)[0]))
    _, base_values, base_used = tables.levels[depth - 1]
    if axis == "x":
        line, count = values[:, member, j], used[:, member, j]
        base, base_count, grid, at = base_values[:, member, j], base_used[:, member, j], space.xs, i
    else:
        line, count = values[i, member], used[i, member]
        base, base_count, grid, at = base_values[i, member], base_used[i, member], space.ys, j
    children: list[Tree] = []
    pending = [at]
    while pending:
        spot = pending.pop()
        here, uses = line[spot], count[spot]
        if here <= 0:
            continue
        while spot and line[spot - 1] == here and (count[spot - 1] == uses).all():
            spot -= 1
        if base[spot] == here and (base_count[spot] == uses).all():
            child = _read(tables, member, depth - 1, *((spot, j) if axis == "x" else (i, spot)))
            if child is not None:
                children.append(child)
            continue
        near = np.arange(1, spot + 1)
        far = grid.far(spot, near)
        near, far = near[far < spot], far[far < spot]
        hit = np.flatnonzero((base[near] + line[far] == here) & (base_count[near] + count[far] == uses).all(axis=1))
        spots = int(near[hit[0]]), int(far[hit[0]])
        child = _read(tables, member, depth - 1, *((spots[0], j) if axis == "x" else (i, spots[0])))
        if child is not None:
            children.append(child)
        pending.append(spots[1])
    return (axis, tuple(children)) if children else None
