"""How is each sheet cut? One page a pattern: the sheet to scale, every cut numbered in order.

A cut is set from the left or the lower edge of the piece in hand. Cuts of one
direction follow each other, so that the fence is turned least. Cut 3 leaves the
pieces 3a (near side) and 3b (far side) until they carry a mark.

Units: mm on paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from enclosure.language import later, tr, tr_n
from enclosure.nesting.plans import OldStock
from enclosure.nesting.replay import CutStep, Left, Placed
from enclosure.outputs.drawing.sheet_pages import SheetPage, cut_to_shape, gives, mm, own_outline
from enclosure.outputs.paper.dimension import chain_across, chain_up
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BOLD, PALE, SMALLEST, WHITE, WOOD, Box, Sheet, text_width
from enclosure.outputs.paper.scale import Fitting, fit_scale, scale_bar
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words
from enclosure.shape.model import Design, Point
from enclosure.shape.names import all_of
from enclosure.shape.space import area

_LIST_MM = 78.0
_AXIS = {"x": later("rip"), "y": later("crosscut"), "slope": later("slope")}
_TRIM = {"x": later("trim rip"), "y": later("trim crosscut"), "slope": later("trim slope")}
_WHOLE = later("sheet")
_BUBBLE = 1.9


def sheet_draws(
    design: Design, pages: Iterable[SheetPage], words: Words, high: float
) -> list[tuple[str, Draw]]:
    """Return title and drawing of every page; a long list of cuts goes on overleaf."""
    found: list[tuple[str, Draw]] = []
    listed = list(pages)
    number = 1
    for page in listed:
        span = f"{number}" if page.copies == 1 else f"{number}–{number + page.copies - 1}"
        title = tr_n("Sheet {span}: {name}", "Sheets {span}: {name}", page.copies).format(
            span=span, name=f"{page.sheets.name}{_old_title(page)}"
        )
        rows = tuple(_row(page, step, words) for step in page.cuts)
        columns = (
            Column(tr("Cut"), 8, "right", True),
            Column(tr("How"), 21),
            Column(tr("Set at"), 18, "right"),
            Column(tr("Of"), 11),
            Column(tr("Gives"), 22, "left", True),
        )
        table = Table(columns, rows, 2.0)
        first, *later = table.pages(_LIST_MM, high - 66, high - 25)
        found.append((title, _draw(design, page, words, title, first, bool(later))))
        for more in later:
            found.append((tr("{title} (cuts continued)").format(title=title), _more(more, title)))
        number += page.copies
    return found


def _row(page: SheetPage, step: CutStep, words: Words) -> Row:
    near, far = gives(page, step)
    how = tr(_TRIM[step.axis] if step.trim else _AXIS[step.axis])
    left = "" if step.trim else " + ".join(name for name in (near, far) if name)
    return Row((str(step.number), how, words.bare(mm(step.at)), tr(step.piece), left))


def _more(table: Table, title: str) -> Draw:
    def draw(sheet: Sheet) -> None:
        y = heading(sheet, title, tr("Cuts continued."))
        table.draw(sheet, sheet.area[0], y, 120)

    return draw


def _draw(design: Design, page: SheetPage, words: Words, title: str, table: Table, more: bool) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        y = heading(sheet, title, _note(design, page, words))
        place = fit_scale(
            (mm(page.kind.width), mm(page.kind.height)), (left + 10, bottom + 12, right - _LIST_MM - 8, y - 2)
        )
        unsaid = _sheet(sheet, design, page, words, place)
        caption = f"{place.words}, {words.unit_word}"
        sheet.text(caption, left, bottom + 1, 60, 2.0)
        scale_bar(sheet, place, words, left + 62, bottom + 1)
        x = right - _LIST_MM
        end = table.draw(sheet, x, y, _LIST_MM)
        end = _legend(sheet, design, page, words, (x, bottom, right, end - 3), more)
        for line in unsaid:
            if end - 5 > bottom:
                end = sheet.paragraph(line, x, end, _LIST_MM, 2.0) - 0.6

    return draw


def _olds(page: SheetPage) -> list[OldStock]:
    """Return the old parts that the copies of a page are cut from; empty for stock and rack."""
    found = page.sheets.olds
    return [found[mark] for mark in (page.marks[0] if page.marks else ()) if mark in found]


def _old_title(page: SheetPage) -> str:
    olds = _olds(page)
    name = tr("old {mark}").format(mark=", ".join(old.mark for old in olds))
    return f" ({name})" if olds else ""


def _from_where(page: SheetPage, words: Words) -> str:
    """Return where an owned sheet comes from, and what is taken off an old part before it is this sheet."""
    olds = _olds(page)
    if not olds:
        return tr(", from the rack") if page.kind.owned else ""
    said = []
    for old in olds:
        sides = ((old.left_mm, tr("{length} off its left edge")), (old.low_mm, tr("{length} off its foot")))
        off = [side.format(length=words.length(size)) for size, side in sides if size > 0.05]
        name = tr("old {mark}").format(mark=old.mark)
        said.append(tr("{old}, first {off}").format(old=name, off=all_of(off)) if off else name)
    whole = tr("the sound piece of {olds}; the rest beyond it comes away too").format(olds="; ".join(said))
    return f", {whole}"


def _note(design: Design, page: SheetPage, words: Words) -> str:
    said = [tr("Weather face up; never turn the sheet over.")] if _flutes(design, page) else []
    size = words.pair(mm(page.kind.width), mm(page.kind.height))
    stock = tr("Stock {size}") + _from_where(page, words)
    alike = tr("{count} sheets cut alike").format(count=page.copies) if page.copies > 1 else ""
    said.append(", ".join(filter(None, (stock.format(size=size), alike))) + ".")
    said.append(tr("Kerf {size}.").format(size=words.fine(mm(page.sheets.job.kerf))))
    return " ".join(said)


def _flutes(design: Design, page: SheetPage) -> bool:
    return any(m.flutes for m in design.materials if m.key == page.sheets.material)


def _kind(design: Design, page: SheetPage) -> str:
    return next((m.kind for m in design.materials if m.key == page.sheets.material), "")


def _sheet(sheet: Sheet, design: Design, page: SheetPage, words: Words, place: Fitting) -> list[str]:
    """Draw the sheet; return what is said of parts too small to say it in."""
    wide, high = mm(page.kind.width), mm(page.kind.height)
    corners = [place.at(p) for p in ((0, 0), (wide, 0), (wide, high), (0, high))]
    sheet.polygon(corners, PALE, "wide", 0.6)
    for rest in page.rests:
        _rest(sheet, rest, words, place)
    unsaid: list[str] = []
    for part, marks in zip(page.parts, page.marks, strict=True):
        unsaid.append(_part(sheet, design, part, marks, words, place, _to_shape(design, page, part, marks)))
    for step in page.cuts:
        a, b = (place.at((mm(x), mm(y))) for x, y in (step.start, step.end))
        sheet.line(a, b, "narrow", 0.3)
    left, low = corners[0]
    chain_across(sheet, [left, corners[1][0]], low - 6, [words.bare(wide)], low)
    chain_up(sheet, [low, corners[3][1]], left - 5.5, [words.bare(high)], left)
    for step in page.cuts:
        if not step.trim:
            a, b = (place.at((mm(x), mm(y))) for x, y in (step.start, step.end))
            _bubble(sheet, str(step.number), a, b)
    if _flutes(design, page):
        right = corners[2][0]
        x = right + 3.5
        sheet.line((x, low + 2), (x, low + 22), "narrow", 0.3)
        sheet.arrow((x, low + 22), 90)
        sheet.arrow((x, low + 2), -90)
        sheet.text(tr("flutes"), x + 2.8, low + 12, 20, 1.9, align="centre", turned=True)
    return [line for line in unsaid if line]


def _part(
    sheet: Sheet,
    design: Design,
    part: Placed,
    marks: tuple[str, ...],
    words: Words,
    place: Fitting,
    to_shape: bool,
) -> str:
    """Draw a part; return its mark and size when they do not both fit into it."""
    corners = [place.at((mm(x), mm(y))) for x, y in part.outline]
    sheet.polygon(corners, WHITE, "wide", 0.45)
    own = own_outline(design, part, marks)
    if own is not None:
        sheet.polygon([place.at(p) for p in own], WOOD, "cut", 0.35)
    xs, ys = [p[0] for p in corners], [p[1] for p in corners]
    box = (min(xs), min(ys), max(xs), max(ys))
    lines = [" / ".join(marks), f"{words.bare(mm(part.width))} × {words.bare(mm(part.height))}"]
    if part.turned:
        lines.append(tr("turned"))
    if part.flipped:
        lines.append(tr("upside down"))
    if to_shape:
        lines.append(tr("then to shape"))
    return "" if _words_inside(sheet, lines, box) else f"{lines[0]}: {', '.join(lines[1:])}"


def _to_shape(design: Design, page: SheetPage, part: Placed, marks: tuple[str, ...]) -> bool:
    """Return whether a part is cut to its shape out of a rectangle after the last numbered cut."""
    if abs(_area(part.outline) - part.width * part.height) < 1:
        return cut_to_shape(design, part, marks)
    shared = any(step.axis == "slope" and step.start in part.outline for step in page.cuts)
    return not shared and not part.flipped


def _words_inside(sheet: Sheet, lines: list[str], box: Box) -> bool:
    """Write a mark with its size into a box, upright when that leaves larger letters; return whether the size is in.

    What would be smaller than the smallest letter stays out; the list beside the sheet says it.
    """
    wide, high = box[2] - box[0] - 1.2, box[3] - box[1] - 1.2
    heights = [1.0, *(0.5 for _ in lines[1:])]

    def best(across: float, upward: float) -> float:
        by_height = upward / (sum(heights) * 1.5)
        by_width = min(
            across / max(0.1, text_width(line, h, BOLD if place == 0 else "DejaVuSansCondensed"))
            for place, (line, h) in enumerate(zip(lines, heights, strict=True))
        )
        return min(5.0, by_height, by_width)

    if max(best(wide, high), best(high, wide)) * heights[-1] < SMALLEST:  # only the mark finds room
        lines, heights = lines[:1], heights[:1]
        if max(best(wide, high), best(high, wide)) < SMALLEST:
            return False
    level, upright = best(wide, high), best(high, wide)
    turned = upright > 1.15 * level or level * heights[-1] < SMALLEST
    unit = max(level, upright) if turned else level
    total = sum(h * unit * 1.5 for h in heights)
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    at = total / 2
    for place, (line, share) in enumerate(zip(lines, heights, strict=True)):
        height = unit * share
        at -= height * 1.25
        room = high if turned else wide
        anchor = (middle[0] - at, middle[1]) if turned else (middle[0], middle[1] + at)
        sheet.text(
            line,
            anchor[0],
            anchor[1],
            room + 0.2,
            height,
            align="centre",
            bold=place == 0,
            turned=turned,
            paper=place > 0 and len(lines) > 2,
        )
        at -= height * 0.25
    return len(lines) > 1


def _rest(sheet: Sheet, rest: Left, words: Words, place: Fitting) -> None:
    a = place.at((mm(rest.x), mm(rest.y)))
    b = place.at((mm(rest.x + rest.width), mm(rest.y + rest.height)))
    corners: list[Point] = [a, (b[0], a[1]), b, (a[0], b[1])]
    sheet.polygon(corners, WHITE if rest.keep else PALE, "narrow", 0.2)
    sheet.hatch(corners, 4.5 if rest.keep else 1.5)
    size = f"{words.bare(mm(rest.width))} × {words.bare(mm(rest.height))}"
    if rest.keep and min(b[0] - a[0], b[1] - a[1]) > 6:
        text = tr("offcut {size}").format(size=size)
        wide, high = b[0] - a[0], b[1] - a[1]
        turned = high > wide
        shift = 0.9 if turned else 0.0
        middle = ((a[0] + b[0]) / 2 + shift, (a[1] + b[1]) / 2 - 0.9 + shift)
        sheet.text(
            text, *middle, max(wide, high) - 2, 2.0, align="centre", turned=turned, paper=True
        )


def _bubble(sheet: Sheet, number: str, a: Point, b: Point) -> None:
    """Write the number of a cut in a circle on its line, where nothing is written yet."""
    length = math.dist(a, b)
    shares = [0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74, 0.18, 0.82, 0.1, 0.9, 0.04, 0.96]
    radius = _BUBBLE
    spots = [(a[0] + s * (b[0] - a[0]), a[1] + s * (b[1] - a[1])) for s in shares]

    def free(p: Point) -> bool:
        return sheet.is_free((p[0] - radius, p[1] - radius, p[0] + radius, p[1] + radius), 0.1)

    chosen = next((p for p in spots if free(p)), None)
    if chosen is None:
        along = ((b[0] - a[0]) / max(length, 0.1), (b[1] - a[1]) / max(length, 0.1))
        beyond = [(b[0] + d * along[0], b[1] + d * along[1]) for d in (2.2, 6.2, 10.2)]
        chosen = next((p for p in beyond if free(p)), spots[0])
        sheet.line(b, chosen, "narrow", 0.18)
    sheet.circle(chosen[0], chosen[1], radius, WHITE, 0.25)
    room = 2 * radius - 0.2
    sheet.text(number, chosen[0], chosen[1] - 0.95, room, 1.9, align="centre", bold=True)


def _legend(sheet: Sheet, design: Design, page: SheetPage, words: Words, box: Box, more: bool) -> float:
    left, bottom, right, top = box
    area = page.kind.width * page.kind.height
    used = sum(_area(part.outline) for part in page.parts) / area
    lines = [
        tr("Parts cover {share} % of the sheet.").format(share=f"{100 * used:.0f}"),
        tr("Set at: from the left edge of the piece for a rip, from its lower edge for a crosscut, in {unit}.").format(
            unit=words.unit_word
        ),
        tr("Wide hatch: offcut to keep. Close hatch: waste."),
    ]
    freed = ", ".join(dict.fromkeys(step.piece for step in page.cuts if step.corner))
    if freed:
        lines.insert(
            2,
            tr("{pieces}, freed by a slope: set from the square corner, along the straight edges.").format(
                pieces=freed
            ),
        )
    if page.kind.trim:
        lines.append(tr("Trim cuts clean the four edges of the sheet first."))
    if any(_to_shape(design, page, p, m) for p, m in zip(page.parts, page.marks, strict=True)):
        lines.append(tr("Then to shape: cut the slope last; sizes in the list of panels, or on the page of gussets."))
    if _kind(design, page) == "glass":
        lines.append(
            tr("Glass: score and break it along the cuts, gloves and goggles on. Toughened glass cannot be cut.")
        )
    if _kind(design, page) == "film":
        lines.append(tr("Film: roll it out on a clean floor and cut with a knife or scissors; the kerf is only slack."))
    if more:
        lines.append(tr("The list of cuts goes on overleaf."))
    y = top
    for line in lines:
        if y - 8 < bottom:
            break
        y = sheet.paragraph(line, left, y, right - left, 2.0) - 0.6
    return y


def _area(outline: tuple[tuple[int, int], ...]) -> float:
    return abs(area(outline))
