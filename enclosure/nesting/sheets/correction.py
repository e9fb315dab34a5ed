"""Which good plans come from filling sheet after sheet? (sequential value correction)

Each sheet takes the pattern with the best value per price from the parts still
wanted; afterwards every kind's value moves towards the price of the area its
sheet spent on it, so that kinds that met waste are wanted earlier next time.
Several such fillings run side by side. Every pattern seen goes into the pool.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.bounded import close_bounded, read_bounded
from enclosure.nesting.sheets.masters import FloatArray
from enclosure.nesting.sheets.packing import Packing
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.problem import least_area
from enclosure.nesting.sheets.space import Space, Tree
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.trees import Layout

SCALE = float(1 << 20)


class Filler:
    """Fills sheets one after another from one space.

    Args:
        state: Shared knowledge.
        batch: How many fillings run side by side.
        places: Most places along x and y, about.
        seed: Of the random choices.
    """

    def __init__(self, state: State, batch: int, places: tuple[int, int] = (60, 120), seed: int = 1) -> None:
        self.state, self.batch, self.places = state, batch, places
        self.area: FloatArray = np.array(least_area(state.problem), dtype=np.float64)
        self.sizes: FloatArray = np.array([s.width * s.height for s in state.problem.stocks], dtype=np.float64)
        self.rounds = 4
        # Never more than fit a sheet by area, at most 1,000.
        self.most: IntArray = np.minimum(
            np.minimum(state.demand, self.sizes.max() // np.maximum(self.area, 1.0)), 1000
        ).astype(np.int64)
        self.packing = Packing(self.most)
        self.generator = np.random.default_rng(seed)
        self._kept: Space | None = None

    @property
    def space(self) -> Space:
        """Return the space in use, made when first asked for."""
        if self._kept is None:
            self._kept = self._space()
        return self._kept

    def _space(self) -> Space:
        """Return a low space; where places are left out, other ones each time."""
        return make_space(self.state.problem, self.state.demand, self.places, False, None, self.generator)

    def start_values(self) -> FloatArray:
        """Return areas to slightly different powers, scaled to about a million."""
        unit = self.area / self.area.max()
        powers = 1.0 + 0.08 * self.generator.standard_normal(self.batch)
        powers[0] = 1.02
        values: FloatArray = np.maximum(SCALE * unit[None, :] ** powers[:, None], 1.0)
        return values

    def fill(
        self,
        values: FloatArray,
        limits: IntArray,
        first: str,
        fixed: bool = False,
        wanted: IntArray | None = None,
    ) -> tuple[list[list[Layout]], IntArray, FloatArray]:
        """Fill sheets for every row of values.

        Args:
            values: Value of each kind, one row per filling.
            limits: Copies of each stock, negative for unlimited; the same for all or a row per filling.
            first: Axis of the first cut.
            fixed: The sheets are already paid: use the best filled one next, whatever its price.
            wanted: Copies wanted, a row per filling; the demand when None.

        Returns:
            Layouts, what is left uncovered, and corrected values, a row per filling.
        """
        state, batch = self.state, len(values)
        left = np.repeat(state.demand[None, :], batch, axis=0) if wanted is None else wanted.copy()
        stock_left = np.repeat(np.atleast_2d(limits), batch // len(np.atleast_2d(limits)), axis=0)
        corrected = values.copy()
        if not (self.space.xs.exact and self.space.ys.exact):
            self._kept = self._space()
        layouts: list[list[Layout]] = [[] for _ in range(batch)]
        open_rows = [row for row in range(batch) if left[row].any()]
        while open_rows and not state.budget.over():
            found = self.propose(values[open_rows], left[open_rows], first)
            still = []
            for row, options in zip(open_rows, found, strict=True):
                pick = self._choose(options, values[row], left[row], stock_left[row], fixed)
                if pick is None:
                    continue
                stock, tree, used = pick
                rows = used > 0
                times = int((left[row][rows] // used[rows]).min())
                if stock_left[row, stock] > 0:
                    times = min(times, int(stock_left[row, stock]))
                    stock_left[row, stock] -= times
                left[row] -= used * times
                layouts[row].append(Layout(stock, tree, times))
                share = float((used * self.area).sum()) / self.sizes[stock]
                weight = self.generator.uniform(0.1, 0.5)
                target = self.area[rows] / self.area.max() * SCALE / max(share, 0.05)
                corrected[row, rows] = (1 - weight) * corrected[row, rows] + weight * target
                if left[row].any():
                    still.append(row)
            open_rows = still
        corrected[left > 0] *= 1.2
        corrected *= self.generator.uniform(0.97, 1.03, corrected.shape)
        return layouts, left, np.maximum(corrected, 1.0)

    def _choose(
        self,
        options: dict[int, tuple[Tree, IntArray]],
        values: FloatArray,
        left: IntArray,
        stock_left: IntArray,
        fixed: bool,
    ) -> tuple[int, Tree, IntArray] | None:
        """Return stock, tree and uses of the next sheet."""
        best: tuple[float, int] | None = None
        for stock, (_, used) in options.items():
            if stock_left[stock] == 0:
                continue
            price = float(self.state.prices[stock])
            noise = 1.0 + 0.06 * self.generator.random()
            if fixed or price == 0:
                score = 1e9 * (not fixed) + float((used * self.area).sum()) / self.sizes[stock] * noise
            elif (used == left).all():
                score = 1e18 / (price + 1.0)
            else:
                score = float((used * values).sum()) / price * noise
            if best is None or score > best[0]:
                best = (score, stock)
        if best is None:
            return None
        tree, used = options[best[1]]
        return best[1], tree, used

    def propose(self, values: FloatArray, left: IntArray, first: str) -> list[dict[int, tuple[Tree, IntArray]]]:
        """Return the best proper pattern of each stock for every row of values and demands; all go into the pool."""
        state = self.state
        whole = np.maximum(0, np.rint(values)).astype(np.int64)
        worth = whole @ state.part_uses.T
        caps = np.minimum(left, self.most[None, :])
        xs, ys = self.space.xs, self.space.ys
        ends = self.space.ends(state.problem.stocks)
        tables = close_bounded(
            self.space,
            worth,
            caps,
            self.packing,
            state.part_uses,
            ends,
            state.problem.stages,
            first,
            self.rounds,
        )
        cells = len(xs.at) * len(ys.at) * len(values)
        state.budget.spend(self.rounds * (4.0 + cells * (20 + 2 * self.packing.words) * 5e-6))
        out = []
        for member in range(len(values)):
            found: dict[int, tuple[Tree, IntArray]] = {}
            for stock, (i, j) in enumerate(ends):
                tree = read_bounded(tables, member, i, j)
                if tree is not None:
                    state.add_pattern(stock, tree)
                    found[stock] = (tree, tables.uses(member, i, j))
            out.append(found)
        return out
