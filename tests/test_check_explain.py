"""The sheet and the worked page; ways out are found by building again; the pipeline's verdict."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from enclosure.checks.explain import CELLS, FOOTER, ONE_AT, bar, explain, sheet, short, ways_out
from enclosure.checks.model import Check, Line
from enclosure.checks.stand import FAMILIES, standing_checks
from enclosure.checks.wayout import Change, WayOut, with_frame
from enclosure.errors import DesignError, FaultsError
from enclosure.pipeline.check import check, checks_of, inspected, propose
from enclosure.pipeline.walk import Shelter
from enclosure.site.model import Wind
from tests import hand_shelter
from tests.shelters import BRIEFS, changed


def shelter() -> Shelter:
    return Shelter(hand_shelter.brief(), hand_shelter.place(), hand_shelter.stock(), hand_shelter.design())


@pytest.mark.parametrize(("use", "hashes"), [(0.0, 0), (0.5, 8), (1.0, ONE_AT), (9.0, CELLS - 1)])
def test_bars_read_without_colour(use: float, hashes: int) -> None:
    text = bar(use)
    assert len(text) == CELLS + 1
    assert text[ONE_AT] == "|"
    assert text.count("#") == hashes
    assert text.isascii()
    assert (">" in text) == (use > 1.33)


def test_sheet_is_worst_first_with_cautions_once() -> None:
    rows = standing_checks(*_asked(), ways_out=False)
    lines = sheet(rows)
    text = "\n".join(lines)
    uses = [float(line[5:11]) for line in lines if line[:4] in ("pass", "OVER", "info") and line[5:11].strip()]
    assert uses == sorted(uses, reverse=True)
    assert len(uses) == sum(1 for row in rows if not (row.advice and row.utilisation == 0.0))
    for words in FOOTER:
        assert text.count(words) == 1
    for line in lines:
        if line.startswith("OVER"):
            assert float(line[5:11]) > 1.0
        if line.startswith("pass"):
            assert float(line[5:11]) <= 1.0


def _asked() -> tuple[object, ...]:
    return (hand_shelter.design(), hand_shelter.brief(), hand_shelter.place(), hand_shelter.stock())  # type: ignore[return-value]


def test_a_way_out_is_told_once() -> None:
    one = Check("a", "first row", 3.0, 1.0, "N", 3.0, "", "practice", way_out="more posts")
    rows = (one, replace(one, key="b", name="second row", utilisation=2.0), replace(one, key="c", way_out="a bar"))
    assert ways_out(rows) == {"a": "more posts", "b": 'the same as for "first row"', "c": "a bar"}
    text = "\n".join(sheet(rows))
    assert text.count("more posts") == 1
    assert 'way out: the same as for "first row"' in text


def test_a_worked_page_can_be_followed() -> None:
    """Every line has a value with its unit; the last line's number is the utilisation."""
    rows = standing_checks(*_asked(), ways_out=False)  # type: ignore[arg-type]
    for row in rows:
        page = explain(row)
        assert row.clause in page
        assert f"utilisation  {row.utilisation:.2f}" in page
        for line in row.working:
            assert line.symbol.strip() in page
        assert page.count(FOOTER[0]) == 1
    over = next(r for r in rows if r.key == "wind-overturning")
    page = explain(over)
    assert "0.613 x 22.22²" in page
    assert "302.7 x" in page
    assert over.working[-1].value == pytest.approx(over.utilisation)


def test_numbers_are_short_and_finite() -> None:
    assert short(1234.56) == "1235"
    assert short(0.012345) == "0.0123"
    assert short(-1e-15) == "0"
    assert short(float("inf")) == "no limit"


def test_a_line_of_input_has_no_empty_equals() -> None:
    one = Check("a", "a", 1, 2, "N", 0.5, "statics", "published", working=(Line("v", "", "", 3.0, "m/s", ""),))
    assert "=  =" not in explain(one)
    assert "v          = 3 m/s" in explain(one)


def weak() -> Shelter:
    """The hand shelter with 2x2 uprights, no transom: its mullions fail."""
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build

    brief = changed(hand_shelter.brief(), frame={"section": "2x2"})
    site, stock = hand_shelter.place(), hand_shelter.stock()
    return Shelter(brief, site, stock, build(brief, site, stock, span_limits(brief, site, stock)))


def test_the_way_out_is_found_by_building_it() -> None:
    asked = weak()
    rows = standing_checks(asked.design, asked.brief, asked.site, asked.stock)
    mullion = next(r for r in rows if r.key == "member-mullion")
    assert not mullion.passes
    assert mullion.way_out
    search = WayOut(hand_case(asked), FAMILIES)
    best = search.best("timbers", mullion)
    assert best is not None
    assert best.utilisation <= 1.0
    assert f"{best.utilisation:.2f}" in mullion.way_out
    # built again here, from the changed brief alone
    from enclosure.checks.case import case_for
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build

    brief = best.change.brief
    design = build(brief, asked.site, asked.stock, span_limits(brief, asked.site, asked.stock))
    again = next(
        c for c in FAMILIES["timbers"](case_for(design, brief, asked.site, asked.stock)) if c.key == "member-mullion"
    )
    assert again.utilisation == pytest.approx(best.utilisation)


