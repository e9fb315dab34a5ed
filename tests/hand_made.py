"""A small shelter made by hand, with unequal parts, for tests of files and solids.

Two wall frames and a sloped roof panel. All numbers are chosen, none is worked out
by the program: front frame 900 wide, 1200 high, 60 deep; left frame 700 deep along
the wall, its head sloped from 1200 to 1300; every part of another size.
"""

from __future__ import annotations

import math

from enclosure.shape.model import (
    SCHEMA,
    Anchor,
    Base,
    Design,
    Fit,
    Fixing,
    Frame,
    Hole,
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

FRONT = Plane((0.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.0, -1.0, 0.0))
LEFT = Plane((0.0, 760.0, 0.0), (0.0, -1.0, 0.0), (0.0, 0.0, 1.0), (-1.0, 0.0, 0.0))
FALL = math.atan2(100.0, 700.0)
ROOF = Plane(
    (0.0, 60.0, 1200.0), (1.0, 0.0, 0.0), (0.0, math.cos(FALL), math.sin(FALL)),
    (0.0, -math.sin(FALL), math.cos(FALL)),
)


def slab(plane: Plane, outline: tuple[Point, ...], low: float, high: float) -> Prism:
    """Return the prism over `outline` between two heights above a plane."""
    o, n = plane.origin, plane.n
    origin = (o[0] + low * n[0], o[1] + low * n[1], o[2] + low * n[2])
    return Prism(origin, plane.u, plane.v, outline, high - low)


def box(plane: Plane, a: float, b: float, width: float, height: float, low: float, high: float) -> Prism:
    """Return a box whose lower left corner is (a, b) on a plane."""
    corners = ((a, b), (a + width, b), (a + width, b + height), (a, b + height))
    return slab(plane, corners, low, high)


def _member(mark: str, role: str, face: str, prism: Prism, length: float, lift_out: bool = False) -> Part:
    return Part(
        mark, "member", role, face, 1, 0, 0, "stick_38x60", StickCut(length), (prism,), length * 0.0011,  # type: ignore[arg-type]
        lift_out=lift_out,
    )


def _front() -> list[Part]:
    def stick(mark: str, role: str, a: float, b: float, width: float, height: float) -> Part:
        return _member(
            mark, role, "FRONT", box(FRONT, a, b, width, height, -60, 0), max(width, height), role == "sill"
        )

    return [
        stick("FM1", "sill", 0, 0, 900, 38),
        stick("FM2", "head", 0, 1162, 900, 38),
        stick("FM3", "stile", 0, 38, 38, 1124),
        stick("FM4", "mullion", 520, 38, 38, 1124),
        stick("FM5", "stile", 862, 38, 38, 1124),
        stick("FM6", "transom", 38, 610, 482, 38),
    ]


def _left() -> list[Part]:
    rise = 100.0 / 700.0
    head = ((0.0, 1262.0), (700.0, 1162.0), (700.0, 1200.0), (0.0, 1300.0))
    long_stile = ((0.0, 38.0), (38.0, 38.0), (38.0, 1262 - 38 * rise), (0.0, 1262.0))
    short_stile = ((662.0, 38.0), (700.0, 38.0), (700.0, 1162.0), (662.0, 1162 + 38 * rise))
    slope = math.degrees(math.atan(rise))
    parts = [_member("LM1", "sill", "LEFT", box(LEFT, 0, 0, 700, 38, -60, 0), 700.0)]
    for mark, role, outline, length in (
        ("LM2", "head", head, 707.4),
        ("LM3", "stile", long_stile, 1224.0),
        ("LM4", "stile", short_stile, 1129.4),
    ):
        cut = StickCut(length, 0.0, slope)
        solids = (slab(LEFT, outline, -60, 0),)
        parts.append(Part(mark, "member", role, "LEFT", 1, 0, 0, "stick_38x60", cut, solids, 1.3))
    return parts


def _panel(mark: str, face: str, bay: int, tier: int, outline: tuple[Point, ...], prism: Prism) -> Part:
    width = max(a for a, _ in outline)
    height = max(b for _, b in outline)
    fit = Fit(22.0, (6.0, 6.5), (4.1, 4.9), (14.2, 13.6), 12.0, (3.2, 5.1), 50.0, -30.0, 20.0)
    return Part(
        mark, "panel", "panel", face, 1, bay, tier, "twin_10", SheetCut(width, height, outline, False),  # type: ignore[arg-type]
        (prism,), 1.7e-6 * width * height, fit, tape_mm=(width, width),
    )


def _sheets() -> list[Part]:
    def rectangle(width: float, height: float) -> tuple[Point, ...]:
        return ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))

    sloped = ((0.0, 0.0), (660.0, 0.0), (660.0, 1150.0), (0.0, 1150.0 + 660 / 7))
    placed = tuple((a + 20.0, b + 20.0) for a, b in sloped)
    gusset = ((0.0, 0.0), (150.0, 0.0), (0.0, 130.0))
    holes = (Hole(20.0, 20.0, 5.0), Hole(110.0, 19.0, 5.0), Hole(19.0, 95.0, 6.5))
    return [
        _panel("1", "FRONT", 1, 1, rectangle(511.0, 590.0), box(FRONT, 20, 20, 511, 590, 4, 14)),
        _panel("2", "FRONT", 1, 2, rectangle(511.0, 548.0), box(FRONT, 20, 632, 511, 548, 4, 14)),
        _panel("3", "FRONT", 2, 1, rectangle(327.0, 1160.0), box(FRONT, 553, 20, 327, 1160, 4, 14)),
        _panel("4", "LEFT", 1, 1, sloped, slab(LEFT, placed, 4, 14)),
        _panel("5", "ROOF", 1, 1, rectangle(940.0, 760.0), box(ROOF, -20, -30, 940, 760, 20, 30)),
        Part(
            "FG1", "gusset", "gusset", "FRONT", 1, 0, 0, "ply_9", SheetCut(150.0, 130.0, gusset, True, holes),
            (slab(FRONT, tuple((a + 70.0, b) for a, b in gusset), -69, -60),), 0.06,
        ),
        Part(
            "LF1", "film", "film", "LEFT", 1, 1, 0, "film",
            SheetCut(690.0, 1100.0, rectangle(690, 1100), False),
            (box(LEFT, 5, 40, 690, 1100, -60.2, -60),), 0.15, layer=2,
        ),
    ]


