"""Does the design agree with itself?

Every part once, cut and place of one size, flutes along the sheet, inch sizes in
sixteenths, the gap behind every panel edge, masses, hardware counted from its places,
solids free of clashes and of the plant's clear box.

Left out: whether it stands up (see `checks`); gussets, diagonals and lining may reach
into the clear box, as built.

Units: mm, kg, 1/10 000 mm where named units.
"""

from __future__ import annotations

from collections import Counter
from math import dist, hypot
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import Body, Vector, body, depth_of_clash, dot, shoelace
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, units
from enclosure.audit.tables import ripped_width

Record = dict[str, Any]
DESIGN = "design.json"
PANELS = ("panel", "film")
_INSIDE = ("gusset", "diagonal", "lining")
_GRAIN_MM = 0.01
_HEADROOM_MM = 200.0
"""A roof frame of a hand's depth on a steep slope leaves less than this free over the clear box."""
_TIE_REACH_MM = 300.0
"""A wire tie is wound by hand: no post stands farther from the frame than this."""


def check_design(design: Record, findings: Findings) -> None:
    """Compare a design with itself."""
    materials = {row["key"]: row for row in design["materials"]}
    for mark, count in Counter(part["mark"] for part in design["parts"]).items():
        findings.unless(count == 1, DESIGN, mark, f"{count} parts bear this mark", "one")
    for part in design["parts"]:
        with findings.reading(DESIGN, str(part.get("mark"))):
            _check_part(part, materials, design, findings)
    with findings.reading(DESIGN, "base"):
        _check_sums(design, findings)
    with findings.reading(DESIGN, "solids"):
        _check_solids(design, findings)
    with findings.reading(DESIGN, "sizes"):
        _check_sizes(design, findings)
    with findings.reading(DESIGN, "anchors"):
        _check_anchors(design, findings)
    with findings.reading(DESIGN, "holes"):
        _check_holes(design, findings)


def _check_part(part: Record, materials: dict[str, Record], design: Record, findings: Findings) -> None:
    mark, cut, material = part["mark"], part["cut"], materials.get(part["material"])
    if material is None:
        findings.add(DESIGN, mark, f"material {part['material']}", "one of the design's materials")
        return
    findings.unless(
        mark.isdecimal() == (part["kind"] in PANELS),
        DESIGN,
        mark,
        f"a {part['kind']} so marked",
        "figures alone for panels, letters first for all else",
    )
    _check_mass(part, material, design, findings)
    if cut["from"] == "sheet":
        _check_sheet_cut(part, material, findings)
        sizes = [cut["width_mm"], cut["height_mm"]]
    else:
        _check_stick_cut(part, material, design, findings)
        sizes = [cut["length_mm"]]
    for size in sizes:
        grain = SIXTEENTH if design["units"] == "inch" else UNITS_PER_MM
        off = units(size) % grain
        if part["kind"] in PANELS and min(off, grain - off) > 20:
            findings.add(
                DESIGN, mark, f"{size} mm", "whole sixteenths of an inch" if grain == SIXTEENTH else "whole mm"
            )
    if part["fit"] is not None:
        _check_fit(part, material, findings)


def _check_mass(part: Record, material: Record, design: Record, findings: Findings) -> None:
    """A sheet part weighs what its area says; a stick with mitres or a bevel weighs less than its length says,
    a batten ripped narrower by its share of the width.

    The length to cut is rounded down, the mass is that of the stick in place: up to one cutting step more.
    """
    cut = part["cut"]
    if cut["from"] == "stick":
        step = 1.5875 if design["units"] == "inch" else 1.0
        most = (cut["length_mm"] + step) * material["mass_kg_m"] / 1000
        share = (ripped_width(part, material["width_mm"]) or material["width_mm"]) / material["width_mm"]
        least = 0.5 * share * cut["length_mm"] * material["mass_kg_m"] / 1000
    elif part["kind"] == "film":
        least = most = cut["width_mm"] * cut["height_mm"] * 1e-6 * material["mass_kg_m2"]
    else:
        least = most = abs(shoelace(cut["outline"])) * 1e-6 * material["mass_kg_m2"]
    good = least * 0.995 - 0.001 <= part["mass_kg"] <= most * 1.005 + 0.001
    findings.unless(good, DESIGN, part["mark"], f"mass {part['mass_kg']} kg", f"{least:.3f} to {most:.3f} kg")


