"""What surrounds every drawing: paper, frame, title block, page number, bookmarks?

Frames after ISO 5457: 20 mm at the binding edge, 10 mm elsewhere, line 0.7 mm,
centring marks; Letter and Tabloid are given the same margins. Title block after
ISO 7200: 180 mm wide in the lower right corner. The legal owner, the date of
issue and the approval are left to the pen, because the same brief must always
give the same file; the number is taken from the design itself. Books with views
state the projection of their paper with its symbol (ISO 5456-2).

Units: mm on paper.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path

from enclosure import __version__
from enclosure.errors import OutputError
from enclosure.language import tr
from enclosure.outputs.drawing.projection import projection_of, symbol
from enclosure.outputs.paper.layer import (
    BODY,
    DRAWN,
    FRAME_MM,
    NARROW_MM,
    POINTS_PER_MM,
    SMALLEST,
    TITLE,
    Sheet,
    new_canvas,
)
from enclosure.shape.model import Design

PAPERS_MM: dict[str, tuple[float, float]] = {
    "A4": (210.0, 297.0),
    "A3": (297.0, 420.0),
    "Letter": (215.9, 279.4),
    "Tabloid": (279.4, 431.8),
}
BINDING_MM, EDGE_MM = 20.0, 10.0
BLOCK_MM = (180.0, 18.0)
SYMBOL_MM, SYMBOL_ROOM_MM = 6.0, 34.0

Draw = Callable[[Sheet], None]


def paper_size(name: str) -> tuple[float, float]:
    """Return width and height of an upright paper [mm].

    Raises:
        OutputError: The name is not known.

    References:
        [ISO216] A4 210 x 297, A3 297 x 420; [ANSI-Y14.1] Letter 8.5 x 11 in, Tabloid 11 x 17 in.
    """
    if name not in PAPERS_MM:
        raise OutputError(f"no paper is called {name}", f"choose one of {', '.join(PAPERS_MM)}")
    return PAPERS_MM[name]


def design_version(design: Design) -> str:
    """Return a short code that changes whenever anything in the design changes."""
    return hashlib.sha256(repr(replace(design, schema=1)).encode()).hexdigest()[:6].upper()


@dataclass
class Book:
    """A paper of several framed pages, written in one go so that page n of m is known."""

    design: Design
    document: str
    paper: str
    pages: list[tuple[str, str, bool, Draw]] = field(default_factory=list)
    views: bool = False

    @cached_property
    def version(self) -> str:
        """The design's version, worked out once: it reads the whole design."""
        return design_version(self.design)

    def add(self, title: str, draw: Draw, *, chapter: str = "", lying: bool = False) -> None:
        """Add a page; `chapter` groups bookmarks, `lying` turns the paper on its side."""
        self.pages.append((title, chapter, lying, draw))

    def area(self, *, lying: bool = False) -> tuple[float, float]:
        """Return width and height free for drawing on a page."""
        left, bottom, right, top = self._area(lying)
        return right - left, top - bottom

    def _area(self, lying: bool) -> tuple[float, float, float, float]:
        width, height = paper_size(self.paper)
        if lying:
            width, height = height, width
        return (BINDING_MM + 3, EDGE_MM + BLOCK_MM[1] + 3, width - EDGE_MM - 3, height - EDGE_MM - 3)

    def write(self, path: Path) -> None:
        """Write the file."""
        width, height = paper_size(self.paper)
        canvas = new_canvas(path, width, height)
        canvas.setTitle(f"{self.design.name}: {self.document}")
        canvas.setAuthor("")
        canvas.setSubject(tr("{document}, design {version}").format(document=self.document, version=self.version))
        canvas.setCreator(f"enclosure {__version__}")
        canvas.setKeywords(tr("shelter, cut list, drawing"))
        chapter = ""
        for number, (title, group, lying, draw) in enumerate(self.pages, start=1):
            wide, high = (height, width) if lying else (width, height)
            canvas.setPageSize((wide * POINTS_PER_MM, high * POINTS_PER_MM))
            canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
            sheet = Sheet(canvas, wide, high, self._area(lying))
            key = f"page{number}"
            canvas.bookmarkPage(key)
            if group and group != chapter:
                canvas.addOutlineEntry(group, key, level=0, closed=True)
            canvas.addOutlineEntry(title, key, level=1 if group else 0)
            chapter = group
            _frame(sheet)
            self._title_block(sheet, title, number)
            draw(sheet)
            canvas.showPage()
        canvas.save()

    def _title_block(self, sheet: Sheet, title: str, number: int) -> None:
        wide, high = BLOCK_MM
        left, bottom = sheet.width - EDGE_MM - wide, EDGE_MM
        half = high / 2
        sheet.rect(left, bottom, wide, high)
        sheet.line((left, bottom + half), (left + wide, bottom + half), "narrow")
        room = SYMBOL_ROOM_MM if self.views else 0.0
        upper = (
            (tr("Owner"), "", 52.0 - room / 2),
            (tr("Made with"), f"enclosure {__version__}", 42.0),
            (tr("Approved by"), "", 44.0 - room / 2),
            *(((tr("Projection"), tr(projection_of(self.paper)), room),) if self.views else ()),
            (tr("Document"), self.document, 42.0),
        )
        lower = (
            (tr("Title"), f"{self.design.name}: {title}", 94.0),
            (tr("Number"), self.version, 26.0),
            (tr("Date"), "", 32.0),
            (tr("Page"), tr("{number} of {total}").format(number=number, total=len(self.pages)), 28.0),
        )
        big = (tr("Title"), tr("Page"))
        for fields, y in ((upper, bottom + half), (lower, bottom)):
            x = left
            for name, value, room in fields:
                if x > left:
                    sheet.line((x, y), (x, y + half), "narrow")
                sheet.text(name, x + 1, y + half - 2.5, room - 2, SMALLEST)
                size = DRAWN if name in big else BODY
                sign = _projection(sheet, self.paper, x + room, y + half / 2) if name == tr("Projection") else 0.0
                sheet.text(value, x + 1.5, y + 1.6, room - sign - 3, size, bold=name in big)
                x += room


