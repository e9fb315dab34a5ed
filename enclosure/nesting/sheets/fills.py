"""Which other parts can be cut from the drops of a sloped part?

Rectangles are joined beside or below each other from the square corner of the drop,
every join being a cut from edge to edge, and each result is kept whose parts lie whole
within the drop. A leaf then yields the sloped part and any of these sets, so that the
search weighs a filled drop like any other use of the sheet.

Up to three parts a drop; where there would be too many sets, one part a drop, of the
largest ones. What is proved about a price holds for plans that use drops no further.
Exact in true sizes [units].
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product
from typing import Any

from enclosure.nesting.drops import Drop, drops_of
from enclosure.nesting.model import PartKind

Fill = tuple[Any, ...]
"""("part", kind, turned, width, height) or ("x" | "y", near, far): laid from the square corner."""
MOST_IN_DROP = 3
MOST_SETS = 16
"""Above so many sets of parts in one drop it is filled with single parts only, at most so many."""


@dataclass(frozen=True, slots=True)
class _Laid:
    """Parts laid from the square corner of a drop: their tree, its size, and their far corners."""

    fill: Fill
    width: int
    height: int
    corners: tuple[tuple[int, int], ...]
    parts: tuple[int, ...]


def fillings(
    heads: list[PartKind], demand: tuple[int, ...], kerf: int
) -> Iterator[tuple[int, tuple[int, ...], tuple[Fill | None, Fill | None]]]:
    """Yield each sloped part with every set of parts that its drops can yield beside it: all parts, and the fills."""
    plain = [index for index, head in enumerate(heads) if head.slope is None and head.gable is None]
    for index, head in enumerate(heads):
        sides = [{} if drop is None else _sets(drop, heads, plain, demand) for drop in drops_of(head, kerf)]
        empty: dict[tuple[int, ...], Fill | None] = {(): None}
        seen: set[tuple[int, ...]] = set()
        for left, first in {**empty, **sides[0]}.items():
            for right, second in {**empty, **sides[1]}.items():
                count, both = Counter(left + right), tuple(sorted(left + right))
                if both and both not in seen and all(times <= demand[part] for part, times in count.items()):
                    seen.add(both)
                    yield index, (index, *left, *right), (first, second)


def can_fill(heads: Sequence[PartKind], kerf: int) -> set[int]:
    """Return the places of the kinds that could be cut from a drop of another."""
    drops = [drop for head in heads for drop in drops_of(head, kerf) if drop is not None]
    return {
        index
        for index, head in enumerate(heads)
        if head.slope is None and head.gable is None and any(_singles(drop, index, head) for drop in drops)
    }


def _sets(
    drop: Drop, heads: list[PartKind], plain: list[int], demand: tuple[int, ...]
) -> dict[tuple[int, ...], Fill]:
    """Return every set of parts that the drop yields, each with one way to cut it."""
    levels = [[one for index in plain for one in _singles(drop, index, heads[index])]]
    levels[0].sort(key=lambda laid: -laid.width * laid.height)
    for size in range(2, MOST_IN_DROP + 1):
        if len({laid.parts for level in levels for laid in level}) > MOST_SETS:
            return {laid.parts: laid.fill for laid in levels[0][:MOST_SETS]}
        found: dict[tuple[Any, ...], _Laid] = {}
        for first in range(1, size):
            for one, two in product(levels[first - 1], levels[size - first - 1]):
                for laid in _joined(drop, one, two):
                    if all(times <= demand[part] for part, times in Counter(laid.parts).items()):
                        found[laid.parts, laid.corners] = laid
        levels.append(list(found.values()))
    return {laid.parts: laid.fill for level in reversed(levels) for laid in level}


def _singles(drop: Drop, index: int, head: PartKind) -> list[_Laid]:
    """Return a part alone in the drop, each way that it lies there."""
    sizes = [(False, head.width, head.height)]
    if head.turnable and head.width != head.height:
        sizes.append((True, head.height, head.width))
    return [
        _Laid(("part", index, turned, width, height), width, height, ((width, height),), (index,))
        for turned, width, height in sizes
        if drop.holds(width, height)
    ]


def _joined(drop: Drop, one: _Laid, two: _Laid) -> Iterator[_Laid]:
    """Yield the joins of two, the second beyond the first along x or down, that lie in the drop."""
    parts = tuple(sorted(one.parts + two.parts))
    for axis in "xy":
        across, down = (one.width + drop.kerf, 0) if axis == "x" else (0, one.height + drop.kerf)
        moved = tuple((x + across, y + down) for x, y in two.corners)
        if all(drop.holds(x, y) for x, y in moved):
            width, height = max(one.width, across + two.width), max(one.height, down + two.height)
            yield _Laid((axis, one.fill, two.fill), width, height, one.corners + moved, parts)


def fill_size(fill: Fill, kerf: int) -> tuple[int, int]:
    """Return width and height of what is laid from the square corner [units]."""
    if fill[0] == "part":
        return fill[3], fill[4]
    one, two = fill_size(fill[1], kerf), fill_size(fill[2], kerf)
    if fill[0] == "x":
        return one[0] + kerf + two[0], max(one[1], two[1])
    return max(one[0], two[0]), one[1] + kerf + two[1]
