"""Members: read back from their solids, spans and widths, frames against an outside beam solver."""

from __future__ import annotations

import pytest
from Pynite import FEModel3D

from enclosure.checks.beams import Push, Stick, judge_beam
from enclosure.checks.case import case_for
from enclosure.checks.members import carried, member_checks, pushes, rows
from enclosure.checks.span import span_limits
from enclosure.shape.build import build
from tests import hand_shelter
from tests.shelters import changed, shipped


def test_every_upright_carries_its_share_and_no_more() -> None:
    """The widths carried by the uprights of a wall add up to the glazed width."""
    case = hand_shelter.case()
    front = next(f for f in case.design.frames if f.face == "FRONT")
    ups = [r for r in rows(case) if r.seat.frame is front and r.role in ("stile", "mullion")]
    assert len(ups) == 3
    middles = [r.seat.middle for r in ups]
    ends = (min(a for a, _ in front.glazed), max(a for a, _ in front.glazed))
    assert sum(carried(m, middles, ends) for m in middles) == pytest.approx(ends[1] - ends[0])


def test_spans_are_those_of_the_wood() -> None:
    case = hand_shelter.case()
    by_mark = {r.seat.part.mark: r for r in rows(case)}
    for row in by_mark.values():
        size = sorted((row.stick.wide, row.stick.deep))
        timber = case.timber(row.seat.part)
        assert size == pytest.approx(sorted((timber.thickness_mm, timber.width_mm)))
        assert row.seat.right > row.seat.left
        assert row.seat.high > row.seat.low
    members = [
        p.mark for p in case.design.parts if p.kind == "member" and p.role not in ("eaves rail", "top rail")
    ]
    assert set(members) == set(by_mark)


def test_the_mullion_as_a_beam_in_an_outside_solver() -> None:
    """PyNite: sill and head as supports, the skin's load as a line load, in N and mm."""
    case = hand_shelter.case()
    row = max((r for r in rows(case) if r.role == "mullion"), key=lambda r: r.seat.high - r.seat.low)
    front = row.seat.frame
    span = row.seat.high - row.seat.low
    load = pushes(case, front, (1227 - 38.1) / 2, span)[0].load
    model = FEModel3D()
    model.add_material("wood", 8000.0, 500.0, 0.3, 0.0)
    model.add_section("s", row.stick.area, 1e6, row.stick.inertia, 1e6)
    model.add_node("foot", 0, 0, 0)
    model.add_node("top", span, 0, 0)
    model.add_member("m", "foot", "top", "wood", "s")
    model.def_support("foot", True, True, True, True, False, False)
    model.def_support("top", False, True, True, False, False, False)
    model.add_member_dist_load("m", "Fy", -load, -load)
    model.analyze()
    moment = max(abs(model.members["m"].max_moment("Mz")), abs(model.members["m"].min_moment("Mz")))
    bending = next(v for v in row.verdicts if v.what == "bending, wind")
    assert bending.demand == pytest.approx(moment / row.stick.modulus, rel=1e-3)


def test_a_bigger_section_is_never_worse() -> None:
    for span in (800.0, 1500.0, 2200.0):
        push = Push("wind", 0.25, 1.5, "")
        uses = [
            max(v.utilisation for v in judge_beam(Stick("no2", 38.1, d), span, push))
            for d in (38.1, 63.5, 88.9)
        ]
        assert uses == sorted(uses, reverse=True)


def test_ungraded_timber_is_said_to_be_so() -> None:
    from enclosure.checks.case import case_for
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build
    from tests.shelters import changed

    brief = changed(hand_shelter.brief(), frame={"section": "2x2"})
    site, stock = hand_shelter.place(), hand_shelter.stock()
    design = build(brief, site, stock, span_limits(brief, site, stock))
    checks = member_checks(case_for(design, brief, site, stock))
    mullion = next(c for c in checks if c.key == "member-mullion")
    assert "ungraded" in mullion.assumptions[0]
    assert mullion.utilisation > 1.0


def test_a_ridge_carries_both_slopes() -> None:
    from enclosure.checks.case import case_for
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build
    from tests.shelters import changed

    brief = changed(hand_shelter.brief(), roof={"kind": "gable", "fall_deg": 12.0, "ridge": "x"})
    site, stock = hand_shelter.place(), hand_shelter.stock()
    design = build(brief, site, stock, span_limits(brief, site, stock))
    case = case_for(design, brief, site, stock)
    ridge = next(c for c in member_checks(case) if c.key == "member-ridge")
    load = next(line for line in ridge.working if line.symbol == "w")
    width = case.design.outside_mm[1] / 2
    assert load.value == pytest.approx(pushes(case, design.frames[-1], width, 1100.0)[-1].load, rel=0.15)
    assert any("ridge" in words for words in ridge.assumptions)


def test_a_wall_hardly_wider_than_its_corners_is_checked_all_the_same() -> None:
    """The lift-out sill stands between two stiles as wide as the whole inside: nothing of it is free."""
    brief, site, stock = shipped("tree-fern")
    slim = changed(
        brief,
        plant={"spread_x_mm": 50.0, "spread_y_mm": 400.0},
        clearance={"side": hand_shelter.fixed(30.0)},
        frame={"section": "2x4", "roof_section": "2x4", "on_edge": False},
        anchors={"posts": None},
    )
    design = build(slim, site, stock, span_limits(slim, site, stock))
    case = case_for(design, slim, site, stock)
    assert design.clear_mm[0] < 2 * 88.9
    sills = [row for row in member_checks(case) if row.key == "member-sill"]
    assert len(sills) == 1
    assert 0.0 <= sills[0].utilisation < 1.0
