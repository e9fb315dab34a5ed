"""How do the checks look on paper: the table worst first, and each calculation line by line?

Bars carry a stroke at 1.00 and can be told apart without colour: solid black and
the word OVER for what does not pass, grey for what does, hatched for rows that
only inform. Sources of a calculation are named once under it. Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence

from enclosure.checks.explain import asked, only_says, short, verdict
from enclosure.checks.model import Check, Line
from enclosure.language import decimal, later, tr
from enclosure.outputs.paper.flow import PITCH, Piece, labelled, words_height
from enclosure.outputs.paper.layer import BLACK, BOLD, NARROW_MM, REGULAR, Sheet, fill_code, text_width, wrapped
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words

KIND_WORDS = {
    "published": later("published"),
    "handbook": later("handbook"),
    "practice": later("common practice"),
    "memory": later("from memory"),
}
_SHORT_KINDS = {**KIND_WORDS, "practice": later("practice"), "memory": later("memory")}
CHAPTERS: tuple[tuple[str, tuple[str, ...]], ...] = (
    (later("Wind and anchors"), ("wind-", "anchor-", "post-", "tie-", "guy-", "stake-")),
    (later("Frame"), ("member-", "racking-", "roof-ties")),
    (later("Panels"), ("panel-", "thermal-")),
    (later("Lifting and raising"), ("handling-", "raising-")),
    (later("Heat, damp and current"), ("heat-", "damp-", "power-", "circuit-", "cord-")),
    (later("Season, sun and ground"), ("",)),
)

SMALL, GAP_MM, COLUMN_GAP_MM = 2.0, 1.0, 3.0
LINES_KEPT = 3
ONE_AT = 0.75
"""Share of a bar's room at which 1.00 stands."""

MID_GREY = (0.62, 0.62, 0.62)


def chapter_of(check: Check) -> str:
    """Return the chapter to which a check belongs."""
    return next(name for name, heads in CHAPTERS if check.key.startswith(heads))


# --- the table ------------------------------------------------------------------------------


def check_table(checks: Sequence[Check], pages: dict[str, int], words: Words) -> Table:
    """Return the table of checks in the order given; `pages` says where each calculation stands."""
    rows = []
    for check in checks:
        page = str(pages.get(check.key, ""))
        use = "" if only_says(check) else decimal(f"{check.utilisation:.2f}")
        name, of = words.said(check.name), words.said(asked(check))
        rows.append(Row((verdict(check), name, of, use, "", tr(_SHORT_KINDS[check.source_kind]), page)))
    columns = (
        Column("", 12, "left", True),
        Column(tr("Check"), 75),
        Column(tr("Demand of capacity"), 36),
        Column(tr("Use"), 11, "right", True),
        Column(tr("Bar"), 27),
        Column(tr("Method"), 19),
        Column(tr("Page"), 10, "right"),
    )
    return Table(columns, tuple(rows), SMALL)


def draw_check_table(sheet: Sheet, table: Table, checks: Sequence[Check], x: float, top: float, room: float) -> float:
    """Draw the table with its bars and return its lower edge."""
    foot = table.draw(sheet, x, top, room)
    widths = table.widths(room)
    left, wide = x + sum(widths[:4]) + 1.5, widths[4] - 3.0
    y = top - table.head_height()
    for row, check in zip(table.rows, checks, strict=True):
        high = table.row_height(row, room)
        if not only_says(check):
            bar(sheet, check, left, y - high / 2 - 1.1, wide)
        y -= high
    return foot


def bar(sheet: Sheet, check: Check, x: float, y: float, room: float, high: float = 2.2) -> None:
    """Draw one bar of utilisation; one that runs off its room ends in an arrow."""
    share = min(1.0, check.utilisation * ONE_AT)
    long = max(share * room, 0.0)
    sheet.rect(x, y, room, high, None, "narrow", 0.13)
    if long > 0.05:
        corners = [(x, y), (x + long, y), (x + long, y + high), (x, y + high)]
        if check.advice:
            sheet.hatch(corners, 0.9)
            sheet.polygon(corners, None, "narrow", 0.18)
        else:
            sheet.polygon(corners, MID_GREY if check.passes else BLACK, "narrow", 0.18)
    one = x + ONE_AT * room
    ink = (1, 1, 1) if not check.advice and long > ONE_AT * room + 0.3 else BLACK
    sheet.line((one, y - 0.5), (one, y + high + 0.5), "wide", 0.4)
    sheet.line((one, y + 0.1), (one, y + high - 0.1), "wide", 0.4, ink)
    if check.utilisation * ONE_AT > 1.0:
        tip = x + room + 1.3
        points = f"{x + room:.3f} {y:.3f} m {tip:.3f} {y + high / 2:.3f} l {x + room:.3f} {y + high:.3f} l h f"
        sheet.ops(fill_code(BLACK), points)


# --- the calculations -----------------------------------------------------------------------


