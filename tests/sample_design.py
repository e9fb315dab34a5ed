"""A small whole shelter made by hand, for tests of papers: four walls, unequal bays, a single-fall roof.

All numbers are chosen here, none is worked out by the program. Frame members are
38 x 60 sticks, the frame stands 1500 x 1120 on the ground, 1400 high in front and
1600 at the back. Track is left as plain strips.
"""

from __future__ import annotations

import itertools
import math
from dataclasses import replace

from enclosure.nesting.model import (
    Cut,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPiece,
    StickPlan,
)
from enclosure.nesting.model import Part as Piece
from enclosure.nesting.plans import BuyingLine, MaterialSheets, MaterialSticks, Plans
from enclosure.shape.model import (
    Anchor,
    Base,
    Design,
    Fit,
    Fixing,
    Frame,
    Material,
    Part,
    Plane,
    Plant,
    Point,
    Prism,
    SheetCut,
    Step,
    StickCut,
)

W, D, LOW, HIGH, S, F = 1500.0, 1120.0, 1400.0, 1600.0, 38.0, 60.0
SLOPE = math.atan2(HIGH - LOW, D)

PLANES = {
    "FRONT": Plane((0, 0, 0), (1, 0, 0), (0, 0, 1), (0, -1, 0)),
    "RIGHT": Plane((W, F, 0), (0, 1, 0), (0, 0, 1), (1, 0, 0)),
    "BACK": Plane((W, D, 0), (-1, 0, 0), (0, 0, 1), (0, 1, 0)),
    "LEFT": Plane((0, D - F, 0), (0, -1, 0), (0, 0, 1), (-1, 0, 0)),
    "ROOF": Plane(
        (0, 0, LOW), (1, 0, 0), (0, math.cos(SLOPE), math.sin(SLOPE)), (0, -math.sin(SLOPE), math.cos(SLOPE))
    ),
}
FIT = Fit(15.0, (2.4, 3.1), (1.9, 2.7), (11.6, 12.3), 10.0, (3.9, 5.4), 50.0, -27.0, 20.0)


def slab(plane: Plane, outline: tuple[Point, ...], low: float, high: float) -> Prism:
    o, n = plane.origin, plane.n
    origin = (o[0] + low * n[0], o[1] + low * n[1], o[2] + low * n[2])
    return Prism(origin, plane.u, plane.v, outline, high - low)


def rect(a: float, b: float, width: float, height: float) -> tuple[Point, ...]:
    return ((a, b), (a + width, b), (a + width, b + height), (a, b + height))


def top_of(face: str, a: float) -> float:
    """Height of the wall's upper edge at `a` along it."""
    if face == "FRONT":
        return LOW
    if face == "BACK":
        return HIGH
    rise = (HIGH - LOW) / D
    return LOW + rise * (a + F) if face == "RIGHT" else LOW + rise * (D - F - a)


class _Maker:
    def __init__(self) -> None:
        self.parts: list[Part] = []
        self.counts: dict[str, int] = {}
        self.panels = 0

    def mark(self, face: str, letter: str) -> str:
        key = face[0] + letter
        self.counts[key] = self.counts.get(key, 0) + 1
        return f"{key}{self.counts[key]}"

    def member(self, face: str, role: str, outline: tuple[Point, ...], length: float, **more: object) -> None:
        prism = slab(PLANES[face], outline, -F, 0.0)
        cut = StickCut(length, **more)  # type: ignore[arg-type]
        lift = face == "FRONT" and role == "sill"
        self.parts.append(
            Part(
                self.mark(face, "M"),
                "member",
                role,
                face,
                1,
                0,
                0,
                "stick_38x60",
                cut,
                (prism,),  # type: ignore[arg-type]
                round(length * 0.0011, 3),
                lift_out=lift,
            )
        )

    def panel(self, face: str, bay: int, tier: int, outline: tuple[Point, ...]) -> None:
        left, low = min(a for a, _ in outline), min(b for _, b in outline)
        width, height = max(a for a, _ in outline) - left, max(b for _, b in outline) - low
        flat = tuple((round(a - left, 1), round(b - low, 1)) for a, b in outline)
        self.panels += 1
        self.parts.append(
            Part(
                str(self.panels),
                "panel",
                "panel",
                face,
                1,
                bay,
                tier,
                "twinwall_8",  # type: ignore[arg-type]
                SheetCut(round(width, 1), round(height, 1), flat, False),
                (slab(PLANES[face], outline, 3.0, 11.0),),
                round(width * height * 1.5e-6, 2),
                FIT,
                tape_mm=(round(width, 1), round(width, 1)),
            )
        )

    def track(self, face: str, role: str, outline: tuple[Point, ...], length: float) -> None:
        self.parts.append(
            Part(
                self.mark(face, "T"),
                "track",
                role,
                face,
                1,
                0,
                0,
                "u_channel",
                StickCut(length),  # type: ignore[arg-type]
                (slab(PLANES[face], outline, 0.0, 2.5),),
                round(length * 0.0003, 3),
            )
        )