def _track() -> Part:
    solids = (
        box(FRONT, 0, 0, 900, 20, 4, 14), box(FRONT, 0, 0, 900, 38, 2, 4), box(FRONT, 0, 0, 900, 38, 14, 16)
    )
    return Part(
        "FT1", "track", "edge channel", "FRONT", 1, 0, 0, "u_10", StickCut(900.0, 45.0, 45.0), solids, 0.21
    )


def _frames() -> tuple[Frame, ...]:
    square = ((0.0, 0.0), (900.0, 0.0), (900.0, 1200.0), (0.0, 1200.0))
    sloped = ((0.0, 0.0), (700.0, 0.0), (700.0, 1200.0), (0.0, 1300.0))
    length = math.hypot(700.0, 100.0)
    roof = ((0.0, 0.0), (900.0, 0.0), (900.0, length), (0.0, length))
    return (
        Frame("FRONT", 1, FRONT, square, square, (539.0,), (629.0,), (629.0,), "twin_10", 60.0),
        Frame("LEFT", 1, LEFT, sloped, sloped, (), (), (), "twin_10", 60.0),
        Frame("ROOF", 1, ROOF, roof, roof, (), (), (), "twin_10", 38.0),
    )


def _materials() -> tuple[Material, ...]:
    return (
        Material("stick_38x60", "Spruce 38 x 60 mm", "timber", 38.0, 60.0, mass_kg_m=1.1, source="invented"),
        Material("u_10", "Edge channel for 10 mm", "track", 2.0, 38.0, mass_kg_m=0.23, source="invented"),
        Material(
            "twin_10", "Twin-wall 10 mm", "multiwall", 10.0, mass_kg_m2=1.7, u_value_w_m2k=3.0, light=0.8,
            alpha_1e6_k=65.0, flutes=True, stiffness_along_n_m=60.0, stiffness_across_n_m=40.0,
            source="invented",
        ),
        Material("ply_9", "Plywood 9 mm", "board", 9.0, mass_kg_m2=5.0, source="invented"),
        Material("film", "Film 0.2 mm", "film", 0.2, mass_kg_m2=0.19, source="invented"),
    )


def _steps() -> tuple[Step, ...]:
    return (
        Step(
            "ring", "first build", "Lay the ring", "Level the bricks.", (), (), ("spirit level",), 1, 4.0, 90
        ),
        Step(
            "front", "raising", "Stand the front", "Bolt it to the left frame.", ("FM1", "FM2", "1"),
            ("ring",), ("spanner 13 mm",), 2, 12.5, 15, ("wind takes a glazed frame: wait for a calm day",),
        ),
    )


def small_design() -> Design:
    """Return the shelter."""
    return Design(
        schema=SCHEMA,
        name="Hand-made lemon house, ¼ size",
        plant=Plant("lemon", 800.0, 500.0, 450.0, 40.0, 30.0, 50.0, 3),
        clear_mm=(780.0, 700.0, 1200.0),
        outside_mm=(900.0, 760.0, 1330.0),
        side_clearance_mm=60.0,
        top_clearance_mm=80.0,
        roof="mono",
        fall_deg=math.degrees(FALL),
        falls_to="front",
        drip_edge_mm=30.0,
        front_bearing_deg=170.0,
        units="inch",
        paper="Letter",
        frames=_frames(),
        parts=(*_front(), *_left(), _track(), *_sheets()),
        materials=_materials(),
        fixings=(
            Fixing(
                "bolt_m8", "Bolt M8 x 130", "corner bolts", ((19.0, 30.0, 19.0), (881.0, 30.0, 19.0)),
                "each", 2.0,
            ),
            Fixing("top_tape", "Solid top tape", "tape", (), "m", 2.71),
        ),
        base=Base(1000.0, 860.0, (215.0, 102.5, 65.0), 10.0, 16, 18, 1319.0, 200.0, 50.0),
        anchors=(
            Anchor("P1", -40.0, -30.0, (200.0, 1000.0), "FM3"),
            Anchor("S1", -900.0, 0.0, (800.0,), "LEFT", "stake", 900.0, (0.0, 0.0), -65.0),
        ),
        steps=_steps(),
        people=2,
        raising_method="slide",
        raising_reason="the three-sided body weighs 21 kg",
        warnings=("a flat roof would pond",),
    )
