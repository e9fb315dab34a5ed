"""Where do the views of one thing lie to each other on a drawing, and which symbol says so?

Each paper region has its own custom: papers of the ISO series are drawn in first-angle
projection, American ones in third-angle projection (common practice, no source). The
symbol shows two views of a truncated cone, its narrow end to the left: from the side, and
from the left. In first angle the view from the left stands at the right, in third angle at
the left.

Units: mm on paper; the origin is the lower left corner of the symbol.

References:
    [ISO5456-2] orthographic representations, first and third angle and their symbols.
    [ISO128-30] views. Proportions of the symbol from memory, not from the standards themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Point = tuple[float, float]
Projection = Literal["first angle", "third angle"]

_OF_PAPER: dict[str, Projection] = {
    "A4": "first angle",
    "A3": "first angle",
    "Letter": "third angle",
    "Tabloid": "third angle",
}
_OVERHANG = 0.15  # of a centre line beyond what it runs through, share of the height


@dataclass(frozen=True, slots=True)
class Symbol:
    """The symbol as lines and circles.

    Args:
        cone: Corners of the cone seen from the side.
        circles: (middle, radius) of both ends seen from the left.
        axes: Centre lines.
        width: Of the whole.
        height: Of the whole.
    """

    cone: tuple[Point, ...]
    circles: tuple[tuple[Point, float], ...]
    axes: tuple[tuple[Point, Point], ...]
    width: float
    height: float


def projection_of(paper: str) -> Projection:
    """Return the projection in which drawings on a paper are made."""
    return _OF_PAPER.get(paper, "first angle")


def symbol(projection: Projection, height: float) -> Symbol:
    """Return the symbol with centre lines, `height` high over all."""
    large = height / (1 + 2 * _OVERHANG)
    more, middle = large * _OVERHANG, height / 2
    gap = large * 0.5
    first = projection == "first angle"
    cone_left = more if first else 2 * more + large + gap
    round_middle = (more + large + gap + more + large / 2) if first else more + large / 2
    cone = (
        (cone_left, middle - large / 4),
        (cone_left + large, middle - large / 2),
        (cone_left + large, middle + large / 2),
        (cone_left, middle + large / 4),
    )
    width = 3 * more + 2 * large + gap
    axes = (
        ((cone_left - more, middle), (cone_left + large + more, middle)),
        ((round_middle - large / 2 - more, middle), (round_middle + large / 2 + more, middle)),
        ((round_middle, 0.0), (round_middle, height)),
    )
    circles = (((round_middle, middle), large / 2), ((round_middle, middle), large / 4))
    return Symbol(cone, circles, axes, width, height)