def hand_case(asked: Shelter) -> object:
    from enclosure.checks.case import case_for

    return case_for(asked.design, asked.brief, asked.site, asked.stock)


def test_a_change_that_cannot_be_built_is_passed_over() -> None:
    asked = weak()
    search = WayOut(hand_case(asked), FAMILIES)  # type: ignore[arg-type]
    impossible = with_frame(asked.brief, levels=6, max_frame_height_mm=600.0, bays={"front": 30})
    assert search.utilisation("panels", "panel-wall-wind", Change("", 1.0, impossible)) is None


def test_two_steps_are_tried_when_one_does_not_do() -> None:
    """A tall shelter in much wind: whatever is said, the second number is the one of the design built that way."""
    brief = changed(weak().brief, plant={"height_mm": 3300.0}, frame={"section": "2x2", "levels": 1})
    site = hand_shelter.place().model_copy(update={"wind": Wind.model_validate({"route": "gust", "gust": "120 km/h"})})
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build

    design = build(brief, site, hand_shelter.stock(), span_limits(brief, site, hand_shelter.stock()))
    rows = standing_checks(design, brief, site, hand_shelter.stock())
    racking = next(r for r in rows if r.key.startswith("racking") and not r.passes)
    assert racking.way_out
    said = float(racking.way_out.rsplit(": ", 1)[1])
    assert said < racking.utilisation
    assert (said <= 1.0) == (not racking.way_out.startswith("no "))


def test_the_proposal_makes_the_weak_shelter_stand() -> None:
    asked = weak()
    found = propose(asked)
    assert found.changes
    assert found.passes, found.after
    assert dict(found.before)["member-mullion"] > 1.0
    assert all(use <= 1.0 for _, use in found.after)


def test_verdict_and_exit_code() -> None:
    found = inspected(weak())
    assert found.exit_code == 3
    assert found.failing
    assert list(found.checks) == sorted(found.checks, key=lambda c: (-c.utilisation, c.key))


def test_ways_out_only_where_a_row_fails() -> None:
    for row in checks_of(shelter()):
        if row.passes and row.key.startswith(("wind", "member", "panel", "racking", "anchor")):
            assert not row.way_out


@pytest.mark.parametrize("path", BRIEFS, ids=lambda p: p.stem)
def test_every_shipped_brief_gets_its_sheet(path: Path) -> None:
    rows = check(path)
    assert len(rows) > 25
    keys = [r.key for r in rows]
    assert len(keys) == len(set(keys))
    for row in rows:
        if not row.passes and not row.advice and row.key.startswith(("wind", "anchor", "member", "panel", "racking")):
            assert row.way_out, row.key


@pytest.mark.parametrize(
    "wind",
    [
        {"route": "asce7", "speed": "105 mph", "exposure": "C"},
        {"route": "en1991", "speed": "24 m/s", "terrain": "II"},
        {"route": "nbcc", "hourly_pressure": "0.4 kPa", "terrain": "open"},
    ],
    ids=lambda w: w["route"],
)
def test_every_road_gives_a_whole_sheet(wind: dict[str, str]) -> None:
    site = hand_shelter.place().model_copy(update={"wind": Wind.model_validate(wind)})
    rows = standing_checks(hand_shelter.design(), hand_shelter.brief(), site, hand_shelter.stock(), ways_out=False)
    assert len(rows) > 25
    codes = {"asce7": "ASCE", "en1991": "EN 1991", "nbcc": "NBCC"}
    uplift = next(r for r in rows if r.key == "wind-uplift")
    assert codes[wind["route"]] in uplift.clause


@pytest.mark.parametrize("gust", ["0 km/h", "400 km/h"])
def test_impossible_winds_do_not_get_as_far_as_a_check(gust: str) -> None:
    with pytest.raises(ValueError, match="gust"):
        Wind.model_validate({"route": "gust", "gust": gust})


def test_a_post_inside_the_bed_wall_is_refused_by_name() -> None:
    design = hand_shelter.design()
    inside = replace(design.anchors[0], x_mm=300.0, y_mm=300.0)
    bad = replace(design, anchors=(inside, *design.anchors[1:]))
    with pytest.raises(DesignError, match=r"anchor P1 .* inside the bed's wall") as caught:
        standing_checks(bad, hand_shelter.brief(), hand_shelter.place(), hand_shelter.stock())
    assert "outside the base ring" in caught.value.hint


def test_a_brief_that_cannot_be_read_says_so(tmp_path: Path) -> None:
    broken = tmp_path / "broken.toml"
    broken.write_text('name = "x"\n', encoding="utf-8")
    with pytest.raises(FaultsError):
        check(broken)
