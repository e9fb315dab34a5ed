"""Do the drawings of the frame's sticks and of the full-size details show the design's own sizes?

Sticks: every stick has its mark on one outline, as long as it is cut, with its angles, and a
hole wherever a bolt of the design runs through it. Details: the parts that meet lie where the
design has them, and a panel in its track keeps the covers that its fit promises.

Units: mm.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import Vector, body, dot, shoelace
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, read_length, shown, units
from enclosure.audit.printed import pattern
from enclosure.audit.readers import Corner, Drawing, Papers
from enclosure.language import tr

Record = dict[str, Any]
Box = tuple[float, float, float, float]
STICKS = ("member", "diagonal", "batten")
STICK_FILE = "frame-parts"
_GRAIN_MM = 0.02
_ANGLE_DEG = 0.06
_BOLT_RUNS = {"corner bolts": 1, "tier bolts": 2}
"""Axis along which the bolts of a bag run: front to back, upright."""
_HOLE_RADIUS_MM = 4.5
_ALONG_SHARE = 0.7
_TOUCH_MM = 0.6
"""Frames may stand this far apart or in each other: lengths to cut are rounded down."""


def frame_files(design: Record) -> set[str]:
    """Return the names of the drawings that a design asks for beside its sheets and panels."""
    names: set[str] = set()
    if _sticks(design):
        names.add(STICK_FILE)
    front = next((f for f in design["frames"] if f["face"] == "FRONT" and f["level"] == 1), None)
    if front is not None:
        names |= {"detail-sill", "detail-corner", "detail-roof-edge"}
        if front["bay_lines_mm"]:
            names.add("detail-bays")
    if _in_track(design):
        names.add("detail-track")
    return names


def check_frame_drawings(papers: Papers, findings: Findings) -> None:
    """Compare the drawings of sticks and details with the design."""
    checks = {
        STICK_FILE: _check_sticks,
        "detail-track": _check_track,
        "detail-sill": _check_sill,
        "detail-corner": _check_corner,
        "detail-roof-edge": _check_roof_edge,
        "detail-bays": _check_bays,
    }
    for name, check in checks.items():
        if name in papers.drawings:
            file = f"dxf/{name}.dxf"
            with findings.reading(file):
                check(file, papers.design, papers.drawings[name], findings)


def _sticks(design: Record) -> list[Record]:
    return [p for p in design["parts"] if p["kind"] in STICKS and p["cut"]["from"] == "stick" and len(p["solids"]) == 1]


def _in_track(design: Record) -> list[Record]:
    faces = {part["face"] for part in design["parts"] if part["kind"] == "track"}
    return [p for p in design["parts"] if p["kind"] in ("panel", "film") and p["fit"] and p["face"] in faces]


def _box(points: tuple[Corner, ...]) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


# --- sticks -----------------------------------------------------------------------


@dataclass(slots=True)
class _Group:
    """One piece as drawn: its marks, their place, its outline, its words and its holes from the left end."""

    marks: list[str]
    at: Corner
    outline: tuple[Corner, ...]
    words: list[str]
    holes: list[float]


def _groups(drawing: Drawing) -> list[_Group]:
    found = [
        _Group([mark.strip() for mark in text.split(",")], at, (), [], [])
        for (layer, text), at in zip(drawing.words, drawing.spots, strict=True)
        if layer == "marks"
    ]

    def owner(x: float, y: float) -> _Group | None:
        """Return the group on the same page whose marks stand next above a place."""
        page = max((one.at[0] for one in found if one.at[0] <= x + 1.0), default=None)
        rows = [one for one in found if one.at[0] == page and one.at[1] >= y - 1.0]
        return min(rows, key=lambda one: one.at[1], default=None)

    for layer, outline in drawing.outlines:
        left, lower, _, _ = _box(outline)
        group = owner(left, lower) if layer == "parts" else None
        if group is not None:
            group.outline = outline
    for (layer, text), (x, y) in zip(drawing.words, drawing.spots, strict=True):
        group = owner(x, y) if layer == "words" else None
        if group is not None:
            group.words.append(text)
    for layer, (x, y), radius in drawing.circles:
        group = owner(x, y) if layer == "holes" and abs(radius - _HOLE_RADIUS_MM) < 0.01 else None
        if group is not None and group.outline:
            group.holes.append(x - _box(group.outline)[0])
    return found


def _check_sticks(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    groups = _groups(drawing)
    sticks = {part["mark"]: part for part in _sticks(design)}
    seen = [mark for group in groups for mark in group.marks]
    for mark in sticks:
        findings.unless(seen.count(mark) == 1, file, mark, f"drawn {seen.count(mark)} times", "once")
    outlines = sum(layer == "parts" for layer, _ in drawing.outlines)
    findings.unless(outlines == len(groups), file, "", f"{outlines} outlines", f"{len(groups)}, one for each piece")
    for group in groups:
        for mark in group.marks:
            if mark not in sticks:
                findings.add(file, mark, "is drawn", "sticks of the design")
            elif not group.outline:
                findings.add(file, mark, "no outline below its mark", "its outline")
            else:
                _check_stick(file, sticks[mark], group, drawing, findings)
                _check_holes(file, sticks[mark], group, design, findings)
        _check_stick_words(file, group, sticks, design, findings)


def _check_stick(file: str, part: Record, group: _Group, drawing: Drawing, findings: Findings) -> None:
    mark, cut = part["mark"], part["cut"]
    left, lower, right, upper = _box(group.outline)
    long, high = right - left, upper - lower
    findings.unless(
        abs(long - cut["length_mm"]) < _GRAIN_MM, file, mark, f"{long:.3f} mm long", f"{cut['length_mm']} mm"
    )
    sides = _sides(part)
    fits = any(abs(high - side) < 0.1 for side in sides)
    findings.unless(fits, file, mark, f"{high:.2f} mm across", " or ".join(f"{s:.2f} mm" for s in sides))
    ends = sorted(_lean(group.outline, (left + right) / 2, side) for side in (-1, 1))
    right_ends = sorted(abs(cut[key]) for key in ("start_deg", "end_deg"))
    same = all(abs(a - b) < _ANGLE_DEG for a, b in zip(ends, right_ends, strict=True))
    findings.unless(
        same, file, mark, f"ends {ends[0]:.2f} and {ends[1]:.2f} deg", f"{right_ends[0]} and {right_ends[1]} deg"
    )
    measured = any(abs(cut["length_mm"] - measure) < _GRAIN_MM for measure in drawing.measures)
    findings.unless(measured, file, mark, "its length is not dimensioned", f"{cut['length_mm']} mm")


def _lean(outline: tuple[Corner, ...], middle: float, side: int) -> float:
    """Return by how much the longest edge at one end of an outline leans from square [deg]."""
    longest, lean = 0.0, 0.0
    for (x0, y0), (x1, y1) in zip(outline, outline[1:] + outline[:1], strict=True):
        if min((x0 - middle) * side, (x1 - middle) * side) > 0 and math.hypot(x1 - x0, y1 - y0) > longest:
            longest, lean = math.hypot(x1 - x0, y1 - y0), math.degrees(math.atan2(abs(x1 - x0), abs(y1 - y0)))
    return lean


def _along(part: Record) -> tuple[Vector, tuple[Vector, ...], tuple[Vector, ...]]:
    """Return the direction along a stick, its corners, and the face normals square to it."""
    prism = part["solids"][0]
    one = body(part["mark"], prism)
    feet = one.corners[::2]
    sides = [prism["depth"]] + [math.dist(p, q) for p, q in zip(feet, feet[1:] + feet[:1], strict=True)]
    along = one.edges[sides.index(max(sides))]
    return along, one.corners, tuple(n for n in one.normals if abs(dot(n, along)) < 1e-6)


def _sides(part: Record) -> list[float]:
    """Return what a stick measures square to its length."""
    _, corners, normals = _along(part)
    spans = set()
    for normal in normals:
        reach = [dot(normal, corner) for corner in corners]
        spans.add(round(max(reach) - min(reach), 2))
    return sorted(spans)


def _check_holes(file: str, part: Record, group: _Group, design: Record, findings: Findings) -> None:
    """The holes of a stick lie where bolts of the design run through it, counted from either end."""
    wanted = _bolt_places(part, design)
    long = part["cut"]["length_mm"]
    drawn = sorted(group.holes)
    ways = (sorted(wanted), sorted(long - place for place in wanted))
    good = any(
        len(way) == len(drawn) and all(abs(a - b) < 1.7 for a, b in zip(way, drawn, strict=True)) for way in ways
    )
    said = ", ".join(f"{x:.1f}" for x in drawn) or "none"
    right = ", ".join(f"{x:.1f}" for x in ways[0]) or "none"
    findings.unless(good, file, part["mark"], f"holes at {said} mm", f"{right} mm, from one end")


def _bolt_places(part: Record, design: Record) -> list[float]:
    """Return where bolts run through a wall's member, from the start of the member.

    A bolt runs through the member at which its place lies and through the next one of another frame, each square to
    its length.
    """
    if not _of_a_wall(part):
        return []
    along, corners, _ = _along(part)
    start = min(dot(along, corner) for corner in corners)
    places = []
    for fixing in design["fixings"]:
        axis = _BOLT_RUNS.get(fixing["bag"])
        if axis is None or not fixing["key"].startswith("bolt") or abs(along[axis]) > _ALONG_SHARE:
            continue
        for x, y, z in fixing["positions"]:
            low, high = _inside(part, (x, y, z), axis)
            stops = _stops(part, (x, y, z), axis, design)
            if high - low > 1.0 and any(low - _TOUCH_MM < stop < high + _TOUCH_MM for stop in stops):
                places.append(dot(along, (x, y, z)) - start)
    return places


def _of_a_wall(part: Record) -> bool:
    return part["kind"] == "member" and part["face"] in ("FRONT", "RIGHT", "BACK", "LEFT") and len(part["solids"]) == 1


def _stops(part: Record, place: Vector, axis: int, design: Record) -> list[float]:
    """Return where a member may begin that a bolt clamps: at its place, or where another frame's first member ends."""
    stops = [0.0]
    for other in design["parts"]:
        same = (other["face"], other["level"]) == (part["face"], part["level"])
        if same or not _of_a_wall(other) or abs(_along(other)[0][axis]) > _ALONG_SHARE:
            continue
        low, high = _inside(other, place, axis)
        if high - low > 1.0 and low - _TOUCH_MM < 0 < high + _TOUCH_MM:
            stops += [low, high]
    return stops