def worked(check: Check, words: Words, room: float, high: float) -> list[Piece]:
    """Return the pieces of one calculation: what was given, what was assumed, lines, verdict.

    Args:
        check: The check.
        words: For the units of what is given; the lines follow their clause in SI.
        room: Width of the page's drawing area.
        high: Its height; a calculation of less than two thirds of it is never broken.
    """
    pieces = [_head(check, words), *_facts(check, words, room)]
    notes = tuple(dict.fromkeys(line.source for line in check.working if line.source))
    letters = {source: _letter(place) for place, source in enumerate(notes)}
    steps = [_cells(line, letters.get(line.source, "")) for line in check.working]
    widths = _widths(steps, room)
    pieces += [_step(cells, widths) for cells in steps]
    if check.working:
        pieces[-1] = Piece(pieces[-1].height + GAP_MM, pieces[-1].draw)
    ending = _ending(check, words, room)
    if notes:
        said = ";  ".join(f"({letters[source]})\u00a0{source}" for source in notes)
        ending.insert(0, labelled(tr("sources"), said, room, 1.8))
    pieces += ending
    whole = sum(piece.height for piece in pieces) <= high * 2 / 3
    first = 0 if whole else max(0, len(pieces) - len(ending) - LINES_KEPT)
    return [
        Piece(one.height, one.draw, place < len(pieces) - 1 and (one.with_next or place >= first))
        for place, one in enumerate(pieces)
    ]


def _letter(place: int) -> str:
    return chr(ord("a") + place) if place < 26 else f"a{place - 25}"


def _head(check: Check, words: Words) -> Piece:
    height = 2.5

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        y = top - 2.5 - height * 1.06
        name = words.said(check.name[:1].upper() + check.name[1:])
        sheet.text(name, left, y, wide * 0.62, height, bold=True)
        use = "" if only_says(check) else decimal(f"{check.utilisation:.2f}  ")
        said = f"{use}{verdict(check)}   [{check.key}]"
        sheet.text(said, left + wide, y, wide * 0.36, height, align="right", bold=True)
        sheet.line((left, y - 1.3), (left + wide, y - 1.3), "narrow", NARROW_MM)

    return Piece(2.5 + words_height(1, height) + 1.6, draw, with_next=True)


def _facts(check: Check, words: Words, room: float) -> list[Piece]:
    kind = tr(KIND_WORDS[check.source_kind])
    clause = check.clause if kind in check.clause else f"{check.clause} ({kind})"
    rows = [(tr("by"), clause)]
    if check.governs:
        rows.append((tr("governed by"), ", ".join(check.governs)))
    if check.inputs:
        rows.append((tr("given"), words.said("; ".join(check.inputs))))
    if check.assumptions:
        rows.append((tr("assumed"), words.said("; ".join(said.rstrip(".") for said in check.assumptions))))
    pieces = [labelled(name, said, room, SMALL) for name, said in rows]
    last = len(pieces) - 1
    return [Piece(one.height + (GAP_MM if place == last else 0.0), one.draw, True) for place, one in enumerate(pieces)]


Cells = tuple[str, str, str, str, str]


def _cells(line: Line, letter: str) -> Cells:
    """Return one line of a calculation: symbol, formula, numbers put in, result, letter of its source."""
    return (
        line.symbol,
        f"= {decimal(line.formula)}" if line.formula else "",
        f"= {decimal(line.numbers)}" if line.numbers else "",
        f"= {short(line.value)} {line.unit}".rstrip(),
        f"({letter})" if letter else "",
    )


def _widths(steps: Sequence[Cells], room: float) -> list[float]:
    """Return widths of the cells of one calculation: as wide as they ask for, else the room shared out."""
    faces = (REGULAR, REGULAR, REGULAR, BOLD, REGULAR)
    wished = [
        max((text_width(cells[place], SMALL, face) for cells in steps), default=0.0) + COLUMN_GAP_MM
        for place, face in enumerate(faces)
    ]
    ends = [min(wished[3], 0.25 * room), wished[4]]
    free = room - sum(ends)
    if sum(wished[:3]) <= free:
        return [*wished[:3], *ends]
    symbol = min(wished[0], max(0.3 * free, free - wished[1] - wished[2]))
    share = (free - symbol) / (wished[1] + wished[2])
    return [symbol, wished[1] * share, wished[2] * share, *ends]


def _step(cells: Cells, widths: Sequence[float]) -> Piece:
    lines = [
        wrapped(cell, width - COLUMN_GAP_MM + 0.1, SMALL, BOLD if place == 3 else REGULAR) if cell else []
        for place, (cell, width) in enumerate(zip(cells, widths, strict=True))
    ]

    def draw(sheet: Sheet, left: float, top: float, wide: float) -> None:
        x = left
        for place, (cell, width) in enumerate(zip(lines, widths, strict=True)):
            y = top - SMALL * 1.06
            for text in cell:
                sheet.text(text, x, y, width - COLUMN_GAP_MM + 0.1, SMALL, bold=place == 3)
                y -= SMALL * PITCH
            x += width

    return Piece(words_height(max(len(cell) for cell in lines), SMALL) + 0.5, draw)


def _ending(check: Check, words: Words, room: float) -> list[Piece]:
    unit = f" {check.unit}" if check.unit else ""
    if only_says(check):
        said = tr("{value}; the row only informs").format(value=words.said(asked(check)))
        return [labelled(tr("result"), said, room, SMALL)]
    said = tr("demand {demand}, capacity {capacity}, utilisation {use:.2f}").format(
        demand=f"{short(check.demand)}{unit}", capacity=f"{short(check.capacity)}{unit}", use=check.utilisation
    )
    if words.said(f"0 {check.unit}") != f"0 {check.unit}":
        said += f" ({words.said(asked(check))})"
    pieces = [labelled(tr("result"), said, room, SMALL)]
    if check.way_out and not check.passes:
        pieces.append(labelled(tr("way out"), words.said(check.way_out), room, SMALL))
    return pieces
