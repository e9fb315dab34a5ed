"""Does the hourly season agree with closed forms and close its balance?"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pvlib
import pytest

from enclosure.checks.climate import (
    MONTH_DAYS,
    Climate,
    coldest_day,
    daily_sd,
    day_month,
    first_day,
    month_of,
    night_chance,
    normal_course,
)
from enclosure.checks.degree_days import (
    capped_degree_days,
    energy_kwh,
    erbs,
    four_case,
    hourly_sd,
    schoenau_kehrig,
    yearly_sd,
)
from enclosure.checks.heat_network import Loss, Network
from enclosure.checks.power_cut import hours_until
from enclosure.checks.season import Heater, steady_season, stored_season
from enclosure.checks.weather import bell, made_year, read_weather, uniform

INLAND = Climate(
    (-7.0, -6.0, -0.5, 6.5, 13.0, 18.0, 21.0, 20.0, 15.5, 9.0, 3.5, -3.0), 9.0, 44.0, -77.0, 100.0
)
R = Network((Loss("skin", 46.885), Loss("air", 1.217), Loss("edge", 4.561)))
WITH_TENT = Network(R.losses, tent_w_k=44.06, ground_gain_w=6.0)


def winter():
    year = made_year(INLAND, seed=3)
    months = np.array([month_of(int(d)) for d in year.day])
    return year.only(np.isin(months, (10, 11, 0, 1, 2)))


def test_usual_course_keeps_every_monthly_mean_and_turns_slowly():
    course = normal_course(INLAND.monthly_mean_degc)
    for month, mean in enumerate(INLAND.monthly_mean_degc):
        days = course[first_day(month) - 1 :][: MONTH_DAYS[month]]
        assert sum(days) / len(days) == pytest.approx(mean, abs=1e-6)
    steps = [abs(course[i] - course[i - 1]) for i in range(365)]
    assert max(steps) < 0.5
    assert day_month(coldest_day(INLAND))[0] == 1
    assert day_month(366) == (1, 1)
    assert day_month(0) == (12, 31)


def test_made_weather_is_the_same_for_ever_and_keeps_mean_and_spread():
    year = made_year(INLAND, seed=7)
    assert len(year.outside_degc) == 8760
    months = np.array([month_of(int(d)) for d in year.day])
    course = np.array(normal_course(INLAND.monthly_mean_degc))
    for month in (0, 1, 6, 11):
        here = months == month
        assert year.outside_degc[here].mean() == pytest.approx(INLAND.monthly_mean_degc[month], abs=1e-6)
        stray = year.outside_degc[here].reshape(-1, 24).mean(axis=1) - course[year.day[here][::24] - 1]
        assert stray.std() == pytest.approx(daily_sd(INLAND, month), rel=1e-6)
    again = made_year(INLAND, seed=7)
    assert np.array_equal(year.outside_degc, again.outside_degc)
    assert not np.array_equal(year.outside_degc, made_year(INLAND, seed=8).outside_degc)


@pytest.mark.published(
    source="splitmix64 reference implementation (public domain), seed 0",
    where="first outputs",
    printed="hexadecimal",
)
def test_uniform_numbers_come_from_splitmix64():
    printed = [0xE220A8397B1DCDAF, 0x6E789E6AA1B965F4, 0x06C45D188009454F]
    assert uniform(0, 3) == pytest.approx([((v >> 11) + 0.5) / 2**53 for v in printed], abs=1e-15)


def test_bell_numbers_are_bell_shaped():
    numbers = bell(1, 20000)
    assert abs(numbers.mean()) < 0.03
    assert numbers.std() == pytest.approx(1.0, abs=0.02)
    assert (numbers < -1.645).mean() == pytest.approx(0.05, abs=0.006)


@pytest.mark.parametrize("network", [R, WITH_TENT])
@pytest.mark.parametrize("band", [0.0, 5.0])
@pytest.mark.parametrize("watts", [0.0, 175.0, 500.0, 3000.0])
def test_steady_balance_closes(network, band, watts):
    hours = winter()
    sun = 120.0 * np.maximum(0.0, np.sin((hours.hour - 6.0) / 12.0 * np.pi))
    season = steady_season(hours.outside_degc, network, Heater(watts, 2.0, band), sun)
    assert abs(season.imbalance) < 1e-9
    assert season.heat_kwh <= watts * season.hours / 1000 + 1e-9


@pytest.mark.parametrize("capacity", [60.0, 150.0, 1000.0])
@pytest.mark.parametrize("watts", [0.0, 500.0, 2500.0])
def test_stored_balance_closes(capacity, watts):
    hours = winter()
    season = stored_season(hours.outside_degc, WITH_TENT, Heater(watts, 2.0, 5.0), capacity)
    assert abs(season.imbalance) < 1e-9
    assert (season.starts > 20) == (watts > 0)


def test_season_converges_to_degree_days_without_sun_storage_and_band():
    """Flat months: the hourly sum is the plain sum of max(0, tb - T), and near Schoenau-Kehrig's."""
    hours = winter()
    season = steady_season(hours.outside_degc, R, Heater(1e5, 2.0, 0.0))
    plain = np.maximum(0.0, 2.0 - hours.outside_degc).sum() * R.shelter_w_k / 1000.0
    assert season.heat_kwh == pytest.approx(plain, rel=1e-9)
    closed = sum(
        schoenau_kehrig(2.0, INLAND.monthly_mean_degc[m], hourly_sd(daily_sd(INLAND, m), 4.5), MONTH_DAYS[m])
        for m in (10, 11, 0, 1, 2)
    )
    assert season.heat_kwh == pytest.approx(energy_kwh(closed, R.shelter_w_k), rel=0.04)
    other = sum(
        erbs(2.0, INLAND.monthly_mean_degc[m], MONTH_DAYS[m], yearly_sd(INLAND.monthly_mean_degc))
        for m in (10, 11, 0, 1, 2)
    )
    assert season.heat_kwh == pytest.approx(energy_kwh(other, R.shelter_w_k), rel=0.06)


