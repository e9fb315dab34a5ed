"""What becomes of each old part, and what is sawn off it?

Every old part ends once: kept, cut again, or spare. A plan names kinds and
stock; here the marks behind both are dealt out, so that each new part knows the
old one it is cut from and where in it it lies.

Units: mm.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from enclosure.language import later, tr, tr_n
from enclosure.nesting.model import UNITS_PER_MM
from enclosure.nesting.plans import MarkDealer, MaterialSheets, MaterialSticks, OldStock
from enclosure.nesting.replay import placements
from enclosure.reuse.match import Matched, OldPiece
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Part, SheetCut, StickCut
from enclosure.shape.names import all_of
from enclosure.stock.model import RackSheet, RackStick
from enclosure.units import UnitSystem, format_length

Lots = Mapping[str, Iterable[tuple[OldPiece, ...]]]
"""For each material the old pieces behind each row of its rack, in the order of the rows."""
GRAIN_MM = 0.05
_FOOT, _HEAD = later("{length} off the foot"), later("{length} off the head")
_LEFT_EDGE, _RIGHT_EDGE = later("{length} off the left edge"), later("{length} off the right edge")
_LEFT_END, _RIGHT_END = later("{length} off the left end"), later("{length} off the right end")
AS_IT_IS = later("stays as it is")
ANY_WAY = later("cut as the plan shows")


@dataclass(frozen=True, slots=True)
class Fate:
    """What becomes of one old part.

    Args:
        old: Its mark.
        end: "keep", "re-cut" or "spare".
        new: Marks of the new parts it becomes; its own when kept.
        words: What to do with it.
        note: What a label or the rack's list says of it: holes to drill, what comes off, what is sound.
        sound: True when a spare part is good for the rack.
    """

    old: str
    end: str
    new: tuple[str, ...]
    words: str
    note: str = ""
    sound: bool = False


@dataclass(frozen=True, slots=True)
class Source:
    """Where a new part lies in the old one that it is cut from.

    Args:
        piece: The old piece.
        x_mm: Its left edge, or its first end, in the old part.
        y_mm: Its lower edge in the old part; 0 for sticks.
        turned: Whether it lies turned by a quarter.
    """

    piece: OldPiece
    x_mm: float
    y_mm: float = 0.0
    turned: bool = False


class _Hands:
    """Hands out the old pieces behind the rows of the rack, one after the other."""

    def __init__(self, lots: Iterable[tuple[OldPiece, ...]]) -> None:
        self.waiting = {f"rack {i}": list(olds) for i, olds in enumerate(lots, start=1)}

    def next(self, key: str) -> OldPiece | None:
        """Return the next old piece of a row; None when the row is no old part."""
        return self.waiting[key].pop(0) if key in self.waiting else None


def cut_from(sheets: Iterable[MaterialSheets], sticks: Iterable[MaterialSticks], lots: Lots) -> dict[str, Source]:
    """Return for each new part cut from an old one where it lies in it."""
    found: dict[str, Source] = {}
    for item in sheets:
        dealer, hands = MarkDealer(item.marks), _Hands(lots.get(item.material, ()))
        for pattern in item.plan.patterns:
            placed = placements(item.job, pattern)
            for _ in range(pattern.copies):
                piece = hands.next(pattern.sheet)
                for one in placed:
                    mark = dealer.take(one.key)
                    if piece is not None:
                        at = (piece.left_mm + one.x / UNITS_PER_MM, piece.low_mm + one.y / UNITS_PER_MM)
                        found[mark] = Source(piece, *at, one.turned)
    for rods in sticks:
        dealer, hands = MarkDealer(rods.marks), _Hands(lots.get(rods.material, ()))
        for run in rods.plan.patterns:
            for _ in range(run.copies):
                piece = hands.next(run.stick)
                for bit in run.pieces:
                    mark = dealer.take(bit.key)
                    if piece is not None:
                        found[mark] = Source(piece, piece.left_mm + bit.start / UNITS_PER_MM)
    return found


def with_olds(item: MaterialSheets, sources: Mapping[str, Source]) -> MaterialSheets:
    """Return sheets that know the old parts behind their marks."""
    return replace(item, olds=_olds(item.marks, sources))


def sticks_with_olds(item: MaterialSticks, sources: Mapping[str, Source]) -> MaterialSticks:
    """Return sticks that know the old parts behind their marks."""
    return replace(item, olds=_olds(item.marks, sources))


def _olds(marks: Mapping[str, tuple[str, ...]], sources: Mapping[str, Source]) -> dict[str, OldStock]:
    found = {mark: sources[mark].piece for row in marks.values() for mark in row if mark in sources}
    return {mark: OldStock(p.old, p.left_mm, p.low_mm) for mark, p in found.items()}


def fates(old: Design, new: Design, matched: Matched, sources: Mapping[str, Source]) -> tuple[Fate, ...]:
    """Return what becomes of every old part, in the natural order of marks."""
    became: dict[str, list[str]] = {}
    for mark, source in sources.items():
        became.setdefault(source.piece.old, []).append(mark)
    kept = {k.old: k for k in matched.keeps}
    sound: dict[str, list[OldPiece]] = {}
    for piece in matched.pieces:
        sound.setdefault(piece.old, []).append(piece)
    units: UnitSystem = "inch" if new.units == "inch" else "metric"
    rows = []
    for part in sorted(old.parts, key=lambda p: sort_key(p.mark)):
        if part.mark in kept:
            keep = kept[part.mark]
            drill = tr_n("drill {count} hole", "drill {count} holes", keep.drill).format(count=keep.drill)
            said, note = (f"{tr(AS_IT_IS)}, {drill}", drill) if keep.drill else (tr(AS_IT_IS), "")
            rows.append(Fate(part.mark, "keep", (keep.new,), said, note))
        elif part.mark in became:
            marks = tuple(sorted(became[part.mark], key=sort_key))
            only = sources[marks[0]] if len(marks) == 1 else None
            parts = [new.part(m) for m in marks]
            words = cut_words(part, parts, units, only)
            said = tr("{cut}, ends at the angles of the cut list").format(cut=words) if _angled(parts) else words
            rows.append(Fate(part.mark, "re-cut", marks, said, words))
        else:
            rows.append(_spare(part.mark, sound.get(part.mark, []), units))
    return tuple(rows)


def _spare(mark: str, pieces: list[OldPiece], units: UnitSystem) -> Fate:
    if not pieces:
        note = tr("too worn, too small or too holed to be cut again")
        return Fate(mark, "spare", (), tr("spare: {why}").format(why=note), note)
    note = tr("{pieces} sound").format(pieces=all_of([_sound_words(item.piece, units) for item in pieces]))
    return Fate(mark, "spare", (), tr("spare, to the rack: {pieces}").format(pieces=note), note, sound=True)


def _sound_words(row: RackSheet | RackStick, units: UnitSystem) -> str:
    if isinstance(row, RackSheet):
        return f"{format_length(row.width_mm, units)} x {format_length(row.height_mm, units)}"
    return format_length(row.length_mm, units)


def cut_words(old: Part, new: list[Part], units: UnitSystem, source: Source | None = None) -> str:
    """Return what to cut off an old part to make new ones, without marks: ``trim 40 mm off the head``.

    Args:
        old: The old part.
        new: What is cut from it.
        units: How lengths are printed.
        source: Where the only new part lies in it; flush with its first end or lower left corner when None.
    """
    if len(new) != 1:
        return tr("cut into {count} as the plan shows").format(count=len(new))
    after = new[0]
    if isinstance(old.cut, StickCut) and isinstance(after.cut, StickCut):
        first = source.x_mm if source else 0.0
        return _stick_words(old, after, first, old.cut.length_mm - first - after.cut.length_mm, units)
    assert isinstance(old.cut, SheetCut)
    assert isinstance(after.cut, SheetCut)
    wide, high = after.cut.width_mm, after.cut.height_mm
    across, along = old.cut.width_mm - wide, old.cut.height_mm - high
    if (source is not None and source.turned) or min(across, along) < -GRAIN_MM:
        return tr("cut as the plan shows, turned by a quarter")
    x, y = (source.x_mm, source.y_mm) if source else (0.0, 0.0)
    sides = ((_FOOT, y), (_HEAD, along - y), (_LEFT_EDGE, x), (_RIGHT_EDGE, across - x))
    words = _off(tr("trim {pieces}"), [(side, off) for side, off in sides if off > GRAIN_MM], units)
    slope = (after.cut.outline != old.cut.outline and len(after.cut.outline) != 4) or _sloped(after.cut)
    return all_of([*filter(None, [words]), *([tr("cut the slope as the plan shows")] if slope else [])]) or tr(ANY_WAY)


def _stick_words(old: Part, after: Part, first: float, other: float, units: UnitSystem) -> str:
    assert isinstance(after.cut, StickCut)
    ends = (_FOOT, _HEAD) if upright(old) else (_LEFT_END, _RIGHT_END)
    rows = [(end, off) for end, off in zip(ends, (first, other), strict=True) if off > GRAIN_MM]
    return _off(tr("saw {pieces}"), rows, units) or tr(ANY_WAY)


def _angled(parts: list[Part]) -> bool:
    """Return whether the only part made of an old stick has an end or edge that is not square."""
    cut = parts[0].cut if len(parts) == 1 else None
    return isinstance(cut, StickCut) and any(abs(a) > 0.01 for a in (cut.start_deg, cut.end_deg, cut.bevel_deg))


def _off(verb: str, rows: list[tuple[str, float]], units: UnitSystem) -> str:
    """Return ``trim 5 mm off the foot and 12 mm off the head``: the verb is said once."""
    return (
        verb.format(pieces=all_of([tr(side).format(length=format_length(off, units)) for side, off in rows]))
        if rows
        else ""
    )


def upright(part: Part) -> bool:
    """Return whether a stick stands in its wall or runs up its slope."""
    if part.role in ("stile", "mullion", "rafter"):
        return True
    if not part.solids:
        return False
    outline = part.solids[0].outline
    across, upward = ({round(p[i], 3) for p in outline} for i in (0, 1))
    return max(upward) - min(upward) > max(across) - min(across)


def _sloped(cut: SheetCut) -> bool:
    return any(0.02 < y < cut.height_mm - 0.02 for _, y in cut.outline)
