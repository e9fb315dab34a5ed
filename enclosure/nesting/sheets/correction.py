"""Which good plans come from filling sheet after sheet? (sequential value correction)

Each sheet takes the pattern with the best value per price from the parts still
wanted; afterwards every kind's value moves towards the price of the area its
sheet spent on it, so that kinds that met waste are wanted earlier next time.
Every pattern seen goes into the pool.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.bounded import close_bounded, read_bounded
from enclosure.nesting.sheets.closure import Space, Tree
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.problem import least_area
from enclosure.nesting.sheets.state import State, make_space
from enclosure.nesting.sheets.trees import Layout

SCALE = 1 << 20


def area_values(state: State) -> IntArray:
    """Return the area of each kind, scaled so that the largest is about a million."""
    area = np.array(least_area(state.problem), dtype=np.float64)
    return np.maximum(1, np.rint(area / area.max() * SCALE)).astype(np.int64)


def fill_all(
    state: State, values: IntArray, limits: tuple[int, int], generator: np.random.Generator, first: str, greed: float
) -> tuple[list[Layout] | None, IntArray]:
    """Return a plan filled sheet by sheet, or None, and the corrected values."""
    problem = state.problem
    left, stock_left = state.demand.copy(), state.limits.copy()
    area = np.array(least_area(problem), dtype=np.float64)
    corrected = values.astype(np.float64)
    layouts: list[Layout] = []
    while left.any() and not state.budget.over():
        space = make_space(problem, left, *limits)
        found = _best_patterns(state, space, values, left, first)
        best: tuple[float, int, Tree, IntArray] | None = None
        for stock, (tree, used, value) in found.items():
            if stock_left[stock] == 0:
                continue
            price = float(state.prices[stock])
            total = float((used * area).sum())
            size = problem.stocks[stock].width * problem.stocks[stock].height
            if (used == left).all():
                score = 1e18 / (price + 1.0)
            elif price == 0:
                score = 1e15 + total / size
            else:
                score = value / price * (1.0 + greed * generator.random())
            if best is None or score > best[0]:
                best = (score, stock, tree, used)
        if best is None:
            return None, values
        _, stock, tree, used = best
        rows = used > 0
        times = int((left[rows] // used[rows]).min())
        if stock_left[stock] > 0:
            times = min(times, int(stock_left[stock]))
            stock_left[stock] -= times
        size = problem.stocks[stock].width * problem.stocks[stock].height
        fill = float((used * area).sum()) / size
        target = values[rows] * 0 + area[rows] / area.max() * SCALE / max(fill, 0.05)
        weight = generator.uniform(0.2, 0.6)
        corrected[rows] = (1 - weight) * corrected[rows] + weight * target
        left -= used * times
        layouts.append(Layout(stock, tree, times))
    noise = generator.uniform(0.97, 1.03, len(corrected))
    return (layouts if not left.any() else None), np.maximum(1, np.rint(corrected * noise)).astype(np.int64)


def _best_patterns(
    state: State, space: Space, values: IntArray, left: IntArray, first: str
) -> dict[int, tuple[Tree, IntArray, int]]:
    """Return the best proper pattern of each stock."""
    problem = state.problem
    cap = np.minimum(left, 255).astype(np.uint8)
    worth = (state.part_uses.astype(np.int64) * values).sum(axis=1)
    levels = close_bounded(space, worth, cap, state.part_uses, problem.stages, first)
    state.budget.spend(space.round_work() * 12 + len(space.xs.at) * len(space.ys.at) * state.kinds / 1e6)
    found: dict[int, tuple[Tree, IntArray, int]] = {}
    for stock, sheet in enumerate(problem.stocks):
        i, j = space.xs.floor(sheet.width), space.ys.floor(sheet.height)
        tree = read_bounded(space, levels, worth, state.part_uses, i, j)
        if tree is None:
            continue
        state.add_pattern(stock, tree)
        used = levels[-1].used[i, j].astype(np.int64)
        found[stock] = (tree, used, int((used * values).sum()))
    return found
