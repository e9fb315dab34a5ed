"""What does a cut through the shelter look like? Convex solids cut by a plane.

The plane is given by a point and its normal; the eye looks against the normal.
Units: mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.outputs.drawing.solids import body_of, cut
from enclosure.shape.model import Design, Part, Point, Vec
from enclosure.shape.space import dot


@dataclass(frozen=True, slots=True)
class Knife:
    """A plane of section with the axes of its drawing.

    Args:
        point: Where the plane lies.
        right: Unit vector to the right on the page.
        up: Unit vector up on the page.
        normal: Unit vector toward the eye, right x up.
    """

    point: Vec
    right: Vec
    up: Vec
    normal: Vec

    def flat(self, corner: Vec) -> Point:
        """Return the place of a point on the drawing (world coordinates along right and up)."""
        return (dot(corner, self.right), dot(corner, self.up))


@dataclass(frozen=True, slots=True)
class Slice:
    """A part's outline in the plane of section."""

    part: Part
    outline: tuple[Point, ...]


def upright_section(x: float) -> Knife:
    """Return the section across the shelter at x, seen from the right: front on the left."""
    return Knife((x, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), (1.0, 0.0, 0.0))


def level_section(z: float) -> Knife:
    """Return the level section at z, seen from above: front at the foot."""
    return Knife((0.0, 0.0, z), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))


def slices(design: Design, knife: Knife, window: tuple[float, float, float, float]) -> list[Slice]:
    """Return what the plane cuts within a window (left, bottom, right, top on the drawing)."""
    offset = dot(knife.point, knife.normal)
    found = []
    for part in design.parts:
        for solid in part.solids:
            halves = cut(body_of(solid, 0), knife.normal, offset)
            if halves is None:
                continue
            lid = halves[0].faces[-1]
            outline = tuple(knife.flat(halves[0].corners[corner]) for corner in lid)
            across, upward = [p[0] for p in outline], [p[1] for p in outline]
            if (
                len(outline) >= 3
                and min(across) < window[2]
                and max(across) > window[0]
                and min(upward) < window[3]
                and max(upward) > window[1]
            ):
                found.append(Slice(part, outline))
    return found
