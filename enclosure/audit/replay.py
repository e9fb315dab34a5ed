"""What falls from the saw if the cutting plan is followed?

The tree of cuts in ``plan.json`` is followed piece by piece in whole numbers; what
falls is compared with what the plan itself promises. Written from the definition of
the file alone: x across a sheet, y along its flutes; a cut takes a kerf beyond `at`.

Units: 1/10 000 mm, whole cents.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from math import hypot
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.lengths import UNITS_PER_MM, shown

Record = dict[str, Any]
PLAN = "plan.json"
_SLACK = 2
"""Units by which a sloped kerf may be short after its square root: 0.0002 mm."""
HOLE_TO_END = 10 * UNITS_PER_MM
"""Least distance of a sawn end of a stick from an old screw hole; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Fallen:
    """A part as it lies on its sheet: the marks of its copies, its rectangle, its area [units, units²]."""

    marks: tuple[str, ...]
    key: str
    x: int
    y: int
    width: int
    height: int
    area: float
    turned: bool


@dataclass(slots=True)
class SheetCut:
    """One pattern followed.

    Args:
        number: Number of the pattern over all plans, from 1.
        material: Key of the material.
        name: Name of the material.
        stock: The stock sheet as ``plan.json`` has it.
        copies: Sheets cut alike.
        kerf: Saw kerf [units].
        parts: What falls, in the order of the tree.
        cuts: Middle lines of the cuts, x and y of both ends.
        fences: For each cut how (rip, crosscut) and its distance from the piece's edge.
        first: Number of its first sheet, every copy counted.
    """

    number: int
    material: str
    name: str
    stock: Record
    copies: int
    kerf: int
    parts: list[Fallen] = field(default_factory=list)
    cuts: list[tuple[float, float, float, float]] = field(default_factory=list)
    fences: list[tuple[str, int]] = field(default_factory=list)
    first: int = 1


@dataclass(slots=True)
class StickCut:
    """One pattern of sticks followed: numbers of its first and last stick, pieces as (marks, start, length)."""

    first: int
    last: int
    material: str
    name: str
    stock: Record
    kerf: int
    pieces: list[tuple[tuple[str, ...], int, int]] = field(default_factory=list)


@dataclass(slots=True)
class Saw:
    """All patterns followed; panes made to size by the seller apart, each with the listed size that prices it."""

    sheets: list[SheetCut] = field(default_factory=list)
    panes: list[SheetCut] = field(default_factory=list)
    sticks: list[StickCut] = field(default_factory=list)


def follow(plan: Record, findings: Findings) -> Saw:
    """Follow all cutting plans; whatever does not come out right becomes a finding."""
    saw = Saw()
    for item in plan.get("sheets", ()):
        with findings.reading(PLAN, f"sheets of {item.get('material')}"):
            _follow_sheets(item, saw, findings)
    for item in plan.get("sticks", ()):
        with findings.reading(PLAN, f"sticks of {item.get('material')}"):
            _follow_sticks(item, saw, findings)
    return saw


class _Marks:
    """Deals out the marks behind each key; copies of one pattern one after the other."""

    def __init__(self, item: Record, findings: Findings) -> None:
        self.left = {key: list(names) for key, names in item["marks"].items()}
        self.findings = findings
        self.where = str(item["material"])

    def deal(self, keys: list[str], copies: int) -> list[tuple[str, ...]]:
        dealt: list[list[str]] = [[] for _ in keys]
        for _ in range(copies):
            for place, key in enumerate(keys):
                if self.left.get(key):
                    dealt[place].append(self.left[key].pop(0))
                else:
                    self.findings.add(PLAN, self.where, f"part {key} is cut once too often", "one for each mark")
        return [tuple(names) for names in dealt]

    def close(self) -> None:
        for key, names in self.left.items():
            for mark in names:
                self.findings.add(PLAN, mark, f"part {key} is never cut", "one cut for each part")


# --- sheets -----------------------------------------------------------------------


