"""Panels: plates against textbook values and an outside plate solver, film, glass, the rows of a design."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from Pynite import FEModel3D

from enclosure.checks import plates
from enclosure.checks.panel_rows import panel_checks, panes, verdicts_on
from enclosure.checks.panels import PanelLoad, judge, worst
from enclosure.errors import RangeError
from tests import hand_shelter
from tests.shelters import shipped

TWIN_6 = shipped()[2].skins["twin-wall-6"]
TWIN_10 = shipped()[2].skins["twin-wall-10"]


@pytest.mark.practice(
    "common practice, no source: value from memory, Timoshenko table 8, square plate, small sags"
)
def test_small_sag_of_a_square_plate() -> None:
    """w = 0.00406 q a⁴ / D; the first term of Navier's series gives 0.00416."""
    d = 20.0
    sag = plates.plate_sag(100.0, 1000.0, 1000.0, d, d, 0.0)
    assert sag / 1000 * d / 100.0 == pytest.approx(0.00406, rel=0.03)
    assert sag / 1000 * d / 100.0 == pytest.approx(16 / math.pi**6 / 4, rel=1e-9)


def test_small_sag_against_an_outside_plate_solver() -> None:
    """PyNite, 12 x 6 rectangular plates, 1.2 x 0.6 m, simply supported.

    The first term of Navier's series sags 5 % more than the whole series at sides 2 : 1 (0.01065 to 0.01013
    q b⁴/D in Timoshenko's table 8, from memory), so ours must lie 0 to 7 % above.
    """
    modulus, thickness, nu, pressure = 2300e6, 0.006, 0.0, 50.0
    model = FEModel3D()
    model.add_material("pc", modulus, modulus / 2, nu, 0.0)
    model.add_rectangle_mesh("m", 0.1, 1.2, 0.6, thickness, "pc", element_type="Rect")
    model.meshes["m"].generate()
    for node in model.nodes.values():
        edge = node.X in (0.0,) or node.Y in (0.0,) or math.isclose(node.X, 1.2) or math.isclose(node.Y, 0.6)
        model.def_support(node.name, True, True, edge, False, False, True)
    for name in model.quads or model.plates:
        model.add_plate_surface_pressure(
            name, pressure
        ) if name in model.plates else model.add_quad_surface_pressure(name, pressure)
    model.analyze(sparse=True)
    sag = max(abs(node.DZ["Combo 1"]) for node in model.nodes.values()) * 1000
    d = plates.flat_stiffness(2300.0, 6.0, nu)
    assert 1.0 <= plates.plate_sag(pressure, 1200.0, 600.0, d, d, 0.0) / sag <= 1.07


@pytest.mark.practice(
    "common practice, no source: value from memory, Kaiser 1936, q a⁴/E h⁴ = 118.7: w/h 2.47, test 2.45"
)
def test_large_sag_against_the_classic_plate() -> None:
    """Square, simply supported, edges free to slide, nu 0.316. Linear theory would give 5.2 thicknesses."""
    modulus, h, a, nu = 70000.0, 1.0, 100.0, 0.316
    pressure = 118.7 * modulus * h**4 / a**4
    # scaled down to keep the pressure in range: the ratio q a⁴/E h⁴ is what counts
    scale = 1e-3
    d = plates.flat_stiffness(modulus * scale, h, nu)
    sag = plates.plate_sag(pressure * scale * 1e6, a, a, d, d, modulus * scale * 1e6 * h / 1000)
    assert sag / h == pytest.approx(2.47, rel=0.04)
    assert sag / h > 2.47


@pytest.mark.regression
def test_a_long_plate_is_a_strip_and_its_arc_is_longer_than_its_chord() -> None:
    """300 Pa on 0.6 m, D 16 N m: 5 w L⁴ / 384 D = 31.6 mm by hand; arc 4.44 mm longer, half at each edge."""
    strip = 5 * 300 * 0.6**4 / (384 * 16.0) * 1000
    assert strip == pytest.approx(31.6, abs=0.1)
    # the first term of Navier's series gives 4 / pi of it on an endless plate without stretch
    assert plates.plate_sag(300.0, 1e5, 600.0, 16.0, 16.0, 0.0) == pytest.approx(strip * 4 / math.pi, rel=0.01)
    assert 2 * plates.pull_in(strip, 600.0) == pytest.approx(4.44, abs=0.02)


@pytest.mark.regression
@pytest.mark.parametrize(("mass", "thickness", "d"), [(1.3, 6.0, 16.0), (1.7, 10.0, 63.0)])
def test_stiffness_of_twin_wall_from_its_mass(mass: float, thickness: float, d: float) -> None:
    assert plates.multiwall_stiffness(mass, thickness) == pytest.approx(d, rel=0.25)


def test_film_balances_its_own_load() -> None:
    """The pull, the sag and the stretch of the film must agree with each other (statics, not our formula)."""
    q, span, modulus, t = 500.0, 600.0, 200.0, 0.2
    pull = plates.film_pull(q, span, modulus, t)
    sag = plates.film_sag(q, span, pull)
    assert 8 * pull * sag / 1000 == pytest.approx(q * 0.6**2)
    strain = 8 * sag**2 / (3 * span**2)
    assert pull == pytest.approx(modulus * 1e6 * t / 1000 * strain, rel=1e-6)


