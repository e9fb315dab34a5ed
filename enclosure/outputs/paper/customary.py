"""How are SI quantities inside a sentence said on inch papers?

The checks speak SI, because their clauses do. On papers in inches every quantity
in a sentence is told again in feet and inches, pounds, mph, psf, psi or °F; worked
lines stay in SI, where a clause can be followed. What has no everyday unit (N/mm,
W/m²K, 1e-6/K, K, kWh) is left alone.

Units: exact factors of [NIST-SP811], appendix B.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from functools import cache

from enclosure.language import decimal, language, spoken, tr_as
from enclosure.units import format_length

FOOT_M, INCH_MM, POUND_KG, POUND_FORCE_N = 0.3048, 25.4, 0.45359237, 4.4482216152605
PSF_PA = POUND_FORCE_N / FOOT_M**2
PSI_PA = POUND_FORCE_N / 0.0254**2
MPH_KMH = 1.609344


def _digits(value: float) -> str:
    if abs(value) < 1e-9:
        return "0"
    return decimal(f"{value:.3g}") if abs(value) < 1000 else f"{value:.0f}"


def _value(said: str) -> float:
    return float(said.replace(",", "."))


def _by(factor: float) -> Callable[[str], str]:
    return lambda said: _digits(_value(said) * factor)


def _mm(said: str) -> str:
    if _MARK.search(said) or abs(_value(said)) < 3:
        return _digits(_value(said) / INCH_MM)
    return format_length(_value(said), "inch").removesuffix(" in")


def _fahrenheit(said: str) -> str:
    value = _value(said) * 9 / 5 + 32
    return f"{value:.0f}"


_UNITS: dict[str, tuple[Callable[[str], str], str]] = {
    "km/h": (_by(1 / MPH_KMH), "mph"),
    "mm": (_mm, "in"),
    "cm": (lambda said: _mm(f"{_value(said) * 10:.0f}"), "in"),
    "m²": (_by(1 / FOOT_M**2), "sq ft"),
    "m2": (_by(1 / FOOT_M**2), "sq ft"),
    "m": (lambda said: format_length(_value(said) * 1000, "inch", feet=True), ""),
    "kg": (_by(1 / POUND_KG), "lb"),
    "N m": (_by(1 / (POUND_FORCE_N * FOOT_M)), "lbf ft"),
    "kN": (_by(1000 / POUND_FORCE_N), "lbf"),
    "N": (_by(1 / POUND_FORCE_N), "lbf"),
    "MPa": (_by(1e6 / PSI_PA), "psi"),
    "kPa": (_by(1000 / PSF_PA), "psf"),
    "Pa": (_by(1 / PSF_PA), "psf"),
    "°C": (_fahrenheit, "°F"),
    "degC": (_fahrenheit, "degF"),
}
_BOTH = re.compile(r"-?\d+(?:[.,]\d+)? °C \((-?\d+ °F)\)")
"""A temperature said in both scales: only the one of the papers is left."""
_MARK = re.compile(r"[.,]")
_NUMBER = r"-?\d+(?:[.,]\d+)?"
_QUOTED = r'"[^"]*"'
_JOINTS = ("to", "of", "x", "by", "and")
_NAMES = "|".join(re.escape(unit) for unit in sorted(_UNITS, key=len, reverse=True))


@cache
def _quantity(code: str) -> re.Pattern[str]:
    """Return the pattern of a quantity in a language, perhaps of two numbers: ``400 to 500 mm``."""
    with spoken(code):
        joints = "|".join(sorted({*_JOINTS, *(tr_as("between two sizes", words) for words in _JOINTS)}))
    return re.compile(
        rf"(?<![\w./*^])((?:{_NUMBER} (?:{joints}) )?)({_NUMBER})([ \u00a0])({_NAMES})(?![\w/²³·*]| m\b)"
    )


def customary(words: str, names: Iterable[str] = ()) -> str:
    """Return a sentence with its SI quantities in inch units: ``1219 mm deep`` is ``48 in deep``.

    What stands in quotation marks is to be copied into a brief, so it stays exact.

    Args:
        words: The sentence.
        names: Names of materials, which stay as they are written in the stock file.
    """
    kept = [re.escape(name) for name in sorted((name for name in names if name), key=len, reverse=True)]
    quantity = _quantity(language())
    pieces = re.split(f"({'|'.join((*kept, _QUOTED))})", words)
    told = (piece if place % 2 else _BOTH.sub(r"\1", piece) for place, piece in enumerate(pieces))
    return "".join(piece if place % 2 else quantity.sub(_again, piece) for place, piece in enumerate(told))


def _again(match: re.Match[str]) -> str:
    first, last, gap, unit = match.groups()
    say, name = _UNITS[unit]
    lead = ""
    if unit == "mm" and _MARK.search(f"{first or ''}{last}"):
        say = _by(1 / INCH_MM)
    if first:
        number, joint = re.match(rf"({_NUMBER})(.*)", first).groups()  # type: ignore[union-attr]
        lead = f"{say(number)}{joint}"
    return f"{lead}{say(last)}{gap + name if name else ''}"
