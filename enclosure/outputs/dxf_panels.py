"""How is one panel or film cut? One DXF file for each.

The panel is drawn with its weather face toward the reader and its top up: outline,
holes, true dimensions, up arrow, flute direction, mark, address and how it sits in
its track. A part whose outline is no rectangle has each corner dimensioned from the
lower left corner.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import Path

from enclosure.language import decimal, tr
from enclosure.outputs.dxf_page import Drawing
from enclosure.outputs.dxf_title import TEXT_MM
from enclosure.outputs.dxf_words import FACING, dimension, fine, length, material_of, size, title, up_arrow
from enclosure.shape.model import Design, Part, SheetCut
from enclosure.shape.names import address

MARK_MM = 12.0


def panel_file(part: Part) -> str:
    """Return the file name of a panel: ``panel-07.dxf``, or ``panel-lf1.dxf`` for a mark with letters."""
    if part.mark.isascii() and part.mark.isdigit():
        return f"panel-{int(part.mark):02d}.dxf"
    return f"panel-{re.sub(r'[^a-z0-9]+', '-', part.mark.lower()).strip('-') or 'part'}.dxf"


def draw_panels(design: Design, folder: Path, *, words: bool = True) -> list[Path]:
    """Write one file for each panel and film and return the paths."""
    panels = [part for part in design.panels() if isinstance(part.cut, SheetCut)]
    return [
        _draw(design, part, part.cut, number, len(panels), folder / panel_file(part), words)
        for number, part in enumerate(panels, start=1)
        if isinstance(part.cut, SheetCut)
    ]


def _draw(
    design: Design, part: Part, cut: SheetCut, number: int, count: int, path: Path, words: bool
) -> Path:
    head = title(design, f"{tr(part.kind)} {part.mark}: {address(part)}", path.stem, number, count)
    around = (30.0, 16.0, 30.0, 30.0 + 4.2 * len(cut.holes))
    drawing = Drawing(head, design.paper, (cut.width_mm, cut.height_mm), around, words=words)
    drawing.outline(cut.outline, "parts")
    for hole in cut.holes:
        x, y, radius = hole.x_mm, hole.y_mm, hole.diameter_mm / 2
        drawing.circle((x, y), radius, "holes")
        if words:
            drawing.line((x - 2 * radius, y), (x + 2 * radius, y), "holes")
            drawing.line((x, y - 2 * radius), (x, y + 2 * radius), "holes")
    if words:
        _dimensions(design, drawing, cut)
        _face(design, drawing, part, cut)
        _notes(design, drawing, part, cut)
    return drawing.finish(path)


def _dimensions(design: Design, drawing: Drawing, cut: SheetCut) -> None:
    wide, high = cut.width_mm, cut.height_mm
    dimension(design, drawing, (0, 0), (wide, 0), -8.0, 0)
    lefts = _between((y for x, y in cut.outline if x < wide / 2), high)
    rights = _between((y for x, y in cut.outline if x > wide / 2), high)
    dimension(design, drawing, (0, 0), (0, high), 8.0 + 8.0 * len(lefts), 90)
    for row, y in enumerate(lefts):
        dimension(design, drawing, (0, 0), (0, y), 8.0 + 8.0 * row, 90)
    for row, y in enumerate(rights):
        dimension(design, drawing, (wide, 0), (wide, y), -8.0 - 8.0 * row, 90)
    for row, x in enumerate(_between((x for x, _ in cut.outline), wide)):
        dimension(design, drawing, (0, high), (x, high), 6.0 + 7.0 * row, 0)


def _face(design: Design, drawing: Drawing, part: Part, cut: SheetCut) -> None:
    """Write the mark large, with the up arrow and the face; the words run up a slender panel."""
    wide, high = cut.width_mm, min(y for y in (cut.height_mm, *_tops(cut)) if y > 0)
    material = material_of(design, part.material)
    flutes = material is not None and material.flutes
    lines = [
        address(part),
        tr("OUTSIDE: {facing}").format(facing=tr(FACING)),
        tr("flutes upright, along the arrow") if flutes else tr("top up"),
    ]
    mark = min(drawing.fitted(part.mark, MARK_MM, wide * 0.6), high / 8)
    drawing.mark(part.mark, (wide / 2, high * 0.87), mark)
    turn = 90.0 if high > 1.6 * wide else 0.0
    room = high * 0.4 if turn else wide * 0.62
    tall = min(drawing.fitted(max(lines, key=len), TEXT_MM, room), (wide * 0.085 if turn else high * 0.07))
    for row, words in enumerate(lines, start=-1):
        step = 1.7 * row * tall
        at = (wide * 0.74 + step, high * 0.28) if turn else (wide * 0.56, high * 0.34 - step)
        drawing.text(words, at, align="middle", turn=turn, model_height=tall)
    foot = (wide * 0.14, high * 0.25)
    up_arrow(drawing, foot, high * 0.4)
    up = drawing.fitted(tr("UP"), TEXT_MM, wide * 0.2)
    drawing.text(tr("UP"), (foot[0], foot[1] - 1.2 * up), align="middle", model_height=up)


def _tops(cut: SheetCut) -> list[float]:
    """Return the heights of the corners in the upper half."""
    return [y for _, y in cut.outline if y > cut.height_mm / 2]


def _notes(design: Design, drawing: Drawing, part: Part, cut: SheetCut) -> None:
    material = material_of(design, part.material)
    name = material.name if material is not None else part.material
    mass = decimal(f"{part.mass_kg:.1f} kg")
    lines = [f"{part.mark}: {size(design, cut.width_mm, cut.height_mm)}, {name}, {mass}"]
    if part.fit is not None:
        fit = part.fit
        gap = tr("gap behind each edge {across} across, {along} along, cut at {cut:.0f} degC")
        cover = tr("cover left at {cold:.0f} degC {cover}, least allowed {least}; slot {slot} deep")
        lines += [
            gap.format(
                across=fine(design, fit.clearance_mm[0]), along=fine(design, fit.clearance_mm[1]), cut=fit.cut_degc
            ),
            cover.format(
                cold=fit.coldest_degc,
                cover=fine(design, min(fit.cover_cold_mm)),
                least=fine(design, fit.least_cover_mm),
                slot=fine(design, fit.slot_depth_mm),
            ),
        ]
    if any(part.tape_mm):
        tape = tr("solid tape on the top edge {top}, breather tape on the bottom {bottom}")
        lines.append(tape.format(top=length(design, part.tape_mm[0]), bottom=length(design, part.tape_mm[1])))
    for hole in cut.holes:
        drill = tr("drill {diameter}, {x} from the left edge, {y} from the bottom")
        at = {"x": length(design, hole.x_mm), "y": length(design, hole.y_mm)}
        lines.append(drill.format(diameter=fine(design, hole.diameter_mm), **at))
    top = max(y for _, y in cut.outline) + drawing.on_paper(8.0 if len(cut.outline) <= 4 else 14.0)
    for row, words in enumerate(reversed(lines)):
        drawing.text(words, (0, top + row * drawing.on_paper(4.2)))


def _between(values: Iterable[float], most: float) -> list[float]:
    """Return the distinct values that lie clear of 0 and of `most`, rising."""
    return sorted({round(value, 6) for value in values if 1e-3 < value < most - 1e-3})
