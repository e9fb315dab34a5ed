"""Where does a number come from, and how far can it be trusted?

Every number that the program did not work out itself names its source. Kinds, best first:

    published   a standard, code or law, seen in the text or in an openly readable copy of it
    handbook    a textbook, extension bulletin, materials table or library that quotes it
    practice    a habit of the trade; common practice, no source
    memory      nobody has looked it up yet: check before relying on it
    invented    an example made up for this program (prices only)
"""

from __future__ import annotations

from enum import StrEnum

from enclosure.errors import RangeError


class SourceKind(StrEnum):
    """How a number is known."""

    PUBLISHED = "published"
    HANDBOOK = "handbook"
    PRACTICE = "practice"
    MEMORY = "memory"
    INVENTED = "invented"


def split_source(text: str) -> tuple[SourceKind, str]:
    """Return the kind and the words of a source written ``kind: words``, as the stock files write it."""
    kind, colon, words = text.partition(":")
    if not colon or kind.strip() not in {known.value for known in SourceKind} or not words.strip():
        kinds = ", ".join(known.value for known in SourceKind)
        raise RangeError(
            f"{text!r} does not say what kind of source it is", f"start it with one of {kinds} and a colon"
        )
    return SourceKind(kind.strip()), words.strip()
