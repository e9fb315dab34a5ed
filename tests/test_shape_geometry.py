"""A tree fern worked by hand, and single rules of the shape.

The hand calculation, in inches, of a tree fern 75 high and 30 by 30 across (`fern`):

    clear width  = spread 30 + 5 winters x 0 + 2 x 4 clearance               = 38
    clear depth  = the same                                                  = 38
    clear height = crown 3 + plant 75 + 5 x 1 + top 4 - brick 2 1/4          = 84 3/4
    frame 2x2 is 1 1/2 deep and 1 1/2 wide:  outside 38 + 3                  = 41 x 41
    roof falls to the back, 10 deg, tan = 0.176327
      underside over the inside face of the back wall                        = 84 3/4
      over the outside face of the back wall  84.75 - 1.5 x 0.176327         = 84.4855
      over the outside face of the front wall 84.75 + 39.5 x 0.176327        = 91.7149
"""

from __future__ import annotations

import itertools
import math

import pytest

from enclosure.errors import DesignError, RangeError
from enclosure.shape.base import base_ring
from enclosure.shape.fit import Climate, ceil_to, fit_axis, floor_to, thermal_movement
from enclosure.shape.hardware import along, bolts_in_corner, spread
from enclosure.shape.lifting import hands_for, most_lifted
from enclosure.shape.limits import SpanLimits
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, StickCut
from enclosure.shape.order import in_order
from enclosure.shape.space import extent
from tests.shelters import changed, design_of, shipped

INCH = 25.4
TAN_10 = math.tan(math.radians(10))


@pytest.fixture(scope="module")
def fern() -> Design:
    from enclosure.brief.model import Window

    brief = changed(
        shipped()[0],
        plant={
            "height_mm": 75 * INCH,
            "spread_x_mm": 30 * INCH,
            "spread_y_mm": 30 * INCH,
            "crown_mm": 3 * INCH,
            "growth_height_mm": INCH,
            "growth_spread_mm": 0.0,
        },
        clearance={
            "side": Window.model_construct(least_mm=4 * INCH, most_mm=4 * INCH),
            "top": Window.model_construct(least_mm=4 * INCH, most_mm=4 * INCH),
        },
        roof={"kind": "mono", "fall_deg": 10.0, "falls_to": "back"},
        frame={"section": "2x2", "roof_section": "2x2", "on_edge": True, "levels": 1},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "twin-wall-10"),
    )
    return design_of(brief.model_copy(update={"winters": 5}))


def sticks(design: Design, role: str, face: str) -> list[StickCut]:
    cuts = [p.cut for p in design.parts if p.role == role and p.face == face and p.kind == "member"]
    return [cut for cut in cuts if isinstance(cut, StickCut)]


def test_clear_box_by_hand(fern: Design) -> None:
    assert fern.clear_mm == pytest.approx((38 * INCH, 38 * INCH, 84.75 * INCH))
    assert fern.outside_mm[:2] == pytest.approx((41 * INCH, 41 * INCH))


def test_heights_of_the_walls_by_hand(fern: Design) -> None:
    tops = {f.face: extent(f.outline)[3] / INCH for f in fern.frames if not f.face.startswith("ROOF")}
    assert tops["BACK"] == pytest.approx(84.4855, abs=1e-3)
    assert tops["FRONT"] == pytest.approx(91.7149, abs=1e-3)
    # Side walls begin at the inside faces: 84.75 at the back, 84.75 + 38 x 0.176327 = 91.4504 at the front.
    assert tops["LEFT"] == pytest.approx(91.4504, abs=1e-3)
    assert tops["RIGHT"] == pytest.approx(91.4504, abs=1e-3)


