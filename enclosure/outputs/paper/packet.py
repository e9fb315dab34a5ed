"""What does the grower hold at the yard, at the saw and on the flat? The packet.

Cover with a picture and key sizes; buying list; a page or more for every stick
material and every sheet; panels; frames with dimensions; base ring and anchors;
hardware by bag; the panel in its track. Every page answers one question.

Units: mm on paper; money in whole cents.
"""

from __future__ import annotations

import math
from pathlib import Path

from enclosure.language import decimal, tr, tr_as, tr_n
from enclosure.money import money
from enclosure.nesting.plans import Plans
from enclosure.outputs.drawing.axonometric import FRONT_RIGHT
from enclosure.outputs.drawing.neighbours import panels_of
from enclosure.outputs.drawing.sheet_pages import sheet_pages
from enclosure.outputs.old_parts import OldParts
from enclosure.outputs.paper.frame import Book, Draw, heading
from enclosure.outputs.paper.layer import BODY, DRAWN, WHITE, Sheet
from enclosure.outputs.paper.old_pages import add_old_pages
from enclosure.outputs.paper.packet_base import base_draw, stakes_draw
from enclosure.outputs.paper.packet_details import detail_draw
from enclosure.outputs.paper.packet_frames import frame_draws
from enclosure.outputs.paper.packet_gussets import gusset_draws
from enclosure.outputs.paper.packet_sections import sections_draw
from enclosure.outputs.paper.packet_sheets import sheet_draws
from enclosure.outputs.paper.packet_sticks import stick_draws
from enclosure.outputs.paper.packet_yard import add_buying, table_pages
from enclosure.outputs.paper.scale import fit_scale
from enclosure.outputs.paper.scene import Scene, paint
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, natural, shape_words, words_of
from enclosure.shape.model import Design, Part, SheetCut
from enclosure.shape.names import FACES, address, face_word, in_its_language


@in_its_language
def write_packet(design: Design, plans: Plans, path: Path, old: OldParts | None = None) -> None:
    """Write packet.pdf.

    Args:
        design: The shelter.
        plans: Its cutting plans and buying list.
        path: File to write.
        old: The shelter that it grew out of; None for a new one.
    """
    book = Book(design, tr("Cutting packet"), design.paper, views=True)
    words = words_of(design)
    room, high = book.area()
    book.add(tr("Cover"), _cover(book, design, plans, words), chapter=tr("Cover"))
    if old is not None:
        add_old_pages(book, old)
    add_buying(book, plans, words, room, high)
    for title, draw in stick_draws(design, plans.stick_jobs, words, high):
        book.add(title, draw, chapter=tr("At the saw: sticks"))
    for title, draw in sheet_draws(design, sheet_pages(plans), words, high):
        book.add(title, draw, chapter=tr("At the saw: sheets"))
    _add_panels(book, design, words, room, high)
    for frame in design.frames:
        for title, draw in frame_draws(design, frame, words, room, high):
            book.add(title, draw, chapter=tr("Frames"))
    for title, draw in gusset_draws(design, words):
        book.add(title, draw, chapter=tr("Frames"))
    book.add(tr("Base ring and anchors"), base_draw(design, words), chapter=tr("On the ground"))
    stakes = stakes_draw(design, words)
    if stakes is not None:
        book.add(tr("Stakes and slanting wires"), stakes, chapter=tr("On the ground"))
    detail = detail_draw(design, words)
    if detail is not None:
        book.add(tr("Panel in its track"), detail, chapter=tr("Details"))
    sections = sections_draw(design, book.area())
    if sections is not None:
        book.add(tr("Details"), sections, chapter=tr("Details"))
    add_hardware(book, design, words, room, high)
    book.write(path)


# --- cover ---------------------------------------------------------------------------------


def _cover(book: Book, design: Design, plans: Plans, words: Words) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, top = sheet.area
        sheet.text(
            design.name[:1].upper() + design.name[1:], left, top - 11, right - left, 10.0, bold=True, least=5
        )
        plant = design.plant
        line = tr_n(
            "Winter shelter for: {plant}, {height} high, {count} winter",
            "Winter shelter for: {plant}, {height} high, {count} winters",
            plant.winters,
        ).format(plant=plant.name, height=words.length(plant.height_mm, feet=True), count=plant.winters)
        sheet.text(line, left, top - 18, right - left, DRAWN)
        marks = [part.mark for part in design.parts]
        middle = left + (right - left) * 0.56
        rows = tuple(Row(pair) for pair in _key_sizes(design, plans, words))
        table = Table((Column(tr("Key sizes"), 34, "left", True), Column("", 62)), rows, 2.2)
        foot = bottom + max(table.total(middle - left - 4), 52.0 + 9.0 * len(design.warnings)) + 6
        paint(
            sheet,
            Scene(design),
            FRONT_RIGHT,
            (left + 4, foot + 5, right - 4, top - 24),
            marks,
            (),
            quiet=True,
        )
        sheet.text(tr("Seen from the front and the right"), right, foot + 1, 60, 1.8, align="right")
        table.draw(sheet, left, foot - 2, middle - left - 4)
        _contents(sheet, book, (middle, bottom, right, foot - 2))

    return draw


