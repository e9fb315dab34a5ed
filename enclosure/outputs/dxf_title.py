"""What stands in the title block of a DXF page?

One block, TITLE, inserted on every page with its own values; the projection symbol is part
of it, because all pages of one file are of one paper.

Units: mm of the printed page.

References:
    [ISO7200] title block fields, 180 mm wide. Values as collected in the project's fact list,
    not from the standard itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from enclosure import __version__
from enclosure.language import tr, tr_as
from enclosure.outputs.drawing.projection import projection_of, symbol

Point = tuple[float, float]
TITLE_WIDTH, TITLE_HEIGHT = 180.0, 24.0
TEXT_MM = 2.5
CHARACTER = 0.75  # greatest mean width of a character over its height, DejaVu Sans at width factor 0.85
SYMBOL_MM = 6.0


@dataclass(frozen=True, slots=True)
class Title:
    """What the title block says: shelter, drawing, number "sheet-03", page n of m, length words."""

    shelter: str
    drawing: str
    number: str
    page: int
    pages: int
    lengths: str


def clean(words: str) -> str:
    """Return words fit for a DXF text: one line, and no signs that DXF reads as codes."""
    flat = "".join(sign if sign.isprintable() else " " for sign in words)
    return flat.replace("^", "^ ").replace("%%", "% %").strip() or " "


def text_width(words: str, height: float) -> float:
    """Return the width of words of a text height, rather too wide than too narrow."""
    return len(words) * height * CHARACTER


_FIELDS: tuple[tuple[str, Point, float, str], ...] = (
    ("SHELTER", (0.0, 16.0), 90.0, "shelter"),
    ("DRAWING", (90.0, 16.0), 90.0, "drawing"),
    ("LENGTHS", (0.0, 8.0), 54.0, "lengths"),
    ("PROJECTION", (54.0, 8.0), 36.0, "projection"),
    ("NUMBER", (90.0, 8.0), 45.0, "number"),
    ("PAGE", (135.0, 8.0), 22.0, "page"),
    ("SCALE", (157.0, 8.0), 23.0, "scale"),
    ("PROGRAM", (0.0, 0.0), 45.0, "made by"),
    ("DATE", (45.0, 0.0), 45.0, "date"),
    ("DRAWN", (90.0, 0.0), 45.0, "drawn by"),
    ("CHECKED", (135.0, 0.0), 45.0, "checked by"),
)


def define_title(document: Any, paper: str) -> None:
    """Add the block TITLE to a document whose pages are of one paper."""
    block = document.blocks.new("TITLE")
    on = {"layer": "title block"}
    edge = ((0, 0), (TITLE_WIDTH, 0), (TITLE_WIDTH, TITLE_HEIGHT), (0, TITLE_HEIGHT))
    block.add_lwpolyline(edge, close=True, dxfattribs=on)
    for tag, (x, y), width, label in _FIELDS:
        box = ((x, y), (x + width, y), (x + width, y + 8), (x, y + 8))
        block.add_lwpolyline(box, close=True, dxfattribs=on)
        head = block.add_text(clean(tr_as("title block", label)), height=1.8, dxfattribs={**on, "style": "words"})
        head.set_placement((x + 1, y + 5.6))
        block.add_attdef(tag, (x + 1.5, y + 1.6), dxfattribs={**on, "height": TEXT_MM, "style": "words"})
        if tag == "PROJECTION":
            sign = symbol(projection_of(paper), SYMBOL_MM)
            left, low = x + width - sign.width - 1.0, y + (8 - sign.height) / 2
            block.add_lwpolyline([(left + a, low + b) for a, b in sign.cone], close=True, dxfattribs=on)
            for (a, b), radius in sign.circles:
                block.add_circle((left + a, low + b), radius, dxfattribs=on)
            for (a, b), (c, d) in sign.axes:
                block.add_line((left + a, low + b), (left + c, low + d), dxfattribs=on)


def place_title(layout: Any, title: Title, scale: int, paper: str, right: float, lower: float) -> None:
    """Insert the title block with its lower right corner at a place of a page, and fill it in."""
    values = {
        "SHELTER": title.shelter, "DRAWING": title.drawing, "NUMBER": title.number,
        "PAGE": tr("{page} of {pages}").format(page=title.page, pages=title.pages), "SCALE": f"1:{scale}",
        "LENGTHS": title.lengths,
        "PROJECTION": tr(projection_of(paper)), "PROGRAM": f"enclosure {__version__}", "DATE": "", "DRAWN": "",
        "CHECKED": "",
    }
    block = layout.add_blockref("TITLE", (right - TITLE_WIDTH, lower), dxfattribs={"layer": "title block"})
    block.add_auto_attribs({key: clean(value) if value else "" for key, value in values.items()})
    for attribute in block.attribs:
        room = next(field[2] for field in _FIELDS if field[0] == attribute.dxf.tag) - 3.0
        if attribute.dxf.tag == "PROJECTION":
            room -= symbol(projection_of(paper), SYMBOL_MM).width
        wide = text_width(attribute.dxf.text, attribute.dxf.height)
        if wide > room:
            attribute.dxf.height *= room / wide
