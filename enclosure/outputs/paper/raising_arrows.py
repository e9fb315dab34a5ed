"""Which way do the parts of a step move, and how is that drawn?

A panel in track comes down from above between its uprights; what is screwed or
bolted to a wall comes square to it; a roof from above; the body is slid in from
behind. In the take-down every arrow is turned round.

Units: model in mm, page in mm.
"""

from __future__ import annotations

from collections.abc import Callable

from enclosure.outputs.paper.layer import WHITE, Sheet
from enclosure.shape.model import Design, Part, Point, Step, Vec
from enclosure.shape.space import add, level_at, mean_corner

Arrow = tuple[Vec, Vec]
_FAR_MM, _NEAR_MM = 480.0, 130.0
_UP: Vec = (0.0, 0.0, 1.0)


def arrows_of(design: Design, step: Step) -> list[Arrow]:
    """Return the arrows of a step, each from its start to its tip."""
    if step.phase == "first build" or not step.parts:
        return []
    key = step.key.removeprefix("down-")
    found = _arrows(design, [p for p in design.parts if p.mark in step.parts], key)
    return [(tip, start) for start, tip in found] if step.phase == "take-down" else found


def _arrows(design: Design, parts: list[Part], key: str) -> list[Arrow]:
    if key == "body":
        wide, deep, high = design.outside_mm
        behind = (wide / 2, deep, high * 0.3)
        return [(add(behind, (0.0, 1.0, 0.0), 1.6 * _FAR_MM), add(behind, (0.0, 1.0, 0.0), _NEAR_MM))]
    panels = [p for p in parts if p.kind == "panel"]
    faces = list(dict.fromkeys(p.face for p in parts))
    if len(faces) > 2:
        return []
    found = []
    for face in faces:
        frame = next((f for f in design.frames if f.face == face), None)
        here = [p for p in parts if p.face == face]
        shown = [p for p in panels if p.face == face] or [p for p in here if p.role == "sill"] or here
        if frame is None or not shown:
            continue
        if face.startswith("ROOF"):
            spots = [_middle(p) for p in shown]
            middle = tuple(sum(spot[axis] for spot in spots) / len(spots) for axis in range(3))
            found.append(_toward((middle[0], middle[1], middle[2]), _UP))
            continue
        tracked = any(p.kind == "track" and p.face == face for p in design.parts)
        slid = [p for p in shown if tracked and not p.vent]
        if panels and slid:
            tops = [f.outline for f in design.frames if f.face == face and f.level == slid[0].level]
            found += [_toward(_top(p, tops[0]), frame.plane.v) for p in slid]
        elif key == "front-sill" or panels:
            found.append(_toward(_middle(shown[0]), frame.plane.n))
        elif key.startswith("stand-") and frame.level < max(p.level for p in parts):
            found.append(_toward(_middle(shown[0]), _UP))
        else:
            found.append(_toward(_middle(shown[0]), frame.plane.n))
    return found


def _toward(spot: Vec, away: Vec) -> Arrow:
    return add(spot, away, _FAR_MM), add(spot, away, _NEAR_MM)


def _middle(part: Part) -> Vec:
    return _on(part, mean_corner(part.solids[0].outline))


def _top(part: Part, frame: tuple[Point, ...]) -> Vec:
    """Return the place over a panel at which it is let in: the upper edge of its frame."""
    across = mean_corner(part.solids[0].outline)[0]
    return _on(part, (across, level_at(frame, across)))


def _on(part: Part, spot: Point) -> Vec:
    prism = part.solids[0]
    return add(add(prism.origin, prism.u, spot[0]), prism.v, spot[1])


def draw_arrows(sheet: Sheet, arrows: list[Arrow], at: Callable[[Vec], Point]) -> None:
    """Draw block arrows."""
    for start, tip in arrows:
        _block_arrow(sheet, at(start), at(tip))


def _block_arrow(sheet: Sheet, start: Point, tip: Point) -> None:
    dx, dy = tip[0] - start[0], tip[1] - start[1]
    length = (dx * dx + dy * dy) ** 0.5
    if length < 4:
        return
    along, side = (dx / length, dy / length), (-dy / length, dx / length)

    def at(forward: float, across: float) -> Point:
        x = start[0] + forward * along[0] + across * side[0]
        return (x, start[1] + forward * along[1] + across * side[1])

    neck = length - 4.0
    sheet.polygon(
        [at(0, 1), at(neck, 1), at(neck, 2.4), at(length, 0), at(neck, -2.4), at(neck, -1), at(0, -1)],
        WHITE,
        "wide",
        0.35,
    )
