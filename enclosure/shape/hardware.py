"""How many bolts, screws, brackets, metres of tape and wire, and where does each go?

Everything is counted from positions, never from a factor.
Units: mm, world coordinates; tape, seal and wire in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from enclosure.errors import DesignError
from enclosure.shape.anchoring import wire_length
from enclosure.shape.bracing import gusset_board, has_gussets
from enclosure.shape.context import Context
from enclosure.shape.frame import uprights
from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Anchor, Fixing, Part, Point, SheetCut, StickCut, Vec
from enclosure.shape.screws import (
    BRACKET_STEP_MM,
    SINK_DEEP_MM,
    bolt_for,
    bolt_needed,
    brace_screws,
    first_listed,
    gusset_screws,
)
from enclosure.shape.space import add, at, cross, dot, extent, level_at, tidy

BOLT_BASE_MM = 1200.0
BOLT_STEP_MM = 600.0
BOLT_END_MM = 100.0
BOLT_END_IN_TIMBER_MM = 40.0
"""From a bolt to the end of the timber it runs through: five diameters of M8; practice, no source."""
BOLT_CLEAR_MM = 20.0
"""From a bolt to a timber that meets the one it runs through: room for a washer and a spanner; practice, no source."""
TRACK_SCREW_STEP_MM = 300.0
WASHER_STEP_MM = 300.0
STAPLE_STEP_MM = 100.0
TRACK_SCREW_END_MM = 40.0
BRACKET_MM = 3.0
SILL_BOLT_MM = 25.0
"""The bolts of a sill bracket over the sill's upper face."""
BED_LAP_MM = 300.0
"""Where the two ends of the plastic sheet lie over each other."""
TIE_M = 1.0
"""Wire of one tie: two turns round post and frame (common practice, no source)."""
ROPE_LOOPS_M = 0.6
"""Turned back at both ends of a slanting wire (common practice, no source)."""


def bolts_in_corner(height: float) -> int:
    """Return the bolts of one corner: two up to 1.2 m, one more per started 600 mm (common practice, no source)."""
    return 2 + max(0, math.ceil((height - BOLT_BASE_MM) / BOLT_STEP_MM - 1e-9))


def spread(low: float, high: float, count: int) -> list[float]:
    """Return `count` places evenly from low to high, both ends included (the middle when one)."""
    if count == 1:
        return [(low + high) / 2]
    return [low + (high - low) * k / (count - 1) for k in range(count)]


def along(length: float, step: float, end: float) -> list[float]:
    """Return places along a length at most `step` apart, `end` away from both ends."""
    if length <= 2 * end:
        return [length / 2]
    return spread(end, length - end, max(2, math.ceil((length - 2 * end) / step - 1e-9) + 1))


class _Bill:
    """Collects positions by hardware key."""

    def __init__(self, ctx: Context) -> None:
        self.ctx = ctx
        self.places: dict[tuple[str, str], list[Vec]] = {}
        self.metres: dict[tuple[str, str], float] = {}

    def each(self, key: str, bag: str, places: Iterable[Vec]) -> None:
        self.places.setdefault((key, bag), []).extend(places)

    def bolt(self, bag: str, grip: float, places: list[Vec], sunk: float = 0.0) -> None:
        """Count bolts long enough for what they clamp, with a washer under head and nut."""
        self.each(bolt_for(self.ctx.stock.hardware, bolt_needed(grip, sunk)), bag, places)
        self.each("washer_m8", bag, [p for p in places for _ in (0, 1)])

    def screw(self, key: str, bag: str, places: Iterable[Vec]) -> None:
        """Count screws of a kind, or plain wood screws where the stock list has no such kind."""
        self.each(first_listed(self.ctx.stock.hardware, key), bag, places)

    def length(self, key: str, bag: str, metres: float) -> None:
        self.metres[(key, bag)] = self.metres.get((key, bag), 0.0) + metres

    def fixings(self) -> tuple[Fixing, ...]:
        names = self.ctx.stock.hardware
        missing = sorted({key for key, _ in (*self.places, *self.metres)} - set(names))
        if missing:
            raise DesignError(
                f"the stock list has no hardware called {', '.join(missing)}",
                f"add [hardware.{missing[0]}] with name, per, pack and price, or leave anchors.stakes out",
            )
        rows = [
            Fixing(key, names[key].name, bag, tuple(places), "each", float(len(places)))
            for (key, bag), places in self.places.items()
            if places
        ]
        rows += [
            Fixing(key, names[key].name, bag, (), "m", tidy(metres))
            for (key, bag), metres in self.metres.items()
            if metres > 0
        ]
        return tuple(sorted(rows, key=lambda row: (row.bag, row.key)))


