"""What does the sheet engine solve once names, kerf, trim and common factors are taken out?

A `SheetJob` becomes plain integers: the kerf is added to every part and once to
every trimmed sheet (exact for guillotine cuts: k parts in a row need
sum + (k - 1) kerf), lengths are divided by their common factor, equal parts and
equal sheets are merged, and what can be laid down in one piece is listed as
`Leaf`: a part as it stands, a turnable part turned, or two parts with parallel
slopes that share a rectangle. Raises `CuttingError` for jobs that no plan can
satisfy for a reason visible without search.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import gcd

from enclosure.errors import CuttingError, ShortageError
from enclosure.nesting.drops import sloped_kerf
from enclosure.nesting.model import UNITS_PER_MM, PartKind, SheetJob
from enclosure.nesting.sheets.fills import Fill, fillings


@dataclass(frozen=True, slots=True)
class Leaf:
    """What one finished rectangle holds.

    Args:
        width: With one kerf, in scaled units.
        height: With one kerf, in scaled units.
        parts: Merged kinds it yields: one, two for a sloped pair (low, high), or a sloped
            part and what is cut from its drops.
        turned: True when the part lies turned by 90 degrees.
        fills: What is cut from the left and the right drop; None where nothing is.
    """

    width: int
    height: int
    parts: tuple[int, ...]
    turned: bool = False
    fills: tuple[Fill | None, Fill | None] | None = None


@dataclass(frozen=True, slots=True)
class Stock:
    """Equal sheets merged: size with one kerf in scaled units, price, copies (None: unlimited)."""

    width: int
    height: int
    price: int
    copies: int | None
    members: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """The job in scaled integers.

    Args:
        job: Where it comes from.
        scale: Length units per scaled unit.
        kerf: Kerf in scaled units.
        demand: Copies wanted of each merged kind.
        members: Index of the job's part kinds behind each merged kind.
        leaves: Everything that can be laid down in one piece.
        stocks: Merged sheets.
        stages: 2, 3 or None for unlimited.
    """

    job: SheetJob
    scale: int
    kerf: int
    demand: tuple[int, ...]
    members: tuple[tuple[int, ...], ...]
    leaves: tuple[Leaf, ...]
    stocks: tuple[Stock, ...]
    stages: int | None


def prepare(job: SheetJob) -> Problem:
    """Return the job as a `Problem`.

    Raises:
        CuttingError: A size, kerf, trim or quantity is impossible, or a part fits no sheet.
    """
    _check_sizes(job)
    demand, members = _merge_kinds(job.kinds)
    heads = [job.kinds[m[0]] for m in members]
    raw_leaves = _leaves(heads, job.kerf)
    if job.stages is None:
        raw_leaves.extend(_filled(heads, demand, job.kerf))
    raw_stocks = [(s.width - 2 * s.trim + job.kerf, s.height - 2 * s.trim + job.kerf) for s in job.sheets]
    usable = [(w, h) for w, h in raw_stocks if w > job.kerf and h > job.kerf]
    leaves = [x for x in raw_leaves if any(x.width <= w and x.height <= h for w, h in usable)]
    _check_fit(job, members, leaves)
    scale = 0
    for leaf in leaves:
        scale = gcd(scale, leaf.width, leaf.height)
    scale = gcd(scale, *(n for pair in raw_stocks for n in pair), job.kerf)
    small = tuple(replace(x, width=x.width // scale, height=x.height // scale) for x in leaves)
    stocks = _merge_stocks(job, raw_stocks, scale, small)
    problem = Problem(job, scale, job.kerf // scale, demand, members, small, stocks, job.stages)
    _check_area(problem)
    return problem


def _check_sizes(job: SheetJob) -> None:
    """Raise for sizes that are no sizes."""
    if job.kerf < 0:
        raise CuttingError(f"the saw kerf is {_mm(job.kerf)}", "give a kerf of 0 mm or more")
    if job.kinds and not job.sheets:
        raise CuttingError("no sheet is in stock", "list at least one sheet in your stock file")
    if job.stages is not None and job.stages not in (2, 3):
        raise CuttingError(f"{job.stages} cutting stages were asked for", "ask for 2, 3 or unlimited stages")
    for part in job.kinds:
        if part.width <= 0 or part.height <= 0:
            raise CuttingError(
                f"part {part.key} measures {_mm(part.width)} by {_mm(part.height)}",
                "every part needs a width and a height above zero",
            )
        if part.quantity < 0:
            raise CuttingError(f"part {part.key} is wanted {part.quantity} times", "ask for one or more")
        if part.slope is not None and (min(part.slope) < 0 or max(part.slope) != part.height):
            raise CuttingError(
                f"part {part.key} slopes from {_mm(part.slope[0])} to {_mm(part.slope[1])}"
                f" but is {_mm(part.height)} high",
                "the higher end of the slope must equal the height of the part",
            )
        if part.gable is not None:
            left, peak, right = part.gable
            if min(left, right) < 0 or max(left, right) >= part.height or not 0 < peak < part.width:
                sides = f"{_mm(left)} and {_mm(right)}"
                raise CuttingError(
                    f"part {part.key} is {_mm(part.height)} high at its peak, {sides} at its sides",
                    "the peak must lie inside the part and above both sides",
                )
    for sheet in job.sheets:
        if sheet.width - 2 * sheet.trim <= 0 or sheet.height - 2 * sheet.trim <= 0:
            raise CuttingError(
                f"sheet {sheet.key} is {_mm(sheet.width)} by {_mm(sheet.height)}; nothing is left after"
                f" a trim of {_mm(sheet.trim)} on every edge",
                "trim less, or list a larger sheet",
            )
        if sheet.price < 0 or (sheet.copies is not None and sheet.copies < 0) or sheet.trim < 0:
            raise CuttingError(
                f"sheet {sheet.key} has a price, trim or number of copies below zero", "correct the stock file"
            )


def _merge_kinds(kinds: tuple[PartKind, ...]) -> tuple[tuple[int, ...], tuple[tuple[int, ...], ...]]:
    """Return demand and members of kinds that are equal but for their name."""
    found: dict[tuple[object, ...], list[int]] = {}
    for index, part in enumerate(kinds):
        if part.quantity > 0:
            turn = part.turnable and part.width != part.height
            found.setdefault((part.width, part.height, turn, part.slope, part.gable), []).append(index)
    members = tuple(tuple(m) for m in found.values())
    return tuple(sum(kinds[i].quantity for i in m) for m in members), members


def _leaves(heads: list[PartKind], kerf: int) -> list[Leaf]:
    """Return every leaf in unscaled units with one kerf added."""
    leaves = []
    for index, part in enumerate(heads):
        leaves.append(Leaf(part.width + kerf, part.height + kerf, (index,)))
        if part.turnable and part.width != part.height:
            leaves.append(Leaf(part.height + kerf, part.width + kerf, (index,), True))
    by_slope: dict[tuple[int, int], list[int]] = {}
    for index, part in enumerate(heads):
        if part.slope is not None and part.slope[0] != part.slope[1]:
            by_slope.setdefault((part.width, part.slope[1] - part.slope[0]), []).append(index)
    for (width, rise), group in by_slope.items():
        gap = sloped_kerf(kerf, width, rise)
        for low in group:
            for high in group:
                if high < low:
                    continue
                first, second = heads[low].slope, heads[high].slope
                assert first is not None
                assert second is not None
                height = first[0] + second[1] + gap
                leaves.append(Leaf(width + kerf, height + kerf, (low, high)))
    return leaves


def _filled(heads: list[PartKind], demand: tuple[int, ...], kerf: int) -> list[Leaf]:
    """Return a leaf for each way to fill the drops of each sloped part, in unscaled units with one kerf added."""
    return [
        Leaf(heads[part].width + kerf, heads[part].height + kerf, parts, fills=fills)
        for part, parts, fills in fillings(heads, demand, kerf)
    ]


def _merge_stocks(
    job: SheetJob, sizes: list[tuple[int, int]], scale: int, leaves: tuple[Leaf, ...]
) -> tuple[Stock, ...]:
    """Return stocks with equal size and price merged; those that hold no part are left out."""
    found: dict[tuple[int, int, int], list[int]] = {}
    for index, (sheet, (width, height)) in enumerate(zip(job.sheets, sizes, strict=True)):
        small = (width // scale, height // scale)
        if sheet.copies == 0 or not any(x.width <= small[0] and x.height <= small[1] for x in leaves):
            continue
        found.setdefault((*small, sheet.price), []).append(index)
    stocks = []
    for (width, height, price), members in found.items():
        copies: int | None = 0
        for index in members:
            more = job.sheets[index].copies
            copies = None if copies is None or more is None else copies + more
        stocks.append(Stock(width, height, price, copies, tuple(members)))
    return tuple(stocks)


def _check_fit(job: SheetJob, members: tuple[tuple[int, ...], ...], leaves: list[Leaf]) -> None:
    """Raise when a part fits no sheet."""
    held = {part for leaf in leaves for part in leaf.parts}
    for index, group in enumerate(members):
        if index in held:
            continue
        part = job.kinds[group[0]]
        room = [(s.width - 2 * s.trim, s.height - 2 * s.trim) for s in job.sheets if s.copies != 0]
        if not room:
            raise CuttingError("no sheet is in stock", "list at least one sheet in your stock file")
        wide, high = max(w for w, _ in room), max(h for _, h in room)
        if part.width > wide and not part.turnable:
            what = f"part {part.key} is {_mm(part.width)} wide; the widest sheet in stock is {_mm(wide)}"
        elif part.height > high and not part.turnable:
            what = f"part {part.key} is {_mm(part.height)} high; the highest sheet in stock is {_mm(high)}"
        else:
            sizes = ", ".join(f"{_mm(w)} by {_mm(h)}" for w, h in sorted(set(room), reverse=True)[:4])
            what = f"part {part.key}, {_mm(part.width)} by {_mm(part.height)}, fits no sheet in stock ({sizes})"
        raise CuttingError(what, "list a larger sheet in your stock file, or divide the part (more bays)")


def _check_area(problem: Problem) -> None:
    """Raise when a finite stock has less area than the parts need."""
    if any(stock.copies is None for stock in problem.stocks):
        return
    need = sum(d * a for d, a in zip(problem.demand, least_area(problem), strict=True))
    have = sum(s.width * s.height * (s.copies or 0) for s in problem.stocks)
    if need > have:
        unit = (problem.scale / UNITS_PER_MM / 1000.0) ** 2
        raise ShortageError(
            f"the stock is too small: the parts with their saw kerfs need {need * unit:.3f} m2, the sheets have"
            f" {have * unit:.3f} m2, short by {(need - have) * unit:.3f} m2",
            "add sheets or offcuts to your stock file, or let a sheet kind be bought without limit",
        )


def least_area(problem: Problem) -> list[int]:
    """Return the least area of each merged kind [scaled units squared].

    Half of a pair where that is less, and for a sloped part what is left beside the parts
    in its drops: added up over the parts of a leaf, never more than its rectangle.
    """
    area = [0] * len(problem.demand)
    for leaf in problem.leaves:
        first, rest = leaf.parts[0], leaf.parts[1:]
        if leaf.fills is not None:
            area[first] = max(1, min(area[first], leaf.width * leaf.height - sum(area[part] for part in rest)))
            continue
        own = leaf.width * leaf.height // len(leaf.parts)
        for part in leaf.parts:
            area[part] = own if area[part] == 0 else min(area[part], own)
    return area


def _mm(units: int) -> str:
    """Return a length in units as text in mm."""
    return f"{units / UNITS_PER_MM:.1f}".rstrip("0").rstrip(".") + " mm"
