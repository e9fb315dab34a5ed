"""How few sheets of each kind can any plan have?

Every pricing gives an inequality on the numbers of sheets (`CountCut`). The
cheapest whole numbers that satisfy all of them bound the price; all vectors of
sheet counts below a given price can be listed, cheapest first.
"""

from __future__ import annotations

from math import ceil

import numpy as np

from enclosure.nesting.sheets.masters import solve_integer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.pricing import CountCut


def fractional_bound(cut: CountCut, prices: IntArray, limits: IntArray) -> float:
    """Return the least price of fractional sheets that satisfy one cut (infinite when none do)."""
    need, price = float(cut.need), 0.0
    ratio = [(float(p) / float(w), i) for i, (p, w) in enumerate(zip(prices, cut.worth, strict=True)) if w > 0]
    for each, index in sorted(ratio):
        worth = float(cut.worth[index])
        if limits[index] < 0 or float(limits[index]) * worth >= need:
            return price + need * each
        price += float(limits[index]) * worth * each
        need -= float(limits[index]) * worth
    return float("inf")


def integer_bound(
    cuts: list[CountCut], prices: IntArray, limits: IntArray, nodes: int = 2000
) -> tuple[int | None, int, IntArray | None]:
    """Return the least price of whole sheet counts that satisfy all cuts, the work, and such counts.

    None means that no counts satisfy them: the stock cannot hold the parts. Cuts
    are loosened by a billionth so that rounding inside the solver cannot raise the bound.
    """
    kept = _strongest(cuts)
    if not kept:
        return 0, 0, None
    if len(prices) == 1:
        count = max(-(-cut.need // max(int(cut.worth[0]), 1)) for cut in kept)
        if limits[0] >= 0 and count > limits[0]:
            return None, 0, None
        return int(count * prices[0]), 0, np.array([count])
    rows = np.array([cut.worth for cut in kept], dtype=np.float64)
    need = np.array([cut.need for cut in kept], dtype=np.float64)
    # Lifted where the solver would drop a coefficient as too small: lifting only weakens a cut.
    rows = np.maximum(rows / need[:, None], 1e-8)
    upper = np.array([float(v) if v >= 0 else np.inf for v in limits])
    top = np.ceil(1.0 / np.maximum(rows.min(axis=0), 1e-9)) + 1
    answer = solve_integer(
        prices.astype(np.float64),
        rows,
        np.full(len(kept), 1.0 - 1e-9),
        np.full(len(kept), np.inf),
        np.minimum(upper, top),
        nodes,
    )
    if answer.counts is None:
        return (None, answer.steps, None) if answer.optimal else (0, answer.steps, None)
    if answer.optimal:
        return int((answer.counts * prices).sum()), answer.steps, answer.counts
    return max(0, ceil(answer.dual - 1e-6 - 1e-9 * abs(answer.dual))), answer.steps, None


def _strongest(cuts: list[CountCut], most: int = 400) -> list[CountCut]:
    """Return cuts without those weaker than another in every stock; at most the last `most`."""
    recent = [c for c in cuts[-most:] if c.need > 0]
    if not recent:
        return recent
    rate = np.array([c.worth / c.need for c in recent])
    keep = []
    for index in range(len(recent)):
        weaker = (rate <= rate[index]).all(axis=1) & (rate < rate[index]).any(axis=1)
        if not weaker.any():
            keep.append(recent[index])
    return keep


def satisfies(counts: IntArray, cuts: list[CountCut]) -> bool:
    """Return True when the sheet counts meet every cut (exact integers)."""
    return all(int((cut.worth * counts).sum()) >= cut.need for cut in cuts)


def list_counts(
    cuts: list[CountCut], prices: IntArray, limits: IntArray, low: int, below: int, most: int
) -> tuple[list[IntArray], bool]:
    """Return the largest-use sheet count vectors with low <= price < below that meet all cuts, cheapest first.

    Free sheets are always counted in full. The flag says whether the list is complete.
    """
    free = [i for i, p in enumerate(prices) if p == 0]
    paid = sorted((i for i, p in enumerate(prices) if p > 0), key=lambda i: -int(prices[i]))
    counts = np.zeros(len(prices), dtype=np.int64)
    for index in free:
        counts[index] = limits[index] if limits[index] >= 0 else max(c.need for c in cuts)
    found: list[tuple[int, tuple[int, ...]]] = []
    kept = _strongest(cuts)
    steps = [0]

    def walk(depth: int, price: int) -> bool:
        steps[0] += 1
        if len(found) >= most or steps[0] > 40 * most:
            return False
        if depth == len(paid):
            if price >= low and satisfies(counts, kept):
                found.append((price, tuple(int(c) for c in counts)))
            return True
        index = paid[depth]
        each = int(prices[index])
        top = (below - 1 - price) // each
        if limits[index] >= 0:
            top = min(top, int(limits[index]))
        if depth == len(paid) - 1:
            bottom = max(0, -(-(low - price) // each))
        else:
            bottom = 0
        for number in range(top, bottom - 1, -1):
            counts[index] = number
            if not walk(depth + 1, price + number * each):
                return False
        counts[index] = 0
        return True

    complete = walk(0, 0)
    found.sort()
    return [np.array(v, dtype=np.int64) for _, v in found], complete
