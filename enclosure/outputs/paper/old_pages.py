"""What becomes of the old shelter? The chapter of the packet for a shelter that is outgrown.

First the ways that were compared, then every old part: kept, cut again (from
what to what), spare. What is spare goes to the rack; the list says how much of
it is sound.

Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

from enclosure.choose.fates import AS_IT_IS, Fate
from enclosure.language import later, tr, tr_as
from enclosure.money import money
from enclosure.outputs.old_parts import OldParts, margin_words
from enclosure.outputs.paper.flow import Piece, deal, labelled, page_of, prose, table_page, title
from enclosure.outputs.paper.frame import Book, Draw, heading
from enclosure.outputs.paper.layer import Sheet
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, continued
from enclosure.shape.names import FACES, address, face_word

CHAPTER = later("The old shelter")
_ENDS = (("re-cut", later("Cut again")), ("spare", later("Spare")), ("keep", later("Kept, with something to do")))


def add_old_pages(book: Book, told: OldParts) -> None:
    """Add the pages on the old shelter to a packet."""
    room, high = book.area()
    book.add(tr("The ways compared"), _ways(told, room), chapter=tr(CHAPTER))
    table = Table(
        (
            Column(tr("Old"), 12, "left", True), Column(tr("Ends as"), 13), Column(tr("New"), 22, "left", True),
            Column(tr("What to do"), 58), Column(tr("Part"), 22), Column(tr("Where it was"), 40),
            Column(tr("Size"), 36),
        ),
        tuple(_rows(told)),
        2.0,
    )  # fmt: skip
    if table.rows:
        for number, part in enumerate(table.pages(room, high - 34, high - 24)):
            name = continued(tr("Old parts")) if number else tr("Old parts")
            note = margin_words(told) if number == 0 else ""
            book.add(name, table_page(name, note, part), chapter=tr(CHAPTER))
    for number, pieces in enumerate(deal(_kept(told, room), high - 30)):
        name = continued(tr("Parts that stay as they are")) if number else tr("Parts that stay as they are")
        note = "" if number else tr("Each keeps its number. Old places; the new ones stand on the new labels.")
        book.add(name, page_of(name, note, pieces), chapter=tr(CHAPTER))
    for number, pieces in enumerate(deal(_stowing(told, room), high - 24)):
        name = continued(tr("Spare parts and stowing")) if number else tr("Spare parts and stowing")
        book.add(name, page_of(name, "", pieces), chapter=tr(CHAPTER))


def _rows(told: OldParts) -> list[Row]:
    rows: list[Row] = []
    for end, words in _ENDS:
        some = [fate for fate in told.way.fates if fate.end == end and not _untouched(told, fate)]
        if some:
            rows.append(Row((f"{tr(words)}: {len(some)}",), True))
        rows += [_row(told, fate) for fate in some]
    return rows


def _untouched(told: OldParts, fate: Fate) -> bool:
    return fate.end == "keep" and fate.words == tr(AS_IT_IS) and fate.old not in told.built


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
        pieces += [labelled(tr(role), ", ".join(marks), room, 2.5, label=32.0) for role, marks in groups[face].items()]
    return pieces


def _row(told: OldParts, fate: Fate) -> Row:
    part = told.old.part(fate.old)
    built = told.built.get(fate.old, "")
    what = f"{fate.words}; {built}" if built else fate.words
    size = Words(told.units).size(part)
    return Row((fate.old, tr_as("ends as", fate.end), ", ".join(fate.new), what, tr(part.role), address(part), size))


def _ways(told: OldParts, room: float) -> Draw:
    money_name = told.way.plans.currency if told.way.plans is not None else ""
    columns = (
        Column(tr("Way"), 54, "left", True), Column(tr("To buy, {currency}").format(currency=money_name), 22, "right"),
        Column(tr("At least"), 20, "right"),
        Column(tr("Keep"), 12, "right"), Column(tr("Cut"), 11, "right"), Column(tr("Spare"), 13, "right"),
        Column(tr("Saw cuts"), 14, "right"), Column(tr("Work"), 15, "right"), Column(tr("Outgrown"), 20, "right"),
        Column(tr("Checks over"), 22, "right"),
    )  # fmt: skip
    rows = [Row(_way_cells(told, key)) for key in (way.key for way in told.found.ways)]
    rows.append(
        Row(
            (tr("everything bought new"), money(told.found.all_new_cents), money(told.found.all_new_bound_cents))
            + ("",) * 7
        )
    )
    table = Table(columns, tuple(rows), 2.0)

    def draw(sheet: Sheet) -> None:
        y = heading(sheet, tr("The ways compared"), tr("These papers are for: {title}.").format(title=told.way.title))
        left = sheet.area[0]
        y = table.draw(sheet, left, y, room) - 4
        for line in _sentences(told):
            y = sheet.paragraph(line, left, y, room, 2.5) - 1.0

    return draw


def _way_cells(told: OldParts, key: str) -> tuple[str, ...]:
    way = next(w for w in told.found.ways if w.key == key)
    if not way.possible:
        return (f"{way.title}: {way.reason}", "–", "", "", "", "", "", "", "", "")
    until = tr("winter {number}").format(number=way.outgrown) if way.outgrown else tr("never")
    work = f"{way.minutes // 60}:{way.minutes % 60:02d} h"
    over = told.over.get(way.key)
    return (
        way.title, money(way.price_cents), tr("proved") if way.proved else money(way.bound_cents), str(way.kept),
        str(way.recut), str(way.spare), str(way.cuts), work, until, "" if over is None else str(over),
    )  # fmt: skip


def _sentences(told: OldParts) -> list[str]:
    lines = []
    if told.found.old_serves_until is not None:
        words = tr("The old shelter is outgrown in winter {number} from now.")
        lines.append(words.format(number=told.found.old_serves_until))
    lines.append(
        tr(
            "Winters are counted from the new brief's present. Work is sawing, drilling and fixing, not "
            "raising. Checks over: how many checks of this way are over 1.00, see the report."
        )
    )
    lines += [f"{note[:1].upper()}{note[1:]}." for note in told.way.notes]
    if told.way.reason:
        lines.append(f"{told.way.reason[:1].upper()}{told.way.reason[1:]}.")
    lines.append(margin_words(told))
    lines.append(
        tr(
            "Kept parts keep their numbers. A part cut from an old one has the old number struck through on "
            "its label; numbers of parts that are gone are never given again. Strike the old number on the "
            "part as well."
        )
    )
    return lines


def _stowing(told: OldParts, room: float) -> list[Piece]:
    spares = [fate for fate in told.way.fates if fate.end == "spare"]
    sound = [fate for fate in spares if fate.sound]
    gone = [fate for fate in spares if fate not in sound]
    pieces = [title(tr("To the rack"), before=0.0)]
    if sound:
        words = (
            tr(
                "Lay these flat on battens, heaviest at the bottom, weather face up, out of the sun; strike "
                "the old number, write the size on the edge. With a rack file they are laid on with: enclosure "
                "outgrow ... --keep-rack, then enclosure rack confirm."
            )
        )
        pieces.append(prose(words, room, 2.5))
        pieces += [prose(_spare_words(told, fate), room, 2.2, indent=3.0, after=0.6) for fate in sound]
    else:
        pieces.append(prose(tr("No old part is left over that would be worth keeping."), room, 2.5))
    if gone:
        pieces.append(title(tr("Not used again")))
        pieces += [prose(_spare_words(told, fate), room, 2.2, indent=3.0, after=0.6) for fate in gone]
    return pieces


def _spare_words(told: OldParts, fate: Fate) -> str:
    part = told.old.part(fate.old)
    name = next((m.name for m in told.old.materials if m.key == part.material), part.material)
    return f"{fate.old}: {tr(part.role)}, {address(part)}, {name}, {Words(told.units).size(part)}; {fate.note}"
