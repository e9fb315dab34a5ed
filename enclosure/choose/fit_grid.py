"""Which sizes can a shelter take within its clearance windows, and what do they ask for?

A clear box is rounded up to the cutting step, so that between two neighbouring
steps nothing changes: the sizes are finite in number. They are laid out as cells
(side, top), each cell at its roomy end. Two cells are of one *make-up* when they
have the same parts in the same places; between two such cells every part's size
runs one way, so the least sizes at the corners of a block of cells bound every
cell within it.

Units: mm, whole cents.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from enclosure.brief.model import Brief
from enclosure.choose.price import Asked, asked
from enclosure.choose.soundness import Failing
from enclosure.errors import DesignError
from enclosure.nesting.demand import reach_of_drops, sheet_demands_of, slope_of, stick_demands_of
from enclosure.nesting.model import UNITS_PER_MM, SheetJob, StickJob
from enclosure.shape.fit import step_for
from enclosure.shape.model import Design, Part, SheetCut, StickCut
from enclosure.stock.model import Stock

Cell = tuple[int, int]
"""Place of a size: index of the side clearance, index of the top clearance."""
Builder = Callable[[Brief, float, float], Design]
Verdict = Callable[[Design, Brief], tuple[Failing, ...]]
"""Tells which rows of the checks a design fails; nothing when it passes."""


@dataclass(frozen=True, slots=True)
class Block:
    """Cells from `low` to `high`, both ends included, on both axes."""

    low: Cell
    high: Cell

    @property
    def single(self) -> bool:
        """True for one cell."""
        return self.low == self.high

    def corners(self) -> tuple[Cell, ...]:
        """Return the corner cells without repeats, lowest first, highest last."""
        (a, b), (c, d) = self.low, self.high
        return tuple(dict.fromkeys(((a, b), (c, b), (a, d), (c, d))))

    def halves(self) -> tuple[Block, Block]:
        """Return the block cut in two across its longer side."""
        (a, b), (c, d) = self.low, self.high
        return self.cut(0, (a + c) // 2) if c - a >= d - b else self.cut(1, (b + d) // 2)

    def cut(self, axis: int, last: int) -> tuple[Block, Block]:
        """Return the block cut in two on an axis, `last` being the last place of the lower piece."""
        (a, b), (c, d) = self.low, self.high
        if axis == 0:
            return Block((a, b), (last, d)), Block((last + 1, b), (c, d))
        return Block((a, b), (c, last)), Block((a, last + 1), (c, d))


def critical(
    base_sizes: tuple[float, ...], least: float, most: float, per_size: float, step: float
) -> list[float]:
    """Return the clearances in a window at which a rounded size is about to change, and the window's end.

    Args:
        base_sizes: Sizes of the box without the clearance [mm].
        least: Least clearance of the window [mm].
        most: Greatest [mm].
        per_size: How many times the clearance counts in a size: 2 at the sides, 1 at the top.
        step: Cutting step [mm].

    Returns:
        Ascending; each is the greatest clearance that gives its rounded size.
    """
    found = {most}
    for base in base_sizes:
        first = math.ceil((base + per_size * least) / step - 1e-6)
        last = math.floor((base + per_size * most) / step + 1e-6)
        found |= {round((k * step - base) / per_size, 6) for k in range(first, last + 1)}
    inside = sorted(value for value in found if least - 1e-9 <= value <= most + 1e-9)
    thin: list[float] = []
    for value in inside:
        if thin and value - thin[-1] < 1e-4:
            thin[-1] = value
        else:
            thin.append(value)
    return [min(max(value, least), most) for value in thin]


@dataclass
class Grid:
    """All sizes of one variant of a brief.

    Args:
        brief: The brief, its windows wide enough for every cell.
        stock: What can be bought.
        sides: Side clearances, ascending [mm].
        tops: Top clearances, ascending [mm].
        build: Builds the design of a size; raises DesignError where none can be made.
        label: What is special about this variant, for people; empty for the brief as it stands.
        judge: Tells what a design fails; everything passes when None.
    """

    brief: Brief
    stock: Stock
    sides: list[float]
    tops: list[float]
    build: Builder
    label: str = ""
    judge: Verdict | None = None
    built: int = 0
    _cells: dict[Cell, tuple[Design, Asked] | None] = field(default_factory=dict)
    _blocks: dict[Block, Asked | None] = field(default_factory=dict)
    _reasons: dict[Cell, str] = field(default_factory=dict)
    _kinds: dict[Cell, int | None] = field(default_factory=dict)
    _numbers: dict[tuple[tuple[Any, ...], ...], int] = field(default_factory=dict)
    _failing: dict[Cell, tuple[Failing, ...]] = field(default_factory=dict)

    @property
    def whole(self) -> Block:
        """All cells."""
        return Block((0, 0), (len(self.sides) - 1, len(self.tops) - 1))

    def design(self, cell: Cell) -> Design | None:
        """Return the design of a cell; None where none can be made."""
        found = self._at(cell)
        return found[0] if found else None

    def asked(self, cell: Cell) -> Asked | None:
        """Return what a cell asks for."""
        found = self._at(cell)
        return found[1] if found else None

    def _at(self, cell: Cell) -> tuple[Design, Asked] | None:
        if cell not in self._cells:
            self.built += 1
            try:
                design = self.build(self.brief, self.sides[cell[0]], self.tops[cell[1]])
                self._cells[cell] = (design, asked(design, self.stock))
            except DesignError as error:
                self._cells[cell] = None
                self._reasons[cell] = re.sub(r"[\d.]+", "", error.message)
        return self._cells[cell]

    def failing(self, cell: Cell) -> tuple[Failing, ...]:
        """Return what the design of a cell fails; nothing when it passes or cannot be made."""
        if cell not in self._failing:
            design = self.design(cell)
            rows = self.judge(design, self.brief) if self.judge is not None and design is not None else ()
            self._failing[cell] = rows
        return self._failing[cell]

    def sound(self, cell: Cell) -> bool:
        """Return whether the cell can be made and passes its checks."""
        return self.design(cell) is not None and not self.failing(cell)

    def hopeless(self, block: Block) -> bool:
        """Return whether one and the same row fails at every corner of a block of one make-up.

        What a row asks grows or falls with the size as long as the make-up stays, so that it fails between
        the corners too; that is taken as given and tested against every size of a fine grid.
        """
        if not self.failing(block.low) or not self.alike(block):
            return False
        keys = [{row.key for row in self.failing(cell)} for cell in block.corners()]
        return bool(set.intersection(*keys))

    def alike(self, block: Block) -> bool:
        """Return whether all corners of a block are of one make-up."""
        kinds = {self.make_up(cell) for cell in block.corners()}
        return len(kinds) == 1 and None not in kinds

    def make_up(self, cell: Cell) -> int | None:
        """Return a number that two cells share when they are of one make-up; None where none can be made."""
        if cell not in self._kinds:
            design = self.design(cell)
            kind = None if design is None else make_up(design)
            self._kinds[cell] = None if kind is None else self._numbers.setdefault(kind, len(self._numbers))
        return self._kinds[cell]

    def empty(self, block: Block) -> bool:
        """Return whether no corner of the block can be made, for one and the same reason but for its numbers.

        Between them none can be made either: taken as given and tested like `hopeless`.
        """
        if any(self.design(cell) is not None for cell in block.corners()):
            return False
        return len({self._reasons[cell] for cell in block.corners()}) == 1

    def least_asked(self, block: Block) -> Asked | None:
        """Return jobs that no cell of a block can undercut; None unless all is of one make-up."""
        if block not in self._blocks:
            self._blocks[block] = self._least_asked(block) if self.alike(block) else None
        return self._blocks[block]

    def _least_asked(self, block: Block) -> Asked:
        corners = block.corners()
        designs = [d for cell in corners if (d := self.design(cell)) is not None]
        parts = least_parts(list(zip(*(d.parts for d in designs), strict=True)))
        jobs: list[tuple[str, SheetJob | StickJob]] = [
            (demand.material, demand.job) for demand in stick_demands_of(parts, self.stock)
        ]
        jobs += [(demand.material, demand.job) for demand in sheet_demands_of(parts, self.stock)]
        fixed = min(found.fixed_cents for cell in corners if (found := self.asked(cell)) is not None)
        return Asked(tuple(jobs), fixed)


def make_up(design: Design) -> tuple[tuple[Any, ...], ...]:
    """Return which parts stand where, without their sizes."""
    return tuple((p.kind, p.role, p.face, p.level, p.bay, p.tier, p.layer, p.material) for p in design.parts)


def least_parts(rows: list[tuple[Part, ...]]) -> list[Part]:
    """Return for each row of twins a part no larger, without the sheet parts that may be cut from another's drop."""
    parts = [least_part(twins) for twins in rows]
    drops: dict[str, list[tuple[float, float]]] = {}
    for twins in rows:
        reach = [reach_of_drops(twin.cut) for twin in twins if isinstance(twin.cut, SheetCut)]
        if any(down for _, down in reach):
            largest = max(across for across, _ in reach), max(down for _, down in reach)
            drops.setdefault(twins[0].material, []).append(largest)
    return [part for part in parts if not _may_drop(part, drops.get(part.material, []))]