def _follow_sheets(item: Record, saw: Saw, findings: Findings) -> None:
    job, plan, marks = item["job"], item["plan"], _Marks(item, findings)
    kinds = {kind["key"]: kind for kind in job["parts"]}
    stock = {sheet["key"]: sheet for sheet in job["sheets"]}
    into = saw.panes if item.get("ordered") else saw.sheets
    for pattern in plan["patterns"]:
        number = len(into) + 1
        where = f"sheet-{number:02d}" if into is saw.sheets else f"pane {number}"
        sheet, copies = stock[pattern["sheet"]], _whole(pattern["copies"])
        cut = SheetCut(number, item["material"], item["name"], sheet, copies, _whole(job["kerf_units"]))
        cut.first = into[-1].first + into[-1].copies if into else 1
        into.append(cut)
        _SheetWalk(kinds, cut, where, job["stages"], findings).run(pattern["root"])
        dealt = marks.deal([part.key for part in cut.parts], copies)
        cut.parts = [
            Fallen(names, p.key, p.x, p.y, p.width, p.height, p.area, p.turned)
            for names, p in zip(dealt, cut.parts, strict=True)
        ]
    marks.close()
    used = [(pattern["sheet"], pattern["copies"]) for pattern in plan["patterns"]]
    _totals(item, stock, used, findings)


class _SheetWalk:
    """Follows one tree of cuts."""

    def __init__(
        self, kinds: dict[str, Record], cut: SheetCut, where: str, stages: int | None, findings: Findings
    ) -> None:
        self.kinds, self.cut, self.where, self.stages, self.findings = kinds, cut, where, stages, findings

    def wrong(self, found: str, expected: str, part: str = "") -> None:
        self.findings.add(PLAN, f"{self.where} {part}".strip(), found, expected)

    def run(self, root: Record) -> None:
        trim = _whole(self.cut.stock["trim_units"])
        width = _whole(self.cut.stock["width_units"]) - 2 * trim
        height = _whole(self.cut.stock["height_units"]) - 2 * trim
        pieces = [(root, trim, trim, width, height, "", 0)]
        while pieces:
            node, x, y, width, height, axis, turns = pieces.pop()
            if width <= 0 or height <= 0:
                self.wrong(f"a piece of {shown(width)} by {shown(height)}", "pieces with a size")
            elif "cut" in node:
                turns += node["cut"] != axis
                if self.stages is not None and turns > self.stages:
                    self.wrong(f"{turns} changes of cutting direction", f"at most {self.stages}")
                pieces += reversed(self._divide(node, x, y, width, height, turns))
            elif "part" in node:
                self._part(node, x, y, width, height)
            elif "filled" in node:
                self._filled(node, x, y, width, height)
            elif "pair" in node:
                self._pair(node["pair"], x, y, width, height)
            elif node["rest"] not in ("keep", "waste"):
                self.wrong(f"a rest called {node['rest']}", "keep or waste")

    def _divide(
        self, node: Record, x: int, y: int, width: int, height: int, turns: int
    ) -> list[tuple[Record, int, int, int, int, str, int]]:
        axis, at, kerf = node["cut"], _whole(node["at_units"]), self.cut.kerf
        across = {"x": width, "y": height}[axis]
        if not 0 < at < across:
            self.wrong(f"a cut at {shown(at)} in a piece of {shown(across)}", "a cut inside the piece")
            return []
        rest = across - at - kerf
        if (rest <= 0) != (node["far"] is None):
            self.wrong(f"beyond the cut at {shown(at)} lie {shown(rest)}", "a piece there only if it is wider than 0")
        self.cut.fences.append(({"x": "rip", "y": "crosscut"}[axis], at))
        middle = at + kerf / 2
        if axis == "x":
            self.cut.cuts.append((x + middle, y, x + middle, y + height))
            near = (node["near"], x, y, at, height, axis, turns)
            far = (node["far"], x + at + kerf, y, rest, height, axis, turns)
        else:
            self.cut.cuts.append((x, y + middle, x + width, y + middle))
            near = (node["near"], x, y, width, at, axis, turns)
            far = (node["far"], x, y + at + kerf, width, rest, axis, turns)
        return [near] if node["far"] is None else [near, far]

    def _part(self, node: Record, x: int, y: int, width: int, height: int) -> None:
        kind, turned = self.kinds[node["part"]], bool(node["turned"])
        size = (_whole(kind["width_units"]), _whole(kind["height_units"]))
        if turned and not kind["turnable"]:
            self.wrong("lies turned by 90 degrees", "flutes along the sheet", kind["key"])
        if (height, width) != size if turned else (width, height) != size:
            found = f"comes out {shown(width)} by {shown(height)}"
            self.wrong(found, f"{shown(size[0])} by {shown(size[1])}", kind["key"])
        self.cut.parts.append(Fallen((), kind["key"], x, y, width, height, _area(kind, turned), turned))

    def _pair(self, keys: list[str], x: int, y: int, width: int, height: int) -> None:
        low, high = (self.kinds[key] for key in keys)
        (low_left, low_right), (high_left, high_right) = low["slope_units"], high["slope_units"]
        for kind in (low, high):
            if kind["width_units"] != width:
                self.wrong(f"comes out {shown(width)} wide", shown(kind["width_units"]), kind["key"])
        left, right = height - low_left - high_right, height - low_right - high_left
        if left != right:
            self.wrong(f"sides of the sloped cut {shown(left)} and {shown(right)}", "a parallel cut", str(keys))
        square = min(left, right) * width / hypot(width, low_left - low_right)
        if square + _SLACK < self.cut.kerf:
            self.wrong(f"a sloped cut {shown(round(square))} wide", f"a kerf of {shown(self.cut.kerf)}", str(keys))
        self.cut.cuts.append((x, y + low_left + left / 2, x + width, y + low_right + right / 2))
        tall_low, tall_high = max(low_left, low_right), max(high_left, high_right)
        area = width * (low_left + low_right) / 2, width * (high_left + high_right) / 2
        self.cut.parts.append(Fallen((), low["key"], x, y, width, tall_low, area[0], False))
        self.cut.parts.append(Fallen((), high["key"], x, y + height - tall_high, width, tall_high, area[1], False))


    def _filled(self, node: Record, x: int, y: int, width: int, height: int) -> None:
        kind = self.kinds[node["filled"]]
        self._part({"part": kind["key"], "turned": False}, x, y, width, height)
        top = y + height
        for tree, edge, toward, (wide, down) in zip(
            (node["left"], node["right"]), (x, x + width), (1, -1), _missing(kind), strict=True
        ):
            if not down:
                self.wrong_unless(tree is None, "is cut from a drop that is not there", kind["key"])
                continue
            # the middle of the kerf lies half of it beyond the part, square to the slope
            half = self.cut.kerf / 2 / hypot(wide, down)
            near, up = edge - toward * down * half, top + wide * half
            self.cut.cuts.append((near, up - down, near + toward * wide, up))
            if tree is not None:
                self._drop(tree, _Drop(edge, top, toward, wide, down), kind["key"])

    def wrong_unless(self, good: bool, found: str, part: str) -> None:
        if not good:
            self.wrong(found, "what the shape of the part leaves", part)

    def _drop(self, tree: Record, drop: _Drop, key: str) -> None:
        """Follow a tree in a drop: across from the straight side, down from the top; the slope cuts it short."""
        kerf = self.cut.kerf
        pieces = [(tree, 0, 0, drop.wide, drop.down)]
        while pieces:
            node, across, down, wide, high = pieces.pop()
            if wide <= 0 or high <= 0:
                self.wrong(f"a piece of {shown(wide)} by {shown(high)} in a drop", "pieces with a size", key)
            elif "part" in node:
                clear = drop.far(across + wide, down + high) >= kerf - _SLACK
                self.wrong_unless(clear, "runs over a slope", node["part"])
                self._part(node, drop.left(across, wide), drop.top - down - high, wide, high)
            elif "cut" in node:
                at, axis = _whole(node["at_units"]), node["cut"]
                rest = {"x": wide, "y": high}[axis] - at - kerf
                self.wrong_unless(at > 0 and (rest <= 0) == (node["far"] is None), "a cut beyond its piece", key)
                self.cut.fences.append(({"x": "rip", "y": "crosscut"}[axis], at))
                self.cut.cuts.append(drop.line(axis, across, down, at + kerf / 2, (wide, high), kerf))
                beyond, near, far = at + kerf, node["near"], node["far"]
                sides = [(near, across, down, at, high), (far, across + beyond, down, rest, high)]
                if axis == "y":
                    sides = [(near, across, down, wide, at), (far, across, down + beyond, wide, rest)]
                pieces += reversed(sides[: 1 + (far is not None)])
            else:
                self.wrong_unless(node.get("rest") == "waste", "keeps an offcut of a drop", key)


