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
    MONTH_DAYS,
    Climate,
    coldest_day,
    day_month,
    mid_day,
    month_name,
    month_of,
    night_chance,
)
from enclosure.checks.sun import ClearDay
from enclosure.language import tr

RAISE_CHANCE = 0.02
TAKE_DOWN_CHANCE = 0.02
WRAP_DAYS_BEFORE = 7
VENT_DEGC = 25.0
OPEN_DEGC = 35.0


@dataclass(frozen=True, slots=True)
class Event:
    """One date of the season.

    Args:
        key: wrap, raise, close, vent, open, take-down; unique.
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
        return tr("{day} {month}").format(day=self.day, month=month_name(self.month - 1))


def standing(climate: Climate, limit_degc: float, design_min_degc: float = 99.0) -> tuple[int, int] | None:
    """Return (raise, take-down) as offsets from the coldest day, None when no shelter is needed.

    Args:
        climate: The place.
        limit_degc: Lowest temperature the plant bears unsheltered [°C].
        design_min_degc: The design night; when it lies below the limit although no usual night
            does, the shelter stands for the coldest part of the winter all the same [°C].
    """
    middle = coldest_day(climate)
    chances = {k: night_chance(climate, middle + k, limit_degc) for k in range(-182, 183)}
    most = max(chances.values())
    rare = most <= RAISE_CHANCE and design_min_degc < limit_degc
    up, down = (most / 4.0, most / 4.0) if rare else (RAISE_CHANCE, TAKE_DOWN_CHANCE)
    before = [k for k in range(-182, 1) if chances[k] > up]
    after = [k for k in range(183) if chances[k] > down]
    if not before and not after:
        return None
    return (min(before) if before else 0), (max(after) + 1 if after else 1)


def season_days(climate: Climate, limit_degc: float, design_min_degc: float = 99.0) -> tuple[int, ...]:
    """Return the days of the year 1 to 365 on which the shelter stands, in order of the season."""
    span = standing(climate, limit_degc, design_min_degc)
    if span is None:
        return ()
    middle = coldest_day(climate)
    return tuple((middle + k - 1) % 365 + 1 for k in range(span[0], span[1] + 1))


def cold_months(climate: Climate) -> tuple[int, ...]:
    """Return the five months 0 to 11 round the coldest day, for a place that needs no shelter."""
    middle = month_of(coldest_day(climate))
    return tuple((middle + k) % 12 for k in range(-2, 3))


def days_by_month(days: tuple[int, ...]) -> dict[int, int]:
    """Return how many of some days of the year fall into each month 0 to 11, in order of the season."""
    count: dict[int, int] = {}
    for day in days:
        count[month_of(day)] = count.get(month_of(day), 0) + 1
    return count


def months_standing(climate: Climate, limit_degc: float, design_min_degc: float = 99.0) -> tuple[int, ...]:
    """Return the months 0 to 11 in which the shelter stands for at least ten days, in order of the season."""
    count = days_by_month(season_days(climate, limit_degc, design_min_degc))
    kept = tuple(month for month, days in count.items() if days >= 10)
    return kept or tuple(count)


def _inside_on(days: tuple[ClearDay, ...], day: int) -> float:
    """Return the likely clear-day temperature on a day, straight between mid-months [°C]."""
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


def _reasons(climate: Climate, middle: int, limit_degc: float) -> tuple[str, str]:
    """Return why the shelter is raised and taken down when it is."""
    usual = max(night_chance(climate, middle + k, limit_degc) for k in range(-30, 31)) > RAISE_CHANCE
    if not usual:
        rare = tr(
            "no usual night falls below {limit:.0f} °C here; for the hard winter the coldest weeks are covered"
        ).format(limit=limit_degc)
        return rare, tr("the coldest weeks are over")
    return (
        tr("from here on more than {share:.0%} of nights fall below the plant's limit of {limit:.0f} °C").format(
            share=RAISE_CHANCE, limit=limit_degc
        ),
        tr("fewer than {share:.0%} of nights still fall below the plant's limit; keep cloth at hand").format(
            share=TAKE_DOWN_CHANCE
        ),
    )


def season_events(
    climate: Climate, limit_degc: float, days: tuple[ClearDay, ...], design_min_degc: float = 99.0
) -> tuple[Event, ...]:
    """Return the dates of the season in order, empty when the plant needs no shelter there.

    Args:
        climate: The place.
        limit_degc: Lowest temperature the plant bears unsheltered [°C].
        days: Clear days of the twelve months, for airing and opening.
        design_min_degc: The design night [°C].
    """
    span = standing(climate, limit_degc, design_min_degc)
    if span is None:
        return ()
    middle = coldest_day(climate)
    up, down = middle + span[0], middle + span[1]
    first = up - WRAP_DAYS_BEFORE
    why_up, why_down = _reasons(climate, middle, limit_degc)
    events = [
        _event(
            "wrap",
            tr("Tie and wrap the plant, level the ring, test the heat"),
            first,
            first,
            tr("{days} days before raising, while it is dry and mild").format(days=WRAP_DAYS_BEFORE),
        ),
        _event("raise", tr("Raise the shelter"), up, first, why_up),
    ]
    hot = next((d for d in range(middle, down + 1) if _inside_on(days, d) > VENT_DEGC), None)
    too_hot = next((d for d in range(middle, down + 1) if _inside_on(days, d) > OPEN_DEGC), None)
    early = [d for d in range(up, middle) if _inside_on(days, d) > OPEN_DEGC]
    if early:
        why = tr("until then a clear noon is likely above {limit:.0f} °C inside: leave a panel off by day").format(
            limit=OPEN_DEGC
        )
        events.append(_event("close", tr("Close the last panel for the winter"), max(early) + 1, first, why))
    if hot is not None:
        why = tr("a clear noon is likely above {limit:.0f} °C inside with everything closed").format(limit=VENT_DEGC)
        if hot == middle:
            why += tr(", already in mid-winter: air on every clear day from the start")
        events.append(_event("vent", tr("Open the vent on clear days"), hot, first, why))
    if too_hot is not None:
        why = tr("a clear noon is likely above {limit:.0f} °C inside, which harms more than frost does").format(
            limit=OPEN_DEGC
        )
        if too_hot < down:
            why += tr("; {days} days of possible frost are left, so close it again for the night").format(
                days=down - too_hot
            )
        if hot is not None and too_hot == hot:
            why += tr("; the vent alone will not do")
        events.append(_event("open", tr("Take a panel or the roof off on clear days"), too_hot, first, why))
    events.append(_event("take-down", tr("Take the shelter down"), down, first, why_down))
    return tuple(sorted(events, key=lambda event: event.after_days))
