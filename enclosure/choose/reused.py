"""How is a new shelter made from an old one and from what must be bought, at least cost?

Parts that fit stay as they are (which costs nothing, see `reuse.match`); all
other old parts become finite stock of one cutting problem for each material,
beside the sheets and sticks that can be bought. Afterwards every old part has
one fate: keep, re-cut or spare.

Units: mm, whole cents.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from enclosure.choose.price import Pricer
from enclosure.errors import CuttingError
from enclosure.nesting.buying import buying_list
from enclosure.nesting.demand import sheet_demands_of, stick_demands_of
from enclosure.nesting.model import UNITS_PER_MM
from enclosure.nesting.plans import MarkDealer, MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.replay import cut_sequence, leftovers, placements
from enclosure.reuse.match import Matched, OldPiece
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Fixing, Part, SheetCut, StickCut
from enclosure.stock.model import RackSheet, RackStick, Stock
from enclosure.units import UnitSystem, format_length

USED_AGAIN = frozenset(
    {"angle_bracket", "bolt_m8", "button_fixing", "hinge", "post", "setting_block", "sill_bracket",
     "turn_button", "washer_m8", "washer_screw"}
)  # fmt: skip
"""Hardware that comes off whole wherever it was (common practice, no source). Screws, tape, seal, staples and
wire stay only in what is not taken apart: they count as there in the share of old parts that are kept."""


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of one old part.

    Args:
        old: Its mark.
        end: "keep", "re-cut" or "spare".
        new: Marks of the new parts it becomes; its own when kept.
        words: What to do with it.
    """

    old: str
    end: str
    new: tuple[str, ...]
    words: str


@dataclass(frozen=True, slots=True)
class Reused:
    """A new shelter from old parts and new.

    Args:
        plans: Cutting plans of what is cut and the buying list of what is bought.
        price_cents: Sum of the buying list.
        bound_cents: No way of cutting costs less with these parts kept, which loses nothing.
        fates: One for each old part, in the natural order of marks.
        cuts: Cuts with the saw.
        yield_share: Area of sheet parts cut over the area of what they were cut from, 0 to 1.
        came_from: For each new part where it comes from: "old 4" or "new".
    """

    plans: Plans
    price_cents: int
    bound_cents: int
    fates: tuple[Fate, ...]
    cuts: int
    yield_share: float
    came_from: Mapping[str, str]

    @property
    def proved(self) -> bool:
        """True when no cheaper plan exists."""
        return self.bound_cents >= self.price_cents


@dataclass(frozen=True)
class _Lot:
    """Equal old pieces of one material: one row of the rack and the marks behind it."""

    piece: RackSheet | RackStick
    olds: tuple[OldPiece, ...]


def with_old_parts(stock: Stock, pieces: Iterable[OldPiece]) -> tuple[Stock, dict[str, list[_Lot]]]:
    """Return a stock list whose rack begins with the old pieces, and what stands behind its rows."""
    lots: dict[tuple[object, ...], list[OldPiece]] = {}
    for item in pieces:
        piece = item.piece
        size: tuple[object, ...] = (
            (piece.width_mm, piece.height_mm)
            if isinstance(piece, RackSheet)
            else (piece.length_mm, *((d.start_mm, d.end_mm) for d in piece.defects))
        )
        lots.setdefault((piece.material, *size), []).append(item)
    rows = [
        _Lot(olds[0].piece.model_copy(update={"copies": len(olds), "note": _note(olds)}), tuple(olds))
        for olds in lots.values()
    ]
    sheets = [lot.piece for lot in rows if isinstance(lot.piece, RackSheet)]
    sticks = [lot.piece for lot in rows if isinstance(lot.piece, RackStick)]
    rack = stock.rack.model_copy(
        update={"sheets": (*sheets, *stock.rack.sheets), "sticks": (*sticks, *stock.rack.sticks)}
    )
    behind: dict[str, list[_Lot]] = {}
    for lot in rows:
        behind.setdefault(lot.piece.material, []).append(lot)
    return stock.model_copy(update={"rack": rack}), behind


def _note(olds: list[OldPiece]) -> str:
    return "old " + ", ".join(sorted((o.old for o in olds), key=sort_key))


def reuse(old: Design, new: Design, matched: Matched, stock: Stock, *, sheet_work: int | None = None) -> Reused:
    """Return the cheapest way found to make `new` from what `matched` leaves of `old`.

    Args:
        old: The shelter that stands.
        new: The shelter wanted.
        matched: What is kept and what may be cut again.
        stock: What can be bought, and the rack.
        sheet_work: Work units for one sheet job.
    """
    extended, behind = with_old_parts(stock, matched.pieces)
    kept = {k.new for k in matched.keeps}
    rest = [p for p in new.parts if p.mark not in kept]
    pricer = Pricer(extended, sheet_work)
    sheets = tuple(pricer.cut_sheets(d) for d in sheet_demands_of(rest, extended))
    sticks = tuple(pricer.cut_sticks(d) for d in stick_demands_of(rest, extended))
    sheets = tuple(_no_dearer(item, stock, rest, sheet_work) for item in sheets)
    needed = hardware_to_buy(old, new, len(matched.keeps) / len(old.parts))
    lines = buying_list(needed, extended, sheets, sticks)
    plans = Plans(sheets, sticks, lines, stock.currency, stock.prices_note)
    price = plans.total_cents
    gap = gap_of(plans)
    origin = {k.new: f"old {k.old}" for k in matched.keeps}
    cut_from = _cut_from(sheets, sticks, behind)
    for mark, (old_mark, _) in cut_from.items():
        origin[mark] = f"old {old_mark}"
    fates = _fates(old, new, matched, cut_from)
    return Reused(
        plans, price, price - gap, fates, _cut_count(sheets, sticks), _yield(sheets),
        {p.mark: origin.get(p.mark, "new") for p in new.parts},
    )  # fmt: skip


