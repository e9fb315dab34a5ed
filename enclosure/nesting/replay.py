"""Where does each part lie on its sheet, and in which order are the cuts made?

Turns the tree of cuts of one pattern into lists that papers and pictures can
draw. Positions are measured on the whole stock sheet, before trim, from its
lower left corner: x along its width, y along its height (the flutes).

Units: 1/10 000 mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

from enclosure.nesting.drops import Drop, drops_of
from enclosure.nesting.model import Cut, Filled, Node, Pair, Part, PartKind, Pattern, SheetJob

Point = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Placed:
    """One part on its sheet.

    Args:
        x: Left edge of the rectangle around the part [units].
        y: Lower edge [units].
        width: [units], along x as the part lies.
        height: [units], along y as the part lies.
        key: Kind of the part.
        turned: Lies turned by 90 degrees.
        flipped: Lies turned by 180 degrees (the upper part of a pair).
        outline: Corners of the part itself, anticlockwise.
    """

    x: int
    y: int
    width: int
    height: int
    key: str
    turned: bool = False
    flipped: bool = False
    outline: tuple[Point, ...] = ()


@dataclass(frozen=True, slots=True)
class Left:
    """A rectangle that no part uses: an offcut when `keep`, else waste."""

    x: int
    y: int
    width: int
    height: int
    keep: bool


@dataclass(frozen=True, slots=True)
class CutStep:
    """One pass of the saw.

    Args:
        number: 1 for the first cut made.
        axis: "x" for a rip at a fixed x, "y" for a crosscut at a fixed y,
            "slope" for the sloped cut of a pair.
        at: Distance from the piece's left or lower edge to the cut [units], as set
            at the fence; in a drop from the straight edge at its square corner. For a
            slope the distance up the left edge, for the right slope of a gable up the right.
        piece: Name of the piece that the cut divides: "sheet", or the cut and
            side it came from, such as "3a".
        near: What lies on the near side: the key of a part, or the name of a piece.
        far: The same for the far side; empty when only a sliver falls off.
        stage: 0 for trim, then 1 for the first direction, 2 for the next, ...
        start: Where the saw enters [units on the sheet], on the near side of the kerf.
        end: Where it leaves.
        trim: True for a trim cut of the sheet.
        corner: For a cut in a drop the corner of the part that the drop comes from.
    """

    number: int
    axis: Literal["x", "y", "slope"]
    at: int
    piece: str
    near: str
    far: str
    stage: int
    start: Point
    end: Point
    trim: bool = False
    corner: Literal["", "left", "right"] = ""


@dataclass(frozen=True, slots=True)
class _Corner:
    """The square corner of a drop on the sheet: x and y are measured from it, away from the side and down."""

    x: int
    y: int
    side: Literal["left", "right"]
    drop: Drop


@dataclass(frozen=True, slots=True)
class _Piece:
    node: Node
    x: int
    y: int
    width: int
    height: int
    name: str
    stage: int
    axis: str
    corner: _Corner | None = None

    @property
    def left(self) -> int:
        """Its left edge on the sheet [units]."""
        if self.corner is None:
            return self.x
        if self.corner.side == "left":
            return self.corner.x + self.x
        return self.corner.x - self.x - self.width

    @property
    def low(self) -> int:
        """Its lower edge on the sheet [units]."""
        return self.y if self.corner is None else self.corner.y - self.y - self.height


def placements(job: SheetJob, pattern: Pattern) -> list[Placed]:
    """Return the parts of one sheet cut after `pattern`, near before far."""
    shapes = {kind.key: kind for kind in job.kinds}
    placed: list[Placed] = []
    for piece in _leaves(job, pattern):
        x, y, width, height = piece.left, piece.low, piece.width, piece.height
        if isinstance(piece.node, (Part, Filled)):
            turned = isinstance(piece.node, Part) and piece.node.turned
            outline = _outline(shapes[piece.node.key], x, y, turned=turned)
            placed.append(Placed(x, y, width, height, piece.node.key, turned, outline=outline))
        elif isinstance(piece.node, Pair):
            low, high = shapes[piece.node.low], shapes[piece.node.high]
            if low.slope is None or high.slope is None:
                continue
            top = y + height
            placed.append(
                Placed(x, y, width, low.height, low.key, outline=_sloped_outline(x, y, width, low.slope))
            )
            corners = ((x, top - high.slope[1]), (x + width, top - high.slope[0]), (x + width, top), (x, top))
            placed.append(
                Placed(
                    x,
                    top - high.height,
                    width,
                    high.height,
                    high.key,
                    flipped=True,
                    outline=_without_twins(corners),
                )
            )
    return placed


def leftovers(job: SheetJob, pattern: Pattern) -> list[Left]:
    """Return the rectangles that no part uses, near before far; what is left of a drop is no rectangle."""
    return [
        Left(piece.x, piece.y, piece.width, piece.height, piece.node.keep)
        for piece in _leaves(job, pattern)
        if not isinstance(piece.node, (Part, Pair, Filled, Cut)) and piece.corner is None
    ]


def cut_sequence(job: SheetJob, pattern: Pattern) -> list[CutStep]:
    """Return the cuts in an order in which a saw can make them.

    Trim cuts come first. Then all cuts of one direction through a piece are
    made before any of the pieces they leave is turned, so that the fence is
    set for one direction at a time. Drops are cut once they have fallen.
    """
    shapes = {kind.key: kind for kind in job.kinds}
    steps = list(_trim_steps(job, pattern))
    waiting = [_root(job, pattern)]
    while waiting:
        piece = waiting.pop()
        run, later = [piece], list[_Piece]()
        while run:
            current = run.pop()
            if isinstance(current.node, Pair):
                steps.append(_slope_step(shapes, current, len(steps) + 1))
            if isinstance(current.node, Filled):
                for step, drop in _freed(shapes, job.kerf, current, len(steps) + 1):
                    steps.append(step)
                    later.extend(drop)
            if not isinstance(current.node, Cut):
                continue
            number = len(steps) + 1
            near, far = _split(job.kerf, current, number)
            steps.append(_step(current, near, far, number))
            for side in (far, near):
                if side is None:
                    continue
                same = isinstance(side.node, Cut) and side.node.axis == current.node.axis
                (run if same else later).append(side)
        waiting.extend(sorted(later, key=lambda side: (-side.low, -side.left)))
    return steps


# --- walking the tree -------------------------------------------------------------


def _root(job: SheetJob, pattern: Pattern) -> _Piece:
    sheet = next(sheet for sheet in job.sheets if sheet.key == pattern.sheet)
    trim = sheet.trim
    return _Piece(pattern.root, trim, trim, sheet.width - 2 * trim, sheet.height - 2 * trim, "sheet", 0, "")


def _split(kerf: int, piece: _Piece, number: int) -> tuple[_Piece, _Piece | None]:
    cut = piece.node
    assert isinstance(cut, Cut)
    stage = piece.stage + (cut.axis != piece.axis)
    beyond = cut.at + kerf
    near = replace(piece, node=cut.near, name=f"{number}a", stage=stage, axis=cut.axis)
    near = replace(near, width=cut.at) if cut.axis == "x" else replace(near, height=cut.at)
    if cut.far is None:
        return near, None
    far = replace(piece, node=cut.far, name=f"{number}b", stage=stage, axis=cut.axis)
    if cut.axis == "x":
        return near, replace(far, x=piece.x + beyond, width=piece.width - beyond)
    return near, replace(far, y=piece.y + beyond, height=piece.height - beyond)


def _leaves(job: SheetJob, pattern: Pattern) -> Iterator[_Piece]:
    shapes = {kind.key: kind for kind in job.kinds}
    pieces = [_root(job, pattern)]
    while pieces:
        piece = pieces.pop()
        if isinstance(piece.node, Cut):
            near, far = _split(job.kerf, piece, 0)
            pieces.extend(side for side in (far, near) if side is not None)
            continue
        yield piece
        if isinstance(piece.node, Filled):
            pieces.extend(reversed([drop for _, drop in _drops(shapes, job.kerf, piece) if drop is not None]))


def _drops(shapes: dict[str, PartKind], kerf: int, piece: _Piece) -> Iterator[tuple[Drop, _Piece | None]]:
    """Yield the drops of a filled piece, left before right; no piece for one that is waste."""
    filled = piece.node
    assert isinstance(filled, Filled)
    sides: tuple[Literal["left", "right"], ...] = ("left", "right")
    for side, drop, tree in zip(sides, drops_of(shapes[filled.key], kerf), (filled.left, filled.right), strict=True):
        if drop is None:
            continue
        edge = piece.x if side == "left" else piece.x + piece.width
        corner = _Corner(edge, piece.y + piece.height, side, drop)
        room = None if tree is None else _Piece(tree, 0, 0, drop.width, drop.rise, "", piece.stage, "", corner)
        yield drop, room


# --- steps ------------------------------------------------------------------------


def _label(piece: _Piece | None) -> str:
    if piece is None:
        return ""
    return piece.node.key if isinstance(piece.node, Part) else piece.name


def _step(piece: _Piece, near: _Piece, far: _Piece | None, number: int) -> CutStep:
    cut = piece.node
    assert isinstance(cut, Cut)
    if piece.corner is not None:
        start, end = _line_in_drop(piece, piece.corner, cut)
    elif cut.axis == "x":
        start = (piece.x + cut.at, piece.y)
        end = (piece.x + cut.at, piece.y + piece.height)
    else:
        start = (piece.x, piece.y + cut.at)
        end = (piece.x + piece.width, piece.y + cut.at)
    corner = "" if piece.corner is None else piece.corner.side
    return CutStep(
        number, cut.axis, cut.at, piece.name, _label(near), _label(far), near.stage, start, end, corner=corner
    )


def _line_in_drop(piece: _Piece, corner: _Corner, cut: Cut) -> tuple[Point, Point]:
    """Return the left or lower side of a kerf in a drop, from the straight edge to where its middle meets the slope."""
    sign = 1 if corner.side == "left" else -1
    kerf = corner.drop.kerf
    if cut.axis == "x":
        across = piece.x + cut.at
        down = min(piece.y + piece.height, max(piece.y, corner.drop.down_at(across + kerf // 2)))
        x = corner.x + sign * across - (kerf if sign < 0 else 0)
        return (x, corner.y - piece.y), (x, corner.y - down)
    down = piece.y + cut.at
    across = min(piece.x + piece.width, max(piece.x, corner.drop.across_at(down + kerf // 2)))
    y = corner.y - down - kerf
    return (corner.x + sign * piece.x, y), (corner.x + sign * across, y)


def _freed(
    shapes: dict[str, PartKind], kerf: int, piece: _Piece, number: int
) -> Iterator[tuple[CutStep, list[_Piece]]]:
    """Yield the sloped cuts of a filled piece, each with the drop it frees where parts are cut from that."""
    filled = piece.node
    assert isinstance(filled, Filled)
    kind = shapes[filled.key]
    drops = list(_drops(shapes, kerf, piece))
    top, right = piece.y + kind.height, piece.x + kind.width
    for place, (drop, room) in enumerate(drops):
        falls = drop.side == "left"
        start = (piece.x, top - drop.rise) if falls else (right - drop.width, top)
        end = (piece.x + drop.width, top) if falls else (right, top - drop.rise)
        rest = f"{number}a" if place + 1 < len(drops) else filled.key
        beyond = "" if room is None else f"{number}b"
        at = (end if drop.both and not falls else start)[1] - piece.y
        step = CutStep(number, "slope", at, piece.name, rest, beyond, piece.stage, start, end)
        yield step, [] if room is None else [replace(room, name=beyond)]
        piece, number = replace(piece, name=rest), number + 1


def _slope_step(shapes: dict[str, PartKind], piece: _Piece, number: int) -> CutStep:
    pair = piece.node
    assert isinstance(pair, Pair)
    low = shapes[pair.low]
    left, right = low.slope if low.slope is not None else (low.height, low.height)
    start = (piece.x, piece.y + left)
    end = (piece.x + piece.width, piece.y + right)
    return CutStep(number, "slope", left, piece.name, pair.low, pair.high, piece.stage, start, end)


def _trim_steps(job: SheetJob, pattern: Pattern) -> Iterator[CutStep]:
    sheet = next(sheet for sheet in job.sheets if sheet.key == pattern.sheet)
    trim, width, height = sheet.trim, sheet.width, sheet.height
    if trim <= 0:
        return
    lines: list[tuple[Literal["x", "y"], int, Point, Point]] = [
        ("y", trim, (0, trim), (width, trim)),
        ("y", height - trim, (0, height - trim), (width, height - trim)),
        ("x", trim, (trim, trim), (trim, height - trim)),
        ("x", width - trim, (width - trim, trim), (width - trim, height - trim)),
    ]
    for number, (axis, at, start, end) in enumerate(lines, start=1):
        yield CutStep(number, axis, at, "sheet", "sheet", "", 0, start, end, trim=True)


# --- outlines ---------------------------------------------------------------------


def _outline(kind: PartKind, x: int, y: int, *, turned: bool) -> tuple[Point, ...]:
    """Return the corners of a part whose rectangle stands at (x, y); a turned gable as its rectangle."""
    if kind.slope is not None:
        return _sloped_outline(x, y, kind.width, kind.slope, turned=turned)
    width, height = (kind.height, kind.width) if turned else (kind.width, kind.height)
    if kind.gable is None or turned:
        return _corners(x, y, width, height)
    left, peak, right = kind.gable
    return ((x, y), (x + width, y), (x + width, y + right), (x + peak, y + height), (x, y + left))


def _corners(x: int, y: int, width: int, height: int) -> tuple[Point, ...]:
    return ((x, y), (x + width, y), (x + width, y + height), (x, y + height))


def _sloped_outline(
    x: int, y: int, width: int, slope: tuple[int, int], *, turned: bool = False
) -> tuple[Point, ...]:
    """Return a right trapezoid or triangle standing on y, or turned anticlockwise by 90 degrees."""
    left, right = slope
    points = ((0, 0), (width, 0), (width, right), (0, left))
    if turned:
        tall = max(left, right)
        points = tuple((tall - up, across) for across, up in points)  # type: ignore[assignment]
    return _without_twins(tuple((x + across, y + up) for across, up in points))


def _without_twins(points: tuple[Point, ...]) -> tuple[Point, ...]:
    return tuple(point for index, point in enumerate(points) if point != points[index - 1])
