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
        least: For each kept place the least true place it stands for when it is the near piece.
        beside: For each length from 0 to the last place the index of the piece that is
            left over; one entry more, at the end, for lengths below zero: `len(at)`.
        high: True when rounding goes up (values are upper bounds).
        exact: True when no place was left out.
    """

    at: IntArray
    least: IntArray
    beside: IntArray
    high: bool
    exact: bool

    def floor(self, value: int) -> int:
        """Return the index of the greatest place not above `value`."""
        return int(np.searchsorted(self.at, value, side="right")) - 1

    def ceil(self, value: int) -> int:
        """Return the index of the least place not below `value` (may be past the end)."""
        return int(np.searchsorted(self.at, value, side="left"))

    def far(self, index: int, near: IntArray) -> IntArray:
        """Return the far piece at place `index` beside each near piece; `len(at)` where it does not fit."""
        found: IntArray = self.beside[np.maximum(self.at[index] - self.least[near], -1)]
        return found


def make_grid(every: IntArray, keep: IntArray | None, high: bool) -> Grid:
    """Return the grid over `keep` (all places when None) of the reachable places `every`.

    In a high grid near piece i stands for every place above kept place i - 1 up to
    kept place i, and so leaves at most (place - least of these) beside it.
    """
    at = every if keep is None else np.union1d(np.array([0], dtype=np.int64), keep)
    exact = len(at) == len(every)
    lengths = np.arange(int(at[-1]) + 1, dtype=np.int64)
    if high and not exact:
        least = np.concatenate([[0], every[np.searchsorted(every, at[:-1], side="right")]])
        true = every[np.searchsorted(every, lengths, side="right") - 1]
        beside = np.searchsorted(at, true, side="left")
    else:
        least = at
        beside = np.searchsorted(at, lengths, side="right") - 1
    return Grid(at, least, np.append(beside, len(at)).astype(np.int64), high, exact)


def thin(
    every: IntArray, must: list[int], limit: int, least_gap: int, generator: np.random.Generator | None = None
) -> IntArray | None:
    """Return at most about `limit` of the reachable places, None when all may stay.

    Kept are the places in `must` and, between them, places so spread that no gap
    is wider than needed. Reachable places rounded up to one and the same lie less than
    `least_gap` apart: a piece and that piece with another beside it never do.
    """
    if len(every) <= limit:
        return None
    top = int(every[-1])
    wanted = {m for m in must if 0 <= m <= top}
    room = max(limit - len(wanted), 8)
    step = max(1, min(-(-top // room), least_gap))
    low = np.arange(0, top + 1, step, dtype=np.int64)
    if generator is not None:
        low = np.maximum(low - generator.integers(0, step, len(low)), 0)
    spread = every[np.minimum(np.searchsorted(every, low, side="left"), len(every) - 1)]
    fixed = np.array(sorted(wanted), dtype=np.int64)
    fixed = fixed[np.isin(fixed, every)]
    kept = np.union1d(np.union1d(spread, fixed), np.array([0, top], dtype=np.int64))
    while True:
        first = every[np.searchsorted(every, kept[:-1], side="right")]
        wide = kept[1:] - first >= least_gap
        if not wide.any():
            return kept
        more = every[np.searchsorted(every, first[wide] + least_gap, side="left") - 1]
        kept = np.union1d(kept, more)