def _projection(sheet: Sheet, paper: str, right: float, middle: float) -> float:
    """Draw the symbol of the projection left of a line and return the room it takes."""
    sign = symbol(projection_of(paper), SYMBOL_MM)
    left, low = right - sign.width - 1.0, middle - sign.height / 2
    sheet.polygon([(left + x, low + y) for x, y in sign.cone], None, "wide", 0.25)
    for (x, y), radius in sign.circles:
        sheet.circle(left + x, low + y, radius, None, 0.25)
    for (a, b), (c, d) in sign.axes:
        sheet.line((left + a, low + b), (left + c, low + d), "narrow", 0.13)
    return sign.width + 1.0


def _frame(sheet: Sheet) -> None:
    left, bottom = BINDING_MM, EDGE_MM
    right, top = sheet.width - EDGE_MM, sheet.height - EDGE_MM
    sheet.rect(left, bottom, right - left, top - bottom, line=FRAME_MM)
    for start, end in (
        ((sheet.width / 2, top + 5), (sheet.width / 2, top)),
        ((sheet.width / 2, bottom - 5), (sheet.width / 2, bottom)),
        ((left - 5, sheet.height / 2), (left, sheet.height / 2)),
        ((right + 5, sheet.height / 2), (right, sheet.height / 2)),
    ):
        sheet.line(start, end, "wide", FRAME_MM)


def heading(sheet: Sheet, words: str, note: str = "") -> float:
    """Write the heading of a page and return the height at which its contents may start."""
    left, _, right, top = sheet.area
    sheet.text(words, left, top - TITLE, right - left, TITLE, bold=True)
    y = top - TITLE - 2.5
    if note:
        y = sheet.paragraph(note, left, y - 0.5, right - left, BODY) - 1.0
    sheet.line((left, y), (right, y), "narrow", NARROW_MM)
    return y - 2.5
