"""How is one stock sheet cut? One DXF file for each pattern of the cutting plans.

The sheet stands as it lies on the bench, weather face up, flutes upright. Every
part is a closed outline with its mark; the middle of each saw cut is a chain line
with the number of the cut, in an order in which a saw can make them; a list at the
right says where the fence is set. A pattern that is cut several times is drawn once:
each part then carries the marks of all its copies.

Left out: sticks (they need no drawing), and how the plan was found.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from enclosure.language import tr, tr_n
from enclosure.nesting.plans import Plans
from enclosure.nesting.replay import CutStep, Left, Placed
from enclosure.outputs.drawing.sheet_pages import SheetPage, cut_to_shape, gives, mm, own_outline, sheet_pages
from enclosure.outputs.dxf_page import Drawing, Point, outline_box
from enclosure.outputs.dxf_title import TEXT_MM
from enclosure.outputs.dxf_words import (
    dimension,
    fine,
    length,
    material_of,
    size,
    title,
    up_arrow,
)
from enclosure.shape.model import Design
from enclosure.shape.space import area, mean_corner

LINE_STEP = 4.2  # from line to line of the cut list [mm on paper]
LIST_WIDTH = 92.0  # [mm on paper]
NUMBER_MM = 2.0
MARK_MM = 5.0


def draw_sheets(design: Design, plans: Plans, folder: Path, *, words: bool = True) -> list[Path]:
    """Write ``sheet-NN.dxf`` for every pattern and return the paths."""
    pages = list(sheet_pages(plans))
    return [
        _draw(design, page, number, len(pages), folder / f"sheet-{number:02d}.dxf", words)
        for number, page in enumerate(pages, start=1)
    ]


def _draw(design: Design, page: SheetPage, number: int, count: int, path: Path, words: bool) -> Path:
    wide, high = mm(page.kind.width), mm(page.kind.height)
    said = tr("cutting plan: {material}").format(material=page.sheets.name)
    head = title(design, said, f"sheet-{number:02d}", number, count)
    drawing = Drawing(head, design.paper, (wide, high), (18.0, 12.0, LIST_WIDTH, 26.0), words=words)
    drawing.outline(((0, 0), (wide, 0), (wide, high), (0, high)), "sheet edge")
    for part, marks in zip(page.parts, page.marks, strict=True):
        _part(design, drawing, page, part, marks)
    for rest in page.rests:
        _rest(design, drawing, rest)
    if words:
        _notes(design, drawing, page)
    _cuts(drawing, page)
    return drawing.finish(path)


def _part(design: Design, drawing: Drawing, page: SheetPage, part: Placed, marks: Sequence[str]) -> None:
    corners, shaped = finished_outline(design, page, part, marks)
    drawing.outline(corners, "parts")
    left, lower, right, upper = outline_box(corners)
    middle = mean_corner(corners)
    # over the middle the mark, under it the size; both shrink together to the part
    ways = [tr("turned")] if part.turned else [tr("upside down")] if part.flipped else []
    ways += [tr("then to shape")] if shaped else []
    lines = (", ".join(marks), ", ".join((size(design, mm(part.width), mm(part.height)), *ways)))
    turn = 90.0 if upper - lower > 1.6 * (right - left) and right - left < drawing.on_paper(40.0) else 0.0
    room = (upper - lower if turn else right - left) * 0.86
    tall = (right - left if turn else upper - lower) * 0.8
    shrink = min(1.0, tall / drawing.on_paper(MARK_MM + TEXT_MM + 4.4))
    places = []
    for away in (TEXT_MM / 2 + 1.3, -MARK_MM / 2 - 1.3):
        shift = drawing.on_paper(away) * shrink
        places.append((middle[0] - shift, middle[1]) if turn else (middle[0], middle[1] + shift))
    drawing.mark(lines[0], places[0], drawing.fitted(lines[0], MARK_MM * shrink, room), turn)
    tall = drawing.fitted(lines[1], TEXT_MM * shrink, room)
    drawing.text(lines[1], places[1], align="middle", turn=turn, model_height=tall)


def finished_outline(
    design: Design, page: SheetPage, part: Placed, marks: Sequence[str]
) -> tuple[list[Point], bool]:
    """Return the outline of a part as it lies [mm], and whether it is cut to shape later.

    The plan cuts rectangles and slopes that two parts share. A part with a slope of its
    own, or of another shape (a gable's pentagon), is cut out of its rectangle afterwards.
    Its own outline is drawn when all copies agree on it, else the rectangle.
    """
    corners = [(mm(x), mm(y)) for x, y in part.outline]
    if not cut_to_shape(design, part, marks):
        shared = any(step.axis == "slope" and step.start in part.outline for step in page.cuts)
        return corners, not (_fills(corners) or shared or part.flipped)
    return list(own_outline(design, part, marks) or corners), True


def _fills(corners: Sequence[Point]) -> bool:
    """Return True when a polygon fills the rectangle around it."""
    left, lower, right, upper = outline_box(corners)
    return abs(abs(area(corners)) - (right - left) * (upper - lower)) < 0.01


def _rest(design: Design, drawing: Drawing, rest: Left) -> None:
    if not rest.keep:
        return
    left, lower, right, upper = mm(rest.x), mm(rest.y), mm(rest.x + rest.width), mm(rest.y + rest.height)
    drawing.outline(((left, lower), (right, lower), (right, upper), (left, upper)), "offcuts")
    words = tr("keep {size}").format(size=size(design, right - left, upper - lower))
    turn = 90.0 if upper - lower > right - left else 0.0
    room = 0.86 * max(upper - lower, right - left)
    middle = ((left + right) / 2, (lower + upper) / 2)
    tall = drawing.fitted(words, TEXT_MM, room)
    drawing.text(words, middle, align="middle", turn=turn, model_height=tall)


# --- cuts -------------------------------------------------------------------------


def saw_line(step: CutStep, kerf: int) -> tuple[Point, Point]:
    """Return the middle of a saw cut [mm on the sheet]: half a kerf beyond the near piece.

    A trim cut wastes what lies outside the trimmed sheet, so its kerf lies on that side.
    """
    (x1, y1), (x2, y2) = step.start, step.end
    half = kerf / 2
    if step.axis == "slope":
        long = math.hypot(x2 - x1, y2 - y1)
        across, up = -(y2 - y1) / long * half, (x2 - x1) / long * half
    else:
        outward = -half if step.trim and step.number in (1, 3) else half
        across, up = (outward, 0.0) if step.axis == "x" else (0.0, outward)
    scale = float(mm(1))
    return ((x1 + across) * scale, (y1 + up) * scale), ((x2 + across) * scale, (y2 + up) * scale)


def _cuts(drawing: Drawing, page: SheetPage) -> None:
    lines = [saw_line(step, page.sheets.job.kerf) for step in page.cuts]
    for start, end in lines:
        drawing.line(start, end, "cuts")
    if drawing.words:
        for step, (start, end) in zip(page.cuts, lines, strict=True):
            _bubble(drawing, step.number, start, end)


def _bubble(drawing: Drawing, number: int, start: Point, end: Point) -> None:
    """Write a cut's number in a circle beside its line, where no words stand and no line runs."""
    radius = drawing.on_paper(NUMBER_MM)
    long = math.dist(start, end)
    away = drawing.on_paper(NUMBER_MM + 0.4)
    across, up = -(end[1] - start[1]) / long * away, (end[0] - start[0]) / long * away
    (x, y), (wide, high) = start, (end[0] - start[0], end[1] - start[1])
    places = [
        (x + share * wide + side * across, y + share * high + side * up)
        for side in (1, -1)
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9)
    ]

    at = drawing.clear_place(places, 2.3 * radius, 2.3 * radius)
    drawing.number(str(number), at, radius, "cut numbers")


