"""Wind: velocity pressure by four roads, coefficients, and the wind of a site."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from enclosure.checks import wind_coefficients as shape
from enclosure.checks import wind_pressure as speed
from enclosure.checks.wind import body_coefficient, roof_net, scaled, wall_net, wind_set
from enclosure.errors import RangeError
from enclosure.site.model import Site, Wind
from tests.shelters import shipped


def site_with(**wind: object) -> Site:
    site = shipped()[1]
    return site.model_copy(update={"wind": Wind.model_validate(wind)})


@pytest.mark.published(
    source="open-source notebook of ASCE 7-10 chapter 29, printed output",
    where="qz with Kz 0.57, Kzt 2.9584, Kd 1, V 100 m/s",
    printed="10336.95",
)
def test_velocity_pressure_of_the_american_standard() -> None:
    assert speed.asce_velocity_pressure(0.57, 2.9584, 1.0, 100.0) == pytest.approx(10336.95, abs=0.005)


@pytest.mark.published(
    source="open-source notebook of ASCE 7-10 chapter 29, printed output",
    where="F = qz G Cf Af with G 0.85, Cf 1.0, Af 3 m²",
    printed="26359.21",
)
def test_force_of_the_american_standard() -> None:
    q = speed.asce_velocity_pressure(0.57, 2.9584, 1.0, 100.0)
    assert q * speed.GUST_EFFECT_RIGID * 1.0 * 3.0 == pytest.approx(26359.21, abs=0.02)


@pytest.mark.published(
    source="ASCE 7-10 table 29.3-1, as coded in an open notebook",
    where="exposure C, 0 to 4.6 m",
    printed="0.85",
)
def test_exposure_coefficient_near_the_ground() -> None:
    assert speed.asce_exposure_coefficient(2.5, "C") == 0.85
    assert speed.asce_exposure_coefficient(4.6, "B") == 0.57
    assert speed.asce_exposure_coefficient(0.0, "D") == 1.03


@pytest.mark.published(
    source="ASCE 7-10 table 26.6-1, as coded in an open notebook",
    where="square tank, tower, chimney",
    printed="0.90",
)
def test_directionality_of_a_square_tower() -> None:
    assert speed.DIRECTIONALITY_SQUARE_TOWER == 0.90


@pytest.mark.published(
    source="ASCE 7-10 figure 29.5-1, as coded in an open notebook",
    where="square, normal to the face, h/D 1, 7, 25; diagonal",
    printed="1.3 1.4 2.0; 1.0 1.1 1.5",
)
@pytest.mark.parametrize(("ratio", "square", "diagonal"), [(1, 1.3, 1.0), (7, 1.4, 1.1), (25, 2.0, 1.5)])
def test_force_coefficient_of_a_square_tower(ratio: float, square: float, diagonal: float) -> None:
    assert shape.square_tower_force(ratio) == pytest.approx(square)
    assert shape.square_tower_force(ratio, diagonal=True) == pytest.approx(diagonal)


@pytest.mark.published(
    source="published calculation sheets to EN 1991-1-4",
    where="peak velocity pressure: vb 27 cat I z 3.5; vb 25 cat 0 z 77.36; vb 25 cat 0 z 28",
    printed="0.989, 1.658, 1.403 kN/m²",
)
@pytest.mark.parametrize(
    ("vb", "terrain", "z", "printed"), [(27, "I", 3.5, 0.989), (25, "0", 77.36, 1.658), (25, "0", 28, 1.403)]
)
def test_peak_velocity_pressure(vb: float, terrain: str, z: float, printed: float) -> None:
    # The sheets round kr, cr and vm to four digits on the way, hence one unit of the last printed digit.
    assert speed.en_peak_pressure(vb, terrain, z) / 1000 == pytest.approx(printed, abs=0.001)


@pytest.mark.published(
    source="calculation page to NBC 2020, q 1 kPa, Ce 0.9, Cg 2.0",
    where="windward, leeward, side, roof",
    printed="1.44, -0.9, -1.26, -1.8 kPa",
)
@pytest.mark.parametrize(
    ("side", "printed"), [("windward", 1.44), ("leeward", -0.9), ("side", -1.26), ("roof", -1.8)]
)
def test_pressures_of_the_canadian_code(side: str, printed: float) -> None:
    ce = speed.nbcc_exposure_factor(2.5)
    p = speed.nbcc_pressure(1000.0, 1.0, ce, 1.0, 2.0, shape.NBCC_WHOLE[side])
    assert p / 1000 == pytest.approx(printed, abs=0.005)


@pytest.mark.published(
    source="calculation page to NBC 2020", where="Ce at 2.5 m, open terrain, (h/10)^0.2 >= 0.9", printed="0.9"
)
def test_canadian_exposure_factor() -> None:
    assert speed.nbcc_exposure_factor(2.5) == 0.9


@pytest.mark.published(
    source="calculation page to NBC 2020, q 1 kPa, Ce 0.9",
    where="inside, category 2",
    printed="0.54 and -0.81 kPa",
)
def test_canadian_inside_pressure() -> None:
    low, high = shape.internal("nbcc")
    assert 0.9 * high == pytest.approx(0.54, abs=0.005)
    assert 0.9 * low == pytest.approx(-0.81, abs=0.005)


@pytest.mark.published(
    source="pages digitising NBCC figures 4.1.7.6-B and -C",
    where="end zone wall up to 1 m²; roof corner up to 7 deg",
    printed="+1.8 -2.1; -5.4 +0.5",
)
def test_canadian_local_coefficients() -> None:
    assert shape.NBCC_WALL_LOCAL == (1.8, -2.1)
    assert shape.NBCC_ROOF_LOCAL == (0.5, -5.4)


@pytest.mark.published(
    source="ASCE 7-16 figure 30.3-2A, as coded in an open library",
    where="zone 3 up: 10 and 500 sq ft; zone 1' down: 10 and 100 sq ft",
    printed="-3.2 -1.4; 0.3 0.2",
)
def test_american_roof_corner() -> None:
    assert shape.asce_roof_local("mono", 5.0, 10 * 0.09290304) == pytest.approx((0.3, -3.2), abs=1e-3)
    assert shape.asce_roof_local("mono", 5.0, 500 * 0.09290304)[1] == pytest.approx(-1.4, abs=1e-3)
    assert shape.asce_roof_local("mono", 5.0, 100 * 0.09290304)[0] == pytest.approx(0.2, abs=1e-3)


@pytest.mark.practice("common practice, no source: ASCE 7-16 figures 30.3-2B to -2D and 30.3-5B from memory")
def test_american_roofs_above_seven_degrees_are_rounded_up() -> None:
    small = 10 * 0.09290304
    worst = {("gable", 15.0): (0.7, -3.6), ("gable", 25.0): (0.7, -3.6), ("gable", 40.0): (0.9, -3.2)}
    worst |= {("mono", 8.0): (0.7, -2.6), ("mono", 25.0): (0.7, -2.9)}
    for (kind, slope), (down, up) in worst.items():
        push, pull = shape.asce_roof_local(kind, slope, small)
        assert push >= down - 1e-9
        assert pull <= up + 1e-3


@pytest.mark.published(
    source="engineering forum thread on ASCE 7 figure 6-6 (27.3-1)",
    where="roof below 10 deg, 0 to h/2: h/L 0.5, 0.75, 1.0",
    printed="-0.9, -1.1, -1.3",
)
@pytest.mark.parametrize(("ratio", "printed"), [(0.5, -0.9), (0.75, -1.1), (1.0, -1.3), (2.0, -1.3)])
def test_american_whole_roof(ratio: float, printed: float) -> None:
    assert shape.asce_roof_whole(5.0, ratio) == pytest.approx(printed)


@pytest.mark.published(
    source="EN 1991-1-4 table 7.1, as coded in an open library",
    where="zones A to E at h/d 0.25, 1, 5",
    printed="A -1.2 B -0.8 C -0.5; D 0.7 0.8 0.8; E -0.3 -0.5 -0.7",
)
def test_european_walls() -> None:
    assert [shape.en_wall_zones(r)["D"] for r in (0.25, 1, 5)] == pytest.approx([0.7, 0.8, 0.8])
    assert [shape.en_wall_zones(r)["E"] for r in (0.25, 1, 5)] == pytest.approx([-0.3, -0.5, -0.7])
    assert [shape.en_wall_zones(2)[z] for z in "ABC"] == [-1.2, -0.8, -0.5]


ZONES = {
    ("flat", 0.0): ((-1.8, -1.2, -0.7, -0.2),),
    ("mono", 5.0): ((-2.3, -1.3, -0.8, -0.8), (-2.1, -1.8, -0.6, -0.5)),
    ("mono", 15.0): ((-2.5, -1.3, -0.9, -0.9), (-2.0, -1.9, -0.8, -0.7)),
    ("mono", 30.0): ((-1.1, -0.8, -0.8, -0.8), (-1.7, -1.5, -1.0, -0.8)),
    ("mono", 45.0): ((-0.6, -0.5, -0.7, -0.7), (-1.4, -1.4, -1.0, -0.9)),
    ("gable", 5.0): ((-1.6, -1.3, -0.7, -0.6),),
    ("gable", 15.0): ((-1.3, -1.3, -0.6, -0.5),),
    ("gable", 30.0): ((-1.1, -1.4, -0.8, -0.5),),
    ("gable", 45.0): ((-1.1, -1.4, -0.9, -0.5),),
}
"""cpe,10 of zones F, G, H, I by wind direction (F of a mono roof: the mean of its two corners)."""


@pytest.mark.practice("common practice, no source: EN 1991-1-4 tables 7.2 to 7.4b from memory, averaged by area")
@pytest.mark.parametrize(("kind", "slope"), ZONES)
@pytest.mark.parametrize(
    ("across", "along", "high"), [(1.5, 1.5, 2.4), (2.4, 1.2, 2.4), (3.0, 1.0, 2.4), (1.0, 2.0, 2.5)]
)
def test_the_whole_european_roof_is_the_mean_of_its_zones_rounded_up(
    kind: str, slope: float, across: float, along: float, high: float
) -> None:
    """F and G lie in a strip of e/10, F e/4 wide at both ends; H reaches to e/2, I beyond."""
    e = min(across, 2 * high)
    strip, middle = min(e / 10, along), min(e / 2, along) - min(e / 10, along)
    rest, corners = along - strip - middle, min(1.0, e / 2 / across)
    for f, g, h, i in ZONES[(kind, slope)]:
        mean = (strip * (corners * f + (1 - corners) * g) + middle * h + rest * i) / along
        assert shape.en_roof_whole(kind, slope) <= mean


@pytest.mark.regression
@pytest.mark.parametrize(("kmh", "pa"), [(70, 231.8), (75, 266.1), (80, 302.7), (90, 383.1), (100, 473.0)])
def test_pressure_of_a_gust(kmh: float, pa: float) -> None:
    """0.613 V² by hand; the constant is ASCE 7's."""
    assert speed.gust_pressure(kmh / 3.6) == pytest.approx(pa, abs=0.05)


