"""Where is the shelter cut open to show how its parts meet, and what part of the cut is shown?

Sill on the base ring, roof edge, corner, and between two bays: each a plane of section
with a window on it, worked out from the design, so that it moves with the sizes.

Left out: ink and page (see outputs.paper.packet_sections and outputs.dxf_details).
Units: mm of the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from enclosure.outputs.drawing.section import Knife, level_section, upright_section
from enclosure.outputs.drawing.solids import body_of
from enclosure.shape.model import Design, Frame, Part, Point

Box = tuple[float, float, float, float]
OUTSIDE_MM = 42.0
"""What of the corner's window lies before the front frame: track, panel and a margin."""


@dataclass(frozen=True, slots=True)
class Detail:
    """A window on a plane of section: left, bottom, right, top in model mm; `key` names it for files."""

    key: str
    title: str
    note: str
    knife: Knife
    window: Box


def details(design: Design, size: tuple[float, float]) -> list[Detail]:
    """Return the details of a design, each window `size` model mm wide and high."""
    front = next((f for f in design.frames if f.face == "FRONT" and f.level == 1), None)
    if front is None:
        return []
    wide, high = size
    x = _typical_place(design, front)
    cut_x = upright_section(x)
    found = [
        Detail(
            "sill",
            "Sill on the base ring",
            "cut across the front, front on the left",
            cut_x,
            (-wide * 0.35, -high * 0.45, wide * 0.65, high * 0.55),
        ),
    ]
    top = _top(design.frames, x)
    found.append(
        Detail(
            "roof-edge",
            "Roof edge at the front",
            "cut across the front, front on the left",
            cut_x,
            (-wide * 0.5, top - high * 0.35, wide * 0.5, top + high * 0.65),
        )
    )
    level = level_section(_quiet_height(design, front))
    outside = min(high * 0.3, OUTSIDE_MM)
    found.append(
        Detail(
            "corner",
            "Front left corner",
            "seen from above, front at the foot",
            level,
            (-wide * 0.3, -outside, wide * 0.7, high - outside),
        )
    )
    if front.bay_lines_mm:
        a = front.bay_lines_mm[0]
        found.append(
            Detail(
                "bays",
            "Between two bays",
                "seen from above, front at the foot",
                level,
                (a - wide / 2, -high * 0.4, a + wide / 2, high * 0.6),
            )
        )
    return found


def _top(frames: tuple[Frame, ...], x: float) -> float:
    """Return the height of the front's upper edge at x."""
    frame = max((f for f in frames if f.face == "FRONT"), key=lambda f: f.level)
    a = x - frame.plane.origin[0]
    heights = []
    for (a0, b0), (a1, b1) in zip(frame.outline, frame.outline[1:] + frame.outline[:1], strict=True):
        if min(a0, a1) <= a <= max(a0, a1) and a0 != a1:
            heights.append(b0 + (b1 - b0) * (a - a0) / (a1 - a0))
    return frame.plane.origin[2] + max(heights, default=0.0)


def _typical_place(design: Design, front: Frame) -> float:
    """Return where the front's first bay is cut: near its middle, through sill and skin, no upright, no ridge."""
    wide = (*front.bay_lines_mm, design.outside_mm[0])[0]
    places = [front.plane.origin[0] + share * wide for share in (0.48, 0.36, 0.42, 0.3, 0.25)]
    wall = [part for part in design.parts if part.face == "FRONT" and part.level <= 1]
    roof = [part for part in design.parts if part.face.startswith("ROOF")]
    sills = [_reach(part, 0) for part in wall if part.role == "sill"]
    avoided = [_reach(part, 0) for part in wall if part.role in ("stile", "mullion")]
    avoided += [_reach(part, 0) for part in roof if part.role == "ridge"]
    skin = [_reach(part, 0) for part in roof if part.kind in ("panel", "film")]

    def typical(x: float) -> bool:
        through = all(low < x < high for low, high in sills)
        over = not skin or any(low < x < high for low, high in skin)
        return through and over and not any(low - 1.0 < x < high + 1.0 for low, high in avoided)

    return next((x for x in places if typical(x)), places[0])


def _reach(part: Part, axis: int) -> tuple[float, float]:
    """Return from where to where a part reaches along an axis of the world."""
    values = [corner[axis] for solid in part.solids for corner in body_of(solid, 0).corners]
    return min(values), max(values)


def _quiet_height(design: Design, front: Frame) -> float:
    """Return a height at which no level member of the front lies and no head slopes."""
    spans = sorted(
        _reach(part, 2)
        for part in design.parts
        if part.kind == "member" and part.face == "FRONT" and part.level <= 1 and part.role not in ("stile", "mullion")
    )
    reached, best = front.plane.origin[2], (0.0, front.plane.origin[2])
    for low, high in spans:
        best = max(best, (low - reached, reached))
        reached = max(reached, high)
    return best[1] + 0.43 * best[0]


def clipped(outline: Sequence[Point], window: Box) -> list[Point]:
    """Return the part of a convex outline inside a window (Sutherland and Hodgman, 1974)."""
    points = list(outline)
    for axis, sign, limit in ((0, 1, window[0]), (0, -1, -window[2]), (1, 1, window[1]), (1, -1, -window[3])):
        kept: list[Point] = []
        for here, there in zip(points, [*points[1:], *points[:1]], strict=True):
            low, high = sign * here[axis] - limit, sign * there[axis] - limit
            if low >= 0:
                kept.append(here)
            if (low < 0) != (high < 0):
                share = low / (low - high)
                kept.append(
                    (here[0] + share * (there[0] - here[0]), here[1] + share * (there[1] - here[1]))
                )
        points = kept
    return points
