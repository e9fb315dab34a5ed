"""What has to be paid for?

Sheets and sticks as the plans use them, hardware by whole packs, bricks with
spares. Pieces from the rack are listed at no charge.
"""

from __future__ import annotations

import math

from enclosure.nesting.demand import to_cents
from enclosure.nesting.model import UNITS_PER_MM, SheetKind, StickKind
from enclosure.nesting.plans import BuyingLine, MaterialSheets, MaterialSticks
from enclosure.nesting.replay import placements
from enclosure.shape.model import Design, Units
from enclosure.stock.model import Stock
from enclosure.units import format_length


def buying_list(
    design: Design, stock: Stock, sheets: tuple[MaterialSheets, ...], sticks: tuple[MaterialSticks, ...]
) -> tuple[BuyingLine, ...]:
    """Return the buying list: skins and boards, timber, track, hardware, bricks."""
    lines = [line for item in sheets for line in _sheet_lines(item, stock, design.units)]
    lines += [line for item in sticks for line in _stick_lines(item, stock, design.units)]
    lines += _hardware_lines(design, stock)
    lines += _brick_lines(design, stock)
    order = ("skins", "boards", "timber", "track", "hardware", "bricks")
    return tuple(sorted(lines, key=lambda line: order.index(line.group)))


def _sheet_lines(item: MaterialSheets, stock: Stock, units: Units) -> list[BuyingLine]:
    if item.ordered:
        return _pane_lines(item, units)
    counts: dict[str, int] = {}
    for pattern in item.plan.patterns:
        counts[pattern.sheet] = counts.get(pattern.sheet, 0) + pattern.copies
    group = "skins" if item.material in stock.skins else "boards"
    rows = []
    for kind in item.job.sheets:
        if kind.key in counts:
            size = f"{_size(kind.width, units)} x {_size(kind.height, units)}"
            rows.append(_line(group, item.name, size, counts[kind.key], "sheet", kind))
    return rows


def _pane_lines(item: MaterialSheets, units: Units) -> list[BuyingLine]:
    """Return a line for each size of pane to order, at the price of the listed size that holds it."""
    counts: dict[tuple[str, str], int] = {}
    for pattern in item.plan.patterns:
        for placed in placements(item.job, pattern):
            counts[placed.key, pattern.sheet] = counts.get((placed.key, pattern.sheet), 0) + pattern.copies
    wanted = {kind.key: kind for kind in item.job.kinds}
    listed = {kind.key: kind for kind in item.job.sheets}
    rows = []
    for (part, sheet), count in counts.items():
        size = f"{_size(wanted[part].width, units)} x {_size(wanted[part].height, units)}"
        kind = listed[sheet]
        note = f"made to size; priced as {_size(kind.width, units)} x {_size(kind.height, units)}"
        rows.append(BuyingLine("skins", item.name, size, count, "pane", kind.price, kind.price * count, note))
    return rows


def _stick_lines(item: MaterialSticks, stock: Stock, units: Units) -> list[BuyingLine]:
    counts: dict[str, int] = {}
    for pattern in item.plan.patterns:
        counts[pattern.stick] = counts.get(pattern.stick, 0) + pattern.copies
    group = "timber" if item.material in stock.timbers else "track"
    return [
        _line(group, item.name, _size(kind.length, units), counts[kind.key], "length", kind)
        for kind in item.job.sticks
        if kind.key in counts
    ]


def _line(group: str, name: str, size: str, count: int, unit: str, kind: SheetKind | StickKind) -> BuyingLine:
    note = "from the rack" if kind.owned else ""
    return BuyingLine(group, name, size, count, unit, kind.price, kind.price * count, note)


def _size(units_long: int, units: Units) -> str:
    return format_length(units_long / UNITS_PER_MM, units)


def _hardware_lines(design: Design, stock: Stock) -> list[BuyingLine]:
    amounts: dict[str, float] = {}
    for fixing in design.fixings:
        amounts[fixing.key] = amounts.get(fixing.key, 0.0) + fixing.amount
    rows = []
    for key in sorted(amounts):
        item = stock.hardware[key]
        packs = math.ceil(amounts[key] / item.pack - 1e-9)
        needed = f"{amounts[key]:.0f} needed" if item.per == "each" else f"{amounts[key]:.1f} m needed"
        pack = f"{item.pack:g}" if item.per == "each" else f"{item.pack:g} m"
        size = "each" if item.per == "each" and item.pack == 1 else f"pack of {pack}"
        price = to_cents(item.price)
        rows.append(
            BuyingLine(
                "hardware", item.name, size, packs, "pack" if size != "each" else "each", price, price * packs, needed
            )
        )
    return rows


def _brick_lines(design: Design, stock: Stock) -> list[BuyingLine]:
    base = design.base
    if not base.bricks_to_buy:
        return []
    for brick in stock.bricks.values():
        if (brick.length_mm, brick.width_mm, brick.height_mm) == base.brick_mm:
            price = to_cents(brick.price)
            note = f"{base.bricks} to lay, {base.bricks_to_buy - base.bricks} spare"
            return [
                BuyingLine(
                    "bricks", brick.name, "", base.bricks_to_buy, "each", price, price * base.bricks_to_buy, note
                )
            ]
    return []