def _may_drop(part: Part, drops: list[tuple[float, float]]) -> bool:
    cut = part.cut
    if not isinstance(cut, SheetCut) or len(cut.outline) != 4:
        return False
    sizes = [(cut.width_mm, cut.height_mm), (cut.height_mm, cut.width_mm)]
    return any(w / across + h / down <= 1.0 for across, down in drops for w, h in sizes[: 1 + cut.turnable])


def least_part(twins: tuple[Part, ...]) -> Part:
    """Return a part no larger than any of its twins; sloped sheets as rectangles of their mean height."""
    first = twins[0]
    if isinstance(first.cut, StickCut):
        length = min(t.cut.length_mm for t in twins if isinstance(t.cut, StickCut))
        return replace(first, cut=StickCut(length))
    cuts = [t.cut for t in twins if isinstance(t.cut, SheetCut)]
    if len(cuts) == len({(c.width_mm, c.height_mm) for c in cuts}) == 1 and slope_of(cuts[0]) is None:
        return first
    width = min(cut.width_mm for cut in cuts)
    height = min(_mean_height(cut) for cut in cuts)
    outline = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    turnable = all(cut.turnable and slope_of(cut) is None for cut in cuts)
    return replace(first, cut=SheetCut(width, height, outline, turnable))


def _mean_height(cut: SheetCut) -> float:
    slope = slope_of(cut)
    return cut.height_mm if slope is None else (sum(slope) // 2) / UNITS_PER_MM


def grid_for(
    brief: Brief,
    stock: Stock,
    build: Builder,
    ring_mm: float,
    look_mm: tuple[float, float],
    label: str = "",
    judge: Verdict | None = None,
) -> tuple[Grid, Block]:
    """Return the cells of a brief, reaching `look_mm` (side, top) beyond its windows, and the block inside them.

    Args:
        brief: The brief with its windows.
        stock: What can be bought.
        build: Builds a design from a brief, a side and a top clearance.
        ring_mm: Height of the base ring.
        look_mm: How far to look beyond the windows, to find near misses; 0 for not at all.
        label: What is special about this variant.
        judge: Tells what a design fails; everything passes when None.
    """
    plant, step, years = brief.plant, step_for(brief.papers.units), brief.winters
    side, top = brief.clearance.side, brief.clearance.top
    spreads = tuple(s + years * plant.growth_spread_mm for s in (plant.spread_x_mm, plant.spread_y_mm))
    tall = plant.crown_mm + plant.height_mm + years * plant.growth_height_mm - ring_mm
    sides, side_span = _with_look(spreads, side.least_mm, side.most_mm, 2, step, look_mm[0])
    tops, top_span = _with_look((tall,), top.least_mm, top.most_mm, 1, step, look_mm[1])
    wider = brief.clearance.model_copy(
        update={
            "side": side.model_copy(update={"least_mm": sides[0], "most_mm": sides[-1]}),
            "top": top.model_copy(update={"least_mm": tops[0], "most_mm": tops[-1]}),
        }
    )
    grid = Grid(brief.model_copy(update={"clearance": wider}), stock, sides, tops, build, label, judge)
    return grid, Block((side_span[0], top_span[0]), (side_span[1], top_span[1]))


def _with_look(
    bases: tuple[float, ...], least: float, most: float, per_size: float, step: float, look: float
) -> tuple[list[float], tuple[int, int]]:
    inside = critical(bases, least, most, per_size, step)
    if look <= 0:
        return inside, (0, len(inside) - 1)
    low = max(0.0, least - look)
    before = [v for v in critical(bases, low, least, per_size, step) if v < least - 1e-4]
    after = [v for v in critical(bases, most, most + look, per_size, step) if v > most + 1e-4]
    return [*before, *inside, *after], (len(before), len(before) + len(inside) - 1)
