"""Do the pictures of the sheets and sticks show what falls from the saw?

Read as plain XML: every part is a shape that bears its marks, and the stock beside it gives
the scale.

Units: mm.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from xml.etree import ElementTree

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import shoelace
from enclosure.audit.lengths import UNITS_PER_MM
from enclosure.audit.printed import pattern
from enclosure.audit.readers import Papers
from enclosure.audit.replay import Saw, SheetCut, StickCut
from enclosure.language import tr

_SVG = "{http://www.w3.org/2000/svg}"
_GRAIN_MM = 0.25
"""Pictures are written to a hundredth of a pixel, a sheet of 3.6 m is some 700 pixels high."""
Box = tuple[float, float, float, float]


def check_pictures(papers: Papers, saw: Saw, findings: Findings) -> None:
    """Compare every picture in the folder ``svg`` with the saw."""
    materials = list(dict.fromkeys(stick.material for stick in saw.sticks))
    sticks = {f"sticks-{place:02d}": key for place, key in enumerate(materials, start=1)}
    sheets = {f"sheet-{sheet.number:02d}": sheet for sheet in saw.sheets}
    for name in sorted((set(sheets) | set(sticks)) ^ set(papers.pictures)):
        found = "shows nothing of the plan" if name in papers.pictures else "is missing"
        findings.add(f"svg/{name}.svg", "", found, "one picture for each sheet and stick section")
    for name, picture in papers.pictures.items():
        file = f"svg/{name}.svg"
        with findings.reading(file):
            if name in sheets:
                _check_sheet(file, picture, sheets[name], findings)
            elif name in sticks:
                rows = [stick for stick in saw.sticks if stick.material == sticks[name]]
                _check_sticks(file, picture, rows, findings)


def _of_class(picture: ElementTree.Element, tag: str, name: str) -> list[ElementTree.Element]:
    return [shape for shape in picture.iter(f"{_SVG}{tag}") if shape.get("class") == name]


def _rect(shape: ElementTree.Element) -> Box:
    x, y, wide, high = (float(shape.attrib[key]) for key in ("x", "y", "width", "height"))
    return x, y, x + wide, y + high


def _check_sheet(file: str, picture: ElementTree.Element, sheet: SheetCut, findings: Findings) -> None:
    (edge,) = _of_class(picture, "rect", "sheet")
    left, top, right, bottom = _rect(edge)
    wide, high = (sheet.stock[key] / UNITS_PER_MM for key in ("width_units", "height_units"))
    scale = wide / (right - left)
    good = abs((bottom - top) * scale - high) < high * 1e-3
    findings.unless(good, file, sheet.name, "sheet out of proportion", f"{wide} x {high} mm")
    drawn: list[tuple[str, Box, float]] = []
    for shape in _of_class(picture, "polygon", "part"):
        points = [tuple(map(float, pair.split(","))) for pair in shape.attrib["points"].split()]
        xs, ys = [(x - left) * scale for x, _ in points], [(bottom - y) * scale for _, y in points]
        area = abs(shoelace([list(point) for point in zip(xs, ys, strict=True)]))
        drawn.append((shape.attrib["data-mark"], (min(xs), min(ys), max(xs), max(ys)), area))
    for part in sheet.parts:
        corners = (part.x, part.y, part.x + part.width, part.y + part.height)
        mark, box = ", ".join(part.marks), tuple(v / UNITS_PER_MM for v in corners)
        match = next((one for one in drawn if one[0] == mark and math.dist(one[1], box) < 2 * _GRAIN_MM), None)
        if match is None:
            findings.add(file, mark, "is not drawn in its place", ", ".join(f"{v:.1f}" for v in box) + " mm")
        else:
            drawn.remove(match)
            area = part.area / UNITS_PER_MM**2
            good = abs(match[2] - area) <= 0.01 * area + 1.0
            findings.unless(good, file, mark, f"drawn in its place, but {match[2]:.0f} mm² large", f"{area:.0f} mm²")
    findings.unless(not drawn, file, sheet.name, f"{len(drawn)} parts too many", "the parts of the plan")
    numbers = len(_of_class(picture, "circle", "mark"))
    trims = 4 if sheet.stock["trim_units"] else 0
    cuts = len(sheet.cuts) + trims
    findings.unless(numbers in (len(sheet.cuts), cuts), file, sheet.name, f"{numbers} numbered cuts", str(cuts))
    title = next(picture.iter(f"{_SVG}title")).text or ""
    said = re.fullmatch(pattern(tr("{title}, {count} sheets cut alike"), count=r"(\d+)"), title)
    copies = int(said[1]) if said else 1
    findings.unless(copies == sheet.copies, file, sheet.name, f"{copies} sheets alike", str(sheet.copies))


def _check_sticks(file: str, picture: ElementTree.Element, rows: list[StickCut], findings: Findings) -> None:
    wanted = [
        (row.stock["length_units"], [(marks[copy], start, long) for marks, start, long in row.pieces])
        for row in rows
        for copy in range(row.last - row.first + 1)
    ]
    bars = sorted(map(_rect, _of_class(picture, "rect", "left")), key=lambda box: box[1])
    if len(bars) != len(wanted):
        findings.add(file, "", f"{len(bars)} sticks", str(len(wanted)))
        return
    scale = max(length for length, _ in wanted) / UNITS_PER_MM / max(bar[2] - bar[0] for bar in bars)
    pieces = [(shape.attrib["data-mark"], _rect(shape)) for shape in _of_class(picture, "rect", "piece")]
    for place, (bar, (length, cut)) in enumerate(zip(bars, wanted, strict=True), start=1):
        long = (bar[2] - bar[0]) * scale
        right = length / UNITS_PER_MM
        findings.unless(abs(long - right) < _GRAIN_MM, file, f"stick {place}", f"{long:.1f} mm long", f"{right} mm")
        seen = [(mark, box) for mark, box in pieces if abs(box[1] - bar[1]) < 0.5]
        if Counter(mark for mark, _ in seen) != Counter(mark for mark, _, _ in cut):
            marks = ", ".join(mark for mark, _, _ in cut)
            findings.add(file, f"stick {place}", f"pieces {', '.join(mark for mark, _ in seen)}", marks)
            continue
        for (mark, box), (_, start, size) in zip(seen, cut, strict=True):
            ends = ((box[0] - bar[0]) * scale, (box[2] - bar[0]) * scale)
            ought = (start / UNITS_PER_MM, (start + size) / UNITS_PER_MM)
            good = math.dist(ends, ought) < 2 * _GRAIN_MM
            findings.unless(good, file, mark, f"from {ends[0]:.1f} to {ends[1]:.1f} mm", f"{ought[0]} to {ought[1]} mm")
