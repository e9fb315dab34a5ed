"""Are quantities read exactly, and refused when they could mean two things?"""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from enclosure import units
from enclosure.errors import BriefError

ALL = [value for value in vars(units).values() if isinstance(value, units.Dimension)]


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1.95 m", "1950"),
        ("195 cm", "1950"),
        ("1950mm", "1950"),
        ("6 ft 5 1/2 in", "1968.5"),
        ("6 ft 5-1/2 in", "1968.5"),
        ("6' 5-1/2\"", "1968.5"),
        ("6'5½\"", "1968.5"),
        ("6′ 5½″", "1968.5"),
        ("6’ 5 ½”", "1968.5"),
        ("6'-5 1/2\"", "1968.5"),
        ("6 feet 5.5 inches", "1968.5"),
        ("77 1/2 in", "1968.5"),
        ("5⅝ in", "142.875"),
        ("⅜ in", "9.525"),
        ('3/8"', "9.525"),
        ("-1 in", "-25.4"),
        ("−1 in", "-25.4"),
        ("0 mm", "0"),
        ("6 1/2 in", "165.1"),
        (".5 m", "500"),
        ("1 m 95 cm", "1950"),
        ("1\u00a0950 mm", None),
    ],
)
def test_lengths(text: str, mm: str | None) -> None:
    # 25.4 mm to the inch exactly: 6 ft 5 1/2 in = 77.5 * 25.4 = 1968.5 mm
    if mm is None:
        with pytest.raises(BriefError):
            units.parse_length(text)
    else:
        assert units.parse_length(text) == Fraction(mm)


@pytest.mark.published(
    source="international yard and pound agreement of 1959",
    where="definition",
    printed="1 yd = 0.9144 m, 1 lb = 0.45359237 kg",
)
def test_yard_and_pound() -> None:
    assert units.parse_length("1 yd") == Fraction("914.4")
    assert units.parse("1 lb", units.MASS) == Fraction("0.45359237")


@pytest.mark.published(
    source="USDA Plant Hardiness Zone Map", where="zone 5b", printed="-15 to -10 F = -26.1 to -23.3 C"
)
def test_fahrenheit() -> None:
    assert round(float(units.parse("-15 degF", units.TEMPERATURE)), 1) == -26.1
    assert round(float(units.parse("-10 °F", units.TEMPERATURE)), 1) == -23.3
    assert units.parse("-40 F", units.TEMPERATURE) == units.parse("-40 C", units.TEMPERATURE) == -40
    assert units.parse("0 K", units.TEMPERATURE) == Fraction("-273.15")


@pytest.mark.published(
    source="NIST SP 811",
    where="appendix B.8, from memory",
    printed="mph 4.4704e-1 m/s, psi 6.894757e3 Pa, lbf/ft2 4.788026e1 Pa, knot 5.144444e-1 m/s",
)
def test_nist_factors() -> None:
    assert float(units.parse("1 mph", units.SPEED)) == pytest.approx(0.44704, rel=1e-9)
    assert float(units.parse("1 kn", units.SPEED)) == pytest.approx(0.5144444, rel=1e-6)
    assert float(units.parse("1 psf", units.PRESSURE)) == pytest.approx(47.88026, rel=1e-7)
    assert float(units.parse("1 psi", units.PRESSURE)) == pytest.approx(6894.757, rel=1e-7)
    assert float(units.parse("1 Btu/h ft2 F", units.U_VALUE)) == pytest.approx(5.678263, rel=1e-7)


@pytest.mark.parametrize(
    ("text", "dimension", "value"),
    [
        ("80 km/h", units.SPEED, Fraction(200, 9)),
        ("1.4 kPa", units.PRESSURE, 1400),
        ("1.4 kN/m²", units.PRESSURE, 1400),
        ("12 %", units.SHARE, Fraction(3, 25)),
        ("65e-6/K", units.EXPANSION, 65),
        ("65 1e-6/K", units.EXPANSION, 65),
        ("0.065 mm/m K", units.EXPANSION, 65),
        ("3.5 W/(m²·K)", units.U_VALUE, Fraction("3.5")),
        ("3.5 W/m2K", units.U_VALUE, Fraction("3.5")),
        ("16 N m", units.STIFFNESS, 16),
        ("1 per hour", units.AIR_CHANGE, 1),
        ("1.5 kW", units.POWER, 1500),
        ("18 months", units.DURATION, Fraction("1.5")),
        ("10°", units.ANGLE, 10),
    ],
)
def test_other_dimensions(text: str, dimension: units.Dimension, value: Fraction | int) -> None:
    assert units.parse(text, dimension) == value


@pytest.mark.parametrize("dimension", ALL, ids=lambda d: d.name)
def test_bare_number_is_refused_with_its_units(dimension: units.Dimension) -> None:
    with pytest.raises(BriefError) as caught:
        units.parse("12", dimension)
    assert "no unit" in caught.value.message
    assert all(unit in caught.value.hint for unit in dimension.shown)


@pytest.mark.parametrize("dimension", ALL, ids=lambda d: d.name)
def test_sample_and_shown_units_can_be_read(dimension: units.Dimension) -> None:
    units.parse(dimension.sample, dimension)
    for unit in dimension.shown:
        units.parse(f"1 {unit}", dimension)