def hardware(
    ctx: Context,
    walls: tuple[FrameGrid, ...],
    roofs: tuple[FrameGrid, ...],
    parts: list[Part],
    posts: tuple[Anchor, ...],
) -> tuple[Fixing, ...]:
    """Return all hardware of the shelter, bag by bag."""
    bill = _Bill(ctx)
    _corner_bolts(bill, walls, parts)
    _tier_bolts(bill, walls, parts)
    _roof_bolts(bill, walls, roofs)
    for grid in (*walls, *roofs):
        _joints(bill, grid)
    grids = {(grid.face, grid.level): grid for grid in (*walls, *roofs)}
    heads = {
        (part.face, part.level): part.cut.bevel_low_mm
        for part in parts
        if part.role == "head" and isinstance(part.cut, StickCut) and part.cut.bevel_low_mm
    }
    for part in parts:
        place = (part.face, part.level)
        _part_hardware(bill, part, grids.get(place), heads.get(place, 0.0))
    _bed(bill, parts)
    _seals(bill, walls)
    _ridge(bill, roofs)
    _anchors(bill, posts)
    return bill.fixings()


def _anchors(bill: _Bill, anchors: tuple[Anchor, ...]) -> None:
    """Posts with their ties; stakes with wire rope, an eye bolt, a tensioner and four grips to each wire."""
    for anchor in anchors:
        foot = (anchor.x_mm, anchor.y_mm, anchor.ground_mm)
        if anchor.kind == "post":
            bill.each("post", "anchors", [foot])
            bill.length("tie_wire", "anchors", TIE_M * len(anchor.tie_heights_mm))
            continue
        bill.each("stake", "anchors", [foot])
        for height in anchor.tie_heights_mm:
            top = (*anchor.frame_mm, height)
            bill.each("eye_bolt", "anchors", [top])
            bill.each("tensioner", "anchors", [foot])
            bill.each("rope_grip", "anchors", [top, top, foot, foot])
            bill.length("wire_rope", "anchors", wire_length(anchor, height) / 1000 + ROPE_LOOPS_M)


def apart_from(places: list[float], taken: list[tuple[float, float]], low: float, high: float) -> list[float]:
    """Return places moved as little as may be, so that none lies in or close to a taken stretch.

    A place that finds no room between `low` and `high` stays.

    >>> apart_from([100.0, 500.0, 900.0], [(480.0, 518.0)], 100.0, 900.0)
    [100.0, 538.0, 900.0]
    """
    wide = [(start - BOLT_CLEAR_MM, end + BOLT_CLEAR_MM) for start, end in taken]
    edges = sorted({edge for stretch in wide for edge in stretch if low <= edge <= high})

    def free(place: float) -> bool:
        return not any(start < place < end for start, end in wide)

    moved: list[float] = []
    for place in places:
        others = [p for p in edges if free(p) and all(abs(p - q) > BOLT_CLEAR_MM for q in moved)]
        stays = free(place) or not others
        moved.append(place if stays else min((abs(p - place), p) for p in others)[1])
    return moved


def _meeting(parts: list[Part], grid: FrameGrid, line: float, axis: int) -> list[tuple[float, float]]:
    """Return the stretches along a line of a frame where members end at it: axis 0 for an upright line, 1 for level."""
    found = []
    for part in parts:
        upright = part.role in ("stile", "mullion")
        if part.kind != "member" or (part.face, part.level) != (grid.face, grid.level) or upright != (axis == 1):
            continue
        box = extent(part.solids[0].outline)
        if part.role != "head" and any(abs(box[axis + side] - line) < 1.0 for side in (0, 2)):
            found.append((box[1 - axis], box[3 - axis]))
    return found


