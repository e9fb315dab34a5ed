"""Can the people there lift it, and in which wind must they stop?

Mass of every bare frame, every panel and the three-sided body against what
the people may lift; the wind push on the largest piece that is carried.

Units: kg, N, m/s.

References: lifting masses from the brief; 100 N of push a person and 30 km/h are common practice, no source.
"""

from __future__ import annotations

import math

from enclosure.checks.case import Case
from enclosure.checks.model import Check, Line
from enclosure.checks.wind_pressure import GUST_CONSTANT
from enclosure.language import tr, tr_n
from enclosure.shape.lifting import most_lifted
from enclosure.shape.model import WALLS, Part, SheetCut
from enclosure.shape.names import address, frame_word

PUSH_PER_PERSON_N = 100.0
SAIL_COEFFICIENT = 1.2
"""Flat plate square to the wind (common practice, no source)."""
SLIDE_SHARE = 0.5
"""A body that is slid on its sills asks for half its mass as lift (common practice, no source)."""


def frame_masses(case: Case) -> dict[tuple[str, int], float]:
    """Return the mass of every frame as it is lifted: timber, bracing and the tracks screwed to it [kg]."""
    masses: dict[tuple[str, int], float] = {}
    for part in case.design.parts:
        if part.kind in ("member", "gusset", "diagonal", "track", "batten") and part.face != "BASE":
            key = (str(part.face), part.level)
            masses[key] = masses.get(key, 0.0) + part.mass_kg
    return masses


def handling_checks(case: Case) -> tuple[Check, ...]:
    """Return the rows for frames, panels, body and sail."""
    rows = [_frames(case), _panels(case), _sail(case)]
    if case.design.raising_method == "slide":
        rows.append(_body(case))
    return tuple(rows)


def _row(
    case: Case, key: str, name: str, mass: float, where: str, lines: tuple[Line, ...], words: tuple[str, ...]
) -> Check:
    most = most_lifted(case.brief.people)
    count = case.brief.people.count
    people = tr_n("{count} person", "{count} people", count).format(count=count)
    return Check(
        key,
        name,
        mass,
        most,
        "kg",
        mass / most,
        tr("masses to lift as given in the brief; common practice, no source"),
        "practice",
        (people, where),
        words,
        working=(*lines, Line(tr("most"), "", people, most, "kg", tr("brief"))),
        governs=(where,),
    )


def _frames(case: Case) -> Check:
    masses = frame_masses(case)
    (face, level), mass = max(sorted(masses.items()), key=lambda item: item[1])
    where = frame_word(face, level)
    lines = (Line("m", tr("timber, bracing, tracks"), where, mass, "kg", tr("the design's own parts")),)
    return _row(
        case,
        "handling-frame",
        tr("heaviest frame in one lift"),
        mass,
        where,
        lines,
        (tr("frames are lifted without panels"),),
    )


def _panels(case: Case) -> Check:
    part = max(case.design.panels(), key=lambda p: p.mass_kg)
    lines = (Line("m", tr("area x mass"), address(part), part.mass_kg, "kg", tr("the design's own parts")),)
    return _row(
        case,
        "handling-panel",
        tr("heaviest panel in one lift"),
        part.mass_kg,
        tr("panel {mark} ({address})").format(mark=part.mark, address=address(part)),
        lines,
        (),
    )


def _body(case: Case) -> Check:
    mass = sum(m for (face, _), m in frame_masses(case).items() if face in WALLS and face != "FRONT")
    felt = mass * SLIDE_SHARE
    lines = (
        Line("m", tr("left, back and right frames"), "", mass, "kg", tr("the design's own parts")),
        Line(
            tr("felt"),
            "m / 2",
            f"{mass:.1f} x {SLIDE_SHARE:g}",
            felt,
            "kg",
            tr("slid on its sills; common practice, no source"),
        ),
    )
    return _row(
        case,
        "handling-body",
        tr("three-sided body slid round the plant"),
        felt,
        tr("LEFT, BACK and RIGHT"),
        lines,
        (tr("it is slid over boards, not carried; panels go in afterwards"),),
    )


def _largest(case: Case) -> Part:
    def size(part: Part) -> float:
        return part.cut.width_mm * part.cut.height_mm if isinstance(part.cut, SheetCut) else 0.0

    return max(case.design.panels(), key=size)


def _sail(case: Case) -> Check:
    part = _largest(case)
    assert isinstance(part.cut, SheetCut)
    area = part.cut.width_mm * part.cut.height_mm * 1e-6
    people = min(case.brief.people.count, 2)
    most = PUSH_PER_PERSON_N * people
    stop = math.sqrt(most / (GUST_CONSTANT * SAIL_COEFFICIENT * area))
    calm = 30.0 / 3.6
    push = GUST_CONSTANT * SAIL_COEFFICIENT * area * calm**2
    limit = min(stop, calm)
    lines = (
        Line("A", "", f"{part.cut.width_mm:.0f} x {part.cut.height_mm:.0f} mm", area, "m²", tr("largest panel")),
        Line(
            "F",
            "0.613 C A v²",
            f"0.613 x {SAIL_COEFFICIENT:g} x {area:.3f} x {calm:.2f}²",
            push,
            "N",
            "at 30 km/h",
        ),
        Line(
            tr("v stop"),
            "sqrt(100 n / 0.613 C A)",
            f"sqrt({most:.0f} / (0.613 x {SAIL_COEFFICIENT:g} x {area:.3f}))",
            stop,
            "m/s",
            tr("100 N a person; common practice, no source"),
        ),
    )
    return Check(
        "raising-wind",
        tr("push on the largest panel carried at 30 km/h"),
        push,
        most,
        "N",
        push / most,
        tr("common practice, no source"),
        "practice",
        (
            tr("panel {mark} ({address})").format(mark=part.mark, address=address(part)),
            tr("stop raising above {limit:.0f} km/h").format(limit=limit * 3.6),
        ),
        (tr("a panel carried upright is a sail; carry it edge on to the wind"),),
        working=lines,
        governs=(part.mark,),
        advice=True,
    )
