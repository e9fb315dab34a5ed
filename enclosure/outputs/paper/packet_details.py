"""How does a panel sit in its track on the hottest and on the coldest day? Drawn from the model's own values.

A section along one axis of a panel, its middle broken out, at an enlarged
scale: as cut, at the hottest (grown, clearance left on both sides) and at the
coldest (shrunk and pushed hard to one side, cover left on the other). Change a
slot, a clearance or a movement in the model and the drawing changes.

Units: mm on paper; the drawing is 2 : 1 or 1 : 1.
"""

from __future__ import annotations

import itertools

from enclosure.language import later, tr
from enclosure.outputs.drawing.seat import Seat, seats, tightest
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import BODY, GLASS, METAL, WHITE, Box, Sheet
from enclosure.outputs.paper.words import Words
from enclosure.shape.model import Design, Fit
from enclosure.shape.names import address

_SEATS = (later("as cut"), later("hottest"), later("coldest"))


def detail_draw(design: Design, words: Words) -> Draw | None:
    """Return the drawing, or None when no panel lies in track."""
    found = tightest(design)
    if found is None:
        return None
    part, axis = found
    fit = part.fit
    assert fit is not None

    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        said = (
            tr("Panel {mark} ({place}), section along its height: the one with the least cover to spare.")
            if axis
            else tr("Panel {mark} ({place}), section along its width: the one with the least cover to spare.")
        )
        moves = tr("Cut at {cut}; movement from coldest to hottest {size}.")
        note = " ".join(
            (
                said.format(mark=part.mark, place=address(part)),
                moves.format(cut=words.temperature(fit.cut_degc), size=words.fine(fit.movement_mm[axis])),
                tr("Never screw or glue a panel: it must slide in its track."),
            )
        )
        y = heading(sheet, tr("Panel in its track, hot and cold"), note)
        thick = design.material(part.material).thickness_mm
        wall = next((m.thickness_mm for m in design.materials if m.kind == "track"), 1.5)
        high = (y - bottom) / 3
        scale = next(
            (
                s
                for s in (2.0, 1.0)
                if fit.slot_depth_mm * s <= 56 and (thick + 2 * wall + 1) * s <= high - 36
            ),
            0.5,
        )
        temperatures = (fit.cut_degc, fit.hottest_degc, fit.coldest_degc)
        for place, (seat, degc) in enumerate(zip(seats(fit, axis), temperatures, strict=True)):
            box = (left, y - (place + 1) * high, right, y - place * high)
            _section(
                sheet, seat, fit, words, box, scale, thick, wall, f"{tr(seat.name)}, {words.temperature(degc)}"
            )
        scale_words = "1 : 2" if scale < 1 else f"{scale:g} : 1"
        said = tr("Scale {scale}, slot depth {slot}, sheet {sheet}")
        line = said.format(scale=scale_words, slot=words.fine(fit.slot_depth_mm), sheet=words.fine(thick))
        sheet.text(line, left, bottom + 1, 120, 2.0)

    return draw


def _section(
    sheet: Sheet,
    seat: Seat,
    fit: Fit,
    words: Words,
    box: Box,
    scale: float,
    thick: float,
    wall: float,
    title: str,
) -> None:
    left, bottom, right, top = box
    sheet.text(title[:1].upper() + title[1:], left, top - 6, right - left, 3.5, bold=True)
    middle = (bottom + top) / 2 - 2
    half = (thick + 1.0) / 2 * scale
    slot = fit.slot_depth_mm * scale
    web = wall * scale
    x0, x1 = left + 5, right - 5
    for x, way in ((x0, 1.0), (x1, -1.0)):
        _channel(sheet, x, middle, way, slot, web, half)
    panel = thick * scale / 2
    start, end = x0 + web + seat.gap_left * scale, x1 - web - seat.gap_right * scale
    centre = (x0 + x1) / 2
    for a, b in ((start, centre - 3), (centre + 3, end)):
        sheet.rect(a, middle - panel, b - a, 2 * panel, GLASS, "wide", 0.35)
    for x in (centre - 3, centre + 3):
        sheet.rect(x - 0.4, middle - panel - 0.4, 0.8, 2 * panel + 0.8, WHITE, None)
        steps = [
            (x, middle - panel - 2),
            (x - 1, middle - 0.8),
            (x + 1, middle + 0.8),
            (x, middle + panel + 2),
        ]
        for p, q in itertools.pairwise(steps):
            sheet.line(p, q, "narrow", 0.2)
    room = (x1 - x0) / 2 - slot - web - 5
    for edge, web_face, mouth, way in (
        (start, x0 + web, x0 + web + slot, 1.0),
        (end, x1 - web, x1 - web - slot, -1.0),
    ):
        gap, cover = (seat.gap_left, seat.cover_left) if way > 0 else (seat.gap_right, seat.cover_right)
        y = middle - half - web - 5
        foot = middle - half - web - 0.5
        for a, b, name, size in (
            (edge, mouth, tr("cover {size}"), cover),
            (web_face, edge, tr("clearance {size}"), gap),
        ):
            if size > 0.05:
                _measure(sheet, (min(a, b), max(a, b)), y, foot)
            anchor = mouth + way * 2.5
            sheet.text(
                name.format(size=words.fine(size)), anchor, y - 0.9, room, 2.2, align="left" if way > 0 else "right"
            )
            y -= 5.5
    least = tr("least cover {size}").format(size=words.fine(fit.least_cover_mm))
    sheet.text(least, centre, middle + panel + 6, x1 - x0 - 70, BODY, align="centre")


def _measure(sheet: Sheet, ends: tuple[float, float], y: float, foot: float) -> None:
    """Draw a dimension line with its extension lines; short ones get oblique strokes."""
    low, high = ends
    for x in ends:
        sheet.line((x, foot), (x, y - 1.2), "narrow", 0.18)
    sheet.line((low, y), (high, y), "narrow", 0.18)
    if high - low > 6:
        sheet.arrow((high, y), 0, 2.0)
        sheet.arrow((low, y), 180, 2.0)
    else:
        for x in ends:
            sheet.line((x - 0.7, y - 0.7), (x + 0.7, y + 0.7), "narrow", 0.25)


def _channel(sheet: Sheet, x: float, middle: float, way: float, slot: float, web: float, half: float) -> None:
    """Draw a channel whose back lies at x and whose mouth opens toward `way`."""
    mouth = x + way * (web + slot)
    face = x + way * web
    outline = [
        (x, middle - half - web),
        (mouth, middle - half - web),
        (mouth, middle - half),
        (face, middle - half),
        (face, middle + half),
        (mouth, middle + half),
        (mouth, middle + half + web),
        (x, middle + half + web),
    ]
    sheet.polygon(outline, METAL, "wide", 0.35)