def _check_sheet_cut(part: Record, material: Record, findings: Findings) -> None:
    mark, cut, outline = part["mark"], part["cut"], part["cut"]["outline"]
    wide, high = cut["width_mm"], cut["height_mm"]
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    box = (min(xs), min(ys), max(xs), max(ys))
    if any(abs(a - b) > _GRAIN_MM for a, b in zip(box, (0, 0, wide, high), strict=True)):
        findings.add(DESIGN, mark, f"outline from {box[:2]} to {box[2:]}", f"its {wide} x {high} mm filled")
    findings.unless(shoelace(outline) > 0, DESIGN, mark, "outline runs clockwise", "weather face to the viewer")
    if material["flutes"]:
        findings.unless(not cut["turnable"], DESIGN, mark, "may be turned", "flutes fix its direction")
    for hole in cut["holes"]:
        inside = 0 < hole["x_mm"] < wide and 0 < hole["y_mm"] < high and hole["diameter_mm"] > 0
        findings.unless(inside, DESIGN, mark, f"hole at {hole['x_mm']}, {hole['y_mm']} mm", "a hole inside the part")
    solid = part["solids"][0]["outline"]
    if part["kind"] == "film":
        low, size = (
            0.0,
            (max(x for x, _ in solid) - min(x for x, _ in solid), max(y for _, y in solid) - min(y for _, y in solid)),
        )
        findings.unless(
            size[0] + low <= wide + _GRAIN_MM and size[1] <= high + _GRAIN_MM,
            DESIGN,
            mark,
            f"cut {wide} x {high} mm",
            f"at least the {size[0]:.1f} x {size[1]:.1f} mm that it covers",
        )
        return
    if not _alike(_shape(solid), _shape(outline)):
        findings.add(DESIGN, mark, f"in place it is {_words(solid)}", f"as cut, {_words(outline)}")


def _shape(outline: list[list[float]]) -> list[tuple[float, float]]:
    """Return the corners from the lower left of their bounds."""
    x0, y0 = min(x for x, _ in outline), min(y for _, y in outline)
    return [(x - x0, y - y0) for x, y in outline]


def _alike(ones: list[tuple[float, float]], others: list[tuple[float, float]]) -> bool:
    near = all(any(hypot(x - a, y - b) < 2 * _GRAIN_MM for a, b in others) for x, y in ones)
    return near and len(ones) == len(others)


def _words(outline: list[list[float]]) -> str:
    x0, y0 = min(x for x, _ in outline), min(y for _, y in outline)
    return "(" + "; ".join(f"{x - x0:.2f}, {y - y0:.2f}" for x, y in outline) + ") mm"


def _lengthwise(sides: list[float], material: Record) -> int:
    """Return the place of a solid's edge along the stick: the longest, or in a stub shorter than it is wide, the third.

    `sides` are the prism's depth, then the sides of its outline. A stub is a plain block whose other two edges
    are the timber's thickness and width; its longest edge is then its width.
    """
    longest = sides.index(max(sides))
    section = sorted((material["thickness_mm"], material["width_mm"]))
    if len(sides) != 5 or abs(sides[1] - sides[3]) > _GRAIN_MM or abs(sides[2] - sides[4]) > _GRAIN_MM:
        return longest
    for place in range(3):
        across = sorted(side for other, side in enumerate(sides[:3]) if other != place)
        if all(abs(a - b) <= _GRAIN_MM for a, b in zip(across, section, strict=True)):
            return place
    return longest


