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
import re
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.model import Brief, Window
from enclosure.checks.span import span_limits
from enclosure.errors import DesignError, EnclosureError, RangeError
from enclosure.shape.base import base_ring
from enclosure.shape.build import build
from enclosure.shape.fit import Climate, ceil_to, fit_axis, floor_to, thermal_movement
from enclosure.shape.hardware import along, bolts_in_corner, spread
from enclosure.shape.lifting import hands_for, most_lifted
from enclosure.shape.limits import SpanLimits
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Design, Prism, SheetCut, StickCut
from enclosure.shape.order import in_order
from enclosure.shape.ridge import _ridge_timber
from enclosure.shape.solid_math import corners, overlap_depth
from enclosure.shape.space import extent, ordered
from tests.shelters import briefs, changed, design_of, shipped, shipped_design

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
    # Common practice, no source: two up to 1.2 m, one more per started 600 mm.
    assert bolts_in_corner(height) == bolts


def test_places_along_a_length() -> None:
    assert spread(0, 10, 3) == [0, 5, 10]
    assert along(60, 300, 40) == [30]
    gaps = along(1000, 300, 40)
    assert gaps[0] == 40
    assert gaps[-1] == 960
    assert max(b - a for a, b in itertools.pairwise(gaps)) <= 300


@pytest.mark.parametrize(("mass", "hands"), [(24.9, 1), (25.1, 2), (40.0, 2), (41.0, 3), (100.0, 6)])
def test_hands_for_a_lift(mass: float, hands: int) -> None:
    people = shipped()[0].people
    assert hands_for(mass, people) == hands


def test_a_longer_bay_is_refused_with_a_way_out() -> None:
    brief = changed(shipped()[0], plant={"spread_x_mm": 2600.0}, frame={"bays": {"back": 1}})
    with pytest.raises(DesignError) as caught:
        design_of(brief)
    assert "bays" in caught.value.hint


def test_a_screwed_board_moves_with_the_whole_swing_of_the_year() -> None:
    """Foam 70e-6/K between the coldest and the hottest: by hand, not from the way in which it was cut."""
    design = shipped_design("potted-lemon")
    boards = [p for p in design.parts if p.kind == "panel" and p.fit is not None and p.material == "foam-25"]
    assert len(boards) == 6
    for board in boards:
        assert isinstance(board.cut, SheetCut)
        assert board.fit is not None
        swing = board.fit.hottest_degc - board.fit.coldest_degc
        assert board.fit.movement_mm[0] == pytest.approx(70e-6 * board.cut.width_mm * swing, abs=1e-3)
        assert board.fit.movement_mm[1] == pytest.approx(70e-6 * board.cut.height_mm * swing, rel=0.01)
        growth = 70e-6 * board.cut.width_mm * (board.fit.hottest_degc - board.fit.cut_degc) / 2
        assert board.fit.needed_clearance_mm[0] == pytest.approx(growth + 1.0, abs=0.01)  # half of 2 mm to screw by
        assert board.fit.clearance_mm[0] >= board.fit.needed_clearance_mm[0]


def test_more_bays_than_there_is_room_for_are_refused_with_a_number_that_fits() -> None:
    brief = changed(shipped()[0], frame={"bays": {"front": 30}})
    with pytest.raises(DesignError) as caught:
        design_of(brief)
    assert "30 bays leave" in caught.value.message
    fewer = int(caught.value.hint.split("frame.bays.front = ")[1].split(")")[0])
    assert design_of(changed(shipped()[0], frame={"bays": {"front": fewer}})).frames


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


# ---- anchors -------------------------------------------------------------------------------------


def anchored(base: Brief | None = None, **asked: object) -> Design:
    """The fern's brief with anchors of its own."""
    table = {"posts": 4, "depth_mm": None, "ties": "both", "stakes": 0, "wire_slope_deg": 45.0}
    return design_of(changed(base or shipped()[0], anchors=table | asked))


