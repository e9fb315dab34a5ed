"""Are the dates of the season sensible, and is the calendar file what calendar programs read?"""

from __future__ import annotations

import icalendar
import pytest

from enclosure.checks.climate import Climate, coldest_day
from enclosure.checks.season_calendar import (
    cold_months,
    days_by_month,
    months_standing,
    season_days,
    season_events,
    standing,
)
from enclosure.checks.sun import ClearDay, Face, clear_day
from enclosure.errors import OutputError
from enclosure.outputs.ics import calendar_text, event_dates, folded

INLAND = Climate(
    (-7.0, -6.0, -0.5, 6.5, 13.0, 18.0, 21.0, 20.0, 15.5, 9.0, 3.5, -3.0), 9.0, 44.0, -77.0, 100.0
)
SOUTHERN = Climate(INLAND.monthly_mean_degc[6:] + INLAND.monthly_mean_degc[:6], 9.0, -44.0, 170.0, 100.0)
WARM = Climate((20.0,) * 6 + (21.0,) * 6, 6.0, 10.0, 0.0, 0.0)
BOX = (
    Face("FRONT", 90.0, 180.0, 2.977, 0.8, 0.86),
    Face("BACK", 90.0, 0.0, 2.977, 0.8, 0.86),
    Face("LEFT", 90.0, 270.0, 2.977, 0.8, 0.86),
    Face("RIGHT", 90.0, 90.0, 2.977, 0.8, 0.86),
    Face("ROOF", 0.0, 0.0, 1.488, 0.8, 0.86),
)


def clear_year(climate):
    return tuple(clear_day(BOX, climate, month, 52.66) for month in range(12))


def keys(events):
    return [event.key for event in events]


def test_dates_stand_in_order_and_give_reasons():
    events = season_events(INLAND, -3.0, clear_year(INLAND))
    assert keys(events)[0] == "wrap"
    assert keys(events)[-1] == "take-down"
    assert len(set(keys(events))) == len(events)
    assert [e.after_days for e in events] == sorted(e.after_days for e in events)
    assert all(len(event.reason) > 20 for event in events)
    months = {event.key: event.month for event in events}
    assert months["raise"] in (9, 10, 11)
    assert months["take-down"] in (4, 5)
    assert months["open"] in (1, 2, 3)  # heat comes before the last frost


def test_a_hardier_plant_stands_shorter():
    tender, hardy = standing(INLAND, 0.0), standing(INLAND, -10.0)
    assert tender[0] < hardy[0]
    assert tender[1] > hardy[1]
    assert set(months_standing(INLAND, -10.0)) < set(months_standing(INLAND, 0.0))
    days = season_days(INLAND, 0.0)
    assert len(days) == len(set(days)) == tender[1] - tender[0] + 1
    assert sum(days_by_month(days).values()) == len(days)


def test_south_of_the_equator_the_winter_is_in_july():
    assert 180 < coldest_day(SOUTHERN) < 220
    months = {event.key: event.month for event in season_events(SOUTHERN, -3.0, clear_year(SOUTHERN))}
    assert months["raise"] in (3, 4, 5)
    assert months["take-down"] in (10, 11)


def test_no_shelter_where_no_night_is_cold_but_the_hard_winter_counts():
    assert season_events(WARM, -3.0, clear_year(WARM)) == ()
    assert months_standing(WARM, -3.0) == ()
    assert len(cold_months(WARM)) == 5
    mild = Climate((5.6, 5.8, 7.0, 9.0, 12.0, 14.5, 16.5, 16.6, 14.7, 11.6, 8.3, 6.3), 7.0, 50.0, -4.0, 20.0)
    usual = standing(mild, -9.0)
    assert usual is None
    hard = standing(mild, -9.0, design_min_degc=-12.0)
    assert hard is not None
    assert 5 < hard[1] - hard[0] < 120


def test_opening_dates_follow_the_heat():
    cold = tuple(ClearDay(m, 0.0, 0.0, (0.0, 10.0, 20.0)) for m in range(12))
    assert keys(season_events(INLAND, -3.0, cold)) == ["wrap", "raise", "take-down"]
    hot = tuple(ClearDay(m, 0.0, 0.0, (30.0, 40.0, 60.0)) for m in range(12))
    assert set(keys(season_events(INLAND, -3.0, hot))) == {
        "wrap",
        "raise",
        "close",
        "vent",
        "open",
        "take-down",
    }


@pytest.mark.published(
    source="RFC 5545, read by the icalendar library", where="VEVENT", printed="parsed values"
)
def test_the_file_is_read_by_a_calendar_library():
    events = season_events(INLAND, -3.0, clear_year(INLAND))
    text = calendar_text(events, "tree fern; north, bed", 2030, 5)
    read = icalendar.Calendar.from_ical(text)
    found = list(read.walk("VEVENT"))
    assert len(found) == len(events)
    for event, part, day in zip(events, found, event_dates(events, 2030), strict=True):
        assert part.decoded("dtstart") == day
        assert str(part["summary"]) == f"tree fern; north, bed: {event.title}"
        assert str(part["description"]) == event.reason
        assert part["rrule"]["COUNT"] == [5]
    assert event_dates(events, 2030)[0].year == 2030
    assert event_dates(events, 2030)[-1].year == 2031


@pytest.mark.published(source="RFC 5545 section 3.1", where="line folding", printed="75 octets, CRLF")
def test_lines_are_folded_and_end_in_crlf():
    text = calendar_text(season_events(INLAND, -3.0, clear_year(INLAND)), "Zwergpalme Süd " * 5, 2030, 3)
    lines = text.split("\r\n")
    assert lines[-1] == ""
    assert "\n" not in text.replace("\r\n", "")
    assert max(len(line.encode()) for line in lines) <= 75
    assert folded("ä" * 100).replace("\r\n ", "") == "ä" * 100


def test_same_input_same_bytes_and_bad_years_are_refused():
    events = season_events(INLAND, -3.0, clear_year(INLAND))
    assert calendar_text(events, "fig", 2030, 3) == calendar_text(events, "fig", 2030, 3)
    with pytest.raises(OutputError, match="cannot be written"):
        calendar_text(events, "fig", 1066, 3)
