"""How are the uses of many kinds added and compared at once?

Counts of all kinds of one plan are packed into a few 64-bit words, a field for
each kind with one spare bit on top. Adding two plans adds all fields; adding a
bias (field full minus cap) lifts the spare bit of every kind used too often.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.points import IntArray

Words = NDArray[np.uint64]


class Packing:
    """Layout of the fields.

    Args:
        most: Greatest count of each kind that will be stored.
    """

    def __init__(self, most: IntArray) -> None:
        word, used = 0, 0
        self.bits = np.array([int(m).bit_length() + 1 for m in most], dtype=np.uint64)
        self.word = np.zeros(len(most), dtype=np.int64)
        self.shift = np.zeros(len(most), dtype=np.uint64)
        for kind, bits in enumerate(self.bits):
            if used + int(bits) > 64:
                word, used = word + 1, 0
            self.word[kind], self.shift[kind] = word, used
            used += int(bits)
        self.words = word + 1
        one = np.uint64(1)
        self.full = (one << (self.bits - one)) - one
        self.guard = self.pack(self.full + one)[0]

    def pack(self, counts: NDArray[np.uint64]) -> Words:
        """Return rows of counts as rows of words."""
        rows = np.atleast_2d(counts).astype(np.uint64)
        out = np.zeros((len(rows), self.words), dtype=np.uint64)
        for kind in range(rows.shape[1]):
            out[:, self.word[kind]] += rows[:, kind] << self.shift[kind]
        return out

    def unpack(self, words: Words) -> IntArray:
        """Return the counts in one row of words."""
        return ((words[self.word] >> self.shift) & self.full).astype(np.int64)

    def bias(self, caps: IntArray) -> Words:
        """Return what to add so that the spare bit shows a count above its cap."""
        return self.pack(self.full[None, :] - np.minimum(caps.astype(np.uint64), self.full[None, :]))
