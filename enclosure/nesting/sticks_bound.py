"""Below which price can no plan lie, given what each stick can be worth at most?

With a worth for every kind of part, no stick yields more than its best pattern
(found exactly, in whole numbers). Any plan must reach the worth of all parts
wanted, so the cheapest set of sticks that could reach it is a lower bound,
whatever the worths are. The sets are searched over whole sticks, which is
stronger than the linear program's bound.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

# Prices up to this many money steps are searched one by one.
MOST_PRICES = 2_000_000
# Two of these still add up within 64 bits.
LARGEST = 1 << 61


def count_bound(prices: list[int], copies: list[int | None], worths: list[int], need: int, most: int) -> int:
    """Return the least price of sticks worth `need` together, or `most` when none below it is enough.

    Args:
        prices: Price of each bin [money steps].
        copies: Copies of each bin; None for unlimited.
        worths: What one stick of the bin is worth at most.
        need: Worth of all parts wanted.
        most: A price that some plan has; no search above it.
    """
    if most <= 0 or need <= 0:
        return 0
    free = sum(
        (worth * count if count is not None else need)
        for price, count, worth in zip(prices, copies, worths, strict=True)
        if price == 0 and worth > 0
    )
    need -= free
    if need <= 0:
        return 0
    priced = [
        (price, count, worth)
        for price, count, worth in zip(prices, copies, worths, strict=True)
        if price > 0 and worth > 0
    ]
    fine = need < LARGEST and all(worth < LARGEST for _, _, worth in priced)
    if len({price for price, _, _ in priced}) == 1 or most > MOST_PRICES or not fine:
        return min(most, _fractional(priced, need))
    return _search(priced, need, most)


def _fractional(priced: list[tuple[int, int | None, int]], need: int) -> int:
    """Return the bound with broken sticks, rounded up; for equal prices it is exact in the count."""
    equal = len({price for price, _, _ in priced}) == 1
    total = 0
    order = sorted(priced, key=lambda row: Fraction(-row[2], row[0]))
    if equal:
        order = sorted(priced, key=lambda row: -row[2])
    for price, count, worth in order:
        if equal:
            sticks = -(-need // worth)
            used = sticks if count is None else min(sticks, count)
            total += used * price
            need -= used * worth
        else:
            if count is None or count * worth >= need:
                return total + -(-need * price // worth)
            total += count * price
            need -= count * worth
        if need <= 0:
            return total
    return 1 << 60


def _search(priced: list[tuple[int, int | None, int]], need: int, most: int) -> int:
    """Return the least price whose best set of whole sticks reaches the need."""
    table = np.zeros(most, dtype=np.int64)
    for price, count, worth in priced:
        left = min(count if count is not None else most, -(-need // worth), (most - 1) // price)
        block = 1
        while left > 0:
            block = min(block, left)
            shift = price * block
            if shift < most:
                gain = min(worth * block, need)
                table[shift:] = np.maximum(table[shift:], np.minimum(table[: most - shift] + gain, need))
            left -= block
            block *= 2
    reached = np.flatnonzero(table >= need)
    return int(reached[0]) if len(reached) else most
