"""Do the frame's own timbers bear wind and snow?

Reads the design's members back from their solids: where each lies in its
frame, what it spans, what width of skin it carries. Wall uprights span from
sill to head; transoms and purlins between uprights; sill and head from corner
to corner with the uprights' ends on them; rafters from wall to wall; the ridge
from gable to gable.

Left out: torsion, joints (see `racking`), swelling.
Units: mm, N/mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from enclosure.checks.beams import (
    SAG_SHARE,
    SAG_SHARE_GLASS,
    Post,
    Push,
    Stick,
    allowed,
    judge_beam,
    judge_post,
    slenderness,
)
from enclosure.checks.case import ROOFS, Case
from enclosure.checks.model import Check
from enclosure.checks.panels import Verdict
from enclosure.checks.ranges import GRAVITY
from enclosure.checks.wind import body_coefficient, roof_net, wall_net
from enclosure.language import tr
from enclosure.shape.model import WALLS, Frame, Part, StickCut
from enclosure.shape.names import face_code
from enclosure.shape.solid_math import corners
from enclosure.shape.space import add, area, dot

UPRIGHTS = ("stile", "mullion", "rafter")
CROSS = ("transom", "purlin")


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a member lies in its frame: right and up [mm], and how deep."""

    part: Part
    frame: Frame
    left: float
    right: float
    low: float
    high: float
    deep: float

    @property
    def middle(self) -> float:
        """Middle across [mm]."""
        return (self.left + self.right) / 2

    @property
    def level(self) -> float:
        """Middle up [mm]."""
        return (self.low + self.high) / 2


def seat(part: Part, frame: Frame) -> Seat:
    """Return where a part lies in a frame's own directions."""
    plane = frame.plane
    spread: list[list[float]] = [[], [], []]
    for solid in part.solids:
        for point in corners(solid):
            away = add(point, plane.origin, -1.0)
            for along, axis in zip(spread, (plane.u, plane.v, plane.n), strict=True):
                along.append(dot(away, axis))
    return Seat(
        part,
        frame,
        min(spread[0]),
        max(spread[0]),
        min(spread[1]),
        max(spread[1]),
        max(spread[2]) - min(spread[2]),
    )


def seats(case: Case, frame: Frame) -> tuple[Seat, ...]:
    """Return every member of a frame in its place."""
    return tuple(
        seat(p, frame)
        for p in case.design.parts
        if p.kind == "member" and p.face == frame.face and p.level == frame.level and p.role != "ridge"
    )


def carried(value: float, others: list[float], ends: tuple[float, float]) -> float:
    """Return the width that one of several parallel members carries: halfway to each neighbour or end."""
    below = [o for o in others if o < value - 1.0]
    above = [o for o in others if o > value + 1.0]
    low = (max(below) + value) / 2 if below else ends[0]
    high = (min(above) + value) / 2 if above else ends[1]
    return high - low


@dataclass(frozen=True, slots=True)
class Row:
    """A member with its verdicts."""

    role: str
    seat: Seat
    stick: Stick
    verdicts: tuple[Verdict, ...]


def _stick(case: Case, one: Seat, pieces: int = 1) -> Stick:
    timber = case.timber(one.part)
    depth = one.frame.depth_mm
    other = timber.width_mm if abs(timber.thickness_mm - depth) < abs(timber.width_mm - depth) else timber.thickness_mm
    return Stick(timber.grade, other, depth, pieces)


def _sag_share(case: Case, frame: Frame) -> float:
    return SAG_SHARE_GLASS if case.stock.skins[frame.skin].kind == "glass" else SAG_SHARE


def pushes(case: Case, frame: Frame, width: float, span: float) -> tuple[Push, ...]:
    """Return the line loads on a member that carries `width` of skin over `span` [mm]."""
    wind, area = case.wind, max(width * span * 1e-6, 1e-6)
    q = wind.q_pa * wind.service
    strength = wind.strength / wind.service
    if frame.face not in ROOFS:
        worst = max(wall_net(wind, area))
        words = f"q C s = {q:.1f} Pa x {worst:.3f} x {width:.0f} mm"
        return (Push("wind", q * worst * width * 1e-6, strength, words),)
    down, up = roof_net(wind, case.design.roof, case.design.fall_deg, area)
    worst = max(down, up)
    snow = case.snow.worst_kpa * 1000.0 * math.cos(math.radians(case.design.fall_deg)) ** 2
    own = roof_weight(case) * GRAVITY
    found = [Push("wind", q * worst * width * 1e-6, strength, f"q C s = {q:.1f} Pa x {worst:.3f} x {width:.0f} mm")]
    if snow > 0.0:
        found.append(
            Push(
                "snow",
                (snow + own) * width * 1e-6,
                case.snow.strength,
                tr("(snow + weight) s = ({snow:.0f} + {own:.0f}) Pa x {width:.0f} mm").format(
                    snow=snow, own=own, width=width
                ),
            )
        )
    return tuple(found)


