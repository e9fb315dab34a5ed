"""What does the label on each part say?

A panel's label: its number at least 20 mm high, wall and address in words, which
way is up, which face is out, how the flutes run, size, neighbours, a small
picture of its place, and a QR code that carries the same facts as plain text and
needs no network. Members, track and the rest have smaller labels. A number that
can be read upside down has a bar under it.

Label sheets, plain paper with cut lines, a ruler of 100 mm to check the printer,
and a page of outline figures for writing numbers by hand.

Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from enclosure import __version__
from enclosure.errors import OutputError
from enclosure.language import later, tr
from enclosure.outputs.paper.frame import design_version, paper_size
from enclosure.outputs.paper.label_cells import SMALL_LEAST_MM, LabelFacts, panel_label, small_label
from enclosure.outputs.paper.label_notes import LabelNote
from enclosure.outputs.paper.label_sheet import LabelSheet, plain_sheet
from enclosure.outputs.paper.layer import (
    BODY,
    DRAWN,
    NARROW_MM,
    POINTS_PER_MM,
    SMALLEST,
    Box,
    Sheet,
    new_canvas,
)
from enclosure.outputs.paper.words import natural
from enclosure.shape.model import Design, Part
from enclosure.shape.names import in_its_language

_PANEL_KINDS = ("panel", "film")
_HINT = (
    later("Outdoors for years: polyester film and a laser printer, or figures written with a paint pen."),
    later("Paper from an inkjet printer does not last one winter."),
)

Fill = Callable[[Sheet, Box], None]


@dataclass(frozen=True, slots=True)
class _Job:
    sheet: LabelSheet
    title: str
    fills: tuple[tuple[str, Fill], ...]
    start: int


@in_its_language
def write_labels(
    design: Design,
    path: Path,
    *,
    sheet: LabelSheet | None = None,
    only: tuple[str, ...] | None = None,
    start: int = 1,
    offset_mm: tuple[float, float] = (0.0, 0.0),
    helps: bool = True,
    notes: Mapping[str, LabelNote] | None = None,
) -> None:
    """Write labels.pdf.

    Args:
        design: The shelter.
        path: File to write.
        sheet: Label sheet; None for plain paper with cut lines.
        only: Marks of the parts to print; None for all.
        start: First cell to use, 1 = top left, for a sheet that is partly used.
        offset_mm: Shift of everything to the right and up, for a printer that is off.
        helps: Print the page that calibrates the printer and the page of outline figures too.
        notes: By mark, what a label says of the old part, or of sizes measured after building.

    Raises:
        OutputError: No part has one of the marks, the sheet has no cell `start`, or
            its cells are too small for a panel's number.
    """
    parts = _chosen(design, only)
    panels = [part for part in parts if part.kind in _PANEL_KINDS]
    others = [part for part in parts if part.kind not in _PANEL_KINDS]
    facts = LabelFacts(design, notes=notes or {})
    jobs: list[_Job] = []
    if sheet is not None:
        if not 1 <= start <= sheet.cells:
            hint = f"start at a cell from 1 to {sheet.cells}"
            raise OutputError(f"the label sheet has no cell {start}", hint)
        fills = (*_panel_fills(facts, panels), *_small_fills(facts, others, sheet))
        jobs.append(_Job(sheet, tr("labels"), fills, start))
    else:
        paper = design.paper
        if panels:
            jobs.append(_Job(plain_sheet(paper, 2, 3), tr("panel labels"), _panel_fills(facts, panels), start))
        if others:
            small = plain_sheet(paper, 3, 8)
            first = start if not panels else 1
            jobs.append(_Job(small, tr("part labels"), _small_fills(facts, others, small), first))
    _write(design, path, jobs, offset_mm, helps)


def _chosen(design: Design, only: tuple[str, ...] | None) -> list[Part]:
    known = {part.mark for part in design.parts}
    missing = [mark for mark in only or () if mark not in known]
    if missing:
        raise OutputError(f"no part has the mark {missing[0]}", "look the marks up in the cut list")
    chosen = [part for part in design.parts if only is None or part.mark in only]
    panels = sorted((p for p in chosen if p.kind in _PANEL_KINDS), key=lambda p: (natural(p.mark), p.layer))
    return panels + [p for p in chosen if p.kind not in _PANEL_KINDS]


def _panel_fills(facts: LabelFacts, panels: Sequence[Part]) -> tuple[tuple[str, Fill], ...]:
    def fill(part: Part) -> Fill:
        return lambda sheet, box: panel_label(sheet, facts, part, box)

    return tuple((part.mark, fill(part)) for part in panels)


def _small_fills(facts: LabelFacts, parts: Sequence[Part], sheet: LabelSheet) -> tuple[tuple[str, Fill], ...]:
    """Return one fill a cell; large cells hold several small labels with cut lines between."""
    keep = 2 * sheet.keep_inside_mm
    across = max(1, min(3, int((sheet.cell_width_mm - keep) // (SMALL_LEAST_MM[0] + 2))))
    down = max(1, min(4, int((sheet.cell_height_mm - keep) // (SMALL_LEAST_MM[1] + 2))))
    if sheet.plain or sheet.cell_height_mm < 45:
        across = down = 1
    each = across * down

    def fill(some: Sequence[Part]) -> Fill:
        def draw(page: Sheet, box: Box) -> None:
            wide, high = (box[2] - box[0]) / across, (box[3] - box[1]) / down
            for place, part in enumerate(some):
                row, column = divmod(place, across)
                left, top = box[0] + column * wide, box[3] - row * high
                gap = 1.0 if each > 1 else 0.0
                small_label(page, facts, part, (left + gap, top - high + gap, left + wide - gap, top - gap))
            for column in range(1, across):
                x = box[0] + column * wide
                page.line((x, box[1]), (x, box[3]), "cut", 0.18)
            for row in range(1, down):
                y = box[3] - row * high
                page.line((box[0], y), (box[2], y), "cut", 0.18)

        return draw

    groups = [parts[place : place + each] for place in range(0, len(parts), each)]
    return tuple((group[0].mark, fill(group)) for group in groups)


# --- pages ------------------------------------------------------------------------------


def _write(
    design: Design, path: Path, jobs: Sequence[_Job], offset_mm: tuple[float, float], helps: bool
) -> None:
    paper = jobs[0].sheet.paper if jobs else design.paper
    width, height = paper_size(paper)
    canvas = new_canvas(path, width, height)
    canvas.setTitle(tr("{name}: labels").format(name=design.name))
    canvas.setAuthor("")
    canvas.setSubject(tr("Labels, design {version}").format(version=design_version(design)))
    canvas.setCreator(f"enclosure {__version__}")
    pages = [(job, pages) for job in jobs for pages in _pages(job)]
    calibrate = helps and any(not job.sheet.plain for job in jobs)
    total = len(pages) + calibrate + helps
    number = 0

    def page(title: str) -> Sheet:
        canvas.scale(POINTS_PER_MM, POINTS_PER_MM)
        canvas.bookmarkPage(f"page{number}")
        canvas.addOutlineEntry(title, f"page{number}", level=0)
        return Sheet(canvas, width, height, (0.0, 0.0, width, height))

    if calibrate:
        number += 1
        _calibration(page(tr("Calibration")), jobs[0].sheet, offset_mm, page_of(number, total))
        canvas.showPage()
    for job, cells in pages:
        number += 1
        name = f"{job.title[:1].upper()}{job.title[1:]}"
        sheet = page(tr("{title}, page {number}").format(title=name, number=number))
        canvas.translate(*offset_mm)
        if job.sheet.plain:
            _plain_page(sheet, job.sheet, f"{design.name}, {job.title}, {page_of(number, total)}")
        for index, fill in cells:
            keep = job.sheet.keep_inside_mm + 0.5
            left, bottom, right, top = job.sheet.cell(index)
            fill(sheet, (left + keep, bottom + keep, right - keep, top - keep))
        canvas.showPage()
    if helps:
        number += 1
        _stencil(page(tr("Outline figures")), f"{design.name}, {page_of(number, total)}")
        canvas.showPage()
    canvas.save()


def _pages(job: _Job) -> list[list[tuple[int, Fill]]]:
    pages: list[list[tuple[int, Fill]]] = []
    index = job.start - 1
    for _, fill in job.fills:
        if not pages or index == job.sheet.cells:
            index = index % job.sheet.cells
            pages.append([])
        pages[-1].append((index, fill))
        index += 1
    return pages


def _plain_page(sheet: Sheet, cells: LabelSheet, title: str) -> None:
    left, _, _, top = cells.cell(0)
    _, bottom, right, _ = cells.cell(cells.cells - 1)
    for column in range(cells.columns + 1):
        x = left + column * cells.cell_width_mm
        sheet.line((x, bottom - 2), (x, top + 2), "cut", 0.18)
    for row in range(cells.rows + 1):
        y = top - row * cells.cell_height_mm
        sheet.line((left - 2, y), (right + 2, y), "cut", 0.18)
    _ruler(sheet, left, 9.0)
    room = right - left - 106
    sheet.text(title, right, 11.5, room, SMALLEST, align="right")
    for place, line in enumerate(tr(words) for words in _HINT):
        sheet.text(line, right, 8.0 - 3.0 * place, room, SMALLEST, align="right")


def page_of(number: int, total: int) -> str:
    """Return which page of how many this is."""
    return tr("page {number} of {total}").format(number=number, total=total)


def _ruler(sheet: Sheet, x: float, y: float) -> None:
    """Draw a ruler of exactly 100 mm, and 4 in under it."""
    sheet.line((x, y), (x + 100, y), "narrow", NARROW_MM)
    for tick in range(0, 101, 5):
        high = 3.0 if tick % 50 == 0 else 2.0 if tick % 10 == 0 else 1.2
        sheet.line((x + tick, y), (x + tick, y + high), "narrow", 0.18)
    sheet.text("0", x, y - 2.6, 6, SMALLEST, align="left")
    words = tr("100 mm: measure it; print at full size, not fitted to the page")
    sheet.text(words, x + 100, y - 2.6, 92, SMALLEST, align="right")


def _calibration(sheet: Sheet, cells: LabelSheet, offset_mm: tuple[float, float], foot: str) -> None:
    sheet.canvas.translate(*offset_mm)
    middle, centre = sheet.width / 2, sheet.height / 2
    high = min(62.0, sheet.height - 30)
    notice = (middle - 62, centre - high / 2, middle + 62, centre + high / 2)
    for index in range(cells.cells):
        left, bottom, right, top = cells.cell(index)
        sheet.rect(left, bottom, right - left, top - bottom, None, "narrow", 0.18)
        if left + 10 < notice[0] or left > notice[2] or top - 8 > notice[3] or top < notice[1]:
            sheet.text(str(index + 1), left + 3, top - 6, 12, DRAWN)
    sheet.rect(middle - 62, centre - high / 2, 124, high, (1, 1, 1), "narrow", 0.18)
    offset = tr("Offset used here: {right} mm to the right, {up} mm up.")
    lines = " ".join(
        (
            tr("Print this page on plain paper, lay it on a label sheet and hold both to the light. The frames must "
               "fall on the labels. If they do not, measure by how much and give the offset to the right and up."),
            offset.format(right=f"{offset_mm[0]:g}", up=f"{offset_mm[1]:g}"),
            tr("Sheet: {name}.").format(name=cells.name),
            *(tr(words) for words in _HINT),
        )
    )
    y = sheet.paragraph(lines, middle - 58, centre + high / 2 - 3, 116, BODY)
    _ruler(sheet, middle - 50, max(centre - high / 2 + 9, y - 14))
    sheet.text(foot, middle + 58, centre - high / 2 + 2, 40, SMALLEST, align="right")


def _stencil(sheet: Sheet, foot: str) -> None:
    """Draw outline figures, 50 mm high, with bridges, to be cut out as a stencil."""
    left, top = 15.0, sheet.height - 15.0
    sheet.text(tr("Outline figures for numbers written by hand"), left, top - 5, sheet.width - 30, 5.0, bold=True)
    words = tr("Cut the figures out of card or film, leaving the bridges; or lay the page on the panel's film and "
               "prick round the outline. 50 mm high: legible from 15 m in good light.")  # fmt: skip
    y = sheet.paragraph(words, left, top - 8, sheet.width - 30, BODY) - 4
    pen = sheet.canvas
    step = (sheet.width - 30) / 4
    for place, figure in enumerate("0123456789–"):
        row, column = divmod(place, 4)
        x, base = left + column * step, y - 56 - row * 62
        text = pen.beginText()
        text.setTextOrigin(x + 3, base)
        text.setFont("DejaVuSans-Bold", 50 / 0.729)
        text.setTextRenderMode(1)
        pen.setLineWidth(0.35)
        pen.setDash([])
        text.textOut(figure)
        text.setTextRenderMode(0)
        pen.drawText(text)
        if figure in "04689":
            sheet.rect(x + 3 + 50 / 0.729 * 0.348 - 1.5, base - 1.5, 3, 53, (1, 1, 1), None)
    _ruler(sheet, left, 9.0)
    sheet.text(foot, sheet.width - 15, 6.4, 60, SMALLEST, align="right")
