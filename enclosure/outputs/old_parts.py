"""What do the lists say of an old shelter that becomes a new one?

``old-parts.csv`` has one row for each old part: kept, cut again or spare.
``labels.csv`` has one row for each new part: where it comes from and what its
label says. Plain rows, for CSV and for paper alike.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from enclosure.choose.outgrow import Outgrow, Way
from enclosure.language import tr
from enclosure.outputs.paper.label_notes import LabelNote
from enclosure.outputs.table_rows import Cell, Table
from enclosure.reuse.match import BOLT_MARGIN_MM, END_MARGIN_MM, HOLE_MARGIN_MM
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Part, SheetCut
from enclosure.units import UnitSystem, format_length


@dataclass(frozen=True)
class OldParts:
    """One way out of a comparison, told on paper.

    Args:
        old: The shelter that stands.
        found: The comparison.
        way: The way that is taken.
        margin_mm: Taken off each edge of a panel that is cut again.
        built: For old parts measured after building, in which way they differ.
        over: For each way, how many of its checks are over 1.00.
    """

    old: Design
    found: Outgrow
    way: Way
    margin_mm: float
    built: Mapping[str, str]
    over: Mapping[str, int]

    @property
    def units(self) -> UnitSystem:
        """Units in which lengths are told."""
        return "inch" if self.old.units == "inch" else "metric"


def size_words(part: Part, units: UnitSystem) -> str:
    """Return the size of a part in words: width x height, or length."""
    if isinstance(part.cut, SheetCut):
        return f"{format_length(part.cut.width_mm, units)} x {format_length(part.cut.height_mm, units)}"
    return format_length(part.cut.length_mm, units)


def old_parts_table(told: OldParts) -> Table:
    """Return one row for each old part."""
    headers = ("old mark", "ends as", "new marks", "what to do", "part", "old address", "old size", "measured")
    rows: list[tuple[Cell, ...]] = []
    for fate in told.way.fates:
        part = told.old.part(fate.old)
        rows.append(
            (
                fate.old, fate.end, ", ".join(fate.new), fate.words, part.role, part.address,
                size_words(part, told.units), told.built.get(fate.old, ""),
            )
        )  # fmt: skip
    return Table("Old parts", headers, tuple(rows))


def labels_table(told: OldParts) -> Table:
    """Return one row for each new part: its mark, the old one, what the label says."""
    design = told.way.design
    assert design is not None
    notes = label_notes(told)
    headers = ("mark", "was", "from", "label", "part", "address")
    kept = {fate.old for fate in told.way.fates if fate.end == "keep"}
    rows: list[tuple[Cell, ...]] = []
    for part in sorted(design.parts, key=lambda p: sort_key(p.mark)):
        note = notes.get(part.mark, LabelNote())
        source = "kept" if part.mark in kept else f"old {note.was}" if note.was else "new"
        rows.append((part.mark, note.was, source, note.words, part.role, part.address))
    return Table("Labels", headers, tuple(rows))


def label_notes(told: OldParts) -> dict[str, LabelNote]:
    """Return by new mark what its label says of the old part."""
    notes: dict[str, LabelNote] = {}
    for fate in told.way.fates:
        for mark in fate.new:
            if fate.end == "re-cut":
                notes[mark] = LabelNote(fate.old, fate.note)
            else:
                words = "; ".join(filter(None, (fate.note, told.built.get(fate.old, ""))))
                if words:
                    notes[mark] = LabelNote("", words)
    return notes


def margin_words(told: OldParts) -> str:
    """Return the margins that old holes and marks keep from new edges."""

    def long(size: float) -> str:
        return format_length(size, told.units)

    words = tr(
        "Old screw holes stay {screw} from every new edge and end, old bolt holes {bolt}; {end} come off each old end "
        "of a timber. Track marks lie under the new track."
    ).format(screw=long(HOLE_MARGIN_MM), bolt=long(BOLT_MARGIN_MM), end=long(END_MARGIN_MM))
    if told.margin_mm:
        words += " " + tr("Besides, {margin} come off each edge of a panel.").format(margin=long(told.margin_mm))
    face = tr("Weather face out and flutes as they ran: no sheet is turned over.")
    return f"{words} {face}"
