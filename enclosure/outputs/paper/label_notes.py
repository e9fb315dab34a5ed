"""How does a label say that its part was another before?

The old number stands struck through, then what to cut: the new number is the
label's own. A part that was measured after building says so on the same line.

Units: mm on paper.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.outputs.paper.layer import BOLD, SLIM, SMALLEST, Sheet, text_width, wrapped

NOTE_PITCH_MM = SMALLEST * 1.5


@dataclass(frozen=True, slots=True)
class LabelNote:
    """What a label says beside the part itself.

    Args:
        was: The old number, struck through; empty where the number stays.
        words: What to cut, or what was measured; may be empty.
    """

    was: str = ""
    words: str = ""


def note_rows(note: LabelNote, room: float) -> int:
    """Return on how many lines a note is written: two where one would ask for letters too small to read."""
    return len(_lines(note, room))


def _lines(note: LabelNote, room: float) -> list[str]:
    left = room - (text_width(note.was, SMALLEST * 1.2, BOLD) + SMALLEST * 0.8 if note.was else 0.0)
    if not note.words or text_width(note.words, SMALLEST, SLIM) <= left:
        return [note.words]
    first, *more = wrapped(note.words, left, SMALLEST, SLIM, most=9)
    return [first, " ".join(more)] if more else [first]


def note_line(sheet: Sheet, note: LabelNote, x: float, y: float, room: float, height: float) -> None:
    """Write a note: the old number struck through, then the words, on a second line below where they are long."""
    start = x
    if note.was:
        big = height * 1.2
        wide = struck(sheet, note.was, x, y, big, room)
        start = x + wide + big * 0.6
    lines = _lines(note, room)
    height = SMALLEST if len(lines) == 2 else height
    if note.words:
        sheet.text(lines[0], start, y, x + room - start, height, least=0.9)
    for line in lines[1:]:
        sheet.text(line, x, y - NOTE_PITCH_MM, room, height, least=0.9)


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
