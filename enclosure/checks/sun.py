"""When is a sunny day too hot, how large must the vent be, and how much light is left?

A steady balance of sun kept as heat against all losses, hour by hour over a
clear day. The textbook balance overshoots, because part of the sun evaporates
water, warms soil and plant, or is reflected out; so the share kept is a range
and every temperature is printed as a range. Left out: stored heat (it takes a
few kelvin off the peak), wind, and doors.

Units: W/m², m², m, K, °C, mol/m² a day. Walls tilt 90 degrees, a level roof 0.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.climate import Climate, mid_day, outside_at
from enclosure.checks.heat_network import AIR_WH_M3K
from enclosure.checks.ranges import GRAVITY, within
from enclosure.checks.solar import clear_sky, on_face, solar_noon_utc, sun_place

# Share of the sun let through, between the frame, that stays as sensible heat in the air: low, likely, high.
# High is the textbook's "all absorbed but 15 %"; likely is set so that a twin-wall box reaches the growers'
# +20 °C inside at -5 °C (a fit to common practice, no source); low keeps a quarter of what falls on the box.
# The rest evaporates water, warms soil and plant, or is reflected out.
KEPT_SHARE = (0.36, 0.48, 0.85)

MICROMOL_PER_JOULE = 2.114
DISCHARGE = 0.6


@dataclass(frozen=True, slots=True)
class Face:
    """One face as the sun sees it.

    Args:
        name: Wall or roof slope.
        tilt_deg: 90 for a wall, 0 for a level roof.
        bearing_deg: Compass bearing toward which it looks.
        area_m2: Area between the walls.
        light: Share of light that the skin lets through.
        open_share: Share of the area not shaded by frame and track.
    """

    name: str
    tilt_deg: float
    bearing_deg: float
    area_m2: float
    light: float
    open_share: float


@dataclass(frozen=True, slots=True)
class ClearDay:
    """The hottest hour of a clear day in mid-month.

    Args:
        month: 0 to 11.
        outside_degc: Outdoor temperature at that hour, the usual day's course.
        incident_w: Sun on all faces.
        inside_degc: Inside temperature for the low, likely and high share kept.
    """

    month: int
    outside_degc: float
    incident_w: float
    inside_degc: tuple[float, float, float]


def kept_share(which: int) -> float:
    """Return the share of transmitted, unshaded sun kept as heat: 0 low, 1 likely, 2 high."""
    return KEPT_SHARE[which]


def incident_and_passed(
    faces: tuple[Face, ...], climate: Climate, day: int, sun_hour: float, reflectance: float
) -> tuple[float, float]:
    """Return (sun on all faces, sun through skin and between the frame) under a clear sky [W].

    Args:
        faces: Faces of the shelter.
        climate: Place.
        day: Day of the year.
        sun_hour: Local sun time, 12 at noon [h].
        reflectance: Of the ground: 0.2 grass, 0.7 fresh snow.
    """
    hour = solar_noon_utc(climate.longitude_deg, day) + sun_hour - 12.0
    place = sun_place(climate.latitude_deg, climate.longitude_deg, day, hour)
    sky = clear_sky(place.elevation_deg, day, max(0.0, climate.altitude_m))
    total, passed = 0.0, 0.0
    for face in faces:
        on = on_face(face.tilt_deg, face.bearing_deg, place, sky, reflectance) * face.area_m2
        total += on
        passed += on * face.light * face.open_share
    return total, passed


def rise(passed_w: float, conductance_w_k: float, which: int) -> float:
    """Return the rise of the inside above the outside [K] in steady sun."""
    within("conductance", conductance_w_k, 0.1, 1e5, "W/K")
    return kept_share(which) * passed_w / conductance_w_k


def clear_day(
    faces: tuple[Face, ...], climate: Climate, month: int, conductance_w_k: float, snow: bool = False
) -> ClearDay:
    """Return the hottest hour of a clear day in the middle of a month.

    The high value of the range takes snow on the ground when `snow` is set.

    References:
        Steady balance T = To + f sum(tau A E) / H; f by `KEPT_SHARE`.
    """
    day = mid_day(month)
    best: ClearDay | None = None
    for half_hour in range(14, 37):
        sun_hour = half_hour / 2.0
        outside = outside_at(climate, day, sun_hour)
        total, passed = incident_and_passed(faces, climate, day, sun_hour, 0.2)
        bright = incident_and_passed(faces, climate, day, sun_hour, 0.7)[1] if snow else passed
        inside = (
            outside + rise(passed, conductance_w_k, 0),
            outside + rise(passed, conductance_w_k, 1),
            outside + rise(bright, conductance_w_k, 2),
        )
        if best is None or inside[1] > best.inside_degc[1]:
            best = ClearDay(month, outside, total, inside)
    assert best is not None
    return best


def kept_by_hour(
    faces: tuple[Face, ...], climate: Climate, cloud_share: float = 0.5
) -> tuple[tuple[float, ...], ...]:
    """Return the likely sun kept as heat, for each month (row) and hour 0.5 to 23.5 [W].

    Args:
        faces: Faces of the shelter.
        climate: Place.
        cloud_share: Share of the clear sky's sun that clouds leave on average, 0 to 1;
            about half in a cloudy winter is common practice, no source.
    """
    within("share that clouds leave", cloud_share, 0.0, 1.0)
    return tuple(
        tuple(
            cloud_share
            * kept_share(1)
            * incident_and_passed(faces, climate, mid_day(month), hour + 0.5, 0.2)[1]
            for hour in range(24)
        )
        for month in range(12)
    )


def level_by_hour(climate: Climate) -> tuple[tuple[float, ...], ...]:
    """Return the clear sky's sun on the level by month (row) and hour of sun time [W/m²]."""
    rows = []
    for month in range(12):
        day = mid_day(month)
        noon = solar_noon_utc(climate.longitude_deg, day)
        row = []
        for hour in range(24):
            place = sun_place(climate.latitude_deg, climate.longitude_deg, day, noon + hour - 11.5)
            row.append(clear_sky(place.elevation_deg, day, max(0.0, climate.altitude_m)).global_w_m2)
        rows.append(tuple(row))
    return tuple(rows)


