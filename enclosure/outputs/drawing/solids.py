"""How does a convex prism become a body of flat faces, and how is such a body cut in two?

The painter's order (see `order`) works on convex bodies: corners, faces and
the edges that may be drawn. A prism becomes one body; a body that stands in a
ring of bodies hiding each other is cut in two, and the edges of that cut are
never drawn.

Units: mm in the same axes as the prism.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from enclosure.shape.model import Prism, Vec
from enclosure.shape.space import cross, dot

_ON_PLANE_MM = 1e-6
_PARALLEL = 1 - 1e-12


@dataclass(frozen=True, slots=True)
class Body:
    """A convex body.

    Args:
        owner: Index of the prism it came from.
        corners: Points [mm].
        faces: Corner indices of each face, anticlockwise seen from outside.
        normals: Outward unit normal of each face.
        drawn: For each face and each of its edges (edge i runs from corner i to
            the next) whether it is a real edge of the prism.
        edges: Unit directions of the edges, each direction once up to its sign.
    """

    owner: int
    corners: tuple[Vec, ...]
    faces: tuple[tuple[int, ...], ...]
    normals: tuple[Vec, ...]
    drawn: tuple[tuple[bool, ...], ...]
    edges: tuple[Vec, ...]


def body_of(prism: Prism, owner: int) -> Body:
    """Return the body of a prism."""
    u, v = prism.u, prism.v
    sweep = cross(u, v)
    depth = prism.depth
    low = [
        (
            prism.origin[0] + a * u[0] + b * v[0],
            prism.origin[1] + a * u[1] + b * v[1],
            prism.origin[2] + a * u[2] + b * v[2],
        )
        for a, b in prism.outline
    ]
    high = [(p[0] + depth * sweep[0], p[1] + depth * sweep[1], p[2] + depth * sweep[2]) for p in low]
    count = len(low)
    faces = [tuple(range(count, 2 * count)), tuple(range(count - 1, -1, -1))]
    normals: list[Vec] = [sweep, (-sweep[0], -sweep[1], -sweep[2])]
    edges: list[Vec] = [sweep]
    for here in range(count):
        there = (here + 1) % count
        faces.append((here, there, there + count, here + count))
        a = prism.outline[there][0] - prism.outline[here][0]
        b = prism.outline[there][1] - prism.outline[here][1]
        length = math.hypot(a, b) or 1.0
        a, b = a / length, b / length
        edges.append((a * u[0] + b * v[0], a * u[1] + b * v[1], a * u[2] + b * v[2]))
        normals.append((b * u[0] - a * v[0], b * u[1] - a * v[1], b * u[2] - a * v[2]))
    drawn = tuple((True,) * len(face) for face in faces)
    return Body(owner, tuple(low + high), tuple(faces), tuple(normals), drawn, distinct(edges))


def distinct(directions: Sequence[Vec]) -> tuple[Vec, ...]:
    """Return the directions without those parallel to an earlier one."""
    kept: list[Vec] = []
    for direction in directions:
        if all(abs(dot(direction, known)) < _PARALLEL for known in kept):
            kept.append(direction)
    return tuple(kept)


def cut(body: Body, normal: Vec, offset: float) -> tuple[Body, Body] | None:
    """Cut a body by the plane normal . p = offset (unit normal).

    Returns:
        The part below the plane and the part above it, or None when the plane
        misses the body.
    """
    heights = [dot(corner, normal) - offset for corner in body.corners]
    if min(heights) > -_ON_PLANE_MM or max(heights) < _ON_PLANE_MM:
        return None
    over = (-normal[0], -normal[1], -normal[2])
    return _half(body, normal, heights), _half(body, over, [-height for height in heights])


def _half(body: Body, normal: Vec, heights: Sequence[float]) -> Body:
    """Return the part of a body where the height is <= 0, closed by a lid whose edges are not drawn."""
    points: list[Vec] = []
    index: dict[Vec, int] = {}
    lid: set[int] = set()

    def corner(point: Vec, on_lid: bool) -> int:
        key = (round(point[0], 6), round(point[1], 6), round(point[2], 6))
        if key not in index:
            index[key] = len(points)
            points.append(point)
        if on_lid:
            lid.add(index[key])
        return index[key]

    faces: list[tuple[int, ...]] = []
    normals: list[Vec] = []
    drawn: list[tuple[bool, ...]] = []
    for face, facing, flags in zip(body.faces, body.normals, body.drawn, strict=True):
        kept: list[tuple[int, bool]] = []
        for place, here in enumerate(face):
            there = face[(place + 1) % len(face)]
            low, high = heights[here], heights[there]
            if low <= _ON_PLANE_MM:
                # an edge lying in the plane is real only if the body had it
                kept.append((corner(body.corners[here], low >= -_ON_PLANE_MM), flags[place]))
            if min(low, high) < -_ON_PLANE_MM and max(low, high) > _ON_PLANE_MM:
                crossing = _between(body.corners[here], body.corners[there], low / (low - high))
                kept.append((corner(crossing, True), flags[place] and low > 0))
        kept = [one for place, one in enumerate(kept) if one[0] != kept[place - 1][0]]
        if len(kept) >= 3:
            faces.append(tuple(one[0] for one in kept))
            normals.append(facing)
            drawn.append(tuple(one[1] for one in kept))
    ring = _ring(points, sorted(lid), normal)
    if len(ring) >= 3:
        faces.append(ring)
        normals.append(normal)
        drawn.append((False,) * len(ring))
    return Body(body.owner, tuple(points), tuple(faces), tuple(normals), tuple(drawn), _edges(points, faces))


def _between(a: Vec, b: Vec, share: float) -> Vec:
    return (a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2]))


def _edges(points: Sequence[Vec], faces: Sequence[tuple[int, ...]]) -> tuple[Vec, ...]:
    found: list[Vec] = []
    for face in faces:
        for here, there in zip(face, face[1:] + face[:1], strict=True):
            a, b = points[here], points[there]
            line = (b[0] - a[0], b[1] - a[1], b[2] - a[2])
            length = math.sqrt(dot(line, line))
            if length > _ON_PLANE_MM:
                found.append((line[0] / length, line[1] / length, line[2] / length))
    return distinct(found)


def _ring(points: Sequence[Vec], chosen: Sequence[int], normal: Vec) -> tuple[int, ...]:
    """Return coplanar convex corners in the order that walks anticlockwise about `normal`."""
    if len(chosen) < 3:
        return ()
    middle = tuple(math.fsum(points[place][axis] for place in chosen) / len(chosen) for axis in range(3))
    rays = {
        place: (points[place][0] - middle[0], points[place][1] - middle[1], points[place][2] - middle[2])
        for place in chosen
    }
    first = rays[chosen[0]]
    second = cross(normal, first)
    angle = {place: math.atan2(dot(ray, second), dot(ray, first)) for place, ray in rays.items()}
    return tuple(sorted(chosen, key=lambda place: angle[place]))
