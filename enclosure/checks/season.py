"""What does a winter cost, and how cold does the plant get, hour by hour?

Two walks through the same hours. `steady_season` takes every hour as steady
with a thermostat that cycles within its band; it is whole-array arithmetic and
serves shelters whose time constant is an hour or less. `stored_season` keeps
the heat of water barrels: an exact walk from switching to switching. Both count
the heat lost through the skins on their own, so that what goes in can be held
against what goes out.

Left out: opened vents (temperatures above the thermostat are therefore too
warm), and the plant's own heat.
Heavy imports: numpy. Units: W, W/K, °C, kWh; steps of one hour.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from enclosure.checks.heat_network import Network
from enclosure.checks.ranges import within

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Heater:
    """A heat source behind a thermostat.

    Args:
        heat_w: Heat it gives while on [W], >= 0.
        on_degc: Air temperature at which it switches on [°C].
        band_k: How much warmer it switches off [K], >= 0.
    """

    heat_w: float
    on_degc: float
    band_k: float = 0.0


@dataclass(frozen=True, slots=True)
class Season:
    """A winter in numbers.

    Args:
        hours: Number of hours.
        heat_kwh: Heat given by the source [kWh].
        sun_kwh: Sun kept as heat [kWh].
        ground_kwh: Heat from the ground [kWh].
        lost_kwh: Heat lost through all ways out, counted on its own [kWh].
        stored_kwh: Heat stored at the end less that at the start [kWh].
        wanted_kwh: Heat that an unlimited source would have given [kWh].
        coldest_degc: Coldest air around the plant [°C].
        coldest_hour: Index of that hour.
        warmest_degc: Warmest air around the plant [°C].
        plant_degc: Air around the plant, hour means [°C].
        shelter_degc: Air in the shelter, hour means [°C].
        heat_w: Mean heat of each hour [W].
        starts: How often the thermostat switches on; 0 in the steady walk.
    """

    hours: int
    heat_kwh: float
    sun_kwh: float
    ground_kwh: float
    lost_kwh: float
    stored_kwh: float
    wanted_kwh: float
    coldest_degc: float
    coldest_hour: int
    warmest_degc: float
    plant_degc: Floats
    shelter_degc: Floats
    heat_w: Floats
    starts: int = 0

    @property
    def imbalance(self) -> float:
        """What went in less what went out and was stored, over the sum of all of them."""
        given = self.heat_kwh + self.sun_kwh + self.ground_kwh
        turned = abs(given) + abs(self.lost_kwh) + abs(self.stored_kwh)
        return (given - self.lost_kwh - self.stored_kwh) / turned if turned else 0.0

    def hours_below(self, limit_degc: float) -> int:
        """Return the hours in which the air around the plant is colder than a limit."""
        return int(np.count_nonzero(self.plant_degc < limit_degc))


def cycling_share(off_end: Floats, on_end: Floats, low: float, high: float) -> Floats:
    """Return the share of time a heater runs in steady conditions, 0 to 1.

    Args:
        off_end: Where the temperature would settle with the heater off [°C].
        on_end: Where it would settle with the heater on [°C].
        low: Switch-on temperature [°C].
        high: Switch-off temperature [°C], >= low.

    References:
        Exponential approach in both halves of the cycle: on for ln((on-low)/(on-high)),
        off for ln((high-off)/(low-off)) time constants. For a band of nothing the share
        is (low - off)/(on - off), the plain heat balance.
    """
    width = np.maximum(on_end - off_end, 1e-12)
    if high - low < 1e-6:
        plain: Floats = np.clip((low - off_end) / width, 0.0, 1.0)
        return plain
    idle, weak = off_end >= low, on_end <= high
    free = ~(idle | weak)
    share = np.where(idle, 0.0, 1.0)
    on, off = on_end[free], off_end[free]
    run = np.log((on - low) / (on - high))
    rest = np.log((high - off) / (low - off))
    share[free] = run / (run + rest)
    return share


def steady_season(
    outside_degc: Floats, network: Network, heater: Heater, sun_w: Floats | None = None
) -> Season:
    """Return a season, each hour steady, the heater cycling within its band.

    Args:
        outside_degc: Outdoor temperature of each hour [°C].
        network: The shelter; the heat is released around the plant.
        heater: Source and thermostat; the thermostat feels the air around the plant.
        sun_w: Sun kept as heat in the shelter air in each hour [W], None for none.
    """
    within("band of the thermostat", heater.band_k, 0.0, 30.0, "K")
    shelter_w_k, plant_w_k = network.shelter_w_k, network.plant_w_k
    sun = np.zeros_like(outside_degc) if sun_w is None else sun_w
    off_end = outside_degc + (sun + network.ground_gain_w) / shelter_w_k
    low, high = heater.on_degc, heater.on_degc + heater.band_k
    share = cycling_share(off_end, off_end + heater.heat_w / plant_w_k, low, high)
    heat = share * heater.heat_w
    enough = 50.0 * plant_w_k + plant_w_k * float(np.max(np.maximum(high - off_end, 0.0), initial=0.0))
    wanted = cycling_share(off_end, off_end + enough / plant_w_k, low, high) * enough
    shelter = outside_degc + (heat + sun + network.ground_gain_w) / shelter_w_k
    plant = shelter if network.tent_w_k is None else shelter + heat / network.tent_w_k
    lost = math.fsum(loss.conductance_w_k * float(np.sum(shelter - outside_degc)) for loss in network.losses)
    coldest = int(np.argmin(plant))
    return Season(
        hours=len(outside_degc), heat_kwh=float(heat.sum()) / 1000.0, sun_kwh=float(sun.sum()) / 1000.0,
        ground_kwh=network.ground_gain_w * len(outside_degc) / 1000.0, lost_kwh=lost / 1000.0, stored_kwh=0.0,
        wanted_kwh=float(wanted.sum()) / 1000.0, coldest_degc=float(plant[coldest]), coldest_hour=coldest,
        warmest_degc=float(plant.max()), plant_degc=plant, shelter_degc=shelter, heat_w=heat,
    )  # fmt: skip


def _stretch(start: float, end: float, tau_h: float, hours: float) -> tuple[float, float]:
    """Return temperature after a time and the integral of temperature over it, exponential approach."""
    decay = math.exp(-hours / tau_h)
    after = end + (start - end) * decay
    return after, end * hours + (start - end) * tau_h * (1.0 - decay)


def _switching(start: float, end: float, goal: float, tau_h: float) -> float:
    """Return the hours until a temperature is reached, infinite when it is not on the way."""
    if (goal - start) * (end - goal) <= 0.0:
        return math.inf
    return tau_h * math.log((start - end) / (goal - end))


def _one_hour(
    air: float, on: bool, off_end: float, rise: float, tau_h: float, low: float, high: float
) -> tuple[float, bool, float, float, int]:
    """Return (air at the end, switched on, integral of air, hours on, starts) of one hour."""
    left, integral, run, starts = 1.0, 0.0, 0.0, 0
    while left > 1e-12:
        if on and air >= high - 1e-12:
            on = False
        elif not on and air <= low + 1e-12:
            on, starts = True, starts + 1
        end = off_end + rise if on else off_end
        step = min(left, _switching(air, end, high if on else low, tau_h))
        step = max(step, 1e-9)
        air, part = _stretch(air, end, tau_h, step)
        integral += part
        run += step if on else 0.0
        left -= step
    return air, on, integral, run, starts


def stored_season(
    outside_degc: Floats,
    network: Network,
    heater: Heater,
    capacity_kj_k: float,
    sun_w: Floats | None = None,
) -> Season:
    """Return a season in which the shelter's heat store follows the air around the plant.

    Args:
        outside_degc: Outdoor temperature of each hour [°C].
        network: The shelter; sun and heat are released around the plant.
        heater: Source and thermostat, with a band of at least 0.5 K.
        capacity_kj_k: Heat capacity of air, soil and water [kJ/K], 1 to 1e6.
        sun_w: Sun kept as heat [W], None for none.
    """
    within("heat capacity", capacity_kj_k, 1.0, 1e6, "kJ/K")
    within("band of the thermostat", heater.band_k, 0.5, 30.0, "K")
    h = network.plant_w_k
    tau_h = capacity_kj_k * 1000.0 / h / 3600.0
    sun = np.zeros_like(outside_degc) if sun_w is None else sun_w
    gain = network.ground_gain_w
    low, high, rise = heater.on_degc, heater.on_degc + heater.band_k, heater.heat_w / h
    ends = (outside_degc + (sun + gain) / h).tolist()
    air = first = max(low, float(ends[0])) if heater.heat_w else float(ends[0])
    on, starts = False, 0
    means, runs = [], []
    for end in ends:
        air, on, integral, run, begun = _one_hour(air, on, end, rise, tau_h, low, high)
        means.append(integral)
        runs.append(run)
        starts += begun
    plant, heat = np.array(means), np.array(runs) * heater.heat_w
    lost = h * float(np.sum(plant - outside_degc))
    unlimited = steady_season(outside_degc, Network(network.losses, network.tent_w_k, gain), heater, sun_w)
    coldest = int(np.argmin(plant))
    return Season(
        hours=len(plant), heat_kwh=float(heat.sum()) / 1000.0, sun_kwh=float(sun.sum()) / 1000.0,
        ground_kwh=gain * len(plant) / 1000.0, lost_kwh=lost / 1000.0,
        stored_kwh=capacity_kj_k * (air - first) / 3600.0, wanted_kwh=unlimited.wanted_kwh,
        coldest_degc=float(plant[coldest]), coldest_hour=coldest, warmest_degc=float(plant.max()),
        plant_degc=plant, shelter_degc=outside_degc + (heat + sun + gain) / network.shelter_w_k,
        heat_w=heat, starts=starts if heater.heat_w else 0,
    )  # fmt: skip
