"""Which old parts stay as they are, which may be cut again, and which are spare?

A part is *kept* when an old part of its material has exactly its cut. Keeping
loses nothing: if a cheapest plan cut the old part up and the new part from
elsewhere, exchanging the two pieces gives a plan of the same price. So keeping
is settled first, and everything else of the old shelter goes on the rack: each
old part once, the flutes as they ran, the weather face out (a plan never turns
a sheet over), what is used of it free of old holes.

Old track marks need no margin where the new slot is as deep as the old one: a
part cut from an old panel is either flush with an old edge, whose marks its own
track hides again, or starts beyond another part. `margin_mm` is taken off every
edge of a re-cut panel beside that, and kept round every old hole.

Left out: which rack piece is used for what (one cutting problem, see `choose`).

Units: mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Hole, Material, Part, Prism, SheetCut, StickCut, Vec
from enclosure.stock.model import Defect, RackSheet, RackStick

SAME_MM = 0.05
"""Sizes this close are the same size."""
SAME_DEG = 0.02
HOLE_MARGIN_MM = 10.0
"""Sound material left round an old screw hole; common practice, no source."""
BOLT_MARGIN_MM = 20.0
"""Sound timber left on either side of an old bolt hole; common practice, no source."""
END_MARGIN_MM = 20.0
"""Taken off each old end of a timber cut again, where old screws split it; common practice, no source."""
BOLT_MM = 9.0
LEAST_SHEET_MM = 100.0
LEAST_STICK_MM = 150.0
TRACK_KINDS = ("track",)


@dataclass(frozen=True, slots=True)
class Keep:
    """An old part that becomes a new one uncut.

    Args:
        old: Mark in the old design.
        new: Mark in the new design, as first numbered.
        drill: New holes to drill.
    """

    old: str
    new: str
    drill: int = 0


@dataclass(frozen=True, slots=True)
class OldPiece:
    """What is left of an old part for cutting again.

    Args:
        old: Mark in the old design.
        piece: The usable piece as a row of the rack.
        left_mm: For a sheet, where the usable piece starts across the old part; for a stick, along it.
        low_mm: For a sheet, where it starts along the flutes.
    """

    old: str
    piece: RackSheet | RackStick
    left_mm: float = 0.0
    low_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Matched:
    """How an old shelter serves a new one.

    Args:
        keeps: Old parts that stay as they are, in the order of their new marks.
        pieces: Old parts that may be cut again.
        spares: Marks of old parts that are neither kept nor fit for cutting.
    """

    keeps: tuple[Keep, ...]
    pieces: tuple[OldPiece, ...]
    spares: tuple[str, ...]


def match(
    old: Design,
    new: Design,
    *,
    margin_mm: float = 0.0,
    worn: frozenset[str] = frozenset(),
    keep: bool = True,
    shift: int = 0,
) -> Matched:
    """Return which old parts are kept and what the others are still good for.

    Args:
        old: The shelter that stands.
        new: The shelter that is wanted.
        margin_mm: Taken off each edge of a panel that is cut again, >= 0.
        worn: Materials too old to be used again.
        keep: Whether parts may be kept as they are; False treats every old part as a piece to cut.
        shift: Frame tiers that were put under the old shelter; its parts are looked for that much higher.
    """
    alike = _same_materials(old, new)
    usable = [p for p in old.parts if p.material in alike and p.material not in worn]
    keeps = _keeps(usable, new.parts, shift) if keep else []
    taken = {k.old for k in keeps}
    pieces, spares = [], [p.mark for p in old.parts if p not in usable]
    bolts = bolt_places(old)
    for part in usable:
        if part.mark in taken:
            continue
        piece = old_piece(part, bolts, margin_mm)
        if piece is None:
            spares.append(part.mark)
        else:
            pieces.append(piece)
    order = {p.mark: i for i, p in enumerate(new.parts)}
    return Matched(tuple(sorted(keeps, key=lambda k: order[k.new])), tuple(pieces), tuple(sorted(spares, key=sort_key)))


def _same_materials(old: Design, new: Design) -> set[str]:
    """Return the keys that stand for the same material in both designs."""
    now = {m.key: m for m in new.materials}
    return {m.key for m in old.materials if m.key in now and _alike(m, now[m.key])}


def _alike(a: Material, b: Material) -> bool:
    return a.kind == b.kind and all(
        abs(x - y) <= SAME_MM for x, y in ((a.thickness_mm, b.thickness_mm), (a.width_mm, b.width_mm))
    )


# --- keep --------------------------------------------------------------------------


def _keeps(old: list[Part], new: Iterable[Part], shift: int) -> list[Keep]:
    waiting: dict[tuple[object, ...], list[Part]] = {}
    for part in old:
        waiting.setdefault(cut_key(part), []).append(part)
    wanted = list(new)
    found: dict[str, Keep] = {}
    for likeness in (same_place, _same_spot, _same_face, _any):
        for part in wanted:
            if part.mark in found:
                continue
            row = waiting.get(cut_key(part), [])
            for candidate in row:
                if likeness(candidate, part, shift) and holes_agree(candidate, part):
                    found[part.mark] = Keep(candidate.mark, part.mark, _to_drill(candidate, part))
                    row.remove(candidate)
                    break
    return list(found.values())


def cut_key(part: Part) -> tuple[object, ...]:
    """Return what two parts must share for one to take the other's place uncut."""
    cut = part.cut
    if isinstance(cut, StickCut):
        angles = tuple(round(a / SAME_DEG) for a in (cut.start_deg, cut.end_deg, cut.bevel_deg))
        return ("stick", part.material, _r(cut.length_mm), angles, _r(cut.bevel_low_mm))
    outline = tuple((_r(x), _r(y)) for x, y in cut.outline)
    return ("sheet", part.material, _r(cut.width_mm), _r(cut.height_mm), outline)


