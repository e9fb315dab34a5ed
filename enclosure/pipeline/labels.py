"""Labels alone: from a brief, a design.json or a finished folder to labels.pdf, all of them or a few."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from enclosure.errors import BriefError
from enclosure.outputs.paper.label_choice import chosen_marks
from enclosure.outputs.paper.label_sheet import LabelSheet, read_label_sheet
from enclosure.outputs.paper.labels import write_labels
from enclosure.pipeline.as_built import notes_beside
from enclosure.pipeline.outgrow import read_design
from enclosure.pipeline.walk import design_from
from enclosure.shape.model import Design
from enclosure.templates_home import find_template

PLAIN = "plain"
"""Name of the label sheet that is no label sheet: plain paper with cut lines."""


@dataclass(frozen=True, slots=True)
class LabelWish:
    """How labels are printed.

    Args:
        sheet: Name of a shipped label sheet, a file, ``plain``; "" for what the brief says.
        start: First cell to use, 1 = top left.
        offset_mm: Shift to the right and up.
    """

    sheet: str = ""
    start: int = 1
    offset_mm: tuple[float, float] = (0.0, 0.0)


def print_labels(source: Path, said: str, path: Path, wish: LabelWish) -> tuple[str, ...]:
    """Write the labels of some parts and return their marks.

    Args:
        source: A brief, a design.json, or a folder that holds one. A design keeps its numbers as
            they were printed; a brief is designed anew, so its numbers are those of today.
        said: Marks and ranges, for instance ``7,9-12``.
        path: File to write.
        wish: Sheet, first cell, offsets.

    Raises:
        BriefError: Source, list of marks or sheet cannot be read.
        OutputError: A mark does not exist, or the sheet has no such cell.
    """
    design, named = _source(source)
    marks = chosen_marks(said, design)
    sheet = label_sheet(wish.sheet or named)
    notes = notes_beside(design, source if source.is_dir() else source.parent) if named_by_design(source) else {}
    write_labels(
        design, path, sheet=sheet, only=marks, start=wish.start, offset_mm=wish.offset_mm, helps=False, notes=notes
    )
    return marks


def named_by_design(source: Path) -> bool:
    """Return whether labels come from a finished design, whose numbers stand on the shelter already."""
    return source.is_dir() or source.suffix == ".json"


def _source(source: Path) -> tuple[Design, str]:
    """Return the design and the label sheet that its brief names."""
    if source.is_dir():
        if not (source / "design.json").is_file():
            hint = "name a folder that enclosure make wrote, or the brief itself"
            raise BriefError(f"the folder {source} holds no design.json", hint)
        return read_design(source / "design.json"), ""
    if source.suffix == ".json":
        return read_design(source), ""
    shelter = design_from(source)
    return shelter.design, shelter.brief.papers.labels or ""


def label_sheet(name: str) -> LabelSheet | None:
    """Return the label sheet of a name or file, None for plain paper."""
    if name in ("", PLAIN):
        return None
    path = Path(name)
    if path.suffix == ".toml" and path.is_file():
        return read_label_sheet(path)
    return read_label_sheet(find_template("labels", name))
