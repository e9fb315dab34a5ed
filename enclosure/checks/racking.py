"""Do the walls stay square?

The wind on two walls pushes the roof sideways; the two walls along the wind
hold it as a pair, tied together by the rafters. Of their two diagonals one is
pulled and one is pushed when they lean opposite ways (seen from outside all
lean the same way, so as a rule they do): the pulled one holds what its screws
hold, the pushed one no more than its slenderness allows. Gussets or angles
hold as stiff corners. The skin in its tracks slides and is not counted.

Whether the roof can carry the push to the walls (a diaphragm) is answered by
the heads, which span from corner to corner (`members`).

Units: N, mm, N mm.

References: screws in single shear by the yield modes of [NDS] table 12.3.1A.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks import timber_nds as nds
from enclosure.checks.beams import Stick, modulus_of
from enclosure.checks.case import Case, wind_face
from enclosure.checks.members import seat
from enclosure.checks.model import Check, Line
from enclosure.checks.wind import body_coefficient
from enclosure.language import tr
from enclosure.shape.model import Frame, Part, SheetCut
from enclosure.shape.names import face_code, face_word

SCREW_MM = 4.83
SCREW_ROOT_MM = 3.86
SCREW_YIELD_MPA = 80_000 * nds.PSI
"""Wood screw no. 10: 0.190 in, root 0.152 in, 80 ksi ([NDS] solved example E2.4); stands for 5 mm as well."""
SCREW_LENGTH_MM = 70.0
"""The shorter of the two usual ones, 3 in and 70 mm."""
GUSSET_ARM = 7.0 / 6.0
"""Three screws at a sixth, half and five sixths of a leg, turning about the corner: sum of r² over the greatest r."""
EULER_SAFETY = 3.0
BRACKET_NM = 25.0
"""Moment that a galvanised angle in a corner bears (from memory)."""


@dataclass(frozen=True, slots=True)
class Wall:
    """What one wall frame holds sideways at its top [N].

    Args:
        frame: The wall frame.
        pulled: Through its diagonal when the wind pulls it.
        pushed: Through its diagonal when the wind pushes it.
        corners: Through gussets and angles.
        leans: +1 when the diagonal rises to the right seen from outside, -1 to the left, 0 without one.
        lines: How it came about.
    """

    frame: Frame
    pulled: float
    pushed: float
    corners: float
    leans: int
    lines: tuple[Line, ...]


def screw_value(
    case: Case, side_mm: float, gravity: float = 0.42, duration: float = 1.6, long_mm: float = SCREW_LENGTH_MM
) -> float:
    """Return what one screw `long_mm` through a board `side_mm` thick bears sideways [N], wind, wet service 0.7.

    References:
        [NDS] 12.1.5.6: 0 with less than 6 D in the main piece; 12.3.5: half of the tip (2 D long) bears
        nothing when there are less than 10 D; table 11.3.3: 0.7 for wet service.
    """
    grip = min(long_mm - side_mm, case.design.frames[0].depth_mm)
    if grip < 6 * SCREW_MM:
        return 0.0
    bears = grip if grip >= 10 * SCREW_MM else grip - SCREW_MM
    bearing = nds.dowel_bearing(gravity, SCREW_MM)
    value = nds.single_shear(SCREW_ROOT_MM, bears, side_mm, bearing, bearing, SCREW_YIELD_MPA, SCREW_MM)
    return value * duration * 0.7


def wall_hold(case: Case, frame: Frame) -> Wall:
    """Return what a wall frame holds against a push at its head."""
    here = [p for p in case.design.parts if p.face == frame.face and p.level == frame.level]
    name = f"{face_code(frame.face)}: "
    lines: list[Line] = []
    pulled, pushed, leans = 0.0, 0.0, 0
    for part in here:
        if part.kind == "diagonal":
            pulled, pushed, leans = _diagonal(case, frame, part, lines, name)
    corners = _corners(case, here, frame_height(frame), lines, name)
    return Wall(frame, pulled, pushed, corners, leans, tuple(lines))


def frame_height(frame: Frame) -> float:
    """Return the height of a frame [mm]."""
    return max(b for _, b in frame.outline) - min(b for _, b in frame.outline)


def _diagonal(case: Case, frame: Frame, part: Part, lines: list[Line], name: str) -> tuple[float, float, int]:
    """Return what a diagonal holds sideways when pulled and when pushed, and which way it leans."""
    timber = case.timber(part)
    place = seat(part, frame)
    run, rise = place.right - place.left, place.high - place.low
    length = math.hypot(run, rise)
    screws = case.screws * screw_value(case, timber.thickness_mm)
    stick = Stick(timber.grade, timber.width_mm, timber.thickness_mm)
    euler = math.pi**2 * modulus_of(stick) * stick.inertia / length**2 / EULER_SAFETY
    pulled, pushed = screws * run / length, min(screws, euler) * run / length
    size = tr("{thick:.0f} mm thick").format(thick=timber.thickness_mm)
    lines += [
        Line(
            f"{name}Z",
            tr("{screws} screws at each end").format(screws=case.screws),
            tr("{size}, G 0.42, CD 1.6, wet 0.7").format(size=size),
            screws,
            "N",
            tr("NDS table 12.3.1A, no. 10 screw"),
        ),
        Line(f"{name}Pe", "pi² E I / L² / 3", f"L {length:.0f} mm, {size}", euler, "N", tr("Euler, safety 3")),
        Line(
            tr("{name}H pulled").format(name=name),
            tr("Z run/L"),
            f"{screws:.0f} x {run:.0f}/{length:.0f}",
            pulled,
            "N",
            tr("statics"),
        ),
        Line(
            tr("{name}H pushed").format(name=name),
            tr("min(Z, Pe) run/L"),
            f"{min(screws, euler):.0f} x {run:.0f}/{length:.0f}",
            pushed,
            "N",
            tr("statics"),
        ),
    ]
    return pulled, pushed, _lean(part)


def _lean(part: Part) -> int:
    """Return +1 when a strip rises to the right seen from outside, -1 when to the left."""
    corners = part.solids[0].outline
    mean_a = sum(a for a, _ in corners) / len(corners)
    mean_b = sum(b for _, b in corners) / len(corners)
    return 1 if sum((a - mean_a) * (b - mean_b) for a, b in corners) >= 0.0 else -1


def _corners(case: Case, parts: list[Part], height: float, lines: list[Line], name: str) -> float:
    gussets = [p for p in parts if p.kind == "gusset"]
    if gussets:
        board = case.stock.boards[gussets[0].material]
        place = gussets[0].cut
        leg = min(place.width_mm, place.height_mm) if isinstance(place, SheetCut) else 150.0
        short = case.stock.hardware.get("frame_screw_short")
        long = (short.length_mm if short else None) or SCREW_LENGTH_MM
        one = screw_value(case, board.thickness_mm, long_mm=long)
        moment = GUSSET_ARM * one * leg
        count = len(gussets)
        words, source = (
            tr("{count} gussets, 3 screws a leg, leg {leg:.0f} mm").format(count=count, leg=leg),
            tr("7/6 Z leg: screws by NDS table 12.3.1A turn about the corner"),
        )
    else:
        moment, count = BRACKET_NM * 1000.0, 4
        words, source = tr("4 angles in the corners"), tr("25 N m each (from memory)")
    hold = count * moment / height
    lines += [
        Line(f"{name}Mc", tr("moment of one corner"), words, moment, "N mm", source),
        Line(
            f"{name}Hc",
            "n Mc / h",
            f"{count} x {moment:.0f} / {height:.0f}",
            hold,
            "N",
            tr("frame with stiff corners"),
        ),
    ]
    return hold


PAIRS = (("FRONT", "BACK"), ("LEFT", "RIGHT"))


def racking_checks(case: Case) -> tuple[Check, ...]:
    """Return one row for each pair of opposite walls, the worst of its frame tiers."""
    found = []
    for pair in PAIRS:
        levels = sorted({f.level for f in case.design.frames if f.face in pair})
        rows = [_pair(case, pair, level) for level in levels]
        found.append(max(rows, key=lambda check: (check.utilisation, check.key)))
    return tuple(found)


def _pair(case: Case, pair: tuple[str, str], level: int) -> Check:
    wind = case.wind
    frames = [f for f in case.design.frames if f.face in pair and f.level == level]
    across = "LEFT" if pair[0] == "FRONT" else "FRONT"
    area, middle = wind_face(case, across)
    tall = 2 * middle
    c = body_coefficient(wind, tall, min(case.width_m, case.depth_m))
    foot = frames[0].plane.origin[2] / 1000.0
    height = max(frame_height(f) for f in frames) / 1000.0
    # everything above the middle of this frame tier pushes on its heads
    above = max(0.0, (tall - foot - height / 2) / tall)
    push = wind.q_pa * wind.service * c * area * above
    walls = [wall_hold(case, f) for f in frames]
    diagonals, words = _pair_of_diagonals(walls)
    corners = sum(w.corners for w in walls)
    total = diagonals + corners
    lines = (
        *wind.lines,
        Line("A", face_word(across), "", area, "m²", tr("the design's own frames")),
        Line(
            "V",
            tr("q C A share"),
            f"{wind.q_pa * wind.service:.1f} x {c:.3f} x {area:.3f} x {above:.3f}",
            push,
            "N",
            tr("the wind above the middle of these walls"),
        ),
        *(line for w in walls for line in w.lines),
        Line("H", tr("diagonals + corners"), f"{diagonals:.0f} + {corners:.0f}", total, "N", words),
    )
    tier = tr(", frame tier {level}").format(level=level) if level > 1 else ""
    name = tr("front and back walls") if "FRONT" in pair else tr("left and right walls")
    return Check(
        f"racking-{'-'.join(pair).lower()}",
        tr("{name}{tier} stay square").format(name=name, tier=tier),
        push,
        total,
        "N",
        push / total if total > 0 else math.inf,
        tr("statics; screws by NDS table 12.3.1A"),
        "handbook",
        (tr("{name}{tier}, {height:.2f} m high").format(name=name, tier=tier, height=height), case.wind.words, words),
        (
            tr("the skin slides in its tracks and stiffens nothing"),
            tr("rafters tie the two walls together; the twist that an uneven pair makes goes to the other pair"),
            tr("screws are in softwood, wet in service"),
        ),
        working=lines,
        governs=tuple(map(face_code, pair)),
    )


def _pair_of_diagonals(walls: list[Wall]) -> tuple[float, str]:
    """Return what the diagonals of a pair hold together for the worse of the two ways of the wind."""
    with_one = [w for w in walls if w.leans]
    if not with_one:
        return 0.0, tr("no diagonals: corners alone hold")
    if len(with_one) == 1:
        return with_one[0].pushed, tr("one diagonal, counted as pushed")
    one, other = with_one[:2]
    if one.leans == other.leans:
        # seen from outside both rise the same way, so the wind pulls one and pushes the other
        return min(one.pulled + other.pushed, one.pushed + other.pulled), tr("one diagonal pulled, one pushed")
    return one.pushed + other.pushed, tr("both diagonals pushed")
