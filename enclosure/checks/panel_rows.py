"""Which panel of the design is worst off, and what happens when one is missing?

Every panel and film is read back from the design: its free size between the
mouths of its slots, cut by the transoms behind it, the cover that its fit
leaves at the coldest. Judges are those of `panels`.

Under pull a transom holds a panel only by its button fixings; their pull is
checked too.

Units: mm, Pa, N.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

from enclosure.checks.case import ROOFS, Case
from enclosure.checks.members import seat
from enclosure.checks.model import Check, Line
from enclosure.checks.panels import PanelLoad, Verdict, judge
from enclosure.checks.ranges import GRAVITY
from enclosure.checks.snow import DRIFT_WORDS
from enclosure.checks.wind import roof_net, wall_net
from enclosure.language import tr
from enclosure.shape.model import Frame, Part, SheetCut
from enclosure.shape.names import address
from enclosure.stock.model import Skin

BUTTON_HOLD_N = 400.0
"""Button with a 40 mm washer pulled through a multiwall sheet, safety 2 in it (from memory)."""
HELD_MM = 20.0
"""What a batten or a washer row holds of a skin's edge (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Pane:
    """A panel with its free sizes.

    Args:
        part: The panel.
        frame: Its frame.
        across: Free size across the flutes [mm].
        along: Longest free size along the flutes, between transoms [mm].
        whole: Free size along the flutes, transoms not counted [mm].
        cover: Edge cover at the coldest [mm].
        buttons: Fixings at transoms.
    """

    part: Part
    frame: Frame
    across: float
    along: float
    whole: float
    cover: float
    buttons: int


def frame_of(case: Case, part: Part) -> Frame:
    """Return the frame that a part belongs to."""
    return next(f for f in case.design.frames if f.face == part.face and f.level == part.level)


def pane(case: Case, part: Part) -> Pane:
    """Return a panel with its free sizes."""
    assert isinstance(part.cut, SheetCut)
    frame = frame_of(case, part)
    place = seat(part, frame)
    if part.fit is not None:
        held = [part.fit.slot_depth_mm - c for c in part.fit.clearance_mm]
        cover = min(part.fit.cover_cold_mm)
    else:
        held, cover = [HELD_MM, HELD_MM], HELD_MM
    low, high = place.low + held[1], place.high - held[1]
    left, right = place.left + held[0], place.right - held[0]
    between = [line for line in _lines(case, frame, part) if low < line < high]
    stops = [low, *sorted(between), high]
    longest = max((b - a for a, b in pairwise(stops)), default=high - low)
    width = right - left
    if case.stock.skins[part.material].kind == "film":
        marks = [left, *[a for a in frame.bay_lines_mm if left < a < right], right]
        width = max(b - a for a, b in pairwise(marks))
    return Pane(part, frame, max(width, 1.0), max(longest, 1.0), max(high - low, 1.0), cover, len(part.cut.holes))


def _lines(case: Case, frame: Frame, part: Part) -> list[float]:
    """Return the heights of the cross members that lie behind a panel."""
    place = seat(part, frame)
    found = []
    for other in case.design.parts:
        if other.role in ("transom", "purlin") and other.face == frame.face and other.level == frame.level:
            there = seat(other, frame)
            if min(there.right, place.right) - max(there.left, place.left) > 20.0:
                found.append(round(there.level, 3))
    return sorted(set(found))


def load_on(case: Case, one: Pane, opened: bool = False) -> PanelLoad:
    """Return the net pressures on a panel [Pa], service level."""
    wind = case.wind
    q = wind.q_pa * wind.service
    area = max(one.across * one.along * 1e-6, 1e-3)
    if one.frame.face in ROOFS:
        push, pull = roof_net(wind, case.design.roof, case.design.fall_deg, area, opened)
        snow = case.snow.worst_kpa * 1000.0 * math.cos(math.radians(case.design.fall_deg)) ** 2
        own = case.stock.skins[one.part.material].mass_kg_m2 * GRAVITY
        return PanelLoad(push * q, pull * q, snow + own if snow > 0 else 0.0)
    push, pull = wall_net(wind, area, opened)
    return PanelLoad(push * q, pull * q)


def panes(case: Case) -> tuple[Pane, ...]:
    """Return every panel and every inner film."""
    return tuple(pane(case, p) for p in case.design.parts if p.kind in ("panel", "film") and p.layer == 1)


def verdicts_on(case: Case, one: Pane, opened: bool = False) -> tuple[Verdict, ...]:
    """Return every verdict on one panel, buttons included."""
    skin = case.stock.skins[one.part.material]
    load = load_on(case, one, opened)
    found = judge(skin, one.along, one.across, load, one.cover)
    if one.buttons and one.whole > one.along + 1.0:
        found = (*found, _button(one, load))
    return found


