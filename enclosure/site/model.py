"""What are the climate and the ground like where the shelter stands?

Temperatures in degC, wind in m/s at 10 m, loads in kPa, height above the sea in m.
"""

from typing import Annotated, Any, Literal, Self

from pydantic import Field, field_validator, model_validator

from enclosure import units
from enclosure.files.fields import FileModel, fault, nearest_hint, one_of, quantity, some_text, temperature
from enclosure.tables.read import keys, zone_low_degc

Route = Literal["gust", "asce7", "en1991", "nbcc"]
HARD_GROUND = ("pav", "concrete", "slab", "asphalt", "tarmac", "deck", "terrace", "patio", "tile", "roof")
"""Parts of words that name ground without soil."""


class Wind(FileModel):
    """The wind: a gust as felt at the place, or the speed or pressure of a code.

    Routes: ``gust`` takes a gust speed as it is; ``asce7`` a mapped 3 s gust and an exposure;
    ``en1991`` a basic 10 min speed and a terrain; ``nbcc`` the hourly velocity pressure.
    """

    route: Annotated[Route, one_of("gust", "asce7", "en1991", "nbcc")] = "gust"
    gust_m_s: Annotated[float | None, quantity(units.SPEED, "5 m/s", "90 m/s")] = None
    speed_m_s: Annotated[float | None, quantity(units.SPEED, "5 m/s", "90 m/s")] = None
    hourly_pressure_kpa: Annotated[float | None, quantity(units.PRESSURE, "0.05 kPa", "3 kPa", per=1000)] = (
        None
    )
    exposure: Annotated[Literal["B", "C", "D"] | None, one_of("B", "C", "D")] = None
    terrain: Annotated[
        Literal["0", "I", "II", "III", "IV", "open", "rough"] | None,
        one_of("0", "I", "II", "III", "IV", "open", "rough"),
    ] = None

    @model_validator(mode="after")
    def _complete(self) -> Self:
        needs = {
            "gust": ((self.gust_m_s, 'gust = "80 km/h"'),),
            "asce7": ((self.speed_m_s, 'speed = "105 mph"'), (self.exposure, 'exposure = "C"')),
            "en1991": ((self.speed_m_s, 'speed = "24 m/s"'), (self.terrain, 'terrain = "II"')),
            "nbcc": (
                (self.hourly_pressure_kpa, 'hourly_pressure = "0.4 kPa"'),
                (self.terrain, 'terrain = "open"'),
            ),
        }
        for given, line in needs[self.route]:
            if given is None:
                raise fault(f"route {self.route} needs {line.split(' ')[0]}", f"add {line}")
        groups = {"en1991": ("0", "I", "II", "III", "IV"), "nbcc": ("open", "rough")}
        if self.route in groups and self.terrain not in groups[self.route]:
            raise fault(
                f"terrain {self.terrain} does not belong to route {self.route}",
                f"choose one of {', '.join(groups[self.route])}",
            )
        return self


class Site(FileModel):
    """One place."""

    name: Annotated[str, some_text()] = Field(description="what the place is called")
    zone: Annotated[str | None, some_text(4)] = None
    design_min_degc: Annotated[float, temperature("-60 degC", "20 degC")] = Field(
        description='the cold the shelter is designed for; or zone = "5b"'
    )
    wind: Wind
    snow_ground_kpa: Annotated[float, quantity(units.PRESSURE, "0 kPa", "15 kPa", per=1000)] = Field(
        description='ground snow load, for instance "30 psf" or "1.4 kPa"; "0 kPa" where none falls'
    )
    rain_on_snow_kpa: Annotated[float, quantity(units.PRESSURE, "0 kPa", "2 kPa", per=1000)] = 0.0
    soil: Annotated[str, some_text()] = Field(description="gravel, sand, clay or garden")
    monthly_mean_degc: tuple[Annotated[float, temperature("-50 degC", "45 degC")], ...] | None = Field(
        default=None, min_length=12, max_length=12
    )
    daily_range_k: Annotated[float, quantity(units.TEMPERATURE_DIFFERENCE, "0 K", "40 K")] = 9.0
    latitude_deg: Annotated[float, quantity(units.ANGLE, "-66 deg", "66 deg", reader=units.parse_place)] = (
        Field(description='for instance "44.0 deg N"')
    )
    longitude_deg: Annotated[
        float, quantity(units.ANGLE, "-180 deg", "180 deg", reader=units.parse_place)
    ] = 0.0
    altitude_m: Annotated[float, quantity(units.LENGTH, "-450 m", "5000 m", per=1000)] = 0.0

    @model_validator(mode="before")
    @classmethod
    def _design_from_zone(cls, data: Any) -> Any:
        """Take the zone's lower bound where no design temperature is given."""
        if (
            not isinstance(data, dict)
            or "zone" not in data
            or "design_min" in data
            or "design_min_degc" in data
        ):
            return data
        zone = data["zone"]
        known = isinstance(zone, str) and zone in keys("zones")
        # an unknown zone is reported at its own key, so any legal temperature does here
        return data | {"design_min": f"{zone_low_degc(zone):.6f} degC" if known else "-20 degC"}

    @field_validator("zone")
    @classmethod
    def _known_zone(cls, zone: str | None) -> str | None:
        if zone is not None and zone not in keys("zones"):
            raise fault("is not a hardiness zone", nearest_hint(zone, keys("zones"), "zones"))
        return zone

    @field_validator("soil")
    @classmethod
    def _known_soil(cls, soil: str) -> str:
        if any(word in soil.lower() for word in HARD_GROUND):
            raise fault(
                "is ground into which no post can be driven",
                f"lift a slab where each post stands and name the soil below it: {', '.join(keys('soils'))}; bolting "
                "down is not checked here",
            )
        if soil not in keys("soils"):
            raise fault("is not a soil that is known", nearest_hint(soil, keys("soils"), "soils"))
        return soil