def test_posts_by_hand(fern: Design) -> None:
    """Four posts 150 mm from the corners of the sides, clear of skin and track by 50 mm; ties at 300 mm and 3/4."""
    design = anchored(posts=4)
    wide, deep = design.outside_mm[:2]
    tracks = [t for t in shipped()[2].tracks.values() if 10.0 <= t.slot_width_mm <= 12.5]
    out = max(t.slot_width_mm + 2 * t.flange_mm for t in tracks if t.kind in ("edge", "joiner"))
    found = [(a.x_mm, a.y_mm) for a in design.anchors]
    away = -found[0][0]
    assert away == pytest.approx(out + 50.0, abs=1e-6)
    assert found == [
        (-away, 150.0),
        (pytest.approx(wide + away), 150.0),
        (pytest.approx(wide + away), pytest.approx(deep - 150.0)),
        (-away, pytest.approx(deep - 150.0)),
    ]
    tied = [(0.0, 150.0), (wide, 150.0), (wide, deep - 150.0), (0.0, deep - 150.0)]
    assert [a.frame_mm for a in design.anchors] == tied
    low, high = design.anchors[0].tie_heights_mm
    assert low == 300.0
    eave = min(b for f in design.frames if f.face == "BACK" for _, b in f.outline if b > 1000.0)
    assert high == pytest.approx(0.75 * eave, abs=5.0)


def test_stakes_by_hand() -> None:
    """Twelve stakes at 30 deg: h + ring over tan 30 from the corner, square to both walls and along the diagonal."""
    design = anchored(posts=0, stakes=12, wire_slope_deg=30.0, stake_depth_mm=900.0)
    ring = design.base.brick_mm[2]
    assert len(design.anchors) == 12
    for one in design.anchors:
        height = one.tie_heights_mm[0]
        run = math.dist((one.x_mm, one.y_mm), one.frame_mm)
        assert run == pytest.approx((height + ring) / math.tan(math.radians(30.0)), rel=1e-5)
        assert one.kind == "stake"
        assert one.depth_mm == 900.0
        assert one.ground_mm == -ring
    assert len({(a.x_mm, a.y_mm) for a in design.anchors}) == 12


def test_stakes_are_counted_with_their_ropes() -> None:
    """Rope: the straight run from eye to ground, and 0.6 m for the two loops."""
    design = anchored(posts=2, stakes=8)
    bag = {f.key: f for f in design.fixings if f.bag == "anchors"}
    stakes = [a for a in design.anchors if a.kind == "stake"]
    assert (bag["post"].amount, bag["stake"].amount, bag["eye_bolt"].amount) == (2, 8, 8)
    assert (bag["tensioner"].amount, bag["rope_grip"].amount) == (8, 32)
    run = sum(math.dist((a.x_mm, a.y_mm, a.ground_mm), (*a.frame_mm, a.tie_heights_mm[0])) for a in stakes)
    assert bag["wire_rope"].amount == pytest.approx(run / 1000 + 8 * 0.6, abs=1e-3)
    words = " ".join(s.title + s.text for s in design.steps)
    assert "8 stakes" in words
    assert "slanting wire" in words
    plain = anchored(posts=4)
    assert not {f.key for f in plain.fixings} & {"stake", "wire_rope", "eye_bolt"}


def test_posts_behind_do_not_stand_in_the_way_of_the_body_slid_in_from_there() -> None:
    """An odd number puts one post behind; the step of the slid body says that it comes last."""
    for posts, said in ((5, True), (6, False)):
        brief = changed(shipped()[0], people={"count": 4})
        design = anchored(brief, posts=posts)
        assert design.raising_method == "slide"
        body = next(step for step in design.steps if step.key == "body")
        assert ("go in only when it stands" in body.text) == said
        assert any(a.tied_to == "BACK" for a in design.anchors) == said


def test_screws_of_the_diagonals_follow_the_brief() -> None:
    counts = []
    for screws in (2, 5):
        design = design_of(changed(shipped()[0], frame={"brace_screws": screws, "diagonal": "2x3"}))
        diagonals = [p for p in design.parts if p.kind == "diagonal"]
        bag = next(f for f in design.fixings if f.key == "frame_screw" and f.bag == "gussets and diagonals")
        counts.append(bag.amount)
        for part in diagonals:
            low = [p for s in part.solids for p in corners(s)]
            near = [p for p in bag.positions if min(math.dist(p, q) for q in low) < 120.0]
            assert len(near) >= 2 * screws
    assert counts[1] - counts[0] == 2 * 3 * len(diagonals)


