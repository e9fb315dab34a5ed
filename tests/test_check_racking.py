"""Racking: a braced pair of walls against statics and an outside truss solver."""

from __future__ import annotations

import math

import pytest
from Pynite import FEModel3D

from enclosure.checks.racking import Wall, _pair_of_diagonals, racking_checks, screw_value, wall_hold
from enclosure.checks.roof_ties import roof_tie_checks
from tests import hand_shelter
from tests.shelters import changed


def test_a_pulled_diagonal_in_an_outside_solver() -> None:
    """PyNite: pinned square with one diagonal; a push that strains the diagonal to Z is H = Z run/L."""
    run, rise, z = 1.0, 2.0, 900.0
    model = FEModel3D()
    model.add_material("wood", 8e9, 5e8, 0.3, 0.0)
    model.add_section("bar", 1e-3, 1e-8, 1e-8, 1e-8)
    for name, x, y in (("a", 0, 0), ("b", run, 0), ("c", run, rise), ("d", 0, rise)):
        model.add_node(name, x, y, 0)
        model.def_support(name, name in "ab", name in "ab", True, True, True, name in "ab")
    for i, j in (("a", "b"), ("b", "c"), ("c", "d"), ("a", "d"), ("a", "c")):
        model.add_member(i + j, i, j, "wood", "bar")
        model.def_releases(i + j, Ryi=True, Rzi=True, Ryj=True, Rzj=True)
    for name in "cd":
        model.def_support(name, False, False, True, True, True, True)
    push = z * run / math.hypot(run, rise)
    model.add_node_load("d", "FX", push)
    model.analyze()
    axial = model.members["ac"].max_axial()
    assert abs(axial) == pytest.approx(z, rel=1e-3)


def test_a_pair_that_leans_the_same_way_seen_from_outside_has_one_pulled_and_one_pushed() -> None:
    frame = hand_shelter.design().frames[0]
    one = Wall(frame, 400.0, 50.0, 10.0, 1, ())
    other = Wall(frame, 300.0, 40.0, 10.0, 1, ())
    assert _pair_of_diagonals([one, other])[0] == min(400 + 40, 50 + 300)
    leaning_back = Wall(frame, 300.0, 40.0, 10.0, -1, ())
    assert _pair_of_diagonals([one, leaning_back])[0] == 50 + 40
    assert _pair_of_diagonals([Wall(frame, 0.0, 0.0, 10.0, 0, ())])[0] == 0.0


def test_more_screws_hold_more_until_the_lath_buckles() -> None:
    from dataclasses import replace

    case = hand_shelter.case()
    front = next(f for f in case.design.frames if f.face == "FRONT")
    # The hand shelter has two screws at each end.
    five_screws = changed(case.brief, frame={"brace_screws": 5})
    two, five = wall_hold(case, front), wall_hold(replace(case, brief=five_screws), front)
    assert five.pulled == pytest.approx(2.5 * two.pulled)
    assert five.pushed >= two.pushed
    assert two.leans == 1


def test_no_diagonal_and_no_gusset_leaves_the_angles() -> None:
    from dataclasses import replace

    case = hand_shelter.case()
    bare = replace(
        case.design, parts=tuple(p for p in case.design.parts if p.kind not in ("diagonal", "gusset"))
    )
    rows = racking_checks(replace(case, design=bare))
    assert all(r.utilisation > 1.0 for r in rows)
    assert all(any("corners alone" in words for words in r.inputs) for r in rows)


@pytest.mark.regression
def test_size_of_one_screw() -> None:
    """By hand in inches: Fe 3364 psi, k3 1.440, mode IIIs in 3/4 in: Kd 2.402, Z 340.9 N x 1.6 x 0.7."""
    value = screw_value(hand_shelter.case(), 19.05)
    assert value == pytest.approx(381.8, abs=0.3)


@pytest.mark.practice("common practice, no source: two butting members turn about their corner")
def test_a_gusset_is_no_stiffer_than_its_screws_about_the_corner() -> None:
    """Three screws at 1/6, 1/2 and 5/6 of a leg, the last one fully used, the others by their distance."""
    case = hand_shelter.case()
    left = next(f for f in case.design.frames if f.face == "LEFT")
    wall = wall_hold(case, left)
    gussets = [p for p in case.design.parts if p.kind == "gusset" and p.face == "LEFT"]
    leg = min(gussets[0].cut.width_mm, gussets[0].cut.height_mm)  # type: ignore[union-attr]
    z = screw_value(case, case.stock.boards[gussets[0].material].thickness_mm)
    places = [leg / 6, leg / 2, leg * 5 / 6]
    moment = sum(z * r / places[-1] * r for r in places)
    height = max(b for _, b in left.outline) - min(b for _, b in left.outline)
    assert len(gussets) == 4
    assert wall.corners == pytest.approx(len(gussets) * moment / height, rel=1e-9)


def test_ties_of_the_roof_share_the_lift() -> None:
    """683 N of lift by hand (test_check_stability) less 0.6 of the roof's weight, twice the even share."""
    case = hand_shelter.case()
    row = roof_tie_checks(case)[0]
    count = int(
        sum(f.amount for f in case.design.fixings if f.bag == "roof ties" and f.key == "angle_bracket")
    )
    mass = sum(p.mass_kg for p in case.design.parts if p.face == "ROOF")
    assert row.demand == pytest.approx(2 * (683.1 - 0.6 * mass * 9.80665) / count, rel=5e-3)
    assert row.utilisation == pytest.approx(row.demand / row.capacity)


def test_rows_tell_which_walls_and_how() -> None:
    rows = racking_checks(hand_shelter.case())
    assert [r.key for r in rows] == ["racking-front-back", "racking-left-right"]
    for row in rows:
        assert row.working[-1].value == pytest.approx(row.capacity)
        assert row.demand / row.capacity == pytest.approx(row.utilisation)