def _check_stick_cut(part: Record, material: Record, design: Record, findings: Findings) -> None:
    """The greatest length of the solid, lengthwise, is the length to cut, rounded down."""
    bodies = [body(part["mark"], prism) for prism in part["solids"]]
    first = bodies[0]
    feet = first.corners[::2]
    sides = [part["solids"][0]["depth"]]
    sides += [
        hypot(*(a - b for a, b in zip(p, q, strict=True))) for p, q in zip(feet, feet[1:] + feet[:1], strict=True)
    ]
    along = first.edges[_lengthwise(sides, material)]
    reach = [dot(along, corner) for one in bodies for corner in one.corners]
    long, cut = max(reach) - min(reach), part["cut"]["length_mm"]
    grain = 1.5875 if design["units"] == "inch" else 1.0
    if not -0.05 <= long - cut <= grain + 0.05:
        findings.add(DESIGN, part["mark"], f"to cut {cut} mm long", f"{long:.3f} mm in place, rounded down")


def _check_fit(part: Record, material: Record, findings: Findings) -> None:
    """Gap, movement and cover of a panel: L alpha dT; cover at the coldest, hard to the other side."""
    fit, cut, alpha = part["fit"], part["cut"], material["alpha_1e6_k"] * 1e-6
    in_track = material["kind"] != "foam board"
    for axis, size in enumerate((cut["width_mm"], cut["height_mm"])):
        way = f"{part['mark']} {('across', 'along')[axis]}"
        gap, needed, cover = (fit[key][axis] for key in ("clearance_mm", "needed_clearance_mm", "cover_cold_mm"))
        findings.unless(gap >= needed - 1e-3, DESIGN, way, f"a gap of {gap} mm", f"at least {needed} mm")
        heat = alpha * size * (fit["hottest_degc"] - fit["cut_degc"]) / 2
        findings.unless(
            needed >= heat - 1e-3, DESIGN, way, f"needed gap {needed} mm", f"at least {heat:.3f} mm of growth"
        )
        least = fit["least_cover_mm"]
        findings.unless(cover >= least - 1e-3, DESIGN, way, f"edge cover {cover} mm", f"at least {least} mm")
        if in_track:
            shrunk = alpha * size * (fit["cut_degc"] - fit["coldest_degc"])
            right = fit["slot_depth_mm"] - 2 * gap - shrunk
            findings.unless(abs(cover - right) < 0.02, DESIGN, way, f"edge cover {cover} mm", f"{right:.3f} mm")
        moves = alpha * size * (fit["hottest_degc"] - fit["coldest_degc"])
        found = fit["movement_mm"][axis]
        findings.unless(abs(found - moves) < 0.02, DESIGN, way, f"movement {found} mm", f"{moves:.3f} mm")
    if material["flutes"]:
        taped = min(part["tape_mm"]) >= cut["width_mm"] - 1
        findings.unless(taped, DESIGN, part["mark"], f"tape {part['tape_mm']} mm", f"{cut['width_mm']} mm or more each")


def _check_sums(design: Record, findings: Findings) -> None:
    base = design["base"]
    diagonal = hypot(base["ring_length_mm"], base["ring_width_mm"])
    findings.unless(
        abs(diagonal - base["diagonal_mm"]) < 0.01,
        DESIGN,
        "base",
        f"diagonal {base['diagonal_mm']} mm",
        f"{diagonal:.3f} mm",
    )
    bricks = f"{base['bricks_to_buy']} bricks to buy"
    findings.unless(base["bricks_to_buy"] >= base["bricks"], DESIGN, "base", bricks, f"{base['bricks']} or more")
    for fixing in design["fixings"]:
        if fixing["unit"] == "each":
            places = len(fixing["positions"])
            findings.unless(
                fixing["amount"] == places,
                DESIGN,
                fixing["key"],
                f"{fixing['amount']} in {fixing['bag']}",
                f"{places}, one for each place",
            )
    keys = [frame["face"] for frame in design["frames"]]
    for face in ("FRONT", "RIGHT", "BACK", "LEFT"):
        findings.unless(face in keys, DESIGN, face, "no frame", "a frame for each wall")
    for anchor in design["anchors"]:
        for height in anchor["tie_heights_mm"]:
            top = design["outside_mm"][2]
            findings.unless(0 < height < top, DESIGN, anchor["mark"], f"tied at {height} mm", f"between 0 and {top} mm")