@dataclass(frozen=True, slots=True)
class _Drop:
    """A triangle with its square corner at (edge, top), reaching `wide` to one side (`toward`) and `down`."""

    edge: int
    top: int
    toward: int
    wide: int
    down: int

    def left(self, across: int, wide: int) -> int:
        return self.edge + across if self.toward > 0 else self.edge - across - wide

    def far(self, across: float, down: float) -> float:
        """Return how far a point lies from the slope of the part [units]."""
        return (self.wide * self.down - across * self.down - down * self.wide) / hypot(self.wide, self.down)

    def line(
        self, axis: str, across: float, down: float, middle: float, size: tuple[int, int], kerf: int
    ) -> tuple[float, float, float, float]:
        """Return the middle line of a cut, which ends at the sloped side of the drop or at that of its piece."""
        short = kerf * hypot(self.wide, self.down)
        if axis == "x":
            x = across + middle
            end = min(down + size[1], (self.wide * self.down - short - x * self.down) / self.wide)
            at = self.edge + self.toward * x
            return at, self.top - down, at, self.top - max(down, end)
        y = down + middle
        end = min(across + size[0], (self.wide * self.down - short - y * self.wide) / self.down)
        return self.edge + self.toward * across, self.top - y, self.edge + self.toward * max(across, end), self.top - y


