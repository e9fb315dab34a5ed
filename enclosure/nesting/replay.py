"""Where does each part lie on its sheet, and in which order are the cuts made?

Turns the tree of cuts of one pattern into lists that papers and pictures can
draw. Positions are measured on the whole stock sheet, before trim, from its
lower left corner: x along its width, y along its height (the flutes).

Units: 1/10 000 mm.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from enclosure.nesting.model import Cut, Node, Pair, Part, Pattern, SheetJob

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
            at the fence; for a slope the distance up the left edge.
        piece: Name of the piece that the cut divides: "sheet", or the cut and
            side it came from, such as "3a".
        near: What lies on the near side: the key of a part, or the name of a piece.
        far: The same for the far side; empty when only a sliver falls off.
        stage: 0 for trim, then 1 for the first direction, 2 for the next, ...
        start: Where the saw enters [units on the sheet], on the near side of the kerf.
        end: Where it leaves.
        trim: True for a trim cut of the sheet.
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


def placements(job: SheetJob, pattern: Pattern) -> list[Placed]:
    """Return the parts of one sheet cut after `pattern`, near before far."""
    shapes = {kind.key: kind for kind in job.kinds}
    placed: list[Placed] = []
    for piece in _leaves(job, pattern):
        x, y, width, height = piece.x, piece.y, piece.width, piece.height
        if isinstance(piece.node, Part):
            corners = _corners(x, y, width, height)
            kind = shapes[piece.node.key]
            if kind.slope is not None:
                corners = _sloped_outline(x, y, kind.width, kind.slope, turned=piece.node.turned)
            placed.append(Placed(x, y, width, height, piece.node.key, piece.node.turned, outline=corners))
        elif isinstance(piece.node, Pair):
            low, high = shapes[piece.node.low], shapes[piece.node.high]
            if low.slope is None or high.slope is None:
                continue
            top = y + height
            placed.append(
                Placed(x, y, width, low.height, low.key, outline=_sloped_outline(x, y, width, low.slope))
            )
            outline = ((x, top - high.slope[1]), (x + width, top - high.slope[0]), (x + width, top), (x, top))
            placed.append(
                Placed(
                    x,
                    top - high.height,
                    width,
                    high.height,
                    high.key,
                    flipped=True,
                    outline=_without_twins(outline),
                )
            )
    return placed


def leftovers(job: SheetJob, pattern: Pattern) -> list[Left]:
    """Return the rectangles that no part uses, near before far."""
    return [
        Left(piece.x, piece.y, piece.width, piece.height, piece.node.keep)
        for piece in _leaves(job, pattern)
        if not isinstance(piece.node, (Cut, Part, Pair))
    ]


def cut_sequence(job: SheetJob, pattern: Pattern) -> list[CutStep]:
    """Return the cuts in an order in which a saw can make them.

    Trim cuts come first. Then all cuts of one direction through a piece are
    made before any of the pieces they leave is turned, so that the fence is
    set for one direction at a time.
    """
    steps = list(_trim_steps(job, pattern))
    waiting = [_root(job, pattern)]
    while waiting:
        piece = waiting.pop()
        run, later = [piece], list[_Piece]()
        while run:
            current = run.pop()
            if isinstance(current.node, Pair):
                steps.append(_slope_step(job, current, len(steps) + 1))
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
        waiting.extend(sorted(later, key=lambda side: (-side.y, -side.x)))
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
    if cut.axis == "x":
        near = _Piece(cut.near, piece.x, piece.y, cut.at, piece.height, f"{number}a", stage, "x")
        if cut.far is None:
            return near, None
        return near, _Piece(
            cut.far, piece.x + beyond, piece.y, piece.width - beyond, piece.height, f"{number}b", stage, "x"
        )
    near = _Piece(cut.near, piece.x, piece.y, piece.width, cut.at, f"{number}a", stage, "y")
    if cut.far is None:
        return near, None
    return near, _Piece(
        cut.far, piece.x, piece.y + beyond, piece.width, piece.height - beyond, f"{number}b", stage, "y"
    )


def _leaves(job: SheetJob, pattern: Pattern) -> Iterator[_Piece]:
    pieces = [_root(job, pattern)]
    while pieces:
        piece = pieces.pop()
        if isinstance(piece.node, Cut):
            near, far = _split(job.kerf, piece, 0)
            pieces.extend(side for side in (far, near) if side is not None)
        else:
            yield piece


# --- steps ------------------------------------------------------------------------


def _label(piece: _Piece | None) -> str:
    if piece is None:
        return ""
    return piece.node.key if isinstance(piece.node, Part) else piece.name


def _step(piece: _Piece, near: _Piece, far: _Piece | None, number: int) -> CutStep:
    cut = piece.node
    assert isinstance(cut, Cut)
    if cut.axis == "x":
        start = (piece.x + cut.at, piece.y)
        end = (piece.x + cut.at, piece.y + piece.height)
    else:
        start = (piece.x, piece.y + cut.at)
        end = (piece.x + piece.width, piece.y + cut.at)
    return CutStep(number, cut.axis, cut.at, piece.name, _label(near), _label(far), near.stage, start, end)


def _slope_step(job: SheetJob, piece: _Piece, number: int) -> CutStep:
    pair = piece.node
    assert isinstance(pair, Pair)
    low = next(kind for kind in job.kinds if kind.key == pair.low)
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
