"""How do the parts meet, in full size? One DXF file for each detail.

``detail-sill``, ``detail-corner``, ``detail-roof-edge`` and ``detail-bays`` are cuts
through the model: every outline is a part cut by a plane, so a detail changes with the
sizes. ``detail-track`` (`dxf_track`) shows a panel in its track. All are dimensioned; what
a window cuts off ends at a break line.

Where the page does not hold it in full size, a detail is drawn 1 : 2, and says so.

Left out: screws, tape and seals.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from textwrap import wrap

from enclosure.language import later, small, tr
from enclosure.outputs.drawing.details import Detail, clipped, details
from enclosure.outputs.drawing.frame_pieces import BOLT_MM, HOLE_PLAY_MM, clamped, wall_bodies
from enclosure.outputs.drawing.section import Knife, Slice, level_section, slices
from enclosure.outputs.dxf_elevations import LAYER_OF
from enclosure.outputs.dxf_page import Drawing, Point, outline_box, view_room
from enclosure.outputs.dxf_title import text_width
from enclosure.outputs.dxf_track import draw_track
from enclosure.outputs.dxf_words import dimension, fine, material_of, measured, title
from enclosure.shape.model import Design, Fixing, Part, Vec
from enclosure.shape.names import face_code
from enclosure.shape.space import area, cross

LIST_MM, AROUND_MM = 80.0, 16.0  # room for the list of parts, and for dimensions on the other sides [mm on paper]
EDGE_MM = 14.0  # between what a detail is about and the edge of its window [mm]
WIDEST_MM, HIGHEST_MM = 190.0, 160.0
SCALES = (1.0, 2.0, 5.0)
STOUT_MM = 300.0  # timber that the cut runs along, not across, is not what a detail is about
ABOUT: dict[str, tuple[tuple[str, str], ...]] = {
    "sill": (("sill", "FRONT"), ("edge channel", "FRONT")),
    "corner": (("stile", "FRONT"), ("stile", "LEFT")),
    "roof-edge": (("head", "FRONT"), ("top rail", ""), ("eaves rail", ""), ("rafter", "")),
    "bays": (("mullion", "FRONT"), ("joiner", "FRONT")),
}
LINE_STEP, LIST_TEXT_MM = 4.0, 2.0
BUBBLE_MM = 2.6
_RUN: Vec = (0.0, 1.0, 0.0)


def draw_details(design: Design, folder: Path, *, words: bool = True) -> list[Path]:
    """Write every detail and return the paths."""
    wide, high = view_room(design.paper)
    room = (min(WIDEST_MM, wide - LIST_MM - AROUND_MM) - 0.5, min(HIGHEST_MM, high - 2 * AROUND_MM) - 0.5)
    chosen = [_framed(design, _at_a_bolt(design, detail), room) for detail in details(design, room)]
    names = [f"detail-{detail.key}" for detail in chosen]
    track = draw_track(design, folder, (len(names) + 1, len(names) + 1), words=words)
    count = len(names) + (track is not None)
    paths = [
        _draw(design, detail, folder / f"{name}.dxf", (number, count), words)
        for number, (detail, name) in enumerate(zip(chosen, names, strict=True), start=1)
    ]
    return paths if track is None else [*paths, track]


def _at_a_bolt(design: Design, detail: Detail) -> Detail:
    """Return the corner cut at the height of a bolt, half way up; other details as they are."""
    if detail.key != "corner":
        return detail
    bolts = sorted(_corner_bolts(design), key=lambda place: place[2])
    if not bolts:
        return detail
    return replace(detail, title=later("Corner bolt, front left"), knife=level_section(bolts[len(bolts) // 2][2]))


def _framed(design: Design, detail: Detail, room: Point) -> Detail:
    """Return a detail with its window about what it shows: full size where the page holds it, else smaller."""
    left, bottom, right, top = detail.window
    far = (left - room[0], bottom - room[1], right + room[0], top + room[1])
    points = list(_brick(design, replace(detail, window=far)))
    for one in slices(design, detail.knife, far):
        for role, face in ABOUT[detail.key]:
            whole = outline_box(one.outline)
            stout = max(whole[2] - whole[0], whole[3] - whole[1]) < STOUT_MM or role == "edge channel"
            if one.part.role == role and one.part.face.startswith(face or "ROOF") and stout:
                low, high = (whole[0], whole[1]), (whole[2], whole[3])
                points += [low, high] if role != "edge channel" else [low, (high[0], low[1])]
    if not points:
        return detail
    if detail.key == "roof-edge":
        points += _skin_over(design, detail, outline_box(points))
    box = outline_box(points)
    need = (box[2] - box[0] + 2 * EDGE_MM, box[3] - box[1] + 2 * EDGE_MM)
    scale = next((s for s in SCALES if need[0] <= s * room[0] and need[1] <= s * room[1]), SCALES[-1])
    middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
    half = (scale * room[0] / 2, scale * room[1] / 2)
    window = (middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1])
    return replace(detail, window=window)


def _skin_over(design: Design, detail: Detail, box: tuple[float, float, float, float]) -> list[Point]:
    """Return the corners of the roof's skin and track above the timbers of a detail."""
    far = (box[0] - 100.0, box[1], box[2], box[3] + 200.0)
    over = [one for one in slices(design, detail.knife, far) if one.part.face.startswith("ROOF")]
    return [p for one in over for p in clipped(one.outline, far) if one.part.kind in ("panel", "track")]


