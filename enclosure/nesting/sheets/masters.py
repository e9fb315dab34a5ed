"""Which mix of known patterns costs least? (linear and integer masters, HiGHS)

Rows: every kind covered as often as wanted; finite stocks not exceeded. Columns:
patterns with the price of their sheet. Floats stay inside: duals are rounded to
integers by the caller before a bound is drawn from them, and integer solutions
are counted again in integers.
"""

from __future__ import annotations

from dataclasses import dataclass

import highspy
import numpy as np
from numpy.typing import NDArray

from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.solver import quiet_highs

FloatArray = NDArray[np.float64]


def simplex_rows(low: FloatArray, limits: IntArray) -> highspy.Highs:
    """Return a simplex solver with a row for each kind and each stock, and no columns yet.

    Args:
        low: Least value of each kind's row.
        limits: Copies of each stock, negative for unlimited.
    """
    solver = quiet_highs()
    solver.setOptionValue("presolve", "off")
    solver.setOptionValue("solver", "simplex")
    inf = highspy.kHighsInf
    no_index, no_value = np.array([], dtype=np.int32), np.array([], dtype=np.float64)
    for least in low:
        solver.addRow(float(least), inf, 0, no_index, no_value)
    for limit in limits:
        solver.addRow(-inf, float(limit) if limit >= 0 else inf, 0, no_index, no_value)
    return solver


class LinearMaster:
    """The linear master, grown column by column.

    Args:
        demand: Copies wanted of each kind.
        limits: Copies of each stock, negative for unlimited.
        dear: Price of leaving one copy of each kind uncovered (keeps the first masters feasible).
    """

    def __init__(self, demand: IntArray, limits: IntArray, dear: FloatArray) -> None:
        self.kinds = len(demand)
        self.solver = simplex_rows(demand.astype(np.float64), limits)
        inf = highspy.kHighsInf
        for kind in range(self.kinds):
            self.solver.addCol(float(dear[kind]), 0.0, inf, 1, np.array([kind], dtype=np.int32), np.array([1.0]))
        self.columns = 0

    def add(self, used: IntArray, stock: int, price: float) -> None:
        """Add one pattern."""
        rows = np.flatnonzero(used)
        index = np.append(rows, self.kinds + stock).astype(np.int32)
        value = np.append(used[rows], 1).astype(np.float64)
        self.solver.addCol(price, 0.0, highspy.kHighsInf, len(index), index, value)
        self.columns += 1

    def set_demand(self, demand: IntArray) -> None:
        """Change the copies wanted."""
        for kind, want in enumerate(demand):
            self.solver.changeRowBounds(kind, float(want), highspy.kHighsInf)

    def set_limits(self, limits: IntArray) -> None:
        """Change the copies of each stock."""
        for stock, limit in enumerate(limits):
            top = float(limit) if limit >= 0 else highspy.kHighsInf
            self.solver.changeRowBounds(self.kinds + stock, -highspy.kHighsInf, top)

    def solve(self) -> tuple[float, FloatArray, FloatArray, FloatArray, int]:
        """Return price, duals of kinds (>= 0), duals of stocks (<= 0), column values, simplex steps."""
        self.solver.run()
        info = self.solver.getInfo()
        solution = self.solver.getSolution()
        dual = np.array(solution.row_dual, dtype=np.float64)
        value = np.array(solution.col_value, dtype=np.float64)
        steps = max(int(info.simplex_iteration_count), 0)
        return (
            float(info.objective_function_value),
            np.maximum(dual[: self.kinds], 0.0),
            np.minimum(dual[self.kinds :], 0.0),
            value[self.kinds :],
            steps,
        )


@dataclass(frozen=True, slots=True)
class IntegerAnswer:
    """Column counts (None when none was found), whether it is the optimum, and the work done."""

    counts: IntArray | None
    optimal: bool
    steps: int
    dual: float = 0.0


def _integer_solver(
    costs: FloatArray,
    rows: NDArray[np.int64] | FloatArray,
    low: FloatArray,
    high: FloatArray,
    upper: FloatArray,
) -> highspy.Highs:
    """Return a solver loaded with the program of `solve_integer`."""
    solver = quiet_highs()
    model = highspy.HighsLp()
    count_rows, count_cols = rows.shape
    model.num_col_, model.num_row_ = count_cols, count_rows
    model.col_cost_, model.col_lower_, model.col_upper_ = costs, np.zeros(count_cols), upper
    model.row_lower_, model.row_upper_ = low, high
    model.integrality_ = [highspy.HighsVarType.kInteger] * count_cols
    columns, places = np.nonzero(rows.T)
    starts = np.searchsorted(columns, np.arange(count_cols + 1))
    model.a_matrix_.format_ = highspy.MatrixFormat.kColwise
    model.a_matrix_.start_ = starts.astype(np.int32)
    model.a_matrix_.index_ = places.astype(np.int32)
    model.a_matrix_.value_ = rows.T[columns, places].astype(np.float64)
    solver.passModel(model)
    # Sub-problems solved as heuristics cost more than the few nodes that are allowed here.
    for option in ("mip_heuristic_run_rins", "mip_heuristic_run_rens", "mip_heuristic_run_root_reduced_cost"):
        solver.setOptionValue(option, False)
    solver.setOptionValue("mip_allow_restart", False)
    solver.setOptionValue("mip_detect_symmetry", False)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", 1e-6)
    return solver


def solve_integer(
    costs: FloatArray,
    rows: NDArray[np.int64] | FloatArray,
    low: FloatArray,
    high: FloatArray,
    upper: FloatArray,
    nodes: int,
    start: IntArray | None = None,
    seconds: float | None = None,
    below: float | None = None,
) -> IntegerAnswer:
    """Return the least-cost integer combination of columns.

    Args:
        costs: Cost of each column.
        rows: Dense matrix, one row per constraint.
        low: Least value of each row.
        high: Greatest value of each row.
        upper: Greatest value of each column.
        nodes: Most branch-and-bound nodes.
        start: Column counts known to be feasible.
        seconds: Outer stop.
        below: Only solutions with a cost at most this are of use.
    """
    solver = _integer_solver(costs, rows, low, high, upper)
    solver.setOptionValue("mip_max_nodes", nodes)
    # A last resort against an endless run; ordinary programs end by their nodes long before.
    solver.setOptionValue("time_limit", 10.0 if seconds is None else min(max(seconds, 0.01), 10.0))
    if below is not None:
        solver.setOptionValue("objective_bound", below)
    if start is not None:
        solution = highspy.HighsSolution()
        solution.col_value = start.astype(np.float64).tolist()
        solver.setSolution(solution)
    solver.run()
    info = solver.getInfo()
    optimal = solver.getModelStatus() == highspy.HighsModelStatus.kOptimal
    steps = int(max(info.simplex_iteration_count, 0)) + 5 * int(max(info.mip_node_count, 0))
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        infeasible = solver.getModelStatus() == highspy.HighsModelStatus.kInfeasible
        return IntegerAnswer(None, infeasible, steps, float(info.mip_dual_bound))
    counts = np.rint(np.array(solver.getSolution().col_value)).astype(np.int64)
    return IntegerAnswer(counts, optimal, steps, float(info.mip_dual_bound))