def _key_sizes(design: Design, plans: Plans, words: Words) -> list[tuple[str, str]]:
    def triple(values: tuple[float, float, float]) -> str:
        return " × ".join(words.bare(value) for value in values) + (" in" if words.units == "inch" else " mm")

    fall = decimal(f"{design.fall_deg:.1f}°")
    roofs = {
        "flat": tr("flat"),
        "mono": tr("single fall {angle} to the {side}").format(
            angle=fall, side=tr_as("to the", design.falls_to)
        ),
        "gable": tr("gable {angle}, ridge along {axis}").format(angle=fall, axis=design.falls_to),
    }
    panels = design.panels()
    heaviest = max((p.mass_kg for p in panels), default=0.0)
    rows = [
        (tr("Outside"), tr("{sizes} (width, depth, height)").format(sizes=triple(design.outside_mm))),
        (tr("Clear inside"), triple(design.clear_mm)),
        (
            tr("Clearance"),
            tr("sides {side}, top {top}").format(
                side=words.length(design.side_clearance_mm), top=words.length(design.top_clearance_mm)
            ),
        ),
        (tr("Roof"), roofs.get(design.roof, design.roof)),
        (tr("Skins"), ", ".join(dict.fromkeys(design.material(p.material).name for p in panels))),
        (
            tr("Panels"),
            tr("{count}, the heaviest {mass}").format(count=len(panels), mass=words.mass(heaviest)),
        ),
        (tr("Whole mass"), words.mass(math.fsum(p.mass_kg for p in design.parts))),
        (
            tr("Raising"),
            tr_n("{method}, {count} person", "{method}, {count} people", design.people).format(
                method=tr(design.raising_method), count=design.people
            ),
        ),
    ]
    if plans.buying:
        price = f"{money(plans.total_cents)} {plans.currency}"
        rows.append((tr("To buy"), tr("{price} (example prices)").format(price=price)))
    return rows


def _contents(sheet: Sheet, book: Book, box: tuple[float, float, float, float]) -> None:
    left, bottom, right, top = box
    firsts: dict[str, int] = {}
    for number, (_, chapter, _, _) in enumerate(book.pages, start=1):
        firsts.setdefault(chapter, number)
    rows = tuple(Row((chapter, str(number))) for chapter, number in firsts.items() if chapter != tr("Cover"))
    end = Table((Column(tr("In this packet"), 60), Column(tr("Page"), 14, "right")), rows, 2.2).draw(
        sheet, left, top, right - left
    )
    y = end - 2
    for warning in book.design.warnings:
        if y - 9 < bottom:
            break
        y = sheet.paragraph(tr("Note: {warning}").format(warning=warning), left, y, right - left, 2.0, most=4) - 0.8


# --- panels ----------------------------------------------------------------------------


def _add_panels(book: Book, design: Design, words: Words, room: float, high: float) -> None:
    faces = [face for face in FACES if any(p.face == face for p in design.panels())]
    if not faces:
        return
    book.add(tr("Where each panel goes"), _panel_map(design, faces), chapter=tr("Panels"))
    add_panel_list(book, design, words, room, high)


def add_panel_list(book: Book, design: Design, words: Words, room: float, high: float) -> None:
    """Add the list of all panels with their sizes, corner heights and tape."""
    rows = tuple(
        Row(
            (
                part.mark,
                address(part),
                words.size(part) + shape_words(part, words),
                words.mass(part.mass_kg),
                _tape(part, words),
                _holes(part, words),
            )
        )
        for part in sorted(design.panels(), key=lambda p: (natural(p.mark), p.layer))
    )
    columns = (
        Column(tr("Panel"), 13, "right", True),
        Column(tr("Where"), 38),
        Column(tr("Width × height"), 48),
        Column(tr("Mass"), 16, "right"),
        Column(tr("Tape at top / foot"), 36),
        Column(tr("Holes"), 40),
    )
    table_pages(
        book,
        tr("Panels"),
        tr("Panels"),
        tr("Sizes as cut; weather face out. Solid tape on the top edge, breather tape on the foot. Holes for button "
           "fixings: from the left edge, from the foot; how wide."),
        Table(columns, rows, 2.2),
        room,
        high,
    )


