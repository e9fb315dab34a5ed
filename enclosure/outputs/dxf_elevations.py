"""How does every frame look from outside? One DXF file with two views of each.

Upper row: the frame itself with its members, gussets and diagonals, their marks,
and chains of dimensions along the bays and up the transoms. Lower row: the same
frame glazed, with track and panels, their marks and the panel tiers. Each view is
square to its plane, so a roof shows its true slope length. Solids are drawn by the
outline of their prisms, projected on the plane.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from enclosure.outputs.dxf_page import TEXT_MM, Drawing, Point, outline_box, text_width
from enclosure.outputs.dxf_words import dimension, title
from enclosure.shape.model import Design, Frame, Part, Plane, Vec
from enclosure.shape.solid_math import corners, dot

LAYER_OF = {
    "member": "members", "track": "tracks", "panel": "panels", "film": "panels", "batten": "members",
    "gusset": "bracing", "diagonal": "bracing",
}
FRAME_KINDS = ("member", "gusset", "diagonal")
SKIN_KINDS = ("track", "panel", "film", "batten")
GAP_MM = 34.0  # between two views [mm on paper]
MARK_MM = 1.8
LARGE_PAPER = {"Letter": "Tabloid", "A4": "A3"}


def draw_elevations(design: Design, folder: Path, *, words: bool = True) -> Path:
    """Write ``elevations.dxf`` and return its path."""
    boxes = [_view_box(design, frame) for frame in design.frames]
    wide = sum(box[2] - box[0] for box in boxes)
    high = sum(max((box[3] - box[1] for box in boxes), default=0.0) for _ in range(2))
    gaps = GAP_MM * max(0, len(boxes) - 1)
    head = title(design, "elevations: frames and glazing, seen from outside", "elevations", 1, 1)
    around = (20.0 + gaps, 16.0 + GAP_MM, 16.0, 10.0)
    drawing = Drawing(head, LARGE_PAPER[design.paper], (wide, high), around, words=words)
    row = max((box[3] - box[1] for box in boxes), default=0.0) + drawing.on_paper(GAP_MM)
    left = 0.0
    for frame, box in zip(design.frames, boxes, strict=True):
        for kinds, name, up in ((FRAME_KINDS, "frame", row), (SKIN_KINDS, "glazing", 0.0)):
            _view(design, drawing, frame, (left - box[0], up - box[1]), kinds, name)
        left += box[2] - box[0] + drawing.on_paper(GAP_MM)
    return drawing.finish(folder / "elevations.dxf")


def parts_of(design: Design, frame: Frame, kinds: Sequence[str]) -> list[Part]:
    """Return the parts of some kinds that belong to a frame; a part without a level goes with the first."""
    return [
        part
        for part in design.parts
        if part.face == frame.face and part.kind in kinds and max(1, part.level) == frame.level
    ]


def silhouettes(plane: Plane, part: Part) -> list[tuple[Point, ...]]:
    """Return the outline of each prism of a part, seen square to a plane: the hull of its corners."""
    return [hull([on_plane(plane, corner) for corner in corners(prism)]) for prism in part.solids]


def on_plane(plane: Plane, point: Vec) -> Point:
    """Return the coordinates (a, b) of a world point on a plane."""
    o = plane.origin
    away = (point[0] - o[0], point[1] - o[1], point[2] - o[2])
    return dot(away, plane.u), dot(away, plane.v)


def hull(points: Sequence[Point]) -> tuple[Point, ...]:
    """Return the convex hull, counter-clockwise (monotone chain); points 1e-6 mm apart count as one."""
    distinct = sorted({(round(x, 6) + 0.0, round(y, 6) + 0.0) for x, y in points})
    if len(distinct) < 3:
        return tuple(distinct)

    def half(order: Sequence[Point]) -> list[Point]:
        kept: list[Point] = []
        for x, y in order:
            while len(kept) >= 2:
                (ax, ay), (bx, by) = kept[-2], kept[-1]
                if (bx - ax) * (y - ay) - (by - ay) * (x - ax) > 1e-6:
                    break
                kept.pop()
            kept.append((x, y))
        return kept[:-1]

    return (*half(distinct), *half(distinct[::-1]))


# --- one view ---------------------------------------------------------------------


def _view_box(design: Design, frame: Frame) -> tuple[float, float, float, float]:
    """Return the bounds of everything that the views of a frame show, in (a, b)."""
    points = list(frame.outline)
    for part in parts_of(design, frame, (*FRAME_KINDS, *SKIN_KINDS)):
        for outline in silhouettes(frame.plane, part):
            points.extend(outline)
    return outline_box(points)


def _view(
    design: Design, drawing: Drawing, frame: Frame, shift: Point, kinds: Sequence[str], name: str
) -> None:
    middle = _moved([_middle(frame.outline)], shift)[0]
    parts = parts_of(design, frame, kinds)
    for part in parts:
        for outline in silhouettes(frame.plane, part):
            if len(outline) >= 3:
                drawing.outline(_moved(outline, shift), LAYER_OF[part.kind])
    for part in sorted(parts, key=lambda part: part.kind not in ("panel", "film")):
        _mark(drawing, part, _moved(_largest(frame.plane, part), shift), middle)
    if drawing.words:
        left, lower, right, _ = outline_box(_moved(frame.outline, shift))
        tier = f" tier {frame.level}" if frame.level > 1 else ""
        at = ((left + right) / 2, lower - drawing.on_paper(18.0))
        drawing.text(f"{frame.face}{tier}: {name}", at, height=TEXT_MM * 1.2, align="middle")
        _chains(design, drawing, frame, shift, name)


def _chains(design: Design, drawing: Drawing, frame: Frame, shift: Point, name: str) -> None:
    left, lower, right, upper = outline_box(frame.outline)
    bays = [left, *(a for a in frame.bay_lines_mm if left < a < right), right]
    lines = frame.transom_lines_mm if name == "frame" else frame.tier_lines_mm
    tiers = [lower, *(b for b in lines if lower < b < upper), upper]

    def draw(start: Point, end: Point, away: float, turn: float) -> None:
        moved = _moved((start, end), shift)
        dimension(design, drawing, moved[0], moved[1], away, turn)

    draw((left, lower), (right, lower), -13.0 if len(bays) > 2 else -7.0, 0)
    if len(bays) > 2:
        for one, two in pairwise(bays):
            draw((one, lower), (two, lower), -6.0, 0)
    draw((left, lower), (left, upper), 13.0 if len(tiers) > 2 else 7.0, 90)
    if len(tiers) > 2:
        for one, two in pairwise(tiers):
            draw((left, one), (left, two), 6.0, 90)
    right_top = max(b for a, b in frame.outline if abs(a - right) < 1e-6)
    if upper - right_top > 1e-6:
        draw((right, lower), (right, right_top), -7.0, 90)


def _mark(drawing: Drawing, part: Part, outline: Sequence[Point], middle: Point) -> None:
    """Write a mark: in the middle of a panel, beside a stick, on the side of the middle of the frame."""
    if len(outline) < 3:
        return
    left, lower, right, upper = outline_box(outline)
    at = _middle(outline)
    if part.kind in ("panel", "film"):
        tall = drawing.fitted(part.mark, 5.0, (right - left) * 0.8)
        half_wide = text_width(part.mark, tall) / 2
        spots = [(at[0], lower + share * (upper - lower)) for share in (0.5, 0.38, 0.62, 0.26, 0.74)]
        free = (
            (x, y) for x, y in spots
            if drawing.free((x - half_wide, y - tall / 2, x + half_wide, y + tall / 2))
        )
        drawing.text(part.mark, next(free, spots[0]), "marks", align="middle", model_height=tall)
        return
    upright = upper - lower > right - left
    half = (right - left) / 2 if upright else (upper - lower) / 2
    tall = drawing.on_paper(MARK_MM)
    step = half + 0.8 * tall
    if part.kind in ("gusset", "diagonal"):
        step = 0.0
    tries = [(side, along) for along in (0.0, 0.22, -0.22, 0.36, -0.36) for side in (1, -1)]
    for side, along in tries:
        if upright:
            away = side * step * (1 if middle[0] >= at[0] else -1)
            place = (at[0] + away, at[1] + along * (upper - lower))
        else:
            away = side * step * (1 if middle[1] >= at[1] else -1)
            place = (at[0] + along * (right - left), at[1] + away)
        reach = 0.4 * tall * len(part.mark), 0.5 * tall
        if upright:
            reach = reach[::-1]
        box = (place[0] - reach[0], place[1] - reach[1], place[0] + reach[0], place[1] + reach[1])
        if drawing.free(box):
            break
    drawing.text(part.mark, place, "marks", align="middle", turn=90.0 if upright else 0.0, model_height=tall)


def _largest(plane: Plane, part: Part) -> tuple[Point, ...]:
    outlines = silhouettes(plane, part)

    def spread(outline: Sequence[Point]) -> float:
        left, lower, right, upper = outline_box(outline)
        return (right - left) * (upper - lower)

    return max(outlines, key=spread, default=())


def _moved(points: Sequence[Point], shift: Point) -> list[Point]:
    return [(x + shift[0], y + shift[1]) for x, y in points]


def _middle(points: Sequence[Point]) -> Point:
    left, lower, right, upper = outline_box(points)
    return (left + right) / 2, (lower + upper) / 2
