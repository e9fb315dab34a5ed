"""Families of jobs, drawn anew from a seed: sticks with a known or well-studied optimum, invented shelters.

The shapes follow the bin-packing literature: uniform classes and triplets after
Falkenauer (1996), and zero-waste jobs whose least number of sticks is known
because they are made by cutting whole sticks up. `shelter` jobs are invented:
several stock lengths with prices, a rack, kerf. So are `house` and `small`: panels
out of sheets 1219 mm wide in up to three lengths with prices, kerf 3.2 mm, at times
a trim, flutes along the height, some offcuts; `small` has many small panels on few
sheets, where a proof is hardest.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from random import Random

from enclosure.nesting.model import UNITS_PER_MM, PartKind, SheetJob, SheetKind, StickJob, StickKind, StickPart


def _job(lengths: list[int], capacity: int, *, kerf: int = 0, scale: int = 1) -> StickJob:
    counted = sorted(Counter(lengths).items(), reverse=True)
    parts = tuple(StickPart(f"p{length}", length * scale, count) for length, count in counted)
    return StickJob(parts, (StickKind("stock", capacity * scale, 1),), kerf * scale)


def uniform(items: int, seed: int) -> StickJob:
    """Lengths 20 to 100 drawn evenly, stock 150."""
    draw = Random(f"uniform {items} {seed}")
    return _job([draw.randint(20, 100) for _ in range(items)], 150)


def triplets(items: int, seed: int) -> tuple[StickJob, int]:
    """Threes that fill a stock of 1000 exactly; the least number of sticks is a third of the items."""
    draw = Random(f"triplets {items} {seed}")
    lengths: list[int] = []
    for _ in range(items // 3):
        first = draw.randint(380, 490)
        second = draw.randint(250, (1000 - first) // 2)
        lengths += [first, second, 1000 - first - second]
    return _job(lengths, 1000), items // 3


def zero_waste(items: int, seed: int, *, kerf: int = 0) -> tuple[StickJob, int]:
    """Whole sticks cut at random into 2 to 7 pieces, without any waste but the kerf."""
    draw = Random(f"zero waste {items} {seed} {kerf}")
    capacity = draw.choice([300, 1000, 3000])
    lengths: list[int] = []
    sticks = 0
    while len(lengths) < items:
        pieces = draw.randint(2, 7)
        room = capacity - (pieces - 1) * kerf
        cuts = sorted(draw.sample(range(1, room // 10), pieces - 1))
        ends = [0, *(10 * cut + draw.randint(-4, 4) for cut in cuts), room]
        lengths += [b - a for a, b in pairwise(ends)]
        sticks += 1
    return _job(lengths, capacity, kerf=kerf), sticks


def shelter(seed: int) -> StickJob:
    """One to four stock lengths with prices, up to eight sticks on the rack, some twenty lengths wanted."""
    draw = Random(f"shelter {seed}")
    units = UNITS_PER_MM
    rate = draw.uniform(4.0, 4.8)
    stocks = sorted(draw.sample([1829, 2438, 3048, 3658, 4877], draw.randint(1, 4)))
    if stocks[-1] < 2438:
        stocks.append(2438)
    sticks = [
        StickKind(f"new {length}", length * units, round(length / 1000 * rate * draw.uniform(0.97, 1.03) * 100))
        for length in stocks
    ]
    for index in range(draw.choice([0, 0, 2, 4, 8])):
        sticks.append(StickKind(f"rack {index}", draw.randint(700, 2200) * units, 0, 1, owned=True))
    most = min(2400, stocks[-1])
    parts = tuple(
        StickPart(f"p{index}", draw.randint(250, most) * units, draw.randint(1, 6))
        for index in range(draw.choice([6, 12, 20, 20]))
    )
    return StickJob(parts, tuple(sticks), 32_000)


WIDTH = 1219
"""Width of a multiwall sheet [mm]: four feet."""
KERF = 32_000


def _panels(draw: Random, sizes: list[tuple[int, int, int]], bought: list[int], offcuts: int, name: str) -> SheetJob:
    """Return a job of panels (width, height, quantity) [mm] out of sheets of the lengths `bought`."""
    units = UNITS_PER_MM
    trim = draw.choice([0, 5]) * units
    rate = draw.uniform(13.4, 23.0)
    sheets = []
    for length in bought:
        dearer = draw.uniform(1.0, 1.05) if length > bought[0] else 1.0
        price = round(100 * rate * length / 1000 * dearer * (1.0 + 0.03 * (length > 3048)))
        sheets.append(SheetKind(f"new {length}", WIDTH * units, length * units, price, None, trim))
    for index in range(offcuts):
        width, height = draw.randint(350, 1200), draw.randint(660, 2440)
        sheets.append(SheetKind(f"rack {index}", width * units, height * units, 0, 1, owned=True))
    kinds = tuple(
        PartKind(f"{name}{index}", wide * units, high * units, quantity)
        for index, (wide, high, quantity) in enumerate(sizes)
    )
    return SheetJob(kinds, tuple(sheets), KERF)


def small(seed: int) -> SheetJob:
    """Some thirty or fifty small panels of eight to twenty sizes, two to ten sheets."""
    draw = Random(f"small {seed}")
    kinds = draw.choice([8, 10, 10, 12, 15, 20])
    most = max(1, draw.choice([30, 50]) // kinds)
    sizes = [
        (draw.randint(250, 650), draw.randint(300, 1250), 1 + draw.randint(0, 2 * most - 1) * (draw.random() < 0.8))
        for _ in range(kinds)
    ]
    return _panels(draw, sizes, [2438, 3048, 3658], draw.choice([0, 0, 0, 1, 2, 3]), "panel ")


def house(seed: int) -> SheetJob:
    """Panels of one shelter: a few widths and heights again and again, on up to a few dozen sheets."""
    draw = Random(f"house {seed}")
    bought = draw.choice([[2438, 3048, 3658]] * 4 + [[2438, 3048], [3048]])
    highest = min(bought[-1] - 20, 2440)
    sizes: dict[tuple[int, int], int] = {}
    if draw.random() < 0.25:
        for _ in range(draw.choice([4, 5, 9, 10])):
            sizes[draw.randint(380, 1208), draw.randint(500, highest)] = 0
    else:
        widths = [draw.randint(325, 1208) for _ in range(draw.choice([2, 3, 4, 5]))]
        heights = [draw.randint(500, highest) for _ in range(draw.choice([3, 5, 7, 10]))]
        for _ in range(draw.choice([4, 5, 6, 8, 10, 20, 20])):
            sizes[draw.choice(widths), draw.choice(heights)] = 0
    most = draw.choice([1, 3, 7, 12]) if len(sizes) < 12 else draw.choice([1, 2, 4])
    panels = [(wide, high, draw.randint(max(1, most // 2), most + 1)) for wide, high in sizes]
    return _panels(draw, panels, bought, draw.choice([0, 0, 1, 2, 3, 4]), "panel ")


BERKEY_WANG = ((10, 10), (10, 30), (35, 40), (35, 100), (100, 100), (100, 300))
"""Greatest side of a part, side of the square sheet: classes 1 to 6."""
MARTELLO_VIGO = (((67, 100), (1, 50)), ((1, 50), (67, 100)), ((50, 100), (50, 100)), ((1, 50), (1, 50)))
"""Widths and heights of the four types of parts, sheet 100 x 100; in classes 7 to 10 seven parts of ten are of the
first, second, third, fourth type, the others of the other types."""


def sheet_class(number: int, items: int, seed: int, *, turnable: bool = False) -> SheetJob:
    """Return a job of one of the ten classes; every sheet costs 1."""
    draw = Random(f"class {number} {items} {seed}")
    sizes: list[tuple[int, int]] = []
    if number <= len(BERKEY_WANG):
        top, side = BERKEY_WANG[number - 1]
        sizes = [(draw.randint(1, top), draw.randint(1, top)) for _ in range(items)]
    else:
        side, main = 100, number - len(BERKEY_WANG) - 1
        others = [kind for kind in range(len(MARTELLO_VIGO)) if kind != main]
        for _ in range(items):
            wide, high = MARTELLO_VIGO[main if draw.random() < 0.7 else draw.choice(others)]
            sizes.append((draw.randint(*wide), draw.randint(*high)))
    kinds = tuple(
        PartKind(f"{width} x {height}", width, height, times, turnable)
        for (width, height), times in sorted(Counter(sizes).items(), reverse=True)
    )
    return SheetJob(kinds, (SheetKind("sheet", side, side, 1),), 0)
