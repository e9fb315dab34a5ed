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
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from enclosure.brief.model import Brief
from enclosure.choose.price import Asked, asked
from enclosure.errors import DesignError
from enclosure.nesting.demand import sheet_demands_of, slope_of, stick_demands_of
from enclosure.nesting.model import UNITS_PER_MM, SheetJob, StickJob
from enclosure.shape.fit import step_for
from enclosure.shape.model import Design, Part, SheetCut, StickCut
from enclosure.stock.model import Stock

Cell = tuple[int, int]
"""Place of a size: index of the side clearance, index of the top clearance."""
Builder = Callable[[Brief, float, float], Design]


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
        if c - a >= d - b:
            middle = (a + c) // 2
            return Block((a, b), (middle, d)), Block((middle + 1, b), (c, d))
        middle = (b + d) // 2
        return Block((a, b), (c, middle)), Block((a, middle + 1), (c, d))


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
    """

    brief: Brief
    stock: Stock
    sides: list[float]
    tops: list[float]
    build: Builder
    label: str = ""
    built: int = 0
    _cells: dict[Cell, tuple[Design, Asked] | None] = field(default_factory=dict)
    _blocks: dict[Block, Asked | None] = field(default_factory=dict)

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
            except DesignError:
                self._cells[cell] = None
        return self._cells[cell]

    def alike(self, block: Block) -> bool:
        """Return whether all corners of a block are of one make-up."""
        designs = [self.design(cell) for cell in block.corners()]
        if any(design is None for design in designs):
            return False
        return len({make_up(design) for design in designs if design is not None}) == 1

    def empty(self, block: Block) -> bool:
        """Return whether no corner of the block can be made."""
        return all(self.design(cell) is None for cell in block.corners())

    def least_asked(self, block: Block) -> Asked | None:
        """Return jobs that no cell of a block can undercut; None unless all is of one make-up."""
        if block not in self._blocks:
            self._blocks[block] = self._least_asked(block) if self.alike(block) else None
        return self._blocks[block]

    def _least_asked(self, block: Block) -> Asked:
        corners = block.corners()
        designs = [d for cell in corners if (d := self.design(cell)) is not None]
        parts = [least_part(twins) for twins in zip(*(d.parts for d in designs), strict=True)]
        jobs: list[tuple[str, SheetJob | StickJob]] = [
            (demand.material, demand.job) for demand in stick_demands_of(parts, self.stock)
        ]
        jobs += [(demand.material, demand.job) for demand in sheet_demands_of(parts, self.stock)]
        fixed = min(found.fixed_cents for cell in corners if (found := self.asked(cell)) is not None)
        return Asked(tuple(jobs), fixed)


def make_up(design: Design) -> tuple[tuple[Any, ...], ...]:
    """Return which parts stand where, without their sizes."""
    return tuple((p.kind, p.role, p.face, p.level, p.bay, p.tier, p.layer, p.material) for p in design.parts)


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
    brief: Brief, stock: Stock, build: Builder, ring_mm: float, look_mm: tuple[float, float], label: str = ""
) -> tuple[Grid, Block]:
    """Return the cells of a brief, reaching `look_mm` (side, top) beyond its windows, and the block inside them.

    Args:
        brief: The brief with its windows.
        stock: What can be bought.
        build: Builds a design from a brief, a side and a top clearance.
        ring_mm: Height of the base ring.
        look_mm: How far to look beyond the windows, to find near misses; 0 for not at all.
        label: What is special about this variant.
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
    grid = Grid(brief.model_copy(update={"clearance": wider}), stock, sides, tops, build, label)
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
