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
from enclosure.checks.climate import Climate, coldest_day, mid_day, month_name
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
from enclosure.language import later, tr

TOO_HOT_DEGC = 30.0
RULE_RISE_K = 25.0
MOST_ADVICE = 9.99
RULE_OUTSIDE_DEGC = -5.0
RULE_WORDS = later("about +20 °C inside twin-wall on a clear mid-winter day at -5 °C: common practice, no source")
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
            tr("{month}: outside {outside_degc:.0f} °C, inside likely").format(
                month=month_name(day.month), outside_degc=day.outside_degc
            ),
            tr("T out + kept x passed / H"),
            tr("range {low:.0f} to {high:.0f} °C").format(low=day.inside_degc[0], high=day.inside_degc[2]),
            day.inside_degc[1],
            "°C",
        )
        for day in days
    ]
    first = next((day for day in standing if day.inside_degc[1] > TOO_HOT_DEGC), None)
    way = ""
    if first is not None:
        way = tr("open panels or the vent on clear days from {month} on").format(month=month_name(first.month))
    low, likely, high = worst.inside_degc
    return Check(
        "sun-clear-day",
        tr("hottest clear day with the shelter closed"),
        likely,
        TOO_HOT_DEGC,
        "°C",
        ratio(likely, TOO_HOT_DEGC),
        tr("steady sun balance; Ineichen-Perez clear sky; 30 °C is common practice, no source"),
        "practice",
        inputs=(
            tr("{month}: {low} to {high}, likely {likely}").format(
                month=month_name(worst.month), low=degc(low), high=degc(high), likely=degc(likely)
            ),
        ),
        assumptions=(
            tr("of the sun let through, 36 to 85 % stays as heat; the likely 48 % is fitted to growers' practice"),
            tr("closed shelter, calm, no clouds; the high end has fresh snow around it in frosty months"),
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
    words = tr("lies inside the model's range") if inside else tr("lies outside the model's range for this shelter")
    return note(
        "sun-midwinter-rule",
        tr("clear mid-winter noon at -5 °C outside"),
        RULE_OUTSIDE_DEGC + likely,
        "°C",
        tr("common practice, no source"),
        "practice",
        inputs=(
            tr("model: {low} to {high}").format(low=degc(RULE_OUTSIDE_DEGC + low), high=degc(RULE_OUTSIDE_DEGC + high)),
            tr("rule: {rule}; it {lies}").format(rule=tr(RULE_WORDS), lies=words),
        ),
        assumptions=(tr("the rule was made on twin-wall boxes at about 44 degrees north; others may differ"),),
        working=(
            Line(tr("rise, low"), tr("{kept:.2f} x passed / H").format(kept=kept_share(0)), "", low, "K"),
            Line(tr("rise, likely"), tr("{kept:.2f} x passed / H").format(kept=kept_share(1)), "", likely, "K"),
            Line(tr("rise, high"), tr("{kept:.2f} x passed / H").format(kept=kept_share(2)), "", high, "K"),
        ),
    )


def vent_row(here: Living, climate: Climate, brief: Brief, months: Iterable[int]) -> Check:
    """Return the vent asked for beside the vent the brief has."""
    share = brief.vent.share if brief.vent is not None else 0.0
    needed, given = vent_area_by_floor(here.floor_m2), vent_area_by_floor(here.floor_m2, share)
    days = clear_days(here.faces, climate, here.network.shelter_w_k)
    hottest = max((days[m] for m in months), key=lambda day: (day.inside_degc[1], -day.month))
    kept = (hottest.inside_degc[1] - hottest.outside_degc) * here.network.shelter_w_k
    stack = vent_area_by_stack(kept, here.network.shelter_w_k, 0.8 * here.height_m, hottest.outside_degc, TOO_HOT_DEGC)
    way = ""
    if given < needed:
        way = tr(
            'a vent of {needed:.2f} m² high up and the same low down (vent.share = "15 %"), or open panels '
            "by hand on every clear day"
        ).format(needed=needed)
    stack_text = (
        tr("none is enough: take the roof or a wall off")
        if isinf(stack)
        else tr("{stack:.2f} m² each").format(stack=stack)
    )
    return Check(
        "vent-area",
        tr("vent area by share of the floor"),
        needed,
        given,
        "m²",
        min(MOST_ADVICE, ratio(needed, given)),
        tr("ASABE as quoted in trade fact sheets: 15 to 20 % of the floor, high and low each"),
        "handbook",
        inputs=(
            tr("floor {floor_m2:.2f} m²").format(floor_m2=here.floor_m2),
            tr("stack effect, to stay at {limit} on a clear day in {month}: {area}").format(
                limit=degc(TOO_HOT_DEGC), month=month_name(hottest.month), area=stack_text
            ),
        ),
        assumptions=(tr("openings high and low, 80 % of the height apart, no wind, discharge 0.6 (from memory)"),),
        way_out=way,
        working=(
            Line(tr("by floor"), tr("0.15 x floor"), f"0.15 x {here.floor_m2:.2f}", needed, "m²"),
            Line(tr("by stack effect"), "Q = Cd A sqrt(g h dT/T)", "", min(stack, 99.0), "m²"),
            Line(tr("in the brief"), tr("share x floor"), f"{share:.2f} x {here.floor_m2:.2f}", given, "m²"),
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
        tr("light for the plant on a clear mid-winter day"),
        outside * share,
        tr("mol/m² a day"),
        tr("Britton and Dodd 1976 (2.114 micromol per joule), clear sky"),
        "published",
        inputs=(
            tr("{month}: {outside:.0f} mol/m² out of doors, {share:.0f} % comes in").format(
                month=month_name(month), outside=outside, share=100.0 * share
            ),
        ),
        assumptions=(
            tr("clear day; a cloudy winter leaves about half; many evergreens rest at 4 to 10 mol (practice)"),
        ),
        working=(
            Line(tr("out of doors"), tr("sum of sun x 2.114"), "", outside, "mol/m²"),
            Line(tr("share let in"), tr("sum(E A light open) / sum(E A)"), "", 100.0 * share, "%"),
        ),
    )
