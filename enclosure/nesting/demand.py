"""What has to be cut from what?

Turns a design's parts and the stock file into cutting jobs: one job for each
sheet material and for each timber or track section. Parts of one size are one
kind. Pieces on the rack come first, free of charge and finite in number.

Units: the jobs' own (1/10 000 mm, cents).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from enclosure.errors import CuttingError
from enclosure.nesting.model import (
    UNITS_PER_MM,
    PartKind,
    SheetJob,
    SheetKind,
    StickJob,
    StickKind,
    StickPart,
)
from enclosure.shape.model import Design, Part, SheetCut, StickCut
from enclosure.stock.model import SheetSize, Stock

STICK_KINDS = ("member", "diagonal", "batten", "track")
UPRIGHT_GRAIN = 0.02
"""Corners this close [mm] to an edge of the bounding rectangle count as on it."""


@dataclass(frozen=True, slots=True)
class SheetDemand:
    """A job for one sheet material and the marks behind each of its kinds.

    A material that is ordered in pieces made to size (toughened glass) is priced by the same
    engine: each piece costs what the least listed size that holds it costs. The kerf of such a
    job is as wide as a whole sheet, so that no two pieces ever come from one.
    """

    material: str
    name: str
    job: SheetJob
    marks: dict[str, tuple[str, ...]]
    ordered: bool = False


@dataclass(frozen=True, slots=True)
class StickDemand:
    """A job for one timber or track section and the marks behind each of its kinds."""

    material: str
    name: str
    job: StickJob
    marks: dict[str, tuple[str, ...]]


def to_units(length_mm: float) -> int:
    """Return a length in units of 1/10 000 mm."""
    return round(length_mm * UNITS_PER_MM)


def to_cents(price: float) -> int:
    """Return a price in whole cents."""
    return round(price * 100)


def sheet_demands(design: Design, stock: Stock) -> tuple[SheetDemand, ...]:
    """Return one job for each sheet material of the design, by material key."""
    return sheet_demands_of(design.parts, stock)


def sheet_demands_of(parts: Iterable[Part], stock: Stock) -> tuple[SheetDemand, ...]:
    """Return one job for each sheet material among some parts, by material key."""
    groups: dict[str, list[Part]] = {}
    for part in parts:
        if isinstance(part.cut, SheetCut):
            groups.setdefault(part.material, []).append(part)
    return tuple(_sheet_demand(stock, key, groups[key]) for key in sorted(groups))


def _sheet_demand(stock: Stock, material: str, parts: list[Part]) -> SheetDemand:
    kinds: dict[str, PartKind] = {}
    marks: dict[str, list[str]] = {}
    ordered = material in stock.skins and stock.skins[material].ordered
    for part in parts:
        assert isinstance(part.cut, SheetCut)
        cut = part.cut
        width, height = to_units(cut.width_mm), to_units(cut.height_mm)
        slope, gable = slope_of(cut), gable_of(cut)
        key = _sheet_key(cut, slope, gable)
        if ordered:
            slope = gable = None
        if key in kinds:
            kinds[key] = replace(kinds[key], quantity=kinds[key].quantity + 1)
        else:
            turnable = cut.turnable and slope is None
            kinds[key] = PartKind(key, width, height, 1, turnable, part.face, slope, gable)
        marks.setdefault(key, []).append(part.mark)
    name, sizes = _sheet_stock(stock, material)
    sheets = _stock_sheets(sizes)
    kerf = to_units(stock.saw.kerf_sheet_mm)
    if ordered:
        kerf = max(max(sheet.width, sheet.height) for sheet in sheets)
    else:
        sheets = (*_rack_sheets(stock, material), *sheets)
    job = SheetJob(tuple(kinds.values()), sheets, kerf)
    return SheetDemand(material, name, job, {key: tuple(names) for key, names in marks.items()}, ordered)


def slope_of(cut: SheetCut) -> tuple[int, int] | None:
    """Return the heights at both sides of a right trapezoid or triangle; None for other shapes."""
    points, width = cut.outline, cut.width_mm
    left = [y for x, y in points if x <= UPRIGHT_GRAIN]
    right = [y for x, y in points if x >= width - UPRIGHT_GRAIN]
    if len(left) + len(right) != len(points) or not left or not right or min(*left, *right) > UPRIGHT_GRAIN:
        return None
    if (min(left) > UPRIGHT_GRAIN) or (min(right) > UPRIGHT_GRAIN):
        return None
    heights = (to_units(max(left)), to_units(max(right)))
    return heights if heights[0] != heights[1] else None


def gable_of(cut: SheetCut) -> tuple[int, int, int] | None:
    """Return height at the left, distance of the peak and height at the right of a pentagon; None for other shapes."""
    if len(cut.outline) != 5:
        return None
    wide, high = cut.width_mm, cut.height_mm
    left = [y for x, y in cut.outline if x <= UPRIGHT_GRAIN]
    right = [y for x, y in cut.outline if x >= wide - UPRIGHT_GRAIN]
    peak = [x for x, y in cut.outline if y >= high - UPRIGHT_GRAIN]
    if [len(left), len(right), len(peak)] != [2, 2, 1] or max(min(left), min(right)) > UPRIGHT_GRAIN:
        return None
    if max(*left, *right) >= high - UPRIGHT_GRAIN or not UPRIGHT_GRAIN < peak[0] < wide - UPRIGHT_GRAIN:
        return None
    return to_units(max(left)), to_units(peak[0]), to_units(max(right))


def reach_of_drops(cut: SheetCut) -> tuple[float, float]:
    """Return how far the drops of a shape reach at most, along x and down [mm]; zeros where it has none."""
    slope, gable = slope_of(cut), gable_of(cut)
    kind = PartKind("", to_units(cut.width_mm), to_units(cut.height_mm), 1, slope=slope, gable=gable)
    drops = [drop for drop in kind.drops() if drop is not None] or [(0, 0)]
    return max(d[0] for d in drops) / UNITS_PER_MM, max(d[1] for d in drops) / UNITS_PER_MM


def _sheet_key(cut: SheetCut, slope: tuple[int, int] | None, gable: tuple[int, int, int] | None) -> str:
    size = f"{cut.width_mm:g}x{cut.height_mm:g}"
    if gable:
        left, peak, right = (length / UNITS_PER_MM for length in gable)
        return f"{size} gable {left:g}/{right:g} peak at {peak:g}"
    if slope:
        return f"{size} slope {slope[0] / UNITS_PER_MM:g}/{slope[1] / UNITS_PER_MM:g}"
    return size if len(cut.outline) == 4 else f"{size} pointed"


def _sheet_stock(stock: Stock, material: str) -> tuple[str, tuple[SheetSize, ...]]:
    if material in stock.skins:
        return stock.skins[material].name, stock.skins[material].sizes
    if material in stock.boards:
        return stock.boards[material].name, stock.boards[material].sizes
    raise CuttingError(f"{material} is not in the stock file", "list it under skins or boards")


def _stock_sheets(sizes: tuple[SheetSize, ...]) -> tuple[SheetKind, ...]:
    return tuple(
        SheetKind(
            f"{size.width_mm:g}x{size.height_mm:g}",
            to_units(size.width_mm),
            to_units(size.height_mm),
            to_cents(size.price),
            None,
            to_units(size.trim_mm),
        )
        for size in sizes
    )


def _rack_sheets(stock: Stock, material: str) -> tuple[SheetKind, ...]:
    return tuple(
        SheetKind(f"rack {i}", to_units(row.width_mm), to_units(row.height_mm), 0, row.copies, 0, owned=True)
        for i, row in enumerate((r for r in stock.rack.sheets if r.material == material), start=1)
    )


def stick_demands(design: Design, stock: Stock) -> tuple[StickDemand, ...]:
    """Return one job for each timber and track section of the design, by material key."""
    return stick_demands_of(design.parts, stock)


def stick_demands_of(parts: Iterable[Part], stock: Stock) -> tuple[StickDemand, ...]:
    """Return one job for each timber and track section among some parts, by material key."""
    groups: dict[str, list[Part]] = {}
    for part in parts:
        if isinstance(part.cut, StickCut):
            groups.setdefault(part.material, []).append(part)
    return tuple(_stick_demand(stock, key, groups[key]) for key in sorted(groups))


def _stick_demand(stock: Stock, material: str, parts: list[Part]) -> StickDemand:
    kinds: dict[str, StickPart] = {}
    marks: dict[str, list[str]] = {}
    for part in parts:
        assert isinstance(part.cut, StickCut)
        key = f"{part.cut.length_mm:g}"
        if key in kinds:
            kinds[key] = replace(kinds[key], quantity=kinds[key].quantity + 1)
        else:
            kinds[key] = StickPart(key, to_units(part.cut.length_mm), 1, part.face)
        marks.setdefault(key, []).append(part.mark)
    is_timber = material in stock.timbers
    item = stock.timbers[material] if is_timber else stock.tracks[material]
    kerf = stock.saw.kerf_timber_mm if is_timber else stock.saw.kerf_track_mm
    squaring = to_units(stock.saw.squaring_mm) if is_timber else 0
    sticks = tuple(
        StickKind(f"{row.length_mm:g}", to_units(row.length_mm), to_cents(row.price), None, squaring)
        for row in item.lengths
    )
    job = StickJob(tuple(kinds.values()), (*_rack_sticks(stock, material, squaring), *sticks), to_units(kerf))
    return StickDemand(material, item.name, job, {key: tuple(names) for key, names in marks.items()})


def _rack_sticks(stock: Stock, material: str, squaring: int) -> tuple[StickKind, ...]:
    rows = (row for row in stock.rack.sticks if row.material == material)
    return tuple(
        StickKind(
            f"rack {i}",
            to_units(row.length_mm),
            0,
            row.copies,
            squaring,
            tuple((to_units(d.start_mm), to_units(d.end_mm)) for d in row.defects),
            owned=True,
            holes=tuple(to_units(at) for at in row.holes_mm),
        )
        for i, row in enumerate(rows, start=1)
    )
