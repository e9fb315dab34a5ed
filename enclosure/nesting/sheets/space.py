"""Where do the leaves stand on the two grids, and what is a pattern inside the engine?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Leaf, Stock

Tree = tuple[Any, ...]
"""("leaf", index) or ("x" | "y", (tree, ...)): children side by side along that axis.

With "open" behind them the last child is cut from all that the others leave of the piece.
"""


@dataclass(frozen=True, slots=True)
class Space:
    """The two grids and where each leaf stands on them.

    Places are counted in `unit_x` and `unit_y` scaled units: above 1 for jobs
    without a useful common factor, sizes being rounded to the safe side.
    """

    xs: Grid
    ys: Grid
    leaf_x: IntArray
    leaf_y: IntArray
    leaves: tuple[Leaf, ...]
    unit_x: int = 1
    unit_y: int = 1

    def ends(self, stocks: tuple[Stock, ...]) -> list[tuple[int, int]]:
        """Return the place (x, y) of each stock."""
        return [(self.xs.floor(s.width // self.unit_x), self.ys.floor(s.height // self.unit_y)) for s in stocks]
