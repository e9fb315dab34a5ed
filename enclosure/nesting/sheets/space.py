"""Where do the leaves stand on the two grids, and what is a pattern inside the engine?"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from enclosure.nesting.sheets.points import Grid, IntArray
from enclosure.nesting.sheets.problem import Leaf

Tree = tuple[Any, ...]
"""("leaf", index) or ("x" | "y", (tree, ...)): children side by side along that axis."""


@dataclass(frozen=True, slots=True)
class Space:
    """The two grids and where each leaf stands on them."""

    xs: Grid
    ys: Grid
    leaf_x: IntArray
    leaf_y: IntArray
    leaves: tuple[Leaf, ...]