def test_too_many_screws_for_a_lath_are_said() -> None:
    crowded = design_of(changed(shipped()[0], frame={"brace_screws": 6, "diagonal": "1x2"}))
    assert any("6 screws at each end" in w for w in crowded.warnings)
    assert not any("screws at each end" in w for w in shipped_design().warnings)


@settings(max_examples=15, deadline=None)
@given(
    briefs(),
    st.sampled_from([0, None, 2, 3, 4, 5, 6, 7]),
    st.sampled_from([0, 4, 8, 12]),
    st.sampled_from([20.0, 45.0, 70.0]),
)
def test_no_anchor_meets_a_solid_or_the_bed_or_the_opening(
    brief: Brief, posts: int | None, stakes: int, slope: float
) -> None:
    if posts == 0 and stakes == 0:
        stakes = 4
    try:
        design = anchored(brief, posts=posts, stakes=stakes, wire_slope_deg=slope)
    except EnclosureError:
        return
    wide, deep = design.outside_mm[:2]
    ring = max(0.0, (design.base.ring_length_mm - wide) / 2)
    half = 18.0  # half of a 1-3/8 in tee
    for one in design.anchors:
        assert not (-ring - half < one.x_mm < wide + ring + half and -ring - half < one.y_mm < deep + ring + half)
        assert not (half < one.x_mm < wide - half and one.y_mm < 0), "in front of the opening"
        top = max(one.tie_heights_mm) if one.kind == "post" else 100.0
        square = ((-half, -half), (half, -half), (half, half), (-half, half))
        body = Prism((one.x_mm, one.y_mm, -1200.0), (1.0, 0.0, 0.0), (0.0, 1.0, 0.0), square, 1200.0 + top)
        for part in design.parts:
            for solid in part.solids:
                assert overlap_depth(body, solid) <= 1e-3, (one.mark, part.mark)
    marks = [one.mark for one in design.anchors]
    assert len(set(marks)) == len(marks)


@pytest.mark.parametrize("count", [1, 20])
def test_posts_that_find_no_room_are_refused_with_a_way_out(count: int) -> None:
    with pytest.raises(DesignError, match=f"{count} anchor posts were asked for") as caught:
        anchored(posts=count)
    assert "anchors.stakes" in caught.value.hint


def test_a_stock_list_without_stakes_is_named() -> None:
    brief, site, stock = shipped()
    poor = stock.model_copy(update={"hardware": {k: v for k, v in stock.hardware.items() if k != "stake"}})
    asked = changed(brief, anchors={"posts": 0, "stakes": 4})
    with pytest.raises(DesignError, match="no hardware called stake"):
        build(asked, site, poor, span_limits(brief, site, stock))


@pytest.mark.parametrize("name", ["tree-fern", "potted-lemon", "broad-fig", "olive-glass", "banana-clump"])
def test_a_corner_bolt_runs_through_the_middle_of_the_lap_of_two_stiles(name: str) -> None:
    """Half the narrower stile from the outer face: at least 1.5 bolts from every edge (NDS 12.5.1, from memory)."""
    design = shipped_design(name)
    bolts = next(f for f in design.fixings if f.bag == "corner bolts" and f.key.startswith("bolt"))
    stiles = [part.solids[0] for part in design.parts if part.role == "stile" and part.face != "ROOF"]
    boxes = [[(min(c[i] for c in corners(s)), max(c[i] for c in corners(s))) for i in range(3)] for s in stiles]
    for x, y, z in bolts.positions:
        held = [
            box
            for box in boxes
            if box[0][0] < x < box[0][1] and box[2][0] < z < box[2][1] and box[1][0] - 80 < y < box[1][1] + 80
        ]
        assert len(held) == 2
        assert all(min(x - box[0][0], box[0][1] - x) >= 1.5 * 8 for box in held)
        assert min(box[0][1] - box[0][0] for box in held) / 2 == pytest.approx(
            min(x, design.outside_mm[0] - x), abs=0.01
        )


