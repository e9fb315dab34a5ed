"""The whole body: a reference shelter, one whole shelter by hand, monotony, units.

A hand calculation of the shelter in `hand_shelter` (10 mm twin-wall, 2x3 on edge, 80 km/h):

    sizes        clear 900 + 2*100 = 1100 by 800 + 2*100 = 1000, high 1800 + 100 = 1900 mm
                 outside 1100 + 2*63.5 = 1227 by 1000 + 2*63.5 = 1127 mm
                 front wall higher by (1127 - 63.5) tan 10 deg = 187.5: 2087.5 mm
    wind         v = 80/3.6 = 22.22 m/s, q = 0.613 * 22.22² = 302.7 Pa
    from back    area = 1.227 * (2.0875 + 0.0635 roof frame) = 2.639 m²; h/b = 2.151/1.127 = 1.909
                 Cf = 1.3 + 0.1 (1.909 - 1)/6 = 1.3151; F = 302.7 * 1.3151 * 2.639 = 1050.7 N at 1.0755 m
    roof         1.2632 * 1.2256 * cos 10 deg = 1.5247 m² in plan; h/L > 1, so -1.3 and +0.18 inside
                 lift = 302.7 * 1.48 * 1.5247 = 683.1 N
    weight       82 kg (summed from the parts): 0.6 * 82 * 9.807 = 482 N, 0.552 m behind the front edge
    tipping      about the front edge: 1050.7*1.0755 + 683.1*0.5635 = 1130.0 + 384.9 = 1514.9 N m
                 against weight 482*0.5524 = 266 N m
    posts        garden bearing 750 psf / 6 = 125 psf = 5.985 kPa on 0.14 m * (1.2 - 0.3) m = 754.1 N each
                 two at y = 0.977, two at 0.150: 2 * 754.1 * 1.127 = 1699.7 N m
    utilisation  1514.9 / (266 + 1699.7) = 0.771
    mullion      carries (1227 - 38.1)/2 = 594.5 mm of skin over 2087.5 - 2*38.1 = 2011.3 mm;
                 area 1.196 m²: GCp = -1.4 + 0.6 lg(1.196/0.929)/lg(46.45/0.929) = -1.361, +0.18 inside
                 w = 302.7 * 1.541 * 0.5945 = 277.4 N/m; M = 277.4 * 2.0113²/8 = 140.3 N m
                 S = 38.1 * 63.5²/6 = 25605 mm³; fb = 5.48 MPa
                 Fb' = 675 psi * 1.1 * 1.6 = 1188 psi = 8.19 MPa (CM = 1: 675 * 1.1 < 1150 psi): 0.669
    rafter       snow 0.8 (0.8 * 1.9152 + 0.4) = 1.5457 kPa of plan, * cos² 10 deg = 1499 Pa
                 with 81 Pa of its own: 1580 Pa * 0.6135 m = 969 N/m over 1000/cos 10 deg = 1015 mm
                 M = 969 * 1.0154²/8 = 124.9 N m; fb = 4.88 MPa
                 Fb' = 675 * 1.1 * 1.15 = 853.9 psi = 5.887 MPa: 0.83
"""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.checks.anchor_demand import ratios, survey
from enclosure.checks.anchor_rows import grip_of, standing
from enclosure.checks.blows import blows
from enclosure.checks.case import case_for, standing_mass
from enclosure.checks.equilibrium import Answer
from enclosure.checks.members import member_checks
from enclosure.checks.model import Check
from enclosure.checks.panel_rows import panel_checks
from enclosure.checks.racking import racking_checks
from enclosure.checks.ranges import GRAVITY
from enclosure.checks.span import span_limits
from enclosure.checks.stability import lee_point, stability_checks, tipping
from enclosure.checks.stand import standing_checks
from enclosure.checks.wind import body_coefficient, scaled, wind_set
from enclosure.checks.wind_pressure import (
    DIRECTIONALITY_SQUARE_TOWER,
    GUST_EFFECT_RIGID,
    asce_velocity_pressure,
    gust_pressure,
)
from enclosure.errors import EnclosureError
from enclosure.shape.build import build
from enclosure.site.model import Wind
from tests import hand_shelter
from tests.shelters import briefs, changed, design_of, shipped

WIDTH, HEIGHT = 1.22, 2.44


def row(rows: tuple[Check, ...], key: str) -> Check:
    return next(r for r in rows if r.key == key)