def roof_weight(case: Case) -> float:
    """Return the roof's own mass per area of slope [kg/m²]."""
    mass = sum(p.mass_kg for p in case.design.parts if p.face in ROOFS)
    total = sum(abs(area(f.outline)) for f in case.design.frames if f.face in ROOFS) * 1e-6
    return mass / total if total > 0 else 0.0


def rows(case: Case, press_n: float = 0.0) -> tuple[Row, ...]:
    """Return every member with its verdicts.

    Args:
        case: The shelter.
        press_n: Greatest push of the ground under one corner in the wind [N].
    """
    found: list[Row] = []
    for frame in case.design.frames:
        placed = seats(case, frame)
        found += _uprights(case, frame, placed, press_n)
        found += _cross(case, frame, placed)
        found += _rails(case, frame, placed)
    found += _ridge(case)
    return tuple(found)


def _uprights(case: Case, frame: Frame, placed: tuple[Seat, ...], press_n: float) -> list[Row]:
    ups = [s for s in placed if s.part.role in UPRIGHTS]
    middles = [s.middle for s in ups]
    ends = (min(a for a, _ in frame.glazed), max(a for a, _ in frame.glazed))
    found = []
    for one in ups:
        stick = _stick(case, one)
        span = one.high - one.low
        if one.part.role == "rafter":
            span = _rafter_span(case, one)
        width = carried(one.middle, middles, ends)
        share = _sag_share(case, frame)
        verdicts: list[Verdict] = []
        for push in pushes(case, frame, width, span):
            verdicts += judge_beam(stick, span, push, share)
        if frame.face in WALLS:
            post = _post(case, frame, one, stick, width, press_n)
            verdicts.append(judge_post(post))
            limit = slenderness(post)
            if limit is not None:
                verdicts.append(limit)
        found.append(Row(one.part.role, one, stick, tuple(verdicts)))
    return found


def _rafter_span(case: Case, one: Seat) -> float:
    """Return a rafter's span between the walls under it; half the shelter for a gable, along the slope."""
    design = case.design
    along_y = abs(one.frame.plane.v[1]) > abs(one.frame.plane.v[0])
    run = design.outside_mm[1] if along_y else design.outside_mm[0]
    run -= 2 * design.frames[0].depth_mm
    if one.frame.face != "ROOF":
        run /= 2
    return run / math.cos(math.radians(design.fall_deg))


def _post(case: Case, frame: Frame, one: Seat, stick: Stick, width: float, press_n: float) -> Post:
    lines = sorted([0.0, *frame.transom_lines_mm, one.high])
    braced = max((b - a for a, b in pairwise(lines)), default=one.high)
    design = case.design
    half_roof = max(design.outside_mm[0], design.outside_mm[1]) / 2
    snow = case.snow.worst_kpa * 1e3 * width * half_roof * 1e-6
    weight = (
        sum(p.mass_kg for p in design.parts if p.face != "BASE")
        * GRAVITY
        / max(1, sum(1 for p in design.parts if p.role in ("stile", "mullion") and p.level == 1))
    )
    # half of a corner's press: the front's stile and the side's stile share it
    axial = weight + max(0.75 * snow, press_n / 2 if one.part.role == "stile" else 0.0)
    push = pushes(case, frame, width, one.high - one.low)[0]
    return Post(
        stick,
        one.high - one.low,
        braced,
        axial,
        max(case.wind.strength / case.wind.service, 1.0),
        push,
        0.75 if snow > 0 else 1.0,
    )


def _cross(case: Case, frame: Frame, placed: tuple[Seat, ...]) -> list[Row]:
    cross = [s for s in placed if s.part.role in CROSS]
    low, high = min(b for _, b in frame.glazed), max(b for _, b in frame.glazed)
    found = []
    for one in cross:
        same = [s.level for s in cross if abs(s.middle - one.middle) < 50.0]
        stick = _stick(case, one)
        span = one.right - one.left
        width = carried(one.level, [low, *same, high], (low, high))
        verdicts: list[Verdict] = []
        for push in pushes(case, frame, width, span):
            verdicts += judge_beam(stick, span, push, _sag_share(case, frame))
        found.append(Row(one.part.role, one, stick, tuple(verdicts)))
    return found


