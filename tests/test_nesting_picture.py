"""Does the picture of a cutting plan show every part, cut and offcut, inside its frame?"""

from __future__ import annotations

import xml.etree.ElementTree as ElementTree
from dataclasses import replace

import pytest

from enclosure.nesting.model import Cut, Pair, Part, PartKind, Pattern, Rest, SheetJob, SheetKind
from enclosure.nesting.picture import length_in_mm, plan_svg
from enclosure.nesting.replay import cut_sequence, placements
from enclosure.nesting.stick_picture import DrawnStick, sticks_svg

pytestmark = pytest.mark.regression

SVG = "{http://www.w3.org/2000/svg}"


def _mm(length: float) -> int:
    return round(length * 10_000)


# A rise of 300 over 400 makes the sloped cut 500 long, so a kerf of 4 square to it is 5 upright.
JOB = SheetJob(
    (
        PartKind("BACK-1", _mm(600), _mm(1100), 2),
        PartKind("ROOF-2", _mm(700), _mm(500), 1, turnable=True),
        PartKind("L<&>3", _mm(400), _mm(600), 1, slope=(_mm(300), _mm(600))),
        PartKind("RIGHT-3", _mm(400), _mm(500), 1, slope=(_mm(200), _mm(500))),
        PartKind("clip", _mm(30), _mm(40), 1),
    ),
    (SheetKind("twin-wall", _mm(1219), _mm(2438), 4571, None, _mm(5)),),
    _mm(4),
)
UPPER = Cut(
    "x",
    _mm(400),
    Cut("y", _mm(300) + _mm(500) + _mm(5), Pair("L<&>3", "RIGHT-3"), Rest()),
    Cut(
        "x",
        _mm(500),
        Cut("y", _mm(700), Part("ROOF-2", turned=True), Rest(keep=True)),
        Cut("x", _mm(30), Cut("y", _mm(40), Part("clip"), Rest()), Rest()),
    ),
)
PATTERN = Pattern(
    "twin-wall",
    2,
    Cut("y", _mm(1100), Cut("x", _mm(600), Part("BACK-1"), Cut("x", _mm(600), Part("BACK-1"), None)), UPPER),
)


def _drawn(svg: str) -> ElementTree.Element:
    return ElementTree.fromstring(svg)


def test_every_part_and_cut_is_drawn() -> None:
    root = _drawn(plan_svg(JOB, PATTERN))
    polygons = [shape for shape in root.iter(f"{SVG}polygon") if shape.get("class") == "part"]
    assert len(polygons) == len(placements(JOB, PATTERN)) == 6
    words = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    for name in ("BACK-1", "L<&>3", "RIGHT-3"):
        assert any(name in word for word in words)
    assert any("clip is 30 \u00d7 40" in word for word in words), "a part too small for text is listed below"
    steps = cut_sequence(JOB, PATTERN)
    circles = list(root.iter(f"{SVG}circle"))
    assert len(circles) == len(steps)
    assert {str(step.number) for step in steps} <= set(words)
    assert [step.axis for step in steps].count("slope") == 1


def test_everything_lies_inside_the_picture_and_circles_stand_apart() -> None:
    root = _drawn(plan_svg(JOB, PATTERN))
    left, top, width, height = (float(number) for number in root.get("viewBox", "").split())
    shift = float(next(root.iter(f"{SVG}g")).get("transform", "").split("(")[1].split()[0])
    spots = [(float(c.get("cx", "nan")), float(c.get("cy", "nan"))) for c in root.iter(f"{SVG}circle")]
    for x, y in spots:
        assert left <= x + shift - 7
        assert x + shift + 7 <= width
        assert top <= y - 7 <= y + 7 <= height
    near = sum(abs(a[0] - b[0]) < 8 and abs(a[1] - b[1]) < 8 for at, a in enumerate(spots) for b in spots[at + 1 :])
    assert near <= 1