def _missing(kind: Record) -> tuple[tuple[int, int], tuple[int, int]]:
    """Return how far the drops at the upper left and the upper right of a part reach: to the side and down."""
    wide, high = kind["width_units"], kind["height_units"]
    if "gable_units" in kind:
        left, peak, right = kind["gable_units"]
        return (peak, high - left), (wide - peak, high - right)
    left, right = kind["slope_units"] or (high, high)
    return (wide, high - left), (wide, high - right)


def _area(kind: Record, turned: bool) -> float:
    """Return the area of a part as it falls; a turned gable still lies in its rectangle."""
    whole = float(kind["width_units"] * kind["height_units"])
    if turned and "gable_units" in kind:
        return whole
    return whole - sum(wide * down / 2 for wide, down in _missing(kind))


# --- sticks -----------------------------------------------------------------------


def _follow_sticks(item: Record, saw: Saw, findings: Findings) -> None:
    job, plan, marks = item["job"], item["plan"], _Marks(item, findings)
    lengths = {part["key"]: _whole(part["length_units"]) for part in job["parts"]}
    stock = {stick["key"]: stick for stick in job["sticks"]}
    for pattern in plan["patterns"]:
        first = saw.sticks[-1].last + 1 if saw.sticks else 1
        stick, copies = stock[pattern["stick"]], _whole(pattern["copies"])
        cut = StickCut(first, first + copies - 1, item["material"], item["name"], stick, _whole(job["kerf_units"]))
        saw.sticks.append(cut)
        dealt = marks.deal([piece["part"] for piece in pattern["pieces"]], copies)
        for names, piece in zip(dealt, pattern["pieces"], strict=True):
            cut.pieces.append((names, _whole(piece["start_units"]), lengths[piece["part"]]))
        _follow_stick(cut, findings)
    marks.close()
    used = [(pattern["stick"], pattern["copies"]) for pattern in plan["patterns"]]
    _totals(item, stock, used, findings)


def _follow_stick(cut: StickCut, findings: Findings) -> None:
    free, end = _whole(cut.stock["squaring_units"]), _whole(cut.stock["length_units"])
    for names, start, length in cut.pieces:
        who = f"stick {cut.first} {' '.join(names)}"
        if start < free:
            findings.add(PLAN, who, f"starts at {shown(start)}", f"{shown(free)} or more: a kerf after the last")
        if start + length > end:
            findings.add(PLAN, who, f"ends at {shown(start + length)}", f"within the stick of {shown(end)}")
        for bad_start, bad_end in cut.stock["defects_units"]:
            if start < bad_end and bad_start < start + length:
                findings.add(PLAN, who, f"lies over the defect at {shown(bad_start)}", "parts clear of defects")
        for at in (start, start + length):
            near = [hole for hole in cut.stock.get("holes_units", ()) if abs(at - hole) < HOLE_TO_END]
            if near and at not in (0, end):
                findings.add(PLAN, who, f"ends at {shown(at)}", f"1 cm or more from the old hole at {shown(near[0])}")
        free = start + length + cut.kerf


# --- both -------------------------------------------------------------------------


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise ValueError(f"{value!r} is not a whole number of 0 or more")
    return value


def _totals(item: Record, stock: dict[str, Record], used: list[tuple[str, int]], findings: Findings) -> None:
    """Compare price, proof and finite copies with what is used."""
    where, plan, counts = str(item["material"]), item["plan"], Counter[str]()
    for key, copies in used:
        counts[key] += copies
    price = sum(stock[key]["price"] * count for key, count in counts.items())
    findings.unless(plan["price"] == price, PLAN, where, f"price {plan['price']} cents", f"{price} cents")
    for key, count in counts.items():
        most = stock[key]["copies"]
        if most is not None and count > most:
            findings.add(PLAN, where, f"{count} of {key} are used", f"at most {most}, as many as there are")
    proved = plan["bound"] == plan["price"]
    if plan["bound"] > plan["price"] or (plan["status"] == "proved") != proved:
        found = f"status {plan['status']} with price {plan['price']} and bound {plan['bound']}"
        findings.add(PLAN, where, found, "proved exactly when bound and price are one")
