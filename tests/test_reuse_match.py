"""Which old parts are kept, cut again, or spare?"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.pipeline.walk import design_from, rebuild
from enclosure.reuse.ends import clear_of_holes
from enclosure.reuse.match import (
    BOLT_MARGIN_MM,
    BOLT_MM,
    HOLE_MARGIN_MM,
    bolt_stretches,
    holes_agree,
    inside,
    match,
    merged,
    usable_rectangle,
    usable_rectangles,
)
from enclosure.shape.model import Design, Hole, Part, Prism, SheetCut, StickCut
from enclosure.stock.model import RackSheet, RackStick

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


def sheet(width: float, height: float, holes: tuple[Hole, ...] = (), outline: object = None) -> SheetCut:
    corners = outline or ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    return SheetCut(width, height, corners, False, holes)  # type: ignore[arg-type]


@pytest.mark.regression
def test_largest_rectangle_beside_a_hole_by_hand() -> None:
    # A panel 600 x 1000 with an 8 mm hole at (300, 900). Sound material begins 4 + 10 mm from its centre,
    # so below it stand 600 x (900 - 14) = 600 x 886; beside it only 286 x 1000.
    found = usable_rectangle(sheet(600, 1000, (Hole(300, 900, 8),)))
    assert found == pytest.approx((0, 0, 600, 886))


@pytest.mark.regression
def test_largest_rectangle_in_a_trapezoid_and_a_triangle() -> None:
    # Trapezoid 500 wide, 800 high at the left and 700 at the right: the rectangle is 500 x 700.
    sloped = sheet(500, 800, outline=((0.0, 0.0), (500.0, 0.0), (500.0, 700.0), (0.0, 800.0)))
    assert usable_rectangle(sloped) == pytest.approx((0, 0, 500, 700))
    # The largest rectangle in a right triangle is half as wide and half as high: 200 x 200 of 400 x 400.
    corner = sheet(400, 400, outline=((0.0, 0.0), (400.0, 0.0), (0.0, 400.0)))
    assert usable_rectangle(corner) == pytest.approx((0, 0, 200, 200))


@pytest.mark.regression
def test_two_sound_pieces_on_either_side_of_a_row_of_holes() -> None:
    """A panel 600 x 1000 with two holes of 8 mm at half its height: sound below 500 - 14 and above 500 + 14."""
    cut = sheet(600, 1000, (Hole(200, 500, 8), Hole(400, 500, 8)))
    assert [pytest.approx(piece) for piece in usable_rectangles(cut)] == [(0, 0, 600, 486), (0, 514, 600, 486)]
    assert usable_rectangles(sheet(600, 1000)) == [(0, 0, 600, 1000)]
    # with 5 mm off every edge
    assert usable_rectangles(cut, 5.0)[1] == pytest.approx((5, 519, 590, 476))


@settings(max_examples=80, deadline=None)
@given(
    st.floats(150, 1200),
    st.floats(150, 2400),
    st.floats(0.3, 1.0),
    st.lists(st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95)), max_size=3),
    st.floats(0, 20),
)
def test_the_rectangle_lies_inside_and_clear_of_holes(
    w: float, h: float, share: float, spots: list[tuple[float, float]], margin: float
) -> None:
    holes = tuple(Hole(x * w, y * h * share, 8.0) for x, y in spots)
    cut = sheet(w, h, holes, ((0.0, 0.0), (w, 0.0), (w, h * share), (0.0, h)))
    found = usable_rectangle(cut, margin)
    if found is None:
        return
    left, low, width, height = found
    for x in (left, left + width):
        for y in (low, low + height):
            assert inside(cut.outline, (x, y))
    for hole in holes:
        dx = max(left - hole.x_mm, 0.0, hole.x_mm - left - width)
        dy = max(low - hole.y_mm, 0.0, hole.y_mm - low - height)
        assert max(dx, dy) >= 4 + HOLE_MARGIN_MM - 1e-3


@pytest.mark.regression
def test_bolt_hole_on_a_stile_by_hand() -> None:
    # A stile 38 x 63, 1500 long, standing at x = 100; a bolt 100 mm above its foot. 20 mm are lost at each
    # end, so the hole lies 80 mm from the usable start; 4.5 + 20 mm on either side are bad.
    solid = Prism(
        (100.0, 0.0, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), ((0, 0), (38, 0), (38, 1500), (0, 1500)), 63.0
    )
    part = Part("BM1", "member", "stile", "BACK", 1, 0, 0, "2x2", StickCut(1500.0), (solid,), 1.0)
    reach = BOLT_MM / 2 + BOLT_MARGIN_MM
    (bad,) = bolt_stretches(part, ((119.0, 30.0, 100.0),), 20.0, 1480.0)
    assert (bad.start_mm, bad.end_mm) == pytest.approx((80 - reach, 80 + reach))
    assert bolt_stretches(part, ((700.0, 30.0, 100.0),), 20.0, 1480.0) == ()


def test_stretches_are_joined() -> None:
    assert merged([(50, 80), (10, 20), (70, 90), (20, 25)]) == [(10, 25), (50, 90)]


@pytest.fixture(scope="module")
def fern() -> Design:
    return design_from(BRIEFS / "tree-fern.toml").design


@pytest.fixture(scope="module")
def taller(fern: Design) -> Design:
    shelter = design_from(BRIEFS / "tree-fern.toml")
    plant = shelter.brief.plant
    brief = shelter.brief.model_copy(
        update={"plant": plant.model_copy(update={"height_mm": plant.height_mm + 200})}
    )
    return rebuild(brief, shelter.site, shelter.stock).design


def test_the_same_shelter_is_kept_whole(fern: Design) -> None:
    found = match(fern, fern)
    assert {(k.old, k.new) for k in found.keeps} == {(p.mark, p.mark) for p in fern.parts}
    assert found.pieces == ()
    assert found.spares == ()


def test_every_old_part_ends_once(fern: Design, taller: Design) -> None:
    found = match(fern, taller)
    ends = [k.old for k in found.keeps] + sorted({p.old for p in found.pieces}) + list(found.spares)
    assert sorted(ends) == sorted(p.mark for p in fern.parts)
    assert len({k.new for k in found.keeps}) == len(found.keeps)
    assert 0 < len(found.keeps) < len(taller.parts)
    for keep in found.keeps:
        before, after = fern.part(keep.old), taller.part(keep.new)
        assert before.material == after.material
        assert holes_agree(before, after)
        if isinstance(before.cut, SheetCut) and isinstance(after.cut, SheetCut):
            # flutes run along the height: a kept panel is never turned
            assert (before.cut.width_mm, before.cut.height_mm) == pytest.approx(
                (after.cut.width_mm, after.cut.height_mm)
            )


def test_pieces_are_no_larger_than_the_old_parts(fern: Design, taller: Design) -> None:
    for item in match(fern, taller, margin_mm=5.0).pieces:
        part = fern.part(item.old)
        if isinstance(item.piece, RackSheet):
            assert isinstance(part.cut, SheetCut)
            assert item.piece.width_mm <= part.cut.width_mm - 10 + 1e-6
            assert item.piece.height_mm <= part.cut.height_mm - 10 + 1e-6
        else:
            assert isinstance(item.piece, RackStick)
            assert isinstance(part.cut, StickCut)
            assert item.piece.length_mm <= part.cut.length_mm + 1e-6
            assert all(0 <= d.start_mm < d.end_mm <= item.piece.length_mm + 1e-6 for d in item.piece.defects)


def test_worn_material_is_spare(fern: Design) -> None:
    found = match(fern, fern, worn=frozenset({"twin-wall-10"}))
    panels = {p.mark for p in fern.parts if p.material == "twin-wall-10"}
    assert panels
    assert set(found.spares) == panels


def test_a_hole_in_the_way_stops_a_keep(fern: Design) -> None:
    panel = next(p for p in fern.parts if p.kind == "panel")
    assert isinstance(panel.cut, SheetCut)
    drilled = replace(panel, cut=replace(panel.cut, holes=(*panel.cut.holes, Hole(200.0, 200.0, 12.0))))
    old = replace(fern, parts=tuple(drilled if p.mark == panel.mark else p for p in fern.parts))
    assert panel.mark not in {k.old for k in match(old, fern).keeps if k.new == panel.mark}
    # the other way round the hole is drilled
    assert next(k.drill for k in match(fern, old).keeps if k.new == panel.mark) == 1


def test_a_sawn_end_keeps_clear_of_screw_holes_and_a_standing_end_does_not_care() -> None:
    """Places by hand: common practice, no source for the 10 mm."""
    assert clear_of_holes((20.0, 980.0), 1000.0, [25.0, 34.0, 500.0, 985.0], 10.0) == (44.0, 975.0)
    assert clear_of_holes((20.0, 980.0), 1000.0, [9.9, 990.1], 10.0) == (20.0, 980.0)
    assert clear_of_holes((0.0, 1000.0), 1000.0, [3.0, 998.0], 10.0) == (0.0, 1000.0)
