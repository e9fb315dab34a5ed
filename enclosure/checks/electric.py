"""Does the circuit carry the load, and does enough voltage reach the heater?

Resistance of the cord, voltage drop, heat left at the lower voltage, and the
limit for loads that run three hours or more. Cords are stranded: their
resistance is about 2 % above the solid conductor of the same size, and the
usual table prints both (`tables/cords.csv`). Left out: fault protection (a residual-current device
is asked for in the cautions) and the heating of a coiled cord.

Units: V, A, W, ohm, m. Local codes and licensed electricians decide.
"""

from __future__ import annotations

from enclosure.checks.ranges import within
from enclosure.errors import RangeError
from enclosure.language import decimal
from enclosure.tables.read import keys, number, row

COPPER_ALPHA_1_K = 0.00393
"""Temperature coefficient of copper at 20 degC [1/K] (handbook)."""


def cord_names() -> tuple[str, ...]:
    """Return the cord sizes that can be named in a brief, thinnest first in each system."""
    return keys("cords")


def normal_cord(name: str) -> str:
    """Return the key of a cord size: "awg-16" and "16 AWG" are the same, so are "mm2-1.5" and "1.5 mm²".

    Raises:
        RangeError: The size is in neither table.
    """
    text = name.strip().casefold().replace("²", "2").replace("_", " ")
    for key in cord_names():
        system, size = key.split("-")
        if text.replace(" ", "") in (key, f"{size}{system}"):
            return key
    raise RangeError(f"cord size {name!r} is not known", f"name one of: {', '.join(cord_names())}")


def cord_text(key: str) -> str:
    """Return a cord size as people write it."""
    system, size = normal_cord(key).split("-")
    return f"{size} AWG" if system == "awg" else f"{decimal(size)} mm²"


def is_metric(cord: str) -> bool:
    """Return True for a size in mm²."""
    return normal_cord(cord).startswith("mm2-")


def conductor_ohm_m(cord: str, stranded: bool = True, temperature_degc: float = 75.0) -> float:
    """Return the resistance of one conductor [ohm/m].

    Args:
        cord: Size, "awg-16" or "mm2-1.5".
        stranded: True for cords; the solid column is for building wire in AWG.
        temperature_degc: Temperature of the copper [°C], -40 to 105.

    References:
        [NEC] chapter 9 table 8 (75 °C); [IEC60228] class 5 (20 °C); both turned to the
        temperature with 0.00393 per kelvin at 20 °C.
    """
    within("temperature of the conductor", temperature_degc, -40.0, 105.0, "°C")
    cells = row("cords", normal_cord(cord))
    solid = None if stranded else number(cells, "solid_ohm_km")
    ohm_km = float(cells["resistance_ohm_km"]) if solid is None else solid
    warmth = 1.0 + COPPER_ALPHA_1_K * (float(cells["at_degc"]) - 20.0)
    return ohm_km / 1000.0 * (1.0 + COPPER_ALPHA_1_K * (temperature_degc - 20.0)) / warmth


def current(power_w: float, supply_v: float) -> float:
    """Return the current of a resistive load [A], I = P / V."""
    within("power", power_w, 0.0, 20000.0, "W")
    within("supply voltage", supply_v, 5.0, 415.0, "V")
    return power_w / supply_v


def voltage_drop(length_m: float, ohm_m: float, amps: float) -> float:
    """Return the drop along a cord, there and back [V].

    Args:
        length_m: Length one way [m], 0 to 300.
        ohm_m: Resistance of one conductor [ohm/m].
        amps: Current [A], 0 to 100.

    References:
        Ohm's law over two conductors: 2 L R I (single phase).
    """
    within("length of the cord", length_m, 0.0, 300.0, "m")
    within("current", amps, 0.0, 100.0, "A")
    return 2.0 * length_m * ohm_m * amps


def heat_at_voltage(rated_w: float, drop_share: float) -> float:
    """Return the heat of a resistive load at a lower voltage [W].

    Args:
        rated_w: Power at the rated voltage [W].
        drop_share: Drop over rated voltage, 0 to 0.5.

    References:
        P = V²/R with R unchanged; a filament is cooler and loses a little less.
    """
    within("voltage drop share", drop_share, 0.0, 0.5)
    return rated_w * (1.0 - drop_share) ** 2


def continuous_limit(breaker_a: float, supply_v: float, share: float = 0.8) -> float:
    """Return the greatest load that may run for three hours or more [W].

    References:
        [NEC] 210.20(A) / 210.19: 125 % of a continuous load, hence 80 % of the breaker.
    """
    within("breaker", breaker_a, 1.0, 63.0, "A")
    within("continuous share", share, 0.1, 1.0)
    return breaker_a * share * supply_v


def thinnest_cord(power_w: float, supply_v: float, length_m: float, most_share: float, metric: bool) -> str:
    """Return the thinnest cord that keeps the drop within a share of the voltage, "" when none does."""
    within("allowed drop", most_share, 0.001, 0.5)
    amps = current(power_w, supply_v)
    for key in cord_names():
        if is_metric(key) == metric and voltage_drop(length_m, conductor_ohm_m(key), amps) <= most_share * supply_v:
            return key
    return ""
