"""Snow: the codes' formulas, and the choice of road for a site."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from enclosure.checks import snow_load as codes
from enclosure.checks.snow import snow_set
from enclosure.errors import RangeError
from enclosure.site.model import Wind
from tests.shelters import shipped

PSF = 0.04788025898


@pytest.mark.published(
    source="worked pages of ASCE 7 flat roof snow", where="pg 40 psf, Ce = Ct = Is = 1", printed="28 psf"
)
def test_flat_roof_snow() -> None:
    assert codes.asce_flat_roof(40 * PSF, 1.0, 1.0, 1.0) / PSF == pytest.approx(28.0, abs=0.05)


@pytest.mark.published(
    source="worked pages of ASCE 7 flat roof snow",
    where="pg 40 psf, Ce 1.2, Ct 1.3, Is 1",
    printed="43.7 psf",
)
def test_flat_roof_snow_sheltered_and_frozen() -> None:
    assert codes.asce_flat_roof(40 * PSF, 1.2, 1.3, 1.0) / PSF == pytest.approx(43.7, abs=0.05)


@pytest.mark.published(
    source="course notes on ASCE 7 snow",
    where="least load of a low roof, Is 0.8 agriculture",
    printed="I pg to 0.96 kPa, 0.96 I above",
)
def test_least_load_of_a_low_roof() -> None:
    assert codes.asce_least(0.5, 0.8) == pytest.approx(0.4)
    assert codes.asce_least(2.0, 0.8) == pytest.approx(0.96 * 0.8)


@pytest.mark.published(
    source="NBCC 4.1.6.2",
    where="Sr <= Ss (Cb Cw Cs Ca); Cb 0.8; slope factors",
    printed="1 to 30, (70-a)/40; slippery 1 to 15, (60-a)/45",
)
def test_canadian_slope_factors() -> None:
    assert codes.nbcc_slope_factor(30, slippery=False) == 1.0
    assert codes.nbcc_slope_factor(50, slippery=False) == pytest.approx((70 - 50) / 40)
    assert codes.nbcc_slope_factor(15) == 1.0
    assert codes.nbcc_slope_factor(40) == pytest.approx((60 - 40) / 45)
    assert codes.nbcc_slope_factor(61) == 0.0


@pytest.mark.published(
    source="engineering forum thread on NBC's user's guide, snow on the lee side of a 45 degree gable",
    where="slope of more than 20 deg: Ca; not slippery: Cs Ca",
    printed="Ca 1.25, Cs (70 - 45)/40 = 0.625, Cs Ca 0.78",
)
def test_snow_blown_over_the_ridge() -> None:
    assert codes.nbcc_lee_factor(45.0) == 1.25
    both = codes.nbcc_slope_factor(45.0, slippery=False) * codes.nbcc_lee_factor(45.0)
    assert both == pytest.approx(0.78, abs=0.005)
    # straight between 15 and 20 deg (from memory: 0.25 + a/20), nothing more up to 15
    assert [codes.nbcc_lee_factor(a) for a in (0.0, 15.0, 18.0)] == pytest.approx([1.0, 1.0, 0.25 + 18 / 20])


def test_a_canadian_gable_bears_more_on_its_lee_slope_and_a_mono_roof_does_not() -> None:
    """Ss 1.9152, Sr 0.4, 25 deg by hand: Cs 35/45, 0.8 (0.8 Ss Cs 1.25 + 0.4) = 1.5117 kPa."""
    wind = Wind.model_validate({"route": "nbcc", "hourly_pressure": "0.4 kPa", "terrain": "open"})
    site = shipped()[1].model_copy(update={"wind": wind, "snow_ground_kpa": 1.9152, "rain_on_snow_kpa": 0.4})
    assert snow_set(site, "gable", 25.0).worst_kpa == pytest.approx(1.5117, abs=5e-4)
    assert snow_set(site, "mono", 25.0).worst_kpa == pytest.approx(1.2733, abs=5e-4)


@pytest.mark.regression
def test_canadian_roof_with_the_cap_on_rain() -> None:
    """Ss 1, Sr 1, flat: 0.8 + min(1, 0.8) = 1.6 by hand; a page that forgets the cap shows 1.8."""
    assert codes.nbcc_roof(1.0, 1.0, importance=1.0) == pytest.approx(1.6)


@pytest.mark.practice(
    "common practice, no source: value from memory, ASCE 7 figure 7.4-1 and EN 1991-1-3 table 5.2"
)
def test_values_from_memory() -> None:
    # slippery and cold: 1 at 15 deg, 0 at 70 deg, so (70 - 30) / 55 at 30 deg
    assert codes.asce_slope_factor(30.0, 1.2) == pytest.approx(40 / 55)
    assert codes.en_roof(1.5, 40.0) == pytest.approx(0.8 * 20 / 30 * 1.5)
    assert codes.en_roof(1.5, 40.0, guards=True) == pytest.approx(0.8 * 1.5)


@given(st.floats(0, 15), st.floats(0, 15), st.floats(0, 60))
def test_more_snow_on_the_ground_never_lightens_the_roof(a: float, b: float, slope: float) -> None:
    low, high = sorted((a, b))
    for roof in (
        lambda g: codes.plain_roof(g, 0.3, slope),
        lambda g: codes.en_roof(g, slope),
        lambda g: codes.nbcc_roof(g, 0.3, codes.nbcc_slope_factor(slope)),
        lambda g: codes.asce_flat_roof(g) * codes.asce_slope_factor(slope),
    ):
        assert roof(low) <= roof(high) + 1e-12


@given(st.floats(0, 80), st.floats(0, 80))
def test_a_steeper_roof_never_bears_more(a: float, b: float) -> None:
    low, high = sorted((a, b))
    assert codes.nbcc_slope_factor(low) >= codes.nbcc_slope_factor(high)
    assert codes.en_shape(low) >= codes.en_shape(high)
    assert codes.asce_slope_factor(low) >= codes.asce_slope_factor(high)


def test_the_road_follows_the_wind_and_names_itself() -> None:
    site = shipped()[1]
    roads = {
        "gust": {"route": "gust", "gust": "80 km/h"},
        "asce7": {"route": "asce7", "speed": "105 mph", "exposure": "C"},
        "en1991": {"route": "en1991", "speed": "24 m/s", "terrain": "II"},
        "nbcc": {"route": "nbcc", "hourly_pressure": "0.4 kPa", "terrain": "open"},
    }
    words = {"gust": "no source", "asce7": "ASCE", "en1991": "EN 1991", "nbcc": "NBCC"}
    for route, wind in roads.items():
        there = site.model_copy(update={"wind": Wind.model_validate(wind)})
        found = snow_set(there, "gable", 20.0)
        assert words[route] in found.clause
        assert found.one_slope_kpa > 0.0
        assert found.worst_kpa >= found.roof_kpa
        # the last line is the load that is used
        assert found.lines[-1].value == pytest.approx(found.worst_kpa)


def test_impossible_snow_is_refused_in_words() -> None:
    with pytest.raises(RangeError, match="ground snow load is 40 kPa") as caught:
        codes.en_roof(40.0, 10.0)
    assert "1.5 kPa or 30 psf" in caught.value.hint
