"""Handling and thermal rows: masses are those of the parts, the sail stops at a wind, fits are passed on."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from enclosure.checks.handling import frame_masses, handling_checks
from enclosure.checks.thermal import thermal_checks
from enclosure.shape.lifting import hands_for, most_lifted
from tests import hand_shelter
from tests.shelters import changed


def test_frames_add_up_to_all_that_is_not_panel_or_lining() -> None:
    case = hand_shelter.case()
    parts = [p for p in case.design.parts if p.kind not in ("panel", "film", "lining")]
    assert sum(frame_masses(case).values()) == pytest.approx(sum(p.mass_kg for p in parts))


@pytest.mark.practice("common practice, no source: 25 kg alone, 40 kg by two, 15 kg more for each further person")
def test_the_check_and_the_order_of_work_agree_on_what_people_lift() -> None:
    case = hand_shelter.case()
    for count, most in ((1, 25.0), (2, 40.0), (3, 55.0), (4, 70.0)):
        asked = changed(case.brief, people={"count": count})
        rows = {r.key: r for r in handling_checks(replace(case, brief=asked))}
        assert rows["handling-frame"].capacity == most == most_lifted(asked.people)
        assert hands_for(most, asked.people) == count
        assert hands_for(most + 0.1, asked.people) == count + 1


@pytest.mark.regression
def test_a_sheet_in_the_wind() -> None:
    """2.4 x 1.2 m at 30 km/h: 0.613 * 8.33² = 42.6 Pa on 2.88 m² is 123 N, times 1.2 for a plate."""
    rows = {r.key: r for r in handling_checks(hand_shelter.case())}
    sail = rows["raising-wind"]
    area = next(line.value for line in sail.working if line.symbol == "A")
    assert sail.demand == pytest.approx(0.613 * (30 / 3.6) ** 2 * 1.2 * area)
    stop = next(line.value for line in sail.working if line.symbol == "v stop")
    assert 0.613 * 1.2 * area * stop**2 == pytest.approx(200.0)
    assert "stop raising above" in sail.inputs[1]


def test_the_heaviest_panel_is_found() -> None:
    case = hand_shelter.case()
    rows = {r.key: r for r in handling_checks(case)}
    assert rows["handling-panel"].demand == max(p.mass_kg for p in case.design.panels())
    assert math.isclose(rows["handling-frame"].demand, max(frame_masses(case).values()))


def test_thermal_rows_are_the_tightest_of_all_panels() -> None:
    case = hand_shelter.case()
    rows = {r.key: r for r in thermal_checks(case)}
    fits = [p.fit for p in case.design.panels() if p.fit]
    assert rows["thermal-cover"].capacity == min(c for f in fits for c in f.cover_cold_mm)
    tightest = max(n / c for f in fits for n, c in zip(f.needed_clearance_mm, f.clearance_mm, strict=True))
    assert rows["thermal-gap"].utilisation == pytest.approx(tightest)
    assert all(r.passes for r in rows.values())