@pytest.mark.published(
    source="IBC 1605.3.1, text opened",
    where="allowable stress combination for uplift and overturning",
    printed="0.6 D + 0.6 W",
)
def test_share_of_the_weight() -> None:
    asce = wind_set(
        hand_shelter.place().model_copy(
            update={"wind": Wind.model_validate({"route": "asce7", "speed": "105 mph", "exposure": "C"})}
        ),
        2.5,
    )
    assert (asce.dead, asce.stability) == (0.6, 0.6)


@pytest.mark.regression
def test_reference_shelter() -> None:
    """1.22 x 1.22 x 2.44 m, 60 kg, 80 km/h, roof lift left out: 1186 N, 1447 N m, 1010 N, 1045 N."""
    wind = wind_set(hand_shelter.place(), HEIGHT)
    face = WIDTH * HEIGHT
    drag = gust_pressure(80 / 3.6) * body_coefficient(wind, HEIGHT, WIDTH) * face
    assert drag == pytest.approx(1186, abs=1)
    assert drag * HEIGHT / 2 == pytest.approx(1447.5, abs=1)
    dead = 0.6 * 60 * GRAVITY
    assert (drag * HEIGHT / 2 - dead * WIDTH / 2) / WIDTH == pytest.approx(1010, abs=1.5)
    assert drag - 0.4 * dead == pytest.approx(1045, abs=1)
    lift = gust_pressure(80 / 3.6) * 1.48 * WIDTH**2
    assert lift == pytest.approx(666.8, abs=0.2)


@pytest.mark.regression
def test_reference_shelter_by_the_american_road() -> None:
    q = asce_velocity_pressure(0.85, 1.0, DIRECTIONALITY_SQUARE_TOWER, 80 / 3.6)
    assert q * GUST_EFFECT_RIGID * 1.3167 * WIDTH * HEIGHT == pytest.approx(771.5, abs=0.5)


@pytest.mark.regression
def test_one_whole_shelter_by_hand() -> None:
    """The numbers of the calculation at the head of this file."""
    case = hand_shelter.case()
    assert case.design.outside_mm[:2] == pytest.approx((1227.0, 1127.0), abs=0.1)
    mass = standing_mass(case.design)
    assert mass == pytest.approx(82.0, abs=4.0)
    back = next(b for b in blows(case) if b.name == "back")
    assert back.drag_n == pytest.approx(1050.7, rel=2e-3)
    assert back.arm_m == pytest.approx(1.0755, abs=1e-3)
    assert back.lift_n == pytest.approx(683.1, rel=2e-3)
    found, grip, _ = standing(case)
    tips, weight, anchors = tipping(back, lee_point(case, back), grip)
    assert tips == pytest.approx(1514.9, rel=2e-3)
    assert grip.hold.pull_n == pytest.approx(754.1, rel=1e-3)
    assert anchors == pytest.approx(1699.7, rel=2e-3)
    assert weight == pytest.approx(0.6 * mass * GRAVITY * 0.5524, rel=0.02)
    over = row(stability_checks(case, found, grip), "wind-overturning")
    assert over.utilisation == pytest.approx(1514.9 / (266 + 1699.7), rel=0.02)
    members = member_checks(case)
    mullion = row(members, "member-mullion")
    assert mullion.demand == pytest.approx(5.48, abs=0.02)
    assert mullion.capacity == pytest.approx(8.19, abs=0.01)
    rafter = row(members, "member-rafter")
    assert rafter.demand == pytest.approx(4.88, abs=0.06)
    assert rafter.capacity == pytest.approx(5.887, abs=0.005)


def test_the_lee_side_is_where_the_wind_goes() -> None:
    case = hand_shelter.case()
    corners = {b.name: lee_point(case, b) for b in blows(case)}
    assert corners["front"][1] == pytest.approx(case.depth_m)
    assert corners["back"][1] == 0.0
    assert corners["left"][0] == pytest.approx(case.width_m)
    assert corners["right"][0] == 0.0
    assert corners["front left"] == pytest.approx((case.width_m, case.depth_m))


def windier(gust: str) -> tuple[Check, ...]:
    site = hand_shelter.place().model_copy(
        update={"wind": Wind.model_validate({"route": "gust", "gust": gust})}
    )
    design = hand_shelter.design()
    return standing_checks(design, hand_shelter.brief(), site, hand_shelter.stock(), ways_out=False)


def test_more_wind_never_lowers_a_utilisation() -> None:
    """Same shelter, 60 to 120 km/h; anchors, whose depth is chosen anew each time, have their own test."""
    before: dict[str, float] = {}
    for kmh in (60, 70, 80, 95, 120):
        now = {
            c.key: c.utilisation
            for c in windier(f"{kmh} km/h")
            if not c.key.startswith(("anchor", "wind", "post", "tie"))
        }
        for key, use in before.items():
            assert now[key] >= use - 1e-9, key
        before = now


