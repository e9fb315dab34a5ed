"""What is the least set of posts, or of stakes with slanting wires, that holds this shelter?

Candidates from the least trouble to the most are tried against all eight
winds: close posts (more of them, wired at both heights or only low down, which
bends them less), stakes with slanting wires at the corners, and posts wired low
with stakes besides; slanting wires at 45, 30 and 60 degrees. Each is driven to
the least of the usual depths that passes. The first that passes is returned
with what the brief must say for it; when none does, the best.

Where an anchor stands is the same as in `shape.build`, so a brief that asks for
the set gets it.

Units: m, mm as in `shape.model.Anchor`.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

from enclosure.brief.model import Anchors
from enclosure.checks.anchor_demand import ratios, survey
from enclosure.checks.anchor_rows import DEPTHS_M, grip_of
from enclosure.checks.anchors import ties
from enclosure.checks.blows import Blow, blows
from enclosure.checks.case import Case
from enclosure.checks.stability import stability_checks
from enclosure.errors import DesignError
from enclosure.language import tr
from enclosure.shape.anchoring import Place, place_of, placed
from enclosure.shape.model import Anchor
from enclosure.shape.names import all_of
from enclosure.units import UnitSystem, format_length

SLOPES_DEG = (45.0, 30.0, 60.0)
STAKES = (4, 8, 12)
POSTS = (4, 6, 8, 10)


@dataclass(frozen=True, slots=True)
class AnchorPlan:
    """A set of anchors that was tried.

    Args:
        words: What it is and what the brief must say for it.
        asked: The brief's anchors table that asks for it.
        anchors: Where each stands, for the plan drawing.
        rows: Utilisation by row, worst first.
        passes: True when every row passes.
    """

    words: str
    asked: Anchors
    anchors: tuple[Anchor, ...]
    rows: tuple[tuple[str, float], ...]
    passes: bool

    @property
    def worst(self) -> float:
        """The greatest utilisation."""
        return max((u for _, u in self.rows), default=math.inf)


def propose(case: Case) -> AnchorPlan:
    """Return the least set of anchors that passes, or the best of those tried.

    Raises:
        DesignError: The shelter has no room for any set.
    """
    winds = blows(case)
    design = case.design
    place = place_of(design.outside_mm, design.frames, design.parts, design.base)
    tried: list[AnchorPlan] = []
    for asked in candidates(case):
        plan = evaluate(case, winds, asked, place)
        if plan is None:
            continue
        tried.append(plan)
        if plan.passes:
            return plan
    if not tried:
        raise DesignError("no set of anchors finds room round this shelter", "a larger shelter or none")
    return min(tried, key=lambda p: p.worst)


def candidates(case: Case) -> Iterator[Anchors]:
    """Yield what the brief could ask for, from the least trouble to the most."""
    here = sum(1 for anchor in case.design.anchors if anchor.kind == "post")
    counts = [n for n in sorted({here, *POSTS}) if n >= max(2, min(here, 4))]
    for count in counts:
        yield Anchors(posts=count)
        yield Anchors(posts=count, ties="low")
    for stakes in STAKES:
        for slope in SLOPES_DEG:
            yield Anchors(posts=0, stakes=stakes, wire_slope_deg=slope)
    for stakes in STAKES:
        for count in counts:
            for slope in SLOPES_DEG:
                yield Anchors(posts=count, ties="low", stakes=stakes, wire_slope_deg=slope)


def evaluate(case: Case, winds: tuple[Blow, ...], asked: Anchors, place: Place) -> AnchorPlan | None:
    """Return how a set of anchors fares at the least depth that passes, None when there is no room for it."""
    units = case.design.units
    try:
        anchors = placed(asked, place)
    except DesignError:
        return None
    changed = replace(case, design=replace(case.design, anchors=anchors))
    tied = ties(changed.design)
    found = survey(changed, tied, winds)
    if not found.stands:
        return AnchorPlan(in_words(asked, units), asked, anchors, (("anchor-pull", math.inf),), False)
    rows: list[tuple[str, float]] = []
    for depth in DEPTHS_M:
        grip = grip_of(changed, depth, tied)
        rows = [(r.kind, r.utilisation) for r in ratios(found, grip.ground, grip.depth_m, grip.hold)]
        rows += [(c.key, c.utilisation) for c in stability_checks(changed, found, grip)]
        if all(u <= 1.0 for _, u in rows):
            break
    rows.sort(key=lambda pair: (-pair[1], pair[0]))
    deep = asked.model_copy(
        update={
            "depth_mm": grip.depth_m * 1000 if asked.posts else None,
            "stake_depth_mm": grip.stake_depth_m * 1000 if asked.stakes else None,
        }
    )
    return AnchorPlan(in_words(deep, units), deep, placed(deep, place), tuple(rows), all(u <= 1.0 for _, u in rows))


def in_words(asked: Anchors, units: UnitSystem = "metric") -> str:
    """Return a set of anchors in words, with the keys of the brief; a depth in inches is rounded up."""
    said, keys = [], [f"anchors.posts = {asked.posts}"]
    if asked.posts:
        low = tr(" wired only low down") if asked.ties == "low" else ""
        said.append(
            tr("{posts} posts beside the walls{low}{driven}").format(
                posts=asked.posts, low=low, driven=_driven(asked.depth_mm, units)
            )
        )
        keys.append(f'anchors.ties = "{asked.ties}"')
        if asked.depth_mm:
            keys.append(f'anchors.depth = "{_deep(asked.depth_mm, units)}"')
    if asked.stakes:
        slope = f"{asked.wire_slope_deg:.0f} deg"
        said.append(
            tr("{stakes} stakes with wires slanting at {slope}{driven}").format(
                stakes=asked.stakes, slope=slope, driven=_driven(asked.stake_depth_mm, units)
            )
        )
        keys += [f"anchors.stakes = {asked.stakes}", f'anchors.wire_slope = "{slope}"']
        if asked.stake_depth_mm:
            keys.append(f'anchors.stake_depth = "{_deep(asked.stake_depth_mm, units)}"')
    return f"{all_of(said)} ({', '.join(keys)})"


def _driven(depth_mm: float | None, units: UnitSystem) -> str:
    return tr(", driven {depth} deep").format(depth=_deep(depth_mm, units)) if depth_mm else ""


def _deep(depth_mm: float, units: UnitSystem) -> str:
    return format_length(depth_mm, units, rounding="up")
