"""What is the pure integer problem behind a job of sticks?

Every part grows by one kerf, and so does every clear stretch of a stick; parts
fit a stretch exactly when their grown lengths add up to no more than the grown
stretch. All lengths are divided by what the grown parts have in common, so that
nothing is rounded. Parts of equal length become one kind.

A stick with bad stretches is a bundle of clear stretches. Where a bad stretch
is thinner than the kerf, the last part before it pushes the next stretch along;
such a stick has several versions, one for each place where that part can end.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import gcd

from enclosure.errors import CuttingError, ShortageError
from enclosure.nesting.model import UNITS_PER_MM, StickJob, StickKind

# More ways than this to pass thin bad stretches are not told apart; the bound
# then comes from a relaxed problem.
MOST_VERSIONS = 48


@dataclass(frozen=True, slots=True)
class Stretch:
    """A clear stretch: where it starts on the stick [units] and what it holds [steps]."""

    start: int
    capacity: int


Version = tuple[Stretch, ...]


@dataclass(frozen=True, slots=True)
class Bin:
    """Sticks that are alike in all that matters.

    Args:
        keys: Keys of the stick kinds with the copies of each (None: unlimited).
        price: [money steps]
        copies: Sum of the copies, None when unlimited.
        versions: Ways to divide the stick into stretches.
    """

    keys: tuple[tuple[str, int | None], ...]
    price: int
    copies: int | None
    versions: tuple[Version, ...]


@dataclass(frozen=True, slots=True)
class Problem:
    """The integer problem.

    Args:
        sizes: Grown length of each kind, longest first [steps].
        wanted: Copies wanted of each kind.
        members: For each kind, the keys of its parts with their quantities.
        bins: Sticks to be had. The last one is the emergency stick when `emergency`.
        step: Units in a step.
        money: Money units of the job in a money step.
        emergency: The last bin does not exist; a plan that uses it is no plan.
        exact: False when some versions of sticks are left out.
    """

    sizes: tuple[int, ...]
    wanted: tuple[int, ...]
    members: tuple[tuple[tuple[str, int], ...], ...]
    bins: tuple[Bin, ...]
    step: int
    money: int
    emergency: bool
    exact: bool

    @property
    def longest(self) -> int:
        """Return the largest capacity of any stretch [steps]."""
        return max(stretch.capacity for item in self.bins for version in item.versions for stretch in version)


def reduce_job(job: StickJob, *, relaxed: bool = False) -> Problem:
    """Return the integer problem of a job.

    Args:
        job: The job as asked.
        relaxed: Let stretches on both sides of a thin bad stretch be used in
            full; its bound is valid for the job, its plans are not.

    Raises:
        CuttingError: A number makes no sense, a part is longer than every
            stick, or the stock is shorter than the parts.
    """
    _check_numbers(job)
    step = 0
    for part in job.parts:
        step = gcd(step, part.length + job.kerf)
    by_size: dict[int, list[tuple[str, int]]] = {}
    for part in job.parts:
        by_size.setdefault((part.length + job.kerf) // step, []).append((part.key, part.quantity))
    sizes = tuple(sorted(by_size, reverse=True))
    wanted = tuple(sum(quantity for _, quantity in by_size[size]) for size in sizes)
    exact = True
    found: list[Bin] = []
    for stick in job.sticks:
        versions, whole = _versions(job, stick, step, sizes, wanted, relaxed=relaxed)
        exact &= whole
        if versions and stick.copies != 0:
            found.append(Bin(((stick.key, stick.copies),), stick.price, stick.copies, versions))
    _check_lengths(job, found, step, sizes, wanted)
    bins = _without_dominated(_merged(found))
    money = 0
    for item in bins:
        money = gcd(money, item.price)
    money = money or 1
    bins = [Bin(item.keys, item.price // money, item.copies, item.versions) for item in bins]
    emergency = not any(
        item.copies is None and any(stretch.capacity >= sizes[0] for stretch in item.versions[0]) for item in bins
    )
    if emergency:
        dear = max(item.price for item in bins) * sum(wanted) + 1
        bins.append(Bin((("", None),), dear, None, ((Stretch(0, sizes[0]),),)))
    members = tuple(tuple(by_size[size]) for size in sizes)
    return Problem(sizes, wanted, members, tuple(bins), step, money, emergency, exact)


# --- stretches --------------------------------------------------------------------


def clear_stretches(stick: StickKind) -> list[tuple[int, int]]:
    """Return the stretches (from, to) [units] between squaring cut, bad stretches and end."""
    stretches, start = [], max(stick.squaring, 0)
    for bad_from, bad_to in sorted(stick.defects):
        if bad_to <= bad_from or bad_to <= start:
            continue
        if bad_from > start:
            stretches.append((start, min(bad_from, stick.length)))
        start = bad_to
    if start < stick.length:
        stretches.append((start, stick.length))
    return [(low, high) for low, high in stretches if low < high]


def _versions(
    job: StickJob,
    stick: StickKind,
    step: int,
    sizes: tuple[int, ...],
    wanted: tuple[int, ...],
    *,
    relaxed: bool,
) -> tuple[tuple[Version, ...], bool]:
    """Return the versions of a stick in which some part fits, and whether these are all."""
    clear = clear_stretches(stick)
    whole = True
    partial: list[tuple[int, tuple[tuple[int, int], ...]]] = [(0, ())]
    for index, (low, high) in enumerate(clear):
        following: list[tuple[int, tuple[tuple[int, int], ...]]] = []
        for earliest, done in partial:
            start = max(low, earliest)
            ends = [high]
            if not relaxed and index + 1 < len(clear) and clear[index + 1][0] - high < job.kerf:
                limit = clear[index + 1][0] - job.kerf
                ends = [limit, *_ends_between(start, limit, high, job.kerf, step, sizes, wanted)]
            for end in ends:
                if end > start:
                    following.append((end + job.kerf if not relaxed else 0, (*done, (start, end))))
                else:
                    following.append((earliest, done))
        partial = list(dict.fromkeys(following))
        if len(partial) > MOST_VERSIONS:
            partial, whole = partial[:MOST_VERSIONS], False
    versions: dict[Version, None] = {}
    for _, done in partial:
        version = tuple(
            Stretch(low, (high - low + job.kerf) // step)
            for low, high in done
            if (high - low + job.kerf) // step >= sizes[-1]
        )
        if version:
            versions[version] = None
    return tuple(versions), whole


def _ends_between(
    start: int, limit: int, high: int, kerf: int, step: int, sizes: tuple[int, ...], wanted: tuple[int, ...]
) -> list[int]:
    """Return the places in (limit, high] where a row of parts from `start` can end."""
    reach = (high - start + kerf) // step
    sums = 1
    mask = (1 << (reach + 1)) - 1
    for size, quantity in zip(sizes, wanted, strict=True):
        left, block = min(quantity, reach // size), 1
        while left > 0:
            block = min(block, left)
            sums |= (sums << (size * block)) & mask
            left -= block
            block *= 2
    lowest = max(0, (limit - start + kerf) // step)
    ends = [start + total * step - kerf for total in range(lowest, reach + 1) if sums >> total & 1]
    return [end for end in ends if limit < end <= high and end > start]


# --- fewer sticks to look at ------------------------------------------------------


def _merged(bins: list[Bin]) -> list[Bin]:
    """Put sticks of one price and one set of versions together."""
    merged: dict[tuple[int, tuple[tuple[int, ...], ...], object], Bin] = {}
    for item in bins:
        shape = tuple(tuple(stretch.capacity for stretch in version) for version in item.versions)
        # The places of the stretches differ when the keys do, so a bundle stays alone.
        alone = None if shape_is_plain(item) else item.keys
        start = item.versions[0][0].start if shape_is_plain(item) else 0
        known = merged.get((item.price, shape, (alone, start)))
        if known is None:
            merged[(item.price, shape, (alone, start))] = item
        else:
            unlimited = known.copies is None or item.copies is None
            copies = None if unlimited else (known.copies or 0) + (item.copies or 0)
            merged[(item.price, shape, (alone, start))] = Bin(
                (*known.keys, *item.keys), item.price, copies, known.versions
            )
    return list(merged.values())


def shape_is_plain(item: Bin) -> bool:
    """Return True when a stick is one clear stretch."""
    return len(item.versions) == 1 and len(item.versions[0]) == 1


def _without_dominated(bins: list[Bin]) -> list[Bin]:
    """Leave out plain sticks that another, unlimited, replaces at no greater price."""
    kept = []
    for place, item in enumerate(bins):
        beaten = False
        for other_place, other in enumerate(bins):
            if other is item or other.copies is not None or not shape_is_plain(other):
                continue
            if not shape_is_plain(item) or other.price > item.price:
                continue
            room, other_room = item.versions[0][0].capacity, other.versions[0][0].capacity
            equal = room == other_room and other.price == item.price and item.copies is None
            beaten |= other_room >= room and (not equal or other_place < place)
        if not beaten:
            kept.append(item)
    return kept


# --- what cannot be ---------------------------------------------------------------


def _check_numbers(job: StickJob) -> None:
    if not job.parts:
        raise CuttingError("the job has no parts to cut", "ask for at least one part")
    if not job.sticks:
        raise CuttingError("there are no sticks in stock", "list at least one stock length in your stock file")
    if job.kerf < 0:
        raise CuttingError(f"the kerf is {mm(job.kerf)}", "give the width of your saw cut, 0 or more")
    for part in job.parts:
        if part.length <= 0 or part.quantity < 0:
            raise CuttingError(
                f"part {part.key} is {mm(part.length)} long and wanted {part.quantity} times",
                "lengths must be above 0, quantities at least 1",
            )
    for stick in job.sticks:
        if stick.length <= 0 or stick.price < 0 or (stick.copies is not None and stick.copies < 0):
            raise CuttingError(
                f"stick {stick.key} is {mm(stick.length)} long, costs {stick.price}, copies {stick.copies}",
                "correct the stock file: lengths above 0, prices and copies at least 0",
            )


def _check_lengths(job: StickJob, bins: list[Bin], step: int, sizes: tuple[int, ...], wanted: tuple[int, ...]) -> None:
    rooms = [stretch.capacity for item in bins for version in item.versions for stretch in version]
    longest = max(rooms, default=0)
    if sizes[0] > longest:
        part = max(job.parts, key=lambda one: one.length)
        clear = max((high - low for stick in job.sticks for low, high in clear_stretches(stick)), default=0)
        raise CuttingError(
            f"part {part.key} is {mm(part.length)} long; the longest clear stick in stock is {mm(clear)}, "
            f"short by {mm(part.length - clear)}",
            "list a longer stock length, or let the part be made of two pieces",
        )
    clear_of = {stick.key: sum(high - low + job.kerf for low, high in clear_stretches(stick)) for stick in job.sticks}
    if all(item.copies is not None for item in bins):
        have = sum((copies or 0) * clear_of[key] for item in bins for key, copies in item.keys)
        need = step * sum(size * quantity for size, quantity in zip(sizes, wanted, strict=True))
        if need > have and sum(wanted) > MOST_TO_NAME:
            raise ShortageError(
                f"the stock is too small: the parts with their saw cuts need {mm(need)}, the sticks "
                f"have {mm(have)}, short by {mm(need - have)}",
                "add sticks to the rack or let one stock length be bought without limit",
            )


# Up to so many parts a stock that is too small is filled as well as can be, to name those that find no room.
MOST_TO_NAME = 500


def shortage(job: StickJob, problem: Problem, missing: Iterable[int]) -> CuttingError:
    """Return the error for a finite stock that cannot hold all parts; `missing` counts kinds."""
    rows, total = [], 0
    for kind, count in enumerate(missing):
        if count:
            length = problem.sizes[kind] * problem.step - job.kerf
            rows.append(f"{count} of {problem.members[kind][0][0]} ({mm(length)})")
            total += count * length
    what = ", ".join(rows[:4]) + (" and others" if len(rows) > 4 else "")
    return ShortageError(
        f"the stock is too small: there is no room for {what}, short by {mm(total)} of parts",
        "add sticks to the rack or let one stock length be bought without limit",
    )


def mm(units: int) -> str:
    """Return a length as text in mm."""
    return f"{units / UNITS_PER_MM:.10g} mm"
