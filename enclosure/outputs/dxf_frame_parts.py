"""How is each different stick of the frame cut and drilled? One DXF file, several pieces a page.

Every piece is drawn once, in true size: its face, outward side toward the reader, as the
closed cut path with the marks of all parts that are cut so; its edge seen from above and
its end seen from the right, placed after the projection of the paper (first or third
angle). Lengths are dimensioned from point to point along both edges, so that a sloped end
needs no protractor; holes of bolts are dimensioned in a row from the left end.

Left out: track (cut square from its stick), gussets and other sheet parts (dxf_sheets).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path

from enclosure.language import tr, tr_as
from enclosure.outputs.drawing.frame_pieces import FramePiece, Outline, frame_pieces
from enclosure.outputs.drawing.projection import projection_of
from enclosure.outputs.dxf_page import MARGIN, Drawing, Point, outline_box, page_of
from enclosure.outputs.dxf_title import TEXT_MM, TITLE_HEIGHT, text_width
from enclosure.outputs.dxf_words import dimension, fine, length, material_of, measured, size, title
from enclosure.shape.model import Design

NAME = "frame-parts.dxf"
GAP_MM = 7.5  # between two views [mm on paper]
SIDE_MM = 11.0  # room for dimensions at an end of a piece
HEAD_MM, MARKS_MM = 7.5, 3.5
HOLES_MM, LENGTHS_MM = 8.5, 9.5  # room for dimensions on the side of the edge view, and on that of the face
BETWEEN_MM = 2.5


def draw_frame_parts(design: Design, folder: Path, *, words: bool = True) -> Path | None:
    """Write ``frame-parts.dxf`` and return its path, or None for a design without sticks."""
    pieces = frame_pieces(design)
    if not pieces:
        return None
    longest = max(piece.cut.length_mm for piece in pieces)
    widest = max(_spread(piece.end)[0] for piece in pieces)
    tallest = max(_spread(piece.face)[1] + _spread(piece.edge)[1] for piece in pieces)
    around = (SIDE_MM, LENGTHS_MM + HEAD_MM, 3 * SIDE_MM, HOLES_MM + GAP_MM)
    extent = (longest + widest, tallest)
    pages = _dealt(design, pieces, extent, around)
    name = Path(NAME).stem
    head = title(design, tr("frame parts"), name, 1, len(pages))
    drawing = Drawing(head, design.paper, extent, around, words=words)
    for number, page in enumerate(pages, start=1):
        start, top = drawing.marker(), 0.0
        drawing.forget_lines()
        shift = (number - 1) * drawing.page_width()
        for piece in page:
            _piece(design, drawing, piece, (shift, top), longest)
            top -= drawing.on_paper(_high(piece, drawing.scale) + BETWEEN_MM)
        if words:
            drawing.page(f"frame parts {number}", title(design, tr("frame parts"), name, number, len(pages)),
                         drawing.reach_since(start))
    return drawing.finish(folder / NAME)


def _spread(outline: Outline) -> Point:
    left, lower, right, upper = outline_box(outline.points)
    return right - left, upper - lower


def _high(piece: FramePiece, scale: int) -> float:
    """Return the height of a piece with all its words [mm on paper]."""
    views = (_spread(piece.face)[1] + _spread(piece.edge)[1]) / scale
    return HEAD_MM + HOLES_MM + views + GAP_MM + LENGTHS_MM


def _dealt(
    design: Design, pieces: Sequence[FramePiece], extent: Point, around: tuple[float, float, float, float]
) -> list[list[FramePiece]]:
    """Deal the pieces to pages, as many on each as its height holds."""
    (_, page_high), scale = page_of(design.paper, extent, around)
    room = page_high - 2 * MARGIN - TITLE_HEIGHT - 4
    pages: list[list[FramePiece]] = []
    left = 0.0
    for piece in pieces:
        need = _high(piece, scale) + BETWEEN_MM
        if not pages or need > left:
            pages.append([])
            left = room
        pages[-1].append(piece)
        left -= need
    return pages


# --- one piece --------------------------------------------------------------------


def _piece(design: Design, drawing: Drawing, piece: FramePiece, top_left: Point, longest: float) -> None:
    """Draw a piece below a line: words, then its views."""
    left, top = top_left
    high, deep = _spread(piece.face)[1], _spread(piece.edge)[1]
    third = projection_of(design.paper) == "third angle"
    gap, aside = drawing.on_paper(GAP_MM), drawing.on_paper(SIDE_MM)
    upper = top - drawing.on_paper(HEAD_MM + (HOLES_MM if third else LENGTHS_MM))
    # third angle: the view from above stands above; first angle: below
    face = (left, upper - deep - gap - high) if third else (left, upper - high)
    edge = (left, upper - deep) if third else (left, upper - high - gap - deep)
    wide = _spread(piece.end)[0]
    end = (left + longest + 2 * aside if third else left - 2 * aside - wide, face[1])
    _outline(drawing, piece.face, face, "parts")
    _outline(drawing, piece.edge, edge, "other views")
    _outline(drawing, piece.end, end, "other views")
    _holes(drawing, piece, face, edge)
    if drawing.words:
        _words(design, drawing, piece, top_left, longest)
        _dimensions(design, drawing, piece, face, edge, third)
        _end_dimensions(design, drawing, piece, end)


def _outline(drawing: Drawing, view: Outline, at: Point, layer: str) -> None:
    drawing.outline([(x + at[0], y + at[1]) for x, y in view.points], layer)
    for a, b in view.inner:
        drawing.line((a[0] + at[0], a[1] + at[1]), (b[0] + at[0], b[1] + at[1]), "other views")


def _words(design: Design, drawing: Drawing, piece: FramePiece, top_left: Point, longest: float) -> None:
    left, top = top_left
    room = longest + drawing.on_paper(3 * SIDE_MM)
    marks = ", ".join(part.mark for part in piece.parts)
    tall = drawing.fitted(marks, MARKS_MM, 0.55 * room)
    row = top - drawing.on_paper(MARKS_MM / 2)
    drawing.text(marks, (left, row), "marks", model_height=tall)
    beside = 1.2 * text_width(marks, tall) + drawing.on_paper(3.0)
    for line, x, y in zip(
        piece_words(design, piece), (beside, 0.0), (row, row - drawing.on_paper(MARKS_MM + 0.6)), strict=True
    ):
        drawing.text(line, (left + x, y), model_height=drawing.fitted(line, TEXT_MM, room - x))


def piece_words(design: Design, piece: FramePiece) -> tuple[str, str]:
    """Return what a piece is, how many, how long; then how its ends, edge and holes are made."""
    first, cut = piece.parts[0], piece.cut
    material = material_of(design, first.material)
    roles = ", ".join(dict.fromkeys(tr(part.role) for part in piece.parts))
    section = size(design, material.thickness_mm, material.width_mm) if material is not None else first.material
    what = tr("{count} x {parts}, {section}, {length} long").format(
        count=len(piece.parts), parts=roles, section=section, length=length(design, cut.length_mm)
    )
    words = []
    wide = _spread(piece.face)[1]
    if material is not None and all(abs(wide - side) > 0.6 for side in (material.thickness_mm, material.width_mm)):
        words.append(tr("ripped to {width} wide").format(width=length(design, wide)))
    ends = [_end_words(piece, right=right) for right in (False, True)]
    square = tr_as("end of a stick", "square")
    both = tr("left end {left}, right end {right}").format(left=ends[0], right=ends[1])
    words.append(tr("ends square") if ends == [square] * 2 else both)
    if cut.bevel_deg:
        words.append(
            tr("one edge ripped to {angle:.1f} deg, {width} left at the low side").format(
                angle=cut.bevel_deg, width=length(design, cut.bevel_low_mm)
            )
        )
    if piece.bores:
        bore = piece.bores[0]
        if bore.edge:
            drill = tr("drill {count} x {diameter} through the edges, {off} from the outward side")
        else:
            drill = tr("drill {count} x {diameter} through the face, {off} from the lower edge")
        off = length(design, bore.across_mm)
        words.append(drill.format(count=len(piece.bores), diameter=fine(design, bore.diameter_mm), off=off))
    return what, "; ".join(words)


def _end_words(piece: FramePiece, *, right: bool) -> str:
    """Return how an end leans from square; an end of two cuts is named after the longer one."""
    points = piece.face.points
    middle = _spread(piece.face)[0] / 2
    edges = [
        (math.dist(p, q), abs(math.degrees(math.atan2(q[0] - p[0], q[1] - p[1]))))
        for p, q in zip(points, [*points[1:], points[0]], strict=True)
        if (p[0] > middle) == right and (q[0] > middle) == right and math.dist(p, q) > 0.5
    ]
    _, turn = max(edges, default=(0.0, 0.0))
    lean = round(min(turn, 180 - turn), 1)
    said = tr("{angle:.1f} deg from square").format(angle=lean) if lean else tr_as("end of a stick", "square")
    return said if len(edges) < 2 else tr("{end} and a second cut as drawn").format(end=said)


def _holes(drawing: Drawing, piece: FramePiece, face: Point, edge: Point) -> None:
    high, deep = _spread(piece.face)[1], _spread(piece.edge)[1]
    for bore in piece.bores:
        round_in, beside = (edge, face) if bore.edge else (face, edge)
        through = high if bore.edge else deep
        x, radius = round_in[0] + bore.x_mm, bore.diameter_mm / 2
        middle = (x, round_in[1] + bore.across_mm)
        drawing.circle(middle, radius, "holes")
        if drawing.words:
            drawing.line((x - 2 * radius, middle[1]), (x + 2 * radius, middle[1]), "holes")
            drawing.line((x, middle[1] - 2 * radius), (x, middle[1] + 2 * radius), "holes")
            for side in (-radius, radius):
                place = beside[0] + bore.x_mm + side
                drawing.line((place, beside[1]), (place, beside[1] + through), "hidden edges")


def _dimensions(
    design: Design, drawing: Drawing, piece: FramePiece, face: Point, edge: Point, third: bool
) -> None:
    """Dimension the length over all outside the pair of views, a shorter edge beside it, holes on the far side."""
    (long, high), (_, deep) = _spread(piece.face), _spread(piece.edge)
    outer, inner = (0.0, high) if third else (high, 0.0)
    out = -1.0 if third else 1.0
    spans = {}
    for y in (outer, inner):
        row = sorted(x for x, b in piece.face.points if abs(b - y) < 0.05)
        spans[y] = (row[0], row[-1])
    shorter = [y for y, (start, end) in spans.items() if end - start < long - 0.5]
    far = face[1] + outer
    dimension(design, drawing, (face[0], far), (face[0] + long, far), out * (8.0 if outer in shorter else 4.5), 0)
    for y in shorter[:1]:
        start, end = spans[y]
        away = out * 3.8 if y == outer else -out * 4.0
        dimension(design, drawing, (face[0] + start, face[1] + y), (face[0] + end, face[1] + y), away, 0)
    dimension(design, drawing, edge, (edge[0], edge[1] + deep), 4.0, 90)
    if piece.bores:
        line = edge[1] + deep if third else edge[1]
        stops = [edge[0] + bore.x_mm for bore in piece.bores]
        texts = [measured(design, bore.x_mm) for bore in piece.bores]
        drawing.running((edge[0], line), stops, 4.0 if third else -5.0, texts)


def _end_dimensions(design: Design, drawing: Drawing, piece: FramePiece, end: Point) -> None:
    wide = _spread(piece.end)[0]
    near, far = (max(y for x, y in piece.end.points if (x > wide / 2) == back) for back in (False, True))
    dimension(design, drawing, end, (end[0], end[1] + near), 4.0, 90)
    if abs(far - near) > 0.5:
        foot = (end[0] + wide, end[1])
        dimension(design, drawing, foot, (foot[0], foot[1] + far), -7.0, 90)