def test_members_by_hand(fern: Design) -> None:
    # The front sill lifts out and stands between the stiles: 41 - 2 x 1 1/2 = 38; the others run through.
    assert [cut.length_mm / INCH for cut in sticks(fern, "sill", "FRONT")] == pytest.approx([38.0])
    assert [cut.length_mm / INCH for cut in sticks(fern, "sill", "BACK")] == pytest.approx([41.0])
    assert [cut.length_mm / INCH for cut in sticks(fern, "sill", "LEFT")] == pytest.approx([38.0])
    # Sloped head of a side: 38 / cos 10 + 1.5 x tan 10 = 38.586 + 0.2645 = 38.851, cut down to 38 13/16.
    (head,) = sticks(fern, "head", "LEFT")
    assert head.length_mm / INCH == pytest.approx(38 + 13 / 16)
    assert (head.start_deg, head.end_deg) == pytest.approx((10.0, -10.0))
    # The heads of front and back are ripped to the fall.
    assert [cut.bevel_deg for cut in sticks(fern, "head", "BACK")] == pytest.approx([10.0], abs=1e-3)
    assert [cut.bevel_deg for cut in sticks(fern, "head", "FRONT")] == pytest.approx([10.0], abs=1e-3)
    # Back stiles: under a head 1 1/2 high at its tallest edge: 84 3/4 - 1 1/2 - 1 1/2 = 81 3/4.
    assert {cut.length_mm / INCH for cut in sticks(fern, "stile", "BACK")} == {81.75}


def test_left_wall_mullions_and_stiles_follow_the_slope(fern: Design) -> None:
    # Long points: 84.75 - 1.5 - 1.5 / cos 10 + 1.5 x tan 10 = 81.991 at the back (cut 81 15/16),
    # 91.4504 - 1.5 - 1.5 / cos 10 = 88.427 at the front (cut 88 3/8).
    lengths = sorted(cut.length_mm / INCH for cut in sticks(fern, "stile", "LEFT"))
    assert lengths == pytest.approx([81 + 15 / 16, 88 + 3 / 8])
    assert all(cut.end_deg == pytest.approx(10.0, abs=0.01) for cut in sticks(fern, "stile", "LEFT"))


def test_panel_of_the_back_by_hand() -> None:
    """One axis: webs 600 mm apart, alpha 65e-6, cut at 20, hottest 50, coldest -30, tolerance 1 mm.

    needed = 0.5 x 65e-6 x 600 x 30 + 0.5 = 1.085; size = 600 - 2.17 = 597.83, cut down to 597;
    clearance (600 - 597) / 2 = 1.5; shrink 65e-6 x 597 x 50 = 1.940; cover = 30 - (3 + 1.940) = 25.060.
    """
    fit = fit_axis(600.0, 30.0, 65.0, Climate(20.0, 50.0, -30.0), 1.0, 1.0)
    assert fit.size == 597.0
    assert fit.needed == pytest.approx(1.085, abs=1e-4)
    assert fit.clearance == 1.5
    assert fit.cover_cold == pytest.approx(25.060, abs=1e-3)


@pytest.mark.practice(words="3 mm for each metre of polycarbonate; common practice, no source")
def test_expansion_rule_of_the_trade() -> None:
    # facts.md 1.4: the rule stands for a temperature range of about 45 to 50 K.
    assert thermal_movement(1000.0, 65.0, 46.0) == pytest.approx(3.0, abs=0.02)


@pytest.mark.regression
def test_expansion_of_a_tall_panel() -> None:
    # facts.md 1.4, our arithmetic: 2.4 m over 60 K moves 9.4 mm free, relative to aluminium (23e-6) 6.0 mm.
    assert thermal_movement(2400.0, 65.0, 60.0) == pytest.approx(9.36)
    assert thermal_movement(2400.0, 65.0 - 23.0, 60.0) == pytest.approx(6.05, abs=0.005)


def test_expansion_refuses_nonsense() -> None:
    with pytest.raises(RangeError):
        thermal_movement(-1.0, 65.0, 10.0)


