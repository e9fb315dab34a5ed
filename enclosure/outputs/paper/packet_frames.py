"""What does each frame look like? Drawings to scale with dimensions.

A frame is seen from outside, as it stands or, for a roof, as one looks down on
the slope. Members are drawn as they are; what lies behind them (gussets and
diagonals on the inside) is dashed. Chains give the centre lines of bays and
tiers from the left and from the foot, the list beside them the middle of every
member that no chain reaches; the diagonals are for squaring.

Units: mm on paper.
"""

from __future__ import annotations

import itertools
import math

from enclosure.language import tr, tr_as
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.neighbours import on_plane
from enclosure.outputs.drawing.solids import body_of
from enclosure.outputs.paper.dimension import chain_across, chain_up
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, BOLD, NARROW_MM, WHITE, WOOD, Sheet, text_width
from enclosure.outputs.paper.scale import Fitting, fit_scale, scale_bar
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, natural, stick_words
from enclosure.shape.model import Design, Frame, Part, Point
from enclosure.shape.names import FACES

_BEHIND = ("gusset", "diagonal")
_LAP_MM = 100.0
"""No side stile is thicker; a corner bolt's place lies within it."""
LEAST_DRAWING = 0.42
"""Share of the page that a frame's drawing keeps when its list is long."""


def frame_title(frame: Frame) -> str:
    """Return the name of a frame."""
    said = tr("Frame of the {wall}, tier {tier}") if frame.level > 1 else tr("Frame of the {wall}")
    return said.format(wall=tr_as("frame of the", FACES[frame.face]), tier=frame.level)


def frame_draws(
    design: Design, frame: Frame, words: Words, room: float, high: float
) -> list[tuple[str, Draw]]:
    """Return title and drawing of the pages of one frame."""
    parts = [
        p
        for p in design.parts
        if p.face == frame.face and p.level == frame.level and p.kind in ("member", "batten", *_BEHIND)
    ]
    rows = tuple(_row(design, frame, part, words) for part in sorted(parts, key=lambda p: natural(p.mark)))
    columns = (
        Column(tr("Mark"), 12, "left", True),
        Column(tr("Part"), 29),
        Column(tr("Size"), 31),
        Column(tr("Ends"), 41),
        Column(tr("Where"), 45),
        Column(tr("Material"), 24),
    )
    table = Table(columns, rows, 2.0)
    least = min(high * 0.5, max(high * LEAST_DRAWING, high - 15 - table.total(room)))
    first, *later = table.pages(room, high - 14 - least, high - 14)
    title = frame_title(frame)
    bolts = _bolt_words(design, frame, words)
    found = [(title, _draw(frame, parts, words, first, title, bolts))]
    for more in later:
        found.append((tr("{title} (list continued)").format(title=title), _list(more, title)))
    return found


def _bolts(design: Design, frame: Frame, bag: str) -> list[Point]:
    """Return the bolts of a bag that go through the members of this frame, in its own (a, b).

    A corner bolt's place lies on the side frame's stile; it runs on through that of front or back.
    """
    found = []
    reach = frame.depth_mm + (_LAP_MM if frame.face in ("FRONT", "BACK") and bag == "corner bolts" else 0.0)
    for fixing in design.fixings:
        if fixing.key.startswith("bolt") and fixing.bag == bag:
            for position in fixing.positions:
                off = tuple(p - o for p, o in zip(position, frame.plane.origin, strict=True))
                if -reach <= sum(x * n for x, n in zip(off, frame.plane.n, strict=True)) <= 1.0:
                    found.append(on_plane(frame.plane, position))
    left, bottom = min(a for a, _ in frame.outline), min(b for _, b in frame.outline)
    right, top = max(a for a, _ in frame.outline), max(b for _, b in frame.outline)
    return [(a, b) for a, b in found if left - 1 <= a <= right + 1 and bottom - 1 <= b <= top + 1]


def _bolt_words(design: Design, frame: Frame, words: Words) -> tuple[str, list[Point]]:
    """Return a sentence on where the bolts go, and their places."""
    if frame.face.startswith("ROOF"):
        return "", []
    low_a, high_a = min(a for a, _ in frame.outline), max(a for a, _ in frame.outline)
    low_b = min(b for _, b in frame.outline)
    places = _bolts(design, frame, "corner bolts")
    down = [(a, b) for a, b in _bolts(design, frame, "tier bolts") if b - low_b <= 1]
    said = []
    for name, near in ((tr("left {marks}"), True), (tr("right {marks}"), False)):
        here = sorted({round(b - low_b, 1) for a, b in places if (a - low_a < high_a - a) is near})
        if here:
            said.append(name.format(marks=", ".join(words.bare(b) for b in here)))
    along = sorted({round(a - low_a, 1) for a, _ in down})
    lines = []
    if said:
        line = tr("Crosses: corner bolts, through both frames, at heights of {heights} from the foot.")
        lines.append(line.format(heights="; ".join(said)))
        if frame.face in ("FRONT", "BACK"):
            edge = min(a - low_a for a, _ in places)
            lines.append(tr("They run {size} from the outer edge of the stile.").format(size=words.bare(edge)))
    if along:
        line = tr("Bolts down into the frame below at {places} from the left.")
        lines.append(line.format(places=", ".join(words.bare(a) for a in along)))
    return " ".join(lines), [*places, *down]


