"""Do the drawings for the machine, DXF and GLB, show the parts of the design in their right sizes?

Units: mm.
"""

from __future__ import annotations

import math
import re
import struct
from collections import Counter
from collections.abc import Iterator
from typing import Any

from enclosure.audit.design_own import PANELS
from enclosure.audit.findings import Findings
from enclosure.audit.frame_drawings import check_frame_drawings, frame_files
from enclosure.audit.geometry import body, shoelace
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, read_length, read_number, read_size, units
from enclosure.audit.printed import pattern, printed_address
from enclosure.audit.readers import Corner, Drawing, Papers
from enclosure.audit.replay import Fallen, Saw, SheetCut
from enclosure.audit.tables import check_pairs
from enclosure.language import tr, tr_n

Record = dict[str, Any]
_GRAIN_MM = 0.02
MM = 4
"""The code of millimetres in a DXF header ($INSUNITS)."""
_SIZE = re.compile(r"[\d /]+ (?:mm|in) x [\d /]+ (?:mm|in)")


def check_drawings(papers: Papers, saw: Saw, findings: Findings) -> None:
    """Compare every DXF file with the design and the saw."""
    wanted = {f"sheet-{sheet.number:02d}" for sheet in saw.sheets} | {"elevations"}
    panels = [part for part in papers.design["parts"] if part["kind"] in PANELS]
    wanted |= {_panel_file(part) for part in panels} | frame_files(papers.design)
    for name in sorted(wanted ^ set(papers.drawings)):
        found = "is missing" if name in wanted else "draws nothing of the design"
        findings.add(f"dxf/{name}.dxf", "", found, "one drawing for each panel and sheet")
    for name, drawing in papers.drawings.items():
        findings.unless(drawing.units == MM, f"dxf/{name}.dxf", "", f"unit code {drawing.units}", f"{MM} (mm)")
    for part in panels:
        if _panel_file(part) in papers.drawings:
            with findings.reading(f"dxf/{_panel_file(part)}.dxf", part["mark"]):
                _check_panel(part, papers, findings)
    areas = {
        part["mark"]: abs(shoelace(part["cut"]["outline"]))
        for part in papers.design["parts"]
        if part["cut"]["from"] == "sheet"
    }
    for sheet in saw.sheets:
        name = f"sheet-{sheet.number:02d}"
        if name in papers.drawings:
            with findings.reading(f"dxf/{name}.dxf"):
                _check_sheet(f"dxf/{name}.dxf", papers.drawings[name], sheet, areas, findings)
    if "elevations" in papers.drawings:
        seen = {text for _, text in papers.drawings["elevations"].words}
        for part in panels:
            if part["layer"] == 1:
                findings.unless(part["mark"] in seen, "dxf/elevations.dxf", part["mark"], "is not shown", "its number")
    check_frame_drawings(papers, findings)


def _panel_file(part: Record) -> str:
    return f"panel-{int(part['mark']):02d}"


def _near(one: tuple[Corner, ...] | list[list[float]], other: tuple[Corner, ...] | list[list[float]]) -> bool:
    """Whether two outlines have the same corners, wherever they begin and whichever way they run."""

    def one_way(a: Any, b: Any) -> bool:
        return all(any(math.hypot(p[0] - q[0], p[1] - q[1]) < _GRAIN_MM for q in b) for p in a)

    return one_way(one, other) and one_way(other, one)


