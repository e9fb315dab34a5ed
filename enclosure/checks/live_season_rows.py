"""What does the season ask: energy and cost, the ground, and the dates?

Energy comes from the degree-day closed form, so that a plain `check` needs no
array library. Asked for the hourly walk, the same row carries the simulation's
figures and the closed form beside them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from enclosure.checks.climate import MONTH_DAYS, Climate, coldest_day, daily_sd, month_of
from enclosure.checks.degree_days import (
    capped_degree_days,
    energy_kwh,
    erbs,
    hourly_sd,
    schoenau_kehrig,
    yearly_sd,
)
from enclosure.checks.ground import coldest_at_depth, frost_depth, ground_temperature
from enclosure.checks.heat_network import Network
from enclosure.checks.live_heat_rows import Supply
from enclosure.checks.live_inputs import Living
from enclosure.checks.model import Check, Line
from enclosure.checks.rows import degc, note, ratio
from enclosure.checks.season_calendar import Event
from enclosure.checks.sun import kept_by_hour, level_by_hour
from enclosure.language import tr

if TYPE_CHECKING:
    from enclosure.checks.season import Season
    from enclosure.checks.weather import Weather

SOIL_DIFFUSIVITY = 0.05
GROUND_U_W_M2K = 1.2


@dataclass(frozen=True, slots=True)
class SeasonEnergy:
    """Energy of a season by the closed form.

    Args:
        heat_kwh: Heat the source gives [kWh].
        wanted_kwh: Heat an unlimited source would give [kWh].
        erbs_kwh: The same by Erbs from monthly means alone [kWh].
        days: Days on which the shelter stands.
    """

    heat_kwh: float
    wanted_kwh: float
    erbs_kwh: float
    days: int


def season_energy(
    climate: Climate, network: Network, heat_w: float, base_degc: float, days: dict[int, int]
) -> SeasonEnergy:
    """Return the heat of a season from monthly means [kWh].

    Args:
        climate: The place.
        network: The shelter.
        heat_w: Most heat the source gives [W].
        base_degc: Temperature held round the plant [°C].
        days: Days of each month 0 to 11 on which the shelter stands.

    References:
        [Schoenau & Kehrig 1990] with the hourly spread; sun and stored heat left out.
    """
    spread = yearly_sd(climate.monthly_mean_degc)
    served = wanted = rough = 0.0
    for month, count in days.items():
        mean = climate.monthly_mean_degc[month]
        sd = hourly_sd(daily_sd(climate, month), climate.daily_range_k / 2.0)
        wanted += schoenau_kehrig(base_degc, mean, sd, count)
        served += capped_degree_days(base_degc, mean, sd, count, heat_w / network.plant_w_k)
        rough += erbs(base_degc, mean, MONTH_DAYS[month], spread) * count / MONTH_DAYS[month]
    h = network.plant_w_k
    return SeasonEnergy(energy_kwh(served, h), energy_kwh(wanted, h), energy_kwh(rough, h), sum(days.values()))


def base_temperature(here: Living) -> float:
    """Return the temperature the thermostat holds on average: the middle of its band [°C]."""
    return here.heat.setpoint_degc + here.source.band_k / 2.0


def hourly_season(
    here: Living,
    supply: Supply,
    days: tuple[int, ...],
    weather: Weather | None = None,
    sun: bool = False,
) -> Season:
    """Return the hourly walk over the days of the year on which the shelter stands (imports numpy).

    Args:
        here: The shelter and its place.
        supply: Heat that arrives.
        days: Days of the year; all hours are walked when there are none.
        weather: Hours of a file; a made-up usual year when None.
        sun: True to count the sun kept as heat: of the file where it has sun, half of a
            clear sky's otherwise.
    """
    import numpy as np

    from enclosure.checks.season import Heater, steady_season
    from enclosure.checks.weather import made_year

    if weather is None:
        assert here.climate is not None
        weather = made_year(here.climate)
    winter = weather.only(np.isin(weather.day, np.array(days))) if days else weather
    heater = Heater(supply.heat_w, here.heat.setpoint_degc, here.source.band_k)
    kept = None
    if sun and here.climate is not None:
        table = np.array(kept_by_hour(here.faces, here.climate, 0.5 if winter.global_w_m2 is None else 1.0))
        months = np.array([month_of(day) for day in range(1, 367)])[winter.day - 1]
        hours = winter.hour.astype(int)
        kept = table[months, hours]
        if winter.global_w_m2 is not None:
            clear = np.array(level_by_hour(here.climate))[months, hours]
            kept = kept * np.clip(winter.global_w_m2 / np.maximum(clear, 20.0), 0.0, 1.2)
    return steady_season(winter.outside_degc, here.network, heater, kept)


def _closed_lines(closed: SeasonEnergy, share: float, price: float, currency: str) -> tuple[Line, ...]:
    """Return the lines of the degree-day form, with the cost where a price is given."""
    source, form = tr("Schoenau and Kehrig 1990"), tr("N s (z Phi + phi), capped by the heater")
    lines = (
        Line(tr("degree-days, heat given"), form, "", closed.heat_kwh, "kWh", source),
        Line(tr("heat an unlimited source would give"), tr("the same, uncapped"), "", closed.wanted_kwh, "kWh"),
        Line(
            tr("by Erbs, unlimited"),
            "s_m N^1.5 (h/2 + ln cosh(a h)/2a + 0.2041)",
            "",
            closed.erbs_kwh,
            "kWh",
            tr("Erbs 1983"),
        ),
    )
    if not price:
        return lines
    words = f"{closed.heat_kwh:.0f} / {share:g} x {price:g}"
    return (*lines, Line(tr("cost"), tr("kWh / heat share x price"), words, closed.heat_kwh / share * price, currency))


def _walk_lines(walk: Season, sunny: Season | None, marks: tuple[float, ...]) -> tuple[Line, ...]:
    """Return the lines of the hourly walk; hours below each mark."""
    lines = [
        Line(tr("hourly walk, heat given"), tr("sum over hours"), "", walk.heat_kwh, "kWh"),
        Line(tr("coldest hour round the plant"), "", "", walk.coldest_degc, "°C"),
    ]
    lines += [
        Line(
            tr("hours below {mark:.0f} °C round the plant").format(mark=mark),
            "",
            "",
            float(walk.hours_below(mark)),
            "h",
        )
        for mark in sorted(set(marks), reverse=True)
    ]
    if sunny is not None:
        words = tr("about half of a clear sky, or the file's sun")
        lines.append(Line(tr("heat given when sun is counted"), words, "", sunny.heat_kwh, "kWh"))
    lines.append(Line(tr("imbalance of the walk"), tr("(in - out - stored) / all"), "", walk.imbalance, ""))
    return tuple(lines)


def energy_row(
    here: Living,
    supply: Supply,
    climate: Climate,
    currency: str,
    limit: float,
    days: dict[int, int],
    walks: tuple[Season, Season] | None = None,
) -> Check:
    """Return energy and cost of a season; `walks` are the hourly ones without and with sun."""
    base, price = base_temperature(here), here.heat.price_kwh
    closed = season_energy(climate, here.network, supply.heat_w, base, days)
    share = here.source.heat_share or 1.0
    lines = _closed_lines(closed, share, price, currency)
    inputs = [
        tr("{days} days standing").format(days=closed.days),
        tr("held on average {base}").format(base=degc(base)),
    ]
    if price:
        cost = closed.heat_kwh / share * price
        inputs += [
            tr("price {price:g} {currency} a kWh").format(price=price, currency=currency),
            tr("about {cost:.0f} {currency} a winter").format(cost=cost, currency=currency),
        ]
    elif here.source.heat_share:
        inputs.append(tr("what it costs is not worked out: the brief gives no price of a kWh (heat.price_kwh)"))
    words = [
        tr("no sun and no stored heat: an upper bound of the energy"),
        tr("the thermostat holds the middle of its band"),
    ]
    given, wanted = closed.heat_kwh, closed.wanted_kwh
    if walks is not None:
        walk, sunny = walks
        given, wanted = walk.heat_kwh, walk.wanted_kwh
        lines += _walk_lines(walk, sunny, (here.heat.setpoint_degc, 0.0, limit))
        inputs.append(tr("coldest hour of the walk {coldest_degc}").format(coldest_degc=degc(walk.coldest_degc)))
        words.append(tr("one made-up year strays by 10 % either way; a file is one year of weather"))
    return Check(
        "season-energy",
        tr("heat of a winter, given and wanted"),
        given,
        wanted,
        "kWh",
        min(1.0, ratio(given, wanted)),
        tr("degree-days after Schoenau and Kehrig 1990; Erbs 1983 beside it"),
        "handbook",
        inputs=tuple(inputs),
        assumptions=tuple(words),
        working=lines,
        advice=True,
    )


def ground_gain(here: Living, climate: Climate, plant_degc: float) -> float:
    """Return the heat that soil a metre down gives in mid-winter [W], a rough figure.

    References:
        1.2 W/m²K from a floor to soil at 1 m: from memory, 1.0 to 1.5.
    """
    mean = sum(climate.monthly_mean_degc) / 12.0
    swing = (max(climate.monthly_mean_degc) - min(climate.monthly_mean_degc)) / 2.0
    day = coldest_day(climate)
    soil = ground_temperature(1.0, day, mean, swing, day, SOIL_DIFFUSIVITY)
    return GROUND_U_W_M2K * here.floor_m2 * (soil - plant_degc)


def ground_row(climate: Climate) -> Check:
    """Return soil temperature by depth in the coldest time, and how deep bare ground freezes."""
    mean = sum(climate.monthly_mean_degc) / 12.0
    swing = (max(climate.monthly_mean_degc) - min(climate.monthly_mean_degc)) / 2.0
    depth = frost_depth(mean, swing, SOIL_DIFFUSIVITY)
    lines = tuple(
        Line(
            tr("coldest at {z:g} m").format(z=z),
            "Tm - A exp(-z sqrt(pi/365a))",
            "",
            coldest_at_depth(z, mean, swing),
            "°C",
        )
        for z in (0.1, 0.3, 0.6, 1.0, 1.5)
    )
    return note(
        "ground-frost",
        tr("depth to which bare ground freezes"),
        depth,
        "m",
        tr("Kusuda and Achenbach 1965"),
        "handbook",
        inputs=(
            tr("yearly mean {mean}").format(mean=degc(mean)),
            tr("half range of the monthly means {swing:.1f} K").format(swing=swing),
        ),
        assumptions=(
            tr("surface as warm as the air; diffusivity 0.05 m²/day; bare soil"),
            tr("snow, mulch and the freezing heat of water keep it several kelvin warmer: an upper bound of the depth"),
        ),
        working=lines,
    )


def calendar_row(events: tuple[Event, ...]) -> Check:
    """Return the dates of the season as a row."""
    if not events:
        return note(
            "season-calendar",
            tr("dates of the season"),
            0.0,
            tr("days standing"),
            tr("usual course of the year"),
            "handbook",
            inputs=(tr("no night below the plant's limit is likely here: no shelter is needed in a usual year"),),
        )
    start = next(event.after_days for event in events if event.key == "raise")
    end = next(event.after_days for event in events if event.key == "take-down")
    return note(
        "season-calendar",
        tr("dates of the season"),
        float(end - start),
        tr("days standing"),
        tr("usual course of the year"),
        "handbook",
        inputs=tuple(f"{event.title}: {event.date_text}" for event in events),
        assumptions=tuple(f"{event.date_text}: {event.reason}" for event in events),
    )