@pytest.mark.parametrize("name", ["tree-fern", "potted-lemon", "broad-fig", "olive-glass", "banana-clump"])
def test_the_ends_of_a_diagonal_are_cut_as_they_stand(name: str) -> None:
    """Each end of the solid makes with a square cut the angle that the cut list gives."""
    for part in shipped_design(name).parts:
        if part.kind != "diagonal":
            continue
        assert isinstance(part.cut, StickCut)
        outline = part.solids[0].outline
        edges = [(a, b) for a, b in zip(outline, [*outline[1:], outline[0]], strict=True)]
        ways = sorted(edges, key=lambda edge: -math.dist(*edge))
        along = math.degrees(math.atan2(ways[0][1][1] - ways[0][0][1], ways[0][1][0] - ways[0][0][0]))
        assert len(edges) == 4
        found = []
        for a, b in ways[2:]:
            turn = (math.degrees(math.atan2(b[1] - a[1], b[0] - a[0])) - along) % 180
            found.append(abs(90 - turn))
        wanted = sorted(abs(angle) for angle in (part.cut.start_deg, part.cut.end_deg))
        assert sorted(found) == pytest.approx(wanted, abs=0.01), part.mark


def test_a_corner_cut_off_by_a_hair_stays_a_corner() -> None:
    """A clip may leave two points a few ten-thousandths apart: dropping both would make a triangle of a strip."""
    strip = [(0.0, 0.0), (40.0, 0.0), (40.0, 999.9996), (39.9996, 1000.0), (0.0, 1000.0)]
    found = ordered(strip)
    assert len(found) == 4
    assert extent(found) == pytest.approx((0, 0, 40, 1000), abs=0.001)


def test_the_brace_of_a_gable_wall_is_as_wide_at_its_head_as_at_its_foot() -> None:
    brief, _, _ = shipped()
    low = changed(
        brief,
        roof={"kind": "gable", "ridge": "x", "fall_deg": 10.0},
        plant={"height_mm": 500.0, "spread_x_mm": 300.0, "spread_y_mm": 300.0, "growth_height_mm": 0.0},
        frame={"section": "2x2"},
        anchors={"posts": 4},
    )
    for part in design_of(low).parts:
        if part.kind == "diagonal":
            assert len(part.solids[0].outline) >= 4, part.mark


def _under_a_low_ridge(fall_deg: float) -> Design:
    """A small shelter, longer than wide, whose ridge has little room over the clear box."""
    brief, _, _ = shipped()
    return design_of(
        changed(
            brief,
            roof={"kind": "gable", "ridge": "x", "fall_deg": fall_deg},
            plant={"spread_x_mm": 700.0, "spread_y_mm": 60.0, "growth_spread_mm": 0.0},
            clearance={"side": Window(least_mm=110.0, most_mm=150.0)},
            frame={"section": "2x2", "roof_section": None},
            anchors={"posts": 2},
        )
    )


def test_a_low_ridge_takes_a_less_deep_board() -> None:
    """By hand: room = (half of the outside depth - half the ridge - wall) x tan 12 + roof member x cos 12."""
    design = _under_a_low_ridge(12.0)
    (ridge,) = [part for part in design.parts if part.role == "ridge"]
    wall = design.frames[0].depth_mm
    clear_deep = design.clear_mm[1]
    room = (clear_deep / 2 - 19.05) * math.tan(math.radians(12)) + wall * math.cos(math.radians(12))
    _, low, _, high = extent(ridge.solids[0].outline)
    assert high - low <= room + 0.01 < 88.9
    assert low >= design.clear_mm[2] - 0.01
    assert high - design.clear_mm[2] == pytest.approx(room, abs=0.01)


@pytest.mark.parametrize(
    ("depth", "room", "taken"), [(60.0, 70.0, "2x3"), (60.0, 63.5, "2x3"), (60.0, 90.0, "2x4"), (80.0, 88.9, "2x4")]
)
def test_the_ridge_is_the_deepest_board_that_fits(depth: float, room: float, taken: str) -> None:
    """Boards 38.1 mm thick in the shipped list: 38.1, 63.5 and 88.9 mm wide."""
    _, _, stock = shipped()
    assert _ridge_timber(SimpleNamespace(stock=stock), 38.1, depth, room)[1] == taken  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("depth", "room", "way_out"),
    [(60.0, 62.0, r"list a timber 38.1 x 60 to 38.1 x 62.0 mm"), (60.0, 55.0, r"turn the ridge \(roof.ridge\)")],
)
def test_a_roof_too_low_for_any_ridge_board_is_refused_with_the_room_there_is(
    depth: float, room: float, way_out: str
) -> None:
    _, _, stock = shipped()
    with pytest.raises(DesignError, match=rf"the ridge board has {room} mm .* is 63.5 mm wide") as caught:
        _ridge_timber(SimpleNamespace(stock=stock), 38.1, depth, room)  # type: ignore[arg-type]
    assert "more fall (roof.fall)" in caught.value.hint
    assert re.search(way_out, caught.value.hint)


