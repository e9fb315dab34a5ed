"""Do the panels stay in their tracks from the hottest to the coldest day?

Rows straight from each panel's own fit (`shape.model.Fit`), which the shape has
worked out: gap needed against gap given, least cover against cover left.

Units: mm, degC.
"""

from __future__ import annotations

from enclosure.checks.case import Case
from enclosure.checks.model import Check, Line
from enclosure.shape.model import Fit, Part


def thermal_checks(case: Case) -> tuple[Check, ...]:
    """Return the tightest gap in the heat and the least cover in the cold."""
    fits = [
        (part, part.fit, axis) for part in case.design.panels() if part.fit is not None for axis in (0, 1)
    ]
    if not fits:
        return ()
    gap = max(fits, key=lambda f: f[1].needed_clearance_mm[f[2]] / max(1e-9, f[1].clearance_mm[f[2]]))
    cover = max(fits, key=lambda f: f[1].least_cover_mm / max(1e-9, f[1].cover_cold_mm[f[2]]))
    return (_gap(*gap), _cover(*cover))


def _where(part: Part, axis: int) -> str:
    return f"panel {part.mark} ({part.address}), {'width' if axis == 0 else 'height'}"


def _gap(part: Part, fit: Fit, axis: int) -> Check:
    need, given = fit.needed_clearance_mm[axis], fit.clearance_mm[axis]
    lines = (
        Line(
            "movement",
            "alpha L dT",
            f"{fit.coldest_degc:g} to {fit.hottest_degc:g} degC",
            fit.movement_mm[axis],
            "mm",
            "free movement",
        ),
        Line(
            "needed",
            "alpha L (Thot - Tcut)/2 + tolerance/2",
            f"cut at {fit.cut_degc:g} degC, hottest {fit.hottest_degc:g} degC",
            need,
            "mm",
            "half the growth behind each edge; statics",
        ),
        Line("given", "gap behind each edge as cut", "", given, "mm", "the design"),
    )
    return Check(
        "thermal-gap",
        "room to grow in the heat",
        need,
        given,
        "mm",
        need / given if given > 0 else float("inf"),
        "linear expansion; alpha from materials tables",
        "handbook",
        (_where(part, axis), f"{fit.cut_degc:g} degC when cut, {fit.hottest_degc:g} degC in the sun"),
        ("the frame's own movement is left out: timber moves a fourteenth of the sheet",),
        working=lines,
        governs=(part.mark,),
    )


def _cover(part: Part, fit: Fit, axis: int) -> Check:
    left, least = fit.cover_cold_mm[axis], fit.least_cover_mm
    lines = (
        Line("slot", "", "", fit.slot_depth_mm, "mm", "track"),
        Line("gap", "", "", fit.clearance_mm[axis], "mm", "behind each edge as cut"),
        Line(
            "cover",
            "slot - 2 gap - shrinkage",
            f"at {fit.coldest_degc:g} degC, pushed to one side",
            left,
            "mm",
            "all of the play on one side",
        ),
        Line("least", "", "", least, "mm", "stock list; common practice, no source"),
    )
    return Check(
        "thermal-cover",
        "edge cover on the coldest night (least over left)",
        least,
        left,
        "mm",
        least / left if left > 0 else float("inf"),
        "linear expansion; least cover from the stock list",
        "practice",
        (_where(part, axis), f"{fit.coldest_degc:g} degC"),
        ("the panel has slid hard to one side",),
        working=lines,
        governs=(part.mark,),
    )
