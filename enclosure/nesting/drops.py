"""Which room has the drop of a sloped part, and which rectangles can be cut from it?

A sloped cut from one edge of a rectangle to another frees its upper corner as a
right-angled triangle, a kerf smaller than what the part leaves of the rectangle.
From its square corner whole parts can be cut, every cut from edge to edge: x is
measured from the side, y down from the top, a cut that meets the sloped side ends
there. A part lies whole in the drop exactly when the corner of it that is farthest
from the square one does.

Units: 1/10 000 mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import isqrt
from typing import Literal

from enclosure.nesting.model import PartKind


@dataclass(frozen=True, slots=True)
class Drop:
    """A drop before its sloped cut.

    Args:
        side: The upper corner of the part that it comes from.
        width: How far it reaches along x [units], > 0.
        rise: How far it reaches down [units], > 0.
        kerf: Of the saw, measured square to the cut [units].
        both: True when the part has one at either corner.
    """

    side: Literal["left", "right"]
    width: int
    rise: int
    kerf: int
    both: bool = False

    @property
    def reach(self) -> int:
        """How far it reaches down once the sloped cut is made [units, rounded down]."""
        return self.rise - sloped_kerf(self.kerf, self.width, self.rise)

    def holds(self, across: int, down: int) -> bool:
        """Return whether a point, measured from the square corner, is clear of the sloped cut (exact)."""
        inward = self.width * self.rise - across * self.rise - down * self.width
        return inward >= 0 and inward**2 >= self.kerf**2 * (self.width**2 + self.rise**2)

    def down_at(self, across: int) -> int:
        """Return how far it reaches down at a distance from the side; negative beyond its end."""
        return self.reach - across * self.rise // self.width

    def across_at(self, down: int) -> int:
        """Return how far it reaches along x at a distance from the top; negative beyond its end."""
        return (self.reach - down) * self.width // self.rise


def drops_of(kind: PartKind, kerf: int) -> tuple[Drop | None, Drop | None]:
    """Return the drops at the upper left and the upper right corner of a part."""
    left, right = kind.drops()
    both = left is not None and right is not None
    return (
        None if left is None else Drop("left", *left, kerf, both),
        None if right is None else Drop("right", *right, kerf, both),
    )


@lru_cache(maxsize=4096)
def sloped_kerf(kerf: int, width: int, rise: int) -> int:
    """Return the height [units, rounded up] that a kerf takes measured along y when the cut slopes.

    kerf * sqrt(1 + (rise / width)^2), with the root rounded up to a whole unit.

    >>> sloped_kerf(30_000, 300, 400)
    50000
    """
    square = kerf * kerf * (width * width + rise * rise)
    root = isqrt(square)
    root += root * root < square
    return -(-root // width)
