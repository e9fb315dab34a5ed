"""Do the posts and wires hold the shelter?

A post stands close beside a wall and is wired to it at two heights: it holds
the frame down by friction in the ground and sideways by leaning on the ground.
A stake stands off and holds slanting wires (guys).

The shelter is a rigid body on springs (`equilibrium`); friction under the sill
follows from what the corners press on the bricks.

Units: N, m, kPa.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks import soil
from enclosure.checks.blows import Blow
from enclosure.checks.case import Case
from enclosure.checks.equilibrium import Answer, Body, Support
from enclosure.shape.model import Anchor, Design
from enclosure.tables.read import number, row

FRICTION = 0.4
"""Timber sill on brick (common practice, no source)."""

POST_WIDTH_M = 0.035
POST_OUTLINE_M = 0.14
POST_E_I = 4936.0
"""Studded tee 1-3/8 x 1-3/8 x 1/8 in: width, outline gripped, 200 GPa x 0.0593 in⁴ about its stiffer axis
[N m²] (from memory); the stiffer a post, the more bending it draws."""
POST_YIELD_NM = 224.0
"""345 MPa (50 ksi) x 0.0397 in³, the weaker axis: nobody knows which way the tee was driven (from memory)."""
POST_SAFETY = 1.67
WIRE_BREAK_N = 2200.0
"""Two turns of 2 mm soft galvanised wire at 350 MPa (from memory)."""
WIRE_SAFETY = 3.0
GUY_BREAK_N = 8000.0
"""Wire rope of 4 mm (from memory); used for slanting wires."""
STAKE_BREAK_N = 4448.0
STAKE_DEPTH_M = 0.914
STAKE_SAFETY = 2.0
"""Stake 1 x 36 in in average lawn holds about 1000 lb of slanting pull (stake tests quoted by a fabric
industry article); half in wet ground."""
GARDEN_STAKE = 0.5
"""Share of that in a dug bed (common practice, no source)."""

CORNER_STIFFNESS = 2e6
KEY_STIFFNESS = 2e3
"""Sill keyed on its ring against twisting: a hundredth of a post, so that it takes next to nothing."""
POST_STIFFNESS = 2e5
POST_SIDE_STIFFNESS = 1e4
"""Upward, and sideways: the code's doubled side hold is reached at about half an inch."""
WIRE_E_A = 1.256e6
"""Stiffness of a slanting wire: 6.3 mm² of steel at 200 GPa, about a 4 mm rope once stretched [N] (from memory)."""
THIRD_MORE = 4.0 / 3.0


@dataclass(frozen=True, slots=True)
class Ground:
    """The soil, as the post feels it.

    Args:
        name: Name for people.
        lateral: Lateral bearing per metre, doubled for an isolated pole, a third more where wind allows it [kPa/m].
        friction: Friction along the post [kPa].
        share: Share left by water: 0.5, or 1 where the row is halved already.
        third_more: True when the lateral bearing holds that third.
    """

    name: str
    lateral: float
    friction: float
    share: float
    third_more: bool = True


def ground_of(key: str, third_more: bool = True) -> Ground:
    """Return the ground for a soil of the table.

    Args:
        key: Soil of the table.
        third_more: False where the wind has been lowered to 0.6 W already.

    Raises:
        RangeError: The soil is not in the table.

    References:
        [IBC] table 1806.2; 1806.1: a third more with the alternative combinations of 1605.3.2 that include wind,
        never together with the 0.6 W of 1605.3.1; 1806.3.4: doubled. Wet soil half, except in a garden bed, whose
        row is half of clay already.
    """
    cells = row("soils", key)
    lateral = number(cells, "lateral_psf_per_ft") or 0.0
    bearing = number(cells, "bearing_psf") or 0.0
    share = 1.0 if key == "garden" else soil.WET_FACTOR
    return Ground(
        cells["name"].split(" (")[0],
        soil.lateral_bearing(lateral, doubled=True) * share * (THIRD_MORE if third_more else 1.0),
        soil.shaft_friction(bearing),
        share,
        third_more,
    )


@dataclass(frozen=True, slots=True)
class Hold:
    """What one anchor may be asked for [N, N m].

    Args:
        pull_n: Straight up.
        moment_nm: Bending of the post.
        wire_n: Tie wire.
        rope_n: Wire rope of a guy.
        guy_n: Slanting pull on a stake.
        raise_by: Beside factored loads the factor on the wind, else 1.
    """

    pull_n: float
    moment_nm: float
    wire_n: float
    rope_n: float
    guy_n: float
    raise_by: float


def hold_of(ground: Ground, depth: float, raise_by: float = 1.0, stake_depth: float | None = None) -> Hold:
    """Return the holds of a post driven `depth` metres deep, and of a stake driven as deep or otherwise."""
    stake = depth if stake_depth is None else stake_depth
    pull = soil.uplift_hold(depth, POST_OUTLINE_M, ground.friction, wet=False) * ground.share
    wet = soil.WET_FACTOR
    guy = STAKE_BREAK_N * (stake / STAKE_DEPTH_M) ** 2 * wet / STAKE_SAFETY
    if ground.share == 1.0:
        guy *= GARDEN_STAKE
    return Hold(
        pull * raise_by,
        POST_YIELD_NM / POST_SAFETY * raise_by,
        WIRE_BREAK_N / WIRE_SAFETY * raise_by,
        GUY_BREAK_N / WIRE_SAFETY * raise_by,
        guy * raise_by,
        raise_by,
    )


