"""By how much is a finite stock of sheets too small, and which parts find no room?

The sheets in stock are laid out again as if they were free, with more sheets of the same
kinds beside them at a price for their area. What is then cut from the extra ones has no
room, and the extra ones would be enough: both are read off a whole plan.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator
from dataclasses import replace

from enclosure.errors import CuttingError, ShortageError
from enclosure.nesting.model import UNITS_PER_MM, Cut, Filled, Node, Pair, Part, SheetJob, SheetPlan

EXTRA = "one more of "
MOST_NAMED = 4


def extended(job: SheetJob) -> SheetJob:
    """Return the job with its stock free of charge and more of every kind at a price."""
    own = [replace(sheet, price=0) for sheet in job.sheets if sheet.copies != 0]
    sizes = {(s.width, s.height, s.trim): s for s in reversed(own)}
    unit = min(s.width * s.height for s in own) or 1
    more = [
        replace(sheet, key=EXTRA + sheet.key, price=max(1, 100 * sheet.width * sheet.height // unit), copies=None)
        for sheet in sizes.values()
        if not sheet.owned or all(other.owned for other in own)
    ]
    return replace(job, sheets=(*own, *more))


def told(job: SheetJob, error: ShortageError, solve: Callable[[SheetJob], SheetPlan]) -> SheetPlan | ShortageError:
    """Return what a shortage comes to, or the plan where one turns up after all.

    Args:
        job: A job whose stock is finite.
        error: What is known so far.
        solve: Solves a job with little work.
    """
    try:
        plan = solve(extended(job))
    except CuttingError:
        return error
    extra = [pattern for pattern in plan.patterns if pattern.sheet.startswith(EXTRA)]
    if not extra:
        return plan
    sheets = {sheet.key: sheet for sheet in job.sheets}
    parts: Counter[str] = Counter()
    needed: Counter[str] = Counter()
    for pattern in extra:
        needed[pattern.sheet.removeprefix(EXTRA)] += pattern.copies
        for key in _parts(pattern.root):
            parts[key] += pattern.copies
    kinds = {kind.key: kind for kind in job.kinds}
    order = sorted(parts, key=lambda key: (-kinds[key].width * kinds[key].height * parts[key], key))
    named = [f"{parts[key]} of {key} ({_mm(kinds[key].width)} by {_mm(kinds[key].height)})" for key in order]
    what = ", ".join(named[:MOST_NAMED]) + (" and others" if len(named) > MOST_NAMED else "")
    area = sum(kinds[key].width * kinds[key].height * n for key, n in parts.items()) / (1000 * UNITS_PER_MM) ** 2
    more = " and ".join(
        f"{n} more of {key} ({_mm(sheets[key].width)} by {_mm(sheets[key].height)})" for key, n in needed.items()
    )
    return ShortageError(
        f"the stock is too small: beside the other parts there is no room for {what}, short by {area:.3f} m2 of parts",
        f"{more} would hold them; or add offcuts to your stock file",
    )


def _parts(node: Node | None) -> Iterator[str]:
    match node:
        case Cut():
            yield from _parts(node.near)
            yield from _parts(node.far)
        case Part():
            yield node.key
        case Pair():
            yield from (node.low, node.high)
        case Filled():
            yield node.key
            yield from _parts(node.left)
            yield from _parts(node.right)


def _mm(units: int) -> str:
    return f"{units / UNITS_PER_MM:.1f}".rstrip("0").rstrip(".") + " mm"
