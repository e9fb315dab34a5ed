"""In which winter is a shelter outgrown?"""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.bounds import sheet_bound
from enclosure.choose.growth import LONGEST, Room, first_winter, growth
from enclosure.choose.largest import _last, largest
from enclosure.choose.price import Pricer
from enclosure.errors import DesignError, RangeError
from enclosure.nesting.model import SheetJob, SheetPlan
from enclosure.pipeline.walk import design_from
from enclosure.shape.build import build
from enclosure.shape.model import Design

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


@pytest.mark.regression
def test_by_hand() -> None:
    # 2000 mm there is, the plant takes 1850 mm today and grows 40 mm a year.
    # Winter 1: 1890, 2: 1930, 3: 1970, 4: 2010 > 2000, so it is outgrown in winter 4.
    # Slowly (0.7, 28 mm): 150 / 28 = 5.36, so 5 winters fit and the sixth does not.
    # Fast (1.5, 60 mm): 150 / 60 = 2.5, so the third does not fit.
    room = Room("height", 1850.0, 40.0, 2000.0)
    assert first_winter(room) == 4
    assert first_winter(room, 0.7) == 6
    assert first_winter(room, 1.5) == 3


@pytest.mark.regression
def test_edges_by_hand() -> None:
    # 150 mm to spare at 50 mm a year: three winters fit exactly, the fourth does not.
    assert first_winter(Room("height", 1850.0, 50.0, 2000.0)) == 4
    assert first_winter(Room("width", 900.0, 0.0, 1000.0)) is None
    assert first_winter(Room("width", 1001.0, 0.0, 1000.0)) == 1
    assert first_winter(Room("width", 0.0, 1.0, 1e6)) is None
    with pytest.raises(RangeError):
        first_winter(Room("width", 0.0, -1.0, 100.0))


@settings(max_examples=60, deadline=None)
@given(st.floats(10, 3000), st.floats(0.5, 400), st.floats(0, 3000), st.sampled_from([0.7, 1.0, 1.5]))
def test_the_winter_before_fits_and_this_one_does_not(now: float, yearly: float, spare: float, share: float) -> None:
    room = Room("height", now, yearly, now + spare)
    winter = first_winter(room, share)
    if winter is None:
        assert now + LONGEST * yearly * share <= room.clear_mm + 1e-3
        return
    assert now + winter * yearly * share > room.clear_mm - 1e-3
    assert winter == 1 or now + (winter - 1) * yearly * share <= room.clear_mm + 1e-3


@pytest.mark.parametrize("name", [p.stem for p in sorted(BRIEFS.glob("*.toml"))])
def test_a_template_serves_the_winters_it_was_asked_for(name: str) -> None:
    shelter = design_from(BRIEFS / f"{name}.toml")
    found = growth(shelter.brief, shelter.stock, shelter.design)
    first = found.first()
    assert first is None or first[0] > shelter.brief.winters
    growing = [r for r in found.outgrown if r.likely is not None]
    assert growing, "every shipped plant grows on some axis"
    for row in growing:
        assert row.likely is not None
        assert row.high is not None
        assert row.high <= row.likely
        assert row.low is None or row.low >= row.likely
    assert {r.axis for r in found.rows} == {"height", "width", "depth"}


def test_the_chart_crosses_the_limit_in_the_winter_named() -> None:
    shelter = design_from(BRIEFS / "olive-glass.toml")
    found = growth(shelter.brief, shelter.stock, shelter.design)
    for row in found.outgrown:
        over = [r.winter for r in found.rows if r.axis == row.axis and r.likely_mm > r.clear_mm + 1e-6]
        assert (over[0] if over else None) == row.likely


def test_guesses_must_lie_on_both_sides() -> None:
    shelter = design_from(BRIEFS / "olive-glass.toml")
    with pytest.raises(RangeError):
        growth(shelter.brief, shelter.stock, shelter.design, low=1.2)


def test_last_good_number() -> None:
    for top in range(23):
        asked: list[int] = []

        def good(k: int, top: int = top, asked: list[int] = asked) -> bool:
            asked.append(k)
            return k <= top

        assert _last(0, 22, good) == top
        assert len(asked) <= 10


def test_largest_shelter_of_so_many_sheets() -> None:
    """Counted by area alone here, so that the search can be followed without the cutting engine."""
    brief, site, stock = read_all(BRIEFS / "olive-glass.toml")

    def make(wanted: Brief) -> Design:
        return build(wanted, site, stock, span_limits(wanted, site, stock))

    found = largest(brief, make, ByArea(stock), 7, "twin-wall-10")
    assert found.sheets <= 7
    assert found.next_sheets is None or found.next_sheets > 7 or found.winters == 40
    first = found.growth.first()
    assert first is None or first[0] > found.winters
    fewer = largest(brief, make, ByArea(stock), 6, "twin-wall-10")
    assert (fewer.winters, fewer.extra_mm) <= (found.winters, found.extra_mm) or fewer.winters < found.winters
    with pytest.raises(DesignError, match="not enough"):
        largest(brief, make, ByArea(stock), 1, "twin-wall-10")


class ByArea(Pricer):
    def sheets(self, job: SheetJob) -> SheetPlan:
        price = sheet_bound(job)
        return SheetPlan((), price, price, "proved")
