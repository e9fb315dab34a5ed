"""Does the shelter lift, slide or tip over?

Limit balance of the whole body for eight winds: lift against weight and the
posts' hold; drag against friction and the posts' side hold; tipping about
every edge and every corner against weight and the posts on the far side. What
each single anchor must bear is checked in `anchor_rows`.

Units: N, N m.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.checks.anchor_demand import Survey
from enclosure.checks.anchors import FRICTION, Ground, Hold, Tied, side_hold
from enclosure.checks.blows import Blow, from_side
from enclosure.checks.case import Case, standing_mass
from enclosure.checks.model import Check, Line
from enclosure.language import later, tr, tr_as
from enclosure.shape.names import all_of, face_code

ASSUMED = (
    later("the body is rigid; pressures on the two side walls cancel"),
    later("self weight is that of the parts above the base ring; hardware and snow are left out"),
    later("the roof lifts at the same moment as the wind pushes"),
)


@dataclass(frozen=True, slots=True)
class Grip:
    """The anchors as they are checked: where they are tied, the ground, how deep, what each holds."""

    tied: tuple[Tied, ...]
    ground: Ground
    depth_m: float
    hold: Hold
    stake_depth_m: float

    def up_n(self, one: Tied) -> float:
        """Return what one anchor holds straight down at the frame [N]."""
        if not one.is_guy:
            return self.hold.pull_n
        return min(self.hold.guy_n, self.hold.rope_n) * _share(one)[1]

    def side_n(self, one: Tied) -> float:
        """Return what one anchor holds sideways [N]."""
        if not one.is_guy:
            return side_hold(self.ground, self.depth_m, one.above_ground_m[0], self.hold.raise_by)
        return min(self.hold.guy_n, self.hold.rope_n) * _share(one)[0]

    def words(self) -> str:
        """Return the anchors in words."""
        stakes = sum(1 for t in self.tied if t.is_guy)
        posts = len(self.tied) - stakes
        said = (
            [tr("{posts} posts driven {depth:.0f} mm deep").format(posts=posts, depth=self.depth_m * 1000)]
            if posts or not stakes
            else []
        )
        if stakes:
            said.append(
                tr("{stakes} stakes with slanting wires driven {depth:.0f} mm deep").format(
                    stakes=stakes, depth=self.stake_depth_m * 1000
                )
            )
        return tr("{anchors} in {soil}").format(anchors=all_of(said), soil=tr_as("soil", self.ground.name))


def _share(one: Tied) -> tuple[float, float]:
    """Return how much of a guy's pull acts sideways and down (its highest wire)."""
    height = max(one.above_ground_m)
    length = (height**2 + one.away_m**2) ** 0.5
    return one.away_m / length, height / length


def tipping(blow: Blow, corner: tuple[float, float], grip: Grip) -> tuple[float, float, float]:
    """Return the moments that tip, of the weight, and of the anchors, about the lee edge or corner [N m]."""

    def before(x: float, y: float) -> float:
        return (corner[0] - x) * blow.push[0] + (corner[1] - y) * blow.push[1]

    tips = blow.drag_n * blow.arm_m + blow.lift_n * before(*blow.middle)
    weight = blow.dead_n * before(*blow.centre)
    anchors = sum(grip.up_n(t) * max(0.0, before(*t.frame)) for t in grip.tied)
    return tips, weight, anchors


def lee_point(case: Case, blow: Blow) -> tuple[float, float]:
    """Return the corner farthest down the wind [m]."""
    return (case.width_m if blow.push[0] > 0 else 0.0, case.depth_m if blow.push[1] > 0 else 0.0)


def stability_checks(case: Case, found: Survey, grip: Grip) -> tuple[Check, ...]:
    """Return the rows for lift, sliding and tipping."""
    return (_uplift(case, found, grip), _sliding(case, found, grip), _overturning(case, found, grip))


def _inputs(case: Case, grip: Grip) -> tuple[str, ...]:
    return (case.wind.words, grip.words(), tr("mass {mass:.0f} kg").format(mass=standing_mass(case.design)))


