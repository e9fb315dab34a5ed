"""What is the least set of posts, or of stakes with slanting wires, that holds this shelter?

Candidates from the least trouble to the most are tried against all eight
winds: first close posts (from the design's own places, more of them, each at
the usual depths, wired at both heights or only low down, which bends the post
less), then stakes with slanting wires at the corners: four along
the diagonals, then eight square to the walls, at 45, 30 and 60 degrees. The
first that passes is returned with its plan; when none does, the best.

Units: m, mm as in `shape.model.Anchor`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from enclosure.checks.anchor_demand import ratios, survey
from enclosure.checks.anchor_rows import DEPTHS_M, grip_of, least_depth
from enclosure.checks.anchors import Tied
from enclosure.checks.blows import Blow, blows
from enclosure.checks.case import Case
from enclosure.checks.stability import Grip, lee_point, tipping
from enclosure.shape.model import Anchor

ANGLES_DEG = (45.0, 30.0, 60.0)
GUY_HEIGHT_SHARE = 2.0 / 3.0
"""Wires meet the frame at two thirds of its height (common practice, no source)."""

MOST_POSTS = 10
POST_GAP_MM = 60.0


@dataclass(frozen=True, slots=True)
class AnchorPlan:
    """A set of anchors that was tried.

    Args:
        words: What it is, for people.
        anchors: Where each stands, for the plan drawing.
        depth_mm: Embedment.
        angle_deg: Angle of slanting wires above the ground, 0 for close posts.
        rows: Utilisation by kind, worst first.
        passes: True when every row passes.
    """

    words: str
    anchors: tuple[Anchor, ...]
    depth_mm: float
    angle_deg: float
    rows: tuple[tuple[str, float], ...]
    passes: bool

    @property
    def worst(self) -> float:
        """The greatest utilisation."""
        return max((u for _, u in self.rows), default=math.inf)


def propose(case: Case) -> AnchorPlan:
    """Return the least set of anchors that passes, or the best of those tried."""
    winds = blows(case)
    tried: list[AnchorPlan] = []
    here = len(case.design.anchors)
    for count in sorted({here, *range(4, MOST_POSTS + 1, 2)}):
        if count < min(here, 4):
            continue
        posts = posts_around(case, count)
        low = tuple(replace(p, tie_heights_mm=p.tie_heights_mm[:1]) for p in posts)
        height = low[0].tie_heights_mm[0] if low else 0.0
        said = f"{count} posts beside the walls (anchors.posts = {count})"
        for anchors, words in (
            (posts, said),
            (low, f"{said} wired only low down, at {height:.0f} mm"),
        ):
            plan = evaluate(case, winds, anchors, 0.0, words)
            tried.append(plan)
            if plan.passes:
                return plan
    for pairs in (1, 2):
        for angle in ANGLES_DEG:
            stakes = guys(case, angle, pairs)
            plan = evaluate(case, winds, stakes, angle, f"{len(stakes)} stakes with wires slanting at {angle:.0f} deg")
            tried.append(plan)
            if plan.passes:
                return plan
    both = _both(case, winds)
    tried += both
    return next((p for p in both if p.passes), None) or min(tried, key=lambda p: p.worst)


def _both(case: Case, winds: tuple[Blow, ...]) -> list[AnchorPlan]:
    """Return plans that keep the design's own posts and add slanting wires."""
    plans = []
    own = case.design.anchors
    for pairs in (1, 2):
        for angle in ANGLES_DEG:
            stakes = guys(case, angle, pairs)
            words = f"the {len(own)} posts and {len(stakes)} stakes with wires slanting at {angle:.0f} deg"
            plans.append(evaluate(case, winds, (*own, *stakes), angle, words))
    return plans