def _corner_bolts(bill: _Bill, walls: tuple[FrameGrid, ...], parts: list[Part]) -> None:
    """Bolts through a side wall's end stile into the front or back frame's stile, in the middle of their lap.

    The side stile is as wide as the frame is deep, the other only as wide as its face. Each bolt keeps clear of the
    stile's ends, and its nut of the transoms that meet the stile.
    """
    for grid in walls:
        if grid.through:
            continue
        left, bottom, right, _ = extent(grid.outline)
        for a in (left, right):
            height = level_at(grid.outline, a) - bottom
            inward = a + (grid.member_face if a == left else -grid.member_face)
            foot, top = _stile_ends(parts, grid, a)
            low = max(bottom + BOLT_END_MM, foot + BOLT_END_IN_TIMBER_MM)
            high = min(bottom + height - BOLT_END_MM, top - BOLT_END_IN_TIMBER_MM)
            if high < low + BOLT_CLEAR_MM:
                low, high = ((foot + top) / 2 + half * BOLT_CLEAR_MM for half in (-0.5, 0.5))
            heights = spread(low, high, bolts_in_corner(height))
            places = [
                at(grid.plane, inward, b, -min(grid.depth, grid.member_face) / 2)
                for b in apart_from(heights, _meeting(parts, grid, inward, 0), low, high)
            ]
            bill.bolt("corner bolts", grid.member_face + grid.depth, places, SINK_DEEP_MM)


def _stile_ends(parts: list[Part], grid: FrameGrid, a: float) -> tuple[float, float]:
    """Return foot and top of the end stile at one side of a frame, the top at its lower edge."""
    for part in parts:
        if part.role == "stile" and (part.face, part.level) == (grid.face, grid.level):
            left, bottom, right, top = extent(part.solids[0].outline)
            if abs(left - a) < 1.0 or abs(right - a) < 1.0:
                tops = [b for _, b in part.solids[0].outline if b > (bottom + top) / 2]
                return bottom, min(tops)
    _, bottom, _, _ = extent(grid.outline)
    return bottom, level_at(grid.outline, a)


def _tier_bolts(bill: _Bill, walls: tuple[FrameGrid, ...], parts: list[Part]) -> None:
    """Bolts through the head of a lower frame into the sill of the one above, clear of the uprights of both."""
    for grid in walls:
        if grid.level == 1:
            continue
        left, bottom, right, _ = extent(grid.outline)
        count = max(2, math.ceil((right - left) / BOLT_STEP_MM))
        low, high = left + 2 * grid.member_face, right - 2 * grid.member_face
        below = next(one for one in walls if (one.face, one.level) == (grid.face, grid.level - 1))
        taken = _meeting(parts, grid, bottom + grid.member_face, 1)
        taken += _meeting(parts, below, extent(below.outline)[3] - below.member_face, 1)
        places = [
            at(grid.plane, a, bottom, -grid.depth / 2) for a in apart_from(spread(low, high, count), taken, low, high)
        ]
        bill.bolt("tier bolts", 2 * grid.member_face, places)


def _roof_bolts(bill: _Bill, walls: tuple[FrameGrid, ...], roofs: tuple[FrameGrid, ...]) -> None:
    """An angle and a bolt where each rafter lies on a wall across its run."""
    top = max(grid.level for grid in walls)
    for roof in roofs:
        for column in uprights(roof):
            middle = (column.left + column.right) / 2
            foot = at(roof.plane, middle, 0.0, -roof.depth)
            for wall in walls:
                if wall.level != top or abs(dot(wall.plane.n, roof.plane.u)) > 0.5:
                    continue
                reach = dot(wall.plane.n, add(wall.plane.origin, foot, -1.0))
                run = dot(wall.plane.n, roof.plane.v)
                b = reach / run if abs(run) > 1e-9 else math.inf
                low, high = extent(roof.outline)[1], extent(roof.outline)[3]
                if low <= b <= high:
                    place = at(roof.plane, middle, b, -roof.depth)
                    bill.each("angle_bracket", "roof ties", [place])
                    bill.bolt("roof ties", roof.member_face + BRACKET_MM, [place])
                    bill.screw("frame_screw_bracket", "roof ties", [place, place])


def _joints(bill: _Bill, grid: FrameGrid) -> None:
    """Two screws and, where no gusset sits, a steel angle at every end of an upright."""
    _, bottom, _, _ = extent(grid.outline)
    gussets = has_gussets(bill.ctx, grid)
    columns = uprights(grid)
    for index, column in enumerate(columns):
        is_end = index in (0, len(columns) - 1)
        middle = (column.left + column.right) / 2
        last = index == len(columns) - 1
        side, inward = (column.left, -1.0) if last else (column.right, 1.0)
        for b, up in ((bottom + grid.member_face / 2, 1.0), (_joint_level(grid, middle), -1.0)):
            corner = (side, b + up * grid.member_face / 2)
            if grid.lift_out_sill and up > 0:
                if is_end:
                    _sill_bracket(bill, grid, middle, corner, inward)
                else:
                    _bracket(bill, grid, corner, (inward, up))
                continue
            bill.each("frame_screw", "frame joints", [at(grid.plane, middle, b, c) for c in _thirds(grid.depth)])
            if not (is_end and gussets):
                _bracket(bill, grid, corner, (inward, up))