def _r(value: float) -> int:
    return round(value / SAME_MM)


def same_place(a: Part, b: Part, shift: int) -> bool:
    """Return whether an old part and a new one stand in the same place, `shift` tiers higher."""
    level, tier = a.level + shift * (a.level > 0), a.tier + shift * (a.tier > 0)
    here, there = (level, a.bay, tier, a.layer), (b.level, b.bay, b.tier, b.layer)
    if a.face.startswith("ROOF") or a.face == "BASE":
        here = (a.level, a.bay, a.tier, a.layer)
    return _same_face(a, b, shift) and here == there


def _same_spot(a: Part, b: Part, shift: int) -> bool:
    return _same_face(a, b, shift) and (a.level + shift, a.bay, a.layer) == (b.level, b.bay, b.layer)


def _same_face(a: Part, b: Part, shift: int) -> bool:
    return (a.face, a.role) == (b.face, b.role)


def _any(a: Part, b: Part, shift: int) -> bool:
    return True


def holes_agree(old: Part, new: Part) -> bool:
    """Return whether every hole of the old part is wanted in the new one."""
    return all(any(_same_hole(h, g) for g in _holes(new)) for h in _holes(old))


def _to_drill(old: Part, new: Part) -> int:
    return sum(not any(_same_hole(h, g) for g in _holes(old)) for h in _holes(new))


def _holes(part: Part) -> tuple[Hole, ...]:
    return part.cut.holes if isinstance(part.cut, SheetCut) else ()


def _same_hole(a: Hole, b: Hole) -> bool:
    return math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) <= 1.0 and abs(a.diameter_mm - b.diameter_mm) <= 0.5


# --- cut again ----------------------------------------------------------------------


def old_piece(part: Part, bolts: tuple[Vec, ...] = (), margin_mm: float = 0.0) -> OldPiece | None:
    """Return what can be cut from an old part; None when too little is left.

    Args:
        part: The old part.
        bolts: Where bolts went through the old shelter.
        margin_mm: Taken off each edge of a sheet.
    """
    note = f"old {part.mark}"
    if isinstance(part.cut, SheetCut):
        found = usable_rectangle(part.cut, margin_mm)
        if found is None or part.kind == "film":
            return None
        left, low, width, height = found
        row = RackSheet(material=part.material, width_mm=width, height_mm=height, copies=1, note=note)
        return OldPiece(part.mark, row, left, low)
    if part.cut.bevel_deg:
        return None
    start, end = usable_length(part)
    if end - start < LEAST_STICK_MM:
        return None
    defects = bolt_stretches(part, bolts, start, end)
    stick = RackStick(material=part.material, length_mm=end - start, copies=1, defects=defects, note=note)
    return OldPiece(part.mark, stick, start)