def _check_panel(part: Record, papers: Papers, findings: Findings) -> None:
    file, mark, cut = f"dxf/{_panel_file(part)}.dxf", part["mark"], part["cut"]
    drawing = papers.drawings[_panel_file(part)]
    outlines = [outline for layer, outline in drawing.outlines if layer == "parts"]
    if len(outlines) != 1 or not _near(outlines[0], cut["outline"]):
        findings.add(file, mark, f"outline {outlines}", f"{cut['outline']} mm")
    drawn = [(x, y, 2 * radius) for layer, (x, y), radius in drawing.circles if layer == "holes"]
    holes = [(hole["x_mm"], hole["y_mm"], hole["diameter_mm"]) for hole in cut["holes"]]
    same = len(drawn) == len(holes) and all(any(math.dist(a, b) < 0.1 for b in drawn) for a in holes)
    findings.unless(same, file, mark, f"holes {sorted(drawn)}", f"{sorted(holes)} mm")
    for size in (cut["width_mm"], cut["height_mm"]):
        shown = any(abs(size - measure) < _GRAIN_MM for measure in drawing.measures)
        findings.unless(shown, file, mark, f"dimensions {drawing.measures} mm", f"{size} mm among them")
    marks = [text for layer, text in drawing.words if layer == "marks"]
    findings.unless(marks == [mark], file, mark, f"marked {', '.join(marks) or 'not at all'}", mark)
    words = [text for layer, text in drawing.words if layer == "words"]
    flutes = tr("flutes upright, along the arrow") in words
    fluted = any(row["key"] == part["material"] and row["flutes"] for row in papers.design["materials"])
    findings.unless(
        flutes == fluted, file, mark, "flutes are" + ("" if flutes else " not") + " named", f"flutes: {fluted}"
    )
    facing = tr("OUTSIDE: {facing}").format(facing=tr("weather face toward you"))
    for wanted in (printed_address(part), facing):
        findings.unless(wanted in words, file, mark, "words are missing", wanted)
    title = next((text for text in words if text.startswith(f"{mark}: ")), "")
    size_text = _SIZE.search(title)
    if size_text is None:
        findings.add(file, mark, "no title with its size", f"{mark}: width x height")
    else:
        pairs = list(zip(read_size(size_text[0]), (units(cut["width_mm"]), units(cut["height_mm"])), strict=True))
        check_pairs(file, part, size_text[0], pairs, papers.design, findings)
    upright = [line for line in drawing.lines if line[0] == "flutes" and abs(line[1][0] - line[2][0]) < 1e-6]
    findings.unless(
        any(a[1] < b[1] for _, a, b in upright), file, mark, "no arrow up the sheet", "the flute arrow upright"
    )


# --- sheets -----------------------------------------------------------------------


def _check_sheet(file: str, drawing: Drawing, sheet: SheetCut, areas: dict[str, float], findings: Findings) -> None:
    wide, high = (sheet.stock[key] / UNITS_PER_MM for key in ("width_units", "height_units"))
    edges = [outline for layer, outline in drawing.outlines if layer == "sheet edge"]
    right = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    if len(edges) != 1 or not _near(edges[0], right):
        findings.add(file, sheet.name, f"sheet edge {edges}", f"{wide} x {high} mm")
    found = [outline for layer, outline in drawing.outlines if layer == "parts"]
    findings.unless(
        len(found) == len(sheet.parts), file, sheet.name, f"{len(found)} parts drawn", str(len(sheet.parts))
    )
    shaped = tr("then cut {marks} to shape, each as its frame shows it")
    later = " ".join(text for layer, text in drawing.words if layer == "words" and re.fullmatch(pattern(shaped), text))
    for part in sheet.parts:
        _check_place(file, found, part, areas, later, findings)
    _check_apart(file, found, sheet, findings)
    texts = Counter(text.strip() for layer, text in drawing.words if layer == "marks")
    said = " ".join(texts)
    for part in sheet.parts:
        for mark in part.marks:
            bare = re.search(rf"(?<!\w){re.escape(mark)}(?!\w)", said)
            findings.unless(bare is not None, file, mark, "its mark is not written", f"{mark} on its piece")
    _check_cut_lines(file, drawing, sheet, findings)
    _check_cut_words(file, drawing, sheet, findings)
    _check_words(file, drawing, sheet, findings)


def _bounds(outline: tuple[Corner, ...]) -> tuple[float, float, float, float]:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    return min(xs), min(ys), max(xs), max(ys)


def _check_place(
    file: str, found: list[tuple[Corner, ...]], part: Fallen, areas: dict[str, float], later: str, findings: Findings
) -> None:
    """A part is drawn where it falls, in its own shape; copies of several shapes as the rectangle they come from."""
    box = tuple(v / UNITS_PER_MM for v in (part.x, part.y, part.x + part.width, part.y + part.height))
    for outline in found:
        if all(abs(a - b) < _GRAIN_MM for a, b in zip(_bounds(outline), box, strict=True)):
            area = abs(shoelace([list(p) for p in outline]))
            whole = (box[2] - box[0]) * (box[3] - box[1])
            rough = len(part.marks) > 1 and abs(area - whole) <= 1e-4 * whole
            for mark in part.marks:
                right = areas[mark]
                good = abs(area - right) <= 1e-4 * right
                said = rough and re.search(rf"(?<!\w){re.escape(mark)}(?!\w)", later) is not None
                findings.unless(good or said, file, mark, f"drawn {area:.0f} mm² large", f"{right:.0f} mm²")
            return
    place = f"from {box[0]:g}, {box[1]:g} to {box[2]:g}, {box[3]:g} mm"
    findings.add(file, " ".join(part.marks), "no outline where the cuts put it", place)


