"""What shape is each gusset, and where do its screws go? One drawing for each shape, with every screw.

Gussets that are the same piece turned over are drawn once. Screws are counted
from the hardware of the design, so that what is drawn is what is bought.

Units: mm on paper.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass

from enclosure.language import tr
from enclosure.outputs.drawing.neighbours import on_plane
from enclosure.outputs.paper.dimension import chain_across, chain_up
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BOLD, WHITE, WOOD, Box, Sheet, text_width
from enclosure.outputs.paper.scale import fit_scale
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, runs
from enclosure.shape.model import Design, Part, Point, SheetCut
from enclosure.shape.space import area

_ACROSS, _DOWN = 2, 2


@dataclass(frozen=True, slots=True)
class Gusset:
    """One shape.

    Args:
        marks: The parts that have it.
        outline: Corners from its lower left, seen from inside the shelter.
        screws: Screws, the same way.
    """

    marks: tuple[str, ...]
    outline: tuple[Point, ...]
    screws: tuple[Point, ...]


def gussets(design: Design) -> list[Gusset]:
    """Return the different gussets of a design, those of one shape together."""
    found: dict[object, list[tuple[Part, tuple[Point, ...], tuple[Point, ...]]]] = {}
    for part in design.parts:
        if part.kind == "gusset" and isinstance(part.cut, SheetCut):
            outline, screws = part.cut.outline, _screws(design, part)
            wide = part.cut.width_mm
            turned = (_flipped(outline, wide), _flipped(screws, wide))
            key = min(repr(_rounded(*shape)) for shape in ((outline, screws), turned))
            found.setdefault(key, []).append((part, *turned))  # seen from inside
    return [Gusset(tuple(p.mark for p, _, _ in group), group[0][1], group[0][2]) for group in found.values()]


def _screws(design: Design, part: Part) -> tuple[Point, ...]:
    """Return the screws that go through a gusset, from its lower left corner."""
    frame = next(f for f in design.frames if f.face == part.face and f.level == part.level)
    solid = part.solids[0]
    left, bottom = min(a for a, _ in solid.outline), min(b for _, b in solid.outline)
    right, top = max(a for a, _ in solid.outline), max(b for _, b in solid.outline)
    spots = []
    for fixing in design.fixings:
        if fixing.bag != "gussets and diagonals":
            continue
        for place in fixing.positions:
            off = sum((p - o) * n for p, o, n in zip(place, solid.origin, frame.plane.n, strict=True))
            a, b = on_plane(frame.plane, place)
            if abs(off) < 0.5 and left < a < right and bottom < b < top and _within(solid.outline, (a, b)):
                spots.append((a - left, b - bottom))
    return tuple(sorted(spots))


def _within(outline: tuple[Point, ...], point: Point) -> bool:
    pairs = zip(outline, (*outline[1:], outline[0]), strict=True)
    return all((b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) >= 0 for a, b in pairs)


def _flipped(points: tuple[Point, ...], wide: float) -> tuple[Point, ...]:
    return tuple((wide - x, y) for x, y in points)


def _rounded(outline: tuple[Point, ...], screws: tuple[Point, ...]) -> object:
    return tuple(sorted((round(x * 4), round(y * 4)) for x, y in points) for points in (outline, screws))


def gusset_draws(design: Design, words: Words) -> list[tuple[str, Draw]]:
    """Return title and drawing of the pages of gussets; none without any."""
    shapes = gussets(design)
    size = _ACROSS * _DOWN
    found = []
    for start in range(0, len(shapes), size):
        title = tr("Gussets") if start == 0 else tr("{title} (continued)").format(title=tr("Gussets"))
        found.append((title, _page(design, shapes[start : start + size], words, title)))
    return found


def _page(design: Design, shapes: list[Gusset], words: Words, title: str) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        screw = next(f.name for f in design.fixings if f.bag == "gussets and diagonals")
        for fixing in design.fixings:
            if fixing.bag == "gussets and diagonals" and fixing.key == "frame_screw_short":
                screw = fixing.name
        note = tr("Seen as they are screwed on, from inside the shelter for the first mark of each; turn the piece "
                  "over for the other hand. Six screws each: {screw}. Dimensions in {unit}.")  # fmt: skip
        y = heading(sheet, title, note.format(screw=screw, unit=words.unit_word))
        wide, high = (right - left) / _ACROSS, (y - bottom) / _DOWN
        for place, shape in enumerate(shapes):
            row, column = divmod(place, _ACROSS)
            x, top = left + column * wide, y - row * high
            _one(sheet, shape, words, (x, top - high + 3, x + wide - 4, top))

    return draw


def _one(sheet: Sheet, shape: Gusset, words: Words, box: Box) -> None:
    left, bottom, right, top = box
    sheet.text(runs(list(shape.marks)), left, top - 6, right - left, 3.5, bold=True)
    rows = tuple(
        Row((str(number), words.bare(x), words.bare(y))) for number, (x, y) in enumerate(shape.screws, start=1)
    )
    columns = (
        Column(tr("Screw"), 14, "right", True),
        Column(tr("from left"), 18, "right"),
        Column(tr("from foot"), 18, "right"),
    )
    table = Table(columns, rows, 2.0)
    room = 50.0
    table.draw(sheet, left, bottom + table.total(room), room)
    bottom += table.total(room) + 4
    across = sorted({round(x, 2) for x, _ in shape.outline})
    upward = sorted({round(y, 2) for _, y in shape.outline})
    size = (across[-1], upward[-1])
    place = fit_scale(size, (left + 18, bottom + 14, right - 4, top - 10))
    sheet.polygon([place.at(p) for p in shape.outline], WOOD, "wide", 0.45)
    foot, edge = place.at((0, 0))[1], place.at((0, 0))[0]
    chain_across(sheet, [place.at((x, 0))[0] for x in across], foot - 7, _links(across, words), foot)
    chain_up(sheet, [place.at((0, y))[1] for y in upward], edge - 6, _links(upward, words), edge)
    for number, point in enumerate(shape.screws, start=1):
        x, y = place.at(point)
        sheet.circle(x, y, 0.7, WHITE, 0.3)
        _number(sheet, str(number), x, y, tuple(place.at(p) for p in shape.outline))
    sheet.text(place.words, left, bottom, 40, 2.0)


def _number(sheet: Sheet, figure: str, x: float, y: float, outline: tuple[Point, ...]) -> None:
    """Write a number beside its screw, on the wood where it has room there, never across its edge."""
    wide = text_width(figure, 2.0, BOLD)
    spots = [(-wide / 2, 1.3), (-1.4 - wide, -1.0), (1.4, -1.0), (-wide / 2, -3.4)]
    spots += [(dx, dy) for dx in (1.6, -1.6 - wide) for dy in (1.2, -3.2)] + [(3.0, 2.2), (-3.0 - wide, -4.0)]
    free: list[tuple[bool, float, float]] = []
    for dx, dy in spots:
        box = (x + dx - 0.2, y + dy - 0.4, x + dx + wide + 0.2, y + dy + 2.2)
        corners = [(box[0], box[1]), (box[2], box[1]), (box[2], box[3]), (box[0], box[3])]
        inside = [_within(_counter(outline), corner) for corner in corners]
        if sheet.is_free(box, 0.1) and (all(inside) or not any(inside)):
            free.append((not all(inside), x + dx, y + dy))
    if free:
        _, left, low = min(free, key=lambda one: one[0])
        sheet.text(figure, left, low, wide + 0.4, 2.0, bold=True)


def _counter(outline: tuple[Point, ...]) -> tuple[Point, ...]:
    """Return an outline counter-clockwise."""
    return outline if area(outline) > 0 else outline[::-1]


def _links(places: list[float], words: Words) -> list[str]:
    return [words.bare(b - a) for a, b in itertools.pairwise(places)]