def vent_area_by_floor(floor_m2: float, share: float = 0.15) -> float:
    """Return the area of high vents, and again of low vents [m²].

    References:
        ASABE as quoted in trade fact sheets: roof and side vents each 15 to 20 % of the
        floor, 15 % in the north.
    """
    within("floor", floor_m2, 0.01, 500.0, "m²")
    within("share of the floor", share, 0.0, 1.0)
    return floor_m2 * share


def stack_flow(area_m2: float, height_m: float, rise_k: float, outside_degc: float) -> float:
    """Return the air flow by warmth alone through equal openings above each other [m³/s].

    Args:
        area_m2: Area of one opening [m²].
        height_m: Height between the middles of the openings [m].
        rise_k: Inside above outside [K].
        outside_degc: Outdoor temperature [°C].

    References:
        [ASHRAE Fundamentals] stack flow Cd A sqrt(2 g dh dT/T) with dh from the neutral
        level, here half of the height; Cd 0.6 (from memory).
    """
    within("height between the openings", height_m, 0.0, 10.0, "m")
    within("rise", rise_k, 0.0, 80.0, "K")
    inside_k = outside_degc + rise_k + 273.15
    return DISCHARGE * area_m2 * math.sqrt(2.0 * GRAVITY * height_m / 2.0 * rise_k / inside_k)


def vent_area_by_stack(
    kept_w: float, conductance_w_k: float, height_m: float, outside_degc: float, most_degc: float
) -> float:
    """Return the area of each of two openings that keeps the inside at most at a temperature [m²].

    0 when the losses alone do; infinite when the outside is warmer than asked.
    """
    allowed = most_degc - outside_degc
    if kept_w <= conductance_w_k * max(allowed, 0.0):
        return 0.0
    if allowed <= 0.0 or height_m <= 0.0:
        return math.inf
    flow = (kept_w / allowed - conductance_w_k) / (AIR_WH_M3K * 3600.0)
    return flow / stack_flow(1.0, height_m, allowed, outside_degc)


def daily_light(climate: Climate, month: int) -> float:
    """Return the clear day's light on the level, out of doors [mol/m² a day].

    References:
        [Britton & Dodd 1976] 2.114 micromol of plant light per joule of sun.
    """
    day, joules = mid_day(month), 0.0
    for step in range(96):
        hour = solar_noon_utc(climate.longitude_deg, day) + step / 4.0 - 11.875
        place = sun_place(climate.latitude_deg, climate.longitude_deg, day, hour)
        joules += clear_sky(place.elevation_deg, day, max(0.0, climate.altitude_m)).global_w_m2 * 900.0
    return joules * MICROMOL_PER_JOULE / 1e6


def light_share(faces: tuple[Face, ...], climate: Climate, month: int) -> float:
    """Return the share of the light on the faces that comes through them, over a clear day."""
    total, passed = 0.0, 0.0
    for half_hour in range(10, 39):
        one = incident_and_passed(faces, climate, mid_day(month), half_hour / 2.0, 0.2)
        total, passed = total + one[0], passed + one[1]
    return passed / total if total else 0.0
