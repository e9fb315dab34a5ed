"""Do circuit, damp, ground and power-cut formulas give what is printed outside?"""

from __future__ import annotations

import math

import pytest

from enclosure.checks.damp import dampest_dry, dew_point, frost_point, inner_surface, saturation_pressure
from enclosure.checks.electric import (
    conductor_ohm_m,
    continuous_limit,
    cord_names,
    cord_text,
    current,
    heat_at_voltage,
    is_metric,
    normal_cord,
    thinnest_cord,
    voltage_drop,
)
from enclosure.checks.ground import coldest_at_depth, frost_depth, ground_temperature
from enclosure.checks.power_cut import (
    freezing_hours,
    freezing_kwh,
    hours_until,
    shelter_capacity,
    time_constant,
    water_capacity,
)
from enclosure.errors import RangeError
from enclosure.tables.read import keys, number, row

FOOT = 0.3048


@pytest.fixture(scope="module")
def psychrolib():
    """The library in SI units, set once: each setting compiles it anew."""
    import psychrolib

    psychrolib.SetUnitSystem(psychrolib.SI)
    return psychrolib


@pytest.mark.published(
    source="NEC chapter 9 table 8 (public copies, solid copper, 75 C)",
    where="14, 12, 10 AWG",
    printed="3.07 1.93 1.21",
)
@pytest.mark.parametrize(("cord", "printed"), [("awg-14", 3.07), ("awg-12", 1.93), ("awg-10", 1.21)])
def test_solid_copper(cord, printed):
    assert conductor_ohm_m(cord, stranded=False) * 304.8 == pytest.approx(printed, abs=0.005)


@pytest.mark.published(
    source="ASTM B258 diameter rule with the IACS resistivity 1.7241e-8 ohm m and 0.00393/K",
    where="18 to 10 AWG solid",
    printed="0.005 in x 92^((36-n)/39)",
)
@pytest.mark.parametrize("gauge", [18, 16, 14, 12, 10])
def test_solid_column_agrees_with_the_copper_standard(gauge):
    diameter = 0.005 * 0.0254 * 92 ** ((36 - gauge) / 39)
    ohm_m = 1.7241e-8 / (math.pi * diameter**2 / 4) * (1 + 0.00393 * 55)
    assert float(row("cords", f"awg-{gauge}")["solid_ohm_km"]) == pytest.approx(ohm_m * 1000, rel=0.005)


@pytest.mark.published(
    source="electrician maths page, 20-25 C table",
    where="400 ft of 18 AWG at 6.505 ohm/kft",
    printed="2.602 ohm",
)
def test_resistance_of_a_run():
    printed_ohm_kft = 6.505
    ohm = 400 * printed_ohm_kft / 1000
    assert ohm == pytest.approx(2.602, abs=0.0005)
    # the printed table is between the solid and the stranded column at 20 to 25 C
    assert (
        conductor_ohm_m("awg-18", False, 20.0) * 304.8
        < printed_ohm_kft
        < conductor_ohm_m("awg-18", True, 25.0) * 304.8 * 1.01
    )


def test_cords_are_stranded_unless_told_otherwise():
    for cord in (key for key in keys("cords") if not is_metric(key)):
        assert 1.01 < conductor_ohm_m(cord) / conductor_ohm_m(cord, stranded=False) < 1.03


@pytest.mark.published(
    source="IEC 60228 (2004) table 3, flexible copper of class 5 at 20 C (from memory)",
    where="0.75 to 4 mm²",
    printed="26.0 19.5 13.3 7.98 4.95 ohm/km",
)
def test_flexible_metric_cords_are_warmed_from_twenty_degrees():
    printed = {"mm2-0.75": 26.0, "mm2-1.0": 19.5, "mm2-1.5": 13.3, "mm2-2.5": 7.98, "mm2-4": 4.95}
    for key, ohm_km in printed.items():
        assert conductor_ohm_m(key, temperature_degc=20.0) * 1000 == pytest.approx(ohm_km)
        assert conductor_ohm_m(key, temperature_degc=75.0) * 1000 == pytest.approx(ohm_km * (1 + 0.00393 * 55))


def test_every_cord_that_can_be_advised_can_be_asked_for_and_has_a_rating():
    """A way out names the thinnest cord that does; a brief with that cord must be read and checked."""
    assert set(cord_names()) == set(keys("cords"))
    for key in cord_names():
        assert number(row("cords", key), "rated_a")
        assert normal_cord(cord_text(key)) == key


@pytest.mark.regression
@pytest.mark.parametrize(
    ("watts", "cord", "volts"), [(175, "awg-16", 1.426), (500, "awg-16", 4.075), (1440, "awg-14", 7.368)]
)
def test_voltage_drop_with_solid_conductors_worked_by_hand(watts, cord, volts):
    drop = voltage_drop(100 * FOOT, conductor_ohm_m(cord, stranded=False), current(watts, 120.0))
    assert drop == pytest.approx(volts, abs=0.0005)


@pytest.mark.published(
    source="NEC rule quoted on an opened page", where="15 A, 3 h or more", printed="12 A, 1440 W"
)
def test_continuous_limit():
    assert continuous_limit(15.0, 120.0) == pytest.approx(1440.0)
    assert continuous_limit(20.0, 120.0) == pytest.approx(1920.0)


