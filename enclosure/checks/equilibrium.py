"""Which forces hold a rigid body under a load, when some supports can only push and others only pull?

The shelter is far stiffer than the ground and the wires, so it is taken as a
rigid body on springs: ground under its corners pushes only, wires and posts
pull only, some supports do both. The set of working supports is found by
Newton steps; the forces then balance the load to the last digits, which
`Answer.residual` proves.

Units: N, m, N/m. Forces act on the body; moments about the origin.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from enclosure.shape.space import cross

Vec = tuple[float, float, float]
Sense = Literal["both", "pull", "push"]
Array = NDArray[Any]

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


def wrench(point: Vec, force: Vec) -> list[float]:
    """Return force and moment about the origin as six numbers."""
    return [*force, *cross(point, force)]


def hold(
    supports: tuple[Support, ...], loads: tuple[Load, ...], start: tuple[float, ...] = (0.0,) * 6
) -> Answer:
    """Return the forces in the supports under the loads.

    The stored energy of springs that work one way is convex, so Newton steps with halving lead to the one
    balance there is; when the body is free to move away, no step helps and nothing is found.
    """
    total = np.zeros(6)
    for load in loads:
        total += wrench(load.point, load.force)
    body = _Body(
        np.array([wrench(s.point, s.direction) for s in supports]),
        np.array([s.stiffness for s in supports]),
        np.array([{"both": 0.0, "pull": 1.0, "push": -1.0}[s.sense] for s in supports]),
        total,
    )
    scale = max(1e-12, float(np.abs(total).max()))
    moved = np.array(start)
    for _ in range(_ROUNDS):
        exact = body.polished(moved)
        if exact is not None:
            off = float(np.abs(body.left(exact)).max())
            if off <= _TIGHT * scale:
                return Answer(_plain(body.forces(exact)), True, off / scale, _plain(exact))
        better = body.stepped(moved)
        if better is None:
            break
        moved = better
    return Answer((), False, math.inf)


def _plain(values: Array) -> tuple[float, ...]:
    return tuple(float(v) for v in values)


@dataclass(frozen=True, slots=True)
class _Body:
    """Rows of the supports, their stiffness, their sense (+1 pull, -1 push, 0 both) and the load."""

    rows: Array
    stiffness: Array
    sense: Array
    total: Array

    def forces(self, moved: Array) -> Array:
        stretch = self.rows @ moved
        works = (self.sense == 0.0) | (self.sense * stretch > 0.0)
        found: Array = np.where(works, self.stiffness * stretch, 0.0)
        return found

    def left(self, moved: Array) -> Array:
        left: Array = self.total - self.rows.T @ self.forces(moved)
        return left

    def energy(self, moved: Array) -> float:
        forces = self.forces(moved)
        return float(0.5 * (forces**2 / self.stiffness).sum() - self.total @ moved)

    def matrix(self, works: Array) -> Array:
        found: Array = (self.rows.T * (self.stiffness * works)) @ self.rows
        return found

    def polished(self, moved: Array) -> Array | None:
        """Return the exact movement if the supports that work now are the right ones, refined twice."""
        matrix = self.matrix(self.forces(moved) != 0.0)
        try:
            answer = np.linalg.solve(matrix, self.total)
            for _ in range(2):
                answer = answer + np.linalg.solve(matrix, self.total - matrix @ answer)
        except np.linalg.LinAlgError:
            return None
        return answer if np.abs(answer).max() < _FREE_M else None

    def stepped(self, moved: Array) -> Array | None:
        """Return a better movement: a Newton step, halved until it helps; None when nothing helps."""
        forces = self.forces(moved)
        works = forces != 0.0
        if not works.any():
            works = np.ones(len(works), dtype=bool)
        # a touch of stiffness keeps the step finite where nothing holds yet
        matrix = self.matrix(works) + np.eye(6) * 1e-9 * self.stiffness.max()
        left = self.left(moved)
        step = np.linalg.solve(matrix, left)
        before, over = self.energy(moved), np.abs(left).max()
        for halvings in range(40):
            there = moved + 0.5**halvings * step
            lower = self.energy(there) < before - 1e-12 * abs(before)
            if lower or np.abs(self.left(there)).max() < 0.9 * over:
                return there
        return None