@pytest.mark.regression
def test_between_the_rows_of_the_tower_figure() -> None:
    assert shape.square_tower_force(2.0) == pytest.approx(1.3167, abs=5e-5)
    assert speed.en_peak_pressure(24, "II", 2.5) == pytest.approx(554.8, abs=0.1)
    # below zmin the pressure of zmin holds
    assert speed.en_peak_pressure(24, "III", 2.5) == speed.en_peak_pressure(24, "III", 5.0)


@pytest.mark.practice("common practice, no source: a gust must not be multiplied by a code's gust factor")
def test_a_gust_and_a_gust_factor_are_refused_together() -> None:
    with pytest.raises(RangeError, match="gust factor") as caught:
        speed.gust_pressure(22.2, gust_factor=2.0)
    assert "already holds the peak" in caught.value.hint


@pytest.mark.parametrize("gust", [0.0, -3.0, 111.1, float("nan")])
def test_impossible_gusts_are_refused_in_words(gust: float) -> None:
    with pytest.raises(RangeError, match="gust"):
        speed.gust_pressure(gust)


def test_unknown_terrain_and_exposure_name_what_there_is() -> None:
    with pytest.raises(RangeError) as caught:
        speed.en_peak_pressure(24, "V", 3)
    assert "0, I, II, III or IV" in caught.value.hint
    with pytest.raises(RangeError):
        speed.asce_exposure_coefficient(3, "A")
    with pytest.raises(RangeError):
        shape.internal("guess")


