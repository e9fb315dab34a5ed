"""How do posts, stakes and their wires stand in a picture of the raising?

Every anchor stands outside the box of the shelter, beyond one of its four wall planes. Where
that plane looks toward the eye, the anchor hides the shelter and is painted last; else the
shelter hides it and it is painted first. So they need no place in the painter's order.

Units: model in mm, page in mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from enclosure.outputs.drawing.axonometric import View
from enclosure.outputs.paper.layer import METAL, NEW, PALE, Sheet
from enclosure.shape.model import Anchor, Design, Point, Vec

_POST_MM = 40.0  # drawn width of a post; its section is the shop's
_ABOVE_MM = 80.0  # a post reaches this far above its highest tie
_STAKE_MM, _LEAN_MM = 180.0, 90.0  # what is seen of a stake, and how far it leans away
_LEAST_MM = 0.9  # on paper


@dataclass(frozen=True, slots=True)
class ShownAnchors:
    """What of the anchors a picture shows.

    Args:
        design: The shelter.
        stakes: Show the stakes, which stand far off, and their slanting wires.
        wires: Show the wires.
        new: Fill them and write their marks: they are what the step is about.
    """

    design: Design
    stakes: bool = False
    wires: bool = True
    new: bool = False

    def anchors(self) -> list[Anchor]:
        """Return the anchors shown."""
        return [one for one in self.design.anchors if self.stakes or one.kind == "post"]

    def points(self, view: View) -> list[Point]:
        """Return what must find room in the picture."""
        found = [view.project(end) for one in self.anchors() for end in self._ends(one)]
        return found + ([view.project(corner) for corner in self.ring()] if self.new and found else [])

    def ring(self) -> list[Vec]:
        """Return the corners of the base ring, or of the frame where there is none."""
        wide, deep, _ = self.design.outside_mm
        base = self.design.base
        x = max(0.0, (base.ring_length_mm - wide) / 2)
        y = max(0.0, (base.ring_width_mm - deep) / 2)
        return [(-x, -y, 0.0), (wide + x, -y, 0.0), (wide + x, deep + y, 0.0), (-x, deep + y, 0.0)]

    def marks(self, view: View) -> Iterator[tuple[str, Point]]:
        """Yield the marks to write with the head of each anchor."""
        if self.new:
            for one in self.anchors():
                yield one.mark, view.project(self._ends(one)[1])

    def draw(self, sheet: Sheet, at: Callable[[Point], Point], scale: float, view: View, *, near: bool) -> None:
        """Draw the anchors that stand before the shelter, or those behind it with the ring."""
        if self.new and not near and not self.design.base.ring_length_mm:
            sheet.polygon([at(view.project(corner)) for corner in self.ring()], PALE, "narrow", 0.18)
        for one in sorted(self.anchors(), key=lambda a: view.toward[0] * a.x_mm + view.toward[1] * a.y_mm):
            if self._is_near(one, view) != near:
                continue
            foot, head = (at(view.project(end)) for end in self._ends(one))
            if self.wires:
                for height in one.tie_heights_mm:
                    self._wire(sheet, at, view, one, height)
            half = max(_LEAST_MM, _POST_MM * scale) / 2
            outline = [(foot[0] - half, foot[1]), (foot[0] + half, foot[1])]
            outline += [(head[0] + half, head[1]), (head[0] - half, head[1])]
            sheet.polygon(outline, NEW if self.new else METAL, "wide", 0.35 if self.new else 0.18)

    def _wire(self, sheet: Sheet, at: Callable[[Point], Point], view: View, one: Anchor, height: float) -> None:
        away: Vec = (one.x_mm, one.y_mm, height) if one.kind == "post" else self._ends(one)[1]
        frame = (one.frame_mm[0], one.frame_mm[1], height)
        sheet.line(at(view.project(frame)), at(view.project(away)), "wide", 0.4 if self.new else 0.2)

    def _is_near(self, one: Anchor, view: View) -> bool:
        wide, deep, _ = self.design.outside_mm
        across = (one.x_mm > wide) - (one.x_mm < 0.0)
        along = (one.y_mm > deep) - (one.y_mm < 0.0)
        return across * view.toward[0] > 0 or along * view.toward[1] > 0

    def _ends(self, one: Anchor) -> tuple[Vec, Vec]:
        """Return foot and head of what is seen above the ground."""
        ground = min(one.ground_mm, -self.design.base.brick_mm[2])
        if one.kind == "post":
            top = max(one.tie_heights_mm, default=300.0) + _ABOVE_MM
            return (one.x_mm, one.y_mm, ground), (one.x_mm, one.y_mm, top)
        dx, dy = one.x_mm - one.frame_mm[0], one.y_mm - one.frame_mm[1]
        long = (dx * dx + dy * dy) ** 0.5 or 1.0
        lean = (one.x_mm + _LEAN_MM * dx / long, one.y_mm + _LEAN_MM * dy / long, ground + _STAKE_MM)
        return (one.x_mm, one.y_mm, ground), lean
