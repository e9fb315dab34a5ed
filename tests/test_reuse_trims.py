"""Old panels with holes that become new ones whole: where the new one lies in the old, and when it may not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.reused import reuse
from enclosure.nesting.replay import placements
from enclosure.nesting.verify import verify_sheets
from enclosure.reuse.match import HOLE_MARGIN_MM, SAW_GAP_MM, inside, match
from enclosure.reuse.trims import best_trims, possible_trims, trimmed_at
from enclosure.shape.build import build
from enclosure.shape.model import Design, Hole, SheetCut
from enclosure.stock.model import Stock

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


def sheet(width: float, height: float, *holes: tuple[float, float], outline: object = None) -> SheetCut:
    corners = outline or ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height))
    return SheetCut(width, height, corners, False, tuple(Hole(x, y, 8.0) for x, y in holes))  # type: ignore[arg-type]


@pytest.mark.regression
def test_head_or_foot_sawn_off_so_that_holes_serve_again_by_hand() -> None:
    old = sheet(600, 1000, (300, 500))
    # the new panel wants its hole as high as the old one has it: 200 mm go off the head
    assert trimmed_at(old, sheet(600, 800, (300, 500))) == (0, 0)
    # 200 mm lower: off the foot
    assert trimmed_at(old, sheet(600, 800, (300, 300))) == (0, 200)
    # 150 mm lower: 150 mm off the foot, 50 mm off the head
    assert trimmed_at(old, sheet(600, 800, (300, 350))) == (0, 150)
    # more holes may be drilled, but none closed
    assert trimmed_at(old, sheet(600, 800, (300, 300), (100, 100))) == (0, 200)
    assert trimmed_at(old, sheet(600, 800)) is None
    # a hole that goes with what is sawn off must lie 4 + 10 mm beyond the new edge
    assert trimmed_at(old, sheet(600, 486)) == (0, 0)
    assert trimmed_at(old, sheet(600, 487)) is None
    # no room for a saw: a foot 2 mm longer cannot be sawn off at the near side
    assert trimmed_at(old, sheet(600, 998, (300, 498))) is None
    # with 5 mm off every edge
    assert trimmed_at(old, sheet(590, 795, (295, 300)), 5.0) == (5, 200)
    assert trimmed_at(old, sheet(590, 800, (295, 300)), 5.0) is None


@pytest.mark.regression
def test_a_sloped_head_stays_inside_the_old_one() -> None:
    """Old: 600 wide, 1000 high at the left and 900 at the right. A rectangle 900 high fits, one of 901 does not."""
    old = sheet(600, 1000, (300, 400), outline=((0.0, 0.0), (600.0, 0.0), (600.0, 900.0), (0.0, 1000.0)))
    assert trimmed_at(old, sheet(600, 900, (300, 400))) == (0, 0)
    assert trimmed_at(old, sheet(600, 901, (300, 400))) is None


@settings(max_examples=150, deadline=None)
@given(
    st.tuples(st.integers(200, 900), st.integers(300, 2000)),
    st.tuples(st.integers(0, 200), st.integers(0, 300)),
    st.lists(st.tuples(st.floats(0.05, 0.95), st.floats(0.05, 0.95)), min_size=1, max_size=3),
    st.tuples(st.floats(0, 1), st.floats(0, 1)),
    st.lists(st.booleans(), min_size=3, max_size=3),
    st.sampled_from([0.0, 0.0, 6.0]),
)
def test_what_is_found_is_legal(
    size: tuple[int, int], less: tuple[int, int], spots: list[tuple[float, float]], at: tuple[float, float],
    stays: list[bool], margin: float,
) -> None:  # fmt: skip
    """Wherever the search puts the new panel: inside, with room for the saw, each old hole served or well away."""
    wide, high = size
    width, height = max(100, wide - less[0]), max(100, high - less[1])
    holes = [(x * wide, y * high) for x, y in spots]
    left, low = at[0] * (wide - width), at[1] * (high - height)
    again = [(x - left, y - low) for (x, y), stay in zip(holes, stays, strict=False) if stay]
    new = sheet(width, height, *((x, y) for x, y in again if 0 < x < width and 0 < y < height))
    old = sheet(wide, high, *holes)
    found = trimmed_at(old, new, margin)
    if found is None:
        return
    x0, y0 = found
    assert all(inside(old.outline, (x + x0, y + y0)) for x, y in new.outline)
    for start, spare in ((x0, wide - width), (y0, high - height)):
        assert margin - 0.02 <= start <= spare - margin + 0.02
        assert start == 0 or start >= SAW_GAP_MM
    for hole in old.holes:
        dx, dy = hole.x_mm - x0, hole.y_mm - y0
        served = any(abs(g.x_mm - dx) <= 1.01 and abs(g.y_mm - dy) <= 1.01 for g in new.holes)
        assert served or max(-dx, dx - width, -dy, dy - height) >= 4 + HOLE_MARGIN_MM - 0.02


def ferns() -> tuple[Design, Design, Stock]:
    """Return a tree fern's shelter and one for a fern tied 6 in narrower."""
    brief, site, stock = read_all(BRIEFS / "tree-fern.toml")
    assert brief.plant.spread_x_mm is not None
    plant = brief.plant.model_copy(update={"spread_x_mm": brief.plant.spread_x_mm - 152.4})
    narrow = brief.model_copy(update={"plant": plant})
    limits = span_limits(brief, site, stock)
    return build(brief, site, stock, limits), build(narrow, site, stock, limits), stock


@pytest.mark.slow
def test_a_tall_panel_is_trimmed_whole_where_that_saves_money() -> None:
    old, new, stock = ferns()
    matched = match(old, new)
    found = possible_trims(old, new, matched)
    assert found
    chosen = best_trims(found)
    assert len({t.old.mark for t in chosen}) == len({t.new.mark for t in chosen}) == len(chosen)
    used = reuse(old, new, matched, stock, sheet_work=100)
    around = reuse(old, new, replace(matched, pieces=()), stock, sheet_work=100)
    assert used.bound_cents <= used.price_cents < around.price_cents
    trimmed = [fate for fate in used.fates if fate.words.startswith("trim")]
    assert trimmed
    for item in used.plans.sheet_jobs:
        verify_sheets(item.job, item.plan)
        for pattern in item.plan.patterns:
            if not pattern.sheet.startswith("old "):
                continue
            before = old.part(pattern.sheet.removeprefix("old "))
            (one,) = placements(item.job, pattern)
            (mark,) = next(fate.new for fate in used.fates if fate.old == before.mark)
            after = new.part(mark)
            assert isinstance(before.cut, SheetCut)
            assert isinstance(after.cut, SheetCut)
            at = one.x / 10_000, one.y / 10_000
            assert trimmed_at(before.cut, after.cut) == pytest.approx(at, abs=1e-3)
    ends = [fate.old for fate in used.fates]
    assert sorted(ends) == sorted(p.mark for p in old.parts)
    became = [mark for fate in used.fates for mark in fate.new]
    assert len(became) == len(set(became))
