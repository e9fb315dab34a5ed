"""How is a list set on pages? Ruled tables that break between rows.

A table is laid out first (every cell wrapped, every row measured, rows dealt to
pages) and drawn later, so that the number of pages is known before the first
one is drawn. Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from enclosure.outputs.paper.layer import BODY, BOLD, NARROW_MM, PALE, REGULAR, Align, Sheet, wrapped

_PAD = 1.0


@dataclass(frozen=True, slots=True)
class Column:
    """A column: heading, share of the width, side to which cells are set."""

    name: str
    share: float
    align: Align = "left"
    bold: bool = False


@dataclass(frozen=True, slots=True)
class Row:
    """A row of cells; a heading row has one cell that runs across."""

    cells: tuple[str, ...]
    heading: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Columns, rows and the letter height."""

    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    height: float = BODY

    def widths(self, room: float) -> list[float]:
        """Return the width of each column."""
        total = sum(column.share for column in self.columns)
        return [room * column.share / total for column in self.columns]

    def row_height(self, row: Row, room: float) -> float:
        """Return the height of a row."""
        if row.heading:
            return self.height * 1.9 + 2 * _PAD
        most = max(len(lines) for lines in self._lines(row, room))
        return self.height * (1.06 + 1.6 * (most - 1) + 0.35) + 2 * _PAD * 0.7

    def head_height(self) -> float:
        """Return the height of the heading line."""
        return self.height * 1.4 + 2 * _PAD * 0.7

    def pages(self, room: float, first: float, later: float) -> list[Table]:
        """Deal the rows to pages with `first` and then `later` mm of height; at least one page."""
        pages: list[list[Row]] = [[]]
        left = first - self.head_height()
        for place, row in enumerate(self.rows):
            needs = self.row_height(row, room)
            with_next = needs
            if row.heading and place + 1 < len(self.rows):
                with_next += self.row_height(self.rows[place + 1], room)
            if with_next > left and pages[-1]:
                pages.append([])
                left = later - self.head_height()
            pages[-1].append(row)
            left -= needs
        return [Table(self.columns, tuple(rows), self.height) for rows in pages]

    def total(self, room: float) -> float:
        """Return the height of the whole table."""
        return self.head_height() + sum(self.row_height(row, room) for row in self.rows)

    def draw(self, sheet: Sheet, x: float, top: float, room: float) -> float:
        """Draw the table and return its lower edge."""
        widths = self.widths(room)
        y = top - self.head_height()
        sheet.rect(x, y, room, self.head_height(), PALE, None)
        self._cells(sheet, [[column.name] for column in self.columns], x, top, widths, bold=True)
        sheet.line((x, top), (x + room, top), "wide")
        sheet.line((x, y), (x + room, y), "wide")
        for row in self.rows:
            high = self.row_height(row, room)
            if row.heading:
                base = y - high + _PAD + 0.6
                sheet.text(row.cells[0], x + _PAD, base, room - 2 * _PAD, self.height, bold=True)
            else:
                self._cells(sheet, self._lines(row, room), x, y, widths)
            y -= high
            sheet.line((x, y), (x + room, y), "narrow", NARROW_MM / 2)
        return y

    def _lines(self, row: Row, room: float) -> list[list[str]]:
        found = []
        for cell, column, width in zip(row.cells, self.columns, self.widths(room), strict=True):
            face = BOLD if column.bold else REGULAR
            found.append(wrapped(cell, width - 2 * _PAD, self.height, face) if cell else [""])
        return found

    def _cells(
        self,
        sheet: Sheet,
        cells: Sequence[Sequence[str]],
        x: float,
        top: float,
        widths: Sequence[float],
        *,
        bold: bool = False,
    ) -> None:
        for lines, column, width in zip(cells, self.columns, widths, strict=True):
            anchor = {"left": x + _PAD, "centre": x + width / 2, "right": x + width - _PAD}[column.align]
            y = top - _PAD * 0.7 - self.height * 1.06
            for line in lines:
                sheet.text(
                    line,
                    anchor,
                    y,
                    width - 2 * _PAD,
                    self.height,
                    align=column.align,
                    bold=bold or column.bold,
                )
                y -= self.height * 1.6
            x += width