def _check_apart(file: str, found: list[tuple[Corner, ...]], sheet: SheetCut, findings: Findings) -> None:
    """Parts on a sheet lie at least a kerf apart (sloped pairs are measured by the replay)."""
    kerf = sheet.kerf / UNITS_PER_MM
    boxes = [_bounds(outline) for outline in found]
    for place, a in enumerate(boxes):
        for number, b in enumerate(boxes[place + 1 :], place + 1):
            gap = max(a[0] - b[2], b[0] - a[2], a[1] - b[3], b[1] - a[3])
            sloped = gap < 0 and (len(found[place]) != 4 or len(found[number]) != 4 or _slanted(found[place]))
            if gap < kerf - _GRAIN_MM and not sloped:
                findings.add(file, f"parts {place + 1} and {number + 1}", f"{gap:.2f} mm apart", f"a kerf of {kerf} mm")


def _slanted(outline: tuple[Corner, ...]) -> bool:
    box = _bounds(outline)
    return abs(abs(shoelace([list(p) for p in outline])) - (box[2] - box[0]) * (box[3] - box[1])) > 1.0


def _check_cut_lines(file: str, drawing: Drawing, sheet: SheetCut, findings: Findings) -> None:
    """Each cut of the plan is drawn from edge to edge of its piece, once."""
    drawn = [(*a, *b) for layer, a, b in drawing.lines if layer == "cuts"]
    for cut in sheet.cuts:
        wanted = [value / UNITS_PER_MM for value in cut]
        ways = (wanted, wanted[2:] + wanted[:2])
        match = next((line for line in drawn for way in ways if _same_line(line, way, sheet.kerf / UNITS_PER_MM)), None)
        if match is None:
            findings.add(file, sheet.name, "a cut is not drawn", "edge to edge " + ", ".join(f"{v:g}" for v in wanted))
        else:
            drawn.remove(match)
    trims = 4 if sheet.stock["trim_units"] else 0
    findings.unless(len(drawn) in (0, trims), file, sheet.name, f"{len(drawn)} more cuts drawn", "the cuts of the plan")


def _same_line(drawn: tuple[float, ...], wanted: list[float], kerf: float) -> bool:
    """Whether a drawn cut is the wanted one; a sloped one may be moved along itself by less than a kerf."""
    x, y = wanted[2] - wanted[0], wanted[3] - wanted[1]
    long = math.hypot(x, y)
    for end in (0, 2):
        a, b = drawn[end] - wanted[end], drawn[end + 1] - wanted[end + 1]
        along, across = abs(a * x + b * y) / long, abs(a * y - b * x) / long
        if across > _GRAIN_MM or along > (kerf if x and y else _GRAIN_MM):
            return False
    return True


