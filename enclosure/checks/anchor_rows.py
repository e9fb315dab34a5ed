"""The rows of the sheet for posts, stakes and wires, and the depth they are driven to.

Where the brief does not say how deep (anchors.depth, anchors.stake_depth), the
least of the usual depths at which every anchor row passes is taken and printed;
when none does, the deepest.
"""

from __future__ import annotations

from enclosure.checks.anchor_demand import Ratio, Survey, ratios, survey
from enclosure.checks.anchors import (
    GARDEN_STAKE,
    GUY_BREAK_N,
    POST_OUTLINE_M,
    POST_SAFETY,
    POST_WIDTH_M,
    POST_YIELD_NM,
    STAKE_BREAK_N,
    STAKE_DEPTH_M,
    STAKE_SAFETY,
    WIRE_BREAK_N,
    WIRE_SAFETY,
    Ground,
    Tied,
    ground_of,
    hold_of,
    ties,
)
from enclosure.checks.blows import from_side
from enclosure.checks.case import Case
from enclosure.checks.model import Check, Line, SourceKind
from enclosure.checks.soil import WET_FACTOR
from enclosure.checks.stability import Grip
from enclosure.errors import DesignError
from enclosure.language import decimal, later, tr

DEPTHS_M = (0.45, 0.60, 0.75, 0.90, 1.05, 1.20)
"""Depths to which a post is driven by hand (common practice, no source)."""
MOST_STAKE_M = 1.05
"""A stake of 1.2 m keeps its eye above the ground (common practice, no source)."""

ASSUMED = (
    later("posts stand in ground that has been rained on; the top 300 mm hold nothing against a pull"),
    later("frost lifts posts and thaw loosens them: drive them again and tighten the wires each March"),
    later("posts are studded steel tees 1-3/8 in wide; wires are two turns of 2 mm"),
)

_NAMES = {
    "anchor-pull": later("pull on the worst post"),
    "anchor-side": later("side force on the worst post"),
    "post-bending": later("bending of the worst post"),
    "tie-wire": later("pull in the worst wire"),
    "guy-wire": later("pull in the worst slanting wire"),
    "stake-pull": later("slanting pull on the worst stake"),
}
_CLAUSES: dict[str, tuple[str, SourceKind]] = {
    "anchor-pull": (later("IBC 2018 1810.3.3.1.4 friction, a sixth of table 1806.2 (from memory)"), "memory"),
    "anchor-side": (later("IBC 2018 equation 18-1, table 1806.2, 1806.1, 1806.3.4"), "published"),
    "post-bending": (later("yield moment of the tee about its weaker axis / 1.67 (from memory)"), "memory"),
    "tie-wire": (later("breaking load / 3; common practice, no source"), "practice"),
    "guy-wire": (later("breaking load / 3; common practice, no source"), "practice"),
    "stake-pull": (later("stake tests in lawn, half when wet, / 2"), "handbook"),
}


def grip_of(case: Case, depth: float, tied: tuple[Tied, ...] | None = None) -> Grip:
    """Return the anchors of a design, driven to a depth [m] where they do not have one of their own."""
    ground = ground_of(case.site.soil, third_more=case.wind.stability >= 1.0)
    # allowable holds meet factored loads: both are raised alike (common practice, no source)
    raise_by = case.wind.stability if case.wind.limit_state else 1.0
    anchors = ties(case.design) if tied is None else tied
    post, stake = _own_depth(anchors, False) or depth, _own_depth(anchors, True) or min(depth, MOST_STAKE_M)
    return Grip(anchors, ground, post, hold_of(ground, post, raise_by, stake), stake)


def _own_depth(tied: tuple[Tied, ...], guy: bool) -> float:
    """Return the least depth set for the posts or the stakes [m], 0 when it is left open."""
    return min((t.anchor.depth_mm / 1000.0 for t in tied if t.is_guy == guy), default=0.0)


def least_depth(case: Case, found: Survey, tied: tuple[Tied, ...] | None = None) -> tuple[Grip, tuple[Ratio, ...]]:
    """Return the anchors at the least depth that passes, or at the greatest when none does."""
    for depth in DEPTHS_M:
        grip = grip_of(case, depth, tied)
        rows = ratios(found, grip.ground, grip.depth_m, grip.hold)
        if found.stands and all(r.utilisation <= 1.0 for r in rows):
            break
    return grip, rows


