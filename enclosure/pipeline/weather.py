"""Which hours of a weather file concern a shelter?

    checks.weather.read_weather -> turned so that the winter lies in one piece
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.errors import BriefError
from enclosure.pipeline.walk import Shelter

if TYPE_CHECKING:
    from enclosure.checks.weather import Weather


def hours_for(shelter: Shelter, path: Path) -> Weather:
    """Return the hours of a weather file, beginning half a year before the coldest day.

    Raises:
        BriefError: The file cannot be read, or holds no hour of the time in which the shelter stands.
        FaultsError: Lines of it are wrong; each fault names line and column.
    """
    import numpy as np

    from enclosure.checks.climate import coldest_day
    from enclosure.checks.live import plant_limit
    from enclosure.checks.live_inputs import living
    from enclosure.checks.season_calendar import season_days
    from enclosure.checks.weather import read_weather

    weather = read_weather(path)
    here = living(shelter.design, shelter.brief, shelter.site, shelter.stock)
    if here.climate is None:
        raise BriefError(
            f"{path.name} cannot be used: the site gives no monthly means, so nobody knows when the shelter stands",
            "give monthly_mean in the site file: twelve temperatures, January first",
        )
    days = season_days(here.climate, plant_limit(here, shelter.brief), shelter.site.design_min_degc)
    if days and not np.isin(weather.day, np.array(days)).any():
        raise BriefError(
            f"{path.name} holds no hour of the time in which the shelter stands",
            "use a file of a whole year, or of the winter",
        )
    return weather.turned((coldest_day(here.climate) + 181) % 365 + 1)
