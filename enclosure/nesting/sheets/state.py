"""What does the search know so far: patterns, best plan, bound?"""

from __future__ import annotations

from collections import Counter

import numpy as np

from enclosure.nesting.model import Pattern, SheetPlan
from enclosure.nesting.sheets.budget import Budget
from enclosure.nesting.sheets.points import IntArray, make_grid, reachable, thin
from enclosure.nesting.sheets.problem import Problem, least_area
from enclosure.nesting.sheets.shelves import downgrade
from enclosure.nesting.sheets.space import Space, Tree
from enclosure.nesting.sheets.trees import Layout, exact_layouts, part_counts, to_patterns

UNLIMITED = -1
MOST_KINDS = 200
"""Above so many kinds tables and pool grow too large: then shelves and insertion only."""
MOST_LENGTH = 60_000
"""Longest sheet in places of a table before any are left out; longer ones are measured more coarsely."""


class State:
    """Shared knowledge of one solve.

    Args:
        problem: The job in scaled integers.
        budget: Work spent and allowed.
    """

    def __init__(self, problem: Problem, budget: Budget) -> None:
        self.problem, self.budget = problem, budget
        self.kinds = len(problem.demand)
        self.demand: IntArray = np.array(problem.demand, dtype=np.int64)
        self.prices: IntArray = np.array([s.price for s in problem.stocks], dtype=np.int64)
        self.limits: IntArray = np.array(
            [UNLIMITED if s.copies is None else s.copies for s in problem.stocks], dtype=np.int64
        )
        self._part_uses: IntArray | None = None
        self.leaf_area_of_kind = np.array(least_area(problem), dtype=np.float64)
        self.pool: list[tuple[int, IntArray, Tree]] = []
        self._seen: dict[tuple[int, bytes], int] = {}
        self.best: list[Layout] | None = None
        self.price = 0
        self.bound = 0

    @property
    def part_uses(self) -> IntArray:
        """Return the uses of each kind by each leaf (made when first asked for: large for many kinds)."""
        if self._part_uses is None:
            self._part_uses = np.zeros((len(self.problem.leaves), self.kinds), dtype=np.int64)
            for index, leaf in enumerate(self.problem.leaves):
                for part in leaf.parts:
                    self._part_uses[index, part] += 1
        return self._part_uses

    def add_pattern(self, stock: int, tree: Tree | None) -> IntArray | None:
        """Put a pattern into the pool; return its uses when it is new there."""
        if tree is None or self.kinds > MOST_KINDS:
            return None
        used = np.zeros(self.kinds, dtype=np.int64)
        for part, times in part_counts(tree, self.problem).items():
            used[part] = times
        key = (stock, used.tobytes())
        if key in self._seen:
            return None
        self._seen[key] = len(self.pool)
        self.pool.append((stock, used, tree))
        return used

    def offer(self, layouts: list[Layout]) -> bool:
        """Take a covering plan as the best when it is cheaper; return True when it is."""
        exact = downgrade(exact_layouts(layouts, self.problem), self.problem)
        left = Counter(dict(enumerate(self.problem.demand)))
        for layout in exact:
            for part, times in part_counts(layout.tree, self.problem).items():
                left[part] -= times * layout.copies
        if any(left.values()):
            return False
        price = sum(self.problem.stocks[x.stock].price * x.copies for x in exact)
        if self.best is not None and price >= self.price:
            return False
        self.best, self.price = exact, price
        for layout in exact:
            self.add_pattern(layout.stock, layout.tree)
        self.report()
        return True

    def raise_bound(self, bound: int) -> None:
        """Take a valid lower bound when it is higher."""
        if bound > self.bound:
            self.bound = bound
            self.report()

    def proved(self) -> bool:
        """Return True when the best plan costs what the bound says."""
        return self.best is not None and self.bound >= self.price

    def done(self) -> bool:
        """Return True when there is nothing left to gain or to spend."""
        return self.proved() or self.budget.over()

    def report(self) -> None:
        """Tell the caller of a better plan or bound."""
        if self.budget.progress is not None and self.best is not None:
            self.budget.tell(self.plan())

    def uses_of(self, tree: Tree) -> Counter[int]:
        """Return how often each kind is in a tree."""
        return part_counts(tree, self.problem)

    def plan(self, patterns: tuple[Pattern, ...] | None = None) -> SheetPlan:
        """Return the best plan so far, with these patterns when given."""
        assert self.best is not None
        bound = min(self.bound, self.price)
        status = "proved" if bound == self.price else "gap"
        if patterns is None:
            patterns = to_patterns(self.best, self.problem)
        return SheetPlan(patterns, self.price, bound, "proved" if status == "proved" else "gap", int(self.budget.spent))


def make_space(
    problem: Problem,
    left: IntArray,
    limits: tuple[int, int],
    high: bool = False,
    also: tuple[set[int], set[int]] | None = None,
    generator: np.random.Generator | None = None,
) -> Space:
    """Return the grids for the demand `left`.

    Args:
        problem: The job.
        left: Copies wanted of each kind.
        limits: Most places along x and y, about.
        high: Round up (values are upper bounds) where places are left out, else down.
        also: Places along x and y that stay in any case when they can be reached.
        generator: Shifts the other places that stay, at random.
    """
    sides = []
    units = []
    for number, (axis, limit) in enumerate(zip("xy", limits, strict=True)):
        ends = sorted({(s.width if axis == "x" else s.height) for s in problem.stocks})
        unit = -(-ends[-1] // MOST_LENGTH)
        units.append(unit)
        ends = sorted({end // unit for end in ends})
        sizes = [(x.width if axis == "x" else x.height) for x in problem.leaves]
        sizes = [size // unit if high else -(-size // unit) for size in sizes]
        copies: dict[int, int] = {}
        for size, leaf in zip(sizes, problem.leaves, strict=True):
            times = min(int(left[p]) for p in leaf.parts)
            copies[size] = copies.get(size, 0) + times
        wanted = [(s, c) for s, c in sorted(copies.items()) if c > 0 and 0 < s <= ends[-1]]
        every = np.union1d(reachable(wanted, ends[-1]), np.array(ends, dtype=np.int64))
        single = [s for s, _ in wanted]
        must = single + ends + (sorted(also[number]) if also is not None else [])
        gap = min(single) if single else ends[-1]
        keep = thin(every, must, limit, gap, generator)
        grid = make_grid(every, keep, high)
        place = np.array([grid.ceil(s) for s in sizes], dtype=np.int64)
        sides.append((grid, place))
    return Space(sides[0][0], sides[1][0], sides[0][1], sides[1][1], problem.leaves, units[0], units[1])
