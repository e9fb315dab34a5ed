"""What becomes of the old shelter? The chapter of the packet for a shelter that is outgrown.

First the ways that were compared, then every old part: kept, cut again (from
what to what), spare. What is spare goes to the rack; the list says how much of
it is sound.

Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

from enclosure.choose.fates import Fate
from enclosure.money import money
from enclosure.outputs.old_parts import OldParts, margin_words
from enclosure.outputs.paper.flow import Piece, deal, labelled, page_of, prose, table_page, title
from enclosure.outputs.paper.frame import Book, Draw, heading
from enclosure.outputs.paper.layer import Sheet
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words
from enclosure.shape.names import FACES, face_word

CHAPTER = "The old shelter"
_ENDS = (("re-cut", "Cut again"), ("spare", "Spare"), ("keep", "Kept, with something to do"))


def add_old_pages(book: Book, told: OldParts) -> None:
    """Add the pages on the old shelter to a packet."""
    room, high = book.area()
    book.add("The ways compared", _ways(told, room), chapter=CHAPTER)
    table = Table(
        (
            Column("Old", 12, "left", True), Column("Ends as", 13), Column("New", 22, "left", True),
            Column("What to do", 58), Column("Part", 22), Column("Where it was", 40), Column("Size", 36),
        ),
        tuple(_rows(told)),
        2.0,
    )  # fmt: skip
    if table.rows:
        for number, part in enumerate(table.pages(room, high - 34, high - 24)):
            name = "Old parts" if number == 0 else "Old parts (continued)"
            note = margin_words(told) if number == 0 else ""
            book.add(name, table_page(name, note, part), chapter=CHAPTER)
    for number, pieces in enumerate(deal(_kept(told, room), high - 30)):
        name = "Parts that stay as they are" + (" (continued)" if number else "")
        note = "" if number else "Each keeps its number. Old places; the new ones stand on the new labels."
        book.add(name, page_of(name, note, pieces), chapter=CHAPTER)
    for number, pieces in enumerate(deal(_stowing(told, room), high - 24)):
        name = "Spare parts and stowing" if number == 0 else "Spare parts and stowing (continued)"
        book.add(name, page_of(name, "", pieces), chapter=CHAPTER)


def _rows(told: OldParts) -> list[Row]:
    rows: list[Row] = []
    for end, words in _ENDS:
        some = [fate for fate in told.way.fates if fate.end == end and not _untouched(told, fate)]
        if some:
            rows.append(Row((f"{words}: {len(some)}",), True))
        rows += [_row(told, fate) for fate in some]
    return rows


def _untouched(told: OldParts, fate: Fate) -> bool:
    return fate.end == "keep" and fate.words == "stays as it is" and fate.old not in told.built


def _kept(told: OldParts, room: float) -> list[Piece]:
    """Return the parts that stay untouched, wall by wall and kind by kind, numbers in rows."""
    groups: dict[str, dict[str, list[str]]] = {}
    for fate in told.way.fates:
        if _untouched(told, fate):
            part = told.old.part(fate.old)
            groups.setdefault(face_word(part.face), {}).setdefault(part.role, []).append(fate.old)
    pieces: list[Piece] = []
    for face in (words for words in map(face_word, FACES) if words in groups):
        count = sum(len(marks) for marks in groups[face].values())
        pieces.append(title(f"{face[:1].upper()}{face[1:]}: {count}", after=0.6, before=2.0))
        pieces += [labelled(role, ", ".join(marks), room, 2.5, label=32.0) for role, marks in groups[face].items()]
    return pieces


def _row(told: OldParts, fate: Fate) -> Row:
    part = told.old.part(fate.old)
    built = told.built.get(fate.old, "")
    what = f"{fate.words}; {built}" if built else fate.words
    size = Words(told.units).size(part)
    return Row((fate.old, fate.end, ", ".join(fate.new), what, part.role, part.address, size))


def _ways(told: OldParts, room: float) -> Draw:
    money_name = told.way.plans.currency if told.way.plans is not None else ""
    columns = (
        Column("Way", 54, "left", True), Column(f"To buy, {money_name}", 22, "right"), Column("At least", 20, "right"),
        Column("Keep", 12, "right"), Column("Cut", 11, "right"), Column("Spare", 13, "right"),
        Column("Saw cuts", 14, "right"), Column("Work", 15, "right"), Column("Outgrown", 20, "right"),
        Column("Checks over", 22, "right"),
    )  # fmt: skip
    rows = [Row(_way_cells(told, key)) for key in (way.key for way in told.found.ways)]
    rows.append(
        Row(
            ("everything bought new", money(told.found.all_new_cents), money(told.found.all_new_bound_cents))
            + ("",) * 7
        )
    )
    table = Table(columns, tuple(rows), 2.0)

    def draw(sheet: Sheet) -> None:
        y = heading(sheet, "The ways compared", f"These papers are for: {told.way.title}.")
        left = sheet.area[0]
        y = table.draw(sheet, left, y, room) - 4
        for line in _sentences(told):
            y = sheet.paragraph(line, left, y, room, 2.5) - 1.0

    return draw


def _way_cells(told: OldParts, key: str) -> tuple[str, ...]:
    way = next(w for w in told.found.ways if w.key == key)
    if not way.possible:
        return (f"{way.title}: {way.reason}", "–", "", "", "", "", "", "", "", "")
    until = f"winter {way.outgrown}" if way.outgrown else "never"
    work = f"{way.minutes // 60}:{way.minutes % 60:02d} h"
    over = told.over.get(way.key)
    return (
        way.title, money(way.price_cents), "proved" if way.proved else money(way.bound_cents), str(way.kept),
        str(way.recut), str(way.spare), str(way.cuts), work, until, "" if over is None else str(over),
    )  # fmt: skip


def _sentences(told: OldParts) -> list[str]:
    lines = []
    if told.found.old_serves_until is not None:
        lines.append(f"The old shelter is outgrown in winter {told.found.old_serves_until} from now.")
    lines.append(
        "Winters are counted from the new brief's present. Work is sawing, drilling and fixing, not raising. "
        "Checks over: how many checks of this way are over 1.00, see the report."
    )
    lines += [f"{note[:1].upper()}{note[1:]}." for note in told.way.notes]
    if told.way.reason:
        lines.append(f"{told.way.reason[:1].upper()}{told.way.reason[1:]}.")
    lines.append(margin_words(told))
    lines.append(
        "Kept parts keep their numbers. A part cut from an old one has the old number struck through on its label; "
        "numbers of parts that are gone are never given again. Strike the old number on the part as well."
    )
    return lines


def _stowing(told: OldParts, room: float) -> list[Piece]:
    spares = [fate for fate in told.way.fates if fate.end == "spare"]
    sound = [fate for fate in spares if "to the rack" in fate.words]
    gone = [fate for fate in spares if fate not in sound]
    pieces = [title("To the rack", before=0.0)]
    if sound:
        words = (
            "Lay these flat on battens, heaviest at the bottom, weather face up, out of the sun; "
            "strike the old number, write the size on the edge. With a rack file they are laid on with: "
            "enclosure outgrow ... --keep-rack, then enclosure rack confirm."
        )
        pieces.append(prose(words, room, 2.5))
        pieces += [prose(_spare_words(told, fate), room, 2.2, indent=3.0, after=0.6) for fate in sound]
    else:
        pieces.append(prose("No old part is left over that would be worth keeping.", room, 2.5))
    if gone:
        pieces.append(title("Not used again"))
        pieces += [prose(_spare_words(told, fate), room, 2.2, indent=3.0, after=0.6) for fate in gone]
    return pieces


def _spare_words(told: OldParts, fate: Fate) -> str:
    part = told.old.part(fate.old)
    name = next((m.name for m in told.old.materials if m.key == part.material), part.material)
    tail = fate.words.removeprefix("spare, to the rack: ").removeprefix("spare: ")
    return f"{fate.old}: {part.role}, {part.address}, {name}, {Words(told.units).size(part)}; {tail}"
