"""At which places can a cut fall?

In a plan whose every piece is shrunk to what it holds, the width of a piece is a
sum of part widths and the height a sum of part heights, each part used at most
as often as it is wanted. These sums, with the sizes of the sheets, are all the
places that matter (reducing them further, as is usual for a single sheet, is
wrong when pieces nest). Where they are too many, a subset of them is kept:

- exact or "low" grids round what is left beside a cut down, so that every value
  read from the grid can be cut;
- "high" grids round it up, so that every value is an upper bound.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]


def reachable(sizes: list[tuple[int, int]], limit: int) -> IntArray:
    """Return the sums of sizes up to `limit`, 0 included, each (size, copies) used at most so often."""
    bits = 1
    mask = (1 << (limit + 1)) - 1
    for size, copies in sizes:
        left = min(copies, limit // size)
        step = 1
        while left > 0:
            take = min(step, left)
            bits |= (bits << (size * take)) & mask
            left -= take
            step *= 2
    raw = np.frombuffer(bits.to_bytes(limit // 8 + 1, "little"), dtype=np.uint8)
    return np.flatnonzero(np.unpackbits(raw, bitorder="little")[: limit + 1]).astype(np.int64)


@dataclass(frozen=True, slots=True)
class Grid:
    """Kept places along one axis and how a piece divides at them.

    Args:
        at: Kept places, ascending, first 0.
        near: For each place the count n so that near pieces 1..n are tried.
        far: For each place the index of the far piece for near pieces 1..n.
        high: True when rounding goes up (values are upper bounds).
        exact: True when no place was left out.
    """

    at: IntArray
    near: tuple[int, ...]
    far: tuple[IntArray, ...]
    high: bool
    exact: bool

    def floor(self, value: int) -> int:
        """Return the index of the greatest place not above `value`."""
        return int(np.searchsorted(self.at, value, side="right")) - 1

    def ceil(self, value: int) -> int:
        """Return the index of the least place not below `value` (may be past the end)."""
        return int(np.searchsorted(self.at, value, side="left"))

    def work(self, across: int) -> float:
        """Return the additions of one closure along this axis, in millions."""
        return sum(self.near) * across / 1e6 + 0.01 * len(self.at)


def make_grid(every: IntArray, keep: IntArray | None, high: bool) -> Grid:
    """Return the grid over `keep` (all places when None) of the reachable places `every`.

    In a high grid near piece i stands for every place above kept place i - 1 up to
    kept place i, and so leaves at most (place - least of these) beside it.
    """
    at = every if keep is None else np.union1d(np.array([0], dtype=np.int64), keep)
    exact = len(at) == len(every)
    if high and not exact:
        first = np.searchsorted(every, at[:-1], side="right")
        least = np.concatenate([[0], every[first]])
    else:
        least = at
    near: list[int] = []
    far: list[IntArray] = []
    for index, place in enumerate(at):
        count = int(np.searchsorted(least, place // 2, side="right")) - 1 if index else 0
        beside = place - least[1 : count + 1]
        if high and not exact:
            true = every[np.searchsorted(every, beside, side="right") - 1]
            other = np.searchsorted(at, true, side="left")
        else:
            other = np.searchsorted(at, beside, side="right") - 1
        near.append(max(count, 0))
        far.append(other.astype(np.int64))
    return Grid(at, tuple(near), tuple(far), high, exact)


def thin(every: IntArray, must: list[int], limit: int, least_gap: int) -> IntArray | None:
    """Return at most about `limit` of the reachable places, None when all may stay.

    Kept are the places in `must` and, between them, places so spread that no gap
    is wider than needed; gaps stay below `least_gap` so that rounding up terminates.
    """
    if len(every) <= limit:
        return None
    top = int(every[-1])
    wanted = {m for m in must if 0 <= m <= top}
    room = max(limit - len(wanted), 8)
    step = max(1, min(-(-top // room), least_gap))
    low = np.arange(0, top + 1, step, dtype=np.int64)
    spread = every[np.minimum(np.searchsorted(every, low, side="left"), len(every) - 1)]
    fixed = np.array(sorted(wanted), dtype=np.int64)
    fixed = fixed[np.isin(fixed, every)]
    return np.union1d(np.union1d(spread, fixed), np.array([0, top], dtype=np.int64))
