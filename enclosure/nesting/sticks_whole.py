"""Which whole numbers of given patterns cover what is wanted at least price?

A mixed-integer program over HiGHS with a limit of tree nodes. Its bound is
rounded up to a whole price, which is safe because all prices are whole.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from enclosure.nesting.solver import quiet_highs
from enclosure.nesting.sticks_master import Master
from enclosure.nesting.sticks_price import IntArray

# A solution: (column of the master, times).
Solution = list[tuple[int, int]]


def whole_number(
    master: Master,
    columns: list[int],
    wanted: IntArray,
    limits: IntArray,
    *,
    nodes: int,
    ceiling: int,
    seconds: float,
) -> tuple[Solution | None, int, int]:
    """Return a solution within the ceiling (or None), a bound for these columns, and the work done.

    Args:
        master: Where the columns are.
        columns: Which of them may be used.
        wanted: Copies wanted of each kind.
        limits: Right-hand sides of the side rows.
        nodes: Most tree nodes.
        ceiling: Only solutions up to this price are of use.
        seconds: Most seconds [s].
    """
    solver = _program(master, columns, wanted, limits)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 0.99)
    solver.setOptionValue("mip_max_nodes", nodes)
    solver.setOptionValue("objective_bound", ceiling + 0.5)
    solver.setOptionValue("time_limit", seconds)
    solver.run()
    info = solver.getInfo()
    work = 200 * max(1, int(info.mip_node_count)) + max(0, int(info.simplex_iteration_count))
    solution = _solution(master, columns, wanted, limits, np.array(solver.getSolution().col_value), ceiling)
    bound = 0
    if solver.modelStatusToString(solver.getModelStatus()) == "Infeasible":
        bound = ceiling + 1
    elif np.isfinite(info.mip_dual_bound):
        bound = min(ceiling + 1, int(np.ceil(info.mip_dual_bound - 1e-6)))
    return solution, max(bound, 0), work


def _program(master: Master, columns: list[int], wanted: IntArray, limits: IntArray) -> Any:
    import highspy

    solver = quiet_highs()
    kinds, rows = len(wanted), len(wanted) + len(limits)
    lower = np.concatenate([wanted.astype(float), np.full(len(limits), -np.inf)])
    upper = np.concatenate([np.full(kinds, np.inf), limits.astype(float)])
    empty = np.zeros(0, dtype=np.int32)
    solver.addRows(rows, lower, upper, 0, empty, empty, np.zeros(0))
    starts, indices, values = [0], [], []
    for column in columns:
        counts, side = master.counts[column], master.side[column]
        filled = np.flatnonzero(counts)
        indices += [*filled.tolist(), *(row for row, _ in side)]
        values += [*counts[filled].tolist(), *(factor for _, factor in side)]
        starts.append(len(indices))
    solver.addCols(
        len(columns),
        np.array([master.costs[column] for column in columns], dtype=float),
        np.zeros(len(columns)),
        np.full(len(columns), np.inf),
        len(indices),
        np.array(starts[:-1], dtype=np.int32),
        np.array(indices, dtype=np.int32),
        np.array(values, dtype=float),
    )
    every = np.arange(len(columns), dtype=np.int32)
    kinds_of = np.array([highspy.HighsVarType.kInteger] * len(columns))
    solver.changeColsIntegrality(len(columns), every, kinds_of)
    return solver


def _solution(
    master: Master,
    columns: list[int],
    wanted: IntArray,
    limits: IntArray,
    values: np.ndarray[tuple[int], np.dtype[np.float64]],
    ceiling: int,
) -> Solution | None:
    """Return the solver's values as whole numbers, only if they truly cover what is wanted."""
    if len(values) != len(columns) or not np.all(np.isfinite(values)):
        return None
    times = np.rint(values).astype(np.int64)
    if np.any(times < 0):
        return None
    solution = [(columns[place], int(times[place])) for place in np.flatnonzero(times).tolist()]
    wanted, limits = wanted.copy(), limits.copy()
    for column, count in solution:
        master.shift(column, count, wanted, limits)
    price = sum(master.costs[column] * count for column, count in solution)
    return solution if not wanted.any() and np.all(limits >= 0) and price <= ceiling else None
