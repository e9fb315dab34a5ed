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

from enclosure.choose.fates import Fate, cut_from, fates, sticks_with_olds, with_olds
from enclosure.choose.price import Pricer
from enclosure.choose.trimmed import trim_source, with_trims
from enclosure.errors import CuttingError
from enclosure.nesting.buying import buying_list
from enclosure.nesting.demand import sheet_demands_of, stick_demands_of
from enclosure.nesting.model import UNITS_PER_MM
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.replay import cut_sequence, leftovers
from enclosure.reuse.match import Matched, OldPiece
from enclosure.reuse.trims import Trim, best_trims, possible_trims
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Fixing, Part
from enclosure.stock.model import RackSheet, RackStick, Stock

USED_AGAIN = frozenset(
    {"angle_bracket", "bolt_m8", "bolt_m8_long", "bolt_m8_longest", "bolt_m8_short", "button_fixing", "hinge", "post",
     "setting_block", "sill_bracket", "turn_button", "washer_m8", "washer_screw"}
)  # fmt: skip
"""Hardware that comes off whole wherever it was (common practice, no source). Screws, tape, seal, staples and
wire stay only in what is not taken apart: they count as there in the share of old parts that are kept."""


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
        unused: Sound pieces of old parts that nothing is cut from.
    """

    plans: Plans
    price_cents: int
    bound_cents: int
    fates: tuple[Fate, ...]
    cuts: int
    yield_share: float
    came_from: Mapping[str, str]
    unused: tuple[OldPiece, ...] = ()

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
            else (piece.length_mm, piece.holes_mm, *((d.start_mm, d.end_mm) for d in piece.defects))
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


def reuse(
    old: Design, new: Design, matched: Matched, stock: Stock, *, margin_mm: float = 0.0, sheet_work: int | None = None
) -> Reused:
    """Return the cheapest way found to make `new` from what `matched` leaves of `old`.

    Where old panels with holes could become new ones whole (`reuse.trims`), that is compared with cutting
    around the holes; the bound is then that of a shelter to which such panels are given.

    Args:
        old: The shelter that stands.
        new: The shelter wanted.
        matched: What is kept and what may be cut again.
        stock: What can be bought, and the rack.
        margin_mm: Taken off each edge of a panel that is cut again, >= 0.
        sheet_work: Work units for one sheet job.
    """
    around = _reuse(old, new, matched, stock, (), sheet_work)
    ordered = frozenset(key for key, skin in stock.skins.items() if skin.ordered)
    found = possible_trims(old, new, matched, margin_mm, ordered)
    if not found:
        return around
    whole = _reuse(old, new, matched, stock, tuple(best_trims(found)), sheet_work)
    given = _reuse(old, new, matched, stock, (), sheet_work, frozenset(t.new.mark for t in found))
    best = whole if whole.price_cents < around.price_cents else around
    return replace(best, bound_cents=min(best.price_cents, around.bound_cents, given.bound_cents))


def _reuse(
    old: Design,
    new: Design,
    matched: Matched,
    stock: Stock,
    trims: tuple[Trim, ...],
    sheet_work: int | None,
    given: frozenset[str] = frozenset(),
) -> Reused:
    """Return a way with these panels trimmed whole, for all new parts but those given."""
    gone = {trim.old.mark for trim in trims}
    matched = replace(matched, pieces=tuple(piece for piece in matched.pieces if piece.old not in gone))
    extended, behind = with_old_parts(stock, matched.pieces)
    lots = {material: [lot.olds for lot in rows] for material, rows in behind.items()}
    settled = {k.new for k in matched.keeps} | {trim.new.mark for trim in trims} | given
    rest = [p for p in new.parts if p.mark not in settled]
    pricer = Pricer(extended, sheet_work)
    sheets = tuple(pricer.cut_sheets(d) for d in sheet_demands_of(rest, extended))
    sticks = tuple(pricer.cut_sticks(d) for d in stick_demands_of(rest, extended))
    sheets = tuple(_no_dearer(item, stock, rest, sheet_work) for item in sheets)
    sources = cut_from(sheets, sticks, lots)
    sheets = with_trims(sheets, trims, extended)
    sources |= {trim.new.mark: trim_source(trim) for trim in trims}
    sheets = tuple(with_olds(item, sources) for item in sheets)
    sticks = tuple(sticks_with_olds(item, sources) for item in sticks)
    needed = hardware_to_buy(old, new, len(matched.keeps) / len(old.parts))
    lines = buying_list(needed, extended, sheets, sticks)
    plans = Plans(sheets, sticks, lines, stock.currency, stock.prices_note)
    price = plans.total_cents
    used = {(source.piece.old, source.piece.left_mm, source.piece.low_mm) for source in sources.values()}
    origin = {k.new: f"old {k.old}" for k in matched.keeps}
    origin |= {mark: f"old {source.piece.old}" for mark, source in sources.items()}
    return Reused(
        plans, price, price - gap_of(plans), fates(old, new, matched, sources), _cut_count(sheets, sticks),
        _yield(sheets), {p.mark: origin.get(p.mark, "new") for p in new.parts},
        tuple(piece for piece in matched.pieces if (piece.old, piece.left_mm, piece.low_mm) not in used),
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


# --- sums -----------------------------------------------------------------------------


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
                kind = next(s for s in rods.job.sticks if s.key == run.stick)
                begin = kind.length - round(rest * UNITS_PER_MM)
                holes = tuple((hole - begin) / UNITS_PER_MM for hole in kind.holes if hole > begin)
                rows.append(
                    RackStick(
                        material=rods.material, length_mm=rest, copies=run.copies, holes_mm=holes, note="offcut"
                    )
                )
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
