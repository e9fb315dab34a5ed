"""How are lengths drawn? Chains of dimensions after ISO 129.

Narrow lines, slim arrow heads, figures above the dimension line, readable from
below or from the right. A figure that does not fit between its arrows is set
beside the last one on a second level, never over a neighbour. All positions in
mm on paper; figures are what the caller says they are.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from enclosure.outputs.paper.layer import BODY, Sheet, text_width
from enclosure.shape.model import Point

_GAP = 1.0
_BEYOND = 1.8
_ABOVE = 0.7
_ARROW = 2.2


def chain_across(
    sheet: Sheet,
    places: Sequence[float],
    y: float,
    figures: Sequence[str],
    feet: Sequence[float] | float,
    height: float = BODY,
) -> None:
    """Draw a level chain.

    Args:
        sheet: Page.
        places: x of the extension lines, rising; one more than figures.
        y: Height of the dimension line.
        figures: Text of each link.
        feet: y at which the extension lines start (the object), one for all or one each.
        height: Letter height.
    """
    start = [feet] * len(places) if isinstance(feet, float | int) else list(feet)
    side = 1.0 if y > start[0] else -1.0
    for x, foot in zip(places, start, strict=True):
        sheet.line((x, foot + side * _GAP), (x, y + side * _BEYOND), "narrow")
    lifted = False
    for left, right, figure in zip(places, places[1:], figures, strict=False):
        _arrows(sheet, (left, y), (right, y))
        wide = text_width(figure, height)
        fits = wide <= right - left - 0.6
        lifted = not fits and not lifted
        level = y + _ABOVE + (height * 1.5 if lifted else 0.0)
        if fits:
            sheet.text(figure, (left + right) / 2, level, right - left, height, align="centre")
        else:
            _aside(sheet, figure, (left + right) / 2, y, height, turned=False)


def chain_up(
    sheet: Sheet,
    places: Sequence[float],
    x: float,
    figures: Sequence[str],
    feet: Sequence[float] | float,
    height: float = BODY,
) -> None:
    """Draw an upright chain; as `chain_across` with x and y exchanged."""
    start = [feet] * len(places) if isinstance(feet, float | int) else list(feet)
    side = 1.0 if x > start[0] else -1.0
    for y, foot in zip(places, start, strict=True):
        sheet.line((foot + side * _GAP, y), (x + side * _BEYOND, y), "narrow")
    for low, high, figure in zip(places, places[1:], figures, strict=False):
        _arrows(sheet, (x, low), (x, high))
        if text_width(figure, height) <= high - low - 0.6:
            sheet.text(figure, x - _ABOVE, (low + high) / 2, high - low, height, align="centre", turned=True)
        else:
            _aside(sheet, figure, x, (low + high) / 2, height, turned=True)


def aligned(sheet: Sheet, a: Point, b: Point, figure: str, height: float = BODY, share: float = 0.5) -> None:
    """Draw a dimension along any line, the figure level in a gap of the line."""
    _arrows(sheet, a, b)
    x, y = a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])
    wide = text_width(figure, height)
    sheet.text(figure, x, y - height / 2, wide + 1, height, align="centre", paper=True)


def _arrows(sheet: Sheet, a: Point, b: Point) -> None:
    sheet.line(a, b, "narrow")
    angle = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    length = math.hypot(b[0] - a[0], b[1] - a[1])
    if length >= 2.5 * _ARROW:
        sheet.arrow(b, angle, _ARROW)
        sheet.arrow(a, angle + 180, _ARROW)
        return
    for point in (a, b):  # too short for arrows: oblique strokes
        sheet.line((point[0] - 0.8, point[1] - 0.8), (point[0] + 0.8, point[1] + 0.8), "narrow")


def _aside(sheet: Sheet, figure: str, x: float, y: float, height: float, *, turned: bool) -> None:
    """Set a figure that is too long for its link on the nearest free level, with a leader."""
    wide = text_width(figure, height)
    for level in range(1, 6):
        for sign in (1, -1):
            off = sign * level * height * 1.55 + (_ABOVE if sign > 0 else -height - _ABOVE)
            for slide in (0.0, 0.5, -0.5, 1.0, -1.0):
                along = slide * (wide + 2)
                if turned:
                    anchor = (x - off, y + along)
                    box = (
                        anchor[0] - height * 1.06,
                        anchor[1] - wide / 2,
                        anchor[0] + height * 0.33,
                        anchor[1] + wide / 2,
                    )
                else:
                    anchor = (x + along, y + off)
                    box = (
                        anchor[0] - wide / 2,
                        anchor[1] - height * 0.33,
                        anchor[0] + wide / 2,
                        anchor[1] + height * 1.06,
                    )
                if sheet.is_free(box):
                    foot = (anchor[0] + 0.4, anchor[1]) if turned else (anchor[0], anchor[1] - 0.6)
                    sheet.line((x, y), foot, "narrow", 0.13)
                    sheet.text(figure, anchor[0], anchor[1], wide + 1, height, align="centre", turned=turned)
                    return
    sheet.text(figure, x, y + _ABOVE, wide + 1, height, align="centre", turned=turned, paper=True)
