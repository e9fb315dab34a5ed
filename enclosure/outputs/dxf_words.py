"""Which words and lengths stand on a DXF drawing?

Lengths are printed in the units of the design: inches to a sixteenth, or mm. In
metric a dimension shows its own measured value, in inches the same value as a
fraction; the entity itself always measures mm.
"""

from __future__ import annotations

from enclosure.language import decimal, later, tr
from enclosure.outputs.dxf_page import Drawing, Point
from enclosure.outputs.dxf_title import Title
from enclosure.shape.model import Design, Material
from enclosure.units import format_length

FACING = later("weather face toward you")


def title(design: Design, drawing: str, number: str, page: int, pages: int) -> Title:
    """Return the title block of one drawing."""
    lengths = tr("inches to 1/16; the file measures mm") if design.units == "inch" else "mm"
    return Title(design.name, drawing, number, page, pages, lengths)


def length(design: Design, mm: float) -> str:
    """Return a length in the design's units, with its unit."""
    return format_length(mm, design.units)


def size(design: Design, width_mm: float, height_mm: float) -> str:
    """Return a width and height in the design's units."""
    return f"{length(design, width_mm)} x {length(design, height_mm)}"


def fine(design: Design, mm: float) -> str:
    """Return a small length, a kerf or a clearance: tenths of a mm also where lengths are inches."""
    return decimal(f"{mm:.1f} mm")


def measured(design: Design, mm: float) -> str:
    """Return the text of a dimension entity."""
    return length(design, mm) if design.units == "inch" else "<>"


def dimension(design: Design, drawing: Drawing, start: Point, end: Point, away: float, turn: float) -> None:
    """Draw a dimension along x (turn 0) or y (turn 90) with its text in the design's units."""
    mm = abs(end[0] - start[0]) if turn == 0 else abs(end[1] - start[1])
    drawing.dimension(start, end, away, measured(design, mm), turn)


def up_arrow(
    drawing: Drawing, foot: Point, long: float, layer: str = "flutes", *, both: bool = False
) -> None:
    """Draw an upright arrow of a length in model space, with a head at both ends when `both`."""
    x, y = foot
    head = min(long / 4, drawing.on_paper(3.0))
    drawing.line((x, y), (x, y + long), layer)
    for way in (-1, 1):
        drawing.line((x, y + long), (x + way * head / 3, y + long - head), layer)
        if both:
            drawing.line((x, y), (x + way * head / 3, y + head), layer)


def material_of(design: Design, key: str) -> Material | None:
    """Return a material of the design, None when the plan cuts something the design does not list."""
    return next((material for material in design.materials if material.key == key), None)
