"""Can the parts of one sheet be laid otherwise, so that one large offcut stays whole, or with fewer cuts?

All ways to join the pieces of a sheet into rectangles are tried, sets of pieces at a time;
of each set only rectangles stay that are narrow, low or quickly cut. Then strips are cut
off the sheet, each as thin as its pieces allow, in every order, and what remains at the
end is the offcut. Pieces of equal size are one kind; where there are too many sets, rows
that are finished are taken as one piece.

Sizes are scaled units with one kerf added, as everywhere in the engine.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from typing import Any

from enclosure.nesting.sheets.laying import tidy
from enclosure.nesting.sheets.problem import Problem
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.trees import min_size

MOST_SETS = 96
"""Sets of pieces that are still tried: six pieces that differ, or more where some are alike."""
MOST_WAYS = 6
MOST_NODES = 4000

Size = tuple[int, int]
Sets = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class _Block:
    """Pieces joined: least size, cuts inside, and the tree over kinds (an index, or axis and two blocks)."""

    width: int
    height: int
    cuts: int
    made: Any


def relaid(tree: Tree, width: int, height: int, problem: Problem) -> tuple[list[Tree], list[Tree]]:
    """Return other trees of the same leaves for a sheet: quickly cut ones, and one in strips with a large offcut."""
    pieces = _pieces(tree, problem)
    if pieces is None:
        return [], []
    work = _Relaying(pieces, width, height, problem.kerf)
    return [work.named(made) for made in work.quick()], [work.in_strips(made, problem) for made in work.offcuts()]


def _pieces(tree: Tree, problem: Problem) -> dict[Size, list[Tree]] | None:
    """Return the pieces of a tree by size, few enough; None when that cannot be."""
    parts = [tree]
    best: list[Tree] | None = None
    while True:
        sizes = Counter(min_size(part, problem) for part in parts)
        sets = 1
        for count in sizes.values():
            sets *= count + 1
        if sets <= MOST_SETS:
            best = parts
        inner = [part for part in parts if part[0] != "leaf"]
        if sets > MOST_SETS or not inner:
            break
        # The largest row is opened first: small finished rows are what may stay together.
        largest = max(inner, key=lambda part: (_leaves(part), min_size(part, problem)))
        at = parts.index(largest)
        parts = [*parts[:at], *largest[1], *parts[at + 1 :]]
    if best is None or len(best) < 2:
        return None
    found: dict[Size, list[Tree]] = {}
    for part in best:
        found.setdefault(min_size(part, problem), []).append(part)
    return found


def _total(some: Sets) -> int:
    return sum(some)


def _leaves(tree: Tree) -> int:
    return 1 if tree[0] == "leaf" else sum(_leaves(child) for child in tree[1])


class _Relaying:
    """Tries the ways to lay some pieces.

    Args:
        pieces: Trees of the pieces, by their size.
        width: Of the sheet.
        height: Of the sheet.
        kerf: Of the saw.
    """

    def __init__(self, pieces: dict[Size, list[Tree]], width: int, height: int, kerf: int) -> None:
        self.pieces, self.size, self.kerf = pieces, (width, height), kerf
        self.kinds = list(pieces)
        self.all: Sets = tuple(len(pieces[kind]) for kind in self.kinds)
        self.blocks: dict[Sets, list[_Block]] = {}
        for some in sorted(product(*(range(n + 1) for n in self.all)), key=_total):
            total = _total(some)
            if total == 1:
                kind = some.index(1)
                self.blocks[some] = [_Block(*self.kinds[kind], 0, kind)]
            elif total:
                self.blocks[some] = self._joined(some)
        self.nodes = 0
        self.best: dict[tuple[Sets, int, int], tuple[int, Any]] = {}

    def _parts_of(self, some: Sets) -> Iterator[tuple[Sets, Sets]]:
        """Yield the ways to part a set in two, each once."""
        for one in product(*(range(n + 1) for n in some)):
            two = tuple(n - k for n, k in zip(some, one, strict=True))
            if one >= two and any(two):
                yield one, two

    def _joined(self, some: Sets) -> list[_Block]:
        found: list[_Block] = []
        for one, two in self._parts_of(some):
            for a, b in product(self.blocks.get(one, ()), self.blocks.get(two, ())):
                trims = (a.height != b.height) + 1 + a.cuts + b.cuts
                if a.width + b.width <= self.size[0] and max(a.height, b.height) <= self.size[1]:
                    found.append(_Block(a.width + b.width, max(a.height, b.height), trims, ("x", a, b)))
                trims = (a.width != b.width) + 1 + a.cuts + b.cuts
                if a.height + b.height <= self.size[1] and max(a.width, b.width) <= self.size[0]:
                    found.append(_Block(max(a.width, b.width), a.height + b.height, trims, ("y", a, b)))
        found.sort(key=lambda block: (block.cuts, block.width * block.height))
        kept: list[_Block] = []
        for block in found:
            if not any(k.width <= block.width and k.height <= block.height and k.cuts <= block.cuts for k in kept):
                kept.append(block)
        if len(kept) > MOST_WAYS:
            extremes = {min(kept, key=lambda b: b.width), min(kept, key=lambda b: b.height)}
            kept = [*extremes, *(block for block in kept if block not in extremes)][:MOST_WAYS]
        return kept

    def quick(self) -> list[Any]:
        """Return the ways to lay all pieces as one rectangle."""
        return [block.made for block in self.blocks.get(self.all, ())]

    def offcuts(self) -> list[Any]:
        """Return the way with the largest offcut."""
        area, made = self._left(self.all, *self.size)
        return [made] if area > 0 and made is not None else []

    def _left(self, some: Sets, width: int, height: int) -> tuple[int, Any]:
        """Return the largest area that a piece keeps when a set is cut from it strip by strip, and how."""
        if not sum(some):
            return max(width - self.kerf, 0) * max(height - self.kerf, 0), None
        key = some, width, height
        if key in self.best:
            return self.best[key]
        self.nodes += 1
        least = sum(n * w * h for n, (w, h) in zip(some, self.kinds, strict=True))
        found: tuple[int, Any] = (-1, None)
        if least > width * height or self.nodes > MOST_NODES:
            return found
        for near in product(*(range(n + 1) for n in some)):
            if not sum(near):
                continue
            rest = tuple(n - k for n, k in zip(some, near, strict=True))
            for axis in "xy":
                room, across = (width, height) if axis == "x" else (height, width)
                strip = self._thinnest(near, axis, across)
                if strip is None:
                    continue
                took = strip.width if axis == "x" else strip.height
                if took > room or (took == room and not sum(rest)):
                    continue
                inner = (room - took, across) if axis == "x" else (across, room - took)
                if (inner[0] - self.kerf) * (inner[1] - self.kerf) <= found[0]:
                    continue
                area, made = self._left(rest, *inner)
                if area > found[0]:
                    found = area, (axis, strip.made, made)
        if self.nodes <= MOST_NODES:
            self.best[key] = found
        return found

    def _thinnest(self, some: Sets, axis: str, across: int) -> _Block | None:
        """Return the block of a set that takes least along an axis and fits across it."""
        if axis == "x":
            fits = [block for block in self.blocks.get(some, ()) if block.height <= across]
            return min(fits, key=lambda block: (block.width, block.cuts), default=None)
        fits = [block for block in self.blocks.get(some, ()) if block.width <= across]
        return min(fits, key=lambda block: (block.height, block.cuts), default=None)

    def named(self, made: Any, waiting: dict[Size, list[Tree]] | None = None) -> Tree:
        """Return a way as a tree of leaves, taken from those that wait to be named."""
        waiting = {kind: list(trees) for kind, trees in self.pieces.items()} if waiting is None else waiting
        if isinstance(made, int):
            return waiting[self.kinds[made]].pop()
        axis, one, two = made
        return (axis, (self.named(one.made, waiting), self.named(two.made, waiting)))

    def in_strips(self, made: Any, problem: Problem) -> Tree:
        """Return strips as a tree; what follows a strip is cut from the whole of what that leaves."""
        waiting = {kind: list(trees) for kind, trees in self.pieces.items()}

        def strips(made: Any) -> Tree:
            axis, strip, rest = made
            first = tidy(self.named(strip, waiting), problem)
            row: list[Tree] = list(first[1]) if first[0] == axis else [first]
            last: tuple[Tree, ...] = ()
            if rest is not None:
                more = strips(rest)
                if more[0] != axis:
                    last = (more,)
                elif len(more) == 3:
                    row, last = [*row, *more[1][:-1]], more[1][-1:]
                else:
                    row.extend(more[1])
            # The fence moves one way along the strips.
            row.sort(key=lambda piece: [-size for size in min_size(piece, problem)][:: 1 if axis == "x" else -1])
            return (axis, (*row, *last), "open") if last else (axis, tuple(row))

        return strips(made)