def test_a_wall_narrower_than_its_own_posts_is_refused() -> None:
    """Two stiles of 89 mm need 178 mm; the side frame between front and back would have less."""
    brief, _, _ = shipped()
    narrow = changed(
        brief,
        roof={"kind": "flat", "fall_deg": 0.0},
        plant={"spread_x_mm": 900.0, "spread_y_mm": 60.0, "growth_spread_mm": 0.0},
        clearance={"side": Window(least_mm=20.0, most_mm=30.0)},
        frame={"section": "4x4", "roof_section": "2x2", "bays": {"left": 1, "right": 1}},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "film-single"),
        anchors={"posts": 2},
    )
    with pytest.raises(DesignError, match=r"the (left|right) frame is \d+ mm wide and has no room for its 2 uprights"):
        design_of(narrow)


def test_a_board_that_hardly_lies_on_its_timber_is_refused() -> None:
    """Foam boards meet over a member of 6 mm: 3 mm each, less the joint and what the cold takes."""
    brief, _, _ = shipped()
    thin = changed(
        brief,
        frame={"section": "lath", "on_edge": True, "roof_section": "2x2"},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "foam-25"),
    ).model_copy(update={"vent": None})
    with pytest.raises(DesignError, match=r"the board lies only -?\d\.\d mm over its \d+(\.\d+)? mm timber") as caught:
        design_of(thin)
    assert "frame.section" in caught.value.hint


def test_a_corner_too_small_for_a_gusset_gets_an_angle() -> None:
    """A quarter of a side of some 300 mm is no gusset of 60 mm; the steel angles of its four corners take its place."""
    brief, _, _ = shipped()
    small = changed(
        brief,
        plant={"height_mm": 300.0, "spread_x_mm": 150.0, "spread_y_mm": 60.0, "growth_height_mm": 0.0,
               "growth_spread_mm": 0.0, "crown_mm": 0.0},
        clearance={"side": Window(least_mm=20.0, most_mm=30.0), "top_mm": 10.0},
        roof={"kind": "flat", "fall_deg": 0.0},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "film-single"),
        anchors={"posts": 2},
    ).model_copy(update={"vent": None})  # fmt: skip
    design = design_of(small)
    left = next(frame for frame in design.frames if frame.face == "LEFT")
    _, _, wide, high = extent(left.outline)
    assert min(wide, high) / 4 < 60.0
    assert not [part for part in design.parts if part.kind == "gusset" and part.face == "LEFT"]


def test_a_batten_narrower_than_its_member_is_as_long_as_it_lies() -> None:
    """Its length is its own greatest length, rounded down once."""
    brief, _, _ = shipped()
    film = changed(
        brief,
        roof={"kind": "gable", "ridge": "y", "fall_deg": 25.5},
        frame={"section": "2x3", "on_edge": False, "roof_section": None},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "film-single"),
        papers={"units": "metric"},
    ).model_copy(update={"vent": None})
    battens = [part for part in design_of(film).parts if part.kind == "batten" and part.face == "FRONT"]
    sloped = [part for part in battens if isinstance(part.cut, StickCut) and abs(part.cut.start_deg) > 1]
    assert sloped
    for part in sloped:
        assert isinstance(part.cut, StickCut)
        p, q = max(
            zip(part.solids[0].outline, [*part.solids[0].outline[1:], part.solids[0].outline[0]], strict=True),
            key=lambda edge: math.dist(*edge),
        )
        along = ((q[0] - p[0]) / math.dist(p, q), (q[1] - p[1]) / math.dist(p, q))
        reach = [a * along[0] + b * along[1] for a, b in part.solids[0].outline]
        assert 0 <= max(reach) - min(reach) - part.cut.length_mm < 1.0