def _joint_level(grid: FrameGrid, a: float) -> float:
    return level_at(grid.outline, a) - grid.member_face / 2


def _thirds(depth: float) -> tuple[float, float]:
    return -depth / 4, -depth * 3 / 4


def _bracket(bill: _Bill, grid: FrameGrid, corner: Point, ways: Point) -> None:
    """An angle in the corner between two members, two short screws in each leg."""
    a, b = corner
    bill.each("angle_bracket", "frame joints", [at(grid.plane, a, b, -grid.depth / 2)])
    steps = (BRACKET_STEP_MM, 2 * BRACKET_STEP_MM)
    spots = [(a + ways[0] * s, b) for s in steps] + [(a, b + ways[1] * s) for s in steps]
    bill.screw("frame_screw_bracket", "frame joints", [at(grid.plane, x, y, -grid.depth / 2) for x, y in spots])


def _sill_bracket(bill: _Bill, grid: FrameGrid, middle: float, corner: Point, inward: float) -> None:
    """A bracket screwed on the lift-out sill; two bolts run from side to side through the stile into its other leg."""
    a, b = corner
    bill.each("sill_bracket", "lift-out sill", [at(grid.plane, a, b, -grid.depth / 2)])
    bolts = [at(grid.plane, middle, b + SILL_BOLT_MM, c) for c in _thirds(grid.depth)]
    bill.bolt("lift-out sill", grid.member_face + BRACKET_MM, bolts)
    screws = [at(grid.plane, a + inward * BRACKET_STEP_MM, b, c) for c in _thirds(grid.depth)]
    bill.screw("frame_screw_bracket", "lift-out sill", screws)


def _part_hardware(bill: _Bill, part: Part, grid: FrameGrid | None, bevelled_mm: float) -> None:
    solid = part.solids[0]
    if part.kind == "track" and isinstance(part.cut, StickCut):
        _track_screws(bill, part)
    elif part.role in ("transom", "purlin"):
        left, bottom, right, top = extent(solid.outline)
        for a in (left, right):
            places = [_on(part, a, (bottom + top) / 2, solid.depth * share) for share in (0.25, 0.75)]
            bill.each("frame_screw", "frame joints", places)
    elif part.kind == "gusset" and grid is not None:
        spots = gusset_screws(grid, part, covered_stile(bill.ctx, grid), bevelled_mm or grid.member_face)
        bill.screw("frame_screw_short", "gussets and diagonals", [_on(part, a, b) for a, b in spots])
    elif part.kind == "diagonal" and grid is not None:
        spots = brace_screws(part, bill.ctx.brief.frame.brace_screws, grid.member_face)
        bill.each("frame_screw", "gussets and diagonals", [_on(part, a, b) for a, b in spots])
    elif part.kind == "batten" and isinstance(part.cut, StickCut):
        bill.screw("frame_screw_short", "battens", _batten_screws(part))
    elif part.kind in ("panel", "film"):
        _panel_hardware(bill, part)


def covered_stile(ctx: Context, grid: FrameGrid) -> float:
    """Return how much of the inside face of an end stile the neighbouring wall and a gusset's thickness take."""
    board = gusset_board(ctx)
    return grid.depth + (board.thickness_mm if board else 0.0) if grid.through else 0.0


def _batten_screws(part: Part) -> list[Vec]:
    """Return the screws of a batten along its middle line."""
    left, bottom, right, top = extent(part.solids[0].outline)
    upright = top - bottom > right - left
    middle = ((left + right) / 2, (bottom + top) / 2)
    long = max(top - bottom, right - left)
    return [
        _on(part, *((middle[0], bottom + s) if upright else (left + s, middle[1])))
        for s in along(long, TRACK_SCREW_STEP_MM, TRACK_SCREW_END_MM)
    ]


def _on(part: Part, a: float, b: float, c: float = 0.0) -> Vec:
    solid = part.solids[0]
    n = cross(solid.u, solid.v)
    return tuple(  # type: ignore[return-value]
        tidy(solid.origin[i] + solid.u[i] * a + solid.v[i] * b + n[i] * c) for i in range(3)
    )


