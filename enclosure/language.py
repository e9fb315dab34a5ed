"""In which language are the papers printed?

Whole sentences stand in the code in English, inside `tr(...)`; a catalogue in
gettext's form (templates/languages/<code>/papers.mo, written from papers.po) holds
them in other languages. What is not in the catalogue comes out in English. Values
go in by name, `tr("{count} bricks").format(count=23)`, so that a translator may
move them; a number is written as the language writes it (`decimal`). Words for
machines (keys, marks, file names, headings of CSV files) are never translated.

The language is that of a block of code, so that two designs in one process do not
disturb each other:

    with spoken("de"):
        write_labels(design, path)
"""

from __future__ import annotations

import gettext
import re
import string
from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from functools import cache
from typing import Any

from enclosure.errors import BriefError
from enclosure.templates_home import templates_root

ENGLISH = "en"
DOMAIN = "papers"
POINT = "."

_POINT = re.compile(r"(?<=\d)\.(?=\d)")
_now: ContextVar[str] = ContextVar("language", default=ENGLISH)


def languages() -> tuple[str, ...]:
    """Return the codes of all languages that papers can be printed in, English first."""
    found = (path.parent.name for path in (templates_root() / "languages").glob(f"*/{DOMAIN}.mo"))
    return (ENGLISH, *sorted(found))


@cache
def _catalogue(code: str) -> gettext.NullTranslations:
    if code == ENGLISH:
        return gettext.NullTranslations()
    path = templates_root() / "languages" / code / f"{DOMAIN}.mo"
    if not path.is_file():
        raise BriefError(f"no papers are printed in the language {code}", f"choose one of {', '.join(languages())}")
    with path.open("rb") as file:
        return gettext.GNUTranslations(file)


@contextmanager
def spoken(code: str) -> Iterator[None]:
    """Speak a language inside a block.

    Raises:
        BriefError: There is no catalogue for it.
    """
    _catalogue(code)
    token = _now.set(code)
    try:
        yield
    finally:
        _now.reset(token)


def language() -> str:
    """Return the code of the language spoken here."""
    return _now.get()


def tr(words: str) -> str:
    """Return a sentence or word in the language spoken here; what is empty stays empty."""
    return _said(_catalogue(_now.get()).gettext(words)) if words else words


def tr_n(one: str, many: str, count: int) -> str:
    """Return the form of a sentence that suits a count."""
    return _said(_catalogue(_now.get()).ngettext(one, many, count))


def tr_as(use: str, words: str) -> str:
    """Return a word whose meaning depends on its use (a heading, a direction)."""
    return _said(_catalogue(_now.get()).pgettext(use, words))


def decimal(number: str) -> str:
    """Return a printed number with the decimal mark of the language spoken here: 1.5, in German 1,5."""
    mark = _catalogue(_now.get()).pgettext("decimal mark", POINT)
    return number if mark == POINT else _POINT.sub(mark, number)


class _Numbers(string.Formatter):
    """Puts values into a sentence, numbers with the decimal mark of the language."""

    def format_field(self, value: Any, format_spec: str) -> str:
        put = str(format(value, format_spec))
        return put if isinstance(value, str) else decimal(put)


class Sentence(str):
    """A sentence of a language that does not write numbers as Python does."""

    __slots__ = ()

    def format(self, *values: object, **named: object) -> str:
        """Return the sentence with its values put in."""
        return _Numbers().vformat(self, values, named)


def _said(words: str) -> str:
    return words if _now.get() == ENGLISH else Sentence(words)


def later(words: str) -> str:
    """Mark a sentence for the catalogue where it is only stored; `tr` it where it is printed."""
    return words


def small(words: str) -> str:
    """Return a title as it stands inside a sentence: English begins it small, other languages as it is."""
    return words[:1].lower() + words[1:] if _now.get() == ENGLISH else words