def usable_rectangle(cut: SheetCut, margin_mm: float = 0.0) -> tuple[float, float, float, float] | None:
    """Return the largest upright rectangle in an old part free of holes: left, low, width, height [mm]."""
    xs = {x for x, _ in cut.outline} | {0.0, cut.width_mm}
    ys = {y for _, y in cut.outline} | {0.0, cut.height_mm}
    if len(cut.outline) == 3:
        xs.add(cut.width_mm / 2)
        ys.add(cut.height_mm / 2)
    for hole in cut.holes:
        reach = hole.diameter_mm / 2 + HOLE_MARGIN_MM
        xs |= {hole.x_mm - reach, hole.x_mm + reach}
        ys |= {hole.y_mm - reach, hole.y_mm + reach}
    best: tuple[float, float, float, float, float] | None = None
    for left in sorted(xs):
        for right in sorted(x for x in xs if x > left):
            for low in sorted(ys):
                for high in sorted(y for y in ys if y > low):
                    size = (right - left) * (high - low)
                    if (best is None or size > best[0] + 1e-6) and _free(cut, left, low, right, high):
                        best = (size, left, low, right, high)
    if best is None:
        return None
    _, left, low, right, high = best
    width, height = right - left - 2 * margin_mm, high - low - 2 * margin_mm
    if min(width, height) < LEAST_SHEET_MM:
        return None
    return left + margin_mm, low + margin_mm, width, height


def _free(cut: SheetCut, left: float, low: float, right: float, high: float) -> bool:
    corners = ((left, low), (right, low), (right, high), (left, high))
    if not all(inside(cut.outline, corner) for corner in corners):
        return False
    for hole in cut.holes:
        reach = hole.diameter_mm / 2 + HOLE_MARGIN_MM - 1e-6
        if left - reach < hole.x_mm < right + reach and low - reach < hole.y_mm < high + reach:
            return False
    return True


def inside(outline: tuple[tuple[float, float], ...], point: tuple[float, float]) -> bool:
    """Return whether a point lies in a convex outline, its edge included."""
    x, y = point
    for (ax, ay), (bx, by) in zip(outline, outline[1:] + outline[:1], strict=True):
        if (bx - ax) * (y - ay) - (by - ay) * (x - ax) < -1e-6 * max(1.0, math.hypot(bx - ax, by - ay)):
            return False
    return True


def usable_length(part: Part) -> tuple[float, float]:
    """Return the stretch of an old stick with square ends that can be cut again: from, to [mm]."""
    assert isinstance(part.cut, StickCut)
    across = _across(part)
    start = across * math.tan(math.radians(abs(part.cut.start_deg)))
    end = part.cut.length_mm - across * math.tan(math.radians(abs(part.cut.end_deg)))
    margin = 0.0 if part.kind in TRACK_KINDS else END_MARGIN_MM
    return start + margin, end - margin


def _across(part: Part) -> float:
    """Return the size of a stick square to its length, in the plane of its angled ends [mm]."""
    xs = [x for solid in part.solids for x, _ in solid.outline]
    ys = [y for solid in part.solids for _, y in solid.outline]
    return min(max(xs) - min(xs), max(ys) - min(ys)) if xs else 0.0


def bolt_places(design: Design) -> tuple[Vec, ...]:
    """Return where bolts went through the timbers of a shelter."""
    return tuple(place for row in design.fixings if row.key.startswith("bolt") for place in row.positions)


def bolt_stretches(part: Part, bolts: tuple[Vec, ...], start: float, end: float) -> tuple[Defect, ...]:
    """Return the stretches of the usable length that old bolts went through, measured from its first end."""
    if part.kind != "member" or not part.solids:
        return ()
    solid = max(part.solids, key=lambda s: _axes(s)[0][2] - _axes(s)[0][1])
    axes = _axes(solid)
    reach = BOLT_MM / 2 + BOLT_MARGIN_MM
    spans = []
    for bolt in bolts:
        place = [sum((bolt[i] - solid.origin[i]) * axis[0][i] for i in range(3)) for axis in axes]
        near = max(high - low for _, low, high in axes[1:])
        if all(low - near <= at <= high + near for at, (_, low, high) in zip(place[1:], axes[1:], strict=True)) and (
            axes[0][1] <= place[0] <= axes[0][2]
        ):
            along = place[0] - axes[0][1]
            low, high = max(start, along - reach) - start, min(end, along + reach) - start
            if high > low:
                spans.append((low, high))
    return tuple(Defect(start_mm=a, end_mm=b) for a, b in merged(spans))


def _axes(solid: Prism) -> list[tuple[Vec, float, float]]:
    """Return the three axes of a prism, longest first: direction, least and greatest coordinate."""
    u, v = solid.u, solid.v
    n = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    xs, ys = [x for x, _ in solid.outline], [y for _, y in solid.outline]
    rows = [(u, min(xs), max(xs)), (v, min(ys), max(ys)), (n, 0.0, solid.depth)]
    return sorted(rows, key=lambda row: row[1] - row[2])


def merged(spans: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """Return stretches with overlapping ones joined, ascending."""
    out: list[tuple[float, float]] = []
    for low, high in sorted(spans):
        if out and low <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], high))
        else:
            out.append((low, high))
    return out
