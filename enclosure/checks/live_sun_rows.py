"""How hot does a clear day make it, what must be opened, and how much light is left?

Rows: the hottest clear day of the months in which the shelter stands, the
growers' rule for mid-winter, vents by floor and by stack effect, and the light.
Every temperature is a range: see `sun`.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from math import isinf

from enclosure.brief.model import Brief
from enclosure.checks.climate import MONTH_NAMES, Climate, coldest_day, mid_day
from enclosure.checks.live_inputs import Living
from enclosure.checks.model import Check, Line
from enclosure.checks.rows import degc, note, ratio
from enclosure.checks.sun import (
    ClearDay,
    Face,
    clear_day,
    daily_light,
    incident_and_passed,
    kept_share,
    light_share,
    rise,
    vent_area_by_floor,
    vent_area_by_stack,
)

TOO_HOT_DEGC = 30.0
RULE_RISE_K = 25.0
MOST_ADVICE = 9.99
RULE_OUTSIDE_DEGC = -5.0
RULE_WORDS = "about +20 °C inside twin-wall on a clear mid-winter day at -5 °C: common practice, no source"
SNOW_BELOW_DEGC = -1.0


@lru_cache(maxsize=64)
def clear_days(faces: tuple[Face, ...], climate: Climate, conductance_w_k: float) -> tuple[ClearDay, ...]:
    """Return the hottest hour of a clear day of each month; snow on the ground in frosty months."""
    return tuple(
        clear_day(faces, climate, month, conductance_w_k, climate.monthly_mean_degc[month] < SNOW_BELOW_DEGC)
        for month in range(12)
    )


def clear_day_row(here: Living, climate: Climate, months: Iterable[int]) -> Check:
    """Return the hottest clear day while the shelter stands closed."""
    days = clear_days(here.faces, climate, here.network.shelter_w_k)
    standing = [days[month] for month in months]
    worst = max(standing, key=lambda day: (day.inside_degc[1], -day.month))
    lines = [
        Line(
            f"{MONTH_NAMES[day.month]}: outside {day.outside_degc:.0f} °C, inside likely",
            "T out + kept x passed / H",
            f"range {day.inside_degc[0]:.0f} to {day.inside_degc[2]:.0f} °C",
            day.inside_degc[1],
            "°C",
        )
        for day in days
    ]
    first = next((day for day in standing if day.inside_degc[1] > TOO_HOT_DEGC), None)
    way = ""
    if first is not None:
        way = f"open panels or the vent on clear days from {MONTH_NAMES[first.month]} on"
    low, likely, high = worst.inside_degc
    return Check(
        "sun-clear-day",
        "hottest clear day with the shelter closed",
        likely,
        TOO_HOT_DEGC,
        "°C",
        ratio(likely, TOO_HOT_DEGC),
        "steady sun balance; Ineichen-Perez clear sky; 30 °C is common practice, no source",
        "practice",
        inputs=(f"{MONTH_NAMES[worst.month]}: {degc(low)} to {degc(high)}, likely {degc(likely)}",),
        assumptions=(
            "of the sun let through, 36 to 85 % stays as heat; the likely 48 % is fitted to growers' "
            "practice",
            "closed shelter, calm, no clouds; the high end has fresh snow around it in frosty months",
        ),
        way_out=way,
        working=tuple(lines),
        advice=True,
    )


def midwinter_range(here: Living, climate: Climate) -> tuple[float, float, float]:
    """Return the rise of the inside at noon of the darkest day, low, likely and high [K], without snow."""
    day = 355 if climate.latitude_deg >= 0.0 else 172
    passed = incident_and_passed(here.faces, climate, day, 12.0, 0.2)[1]
    h = here.network.shelter_w_k
    return rise(passed, h, 0), rise(passed, h, 1), rise(passed, h, 2)


def rule_row(here: Living, climate: Climate) -> Check:
    """Return the model's range beside the growers' rule for a clear mid-winter noon."""
    low, likely, high = midwinter_range(here, climate)
    inside = low <= RULE_RISE_K <= high
    words = "lies inside the model's range" if inside else "lies outside the model's range for this shelter"
    return note(
        "sun-midwinter-rule",
        "clear mid-winter noon at -5 °C outside",
        RULE_OUTSIDE_DEGC + likely,
        "°C",
        "common practice, no source",
        "practice",
        inputs=(
            f"model: {degc(RULE_OUTSIDE_DEGC + low)} to {degc(RULE_OUTSIDE_DEGC + high)}",
            f"rule: {RULE_WORDS}; it {words}",
        ),
        assumptions=("the rule was made on twin-wall boxes at about 44 degrees north; others may differ",),
        working=(
            Line("rise, low", f"{kept_share(0):.2f} x passed / H", "", low, "K"),
            Line("rise, likely", f"{kept_share(1):.2f} x passed / H", "", likely, "K"),
            Line("rise, high", f"{kept_share(2):.2f} x passed / H", "", high, "K"),
        ),
    )


def vent_row(here: Living, climate: Climate, brief: Brief, months: Iterable[int]) -> Check:
    """Return the vent asked for beside the vent the brief has."""
    share = brief.vent.share if brief.vent is not None else 0.0
    needed, given = vent_area_by_floor(here.floor_m2), vent_area_by_floor(here.floor_m2, share)
    days = clear_days(here.faces, climate, here.network.shelter_w_k)
    hottest = max((days[m] for m in months), key=lambda day: (day.inside_degc[1], -day.month))
    kept = (hottest.inside_degc[1] - hottest.outside_degc) * here.network.shelter_w_k
    stack = vent_area_by_stack(
        kept, here.network.shelter_w_k, 0.8 * here.height_m, hottest.outside_degc, TOO_HOT_DEGC
    )
    way = ""
    if given < needed:
        way = (
            f'a vent of {needed:.2f} m² high up and the same low down (vent.share = "15 %"), '
            "or open panels by hand on every clear day"
        )
    stack_text = "none is enough: take the roof or a wall off" if isinf(stack) else f"{stack:.2f} m² each"
    return Check(
        "vent-area",
        "vent area by share of the floor",
        needed,
        given,
        "m²",
        min(MOST_ADVICE, ratio(needed, given)),
        "ASABE as quoted in trade fact sheets: 15 to 20 % of the floor, high and low each",
        "handbook",
        inputs=(
            f"floor {here.floor_m2:.2f} m²",
            f"stack effect, to stay at {degc(TOO_HOT_DEGC)} on a clear day in "
            f"{MONTH_NAMES[hottest.month]}: {stack_text}",
        ),
        assumptions=(
            "openings high and low, 80 % of the height apart, no wind, discharge 0.6 (from memory)",
        ),
        way_out=way,
        working=(
            Line("by floor", "0.15 x floor", f"0.15 x {here.floor_m2:.2f}", needed, "m²"),
            Line("by stack effect", "Q = Cd A sqrt(g h dT/T)", "", min(stack, 99.0), "m²"),
            Line("in the brief", "share x floor", f"{share:.2f} x {here.floor_m2:.2f}", given, "m²"),
        ),
        advice=True,
    )


def light_row(here: Living, climate: Climate) -> Check:
    """Return the light that reaches the plant on a clear mid-winter day."""
    day = coldest_day(climate)
    month = min(range(12), key=lambda m: (abs(mid_day(m) - day) % 365, m))
    outside, share = daily_light(climate, month), light_share(here.faces, climate, month)
    return note(
        "light-daily",
        "light for the plant on a clear mid-winter day",
        outside * share,
        "mol/m² a day",
        "Britton and Dodd 1976 (2.114 micromol per joule), clear sky",
        "published",
        inputs=(f"{MONTH_NAMES[month]}: {outside:.0f} mol/m² out of doors, {100.0 * share:.0f} % comes in",),
        assumptions=(
            "clear day; a cloudy winter leaves about half; many evergreens rest at 4 to 10 mol (practice)",
        ),
        working=(
            Line("out of doors", "sum of sun x 2.114", "", outside, "mol/m²"),
            Line("share let in", "sum(E A light open) / sum(E A)", "", 100.0 * share, "%"),
        ),
    )