def side_hold(ground: Ground, depth: float, height: float, raise_by: float = 1.0) -> float:
    """Return the side force that a post bears at a height above the ground [N]."""
    return soil.pole_load_free(depth, height, POST_WIDTH_M, ground.lateral) * raise_by


@dataclass(frozen=True, slots=True)
class Tied:
    """One anchor, with where its wires meet the frame [m]."""

    anchor: Anchor
    frame: tuple[float, float]
    away_m: float

    @property
    def is_guy(self) -> bool:
        """True for a stake with slanting wires."""
        return self.anchor.kind == "stake"

    @property
    def foot(self) -> tuple[float, float, float]:
        """Where it goes into the ground [m]."""
        return (self.anchor.x_mm / 1000.0, self.anchor.y_mm / 1000.0, self.anchor.ground_mm / 1000.0)

    @property
    def heights_m(self) -> tuple[float, ...]:
        """Heights of the ties above the sill's foot [m]."""
        return tuple(h / 1000.0 for h in self.anchor.tie_heights_mm)

    @property
    def above_ground_m(self) -> tuple[float, ...]:
        """Heights of the ties above the ground, the ring's height more [m]."""
        return tuple(h - self.foot[2] for h in self.heights_m)


def ties(design: Design) -> tuple[Tied, ...]:
    """Return every anchor with the nearest point of the frame."""
    width, depth = design.outside_mm[0] / 1000.0, design.outside_mm[1] / 1000.0
    tied = []
    for anchor in design.anchors:
        x, y = anchor.x_mm / 1000.0, anchor.y_mm / 1000.0
        near = (min(max(x, 0.0), width), min(max(y, 0.0), depth))
        tied.append(Tied(anchor, near, math.hypot(x - near[0], y - near[1])))
    return tuple(tied)


def supports(case: Case, tied: tuple[Tied, ...]) -> tuple[Support, ...]:
    """Return the ground under the corners and all that the anchors do."""
    width, depth = case.width_m, case.depth_m
    found = [
        Support(f"corner {name}", (x, y, 0.0), (0.0, 0.0, 1.0), CORNER_STIFFNESS, "push")
        for name, x, y in (
            ("front left", 0.0, 0.0),
            ("front right", width, 0.0),
            ("back right", width, depth),
            ("back left", 0.0, depth),
        )
    ]
    if any(one.is_guy for one in tied):
        for corner in tuple(found):
            x, y, _ = corner.point
            for axis, direction in (("x", (1.0, 0.0, 0.0)), ("y", (0.0, 1.0, 0.0))):
                found.append(
                    Support(f"key {axis} {x:.3f} {y:.3f}", (x, y, 0.0), direction, KEY_STIFFNESS, "both")
                )
    for one in tied:
        found += _guys(one) if one.is_guy else _close(one)
    return tuple(found)


def _close(one: Tied) -> list[Support]:
    x, y = one.frame
    mark, heights = one.anchor.mark, one.heights_m
    low = heights[0]
    springs = [Support(f"{mark} up", (x, y, low), (0.0, 0.0, 1.0), POST_STIFFNESS, "pull")]
    for height, free in zip(heights, one.above_ground_m, strict=True):
        stiff = POST_SIDE_STIFFNESS if height == low else min(POST_SIDE_STIFFNESS, 3 * POST_E_I / free**3)
        springs.append(Support(f"{mark} x {height:.3f}", (x, y, height), (1.0, 0.0, 0.0), stiff, "both"))
        springs.append(Support(f"{mark} y {height:.3f}", (x, y, height), (0.0, 1.0, 0.0), stiff, "both"))
    return springs


def _guys(one: Tied) -> list[Support]:
    x, y = one.frame
    foot = one.foot
    springs = []
    for height in one.heights_m:
        run = (x - foot[0], y - foot[1], height - foot[2])
        length = math.sqrt(sum(c * c for c in run))
        direction = (run[0] / length, run[1] / length, run[2] / length)
        springs.append(
            Support(
                f"{one.anchor.mark} guy {height:.3f}", (x, y, height), direction, WIRE_E_A / length, "pull"
            )
        )
    return springs


@dataclass(frozen=True, slots=True)
class Held:
    """One blow held: forces by anchor, presses at the corners, friction."""

    blow: Blow
    answer: Answer
    supports: tuple[Support, ...]
    friction_n: float

    def force(self, name: str) -> float:
        """Return the force in a support [N]; 0 when there is none of that name."""
        for support, value in zip(self.supports, self.answer.forces, strict=True):
            if support.name == name:
                return value
        return 0.0

    def of(self, mark: str) -> list[tuple[Support, float]]:
        """Return the supports of one anchor with their forces."""
        return [
            (s, f)
            for s, f in zip(self.supports, self.answer.forces, strict=True)
            if s.name.split(" ")[0] == mark
        ]


def held(body: Body, blow: Blow) -> Held:
    """Return how one blow is held, friction under the sill found by repetition."""
    springs = body.supports
    friction, answer = 0.0, body.hold(blow.loads(0.0))
    for _ in range(30):
        if not answer.found:
            return Held(blow, answer, springs, 0.0)
        pressed = -sum(f for s, f in zip(springs, answer.forces, strict=True) if s.sense == "push")
        wanted = min(FRICTION * pressed, blow.drag_n)
        if abs(wanted - friction) < 1e-6 * max(1.0, blow.drag_n):
            break
        friction = wanted
        answer = body.hold(blow.loads(friction), answer.moved)
    return Held(blow, answer, springs, friction)
