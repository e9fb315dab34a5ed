"""What pressure does moving air bring to a roof of this height?

Four roads lead to a velocity pressure, and they must never be mixed:

    gust       a gust speed typed by the grower: 0.5 rho v², nothing more
    asce7      basic wind speed V (3 s gust, strength level): q = 0.613 Kz Kzt Kd Ke V², Ke = 1
    en1991     basic wind velocity vb (10 min mean): peak velocity pressure by terrain
    nbcc       hourly mean velocity pressure q (1 in 50 years), Ce, and Cg afterwards

A gust already holds the peak that a code's gust factor stands for, so a gust
together with such a factor is refused.

Units: m/s, Pa, m. Altitude and temperature of the air are left out; the air
densities are the ones that each code has built in.

References:
    [ASCE7-16] ASCE/SEI 7-16, sections 26.8 to 26.11 and table 26.10-1.
    [EN1991-1-4] EN 1991-1-4:2005, section 4 (recommended values).
    [NBCC] National Building Code of Canada 2015/2020, 4.1.7.3.
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import interpolate, within
from enclosure.errors import RangeError

GUST_CONSTANT = 0.613
"""Half the density of air in ASCE 7's SI form [kg/m³]; also used for a gust typed by the user."""

TERRAINS: dict[str, tuple[float, float]] = {
    "0": (0.003, 1.0),
    "I": (0.01, 1.0),
    "II": (0.05, 2.0),
    "III": (0.3, 5.0),
    "IV": (1.0, 10.0),
}
"""[EN1991-1-4] table 4.1: terrain category -> roughness length z0 [m], least height zmin [m]."""

_KZ: dict[str, tuple[tuple[float, float], ...]] = {
    "B": ((4.6, 0.57), (6.1, 0.62), (7.6, 0.66), (9.1, 0.70)),
    "C": ((4.6, 0.85), (6.1, 0.90), (7.6, 0.94), (9.1, 0.98)),
    "D": ((4.6, 1.03), (6.1, 1.08), (7.6, 1.12), (9.1, 1.16)),
}

DIRECTIONALITY_SQUARE_TOWER = 0.90
GUST_EFFECT_RIGID = 0.85


def gust_pressure(gust: float, gust_factor: float | None = None) -> float:
    """Return the velocity pressure of a gust given by the user [Pa].

    Args:
        gust: Gust speed at the shelter [m/s], above 0 and up to 90.
        gust_factor: Must stay None: a gust holds its peak already.

    Raises:
        RangeError: Speed out of range, or a gust factor was given as well.

    References:
        [ASCE7-16] 26.10.2, SI constant: q = 0.613 V² (density 1.226 kg/m³).
    """
    if gust_factor is not None:
        raise RangeError(
            f"a gust of {gust:g} m/s and a gust factor of {gust_factor:g} were given together",
            "a gust already holds the peak; leave the factor out, or give the code's mean speed or pressure",
        )
    within("the gust", gust, 0.0, 90.0, "m/s", "give the gust expected at the shelter, for instance 80 km/h")
    if gust == 0.0:
        raise RangeError(
            "the gust is 0 m/s; still air checks nothing",
            "give the strongest gust expected in a winter, for instance 80 km/h",
        )
    return float(GUST_CONSTANT * gust**2)


def asce_exposure_coefficient(height: float, exposure: str) -> float:
    """Return Kz of ASCE 7 for a low height.

    Args:
        height: Mean roof height [m], 0 to 9.1; below 4.6 m the value of 4.6 m holds.
        exposure: "B", "C" or "D".

    Raises:
        RangeError: Height or exposure out of range.

    References:
        [ASCE7-16] table 26.10-1 (rows to 4.6 m seen as coded in an open library; higher rows from memory).
    """
    within("the height", height, 0.0, 9.1, "m")
    if exposure not in _KZ:
        raise RangeError(f"exposure {exposure} is unknown", "use B (suburb, wood), C (open) or D (shore)")
    return interpolate(height, _KZ[exposure])


def asce_velocity_pressure(kz: float, kzt: float, kd: float, speed: float) -> float:
    """Return ASCE 7's velocity pressure qz [Pa].

    Args:
        kz: Exposure coefficient, 0.5 to 2.
        kzt: Topographic factor, 1 to 4 (1 on flat ground).
        kd: Directionality factor, 0.8 to 1.
        speed: Basic wind speed V [m/s], above 0 to 110: 3 s gust at 10 m in the open, strength level.

    References:
        [ASCE7-16] 26.10.2: qz = 0.613 Kz Kzt Kd Ke V² [N/m²]; Ke = 1 is permitted at any altitude (26.9).
    """
    within("Kz", kz, 0.5, 2.0)
    within("Kzt", kzt, 1.0, 4.0)
    within("Kd", kd, 0.8, 1.0)
    within("the basic wind speed", speed, 1.0, 110.0, "m/s")
    return GUST_CONSTANT * kz * kzt * kd * speed**2


def en_peak_pressure(speed: float, terrain: str, height: float) -> float:
    """Return EN 1991's peak velocity pressure qp(z) [Pa], orography 1.

    Args:
        speed: Basic wind velocity vb, 10 min mean [m/s], 1 to 60.
        terrain: Category "0", "I", "II", "III" or "IV".
        height: Reference height z [m], above 0 to 200; raised to zmin.

    References:
        [EN1991-1-4] 4.3 to 4.5: kr = 0.19 (z0/0.05)^0.07, cr = kr ln(z/z0), vm = cr vb,
        Iv = 1/ln(z/z0), qp = (1 + 7 Iv) 0.5 * 1.25 vm².
    """
    within("the basic wind velocity", speed, 1.0, 60.0, "m/s")
    within("the height", height, 1e-6, 200.0, "m")
    if terrain not in TERRAINS:
        raise RangeError(f"terrain category {terrain} is unknown", "use 0, I, II, III or IV")
    z0, zmin = TERRAINS[terrain]
    z = max(height, zmin)
    log = math.log(z / z0)
    mean = 0.19 * (z0 / 0.05) ** 0.07 * log * speed
    return float((1.0 + 7.0 / log) * 0.625 * mean**2)


def nbcc_exposure_factor(height: float, rough: bool = False) -> float:
    """Return NBCC's exposure factor Ce of a low building.

    Args:
        height: Reference height [m], above 0 to 200.
        rough: True for suburb, town or wood upwind for a kilometre.

    References:
        [NBCC] 4.1.7.3 (5): open (h/10)^0.2 >= 0.9; rough 0.7 (h/12)^0.3 >= 0.7 (rough terrain from memory).
    """
    within("the height", height, 1e-6, 200.0, "m")
    if rough:
        return float(max(0.7, 0.7 * (height / 12.0) ** 0.3))
    return float(max(0.9, (height / 10.0) ** 0.2))


def nbcc_pressure(q: float, importance: float, ce: float, ct: float, cg: float, cp: float) -> float:
    """Return NBCC's specified external pressure [Pa], positive toward the surface.

    Args:
        q: Hourly velocity pressure, 1 in 50 years [Pa], 1 to 3000.
        importance: Iw: 0.8 low, 1.0 normal.
        ce: Exposure factor.
        ct: Topographic factor, 1 on flat ground.
        cg: Gust effect factor, 2.0 for a whole small building.
        cp: Pressure coefficient.

    References:
        [NBCC] 4.1.7.3 (1): p = Iw q Ce Ct Cg Cp.
    """
    within("the hourly pressure q", q, 1.0, 3000.0, "Pa")
    within("Iw", importance, 0.7, 1.3)
    return importance * q * ce * ct * cg * cp
