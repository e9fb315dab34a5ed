"""What does the worst wind ask of the worst anchor?

Adds up the springs of each anchor for all eight blows: pull upward, push
sideways and at what height, bending of the post at the ground, pull in each
wire, and the push that slanting wires put into the frame.

Units: N, m, N m.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.anchors import Ground, Held, Hold, Tied, held, side_hold, supports, ties
from enclosure.checks.blows import Blow, blows
from enclosure.checks.case import Case
from enclosure.checks.equilibrium import Body


@dataclass(frozen=True, slots=True)
class Demand:
    """What one blow asks of one anchor.

    Args:
        mark: The anchor.
        blow: Where the wind comes from.
        pull_n: Straight pull up on a close post.
        side_n: Side force on a close post.
        at_m: Height above the ground at which that side force acts.
        moment_nm: Bending of the post at the ground.
        wire_n: Greatest pull in a tie wire.
        rope_n: Greatest pull in a slanting wire.
        guy_n: Slanting pull on a stake, all its wires together.
        press_n: Push that slanting wires put into the frame, straight down.
    """

    mark: str
    blow: str
    pull_n: float = 0.0
    side_n: float = 0.0
    at_m: float = 0.0
    moment_nm: float = 0.0
    wire_n: float = 0.0
    rope_n: float = 0.0
    guy_n: float = 0.0
    press_n: float = 0.0


def demand_of(held_blow: Held, tied: Tied) -> Demand:
    """Return what one held blow asks of one anchor."""
    mark, name = tied.anchor.mark, held_blow.blow.name
    springs = held_blow.of(mark)
    if tied.is_guy:
        pulls = [f for _, f in springs]
        total = [sum(f * s.direction[i] for s, f in springs) for i in range(3)]
        return Demand(
            mark,
            name,
            rope_n=max(pulls, default=0.0),
            guy_n=math.sqrt(sum(c * c for c in total)),
            press_n=total[2],
        )
    up = sum(f for s, f in springs if s.direction[2] == 1.0)
    sides = {s.point[2]: [0.0, 0.0] for s, _ in springs if s.direction[2] == 0.0}
    for spring, force in springs:
        if spring.direction[2] == 0.0:
            sides[spring.point[2]][0 if spring.direction[0] else 1] += force
    across = [sum(v[i] for v in sides.values()) for i in (0, 1)]
    bending = [sum((z - tied.foot[2]) * v[i] for z, v in sides.items()) for i in (0, 1)]
    side, moment = math.hypot(*across), math.hypot(*bending)
    wires = [math.hypot(*v) for v in sides.values()]
    wire = max([math.hypot(up, wires[0]), *wires[1:]]) if wires else up
    return Demand(mark, name, up, side, moment / side if side > 1e-9 else 0.0, moment, wire)


@dataclass(frozen=True, slots=True)
class Survey:
    """All blows on all anchors."""

    helds: tuple[Held, ...]
    demands: tuple[Demand, ...]

    @property
    def stands(self) -> bool:
        """False when some blow finds no balance."""
        return all(h.answer.found for h in self.helds)


def survey(case: Case, tied: tuple[Tied, ...] | None = None, winds: tuple[Blow, ...] | None = None) -> Survey:
    """Return what all eight blows ask of all anchors: the case's own once only, or others tried on it."""
    if tied is None and winds is None:
        if "survey" not in case.known:
            case.known["survey"] = survey(case, ties(case.design), blows(case))
        own: Survey = case.known["survey"]
        return own
    anchors = ties(case.design) if tied is None else tied
    body = Body(supports(case, anchors))
    helds = tuple(held(body, blow) for blow in (blows(case) if winds is None else winds))
    demands = tuple(demand_of(h, t) for h in helds if h.answer.found for t in anchors)
    return Survey(helds, demands)


@dataclass(frozen=True, slots=True)
class Ratio:
    """One kind of demand on its worst anchor."""

    kind: str
    demand: Demand
    asked: float
    given: float
    unit: str

    @property
    def utilisation(self) -> float:
        """Demand over capacity."""
        if self.given <= 0.0:
            return math.inf if self.asked > 1e-9 else 0.0
        return self.asked / self.given


def ratios(found: Survey, ground: Ground, depth: float, hold: Hold) -> tuple[Ratio, ...]:
    """Return the worst ratio of each kind, at this embedment."""
    rows: list[Ratio] = []
    nothing = Demand("", "")

    def add(kind: str, unit: str, pairs: list[tuple[float, float, Demand]]) -> None:
        used = [p for p in pairs if p[0] > 1e-6]
        asked, given, demand = max(
            # rounded, so that of anchors asked alike the first is named and not one by float dust
            used, key=lambda p: round(p[0] / p[1], 9) if p[1] > 0 else math.inf, default=(0.0, 1.0, nothing)
        )
        if used:
            rows.append(Ratio(kind, demand, asked, given, unit))

    demands = found.demands
    add("anchor-pull", "N", [(d.pull_n, hold.pull_n, d) for d in demands])
    add("anchor-side", "N", [(d.side_n, side_hold(ground, depth, d.at_m, hold.raise_by), d) for d in demands])
    add("post-bending", "N m", [(d.moment_nm, hold.moment_nm, d) for d in demands])
    add("tie-wire", "N", [(d.wire_n, hold.wire_n, d) for d in demands])
    add("guy-wire", "N", [(d.rope_n, hold.rope_n, d) for d in demands])
    add("stake-pull", "N", [(d.guy_n, hold.guy_n, d) for d in demands])
    return tuple(rows)
