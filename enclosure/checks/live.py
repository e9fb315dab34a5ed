"""Will it live? All rows on heat, season, sun, damp, power and ground of one design.

Steady rows first; rows that need the usual year only where the site gives
monthly means. The array library is imported only when the hourly walk is asked
for.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from enclosure.brief.model import Brief
from enclosure.checks.live_heat_rows import (
    Supply,
    frost_row,
    heat_row,
    layer_row,
    lowest_row,
    power_cut_row,
    setpoint_row,
)
from enclosure.checks.live_inputs import Living, living
from enclosure.checks.live_power_rows import power_rows, supply_of
from enclosure.checks.live_season_rows import (
    calendar_row,
    energy_row,
    ground_gain,
    ground_row,
    hourly_season,
)
from enclosure.checks.live_sun_rows import clear_day_row, clear_days, light_row, rule_row, vent_row
from enclosure.checks.model import Check
from enclosure.checks.rows import note
from enclosure.checks.season_calendar import (
    Event,
    cold_months,
    days_by_month,
    months_standing,
    season_days,
    season_events,
)
from enclosure.language import tr
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock
from enclosure.tables.read import zone_low_degc

if TYPE_CHECKING:
    from enclosure.checks.weather import Weather


def plant_limit(here: Living, brief: Brief) -> float:
    """Return the temperature below which the plant is hurt: the brief's limit, else the setpoint [°C]."""
    return here.heat.setpoint_degc if brief.plant.limit_degc is None else brief.plant.limit_degc


def calendar_of(design: Design, brief: Brief, site: Site, stock: Stock) -> tuple[Event, ...]:
    """Return the dates of the season, empty when the site gives no monthly means or none are needed."""
    here = living(design, brief, site, stock)
    if here.climate is None:
        return ()
    days = clear_days(here.faces, here.climate, here.network.shelter_w_k)
    return season_events(here.climate, plant_limit(here, brief), days, site.design_min_degc)


def living_checks(
    design: Design,
    brief: Brief,
    site: Site,
    stock: Stock,
    *,
    hourly: bool = False,
    weather: Weather | None = None,
) -> tuple[Check, ...]:
    """Return the rows on whether the plant lives through the winter, in reading order.

    Args:
        design: The shelter.
        brief: What was asked: plant, heat, vent, bed.
        site: Climate and design night.
        stock: For the bed's lining and the currency.
        hourly: True for the hourly walk in the energy row (imports numpy).
        weather: Hours read from a file; implies the hourly walk.
    """
    here = living(design, brief, site, stock)
    supply = supply_of(brief, here.source)
    limit = plant_limit(here, brief)
    zone = None if site.zone is None else (site.zone, zone_low_degc(site.zone))
    climate = here.climate
    ground = None if climate is None else ground_gain(here, climate, limit)
    rows = [
        heat_row(here, supply, brief.plant.limit_degc),
        lowest_row(here, supply, brief.plant.limit_degc, zone),
        setpoint_row(here, supply),
        layer_row(here, supply, ground),
        *power_rows(brief, here.source),
        power_cut_row(here, limit),
        frost_row(here, supply),
    ]
    return (*rows, *_year_rows(here, brief, site, stock, supply, hourly, weather))


def _year_rows(
    here: Living,
    brief: Brief,
    site: Site,
    stock: Stock,
    supply: Supply,
    hourly: bool,
    weather: Weather | None,
) -> tuple[Check, ...]:
    """Return the rows that need the usual year."""
    climate, limit = here.climate, plant_limit(here, brief)
    if climate is None:
        missing = note(
            "season-missing",
            tr("season, sun, ground and dates"),
            0.0,
            "",
            tr("no monthly means in the site file"),
            "handbook",
            way_out=tr("give monthly_mean in the site file: twelve temperatures, January first"),
        )
        return (missing,)
    months = months_standing(climate, limit, site.design_min_degc) or cold_months(climate)
    days = clear_days(here.faces, climate, here.network.shelter_w_k)
    standing_days = season_days(climate, limit, site.design_min_degc)
    walks = None
    if (hourly or weather) and standing_days:
        walks = (
            hourly_season(here, supply, standing_days, weather),
            hourly_season(here, supply, standing_days, weather, sun=True),
        )
    return (
        energy_row(here, supply, climate, stock.currency, limit, days_by_month(standing_days), walks),
        clear_day_row(here, climate, months),
        rule_row(here, climate),
        vent_row(here, climate, brief, months),
        light_row(here, climate),
        ground_row(climate),
        calendar_row(season_events(climate, limit, days, site.design_min_degc)),
    )
