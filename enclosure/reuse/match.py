"""Which old parts stay as they are, which may be cut again, and which are spare?

A part is *kept* when an old part of its material has exactly its cut. Keeping
loses nothing: if a cheapest plan cut the old part up and the new part from
elsewhere, exchanging the two pieces gives a plan of the same price. So keeping
is settled first, and everything else of the old shelter goes on the rack: each
old part once, the flutes as they ran, the weather face out (a plan never turns
a sheet over), what is used of a sheet free of old holes, and no end of a stick
near an old hole (`RackStick.holes_mm`).

A part that was measured after building is kept where it stands, or elsewhere
when it still fits its track or misses its length by no more than a saw does.

Old track marks need no margin where the new slot is as deep as the old one: a
part cut from an old panel is either flush with an old edge, whose marks its own
track hides again, or starts beyond another part. Where the new slot is less
deep, the difference is taken off every edge, and `margin_mm` where that is more.
Gussets are kept or spare, never cut again: where their screws went is not drawn.

Left out: which rack piece is used for what (one cutting problem, see `choose`).

Units: mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass

from enclosure.reuse.ends import clear_of_holes
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
WASHER_SCREW_MM = 6.0
SAW_MM = 1.5
"""A member that misses its length by no more still goes in; common practice, no source."""
LEAST_SHEET_MM = 100.0
LEAST_STICK_MM = 150.0
SAW_GAP_MM = 4.0
"""Least room for the saw between two sound pieces of one old sheet."""
Rectangle = tuple[float, float, float, float]
"""Left, low, width, height [mm]."""
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
    drawn: Design | None = None,
    stands: bool = False,
) -> Matched:
    """Return which old parts are kept and what the others are still good for.

    Args:
        old: The shelter that stands.
        new: The shelter that is wanted.
        margin_mm: Taken off each edge of a panel that is cut again, >= 0.
        worn: Materials too old to be used again.
        keep: Whether parts may be kept as they are; False treats every old part as a piece to cut.
        shift: Frame tiers that were put under the old shelter; its parts are looked for that much higher.
        drawn: The old shelter as it was drawn, where `old` holds measured sizes.
        stands: True when the old shelter is not taken apart, so that a part stays in its place whatever it measures.
    """
    alike = _same_materials(old, new)
    usable = [p for p in old.parts if p.material in alike and p.material not in worn]
    keeps = _keeps(usable, new.parts, shift) if keep else []
    if keep and drawn is not None:
        keeps += _measured_keeps(usable, new.parts, keeps, {p.mark: p for p in drawn.parts}, shift, stands=stands)
    taken = {k.old for k in keeps}
    pieces, spares = [], [p.mark for p in old.parts if p not in usable]
    places = old_holes(old)
    for part in usable:
        if part.mark in taken:
            continue
        found = sound_pieces(part, places, max(margin_mm, track_mark_margin(old, new, part.material)))
        pieces += found
        if not found:
            spares.append(part.mark)
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


def _measured_keeps(
    old: list[Part], new: Iterable[Part], found: list[Keep], drawn: dict[str, Part], shift: int, *, stands: bool
) -> list[Keep]:
    """Return what is kept besides: parts drawn as the new ones are, whose measured sizes still serve."""
    gone, made = {k.old for k in found}, {k.new for k in found}
    more = []
    for part in new:
        if part.mark in made:
            continue
        for candidate in old:
            as_drawn = drawn.get(candidate.mark)
            if candidate.mark in gone or as_drawn is None or cut_key(as_drawn) != cut_key(part):
                continue
            here = stands and same_place(candidate, part, shift)
            if (here or still_fits(candidate, part)) and holes_agree(candidate, part):
                more.append(Keep(candidate.mark, part.mark, _to_drill(candidate, part)))
                gone.add(candidate.mark)
                break
    return more


def still_fits(old: Part, new: Part) -> bool:
    """Return whether an old part, as measured, does what the new one is drawn for.

    A panel in track may be smaller as long as it is covered at the coldest when it sits hard to one
    side, and larger as long as half of that leaves the gap that it needs in the heat.
    """
    if isinstance(old.cut, StickCut) and isinstance(new.cut, StickCut):
        return abs(old.cut.length_mm - new.cut.length_mm) <= SAW_MM
    assert isinstance(old.cut, SheetCut)
    assert isinstance(new.cut, SheetCut)
    grown = (old.cut.width_mm - new.cut.width_mm, old.cut.height_mm - new.cut.height_mm)
    if new.fit is None:
        return all(abs(more) <= SAW_MM for more in grown)
    fit = new.fit
    return all(
        fit.cover_cold_mm[i] + more >= fit.least_cover_mm - 1e-6
        if more < 0
        else fit.clearance_mm[i] - more / 2 >= fit.needed_clearance_mm[i] - 1e-6
        for i, more in enumerate(grown)
    )


def track_mark_margin(old: Design, new: Design, material: str) -> float:
    """Return by how much the old slots of a material reach further in than the new ones do [mm]."""

    def slots(design: Design) -> list[float]:
        return [p.fit.slot_depth_mm for p in design.parts if p.fit is not None and p.material == material]

    return max(0.0, max(slots(old), default=0.0) - min(slots(new), default=math.inf))


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
    return all(any(same_hole(h, g) for g in _holes(new)) for h in _holes(old))


def _to_drill(old: Part, new: Part) -> int:
    return sum(not any(same_hole(h, g) for g in _holes(old)) for h in _holes(new))


def _holes(part: Part) -> tuple[Hole, ...]:
    return part.cut.holes if isinstance(part.cut, SheetCut) else ()


def same_hole(a: Hole, b: Hole) -> bool:
    """Return whether two holes are the same for a screw."""
    return math.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) <= 1.0 and abs(a.diameter_mm - b.diameter_mm) <= 0.5


# --- cut again ----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class OldHoles:
    """Where bolts, screws and the screws with washers went through an old shelter."""

    bolts: tuple[Vec, ...] = ()
    screws: tuple[Vec, ...] = ()
    washers: tuple[Vec, ...] = ()


def old_holes(design: Design) -> OldHoles:
    """Return the holes of an old shelter."""

    def places(*starts: str) -> tuple[Vec, ...]:
        rows = (row for row in design.fixings if row.key.startswith(starts))
        return tuple(dict.fromkeys(place for row in rows for place in row.positions))

    return OldHoles(places("bolt"), places("track_screw", "frame_screw", "sill_bracket"), places("washer_screw"))


def old_pieces(design: Design, margin_mm: float = 0.0) -> list[OldPiece]:
    """Return every part of an old shelter as a piece for cutting, where enough of it is left."""
    places = old_holes(design)
    return [item for part in design.parts for item in sound_pieces(part, places, margin_mm)]


def sound_pieces(part: Part, places: OldHoles | None = None, margin_mm: float = 0.0) -> list[OldPiece]:
    """Return what can be cut from an old part: of a stick one piece, of a sheet one or two (both sides of old holes).

    Args:
        part: The old part.
        places: Holes of the old shelter.
        margin_mm: Taken off each edge of a sheet.
    """
    note, places = f"old {part.mark}", places or OldHoles()
    if isinstance(part.cut, SheetCut):
        if part.kind in ("film", "gusset"):
            return []
        pieces = []
        for left, low, width, height in usable_rectangles(part.cut, edge_margin(part, places, margin_mm)):
            row = RackSheet(material=part.material, width_mm=width, height_mm=height, copies=1, note=note)
            pieces.append(OldPiece(part.mark, row, left, low))
        return pieces
    if part.cut.bevel_deg:
        return []
    start, end = usable_length(part)
    if end - start < LEAST_STICK_MM:
        return []
    screws = _along(part, places.screws)
    start, end = clear_of_holes((start, end), part.cut.length_mm, screws, HOLE_MARGIN_MM)
    if end - start < LEAST_STICK_MM:
        return []
    defects = bolt_stretches(part, places.bolts, start, end)
    holes = tuple(sorted({round(at - start, 1) for at in screws if start <= at <= end}))
    stick = RackStick(
        material=part.material, length_mm=end - start, copies=1, defects=defects, holes_mm=holes, note=note
    )
    return [OldPiece(part.mark, stick, start)]


def edge_margin(part: Part, places: OldHoles, margin_mm: float) -> float:
    """Return what is taken off each edge of an old sheet part: more where screws with washers held it."""
    return max(margin_mm, WASHER_SCREW_MM / 2 + HOLE_MARGIN_MM if _on_part(part, places.washers) else 0.0)


def usable_rectangles(cut: SheetCut, margin_mm: float = 0.0) -> list[Rectangle]:
    """Return the largest sound rectangle of an old part and, where holes part it, the largest beside that."""
    first = usable_rectangle(cut, margin_mm)
    if first is None or not cut.holes:
        return [] if first is None else [first]
    second = usable_rectangle(cut, margin_mm, first)
    return [first] if second is None else [first, second]


def usable_rectangle(cut: SheetCut, margin_mm: float = 0.0, beside: Rectangle | None = None) -> Rectangle | None:
    """Return the largest upright rectangle in an old part free of holes: left, low, width, height [mm].

    Args:
        cut: The old part.
        margin_mm: Taken off each of its edges.
        beside: A rectangle taken already, from which it must stay a saw cut away.
    """
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
                    if (best is None or size > best[0] + 1e-6) and _free(cut, left, low, right, high, beside):
                        best = (size, left, low, right, high)
    if best is None:
        return None
    _, left, low, right, high = best
    width, height = right - left - 2 * margin_mm, high - low - 2 * margin_mm
    if min(width, height) < LEAST_SHEET_MM:
        return None
    return left + margin_mm, low + margin_mm, width, height


def _free(
    cut: SheetCut, left: float, low: float, right: float, high: float, beside: Rectangle | None = None
) -> bool:
    if beside is not None:
        x, y, wide, tall = beside
        away = max(x - right, left - x - wide, y - high, low - y - tall)
        if away < SAW_GAP_MM - 1e-6:
            return False
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


def bolt_stretches(part: Part, bolts: tuple[Vec, ...], start: float, end: float) -> tuple[Defect, ...]:
    """Return the stretches of the usable length that old bolts went through, measured from its first end."""
    if part.kind != "member":
        return ()
    reach = BOLT_MM / 2 + BOLT_MARGIN_MM
    spans = []
    for along in _along(part, bolts):
        low, high = max(start, along - reach) - start, min(end, along + reach) - start
        if high > low:
            spans.append((low, high))
    return tuple(Defect(start_mm=a, end_mm=b) for a, b in merged(spans))


def _along(part: Part, places: tuple[Vec, ...]) -> list[float]:
    """Return how far from the first end of a stick some places lie that are on it or beside it [mm]."""
    if not part.solids:
        return []
    solid = max(part.solids, key=lambda s: _axes(s)[0][2] - _axes(s)[0][1])
    axes = _axes(solid)
    near = max(high - low for _, low, high in axes[1:])
    found = []
    for there in places:
        place = [sum((there[i] - solid.origin[i]) * axis[0][i] for i in range(3)) for axis in axes]
        if all(low - near <= at <= high + near for at, (_, low, high) in zip(place[1:], axes[1:], strict=True)) and (
            axes[0][1] <= place[0] <= axes[0][2]
        ):
            found.append(place[0] - axes[0][1])
    return found


def _on_part(part: Part, places: tuple[Vec, ...]) -> bool:
    """Return whether one of some places lies on a sheet part, its edge included."""
    for solid in part.solids:
        axes = _axes(solid)
        for there in places:
            place = [sum((there[i] - solid.origin[i]) * axis[0][i] for i in range(3)) for axis in axes]
            if all(low - 1.0 <= at <= high + 1.0 for at, (_, low, high) in zip(place, axes, strict=True)):
                return True
    return False


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
