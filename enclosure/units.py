"""How is a quantity with its unit read from text, and printed for people?

Text such as ``"1.95 m"``, ``6' 5-1/2"``, ``"-12 degF"``, ``"30 psf"`` or ``"12 %"`` becomes an exact
fraction in the base unit of its dimension. A number without a unit is refused: the reader cannot
know what was meant. A comma is refused too, because ``2,6`` and ``2,600`` look alike.

Base units: mm (length), degC (temperature), K (difference), m/s, Pa, deg, W, kg, m², kg/m, kg/m²,
kg/m³, W/m²K, 1e-6/K, N m, years, 1/h, and 1 (a share). Factors of inch, pound and foot are the exact
ones of the 1959 yard and pound agreement; g is the conventional 9.80665 m/s².
"""

from __future__ import annotations

import math
import re
import unicodedata
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from enclosure.errors import BriefError
from enclosure.language import decimal

UnitSystem = Literal["inch", "metric"]

INCH_MM = Fraction("25.4")
FOOT_MM = INCH_MM * 12
_POUND_KG = Fraction("0.45359237")
_POUND_FORCE_N = _POUND_KG * Fraction("9.80665")
_SQUARE_FOOT_M2 = (FOOT_MM / 1000) ** 2
_LONGEST_TEXT = 80
_LARGEST = Fraction(10) ** 9
_DEG_PER_RAD = Fraction(180 / math.pi)