def anchor_checks(case: Case, found: Survey, grip: Grip, rows: tuple[Ratio, ...]) -> tuple[Check, ...]:
    """Return one row for each kind of demand on the anchors."""
    if not found.stands:
        return (_falls(case, found, grip),)
    return tuple(_row(case, found, grip, ratio) for ratio in rows)


def _falls(case: Case, found: Survey, grip: Grip) -> Check:
    lost = next(h.blow.name for h in found.helds if not h.answer.found)
    return Check(
        "anchor-pull",
        tr("the anchors cannot hold the shelter in any way"),
        2.0,
        1.0,
        "",
        2.0,
        tr("statics"),
        "published",
        (case.wind.words, grip.words(), tr("wind {side}").format(side=from_side(lost))),
        (tr("no balance of forces exists"),),
    )


def _row(case: Case, found: Survey, grip: Grip, ratio: Ratio) -> Check:
    clause, kind = _CLAUSES[ratio.kind]
    demand = ratio.demand
    blow = next(h.blow for h in found.helds if h.blow.name == demand.blow)
    inputs = (
        case.wind.words,
        grip.words(),
        tr("worst: {mark}, wind {side}").format(mark=demand.mark, side=from_side(demand.blow)),
        *_lengths(grip),
    )
    lines = (
        *blow.lines,
        *_demand_lines(found, ratio),
        *_capacity_lines(ratio, grip),
    )
    return Check(
        ratio.kind,
        tr(_NAMES[ratio.kind]),
        ratio.asked,
        ratio.given,
        ratio.unit,
        ratio.utilisation,
        tr(clause),
        kind,
        inputs,
        tuple(tr(words) for words in ASSUMED),
        working=lines,
        governs=(demand.mark,),
    )


def _lengths(grip: Grip) -> tuple[str, ...]:
    close = [t for t in grip.tied if not t.is_guy]
    if not close:
        return ()
    tall = max(max(t.above_ground_m) for t in close) + grip.depth_m
    return (tr("posts at least {tall:.1f} m long to reach from that depth to the upper tie").format(tall=tall),)


def _demand_lines(found: Survey, ratio: Ratio) -> tuple[Line, ...]:
    demand = ratio.demand
    one = next(h for h in found.helds if h.blow.name == demand.blow)
    pressed = sum(f for s, f in zip(one.supports, one.answer.forces, strict=True) if s.sense == "push")
    lines = [
        Line(
            "R",
            "mu N",
            tr("friction while the corners press {force:.0f} N").format(force=-pressed),
            one.friction_n,
            "N",
            f"mu {decimal('0.4')}",
        )
    ]
    for support, force in one.of(demand.mark):
        lines.append(
            Line(
                _support_word(support.name),
                tr("from the balance of forces"),
                "",
                force,
                "N",
                tr("rigid body on springs"),
            )
        )
    if ratio.kind == "post-bending":
        lines.append(
            Line(
                "M",
                tr("sum of H z"),
                tr("{force:.0f} N at {height:.2f} m").format(force=demand.side_n, height=demand.at_m),
                demand.moment_nm,
                "N m",
                tr("statics"),
            )
        )
    if demand.press_n:
        lines.append(Line(tr("press"), tr("wires push into the frame"), "", demand.press_n, "N", tr("statics")))
    return tuple(lines)


def _support_word(name: str) -> str:
    """Return what an anchor does, in words: its lift, its push along an axis, the pull of its wire."""
    mark, way, *height = name.split(" ")
    if way == "up":
        return tr("{mark} up").format(mark=mark)
    if way == "guy":
        return tr("{mark} wire {height}").format(mark=mark, height=decimal(height[0]))
    return decimal(name)


