"""What do the patterns found so far say about the least price, in linear programs over HiGHS?

Rows: for each kind of part, at least the copies wanted; for each finite bin, no
more sticks than there are; for a stick of several clear stretches, as many
patterns of a stretch as sticks. A column is one pattern of one stretch, or one
stick of several stretches.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.solver import quiet_highs
from enclosure.nesting.sticks_price import IntArray
from enclosure.nesting.sticks_problem import Problem, shape_is_plain

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Slot:
    """A kind of clear stretch that patterns can be cut from.

    Args:
        bin: Index of its bin.
        version: Index of the version of the stick.
        place: Index of the stretch in the version.
        capacity: [steps]
        price: Price of a pattern: that of the stick, or 0 in a bundle [money steps].
        row: Row that a pattern counts in; -1 for none.
    """

    bin: int
    version: int
    place: int
    capacity: int
    price: int
    row: int


@dataclass(frozen=True, slots=True)
class Stick:
    """A stick of several stretches: it costs its price and opens its slots' rows."""

    bin: int
    version: int
    rows: tuple[int, ...]
    copies_row: int


@dataclass(frozen=True, slots=True)
class Layout:
    """Rows and slots of a problem.

    Args:
        slots: What patterns can be cut from.
        sticks: Sticks of several stretches.
        limits: Right-hand sides of the rows after those of the kinds.
        copies_rows: For each bin the row that limits its sticks; -1 for none.
    """

    slots: tuple[Slot, ...]
    sticks: tuple[Stick, ...]
    limits: tuple[int, ...]
    copies_rows: tuple[int, ...]


def lay_out(problem: Problem) -> Layout:
    """Return the rows, slots and sticks of a problem."""
    kinds = len(problem.sizes)
    slots: list[Slot] = []
    sticks: list[Stick] = []
    limits: list[int] = []
    copies_rows: list[int] = []
    for index, item in enumerate(problem.bins):
        copies_row = -1
        if item.copies is not None:
            copies_row = kinds + len(limits)
            limits.append(min(item.copies, sum(problem.wanted)))
        copies_rows.append(copies_row)
        if shape_is_plain(item):
            slots.append(Slot(index, 0, 0, item.versions[0][0].capacity, item.price, copies_row))
            continue
        for number, version in enumerate(item.versions):
            rows = []
            for place, stretch in enumerate(version):
                rows.append(kinds + len(limits))
                slots.append(Slot(index, number, place, stretch.capacity, 0, rows[-1]))
                limits.append(0)
            sticks.append(Stick(index, number, tuple(rows), copies_row))
    return Layout(tuple(slots), tuple(sticks), tuple(limits), tuple(copies_rows))


class Master:
    """The linear program over the patterns known, kept warm between solves."""

    def __init__(self, problem: Problem, layout: Layout) -> None:
        self.problem, self.layout = problem, layout
        self.kinds = len(problem.sizes)
        self.solver = quiet_highs()
        self.infinity = float("inf")
        self.wanted = np.array(problem.wanted, dtype=np.int64)
        self.limits = np.array(layout.limits, dtype=np.int64)
        rows = self.kinds + len(self.limits)
        empty = np.zeros(0, dtype=np.int32)
        lower = np.concatenate([self.wanted.astype(float), np.full(len(self.limits), -np.inf)])
        upper = np.concatenate([np.full(self.kinds, np.inf), self.limits.astype(float)])
        self.solver.addRows(rows, lower, upper, 0, empty, empty, np.zeros(0))
        self.solver.setOptionValue("presolve", "off")
        self.counts: list[IntArray] = []
        self.slot_of: list[int] = []
        self.known: dict[tuple[int, bytes], int] = {}
        self.costs: list[int] = []
        self.side: list[tuple[tuple[int, int], ...]] = []
        self.iterations = 0
        for stick in layout.sticks:
            side = tuple((row, -1) for row in stick.rows)
            if stick.copies_row >= 0:
                side = (*side, (stick.copies_row, 1))
            self.append(-1, np.zeros(self.kinds, dtype=np.int64), problem.bins[stick.bin].price, side)

    @property
    def columns(self) -> int:
        """Return the number of columns."""
        return len(self.costs)

    def add(self, slot: int, counts: IntArray) -> bool:
        """Add a pattern of a slot; False when it is known."""
        key = (slot, counts.astype(np.int32).tobytes())
        if key in self.known:
            return False
        self.known[key] = self.columns
        place = self.layout.slots[slot]
        side = ((place.row, 1),) if place.row >= 0 else ()
        self.append(slot, counts, place.price, side)
        return True

    def place(self, slot: int, counts: IntArray) -> int:
        """Return the column of a known pattern."""
        return self.known[(slot, counts.astype(np.int32).tobytes())]

    def append(self, slot: int, counts: IntArray, cost: int, side: tuple[tuple[int, int], ...]) -> None:
        """Add a column whatever is known: -1 for a stick of stretches, -2 for parts left over."""
        self.slot_of.append(slot)
        self.counts.append(counts)
        self.costs.append(cost)
        self.side.append(side)
        filled = np.flatnonzero(counts)
        index = np.concatenate([filled, [row for row, _ in side]]).astype(np.int32)
        value = np.concatenate([counts[filled], [factor for _, factor in side]]).astype(float)
        self.solver.addCol(float(cost), 0.0, self.infinity, len(index), index, value)

    def set_residual(self, wanted: IntArray, limits: IntArray) -> None:
        """Ask for other copies of the kinds, with other limits of the side rows."""
        rows = self.kinds + len(limits)
        lower = np.concatenate([wanted.astype(float), np.full(len(limits), -np.inf)])
        upper = np.concatenate([np.full(self.kinds, np.inf), limits.astype(float)])
        self.solver.changeRowsBounds(rows, np.arange(rows, dtype=np.int32), lower, upper)

    def solve(self) -> tuple[float, FloatArray, FloatArray] | None:
        """Return price, column values and row duals; None when there is no solution."""
        self.solver.run()
        self.iterations += max(0, self.solver.getInfo().simplex_iteration_count)
        if self.solver.modelStatusToString(self.solver.getModelStatus()) != "Optimal":
            return None
        solution = self.solver.getSolution()
        return (
            float(self.solver.getInfo().objective_function_value),
            np.array(solution.col_value),
            np.array(solution.row_dual),
        )

    def shift(self, column: int, times: int, wanted: IntArray, limits: IntArray) -> None:
        """Take `times` of a column off the copies wanted and the side rows, in place."""
        wanted -= times * self.counts[column]
        np.maximum(wanted, 0, out=wanted)
        for row, factor in self.side[column]:
            limits[row - self.kinds] -= times * factor
