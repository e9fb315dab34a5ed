"""How does a sentence of the papers read, in the language in which they were printed?

The catalogue of words is the only thing that the audit shares with the writers: a
sentence is looked up there, its places for values become patterns.
"""

from __future__ import annotations

import re
from typing import Any

from enclosure.language import tr, tr_as

Record = dict[str, Any]


def pattern(words: str, **values: str) -> str:
    """Return a regular expression for a sentence of the catalogue; `values` are patterns for its places."""
    pieces = re.split(r"\{(\w+)(?::[^}]*)?\}", words)
    return "".join(values.get(piece, ".+?") if place % 2 else re.escape(piece) for place, piece in enumerate(pieces))


def printed_address(part: Record) -> str:
    """Return where a part goes, as labels and books say it: ``BACK bay 2 tier 1``."""
    face = part["face"]
    words = [tr_as("face", face)]
    if part["bay"]:
        words.append(tr("bay {number}").format(number=part["bay"]))
    if part["tier"]:
        words.append(tr("tier {number}").format(number=part["tier"]))
    elif part["level"] > 1:
        words.append(tr("frame tier {number}").format(number=part["level"]))
    if part["layer"] > 1:
        words.append(tr("outer layer"))
    return " ".join(words)
