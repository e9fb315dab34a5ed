"""Which old panel with holes becomes a new one whole, when only its edges are sawn off?

A panel without holes is plain stock. One with holes (where buttons held it to
transoms) is cut around them (`match.sound_pieces`), unless its holes serve again:
every old hole that stays in the new panel must be one that the new panel wants,
and every other must lie clear of the new edges by the margin. The flutes run as
they ran, the weather face stays out, nothing is turned.

Left out: which of these are worth taking (see `choose.reused`).

Units: mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from enclosure.reuse.match import (
    HOLE_MARGIN_MM,
    SAW_GAP_MM,
    Matched,
    edge_margin,
    inside,
    old_holes,
    same_hole,
    track_mark_margin,
)
from enclosure.shape.model import Design, Hole, Part, SheetCut

GRAIN_MM = 0.01


@dataclass(frozen=True, slots=True)
class Trim:
    """An old panel that becomes a new one by sawing off its edges.

    Args:
        old: The old panel.
        new: The new one.
        left_mm: From the old left edge to the new one.
        low_mm: From the old lower edge to the new one.
    """

    old: Part
    new: Part
    left_mm: float
    low_mm: float


def possible_trims(
    old: Design, new: Design, matched: Matched, margin_mm: float = 0.0, uncut: frozenset[str] = frozenset()
) -> list[Trim]:
    """Return every pair of an old panel with holes and a new panel that it becomes by trimming.

    Args:
        old: The shelter that stands.
        new: The shelter wanted.
        matched: What is kept, and which old parts are sound enough to be cut again.
        margin_mm: Taken off each old edge, >= 0; more where old slots reach further in or washers held the panel.
        uncut: Materials that are ordered to size and never cut.
    """
    kept, sound = {k.new for k in matched.keeps}, {piece.old for piece in matched.pieces}
    wanted = [p for p in new.parts if p.kind == "panel" and p.mark not in kept and p.material not in uncut]
    places = old_holes(old)
    found = []
    for before in old.parts:
        if before.mark not in sound or not isinstance(before.cut, SheetCut) or not before.cut.holes:
            continue
        slots = track_mark_margin(old, new, before.material)
        margin = edge_margin(before, places, max(margin_mm, slots))
        for after in wanted:
            if after.material == before.material and before.kind == "panel" and isinstance(after.cut, SheetCut):
                spot = trimmed_at(before.cut, after.cut, margin)
                if spot is not None:
                    found.append(Trim(before, after, *spot))
    return found


def best_trims(found: Iterable[Trim]) -> list[Trim]:
    """Return trims in which no old and no new panel stands twice, the largest new ones from the smallest old ones."""
    gone: set[str] = set()
    made: set[str] = set()
    out = []
    for trim in sorted(found, key=lambda t: (-_area(t.new), _area(t.old), t.new.mark, t.old.mark)):
        if trim.old.mark not in gone and trim.new.mark not in made:
            gone.add(trim.old.mark)
            made.add(trim.new.mark)
            out.append(trim)
    return out


def _area(part: Part) -> float:
    assert isinstance(part.cut, SheetCut)
    return part.cut.width_mm * part.cut.height_mm


def trimmed_at(old: SheetCut, new: SheetCut, margin_mm: float = 0.0) -> tuple[float, float] | None:
    """Return where the new panel lies in the old one (left, low), None when it cannot be had by trimming."""
    across, along = old.width_mm - new.width_mm, old.height_mm - new.height_mm
    if min(across, along) < 2 * margin_mm - GRAIN_MM or (margin_mm > 0 and len(old.outline) != 4):
        return None
    shifts = {(h.x_mm - g.x_mm, h.y_mm - g.y_mm) for h in old.holes for g in new.holes}
    lefts = {margin_mm, across - margin_mm, *(x for x, _ in shifts)}
    lows = {margin_mm, along - margin_mm, *(y for _, y in shifts)}
    for left in _starts(lefts, across, margin_mm):
        for low in _starts(lows, along, margin_mm):
            if _fits(old, new, left, low):
                return left, low
    return None


def _starts(places: Iterable[float], spare: float, margin_mm: float) -> list[float]:
    """Return the places at which a new panel may begin: flush with the old edge, or with room for the saw."""
    inside_edges = (p for p in places if margin_mm - GRAIN_MM <= p <= spare - margin_mm + GRAIN_MM)
    return sorted({max(0.0, p) for p in inside_edges if p < GRAIN_MM or p >= SAW_GAP_MM})


def _fits(old: SheetCut, new: SheetCut, left: float, low: float) -> bool:
    if not all(inside(old.outline, (x + left, y + low)) for x, y in new.outline):
        return False
    for hole in old.holes:
        here = Hole(hole.x_mm - left, hole.y_mm - low, hole.diameter_mm)
        if any(same_hole(here, wanted) for wanted in new.holes):
            continue
        away = max(-here.x_mm, here.x_mm - new.width_mm, -here.y_mm, here.y_mm - new.height_mm)
        if away < hole.diameter_mm / 2 + HOLE_MARGIN_MM - GRAIN_MM:
            return False
    return True