def _inside(part: Record, place: Vector, axis: int) -> tuple[float, float]:
    """Return from where to where a line along an axis runs inside a convex stick, counted from `place`."""
    one = body(part["mark"], part["solids"][0])
    low, high = -math.inf, math.inf
    for normal in one.normals:
        reach = [dot(normal, corner) for corner in one.corners]
        here, rate = dot(normal, place), normal[axis]
        if abs(rate) < 1e-9:
            if not min(reach) + 1e-6 < here < max(reach) - 1e-6:
                return 0.0, 0.0
            continue
        ends = sorted(((min(reach) - here) / rate, (max(reach) - here) / rate))
        low, high = max(low, ends[0]), min(high, ends[1])
    return low, high


def _check_stick_words(file: str, group: _Group, sticks: dict[str, Record], design: Record, findings: Findings) -> None:
    head = re.compile(pattern(tr("{count} x {parts}, {section}, {length} long"), count=r"(\d+)", length="([^,;]+)"))
    said = next((match for text in group.words if (match := head.fullmatch(text))), None)
    name = ", ".join(group.marks)
    if said is None:
        findings.add(file, name, "no words with number and length", "number x part, section, length")
        return
    count = int(said[1])
    findings.unless(count == len(group.marks), file, name, f"{count} pieces", f"{len(group.marks)}, one for each mark")
    grain = (SIXTEENTH if design["units"] == "inch" else UNITS_PER_MM) // 2 + 1
    for mark in group.marks:
        if mark in sticks:
            right = units(sticks[mark]["cut"]["length_mm"])
            good = abs(read_length(said[2]) - right) <= grain
            findings.unless(good, file, mark, f"printed as {said[2]}", shown(right))


