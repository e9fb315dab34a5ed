"""What is the usual temperature on a day of the year, and how far does it stray?

From twelve monthly means and a daily range to a smooth yearly course that keeps
every monthly mean, a spread of daily means, and the chance of a night below a
limit. Plain floats; the hourly weather stands in `weather`.

Units: °C, K, day of the year 1 to 365 (29 February is left out).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

from enclosure.checks.degree_days import daily_sd_from_erbs, normal_share, yearly_sd
from enclosure.checks.ranges import within
from enclosure.language import later, tr

MONTH_DAYS = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
MONTH_NAMES = (
    later("January"), later("February"), later("March"), later("April"), later("May"), later("June"), later("July"),
    later("August"), later("September"), later("October"), later("November"), later("December"),
)  # fmt: skip


def month_name(place: int) -> str:
    """Return a month in words, January is 0."""
    return tr(MONTH_NAMES[place])


@dataclass(frozen=True, slots=True)
class Climate:
    """The usual year of one place.

    Args:
        monthly_mean_degc: Twelve means, January first [°C].
        daily_range_k: Usual swing between night and day [K].
        latitude_deg: North positive.
        longitude_deg: East positive.
        altitude_m: Height above the sea [m].
    """

    monthly_mean_degc: tuple[float, ...]
    daily_range_k: float
    latitude_deg: float
    longitude_deg: float
    altitude_m: float


def month_of(day: int) -> int:
    """Return the month, 0 to 11, of a day of the year (any whole number, taken round the year)."""
    left = (day - 1) % 365
    for month, length in enumerate(MONTH_DAYS):
        if left < length:
            return month
        left -= length
    return 11


def day_month(day: int) -> tuple[int, int]:
    """Return (month 1 to 12, day of the month) of a day of the year, taken round the year."""
    left = (day - 1) % 365
    for month, length in enumerate(MONTH_DAYS):
        if left < length:
            return month + 1, left + 1
        left -= length
    return 12, 31


def first_day(month: int) -> int:
    """Return the day of the year on which a month 0 to 11 begins."""
    return 1 + sum(MONTH_DAYS[:month])


def mid_day(month: int) -> int:
    """Return the day of the year in the middle of a month 0 to 11."""
    return first_day(month) + MONTH_DAYS[month] // 2


@lru_cache(maxsize=32)
def normal_course(monthly_mean_degc: tuple[float, ...]) -> tuple[float, ...]:
    """Return the usual mean of each of 365 days [°C].

    Straight lines between points in mid-month, the points moved until every
    monthly mean is kept (to 1e-9 K).
    """
    within("number of monthly means", len(monthly_mean_degc), 12, 12)
    knots = list(monthly_mean_degc)
    between = _between_middles()
    days: list[float] = []
    for _ in range(200):
        days = [knots[month] + share * (knots[other] - knots[month]) for month, other, share in between]
        worst = 0.0
        for month in range(12):
            start = first_day(month) - 1
            got = sum(days[start : start + MONTH_DAYS[month]]) / MONTH_DAYS[month]
            knots[month] += monthly_mean_degc[month] - got
            worst = max(worst, abs(monthly_mean_degc[month] - got))
        if worst < 1e-9:
            break
    return tuple(days)


def _between_middles() -> list[tuple[int, int, float]]:
    """Return for each day its month, the month whose middle is next to it, and how far it lies toward that one."""
    middles = [first_day(m) + (MONTH_DAYS[m] - 1) / 2.0 for m in range(12)]
    found = []
    for day in range(1, 366):
        month = month_of(day)
        if day < middles[month]:
            other, where = (month - 1) % 12, middles[month - 1] - (365 if month == 0 else 0)
            share = (middles[month] - day) / (middles[month] - where)
        else:
            other = (month + 1) % 12
            where = middles[other] + (365 if month == 11 else 0)
            share = (day - middles[month]) / (where - middles[month])
        found.append((month, other, share))
    return found


@lru_cache(maxsize=32)
def coldest_day(climate: Climate) -> int:
    """Return the day of the year, 1 to 365, whose usual fortnight is coldest."""
    course = normal_course(climate.monthly_mean_degc)
    around = [sum(course[(i + k) % 365] for k in range(-7, 8)) for i in range(365)]
    return 1 + min(range(365), key=lambda i: (around[i], i))


@lru_cache(maxsize=512)
def daily_sd(climate: Climate, month: int) -> float:
    """Return the spread of daily means in a month 0 to 11 [K], at least 1 K.

    References:
        [Erbs 1983] spread of the monthly mean, turned to daily means as in
        `degree_days.daily_sd_from_erbs`.
    """
    spread = yearly_sd(climate.monthly_mean_degc)
    return max(1.0, daily_sd_from_erbs(climate.monthly_mean_degc[month], spread, MONTH_DAYS[month]))


def night_chance(climate: Climate, day: int, limit_degc: float) -> float:
    """Return the chance that the night of a day falls below a limit, 0 to 1.

    The night's least is the day's mean less half of the daily range; daily means
    are taken as normally distributed.
    """
    course = normal_course(climate.monthly_mean_degc)
    least = course[(day - 1) % 365] - climate.daily_range_k / 2.0
    return normal_share((limit_degc - least) / daily_sd(climate, month_of(day)))


def outside_at(climate: Climate, day: int, sun_hour: float) -> float:
    """Return the usual temperature at an hour of local sun time [°C]; least at 3 h, greatest at 15 h."""
    swing = climate.daily_range_k / 2.0 * math.cos(2.0 * math.pi * (sun_hour - 15.0) / 24.0)
    return normal_course(climate.monthly_mean_degc)[(day - 1) % 365] + swing
