"""How does a panel sit in its track as cut, on the hottest and on the coldest day? In full size.

A section along one axis of the panel that has the least cover to spare, its middle broken
out: three rows, each with both ends of the panel in their channels. Slot, clearance, cover,
thickness and growth are the model's own values.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from pathlib import Path

from enclosure.language import tr
from enclosure.outputs.drawing.seat import Seat, seats, tightest
from enclosure.outputs.dxf_page import Align, Drawing, Point
from enclosure.outputs.dxf_title import TEXT_MM
from enclosure.outputs.dxf_words import fine, title
from enclosure.shape.model import Design, Fit, Part
from enclosure.shape.names import address
from enclosure.shape.space import cross, dot

NAME = "detail-track"
BEYOND_MM = 26.0  # of the panel, shown beyond the mouth of its channel
BREAK_MM = 14.0
ROW_MM = 41.0
LEAST_MM = 6.5  # a shorter dimension has its figure beside it


@dataclass(frozen=True, slots=True)
class _Channel:
    """A channel in section [mm]: its slot is deep from web to mouth and wide between the flanges."""

    deep: float
    wide: float
    web: float
    flange: float


def draw_track(design: Design, folder: Path, page: tuple[int, int], *, words: bool = True) -> Path | None:
    """Write ``detail-track.dxf`` and return its path, or None when no panel lies in track."""
    found = tightest(design)
    if found is None:
        return None
    part, axis = found
    fit = part.fit
    assert fit is not None
    channel = _channel_of(design, part, fit)
    wide = 2 * (channel.web + channel.deep + BEYOND_MM) + BREAK_MM
    head = title(design, tr("detail: panel in its track, hot and cold"), NAME, *page)
    drawing = Drawing(head, design.paper, (wide, 3 * ROW_MM), (14.0, 2.0, 14.0, 14.0), words=words)
    thick = design.material(part.material).thickness_mm
    degrees = (fit.cut_degc, fit.hottest_degc, fit.coldest_degc)
    for row, (seat, degc) in enumerate(zip(seats(fit, axis), degrees, strict=True)):
        middle = -row * ROW_MM - 18.0
        _row(drawing, seat, channel, thick, (wide, middle))
        if words:
            said = tr("{when}, {degc:.0f} degC").format(when=tr(seat.name), degc=degc)
            drawing.text(said, (0.0, middle + 14.0), height=3.5)
            _measures(drawing, seat, channel, (wide, middle))
    if words:
        _once(drawing, channel, thick, (wide, -18.0))
        _notes(design, drawing, part, axis)
    return drawing.finish(folder / f"{NAME}.dxf")


def _channel_of(design: Design, part: Part, fit: Fit) -> _Channel:
    """Return the edge channel of the panel's wall, as deep as the panel's own slot."""
    pieces = [p for p in design.parts if p.kind == "track" and p.face == part.face and len(p.solids) == 3]
    piece = next((p for p in pieces if p.role == "edge channel"), pieces[0] if pieces else None)
    if piece is None:
        wall = next((m.thickness_mm for m in design.materials if m.kind == "track"), 1.5)
        return _Channel(fit.slot_depth_mm, design.material(part.material).thickness_mm + 1.0, wall, wall)
    out = cross(piece.solids[0].u, piece.solids[0].v)
    flange, web, _ = sorted(piece.solids, key=lambda solid: dot(solid.origin, out))
    across = [a for a, _ in web.outline], [b for _, b in web.outline]
    thin = min(max(side) - min(side) for side in across)
    return _Channel(fit.slot_depth_mm, web.depth, thin, flange.depth)


def _row(drawing: Drawing, seat: Seat, channel: _Channel, thick: float, place: Point) -> None:
    """Draw both channels, backs outward, and both ends of the panel."""
    wide, middle = place
    half, outer = channel.wide / 2, channel.wide / 2 + channel.flange
    reach = channel.web + channel.deep
    for x, way in ((0.0, 1.0), (wide, -1.0)):
        outline = [
            (x, middle - outer), (x + way * reach, middle - outer), (x + way * reach, middle - half),
            (x + way * channel.web, middle - half), (x + way * channel.web, middle + half),
            (x + way * reach, middle + half), (x + way * reach, middle + outer), (x, middle + outer),
        ]  # fmt: skip
        drawing.outline(outline if way > 0 else outline[::-1], "tracks")
    ends = (channel.web + seat.gap_left, wide - channel.web - seat.gap_right)
    broken = (wide / 2 - BREAK_MM / 2, wide / 2 + BREAK_MM / 2)
    for left, right in ((ends[0], broken[0]), (broken[1], ends[1])):
        low, high = middle - thick / 2, middle + thick / 2
        drawing.outline(((left, low), (right, low), (right, high), (left, high)), "panels")
    if drawing.words:
        for x in broken:
            over = thick / 2 + 4
            points = [(x, middle - over), (x - 2, middle - 2), (x + 2, middle + 2), (x, middle + over)]
            for a, b in itertools.pairwise(points):
                drawing.line(a, b, "break lines")


def _measures(drawing: Drawing, seat: Seat, channel: _Channel, place: Point) -> None:
    """Dimension cover and clearance at both ends; a clearance of nothing is said in words."""
    wide, middle = place
    foot = middle - channel.wide / 2 - channel.flange
    for back, way, gap in ((0.0, 1.0, seat.gap_left), (wide, -1.0, seat.gap_right)):
        web, mouth = back + way * channel.web, back + way * (channel.web + channel.deep)
        edge = web + way * gap
        align: Align = "left" if way > 0 else "right"
        for name, none, (a, b), away in (
            (tr("cover"), tr("no cover"), (edge, mouth), -5.0),
            (tr("clearance"), tr("no clearance"), (web, edge), -11.0),
        ):
            long = abs(a - b)
            beside = mouth + way * 2.0
            if long > 0.05:
                low, high = (min(a, b), foot), (max(a, b), foot)
                figure = None if long > LEAST_MM else (beside + way * 5.0, foot + away)
                drawing.dimension(low, high, away, "<>", 0.0, figure_at=figure)
                beside += 0.0 if figure is None else way * 10.5
            words = name if long > 0.05 else none
            drawing.text(words, (beside, foot + away), height=2.0, align=align)


def _once(drawing: Drawing, channel: _Channel, thick: float, place: Point) -> None:
    """Dimension on the first row what is alike in all."""
    wide, middle = place
    top = middle + channel.wide / 2 + channel.flange
    web, mouth = wide - channel.web - channel.deep, wide - channel.web
    drawing.dimension((web, top), (mouth, top), 4.0, "<>", 0.0)
    drawing.dimension((0.0, middle - channel.wide / 2), (0.0, middle + channel.wide / 2), 5.0, "<>", 90.0)
    x = wide / 2 + BREAK_MM / 2 + 5
    drawing.dimension((x, middle - thick / 2), (x, middle + thick / 2), 0.0, "<>", 90.0)


def _notes(design: Design, drawing: Drawing, part: Part, axis: int) -> None:
    fit = part.fit
    assert fit is not None
    along = tr("section along its height") if axis else tr("section along its width")
    head = tr("panel {mark} ({address}), {section}: the one with the least cover to spare")
    sizes = tr("slot {slot} deep; least cover {least}; movement from coldest to hottest {movement}; dimensions in mm")
    lines = (
        head.format(mark=part.mark, address=address(part), section=along),
        sizes.format(
            slot=fine(design, fit.slot_depth_mm),
            least=fine(design, fit.least_cover_mm),
            movement=fine(design, fit.movement_mm[axis]),
        ),
    )
    for row, line in enumerate(lines):
        drawing.text(line, (0.0, 10.0 - row * 4.4), height=TEXT_MM)
