"""Do sun position, clear sky and tilted irradiance agree with the solar library?"""

from __future__ import annotations

import pandas
import pvlib
import pytest

from enclosure.checks.solar import clear_sky, on_face, solar_noon_utc, sun_place

pytestmark = pytest.mark.filterwarnings("ignore:DatetimeIndex.dayofyear")

LATITUDE, LONGITUDE, ALTITUDE = 44.0, -77.0, 100.0

PVLIB = {
    "source": "pvlib, run here",
    "where": "solar position, Ineichen, isotropic",
    "printed": "library value",
}


def hours(day: str, freq: str = "30min") -> pandas.DatetimeIndex:
    """Universal times over one day of local sun."""
    return pandas.date_range(f"{day} 05:00", periods=48, freq=freq, tz="UTC")


@pytest.mark.published(**PVLIB)
@pytest.mark.parametrize("latitude", [-38.0, 30.0, 44.0, 60.0])
@pytest.mark.parametrize("day", ["2023-12-21", "2023-03-20", "2023-06-21", "2023-02-15"])
def test_sun_place(latitude, day):
    times = hours(day)
    expected = pvlib.solarposition.get_solarposition(times, latitude, LONGITUDE, method="nrel_numpy")
    for when, row in expected.iterrows():
        if row["elevation"] < -2:
            continue
        hour = when.hour + when.minute / 60
        place = sun_place(latitude, LONGITUDE, when.day_of_year, hour, when.year)
        assert place.elevation_deg == pytest.approx(row["elevation"], abs=0.02)
        turn = (place.azimuth_deg - row["azimuth"] + 180) % 360 - 180
        assert abs(turn) < 0.1


@pytest.mark.published(**PVLIB)
@pytest.mark.parametrize("day", ["2023-12-21", "2023-01-15", "2023-02-15", "2023-06-21"])
def test_clear_sky(day):
    times = hours(day)
    place = pvlib.location.Location(LATITUDE, LONGITUDE, "UTC", ALTITUDE)
    expected = place.get_clearsky(times, model="ineichen", linke_turbidity=2.5)
    position = pvlib.solarposition.get_solarposition(times, LATITUDE, LONGITUDE, altitude=ALTITUDE)
    for when, row in expected.iterrows():
        sky = clear_sky(position.loc[when, "elevation"], when.day_of_year, ALTITUDE, 2.5)
        assert sky.global_w_m2 == pytest.approx(row["ghi"], rel=0.01, abs=2.0)
        assert sky.diffuse_w_m2 == pytest.approx(row["dhi"], rel=0.03, abs=2.0)
        if position.loc[when, "elevation"] > 2.0:
            assert sky.beam_w_m2 == pytest.approx(row["dni"], rel=0.01, abs=4.0)


@pytest.mark.published(
    source="pvlib 0.16.1, Ineichen with Linke 2.5, isotropic sky", where="44.0 N 77.0 W noon", printed="W/m2"
)
@pytest.mark.parametrize(
    ("day", "elevation", "level", "beam", "south", "snow", "north"),
    [(355, 22.6, 366.0, 829.2, 825.8, 917.3, 60.3), (15, 25.0, 412.1, 855.5, 841.7, 944.8, None)],
)
def test_noon_values(day, elevation, level, beam, south, snow, north):
    place = sun_place(LATITUDE, LONGITUDE, day, solar_noon_utc(LONGITUDE, day))
    sky = clear_sky(place.elevation_deg, day, ALTITUDE, 2.5)
    assert place.elevation_deg == pytest.approx(elevation, rel=0.005)
    assert sky.global_w_m2 == pytest.approx(level, rel=0.015)
    assert sky.beam_w_m2 == pytest.approx(beam, rel=0.015)
    assert on_face(90, 180, place, sky, 0.2) == pytest.approx(south, rel=0.015)
    assert on_face(90, 180, place, sky, 0.7) == pytest.approx(snow, rel=0.015)
    if north is not None:
        assert on_face(90, 0, place, sky, 0.2) == pytest.approx(north, rel=0.015)


@pytest.mark.published(
    source="pvlib 0.16.1, 5-minute sums", where="44.0 N 77.0 W, 21 December", printed="kWh/m2 a day"
)
@pytest.mark.parametrize(
    ("tilt", "bearing", "printed"),
    [(90, 180, 4.906), (90, 90, 1.406), (90, 270, 1.406), (90, 0, 0.333), (0, 0, 1.89)],
)
def test_daily_sums(tilt, bearing, printed):
    noon = solar_noon_utc(LONGITUDE, 355)
    total = 0.0
    for k in range(288):
        hour = noon - 12 + (k + 0.5) / 12
        place = sun_place(LATITUDE, LONGITUDE, 355, hour)
        sky = clear_sky(place.elevation_deg, 355, ALTITUDE, 2.5)
        total += on_face(tilt, bearing, place, sky, 0.2) / 12 / 1000
    assert total == pytest.approx(printed, rel=0.015)


@pytest.mark.published(**PVLIB)
def test_tilted_face_against_pvlib():
    times = hours("2023-02-15")
    position = pvlib.solarposition.get_solarposition(times, LATITUDE, LONGITUDE, altitude=ALTITUDE)
    sky = pvlib.location.Location(LATITUDE, LONGITUDE, "UTC", ALTITUDE).get_clearsky(
        times, linke_turbidity=2.5
    )
    expected = pvlib.irradiance.get_total_irradiance(
        20, 170, position["zenith"], position["azimuth"], sky["dni"], sky["ghi"], sky["dhi"], albedo=0.3
    )["poa_global"]
    for when in times:
        place = sun_place(LATITUDE, LONGITUDE, when.day_of_year, when.hour + when.minute / 60, 2023)
        ours = on_face(20, 170, place, clear_sky(place.elevation_deg, when.day_of_year, ALTITUDE), 0.3)
        assert ours == pytest.approx(expected[when], rel=0.02, abs=3.0)


@pytest.mark.published(**PVLIB)
def test_solar_noon():
    for day in ("2023-01-15", "2023-05-10", "2023-11-03"):
        times = pandas.DatetimeIndex([day], tz="UTC")
        minutes = pvlib.solarposition.equation_of_time_spencer71(times.day_of_year)[0]
        assert solar_noon_utc(LONGITUDE, times.day_of_year[0]) == pytest.approx(
            12 - LONGITUDE / 15 - minutes / 60, abs=1e-3
        )


def test_no_sun_at_night():
    sky = clear_sky(-10.0, 1)
    assert (sky.global_w_m2, sky.beam_w_m2, sky.diffuse_w_m2) == (0.0, 0.0, 0.0)