def _check_cut_words(file: str, drawing: Drawing, sheet: SheetCut, findings: Findings) -> None:
    """The list of cuts sets the fence for each rip and crosscut of the plan."""
    said: Counter[tuple[str, int]] = Counter()
    ways = {"rip": tr("rip {piece} at {at}: {leaves}"), "crosscut": tr("crosscut {piece} at {at}: {leaves}")}
    for how, words in ways.items():
        row = re.compile(r"\d+  " + pattern(words, piece=r"\S+", at="([^:]+)"))
        for layer, text in drawing.words:
            match = row.fullmatch(text) if layer == "words" else None
            if match:
                said[how, read_length(match[1])] += 1
    for how, fence in sheet.fences:
        fits = [one for one, left in said.items() if left and one[0] == how and abs(one[1] - fence) <= SIXTEENTH // 2]
        near = next(iter(fits), None)
        if near is None:
            findings.add(file, sheet.name, f"no {how} listed at {fence / UNITS_PER_MM:.2f} mm", "every cut of the plan")
        else:
            said[near] -= 1
    findings.unless(not +said, file, sheet.name, f"{sum(said.values())} cuts too many listed", "the cuts of the plan")


def _check_words(file: str, drawing: Drawing, sheet: SheetCut, findings: Findings) -> None:
    words = [text for layer, text in drawing.words if layer == "words"]
    line = re.compile(pattern(tr("kerf {kerf}, trim {trim} all round; parts take {share:.0f} % of the sheet")))
    kerf = next((text for text in words if line.fullmatch(text)), "")
    numbers = [read_number(n) for n in re.findall(r"(\d+(?:[.,]\d+)?) mm", kerf)[:2]]
    right = [sheet.kerf / UNITS_PER_MM, sheet.stock["trim_units"] / UNITS_PER_MM]
    same = len(numbers) == 2 and all(abs(a - b) < 0.051 for a, b in zip(numbers, right, strict=True))
    findings.unless(same, file, sheet.name, kerf or "no kerf written", f"kerf {right[0]} mm, trim {right[1]} mm")
    cuts = [tr_n("cut {count} sheet", "cut {count} sheets alike", count) for count in (1, 2)]
    said = re.compile("; (?:" + "|".join(pattern(cut, count=r"(\d+)") for cut in cuts) + ")$")
    copies = next((text for text in words if said.search(text)), "")
    many = [int(count) for found in said.findall(copies) for count in found if count]
    findings.unless(many == [sheet.copies], file, sheet.name, copies or "no number of sheets", f"cut {sheet.copies}")
    stock_size = _SIZE.search(copies)
    if stock_size is not None:
        size = (sheet.stock["width_units"], sheet.stock["height_units"])
        near = all(abs(a - b) <= SIXTEENTH // 2 for a, b in zip(read_size(stock_size[0]), size, strict=True))
        findings.unless(
            near, file, sheet.name, f"sheet {stock_size[0]}", " x ".join(f"{v / UNITS_PER_MM:g} mm" for v in size)
        )


# --- solids -----------------------------------------------------------------------


def check_glb(papers: Papers, findings: Findings) -> None:
    """Every part is one node of the model, as large and in the same place as in the design."""
    record, file = papers.solids, "shelter.glb"
    seen: dict[str, list[int]] = {}
    for number, node in enumerate(record["nodes"]):
        seen.setdefault(str(node.get("name")), []).append(number)
    for part in papers.design["parts"]:
        mark = part["mark"]
        nodes = seen.get(mark, [])
        if len(nodes) != 1:
            findings.add(file, mark, f"{len(nodes)} nodes", "one")
            continue
        found = _node_box(record, nodes[0])
        bodies = [body(mark, prism) for prism in part["solids"]]
        low = [min(one.low[i] for one in bodies) for i in range(3)]
        high = [max(one.high[i] for one in bodies) for i in range(3)]
        far = max(abs(a - b) for a, b in zip(found, [*low, *high], strict=True))
        findings.unless(far < 0.5, file, mark, f"{far:.1f} mm off its place", "the place of the design")


def _node_box(record: Record, number: int) -> list[float]:
    """Return least and greatest x, y, z of a node (whose parents only scale and turn the whole model)."""
    box = [math.inf] * 3 + [-math.inf] * 3
    stack = [(number, [1.0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1])]
    while stack:
        which, outer = stack.pop()
        node = record["nodes"][which]
        own = node.get("matrix", [1.0, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1])
        matrix = [sum(outer[4 * k + r] * own[4 * c + k] for k in range(4)) for c in range(4) for r in range(4)]
        stack += [(child, matrix) for child in node.get("children", ())]
        if "mesh" not in node:
            continue
        for primitive in record["meshes"][node["mesh"]]["primitives"]:
            for point in _points(record, primitive["attributes"]["POSITION"]):
                for row in range(3):
                    value = matrix[12 + row] + sum(matrix[4 * k + row] * point[k] for k in range(3))
                    box[row], box[3 + row] = min(box[row], value), max(box[3 + row], value)
    return box


def _points(record: Record, number: int) -> Iterator[tuple[float, ...]]:
    """Yield the corners of an accessor of three floats each."""
    accessor = record["accessors"][number]
    view = record["bufferViews"][accessor["bufferView"]]
    start = view.get("byteOffset", 0) + accessor.get("byteOffset", 0)
    if (accessor["componentType"], accessor["type"]) != (5126, "VEC3"):
        raise ValueError("corners are not three floats each")
    yield from struct.iter_unpack("<3f", record["binary"][start : start + 12 * accessor["count"]])