def _check_solids(design: Record, findings: Findings) -> None:
    bodies = [body(part["mark"], prism) for part in design["parts"] for prism in part["solids"]]
    bodies.sort(key=lambda one: one.low[0])
    for place, one in enumerate(bodies):
        for other in bodies[place + 1 :]:
            if other.low[0] > one.high[0]:
                break
            deep = depth_of_clash(one, other)
            if deep > 0:
                both = " and ".join(sorted({one.mark, other.mark}))
                findings.add(DESIGN, both, f"lie {deep:.2f} mm deep in each other", "parts that only touch")
    inside = {part["mark"] for part in design["parts"] if part["kind"] in _INSIDE}
    clear = _clear_box(design)
    for one in bodies:
        deep = 0.0 if one.mark in inside else depth_of_clash(clear, one)
        findings.unless(
            deep == 0, DESIGN, one.mark, f"reaches {deep:.2f} mm into the clear box", "the clear box left free"
        )


def _check_sizes(design: Record, findings: Findings) -> None:
    """The outside is that of the frames, the clear box what they leave free, up to the roof."""
    first = {frame["face"]: frame for frame in reversed(design["frames"])}
    along = [a for a, _ in first["FRONT"]["outline"]]
    timber = [
        body(part["mark"], prism) for part in design["parts"] if part["kind"] == "member" for prism in part["solids"]
    ]
    wide = max(along) - min(along)
    deep = first["BACK"]["plane"]["origin"][1] - first["FRONT"]["plane"]["origin"][1]
    outside = (wide, deep, max(one.high[2] for one in timber))
    findings.unless(
        dist(design["outside_mm"], outside) < 0.05, DESIGN, "outside", f"{design['outside_mm']} mm", f"{outside} mm"
    )
    free = (wide - 2 * first["LEFT"]["depth_mm"], deep - 2 * first["FRONT"]["depth_mm"])
    good = dist(design["clear_mm"][:2], free) < 0.05
    findings.unless(good, DESIGN, "clear box", f"{design['clear_mm']} mm", f"{free} mm between the frames")
    higher = _clear_box(design, _HEADROOM_MM)
    over = [*timber, *(body(p["mark"], prism) for p in design["parts"] if p["kind"] in PANELS for prism in p["solids"])]
    under = any(depth_of_clash(higher, one) > 0 for one in over)
    findings.unless(under, DESIGN, "clear box", f"{design['clear_mm'][2]} mm high", "the height up to the roof")


def _check_anchors(design: Record, findings: Findings) -> None:
    """Posts and stakes stand outside; a post stands close to the wall that it is tied to."""
    wide, deep, _ = design["outside_mm"]
    edges = {"LEFT": (0, 0.0), "RIGHT": (0, wide), "FRONT": (1, 0.0), "BACK": (1, deep)}
    for anchor in design["anchors"]:
        mark, place = anchor["mark"], (anchor["x_mm"], anchor["y_mm"])
        inside = 0 < place[0] < wide and 0 < place[1] < deep
        findings.unless(not inside, DESIGN, mark, f"stands at {place} mm", "a place outside the frame")
        if anchor["kind"] != "post":
            continue
        axis, edge = edges[anchor["tied_to"]]
        off = abs(anchor["frame_mm"][axis] - edge), dist(place, anchor["frame_mm"])
        good = off[0] < 0.1 and off[1] < _TIE_REACH_MM
        right = f"a tie on the {anchor['tied_to']} beside it"
        findings.unless(good, DESIGN, mark, f"{off[1]:.0f} mm from its tie", right)