def _button(one: Pane, load: PanelLoad) -> Verdict:
    """Return the pull on one button: a transom's strip of skin, shared with both side edges."""
    lines_behind = max(1, round(one.whole / one.along) - 1)
    per_line = max(1, one.buttons // lines_behind)
    pull = load.pull_pa * one.along * 1e-3 * one.across * 1e-3 / (per_line + 1)
    lines = (
        Line("q", "", "", load.pull_pa, "Pa", tr("net pull of the wind")),
        Line(
            "N",
            "q a b / (n + 1)",
            f"{load.pull_pa:.0f} x {one.along:.0f} x {one.across:.0f} mm² / ({per_line} + 1)",
            pull,
            "N",
            tr("buttons share a transom's strip with the two edges"),
        ),
        Line(tr("hold"), "", "", BUTTON_HOLD_N, "N", tr("from memory")),
    )
    return Verdict(
        "pull on a button fixing",
        pull,
        BUTTON_HOLD_N,
        "N",
        tr("pull-through of a washer (from memory)"),
        "memory",
        lines,
    )


def panel_checks(case: Case) -> tuple[Check, ...]:
    """Return the worst wall panel and the worst roof panel for each verdict, and the missing panel row."""
    groups: dict[str, tuple[Pane, Verdict]] = {}
    for one in panes(case):
        side = "roof" if one.frame.face in ROOFS else "wall"
        for verdict in verdicts_on(case, one):
            key = _key(side, verdict.what)
            if key not in groups or verdict.utilisation > groups[key][1].utilisation:
                groups[key] = (one, verdict)
    found = [_check(case, key, *groups[key]) for key in sorted(groups)]
    return (*found, *_missing(case))


def _key(side: str, what: str) -> str:
    """Return the row that a verdict belongs to: bending by load, the track, the buttons, the pane."""
    if what.startswith("draw"):
        return f"panel-{side}-track"
    if "button" in what:
        return f"panel-{side}-button"
    if what.startswith("size"):
        return "panel-pane-size"
    return f"panel-{side}-{'snow' if 'snow' in what else 'wind'}"


def _check(case: Case, key: str, one: Pane, verdict: Verdict) -> Check:
    skin = case.stock.skins[one.part.material]
    where = tr("panel {mark} ({address})").format(mark=one.part.mark, address=address(one.part))
    inputs: tuple[str, ...] = (
        tr("{where}, free {across:.0f} x {along:.0f} mm (across x along)").format(
            where=where, across=one.across, along=one.along
        ),
        skin.name,
        case.wind.words,
        tr("edge cover {cover:.1f} mm when coldest").format(cover=one.cover),
    )
    if "snow" in verdict.what:
        inputs = (*inputs, tr("roof snow {worst_kpa:.2f} kPa").format(worst_kpa=case.snow.worst_kpa))
    return Check(
        key,
        (tr("roof panel: {what}") if one.frame.face in ROOFS else tr("wall panel: {what}")).format(
            what=tr(verdict.what)
        ),
        verdict.demand,
        verdict.capacity,
        verdict.unit,
        verdict.utilisation,
        verdict.source,
        verdict.source_kind,
        inputs,
        _assumed(skin, verdict),
        working=verdict.lines,
        governs=(one.part.mark,),
    )


def _assumed(skin: Skin, verdict: Verdict) -> tuple[str, ...]:
    found = [tr("edge zone pressures, because the shelter is smaller than the codes' edge zones")]
    if skin.kind == "multiwall":
        found.append(tr("stiffness as in the stock list, known to 25 %; edges slide freely in their slots"))
    if skin.kind == "glass":
        found.append(tr("glass overhead or below 0.5 m from the ground must be safety glass"))
    if skin.kind == "film" and "snow" in verdict.what:
        found.append(tr("snow on film pockets: sweep it off while it falls"))
    if "snow" in verdict.what:
        found.append(tr(DRIFT_WORDS))
        found.append(tr("snow lies for weeks: plastics creep, two thirds of the short-term stiffness is used"))
    return tuple(found)


def _missing(case: Case) -> tuple[Check, ...]:
    """Return what one lost wall panel or an open front does to the next panel, as advice."""
    worst: tuple[float, Pane, Verdict] | None = None
    for one in panes(case):
        for verdict in verdicts_on(case, one, opened=True):
            if (
                "snow" not in verdict.what
                and "size" not in verdict.what
                and (worst is None or verdict.utilisation > worst[0])
            ):
                worst = (verdict.utilisation, one, verdict)
    if worst is None:
        return ()
    use, one, verdict = worst
    limit = sail_speed(case, use)
    words = (
        ()
        if limit is None
        else (tr("with a panel missing it holds to about {limit:.0f} km/h").format(limit=limit * 3.6),)
    )
    return (
        Check(
            "panel-missing",
            tr("one panel missing or the front open: {what}").format(what=tr(verdict.what)),
            verdict.demand,
            verdict.capacity,
            verdict.unit,
            use,
            tr("ASCE 7-16 table 26.13-1, EN 1991-1-4 7.2.9, NBCC 4.1.7.7 (openings)"),
            "memory",
            (
                tr("next in line: panel {mark} ({address})").format(mark=one.part.mark, address=address(one.part)),
                case.wind.words,
                *words,
            ),
            (
                tr("the wind fills the shelter through the gap and pushes the next panel out from inside"),
                tr("close the front and replace a lost panel before the wind comes"),
            ),
            working=verdict.lines,
            governs=(one.part.mark,),
            advice=True,
        ),
    )


def sail_speed(case: Case, use: float) -> float | None:
    """Return the gust at which that utilisation would be about 1 [m/s], None without a gust."""
    gust = case.site.wind.gust_m_s
    if case.wind.route != "gust" or gust is None or use <= 0.0:
        return None
    return gust * min(1.0, math.sqrt(1.0 / use))
