"""Where is the sun, and how strong is it on a tilted face under a clear sky?

Closed forms only: low-precision solar position (0.01 degree), Ineichen-Perez
clear sky, isotropic sky and ground reflection on a tilted face. Plain floats,
so the checks need no array library. Left out: horizon, trees, and clouds.

Units: degrees, W/m², m. Azimuth from north through east. Time is universal
time: day of the year (1 = 1 January) and hours.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.ranges import within

SOLAR_CONSTANT_W_M2 = 1366.1

# Any plain year: the sun's path differs by less than a quarter of a degree between years.
REFERENCE_YEAR = 2023


@dataclass(frozen=True, slots=True)
class SunPlace:
    """Where the sun stands: true elevation and azimuth from north through east [degrees]."""

    elevation_deg: float
    azimuth_deg: float


@dataclass(frozen=True, slots=True)
class ClearSky:
    """Irradiance under a clear sky [W/m²]: global on the level, direct beam, diffuse on the level."""

    global_w_m2: float
    beam_w_m2: float
    diffuse_w_m2: float


def days_from_2000(day_of_year: float, hour_utc: float, year: int = REFERENCE_YEAR) -> float:
    """Return days since noon of 1 January 2000 (universal time)."""
    years = year - 1
    leap_days = years // 4 - years // 100 + years // 400
    before = 365 * years + leap_days  # days from year 1 to the start of the year
    start_2000 = 365 * 1999 + 1999 // 4 - 1999 // 100 + 1999 // 400
    return before - start_2000 + (day_of_year - 1.0) + hour_utc / 24.0 - 0.5


def sun_place(
    latitude_deg: float, longitude_deg: float, day_of_year: float, hour_utc: float, year: int = REFERENCE_YEAR
) -> SunPlace:
    """Return where the sun stands, without refraction.

    Args:
        latitude_deg: Latitude, north positive, -90 to 90.
        longitude_deg: Longitude, east positive, -180 to 180.
        day_of_year: 1 to 366.
        hour_utc: Universal time [h]; may run over midnight.
        year: Calendar year, 1950 to 2050.

    References:
        [Michalsky 1988] the Astronomical Almanac's low-precision formulas, 0.01 degree to 2050.
    """
    within("latitude", latitude_deg, -90.0, 90.0, "degrees")
    within("longitude", longitude_deg, -180.0, 180.0, "degrees")
    within("year", year, 1950, 2050)
    n = days_from_2000(day_of_year, hour_utc, year)
    mean_longitude = 280.460 + 0.9856474 * n
    anomaly = math.radians(357.528 + 0.9856003 * n)
    ecliptic = math.radians(mean_longitude + 1.915 * math.sin(anomaly) + 0.020 * math.sin(2.0 * anomaly))
    obliquity = math.radians(23.439 - 0.0000004 * n)
    ascension = math.atan2(math.cos(obliquity) * math.sin(ecliptic), math.cos(ecliptic))
    declination = math.asin(math.sin(obliquity) * math.sin(ecliptic))
    sidereal_deg = 15.0 * (6.697375 + 0.0657098242 * n + hour_utc) + longitude_deg
    hour_angle = math.radians(sidereal_deg) - ascension
    latitude = math.radians(latitude_deg)
    sine = math.sin(declination) * math.sin(latitude) + math.cos(declination) * math.cos(latitude) * math.cos(
        hour_angle
    )
    elevation = math.asin(max(-1.0, min(1.0, sine)))
    azimuth = math.atan2(
        -math.cos(declination) * math.sin(hour_angle),
        math.sin(declination) * math.cos(latitude)
        - math.cos(declination) * math.sin(latitude) * math.cos(hour_angle),
    )
    return SunPlace(math.degrees(elevation), math.degrees(azimuth) % 360.0)


def refraction(elevation_deg: float) -> float:
    """Return by how much refraction lifts the sun [degrees], 0 well below the horizon.

    References:
        [Bennett 1982] form of Saemundsson for true elevation, at 1010 hPa and 10 °C.
    """
    if elevation_deg < -1.0:
        return 0.0
    return 1.02 / math.tan(math.radians(elevation_deg + 10.3 / (elevation_deg + 5.11))) / 60.0


def air_mass(apparent_elevation_deg: float) -> float:
    """Return the relative optical air mass at sea level.

    References:
        [Kasten & Young 1989] 1/(sin e + 0.50572 (e + 6.07995)^-1.6364).
    """
    within("elevation of the sun", apparent_elevation_deg, 0.0, 90.5, "degrees")
    sine = math.sin(math.radians(apparent_elevation_deg))
    return float(1.0 / (sine + 0.50572 * (apparent_elevation_deg + 6.07995) ** -1.6364))


def extraterrestrial(day_of_year: float) -> float:
    """Return the irradiance outside the atmosphere, square to the sun [W/m²].

    References:
        [Spencer 1971] series for the distance of the sun.
    """
    b = 2.0 * math.pi * (day_of_year - 1.0) / 365.0
    ratio = (
        1.00011
        + 0.034221 * math.cos(b)
        + 0.00128 * math.sin(b)
        + 0.000719 * math.cos(2.0 * b)
        + 0.000077 * math.sin(2.0 * b)
    )
    return SOLAR_CONSTANT_W_M2 * ratio


def clear_sky(
    elevation_deg: float, day_of_year: float, altitude_m: float = 0.0, turbidity: float = 2.5
) -> ClearSky:
    """Return the irradiance under a clear sky.

    Args:
        elevation_deg: True elevation of the sun [degrees].
        day_of_year: 1 to 366.
        altitude_m: Height above the sea [m], -430 to 4000.
        turbidity: Linke turbidity at air mass 2, 1 to 8; 2.5 is clean winter air.

    References:
        [Ineichen & Perez 2002] global and beam, with Kasten-Young air mass times the
        pressure ratio of the altitude.
    """
    within("altitude", altitude_m, -430.0, 4000.0, "m")
    within("turbidity", turbidity, 1.0, 8.0)
    apparent = elevation_deg + refraction(elevation_deg)
    if apparent <= 0.0:
        return ClearSky(0.0, 0.0, 0.0)
    pressure_ratio = (1.0 - 2.25577e-5 * altitude_m) ** 5.25588
    mass = air_mass(apparent) * pressure_ratio
    outside = extraterrestrial(day_of_year)
    sine = max(math.sin(math.radians(apparent)), 1e-6)
    fh1, fh2 = math.exp(-altitude_m / 8000.0), math.exp(-altitude_m / 1250.0)
    cg1, cg2 = 5.09e-5 * altitude_m + 0.868, 3.92e-5 * altitude_m + 0.0387
    level = max(0.0, cg1 * outside * sine * math.exp(-cg2 * mass * (fh1 + fh2 * (turbidity - 1.0))))
    b = 0.664 + 0.163 / fh1
    beam = b * outside * math.exp(-0.09 * mass * (turbidity - 1.0))
    cap = (1.0 - (0.1 - 0.2 * math.exp(-turbidity)) / (0.1 + 0.882 / fh1)) / sine
    beam = min(max(beam, 0.0), level * max(cap, 0.0))
    return ClearSky(level, beam, max(0.0, level - beam * sine))


def incidence_cosine(tilt_deg: float, bearing_deg: float, place: SunPlace) -> float:
    """Return the cosine between the sun and the outward normal of a face.

    Args:
        tilt_deg: Tilt of the face from level, 0 roof, 90 wall.
        bearing_deg: Compass bearing toward which it looks.
        place: Where the sun stands.
    """
    tilt, up = math.radians(tilt_deg), math.radians(place.elevation_deg)
    turn = math.radians(place.azimuth_deg - bearing_deg)
    return math.sin(up) * math.cos(tilt) + math.cos(up) * math.sin(tilt) * math.cos(turn)


def on_face(
    tilt_deg: float, bearing_deg: float, place: SunPlace, sky: ClearSky, ground_reflectance: float = 0.2
) -> float:
    """Return the irradiance on a tilted face [W/m²].

    Args:
        tilt_deg: Tilt from level [degrees], 0 to 90.
        bearing_deg: Bearing toward which the face looks [degrees].
        place: Where the sun stands.
        sky: What the sky gives.
        ground_reflectance: 0.2 grass, 0.7 fresh snow; 0 to 1.

    References:
        Beam by incidence; isotropic sky (1 + cos b)/2 [Hottel & Woertz 1942, Liu & Jordan 1960];
        ground reflection (1 - cos b)/2.
    """
    within("tilt", tilt_deg, 0.0, 90.0, "degrees")
    within("ground reflectance", ground_reflectance, 0.0, 1.0)
    cosine = math.cos(math.radians(tilt_deg))
    beam = sky.beam_w_m2 * max(0.0, incidence_cosine(tilt_deg, bearing_deg, place))
    diffuse = sky.diffuse_w_m2 * (1.0 + cosine) / 2.0
    reflected = sky.global_w_m2 * ground_reflectance * (1.0 - cosine) / 2.0
    return beam + diffuse + reflected


def solar_noon_utc(longitude_deg: float, day_of_year: float) -> float:
    """Return the universal time at which the sun is highest [h].

    References:
        [Spencer 1971] equation of time; 15 degrees an hour.
    """
    b = 2.0 * math.pi * (day_of_year - 1.0) / 365.0
    minutes = 229.18 * (
        0.000075
        + 0.001868 * math.cos(b)
        - 0.032077 * math.sin(b)
        - 0.014615 * math.cos(2.0 * b)
        - 0.04089 * math.sin(2.0 * b)
    )
    return 12.0 - longitude_deg / 15.0 - minutes / 60.0
