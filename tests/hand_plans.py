"""Cutting plans for the hand-made shelter, laid out by hand. Sizes in the tests' own mm, times 10 000.

Twin-wall sheet A, 1050 x 2440 with 5 trim all round, kerf 3: a crosscut at 1160 gives a
strip with panels 3 | 1 over 2 and a strip with the sloped panel 4; sheet B gives panel 5.
"""

from __future__ import annotations

from enclosure.nesting.model import (
    Cut,
    Pair,
    Part,
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
from enclosure.nesting.plans import BuyingLine, MaterialSheets, MaterialSticks, Plans


def units(mm: float) -> int:
    return round(mm * 10_000)


def _twin_wall() -> MaterialSheets:
    high = 1150 + 660 / 7
    kinds = tuple(
        PartKind(key, units(width), units(height), group=wall)
        for key, width, height, wall in (
            ("k511x590", 511, 590, "FRONT"), ("k511x548", 511, 548, "FRONT"),
            ("k327x1160", 327, 1160, "FRONT"), ("k940x760", 940, 760, "ROOF"),
        )
    )
    slope = (units(high), units(1150))
    sloped = PartKind("k660", units(660), units(high), group="LEFT", slope=slope)
    sheet = SheetKind("twin 1050x2440", units(1050), units(2440), 4200, trim=units(5))
    left = Cut("y", units(590), Part("k511x590"), Cut("y", units(548), Part("k511x548"), Rest()))
    strip = Cut("x", units(327), Part("k327x1160"), Cut("x", units(511), left, Rest()))
    upper = Cut("x", units(660), Cut("y", units(high), Part("k660"), Rest()), Rest(keep=True))
    first = Pattern(sheet.key, 1, Cut("y", units(1160), strip, upper))
    roof = Cut("y", units(760), Cut("x", units(940), Part("k940x760"), Rest()), Rest(keep=True))
    plan = SheetPlan((first, Pattern(sheet.key, 1, roof)), 8400, 8400, "proved", 12)
    marks = {
        "k511x590": ("1",), "k511x548": ("2",), "k327x1160": ("3",), "k660": ("4",), "k940x760": ("5",)
    }
    job = SheetJob((*kinds, sloped), (sheet,), units(3))
    return MaterialSheets("twin_10", "Twin-wall 10 mm", job, plan, marks)


def _plywood() -> MaterialSheets:
    slope = (units(130), 0)
    kind = PartKind("gusset", units(150), units(130), 1, True, "FRONT", slope)
    sheet = SheetKind("ply 600x600", units(600), units(600), 900)
    root = Cut("y", units(130), Cut("x", units(150), Part("gusset"), Rest()), Rest(keep=True))
    plan = SheetPlan((Pattern(sheet.key, 1, root),), 900, 900, "proved")
    job = SheetJob((kind,), (sheet,), units(3))
    return MaterialSheets("ply_9", "Plywood 9 mm", job, plan, {"gusset": ("FG1",)})


def _film() -> MaterialSheets:
    kind = PartKind("film", units(690), units(1100))
    sheet = SheetKind("film 2000x1100", units(2000), units(1100), 350)
    pattern = Pattern(sheet.key, 1, Cut("x", units(690), Part("film"), Rest(keep=True)))
    plan = SheetPlan((pattern,), 350, 350, "proved")
    return MaterialSheets("film", "Film 0.2 mm", SheetJob((kind,), (sheet,), 0), plan, {"film": ("LF1",)})


def pair_sheets(copies: int = 2) -> MaterialSheets:
    """Return sheets with a shared sloped cut, cut `copies` times alike, for marks of copies."""
    low = PartKind("low", units(400), units(700), copies, slope=(units(600), units(700)))
    high = PartKind("high", units(400), units(650), copies, slope=(units(550), units(650)))
    sheet = SheetKind("pane", units(420), units(1400), 100)
    # the two parallel slopes stand a kerf of 3 apart, square to them: sqrt(400² + 100²)/400 x 3 up
    rise = units(3 * (1 + (100 / 400) ** 2) ** 0.5) + 1
    tall = units(600) + units(650) + rise
    root = Cut("y", tall, Cut("x", units(400), Pair("low", "high"), Rest()), Rest())
    price = 100 * copies
    plan = SheetPlan((Pattern("pane", copies, root),), price, price, "proved")
    names = {
        "low": tuple(str(number) for number in range(1, copies + 1)),
        "high": tuple(str(number) for number in range(11, 11 + copies)),
    }
    job = SheetJob((low, high), (sheet,), units(3))
    return MaterialSheets("twin_10", "Twin-wall 10 mm", job, plan, names)


def _sticks(material: str, name: str, stock: StickKind, wanted: dict[str, float]) -> MaterialSticks:
    """Lay the parts one after the other on as many sticks as it takes."""
    kerf = units(3)
    patterns: list[StickPattern] = []
    pieces: list[StickPiece] = []
    at = stock.squaring
    for mark, length in wanted.items():
        if at + units(length) > stock.length:
            patterns.append(StickPattern(stock.key, 1, tuple(pieces)))
            pieces, at = [], stock.squaring
        pieces.append(StickPiece(f"k{mark}", at))
        at += units(length) + kerf
    patterns.append(StickPattern(stock.key, 1, tuple(pieces)))
    price = stock.price * len(patterns)
    parts = tuple(StickPart(f"k{mark}", units(length)) for mark, length in wanted.items())
    job = StickJob(parts, (stock,), kerf)
    plan = StickPlan(tuple(patterns), price, price - 1, "gap")
    return MaterialSticks(material, name, job, plan, {f"k{mark}": (mark,) for mark in wanted})


def small_plans() -> Plans:
    """Return the plans of the hand-made shelter."""
    stock = StickKind("38x60x2400", units(2400), 600, squaring=units(10))
    timber = _sticks(
        "stick_38x60", "Spruce 38 x 60 mm", stock,
        {
            "FM1": 900, "FM2": 900, "FM3": 1124, "FM4": 1124, "FM5": 1124, "FM6": 482, "LM1": 700,
            "LM2": 707.4, "LM3": 1224, "LM4": 1129.4,
        },
    )
    track = _sticks("u_10", "Edge channel for 10 mm", StickKind("u 3000", units(3000), 1100), {"FT1": 900})
    buying = (
        BuyingLine("skins", "Twin-wall 10 mm", "1050 x 2440 mm", 2, "sheet", 4200, 8400),
        BuyingLine("boards", "Plywood 9 mm", "600 x 600 mm", 1, "sheet", 900, 900),
        BuyingLine("skins", "Film 0.2 mm", "2000 x 1100 mm", 1, "sheet", 350, 350, "from a roll"),
        BuyingLine(
            "timber", "Spruce 38 x 60 mm", "2400 mm", len(timber.plan.patterns), "length", 600,
            timber.plan.price,
        ),
        BuyingLine("track", "Edge channel for 10 mm", "3000 mm", 1, "length", 1100, 1100),
        BuyingLine("hardware", "=Bolt M8 x 130", "", 1, "pack", 450, 450, "@work, pack of 10"),
    )
    sheets = (_twin_wall(), _plywood(), _film())
    return Plans(sheets, (timber, track), buying, "USD", "all prices are invented")