def test_picture_is_true_to_scale() -> None:
    root = _drawn(plan_svg(JOB, PATTERN))
    shape = next(one for one in root.iter(f"{SVG}polygon") if one.get("class") == "part")
    points = [tuple(map(float, point.split(","))) for point in shape.get("points", "").split()]
    across = max(x for x, _ in points) - min(x for x, _ in points)
    up = max(y for _, y in points) - min(y for _, y in points)
    assert across / up == pytest.approx(600 / 1100, rel=1e-3)


def test_only_black_white_and_hatch() -> None:
    svg = plan_svg(JOB, PATTERN)
    colours = {word.lower() for word in svg.replace('"', " ").replace(";", " ").split() if word.startswith("#")}
    assert colours <= {"#000", "#fff"}
    assert 'class="offcut"' in svg
    assert 'class="waste"' in svg


def test_names_title_and_lengths_can_be_given() -> None:
    svg = plan_svg(
        JOB,
        replace(PATTERN, copies=1),
        title="Sheet 3",
        names={"BACK-1": "7"},
        length_text=lambda units: f"{units / 254_000:.2f} in",
        number_cuts=False,
    )
    assert "Sheet 3" in svg
    assert ">7<" in svg
    assert "BACK-1" not in svg
    assert "47.99 in" in svg
    assert "circle class" not in svg


def test_picture_does_not_change_from_run_to_run() -> None:
    assert plan_svg(JOB, PATTERN) == plan_svg(JOB, PATTERN)


def test_lengths_are_written_without_needless_zeros() -> None:
    assert [length_in_mm(_mm(value)) for value in (600, 600.25, 1000, 0.04)] == ["600", "600.2", "1000", "0"]


def test_each_part_can_bear_its_own_marks_and_the_flutes_be_left_out() -> None:
    marks = [f"M{place}" for place in range(len(placements(JOB, PATTERN)))]
    svg = plan_svg(JOB, PATTERN, marks=marks, flutes=False)
    polygons = [one for one in _drawn(svg).iter(f"{SVG}polygon") if one.get("class") == "part"]
    assert [one.get("data-mark") for one in polygons] == marks
    assert "flutes" not in svg
    assert "flutes" in plan_svg(JOB, PATTERN)


STICKS = (
    DrawnStick(
        "stick 1", _mm(2400), (("A1", 0, _mm(1205)), ("B<2>", _mm(1208), _mm(700)), ("C3", _mm(1911), _mm(20)))
    ),
    DrawnStick("stick 2", _mm(1800), (("D4", _mm(0), _mm(1750)),), _mm(5)),
)


def test_sticks_are_true_to_scale_and_their_positions_count_from_the_squared_end() -> None:
    svg = sticks_svg("Laths", STICKS)
    root = _drawn(svg)
    bars = [one for one in root.iter(f"{SVG}rect") if one.get("class") == "left"]
    pieces = {one.get("data-mark"): one for one in root.iter(f"{SVG}rect") if one.get("class") == "piece"}
    scale = float(bars[0].get("width", "0")) / 2400
    assert float(bars[1].get("width", "0")) == pytest.approx(1800 * scale, abs=0.01)
    for mark, start, length in (piece for stick in STICKS for piece in stick.pieces):
        shape = pieces[mark]
        assert float(shape.get("width", "0")) == pytest.approx(length / 10_000 * scale, abs=0.01)
        assert float(shape.get("x", "0")) == pytest.approx(26 + start / 10_000 * scale, abs=0.01)
    words = ["".join(text.itertext()) for text in root.iter(f"{SVG}text")]
    assert {"1205", "1908", "1931", "1745"} <= set(words)
    assert any(line.startswith("C3  20") for line in words), "a piece too short for its words is listed below"
    assert sticks_svg("Laths", STICKS) == svg


def test_no_words_of_a_stick_run_off_the_picture() -> None:
    root = _drawn(sticks_svg("A long name " * 12, STICKS))
    wide = float(root.get("width", "0"))
    for text in root.iter(f"{SVG}text"):
        x, size, words = float(text.get("x", "0")), float(text.get("font-size", "0")), "".join(text.itertext())
        half = len(words) * size * 0.64 / 2
        left = x if text.get("text-anchor") == "start" else x - half
        assert left >= 0
        assert left + 2 * half <= wide + 0.5, words