def test_more_wind_never_lowers_what_the_anchors_bear_at_one_depth() -> None:
    case = hand_shelter.case()
    before: dict[str, float] = {}
    for share in (0.6, 1.0, 1.5, 2.2):
        windy = replace(case, wind=scaled(case.wind, share))
        found = survey(windy)
        grip = grip_of(windy, 0.9)
        now = {r.kind: r.utilisation for r in ratios(found, grip.ground, 0.9, grip.hold)}
        now |= {c.key: c.utilisation for c in stability_checks(windy, found, grip)}
        for key, use in before.items():
            assert now[key] >= use - 1e-9, key
        before = now


def test_more_snow_never_lowers_a_utilisation() -> None:
    before: dict[str, float] = {}
    for kpa in (0.5, 1.0, 2.0, 4.0):
        site = hand_shelter.place().model_copy(update={"snow_ground_kpa": kpa})
        case = case_for(hand_shelter.design(), hand_shelter.brief(), site, hand_shelter.stock())
        now = {c.key: c.utilisation for c in (*panel_checks(case), *member_checks(case))}
        for key, use in before.items():
            assert now[key] >= use - 1e-9, key
        before = now


def test_feet_and_metres_give_the_same_utilisations() -> None:
    """The printed units decide only how parts are rounded; here little is left to round."""
    base = changed(
        hand_shelter.brief(),
        plant={"spread_x_mm": 36 * 25.4, "spread_y_mm": 32 * 25.4, "height_mm": 70 * 25.4},
        clearance={"side": hand_shelter.fixed(4 * 25.4), "top": hand_shelter.fixed(4 * 25.4)},
    )
    rows = []
    for units in ("inch", "metric"):
        brief = changed(base, papers={"units": units})
        limits = span_limits(brief, hand_shelter.place(), hand_shelter.stock())
        design = build(brief, hand_shelter.place(), hand_shelter.stock(), limits)
        rows.append(
            {
                c.key: c.utilisation
                for c in standing_checks(
                    design, brief, hand_shelter.place(), hand_shelter.stock(), ways_out=False
                )
            }
        )
    assert rows[0].keys() == rows[1].keys()
    for key, use in rows[0].items():
        if key.startswith("thermal"):
            continue  # the gap itself is rounded to 1/16 in or to 1 mm
        assert rows[1][key] == pytest.approx(use, rel=0.02, abs=0.005), key


def test_the_site_file_reads_feet_and_metres_alike() -> None:
    """80 km/h, 49.71 mph and 22.222 m/s are one wind; 40 psf and 1.915 kPa one snow."""
    uses = [
        {c.key: c.utilisation for c in windier(gust)}
        for gust in ("80 km/h", "49.70969537898672 mph", "22.22222222222222 m/s")
    ]
    for other in uses[1:]:
        for key, use in uses[0].items():
            assert other[key] == pytest.approx(use, rel=1e-5), key


@settings(max_examples=10)
@given(briefs())
def test_every_random_shelter_gets_a_whole_sheet(brief: object) -> None:
    try:
        design = design_of(brief)  # type: ignore[arg-type]
    except EnclosureError:
        return
    _, site, stock = shipped()
    rows = standing_checks(design, brief, site, stock, ways_out=False)  # type: ignore[arg-type]
    keys = [r.key for r in rows]
    assert len(keys) == len(set(keys))
    assert {"wind-uplift", "wind-sliding", "wind-overturning", "member-stile", "racking-front-back"} <= set(
        keys
    )
    for one in rows:
        assert 0.0 <= one.utilisation <= 99.0
        assert math.isfinite(one.demand)
        assert all(math.isfinite(line.value) for line in one.working)
        assert one.clause
        assert one.working
        assert one.assumptions or one.key.startswith("handling")


@given(st.floats(0.3, 0.9))
@settings(max_examples=5)
def test_less_wind_for_the_pair_of_walls(share: float) -> None:
    case = hand_shelter.case()
    calmer = replace(case, wind=scaled(case.wind, share))
    for a, b in zip(racking_checks(calmer), racking_checks(case), strict=True):
        assert a.utilisation == pytest.approx(b.utilisation * share, rel=1e-9)


def test_an_answer_that_was_not_found_is_never_taken_for_zero() -> None:
    assert Answer((), False, float("inf")).forces == ()
