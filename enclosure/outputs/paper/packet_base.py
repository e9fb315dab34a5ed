"""Where do base ring, posts and stakes lie? Plans to scale with dimensions, seen from above.

The bricks of the ring are drawn one by one (see `shape.course`), so that the
plan can be laid from.

Units: mm on paper.
"""

from __future__ import annotations

import math

from enclosure.language import tr, tr_as, tr_n
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.solids import body_of
from enclosure.outputs.paper.dimension import aligned, chain_across, chain_up
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, PALE, WHITE, Align, Sheet, wrapped
from enclosure.outputs.paper.scale import Fitting, fit_scale, scale_bar
from enclosure.outputs.paper.words import Words
from enclosure.shape.anchoring import wire_length
from enclosure.shape.course import Side, bricks_needed, course
from enclosure.shape.model import Design, Point
from enclosure.shape.names import all_of


def base_draw(design: Design, words: Words) -> Draw:
    """Return the drawing of the base ring, the frame's foot and the anchor posts, seen from above."""

    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        note = _above(words)
        y = heading(sheet, tr("Base ring and anchors"), note)
        box, low = _plan_extent(design, "post")
        lines = _base_words(design, words)
        rows = sum(len(wrapped(line, right - left, BODY)) for line in lines)
        foot = bottom + rows * BODY * 1.75 + len(lines) * 0.8 + 2.0
        place = fit_scale(box, (left + 36, foot + 34, right - 36, y - 14), low)
        _ring(sheet, design, words, place)
        _anchors(sheet, design, words, place, "post")
        _north(sheet, design, right - 12, y - 14)
        sheet.text(place.words, left, foot + 2.5, 30, 2.0)
        scale_bar(sheet, place, words, left + 32, foot + 2.5)
        line_y = foot
        for line in lines:
            line_y = sheet.paragraph(line, left, line_y, right - left, BODY) - 0.6

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
        sheet.polygon([place.at(p) for p in outer], WHITE, "wide")
        sheet.polygon([place.at(p) for p in inner], WHITE, "wide")
        for side in course(base, (wide, deep)):
            for number, brick in enumerate(side.bricks):
                points = [place.at(p) for p in brick]
                sheet.polygon(points, PALE, "narrow", 0.25)
                if number >= side.whole:
                    sheet.hatch(points, 1.2)
        a, b = place.at(outer[0]), place.at(outer[2])
        sheet.line(a, b, "centre")
        sheet.line(place.at(outer[1]), place.at(outer[3]), "centre")
        aligned(sheet, place.at(outer[0]), place.at(outer[2]), words.bare(base.diagonal_mm), share=0.3)
        low = place.at(outer[0])
        chain_across(sheet, [low[0], b[0]], a[1] - 18, [words.bare(base.ring_length_mm)], a[1])
        chain_up(sheet, [low[1], b[1]], a[0] - 34, [words.bare(base.ring_width_mm)], a[0])
    sheet.polygon([place.at(p) for p in corners], None, "hidden", 0.3)
    for part in design.parts:
        if part.kind == "lining":
            flat = [(x, y) for x, y, _ in body_of(part.solids[0], 0).corners]
            sheet.polygon([place.at(p) for p in hull(flat)], None, "cut", 0.18)
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


def _course_words(sides: tuple[Side, ...], count: int, words: Words) -> str:
    """Return how the bricks of front and back, and of the sides, are laid."""
    said = []
    names = [tr("Front and back"), tr("left and right")]
    if sides[0].pieces_mm == sides[1].pieces_mm and sides[0].whole == sides[1].whole:
        names = [tr("Each side")]
    for name, side in zip(names, sides, strict=False):
        whole = tr_n("{count} whole brick", "{count} whole bricks", side.whole).format(count=side.whole)
        parts = [whole, *(tr("one cut to {size} (hatched)").format(size=words.length(p)) for p in side.pieces_mm)]
        laid = tr("{side}: {bricks}, joints {joint}") if side.joint_mm > 0.8 else tr("{side}: {bricks}, laid tight")
        said.append(laid.format(side=name, bricks=" + ".join(parts), joint=words.length(side.joint_mm)))
    first = tr("As drawn {count} of them are used.").format(count=count)
    last = tr("Every side begins at a corner and ends against the next side.")
    return f"{first} {'; '.join(said)}. {last}"


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
        sides = course(base, design.outside_mm[:2])
        if sides:
            lines.append(_course_words(sides, bricks_needed(sides, base.brick_mm[0]), words))
    if design.anchors:
        lines += _anchor_words(design, words, "post")
        if any(anchor.kind == "stake" for anchor in design.anchors):
            lines.append(tr("Stakes and their slanting wires are on the next page."))
    if base.bed_depth_mm:
        said = tr("Bed: {depth} deep, lined; soil crowned {crown} toward the trunk.")
        lines.append(said.format(depth=words.length(base.bed_depth_mm), crown=words.length(base.crown_mm)))
        lines += _lining_words(design, words)
    return lines


def _lining_words(design: Design, words: Words) -> list[str]:
    """Return the boards of the lining and where they stand."""
    boards = [part for part in design.parts if part.kind == "lining"]
    if not boards:
        return []
    inside = min(min(corner[0] for corner in body_of(part.solids[0], 0).corners) for part in boards)
    said = tr("Lining boards (narrow dashes), {inset} inside the frame's outer edge, upper edge at the foot of the "
              "bricks: {boards}.")  # fmt: skip
    sizes = [f"{part.mark} {words.size(part)}" for part in boards]
    return [said.format(inset=words.length(inside), boards=", ".join(sizes))]
