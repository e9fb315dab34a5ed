"""When does water condense or freeze inside the shelter?

Dew point and frost point of the air, the temperature of the inner face of the
skin, and from both the dampest air that leaves it dry. Left out: how much
water runs down (that depends on the soil and on how much the plant breathes).

Units: °C, %, Pa, W/m²K.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import within

MAGNUS_A = 17.625
MAGNUS_B = 243.04


def dew_point(air_degc: float, humidity_percent: float, a: float = MAGNUS_A, b: float = MAGNUS_B) -> float:
    """Return the dew point over water [°C].

    Args:
        air_degc: Air temperature [°C], -40 to 60.
        humidity_percent: Relative humidity over water [%], 1 to 100.
        a: First Magnus constant.
        b: Second Magnus constant [°C].

    References:
        Magnus form, Td = b g / (a - g), g = ln(RH/100) + a T / (b + T); constants 17.625
        and 243.04 after Alduchov and Eskridge 1996; 17.27 and 237.7 are an older pair.
    """
    within("air temperature", air_degc, -40.0, 60.0, "°C")
    within("relative humidity", humidity_percent, 1.0, 100.0, "%")
    g = math.log(humidity_percent / 100.0) + a * air_degc / (b + air_degc)
    return b * g / (a - g)


def saturation_pressure(air_degc: float) -> float:
    """Return the saturation pressure of water vapour [Pa], over ice below 0 °C.

    References:
        [ISO13788] annex E: 610.5 exp(17.269 T/(237.3+T)) above 0 °C,
        610.5 exp(21.875 T/(265.5+T)) below (as coded in public sources).
    """
    within("air temperature", air_degc, -50.0, 60.0, "°C")
    a, b = (17.269, 237.3) if air_degc >= 0.0 else (21.875, 265.5)
    return 610.5 * math.exp(a * air_degc / (b + air_degc))


def frost_point(air_degc: float, humidity_percent: float) -> float:
    """Return the temperature at which vapour of the air settles as dew, or below 0 °C as frost [°C].

    Below 0 °C the frost point lies above the dew point, because ice holds its
    vapour more firmly than water of the same temperature.

    References:
        [ISO13788] annex E, inverted; humidity is over water, as hygrometers print it.
    """
    dew = dew_point(air_degc, humidity_percent)
    if dew >= 0.0:
        return dew
    pressure = 610.5 * math.exp(17.269 * dew / (237.3 + dew))
    g = math.log(pressure / 610.5)
    return 265.5 * g / (21.875 - g)


def inner_surface(u_value_w_m2k: float, inside_degc: float, outside_degc: float, rsi_m2k_w: float) -> float:
    """Return the temperature of the inner face of a skin [°C].

    References:
        [ISO13788] surface temperature: Tsi = Ti - U Rsi (Ti - Te).
    """
    within("U-value", u_value_w_m2k, 0.05, 10.0, "W/m²K")
    within("inner surface resistance", rsi_m2k_w, 0.05, 0.5, "m²K/W")
    return inside_degc - u_value_w_m2k * rsi_m2k_w * (inside_degc - outside_degc)


def dampest_dry(inside_degc: float, surface_degc: float) -> float:
    """Return the highest relative humidity at which a surface stays free of dew and frost [%]."""
    within("surface temperature", surface_degc, -50.0, 60.0, "°C")
    pressure_over_water = 610.5 * math.exp(17.269 * inside_degc / (237.3 + inside_degc))
    return min(100.0, 100.0 * saturation_pressure(surface_degc) / pressure_over_water)
