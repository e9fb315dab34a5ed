"""Will it stand, will the plant live, and how was that worked out? The report.

Cautions and verdict first, then the table of checks worst first, the anchor
plan, the dates of the season, the plots, and every calculation line by line. An
engineer can follow each number from its clause; a grower needs the first pages
only.

Left out: what to buy and cut (see `packet`), how to raise it (see `raising`).
Units: mm on paper.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from enclosure.checks.explain import FOOTER, NOT_CHECKED
from enclosure.checks.model import Check, worst_first
from enclosure.checks.season_calendar import Event
from enclosure.language import decimal, later, tr, tr_n
from enclosure.outputs.paper.flow import Piece, boxed, deal, labelled, page_of, prose, title
from enclosure.outputs.paper.frame import Book, Draw, heading
from enclosure.outputs.paper.layer import BODY, Sheet
from enclosure.outputs.paper.report_anchors import anchors_draw
from enclosure.outputs.paper.report_checks import (
    CHAPTERS,
    KIND_WORDS,
    SMALL,
    chapter_of,
    check_table,
    draw_check_table,
    worked,
)
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, continued, words_of
from enclosure.shape.model import Anchor, Design
from enclosure.shape.names import in_its_language

WAY = 2.2
HEAD_MM = 14.0
"""Room that the heading of a page takes when its note fits on one line."""

HEAD_ALONE_MM, PLOT_GAP_MM = 10.5, 4.0

PLOT_WORDS = {
    "losses": later("Each bar is one side of the shelter with its frame and track; hatched: air change and ground."),
    "winter": later(
        "The coldest hour of each day while the shelter stands. No winter is like another: look at the margin, "
        "not at the dates."
    ),
    "sun": later(
        "The hottest hour of a clear day when nobody opens anything, by month; hatched while the shelter stands."
    ),
    "cost": later("Purchase at winter 0, then heat and renewal. The steeper a line, the more of it goes into heat."),
}
"""How to read each picture; the pictures carry their own titles."""


@dataclass(frozen=True, slots=True)
class Extras:
    """What a report shows beside the checks.

    Args:
        anchors: The least set of posts and wires that passes; empty when the design's own hold.
        anchor_words: That set in words.
        anchors_hold: False when no set passes and the nearest one is shown.
        events: Dates of the season.
        calendar_words: From which year the dates stand in the calendar file.
        plots: PNG pictures by name, None when there are none.
        plots_missing: Why there are none, "" when there are.
    """

    anchors: tuple[Anchor, ...] = ()
    anchor_words: str = ""
    anchors_hold: bool = True
    events: tuple[Event, ...] = ()
    calendar_words: str = ""
    plots: dict[str, bytes] | None = None
    plots_missing: str = ""


@in_its_language
def write_report(design: Design, checks: Sequence[Check], path: Path, extras: Extras | None = None) -> None:
    """Write report.pdf.

    Args:
        design: The shelter.
        checks: All its checks, in any order.
        path: File to write.
        extras: Anchor plan, dates and plots.
    """
    shown = extras or Extras()
    rows = worst_first(tuple(checks))
    book = Book(design, tr("Report"), design.paper)
    room, high = book.area()
    words = words_of(design)
    front = deal(_front(design, rows, shown, room), high - HEAD_MM)
    first = check_table(rows, {}, words).pages(room, high - HEAD_MM - 5, high - HEAD_MM)
    plot_pages = _plot_pages(shown.plots or {}, room, high - HEAD_ALONE_MM)
    before = len(front) + len(first) + 1 + bool(shown.events) + len(plot_pages)
    sheets = _calculations(rows, words, room, high - HEAD_MM)
    pages = {key: before + 1 + place for place, (_, _, keys) in enumerate(sheets) for key in keys}
    for place, pieces in enumerate(front):
        name = _numbered(tr("Will it stand, will it live?"), place)
        book.add(name, page_of(name, "", pieces), chapter=tr("Verdict"))
    _add_table(book, rows, pages, words, room, high)
    anchors = shown.anchors or design.anchors
    book.add(tr("Anchor plan"), anchors_draw(design, anchors, _anchor_note(shown), words), chapter=tr("Anchors"))
    if shown.events:
        book.add(tr("Dates of the season"), _season(shown, room, words), chapter=tr("Season"))
    for place, names in enumerate(plot_pages):
        name = _numbered(tr("Pictures"), place)
        book.add(name, _pictures(name, names, shown.plots or {}), chapter=tr("Pictures"))
    for name, pieces, _ in sheets:
        book.add(name, page_of(name, "", pieces), chapter=tr("Calculations"))
    book.write(path)


def _numbered(title: str, place: int) -> str:
    return continued(title) if place else title


# --- the first page ---------------------------------------------------------------------------


def _front(design: Design, rows: tuple[Check, ...], shown: Extras, room: float) -> list[Piece]:
    words = words_of(design)
    pieces = [
        prose(_what(design, words), room, after=2.5),
        boxed(tr("Read this first"), [words.said(line) for line in _cautions(rows)], room),
        title(tr("Verdict")),
        prose(_verdict(rows), room, 3.0, bold=True, after=2.0),
    ]
    over = [row for row in rows if not row.passes and not row.advice]
    if over:
        pieces.append(prose(tr("What does not pass, and the smallest change found that would:"), room, after=1.6))
        pieces += _ways(over, room, words)
    watch = [row for row in rows if not row.passes and row.advice]
    if watch:
        pieces += [title(tr("To live with, or to mend by hand")), *_ways(watch, room, words)]
    pieces.append(title(tr("Not checked")))
    pieces += [prose(f"–  {tr(line)}", room, SMALL, indent=2.0, after=0.6) for line in NOT_CHECKED]
    pieces += [title(tr("How far the methods can be trusted")), *_trust(rows, room)]
    if shown.plots_missing:
        pieces += [title(tr("Pictures")), prose(shown.plots_missing, room)]
    return pieces


def _what(design: Design, words: Words) -> str:
    sizes = " × ".join(words.bare(side) for side in design.outside_mm)
    winters = tr_n("{count} winter", "{count} winters", design.plant.winters).format(count=design.plant.winters)
    roofs = {"flat": tr("flat roof"), "mono": tr("mono-pitch roof"), "gable": tr("gable roof")}
    return tr(
        "{name}: outside {sizes} {unit} (width, depth, height), {roof}, for {winters}. Each check sets what wind, "
        "snow, frost or hands ask of a part against what the part can give; over {one} it cannot."
    ).format(
        name=f"{design.name[:1].upper()}{design.name[1:]}",
        sizes=sizes,
        unit="in" if words.units == "inch" else "mm",
        roof=roofs[design.roof],
        winters=winters,
        one=decimal("1.00"),
    )


def _cautions(rows: Sequence[Check]) -> tuple[str, ...]:
    """Return the cautions of the checks, with the wind of the raising put in."""
    stop = next((row.inputs[-1] for row in rows if row.key == "raising-wind"), "")
    said = [tr(FOOTER[0]), tr("People do not shelter in it.")]
    if stop:
        said[1] += f" {stop[:1].upper()}{stop[1:]}."
    return (*said, tr(FOOTER[2]))


def _verdict(rows: Sequence[Check]) -> str:
    over = sum(1 for row in rows if not row.passes and not row.advice)
    one = decimal("1.00")
    if not over:
        return tr("No row of {rows} is over {one}.").format(rows=len(rows), one=one)
    return tr_n(
        "{over} of {rows} rows is over {one}: as the brief stands, it does not pass.",
        "{over} of {rows} rows are over {one}: as the brief stands, it does not pass.",
        over,
    ).format(over=over, rows=len(rows), one=one)


def _ways(rows: Sequence[Check], room: float, words: Words) -> list[Piece]:
    """Return the rows with their ways out; rows with the same way out stand together."""
    groups: dict[str, list[Check]] = {}
    for row in rows:
        groups.setdefault(row.way_out, []).append(row)
    pieces = []
    for way, same in groups.items():
        names = "; ".join(f"{row.name} {decimal(f'{row.utilisation:.2f}')}" for row in same)
        said = prose(words.said(f"{names[:1].upper()}{names[1:]}"), room, WAY, bold=True, after=0.3 if way else 1.6)
        pieces.append(Piece(said.height, said.draw, with_next=bool(way)))
        if way:
            pieces.append(labelled(tr("way out"), words.said(way), room, WAY, after=1.6))
    return pieces


def _trust(rows: Sequence[Check], room: float) -> list[Piece]:
    words = {
        "published": tr("by the clause of a standard, or a worked example in print"),
        "handbook": tr("by a handbook, or a declared value"),
        "practice": tr("a rule of the trade without a source"),
        "memory": tr("a value that has not been traced to a source"),
    }
    pieces = []
    for kind, said in words.items():
        count = sum(1 for row in rows if row.source_kind == kind)
        if count:
            rows_word = tr_n("{count} row: {said}", "{count} rows: {said}", count).format(count=count, said=said)
            pieces.append(labelled(tr(KIND_WORDS[kind]), rows_word, room, SMALL, label=34.0))
    return pieces


# --- table, season, pictures --------------------------------------------------------------------


def _add_table(
    book: Book, rows: tuple[Check, ...], pages: dict[str, int], words: Words, room: float, high: float
) -> None:
    table = check_table(rows, pages, words)
    start = 0
    for place, part in enumerate(table.pages(room, high - HEAD_MM - 5, high - HEAD_MM)):
        shown = rows[start : start + len(part.rows)]
        start += len(part.rows)
        name = _numbered(tr("Checks, worst first"), place)
        note = tr(
            "Black bar and OVER: does not pass. Grey: passes. Hatched, info: to know, never a verdict. The "
            "stroke on a bar stands at 1.00. Page: where the calculation stands."
        )
        book.add(name, _table_page(name, "" if place else note, part, shown), chapter=tr("Checks"))


def _table_page(name: str, note: str, part: Table, shown: tuple[Check, ...]) -> Draw:
    def draw(sheet: Sheet) -> None:
        y = heading(sheet, name, note)
        draw_check_table(sheet, part, shown, sheet.area[0], y, sheet.area[2] - sheet.area[0])

    return draw


def _anchor_note(shown: Extras) -> str:
    if not shown.anchors:
        return tr("The posts of the brief hold; the packet draws the same ones.")
    if shown.anchors_hold:
        lead = tr("The least set found that passes: {anchors}.")
    else:
        lead = tr("No set tried passes; the nearest: {anchors}.")
    drawn = tr("The packet still draws the posts of the brief.")
    return f"{lead.format(anchors=shown.anchor_words)} {drawn}"


def _season(shown: Extras, room: float, words: Words) -> Draw:
    rows = tuple(Row((event.date_text, words.said(event.title), words.said(event.reason))) for event in shown.events)
    table = Table(
        (Column(tr("Date"), 30, "left", True), Column(tr("What to do"), 62), Column(tr("Why then"), 82)), rows, BODY
    )

    def draw(sheet: Sheet) -> None:
        note = tr("From the usual course of the year at this place; this year's forecast always wins.")
        y = heading(sheet, tr("Dates of the season"), f"{note} {shown.calendar_words}".rstrip())
        table.draw(sheet, sheet.area[0], y, room)

    return draw


def _sized(data: bytes, room: float) -> tuple[float, float]:
    from reportlab.lib.utils import ImageReader

    wide, high = ImageReader(io.BytesIO(data)).getSize()
    width = min(room, wide / 200 * 25.4)
    return width, width * high / wide


def _caption(plot: str, room: float) -> Piece:
    return prose(tr(PLOT_WORDS.get(plot, plot)), room, WAY, after=0.0)


def _plot_pages(plots: dict[str, bytes], room: float, high: float) -> list[list[str]]:
    """Return which plots stand on which page."""
    pages: list[list[str]] = []
    left = 0.0
    for name in [*(key for key in PLOT_WORDS if key in plots), *sorted(set(plots) - set(PLOT_WORDS))]:
        needs = _sized(plots[name], room)[1] + 1.0 + _caption(name, room).height
        if not pages or needs > left:
            pages.append([])
            left = high
        pages[-1].append(name)
        left -= needs + PLOT_GAP_MM
    return pages


def _pictures(name: str, names: Sequence[str], plots: dict[str, bytes]) -> Draw:
    def draw(sheet: Sheet) -> None:
        from reportlab.lib.utils import ImageReader

        y = heading(sheet, name)
        left, _, right, _ = sheet.area
        for plot in names:
            wide, high = _sized(plots[plot], right - left)
            sheet.canvas.drawImage(ImageReader(io.BytesIO(plots[plot])), left, y - high, wide, high)
            caption = _caption(plot, right - left)
            caption.draw(sheet, left, y - high - 1.0, right - left)
            y -= high + 1.0 + caption.height + PLOT_GAP_MM

    return draw


# --- calculations ---------------------------------------------------------------------------------


def _calculations(
    rows: tuple[Check, ...], words: Words, room: float, high: float
) -> list[tuple[str, list[Piece], tuple[str, ...]]]:
    """Return the pages of calculations: title, pieces, keys of the checks that begin there."""
    sheets = []
    for chapter, _ in CHAPTERS:
        blocks = [(row.key, worked(row, words, room, high)) for row in rows if chapter_of(row) == chapter]
        heads = {id(pieces[0]): key for key, pieces in blocks}
        pages = deal([piece for _, pieces in blocks for piece in pieces], high)
        for place, pieces in enumerate(pages):
            name = _numbered(tr(chapter), place)
            keys = tuple(heads[id(piece)] for piece in pieces if id(piece) in heads)
            sheets.append((name, pieces, keys))
    return sheets