def _wall(make: _Maker, face: str, width: float, lines: tuple[float, ...], tiers: tuple[float, ...]) -> None:
    left, right = top_of(face, 0.0), top_of(face, width)
    lift = math.hypot(width, right - left)
    angle = round(math.degrees(math.atan2(right - left, width)), 2)
    make.member(face, "sill", rect(0, 0, width, S), width)
    head = ((0, left - S), (width, right - S), (width, right), (0, left))
    make.member(face, "head", head, round(lift, 1), start_deg=angle, end_deg=-angle)
    slope = (right - left) / width

    def upright(role: str, a: float) -> None:
        b0, b1 = left + slope * a - S, left + slope * (a + S) - S
        make.member(
            face, role, ((a, S), (a + S, S), (a + S, b1), (a, b0)), round(max(b0, b1) - S, 1), end_deg=angle
        )

    upright("stile", 0.0)
    upright("stile", width - S)
    for line in lines:
        upright("mullion", line - S / 2)
    edges = (0.0, *lines, width)
    for bay, (a0, a1) in enumerate(itertools.pairwise(edges), start=1):
        levels = (0.0, *tiers)
        for tier, low in enumerate(levels, start=1):
            last = tier == len(levels)
            l0, l1 = (left + slope * a0, left + slope * a1) if last else (levels[tier], levels[tier])
            make.panel(
                face, bay, tier, ((a0 + 3, low + 3), (a1 - 3, low + 3), (a1 - 3, l1 - 3), (a0 + 3, l0 - 3))
            )
        for tier in tiers:
            make.member(face, "transom", rect(a0 + S, tier - S / 2, a1 - a0 - 2 * S, S), a1 - a0 - 2 * S)
        make.track(face, "edge channel", rect(a0 + 3, 0, a1 - a0 - 6, 20), a1 - a0 - 6)


def _roof(make: _Maker) -> None:
    run = math.hypot(D, HIGH - LOW)
    for a in (0.0, 631.0, W - S):
        make.member("ROOF", "rafter", rect(a, 0, S, run), round(run, 1))
    plane = PLANES["ROOF"]
    lifted = [
        replace(p, solids=tuple(_raised(s, plane.n, F) for s in p.solids)) if p.role == "rafter" else p
        for p in make.parts
    ]
    make.parts = lifted
    for bay, (a0, a1) in enumerate(((0.0, 650.0), (650.0, W)), start=1):
        make.panel("ROOF", bay, 1, rect(a0 + 2, -40, a1 - a0 - 4, run + 60))
        last = make.parts[-1]
        make.parts[-1] = replace(last, solids=tuple(_raised(s, plane.n, F) for s in last.solids))


def _raised(prism: Prism, normal: tuple[float, float, float], by: float) -> Prism:
    o = prism.origin
    return replace(prism, origin=(o[0] + by * normal[0], o[1] + by * normal[1], o[2] + by * normal[2]))


def _frames() -> tuple[Frame, ...]:
    found = []
    for face, width, lines, tiers in WALL_GRID:
        left, right = top_of(face, 0.0), top_of(face, width)
        outline = ((0.0, 0.0), (width, 0.0), (width, right), (0.0, left))
        found.append(
            Frame(face, 1, PLANES[face], outline, outline, lines, tiers, tiers, "twinwall_8", F)  # type: ignore[arg-type]
        )
    run = math.hypot(D, HIGH - LOW)
    found.append(
        Frame(
            "ROOF",
            1,
            PLANES["ROOF"],
            rect(0, 0, W, run),
            rect(0, -40, W, run + 60),
            (650.0,),
            (),
            (),
            "twinwall_8",
            F,
        )
    )
    return tuple(found)


