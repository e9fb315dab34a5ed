"""What does each frame look like, and where does the base ring lie? Drawings to scale with dimensions.

A frame is seen from outside, as it stands or, for a roof, as one looks down on
the slope. Members are drawn as they are; what lies behind them (gussets and
diagonals on the inside) is dashed. Chains give the centre lines of bays and
tiers from the left and from the foot; the diagonals are for squaring.

Units: mm on paper.
"""

from __future__ import annotations

import itertools
import math

from enclosure.language import tr, tr_as
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.neighbours import on_plane
from enclosure.outputs.drawing.solids import body_of
from enclosure.outputs.paper.dimension import aligned, chain_across, chain_up
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, BOLD, NARROW_MM, PALE, WHITE, WOOD, Align, Sheet, text_width
from enclosure.outputs.paper.scale import Fitting, fit_scale, scale_bar
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, ends, natural
from enclosure.shape.anchoring import wire_length
from enclosure.shape.model import Design, Frame, Part, Point, StickCut
from enclosure.shape.names import FACES, all_of

_BEHIND = ("gusset", "diagonal")
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
    rows = tuple(_row(design, part, words) for part in sorted(parts, key=lambda p: natural(p.mark)))
    columns = (
        Column(tr("Mark"), 14, "left", True),
        Column(tr("Part"), 30),
        Column(tr("Size"), 42),
        Column(tr("Ends"), 40),
        Column(tr("Material"), 52),
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
    """Return the bolts of a bag that go through the members of this frame, in its own (a, b)."""
    found = []
    for fixing in design.fixings:
        if fixing.key.startswith("bolt") and fixing.bag == bag:
            for position in fixing.positions:
                off = tuple(p - o for p, o in zip(position, frame.plane.origin, strict=True))
                if -frame.depth_mm <= sum(x * n for x, n in zip(off, frame.plane.n, strict=True)) <= 1.0:
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
    if along:
        line = tr("Bolts down into the frame below at {places} from the left.")
        lines.append(line.format(places=", ".join(words.bare(a) for a in along)))
    return " ".join(lines), [*places, *down]


def _row(design: Design, part: Part, words: Words) -> Row:
    extra = ends(part.cut) if isinstance(part.cut, StickCut) else ""
    return Row(
        (
            part.mark,
            (tr("{part}, lifts out") if part.lift_out else "{part}").format(part=tr(part.role)),
            words.size(part),
            extra,
            design.material(part.material).name,
        )
    )


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
        said = tr("Dimensions in {unit}. Dashed: on the inside.").format(unit=words.unit_word)
        y = heading(sheet, title, f"{where} {said} {bolts[0]}".rstrip())
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


# --- base ring and anchors ---------------------------------------------------------------


def base_draw(design: Design, words: Words) -> Draw:
    """Return the drawing of the base ring, the frame's foot and the anchor posts, seen from above."""

    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        note = _above(words)
        y = heading(sheet, tr("Base ring and anchors"), note)
        box, low = _plan_extent(design, "post")
        place = fit_scale(box, (left + 36, bottom + 74, right - 36, y - 14), low)
        _ring(sheet, design, words, place)
        _anchors(sheet, design, words, place, "post")
        _north(sheet, design, right - 12, y - 14)
        sheet.text(place.words, left, bottom + 42, 30, 2.0)
        scale_bar(sheet, place, words, left + 32, bottom + 42)
        lines = _base_words(design, words)
        line_y = bottom + 39.0
        for line in lines:
            line_y = sheet.paragraph(line, left, line_y, right - left, BODY, most=2) - 0.6

    return draw


def stakes_draw(design: Design, words: Words) -> Draw | None:
    """Return the drawing of the stakes and their slanting wires, seen from above; None without any."""
    stakes = [anchor for anchor in design.anchors if anchor.kind == "stake"]
    if not stakes:
        return None

    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        note = _above(words)
        y = heading(sheet, tr("Stakes and slanting wires"), note)
        box, low = _plan_extent(design, "stake")
        place = fit_scale(box, (left + 34, bottom + 52, right - 34, y - 22), low)
        wide, deep = design.outside_mm[0], design.outside_mm[1]
        sheet.polygon([place.at(p) for p in ((0.0, 0.0), (wide, 0.0), (wide, deep), (0.0, deep))], PALE, "wide")
        front = place.at((wide / 2, 0.0))
        sheet.text(tr_as("face", "FRONT"), front[0], front[1] - 4, 20, 2.5, align="centre", bold=True)
        for stake in stakes:
            sheet.line(place.at((stake.x_mm, stake.y_mm)), place.at(stake.frame_mm), "narrow", 0.25)
        _anchors(sheet, design, words, place, "stake")
        _north(sheet, design, right - 12, y - 14)
        sheet.text(place.words, left, bottom + 32, 30, 2.0)
        scale_bar(sheet, place, words, left + 32, bottom + 32)
        line_y = bottom + 28.0
        for line in _anchor_words(design, words, "stake"):
            line_y = sheet.paragraph(line, left, line_y, right - left, BODY, most=3) - 0.6

    return draw


def _plan_extent(design: Design, kind: str) -> tuple[tuple[float, float], Point]:
    anchors = [anchor for anchor in design.anchors if anchor.kind == kind]
    xs = [0.0, design.outside_mm[0], *(p.x_mm for p in anchors)]
    ys = [0.0, design.outside_mm[1], *(p.y_mm for p in anchors)]
    edge = 60.0 if design.base.ring_length_mm else 0.0
    low = (min(xs) - edge, min(ys) - edge)
    return (max(xs) + edge - low[0], max(ys) + edge - low[1]), low


def _ring(sheet: Sheet, design: Design, words: Words, place: Fitting) -> None:
    wide, deep = design.outside_mm[0], design.outside_mm[1]
    base = design.base
    corners: list[Point] = [(0, 0), (wide, 0), (wide, deep), (0, deep)]
    if base.ring_length_mm:
        x0, y0 = (wide - base.ring_length_mm) / 2, (deep - base.ring_width_mm) / 2
        x1, y1 = x0 + base.ring_length_mm, y0 + base.ring_width_mm
        outer = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
        inset = base.brick_mm[1]
        u0, v0, u1, v1 = x0 + inset, y0 + inset, x1 - inset, y1 - inset
        inner = [(u0, v0), (u1, v0), (u1, v1), (u0, v1)]
        sheet.polygon([place.at(p) for p in outer], PALE, "wide")
        sheet.polygon([place.at(p) for p in inner], WHITE, "wide")
        a, b = place.at(outer[0]), place.at(outer[2])
        sheet.line(a, b, "centre")
        sheet.line(place.at(outer[1]), place.at(outer[3]), "centre")
        aligned(sheet, place.at(outer[0]), place.at(outer[2]), words.bare(base.diagonal_mm), share=0.3)
        low = place.at(outer[0])
        chain_across(sheet, [low[0], b[0]], a[1] - 18, [words.bare(base.ring_length_mm)], a[1])
        chain_up(sheet, [low[1], b[1]], a[0] - 34, [words.bare(base.ring_width_mm)], a[0])
    sheet.polygon([place.at(p) for p in corners], None, "hidden", 0.3)
    foot = place.at((0, 0))
    far = place.at((wide, deep))
    chain_across(sheet, [foot[0], far[0]], foot[1] - 27, [words.bare(wide)], foot[1])
    chain_up(sheet, [foot[1], far[1]], far[0] + 36, [words.bare(deep)], far[0])
    middle = place.at((wide / 2, 0))
    sheet.text(tr_as("face", "FRONT"), middle[0], middle[1] - 8, 40, 3.5, align="centre", bold=True, paper=True)


def _anchors(sheet: Sheet, design: Design, words: Words, place: Fitting, kind: str) -> None:
    for post in design.anchors:
        if post.kind != kind:
            continue
        x, y = place.at((post.x_mm, post.y_mm))
        if kind == "stake":
            sheet.polygon([(x, y + 1.8), (x - 1.6, y - 1.2), (x + 1.6, y - 1.2)], WHITE, "wide")
        else:
            sheet.circle(x, y, 1.4, WHITE, 0.5)
        sheet.line((x - 2.4, y), (x + 2.4, y), "narrow", 0.18)
        sheet.line((x, y - 2.4), (x, y + 2.4), "narrow", 0.18)
        right = post.x_mm > design.outside_mm[0] / 2
        side: Align = "left" if right else "right"
        beside = x + (3.2 if right else -3.2)
        if post.y_mm > design.outside_mm[1] or post.y_mm < 0:  # off the back or the front: clear of the ring
            y += 5.5 if post.y_mm > 0 else -5.0
        sheet.text(post.mark, beside, y + 1.6, 14, 3.5, align=side, bold=True)
        off = f"{words.bare(post.x_mm)}, {words.bare(post.y_mm)}"
        sheet.text(off, beside, y - 2.8, 26, 1.8, align=side)


def _north(sheet: Sheet, design: Design, x: float, y: float) -> None:
    """Draw a north arrow: the front of the plan points to the front's bearing."""
    # the front looks down the page (270 degrees); north lies `bearing` anticlockwise of that direction
    angle = 270.0 + design.front_bearing_deg
    turn = math.radians(angle)
    tip = (x + 8 * math.cos(turn), y + 8 * math.sin(turn))
    tail = (x - 8 * math.cos(turn), y - 8 * math.sin(turn))
    sheet.line(tail, tip, "wide")
    sheet.arrow(tip, angle, 4.0)
    sheet.text(
        tr_as("north", "N"),
        tip[0] + 3.4 * math.cos(turn),
        tip[1] + 3.4 * math.sin(turn) - 1.7,
        6,
        3.5,
        align="centre",
        bold=True,
    )


def _anchor_words(design: Design, words: Words, kind: str) -> list[str]:
    """Return a sentence on the posts or on the stakes, none where there are none."""
    these = [anchor for anchor in design.anchors if anchor.kind == kind]
    if not these:
        return []
    heights = all_of([words.length(h) for h in sorted({h for one in these for h in one.tie_heights_mm})])
    depth = max(one.depth_mm for one in these)
    deep = words.length(depth)
    if kind == "post":
        said = (
            tr("Posts, driven {depth} deep: x and y from the frame's front left corner. Wire ties at {heights} above "
               "the ring.")
            if depth
            else tr("Posts, driven as deep as the report says: x and y from the frame's front left corner. Wire ties "
                    "at {heights} above the ring.")
        )  # fmt: skip
        return [said.format(depth=deep, heights=heights)]
    longest = max(wire_length(one, h) for one in these for h in one.tie_heights_mm)
    said = (
        tr("Stakes (triangles), driven {depth} deep, leaning away from the shelter: x and y from the frame's front "
           "left corner.")
        if depth
        else tr("Stakes (triangles), driven as deep as the report says, leaning away from the shelter: x and y from "
                "the frame's front left corner.")
    )  # fmt: skip
    wires = tr("Wires to the corners of the frame at {heights} above the ring, {length} long from eye to ground. Flag "
               "them where people walk.")  # fmt: skip
    return [said.format(depth=deep), wires.format(heights=heights, length=words.length(longest))]


def _above(words: Words) -> str:
    return tr("Seen from above, front at the foot of the page. Dimensions in {unit}.").format(unit=words.unit_word)


def _base_words(design: Design, words: Words) -> list[str]:
    base = design.base
    lines = []
    if base.ring_length_mm:
        size = " × ".join(words.bare(side) for side in base.brick_mm)
        said = tr("Ring: {count} bricks of {size}, joint {joint}; buy {buy} with spares. Both diagonals must be "
                  "{diagonal}; stretch two strings and move the corners until they are.")  # fmt: skip
        lines.append(
            said.format(
                count=base.bricks,
                size=size,
                joint=words.bare(base.joint_mm),
                buy=base.bricks_to_buy,
                diagonal=words.length(base.diagonal_mm),
            )
        )
        lines.append(tr("Level the ring along all four sides and across the corners before anything stands on it."))
    if design.anchors:
        lines += _anchor_words(design, words, "post")
        if any(anchor.kind == "stake" for anchor in design.anchors):
            lines.append(tr("Stakes and their slanting wires are on the next page."))
    if base.bed_depth_mm:
        said = tr("Bed: {depth} deep, lined; soil crowned {crown} toward the trunk.")
        lines.append(said.format(depth=words.length(base.bed_depth_mm), crown=words.length(base.crown_mm)))
    return lines
