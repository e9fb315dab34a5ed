"""How long does the shelter stay above the plant's limit when the power fails?

One lump of heat at the inside temperature losing to the outside: air, frame,
skin, soil surface, and any water barrels. Then the heat of freezing of the
water, if the limit lies below 0 °C. Left out: heat from deep ground (helps),
wind through an open panel (hurts), and the lag between a barrel and the air, so
with much water the air cools a little sooner than the figure says.

Units: kJ/K, W/K, °C, hours, litres.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import within

WATER_KJ_KG_K = 4.186
FREEZING_KJ_KG = 334.0
AIR_KJ_M3_K = 1.2 * 1.005
WOOD_KJ_KG_K = 1.6
SHEET_KJ_KG_K = 1.2


def water_capacity(litres: float) -> float:
    """Return the heat capacity of water [kJ/K]; one litre is taken as one kilogram."""
    within("water", litres, 0.0, 10000.0, "litres")
    return litres * WATER_KJ_KG_K


def shelter_capacity(volume_m3: float, wood_kg: float, sheet_kg: float, soil_m2: float) -> float:
    """Return the heat capacity that follows the inside air within an hour [kJ/K].

    Half of the wood and of the skin counts (their outer half follows the outside),
    and 20 mm of moist soil at 2.5 MJ/m³K.

    References:
        Handbook specific heats (wood 1.6, plastic 1.2 kJ/kgK); the depth of soil that
        follows in an hour is our own estimate from its diffusivity, sqrt(a t) = 46 mm
        for a = 0.05 m²/day, of which less than half swings with the air.
    """
    within("volume", volume_m3, 0.0, 1000.0, "m³")
    return (
        volume_m3 * AIR_KJ_M3_K
        + 0.5 * wood_kg * WOOD_KJ_KG_K
        + 0.5 * sheet_kg * SHEET_KJ_KG_K
        + soil_m2 * 0.020 * 2500.0
    )


def time_constant(capacity_kj_k: float, conductance_w_k: float) -> float:
    """Return the time constant C/H [h]."""
    within("heat capacity", capacity_kj_k, 0.0, 1e6, "kJ/K")
    within("conductance", conductance_w_k, 0.01, 10000.0, "W/K")
    return capacity_kj_k * 1000.0 / conductance_w_k / 3600.0


def hours_until(
    start_degc: float, limit_degc: float, outside_degc: float, capacity_kj_k: float, conductance_w_k: float
) -> float:
    """Return the hours from the start temperature down to the limit [h].

    Infinite when the outside stays above the limit, 0 when it is already reached.

    References:
        Newton cooling: t = C/H ln((Ts - To)/(Tl - To)).
    """
    if start_degc <= limit_degc:
        return 0.0
    if outside_degc >= limit_degc:
        return math.inf
    tau = time_constant(capacity_kj_k, conductance_w_k)
    return tau * math.log((start_degc - outside_degc) / (limit_degc - outside_degc))


def freezing_kwh(litres: float) -> float:
    """Return the heat that water gives off while it freezes [kWh]."""
    within("water", litres, 0.0, 10000.0, "litres")
    return litres * FREEZING_KJ_KG / 3600.0


def freezing_hours(litres: float, outside_degc: float, conductance_w_k: float) -> float:
    """Return the hours during which freezing water holds the inside near 0 °C [h].

    A bound: it holds only while the barrel can give its heat to the air as fast as
    the shelter loses it.
    """
    within("conductance", conductance_w_k, 0.01, 10000.0, "W/K")
    if outside_degc >= 0.0:
        return math.inf
    return freezing_kwh(litres) * 1000.0 / (conductance_w_k * -outside_degc)
