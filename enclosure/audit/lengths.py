"""How long is a length that stands on paper?

An own small reader of printed lengths, so that a fault of the program's formatter
cannot hide itself: "372 mm", "372,5 mm", "5 1/2 in", "6 ft 5 1/2 in", "7/16 in".

Units: integers of 1/10 000 mm, in which 1/16 in is 15 875.
"""

from __future__ import annotations

import re
from fractions import Fraction

UNITS_PER_MM = 10_000
SIXTEENTH = 15_875

_INCHES = re.compile(r"(?:(\d+) ft ?)?(?:(?:(\d+) )?(\d+)/(\d+) in|(\d+) in)?", re.ASCII)


def units(mm: float) -> int:
    """Return a length [mm] in units."""
    return round(mm * UNITS_PER_MM)


def shown(length: int) -> str:
    """Return a length [units] in mm for a finding."""
    return f"{length / UNITS_PER_MM:.4f}".rstrip("0").rstrip(".") + " mm"


def read_length(text: str) -> int:
    """Return a printed length in units.

    Raises:
        ValueError: The text is no printed length, or a fraction of an inch is not one of sixteenths.
    """
    plain = " ".join(text.split())
    metric = re.fullmatch(r"(\d+(?:[.,]\d+)?) mm", plain, re.ASCII)
    if metric:
        return round(Fraction(metric[1].replace(",", ".")) * UNITS_PER_MM)
    match = _INCHES.fullmatch(plain)
    if match is None or not plain:
        raise ValueError(f"{text!r} is not a length")
    feet, whole, top, bottom, only = match.groups()
    inches = Fraction(int(feet or 0) * 12 + int(whole or 0) + int(only or 0))
    if bottom is not None:
        if int(bottom) not in (2, 4, 8, 16) or int(top) >= int(bottom):
            raise ValueError(f"{text!r} is not in sixteenths of an inch")
        inches += Fraction(int(top), int(bottom))
    return int(inches * 16 * SIXTEENTH)


def read_size(text: str) -> tuple[int, int]:
    """Return a printed size such as ``28 1/4 in x 76 7/8 in`` or ``372 × 1713 mm`` in units."""
    left, right = re.split(r" [x×] ", text.strip(), maxsplit=1)
    unit = right.rsplit(" ", 1)[-1]
    return read_length(left if left.endswith((" mm", " in", " ft")) else f"{left} {unit}"), read_length(right)


def read_number(text: str) -> float:
    """Return a printed number, whichever decimal mark it has: ``12.5`` and ``12,5``."""
    return float(text.replace(",", "."))


def plain_money(text: str) -> str:
    """Return text without the gaps or commas that part thousands: ``1 777.40`` is ``1777.40``.

    >>> plain_money("total 1,777.40")
    'total 1777.40'
    """
    return re.sub(r"(?<=\d)[ ,\u202f\u00a0](?=\d{3}(?:\D|$))", "", text)