def test_capped_season_converges_to_capped_degree_days():
    hours = winter()
    for watts in (175.0, 350.0, 500.0):
        season = steady_season(hours.outside_degc, R, Heater(watts, 2.0, 0.0))
        closed = sum(
            capped_degree_days(
                2.0,
                INLAND.monthly_mean_degc[m],
                hourly_sd(daily_sd(INLAND, m), 4.5),
                MONTH_DAYS[m],
                watts / R.shelter_w_k,
            )
            for m in (10, 11, 0, 1, 2)
        )
        assert season.heat_kwh == pytest.approx(energy_kwh(closed, R.shelter_w_k), rel=0.04)
        assert season.wanted_kwh > season.heat_kwh


@pytest.mark.published(
    source="TMY3 hours of Greensboro and Sand Point, shipped with pvlib",
    where="degree-hours below a base",
    printed="sum",
)
@pytest.mark.parametrize(
    ("name", "base", "closed_off", "made_off"),
    [
        ("723170TYA.CSV", 2.0, 0.12, 0.06),  # inland: 9 % and 3 % low
        ("723170TYA.CSV", -2.0, 0.16, 0.08),
        ("703165TY.csv", 2.0, 0.40, 0.45),  # an island: Erbs's spread is too wide there, a third too much
    ],
)
def test_closed_form_and_made_weather_against_real_hours(name, base, closed_off, made_off):
    hours = read_weather(Path(pvlib.__file__).parent / "data" / name)
    months = np.array([month_of(int(d)) for d in hours.day])
    means = tuple(float(hours.outside_degc[months == m].mean()) for m in range(12))
    by_day = hours.outside_degc.reshape(-1, 24)
    swing = float((by_day.max(axis=1) - by_day.min(axis=1)).mean())
    place = Climate(means, swing, 40.0, -80.0, 200.0)
    real = np.maximum(0.0, base - hours.outside_degc).sum() / 24
    closed = sum(
        schoenau_kehrig(base, means[m], hourly_sd(daily_sd(place, m), swing / 2), MONTH_DAYS[m])
        for m in range(12)
    )
    made = np.mean(
        [np.maximum(0.0, base - made_year(place, seed).outside_degc).sum() / 24 for seed in range(1, 6)]
    )
    four = sum(four_case(base, float(day.min()), float(day.max())) for day in by_day)
    assert closed == pytest.approx(real, rel=closed_off)
    assert made == pytest.approx(real, rel=made_off)
    assert four == pytest.approx(real, rel=0.07)


def test_a_wider_band_costs_more_and_never_falls_under_the_setpoint():
    hours = winter()
    narrow = steady_season(hours.outside_degc, R, Heater(4000.0, 2.0, 0.1))
    wide = steady_season(hours.outside_degc, R, Heater(4000.0, 2.0, 5.0))
    assert wide.heat_kwh > 1.1 * narrow.heat_kwh
    assert narrow.coldest_degc >= 2.0 - 1e-9
    assert wide.hours_below(2.0) == 0


def test_both_walks_agree_when_the_store_is_small():
    hours = winter()
    heater = Heater(800.0, 2.0, 4.0)
    steady = steady_season(hours.outside_degc, WITH_TENT, heater)
    stored = stored_season(hours.outside_degc, WITH_TENT, heater, 3.0)
    assert stored.heat_kwh == pytest.approx(steady.heat_kwh, rel=0.02)


def test_the_stored_walk_cools_like_the_power_cut_formula():
    outside = np.full(48, -20.0)
    outside[0] = 3.0
    season = stored_season(outside, R, Heater(0.0, 2.0, 5.0), 987.0)
    hours = hours_until(3.0, -15.0, -20.0, 987.0, R.shelter_w_k)
    first_below = int(np.argmax(season.plant_degc < -15.0)) - 1
    assert first_below <= hours + 1
    assert first_below >= hours - 1


def test_storage_softens_the_coldest_hour():
    hours = winter()
    small = stored_season(hours.outside_degc, R, Heater(350.0, 0.0, 3.0), 60.0)
    large = stored_season(hours.outside_degc, R, Heater(350.0, 0.0, 3.0), 1000.0)
    assert large.coldest_degc > small.coldest_degc


def test_nights_below_a_limit():
    assert night_chance(INLAND, 20, -5.0) > 0.7
    assert night_chance(INLAND, 200, -5.0) < 1e-4
