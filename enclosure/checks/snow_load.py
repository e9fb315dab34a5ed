"""How heavy does snow lie on this roof?

Codes' formulas only; which one applies, and to what, is decided in `snow`.
Drift, sliding from a house roof and ploughed snow are not in these formulas.

Units: kPa, degrees.

References:
    [ASCE7-16] chapter 7.
    [EN1991-1-3] EN 1991-1-3:2003, section 5.
    [NBCC] National Building Code of Canada 2015/2020, 4.1.6.2.
"""

from __future__ import annotations

from enclosure.checks.ranges import interpolate, within

_GROUND_HINT = "give the ground snow load of your place, for instance 1.5 kPa or 30 psf"


def asce_flat_roof(
    ground: float, exposure: float = 1.0, thermal: float = 1.2, importance: float = 0.8
) -> float:
    """Return the flat roof snow load pf [kPa].

    Args:
        ground: Ground snow load pg [kPa], 0 to 15.
        exposure: Ce, 0.7 to 1.2.
        thermal: Ct, 0.85 to 1.3; 1.2 for an unheated building, 1.1 kept just above freezing.
        importance: Is, 0.8 to 1.2; 0.8 for a minor structure.

    References:
        [ASCE7-16] 7.3: pf = 0.7 Ce Ct Is pg.
    """
    within("the ground snow load", ground, 0.0, 15.0, "kPa", _GROUND_HINT)
    within("Ce", exposure, 0.7, 1.2)
    within("Ct", thermal, 0.85, 1.3)
    within("Is", importance, 0.8, 1.2)
    return 0.7 * exposure * thermal * importance * ground


def asce_least(ground: float, importance: float = 0.8) -> float:
    """Return the least snow load pm of a low-slope roof [kPa].

    References:
        [ASCE7-16] 7.3.4: Is pg up to 0.96 kPa (20 psf), 0.96 Is above (as quoted in course notes).
    """
    within("the ground snow load", ground, 0.0, 15.0, "kPa", _GROUND_HINT)
    return importance * min(ground, 0.96)


def asce_slope_factor(slope: float, thermal: float = 1.2, slippery: bool = True) -> float:
    """Return the slope factor Cs.

    Args:
        slope: Roof slope [deg], 0 to 90.
        thermal: Ct, which moves the start of the fall.
        slippery: Unobstructed slippery surface (plastic, glass).

    References:
        [ASCE7-16] figure 7.4-1 (from memory): slippery 1.0 to 5, 10, 15 deg for Ct 1.0, 1.1, 1.2;
        other 30, 37.5, 45 deg; all to 0 at 70 deg.
    """
    within("the roof slope", slope, 0.0, 90.0, "deg")
    starts = ((1.0, 5.0), (1.1, 10.0), (1.2, 15.0)) if slippery else ((1.0, 30.0), (1.1, 37.5), (1.2, 45.0))
    start = interpolate(thermal, starts)
    return interpolate(slope, ((start, 1.0), (70.0, 0.0)))


def en_shape(slope: float, guards: bool = False) -> float:
    """Return the shape coefficient mu1 of a mono or gable roof.

    References:
        [EN1991-1-3] table 5.2: 0.8 to 30 deg, 0.8 (60-a)/30 to 60, 0 above; never below 0.8 when snow
        cannot slide off.
    """
    within("the roof slope", slope, 0.0, 90.0, "deg")
    value = interpolate(slope, ((30.0, 0.8), (60.0, 0.0)))
    return max(value, 0.8) if guards else value


def en_roof(
    ground: float, slope: float, exposure: float = 1.0, thermal: float = 1.0, guards: bool = False
) -> float:
    """Return the roof snow load s [kPa].

    References:
        [EN1991-1-3] 5.2 (3): s = mu1 Ce Ct sk.
    """
    within("the ground snow load", ground, 0.0, 15.0, "kPa", _GROUND_HINT)
    return en_shape(slope, guards) * exposure * thermal * ground


def nbcc_slope_factor(slope: float, slippery: bool = True) -> float:
    """Return Cs.

    References:
        [NBCC] 4.1.6.2 (5), (6): 1 to 30 deg, (70-a)/40 to 70; slippery unobstructed 1 to 15,
        (60-a)/45 to 60; 0 above.
    """
    within("the roof slope", slope, 0.0, 90.0, "deg")
    if slippery:
        return interpolate(slope, ((15.0, 1.0), (60.0, 0.0)))
    return interpolate(slope, ((30.0, 1.0), (70.0, 0.0)))


def nbcc_lee_factor(slope: float) -> float:
    """Return the accumulation factor Ca of the lee slope of a gable, the other slope bare.

    Args:
        slope: Roof slope [deg], 0 to 90.

    References:
        [NBCC] 4.1.6.9 (2015): above 15 deg 0.25 + a/20, 1.25 from 20 deg on (1.25 as quoted in an engineering
        forum thread, the rise from memory); 1 to 15 deg, where full and partial load alone are asked for.
    """
    within("the roof slope", slope, 0.0, 90.0, "deg")
    return interpolate(slope, ((15.0, 1.0), (20.0, 1.25)))


def nbcc_roof(
    ground: float,
    rain: float,
    slope_factor: float = 1.0,
    wind_factor: float = 1.0,
    importance: float = 0.8,
    basic: float = 0.8,
    accumulation: float = 1.0,
) -> float:
    """Return the specified roof snow load S [kPa].

    Args:
        ground: Ss [kPa], 0 to 15.
        rain: Associated rain load Sr [kPa], 0 to 2; never counted above the snow that holds it.
        slope_factor: Cs.
        wind_factor: Cw, 0.5 to 1.
        importance: Is, 0.8 low, 1.0 normal.
        basic: Cb, 0.8 for small roofs.
        accumulation: Ca.

    References:
        [NBCC] 4.1.6.2: S = Is [Ss (Cb Cw Cs Ca) + Sr], Sr <= Ss (Cb Cw Cs Ca).
    """
    within("Ss", ground, 0.0, 15.0, "kPa", _GROUND_HINT)
    within("Sr", rain, 0.0, 2.0, "kPa")
    snow = ground * basic * wind_factor * slope_factor * accumulation
    return importance * (snow + min(rain, snow))


def plain_roof(ground: float, rain: float, slope: float, importance: float = 0.8) -> float:
    """Return the roof snow load when a ground load is known but no code was chosen [kPa].

    Args:
        ground: Ground snow load [kPa], 0 to 15.
        rain: Rain that the snow soaks up [kPa], never counted above the snow that holds it.
        slope: Roof slope [deg].
        importance: 0.8: nobody stays in it and it may be swept.

    References:
        0.8 of the ground load, as NBCC (Cb) and EN 1991-1-3 (mu1) take for a low roof; slope factor as
        [NBCC] 4.1.6.2 (6); using them without the rest of a code is common practice, no source.
    """
    return nbcc_roof(ground, rain, nbcc_slope_factor(slope), importance=importance)
