"""How does a label say that its part was another before?

The old number stands struck through, then what to cut: the new number is the
label's own. A part that was measured after building says so on the same line.

Units: mm on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.outputs.paper.layer import BOLD, Sheet, text_width


@dataclass(frozen=True, slots=True)
class LabelNote:
    """What a label says beside the part itself.

    Args:
        was: The old number, struck through; empty where the number stays.
        words: What to cut, or what was measured; may be empty.
    """

    was: str = ""
    words: str = ""


def note_line(sheet: Sheet, note: LabelNote, x: float, y: float, room: float, height: float) -> None:
    """Write a note on one line: the old number struck through, then the words."""
    start = x
    if note.was:
        big = height * 1.2
        wide = struck(sheet, note.was, x, y, big, room)
        start = x + wide + big * 0.6
    if note.words:
        sheet.text(note.words, start, y, x + room - start, height)


def struck(sheet: Sheet, mark: str, x: float, y: float, height: float, room: float) -> float:
    """Write an old number struck through and return its width."""
    wide = text_width(mark, height, BOLD)
    if wide > room:
        wide, height = room, height * room / wide
    sheet.text(mark, x, y, room, height, bold=True)
    middle = y + height / 2
    rise = height * 0.22
    sheet.line((x - 0.5, middle - rise), (x + wide + 0.5, middle + rise), "wide", max(0.3, height * 0.11))
    return wide