@pytest.mark.regression
def test_bricks_of_a_ring() -> None:
    """facts.md section 10, our arithmetic: UK brick 215 x 102.5, joint 10, ring 1.6 x 1.6 m: 26.6, so 27."""
    from enclosure.shape.context import Context, section_of
    from enclosure.stock.model import Brick

    brief, site, stock = shipped()
    brick = Brick.model_construct(
        key="uk", name="brick", length_mm=215.0, width_mm=102.5, height_mm=65.0, joint_mm=10.0, price=1.0
    )
    stock = stock.model_copy(update={"bricks": {"modular": brick}})
    section = section_of(stock, "2x2", on_edge=True)
    inside = 1600.0 - 102.5 - section.depth
    from enclosure.shape.clear_box import ClearBox

    ctx = Context(
        brief, site, stock, SpanLimits(), ClearBox(inside, inside, 2000.0, 100.0, 100.0), section, section, 1.0
    )
    ring = base_ring(ctx)
    assert (ring.ring_length_mm, ring.ring_width_mm) == pytest.approx((1600.0, 1600.0))
    assert ring.bricks == 27
    assert ring.bricks_to_buy == 29
    assert ring.diagonal_mm == pytest.approx(1600 * math.sqrt(2), abs=1e-3)


@pytest.mark.parametrize(("height", "bolts"), [(1200, 2), (1201, 3), (1800, 3), (1801, 4), (2400, 4), (2700, 5)])
def test_bolts_of_a_corner(height: float, bolts: int) -> None:
    # CONSTRUCTION section 3: two up to 1.2 m, one more per started 600 mm.
    assert bolts_in_corner(height) == bolts


def test_places_along_a_length() -> None:
    assert spread(0, 10, 3) == [0, 5, 10]
    assert along(60, 300, 40) == [30]
    gaps = along(1000, 300, 40)
    assert gaps[0] == 40
    assert gaps[-1] == 960
    assert max(b - a for a, b in itertools.pairwise(gaps)) <= 300


@pytest.mark.parametrize(("mass", "hands"), [(24.9, 1), (25.1, 2), (40.0, 2), (41.0, 3), (100.0, 5)])
def test_hands_for_a_lift(mass: float, hands: int) -> None:
    people = shipped()[0].people
    assert hands_for(mass, people) == hands


def test_a_longer_bay_is_refused_with_a_way_out() -> None:
    brief = changed(shipped()[0], plant={"spread_x_mm": 2600.0}, frame={"bays": {"back": 1}})
    with pytest.raises(DesignError) as caught:
        design_of(brief)
    assert "bays" in caught.value.hint


def test_marks_sort_as_people_count() -> None:
    assert sorted(["BM10", "BM2", "10", "2", "BG1"], key=sort_key) == ["2", "10", "BG1", "BM2", "BM10"]


def test_one_person_gets_more_tiers_or_lighter_lifts() -> None:
    people = shipped()[0].people
    assert most_lifted(people.model_copy(update={"count": 1})) == 25.0
    assert most_lifted(people.model_copy(update={"count": 2})) == 40.0


def test_a_circle_in_the_order_of_work_is_refused(fern: Design) -> None:
    from dataclasses import replace

    first, second = fern.steps[0], fern.steps[1]
    circle = [replace(first, after=(second.key,)), replace(second, after=(first.key,))]
    with pytest.raises(DesignError, match="circle"):
        in_order(circle)


@pytest.mark.parametrize(
    ("value", "step", "down", "up"),
    [(10.0, 1.0, 10.0, 10.0), (10.4, 1.0, 10.0, 11.0), (25.4, 25.4 / 16, 25.4, 25.4), (25.3, 25.4 / 16, 23.8125, 25.4)],
)
def test_rounding_to_the_cutting_step(value: float, step: float, down: float, up: float) -> None:
    assert floor_to(value, step) == pytest.approx(down)
    assert ceil_to(value, step) == pytest.approx(up)
