"""How do kept parts keep their marks in a new design?

A kept part carries its old mark. A new part never gets a mark that the old
shelter gave: panels count on from the highest old number, other parts from the
highest old number of their letters.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import replace

from enclosure.shape.marks import numbered
from enclosure.shape.model import Design, Part

Marking = Callable[[list[Part]], tuple[Part, ...]]


def carried(keeps: Mapping[str, str], old: Iterable[str]) -> Marking:
    """Return a way of marking that lets kept parts keep their marks.

    Args:
        keeps: For each kept part, by the mark it would get in a new shelter, its old mark.
        old: Every mark that the old shelter ever gave.
    """
    highest: dict[str, int] = {}
    for mark in old:
        letters, number = split_mark(mark)
        highest[letters] = max(highest.get(letters, 0), number)

    def marking(parts: list[Part]) -> tuple[Part, ...]:
        last = dict(highest)
        marked = []
        for part in numbered(parts):
            if part.mark in keeps:
                marked.append(replace(part, mark=keeps[part.mark]))
                continue
            letters, _ = split_mark(part.mark)
            last[letters] = last.get(letters, 0) + 1
            marked.append(replace(part, mark=f"{letters}{last[letters]}"))
        return tuple(marked)

    return marking


def split_mark(mark: str) -> tuple[str, int]:
    """Return the letters and the number of a mark; a panel has no letters."""
    found = re.fullmatch(r"([A-Za-z]*)(\d+)", mark)
    return (found[1], int(found[2])) if found else (mark, 0)


def renamed(first: Design, second: Design) -> dict[str, str]:
    """Return for each mark of a design its mark in the same design marked otherwise."""
    return {a.mark: b.mark for a, b in zip(first.parts, second.parts, strict=True)}
