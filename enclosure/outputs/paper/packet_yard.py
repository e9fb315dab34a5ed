"""What is bought, which panes are ordered and which crosscuts does the yard make? Lists to take along.

Prices are those of the stock file. Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

import math
import re
from dataclasses import replace

from enclosure.language import tr, tr_n
from enclosure.money import money
from enclosure.nesting.model import Cut
from enclosure.nesting.plans import Plans
from enclosure.outputs.bought import bought
from enclosure.outputs.drawing.sheet_pages import mm
from enclosure.outputs.paper.flow import table_page
from enclosure.outputs.paper.frame import Book
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, continued, natural, shape_words, timber_words
from enclosure.shape.names import address


def table_pages(
    book: Book, title: str, chapter: str, note: str, table: Table, room: float, high: float
) -> None:
    """Add a table on as many pages as it takes."""
    if table.total(room) > high - 28 >= (tighter := replace(table, height=2.0)).total(room):
        table = tighter
    pages = table.pages(room, high - 28, high - 28)
    for number, part in enumerate(pages):
        name = title if number == 0 else continued(title)
        book.add(name, table_page(name, note if number == 0 else "", part), chapter=chapter)


def add_buying(book: Book, plans: Plans, words: Words, room: float, high: float) -> None:
    """Add the buying list, panes to order and crosscuts to ask for."""
    rows: list[Row] = []
    sizes = {m.name: timber_words(m, words) for m in book.design.materials}
    for group in dict.fromkeys(line.group for line in plans.buying):
        lines = [line for line in plans.buying if line.group == group]
        rows.append(
            Row((f"{_upper(tr(group))}: {money(sum(line.total_cents for line in lines))}",), True)
        )
        rows.extend(
            Row(
                (
                    sizes.get(line.name, line.name) if line.group == "timber" else line.name,
                    bought(_in_feet(line.size_text, words)),
                    _count(line.count, line.unit),
                    money(line.unit_price_cents),
                    money(line.total_cents),
                    "",
                    bought(_in_feet(line.note, words)),
                )
            )
            for line in lines
        )
    together = tr("All together: {price}").format(price=f"{money(plans.total_cents)} {plans.currency}")
    rows.append(Row((together,), True))
    columns = (
        Column(tr("What"), 52),
        Column(tr("Size"), 40),
        Column(tr("How many"), 22, "right"),
        Column(tr("Each"), 16, "right"),
        Column(tr("Price"), 19, "right"),
        Column("", 2),
        Column(tr("Note"), 33),
    )
    said = plans.prices_note[:1].upper() + plans.prices_note[1:]
    unit = plans.currency or tr("the currency of the stock file")
    prices = tr("Prices in {currency}.").format(currency=unit)
    note = f"{prices} {said}".strip()
    if "invented" not in note.lower():
        note = note.rstrip(".") + ". " + tr("Prices are those of the stock file; ask for real ones.")
    table = Table(columns, tuple(rows), 2.2)
    table_pages(book, tr("Buying list"), tr("At the yard"), note, table, room, high)
    _add_panes(book, plans, words, room, high)
    cuts = _yard_cuts(plans, words)
    if cuts:
        yard = Table(
            (Column(tr("Sheet"), 24, "left", True), Column(tr("Material"), 60), Column(tr("Crosscut at"), 90)),
            tuple(Row(row) for row in cuts),
            2.2,
        )
        table_pages(
            book,
            tr("Crosscuts to ask the yard for"),
            tr("At the yard"),
            tr("Cuts right across a whole sheet, measured from its lower edge. They make the sheets easier to carry; "
               "all rips and the panels themselves are cut at home. Ask for them only if the yard cuts square."),
            yard,
            room,
            high,
        )


def _add_panes(book: Book, plans: Plans, words: Words, room: float, high: float) -> None:
    """Add the list of panes that the seller makes to size."""
    marks = {mark: item.name for item in plans.sheet_jobs if item.ordered for m in item.marks.values() for mark in m}
    panes = sorted((p for p in book.design.parts if p.mark in marks), key=lambda p: natural(p.mark))
    if not panes:
        return
    rows = tuple(
        Row((p.mark, marks[p.mark], words.size(p) + shape_words(p, words), words.mass(p.mass_kg), address(p)))
        for p in panes
    )
    columns = (
        Column(tr("Panel"), 14, "right", True),
        Column(tr("Material"), 44),
        Column(tr("Width × height"), 60),
        Column(tr("Mass"), 20, "right"),
        Column(tr("Where it goes"), 46),
    )
    note = tr(
        "Order these panes made to size: toughened glass cannot be cut afterwards. Give the seller this list and the "
        "drawings in the folder dxf (panel-NN.dxf). Edges ground, corners whole; ask that no pane be larger than said, "
        "and up to 1 mm smaller. Measure the finished frame before you order."
    )
    table_pages(book, tr("Panes to order"), tr("At the yard"), note, Table(columns, rows, 2.2), room, high)


def _in_feet(said: str, words: Words) -> str:
    """Return what is sold by the metre in whole feet too, on papers in inches."""
    found = re.fullmatch(r"(pack of )?([\d.]+) m( needed)?", said) if words.units == "inch" else None
    if found is None:
        return said
    feet = float(found[2]) / 0.3048
    return f"pack of {math.floor(feet)} ft ({found[2]} m)" if found[1] else f"{math.ceil(feet)} ft needed"


def _upper(words: str) -> str:
    return f"{words[:1].upper()}{words[1:]}"


def _count(count: int, unit: str) -> str:
    """Return a count with its unit: 4, 1 sheet, 8 lengths."""
    if unit in ("each", ""):
        return str(count)
    if unit == "m":
        return f"{count} m"
    counted = {
        "sheet": tr_n("{count} sheet", "{count} sheets", count),
        "pane": tr_n("{count} pane", "{count} panes", count),
        "length": tr_n("{count} length", "{count} lengths", count),
        "pack": tr_n("{count} pack", "{count} packs", count),
    }
    return counted.get(unit, f"{{count}} {unit}").format(count=count)


def _yard_cuts(plans: Plans, words: Words) -> list[tuple[str, str, str]]:
    """Return the crosscuts through whole sheets that stand first in the cutting plans."""
    found = []
    number = 1
    for sheets in plans.sheet_jobs:
        if sheets.ordered:
            continue
        kinds = {kind.key: kind for kind in sheets.job.sheets}
        for pattern in sheets.plan.patterns:
            places, node, at = [], pattern.root, kinds[pattern.sheet].trim
            while isinstance(node, Cut) and node.axis == "y":
                places.append(words.length(mm(at + node.at)))
                at += node.at + sheets.job.kerf
                node = node.far  # type: ignore[assignment]
            last = number + pattern.copies - 1
            span = str(number) if pattern.copies == 1 else tr("{first} to {last}").format(first=number, last=last)
            if places and not kinds[pattern.sheet].owned:
                found.append((span, sheets.name, ", ".join(places)))
            number += pattern.copies
    return found
