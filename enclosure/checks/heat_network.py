"""Where does the heat go, and how cold may it get outside?

Steady state on the design night: skins, frame, track, air change and ground
edge side by side from the shelter to the outside; the tent, if any, in series
before them with the heat released inside it. Sun and stored heat are left out
(see `sun`, `season`, `power_cut`). Ground under a small shelter usually gives a
little heat in mid-winter; the edge loss used here is an upper bound.

Units: W, K, W/K, m, m², m³. Lengths arrive in metres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.ranges import interpolate, within

AIR_WH_M3K = 1.2 * 1005.0 / 3600.0

BTU_H_FT_F = 1.7307

# [WAC 51-11C-61061] table A106.1, slab edge, 2 ft vertical insulation: R [ft² h F/Btu] -> F [Btu/h ft F].
EDGE_F_BTU: tuple[tuple[float, float], ...] = ((0.0, 0.73), (5.0, 0.58), (10.0, 0.54), (15.0, 0.52))

RSI_PER_R = 0.17611


# Rise under cloth on a calm night by soil heat alone (g/m², K): a magazine table. It does not
# add to what a heater gives and does not last through days of frost.
ROW_COVER_RISE_K: tuple[tuple[float, float], ...] = ((17.0, 2.2), (38.0, 3.3), (60.0, 4.4))


def row_cover_rise(mass_g_m2: float) -> float:
    """Return what cloth of a mass is worth on one calm night over mild soil [K].

    References:
        Horticultural magazine table: 17 g/m² 4 °F, 34 to 42 g/m² 6 °F, 51 to 68 g/m² 8 °F.
    """
    within("mass of the cloth", mass_g_m2, 5.0, 150.0, "g/m²")
    return interpolate(mass_g_m2, ROW_COVER_RISE_K)


def air_conductance(air_changes_per_h: float, volume_m3: float) -> float:
    """Return the heat carried by air change [W/K].

    Args:
        air_changes_per_h: Air change rate [1/h], 0 to 60; 1 tight, 2 ordinary, 4 leaky or windy.
        volume_m3: Volume of air [m³], 0 to 1000.

    References:
        1.2 kg/m³ x 1005 J/kgK / 3600 = 0.335 Wh/m³K. Rates for closed houses of 0.5 to 1.0
        (new double film) and 0.75 to 1.0 or 1.5 (new glass) are quoted from extension
        bulletins; those of a home-made box are common practice, no source.
    """
    within("air change rate", air_changes_per_h, 0.0, 60.0, "1/h")
    within("volume", volume_m3, 0.0, 1000.0, "m³")
    return AIR_WH_M3K * air_changes_per_h * volume_m3


def edge_factor(lining_resistance_m2k_w: float) -> float:
    """Return the loss at the ground edge per metre of perimeter [W/mK].

    Args:
        lining_resistance_m2k_w: Resistance of the vertical insulation [m²K/W], 0 without;
            interpolated between the rows of the table and held beyond its end.

    References:
        [WAC 51-11C-61061] table A106.1: 0.73 uninsulated, 0.58 R-5, 0.54 R-10, 0.52 R-15 (2 ft).
    """
    within("resistance of the lining", lining_resistance_m2k_w, 0.0, 20.0, "m²K/W")
    r = lining_resistance_m2k_w / RSI_PER_R
    return interpolate(r, EDGE_F_BTU) * BTU_H_FT_F


def edge_conductance(perimeter_m: float, factor_w_mk: float) -> float:
    """Return the loss at the ground edge [W/K], F times the perimeter."""
    within("perimeter", perimeter_m, 0.0, 200.0, "m")
    within("edge factor", factor_w_mk, 0.0, 5.0, "W/mK")
    return perimeter_m * factor_w_mk


def in_series(first_w_k: float, second_w_k: float) -> float:
    """Return the conductance of two in series [W/K]."""
    within("first conductance", first_w_k, 1e-6, 1e6, "W/K")
    within("second conductance", second_w_k, 1e-6, 1e6, "W/K")
    return 1.0 / (1.0 / first_w_k + 1.0 / second_w_k)


@dataclass(frozen=True, slots=True)
class Loss:
    """One way out for the heat.

    Args:
        name: Name for people ("FRONT skin", "air change").
        conductance_w_k: How much it lets through [W/K].
        area_m2: Its area, 0 where it has none.
        u_value_w_m2k: Its U-value, 0 where it has none.
        source: Where the value comes from.
        side: The side of the shelter to which it belongs, in words; "" for air and ground.
    """

    name: str
    conductance_w_k: float
    area_m2: float = 0.0
    u_value_w_m2k: float = 0.0
    source: str = ""
    side: str = ""


@dataclass(frozen=True, slots=True)
class Network:
    """The shelter as conductances.

    Args:
        losses: Ways from the shelter air to the outside.
        tent_w_k: Conductance of the tent [W/K], None without a tent.
        ground_gain_w: Steady heat from the ground [W], 0 when left out.
    """

    losses: tuple[Loss, ...]
    tent_w_k: float | None = None
    ground_gain_w: float = 0.0

    @property
    def shelter_w_k(self) -> float:
        """Conductance from the shelter air to the outside [W/K]."""
        return math.fsum(loss.conductance_w_k for loss in self.losses)

    @property
    def plant_w_k(self) -> float:
        """Conductance from the air around the plant to the outside [W/K], the tent in series."""
        if self.tent_w_k is None:
            return self.shelter_w_k
        return in_series(self.tent_w_k, self.shelter_w_k)

    def without_tent(self) -> Network:
        """Return the same shelter without its tent."""
        return Network(self.losses, None, self.ground_gain_w)


@dataclass(frozen=True, slots=True)
class State:
    """Temperatures in steady state [°C]."""

    plant_degc: float
    shelter_degc: float
    outside_degc: float


def power_for(network: Network, plant_degc: float, outside_degc: float) -> float:
    """Return the heat that holds a temperature around the plant [W], never below 0.

    References:
        Q = H (Ti - To), less what the ground gives to the shelter air. With a tent the
        ground's share is weighted by the tent: it warms the shelter, not the tent.
    """
    within("temperature of the plant", plant_degc, -60.0, 60.0, "°C")
    within("outdoor temperature", outside_degc, -70.0, 60.0, "°C")
    lift = network.ground_gain_w / network.shelter_w_k
    return max(0.0, network.plant_w_k * (plant_degc - outside_degc - lift))


def state(network: Network, heat_w: float, outside_degc: float) -> State:
    """Return the temperatures that a heat holds [°C].

    Args:
        network: The shelter.
        heat_w: Heat released around the plant [W], >= 0.
        outside_degc: Outdoor temperature [°C].
    """
    within("heat", heat_w, 0.0, 1e5, "W")
    shelter = outside_degc + (heat_w + network.ground_gain_w) / network.shelter_w_k
    tent = 0.0 if network.tent_w_k is None else heat_w / network.tent_w_k
    return State(shelter + tent, shelter, outside_degc)


def lowest_outdoor(network: Network, heat_w: float, plant_degc: float) -> float:
    """Return the lowest outdoor temperature at which a heat still holds the plant's temperature [°C]."""
    within("heat", heat_w, 0.0, 1e5, "W")
    return plant_degc - heat_w / network.plant_w_k - network.ground_gain_w / network.shelter_w_k


def shares(network: Network) -> tuple[tuple[Loss, float], ...]:
    """Return each loss with its share of the whole, greatest first; ties (to 1e-9 W/K) by name."""
    whole = network.shelter_w_k
    order = sorted(network.losses, key=lambda loss: (-round(loss.conductance_w_k, 9), loss.name))
    return tuple((loss, loss.conductance_w_k / whole) for loss in order)
