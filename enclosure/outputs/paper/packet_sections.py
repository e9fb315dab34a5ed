"""How do the parts meet at the sill, the roof edge, the corner and between bays? Cuts through the model.

Every line is a part of the model cut by a plane, so the details change with the
sizes. Timber is hatched, track and panels are filled; bolts that lie near the
plane are shown by a cross.

Units: mm on paper; half size, or smaller where both stiles of the corner would not fit.
"""

from __future__ import annotations

import math

from enclosure.language import decimal, tr
from enclosure.outputs.drawing.details import OUTSIDE_MM, Detail, clipped, details
from enclosure.outputs.drawing.section import Slice, slices
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import (
    BLACK,
    DRAWN,
    GLASS,
    METAL,
    PALE,
    SMALLEST,
    WHITE,
    WOOD,
    Box,
    Ink,
    Sheet,
    path_code,
)
from enclosure.outputs.paper.scale import Fitting
from enclosure.shape.model import Design
from enclosure.shape.screws import SINK_DEEP_MM, SINK_WIDE_MM
from enclosure.shape.space import dot

_DIVISORS = (2.0, 2.5, 4.0)
_NEAR_MM = 40.0
_FILLS: dict[str, Ink] = {
    "member": WOOD,
    "batten": WOOD,
    "diagonal": WOOD,
    "track": METAL,
    "panel": GLASS,
    "film": GLASS,
    "gusset": PALE,
    "lining": PALE,
}


def sections_draw(design: Design, area: tuple[float, float]) -> Draw | None:
    """Return the drawing of the page, or None without a front frame."""
    room, high = area
    cell = (room / 2 - 3, (high - 24) / 2)
    need = _needed(design)
    paper = (cell[0] - 2, cell[1] - 34)
    divisor = next((d for d in _DIVISORS if all(p * d >= n for p, n in zip(paper, need, strict=True))), _DIVISORS[-1])
    chosen = details(design, (paper[0] * divisor, paper[1] * divisor))
    if not chosen:
        return None

    def draw(sheet: Sheet) -> None:
        left, _, _, _ = sheet.area
        y = heading(
            sheet,
            tr("Details"),
            tr("Scale 1 : {divisor}, cut through the model. Crosses: bolts and screws near the cut.").format(
                divisor=decimal(f"{divisor:g}")
            ),
        )
        for place, detail in enumerate(chosen):
            row, column = divmod(place, 2)
            x = left + column * (cell[0] + 6)
            top = y - row * cell[1]
            _detail(sheet, design, detail, (x, top - cell[1], x + cell[0], top), divisor)

    return draw


def _needed(design: Design) -> tuple[float, float]:
    """Return what a window must hold: both stiles of a corner, and sill or ring with the track before it."""
    front = next((f for f in design.frames if f.face == "FRONT"), None)
    if front is None:
        return 0.0, 0.0
    stile = next((p for p in design.parts if p.role == "stile" and p.face == "LEFT"), None)
    face = 0.0
    if stile is not None:
        across = [a for a, _ in stile.solids[0].outline]
        face = max(across) - min(across)
    brick = design.base.brick_mm[1]
    deep = max(front.depth_mm, (brick + front.depth_mm) / 2 if brick else 0.0)
    return (deep + 20.0) / 0.65, front.depth_mm + face + OUTSIDE_MM + 12.0


def _detail(sheet: Sheet, design: Design, detail: Detail, box: Box, divisor: float) -> None:
    left, bottom, right, top = box
    sheet.text(tr(detail.title), left, top - 5, right - left, DRAWN, bold=True)
    sheet.text(tr(detail.note), left, top - 9, right - left, SMALLEST)
    window = detail.window
    high = (window[3] - window[1]) / divisor
    place = Fitting(divisor, (left, top - 11 - high), (window[0], window[1]))
    frame = [
        place.at(p)
        for p in (
            (window[0], window[1]),
            (window[2], window[1]),
            (window[2], window[3]),
            (window[0], window[3]),
        )
    ]
    pen = sheet.canvas
    pen.saveState()
    sheet.ops(path_code(frame) + " W n")
    found = slices(design, detail.knife, window)
    _ring(sheet, design, detail, place)
    for one in found:
        points = [place.at(p) for p in one.outline]
        sheet.polygon(points, _FILLS.get(one.part.kind, WHITE), "wide", 0.3)
        if one.part.kind in ("member", "batten", "diagonal"):
            sheet.hatch(points, 1.8)
    _bolts(sheet, design, detail, place)
    if detail.key == "corner":
        _corner_bolt(sheet, design, detail, place)
    pen.restoreState()
    sheet.polygon(frame, None, "narrow", 0.18)
    _names(sheet, design, found, place, detail, (left, bottom + 1, right, place.corner[1] - 1))


