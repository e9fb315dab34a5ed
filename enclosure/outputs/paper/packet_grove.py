"""What does a gardener with several shelters hold at the yard and at the saw? One packet for all of them.

Who pays what; one buying list; the joint cutting plans, every part with its
shelter's number before its own mark; the hardware of all. How each shelter goes
together is said in its own papers, in which a part has the mark after the dash.

Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

from pathlib import Path

from enclosure.choose.grove import Grove, grove_design
from enclosure.money import money
from enclosure.outputs.drawing.sheet_pages import sheet_pages
from enclosure.outputs.paper.frame import Book
from enclosure.outputs.paper.packet import add_buying, add_hardware, add_panel_list, table_pages
from enclosure.outputs.paper.packet_sheets import sheet_draws
from enclosure.outputs.paper.packet_sticks import stick_draws
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import words_of


def write_grove_packet(found: Grove, path: Path) -> None:
    """Write packet.pdf of a grove."""
    design = grove_design(found)
    book = Book(design, "Cutting packet of a grove", design.paper)
    words = words_of(design)
    room, high = book.area()
    table_pages(book, "Who pays what", "Cover", _said(found), _shares(found), room, high)
    add_buying(book, found.plans, words, room, high)
    for title, draw in stick_draws(design, found.plans.stick_jobs, words, high):
        book.add(title, draw, chapter="At the saw: sticks")
    for title, draw in sheet_draws(design, sheet_pages(found.plans), words, high):
        book.add(title, draw, chapter="At the saw: sheets")
    add_panel_list(book, design, words, room, high)
    add_hardware(book, design, words, room, high)
    book.write(path)


def _said(found: Grove) -> str:
    currency = found.plans.currency
    return (
        f"{len(found.designs)} shelters bought and cut together cost {money(found.price_cents)} {currency}; one by one "
        f"{'' if all(share.exact for share in found.shares) else 'at least '}{money(found.alone_cents)} {currency}. "
        "What is saved is shared out, so that nobody pays more than alone. A part's mark is its shelter's number, "
        "a dash, and the mark that it has in the shelter's own papers."
    )


def _shares(found: Grove) -> Table:
    columns = (
        Column("No.", 12, "right", True),
        Column("Shelter", 60),
        Column("Parts", 16, "right"),
        Column("Alone", 38, "right"),
        Column("Here", 26, "right"),
        Column("Saved", 22, "right"),
    )
    rows = [
        Row(
            (
                str(share.number),
                share.name,
                str(len(design.parts)),
                ("" if share.exact else "at least ") + money(share.alone_cents),
                money(share.share_cents),
                money(share.alone_cents - share.share_cents),
            )
        )
        for share, design in zip(found.shares, found.designs, strict=True)
    ]
    total = f"All together: {money(found.price_cents)} {found.plans.currency}"
    return Table(columns, (*rows, Row((total,), True)), 2.2)