def _tape(part: Part, words: Words) -> str:
    if not any(part.tape_mm):
        return tr_as("tape", "none")
    return f"{words.length(part.tape_mm[0])} / {words.length(part.tape_mm[1])}"


def _holes(part: Part, words: Words) -> str:
    """Return where the holes of button fixings are drilled."""
    if not isinstance(part.cut, SheetCut) or not part.cut.holes:
        return ""
    places = "; ".join(f"{words.bare(h.x_mm)}, {words.bare(h.y_mm)}" for h in part.cut.holes)
    return f"{places}; ⌀ {words.length(part.cut.holes[0].diameter_mm)}"


def _panel_map(design: Design, faces: list[str]) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        note = tr("Each wall seen from outside; roofs seen from above.")
        y = heading(sheet, tr("Where each panel goes"), note)
        biggest = [0.0, 0.0]
        every = {face: panels_of(design, face) for face in faces}
        boxes = {}
        for face, patches in every.items():
            edges = [one.box for one in patches]
            box = (
                min(e[0] for e in edges),
                min(e[1] for e in edges),
                max(e[2] for e in edges),
                max(e[3] for e in edges),
            )
            boxes[face] = box
            biggest = [max(biggest[0], box[2] - box[0]), max(biggest[1], box[3] - box[1])]
        columns, divisor = _best_columns(len(faces), (biggest[0], biggest[1]), right - left, y - bottom)
        lines = -(-len(faces) // columns)
        wide, high = (right - left) / columns, (y - bottom) / lines
        for place, face in enumerate(faces):
            row, column = divmod(place, columns)
            x, foot = left + column * wide + 5, y - (row + 1) * high + 4
            sheet.text(
                face_word(face),
                x + (wide - 10) / 2,
                foot + high - 9,
                wide - 10,
                DRAWN,
                align="centre",
                bold=True,
            )
            box = boxes[face]
            shift = (wide - 10 - (box[2] - box[0]) / divisor) / 2
            for one in every[face]:
                points = [
                    (x + shift + (a - box[0]) / divisor, foot + (b - box[1]) / divisor)
                    for a, b in one.outline
                ]
                sheet.polygon(points, WHITE, "wide", 0.35)
                xs, ys = [p[0] for p in points], [p[1] for p in points]
                size = min(7.0, (max(ys) - min(ys)) * 0.6)
                middle = ((max(xs) + min(xs)) / 2, (max(ys) + min(ys) - size) / 2)
                mark = one.part.mark
                over = [p.mark for p in design.panels() if p.layer > 1 and p.address.startswith(one.part.address)]
                sheet.text(mark, *middle, max(xs) - min(xs) - 1, size, align="centre", bold=True)
                if over:
                    words = tr("over it {marks}").format(marks=", ".join(over))
                    room = max(xs) - min(xs) - 2
                    sheet.text(words, middle[0], middle[1] - 6, room, BODY, align="centre")
        sheet.text(tr("Scale 1 : {divisor}").format(divisor=decimal(f"{divisor:g}")), left, bottom + 0.5, 40, 2.0)

    return draw


def _best_columns(count: int, size: tuple[float, float], wide: float, high: float) -> tuple[int, float]:
    """Return how many drawings stand side by side, and the divisor of the largest scale."""
    tries = []
    for columns in range(1, min(count, 4) + 1):
        room = (wide / columns - 10, high / -(-count // columns) - 16)
        if min(room) > 10:
            tries.append((fit_scale(size, (0, 0, *room)).divisor, columns))
    divisor, columns = min(tries)
    return columns, divisor


def add_hardware(book: Book, design: Design, words: Words, room: float, high: float) -> None:
    """Add the hardware, bag by bag."""
    rows: list[Row] = []
    for bag in dict.fromkeys(fixing.bag for fixing in design.fixings):
        rows.append(Row((tr("Bag: {name}").format(name=tr(bag)),), True))
        for fixing in design.fixings:
            if fixing.bag == bag:
                rows.append(Row((fixing.name, _amount(fixing.unit, fixing.amount, words), "")))
    columns = (Column(tr("Hardware"), 90), Column(tr("In the bag"), 34, "right"), Column(tr("Put back (tick)"), 40))
    note = tr("One bag each, the name of the bag written on it. Counted from the places where each one goes.")
    if rows:
        table_pages(book, tr("Hardware by bag"), tr("Hardware"), note, Table(columns, tuple(rows), BODY), room, high)


def _amount(unit: str, amount: float, words: Words) -> str:
    if unit == "m":
        return f"{math.ceil(amount / 0.3048)} ft" if words.units == "inch" else decimal(f"{amount:.1f} m")
    return f"{round(amount)}"