@dataclass(frozen=True, slots=True)
class Dimension:
    """A kind of quantity: its words, its units and what to show a person.

    Args:
        name: What the quantity is, for instance ``a length``.
        units: Unit as written -> factor to the base unit.
        shown: Units to offer when none was given, in the order of habit.
        sample: A correct value.
        offsets: Unit as written -> what is added before the factor (temperatures only).
    """

    name: str
    units: dict[str, Fraction]
    shown: tuple[str, ...]
    sample: str
    offsets: dict[str, Fraction] = field(default_factory=dict)
    bare: dict[str, str] = field(init=False, compare=False, repr=False)
    """Unit without spaces -> unit as written, worked out once."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "bare", {re.sub(r"\s", "", name): name for name in self.units})


def _same(factor: Fraction | int | str, *names: str) -> dict[str, Fraction]:
    return {name: Fraction(factor) for name in names}


LENGTH = Dimension(
    "a length",
    _same(1, "mm", "millimetre", "millimetres", "millimeter", "millimeters")
    | _same(10, "cm", "centimetre", "centimetres", "centimeter", "centimeters")
    | _same(1000, "m", "metre", "metres", "meter", "meters")
    | _same(INCH_MM, "in", "inch", "inches", '"')
    | _same(FOOT_MM, "ft", "foot", "feet", "'")
    | _same(FOOT_MM * 3, "yd", "yard", "yards"),
    ("mm", "cm", "m", "in", "ft"),
    "1.95 m",
)
TEMPERATURE = Dimension(
    "a temperature",
    _same(1, "degC", "°C", "C", "celsius", "K", "kelvin")
    | _same(Fraction(5, 9), "degF", "°F", "F", "fahrenheit"),
    ("degC", "degF"),
    "-24 degC",
    _same(-32, "degF", "°F", "F", "fahrenheit") | _same("-273.15", "K", "kelvin"),
)
TEMPERATURE_DIFFERENCE = Dimension(
    "a temperature difference",
    _same(1, "K", "kelvin", "degC", "°C", "C") | _same(Fraction(5, 9), "degF", "°F", "F"),
    ("K", "degF"),
    "10 K",
)
SPEED = Dimension(
    "a speed",
    _same(1, "m/s", "mps")
    | _same(Fraction(1000, 3600), "km/h", "kph", "kmh", "kmph")
    | _same(FOOT_MM * 5280 / 1000 / 3600, "mph", "mi/h")
    | _same(Fraction(1852, 3600), "kn", "kt", "knot", "knots")
    | _same(FOOT_MM / 1000, "ft/s", "fps"),
    ("m/s", "km/h", "mph"),
    "80 km/h",
)
PRESSURE = Dimension(
    "a pressure",
    _same(1, "Pa", "N/m2")
    | _same(1000, "kPa", "kN/m2")
    | _same(100, "hPa", "mbar")
    | _same(1_000_000, "MPa", "N/mm2")
    | _same(_POUND_FORCE_N / _SQUARE_FOOT_M2, "psf", "lb/ft2", "lbf/ft2", "lb/sqft")
    | _same(_POUND_FORCE_N * 144 / _SQUARE_FOOT_M2, "psi", "lb/in2"),
    ("kPa", "Pa", "psf"),
    "1.4 kPa",
)
ANGLE = Dimension(
    "an angle",
    _same(1, "deg", "degree", "degrees", "°") | _same(_DEG_PER_RAD, "rad", "radian", "radians"),
    ("deg",),
    "10 deg",
)
POWER = Dimension(
    "a power",
    _same(1, "W", "watt", "watts") | _same(1000, "kW", "kilowatt", "kilowatts"),
    ("W", "kW"),
    "500 W",
)
MASS = Dimension(
    "a mass",
    _same(1, "kg", "kilogram", "kilograms")
    | _same(Fraction(1, 1000), "g", "gram", "grams")
    | _same(_POUND_KG, "lb", "lbs", "pound", "pounds"),
    ("kg", "lb"),
    "25 kg",
)
SHARE = Dimension("a share", _same(Fraction(1, 100), "%", "percent", "per cent", "pct"), ("%",), "12 %")
AREA = Dimension(
    "an area",
    _same(1, "m2", "sqm") | _same(Fraction(1, 10**6), "mm2") | _same(_SQUARE_FOOT_M2, "ft2", "sqft", "sf"),
    ("m2", "ft2"),
    "0.5 m2",
)
MASS_PER_AREA = Dimension(
    "a mass per area",
    _same(1, "kg/m2")
    | _same(Fraction(1, 1000), "g/m2")
    | _same(_POUND_KG / _SQUARE_FOOT_M2, "lb/ft2", "lb/sqft", "psf"),
    ("kg/m2", "lb/ft2"),
    "1.3 kg/m2",
)
MASS_PER_LENGTH = Dimension(
    "a mass per length",
    _same(1, "kg/m") | _same(Fraction(1, 1000), "g/m") | _same(_POUND_KG * 1000 / FOOT_MM, "lb/ft"),
    ("kg/m", "lb/ft"),
    "0.35 kg/m",
)
DENSITY = Dimension(
    "a density",
    _same(1, "kg/m3") | _same(_POUND_KG / (FOOT_MM / 1000) ** 3, "lb/ft3", "pcf"),
    ("kg/m3", "lb/ft3"),
    "450 kg/m3",
)
U_VALUE = Dimension(
    "a U-value",
    _same(1, "W/m2K") | _same("5.678263", "Btu/hft2F", "Btu/ft2hF", "Btu/hsqftF"),
    ("W/m2K", "Btu/h ft2 F"),
    "3.5 W/m2K",
)
EXPANSION = Dimension(
    "a coefficient of expansion",
    _same(1, "1e-6/K", "e-6/K", "um/mK", "μm/mK")
    | _same(10**6, "/K", "1/K")
    | _same(1000, "mm/mK")
    | _same(Fraction(9, 5), "1e-6/F", "e-6/F"),
    ("1e-6/K", "mm/m K"),
    "65 1e-6/K",
)
STIFFNESS = Dimension("a bending stiffness", _same(1, "Nm", "Nm2/m"), ("N m",), "16 N m")
DURATION = Dimension(
    "a time",
    _same(1, "year", "years", "yr", "y") | _same(Fraction(1, 12), "month", "months"),
    ("years",),
    "10 years",
)
AIR_CHANGE = Dimension(
    "an air change rate", _same(1, "/h", "1/h", "perhour", "perh"), ("per hour",), "1 per hour"
)

VOLTAGE = Dimension("a voltage", _same(1, "V", "volt", "volts"), ("V",), "120 V")
CURRENT = Dimension("a current", _same(1, "A", "amp", "amps"), ("A",), "15 A")

_NUMBER = re.compile(
    r"(?P<whole>\d+)(?:\s+|\s*-\s*)(?P<top>\d+)\s*/\s*(?P<bottom>\d+)"
    r"|(?P<only_top>\d+)\s*/\s*(?P<only_bottom>\d+)"
    r"|(?P<decimal>(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,2}(?![\d]))?)",
    re.ASCII,
)
_LENGTH_UNIT = re.compile(r"\s*(?P<unit>'|\"|[A-Za-z]+\.?)")
_JOINT = re.compile(r"\s*(?:-\s*(?=[\d.]))?", re.ASCII)
_DASHES = str.maketrans(
    {"−": "-", "–": "-", "‐": "-", "‑": "-", "′": "'", "″": '"', "’": "'", "‘": "'", "”": '"', "“": '"'}
)
_SLOPE = re.compile(r"(?P<rise>[\d./\s]+?)\s*(?::|in|/)\s*(?P<run>[\d.]+)", re.ASCII)
_COMPASS = (
    "N",
    "NNE",
    "NE",
    "ENE",
    "E",
    "ESE",
    "SE",
    "SSE",
    "S",
    "SSW",
    "SW",
    "WSW",
    "W",
    "WNW",
    "NW",
    "NNW",
)
_COMPASS_WORDS = {"NORTH": "N", "EAST": "E", "SOUTH": "S", "WEST": "W"}


def tidy(text: str) -> str:
    """Return text with Unicode primes, dashes, fractions, spaces and powers made plain.

    >>> tidy("6′ 5½″")
    '6\\' 5 1/2"'
    """
    spaced = "".join(
        f" {sign}"
        if unicodedata.category(sign) == "No" and "FRACTION" in unicodedata.name(sign, "")
        else sign
        for sign in text.translate(_DASHES)
    )
    plain = unicodedata.normalize("NFKC", spaced).replace("⁄", "/").replace("''", '"')
    return " ".join(plain.split())


def unit_hint(dimension: Dimension, number: str = "", unit: str = "") -> str:
    """Return the way out for a number without a usable unit; the sample takes the number, with a unit that suits it."""
    sample = f"{number} {unit or dimension.shown[0]}" if number else dimension.sample
    units = f"one of {', '.join(dimension.shown)}" if len(dimension.shown) > 1 else f"its unit, {dimension.shown[0]}"
    return f"write it as text with {units}, for instance {quoted(sample)}"


def quoted(text: str) -> str:
    """Return text in the quotation marks that TOML would need."""
    return f"'{text}'" if '"' in text else f'"{text}"'


def parse(text: str, dimension: Dimension) -> Fraction:
    """Return the quantity in the base unit of its dimension, exactly.

    Raises:
        BriefError: The text is empty, too long, not a finite number, has no unit, or has a unit of
            another dimension.
    """
    if not isinstance(text, str):
        raise BriefError(f"{text} has no unit; {dimension.name} needs one", unit_hint(dimension, str(text)))
    if len(text) > _LONGEST_TEXT:
        raise BriefError(
            f"{dimension.name} is read from at most {_LONGEST_TEXT} characters, here are {len(text)}",
            unit_hint(dimension),
        )
    plain = tidy(text)
    body = plain.lstrip("+-")
    sign = -1 if plain.startswith("-") else 1
    if len(plain) - len(body) > 1:
        raise BriefError(f"{quoted(text)} has two signs", unit_hint(dimension))
    body = body.strip()
    if not body:
        raise BriefError(f"nothing is written where {dimension.name} is needed", unit_hint(dimension))
    if re.match(r"(nan|inf|infinity)\b", body, re.IGNORECASE):
        raise BriefError(f"{quoted(text)} is not a finite number", unit_hint(dimension))
    if "," in body:
        raise BriefError(
            f"{quoted(text)} holds a comma, which could mean two things",
            "use a point for decimals and nothing between thousands, for instance "
            + quoted(dimension.sample),
        )
    value = (
        _parse_length_terms(body, text) if dimension is LENGTH else _parse_single(body, text, dimension, sign)
    )
    if dimension is LENGTH:
        value *= sign
    if abs(value) > _LARGEST:
        raise BriefError(f"{quoted(text)} is too large to be {dimension.name} here", unit_hint(dimension))
    return value


def _number(match: re.Match[str], text: str) -> Fraction:
    groups = match.groupdict()
    bottom = groups["bottom"] or groups["only_bottom"]
    if bottom is not None and int(bottom) == 0:
        raise BriefError(f"{quoted(text)} divides by nought", "correct the fraction, for instance 5 1/2")
    if groups["whole"] is not None:
        part = Fraction(int(groups["top"]), int(groups["bottom"]))
        if part >= 1:
            raise BriefError(
                f"{quoted(text)} has a fraction of one or more after a whole number",
                "write the fraction below one, for instance 5 1/2",
            )
        return int(groups["whole"]) + part
    if groups["only_top"] is not None:
        return Fraction(int(groups["only_top"]), int(groups["only_bottom"]))
    return Fraction(groups["decimal"].removesuffix("."))


def _factor(unit: str, dimension: Dimension, text: str) -> tuple[Fraction, Fraction]:
    key = re.sub(r"[\s()·*^.]", "", unit).replace("Btu/(", "Btu/")
    known = dimension.bare
    if key not in known:
        loose = {name for bare, name in known.items() if bare.lower() == key.lower()}
        if len({dimension.units[name] for name in loose}) != 1:
            raise BriefError(
                f"{unit.strip()!s} is not a unit of {dimension.name.split(' ', 1)[1]} (in {quoted(text)})",
                unit_hint(dimension),
            )
        key = re.sub(r"\s", "", min(loose))
    name = known[key]
    return dimension.units[name], dimension.offsets.get(name, Fraction(0))


def _parse_single(body: str, text: str, dimension: Dimension, sign: int) -> Fraction:
    match = _NUMBER.match(body)
    if match is None:
        raise BriefError(f"{quoted(text)} does not start with a number", unit_hint(dimension))
    unit = body[match.end() :]
    if not unit.strip():
        raise BriefError(
            f"{quoted(text)} has no unit; {dimension.name} needs one", unit_hint(dimension, text.strip())
        )
    factor, offset = _factor(unit, dimension, text)
    return (sign * _number(match, text) + offset) * factor


def _parse_length_terms(body: str, text: str) -> Fraction:
    """Read one length, or falling terms such as ``6 ft 5 1/2 in``, each less than one unit before."""
    total, place, largest_next = Fraction(0), 0, None
    while place < len(body):
        match = _NUMBER.match(body, place)
        if match is None:
            raise BriefError(f"{quoted(text)} is not a length", unit_hint(LENGTH))
        unit = _LENGTH_UNIT.match(body, match.end())
        if unit is None:
            raise BriefError(
                f"{match.group()} has no unit (in {quoted(text)})", unit_hint(LENGTH, match.group())
            )
        factor, _ = _factor(unit["unit"], LENGTH, text)
        term = _number(match, text) * factor
        if largest_next is not None and term >= largest_next:
            raise BriefError(
                f"{match.group()} {unit['unit']} is too much after the larger unit (in {quoted(text)})",
                "write feet and then fewer than 12 inches, or one unit only",
            )
        total, largest_next = total + term, factor
        joint = _JOINT.match(body, unit.end())
        place = joint.end() if joint else unit.end()
    return total


def parse_length(text: str) -> Fraction:
    """Return a length [mm], exactly."""
    return parse(text, LENGTH)


def parse_angle(text: str) -> Fraction:
    """Return an angle [deg]; a slope such as ``"1:6"`` or ``"2 in 12"`` is turned into its angle."""
    plain = tidy(text) if isinstance(text, str) else ""
    slope = _SLOPE.fullmatch(plain)
    if slope is None or len(plain) > _LONGEST_TEXT:
        return parse(text, ANGLE)
    rise, run = _NUMBER.fullmatch(slope["rise"].strip()), _NUMBER.fullmatch(slope["run"].strip())
    if rise is None or run is None or _number(run, text) == 0:
        raise BriefError(f"{quoted(text)} is not a slope", unit_hint(ANGLE))
    ratio = _number(rise, text) / _number(run, text)
    if abs(ratio) > _LARGEST:
        raise BriefError(f"{quoted(text)} is too steep for a slope", unit_hint(ANGLE))
    return Fraction(math.degrees(math.atan(float(ratio))))


def parse_bearing(text: str) -> Fraction:
    """Return a compass bearing [deg], 0 to below 360, from a compass point (``"SSE"``) or an angle."""
    if isinstance(text, str):
        point = tidy(text).upper().replace("-", "").replace(" ", "")
        for word, letter in _COMPASS_WORDS.items():
            point = point.replace(word, letter)
        if point in _COMPASS:
            return Fraction(_COMPASS.index(point) * 45, 2)
        if re.fullmatch(r"[A-Z]+", point):
            raise BriefError(
                f"{quoted(text)} is not a compass point", f"write one of {', '.join(_COMPASS)}, or 170 deg"
            )
    angle = parse(text, ANGLE)
    if not 0 <= angle <= 360:
        raise BriefError(
            f"a bearing of {float(angle):g} deg is outside 0 to 360 deg",
            'write for instance "S" or "170 deg"',
        )
    return angle % 360


def parse_place(text: str) -> Fraction:
    """Return a latitude or longitude [deg], north and east positive: ``"44.0 deg N"`` or ``"-77 deg"``."""
    plain = tidy(text) if isinstance(text, str) else ""
    side = plain[-1:].upper()
    if side in ("N", "E", "S", "W") and plain[:-1].strip():
        angle = parse(plain[:-1].strip(), ANGLE)
        return angle if side in "NE" else -angle
    return parse(text, ANGLE)


def in_mm(value: Fraction) -> float:
    """Return a length as float mm, rounded to 1e-6 mm so that equal sums compare equal."""
    return round(float(value), 6)


def to_sixteenths(mm: float, rounding: Literal["down", "nearest", "up"] = "nearest") -> int:
    """Return a length [mm] in whole sixteenths of an inch.

    Float dust below 1e-6 mm does not lose a sixteenth: 38.1 mm is 24 sixteenths, not 23.
    """
    exact = Fraction(str(round(mm, 6))) * 16 / INCH_MM
    dust = Fraction(16, 10**6) / INCH_MM
    if rounding == "down":
        return math.floor(exact + dust)
    if rounding == "up":
        return math.ceil(exact - dust)
    return math.floor(exact + Fraction(1, 2))


def format_length(
    mm: float,
    units: UnitSystem,
    *,
    rounding: Literal["down", "nearest", "up"] = "nearest",
    feet: bool = False,
) -> str:
    """Return a length for people: whole sixteenths of an inch, or whole mm.

    Args:
        mm: Length [mm].
        units: ``inch`` or ``metric``.
        rounding: ``down`` for parts that must not come out too long.
        feet: Inches of a foot or more as feet and inches.
    """
    if units == "metric":
        exact = Fraction(str(round(mm, 6)))
        whole = {"down": math.floor(exact), "up": math.ceil(exact)}.get(
            rounding, math.floor(exact + Fraction(1, 2))
        )
        return f"{whole} mm"
    sixteenths = to_sixteenths(mm, rounding)
    sign, size = ("-" if sixteenths < 0 else ""), abs(sixteenths)
    if feet and size >= 192:
        whole_feet, rest = divmod(size, 192)
        return f"{sign}{whole_feet} ft" + (f" {_inches(rest)}" if rest else "")
    return f"{sign}{_inches(size)}"


def _inches(sixteenths: int) -> str:
    whole, part = divmod(sixteenths, 16)
    if part == 0:
        return f"{whole} in"
    fraction = Fraction(part, 16)
    return f"{whole} {fraction} in" if whole else f"{fraction} in"


def format_temperature(degc: float, units: UnitSystem) -> str:
    """Return a temperature for people, to one degree."""
    return f"{_whole(degc * 9 / 5 + 32)} degF" if units == "inch" else f"{_whole(degc)} degC"


def format_mass(kg: float, units: UnitSystem) -> str:
    """Return a mass [kg] for people, in lb or kg."""
    return decimal(f"{kg / float(_POUND_KG):.1f} lb" if units == "inch" else f"{kg:.1f} kg")


def _whole(value: float) -> int:
    return math.floor(value + 0.5)
