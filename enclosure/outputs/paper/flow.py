"""How is running text set on pages that it fills one after the other?

A page of text is a row of pieces; each knows its height and how to draw itself
from a given top edge. Pieces are dealt to pages before the first one is drawn,
so that the number of pages is known; a piece that announces others stays with
the next one. Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, BOLD, PALE, REGULAR, Sheet, wrapped
from enclosure.outputs.paper.table import Table

PITCH = 1.7


@dataclass(frozen=True, slots=True)
class Piece:
    """Something as wide as the page's drawing area.

    Args:
        height: Height with the space below it [mm].
        draw: Draws it from a left edge, a top edge and a width.
        with_next: True when it may not stand alone at the foot of a page.
    """

    height: float
    draw: Callable[[Sheet, float, float, float], None]
    with_next: bool = False


def words_height(lines: int, height: float) -> float:
    """Return the height of some lines of text, from the top of the first to the foot of the last."""
    return height * (1.06 + PITCH * (lines - 1) + 0.35)


def prose(
    words: str, room: float, height: float = BODY, *, bold: bool = False, indent: float = 0.0, after: float = 1.2
) -> Piece:
    """Return a paragraph."""
    lines = wrapped(words, room - indent, height, BOLD if bold else REGULAR)

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        y = top - height * 1.06
        for line in lines:
            sheet.text(line, left + indent, y, wide - indent, height, bold=bold)
            y -= height * PITCH

    return Piece(words_height(len(lines), height) + after, draw)


def title(words: str, height: float = 3.5, *, after: float = 1.5, before: float = 3.0) -> Piece:
    """Return a heading that stays with what follows."""

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        sheet.text(words, left, top - before - height * 1.06, wide, height, bold=True)

    return Piece(before + words_height(1, height) + after, draw, with_next=True)


def labelled(name: str, words: str, room: float, height: float, *, label: float = 23.0, after: float = 0.4) -> Piece:
    """Return a paragraph with a name in the margin beside it."""
    lines = wrapped(words, room - label, height)

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        y = top - height * 1.06
        sheet.text(name, left, y, label - 1.5, height, bold=True)
        for line in lines:
            sheet.text(line, left + label, y, wide - label, height)
            y -= height * PITCH

    return Piece(words_height(len(lines), height) + after, draw)


def boxed(name: str, sentences: Sequence[str], room: float, height: float = BODY) -> Piece:
    """Return sentences in a frame that cannot be overlooked, also in black and white."""
    pad = 2.5
    lines = [wrapped(words, room - 2 * pad, height) for words in sentences]
    inner = words_height(1, height * 1.2) + 1.5 + sum(words_height(len(block), height) + 0.8 for block in lines)
    high = inner + 2 * pad

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        sheet.rect(left, top - high, wide, high, PALE, "wide", 0.7)
        y = top - pad - height * 1.2 * 1.06
        sheet.text(name, left + pad, y, wide - 2 * pad, height * 1.2, bold=True)
        y = top - pad - words_height(1, height * 1.2) - 1.5
        for block in lines:
            line_y = y - height * 1.06
            for line in block:
                sheet.text(line, left + pad, line_y, wide - 2 * pad, height)
                line_y -= height * PITCH
            y -= words_height(len(block), height) + 0.8

    return Piece(high + 2.5, draw)


def deal(pieces: Sequence[Piece], room: float) -> list[list[Piece]]:
    """Deal pieces to pages of some height; a piece that announces others takes the next one along."""
    pages: list[list[Piece]] = []
    used = 0.0
    place = 0
    while place < len(pieces):
        end = place
        while end + 1 < len(pieces) and pieces[end].with_next:
            end += 1
        group = pieces[place : end + 1]
        high = sum(piece.height for piece in group)
        if not pages or used + high > room:
            pages.append([])
            used = 0.0
        pages[-1].extend(group)
        used += high
        place = end + 1
    return pages


def table_page(name: str, note: str, table: Table) -> Draw:
    """Return a page with a heading and one table that fits it."""

    def draw(sheet: Sheet) -> None:
        y = heading(sheet, name, note)
        table.draw(sheet, sheet.area[0], y, sheet.area[2] - sheet.area[0])

    return draw


def page_of(name: str, note: str, pieces: Sequence[Piece]) -> Draw:
    """Return the drawing of one page: heading, then pieces from the top down."""

    def draw(sheet: Sheet) -> None:
        y = heading(sheet, name, note)
        left, _, right, _ = sheet.area
        for piece in pieces:
            piece.draw(sheet, left, y, right - left)
            y -= piece.height

    return draw
