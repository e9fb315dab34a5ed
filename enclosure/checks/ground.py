"""How warm is the ground at a depth, on a day of the year?

The yearly wave of the surface temperature, damped and delayed with depth. Bare
soil; snow or mulch keeps it several kelvin warmer in winter. Left out: freezing
heat of soil water (it slows frost further), and the shelter above.

Units: °C, K, m, m²/day, day of the year 1 to 366.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import within


def ground_temperature(
    depth_m: float,
    day: float,
    mean_degc: float,
    amplitude_k: float,
    coldest_day: float,
    diffusivity_m2_day: float = 0.05,
) -> float:
    """Return the temperature of undisturbed ground [°C].

    Args:
        depth_m: Depth [m], 0 to 30.
        day: Day of the year, 0 to 366.
        mean_degc: Mean of the year at the surface [°C].
        amplitude_k: Half of the yearly range of the surface temperature [K], 0 to 40.
        coldest_day: Day of the year on which the surface is coldest.
        diffusivity_m2_day: Thermal diffusivity of the soil [m²/day], 0.01 to 0.2.

    References:
        [Kusuda & Achenbach 1965]
        T = Tm - A exp(-z k) cos(2 pi/365 (t - t0 - z/2 sqrt(365/(pi a)))), k = sqrt(pi/(365 a)).
    """
    within("depth", depth_m, 0.0, 30.0, "m")
    within("day of the year", day, 0.0, 366.0)
    within("amplitude", amplitude_k, 0.0, 40.0, "K")
    within("diffusivity", diffusivity_m2_day, 0.01, 0.2, "m²/day")
    damping = math.exp(-depth_m * math.sqrt(math.pi / (365.0 * diffusivity_m2_day)))
    delay = depth_m / 2.0 * math.sqrt(365.0 / (math.pi * diffusivity_m2_day))
    return mean_degc - amplitude_k * damping * math.cos(2.0 * math.pi / 365.0 * (day - coldest_day - delay))


def coldest_at_depth(
    depth_m: float, mean_degc: float, amplitude_k: float, diffusivity_m2_day: float = 0.05
) -> float:
    """Return the coldest temperature of the year at a depth [°C].

    References:
        [Kusuda & Achenbach 1965] with the cosine at 1.
    """
    within("depth", depth_m, 0.0, 30.0, "m")
    within("amplitude", amplitude_k, 0.0, 40.0, "K")
    within("diffusivity", diffusivity_m2_day, 0.01, 0.2, "m²/day")
    return mean_degc - amplitude_k * math.exp(-depth_m * math.sqrt(math.pi / (365.0 * diffusivity_m2_day)))


def frost_depth(mean_degc: float, amplitude_k: float, diffusivity_m2_day: float = 0.05) -> float:
    """Return the depth to which bare ground falls to 0 °C in the yearly wave [m], 0 when it never does."""
    within("mean of the year", mean_degc, -30.0, 40.0, "°C")
    within("diffusivity", diffusivity_m2_day, 0.01, 0.2, "m²/day")
    if mean_degc >= amplitude_k:
        return 0.0
    if mean_degc <= 0.0:
        return 30.0
    return math.log(amplitude_k / mean_degc) / math.sqrt(math.pi / (365.0 * diffusivity_m2_day))