def gap_of(plans: Plans) -> int:
    """Return by how much the bounds of some plans lie below their prices [cents]."""
    gap = sum(item.plan.price - item.plan.bound for item in plans.sheet_jobs)
    return gap + sum(item.plan.price - item.plan.bound for item in plans.stick_jobs)


def _no_dearer(item: MaterialSheets, stock: Stock, rest: list[Part], sheet_work: int | None) -> MaterialSheets:
    """Return the plan without old pieces where that one is cheaper and the plan at hand is not proved."""
    if item.plan.status == "proved":
        return item
    alone = Pricer(stock, sheet_work)
    for demand in sheet_demands_of((p for p in rest if p.material == item.material), stock):
        try:
            other = alone.cut_sheets(demand)
        except CuttingError:
            return item
        if other.plan.price < item.plan.price:
            own = {kind.key: kind for kind in demand.job.sheets if kind.owned}
            if not own:
                return replace(item, plan=replace(other.plan, bound=min(item.plan.bound, other.plan.price)))
    return item


def hardware_to_buy(old: Design, new: Design, kept_share: float) -> Design:
    """Return the new design with only the hardware and bricks that the old shelter does not give.

    Args:
        old: The shelter that stands.
        new: The shelter wanted.
        kept_share: Share of the old parts that stay as they are, 0 to 1.
    """
    have: dict[str, float] = {}
    for row in old.fixings:
        there = row.amount if row.key in USED_AGAIN else row.amount * kept_share
        have[row.key] = have.get(row.key, 0.0) + there
    rows: list[Fixing] = []
    for row in new.fixings:
        taken = min(row.amount, have.get(row.key, 0.0))
        if taken:
            have[row.key] -= taken
        if row.amount - taken > 1e-9:
            rows.append(replace(row, amount=row.amount - taken))
    base = new.base
    if base.brick_mm == old.base.brick_mm and base.bricks_to_buy:
        lay = max(0, base.bricks - old.base.bricks)
        buy = max(0, base.bricks_to_buy - old.base.bricks) if lay else 0
        base = replace(base, bricks=lay, bricks_to_buy=buy)
    return replace(new, fixings=tuple(rows), base=base)


# --- what was cut from what ---------------------------------------------------------

_Source = tuple[str, int]
"""Old mark, and how many parts are cut from that piece."""


def _cut_from(
    sheets: tuple[MaterialSheets, ...], sticks: tuple[MaterialSticks, ...], behind: dict[str, list[_Lot]]
) -> dict[str, _Source]:
    found: dict[str, _Source] = {}
    for item in sheets:
        dealer = MarkDealer(item.marks)
        hands = _Hands(behind.get(item.material, []))
        for pattern in item.plan.patterns:
            names = [placed.key for placed in placements(item.job, pattern)]
            for _ in range(pattern.copies):
                hands.deal(pattern.sheet, [dealer.take(name) for name in names], found)
    for rods in sticks:
        dealer = MarkDealer(rods.marks)
        hands = _Hands(behind.get(rods.material, []))
        for run in rods.plan.patterns:
            for _ in range(run.copies):
                hands.deal(run.stick, [dealer.take(piece.key) for piece in run.pieces], found)
    return found


class _Hands:
    """Hands out the old pieces behind the rows of the rack, one after the other."""

    def __init__(self, lots: list[_Lot]) -> None:
        self.waiting = {f"rack {i}": list(lot.olds) for i, lot in enumerate(lots, start=1)}

    def deal(self, key: str, marks: list[str], found: dict[str, _Source]) -> None:
        """Note that parts with these marks are cut from the next piece of a row."""
        if key in self.waiting:
            piece = self.waiting[key].pop(0)
            for mark in marks:
                found[mark] = (piece.old, len(marks))


def _fates(old: Design, new: Design, matched: Matched, cut_from: Mapping[str, _Source]) -> tuple[Fate, ...]:
    became: dict[str, list[str]] = {}
    for mark, (source, _) in cut_from.items():
        became.setdefault(source, []).append(mark)
    kept = {k.old: k for k in matched.keeps}
    units: UnitSystem = "inch" if new.units == "inch" else "metric"
    rows = []
    for part in sorted(old.parts, key=lambda p: sort_key(p.mark)):
        if part.mark in kept:
            keep = kept[part.mark]
            drill = f", drill {keep.drill} hole{'s' if keep.drill > 1 else ''}" if keep.drill else ""
            rows.append(Fate(part.mark, "keep", (keep.new,), f"stays as it is{drill}"))
        elif part.mark in became:
            marks = tuple(sorted(became[part.mark], key=sort_key))
            words = cut_words(part, [new.part(m) for m in marks], units)
            rows.append(Fate(part.mark, "re-cut", marks, words))
        else:
            rows.append(Fate(part.mark, "spare", (), "spare, to the rack"))
    return tuple(rows)