def _track_screws(bill: _Bill, part: Part) -> None:
    left, bottom, right, top = extent(part.solids[0].outline)
    upright = top - bottom > right - left
    length = max(top - bottom, right - left)
    places = []
    for s in along(length, TRACK_SCREW_STEP_MM, TRACK_SCREW_END_MM):
        places.append(_on(part, (left + right) / 2, bottom + s) if upright else _on(part, left + s, (bottom + top) / 2))
    bill.each("track_screw", "track screws", places)


def _panel_hardware(bill: _Bill, part: Part) -> None:
    skin = bill.ctx.stock.skins[part.material]
    assert isinstance(part.cut, SheetCut)
    left, bottom, right, top = extent(part.solids[0].outline)
    corners = [(left, bottom), (right, bottom), (right, top), (left, top)]
    bill.each("button_fixing", "panel fixings", [_on(part, left + h.x_mm, bottom + h.y_mm) for h in part.cut.holes])
    solid_tape, breather = part.tape_mm
    bill.length("top_tape", "tape and seal", solid_tape / 1000)
    bill.length("breather_tape", "tape and seal", breather / 1000)
    if part.vent:
        bill.each("turn_button", "vent", [_on(part, a, b) for a, b in corners])
        bill.each("angle_bracket", "vent", [_on(part, a, b) for a, b in corners])
        bill.each("hinge", "vent", [_on(part, a, top) for a in spread(left + 60, right - 60, 2)])
        bill.length("foam_seal", "tape and seal", 2 * (right - left + top - bottom) / 1000)
    if skin.kind == "glass":
        bill.each("setting_block", "panel fixings", [_on(part, left + (right - left) * k / 4, bottom) for k in (1, 3)])
    if skin.fixing == "washers":
        rim: list[Vec] = []
        for p, q in zip(corners, corners[1:] + corners[:1], strict=True):
            size = abs(q[0] - p[0]) + abs(q[1] - p[1])
            for s in along(size, WASHER_STEP_MM, 40.0):
                rim.append(_on(part, p[0] + (q[0] - p[0]) * s / size, p[1] + (q[1] - p[1]) * s / size))
        bill.each("washer_screw", "panel fixings", rim)
    if skin.fixing == "batten":
        rim_length = 2 * (right - left + top - bottom)
        bill.each("film_staple", "panel fixings", [_on(part, left, bottom)] * math.ceil(rim_length / STAPLE_STEP_MM))


def _seals(bill: _Bill, walls: tuple[FrameGrid, ...]) -> None:
    """Foam seal under every sill of the ground tier, at the corners and under the roof."""
    top = max(grid.level for grid in walls)
    for grid in walls:
        left, bottom, right, _ = extent(grid.outline)
        if grid.level == 1 or grid.level == top:
            bill.length("foam_seal", "tape and seal", (right - left) / 1000 * ((grid.level == 1) + (grid.level == top)))
        if not grid.through:
            height = math.fsum(level_at(grid.outline, a) - bottom for a in (left, right))
            bill.length("foam_seal", "tape and seal", height / 1000)


def _ridge(bill: _Bill, roofs: tuple[FrameGrid, ...]) -> None:
    if len(roofs) == 2:
        left, _, right, top = extent(roofs[0].outline)
        bill.length("ridge_strip", "roof ties", (right - left) / 1000)
        places = [at(grid.plane, a, top, -grid.depth / 2) for grid in roofs for a in spread(left + 60, right - 60, 3)]
        bill.bolt("roof ties", roofs[0].member_face + bill.ctx.ridge_thickness, places)
        angles = [at(roofs[0].plane, a, top, -roofs[0].depth) for a in (0.0, 0.0, right, right)]
        bill.each("angle_bracket", "roof ties", angles)
        bill.screw("frame_screw_bracket", "roof ties", [place for place in angles for _ in range(4)])


def _bed(bill: _Bill, parts: list[Part]) -> None:
    """A strip of plastic sheet round the inside of the lining, where the stock list has it."""
    sides = [part for part in parts if part.kind == "lining" and isinstance(part.cut, SheetCut)]
    if sides and "bed_sheet" in bill.ctx.stock.hardware:
        around = math.fsum(extent(part.solids[0].outline)[2] for part in sides)
        bill.length("bed_sheet", "bed", (around + BED_LAP_MM) / 1000)