def test_heat_falls_with_the_square_of_the_voltage():
    assert heat_at_voltage(1000.0, 0.05) == pytest.approx(902.5)


def test_cord_choice_and_names():
    assert thinnest_cord(500.0, 120.0, 30.0, 0.03, metric=False) == "awg-14"
    assert thinnest_cord(500.0, 230.0, 30.0, 0.03, metric=True) == "mm2-0.75"
    assert thinnest_cord(1800.0, 120.0, 300.0, 0.03, metric=False) == ""
    assert is_metric("1.5 mm²")
    assert cord_text("mm2-1.5") == "1.5 mm²"
    assert normal_cord("16 AWG") == normal_cord("awg-16") == "awg-16"
    with pytest.raises(RangeError, match="cord size"):
        normal_cord("bell wire")


# ---- damp ----------------------------------------------------------------------------------------


@pytest.mark.published(source="worked physics answer page", where="22 C, 78 %", printed="17.98")
def test_dew_point_with_the_older_pair():
    assert dew_point(22.0, 78.0, 17.27, 237.7) == pytest.approx(17.98, abs=0.005)


@pytest.mark.published(
    source="psychrolib 2 (ASHRAE formulas), run here", where="dew point", printed="library value"
)
@pytest.mark.parametrize(
    ("air", "humidity"), [(20, 60), (5, 90), (25, 50), (20, 50), (10, 80), (2, 85), (30, 40)]
)
def test_dew_point_against_psychrolib(psychrolib, air, humidity):
    expected = psychrolib.GetTDewPointFromRelHum(float(air), humidity / 100)
    if expected > 0:
        assert dew_point(air, humidity) == pytest.approx(expected, abs=0.03)
    assert frost_point(air, humidity) == pytest.approx(expected, abs=0.08)


@pytest.mark.published(
    source="psychrolib 2 (ASHRAE formulas), run here", where="saturation", printed="library value"
)
@pytest.mark.parametrize("air", [-20.0, -10.0, -5.0, -1.0, 1.0, 10.0, 20.0, 35.0])
def test_saturation_pressure_against_psychrolib(psychrolib, air):
    assert saturation_pressure(air) == pytest.approx(psychrolib.GetSatVapPres(air), rel=0.006)


@pytest.mark.regression
def test_inner_surface_by_hand():
    assert inner_surface(3.5, 3.0, -20.0, 0.13) == pytest.approx(-7.465, abs=0.0005)
    assert inner_surface(5.75, 3.0, -20.0, 0.13) == pytest.approx(-14.2, abs=0.1)


def test_dampest_dry_is_the_inverse_of_the_frost_point():
    humidity = dampest_dry(3.0, -7.465)
    assert frost_point(3.0, humidity) == pytest.approx(-7.465, abs=0.1)
    assert dampest_dry(3.0, 3.0) == pytest.approx(100.0)


# ---- ground --------------------------------------------------------------------------------------


@pytest.mark.regression
@pytest.mark.parametrize(
    ("depth", "expected"), [(0.3, -6.1), (0.6, -4.5), (1.0, -2.3), (1.5, 0.2), (3.0, 5.73)]
)
def test_ground_worked_from_the_formula(depth, expected):
    assert ground_temperature(depth, 46, 8.0, 16.0, 35, 0.05) == pytest.approx(expected, abs=0.06)


def test_ground_solves_the_heat_equation():
    # independent of the closed form: dT/dt = a d2T/dz2 by differences
    def at(z: float, t: float) -> float:
        return ground_temperature(z, t, 8.0, 16.0, 35, 0.05)

    for z, t in ((0.5, 40.0), (1.2, 200.0), (2.5, 300.0)):
        in_time = (at(z, t + 0.5) - at(z, t - 0.5)) / 1.0
        in_depth = (at(z + 0.01, t) - 2 * at(z, t) + at(z - 0.01, t)) / 0.01**2
        assert in_time == pytest.approx(0.05 * in_depth, rel=1e-3)


def test_frost_depth_is_where_the_coldest_is_zero():
    depth = frost_depth(8.0, 16.0)
    assert coldest_at_depth(depth, 8.0, 16.0) == pytest.approx(0.0, abs=1e-9)
    assert frost_depth(12.0, 10.0) == 0.0


# ---- power cut -----------------------------------------------------------------------------------


@pytest.mark.regression
def test_power_cut_of_the_reference_shelter():
    assert time_constant(150.0, 52.66) == pytest.approx(0.791, abs=0.0005)
    assert hours_until(3.0, 0.0, -20.0, 150.0, 52.66) * 60 == pytest.approx(6.63, abs=0.01)
    both = 150.0 + water_capacity(200.0)
    assert hours_until(3.0, 0.0, -20.0, both, 52.66) * 60 == pytest.approx(43.7, abs=0.2)
    assert freezing_kwh(200.0) == pytest.approx(18.56, abs=0.005)


def test_power_cut_ends():
    assert hours_until(3.0, 0.0, 1.0, 150.0, 52.0) == math.inf
    assert hours_until(-1.0, 0.0, -20.0, 150.0, 52.0) == 0.0
    assert freezing_hours(200.0, -20.0, 50.0) == pytest.approx(18.56, abs=0.01)
    assert 60 < shelter_capacity(3.6, 35.0, 18.0, 1.5) < 160