def _row(design: Design, frame: Frame, part: Part, words: Words) -> Row:
    material = design.material(part.material)
    return Row(
        (
            part.mark,
            (tr("{part}, lifts out") if part.lift_out else "{part}").format(part=tr(part.role)),
            words.size(part),
            stick_words(part, material, words),
            _where(frame, part, words),
            material.name,
        )
    )


def _where(frame: Frame, part: Part, words: Words) -> str:
    """Return where a part lies in its frame, from the left and from the foot."""
    points = [point for outline in _outlines(frame, part) for point in outline]
    left, bottom = min(a for a, _ in frame.outline), min(b for _, b in frame.outline)
    across, upward = [a - left for a, _ in points], [b - bottom for _, b in points]
    if part.role in ("transom", "purlin"):
        return tr("middle {size} from the foot").format(size=words.bare((min(upward) + max(upward)) / 2))
    if part.role in ("mullion", "rafter"):
        return tr("middle {size} from the left").format(size=words.bare((min(across) + max(across)) / 2))
    if part.role == "ridge":
        high = max(corner[2] for solid in part.solids for corner in body_of(solid, 0).corners)
        return tr("upper edge {size} above the ring").format(size=words.bare(high))
    if part.kind == "diagonal":
        foot = [a - left for a, b in points if b - bottom < min(upward) + 1.0]
        head = [a - left for a, b in points if b - bottom > max(upward) - 1.0]
        said = tr("left edge {foot} from the left at the foot, {head} at the top")
        return said.format(foot=words.bare(min(foot)), head=words.bare(min(head)))
    return ""


def _list(table: Table, title: str) -> Draw:
    def draw(sheet: Sheet) -> None:
        y = heading(sheet, title, tr("List continued."))
        table.draw(sheet, sheet.area[0], y, sheet.area[2] - sheet.area[0])

    return draw


def _draw(
    frame: Frame, parts: list[Part], words: Words, table: Table, title: str, bolts: tuple[str, list[Point]]
) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        roof = frame.face.startswith("ROOF")
        where = tr("Seen from outside, square to the slope.") if roof else tr("Seen from outside.")
        said = tr("Dimensions in {unit}, to the middle of mullions and cross bars. Dashed: on the inside.")
        deep = tr("All members are {size} deep across the frame.").format(size=words.bare(frame.depth_mm))
        note = " ".join(filter(None, (where, said.format(unit=words.unit_word), deep, bolts[0])))
        y = heading(sheet, title, note)
        room = right - left
        foot = bottom + table.total(room) + 3
        across = [a for a, _ in frame.outline]
        upward = [b for _, b in frame.outline]
        size = (max(across) - min(across), max(upward) - min(upward))
        place = fit_scale(size, (left + 26, foot + 25, right - 22, y - 7), (min(across), min(upward)))
        _members(sheet, frame, parts, place)
        _dimensions(sheet, frame, words, place)
        _diagonals(sheet, frame, words, place)
        for point in bolts[1]:
            x, b = place.at(point)
            sheet.line((x - 1.5, b), (x + 1.5, b), "narrow", 0.25)
            sheet.line((x, b - 1.5), (x, b + 1.5), "narrow", 0.25)
        _marks(sheet, frame, parts, place)
        sheet.text(place.words, left, foot + 1, 30, 2.0)
        scale_bar(sheet, place, words, left + 32, foot + 1)
        table.draw(sheet, left, foot - 2, room)

    return draw


def _outlines(frame: Frame, part: Part) -> list[tuple[Point, ...]]:
    return [
        hull([on_plane(frame.plane, corner) for corner in body_of(solid, 0).corners]) for solid in part.solids
    ]


def _members(sheet: Sheet, frame: Frame, parts: list[Part], place: Fitting) -> None:
    for part in parts:
        if part.kind not in _BEHIND:
            for outline in _outlines(frame, part):
                sheet.polygon([place.at(p) for p in outline], WOOD, "wide", 0.45)
    for part in parts:
        if part.kind in _BEHIND:
            for outline in _outlines(frame, part):
                sheet.polygon([place.at(p) for p in outline], None, "hidden", 0.25)


