"""What does a heap of convex prisms look like from one side, as flat vector shapes?

A parallel (orthographic) axonometric view: every prism becomes the polygons of
its faces that look toward the eye, in an order in which later ones may simply
be painted over earlier ones. A subset of the prisms keeps a valid order, so one
sort serves all the pictures of a raising sequence. Glazing stays see-through
when it is painted with a see-through ink.

Left out: ink, line widths and page (see outputs.paper); the sort itself (see
`order`).

Units: mm; the picture has x to the right and y up, at the scale of the model.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.order import paint_order
from enclosure.outputs.drawing.solids import Body
from enclosure.shape.model import Point, Prism, Vec
from enclosure.shape.space import dot

_SUN: Vec = (0.30, -0.52, 0.80)
_SEEN = 1e-7


@dataclass(frozen=True, slots=True)
class View:
    """A direction of view.

    Args:
        name: In words for people: "front right".
        right: Unit vector to the right on the page.
        up: Unit vector up on the page.
        toward: Unit vector from the scene to the eye.
    """

    name: str
    right: Vec
    up: Vec
    toward: Vec

    def project(self, point: Vec) -> Point:
        """Return where a point falls on the page."""
        return (dot(point, self.right), dot(point, self.up))


def view_from(name: str, azimuth_deg: float, elevation_deg: float) -> View:
    """Return the view of an eye that stands off the front, turned toward the right wall.

    Args:
        name: In words for people.
        azimuth_deg: 0 looks straight at the front, 90 at the right wall, 180 at the back.
        elevation_deg: How far the eye stands above level, 0 to below 90.
    """
    turn, lift = math.radians(azimuth_deg), math.radians(elevation_deg)
    toward = (math.sin(turn) * math.cos(lift), -math.cos(turn) * math.cos(lift), math.sin(lift))
    right = (math.cos(turn), math.sin(turn), 0.0)
    up = (-math.sin(turn) * math.sin(lift), math.cos(turn) * math.sin(lift), math.cos(lift))
    return View(name, right, up, toward)


FRONT_RIGHT = view_from("front, right", 33.0, 24.0)
FRONT_LEFT = view_from("front, left", -33.0, 24.0)
RIGHT_FRONT = view_from("right, front", 56.0, 24.0)
LEFT_FRONT = view_from("left, front", -56.0, 24.0)
BACK_RIGHT = view_from("back, right", 147.0, 24.0)
BACK_LEFT = view_from("back, left", -147.0, 24.0)


@dataclass(frozen=True, slots=True)
class Facet:
    """One visible face on the page.

    Args:
        points: Corners, anticlockwise.
        drawn: Whether edge i (from corner i to the next) is a real edge.
        light: How bright it is, 0 (dark) to 1.
    """

    points: tuple[Point, ...]
    drawn: tuple[bool, ...]
    light: float


@dataclass(frozen=True, slots=True)
class Shape:
    """One body on the page.

    Args:
        owner: Index of the prism it belongs to.
        facets: Visible faces.
        outline: Corners of the whole outline, anticlockwise.
        whole: False for a half of a body that was cut to open a ring.
    """

    owner: int
    facets: tuple[Facet, ...]
    outline: tuple[Point, ...]
    whole: bool


@dataclass(frozen=True, slots=True)
class Picture:
    """Shapes from far to near, with the account of the sort (see `order.Painted`)."""

    view: View
    shapes: tuple[Shape, ...]
    clashes: tuple[tuple[int, int], ...]
    cuts: int
    forced: int

    def only(self, owners: Iterable[int]) -> tuple[Shape, ...]:
        """Return the shapes of some prisms, still from far to near."""
        chosen = frozenset(owners)
        return tuple(shape for shape in self.shapes if shape.owner in chosen)


def picture(prisms: Sequence[Prism], view: View) -> Picture:
    """Return the picture of prisms that may touch but do not overlap."""
    painted = paint_order(prisms, view.toward)
    shapes = []
    for body in painted.bodies:
        flat = [view.project(corner) for corner in body.corners]
        whole = all(all(flags) for flags in body.drawn)
        shapes.append(Shape(body.owner, _facets(body, flat, view), hull(flat), whole))
    return Picture(view, tuple(shapes), painted.clashes, painted.cuts, painted.forced)


def _facets(body: Body, flat: Sequence[Point], view: View) -> tuple[Facet, ...]:
    facets = []
    for face, normal, drawn in zip(body.faces, body.normals, body.drawn, strict=True):
        if dot(normal, view.toward) <= _SEEN:
            continue
        light = 0.5 + 0.5 * dot(normal, _SUN)
        facets.append(Facet(tuple(flat[corner] for corner in face), drawn, min(1.0, max(0.0, light))))
    return tuple(facets)


def bounds(shapes: Iterable[Shape]) -> tuple[float, float, float, float]:
    """Return left, bottom, right, top of shapes; zeros when there are none."""
    points = [point for shape in shapes for point in shape.outline]
    if not points:
        return (0.0, 0.0, 0.0, 0.0)
    across = [point[0] for point in points]
    upward = [point[1] for point in points]
    return (min(across), min(upward), max(across), max(upward))