@given(st.floats(10, 3000), st.floats(1.0, 3.0), st.floats(200, 2500), st.floats(200, 1200))
def test_sag_grows_with_load_and_size(q: float, more: float, along: float, across: float) -> None:
    one = plates.plate_sag(q, along, across, 16.0, 3.2, 1.9e6)
    assert plates.plate_sag(q * more, along, across, 16.0, 3.2, 1.9e6) >= one
    assert plates.plate_sag(q, along * more, across, 16.0, 3.2, 1.9e6) >= one * (1 - 1e-9)
    assert plates.plate_sag(q, along, across, 16.0, 3.2, 0.0) >= one
    assert plates.plate_sag(q, along, across, 16.0 * more, 3.2 * more, 1.9e6) <= one


@given(
    st.floats(10, 3000), st.floats(200, 2500), st.floats(200, 1200), st.floats(1.0, 20.0), st.floats(1e4, 1e7)
)
def test_the_cubic_is_solved(q: float, along: float, across: float, d: float, membrane: float) -> None:
    w = plates.plate_sag(q, along, across, d, d / 5, membrane) / 1000
    a, b = along / 1000, across / 1000
    k = d / a**4 + 2 * math.sqrt(d * d / 5) / (a * b) ** 2 + d / 5 / b**4
    n = 53.83 * membrane / (332.9 * (a**4 + b**4) + 190.2 * (a * b) ** 2)
    assert k * w + n * w**3 == pytest.approx(16 * q / math.pi**6, rel=1e-9)


@pytest.mark.practice(
    "common practice, no source: 6 mm about 600 mm and 10 mm about 900 mm between held edges"
)
def test_practical_widths() -> None:
    """At 80 km/h in the edge zone, a panel a metre long."""
    load = PanelLoad(357.0, 478.0)
    assert worst(judge(TWIN_6, 950.0, 580.0, load)).utilisation <= 1.0
    assert worst(judge(TWIN_6, 1600.0, 600.0, load)).utilisation > 1.0
    assert worst(judge(TWIN_10, 1000.0, 900.0, load)).utilisation <= 1.0
    assert worst(judge(TWIN_10, 2400.0, 1000.0, load)).utilisation > 1.0


def test_a_shallow_track_lets_the_panel_go() -> None:
    load = PanelLoad(357.0, 478.0)
    deep = next(v for v in judge(TWIN_6, 1500.0, 600.0, load, cover=12.0) if v.what.startswith("draw"))
    shallow = next(v for v in judge(TWIN_6, 1500.0, 600.0, load, cover=6.0) if v.what.startswith("draw"))
    none = next(v for v in judge(TWIN_6, 1500.0, 600.0, load, cover=4.0) if v.what.startswith("draw"))
    assert deep.utilisation < shallow.utilisation
    assert shallow.utilisation > 1.0
    assert math.isinf(none.utilisation)


def test_glass_counts_stress_and_size_of_pane() -> None:
    glass = shipped()[2].skins["glass-4"]
    rows = judge(glass, 1200.0, 600.0, PanelLoad(500.0, 600.0, 1500.0))
    assert {r.what for r in rows} == {"stress under wind", "stress under snow", "size of the pane"}
    # 0.6102 q b²/t² by hand for sides 2 : 1
    wind = next(r for r in rows if r.what == "stress under wind")
    assert wind.demand == pytest.approx(0.6102 * 600e-6 * (600 / 4) ** 2, rel=1e-6)


def test_every_panel_of_the_design_is_looked_at() -> None:
    case = hand_shelter.case()
    looked = panes(case)
    assert len(looked) == len([p for p in case.design.panels() if p.layer == 1])
    for one in looked:
        assert 100 < one.across < 800
        assert 100 < one.along <= one.whole
        assert verdicts_on(case, one)


def test_rows_name_panel_load_and_cover() -> None:
    rows = panel_checks(hand_shelter.case())
    keys = {r.key for r in rows}
    assert {
        "panel-wall-wind",
        "panel-roof-wind",
        "panel-roof-snow",
        "panel-wall-track",
        "panel-missing",
    } <= keys
    wall = next(r for r in rows if r.key == "panel-wall-wind")
    assert "panel" in wall.inputs[0]
    assert any("edge cover" in words for words in wall.inputs)
    missing = next(r for r in rows if r.key == "panel-missing")
    assert missing.advice
    assert missing.utilisation > wall.utilisation


def test_snow_on_film_is_called_by_its_name() -> None:
    from dataclasses import replace

    from enclosure.checks.case import case_for
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build
    from tests.shelters import changed

    brief = changed(hand_shelter.brief(), skin={"roof": "film-single"})
    brief = changed(brief, frame={"bays": {}})
    site, stock = hand_shelter.place(), hand_shelter.stock()
    design = build(brief, site, stock, span_limits(brief, site, stock))
    case = replace(case_for(design, brief, site, stock))
    snow = next(r for r in panel_checks(case) if r.key == "panel-roof-snow")
    assert any("film" in words and "sweep" in words for words in snow.assumptions)


def test_impossible_sizes_are_refused() -> None:
    with pytest.raises(RangeError):
        plates.plate_sag(100.0, 0.0, 500.0, 16.0, 3.0, 1e6)
    with pytest.raises(RangeError):
        plates.flat_stiffness(2300.0, -1.0)
