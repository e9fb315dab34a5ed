"""Families of stick jobs with a known or well-studied optimum, drawn anew from a seed.

The shapes follow the bin-packing literature: uniform classes and triplets after
Falkenauer (1996), and zero-waste jobs whose least number of sticks is known
because they are made by cutting whole sticks up. `shelter` jobs are invented:
several stock lengths with prices, a rack, kerf.
"""

from __future__ import annotations

from collections import Counter
from itertools import pairwise
from random import Random

from enclosure.nesting.model import UNITS_PER_MM, StickJob, StickKind, StickPart


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
