"""How is the shelter, or a step of its raising, painted on a page?

New parts are filled, hatched and thickly outlined, so that they stand out in a
grey print too; parts that stand already are white with thin lines; glazing is
see-through. Later shapes are painted over earlier ones (see
outputs.drawing.axonometric), which removes hidden lines without any further
work. Marks are set on a spot of the part that can be seen, or beside it with a
leader.

Units: model in mm, page in mm, scale = page over model.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field

from enclosure.outputs.drawing.axonometric import (
    BACK_LEFT,
    BACK_RIGHT,
    FRONT_LEFT,
    FRONT_RIGHT,
    LEFT_FRONT,
    RIGHT_FRONT,
    Picture,
    Shape,
    View,
    picture,
)
from enclosure.outputs.paper.layer import (
    BLACK,
    BOLD,
    FAINT,
    GLASS,
    NEW,
    WHITE,
    WOOD,
    Box,
    Ink,
    Sheet,
    fill_code,
    path_code,
    stroke_code,
    text_width,
)
from enclosure.outputs.paper.scene_anchors import ShownAnchors
from enclosure.shape.course import course
from enclosure.shape.model import Design, Part, Point, Prism, SheetCut
from enclosure.shape.space import area, mean_corner

_CLEAR = ("multiwall", "glass", "acrylic", "film")
_TILT = 0.05
RING = "ring "


def _brick(mark: str, solid: Prism) -> Part:
    """Return a brick of the base ring as something to paint; it is no part of the design."""
    cut = SheetCut(0.0, 0.0, (), turnable=True)
    return Part(mark, "lining", "brick", "BASE", 0, 0, 0, "", cut, (solid,), 0.0)


@dataclass
class Scene:
    """The solids of a design, with one sorted picture for each view that is asked for."""

    design: Design
    prisms: list[Prism] = field(default_factory=list)
    owners: list[Part] = field(default_factory=list)
    _pictures: dict[str, Picture] = field(default_factory=dict)

    def __post_init__(self) -> None:
        for part in self.design.parts:
            for solid in part.solids:
                self.prisms.append(solid)
                self.owners.append(part)
        base = self.design.base
        high = base.brick_mm[2]
        bricks = [brick for side in course(base, self.design.outside_mm[:2]) for brick in side.bricks]
        for number, brick in enumerate(bricks):
            solid = Prism((0.0, 0.0, -high), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), brick, high)
            self.prisms.append(solid)
            self.owners.append(_brick(f"{RING}{number}", solid))
        self.clear = {m.key for m in self.design.materials if m.kind in _CLEAR}

    def ring(self) -> frozenset[str]:
        """Return the marks under which the bricks of the base ring are painted."""
        return frozenset(part.mark for part in self.owners if part.mark.startswith(RING))

    def from_inside(self, face: str) -> View:
        """Return a view that looks at the inside face of a wall."""
        views = {"FRONT": BACK_RIGHT, "BACK": FRONT_RIGHT, "LEFT": RIGHT_FRONT, "RIGHT": LEFT_FRONT}
        return views.get(face, FRONT_RIGHT)

    def seen_from(self, view: View) -> Picture:
        """Return the picture of all parts from one side."""
        if view.name not in self._pictures:
            self._pictures[view.name] = picture(self.prisms, view)
        return self._pictures[view.name]

    def see_through(self, part: Part) -> bool:
        """Return whether a part is painted see-through."""
        return part.material in self.clear

    def best_view(self, marks: Collection[str]) -> View:
        """Return the view from the side on which most of the given parts face the eye."""
        votes = {"FRONT": 0, "RIGHT": 0, "BACK": 0, "LEFT": 0}
        slopes = {frame.face: frame.plane.n for frame in self.design.frames if frame.face.startswith("ROOF")}
        for part in self.design.parts:
            if part.mark in marks and part.face in votes:
                votes[part.face] += 1
            elif part.mark in marks and part.face in slopes:
                x, y, _ = slopes[part.face]
                if max(abs(x), abs(y)) > _TILT:
                    sides = ("RIGHT" if x > 0 else "LEFT") if abs(x) > abs(y) else ("BACK" if y > 0 else "FRONT")
                    votes[sides] += 1
        # a tie goes to the front and to the right
        back = votes["BACK"] > votes["FRONT"]
        left = votes["LEFT"] > votes["RIGHT"]
        if max(votes["LEFT"], votes["RIGHT"]) > 2 * max(votes["FRONT"], votes["BACK"]):
            return LEFT_FRONT if left else RIGHT_FRONT
        return (BACK_LEFT if left else BACK_RIGHT) if back else (FRONT_LEFT if left else FRONT_RIGHT)


@dataclass(frozen=True, slots=True)
class Placing:
    """How a view lies on the page: page = corner + scale * (view - low)."""

    scale: float
    corner: Point
    low: Point

    def at(self, point: Point) -> Point:
        """Return the place on the page."""
        return (
            self.corner[0] + self.scale * (point[0] - self.low[0]),
            self.corner[1] + self.scale * (point[1] - self.low[1]),
        )


def paint(
    sheet: Sheet,
    scene: Scene,
    view: View,
    box: Box,
    new: Collection[str],
    old: Collection[str],
    *,
    marked: Collection[str] = (),
    quiet: bool = False,
    anchors: ShownAnchors | None = None,
    beyond: Sequence[Point] = (),
    names: Mapping[str, str] | None = None,
) -> Placing:
    """Paint a step into a box.

    Args:
        sheet: Page.
        scene: Solids.
        view: From where.
        box: Left, bottom, right, top on the page.
        new: Marks of the parts that stand out.
        old: Marks of the parts that stand already.
        marked: Marks to be written beside their parts.
        quiet: Paint new parts without stress (cover picture).
        anchors: Posts, stakes and wires to show.
        beyond: Points of the view that must find room too (arrows).
        names: By mark, what is written in its place.
    """
    seen = scene.seen_from(view)
    shown = set(new) | set(old)
    shapes = seen.only(index for index, part in enumerate(scene.owners) if part.mark in shown)
    beside = [] if anchors is None else anchors.points(view)
    if not shapes and not beside:
        return Placing(1.0, (box[0], box[1]), (0.0, 0.0))
    reach = [point for shape in shapes for point in shape.outline] + beside + list(beyond)
    placing = _placing(_around(reach), box)
    if anchors is not None:
        anchors.draw(sheet, placing.at, placing.scale, view, near=False)
    for shape in shapes:
        part = scene.owners[shape.owner]
        stress = part.mark in new and not quiet
        _paint_shape(sheet, shape, placing, part, scene.see_through(part), stress, quiet)
    if anchors is not None:
        anchors.draw(sheet, placing.at, placing.scale, view, near=True)
        for mark, spot in anchors.marks(view):
            x, y = placing.at(spot)
            _write_mark(sheet, mark, (x, y + 2.6), 2.0, True)
    wanted = [mark for mark in marked if mark in shown]
    _write_marks(sheet, scene, shapes, placing, wanted, names or {})
    return placing


def _around(points: Sequence[Point]) -> Box:
    across, upward = [x for x, _ in points], [y for _, y in points]
    return min(across), min(upward), max(across), max(upward)


def _placing(low_high: Box, box: Box) -> Placing:
    left, bottom, right, top = low_high
    wide, high = max(right - left, 1.0), max(top - bottom, 1.0)
    scale = min((box[2] - box[0]) / wide, (box[3] - box[1]) / high)
    corner = ((box[0] + box[2] - scale * wide) / 2, (box[1] + box[3] - scale * high) / 2)
    return Placing(scale, corner, (left, bottom))


def _paint_shape(
    sheet: Sheet, shape: Shape, placing: Placing, part: Part, clear: bool, new: bool, quiet: bool
) -> None:
    ink = BLACK if new or quiet else FAINT
    pen = stroke_code("narrow", 0.18 if new or quiet else 0.13, ink)
    faces = [[placing.at(point) for point in facet.points] for facet in shape.facets]
    if clear:
        sheet.canvas.setFillAlpha(0.72 if new else 0.28)
    for facet, points in zip(shape.facets, faces, strict=True):
        colour = NEW if new else GLASS if clear else WHITE
        if quiet and part.kind in ("member", "diagonal", "gusset"):
            colour = WOOD
        if not new and not clear:
            colour = _shaded(colour, facet.light)
        whole = all(facet.drawn)
        sheet.ops(fill_code(colour), pen, path_code(points) + (" B" if whole else " f"))
        for place, drawn in enumerate(facet.drawn):
            if drawn and not whole:
                following = points[(place + 1) % len(points)]
                sheet.line(points[place], following, "narrow", 0.45 if new else 0.18, ink)
        if new and clear and _least_side(points) > 4.0:
            sheet.hatch(points, pitch=2.6)
    if clear:
        sheet.canvas.setFillAlpha(1)
    if new and shape.whole:
        sheet.polygon([placing.at(point) for point in shape.outline], None, "wide", 0.45)


def _shaded(base: Ink, light: float) -> Ink:
    share = 0.86 + 0.14 * light
    return (base[0] * share, base[1] * share, base[2] * share)


def _least_side(points: Sequence[Point]) -> float:
    across = [x for x, _ in points]
    upward = [y for _, y in points]
    return min(max(across) - min(across), max(upward) - min(upward))


# --- marks ------------------------------------------------------------------------


def _write_marks(
    sheet: Sheet,
    scene: Scene,
    shapes: Sequence[Shape],
    placing: Placing,
    marks: Sequence[str],
    names: Mapping[str, str],
) -> None:
    spots: list[tuple[str, Point, bool]] = []
    for mark in marks:
        places = [place for place, shape in enumerate(shapes) if scene.owners[shape.owner].mark == mark]
        if places:
            point, open_ = _visible_spot(scene, shapes, places)
            spots.append((mark, placing.at(point), open_))
    for mark, spot, visible in sorted(spots, key=lambda one: (not one[0].isdigit(), one[0])):
        height = 3.5 if mark.isdigit() else 2.5 if mark in names else 2.0
        _write_mark(sheet, names.get(mark, mark), spot, height, visible)


def _visible_spot(scene: Scene, shapes: Sequence[Shape], places: Sequence[int]) -> tuple[Point, bool]:
    """Return a point of a part that no later opaque shape covers, else its middle."""
    first: Point | None = None
    for place in places:
        for facet in sorted(shapes[place].facets, key=lambda one: -_area(one.points)):
            middle = mean_corner(facet.points)
            tries = [middle]
            for corner in facet.points:
                across, upward = corner[0] - middle[0], corner[1] - middle[1]
                tries.append((middle[0] + 0.6 * across, middle[1] + 0.6 * upward))
            first = first or middle
            for point in tries:
                covers = (
                    other
                    for other in shapes[place + 1 :]
                    if scene.owners[other.owner].mark != scene.owners[shapes[place].owner].mark
                    and not scene.see_through(scene.owners[other.owner])
                )
                if not any(_inside(other.outline, point) for other in covers):
                    return point, True
    return first or (0.0, 0.0), False


def _write_mark(sheet: Sheet, mark: str, spot: Point, height: float, visible: bool) -> None:
    wide = text_width(mark, height, BOLD) + 1.2
    for radius in (0.0, 4.0, 6.5, 9.0, 12.0, 16.0, 21.0, 27.0, 34.0):
        for turn in range(1 if radius == 0 else 12):
            angle = math.radians(60 + 30 * turn)
            x, y = spot[0] + radius * math.cos(angle), spot[1] + radius * math.sin(angle)
            box = (x - wide / 2, y - height * 0.8, x + wide / 2, y + height * 0.8)
            if not sheet.is_free(box, 0.3):
                continue
            if radius:
                sheet.line(spot, (x, y), "narrow" if visible else "hidden", 0.18)
                sheet.circle(spot[0], spot[1], 0.45, BLACK)
            sheet.rect(box[0], box[1], box[2] - box[0], box[3] - box[1], WHITE, "narrow", 0.18)
            sheet.text(mark, x, y - height / 2, wide, height, align="centre", bold=True)
            return


def _area(points: Sequence[Point]) -> float:
    return abs(area(points))


def _inside(outline: Sequence[Point], point: Point) -> bool:
    pairs = zip(outline, [*outline[1:], outline[0]], strict=True)
    return all((b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) > 0 for a, b in pairs)
