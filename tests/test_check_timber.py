"""Timber: North American allowable stresses, European classes, beams and posts, an outside beam solver."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from Pynite import FEModel3D

from enclosure.checks import timber_ec5 as ec5
from enclosure.checks import timber_nds as nds
from enclosure.checks.beams import (
    Post,
    Push,
    Stick,
    judge_beam,
    judge_post,
    simple_moment,
    simple_sag,
    slenderness,
)
from enclosure.errors import RangeError

INCH = 25.4
HUD = "HUD Residential Structural Design Guide, as tested in an open library"
SOLVED = "NDS solved examples 2015/2018, as tested in an open library"


@pytest.mark.published(
    source=HUD,
    where="example 5.6: SPF No.2 4x4, 7.3 ft, CD 1",
    printed="Fc* 1322.5, FcE 669.2, Cp 0.43783, 579 psi",
)
def test_column_of_the_design_guide() -> None:
    slender = 7.3 * 12 / 3.5
    crush = nds.adjusted("no2", "fc", 3.5 * INCH, 1.0, wet=False) / nds.PSI
    euler = nds.euler_stress(510e3, slender)
    assert crush == pytest.approx(1322.5, abs=0.05)
    assert slender == pytest.approx(25.03, abs=0.005)
    assert euler == pytest.approx(669.2, abs=0.05)
    cp = nds.column_factor(euler, crush)
    assert cp == pytest.approx(0.43783, abs=5e-6)
    assert cp * crush == pytest.approx(579.0, abs=0.5)


@pytest.mark.published(source=HUD, where="example 5.6: 4800 lb on 12.25 in²", printed="0.6767")
def test_utilisation_of_that_column() -> None:
    crush = nds.adjusted("no2", "fc", 3.5 * INCH, 1.0, wet=False) / nds.PSI
    cp = nds.column_factor(nds.euler_stress(510e3, 7.3 * 12 / 3.5), crush)
    assert 4800 / 12.25 / (cp * crush) == pytest.approx(0.6767, abs=5e-5)


@pytest.mark.published(
    source=SOLVED,
    where="E1.7: Southern Pine No.1 2x6, 9 ft, FcE 1236.8 psi",
    printed="0.4322, 0.5547, 0.6475",
)
@pytest.mark.parametrize(("crush", "printed"), [(2483.5, 0.4322), (1785.0, 0.5547), (1397.0, 0.6475)])
def test_column_factors_of_the_solved_examples(crush: float, printed: float) -> None:
    assert nds.column_factor(1236.8, crush) == pytest.approx(printed, abs=1e-4)


@pytest.mark.published(
    source=HUD, where="example 5.1: Fb 975 psi, CD 1.15, CF 1.2 for a 2x8", printed="1345 psi"
)
def test_bending_value_of_the_design_guide() -> None:
    assert 975 * nds.DURATION["snow"] * nds.size_factor("no2", 7.25 * INCH, "fb") == pytest.approx(
        1345, abs=0.6
    )


@pytest.mark.published(source=HUD, where="example 5.1: 2x8 at 16 in, 40 psf, S 13.14 in³", printed="14.87 ft")
def test_bending_span_of_the_design_guide() -> None:
    load = 40 * 16 / 12 / 12  # lb per inch
    span = 14.87 * 12
    assert simple_moment(load, span) / 13.14 == pytest.approx(1345, rel=1e-3)


@pytest.mark.published(
    source="NDS Supplement table 4A, as coded in an open library",
    where="SPF No.1/No.2 and stud",
    printed="875 450 135 425 1150 1.4e6 510e3; 675 350 725 1.2e6 440e3",
)
def test_reference_design_values() -> None:
    two, stud = nds.GRADES["no2"], nds.GRADES["stud"]
    assert (two.fb, two.ft, two.fv, two.fcp, two.fc, two.e, two.emin) == (
        875,
        450,
        135,
        425,
        1150,
        1.4e6,
        510e3,
    )
    assert (stud.fb, stud.ft, stud.fc, stud.e, stud.emin) == (675, 350, 725, 1.2e6, 440e3)


@pytest.mark.published(
    source="NDS Supplement table 4A, as coded in an open library",
    where="size factors",
    printed="CF fb 1.5 1.4 1.3 1.2; fc 1.15 1.1 1.05; stud 1.1/1.0, 1.05/1.0",
)
def test_size_factors() -> None:
    assert [nds.size_factor("no2", w * INCH, "fb") for w in (3.5, 4.5, 5.5, 7.25)] == [1.5, 1.4, 1.3, 1.2]
    assert [nds.size_factor("no2", w * INCH, "fc") for w in (3.5, 5.5, 7.25)] == [1.15, 1.1, 1.05]
    assert [nds.size_factor("stud", w * INCH, s) for w in (3.5, 5.5) for s in ("fb", "fc")] == [
        1.1,
        1.05,
        1.0,
        1.0,
    ]


@pytest.mark.published(
    source="NDS table 2.3.2 in example E1.7", where="load duration", printed="1.6, 1.15, 0.9"
)
def test_load_duration() -> None:
    assert (nds.DURATION["wind"], nds.DURATION["snow"], nds.DURATION["permanent"]) == (1.6, 1.15, 0.9)


@pytest.mark.published(
    source="EN 338:2016 table 1, as coded in an open material library",
    where="C16 and C24",
    printed="16 8.5 17 3.2 8000 5400 310; 24 14.5 21 4.0 11000 7400 350",
)
def test_strength_classes() -> None:
    c16, c24 = ec5.CLASSES["c16"], ec5.CLASSES["c24"]
    assert (c16.fm, c16.ft, c16.fc, c16.fv, c16.e, c16.e05, c16.rho) == (16, 8.5, 17, 3.2, 8000, 5400, 310)
    assert (c24.fm, c24.ft, c24.fc, c24.fv, c24.e, c24.e05, c24.rho) == (24, 14.5, 21, 4.0, 11000, 7400, 350)


@pytest.mark.published(
    source="NDS Supplement table 1B as quoted in lumber tables",
    where="section moduli of 1x2, 1x3, 1x4, 2x2, 2x3, 2x4, 2x6, 4x4",
    printed="0.2812 0.7812 1.5312 0.5625 1.5625 3.0625 7.5625 7.1458 in³",
)
@pytest.mark.parametrize(
    ("b", "d", "printed"),
    [
        (0.75, 1.5, 0.2812),
        (0.75, 2.5, 0.7812),
        (0.75, 3.5, 1.5312),
        (1.5, 1.5, 0.5625),
        (1.5, 2.5, 1.5625),
        (1.5, 3.5, 3.0625),
        (1.5, 5.5, 7.5625),
        (3.5, 3.5, 7.1458),
    ],
)
def test_section_moduli(b: float, d: float, printed: float) -> None:
    assert Stick("no2", b * INCH, d * INCH).modulus / INCH**3 == pytest.approx(printed, abs=6e-5)


@pytest.mark.published(source="NDS 3.7.1.4", where="slenderness of a solid column", printed="50")
def test_a_two_by_two_of_eight_feet_is_too_slender() -> None:
    """le/d = 96/1.5 = 64."""
    post = Post(Stick("no2", 38.1, 38.1), 96 * INCH, 48 * INCH, 500.0, 1.5, Push("wind", 0.1, 1.5, ""), 1.0)
    limit = slenderness(post)
    assert limit is not None
    assert limit.demand == pytest.approx(64.0)
    assert limit.capacity == 50.0
    assert limit.utilisation > 1.0


@pytest.mark.regression
@pytest.mark.parametrize(("span", "sag"), [(1200, 2.87), (2400, 45.9)])
def test_sag_of_a_two_by_two(span: float, sag: float) -> None:
    """300 Pa on 0.6 m of skin is 0.18 N/mm; E 1.4e6 psi, I 0.4219 in⁴: 5 w L⁴ / 384 E I by hand."""
    assert simple_sag(0.18, span, 1.4e6 * nds.PSI, 0.4219 * INCH**4) == pytest.approx(sag, rel=0.005)


@given(
    st.floats(500, 3000),
    st.floats(20, 90),
    st.floats(20, 140),
    st.floats(0.05, 3.0),
    st.sampled_from(["no2", "stud", "C24"]),
)
def test_beam_formulas_against_an_outside_solver(
    span: float, wide: float, deep: float, load: float, grade: str
) -> None:
    """PyNite (a general frame library, MIT) is asked for the same simple span: N and mm."""
    stick = Stick(grade, wide, deep)
    push = Push("snow", load, 1.5, "")
    e = 9000.0
    model = FEModel3D()
    model.add_material("wood", e, 600.0, 0.3, 0.0)
    model.add_section("s", stick.area, stick.area**2, stick.inertia, 1e6)
    model.add_node("a", 0, 0, 0)
    model.add_node("b", span, 0, 0)
    model.add_member("m", "a", "b", "wood", "s")
    model.def_support("a", True, True, True, True, False, False)
    model.def_support("b", False, True, True, False, False, False)
    model.add_member_dist_load("m", "Fy", -load, -load)
    model.analyze(check_statics=False)
    member = model.members["m"]
    moment = max(abs(member.max_moment("Mz")), abs(member.min_moment("Mz")))
    sag = abs(member.deflection("dy", span / 2))
    assert simple_moment(load, span) == pytest.approx(moment, rel=1e-6)
    assert simple_sag(load, span, e, stick.inertia) == pytest.approx(sag, rel=1e-6)
    shear = max(abs(member.max_shear("Fy")), abs(member.min_shear("Fy")))
    cut = next(v for v in judge_beam(stick, span, push) if v.what.startswith("shear"))
    factor = 1.5 / 0.67 if grade == "C24" else 1.0  # EN 1995-1-1 6.1.7: a third of the width may be split
    assert cut.demand == pytest.approx(1.5 * shear * factor / stick.area, rel=1e-6)


@given(
    st.floats(300, 3000),
    st.floats(0.01, 2.0),
    st.floats(1.0, 3.0),
    st.sampled_from(["ungraded", "no2", "C16", "C24"]),
)
def test_more_load_never_lowers_a_utilisation(span: float, load: float, more: float, grade: str) -> None:
    stick = Stick(grade, 38.0, 63.0)
    for name in ("wind", "snow"):
        less = judge_beam(stick, span, Push(name, load, 1.5, ""))
        greater = judge_beam(stick, span, Push(name, load * more, 1.5, ""))
        for a, b in zip(less, greater, strict=True):
            assert b.utilisation >= a.utilisation - 1e-12
    post = Post(stick, span, span / 2, 100.0, 1.5, Push("wind", load, 1.5, ""), 1.0)
    heavier = Post(stick, span, span / 2, 100.0 * more, 1.5, Push("wind", load * more, 1.5, ""), 1.0)
    assert judge_post(heavier).utilisation >= judge_post(post).utilisation - 1e-12


def test_ungraded_timber_takes_the_lower_grade_and_says_so() -> None:
    grade, words = nds.grade_for("ungraded")
    assert grade == "no3"
    assert "ungraded" in words
    with pytest.raises(RangeError, match="grade oak is unknown"):
        nds.grade_for("oak")


@pytest.mark.practice("common practice, no source: value from memory, EN 1995-1-1 6.3.2 with beta 0.2")
def test_european_column_at_the_limits() -> None:
    assert ec5.column_factor("C24", 5.0) == 1.0
    # a very slender column fails at Euler's load of E05: kc fc -> pi² E05 / lambda²
    slender = 250.0
    assert ec5.column_factor("C24", slender) * 21.0 == pytest.approx(math.pi**2 * 7400 / slender**2, rel=0.08)


@pytest.mark.published(
    source=SOLVED,
    where="common nail 0.148 x 3 in through 3/4 in of Douglas fir (G 0.50), single shear, 90 ksi",
    printed="467.49 N",
)
def test_a_nail_in_single_shear() -> None:
    bearing = nds.dowel_bearing(0.50, 0.148 * INCH)
    value = nds.single_shear(0.148 * INCH, 2.25 * INCH, 0.75 * INCH, bearing, bearing, 90_000 * nds.PSI)
    assert value == pytest.approx(467.49, abs=0.005)


@pytest.mark.published(
    source=SOLVED,
    where="E2.4: wood screw no. 10, 6 in, through 1-1/2, 3 and 1-1/2 in, G 0.55, double shear, 80 ksi",
    printed="1039.6 N for both planes",
)
def test_a_wood_screw_bends_at_its_root_and_is_reduced_by_its_shank() -> None:
    """Root 0.152 in, shank 0.190 in; the last piece holds 1-1/2 in less half of a tip of 2 D."""
    bearing = nds.dowel_bearing(0.55, 0.19 * INCH)
    tip = (1.5 - 0.19) * INCH
    value = nds.single_shear(0.152 * INCH, 3 * INCH, tip, bearing, bearing, 80_000 * nds.PSI, 0.19 * INCH)
    assert 2 * value == pytest.approx(1039.6, abs=0.05)


@given(st.floats(2.5, 6.0), st.floats(12, 80), st.floats(12, 80), st.floats(0.35, 0.6), st.floats(0.35, 0.6))
def test_a_dowel_does_not_know_which_piece_is_called_the_main_one(
    diameter: float, one: float, other: float, first: float, second: float
) -> None:
    """Statics: the two pieces may change places; every yield mode has its mirror image."""
    a, b = nds.dowel_bearing(first, diameter), nds.dowel_bearing(second, diameter)
    there = nds.single_shear(diameter, one, other, a, b, 600.0)
    back = nds.single_shear(diameter, other, one, b, a, 600.0)
    assert there == pytest.approx(back, rel=1e-9)


@pytest.mark.practice(
    "common practice, no source: a dowel never bears more than both pieces can"
)
def test_a_screw_never_bears_more_than_the_wood_under_it() -> None:
    bearing = nds.dowel_bearing(0.42, 4.2)
    value = nds.single_shear(4.2, 38.0, 19.0, bearing, bearing, 620.0)
    assert 0 < value <= 4.2 * 19.0 * bearing / 2.2
    thicker = nds.single_shear(4.2, 38.0, 30.0, bearing, bearing, 620.0)
    assert thicker >= value
