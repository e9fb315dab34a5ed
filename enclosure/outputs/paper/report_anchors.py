"""Where do the posts and wires stand that hold the shelter down?

A plan of the least set that passes: the frame's foot, the base ring, every post
or stake with its mark, the wires, and the way north; under it a table to mark
the ground out by. Units: model and page in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from enclosure.language import later, tr, tr_as
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, DRAWN, PALE, SMALLEST, WHITE, Box, Sheet, text_width
from enclosure.outputs.paper.scale import Fitting, fit_scale, scale_bar
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words
from enclosure.shape.model import Anchor, Design, Point
from enclosure.shape.names import face_code, face_word

_MARGIN = 14.0
_MARK = 3.5
ACROSS = (
    later("{length} left of the frame"), later("in line with its left side"), later("{length} from its left side"),
    later("in line with its right side"), later("{length} right of the frame"),
)  # fmt: skip
LENGTHWISE = (
    later("{length} before its front"), later("in line with its front"), later("{length} from its front"),
    later("in line with its back"), later("{length} behind its back"),
)  # fmt: skip
"""Where a post stands along a side of the frame: before it, at its beginning, within, at its end, beyond it."""


def anchors_draw(design: Design, anchors: Sequence[Anchor], said: str, words: Words) -> Draw:
    """Return the page of the anchor plan.

    Args:
        design: The shelter.
        anchors: Posts and stakes to draw.
        said: What this set is, one or two sentences.
        words: For lengths.
    """

    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        seen = tr("Seen from above, front at the foot of the page; round: posts, square: stakes.")
        note = f"{seen} {said}"
        y = heading(sheet, tr("What holds it down"), note)
        table = _table(design, anchors, words)
        high = table.total(right - left)
        table.draw(sheet, left, bottom + high + 1.0, right - left)
        foot = bottom + high + 10.0
        size, low = _extent(design, anchors)
        place = fit_scale(size, (left + _MARGIN, foot + _MARGIN, right - _MARGIN - 16, y - _MARGIN), low)
        _ground(sheet, design, place)
        for anchor in anchors:
            _anchor(sheet, anchor, place)
        posts = [place.at((anchor.x_mm, anchor.y_mm)) for anchor in anchors]
        for anchor in anchors:
            _mark(sheet, anchor, place, posts)
        _north(sheet, design, right - 10, y - 14)
        sheet.text(place.words, left, foot - 4.0, 30, 2.0)
        scale_bar(sheet, place, words, left + 32, foot - 4.0)

    return draw


def _table(design: Design, anchors: Sequence[Anchor], words: Words) -> Table:
    wide, deep = design.outside_mm[0], design.outside_mm[1]
    rows = tuple(
        Row(
            (
                anchor.mark,
                along(anchor.x_mm, wide, ACROSS, words),
                along(anchor.y_mm, deep, LENGTHWISE, words),
                ", ".join(words.length(height) for height in anchor.tie_heights_mm) or tr("no wire"),
                words.length(anchor.depth_mm) if anchor.depth_mm else tr("see the checks"),
                face_word(anchor.tied_to),
            )
        )
        for anchor in anchors
    )
    columns = (
        Column(tr("Mark"), 14, "left", True),
        Column(tr("Left to right"), 48),
        Column(tr("Front to back"), 46),
        Column(tr("Wires at heights of"), 34),
        Column(tr("Driven"), 18),
        Column(tr("Nearest"), 22),
    )
    return Table(columns, rows, 2.2)


def along(at_mm: float, whole_mm: float, says: Sequence[str], words: Words) -> str:
    """Return a place along one side of the frame in words.

    Args:
        at_mm: From the beginning of the side.
        whole_mm: Length of the side.
        says: Sentences for before it, at its beginning, within, at its end, beyond it.
        words: For lengths.
    """
    before, beginning, within, end, beyond = (tr(sentence) for sentence in says)
    if abs(at_mm) < 0.5:
        return beginning
    if abs(at_mm - whole_mm) < 0.5:
        return end
    if at_mm < 0.0:
        return before.format(length=words.length(-at_mm))
    if at_mm > whole_mm:
        return beyond.format(length=words.length(at_mm - whole_mm))
    return within.format(length=words.length(at_mm))


def _extent(design: Design, anchors: Sequence[Anchor]) -> tuple[tuple[float, float], Point]:
    edge = max(0.0, (design.base.ring_length_mm - design.outside_mm[0]) / 2)
    xs = [-edge, design.outside_mm[0] + edge, *(a.x_mm for a in anchors)]
    ys = [-edge, design.outside_mm[1] + edge, *(a.y_mm for a in anchors)]
    return (max(xs) - min(xs), max(ys) - min(ys)), (min(xs), min(ys))


def _box(low: Point, high: Point) -> list[Point]:
    return [low, (high[0], low[1]), high, (low[0], high[1])]


def _ground(sheet: Sheet, design: Design, place: Fitting) -> None:
    """Draw the base ring and the foot of the frame."""
    wide, deep = design.outside_mm[0], design.outside_mm[1]
    base = design.base
    if base.ring_length_mm:
        x0, y0 = (wide - base.ring_length_mm) / 2, (deep - base.ring_width_mm) / 2
        inset = base.brick_mm[1]
        outer = _box((x0, y0), (x0 + base.ring_length_mm, y0 + base.ring_width_mm))
        inner = _box((x0 + inset, y0 + inset), (x0 + base.ring_length_mm - inset, y0 + base.ring_width_mm - inset))
        sheet.polygon([place.at(p) for p in outer], PALE, "narrow")
        sheet.polygon([place.at(p) for p in inner], WHITE, "narrow")
    sheet.polygon([place.at(p) for p in _box((0.0, 0.0), (wide, deep))], None, "wide")
    middle, front = place.at((wide / 2, deep / 2)), place.at((wide / 2, 0.0))
    sheet.text(face_code("FRONT"), front[0], front[1] + 3.5, wide / place.divisor - 4, DRAWN, align="centre", bold=True)
    sheet.text(tr("shelter"), middle[0], middle[1], wide / place.divisor - 4, BODY, align="centre")


def _anchor(sheet: Sheet, anchor: Anchor, place: Fitting) -> None:
    """Draw one post (round) or stake (square) with its wire."""
    at = place.at((anchor.x_mm, anchor.y_mm))
    if anchor.tie_heights_mm:
        sheet.line(at, place.at(anchor.frame_mm), "narrow", 0.35)
    if anchor.kind == "stake":
        sheet.rect(at[0] - 1.3, at[1] - 1.3, 2.6, 2.6, WHITE, "wide")
    else:
        sheet.circle(*at, 1.4, WHITE, 0.5)
    sheet.line((at[0] - 2.2, at[1]), (at[0] + 2.2, at[1]), "narrow", 0.18)
    sheet.line((at[0], at[1] - 2.2), (at[0], at[1] + 2.2), "narrow", 0.18)


def _mark(sheet: Sheet, anchor: Anchor, place: Fitting, posts: Sequence[Point]) -> None:
    """Write the mark of one post clear of other marks and posts, away from the shelter first."""
    x, y = place.at((anchor.x_mm, anchor.y_mm))
    tall = _MARK if place.divisor < 50 else BODY
    wide = text_width(anchor.mark, tall) * 1.15 + 0.6
    away = {"LEFT": 180.0, "RIGHT": 0.0, "BACK": 90.0, "FRONT": 270.0}.get(anchor.tied_to, 0.0)
    turns = sorted(range(0, 360, 30), key=lambda turn: (abs((turn - 15.0 - away + 180.0) % 360.0 - 180.0), turn))

    def box_at(turn: float, far: float) -> Box:
        across, up = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        middle = (x + across * (far + wide / 2), y + up * (far + tall / 2))
        return (middle[0] - wide / 2, middle[1] - tall / 2, middle[0] + wide / 2, middle[1] + tall / 2)

    def free(box: Box) -> bool:
        clear = all(
            px + 1.9 < box[0] or box[2] < px - 1.9 or py + 1.9 < box[1] or box[3] < py - 1.9 for px, py in posts
        )
        return clear and sheet.is_free((box[0], box[1] - 0.8, box[2], box[3] + 0.3))

    boxes = [box_at(turn, far) for far in (2.4, 4.4, 7.0) for turn in turns]
    box = next((one for one in boxes if free(one)), boxes[0])
    sheet.text(anchor.mark, box[0] + 0.3, box[1], wide, tall, bold=True, least=SMALLEST, paper=True)


def _north(sheet: Sheet, design: Design, x: float, y: float) -> None:
    """Draw the north arrow: the front looks down the page, north lies its bearing round from there."""
    angle = 270.0 + design.front_bearing_deg
    turn = math.radians(angle)
    tip = (x + 7 * math.cos(turn), y + 7 * math.sin(turn))
    sheet.line((x - 7 * math.cos(turn), y - 7 * math.sin(turn)), tip, "wide")
    sheet.arrow(tip, angle, 4.0)
    sheet.text(
        tr_as("compass", "N"),
        tip[0] + 3.4 * math.cos(turn),
        tip[1] + 3.4 * math.sin(turn) - 1.7,
        6,
        DRAWN,
        align="centre",
    )
