"""How does every frame look from outside? One DXF file with two views of each.

Left: the frame itself with its members, gussets and diagonals, their marks, and
chains of dimensions along the bays and up the transoms. Right: the same frame glazed,
with track and panels, their marks and the panel tiers. Each view is square to its
plane, so a roof shows its true slope length. Solids are drawn by the outline of their
prisms, projected on the plane. All frames stand side by side in the model space; each
has a page of its own in the paper space.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

from enclosure.language import later, tr
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.neighbours import on_plane
from enclosure.outputs.dxf_page import Drawing, Point, outline_box
from enclosure.outputs.dxf_title import TEXT_MM, text_width
from enclosure.outputs.dxf_words import dimension, title
from enclosure.shape.model import Design, Frame, Part, Plane
from enclosure.shape.names import frame_word
from enclosure.shape.solid_math import corners

LAYER_OF = {
    "member": "members", "track": "tracks", "panel": "panels", "film": "panels", "batten": "members",
    "gusset": "bracing", "diagonal": "bracing",
}
FRAME_KINDS = ("member", "gusset", "diagonal")
SKIN_KINDS = ("track", "panel", "film", "batten")
GAP_MM = 34.0  # between two views [mm on paper]
MARK_MM = 1.8
FRAME, GLAZING = later("frame"), later("glazing")


def draw_elevations(design: Design, folder: Path, *, words: bool = True) -> Path:
    """Write ``elevations.dxf``, with a page for each frame, and return its path."""
    boxes = [_view_box(design, frame) for frame in design.frames]
    wide = max((box[2] - box[0] for box in boxes), default=0.0)
    high = max((box[3] - box[1] for box in boxes), default=0.0)
    count = len(design.frames)
    head = title(design, tr("elevations, seen from outside"), "elevations", 1, count)
    around = (18.0 + GAP_MM, 24.0, 10.0, 4.0)
    drawing = Drawing(head, design.paper, (2 * wide, high), around, words=words)
    step = drawing.on_paper(GAP_MM)
    for number, (frame, box) in enumerate(zip(design.frames, boxes, strict=True), start=1):
        start = drawing.marker()
        drawing.forget_lines()
        name = frame_name(frame)
        left = (number - 1) * drawing.page_width()
        for kinds, what in ((FRAME_KINDS, FRAME), (SKIN_KINDS, GLAZING)):
            _view(design, drawing, frame, (left - box[0], -box[1]), kinds, what)
            left += box[2] - box[0] + step
        if words:
            window = drawing.reach_since(start)
            words_of = tr("elevation {frame}, seen from outside").format(frame=frame_word(frame.face, frame.level))
            page = title(design, words_of, "elevations", number, count)
            drawing.page(name, page, window)
    return drawing.finish(folder / "elevations.dxf")


def frame_name(frame: Frame) -> str:
    """Return the name of a frame's page in the file: ``BACK``, ``FRONT tier 2``."""
    return f"{frame.face} tier {frame.level}" if frame.level > 1 else frame.face


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
        at = ((left + right) / 2, lower - drawing.on_paper(18.0))
        drawing.text(f"{frame_word(frame.face, frame.level)}: {tr(name)}", at, height=TEXT_MM * 1.2, align="middle")
        _chains(design, drawing, frame, shift, name)


def _chains(design: Design, drawing: Drawing, frame: Frame, shift: Point, name: str) -> None:
    left, lower, right, upper = outline_box(frame.outline)
    bays = [left, *(a for a in frame.bay_lines_mm if left < a < right), right]
    lines = frame.transom_lines_mm if name == FRAME else frame.tier_lines_mm
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
    wide, high = right - left, upper - lower
    x, y = _middle(outline)
    if part.kind in ("panel", "film"):
        tall = min(drawing.fitted(part.mark, 5.0, wide * 0.8), high * 0.35)
        spots = [(x, lower + share * high) for share in (0.5, 0.38, 0.62, 0.26, 0.74)]
        at = drawing.clear_place(spots, text_width(part.mark, tall), tall)
        drawing.mark(part.mark, at, tall)
        return
    tall = drawing.on_paper(MARK_MM)
    long = text_width(part.mark, tall)
    turn = 90.0 if high > wide else 0.0
    step = 0.0 if part.kind in ("gusset", "diagonal") else (wide if turn else high) / 2 + 0.8 * tall
    inward = 1 if (middle[0] >= x if turn else middle[1] >= y) else -1
    spots = [
        (x + side * inward * step, y + along * high) if turn else (x + along * wide, y + side * inward * step)
        for side in (1, -1)
        for along in (0.0, 0.1, -0.1, 0.22, -0.22, 0.36, -0.36)
    ]
    if part.kind == "diagonal":
        spots, turn = _beside_diagonal(outline, 0.5 * long + tall), 0.0
    size = (tall, long) if turn else (long, tall)
    at = drawing.clear_place(spots, *size)
    drawing.mark(part.mark, at, tall, turn)


def _beside_diagonal(outline: Sequence[Point], away: float) -> list[Point]:
    """Return places at the left and right of a diagonal, along its length."""
    low, high = (pick(outline, key=lambda point: (point[1], point[0])) for pick in (min, max))
    return [
        (low[0] + share * (high[0] - low[0]) + side * away, low[1] + share * (high[1] - low[1]))
        for share in (0.62, 0.38, 0.7, 0.3, 0.8, 0.2)
        for side in (-1.5, 1.5)
    ]


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