def _uplift(case: Case, found: Survey, grip: Grip) -> Check:
    blow = max((h.blow for h in found.helds), key=lambda b: b.lift_n)
    anchors = sum(grip.up_n(t) for t in grip.tied)
    capacity = blow.dead_n + anchors
    lines = (
        *blow.lines,
        Line("T", tr("sum of the anchors' hold"), grip.words(), anchors, "N", tr("see anchor-pull")),
        Line("G + T", "", f"{blow.dead_n:.0f} + {anchors:.0f}", capacity, "N", ""),
        Line("u", "Fr / (G + T)", f"{blow.lift_n:.0f} / {capacity:.0f}", blow.lift_n / capacity, "", ""),
    )
    return Check(
        "wind-uplift",
        tr("wind lifts the shelter"),
        blow.lift_n,
        capacity,
        "N",
        blow.lift_n / capacity,
        case.wind.clause,
        case.wind.source_kind,
        _inputs(case, grip),
        tuple(map(tr, ASSUMED)),
        working=lines,
        governs=(face_code("ROOF"),),
    )


def _sliding(case: Case, found: Survey, grip: Grip) -> Check:
    sides = sum(grip.side_n(t) for t in grip.tied)
    worst = max(found.helds, key=lambda h: h.blow.drag_n / max(1e-9, h.friction_n + sides))
    blow, capacity = worst.blow, worst.friction_n + sides
    pressed = worst.friction_n / FRICTION
    lines = (
        *blow.lines,
        Line("N", tr("what the corners press, from the balance of forces"), "", pressed, "N", tr("statics")),
        Line(
            "R",
            "mu N",
            f"{FRICTION:g} x {pressed:.0f}",
            worst.friction_n,
            "N",
            tr("timber on brick; common practice, no source"),
        ),
        Line("S", tr("sum of the anchors' side hold"), grip.words(), sides, "N", tr("see anchor-side")),
        Line(
            "u",
            "F / (R + S)",
            f"{blow.drag_n:.0f} / ({worst.friction_n:.0f} + {sides:.0f})",
            blow.drag_n / capacity,
            "",
            "",
        ),
    )
    return Check(
        "wind-sliding",
        tr("wind pushes the shelter along"),
        blow.drag_n,
        capacity,
        "N",
        blow.drag_n / capacity,
        case.wind.clause,
        case.wind.source_kind,
        (*_inputs(case, grip), tr("wind {side}").format(side=from_side(blow.name))),
        (*map(tr, ASSUMED), tr("friction counts only what the anchors and the weight press down")),
        working=lines,
    )


def _overturning(case: Case, found: Survey, grip: Grip) -> Check:
    rows = []
    for one in found.helds:
        tips, weight, anchors = tipping(one.blow, lee_point(case, one.blow), grip)
        rows.append((tips / max(1e-9, weight + anchors), one.blow, tips, weight, anchors))
    use, blow, tips, weight, anchors = max(rows, key=lambda r: r[0])
    about = tr("corner") if " " in blow.name else tr("edge")
    lever = (blow.middle[0] - lee_point(case, blow)[0]) * -blow.push[0] + (
        blow.middle[1] - lee_point(case, blow)[1]
    ) * -blow.push[1]
    lines = (
        *blow.lines,
        Line(
            "Mt",
            "F z + Fr r",
            f"{blow.drag_n:.0f} x {blow.arm_m:.3f} + {blow.lift_n:.0f} x {lever:.3f}",
            tips,
            "N m",
            tr("moments about the lee {about}").format(about=about),
        ),
        Line(
            "Mg",
            "G r",
            tr("{force:.0f} N at the centre of mass").format(force=blow.dead_n),
            weight,
            "N m",
            tr("the design's own parts"),
        ),
        Line("Ma", tr("sum of T r"), grip.words(), anchors, "N m", tr("anchors up the wind, see anchor-pull")),
        Line("u", "Mt / (Mg + Ma)", f"{tips:.0f} / ({weight:.0f} + {anchors:.0f})", use, "", ""),
    )
    return Check(
        "wind-overturning",
        tr("wind tips the shelter over"),
        tips,
        weight + anchors,
        "N m",
        use,
        case.wind.clause,
        case.wind.source_kind,
        (*_inputs(case, grip), tr("wind {side}, about the lee {about}").format(side=from_side(blow.name), about=about)),
        tuple(map(tr, ASSUMED)),
        working=lines,
    )