def _corner_bolts(design: Design) -> list[Vec]:
    """Return the places of the bolts in the front left corner."""
    half = (design.outside_mm[0] / 2, design.outside_mm[1] / 2)
    return [
        place
        for fixing in design.fixings
        if _is_corner_bolt(fixing)
        for place in fixing.positions
        if place[0] < half[0] and place[1] < half[1]
    ]


def _is_corner_bolt(fixing: Fixing) -> bool:
    return fixing.bag == "corner bolts" and fixing.key.startswith("bolt")


def _draw(design: Design, detail: Detail, path: Path, page: tuple[int, int], words: bool) -> Path:
    left, bottom, right, top = detail.window
    size = (right - left, top - bottom)
    head = title(design, tr("detail: {title}").format(title=small(tr(detail.title))), path.stem, *page)
    drawing = Drawing(head, design.paper, size, (AROUND_MM, AROUND_MM, LIST_MM, AROUND_MM), words=words)
    inside = [(one, clipped(one.outline, detail.window)) for one in slices(design, detail.knife, detail.window)]
    found = [(one, points) for one, points in inside if points and abs(area(points)) > 0.01]
    for one, points in found:
        drawing.outline(_ahead(points), LAYER_OF.get(one.part.kind, "bracing"))
        if one.part.kind in ("member", "batten", "diagonal"):
            drawing.hatch(points)
    brick = _brick(design, detail)
    if brick:
        drawing.outline(_ahead(brick), "base ring")
        drawing.hatch(brick, 90.0, 2.0)
    if words:
        frame = ((left, bottom), (right, bottom), (right, top), (left, top))
        for number, corner in enumerate(frame):
            drawing.line(frame[number - 1], corner, "break lines")
        _DIMENSIONS[detail.key](design, drawing, detail, [one for one, _ in found], brick)
        _names(design, drawing, detail, found, bool(brick))
    return drawing.finish(path)


def _ahead(points: Sequence[Point]) -> list[Point]:
    """Return an outline counter-clockwise."""
    return list(points) if area(points) > 0 else list(reversed(points))


def _brick(design: Design, detail: Detail) -> list[Point]:
    """Return the brick under the sill as an upright cut shows it, none where there is no ring."""
    base = design.base
    if detail.key != "sill" or not base.ring_length_mm:
        return []
    edge = (design.outside_mm[1] - base.ring_width_mm) / 2
    _, wide, high = base.brick_mm
    corners = ((edge, -high), (edge + wide, -high), (edge + wide, 0.0), (edge, 0.0))
    return clipped(corners, detail.window)


# --- dimensions -------------------------------------------------------------------


def _box_of(found: Sequence[Slice], role: str, face: str) -> tuple[float, float, float, float] | None:
    points = [p for one in found if one.part.role == role and one.part.face == face for p in one.outline]
    return outline_box(points) if points else None


def _sides(
    design: Design, drawing: Drawing, box: tuple[float, float, float, float], across: float, up: float
) -> None:
    """Dimension a box below (negative `across`) or above, and at its left (positive `up`) or right."""
    left, lower, right, upper = box
    level = lower if across < 0 else upper
    dimension(design, drawing, (left, level), (right, level), across, 0)
    side = left if up > 0 else right
    dimension(design, drawing, (side, lower), (side, upper), up, 90)


def _thickness(design: Design, drawing: Drawing, found: Sequence[Slice], face: str, level: float, away: float) -> None:
    """Dimension the thickness of an upright panel of a face at a height of the drawing."""
    box = _box_of(found, "panel", face)
    if box is not None:
        dimension(design, drawing, (box[0], level), (box[2], level), away, 0)