def cut_words(old: Part, new: list[Part], units: UnitSystem) -> str:
    """Return what to cut off an old part to make new ones, without marks: ``trim 40 mm off the head``."""
    if len(new) != 1:
        return f"cut into {len(new)} as the plan shows"
    after = new[0]
    if isinstance(old.cut, StickCut) and isinstance(after.cut, StickCut):
        off = old.cut.length_mm - after.cut.length_mm
        angled = any(abs(a) > 0.01 for a in (after.cut.start_deg, after.cut.end_deg, after.cut.bevel_deg))
        tail = ", ends at the angles of the cut list" if angled else ""
        return f"cut {format_length(off, units)} off{tail}"
    assert isinstance(old.cut, SheetCut)
    assert isinstance(after.cut, SheetCut)
    across, along = old.cut.width_mm - after.cut.width_mm, old.cut.height_mm - after.cut.height_mm
    if across < -0.05 or along < -0.05:
        return "cut as the plan shows, turned by a quarter"
    words = []
    if along > 0.05:
        words.append(f"trim {format_length(along, units)} off the head")
    if across > 0.05:
        words.append(f"trim {format_length(across, units)} off the side")
    if (after.cut.outline != old.cut.outline and len(after.cut.outline) != 4) or _sloped(after.cut):
        words.append("cut the slope as the plan shows")
    return " and ".join(words) or "cut as the plan shows"


def _sloped(cut: SheetCut) -> bool:
    return any(0.02 < y < cut.height_mm - 0.02 for _, y in cut.outline)


def _cut_count(sheets: tuple[MaterialSheets, ...], sticks: tuple[MaterialSticks, ...]) -> int:
    flat = sum(
        len(cut_sequence(item.job, pattern)) * pattern.copies for item in sheets for pattern in item.plan.patterns
    )
    rods = 0
    for item in sticks:
        lengths = {s.key: s.length - s.squaring for s in item.job.sticks}
        sizes = {p.key: p.length for p in item.job.parts}
        for run in item.plan.patterns:
            used = sum(sizes[p.key] for p in run.pieces)
            rods += run.copies * (len(run.pieces) - (used >= lengths[run.stick]))
    return flat + rods


def _yield(sheets: tuple[MaterialSheets, ...]) -> float:
    """Return the area used over the area cut into; offcuts worth keeping count as used by nobody yet."""
    cut_into = used = 0.0
    for item in sheets:
        areas = {s.key: s.width * s.height for s in item.job.sheets}
        cut_into += sum(areas[p.sheet] * p.copies for p in item.plan.patterns)
        used += sum(k.width * k.height * k.quantity for k in item.job.kinds)
    return round(used / cut_into, 4) if cut_into else 1.0


def offcut_rows(plans: Plans, least_sheet_mm: float, least_stick_mm: float) -> tuple[RackSheet | RackStick, ...]:
    """Return the offcuts of some plans that are worth keeping, largest first.

    Args:
        plans: Finished plans.
        least_sheet_mm: Least side of a sheet offcut that is kept.
        least_stick_mm: Least length of a stick offcut that is kept.
    """
    rows: list[RackSheet | RackStick] = []
    for item in plans.sheet_jobs:
        if item.ordered:
            continue
        for pattern in item.plan.patterns:
            for left in leftovers(item.job, pattern):
                width, height = left.width / UNITS_PER_MM, left.height / UNITS_PER_MM
                if min(width, height) >= least_sheet_mm:
                    rows.append(
                        RackSheet(
                            material=item.material, width_mm=width, height_mm=height, copies=pattern.copies,
                            note="offcut",
                        )
                    )  # fmt: skip
    for rods in plans.stick_jobs:
        for run in rods.plan.patterns:
            rest = stick_rest_mm(rods, run.stick, [(p.key, p.start) for p in run.pieces])
            if rest >= least_stick_mm:
                rows.append(RackStick(material=rods.material, length_mm=rest, copies=run.copies, note="offcut"))
    return tuple(rows)


def stick_rest_mm(rods: MaterialSticks, stick: str, pieces: list[tuple[str, int]]) -> float:
    """Return what is left at the far end of a stick after its last part and the saw, free of defects [mm]."""
    kind = next(s for s in rods.job.sticks if s.key == stick)
    sizes = {p.key: p.length for p in rods.job.parts}
    last = max((start + sizes[key] for key, start in pieces), default=0)
    begin = last + (rods.job.kerf if pieces else 0)
    for _, end in kind.defects:
        begin = max(begin, end) if end > begin else begin
    return max(0, kind.length - begin) / UNITS_PER_MM
