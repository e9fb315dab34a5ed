"""Do the panels stay in their tracks from the hottest to the coldest day?

Rows straight from each panel's own fit (`shape.model.Fit`), which the shape has
worked out: gap needed against gap given, least cover against cover left.

Units: mm, degC.
"""

from __future__ import annotations

from enclosure.checks.case import Case
from enclosure.checks.model import Check, Line
from enclosure.language import tr
from enclosure.shape.model import Fit, Part
from enclosure.shape.names import address


def thermal_checks(case: Case) -> tuple[Check, ...]:
    """Return the tightest gap in the heat and the least cover in the cold."""
    fits = [(part, part.fit, axis) for part in case.design.panels() if part.fit is not None for axis in (0, 1)]
    if not fits:
        return ()
    gap = max(fits, key=lambda f: f[1].needed_clearance_mm[f[2]] / max(1e-9, f[1].clearance_mm[f[2]]))
    cover = max(fits, key=lambda f: f[1].least_cover_mm / max(1e-9, f[1].cover_cold_mm[f[2]]))
    return (_gap(*gap), _cover(*cover))


def _where(part: Part, axis: int) -> str:
    side = tr("width") if axis == 0 else tr("height")
    return tr("panel {mark} ({address}), {side}").format(mark=part.mark, address=address(part), side=side)


def _gap(part: Part, fit: Fit, axis: int) -> Check:
    need, given = fit.needed_clearance_mm[axis], fit.clearance_mm[axis]
    lines = (
        Line(
            tr("movement"),
            "alpha L dT",
            tr("{cold:g} to {hot:g} degC").format(cold=fit.coldest_degc, hot=fit.hottest_degc),
            fit.movement_mm[axis],
            "mm",
            tr("free movement"),
        ),
        Line(
            tr("needed"),
            tr("alpha L (Thot - Tcut)/2 + tolerance/2"),
            tr("cut at {cut:g} degC, hottest {hot:g} degC").format(cut=fit.cut_degc, hot=fit.hottest_degc),
            need,
            "mm",
            tr("half the growth behind each edge; statics"),
        ),
        Line(tr("given"), tr("gap behind each edge as cut"), "", given, "mm", tr("the design")),
    )
    return Check(
        "thermal-gap",
        tr("room to grow in the heat"),
        need,
        given,
        "mm",
        need / given if given > 0 else float("inf"),
        tr("linear expansion; alpha from materials tables"),
        "handbook",
        (
            _where(part, axis),
            tr("{cut_degc:g} degC when cut, {hottest_degc:g} degC in the sun").format(
                cut_degc=fit.cut_degc, hottest_degc=fit.hottest_degc
            ),
        ),
        (tr("the frame's own movement is left out: timber moves a fourteenth of the sheet"),),
        working=lines,
        governs=(part.mark,),
    )


def _cover(part: Part, fit: Fit, axis: int) -> Check:
    left, least = fit.cover_cold_mm[axis], fit.least_cover_mm
    lines = (
        Line(tr("slot"), "", "", fit.slot_depth_mm, "mm", tr("track")),
        Line(tr("gap"), "", "", fit.clearance_mm[axis], "mm", tr("behind each edge as cut")),
        Line(
            tr("cover"),
            tr("slot - 2 gap - shrinkage"),
            tr("at {cold:g} degC, pushed to one side").format(cold=fit.coldest_degc),
            left,
            "mm",
            tr("all of the play on one side"),
        ),
        Line(tr("least"), "", "", least, "mm", tr("stock list; common practice, no source")),
    )
    return Check(
        "thermal-cover",
        tr("edge cover on the coldest night (least over left)"),
        least,
        left,
        "mm",
        least / left if left > 0 else float("inf"),
        tr("linear expansion; least cover from the stock list"),
        "practice",
        (_where(part, axis), f"{fit.coldest_degc:g} degC"),
        (tr("the panel has slid hard to one side"),),
        working=lines,
        governs=(part.mark,),
    )