@pytest.mark.parametrize(
    "text",
    [
        "", " ", "m", "6' 5", "2,6 m", "1,950 mm", "nan m", "NaN", "inf m", "-inf", "1e99 m", "1e400 m",
        "--5 m", "5 kg", "5 1/0 in", "5 3/2 in", "6 ft 14 in", "5 in 6 ft", "1.2.3 m", "5 m -", "5 m m",
        "0x10 m", "١ m", "5 m\0", "1" * 200 + " m", "5 furlongs", "5 ㎏", "six feet",
    ],
)  # fmt: skip
def test_nonsense_is_refused_with_a_way_out(text: str) -> None:
    with pytest.raises(BriefError) as caught:
        units.parse_length(text)
    assert caught.value.hint
    assert caught.value.message[0] == caught.value.message[0].lower() or caught.value.message[0] in "\"'"
    assert not caught.value.message.endswith(".")


@given(st.text(max_size=40))
def test_no_text_breaks_the_reader(text: str) -> None:
    for dimension in (units.LENGTH, units.TEMPERATURE):
        try:
            value = units.parse(text, dimension)
        except BriefError:
            continue
        assert abs(value) <= 10**9


@given(st.integers(0, 9), st.integers(0, 11), st.integers(0, 63))
def test_feet_inches_and_fractions_are_exact(feet: int, inches: int, sixty_fourths: int) -> None:
    exact = (Fraction(feet * 12 + inches) + Fraction(sixty_fourths, 64)) * Fraction("25.4")
    assert units.parse_length(f"{feet} ft {inches} {sixty_fourths}/64 in") == exact
    assert units.parse_length(f"{feet}' {inches}-{sixty_fourths}/64\"") == exact


@given(st.decimals(min_value=0, max_value=99999, places=3), st.sampled_from(["mm", "cm", "m", "in", "ft"]))
def test_decimals_are_exact(number: object, unit: str) -> None:
    factor = {"mm": "1", "cm": "10", "m": "1000", "in": "25.4", "ft": "304.8"}[unit]
    assert units.parse_length(f"{number} {unit}") == Fraction(str(number)) * Fraction(factor)


@given(st.integers(0, 16 * 12 * 30), st.booleans())
def test_printed_inches_read_back(sixteenths: int, feet: bool) -> None:
    mm = units.in_mm(Fraction(sixteenths, 16) * units.INCH_MM)
    for rounding in ("down", "nearest", "up"):
        text = units.format_length(mm, "inch", rounding=rounding, feet=feet)  # type: ignore[arg-type]
        assert units.in_mm(units.parse_length(text)) == mm


@given(st.floats(0, 9000))
def test_rounding_down_never_lengthens_a_part(mm: float) -> None:
    kept = units.to_sixteenths(mm, "down") * 25.4 / 16
    # one hundred-thousandth of a mm is forgiven as float dust
    assert kept <= mm + 1e-5
    assert mm - kept < 25.4 / 16 + 1e-5
    printed = units.parse_length(units.format_length(mm, "inch", rounding="down"))
    assert float(printed) == pytest.approx(kept, abs=1e-9)


def test_dust_does_not_lose_a_sixteenth() -> None:
    # 1.5 in = 38.1 mm; a sum of floats may come out a hair below
    assert units.to_sixteenths(38.1 - 1e-9, "down") == 24
    assert units.format_length(0.1 + 0.2 + 37.8, "inch", rounding="down") == "1 1/2 in"
    assert units.format_length(38.0, "inch", rounding="down") == "1 7/16 in"


@pytest.mark.parametrize(
    ("mm", "system", "feet", "text"),
    [
        (1968.5, "inch", True, "6 ft 5 1/2 in"),
        (1968.5, "inch", False, "77 1/2 in"),
        (1828.8, "inch", True, "6 ft"),
        (6.35, "inch", False, "1/4 in"),
        (0.0, "inch", False, "0 in"),
        (-25.4, "inch", False, "-1 in"),
        (1968.5, "metric", False, "1969 mm"),
        (1968.4, "metric", True, "1968 mm"),
    ],
)
def test_lengths_for_people(mm: float, system: units.UnitSystem, feet: bool, text: str) -> None:
    assert units.format_length(mm, system, feet=feet) == text


def test_other_quantities_for_people() -> None:
    assert units.format_temperature(-30, "inch") == "-22 degF"
    assert units.format_temperature(-30, "metric") == "-30 degC"
    assert units.format_mass(25, "metric") == "25.0 kg"
    assert units.format_mass(25, "inch") == "55.1 lb"


def test_slopes_and_bearings() -> None:
    assert float(units.parse_angle("1:6")) == pytest.approx(math.degrees(math.atan(1 / 6)))
    assert float(units.parse_angle("2 in 12")) == pytest.approx(9.4623, abs=5e-5)
    assert units.parse_angle("10 deg") == 10
    assert units.parse_bearing("SSE") == Fraction("157.5")
    assert units.parse_bearing("south-west") == 225
    assert units.parse_bearing("360 deg") == 0
    for text in ("SXE", "400 deg", "-1 deg", "12"):
        with pytest.raises(BriefError):
            units.parse_bearing(text)


def test_places_on_the_globe() -> None:
    assert units.parse_place("44.0 deg N") == 44
    assert units.parse_place("77 deg W") == -77
    assert units.parse_place("-77 deg") == -77
