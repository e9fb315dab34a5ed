"""What would the parts of a design cost, without a cutting plan?

Areas and lengths at the cheapest price per square metre or metre of the stock
list, with an allowance for waste. A stand-in until a cutting plan is there: it
ignores whole sheets and sticks, so small shelters come out too cheap.

Units: money in the currency of the stock list.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from enclosure.shape.model import Design, SheetCut, StickCut
from enclosure.stock.model import SheetSize, StickLength, Stock

SHEET_WASTE = 1.15
STICK_WASTE = 1.10


@dataclass(frozen=True, slots=True)
class AreaPrice:
    """Price by groups: skins, timber, track, boards, hardware, bricks."""

    skins: float
    timber: float
    track: float
    boards: float
    hardware: float
    bricks: float

    @property
    def total(self) -> float:
        """Sum of all groups."""
        return self.skins + self.timber + self.track + self.boards + self.hardware + self.bricks


def price_m2(sizes: Iterable[SheetSize]) -> float:
    """Return the cheapest price of a square metre, trim taken off."""
    return min(
        size.price / ((size.width_mm - 2 * size.trim_mm) * (size.height_mm - 2 * size.trim_mm) / 1e6)
        for size in sizes
    )


def price_m(lengths: Iterable[StickLength]) -> float:
    """Return the cheapest price of a metre."""
    return min(length.price / (length.length_mm / 1000.0) for length in lengths)


def skin_price(design: Design, stock: Stock, key: str) -> float:
    """Return the price of one skin's panels in a design, waste included."""
    area = sum(
        part.cut.width_mm * part.cut.height_mm / 1e6
        for part in design.parts
        if part.kind in ("panel", "film") and part.material == key and isinstance(part.cut, SheetCut)
    )
    return SHEET_WASTE * area * price_m2(stock.skins[key].sizes)


def area_price(design: Design, stock: Stock) -> AreaPrice:
    """Return the price of a design from the areas and lengths of its parts."""
    metres: dict[str, float] = defaultdict(float)
    boards: dict[str, float] = defaultdict(float)
    for part in design.parts:
        if isinstance(part.cut, StickCut):
            metres[part.material] += part.cut.length_mm / 1000.0
        elif part.material in stock.boards:
            boards[part.material] += part.cut.width_mm * part.cut.height_mm / 1e6
    skins = {part.material for part in design.parts if part.kind in ("panel", "film")}
    hardware = 0.0
    for fixing in design.fixings:
        item = stock.hardware.get(fixing.key)
        if item is not None:
            hardware += math.ceil(fixing.amount / item.pack - 1e-9) * item.price
    brick = next((b for b in stock.bricks.values() if _is_brick(design, b.length_mm, b.width_mm)), None)
    return AreaPrice(
        skins=sum(skin_price(design, stock, key) for key in sorted(skins)),
        timber=STICK_WASTE
        * sum(m * price_m(stock.timbers[k].lengths) for k, m in metres.items() if k in stock.timbers),
        track=STICK_WASTE
        * sum(m * price_m(stock.tracks[k].lengths) for k, m in metres.items() if k in stock.tracks),
        boards=SHEET_WASTE * sum(a * price_m2(stock.boards[k].sizes) for k, a in boards.items()),
        hardware=hardware,
        bricks=design.base.bricks_to_buy * brick.price if brick is not None else 0.0,
    )


def _is_brick(design: Design, length_mm: float, width_mm: float) -> bool:
    return math.isclose(design.base.brick_mm[0], length_mm) and math.isclose(
        design.base.brick_mm[1], width_mm
    )