def _sill(design: Design, drawing: Drawing, detail: Detail, found: list[Slice], brick: list[Point]) -> None:
    sill = _box_of(found, "sill", "FRONT")
    top = detail.window[3]
    if sill is not None:
        dimension(design, drawing, (sill[2], sill[1]), (sill[2], sill[3]), -8.0, 90)
        dimension(design, drawing, (sill[0], sill[3]), (sill[2], sill[3]), 6.0, 0)
    _thickness(design, drawing, found, "FRONT", top, 4.0)
    if brick:
        ring = outline_box(brick)
        _sides(design, drawing, ring, -6.0, 8.0)
        if sill is not None and abs(ring[0] - sill[0]) > 0.5:
            start, end = sorted((ring[0], sill[0]))
            dimension(design, drawing, (start, ring[1]), (end, ring[1]), -12.0, 0)


def _corner(design: Design, drawing: Drawing, detail: Detail, found: list[Slice], _: list[Point]) -> None:
    front, side = _box_of(found, "stile", "FRONT"), _box_of(found, "stile", "LEFT")
    if side is not None:
        dimension(design, drawing, (side[2], side[1]), (side[2], side[3]), -8.0, 90)
        dimension(design, drawing, (side[0], side[3]), (side[2], side[3]), 12.0, 0)
    if front is not None:
        dimension(design, drawing, (front[2], front[1]), (front[2], front[3]), -8.0, 90)
        dimension(design, drawing, (front[0], front[1]), (front[2], front[1]), -18.0, 0)
    _thickness(design, drawing, found, "LEFT", detail.window[3], 4.0)
    level = detail.knife.point[2]
    for place in _corner_bolts(design):
        if abs(place[2] - level) < 1.0:
            _bolt(design, drawing, detail.knife, place)


def _bolt(design: Design, drawing: Drawing, knife: Knife, place: Vec) -> None:
    """Draw the hole of a bolt through the members that it clamps, its axis and its dimensions."""
    spans = clamped(wall_bodies(design), place, _RUN)
    if not spans:
        return
    x, y = knife.flat(place)
    low, high = y + min(near for _, near, _ in spans), y + max(far for _, _, far in spans)
    half = (BOLT_MM + HOLE_PLAY_MM) / 2
    for side in (-half, half):
        drawing.line((x + side, low), (x + side, high), "holes")
    drawing.line((x, low - 12.0), (x, high + 12.0), "centre lines")
    dimension(design, drawing, (0.0, high), (x, high), 5.0, 0)
    dimension(design, drawing, (x, low), (x, high), -(drawing.scale + 59.0) / drawing.scale, 90)


def _roof_edge(design: Design, drawing: Drawing, detail: Detail, found: list[Slice], _: list[Point]) -> None:
    head = _box_of(found, "head", "FRONT")
    roof = [one for one in found if one.part.face.startswith("ROOF")]
    if head is not None:
        dimension(design, drawing, (head[2], head[1]), (head[2], head[3]), -26.0, 90)
        dimension(design, drawing, (head[0], head[1]), (head[2], head[1]), -14.0, 0)
    edge = min((x for one in roof for x, _ in one.outline), default=0.0)
    if head is not None and edge < head[0] - 0.5:
        dimension(design, drawing, (edge, head[1]), (head[0], head[1]), -14.0, 0)
    _thickness(design, drawing, found, "FRONT", detail.window[1], -4.0)
    panels = [one for one in roof if one.part.kind == "panel"]
    if panels:
        _across(design, drawing, max(panels, key=lambda one: _width(clipped(one.outline, detail.window))), detail)


def _width(outline: Sequence[Point]) -> float:
    return max(x for x, _ in outline) - min(x for x, _ in outline)


def _across(design: Design, drawing: Drawing, panel: Slice, detail: Detail) -> None:
    """Dimension the thickness of a sloped panel, square to it, where the window cuts it off."""
    solid = panel.part.solids[0]
    a, b = detail.knife.flat(cross(solid.u, solid.v))
    thick = solid.depth / math.hypot(a, b)  # more than its own where the cut is not square to the slope
    a, b = a / math.hypot(a, b), b / math.hypot(a, b)
    inside = clipped(panel.outline, detail.window)
    x = max(x for x, _ in inside) - min(drawing.on_paper(16.0), 0.4 * _width(inside))
    crossed = [
        p[1] + (x - p[0]) / (q[0] - p[0]) * (q[1] - p[1])
        for p, q in zip(inside, [*inside[1:], inside[0]], strict=True)
        if (p[0] - x) * (q[0] - x) < 0
    ]
    if crossed and b:
        low = (x, min(crossed) if b > 0 else max(crossed))
        drawing.dimension(low, (low[0] + thick * a, low[1] + thick * b), 0.0, measured(design, thick))


