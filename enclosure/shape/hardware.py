"""How many bolts, screws, brackets, metres of tape and wire, and where does each go?

Everything is counted from positions, never from a factor.
Units: mm, world coordinates; tape, seal and wire in metres.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from enclosure.errors import DesignError
from enclosure.shape.anchoring import wire_length
from enclosure.shape.bracing import has_gussets
from enclosure.shape.context import Context
from enclosure.shape.frame import uprights
from enclosure.shape.grid import FrameGrid
from enclosure.shape.model import Anchor, Fixing, Part, SheetCut, StickCut, Vec
from enclosure.shape.space import add, at, dot, extent, level_at, tidy

BOLT_BASE_MM = 1200.0
BOLT_STEP_MM = 600.0
BOLT_END_MM = 100.0
TRACK_SCREW_STEP_MM = 300.0
WASHER_STEP_MM = 300.0
STAPLE_STEP_MM = 100.0
TRACK_SCREW_END_MM = 40.0
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
    _corner_bolts(bill, walls)
    _tier_bolts(bill, walls)
    _roof_bolts(bill, walls, roofs)
    for grid in (*walls, *roofs):
        _joints(bill, grid)
    for part in parts:
        _part_hardware(bill, part)
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


def _corner_bolts(bill: _Bill, walls: tuple[FrameGrid, ...]) -> None:
    """Bolts through a side wall's end stile into the front or back frame's stile, in the middle of their lap.

    The side stile is as wide as the frame is deep, the other only as wide as its face.
    """
    for grid in walls:
        if grid.through:
            continue
        left, bottom, right, _ = extent(grid.outline)
        for a in (left, right):
            height = level_at(grid.outline, a) - bottom
            count = bolts_in_corner(height)
            inward = a + (grid.member_face if a == left else -grid.member_face)
            places = [
                at(grid.plane, inward, bottom + b, -min(grid.depth, grid.member_face) / 2)
                for b in spread(BOLT_END_MM, height - BOLT_END_MM, count)
            ]
            bill.each("bolt_m8", "corner bolts", places)
            bill.each("washer_m8", "corner bolts", [p for p in places for _ in (0, 1)])


def _tier_bolts(bill: _Bill, walls: tuple[FrameGrid, ...]) -> None:
    """Bolts through the head of a lower frame into the sill of the one above."""
    for grid in walls:
        if grid.level == 1:
            continue
        left, bottom, right, _ = extent(grid.outline)
        count = max(2, math.ceil((right - left) / BOLT_STEP_MM))
        places = [
            at(grid.plane, a, bottom, -grid.depth / 2)
            for a in spread(left + 2 * grid.member_face, right - 2 * grid.member_face, count)
        ]
        bill.each("bolt_m8", "tier bolts", places)
        bill.each("washer_m8", "tier bolts", [p for p in places for _ in (0, 1)])


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
                    bill.each("bolt_m8", "roof ties", [place])
                    bill.each("washer_m8", "roof ties", [place, place])


def _joints(bill: _Bill, grid: FrameGrid) -> None:
    """Two screws and, where no gusset sits, a steel angle at every end of an upright."""
    _, bottom, _, _ = extent(grid.outline)
    gussets = has_gussets(bill.ctx, grid)
    columns = uprights(grid)
    for index, column in enumerate(columns):
        is_end = index in (0, len(columns) - 1)
        middle = (column.left + column.right) / 2
        for b in (bottom + grid.member_face / 2, level_at(grid.outline, middle) - grid.member_face / 2):
            place = at(grid.plane, middle, b, -grid.depth / 2)
            if grid.lift_out_sill and b < bottom + grid.member_face:
                if is_end:
                    bill.each("sill_bracket", "lift-out sill", [place])
                    bill.each("bolt_m8", "lift-out sill", [place, place])
                    bill.each("washer_m8", "lift-out sill", [place] * 4)
                else:
                    bill.each("angle_bracket", "frame joints", [place])
                continue
            bill.each("frame_screw", "frame joints", [place, place])
            if not (is_end and gussets):
                bill.each("angle_bracket", "frame joints", [place])


def _part_hardware(bill: _Bill, part: Part) -> None:
    solid = part.solids[0]
    if part.kind == "track" and isinstance(part.cut, StickCut):
        _track_screws(bill, part)
    elif part.role in ("transom", "purlin"):
        left, bottom, right, top = extent(solid.outline)
        for a in (left, right):
            bill.each("frame_screw", "frame joints", [_on(part, a, (bottom + top) / 2)] * 2)
    elif part.kind == "gusset":
        centre = _on(part, *_centre(part))
        bill.each("frame_screw", "gussets and diagonals", [centre] * 6)
    elif part.kind == "diagonal":
        bill.each("frame_screw", "gussets and diagonals", _brace_ends(part) * bill.ctx.brief.frame.brace_screws)
    elif part.kind == "batten" and isinstance(part.cut, StickCut):
        bill.each("frame_screw", "battens", [_on(part, *_centre(part))] * len(along(part.cut.length_mm, 300, 40)))
    elif part.kind in ("panel", "film"):
        _panel_hardware(bill, part)


def _brace_ends(part: Part) -> list[Vec]:
    """Return the two places where a diagonal is screwed to its frame, rising to the right or to the left."""
    outline = part.solids[0].outline
    _, bottom, _, top = extent(outline)
    middle = (bottom + top) / 2
    ends = []
    for low in (True, False):
        here = [p for p in outline if (p[1] < middle) == low]
        ends.append(_on(part, math.fsum(a for a, _ in here) / len(here), math.fsum(b for _, b in here) / len(here)))
    return ends


def _centre(part: Part) -> tuple[float, float]:
    left, bottom, right, top = extent(part.solids[0].outline)
    return ((left + right) / 2, (bottom + top) / 2)


def _on(part: Part, a: float, b: float) -> Vec:
    solid = part.solids[0]
    return tuple(  # type: ignore[return-value]
        tidy(solid.origin[i] + solid.u[i] * a + solid.v[i] * b) for i in range(3)
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
        bill.each("bolt_m8", "roof ties", places)
        bill.each("washer_m8", "roof ties", [p for p in places for _ in (0, 1)])
        bill.each(
            "angle_bracket",
            "roof ties",
            [at(roofs[0].plane, a, top, -roofs[0].depth) for a in (0.0, 0.0, right, right)],
        )