def _dimensions(sheet: Sheet, frame: Frame, words: Words, place: Fitting) -> None:
    across = [a for a, _ in frame.outline]
    upward = [b for _, b in frame.outline]
    low_a, high_a, low_b = min(across), max(across), min(upward)
    left_top = max(b for a, b in frame.outline if a - low_a < 1)
    right_top = max(b for a, b in frame.outline if high_a - a < 1)
    foot = place.at((low_a, low_b))
    lines = [low_a, *frame.bay_lines_mm, high_a]
    if frame.bay_lines_mm:
        xs = [place.at((a, 0))[0] for a in lines]
        chain_across(
            sheet,
            xs,
            foot[1] - 8,
            [words.bare(b - a) for a, b in itertools.pairwise(lines)],
            foot[1],
        )
    ends_x = [place.at((low_a, 0))[0], place.at((high_a, 0))[0]]
    chain_across(sheet, ends_x, foot[1] - 17, [words.bare(high_a - low_a)], foot[1])
    heights = sorted({low_b, *frame.transom_lines_mm, *frame.tier_lines_mm, left_top})
    heights = [b for place_, b in enumerate(heights) if place_ == 0 or b - heights[place_ - 1] > 1]
    x = ends_x[0]
    if len(heights) > 2:
        ys = [place.at((0, b))[1] for b in heights]
        chain_up(sheet, ys, x - 9, [words.bare(b - a) for a, b in itertools.pairwise(heights)], x)
    chain_up(sheet, [foot[1], place.at((0, left_top))[1]], x - 18, [words.bare(left_top - low_b)], x)
    far = ends_x[1]
    chain_up(sheet, [foot[1], place.at((0, right_top))[1]], far + 13, [words.bare(right_top - low_b)], far)
    peak = max(upward)
    if peak > max(left_top, right_top) + 1:
        a = next(a for a, b in frame.outline if b == peak)
        tip = place.at((a, peak))
        said = tr("top {size}").format(size=words.bare(peak - low_b))
        sheet.text(said, tip[0], tip[1] + 2.5, 30, BODY, align="centre")


def _diagonals(sheet: Sheet, frame: Frame, words: Words, place: Fitting) -> None:
    """Draw the two diagonals of the frame's four outer corners with their lengths."""
    corners = _four_corners(frame)
    for (a, b), share in (((corners[0], corners[2]), 0.64), ((corners[1], corners[3]), 0.72)):
        start, end = place.at(a), place.at(b)
        sheet.line(start, end, "centre", NARROW_MM)
        x, y = start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])
        figure = words.bare(math.hypot(b[0] - a[0], b[1] - a[1]))
        wide = text_width(figure, BODY) + 1.0
        sheet.text(figure, x, y - BODY / 2, wide, BODY, align="centre", paper=True)


def _four_corners(frame: Frame) -> tuple[Point, Point, Point, Point]:
    low_a, high_a = min(a for a, _ in frame.outline), max(a for a, _ in frame.outline)
    left = [p for p in frame.outline if p[0] - low_a < 1]
    right = [p for p in frame.outline if high_a - p[0] < 1]
    return (
        min(left, key=lambda p: p[1]),
        min(right, key=lambda p: p[1]),
        max(right, key=lambda p: p[1]),
        max(left, key=lambda p: p[1]),
    )


def _marks(sheet: Sheet, frame: Frame, parts: list[Part], place: Fitting) -> None:
    """Write each mark on its member, at a spot clear of other text."""
    for part in sorted(parts, key=lambda p: (p.kind in _BEHIND, natural(p.mark))):
        outline = _outlines(frame, part)[0]
        points = [place.at(p) for p in outline]
        height = 2.3 if part.kind not in _BEHIND else 1.9
        wide = text_width(part.mark, height, BOLD) + 1.0
        for x, y in _spots(points):
            box = (x - wide / 2, y - height * 0.85, x + wide / 2, y + height * 0.85)
            if sheet.is_free(box, 0.2):
                sheet.rect(box[0], box[1], wide, box[3] - box[1], WHITE, "narrow", 0.15)
                sheet.text(part.mark, x, y - height / 2, wide, height, align="centre", bold=True)
                break


def _spots(points: list[Point]) -> list[Point]:
    """Return places along the longer axis of a shape, the middle first, then beside it."""
    middle = (math.fsum(p[0] for p in points) / len(points), math.fsum(p[1] for p in points) / len(points))
    far = max(points, key=lambda p: math.dist(p, middle))
    twin = min(points, key=lambda p: math.dist(p, (2 * middle[0] - far[0], 2 * middle[1] - far[1])))
    shares = (0.5, 0.4, 0.6, 0.3, 0.7, 0.22, 0.78)
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    upright = max(ys) - min(ys) > max(xs) - min(xs)
    on = [
        (middle[0], min(ys) + s * (max(ys) - min(ys)))
        if upright
        else (min(xs) + s * (max(xs) - min(xs)), middle[1])
        for s in shares
    ]
    if abs(far[0] - twin[0]) > 15 and abs(far[1] - twin[1]) > 15:  # a slanted part: along its length
        on = [(twin[0] + s * (far[0] - twin[0]), twin[1] + s * (far[1] - twin[1])) for s in shares]
    beside = [
        (x + dx, y + dy) for x, y in on for dx, dy in ((6, 0), (-6, 0), (0, 5), (0, -5), (9, 6), (-9, 6))
    ]
    return on + beside
