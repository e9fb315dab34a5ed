"""What is the true least price of a tiny cutting job? Found by trying everything.

Slow on purpose and written without a look at any engine: no grids, no lifting,
no bounds, no columns. For sheets, every integer position of every cut of every
piece is tried; for sticks, every start of every part. What one sheet can yield
is a set of count vectors, one count a part kind; the least price is then found
by trying every sequence of sheets. Sizes must be small integers (sheets up to
about 12 x 12, sticks up to about 40).

A part that is not wanted may always be left out, so only largest vectors are kept.
"""

from __future__ import annotations

from functools import cache

from enclosure.nesting.model import SheetJob, StickJob

Vector = tuple[int, ...]
Yields = frozenset[Vector]


def least_sheet_price(job: SheetJob) -> int | None:
    """Return the least price of any guillotine plan of the job, None when there is no plan."""
    yields = [
        (
            sheet.price,
            sheet.copies,
            sheet_yields(job, sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim),
        )
        for sheet in job.sheets
    ]
    return _least_price(yields, tuple(kind.quantity for kind in job.kinds))


def least_stick_price(job: StickJob) -> int | None:
    """Return the least price of any plan of the job, None when there is no plan."""
    yields = [(stick.price, stick.copies, stick_yields(job, index)) for index, stick in enumerate(job.sticks)]
    return _least_price(yields, tuple(part.quantity for part in job.parts))


def sheet_yields(job: SheetJob, width: int, height: int) -> Yields:
    """Return all largest count vectors that guillotine cuts get out of one piece."""
    wanted = tuple(kind.quantity for kind in job.kinds)
    nothing = tuple(0 for _ in wanted)
    leaves = _leaves(job, wanted)
    filled = _filled(job, wanted) if job.stages is None else {}

    @cache
    def from_piece(across: int, up: int, stages_left: int, last: str) -> Yields:
        found = {nothing} | leaves.get((across, up), set()) | filled.get((across, up), set())
        for axis, extent in (("x", across), ("y", up)):
            left = stages_left - (axis != last)
            if left < 0:
                continue
            for at in range(1, extent):
                beyond = extent - at - job.kerf
                near = from_piece(at, up, left, axis) if axis == "x" else from_piece(across, at, left, axis)
                if beyond <= 0:
                    found |= near
                    continue
                far = (
                    from_piece(beyond, up, left, axis)
                    if axis == "x"
                    else from_piece(across, beyond, left, axis)
                )
                found |= {_sum(one, two, wanted) for one in near for two in far}
        return _largest(found)

    if width <= 0 or height <= 0:
        return frozenset({nothing})
    return from_piece(width, height, 1_000 if job.stages is None else job.stages, "")


def _leaves(job: SheetJob, wanted: Vector) -> dict[tuple[int, int], set[Vector]]:
    leaves: dict[tuple[int, int], set[Vector]] = {}

    def add(width: int, height: int, *indices: int) -> None:
        vector = tuple(indices.count(index) for index in range(len(wanted)))
        if all(count <= most for count, most in zip(vector, wanted, strict=True)):
            leaves.setdefault((width, height), set()).add(vector)

    for index, kind in enumerate(job.kinds):
        add(kind.width, kind.height, index)
        if kind.turnable:
            add(kind.height, kind.width, index)
    for one, low in enumerate(job.kinds):
        for two, high in enumerate(job.kinds):
            if low.slope is None or high.slope is None or low.width != high.width:
                continue
            rise = low.slope[1] - low.slope[0]
            if rise == high.slope[1] - high.slope[0]:
                gap = 0
                while gap**2 * low.width**2 < job.kerf**2 * (low.width**2 + rise**2):
                    gap += 1
                add(low.width, low.slope[0] + high.slope[1] + gap, one, two)
    return leaves


