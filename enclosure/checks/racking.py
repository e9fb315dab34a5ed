"""Does each wall stay square?

The wind on the two walls across pushes the roof sideways; the two walls along
the wind hold it, each half. A wall holds by its diagonal (pulled or pushed,
whichever its screws or its slenderness allow less), by its gussets as stiff
corners, and by nothing else: the skin in its tracks slides and is not counted.

Whether the roof can carry the push to the walls (a diaphragm) is answered by
the heads, which span from corner to corner (`members`): the roof skin is not
counted either.

Units: N, mm, N mm.

References: screws in single shear by the yield modes of [NDS] table 12.3.1A (coefficients from memory).
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
from enclosure.shape.model import WALLS, Frame, Part, SheetCut

SCREW_MM = 4.2
SCREW_LENGTH_MM = 76.0
SCREW_YIELD_MPA = 620.0
"""Wood screw no. 10 (or 5 x 70): root about 4.2 mm, 90 ksi (from memory)."""
SCREWS_PER_GUSSET_LEG = 3
BRACKET_NM = 25.0
"""Moment that a galvanised angle in a corner bears (from memory)."""


@dataclass(frozen=True, slots=True)
class Wall:
    """What one wall frame holds sideways at its top [N].

    Args:
        frame: The wall frame.
        height: Its height [mm].
        diagonal: Through its diagonal.
        corners: Through gussets and angles.
        lines: How it came about.
    """

    frame: Frame
    height: float
    diagonal: float
    corners: float
    lines: tuple[Line, ...]

    @property
    def total(self) -> float:
        """All that it holds [N]."""
        return self.diagonal + self.corners


def screw_value(case: Case, side_mm: float, gravity: float = 0.42, duration: float = 1.6) -> float:
    """Return what one screw through a board `side_mm` thick bears sideways [N], wind, wet service 0.7."""
    bearing = nds.dowel_bearing(gravity, SCREW_MM)
    grip = min(SCREW_LENGTH_MM - side_mm, case.design.frames[0].depth_mm)
    if grip < 6 * SCREW_MM:
        return 0.0
    reduced = min(1.0, grip / (10 * SCREW_MM))
    return (
        nds.single_shear(SCREW_MM, grip, side_mm, bearing, bearing, SCREW_YIELD_MPA)
        * reduced
        * duration
        * 0.7
    )


def wall_hold(case: Case, frame: Frame) -> Wall:
    """Return what a wall frame holds against a push at its head."""
    design = case.design
    here = [p for p in design.parts if p.face == frame.face and p.level == frame.level]
    height = max(b for _, b in frame.outline) - min(b for _, b in frame.outline)
    lines: list[Line] = []
    diagonal = 0.0
    for part in here:
        if part.kind == "diagonal":
            diagonal = max(diagonal, _diagonal(case, frame, part, lines))
    corners = _corners(case, here, height, lines)
    return Wall(frame, height, diagonal, corners, tuple(lines))


def _diagonal(case: Case, frame: Frame, part: Part, lines: list[Line]) -> float:
    timber = case.timber(part)
    place = seat(part, frame)
    run, rise = place.right - place.left, place.high - place.low
    length = math.hypot(run, rise)
    screws = case.screws * screw_value(case, timber.thickness_mm)
    stick = Stick(timber.grade, timber.width_mm, timber.thickness_mm)
    # screwed to the upright that it crosses in the middle, so half its length buckles
    euler = math.pi**2 * modulus_of(stick) * stick.inertia / (length / 2) ** 2 / 3.0
    force = max(screws, min(screws, euler))
    level = force * run / length
    lines += [
        Line(
            "Z",
            f"{case.screws} screws at each end",
            f"{timber.thickness_mm:.0f} mm lath, G 0.42, CD 1.6, wet 0.7",
            screws,
            "N",
            "NDS table 12.3.1A (coefficients from memory)",
        ),
        Line(
            "Pe",
            "pi² E I / (L/2)² / 3",
            f"L {length:.0f} mm",
            euler,
            "N",
            "Euler, safety 3; when it is pushed",
        ),
        Line(
            "Hd",
            "Z run/length",
            f"{force:.0f} x {run:.0f}/{length:.0f}",
            level,
            "N",
            "pulled one way, pushed the other",
        ),
    ]
    return min(level, max(min(screws, euler), 0.5 * screws) * run / length)


def _corners(case: Case, parts: list[Part], height: float, lines: list[Line]) -> float:
    gussets = [p for p in parts if p.kind == "gusset"]
    if gussets:
        board = case.stock.boards[gussets[0].material]
        place = gussets[0].cut
        leg = min(place.width_mm, place.height_mm) if isinstance(place, SheetCut) else 150.0
        one = screw_value(case, board.thickness_mm)
        # three screws along each leg turn about their middle: lever two thirds of the leg
        moment = SCREWS_PER_GUSSET_LEG * one * leg * 2 / 3
        count = len(gussets)
        words, source = (
            f"{count} gussets, 3 screws a leg, leg {leg:.0f} mm",
            "screws by NDS table 12.3.1A (from memory)",
        )
    else:
        moment, count = BRACKET_NM * 1000.0, 4
        words, source = "4 angles in the corners", "25 N m each (from memory)"
    hold = count * moment / height
    lines += [
        Line("Mc", "moment of one corner", words, moment, "N mm", source),
        Line(
            "Hc", "n Mc / h", f"{count} x {moment:.0f} / {height:.0f}", hold, "N", "frame with stiff corners"
        ),
    ]
    return hold


def racking_checks(case: Case) -> tuple[Check, ...]:
    """Return one row for the worst wall."""
    wind = case.wind
    found: list[Check] = []
    for frame in case.design.frames:
        if frame.face not in WALLS:
            continue
        across = "LEFT" if frame.face in ("FRONT", "BACK") else "FRONT"
        area, middle = wind_face(case, across)
        total_height = 2 * middle
        c = body_coefficient(wind, total_height, min(case.width_m, case.depth_m))
        foot = frame.plane.origin[2] / 1000.0
        height = (max(b for _, b in frame.outline) - min(b for _, b in frame.outline)) / 1000.0
        # everything above the middle of this frame tier pushes on its head
        above = max(0.0, (total_height - foot - height / 2) / total_height)
        push = wind.q_pa * wind.service * c * area * above / 2
        hold = wall_hold(case, frame)
        use = push / hold.total if hold.total > 0 else math.inf
        lines = (
            *wind.lines,
            Line("A", f"face {across.lower()}", "", area, "m²", "the design's own frames"),
            Line(
                "V",
                "q C A share / 2",
                f"{wind.q_pa * wind.service:.1f} x {c:.3f} x {area:.3f} x {above:.3f} / 2",
                push,
                "N",
                "half the wind above the middle of this wall goes to each of two walls",
            ),
            *hold.lines,
            Line("H", "Hd + Hc", f"{hold.diagonal:.0f} + {hold.corners:.0f}", hold.total, "N", ""),
        )
        tier = f" frame tier {frame.level}" if frame.level > 1 else ""
        found.append(
            Check(
                f"racking-{frame.face.lower()}{'-' + str(frame.level) if frame.level > 1 else ''}",
                f"{frame.face.lower()} wall{tier} stays square",
                push,
                hold.total,
                "N",
                use,
                "statics; screws by NDS table 12.3.1A (coefficients from memory)",
                "memory",
                (f"{frame.face}{tier}, {height:.2f} m high", case.wind.words),
                (
                    "the skin slides in its tracks and stiffens nothing",
                    "heads carry the wind to the corners, the roof is no diaphragm",
                    "screws go into dry-fitted softwood, wet in service",
                ),
                working=lines,
                governs=(frame.face,),
            )
        )
    found.sort(key=lambda check: (-check.utilisation, check.key))
    return tuple(found[:2])
