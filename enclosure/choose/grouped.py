"""Below which price does no plan for very many kinds of parts lie?

The cutting engines bound up to some hundred kinds of parts. A job of more kinds
is made smaller first: parts of nearly one size become one kind of the least of
their sizes, so that no plan for the job is lost and any bound for the smaller
job holds for it. The groups are joined one by one, those first that lose least.

Units: as in `nesting.model`.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from enclosure.choose.bounds import relaxed, sheet_bound, stick_bound, without_fillers
from enclosure.nesting.model import PartKind, SheetJob, StickJob, StickPart
from enclosure.nesting.sticks import solve_sticks

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Rows = NDArray[np.int64]

SHEET_GROUPS, STICK_GROUPS = 350, 250
SHEET_WORK, STICK_WORK = 12_000, 2_000_000


def joint_bound(job: SheetJob | StickJob) -> int:
    """Return a price [cents] below which no plan for the job lies."""
    if isinstance(job, SheetJob):
        return max(sheet_bound(job), _linear(grouped_sheets(job, SHEET_GROUPS)))
    short = grouped_sticks(job, STICK_GROUPS)
    return max(stick_bound(job), solve_sticks(short, work_limit=STICK_WORK, goods=False).bound)


def _linear(job: SheetJob) -> int:
    """Return the engine's bound from its linear relaxation alone; no plan is sought."""
    if not job.kinds:
        return 0
    from enclosure.nesting.sheets.budget import Budget
    from enclosure.nesting.sheets.many import ManyKinds
    from enclosure.nesting.sheets.problem import prepare
    from enclosure.nesting.sheets.shelves import shelf_plan
    from enclosure.nesting.sheets.state import State

    state = State(prepare(job), Budget(float(SHEET_WORK)))
    first = shelf_plan(state.problem)
    if first is not None:
        state.offer(first)
    ManyKinds(state).bound(1.0)
    return state.bound


def grouped_sheets(job: SheetJob, most: int) -> SheetJob:
    """Return the job with at most so many kinds, each no larger than the parts it stands for.

    Sloped and gabled parts are joined with those of the same width and the same drops, so that two may still
    share a rectangle; where these are of too many sorts, all become rectangles (`relaxed`). What may lie in a
    drop is left out: joined parts may fill drops in more ways than the engine lists.
    """
    job = without_fillers(job)
    if 2 * len({_sort(kind) for kind in job.kinds}) > most:
        flat = relaxed(job)
        job = replace(flat, kinds=tuple(replace(kind, gable=None) for kind in flat.kinds))
    sorts: dict[Sort, list[PartKind]] = {}
    for kind in job.kinds:
        sorts.setdefault(_sort(kind), []).append(kind)
    kinds: list[PartKind] = []
    for (turnable, _, shape), own in sorts.items():
        share = max(1, most * len(own) // len(job.kinds))
        sizes = [sorted((k.width, k.height)) if turnable and not shape else [k.width, k.height] for k in own]
        for wide, high, count in _merged(sizes, [k.quantity for k in own], share):
            kinds.append(_lowered(own[0], replace(own[0], key=f"k{len(kinds)}", width=wide, height=high), count))
    return replace(job, kinds=tuple(kinds))


Sort = tuple[bool, int, tuple[int, ...]]
"""What joined parts have in common: being turnable and, where corners are missing, width and how far they drop."""


def _sort(kind: PartKind) -> Sort:
    if kind.gable is not None:
        left, peak, right = kind.gable
        return kind.turnable, kind.width, (kind.height - left, peak, kind.height - right)
    if kind.slope is None or kind.slope[0] == kind.slope[1]:
        return kind.turnable, 0, ()
    return kind.turnable, kind.width, (kind.slope[1] - kind.slope[0],)


def _lowered(like: PartKind, kind: PartKind, count: int) -> PartKind:
    """Return the kind, which has the width and height wanted, with the drops of another."""
    less = like.height - kind.height
    slope, gable = None, None
    if like.gable is not None:
        gable = (like.gable[0] - less, like.gable[1], like.gable[2] - less)
    elif like.slope is not None and like.slope[0] != like.slope[1]:
        slope = (like.slope[0] - less, like.slope[1] - less)
    return replace(kind, quantity=count, slope=slope, gable=gable)


def grouped_sticks(job: StickJob, most: int) -> StickJob:
    """Return the job with at most so many kinds, each no longer than the parts it stands for."""
    rows = _merged([[p.length, 1] for p in job.parts], [p.quantity for p in job.parts], most)
    return replace(job, parts=tuple(StickPart(f"k{i}", length, count) for i, (length, _, count) in enumerate(rows)))


def _merged(sizes: list[list[int]], counts: list[int], most: int) -> list[tuple[int, int, int]]:
    """Return groups (width, height, count): the two whose joining loses the least area are joined until few enough."""
    import numpy as np

    size, count = np.array(sizes, dtype=np.int64), np.array(counts, dtype=np.int64)
    loss = _losses(size, count, np.arange(len(size)))
    np.fill_diagonal(loss, np.inf)
    alive = np.ones(len(size), dtype=bool)
    while alive.sum() > most:
        one, other = divmod(int(np.argmin(loss)), len(size))
        size[one] = np.minimum(size[one], size[other])
        count[one] += count[other]
        alive[other] = False
        loss[other, :] = loss[:, other] = np.inf
        row = _losses(size, count, np.array([one]))[0]
        row[~alive] = np.inf
        row[one] = np.inf
        loss[one, :] = loss[:, one] = row
    return [(int(size[i, 0]), int(size[i, 1]), int(count[i])) for i in np.flatnonzero(alive)]


def _losses(size: Rows, count: Rows, rows: Rows) -> NDArray[np.float64]:
    """Return the area lost by joining each of `rows` with every group."""
    import numpy as np

    area = (size[:, 0].astype(float) * size[:, 1]) * count
    low = np.minimum(size[rows][:, None, :], size[None, :, :]).astype(float)
    together = low[:, :, 0] * low[:, :, 1] * (count[rows][:, None] + count[None, :])
    return np.asarray(area[rows][:, None] + area[None, :] - together, dtype=np.float64)
