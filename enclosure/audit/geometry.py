"""Do two convex prisms share space?

Prisms as ``design.json`` holds them: an outline in a plane, swept square to it. Two
convex bodies are apart exactly when some face normal or some cross product of two
edges separates them (separating axis theorem).

Units: mm.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

Vector = tuple[float, float, float]
TOUCH_MM = 0.01
"""Prisms this deep in each other still only touch: coordinates are kept to 0.0001 mm."""


@dataclass(frozen=True, slots=True)
class Body:
    """Corners of one prism, the directions of its face normals and of its edges, its bounds."""

    mark: str
    corners: tuple[Vector, ...]
    normals: tuple[Vector, ...]
    edges: tuple[Vector, ...]
    low: Vector
    high: Vector


def cross(a: Vector, b: Vector) -> Vector:
    """Return a x b."""
    return (a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0])


def dot(a: Vector, b: Vector) -> float:
    """Return a . b."""
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def shoelace(outline: list[list[float]]) -> float:
    """Return the signed area of an outline [mm²], positive when counter-clockwise."""
    pairs = zip(outline, outline[1:] + outline[:1], strict=True)
    return sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs) / 2


def body(mark: str, prism: dict[str, Any]) -> Body:
    """Return the prism in world coordinates."""
    origin, u, v = tuple(prism["origin"]), tuple(prism["u"]), tuple(prism["v"])
    n, outline = cross(u, v), prism["outline"]

    def place(a: float, b: float, c: float) -> Vector:
        x, y, z = (origin[i] + a * u[i] + b * v[i] + c * n[i] for i in range(3))
        return (x, y, z)

    corners = tuple(place(a, b, c) for a, b in outline for c in (0.0, prism["depth"]))
    feet = corners[::2]
    edges = tuple(
        _unit((b[0] - a[0], b[1] - a[1], b[2] - a[2])) for a, b in zip(feet, feet[1:] + feet[:1], strict=True)
    )
    normals = (n, *(cross(edge, n) for edge in edges))
    low = tuple(min(corner[i] for corner in corners) for i in range(3))
    high = tuple(max(corner[i] for corner in corners) for i in range(3))
    return Body(mark, corners, normals, (n, *edges), (low[0], low[1], low[2]), (high[0], high[1], high[2]))


def depth_of_clash(a: Body, b: Body) -> float:
    """Return how deep two bodies lie in each other [mm], 0 when they are apart or touch."""
    if any(a.low[i] > b.high[i] - TOUCH_MM or b.low[i] > a.high[i] - TOUCH_MM for i in range(3)):
        return 0.0
    deepest = float("inf")
    for axis in _axes(a, b):
        ours = [dot(axis, corner) for corner in a.corners]
        theirs = [dot(axis, corner) for corner in b.corners]
        overlap = min(max(ours), max(theirs)) - max(min(ours), min(theirs))
        if overlap <= TOUCH_MM:
            return 0.0
        deepest = min(deepest, overlap)
    return deepest


def _axes(a: Body, b: Body) -> list[Vector]:
    axes = [*a.normals, *b.normals]
    for one in a.edges:
        for other in b.edges:
            both = cross(one, other)
            if dot(both, both) > 1e-9:
                axes.append(_unit(both))
    return axes


def _unit(vector: Vector) -> Vector:
    size = dot(vector, vector) ** 0.5
    if size == 0:
        raise ValueError("two corners of an outline are one")
    return (vector[0] / size, vector[1] / size, vector[2] / size)
