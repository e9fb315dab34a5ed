"""What do cutting jobs already solved tell about one that is not?

A job is *undercut* by another when each of its parts can be paired with a part of
the other that is at least as large, no part twice: every plan for the larger job
is then, trimmed, a plan for the smaller one. So the larger job's price can be
reached by the smaller, and the smaller job's bound holds for the larger. In a row
of sizes the price is then known wherever it is the same at both ends.

Sloped parts share a rectangle only with parallel ones; they are paired only with
sloped parts of at least their width and both heights, so that parts that were
parallel stay parallel and the sloped kerf does not grow.

Units: as in `nesting.model`.
"""

from __future__ import annotations

from bisect import bisect_left, insort
from dataclasses import dataclass, field
from typing import Any

from enclosure.nesting.drops import sloped_kerf
from enclosure.nesting.model import PartKind, SheetJob, StickJob
from enclosure.nesting.sheets.fills import can_fill

MOST_PARTS = 400
"""Jobs with more parts are not compared: pairing them would take longer than it saves."""
Job = SheetJob | StickJob


def undercuts_sticks(small: StickJob, large: StickJob) -> bool:
    """Return whether every part of `small` has a part of its own in `large` that is no shorter."""
    left, right = _lengths(small), _lengths(large)
    return len(left) <= len(right) and all(a <= b for a, b in zip(left, right, strict=False))


def _lengths(job: StickJob) -> list[int]:
    return sorted((part.length for part in job.parts for _ in range(part.quantity)), reverse=True)


def undercuts_sheets(small: SheetJob, large: SheetJob) -> bool:
    """Return whether every part of `small` has a part of its own in `large` in which it can be cut.

    False is also returned where that is not seen; True is always right.
    """
    # A trimmed part may take one more stage; what fell from a drop may not fit that of a smaller part.
    if small.stages is not None or can_fill(large.kinds, large.kerf):
        return small == large
    groups = _grouped(large)
    for kind, rows in _grouped(small).items():
        if not _paired(rows, groups.get(kind, [])):
            return False
    return _slopes_follow(small, large)


def _grouped(job: SheetJob) -> dict[str, list[tuple[int, int]]]:
    """Return the sizes of the parts that may be compared with each other, one row a part."""
    groups: dict[str, list[tuple[int, int]]] = {}
    for kind in job.kinds:
        if kind.slope is not None:
            continue
        size = (min(kind.width, kind.height), max(kind.width, kind.height))
        row = size if kind.turnable else (kind.width, kind.height)
        groups.setdefault("turned" if kind.turnable else "", []).extend([row] * kind.quantity)
    return groups


def _paired(small: list[tuple[int, int]], large: list[tuple[int, int]]) -> bool:
    """Return whether each size fits a larger one of its own: the widest first, each in the lowest that does."""
    if len(small) > len(large):
        return False
    waiting = sorted(large)
    heights: list[int] = []
    for width, height in sorted(small, reverse=True):
        while waiting and waiting[-1][0] >= width:
            insort(heights, waiting.pop()[1])
        at = bisect_left(heights, height)
        if at == len(heights):
            return False
        heights.pop(at)
    return True


def _slopes_follow(small: SheetJob, large: SheetJob) -> bool:
    """Return whether the sloped parts of `small`, in order of size, lie in those of `large`, parallels kept."""
    left, right = _sloped(small), _sloped(large)
    if len(left) > len(right):
        return False
    turned: dict[tuple[int, int], tuple[int, int]] = {}
    for part, other in zip(left, right, strict=False):
        a, b = part.slope or (0, 0), other.slope or (0, 0)
        rise, far = a[1] - a[0], b[1] - b[0]
        if part.width > other.width or a[0] > b[0] or a[1] > b[1] or (rise > 0) != (far > 0):
            return False
        if turned.setdefault((other.width, far), (part.width, rise)) != (part.width, rise):
            return False
        if sloped_kerf(small.kerf, part.width, rise) > sloped_kerf(large.kerf, other.width, far):
            return False
    return True


def _sloped(job: SheetJob) -> list[PartKind]:
    found = [k for k in job.kinds for _ in range(k.quantity) if k.slope is not None]
    return sorted(found, key=lambda k: ((k.slope or (0, 0))[1] > (k.slope or (0, 0))[0], -k.width, -k.height, k.slope))


def undercuts(small: Job, large: Job) -> bool:
    """Return whether a plan for `large` is, trimmed, one for `small`; both of the same stock and kerf."""
    if isinstance(small, SheetJob):
        return isinstance(large, SheetJob) and undercuts_sheets(small, large)
    return isinstance(large, StickJob) and undercuts_sticks(small, large)


def family(job: Job) -> tuple[Any, ...]:
    """Return what two jobs must share to be compared."""
    if isinstance(job, SheetJob):
        return ("sheets", job.sheets, job.kerf, job.stages)
    return ("sticks", job.sticks, job.kerf)


def measure(job: Job) -> tuple[int, int]:
    """Return the number of parts and their area or length: a larger job has no less of either."""
    if isinstance(job, SheetJob):
        return sum(k.quantity for k in job.kinds), sum(k.quantity * _area(k) for k in job.kinds)
    return sum(p.quantity for p in job.parts), sum(p.quantity * p.length for p in job.parts)


def _area(kind: PartKind) -> int:
    return kind.width * (kind.height * 2 if kind.slope is None else sum(kind.slope))


@dataclass
class Ladder:
    """Jobs solved so far with their least and most price, by family."""

    _rows: dict[tuple[Any, ...], list[tuple[tuple[int, int], Job, int, int]]] = field(default_factory=dict)

    def add(self, job: Job, least: int, most: int) -> None:
        """Remember that the price of a job lies between `least` and `most` cents."""
        size = measure(job)
        if size[0] <= MOST_PARTS:
            self._rows.setdefault(family(job), []).append((size, job, least, most))

    def span(self, job: Job, least: int, most: int, seen: int = 0) -> tuple[int, int, int]:
        """Return how many solved jobs were looked at, and between which prices a job must lie [cents].

        Args:
            job: A job that is not solved itself.
            least: A bound already known.
            most: A price already known to be reached.
            seen: How many solved jobs of the family these two take into account already.
        """
        size, rows = measure(job), self._rows.get(family(job), [])
        for other, solved, low, high in rows[seen:]:
            if low > least and other[0] <= size[0] and other[1] <= size[1] and undercuts(solved, job):
                least = low
            if high < most and other[0] >= size[0] and other[1] >= size[1] and undercuts(job, solved):
                most = high
        return len(rows), min(least, most), most
