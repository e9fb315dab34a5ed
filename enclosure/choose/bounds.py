"""Below which price can no cutting plan lie, told in a fraction of a millisecond?

A cheap bound that lets a search over sizes skip most cutting problems. Parts
and sheets are enlarged by the kerf (exact for guillotine cuts), sizes are sent
through dual-feasible functions, and the cheapest whole number of sheets that
covers the result is a bound for every plan.

Left out: the strong bounds of the cutting engine, which take a thousand times
as long.

Units: as in `nesting.model` (1/10 000 mm, cents).

References:
    Fekete & Schepers (2001), "New classes of fast lower bounds for bin packing
    problems": u(x) = 1 for x > 1 - a, x between a and 1 - a, 0 below a, is dual
    feasible for 0 < a <= 1/2.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from enclosure.nesting.model import PartKind, SheetJob, StickJob
from enclosure.nesting.sheets.fills import can_fill

MOST_NODES = 4000
MOST_CUTOFFS = 12
NEVER = 1 << 60
"""A price that stands for what cannot be made."""


def relaxed(job: SheetJob) -> SheetJob:
    """Return the job with every sloped part as a rectangle of its mean height, without what may lie in drops.

    No plan is lost: a sloped part alone takes a rectangle as high as its higher
    end, and two that share a rectangle take at least the sum of both mean
    heights and the kerf between them. A part that fits a drop may take no room of its own.
    """
    return replace(job, kinds=tuple(_flattened(kind) for kind in without_fillers(job).kinds))


def without_fillers(job: SheetJob) -> SheetJob:
    """Return the job without the parts that may be cut from the drops of others: it costs no more."""
    small = can_fill(job.kinds, job.kerf)
    return replace(job, kinds=tuple(kind for index, kind in enumerate(job.kinds) if index not in small))


def _flattened(kind: PartKind) -> PartKind:
    if kind.slope is None:
        return kind
    return replace(kind, height=max(1, sum(kind.slope) // 2), slope=None)


def sheet_bound(job: SheetJob) -> int:
    """Return a price [cents] below which no plan for the job lies."""
    if not job.kinds:
        return 0
    kerf = job.kerf
    sheets = [
        (s.width - 2 * s.trim + kerf, s.height - 2 * s.trim + kerf, s.price, s.copies) for s in job.sheets
    ]
    wide, high = max(s[0] for s in sheets), max(s[1] for s in sheets)
    parts = [(k.width + kerf, k.height + kerf, k.quantity, k.turnable) for k in relaxed(job).kinds]
    best = 0
    for cut_x, cut_y in _cutoffs(parts, wide, high):
        need = sum(count * _worth(w, h, turn, (cut_x, wide), (cut_y, high)) for w, h, count, turn in parts)
        rows = [
            (price, float(_most(w, cut_x, wide) * _most(h, cut_y, high)), copies)
            for w, h, price, copies in sheets
        ]
        best = max(best, least_price(rows, need))
    return best


def _cutoffs(parts: Sequence[tuple[int, int, int, bool]], wide: int, high: int) -> list[tuple[int, int]]:
    """Return pairs of cutoffs (across, along) worth trying; 0 leaves an axis alone."""
    across = sorted(
        {
            x
            for w, h, _, turn in parts
            for s in ((w, h) if turn else (w,))
            for x in (wide - s + 1, s)
            if 0 < x <= wide // 2
        }
    )
    along = sorted(
        {
            x
            for w, h, _, turn in parts
            for s in ((w, h) if turn else (h,))
            for x in (high - s + 1, s)
            if 0 < x <= high // 2
        }
    )
    return [(0, 0), *((x, 0) for x in _thin(across)), *((0, y) for y in _thin(along)), (wide // 2, high // 2)]


def _thin(values: list[int]) -> list[int]:
    if len(values) <= MOST_CUTOFFS:
        return values
    return [values[i * (len(values) - 1) // (MOST_CUTOFFS - 1)] for i in range(MOST_CUTOFFS)]


def _seen(size: int, cutoff: int, whole: int) -> int:
    if size > whole - cutoff:
        return whole
    return size if size >= cutoff else 0


def _most(size: int, cutoff: int, whole: int) -> int:
    """Return the most that parts side by side within `size` can be seen as."""
    return size if cutoff == 0 or size <= whole - cutoff else whole


def _worth(w: int, h: int, turn: bool, x: tuple[int, int], y: tuple[int, int]) -> int:
    stand = _seen(w, *x) * _seen(h, *y)
    return min(stand, _seen(h, *x) * _seen(w, *y)) if turn else stand


def stick_bound(job: StickJob) -> int:
    """Return a price [cents] below which no plan for the job lies."""
    if not job.parts:
        return 0
    sticks = [(s.length - s.squaring + job.kerf, s.price, s.copies) for s in job.sticks]
    whole = max(s[0] for s in sticks)
    parts = [(p.length + job.kerf, p.quantity) for p in job.parts]
    cutoffs = sorted({x for size, _ in parts for x in (whole - size + 1, size) if 0 < x <= whole // 2})
    best = 0
    for cutoff in [0, *_thin(cutoffs)]:
        need = sum(_seen(size, cutoff, whole) * count for size, count in parts)
        rows = [(price, float(_most(size, cutoff, whole)), copies) for size, price, copies in sticks]
        best = max(best, least_price(rows, need))
    return best


def least_price(rows: Iterable[tuple[int, float, int | None]], need: float) -> int:
    """Return the least price of whole pieces worth `need` together (a bound when there are very many).

    Args:
        rows: Price, worth and copies of each piece.
        need: Worth wanted.
    """
    free = sum(worth * (copies or 0) for price, worth, copies in rows if price == 0 and copies is not None)
    if any(price == 0 and copies is None for price, _, copies in rows):
        return 0
    need -= free
    order = sorted((r for r in rows if r[0] > 0 and r[1] > 0), key=lambda r: (r[0] / r[1], r[0]))
    if need <= 1e-6:
        return 0
    fractional = _fraction(order, need)
    best = _rounded_up(order, need)
    nodes = MOST_NODES
    stack: list[tuple[int, float, int]] = [(0, need, 0)]
    while stack and nodes and best > fractional:
        nodes -= 1
        start, left, spent = stack.pop()
        if left <= 1e-6:
            best = min(best, spent)
            continue
        if start == len(order) or spent + _fraction(order[start:], left) >= best:
            continue
        price, worth, copies = order[start]
        most = math.ceil(left / worth - 1e-9)
        most = most if copies is None else min(most, copies)
        stack += [(start + 1, left - n * worth, spent + n * price) for n in range(most + 1)]
    return best if nodes else fractional


def _fraction(order: Sequence[tuple[int, float, int | None]], need: float) -> int:
    """Return the least price with broken pieces, rounded up; `NEVER` when all pieces are too few."""
    total = 0.0
    for price, worth, copies in order:
        count = need / worth if copies is None else min(need / worth, float(copies))
        total += count * price
        need -= count * worth
        if need <= 1e-6:
            return math.ceil(total - 1e-6)
    return NEVER


def _rounded_up(order: Sequence[tuple[int, float, int | None]], need: float) -> int:
    price = 0
    for each, worth, copies in order:
        count = math.ceil(need / worth - 1e-9)
        if copies is not None:
            count = min(count, copies)
        price += count * each
        need -= count * worth
        if need <= 1e-6:
            return price
    return NEVER
