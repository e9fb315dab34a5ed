"""How far does a panel sit in its track as cut, on the hottest and on the coldest day?

Left out: how it is drawn (see outputs.paper.packet_details and outputs.dxf_details).
Units: mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.shape.model import Design, Fit, Part


@dataclass(frozen=True, slots=True)
class Seat:
    """Gap and cover at both ends of a panel in one state [mm]."""

    name: str
    gap_left: float
    gap_right: float
    cover_left: float
    cover_right: float


def seats(fit: Fit, axis: int) -> tuple[Seat, Seat, Seat]:
    """Return the panel as cut, at the hottest and at the coldest, along one axis (0 across, 1 along)."""
    clearance, movement = fit.clearance_mm[axis], fit.movement_mm[axis]
    span = fit.hottest_degc - fit.coldest_degc
    growth = movement * (fit.hottest_degc - fit.cut_degc) / span if span else 0.0
    shrink = movement - growth
    slot = fit.slot_depth_mm
    hot = clearance - growth / 2
    cold = 2 * clearance + shrink
    return (
        Seat("as cut", clearance, clearance, slot - clearance, slot - clearance),
        Seat("hottest", hot, hot, slot - hot, slot - hot),
        Seat("coldest", 0.0, cold, slot, slot - cold),
    )


def tightest(design: Design) -> tuple[Part, int] | None:
    """Return the panel and axis with the least cover to spare on the coldest day, or None without track."""
    best: tuple[float, Part, int] | None = None
    in_track = {part.face for part in design.parts if part.kind == "track"}
    for part in design.panels():
        if part.fit is None or part.face not in in_track:
            continue
        for axis in (0, 1):
            spare = part.fit.cover_cold_mm[axis] - part.fit.least_cover_mm
            if best is None or spare < best[0] - 1e-9:
                best = (spare, part, axis)
    return (best[1], best[2]) if best else None
