"""Which forces hold a rigid body under a load, when some supports can only push and others only pull?

The shelter is far stiffer than the ground and the wires, so it is taken as a
rigid body on springs: ground under its corners pushes only, wires and posts
pull only, some supports do both. The set of working supports is found by
Newton steps; the forces then balance the load to the last digits, which
`Answer.residual` proves. The system has six unknowns, too few for an array library
to be worth its import.

Units: N, m, N/m. Forces act on the body; moments about the origin.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from operator import mul
from typing import Literal

from enclosure.shape.space import cross

Vec = tuple[float, float, float]
Sense = Literal["both", "pull", "push"]
Six = list[float]
"""Three movements and three rotations, or three forces and three moments."""

_ROUNDS = 200
_TIGHT = 1e-12
"""Left-over force over the greatest load that counts as balanced."""
_FREE_M = 1e3
"""Movement from which a body counts as free [m]."""


@dataclass(frozen=True, slots=True)
class Support:
    """One spring: force on the body = -stiffness * (movement along `direction`) * direction.

    Args:
        name: What it is.
        point: Where it acts [m].
        direction: Unit vector; a positive movement along it stretches the support.
        stiffness: [N/m], above 0.
        sense: "pull" works only when stretched, "push" only when shortened, "both" always.
    """

    name: str
    point: Vec
    direction: Vec
    stiffness: float
    sense: Sense


@dataclass(frozen=True, slots=True)
class Load:
    """One force on the body [N] at a point [m]."""

    name: str
    point: Vec
    force: Vec


@dataclass(frozen=True, slots=True)
class Answer:
    """How the body is held.

    Args:
        forces: Pull (positive) or push (negative) in each support, in their order [N].
        found: False when no working set of supports holds the body.
        residual: Greatest force left over after adding everything up, over the greatest load.
        moved: Movements and rotations of the body [m, rad].
    """

    forces: tuple[float, ...]
    found: bool
    residual: float
    moved: tuple[float, ...] = (0.0,) * 6


def wrench(point: Vec, force: Vec) -> Six:
    """Return force and moment about the origin as six numbers."""
    return [*force, *cross(point, force)]


class Body:
    """A rigid body on its supports; whatever does not depend on the load is worked out once.

    The stored energy of springs that work one way is convex, so Newton steps with halving lead to the one
    balance there is; when the body is free to move away, no step helps and nothing is found.
    """

    def __init__(self, supports: tuple[Support, ...]) -> None:
        self.supports = supports
        self.stiffness = [s.stiffness for s in supports]
        self._rows = [wrench(s.point, s.direction) for s in supports]
        self._columns = list(zip(*self._rows, strict=True))
        self._sense = [{"both": 0.0, "pull": 1.0, "push": -1.0}[s.sense] for s in supports]
        self._known: dict[tuple[bool, ...], _Solver | None] = {}

    def hold(self, loads: tuple[Load, ...], start: tuple[float, ...] = (0.0,) * 6) -> Answer:
        """Return the forces in the supports under the loads, looked for from these movements on."""
        total = [sum(parts) for parts in zip(*(wrench(load.point, load.force) for load in loads), strict=True)]
        scale = max(1e-12, _greatest(total))
        moved = list(start)
        for _ in range(_ROUNDS):
            exact = self._polished(moved, total)
            if exact is not None:
                forces = self._forces(exact)
                off = _greatest(self._left(forces, total))
                if off <= _TIGHT * scale:
                    return Answer(tuple(forces), True, off / scale, tuple(exact))
            better = self._stepped(moved, total)
            if better is None:
                break
            moved = better
        return Answer((), False, math.inf)

    def _forces(self, moved: Six) -> list[float]:
        a, b, c, d, e, f = moved
        stretches = [a * r + b * s + c * t + d * u + e * v + f * w for r, s, t, u, v, w in self._rows]
        return [
            k * stretch if sense == 0.0 or sense * stretch > 0.0 else 0.0
            for k, stretch, sense in zip(self.stiffness, stretches, self._sense, strict=True)
        ]

    def _left(self, forces: list[float], total: Six) -> Six:
        return [asked - _dot(column, forces) for asked, column in zip(total, self._columns, strict=True)]

    def _energy(self, moved: Six, total: Six) -> float:
        stored = sum(f * f / k for f, k in zip(self._forces(moved), self.stiffness, strict=True))
        return 0.5 * stored - _dot(total, moved)

    def _solver(self, works: tuple[bool, ...]) -> _Solver | None:
        if works not in self._known:
            self._known[works] = _Solver.of(self._matrix(works))
        return self._known[works]

    def _matrix(self, works: tuple[bool, ...], more: float = 0.0) -> list[Six]:
        """Return the stiffness of the body on the supports that work, with a touch more on its diagonal."""
        stiff = [k if here else 0.0 for k, here in zip(self.stiffness, works, strict=True)]
        pressed = [list(map(mul, column, stiff)) for column in self._columns]
        matrix = [[_dot(one, column) for column in self._columns] for one in pressed]
        for i in range(6):
            matrix[i][i] += more
        return matrix

    def _polished(self, moved: Six, total: Six) -> Six | None:
        """Return the exact movement if the supports that work now are the right ones, refined twice."""
        solver = self._solver(tuple(f != 0.0 for f in self._forces(moved)))
        if solver is None:
            return None
        answer = solver.solve(total)
        for _ in range(2):
            left = [asked - _dot(row, answer) for asked, row in zip(total, solver.matrix, strict=True)]
            answer = [a + more for a, more in zip(answer, solver.solve(left), strict=True)]
        return answer if _greatest(answer) < _FREE_M else None

    def _stepped(self, moved: Six, total: Six) -> Six | None:
        """Return a better movement: a Newton step, halved until it helps; None when nothing helps."""
        forces = self._forces(moved)
        works = tuple(f != 0.0 for f in forces)
        if not any(works):
            works = (True,) * len(works)
        # a touch of stiffness keeps the step finite where nothing holds yet
        solver = _Solver.of(self._matrix(works, 1e-9 * max(self.stiffness)))
        if solver is None:
            return None
        left = self._left(forces, total)
        step = solver.solve(left)
        before, over = self._energy(moved, total), _greatest(left)
        for halvings in range(40):
            there = [m + 0.5**halvings * s for m, s in zip(moved, step, strict=True)]
            lower = self._energy(there, total) < before - 1e-12 * abs(before)
            if lower or _greatest(self._left(self._forces(there), total)) < 0.9 * over:
                return there
        return None


def hold(supports: tuple[Support, ...], loads: tuple[Load, ...]) -> Answer:
    """Return the forces in the supports under the loads, for a body that is asked only once."""
    return Body(supports).hold(loads)


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    found: float = sum(map(mul, one, other))
    return found


def _greatest(values: Sequence[float]) -> float:
    return max(map(abs, values))


@dataclass(frozen=True, slots=True)
class _Solver:
    """A symmetric matrix of six rows, and its lower root L with L Lᵀ = matrix (Cholesky)."""

    matrix: list[Six]
    root: list[Six]

    @staticmethod
    def of(matrix: list[Six]) -> _Solver | None:
        """Return the solver of a matrix, None when it is not positive definite: the body is free to move."""
        root: list[Six] = []
        for i, row in enumerate(matrix):
            found: Six = []
            for j in range(i):
                found.append((row[j] - _dot(found, root[j])) / root[j][j])
            square = row[i] - _dot(found, found)
            if square <= 0.0:
                return None
            root.append([*found, math.sqrt(square)])
        return _Solver(matrix, root)

    def solve(self, right: Six) -> Six:
        """Return x with matrix x = right."""
        half: Six = []
        for row, asked in zip(self.root, right, strict=True):
            half.append((asked - _dot(half, row)) / row[-1])
        found = [0.0] * 6
        for i in range(5, -1, -1):
            below = sum(self.root[j][i] * found[j] for j in range(i + 1, 6))
            found[i] = (half[i] - below) / self.root[i][i]
        return found
