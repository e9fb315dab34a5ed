"""Which mark does each part carry?

Panels and films are numbered in the order in which they go on: back, left,
right, front, then the roof; from the ground up; from the left seen from
outside. Every other part's mark is face letter, kind letter, number:

    face   F front  R right  B back  L left  T top (roof)  E earth (bed)
    kind   M member  T track  G gusset  D diagonal  N nailed batten  B board

so `BM3` is the third member of the back. Numbers count within face and kind.
A mark never depends on colour and sorts naturally (`sort_key`).
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace

from enclosure.shape.model import Part

FACE_LETTER = {
    "FRONT": "F",
    "RIGHT": "R",
    "BACK": "B",
    "LEFT": "L",
    "ROOF": "T",
    "ROOF A": "T",
    "ROOF B": "T",
    "BASE": "E",
}
KIND_LETTER = {"member": "M", "track": "T", "gusset": "G", "diagonal": "D", "batten": "N", "lining": "B"}
RAISING_ORDER = ("BACK", "LEFT", "RIGHT", "FRONT", "ROOF", "ROOF A", "ROOF B", "BASE")
KIND_ORDER = ("panel", "film", "member", "diagonal", "gusset", "track", "batten", "lining")
ROLE_ORDER = (
    "sill",
    "eaves rail",
    "stile",
    "rafter",
    "mullion",
    "head",
    "top rail",
    "ridge",
    "transom",
    "purlin",
    "edge channel",
    "joiner",
)


def sort_key(mark: str) -> tuple[tuple[int, int | str], ...]:
    """Return a key under which marks sort as a person would: 2 before 10, BM2 before BM10."""
    return tuple((0, int(piece)) if piece.isdigit() else (1, piece) for piece in re.findall(r"\d+|\D+", mark))


def place_of(part: Part) -> tuple[str, str, int, int, int, int]:
    """Return what makes a panel the same panel from one design to the next."""
    return (part.face, part.material, part.level, part.bay, part.tier, part.layer)


def numbered(
    parts: list[Part], kept: Mapping[tuple[str, str, int, int, int, int], int] | None = None, taken: int = 0
) -> tuple[Part, ...]:
    """Return the parts with their marks, in natural order.

    Args:
        parts: Parts without marks.
        kept: Numbers of panels kept from an older shelter, by place.
        taken: Highest number that the older shelter ever gave; new panels count on from it.
    """
    kept = kept or {}
    order = sorted(range(len(parts)), key=lambda i: (_order(parts[i]), i))
    counts: dict[str, int] = defaultdict(int)
    next_number = taken
    marked: list[Part] = []
    for index in order:
        part = parts[index]
        if part.kind in ("panel", "film"):
            number = kept.get(place_of(part))
            if number is None:
                next_number += 1
                number = next_number
            marked.append(replace(part, mark=str(number)))
            continue
        letters = FACE_LETTER[part.face] + KIND_LETTER[part.kind]
        counts[letters] += 1
        marked.append(replace(part, mark=f"{letters}{counts[letters]}"))
    return tuple(marked)


def _order(part: Part) -> tuple[int, int, int, int, int, int, int]:
    kind = 0 if part.kind in ("panel", "film") else 1
    role = ROLE_ORDER.index(part.role) if part.role in ROLE_ORDER else len(ROLE_ORDER)
    face = RAISING_ORDER.index(part.face)
    if kind == 0:
        return (0, face, part.level, part.layer, part.tier, part.bay, 0)
    return (1, face, KIND_ORDER.index(part.kind), part.level, role, part.bay, part.tier)