def _filled(job: SheetJob, wanted: Vector) -> dict[tuple[int, int], set[Vector]]:
    """Return what a sloped part yields with its drops: the part and all that can be cut from both triangles."""
    found: dict[tuple[int, int], set[Vector]] = {}
    for index, kind in enumerate(job.kinds):
        one = tuple(int(other == index) for other in range(len(wanted)))
        drops = []
        if kind.gable is not None:
            left, peak, right = kind.gable
            drops = [(peak, kind.height - left), (kind.width - peak, kind.height - right)]
        elif kind.slope is not None and kind.slope[0] != kind.slope[1]:
            drops = [(kind.width, abs(kind.slope[0] - kind.slope[1]))]
        vectors = {one}
        for across, down in drops:
            vectors = {_sum(v, more, wanted) for v in vectors for more in _drop_yields(job, wanted, across, down)}
        found.setdefault((kind.width, kind.height), set()).update(vectors)
    return found


def _drop_yields(job: SheetJob, wanted: Vector, wide: int, down: int) -> Yields:
    """Return all largest count vectors that cuts get out of a right-angled triangle, a kerf off its long side."""
    nothing = tuple(0 for _ in wanted)

    def clear(x: int, y: int) -> bool:
        inward = wide * down - x * down - y * wide
        return inward >= 0 and inward**2 >= job.kerf**2 * (wide**2 + down**2)

    @cache
    def from_piece(x: int, y: int, across: int, up: int) -> Yields:
        found = {nothing}
        for index, kind in enumerate(job.kinds):
            if kind.slope is None and kind.gable is None and clear(x + across, y + up):
                sizes = {(kind.width, kind.height)} | ({(kind.height, kind.width)} if kind.turnable else set())
                if (across, up) in sizes:
                    found.add(tuple(int(other == index) for other in range(len(wanted))))
        for at in range(1, across):
            beyond = at + job.kerf
            far = from_piece(x + beyond, y, across - beyond, up) if beyond < across else {nothing}
            found |= {_sum(one, two, wanted) for one in from_piece(x, y, at, up) for two in far}
        for at in range(1, up):
            beyond = at + job.kerf
            far = from_piece(x, y + beyond, across, up - beyond) if beyond < up else {nothing}
            found |= {_sum(one, two, wanted) for one in from_piece(x, y, across, at) for two in far}
        return _largest(found)

    return from_piece(0, 0, wide, down)


def stick_yields(job: StickJob, index: int) -> Yields:
    """Return all largest count vectors that one stick yields."""
    stick = job.sticks[index]
    wanted = tuple(part.quantity for part in job.parts)
    nothing = tuple(0 for _ in wanted)

    @cache
    def from_position(position: int) -> Yields:
        if position >= stick.length:
            return frozenset({nothing})
        found = set(from_position(position + 1))
        for kind, part in enumerate(job.parts):
            end = position + part.length
            sound = all(end <= bad_from or position >= bad_to for bad_from, bad_to in stick.defects)
            if end <= stick.length and sound:
                one = tuple(int(other == kind) for other in range(len(wanted)))
                found |= {_sum(one, rest, wanted) for rest in from_position(end + job.kerf)}
        return _largest(found)

    return from_position(stick.squaring)


def _least_price(yields: list[tuple[int, int | None, Yields]], wanted: Vector) -> int | None:
    pieces = sum(wanted)

    @cache
    def cheapest(missing: Vector, kind: int, used: int) -> int | None:
        if not any(missing):
            return 0
        if kind == len(yields):
            return None
        price, copies, vectors = yields[kind]
        prices = [cheapest(missing, kind + 1, 0)]
        # A sheet that yields nothing still missing never helps, so `pieces` sheets are enough.
        if used < (pieces if copies is None else copies):
            for vector in vectors:
                rest = tuple(max(0, need - got) for need, got in zip(missing, vector, strict=True))
                if rest != missing:
                    tail = cheapest(rest, kind, used + 1)
                    prices.append(None if tail is None else price + tail)
        return min((found for found in prices if found is not None), default=None)

    return cheapest(wanted, 0, 0)


def _sum(one: Vector, two: Vector, most: Vector) -> Vector:
    return tuple(min(a + b, top) for a, b, top in zip(one, two, most, strict=True))


def _largest(vectors: set[Vector]) -> Yields:
    return frozenset(
        one
        for one in vectors
        if not any(two != one and all(a <= b for a, b in zip(one, two, strict=True)) for two in vectors)
    )