def evaluate(case: Case, winds: tuple[Blow, ...], anchors: tuple[Anchor, ...], angle: float, words: str) -> AnchorPlan:
    """Return how a set of anchors fares at the least depth that passes."""
    tied = _tied(case, anchors)
    found = survey(case, tied, winds)
    if not found.stands:
        return AnchorPlan(words, anchors, DEPTHS_M[-1] * 1000, angle, (("anchor-pull", math.inf),), False)
    grip, rows = least_depth(case, found, tied)
    for depth in DEPTHS_M:
        if depth < grip.depth_m:
            continue
        grip = grip_of(case, depth, tied)
        whole = _whole_body(case, winds, grip)
        if whole <= 1.0:
            break
    final = ratios(found, grip.ground, grip.depth_m, grip.hold) or rows
    levels = [(r.kind, r.utilisation) for r in final] + [("wind-overturning", whole)]
    levels.sort(key=lambda pair: (-pair[1], pair[0]))
    passes = all(u <= 1.0 for _, u in levels)
    text = f"{words}, driven {grip.depth_m * 1000:.0f} mm deep"
    return AnchorPlan(text, anchors, grip.depth_m * 1000, angle, tuple(levels), passes)


def _whole_body(case: Case, winds: tuple[Blow, ...], grip: Grip) -> float:
    worst = 0.0
    for blow in winds:
        tips, weight, anchors = tipping(blow, lee_point(case, blow), grip)
        worst = max(worst, tips / max(1e-9, weight + anchors))
    return worst


def _tied(case: Case, anchors: tuple[Anchor, ...]) -> tuple[Tied, ...]:
    tied = []
    for anchor in anchors:
        x, y = anchor.x_mm / 1000.0, anchor.y_mm / 1000.0
        near = (min(max(x, 0.0), case.width_m), min(max(y, 0.0), case.depth_m))
        tied.append(Tied(anchor, near, math.hypot(x - near[0], y - near[1])))
    return tuple(tied)


def tie_heights(case: Case) -> tuple[float, ...]:
    """Return the heights of the design's own ties [mm]."""
    if case.design.anchors:
        return case.design.anchors[0].tie_heights_mm
    return (300.0, case.design.clear_mm[2] * 0.75)


def posts_around(case: Case, count: int) -> tuple[Anchor, ...]:
    """Return close posts: the design's own when their number fits, else along the two sides and the back.

    The front stays free, because it opens.
    """
    if count == len(case.design.anchors):
        return case.design.anchors
    width, depth = case.design.outside_mm[:2]
    away = POST_GAP_MM + 20.0
    first = case.design.anchors[0] if case.design.anchors else None
    if first is not None:
        away = max(0.0, -min(a.x_mm for a in case.design.anchors))
    back = max(0, (count - 4) // 3) if count > 4 else 0
    sides = count - back
    left = sides // 2
    right = sides - left
    inset = min(150.0, depth / 4)
    heights = tie_heights(case)
    spots: list[tuple[float, float, str]] = []
    for x, number, name in ((-away, left, "LEFT"), (width + away, right, "RIGHT")):
        spots += [(x, inset + (depth - 2 * inset) * k / max(1, number - 1), name) for k in range(number)]
    spots += [(width * (k + 1) / (back + 1), depth + away, "BACK") for k in range(back)]
    return tuple(
        Anchor(f"P{i}", round(x, 1), round(y, 1), heights, side) for i, (x, y, side) in enumerate(spots, start=1)
    )


def guys(case: Case, angle: float, pairs: int) -> tuple[Anchor, ...]:
    """Return stakes at the corners: one along each diagonal, or two square to the walls.

    Args:
        case: The shelter.
        angle: Angle of the wire above the ground [deg].
        pairs: 1 for one stake a corner, 2 for two.
    """
    width, depth = case.design.outside_mm[:2]
    height = case.design.clear_mm[2] * GUY_HEIGHT_SHARE
    away = height / math.tan(math.radians(angle))
    spots: list[tuple[float, float, str]] = []
    for x, sx, side in ((0.0, -1.0, "LEFT"), (width, 1.0, "RIGHT")):
        for y, sy, end in ((0.0, -1.0, "FRONT"), (depth, 1.0, "BACK")):
            if pairs == 1:
                spots.append((x + sx * away * math.sqrt(0.5), y + sy * away * math.sqrt(0.5), side))
            else:
                spots.append((x + sx * away, y, side))
                spots.append((x, y + sy * away, end))
    return tuple(
        Anchor(f"S{i}", round(x, 1), round(y, 1), (round(height, 1),), side)
        for i, (x, y, side) in enumerate(spots, start=1)
    )
