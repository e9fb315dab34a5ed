"""On which dates is the shelter wrapped, raised, aired, opened and taken down, and why?

From the usual course of the year and its spread: the shelter is raised before
nights below the plant's limit become likely and goes when they have become
rare; it must be opened when clear days make it too hot, which in spring comes
before the last cold night. Left out: this year's forecast, which always wins.

Units: day of the year; dates have no year until the papers give them one.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.checks.climate import (
    MONTH_NAMES,
    Climate,
    coldest_day,
    day_month,
    month_of,
    night_chance,
)
from enclosure.checks.sun import ClearDay

RAISE_CHANCE = 0.05
TAKE_DOWN_CHANCE = 0.02
WRAP_DAYS_BEFORE = 7
VENT_DEGC = 25.0
OPEN_DEGC = 35.0


@dataclass(frozen=True, slots=True)
class Event:
    """One date of the season.

    Args:
        key: wrap, raise, vent, open, take-down; unique.
        title: A few words.
        month: 1 to 12.
        day: Day of the month.
        reason: Why then.
        after_days: Days after the first event of the season, for sorting over New Year.
    """

    key: str
    title: str
    month: int
    day: int
    reason: str
    after_days: int

    @property
    def date_text(self) -> str:
        """The date in words: ``14 November``."""
        return f"{self.day} {MONTH_NAMES[self.month - 1]}"


def standing(climate: Climate, limit_degc: float) -> tuple[int, int] | None:
    """Return (raise, take-down) as offsets from the coldest day, None when no shelter is needed.

    Args:
        climate: The place.
        limit_degc: Lowest temperature the plant bears unsheltered.
    """
    middle = coldest_day(climate)
    chances = {k: night_chance(climate, middle + k, limit_degc) for k in range(-182, 183)}
    before = [k for k in range(-182, 1) if chances[k] > RAISE_CHANCE]
    after = [k for k in range(183) if chances[k] > TAKE_DOWN_CHANCE]
    if not before and not after:
        return None
    return (min(before) if before else 0), (max(after) + 1 if after else 1)


def months_standing(climate: Climate, limit_degc: float) -> tuple[int, ...]:
    """Return the months 0 to 11 in which the shelter stands for at least ten days, in order of the season."""
    span = standing(climate, limit_degc)
    if span is None:
        return ()
    middle = coldest_day(climate)
    count: dict[int, int] = {}
    for k in range(span[0], span[1] + 1):
        month = month_of(middle + k)
        count[month] = count.get(month, 0) + 1
    kept = tuple(month for month, days in count.items() if days >= 10)
    return kept or tuple(count)


def days_standing(climate: Climate, limit_degc: float) -> dict[int, int]:
    """Return how many days of each month 0 to 11 the shelter stands."""
    span = standing(climate, limit_degc)
    count: dict[int, int] = {}
    if span is not None:
        for k in range(span[0], span[1] + 1):
            month = month_of(coldest_day(climate) + k)
            count[month] = count.get(month, 0) + 1
    return count


def _inside_on(days: tuple[ClearDay, ...], day: int) -> float:
    """Return the likely clear-day temperature on a day, straight between mid-months [°C]."""
    from enclosure.checks.climate import MONTH_DAYS, mid_day

    month = month_of(day)
    here = (day - 1) % 365 + 1
    step = 1 if here >= mid_day(month) else -1
    other = (month + step) % 12
    gap = (MONTH_DAYS[month] + MONTH_DAYS[other]) / 2.0
    share = abs(here - mid_day(month)) / gap
    return days[month].inside_degc[1] * (1.0 - share) + days[other].inside_degc[1] * share


def _event(key: str, title: str, day: int, first: int, reason: str) -> Event:
    month, of_month = day_month(day)
    return Event(key, title, month, of_month, reason, day - first)


def season_events(climate: Climate, limit_degc: float, days: tuple[ClearDay, ...]) -> tuple[Event, ...]:
    """Return the dates of the season in order, empty when the plant needs no shelter there.

    Args:
        climate: The place.
        limit_degc: Lowest temperature the plant bears unsheltered [°C].
        days: Clear days of the twelve months, for airing and opening.
    """
    span = standing(climate, limit_degc)
    if span is None:
        return ()
    middle = coldest_day(climate)
    up, down = middle + span[0], middle + span[1]
    first = up - WRAP_DAYS_BEFORE
    events = [
        _event(
            "wrap",
            "Tie and wrap the plant, level the ring, test the heat",
            first,
            first,
            f"a week before raising, while it is dry and the hands are warm; {RAISE_CHANCE:.0%} of nights "
            "reach the limit soon after",
        ),
        _event(
            "raise",
            "Raise the shelter",
            up,
            first,
            f"from here on more than {RAISE_CHANCE:.0%} of nights fall below the plant's limit of "
            f"{limit_degc:.0f} °C",
        ),
    ]
    hot = next((d for d in range(middle, down + 1) if _inside_on(days, d) > VENT_DEGC), None)
    too_hot = next((d for d in range(middle, down + 1) if _inside_on(days, d) > OPEN_DEGC), None)
    if hot is not None:
        why = f"a clear noon is likely above {VENT_DEGC:.0f} °C inside with everything closed"
        if hot == middle:
            why += ", already in mid-winter: air on every clear day from the start"
        events.append(_event("vent", "Open the vent on clear days", hot, first, why))
    if too_hot is not None:
        why = f"a clear noon is likely above {OPEN_DEGC:.0f} °C inside, which harms more than frost does"
        if too_hot < down:
            why += f"; {down - too_hot} days of possible frost are left, so close it again for the night"
        if hot is not None and too_hot == hot:
            why += "; the vent alone will not do"
        events.append(_event("open", "Take a panel or the roof off on clear days", too_hot, first, why))
    events.append(
        _event(
            "take-down",
            "Take the shelter down",
            down,
            first,
            f"fewer than {TAKE_DOWN_CHANCE:.0%} of nights still fall below the plant's limit; keep cloth "
            "at hand for a late frost",
        )
    )
    return tuple(sorted(events, key=lambda event: event.after_days))