WALL_GRID: tuple[tuple[str, float, tuple[float, ...], tuple[float, ...]], ...] = (
    ("BACK", W, (650.0,), (800.0,)),
    ("LEFT", D - 2 * F, (430.0,), ()),
    ("RIGHT", D - 2 * F, (570.0,), ()),
    ("FRONT", W, (650.0,), ()),
)


def sample_design(units: str = "metric", paper: str = "A4") -> Design:
    """Return the shelter."""
    make = _Maker()
    for face, width, lines, tiers in WALL_GRID:
        _wall(make, face, width, lines, tiers)
    _roof(make)
    parts = tuple(make.parts)
    steps = [
        Step(
            "ring",
            "first build",
            "Level the base ring",
            "Lay the bricks on sand and level them.",
            (),
            (),
            ("spade", "spirit level", "string"),
            1,
            20.0,
            90,
        )
    ]
    before = "ring"
    for phase, verb in (("first build", "Assemble"), ("raising", "Raise")):
        for face, *_ in (*WALL_GRID, ("ROOF",)):
            marks = tuple(p.mark for p in parts if p.face == face)
            key = f"{verb} {face}".lower()
            heaviest = sum(p.mass_kg for p in parts if p.face == face and p.kind == "member")
            steps.append(
                Step(
                    key,
                    phase,
                    f"{verb} the {face.lower()} frame",  # type: ignore[arg-type]
                    f"{verb} the {face.lower()} frame on the flat, then square it by its diagonals.",
                    marks,
                    (before,),
                    ("spanner 13 mm", "drill"),
                    2,
                    round(heaviest, 1),
                    25,
                    ("The frame can fall outward until it is bolted.",) if verb == "Raise" else (),
                )
            )
            before = key
    steps.append(
        Step(
            "down",
            "take-down",
            "Take the roof panels off",
            "Work from the eaves.",
            tuple(p.mark for p in parts if p.face == "ROOF" and p.kind == "panel"),
            (before,),
            ("ladder",),
            2,
            2.0,
            15,
        )
    )
    bolts = tuple((x, y, z) for x in (20.0, W - 20) for y in (20.0, D - 20) for z in (60.0, 700.0, 1340.0))
    materials = (
        Material(
            "stick_38x60", "38 x 60 mm planed softwood", "timber", 38, 60, mass_kg_m=1.1, source="chosen"
        ),
        Material(
            "twinwall_8",
            "8 mm twin-wall polycarbonate",
            "multiwall",
            8,
            mass_kg_m2=1.5,
            u_value_w_m2k=3.3,
            light=0.8,
            alpha_1e6_k=65,
            flutes=True,
            source="chosen",
        ),
        Material("u_channel", "edge channel for 8 mm", "track", 1.2, 20, mass_kg_m=0.3, source="chosen"),
    )
    return Design(
        1,
        "Lemon corner",
        Plant("lemon", 1200, 1100, 700, 30, 20, 100, 5),
        (W - 2 * F, D - 2 * F, 1440.0),
        (W, D, 1690.0),
        100.0,
        120.0,
        "mono",
        math.degrees(SLOPE),
        "front",
        40.0,
        180.0,
        units,
        paper,
        _frames(),
        parts,
        materials,
        (
            Fixing(
                "bolt_m8", "bolt M8 x 90 with two washers", "corner bolts", bolts, "each", float(len(bolts))
            ),
            Fixing("track_screw", "screw 4 x 25 mm", "track screws", (), "each", 96.0),
            Fixing("top_tape", "solid tape 25 mm", "tape and seal", (), "m", 8.4),
        ),
        Base(W + 40, D + 40, (215.0, 102.0, 65.0), 10.0, 21, 23, math.hypot(W + 40, D + 40), 250.0, 100.0),
        (
            Anchor("P1", -150, -100, (300.0, 1200.0), "FRONT stile"),
            Anchor("P2", W + 150, -100, (300.0, 1200.0), "FRONT stile"),
            Anchor("P3", W + 150, D + 100, (300.0, 1200.0), "BACK stile"),
            Anchor("P4", -150, D + 100, (300.0, 1200.0), "BACK stile"),
        ),
        tuple(steps),
        2,
        "slide",
        "light enough for two people",
        ("The roof falls to the front.",),
    )