# --- details ----------------------------------------------------------------------


def _world_box(part: Record) -> list[tuple[float, float]]:
    corners = [c for prism in part["solids"] for c in body(part["mark"], prism).corners]
    return [(min(c[i] for c in corners), max(c[i] for c in corners)) for i in range(3)]


def _show(
    file: str, drawing: Drawing, layer: str, wanted: dict[str, list[Box]], findings: Findings, axes: str = "xyxy"
) -> None:
    """Demand, of each named set of boxes, that one is among the outlines of a layer; `-` leaves a side free.

    A box all of whose sides are asked for must be filled by its outline.
    """
    outlines = [outline for on, outline in drawing.outlines if on == layer]
    boxes = [_box(outline) for outline in outlines if axes != "xyxy" or _is_filled(outline)]
    for name, choices in wanted.items():
        good = any(
            all(axis == "-" or abs(a - b) < 0.1 for a, b, axis in zip(seen, box, axes, strict=True))
            for seen in boxes
            for box in choices
        )
        right = "; ".join(", ".join(f"{v:.1f}" for v in box) for box in choices[:2])
        findings.unless(good, file, name, "is not drawn in its place and size", f"from and to {right} mm")


def _is_filled(outline: tuple[Corner, ...]) -> bool:
    left, lower, right, upper = _box(outline)
    return abs(abs(shoelace([list(p) for p in outline])) - (right - left) * (upper - lower)) < 0.5