def _ring(sheet: Sheet, design: Design, detail: Detail, place: Fitting) -> None:
    """Draw the brick under the sill of an upright section."""
    base = design.base
    if not base.ring_length_mm or detail.knife.up[2] < 0.5:
        return
    edge = (design.outside_mm[1] - base.ring_width_mm) / 2
    brick = [
        (edge, -base.brick_mm[2]),
        (edge + base.brick_mm[1], -base.brick_mm[2]),
        (edge + base.brick_mm[1], 0.0),
        (edge, 0.0),
    ]
    points = [place.at(p) for p in brick]
    sheet.polygon(points, WHITE, "wide", 0.3)
    sheet.hatch(points, 3.0, -45.0)


def _bolts(sheet: Sheet, design: Design, detail: Detail, place: Fitting) -> None:
    knife = detail.knife
    level = dot(knife.point, knife.normal)
    for fixing in design.fixings:
        for position in fixing.positions:
            if abs(dot(position, knife.normal) - level) > _NEAR_MM:
                continue
            x, y = place.at(knife.flat(position))
            sheet.line((x - 2, y), (x + 2, y), "narrow", 0.2)
            sheet.line((x, y - 2), (x, y + 2), "narrow", 0.2)


def _corner_bolt(sheet: Sheet, design: Design, detail: Detail, place: Fitting) -> None:
    """Draw the axis of the corner's bolts, which lie above and below the cut, and the hole their heads are sunk in."""
    front = next(f for f in design.frames if f.face == "FRONT")
    spots = [p for f in design.fixings if f.bag == "corner bolts" and f.key.startswith("bolt") for p in f.positions]
    near = [p for p in spots if p[0] < design.outside_mm[0] / 2 and p[1] < design.outside_mm[1] / 2]
    if not near:
        return
    x, end = near[0][0], max(p[1] for p in near) + 14.0
    sheet.line(place.at((x, -14.0)), place.at((x, end)), "centre", 0.25)
    for half, low, high in ((SINK_WIDE_MM / 2, 0.0, SINK_DEEP_MM), (4.0, SINK_DEEP_MM, end - 6.0)):
        corners = [(x - half, low), (x + half, low), (x + half, high), (x - half, high)]
        sheet.polygon([place.at(p) for p in corners], None, "hidden", 0.25)
    spot = place.at((x + SINK_WIDE_MM / 2, front.depth_mm * 0.5))
    sheet.text(tr("corner bolt, head sunk"), spot[0] + 6, spot[1], 34, SMALLEST)
    sheet.line(place.at((x + 4.0, front.depth_mm * 0.5)), (spot[0] + 5.5, spot[1] + 0.7), "narrow", 0.18)


def _names(
    sheet: Sheet, design: Design, found: list[Slice], place: Fitting, detail: Detail, box: Box
) -> None:
    """Write numbers on the parts and say under the drawing what they are."""
    window = detail.window
    seen: dict[str, int] = {}
    saved = sheet.area
    sheet.area = (
        place.at((window[0], 0))[0],
        place.at((0, window[1]))[1],
        place.at((window[2], 0))[0],
        place.at((0, window[3]))[1],
    )
    for one in found:
        name = f"{tr(one.part.role)}, {design.material(one.part.material).name}"
        new = name not in seen
        number = seen.setdefault(name, len(seen) + 1)
        if new:
            _number(sheet, number, one, place, window)
    sheet.area = saved
    left, bottom, right, top = box
    columns = 1 if len(seen) <= 6 else 2
    each = -(-len(seen) // columns)
    wide = (right - left) / columns
    for index, (name, number) in enumerate(seen.items()):
        column, row = divmod(index, max(each, 1))
        y = top - 3.2 - row * 3.3
        if y > bottom:
            sheet.text(f"{number}  {name}", left + column * wide, y, wide - 2, SMALLEST)


def _number(sheet: Sheet, number: int, one: Slice, place: Fitting, window: Box) -> None:
    inside = clipped(one.outline, window)
    if len(inside) < 3:
        return
    spot = place.at((math.fsum(p[0] for p in inside) / len(inside), math.fsum(p[1] for p in inside) / len(inside)))
    steps = [(0.0, 0.0)] + [
        (dx * reach, dy * reach)
        for reach in (5, 8, 12, 16, 21)
        for dx, dy in (
            (1, 0.3),
            (0.3, 1),
            (-1, 0.3),
            (0.3, -1),
            (0.8, 0.8),
            (-0.8, 0.8),
            (-0.8, -0.8),
            (0.8, -0.8),
        )
    ]
    across, upward = [p[0] for p in inside], [p[1] for p in inside]
    big = min(max(across) - min(across), max(upward) - min(upward)) / place.divisor > 5
    for dx, dy in steps if big else steps[1:]:
        x, y = spot[0] + dx, spot[1] + dy
        if sheet.is_free((x - 1.9, y - 1.9, x + 1.9, y + 1.9), 0.3):
            if dx or dy:
                sheet.line(spot, (x, y), "narrow", 0.18)
                sheet.circle(spot[0], spot[1], 0.4, BLACK)
            sheet.circle(x, y, 1.9, WHITE, 0.2)
            sheet.text(str(number), x, y - 0.9, 3.4, SMALLEST, align="centre", bold=True)
            return
