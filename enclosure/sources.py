"""Where does a number come from, and how far can it be trusted?

Every number that the program did not work out itself names its source. Kinds, best first:

    published   a standard, code or law, seen in the text or in an openly readable copy of it
    handbook    a textbook, extension bulletin, materials table or library that quotes it
    practice    a habit of the trade; common practice, no source
    memory      nobody has looked it up yet: check before relying on it
    invented    an example made up for this program (prices only)
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from enclosure.errors import RangeError


class SourceKind(StrEnum):
    """How a number is known."""

    PUBLISHED = "published"
    HANDBOOK = "handbook"
    PRACTICE = "practice"
    MEMORY = "memory"
    INVENTED = "invented"


@dataclass(frozen=True, slots=True)
class Source:
    """One source: a short key used in code, its kind, its title and the place in it."""

    key: str
    kind: SourceKind
    title: str
    where: str = ""

    def cite(self) -> str:
        """Return the source as printed beside a number."""
        place = f", {self.where}" if self.where else ""
        doubt = {
            SourceKind.PRACTICE: " (common practice, no source)",
            SourceKind.MEMORY: " (from memory, unchecked)",
        }
        return f"{self.title}{place}{doubt.get(self.kind, '')}"


_KNOWN: dict[str, Source] = {}


def register(key: str, kind: SourceKind, title: str, where: str = "") -> Source:
    """Add a source to the register and return it; the same key may be given again only unchanged."""
    source = Source(key, kind, title, where)
    if _KNOWN.setdefault(key, source) != source:
        raise RangeError(
            f"the source key {key} is already used for {_KNOWN[key].title}", "choose another key"
        )
    return source


def look_up(key: str) -> Source:
    """Return a registered source."""
    if key not in _KNOWN:
        raise RangeError(f"no source is registered under {key}", "register it where the number is used")
    return _KNOWN[key]


def all_sources() -> tuple[Source, ...]:
    """Return every registered source, sorted by key."""
    return tuple(_KNOWN[key] for key in sorted(_KNOWN))


def split_source(text: str) -> tuple[SourceKind, str]:
    """Return the kind and the words of a source written ``kind: words``, as the stock files write it."""
    kind, colon, words = text.partition(":")
    if not colon or kind.strip() not in {known.value for known in SourceKind} or not words.strip():
        kinds = ", ".join(known.value for known in SourceKind)
        raise RangeError(
            f"{text!r} does not say what kind of source it is", f"start it with one of {kinds} and a colon"
        )
    return SourceKind(kind.strip()), words.strip()
