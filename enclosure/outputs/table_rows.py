"""Which rows stand in the cut list, the buying list and the lists of sheets and sticks?

Plain rows for every table file, so that CSV and workbook say the same, the CSV in English
(its headings are keys for programs), the workbook in the language of the papers. Every
header names its unit. Lengths come twice where the design is in inches: as printed for
people, and in mm for machines. Rows keep the order of the design and of the plans.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from enclosure.language import tr, tr_as
from enclosure.nesting.model import StickPattern
from enclosure.nesting.plans import MarkDealer, MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.replay import Placed, cut_sequence
from enclosure.outputs.bought import bought
from enclosure.outputs.drawing.sheet_pages import mm, sheet_pages
from enclosure.outputs.dxf_sheets import outline_area
from enclosure.shape.model import Design, Part, StickCut
from enclosure.shape.names import address
from enclosure.shape.rip import ripped_mm
from enclosure.units import format_length

Cell = str | int | float


@dataclass(frozen=True, slots=True)
class Table:
    """A table.

    Args:
        name: Name of the workbook's sheet.
        headers: Column headings with units.
        rows: Rows of as many cells.
        money: Numbers of the columns that hold money.
    """

    name: str
    headers: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]
    money: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class StickPage:
    """One stick pattern with its marks.

    Args:
        sticks: The material it belongs to.
        pattern: The pattern.
        numbers: Numbers of the first and last stick that it is, counted over all plans.
        marks: For each piece the marks that its copies get.
    """

    sticks: MaterialSticks
    pattern: StickPattern
    numbers: tuple[int, int]
    marks: tuple[tuple[str, ...], ...]

    @property
    def length(self) -> int:
        """Length of the stock stick [units]."""
        return next(kind.length for kind in self.sticks.job.sticks if kind.key == self.pattern.stick)


def stick_pages(plans: Plans) -> Iterator[StickPage]:
    """Yield all stick patterns in the order of the plans, with sticks counted and marks dealt out."""
    number = 1
    for sticks in plans.stick_jobs:
        dealer = MarkDealer(sticks.marks)
        for pattern in sticks.plan.patterns:
            dealt = [[dealer.take(piece.key) for piece in pattern.pieces] for _ in range(pattern.copies)]
            last = number + pattern.copies - 1
            yield StickPage(sticks, pattern, (number, last), tuple(zip(*dealt, strict=True)))
            number = last + 1


def cut_list(design: Design, plans: Plans) -> Table:
    """Return one row for each part, with its size, its angles and what it is cut from."""
    sources = _sources(plans)
    headers = (
        tr_as("column", "mark"),
        tr_as("column", "kind"),
        tr_as("column", "part"),
        tr_as("column", "address"),
        tr_as("column", "material"),
        tr_as("column", "size as printed"),
        tr_as("column", "length or height [mm]"),
        tr_as("column", "width [mm]"),
        tr_as("column", "start angle [deg]"),
        tr_as("column", "end angle [deg]"),
        tr_as("column", "bevel [deg]"),
        tr_as("column", "flute direction fixed"),
        tr_as("column", "lifts out"),
        tr_as("column", "mass [kg]"),
        tr_as("column", "cut from"),
        tr_as("column", "from the stick's end [mm]"),
    )  # fmt: skip
    rows = tuple(_cut_row(design, part, *sources.get(part.mark, ("", ""))) for part in design.parts)
    return Table(tr("Cut list"), headers, rows)


def buying_list(plans: Plans) -> Table:
    """Return the lines of the buying list; money in whole units of the currency."""
    money = plans.currency or tr("money")
    headers = (
        tr_as("column", "group"),
        tr_as("column", "what"),
        tr_as("column", "size"),
        tr_as("column", "count"),
        tr_as("column", "unit"),
        tr("price of one [{currency}]").format(currency=money),
        tr("price [{currency}]").format(currency=money),
        tr_as("column", "note"),
    )  # fmt: skip
    rows = tuple(
        (
            tr(line.group), line.name, bought(line.size_text), line.count, tr(line.unit), line.unit_price_cents / 100,
            line.total_cents / 100, bought(line.note),
        )
        for line in plans.buying
    )
    return Table(tr("Buying list"), headers, rows, (5, 6))


def hardware_list(design: Design) -> Table:
    """Return the hardware by bag, as counted from its positions."""
    headers = (
        tr_as("column", "bag"),
        tr_as("column", "what"),
        tr_as("column", "amount"),
        tr_as("column", "unit"),
    )  # fmt: skip
    rows = tuple(
        (tr(fixing.bag), fixing.name, round(fixing.amount, 3), tr(fixing.unit)) for fixing in design.fixings
    )
    return Table(tr("Hardware"), headers, rows)


def sheet_list(design: Design, plans: Plans) -> Table:
    """Return one row for each pattern of the sheet plans; `drawing` names its DXF file."""
    headers = (
        tr_as("column", "drawing"),
        tr_as("column", "material"),
        tr_as("column", "sheet as printed"),
        tr_as("column", "width [mm]"),
        tr_as("column", "height [mm]"),
        tr_as("column", "sheets cut alike"),
        tr_as("column", "from the rack"),
        tr_as("column", "kerf [mm]"),
        tr_as("column", "trim [mm]"),
        tr_as("column", "saw cuts"),
        tr_as("column", "parts on each"),
        tr_as("column", "area used [%]"),
        tr_as("column", "marks"),
    )  # fmt: skip
    rows = []
    for number, page in enumerate(sheet_pages(plans), start=1):
        kind, job = page.kind, page.sheets.job
        wide, high = mm(kind.width), mm(kind.height)
        rows.append(
            (
                f"sheet-{number:02d}", page.sheets.name, f"{_length(design, wide)} x {_length(design, high)}",
                wide, high, page.pattern.copies, _yes(kind.owned), mm(job.kerf), mm(kind.trim),
                len(cut_sequence(job, page.pattern)), len(page.parts),
                round(100 * used_area(page.parts) / (kind.width * kind.height), 1),
                "; ".join(", ".join(names) for names in page.marks),
            )
        )
    return Table(tr("Sheets"), headers, tuple(rows))


def stick_list(design: Design, plans: Plans) -> Table:
    """Return one row for each piece on each stick, in cutting order, with running positions."""
    headers = (
        tr_as("column", "stick"),
        tr_as("column", "to stick"),
        tr_as("column", "material"),
        tr_as("column", "stick as printed"),
        tr_as("column", "stick [mm]"),
        tr_as("column", "piece"),
        tr_as("column", "marks"),
        tr_as("column", "from [mm]"),
        tr_as("column", "to [mm]"),
        tr_as("column", "length as printed"),
        tr_as("column", "length [mm]"),
    )  # fmt: skip
    rows: list[tuple[Cell, ...]] = []
    for page in stick_pages(plans):
        lengths = {part.key: part.length for part in page.sticks.job.parts}
        stock = mm(page.length)
        for number, (piece, marks) in enumerate(zip(page.pattern.pieces, page.marks, strict=True), start=1):
            long, start = mm(lengths[piece.key]), mm(piece.start)
            what = (page.sticks.name, _length(design, stock), stock, number, ", ".join(marks))
            rows.append((*page.numbers, *what, start, round(start + long, 4), _length(design, long), long))
    return Table(tr("Sticks"), headers, tuple(rows))


# --- yield ------------------------------------------------------------------------


def used_area(parts: Sequence[Placed]) -> float:
    """Return the area of placed parts [units²]."""
    return sum(outline_area(part.outline) for part in parts)


def sheet_yield(sheets: MaterialSheets) -> float:
    """Return the used area over the area of all sheets cut, 0 to 1; 0 when none is cut."""
    pages = list(sheet_pages(Plans((sheets,), (), ())))
    used = sum(used_area(page.parts) * page.pattern.copies for page in pages)
    area = sum(page.kind.width * page.kind.height * page.pattern.copies for page in pages)
    return used / area if area else 0.0


def stick_yield(sticks: MaterialSticks) -> float:
    """Return the used length over the length of all sticks cut, 0 to 1; 0 when none is cut."""
    lengths = {part.key: part.length for part in sticks.job.parts}
    used = bought = 0
    for page in stick_pages(Plans((), (sticks,), ())):
        used += sum(lengths[piece.key] for piece in page.pattern.pieces) * page.pattern.copies
        bought += page.length * page.pattern.copies
    return used / bought if bought else 0.0


# --- inside -----------------------------------------------------------------------


def _length(design: Design, millimetres: float) -> str:
    return format_length(millimetres, design.units)


def _yes(value: bool) -> str:
    return tr("yes") if value else ""


def _sources(plans: Plans) -> dict[str, tuple[str, Cell]]:
    """Return for each mark what it is cut from, and where along its stick."""
    sources: dict[str, tuple[str, Cell]] = {
        mark: (tr("made to size"), "")
        for sheets in plans.sheet_jobs
        if sheets.ordered
        for names in sheets.marks.values()
        for mark in names
    }
    for number, page in enumerate(sheet_pages(plans), start=1):
        for names in page.marks:
            for copy, mark in enumerate(names, start=1):
                drawing = f"sheet-{number:02d}"
                if page.pattern.copies > 1:
                    drawing = tr("{drawing} copy {number}").format(drawing=drawing, number=copy)
                sources[mark] = (drawing, "")
    for stick in stick_pages(plans):
        for piece, names in zip(stick.pattern.pieces, stick.marks, strict=True):
            for copy, mark in enumerate(names):
                which = tr("stick {number}").format(number=stick.numbers[0] + copy)
                sources[mark] = (which, mm(piece.start))
    return sources


def _cut_row(design: Design, part: Part, source: str, place: Cell) -> tuple[Cell, ...]:
    cut = part.cut
    name = next((m.name for m in design.materials if m.key == part.material), part.material)
    if isinstance(cut, StickCut):
        size = _length(design, cut.length_mm)
        angles = (round(cut.start_deg, 2), round(cut.end_deg, 2), round(cut.bevel_deg, 2))
        material = next((m for m in design.materials if m.key == part.material), None)
        wide = ripped_mm(part, material.width_mm) if material else 0.0
        measures: tuple[Cell, ...] = (round(cut.length_mm, 3), round(wide, 3) or "", *angles, "")
    else:
        size = f"{_length(design, cut.width_mm)} x {_length(design, cut.height_mm)}"
        measures = (round(cut.height_mm, 3), round(cut.width_mm, 3), "", "", "", _yes(not cut.turnable))
    return (
        part.mark, tr(part.kind), tr(part.role), address(part), name, size, *measures, _yes(part.lift_out),
        round(part.mass_kg, 3), source, place,
    )
