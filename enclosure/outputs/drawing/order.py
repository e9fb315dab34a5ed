"""In which order must convex bodies be painted so that near ones cover far ones?

Exact for bodies that may touch but do not overlap. For two such bodies there is
a plane between them, and it can be found among the faces of both and the planes
spanned by one edge of each (the separating axis theorem). Seen along a parallel
view, a body on the far side of such a plane cannot hide one on its near side.
With the line of sight added to the edges of each body the search is complete:
whenever one body really cannot hide the other, one of the tried planes proves it.

A pair gets an edge "paint A before B" only when B may hide A. When both
directions are disproved (side by side, or apart on the page) there is no edge:
taking only the first separating plane would invent rings where there are none.

Rings are real but rare (three sticks leaning on each other). A ring is first
re-examined with every plane; a ring that stays is opened by cutting one of its
bodies in two along a face of another, the cut showing no edge, and sorting again.
After `max_cuts` cuts the farthest body of the ring is painted first and the
result says so (`forced`). Bodies that overlap by more than 0.05 mm have no
order; they are painted by depth and counted (`clashes`).

Units: mm.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from enclosure.outputs.drawing.solids import Body, body_of, cut, distinct
from enclosure.shape.model import Prism, Vec
from enclosure.shape.space import dot

Array = Any

_TOUCH_MM = 0.05
_LEAST_CUT_MM = 0.5
_LEVEL = 1e-9
_CHUNK = 3000


@dataclass(frozen=True, slots=True)
class Painted:
    """The result: bodies from far to near.

    Args:
        bodies: In painting order; more than there were prisms when rings were cut.
        clashes: Pairs of prisms (by index) that really overlap.
        cuts: How many bodies were cut in two to open a ring.
        forced: How many times a ring had to be left wrong.
    """

    bodies: tuple[Body, ...]
    clashes: tuple[tuple[int, int], ...]
    cuts: int
    forced: int


def paint_order(prisms: Sequence[Prism], toward: tuple[float, float, float], max_cuts: int = 60) -> Painted:
    """Order prisms for painting.

    Args:
        prisms: Convex prisms that may touch but do not overlap.
        toward: Unit vector from the scene to the eye.
        max_cuts: How many bodies may be cut in two to open rings.

    References:
        The separating axis theorem for convex polytopes; the painter's algorithm
        after Newell, Newell and Sancha (1972), here without its cyclic search.
    """
    sorter = _Sorter(np.array(toward, float))
    sorter.add([body_of(prism, index) for index, prism in enumerate(prisms)])
    return sorter.run(max_cuts)


class _Sorter:
    """Bodies, what hides what, and the sort."""

    def __init__(self, toward: Array) -> None:
        self.toward = toward
        helper = np.array([1.0, 0, 0]) if abs(toward[0]) < 0.9 else np.array([0, 1.0, 0])
        across = np.cross(helper, toward)
        across = across / np.linalg.norm(across)
        self.screen = np.stack([across, np.cross(toward, across)], axis=1)
        self.bodies: list[Body] = []
        self.alive: list[bool] = []
        self.before: list[set[int]] = []  # bodies that must be painted before this one
        self.after: list[set[int]] = []
        self.depth: list[float] = []
        self.boxes: list[Array] = []
        self.clashes: set[tuple[int, int]] = set()
        self.proved: set[tuple[int, int]] = set()

    def add(self, bodies: list[Body]) -> None:
        """Add bodies and find out what hides what between them and all living ones."""
        first = len(self.bodies)
        for body in bodies:
            corners = np.array(body.corners)
            flat = corners @ self.screen
            self.bodies.append(body)
            self.alive.append(True)
            self.before.append(set())
            self.after.append(set())
            self.depth.append(round(float((corners @ self.toward).mean()), 4))
            self.boxes.append(np.concatenate([flat.min(axis=0), flat.max(axis=0)]))
        pairs = self._meeting(first)
        if len(pairs):
            self._settle(pairs)

    def _meeting(self, first: int) -> Array:
        """Return pairs (old or new, new) whose boxes on the page overlap."""
        boxes = np.array(self.boxes)
        fresh = boxes[first:]
        alive = np.array(self.alive)
        hit = (
            (boxes[:, None, 0] < fresh[None, :, 2] - _TOUCH_MM)
            & (fresh[None, :, 0] < boxes[:, None, 2] - _TOUCH_MM)
            & (boxes[:, None, 1] < fresh[None, :, 3] - _TOUCH_MM)
            & (fresh[None, :, 1] < boxes[:, None, 3] - _TOUCH_MM)
            & alive[:, None]
        )
        left, right = np.nonzero(hit)
        right = right + first
        keep = left < right
        return np.stack([left[keep], right[keep]], axis=1)

    def _settle(self, pairs: Array) -> None:
        """Turn pairs into edges; cheap planes first, all planes where both may hide."""
        names, local = np.unique(pairs, return_inverse=True)
        tables = _Tables([self.bodies[index] for index in names.tolist()], self.toward)
        local = local.reshape(pairs.shape)
        for start in range(0, len(pairs), _CHUNK):
            chunk = local[start : start + _CHUNK]
            hides_ab, hides_ba = tables.quick(chunk)
            both = np.nonzero(hides_ab & hides_ba)[0]
            for part in range(0, len(both), _CHUNK // 10):
                some = both[part : part + _CHUNK // 10]
                slow_ab, slow_ba = tables.thorough(chunk[some])
                hides_ab[some] &= slow_ab
                hides_ba[some] &= slow_ba
            names_of = pairs[start : start + _CHUNK].tolist()
            found = zip(names_of, hides_ab.tolist(), hides_ba.tolist(), strict=True)
            for (a, b), ab, ba in found:
                self._edge(a, b, ab, ba)

    def _edge(self, a: int, b: int, a_may_hide_b: bool, b_may_hide_a: bool) -> None:
        if a_may_hide_b and b_may_hide_a:
            owners = sorted((self.bodies[a].owner, self.bodies[b].owner))
            self.clashes.add((owners[0], owners[1]))
            a_may_hide_b = (self.depth[a], a) > (self.depth[b], b)
            b_may_hide_a = not a_may_hide_b
        if b_may_hide_a:
            self.before[b].add(a)
            self.after[a].add(b)
        if a_may_hide_b:
            self.before[a].add(b)
            self.after[b].add(a)

    def run(self, max_cuts: int) -> Painted:
        cuts = forced = 0
        while True:
            order, ring = self._sort()
            if not ring:
                break
            if self._reexamine(ring):
                continue
            if cuts < max_cuts and self._open(ring):
                cuts += 1
                continue
            farthest = min(ring, key=lambda index: (self.depth[index], index))
            for other in ring:
                self.before[farthest].discard(other)
                self.after[other].discard(farthest)
            forced += 1
        bodies = tuple(self.bodies[index] for index in order)
        return Painted(bodies, tuple(sorted(self.clashes)), cuts, forced)

    def _sort(self) -> tuple[list[int], list[int]]:
        """Return the order, or the bodies of one ring when there is none."""
        waiting = {index: len(self.before[index]) for index, living in enumerate(self.alive) if living}
        ready = [(self.depth[index], index) for index, count in waiting.items() if count == 0]
        heapq.heapify(ready)
        order: list[int] = []
        while ready:
            _, index = heapq.heappop(ready)
            order.append(index)
            del waiting[index]
            for later in self.after[index]:
                waiting[later] -= 1
                if waiting[later] == 0:
                    heapq.heappush(ready, (self.depth[later], later))
        if not waiting:
            return order, []
        walk: list[int] = []
        here = min(waiting)
        while here not in walk:
            walk.append(here)
            here = min(index for index in self.before[here] if index in waiting)
        return order, walk[walk.index(here) :]

    def _reexamine(self, ring: list[int]) -> bool:
        """Try every plane on the edges of a ring; True when an edge fell."""
        pairs = []
        for place, index in enumerate(ring):
            earlier = ring[(place + 1) % len(ring)]
            pair = (earlier, index)
            if pair not in self.proved:
                self.proved.add(pair)
                pairs.append(pair)
        if not pairs:
            return False
        names = sorted({index for pair in pairs for index in pair})
        tables = _Tables([self.bodies[index] for index in names], self.toward)
        local = np.array([[names.index(a), names.index(b)] for a, b in pairs])
        _, later_hides = tables.thorough(local)
        fell = False
        for (earlier, later), hides in zip(pairs, later_hides.tolist(), strict=True):
            if not hides:
                self.before[later].discard(earlier)
                self.after[earlier].discard(later)
                fell = True
        return fell

    def _open(self, ring: list[int]) -> bool:
        """Cut one body of a ring in two; False when none can be cut.

        A face of another body of the ring that runs through it is the best knife,
        most of all when it crosses the body's longest direction squarely; without
        one the largest body is halved.
        """
        best: tuple[tuple[float, int, int], Vec, float] | None = None
        for index in ring:
            long_axis = self._longest(index)[1]
            for other in ring:
                knife = self.bodies[other]
                for face, normal in zip(knife.faces, knife.normals, strict=True):
                    offset = dot(knife.corners[face[0]], normal)
                    heights = [dot(corner, normal) - offset for corner in self.bodies[index].corners]
                    if other == index or min(-min(heights), max(heights)) < _LEAST_CUT_MM:
                        continue
                    rank = (-round(abs(dot(normal, long_axis)), 6), index, other)
                    if best is None or rank < best[0]:
                        best = (rank, normal, offset)
        if best is None:
            size, axis, middle, index = max((*self._longest(index), index) for index in ring)
            if size < 2 * _LEAST_CUT_MM:
                return False
            best = ((0.0, index, index), axis, middle)
        halves = cut(self.bodies[best[0][1]], best[1], best[2])
        if halves is None:
            return False
        self._remove(best[0][1])
        self.add(list(halves))
        return True

    def _longest(self, index: int) -> tuple[float, Vec, float]:
        """Return length, direction and middle of a body along its longest edge direction."""
        found = []
        for axis in self.bodies[index].edges:
            along = [dot(corner, axis) for corner in self.bodies[index].corners]
            found.append((max(along) - min(along), axis, (min(along) + max(along)) / 2))
        return max(found)

    def _remove(self, index: int) -> None:
        self.alive[index] = False
        for other in self.before[index]:
            self.after[other].discard(index)
        for other in self.after[index]:
            self.before[other].discard(index)
        self.before[index].clear()
        self.after[index].clear()


class _Tables:
    """Corners, edges and quick axes of bodies, padded to equal counts for numpy."""

    def __init__(self, bodies: Sequence[Body], toward: Array) -> None:
        self.toward = toward
        self.corners = _padded([body.corners for body in bodies])
        sight = tuple(toward.tolist())
        edges = _padded([(*body.edges, sight) for body in bodies])
        self.edges = edges
        faces = _padded([distinct(body.normals) for body in bodies])
        axes = np.concatenate([faces, np.cross(edges, toward)], axis=1)
        length = np.linalg.norm(axes, axis=2, keepdims=True)
        self.usable = length[:, :, 0] > 1e-7
        self.axes = np.where(length > 1e-7, axes / np.maximum(length, 1e-30), 0.0)
        self.slope = self.axes @ toward
        own = np.einsum("njc,nkc->njk", self.axes, self.corners)
        self.low, self.high = own.min(axis=2), own.max(axis=2)

    def quick(self, pairs: Array) -> tuple[Array, Array]:
        """Return whether a may hide b and b may hide a, by face normals and lines of sight."""
        a, b = pairs[:, 0], pairs[:, 1]
        hides_ab = np.ones(len(pairs), bool)
        hides_ba = np.ones(len(pairs), bool)
        for mine, other, mine_hides, other_hides in ((a, b, hides_ab, hides_ba), (b, a, hides_ba, hides_ab)):
            shadow = np.einsum("mjc,mkc->mjk", self.axes[mine], self.corners[other])
            above = (self.high[mine] <= shadow.min(axis=2) + _TOUCH_MM) & self.usable[mine]
            below = (shadow.max(axis=2) <= self.low[mine] + _TOUCH_MM) & self.usable[mine]
            rising, falling = self.slope[mine] >= -_LEVEL, self.slope[mine] <= _LEVEL
            mine_hides &= ~((above & rising) | (below & falling)).any(axis=1)
            other_hides &= ~((above & falling) | (below & rising)).any(axis=1)
        return hides_ab, hides_ba

    def thorough(self, pairs: Array) -> tuple[Array, Array]:
        """Return the same by all planes, those of one edge of each body included."""
        hides_ab, hides_ba = self.quick(pairs)
        a, b = pairs[:, 0], pairs[:, 1]
        axes = np.cross(self.edges[a][:, :, None, :], self.edges[b][:, None, :, :]).reshape(len(pairs), -1, 3)
        length = np.linalg.norm(axes, axis=2, keepdims=True)
        usable = length[:, :, 0] > 1e-7
        axes = axes / np.maximum(length, 1e-30)
        slope = axes @ self.toward
        of_a = np.einsum("mjc,mkc->mjk", axes, self.corners[a])
        of_b = np.einsum("mjc,mkc->mjk", axes, self.corners[b])
        above = (of_a.max(axis=2) <= of_b.min(axis=2) + _TOUCH_MM) & usable
        below = (of_b.max(axis=2) <= of_a.min(axis=2) + _TOUCH_MM) & usable
        rising, falling = slope >= -_LEVEL, slope <= _LEVEL
        hides_ab &= ~((above & rising) | (below & falling)).any(axis=1)
        hides_ba &= ~((above & falling) | (below & rising)).any(axis=1)
        return hides_ab, hides_ba


def _padded(rows: Iterable[Sequence[Vec]]) -> Array:
    """Stack lists of unequal length by repeating the first entry of the short ones."""
    listed = [list(row) for row in rows]
    longest = max(len(row) for row in listed)
    return np.array([row + [row[0]] * (longest - len(row)) for row in listed])