def _capacity_lines(ratio: Ratio, grip: Grip) -> tuple[Line, ...]:
    ground, depth, hold = grip.ground, grip.depth_m, grip.hold
    raised = f" x {hold.raise_by:g}" if hold.raise_by != 1.0 else ""
    given, unit = ratio.given, ratio.unit
    if ratio.kind == "anchor-side":
        return _side_lines(ratio, ground, depth, raised)
    if ratio.kind == "anchor-pull":
        words = f"{ground.friction:.2f} x {POST_OUTLINE_M} x ({depth:.2f} - 0.30) x {ground.share:g}{raised}"
        loose = tr("top 0.30 m left out: common practice, no source")
        return (
            Line(
                "f",
                tr("bearing / 6"),
                f"{6 * ground.friction:.1f} / 6",
                ground.friction,
                "kPa",
                tr("IBC 2018 1810.3.3.1.4 (from memory)"),
            ),
            Line("T", tr("f o (d - 0.30) wet"), words, given, unit, loose),
        )
    if ratio.kind == "post-bending":
        words = f"{POST_YIELD_NM:.0f} / {POST_SAFETY:g}{raised}"
        return (Line("M", "My / 1.67", words, given, unit, tr("nominal tee (from memory)")),)
    if ratio.kind in ("tie-wire", "guy-wire"):
        broken = WIRE_BREAK_N if ratio.kind == "tie-wire" else GUY_BREAK_N
        words = f"{broken:.0f} / {WIRE_SAFETY:g}{raised}"
        return (Line("T", tr("break / 3"), words, given, unit, tr("common practice, no source")),)
    tests = tr("stake tests, safety {safety:g}; growth with d² is common practice, no source").format(
        safety=STAKE_SAFETY
    )
    loose = tr(" x {share:g} garden bed").format(share=GARDEN_STAKE) if ground.share == 1.0 else ""
    words = f"{STAKE_BREAK_N:.0f} x ({grip.stake_depth_m:.2f}/{STAKE_DEPTH_M:g})² x {WET_FACTOR:g}{loose} / 2{raised}"
    return (Line("T", tr("4448 (d/0.914)² wet / 2"), words, given, unit, tests),)


def _side_lines(ratio: Ratio, ground: Ground, depth: float, raised: str) -> tuple[Line, ...]:
    height = ratio.demand.at_m
    more, third = (" x 4/3", 4 / 3) if ground.third_more else ("", 1.0)
    a = depth**2 / (depth + 1.09 * height)
    code = tr("IBC 2018 table 1806.2, 1806.3.4, 1806.1")
    turned = f"{depth:.2f}² / ({depth:.2f} + 1.09 x {height:.2f})"
    words = f"{a:.3f} x {ground.lateral:.1f} x {depth:.2f}/3 x {POST_WIDTH_M} / 2.34{raised}"
    return (
        Line(
            "s",
            tr("lateral x 2 x wet{more}").format(more=more),
            f"{ground.lateral / (2 * ground.share * third):.2f} x 2 x {ground.share:g}{more}",
            ground.lateral,
            "kPa/m",
            code,
        ),
        Line("A", "d² / (d + 1.09 h)", turned, a, "m", tr("18-1 solved for A")),
        Line("P", "A (s d/3) b / 2.34", words, ratio.given, ratio.unit, tr("IBC 2018 equation 18-1")),
    )


def refuse_buried(case: Case) -> None:
    """Raise DesignError when a post would be driven through the base ring or the bed inside it."""
    design = case.design
    width, depth = design.outside_mm[:2]
    out_x = max(0.0, (design.base.ring_length_mm - width) / 2)
    out_y = max(0.0, (design.base.ring_width_mm - depth) / 2)
    for anchor in design.anchors:
        inside_x = -out_x < anchor.x_mm < width + out_x
        inside_y = -out_y < anchor.y_mm < depth + out_y
        if inside_x and inside_y:
            raise DesignError(
                f"anchor {anchor.mark} at x {anchor.x_mm:.0f}, y {anchor.y_mm:.0f} mm stands inside the bed's wall",
                "posts go into the ground outside the base ring; leave anchors.posts out, and the program decides",
            )


def standing(case: Case) -> tuple[Survey, Grip, tuple[Ratio, ...]]:
    """Return the survey of all winds with the anchors at their least depth."""
    found = survey(case)
    grip, rows = least_depth(case, found)
    return found, grip, rows
