"""From which sides does the wind blow, and what does it do to the whole body?

Four sides and four diagonals. Each blow is a drag at the middle of the face it
meets, a lift on the roof, and the self weight that counts against them.

Units: N, m. x right, y back, z up from the sill's foot, origin at the outer
left corner of the front.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.case import Case, centre_of_mass, roof_plan_area, standing_mass, wind_face
from enclosure.checks.equilibrium import Load
from enclosure.checks.model import Line
from enclosure.checks.ranges import GRAVITY
from enclosure.checks.wind import body_coefficient, roof_lift_coefficient
from enclosure.language import tr, tr_as
from enclosure.shape.model import Vec

_HALF = math.sqrt(0.5)

DIRECTIONS: tuple[tuple[str, tuple[float, float]], ...] = (
    ("front", (0.0, 1.0)),
    ("right", (-1.0, 0.0)),
    ("back", (0.0, -1.0)),
    ("left", (1.0, 0.0)),
    ("front left", (_HALF, _HALF)),
    ("front right", (-_HALF, _HALF)),
    ("back right", (-_HALF, -_HALF)),
    ("back left", (_HALF, -_HALF)),
)
"""Where the wind comes from, and which way it pushes (x, y)."""


@dataclass(frozen=True, slots=True)
class Blow:
    """One wind direction.

    Args:
        name: Where the wind comes from.
        push: Unit vector in plan.
        drag_n: Side force, factors of the combination in it [N].
        arm_m: Height of the side force above the sill's foot [m].
        lift_n: Lift on the roof [N].
        dead_n: Self weight that counts [N].
        centre: Centre of mass in plan [m].
        middle: Middle of the roof in plan [m].
        lines: How it came about.
    """

    name: str
    push: tuple[float, float]
    drag_n: float
    arm_m: float
    lift_n: float
    dead_n: float
    centre: tuple[float, float]
    middle: tuple[float, float]
    lines: tuple[Line, ...]

    def loads(self, friction_n: float = 0.0) -> tuple[Load, ...]:
        """Return the forces on the body; friction under the sill works against the drag."""
        px, py = self.push
        mx, my = self.middle
        held = min(friction_n, self.drag_n)
        return (
            Load("drag", (mx, my, self.arm_m), (self.drag_n * px, self.drag_n * py, 0.0)),
            Load("lift", (mx, my, 0.0), (0.0, 0.0, self.lift_n)),
            Load("weight", (*self.centre, 0.0), (0.0, 0.0, -self.dead_n)),
            Load("friction", (mx, my, 0.0), (-held * px, -held * py, 0.0)),
        )


def blows(case: Case) -> tuple[Blow, ...]:
    """Return all eight blows on a shelter."""
    centre = centre_of_mass(case.design)
    return tuple(_blow(case, name, push, centre) for name, push in DIRECTIONS)


def _blow(case: Case, name: str, push: tuple[float, float], centre: Vec) -> Blow:
    wind, design = case.wind, case.design
    diagonal = " " in name
    width, depth = case.width_m, case.depth_m
    sides = [wind_face(case, word.upper()) for word in name.split()]
    if diagonal:
        projected = (sides[0][0] + sides[1][0]) * _HALF
        arm = sum(a * z for a, z in sides) / sum(a for a, _ in sides)
    else:
        projected, arm = sides[0]
    coefficient = body_coefficient(wind, 2 * arm, min(width, depth), diagonal)
    level = wind.stability
    drag = level * wind.q_pa * coefficient * projected
    length = depth if name in ("front", "back") else width if name in ("left", "right") else min(width, depth)
    roof_area = roof_plan_area(design)
    lifting = roof_lift_coefficient(wind, design.roof, design.fall_deg, 2 * arm, length)
    lift = level * wind.q_pa * lifting * roof_area
    mass = standing_mass(design)
    dead = wind.dead * mass * GRAVITY
    factor = "" if level == 1.0 else f"{level:g} x "
    lines = (
        *wind.lines,
        Line("A", tr("face in the wind"), from_side(name), projected, "m²", tr("the design's own frames")),
        Line(
            "C",
            tr("whole body, gust effect in it"),
            f"h/b = {2 * arm / min(width, depth):.2f}",
            coefficient,
            "",
            _body_source(wind.route),
        ),
        Line(
            "F",
            "q C A",
            f"{factor}{wind.q_pa:.1f} x {coefficient:.3f} x {projected:.3f}",
            drag,
            "N",
            wind.clause,
        ),
        Line("z", tr("middle of the face"), "", arm, "m", tr("the design's own frames")),
        Line("Cr", tr("roof lift, inside pressure in it"), "", lifting, "", _roof_source(wind.route)),
        Line(
            "Fr",
            "q Cr Ar",
            f"{factor}{wind.q_pa:.1f} x {lifting:.3f} x {roof_area:.3f}",
            lift,
            "N",
            wind.clause,
        ),
        Line("m", tr("all parts above the ring"), "", mass, "kg", tr("the design's own parts, hardware left out")),
        Line("G", tr("share of m g"), f"{wind.dead:g} x {mass:.1f} x 9.807", dead, "N", wind.clause),
    )
    return Blow(name, push, drag, arm, lift, dead, (centre[0], centre[1]), (width / 2, depth / 2), lines)


def from_side(name: str) -> str:
    """Return where a wind comes from, in words: from the front left."""
    return tr_as("wind", f"from the {name}")


def _body_source(route: str) -> str:
    return {
        "en1991": tr("EN 1991-1-4 table 7.1, D - E"),
        "nbcc": "NBCC Cg (0.8 + 0.5)",
    }.get(route, tr("ASCE 7-16 figure 29.4-1, square tower"))


def _roof_source(route: str) -> str:
    return {
        "en1991": tr("EN 1991-1-4 7.2, mean of the zones, + 0.2 inside"),
        "nbcc": tr("NBCC Cg x 1.0 + 0.6 inside"),
    }.get(route, tr("ASCE 7-16 figure 27.3-1, and 0.18 inside"))