def _rails(case: Case, frame: Frame, placed: tuple[Seat, ...]) -> list[Row]:
    """Return sill and head, which take the uprights' ends, from corner to corner across the wall."""
    if frame.face not in WALLS:
        return []
    design, wind = case.design, case.wind
    top = max(f.level for f in design.frames if f.face == frame.face)
    height = max(b for _, b in frame.outline) - min(b for _, b in frame.outline)
    found = []
    for one in placed:
        if one.part.role not in ("sill", "head"):
            continue
        between = (one.part.role == "sill" and frame.level > 1) or (one.part.role == "head" and frame.level < top)
        span = _rail_span(case, frame, one)
        q = wind.q_pa * wind.service
        if one.part.role == "head" and frame.level == top:
            # rafters tie this head to the one across: both share the drag on the whole body
            c = body_coefficient(wind, design.outside_mm[2] / 1e3, min(design.outside_mm[:2]) / 1e3) / 2
            words = tr(
                "q C/2 h/2 = {q:.1f} Pa x {c:.3f} x {height:.0f}/2 mm; rafters share it between two heads"
            ).format(q=q, c=c, height=height)
        else:
            c = max(wall_net(wind, span * height / 2 * 1e-6))
            words = f"q C h/2 = {q:.1f} Pa x {c:.3f} x {height:.0f}/2 mm"
        half = height if between else height / 2
        stick = _stick(case, one, 2 if between else 1)
        push = Push("wind", q * c * half * 1e-6, wind.strength / wind.service, words)
        found.append(Row(one.part.role, one, stick, judge_beam(stick, span, push, _sag_share(case, frame))))
    return found


def _rail_span(case: Case, frame: Frame, one: Seat) -> float:
    """Return the free length of a sill or head: between corners, or between posts wired to a ground sill.

    On a wall hardly wider than its two corners nothing is free: 1 mm then.
    """
    depth = frame.depth_mm
    clear = one.right - one.left - (2 * depth if frame.face in ("FRONT", "BACK") else 0.0)
    if one.part.role == "sill" and frame.level == 1:
        here = [a for a in case.design.anchors if a.tied_to == frame.face and a.kind == "post"]
        if here:
            origin, u = frame.plane.origin, frame.plane.u
            stops = sorted((a.x_mm - origin[0]) * u[0] + (a.y_mm - origin[1]) * u[1] for a in here)
            marks = [one.left + depth, *[s for s in stops if one.left < s < one.right], one.right - depth]
            return max(1.0, *(b - a for a, b in pairwise(marks)))
    return max(1.0, clear)


def _ridge(case: Case) -> list[Row]:
    design = case.design
    part = next((p for p in design.parts if p.role == "ridge"), None)
    if part is None or not isinstance(part.cut, StickCut):
        return []
    frame = next(f for f in design.frames if f.face in ("ROOF A", "ROOF"))
    one = seat(part, frame)
    timber = case.timber(part)
    stick = Stick(timber.grade, timber.thickness_mm, timber.width_mm)
    along_x = design.falls_to == "x"
    run = design.outside_mm[1] if along_x else design.outside_mm[0]
    span = (design.outside_mm[0] if along_x else design.outside_mm[1]) - 2 * design.frames[0].depth_mm
    verdicts: list[Verdict] = []
    for push in pushes(case, frame, run / 2, span):
        verdicts += judge_beam(stick, span, push)
    return [Row("ridge", one, stick, tuple(verdicts))]


def member_checks(case: Case, press_n: float = 0.0) -> tuple[Check, ...]:
    """Return one row for each sort of member: its worst piece and what governs it."""
    worst: dict[str, tuple[float, Row, Verdict]] = {}
    for row in rows(case, press_n):
        for verdict in row.verdicts:
            if row.role not in worst or verdict.utilisation > worst[row.role][0]:
                worst[row.role] = (verdict.utilisation, row, verdict)
    return tuple(_check(case, role, *worst[role]) for role in sorted(worst))


def _check(case: Case, role: str, use: float, row: Row, verdict: Verdict) -> Check:
    part = row.seat.part
    assumed = [
        tr("every member is a simple span between its supports"),
        tr("wet service: it stands out of doors all winter"),
        tr("edge zone pressures, because the shelter is smaller than the codes' edge zones"),
    ]
    note = allowed(row.stick, "fb", "wind")[2]
    if note:
        assumed.insert(0, note)
    if role == "ridge":
        assumed.append(tr("the ridge carries half of both slopes as a beam, so that the rafters do not thrust"))
    where = f"{part.mark}, {face_code(part.face)}"
    if part.level > 1:
        where = tr("{place}, frame tier {level}").format(place=where, level=part.level)
    inputs = (
        f"{row.stick.words}",
        where,
        case.wind.words,
        tr("roof snow {worst_kpa:.2f} kPa").format(worst_kpa=case.snow.worst_kpa),
    )
    return Check(
        f"member-{role.replace(' ', '-')}",
        f"{tr(role)}: {tr(verdict.what)}",
        verdict.demand,
        verdict.capacity,
        verdict.unit,
        use,
        verdict.source,
        verdict.source_kind,
        inputs,
        tuple(assumed),
        working=verdict.lines,
        governs=(part.mark,),
    )
