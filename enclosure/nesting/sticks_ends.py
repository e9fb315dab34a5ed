"""How do the ends of sticks cut from old ones stay clear of old screw holes?

An end sawn through an old hole splits, looks shabby and leaves no wood for a
new screw. The cutting engine knows bad stretches that no part may touch, not
places where no part may end. So a plan is made first as if there were no holes;
then the parts of each old stick are shifted within its spare length, and put in
another order, until every end lies `HOLE_TO_END` from every hole. Old sticks
on which that fails get their holes as bad stretches, and the plan is made again:
that is always possible, for the sticks to be bought have no holes. The bound of
the first plan, which had fewer conditions, stays true.

Units: 1/10 000 mm, whole cents.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from itertools import islice, permutations

from enclosure.nesting.model import HOLE_TO_END, StickJob, StickKind, StickPattern, StickPiece, StickPlan

MOST_ORDERS = 720
"""Orders of the parts of one stick that are tried: all of six."""
Span = tuple[int, int]
Solve = Callable[[StickJob], StickPlan]


def clear_ends(job: StickJob, solve: Solve, margin: int = HOLE_TO_END) -> StickPlan:
    """Return a plan in which no part ends near an old hole.

    Args:
        job: Parts wanted, sticks to be had, with their holes.
        solve: Makes a plan for a job without holes.
        margin: Least distance of an end from a hole's middle [units].
    """
    holes = {kind.key: kind.holes for kind in job.sticks if kind.holes}
    job = replace(job, sticks=tuple(replace(kind, holes=()) for kind in job.sticks))
    plan = solve(job)
    bound, strict = plan.bound, set[str]()
    while True:
        patterns, failed = [], set[str]()
        kinds = {kind.key: kind for kind in job.sticks}
        for pattern in plan.patterns:
            near = () if pattern.stick in strict else holes.get(pattern.stick, ())
            shifted = arranged(job, kinds[pattern.stick], pattern, near, margin)
            patterns.append(shifted or pattern)
            if shifted is None:
                failed.add(pattern.stick)
        if not failed:
            return replace(
                plan, patterns=tuple(patterns), bound=min(bound, plan.price),
                status="proved" if bound >= plan.price else "gap",
            )  # fmt: skip
        strict |= failed
        job = replace(job, sticks=tuple(_barred(k, holes[k.key], margin) if k.key in failed else k for k in job.sticks))
        plan = solve(job)


def _barred(kind: StickKind, holes: tuple[int, ...], margin: int) -> StickKind:
    """Return a stick whose holes are bad stretches."""
    spans = [*kind.defects, *((max(0, h - margin), min(kind.length, h + margin)) for h in holes)]
    merged: list[Span] = []
    for low, high in sorted(spans):
        if merged and low <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(high, merged[-1][1]))
        else:
            merged.append((low, high))
    return replace(kind, defects=tuple(merged))


def arranged(
    job: StickJob, kind: StickKind, pattern: StickPattern, holes: tuple[int, ...], margin: int
) -> StickPattern | None:
    """Return a pattern with its parts shifted and reordered clear of holes; None when that cannot be done."""
    lengths = {part.key: part.length for part in job.parts}
    if not holes or _clear(pattern, lengths, kind, holes, margin):
        return pattern
    keys = [piece.key for piece in sorted(pattern.pieces, key=lambda piece: piece.start)]
    seen: set[tuple[str, ...]] = set()
    for order in islice(permutations(keys), MOST_ORDERS):
        if order in seen:
            continue
        seen.add(order)
        starts = _placed(order, lengths, kind, holes, margin, job.kerf)
        if starts is not None:
            pieces = tuple(StickPiece(key, start) for key, start in zip(order, starts, strict=True))
            return replace(pattern, pieces=pieces)
    return None


def _clear(
    pattern: StickPattern, lengths: Mapping[str, int], kind: StickKind, holes: tuple[int, ...], margin: int
) -> bool:
    return all(
        _end_clear(end, kind, holes, margin)
        for piece in pattern.pieces
        for end in (piece.start, piece.start + lengths[piece.key])
    )


def _end_clear(end: int, kind: StickKind, holes: tuple[int, ...], margin: int) -> bool:
    """Return whether a part may end here; the ends of the stick itself are no new ends."""
    return end in (0, kind.length) or all(abs(end - hole) >= margin for hole in holes)


def _placed(
    order: tuple[str, ...], lengths: Mapping[str, int], kind: StickKind, holes: tuple[int, ...], margin: int, kerf: int
) -> list[int] | None:
    """Return the lowest starts of parts in this order, None when they do not go on the stick."""
    at, starts = kind.squaring, []
    for key in order:
        start = _first_start(at, lengths[key], kind, holes, margin)
        if start is None:
            return None
        starts.append(start)
        at = start + lengths[key] + kerf
    return starts


def _first_start(at: int, length: int, kind: StickKind, holes: tuple[int, ...], margin: int) -> int | None:
    candidates = {at, kind.length - length}
    candidates |= {hole + margin for hole in holes} | {hole + margin - length for hole in holes}
    candidates |= {high for _, high in kind.defects}
    for start in sorted(c for c in candidates if at <= c <= kind.length - length):
        touches = any(low < start + length and start < high for low, high in kind.defects)
        if not touches and all(_end_clear(end, kind, holes, margin) for end in (start, start + length)):
            return start
    return None
