"""Which layers do the DXF files have, and what lies on each?

Layers are named by plain words. Line widths after ISO 128: wide 0.50 mm for visible edges,
narrow 0.25 mm for the rest.
"""

from __future__ import annotations

from dataclasses import dataclass

WIDE, NARROW = 50, 25  # hundredths of a mm


@dataclass(frozen=True, slots=True)
class Layer:
    """What one layer holds.

    Args:
        colour: Colour index of DXF; never the only difference between two layers.
        weight: Line width [1/100 mm].
        linetype: "Continuous", "dashed" or "chain".
        meaning: What it holds, for people; written into the file.
    """

    colour: int
    weight: int
    linetype: str
    meaning: str


LAYERS: dict[str, Layer] = {
    "sheet edge": Layer(7, WIDE, "Continuous", "edge of the stock sheet before trim"),
    "parts": Layer(7, WIDE, "Continuous", "outline of each part, closed: the cut path"),
    "cuts": Layer(1, NARROW, "chain", "middle of each saw cut"),
    "cut numbers": Layer(1, NARROW, "Continuous", "order of the cuts"),
    "offcuts": Layer(3, NARROW, "dashed", "remainders worth keeping"),
    "holes": Layer(5, NARROW, "Continuous", "holes to drill"),
    "flutes": Layer(4, NARROW, "Continuous", "direction of the hollow ribs"),
    "other views": Layer(7, NARROW, "Continuous", "the same piece seen from another side; not a cut path"),
    "hidden edges": Layer(8, NARROW, "dashed", "edges behind what is seen"),
    "members": Layer(7, WIDE, "Continuous", "sills, heads, stiles, mullions, transoms, rafters"),
    "bracing": Layer(6, NARROW, "dashed", "gussets and diagonals, on the inside"),
    "tracks": Layer(5, NARROW, "Continuous", "aluminium track"),
    "panels": Layer(7, WIDE, "Continuous", "panels and films"),
    "base ring": Layer(7, WIDE, "Continuous", "bricks of the base ring"),
    "lining": Layer(6, NARROW, "Continuous", "boards that line the bed"),
    "hatching": Layer(8, NARROW, "Continuous", "what is cut through: timber and brick"),
    "centre lines": Layer(1, NARROW, "chain", "axes of bolts"),
    "break lines": Layer(8, NARROW, "Continuous", "where a drawing is broken off"),
    "marks": Layer(7, NARROW, "Continuous", "marks of the parts"),
    "dimensions": Layer(8, NARROW, "Continuous", "dimensions"),
    "words": Layer(7, NARROW, "Continuous", "notes"),
    "page frame": Layer(7, WIDE, "Continuous", "frame of the printed page"),
    "title block": Layer(7, NARROW, "Continuous", "title block of the printed page"),
    "window": Layer(8, NARROW, "Continuous", "edge of the view on the printed page; not printed"),
}
OUTLINE_LAYERS = (
    "sheet edge", "parts", "other views", "offcuts", "members", "bracing", "tracks", "panels", "base ring", "lining",
)
