"""Which parts are meant by ``7,9-12,BM3``?

Marks stand between commas; a range has the same letters at both ends, which may
be left out at the second (``FM1-FM4``, ``FM1-4``). Every mark of a range must
exist: a label that silently stays away would be missed in the garden.
"""

from __future__ import annotations

import re
from difflib import get_close_matches

from enclosure.errors import BriefError, OutputError
from enclosure.outputs.paper.words import natural, runs
from enclosure.shape.model import Design

MOST = 2000
_MARK = re.compile(r"([A-Z]*)(\d+)([A-Z]*)")
_DASHES = str.maketrans("–—−", "---")
_HOW = "write marks with commas between, for instance 7,9-12,BM3"


def chosen_marks(said: str, design: Design) -> tuple[str, ...]:
    """Return the marks that a list of marks and ranges names, each once, in the order said.

    Raises:
        BriefError: The list is empty, or one piece of it is no mark and no range.
        OutputError: A part with one of the marks does not exist.
    """
    found: dict[str, None] = {}
    for piece in filter(None, (one.strip() for one in said.translate(_DASHES).upper().split(","))):
        for mark in _spread(piece):
            _must_exist(mark, piece, design)
            found[mark] = None
    if not found:
        raise BriefError("no mark is named", _HOW)
    return tuple(found)


def _spread(piece: str) -> list[str]:
    ends = [_MARK.fullmatch(end.strip()) for end in piece.split("-")]
    first, last = ends[0], ends[-1]
    if first is None or last is None or len(ends) > 2:
        raise BriefError(f"{piece} is neither a mark nor a range of marks", _HOW)
    if len(ends) == 1:
        return [first[0]]
    low, high = int(first[2]), int(last[2])
    same = last[1] in ("", first[1]) and first[3] == last[3] == ""
    if not same or high < low:
        raise BriefError(f"the range {piece} does not run upward within one kind of mark", _HOW)
    if high - low >= MOST:
        raise BriefError(f"the range {piece} has more than {MOST} marks", "name fewer at a time")
    return [f"{first[1]}{number}" for number in range(low, high + 1)]


def _must_exist(mark: str, piece: str, design: Design) -> None:
    known = [part.mark for part in design.parts]
    if mark in known:
        return
    inside = f" (in {piece})" if piece != mark else ""
    if mark.isdigit():
        there = runs([part.mark for part in design.panels()]) or "none"
        raise OutputError(f"{design.name} has no panel {mark}{inside}", f"its panels are {there}")
    letters = mark.rstrip("0123456789")
    alike = sorted((one for one in known if one.rstrip("0123456789") == letters), key=natural)
    near = get_close_matches(mark, known, n=3)
    hint = f"marks of that kind are {runs(alike)}" if alike else f"did you mean {' or '.join(near)}?" if near else ""
    raise OutputError(f"{design.name} has no part {mark}{inside}", hint or "look the marks up in cut-list.csv")
