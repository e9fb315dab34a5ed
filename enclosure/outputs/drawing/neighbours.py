"""Which panels lie beside a panel, and how does its wall look from outside?

Every wall is taken as flat: points are measured along the wall (a, to the
viewer's right) and up it (b). Units: mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.solids import body_of
from enclosure.shape.model import Design, Part, Plane, Point, Vec
from enclosure.shape.space import dot

_REACH_MM = 90.0


@dataclass(frozen=True, slots=True)
class Patch:
    """A part's outline on its wall."""

    part: Part
    outline: tuple[Point, ...]

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Return least a, least b, greatest a, greatest b."""
        across = [a for a, _ in self.outline]
        upward = [b for _, b in self.outline]
        return (min(across), min(upward), max(across), max(upward))


def face_plane(design: Design, face: str) -> Plane:
    """Return the plane of the lowest frame of a face; KeyError when there is none."""
    for frame in sorted(design.frames, key=lambda one: one.level):
        if frame.face == face:
            return frame.plane
    raise KeyError(face)


def on_plane(plane: Plane, point: Vec) -> Point:
    """Return (a, b) of a world point."""
    away = (point[0] - plane.origin[0], point[1] - plane.origin[1], point[2] - plane.origin[2])
    return (dot(away, plane.u), dot(away, plane.v))


def patch(plane: Plane, part: Part) -> Patch:
    """Return the outline of a part's first solid, seen square to the plane."""
    corners = [on_plane(plane, corner) for solid in part.solids for corner in body_of(solid, 0).corners]
    return Patch(part, hull(corners))


def panels_of(design: Design, face: str) -> list[Patch]:
    """Return the outlines of all panels of a face (of a double film, the inner layer)."""
    plane = face_plane(design, face)
    return [patch(plane, part) for part in design.panels() if part.face == face and part.layer == 1]


def neighbours(patches: list[Patch], mark: str) -> dict[str, list[str]]:
    """Return the marks of the panels to the left, right, above and below."""
    mine = next(one for one in patches if one.part.mark == mark).box
    found: dict[str, list[str]] = {"left": [], "right": [], "above": [], "below": []}
    for other in patches:
        if other.part.mark == mark:
            continue
        box = other.box
        beside = min(mine[3], box[3]) - max(mine[1], box[1]) > _REACH_MM
        over = min(mine[2], box[2]) - max(mine[0], box[0]) > _REACH_MM
        gaps = {
            "left": mine[0] - box[2],
            "right": box[0] - mine[2],
            "above": box[1] - mine[3],
            "below": mine[1] - box[3],
        }
        for side, level in (("left", beside), ("right", beside), ("above", over), ("below", over)):
            if level and -_REACH_MM / 2 < gaps[side] < _REACH_MM:
                found[side].append(other.part.mark)
    return found