def _check_holes(design: Record, findings: Findings) -> None:
    """A button fixing sits in every hole of a panel, and nowhere else."""
    holes: list[tuple[str, Vector]] = []
    for part in design["parts"]:
        if part["cut"]["from"] != "sheet" or not part["cut"]["holes"]:
            continue
        prism = part["solids"][0]
        left, foot = (min(corner[axis] for corner in prism["outline"]) for axis in (0, 1))
        for hole in part["cut"]["holes"]:
            a, b = left + hole["x_mm"], foot + hole["y_mm"]
            x, y, z = (prism["origin"][i] + a * prism["u"][i] + b * prism["v"][i] for i in range(3))
            holes.append((part["mark"], (x, y, z)))
    buttons = [place for row in design["fixings"] if row["key"] == "button_fixing" for place in row["positions"]]
    for mark, hole in holes:
        near = any(dist(hole, place) < 0.1 for place in buttons)
        findings.unless(near, DESIGN, mark, f"a hole at {hole} mm without its button", "a button fixing in it")
    findings.unless(len(buttons) == len(holes), DESIGN, "holes", f"{len(holes)} for {len(buttons)} buttons", "one each")


def _clear_box(design: Record, more: float = 0.0) -> Body:
    depth = next(frame["depth_mm"] for frame in design["frames"] if frame["face"] == "FRONT")
    wide, deep, high = design["clear_mm"]
    high += more
    outline = [[0.0, 0.0], [wide, 0.0], [wide, deep], [0.0, deep]]
    return body(
        "clear box",
        {"origin": [depth, depth, 0.0], "u": [1.0, 0.0, 0.0], "v": [0.0, 1.0, 0.0], "outline": outline, "depth": high},
    )


# --- order of work ----------------------------------------------------------------


def check_order(design: Record, findings: Findings) -> None:
    """Replay the order of work: everything a step needs stands; each part goes up once and comes down in reverse."""
    done: set[str] = set()
    up: list[str] = []
    standing: set[str] = set()
    down_seen: set[str] = set()
    wanted = {part["mark"] for part in design["parts"] if part["kind"] != "lining"}
    masses = {part["mark"]: part["mass_kg"] for part in design["parts"]}
    keys = Counter(step["key"] for step in design["steps"])
    for step in design["steps"]:
        key = f"step {step['key']}"
        findings.unless(keys[step["key"]] == 1, DESIGN, key, f"{keys[step['key']]} steps of this name", "one")
        for before in step["after"]:
            findings.unless(before in done, DESIGN, key, f"comes before {before}", "all it needs done before it")
        done.add(step["key"])
        for mark in step["parts"]:
            findings.unless(mark in masses, DESIGN, key, f"brings {mark}", "parts of the design")
            if step["phase"] == "raising":
                findings.unless(mark not in standing, DESIGN, mark, f"goes up again in {key}", "once")
                standing.add(mark)
                up.append(step["key"])
            elif step["phase"] == "take-down":
                findings.unless(
                    mark in standing or mark in down_seen,
                    DESIGN,
                    mark,
                    f"{key} takes down what never went up",
                    "only what stands",
                )
                findings.unless(mark not in down_seen, DESIGN, mark, f"comes down again in {key}", "once")
                down_seen.add(mark)
        heaviest = max((masses.get(mark, 0.0) for mark in step["parts"]), default=0.0)
        if step["phase"] != "first build" and step["mass_kg"] + 0.051 < heaviest and step["parts"]:
            findings.add(DESIGN, key, f"heaviest lift {step['mass_kg']} kg", f"{heaviest:.2f} kg or more")
    for mark in sorted(wanted - standing):
        findings.add(DESIGN, mark, "no raising step brings it", "one step")
    for mark in sorted(standing - down_seen):
        findings.add(DESIGN, mark, "no take-down step brings it down", "one step")
    _check_reverse(design, findings)


def _check_reverse(design: Record, findings: Findings) -> None:
    """Steps that bring parts come down in the opposite order; panels go up in the order of their numbers per wall."""
    raised = [step["parts"] for step in design["steps"] if step["phase"] == "raising" and step["parts"]]
    lowered = [step["parts"] for step in design["steps"] if step["phase"] == "take-down" and step["parts"]]
    same = [sorted(parts) for parts in raised] == [sorted(parts) for parts in reversed(lowered)]
    findings.unless(same, DESIGN, "steps", "the take-down is not the raising reversed", "last up, first down")
