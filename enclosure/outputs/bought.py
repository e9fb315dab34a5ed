"""How is a line of the buying list said on paper? Files for machines hold its size and note in English."""

from __future__ import annotations

import re

from enclosure.language import decimal, later, tr

_SAID = (
    (re.compile(r"(?P<amount>[\d.]+(?: m| ft)?) needed"), later("{amount} needed")),
    (re.compile(r"(?P<count>\d+) to lay, (?P<spare>\d+) spare"), later("{count} to lay, {spare} spare")),
    (re.compile(r"pack of (?P<amount>.+)"), later("pack of {amount}")),
    (re.compile(r"made to size; priced as (?P<size>.+)"), later("made to size; priced as {size}")),
    (re.compile(r"each"), later("each")),
    (re.compile(r"from the rack"), later("from the rack")),
)
UNITS = (later("sheet"), later("pane"), later("length"), later("pack"))
"""Units in which things are counted, beside pieces and metres."""


def bought(words: str) -> str:
    """Return the size or the note of a line of the buying list in the language spoken here."""
    for pattern, said in _SAID:
        match = pattern.fullmatch(words)
        if match:
            return tr(said).format(**{name: decimal(value) for name, value in match.groupdict().items()})
    return words
