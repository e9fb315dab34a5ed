"""What does a gardener with several shelters hold at the yard and at the saw? One packet for all of them.

Who pays what; one buying list; the joint cutting plans, every part with its
shelter's number before its own mark; the hardware of all. How each shelter goes
together is said in its own papers, in which a part has the mark after the dash.

Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

from pathlib import Path

from enclosure.choose.grove import Grove, grove_design
from enclosure.language import tr
from enclosure.money import money
from enclosure.outputs.drawing.sheet_pages import sheet_pages
from enclosure.outputs.paper.frame import Book
from enclosure.outputs.paper.packet import add_hardware, add_panel_list
from enclosure.outputs.paper.packet_sheets import sheet_draws
from enclosure.outputs.paper.packet_sticks import stick_draws
from enclosure.outputs.paper.packet_yard import add_buying, table_pages
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import words_of


def write_grove_packet(found: Grove, path: Path) -> None:
    """Write packet.pdf of a grove."""
    design = grove_design(found)
    book = Book(design, tr("Cutting packet of a grove"), design.paper)
    words = words_of(design)
    room, high = book.area()
    table_pages(book, tr("Who pays what"), tr("Cover"), _said(found), _shares(found), room, high)
    add_buying(book, found.plans, words, room, high)
    for title, draw in stick_draws(design, found.plans.stick_jobs, words, high):
        book.add(title, draw, chapter=tr("At the saw: sticks"))
    for title, draw in sheet_draws(design, sheet_pages(found.plans), words, high):
        book.add(title, draw, chapter=tr("At the saw: sheets"))
    add_panel_list(book, design, words, room, high)
    add_hardware(book, design, words, room, high)
    book.write(path)


def _said(found: Grove) -> str:
    exact = all(share.exact for share in found.shares)
    return tr(
        "{count} shelters bought and cut together cost {price}; one by one {alone}. What is saved is shared out, so "
        "that nobody pays more than alone. A part's mark is its shelter's number, a dash, and the mark that it has in "
        "the shelter's own papers."
    ).format(
        count=len(found.designs),
        price=f"{money(found.price_cents)} {found.plans.currency}",
        alone=_at_least(f"{money(found.alone_cents)} {found.plans.currency}", exact),
    )


def _at_least(price: str, exact: bool) -> str:
    return price if exact else tr("at least {price}").format(price=price)


def _shares(found: Grove) -> Table:
    columns = (
        Column(tr("No."), 12, "right", True),
        Column(tr("Shelter"), 60),
        Column(tr("Parts"), 16, "right"),
        Column(tr("Alone"), 38, "right"),
        Column(tr("Here"), 26, "right"),
        Column(tr("Saved"), 22, "right"),
    )
    rows = [
        Row(
            (
                str(share.number),
                share.name,
                str(len(design.parts)),
                _at_least(money(share.alone_cents), share.exact),
                money(share.share_cents),
                money(share.alone_cents - share.share_cents),
            )
        )
        for share, design in zip(found.shares, found.designs, strict=True)
    ]
    total = tr("All together: {price}").format(price=f"{money(found.price_cents)} {found.plans.currency}")
    return Table(columns, (*rows, Row((total,), True)), 2.2)