def _bays(design: Design, drawing: Drawing, detail: Detail, found: list[Slice], _: list[Point]) -> None:
    left = detail.window[0]
    mullion = _box_of(found, "mullion", "FRONT")
    if mullion is not None:
        _sides(design, drawing, mullion, 6.0, -8.0)
    track = _box_of(found, "joiner", "FRONT")
    if track is not None:
        dimension(design, drawing, (track[0], track[1]), (track[2], track[1]), -14.0, 0)
    panels = sorted(
        (outline_box(one.outline) for one in found if one.part.kind == "panel" and one.part.face == "FRONT"),
    )
    if len(panels) == 2 and track is not None:
        dimension(design, drawing, (panels[0][2], track[1]), (panels[1][0], track[1]), -7.0, 0)
    if panels and panels[0][0] < left:
        dimension(design, drawing, (left, panels[0][1]), (left, panels[0][3]), 5.0, 90)


_DIMENSIONS = {"sill": _sill, "corner": _corner, "roof-edge": _roof_edge, "bays": _bays}


# --- names ------------------------------------------------------------------------


def _names(
    design: Design, drawing: Drawing, detail: Detail, found: list[tuple[Slice, list[Point]]], brick: bool
) -> None:
    """Number the parts in the drawing and say beside it what they are."""
    _, _, right, top = detail.window
    x, y = right + drawing.on_paper(15.0), top - drawing.on_paper(3.0)
    drawing.text(tr(detail.title), (x, y), height=3.5)
    size = tr("full size") if drawing.scale == 1 else f"1 : {drawing.scale}"
    lines = [tr(detail.note), tr("{size}; cut timber and brick are hatched").format(size=size)]
    rows: dict[str, int] = {}
    for one, points in found:
        name = _name(design, one.part)
        if name not in rows:
            rows[name] = len(rows) + 1
            _bubble(drawing, rows[name], points, detail)
    lines += [f"{number}  {name}" for name, number in rows.items()]
    if brick:
        brick_size = " x ".join(fine(design, v) for v in design.base.brick_mm)
        lines.append(tr("brick of the base ring, {size}").format(size=brick_size))
    if detail.key == "corner":
        lines += [f"{fixing.name}, {tr(fixing.bag)}" for fixing in design.fixings if fixing.bag == "corner bolts"]
        lines.append(tr("holes {size} through both stiles").format(size=fine(design, BOLT_MM + HOLE_PLAY_MM)))
        lines.append(tr("sink the heads into the outside of the front stile, so that what covers it lies flat"))
    most = int((LIST_MM - 16.0) / text_width("x", LIST_TEXT_MM))
    wrapped = [row for line in lines for row in wrap(line, most, subsequent_indent="    ")]
    for row, line in enumerate(wrapped, start=1):
        drawing.text(line, (x, y - drawing.on_paper(1.5 + row * LINE_STEP)), height=LIST_TEXT_MM)


def _name(design: Design, part: Part) -> str:
    material = material_of(design, part.material)
    return f"{tr(part.role)} ({face_code(part.face)}), {material.name if material is not None else part.material}"


def _bubble(drawing: Drawing, number: int, points: Sequence[Point], detail: Detail) -> None:
    """Write a part's number in a circle, inside the part where it holds it, else beside it with a leader."""
    middle = (math.fsum(x for x, _ in points) / len(points), math.fsum(y for _, y in points) / len(points))
    left, lower, right, upper = outline_box(points)
    window = detail.window
    radius = drawing.on_paper(BUBBLE_MM)
    big = min(right - left, upper - lower) > 2.6 * radius
    ways = ((1, 0.4), (0.4, 1), (-1, 0.4), (0.4, -1), (0.8, 0.8), (-0.8, 0.8), (-0.8, -0.8), (0.8, -0.8))
    reaches = [share * radius for share in (3.5, 5.0, 7.0, 9.0, 12.0)]
    spots = [middle] if big else []
    spots += [(middle[0] + a * r, middle[1] + b * r) for r in reaches for a, b in ways]
    inside = [
        (a, b)
        for a, b in spots
        if window[0] + radius < a < window[2] - radius and window[1] + radius < b < window[3] - radius
    ]
    size = 2.4 * radius
    at = drawing.clear_place(inside or spots, size, size)
    if at != middle:
        drawing.line(middle, at, "words")
    drawing.number(str(number), at, radius, "marks")