def test_each_road_brings_its_own_factors() -> None:
    gust = wind_set(site_with(route="gust", gust="80 km/h"), 2.5)
    asce = wind_set(site_with(route="asce7", speed="105 mph", exposure="C"), 2.5)
    en = wind_set(site_with(route="en1991", speed="24 m/s", terrain="II"), 2.5)
    nbcc = wind_set(site_with(route="nbcc", hourly_pressure="0.4 kPa", terrain="open"), 2.5)
    assert (gust.body_gust, gust.stability, gust.dead) == (1.0, 1.0, 0.6)
    assert (asce.body_gust, asce.stability, asce.dead) == (0.85, 0.6, 0.6)
    assert (en.stability, en.dead) == (1.5, 0.9)
    assert (nbcc.body_gust, nbcc.stability, nbcc.dead) == (2.0, 1.4, 0.9)
    assert nbcc.q_pa == pytest.approx(0.8 * 400 * 0.9)
    assert not gust.limit_state
    assert en.limit_state
    assert body_coefficient(gust, 2.44, 1.22) == pytest.approx(1.3167, abs=5e-5)
    assert body_coefficient(nbcc, 2.44, 1.22) == pytest.approx(2.0 * 1.3)


@given(st.floats(5, 60), st.floats(1.01, 1.5), st.floats(0.05, 20.0))
def test_more_wind_never_presses_less(gust: float, more: float, area: float) -> None:
    one = wind_set(site_with(route="gust", gust=f"{gust:.4f} m/s"), 2.5)
    two = scaled(one, more**2)
    for net in (wall_net, lambda w, a: roof_net(w, "mono", 10.0, a)):
        for a, b in zip(net(one, area), net(two, area), strict=True):
            assert b * two.q_pa >= a * one.q_pa


@given(st.sampled_from(["gust", "asce7", "en1991", "nbcc"]), st.floats(0.05, 40.0))
def test_an_open_front_is_never_kinder(route: str, area: float) -> None:
    wind = scaled(wind_set(site_with(route="gust", gust="80 km/h"), 2.5), 1.0)
    from dataclasses import replace

    wind = replace(wind, route=route)
    assert wall_net(wind, area, opened=True)[1] > wall_net(wind, area)[1]