def _units(mm: float) -> int:
    return round(mm * 10_000)


def sample_plans(design: Design) -> Plans:
    """Return plans made by hand: stick parts in line, panels side by side in strips."""
    sheet_kind = SheetKind("sheet 2100x6000", _units(2100), _units(6000), 12_000, None, _units(5))
    kinds, marks, patterns = [], {}, []
    for part in design.panels():
        assert isinstance(part.cut, SheetCut)
        key = f"panel {part.mark}"
        kinds.append(PartKind(key, _units(part.cut.width_mm), _units(part.cut.height_mm)))
        marks[key] = (part.mark,)
    row: list[PartKind] = []
    for kind in kinds:
        if sum(known.width + _units(3) for known in [*row, kind]) > sheet_kind.width - _units(10):
            patterns.append(_pattern(sheet_kind, row))
            row = []
        row.append(kind)
    if row:
        patterns.append(_pattern(sheet_kind, row))
    price = 12_000 * len(patterns)
    job = SheetJob(tuple(kinds), (sheet_kind,), _units(3))
    sheets = MaterialSheets(
        "twinwall_8",
        "8 mm twin-wall polycarbonate",
        job,
        SheetPlan(tuple(patterns), price, price // 2, "gap"),
        marks,
    )
    sticks = tuple(
        _stick_plan(design, material, length)
        for material, length in (("stick_38x60", 4200.0), ("u_channel", 3000.0))
    )
    buying = (
        BuyingLine(
            "skins", "8 mm twin-wall polycarbonate", "2100 x 6000 mm", len(patterns), "sheet", 12_000, price
        ),
        BuyingLine(
            "timber", "38 x 60 mm planed softwood", "4200 mm", 9, "length", 1490, 13_410, "free of knots"
        ),
        BuyingLine("hardware", "bolt M8 x 90", "", 1, "pack", 1250, 1250, "pack of 20"),
    )
    return Plans((sheets,), sticks, buying, "USD", "invented example prices")


def _pattern(sheet: SheetKind, row: list[PartKind]) -> Pattern:
    """Rip after rip from the left, each strip crosscut once, the rest kept."""
    high, kerf = sheet.height - 2 * sheet.trim, _units(3)
    node = Rest(keep=True)
    for kind in reversed(row):
        left = high - kind.height
        strip = Cut("y", kind.height, Piece(kind.key), Rest(keep=left > _units(300)))
        node = Cut("x", kind.width, strip, node)  # type: ignore[assignment]
    assert sum(kind.width + kerf for kind in row) < sheet.width
    return Pattern(sheet.key, 1, node)


def _stick_plan(design: Design, material: str, length: float) -> MaterialSticks:
    parts = [p for p in design.parts if p.material == material]
    kinds: dict[float, list[str]] = {}
    for part in parts:
        assert isinstance(part.cut, StickCut)
        kinds.setdefault(part.cut.length_mm, []).append(part.mark)
    squaring, kerf, full = _units(5), _units(3), _units(length)
    patterns: list[StickPattern] = []
    pieces: list[StickPiece] = []
    at = squaring
    for size in sorted(kinds, reverse=True):
        for _ in kinds[size]:
            if at + _units(size) > full:
                patterns.append(StickPattern("stick", 1, tuple(pieces)))
                pieces, at = [], squaring
            pieces.append(StickPiece(f"{size:g}", at))
            at += _units(size) + kerf
    patterns.append(StickPattern("stick", 1, tuple(pieces)))
    job = StickJob(
        tuple(StickPart(f"{size:g}", _units(size), len(names)) for size, names in kinds.items()),
        (StickKind("stick", full, 1490, None, squaring),),
        kerf,
    )
    return MaterialSticks(
        material,
        design.material(material).name,
        job,
        StickPlan(tuple(patterns), 1490 * len(patterns), 1490, "gap"),
        {f"{size:g}": tuple(names) for size, names in kinds.items()},
    )
