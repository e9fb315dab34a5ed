"""Span limits: what is handed to the shape passes the checks that it is checked with afterwards."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.checks.case import case_for
from enclosure.checks.panel_rows import panel_checks
from enclosure.checks.panels import judge, worst
from enclosure.checks.span import best_grid, roof_load, spacing_for, span_limits, wall_load
from enclosure.checks.wind import wind_set
from enclosure.errors import EnclosureError
from enclosure.site.model import Wind
from tests import hand_shelter
from tests.shelters import BRIEFS, briefs, design_of, shipped, shipped_design


def gusty(kmh: float) -> object:
    site = hand_shelter.place()
    return site.model_copy(update={"wind": Wind.model_validate({"route": "gust", "gust": f"{kmh} km/h"})})


@pytest.mark.practice("common practice, no source: 6 mm twin-wall about 0.6 m between held edges at 80 km/h")
def test_six_millimetres_at_eighty() -> None:
    load = wall_load(wind_set(hand_shelter.place(), 2.5))
    bay, spacing = best_grid(shipped()[2].skins["twin-wall-6"], load, [((1200.0, 2200.0), None)])
    assert 500 <= bay <= 620
    assert 800 <= spacing <= 1300


@pytest.mark.practice("common practice, no source: roof edges are worse than walls")
def test_a_roof_asks_for_a_closer_grid_than_a_wall() -> None:
    wind = wind_set(hand_shelter.place(), 2.5)
    skin = shipped()[2].skins["twin-wall-8"]
    assert spacing_for(skin, roof_load(wind, "mono", 10.0, 1.5), 550.0) < spacing_for(
        skin, wall_load(wind), 550.0
    )


@settings(max_examples=25)
@given(st.sampled_from(sorted(shipped()[2].skins)), st.floats(50, 130), st.floats(1.0, 1.6))
def test_more_wind_never_widens_a_span(key: str, kmh: float, more: float) -> None:
    skin = shipped()[2].skins[key]
    calm = wall_load(wind_set(gusty(kmh), 2.5))  # type: ignore[arg-type]
    wild = wall_load(wind_set(gusty(kmh * more), 2.5))  # type: ignore[arg-type]
    assert spacing_for(skin, wild, 500.0) <= spacing_for(skin, calm, 500.0)


@pytest.mark.parametrize("name", [path.stem for path in BRIEFS])
def test_limits_cover_every_skin_of_the_shipped_briefs_and_the_panels_pass(name: str) -> None:
    brief, site, stock = shipped(name)
    limits = span_limits(brief, site, stock)
    walls = {brief.skin.front, brief.skin.right, brief.skin.back, brief.skin.left}
    assert walls == set(limits.bay_mm) == set(limits.transom_mm)
    assert {brief.skin.roof} == set(limits.roof_bay_mm) == set(limits.purlin_mm)
    case = case_for(shipped_design(name), brief, site, stock)
    for row in panel_checks(case):
        if row.advice or row.key.endswith("button"):
            continue
        assert row.passes, f"{row.key} {row.utilisation:.2f}: {row.inputs}"


def test_a_limit_passes_its_own_judge() -> None:
    wind = wind_set(hand_shelter.place(), 2.5)
    for skin in shipped()[2].skins.values():
        for load in (wall_load(wind), roof_load(wind, "mono", 10.0, 1.5)):
            bay, spacing = best_grid(skin, load, [((1200.0, 2200.0), None), ((1000.0, 2200.0), None)])
            if spacing > 250.0:
                assert worst(judge(skin, spacing, bay, load)).utilisation <= 1.0, skin.key


def test_bays_set_in_the_brief_are_heard() -> None:
    load = wall_load(wind_set(hand_shelter.place(), 2.5))
    skin = shipped()[2].skins["twin-wall-10"]
    bay, _ = best_grid(skin, load, [((1200.0, 2200.0), 3)])
    assert bay == pytest.approx(400.0)


@settings(max_examples=10)
@given(briefs())
def test_random_shelters_mostly_pass_what_they_were_built_for(brief: object) -> None:
    """A grid handed down may fail only where even the closest one does (LEAST_MM), never by rounding."""
    try:
        design = design_of(brief)  # type: ignore[arg-type]
    except EnclosureError:
        return
    _, site, stock = shipped()
    case = case_for(design, brief, site, stock)  # type: ignore[arg-type]
    limits = span_limits(brief, site, stock)  # type: ignore[arg-type]
    if brief.frame.transoms is not None:  # type: ignore[attr-defined]
        return
    for row in panel_checks(case):
        if (
            row.key == "panel-wall-wind"
            and min(limits.transom_mm.values()) > 250.0
            and min(limits.bay_mm.values()) > 250.0
        ):
            assert row.utilisation <= 1.15, (row.utilisation, row.inputs)
