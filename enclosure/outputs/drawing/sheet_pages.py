"""What is on each cut sheet and each cut stick: parts with marks, cuts in order, rests?

Joins a cutting plan with the marks behind its kinds (see nesting.plans) for
whoever draws it. Units: 1/10 000 mm as in the plan, unless a name says mm.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from enclosure.nesting.model import UNITS_PER_MM, Pattern, SheetKind, StickKind
from enclosure.nesting.plans import MarkDealer, MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.replay import CutStep, Left, Placed, cut_sequence, leftovers, placements
from enclosure.shape.model import Design, Point, SheetCut
from enclosure.shape.space import area


def mm(units: int) -> float:
    """Return plan units as mm."""
    return units / UNITS_PER_MM


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One sheet pattern: `marks` holds for each part the marks that its copies get."""

    sheets: MaterialSheets
    pattern: Pattern
    kind: SheetKind
    parts: tuple[Placed, ...]
    marks: tuple[tuple[str, ...], ...]
    cuts: tuple[CutStep, ...]
    rests: tuple[Left, ...]

    @property
    def copies(self) -> int:
        """Return how many sheets are cut alike."""
        return self.pattern.copies


@dataclass(frozen=True, slots=True)
class StickRow:
    """One stick: pieces as (mark, start, length) in cutting order."""

    kind: StickKind
    pieces: tuple[tuple[str, int, int], ...]

    @property
    def rest(self) -> int:
        """Return what is left beyond the last piece."""
        end = max((start + length for _, start, length in self.pieces), default=0)
        return self.kind.length - end


def sheet_pages(plans: Plans) -> Iterator[SheetPage]:
    """Yield all patterns of all sheet materials cut at home, with the marks handed out in plan order."""
    for sheets in plans.sheet_jobs:
        if sheets.ordered:
            continue
        dealer = MarkDealer(sheets.marks)
        kinds = {kind.key: kind for kind in sheets.job.sheets}
        for pattern in sheets.plan.patterns:
            parts = tuple(placements(sheets.job, pattern))
            dealt = [[dealer.take(part.key) for part in parts] for _ in range(pattern.copies)]
            yield SheetPage(
                sheets,
                pattern,
                kinds[pattern.sheet],
                parts,
                tuple(zip(*dealt, strict=True)),
                tuple(cut_sequence(sheets.job, pattern)),
                tuple(leftovers(sheets.job, pattern)),
            )


def stick_rows(sticks: MaterialSticks) -> list[StickRow]:
    """Return every stick of a material, copies one by one because their marks differ."""
    dealer = MarkDealer(sticks.marks)
    kinds = {kind.key: kind for kind in sticks.job.sticks}
    lengths = {part.key: part.length for part in sticks.job.parts}
    return [
        StickRow(
            kinds[pattern.stick],
            tuple((dealer.take(piece.key), piece.start, lengths[piece.key]) for piece in pattern.pieces),
        )
        for pattern in sticks.plan.patterns
        for _ in range(pattern.copies)
    ]


def gives(page: SheetPage, step: CutStep) -> tuple[str, str]:
    """Return what a cut leaves on its near and far side: marks of a part, or the name of a piece."""
    kerf = page.sheets.job.kerf
    x, y = step.start

    def marks(name: str, found: Callable[[Placed], bool]) -> str:
        for part, names in zip(page.parts, page.marks, strict=True):
            if part.key == name and found(part):
                return ", ".join(names)
        return name

    across = step.axis == "x"

    def before(p: Placed) -> bool:
        return (p.x + p.width == x) if across else (p.y + p.height == y)

    def beyond(p: Placed) -> bool:
        return (p.x == x + kerf) if across else (p.y == y + kerf)

    def level(p: Placed) -> bool:
        """A cut starts at the lower or left edge of its piece, in a drop at the straight one."""
        if across:
            return y == p.y + (p.height if step.corner else 0)
        return x == p.x + (p.width if step.corner == "right" else 0)

    if step.axis != "slope":
        back = step.corner == "right" or (step.corner == "left" and not across)
        near, far = (beyond, before) if back else (before, beyond)
        return marks(step.near, lambda p: near(p) and level(p)), marks(step.far, lambda p: far(p) and level(p))

    def over(p: Placed) -> bool:
        return p.flipped and p.x == x and p.y <= y + 2 * kerf <= p.y + p.height + 2 * kerf

    return marks(step.near, lambda p: not p.flipped and step.start in p.outline), marks(step.far, over)


def cut_to_shape(design: Design, part: Placed, marks: Sequence[str]) -> bool:
    """Return whether a part comes off the saw as a rectangle and is cut to its own shape afterwards."""
    filled = abs(abs(area(part.outline)) - part.width * part.height) < 1
    return filled and not all(_is_box(shape) for shape in _shapes(design, marks))


def own_outline(design: Design, part: Placed, marks: Sequence[str]) -> tuple[Point, ...] | None:
    """Return the outline [mm on the sheet] that is cut out of a part's rectangle afterwards.

    None when there is nothing more to cut, or when the copies of a part that is drawn once are of several shapes.
    """
    shapes = _shapes(design, marks)
    if not cut_to_shape(design, part, marks) or any(shape != shapes[0] for shape in shapes):
        return None
    outline = shapes[0]
    if part.turned:  # by a quarter turn to the left
        high = max(y for _, y in outline)
        outline = tuple((high - y, x) for x, y in outline)
    return tuple((mm(part.x) + x, mm(part.y) + y) for x, y in outline)


def _shapes(design: Design, marks: Sequence[str]) -> list[tuple[Point, ...]]:
    wanted = set(marks)
    return [part.cut.outline for part in design.parts if part.mark in wanted and isinstance(part.cut, SheetCut)]


def _is_box(outline: tuple[Point, ...]) -> bool:
    wide, high = (max(point[axis] for point in outline) for axis in (0, 1))
    return abs(abs(area(outline)) - wide * high) < 0.01