def _members(design: Record, face: str, role: str) -> list[Record]:
    return [part for part in design["parts"] if part["face"] == face and part["role"] == role and part["level"] <= 1]


def _upright(parts: list[Record]) -> list[Box]:
    """Return the parts' boxes as a cut across the front shows them: y to the right, z up."""
    return [(y[0], z[0], y[1], z[1]) for _, y, z in map(_world_box, parts)]


def _level(parts: list[Record]) -> list[Box]:
    return [(x[0], y[0], x[1], y[1]) for x, y, _ in map(_world_box, parts)]


def _check_sill(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    _show(file, drawing, "members", {"sill": _upright(_members(design, "FRONT", "sill"))}, findings)
    base = design["base"]
    if base["ring_length_mm"]:
        edge = (design["outside_mm"][1] - base["ring_width_mm"]) / 2
        brick = (edge, -base["brick_mm"][2], edge + base["brick_mm"][1], 0.0)
        _show(file, drawing, "base ring", {"brick": [brick]}, findings)
        for side in base["brick_mm"][1:]:
            _demand_measure(file, drawing, "brick", side, findings)
    depth = next(f["depth_mm"] for f in design["frames"] if f["face"] == "FRONT")
    _demand_measure(file, drawing, "sill", depth, findings)


def _check_corner(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    front = min(_members(design, "FRONT", "stile"), key=lambda part: _world_box(part)[0][0])
    side = min(_members(design, "LEFT", "stile"), key=lambda part: _world_box(part)[1][0])
    both = {part["mark"]: _level([part]) for part in (front, side)}
    _show(file, drawing, "members", both, findings)
    bolts = [
        place
        for fixing in design["fixings"]
        if fixing["bag"] == "corner bolts" and fixing["key"].startswith("bolt")
        for place in fixing["positions"]
    ]
    lines = [(a, b) for layer, a, b in drawing.lines if layer == "holes"]
    if not bolts:
        return
    middle = sum(a[0] + b[0] for a, b in lines) / max(1, 2 * len(lines))
    near = any(abs(place[0] - middle) < 0.1 for place in bolts)
    xs = sorted({place[0] for place in bolts})
    findings.unless(len(lines) == 2 and near, file, "bolt", f"{len(lines)} lines about x = {middle:.1f} mm", f"at {xs}")
    low, high = _world_box(front)[1][0], _world_box(side)[1][1]
    for a, b in lines:
        ends = sorted((a[1], b[1]))
        through = abs(ends[0] - low) < 0.1 and abs(ends[1] - high) < 0.1
        findings.unless(through, file, "bolt", f"hole from y = {ends[0]:.1f} to {ends[1]:.1f} mm", f"{low} to {high}")
    _demand_measure(file, drawing, "bolt", high - low, findings)


def _check_roof_edge(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    top = max(f["level"] for f in design["frames"] if f["face"] == "FRONT")
    heads = [
        part
        for part in design["parts"]
        if part["face"] == "FRONT" and part["role"] == "head" and max(1, part["level"]) == top
    ]
    # a head that slopes along the front is cut somewhere between its ends
    level = all(abs(part["cut"]["start_deg"]) < 1e-6 for part in heads)
    _show(file, drawing, "members", {"head": _upright(heads)}, findings, "xYxY" if level else "x-x-")
    roofs = [p for p in design["parts"] if p["face"].startswith("ROOF") and p["kind"] == "panel"]
    if roofs:
        kinds = set()
        for part in roofs:
            normal = body(part["mark"], part["solids"][0]).normals[0]
            kinds.add(part["solids"][0]["depth"] / math.hypot(normal[1], normal[2]))
        found = any(abs(m - depth) < _GRAIN_MM for m in drawing.measures for depth in kinds)
        findings.unless(found, file, "roof panel", "its thickness is not dimensioned", f"{sorted(kinds)} mm")


def _check_bays(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    _show(file, drawing, "members", {"mullion": _level(_members(design, "FRONT", "mullion"))}, findings)


def _demand_measure(file: str, drawing: Drawing, name: str, size: float, findings: Findings) -> None:
    shown_ = any(abs(size - measure) < _GRAIN_MM for measure in drawing.measures)
    found = ", ".join(f"{m:.2f}" for m in drawing.measures)
    findings.unless(shown_, file, name, f"dimensions {found} mm", f"{size:.2f} mm among them")


def _check_track(file: str, design: Record, drawing: Drawing, findings: Findings) -> None:
    """The panel named is the one with the least cover to spare; each row keeps what its fit says."""
    said = " ".join(text for _, text in drawing.words)
    ways = [tr("section along its width"), tr("section along its height")]
    head = tr("panel {mark} ({address}), {section}: the one with the least cover to spare")
    title = re.search(pattern(head, mark=r"(\S+)", section=f"({'|'.join(map(re.escape, ways))})"), said)
    part = next((p for p in _in_track(design) if title is not None and p["mark"] == title[1]), None)
    if title is None or part is None:
        findings.add(file, "", "names no panel in track", "panel, address and direction")
        return
    axis, fit = ways.index(title[2]), part["fit"]
    spare = fit["cover_cold_mm"][axis] - fit["least_cover_mm"]
    least = min(c - p["fit"]["least_cover_mm"] for p in _in_track(design) for c in p["fit"]["cover_cold_mm"])
    findings.unless(spare < least + 1e-6, file, part["mark"], f"{spare:.2f} mm to spare", f"the least, {least:.2f} mm")
    _demand_measure(file, drawing, part["mark"], fit["slot_depth_mm"], findings)
    thick = next(m["thickness_mm"] for m in design["materials"] if m["key"] == part["material"])
    _demand_measure(file, drawing, part["mark"], thick, findings)
    alpha = next(m["alpha_1e6_k"] for m in design["materials"] if m["key"] == part["material"]) * 1e-6
    size = part["cut"]["height_mm" if axis else "width_mm"]
    slot, gap = fit["slot_depth_mm"], fit["clearance_mm"][axis]
    hot = gap - alpha * size * (fit["hottest_degc"] - fit["cut_degc"]) / 2
    rows = {
        "as cut": (slot - gap, slot - gap),
        "hottest": (slot - hot, slot - hot),
        "coldest": (slot, fit["cover_cold_mm"][axis]),
    }
    tracks = sorted((_box(o) for layer, o in drawing.outlines if layer == "tracks"), key=lambda b: (-b[1], b[0]))
    ends = sorted((_box(o) for layer, o in drawing.outlines if layer == "panels"), key=lambda b: (-b[1], b[0]))
    if len(tracks) != 6 or len(ends) != 6:
        findings.add(file, part["mark"], f"{len(tracks)} channels, {len(ends)} ends of panel", "six of each")
        return
    for place, (name, wanted) in enumerate(rows.items()):
        (one, two), (first, last) = tracks[2 * place : 2 * place + 2], ends[2 * place : 2 * place + 2]
        covers = (one[2] - first[0], last[2] - two[0])
        good = all(abs(a - b) < 0.05 for a, b in zip(covers, wanted, strict=True))
        found = f"{name}: covers {covers[0]:.2f} and {covers[1]:.2f} mm"
        findings.unless(good, file, part["mark"], found, f"{wanted[0]:.2f} and {wanted[1]:.2f} mm")
        whole = all(_is_filled(outline) for layer, outline in drawing.outlines if layer == "panels")
        findings.unless(whole, file, part["mark"], "an end of the panel is askew", "ends cut square")
        high = first[3] - first[1]
        findings.unless(abs(high - thick) < _GRAIN_MM, file, part["mark"], f"{high:.2f} mm thick", f"{thick} mm")