def cut_words(design: Design, page: SheetPage, step: CutStep) -> str:
    """Return one line of the list of cuts: number, kind, fence, what is cut and what it leaves."""
    at = length(design, mm(step.at))
    if step.trim:
        trims = {"x": tr("trim, rip at {at}"), "y": tr("trim, crosscut at {at}")}
        return f"{step.number}  {trims[step.axis].format(at=at)}"
    leaves = " + ".join(name for name in gives(page, step) if name)
    said = {
        "x": tr("rip {piece} at {at}: {leaves}"),
        "y": tr("crosscut {piece} at {at}: {leaves}"),
        "slope": tr("sloped cut {piece} at {at}: {leaves}"),
    }[step.axis]
    if step.corner:
        at = tr("{at} from its square corner").format(at=at)
    return f"{step.number}  {said.format(piece=tr(step.piece), at=at, leaves=leaves)}"


def _notes(design: Design, drawing: Drawing, page: SheetPage) -> None:
    wide, high = mm(page.kind.width), mm(page.kind.height)
    step = drawing.on_paper(LINE_STEP)
    dimension(design, drawing, (0, 0), (wide, 0), -6.0, 0)
    dimension(design, drawing, (0, 0), (0, high), 6.0, 90)
    material = material_of(design, page.sheets.material)
    job, pattern = page.sheets.job, page.pattern
    used = sum(outline_area(part.outline) for part in page.parts) / (page.kind.width * page.kind.height)
    alike = tr_n("cut {count} sheet", "cut {count} sheets alike", pattern.copies).format(count=pattern.copies)
    rack = ", " + tr("from the rack") if page.kind.owned else ""
    kerf = tr("kerf {kerf}, trim {trim} all round; parts take {share:.0f} % of the sheet")
    lines = [
        f"{page.sheets.name}: {size(design, wide, high)}{rack}; {alike}",
        kerf.format(kerf=fine(design, mm(job.kerf)), trim=fine(design, mm(page.kind.trim)), share=100 * used),
    ]
    if material is not None and material.flutes:
        lines.append(tr("flutes upright, along the arrow; weather face toward you: never turn the sheet over"))
        up_arrow(drawing, (wide + drawing.on_paper(4.0), high * 0.3), high * 0.4, both=True)
    elif material is not None and material.kind == "multiwall":
        lines.append(tr("weather face toward you: never turn the sheet over"))
    for row, words in enumerate(reversed(lines), start=2):
        drawing.text(words, (0, high + row * step))
    at = (wide + drawing.on_paper(9.0), high)
    drawing.text(tr("cuts in order: number, what is cut, fence"), (at[0], at[1] - step / 2))
    listed = [cut_words(design, page, cut) for cut in page.cuts]
    for part, marks in zip(page.parts, page.marks, strict=True):
        outline, later = finished_outline(design, page, part, marks)
        if later:
            copies = tr("then cut {marks} to shape, each as its frame shows it")
            alike = tr("then cut {marks} to shape, as drawn")
            listed.append((copies if _fills(outline) else alike).format(marks=", ".join(marks)))
    rows = max(1, int(high / step - 1.5))
    tall = min(TEXT_MM, TEXT_MM * rows / max(1, len(listed)))
    pace = step * tall / TEXT_MM
    room = drawing.on_paper(LIST_WIDTH - 11.0)
    for row, words in enumerate(listed, start=1):
        place = (at[0], high - step * 0.7 - row * pace)
        drawing.text(words, place, model_height=drawing.fitted(words, tall, room))


def outline_area(outline: Sequence[tuple[int, int]]) -> float:
    """Return the area of a part as it lies [units²]."""
    twice = 0
    for number, (x, y) in enumerate(outline):
        before_x, before_y = outline[number - 1]
        twice += before_x * y - x * before_y
    return abs(twice) / 2


