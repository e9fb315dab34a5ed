"""What may a piece of North American dimension lumber carry?

Allowable stress design, solid sawn lumber 38 mm thick or a 4x4. Adjustment
factors used: load duration, wet service, size, beam stability, column
stability. Left out: temperature, incising, repetitive members (all 1.0).

Units: MPa, mm, N. Base values are kept in psi, as printed.

References:
    [NDS] ANSI/AWC National Design Specification 2015/2018 and its Supplement, table 4A
    (seen as coded in an open library), chapters 3, 4, 12.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.ranges import within
from enclosure.errors import RangeError
from enclosure.language import tr
from enclosure.tables.read import table

PSI = 0.006894757293168
"""One pound-force per square inch [MPa]."""

DURATION = {"permanent": 0.9, "snow": 1.15, "wind": 1.6, "normal": 1.0}
"""[NDS] table 2.3.2."""

WET = {"fb": 0.85, "ft": 1.0, "fv": 0.97, "fcp": 0.67, "fc": 0.8, "e": 0.9}
"""[NDS Supplement] table 4A, wet service above 19 % moisture content."""


@dataclass(frozen=True, slots=True)
class Grade:
    """Name for people and reference design values [psi] of one grade."""

    words: str
    fb: float
    ft: float
    fv: float
    fcp: float
    fc: float
    e: float
    emin: float


_STRESSES = ("fb", "ft", "fv", "fcp", "fc", "e", "emin")
GRADES: dict[str, Grade] = {
    cells["grade"]: Grade(cells["name"], *(float(cells[f"{stress}_psi"]) for stress in _STRESSES))
    for cells in table("timber_nds")
}
"""[NDS Supplement] table 4A, by the keys of the table."""


def grade_for(name: str) -> tuple[str, str]:
    """Return the grade whose values are used and a sentence of what was assumed ("" when nothing was)."""
    key = name.strip().lower().replace(".", "").replace(" ", "")
    if key in GRADES:
        return key, ""
    if key in ("no1", "no1/no2", "no1/2", "sel"):
        return "no2", ""
    if key in ("ungraded", ""):
        return "no3", tr("the timber is ungraded: values of spruce-pine-fir No.3 are used")
    raise RangeError(f"timber grade {name} is unknown", "use ungraded, no3, stud, no2, C16 or C24")


def size_factor(grade: str, width: float, stress: str) -> float:
    """Return CF.

    Args:
        grade: Key of GRADES.
        width: Greater side of the section [mm], 19 to 300.
        stress: "fb", "ft" or "fc".

    References:
        [NDS Supplement] table 4A, 2 to 4 in wide 1.5 (fb, ft) and 1.15 (fc); 5 in 1.4, 1.1; 6 in 1.3, 1.1;
        8 in 1.2, 1.05; stud 1.1 and 1.05 to 4 in, 1.0 at 5 and 6 in.
    """
    within("the timber width", width, 15.0, 300.0, "mm")
    if grade == "stud":
        narrow = width <= 89.0
        return (1.05 if narrow else 1.0) if stress == "fc" else (1.1 if narrow else 1.0)
    steps = ((89.0, 1.5, 1.15), (115.0, 1.4, 1.1), (140.0, 1.3, 1.1), (185.0, 1.2, 1.05), (300.0, 1.1, 1.0))
    for limit, bending, compression in steps:
        if width <= limit:
            return compression if stress == "fc" else bending
    return 1.0


def adjusted(grade: str, stress: str, width: float, duration: float, wet: bool = True) -> float:
    """Return an adjusted design stress without stability factors [MPa].

    Args:
        grade: Key of GRADES.
        stress: "fb", "ft", "fv", "fcp" or "fc".
        width: Greater side [mm].
        duration: CD, 0.9 to 2.0 (not applied to fcp).
        wet: Wet service.

    References:
        [NDS] 4.3; [NDS Supplement] table 4A: CM of fb is 1.0 when fb CF <= 1150 psi,
        of fc when fc CF <= 750 psi.
    """
    within("CD", duration, 0.9, 2.0)
    base = float(getattr(GRADES[grade], stress))
    factor = size_factor(grade, width, stress) if stress in ("fb", "ft", "fc") else 1.0
    moisture = WET[stress] if wet else 1.0
    if (stress == "fb" and base * factor <= 1150.0) or (stress == "fc" and base * factor <= 750.0):
        moisture = 1.0
    return base * factor * moisture * (1.0 if stress == "fcp" else duration) * PSI


def stiffness(grade: str, wet: bool = True) -> tuple[float, float]:
    """Return E' and Emin' [MPa]."""
    moisture = WET["e"] if wet else 1.0
    return GRADES[grade].e * moisture * PSI, GRADES[grade].emin * moisture * PSI


def euler_stress(emin: float, slenderness: float) -> float:
    """Return FcE [same unit as emin].

    References:
        [NDS] 3.7.1.5: FcE = 0.822 Emin' / (le/d)².
    """
    within("le/d", slenderness, 0.1, 5000.0)
    return 0.822 * emin / slenderness**2


def column_factor(euler: float, crushing: float, c: float = 0.8) -> float:
    """Return the column stability factor Cp.

    Args:
        euler: FcE.
        crushing: Fc*, all factors but Cp, same unit.
        c: 0.8 for sawn lumber.

    References:
        [NDS] equation 3.7-1, r = FcE/Fc*: Cp = (1+r)/2c - sqrt(((1+r)/2c)² - r/c).
    """
    if euler <= 0 or crushing <= 0:
        raise RangeError(f"FcE {euler:g} and Fc* {crushing:g} must both be above zero")
    ratio = euler / crushing
    half = (1 + ratio) / (2 * c)
    return half - math.sqrt(half**2 - ratio / c)


def combined(fc: float, fc_allowed: float, fb: float, fb_allowed: float, euler: float) -> float:
    """Return the utilisation of a post in bending and compression (one axis of bending).

    References:
        [NDS] equation 3.9-3: (fc/Fc')² + fb / (Fb' (1 - fc/FcE)); infinite when fc reaches FcE.
    """
    if fc >= euler:
        return math.inf
    return (fc / fc_allowed) ** 2 + fb / (fb_allowed * (1 - fc / euler))


def dowel_bearing(gravity: float, diameter: float) -> float:
    """Return the dowel bearing strength of wood [MPa].

    Args:
        gravity: Specific gravity, 0.3 to 0.75.
        diameter: Fastener diameter [mm], 2 to 26; the formula for small dowels holds below 6.35 mm.

    References:
        [NDS] 12.3.3 (from memory): below 1/4 in Fe = 16600 G^1.84 psi; above, the weaker direction,
        across the grain, Fe = 6100 G^1.45 / sqrt(D) psi.
    """
    within("the specific gravity", gravity, 0.3, 0.75)
    within("the fastener diameter", diameter, 2.0, 26.0, "mm")
    if diameter < 6.35:
        return float(16600.0 * gravity**1.84 * PSI)
    return float(6100.0 * gravity**1.45 / math.sqrt(diameter / 25.4) * PSI)


def single_shear(
    diameter: float,
    main: float,
    side: float,
    bearing_main: float,
    bearing_side: float,
    yield_strength: float,
    nominal: float | None = None,
) -> float:
    """Return the reference lateral value of one dowel in single shear [N].

    Args:
        diameter: Diameter that bends: the root of a screw, the shank of a nail [mm].
        main: Length in the main piece [mm].
        side: Length in the side piece [mm].
        bearing_main: Dowel bearing strength of the main piece [MPa].
        bearing_side: The same of the side piece.
        yield_strength: Bending yield strength of the fastener [MPa].
        nominal: Diameter by which the fastener is called, for the reduction Kd [mm]; `diameter` when None.

    References:
        [NDS] table 12.3.1A, modes Im to IV, reduction Kd (up to 0.17 in 2.2, then 10 D + 0.5, from
        1/4 in on 5, 4.5, 4: angle factor 1.25 for load across the grain).
    """
    for name, value in (("diameter", diameter), ("main length", main), ("side length", side)):
        within(f"the fastener {name}", value, 0.5, 1000.0, "mm")
    re, rt = bearing_main / bearing_side, main / side
    bend = 2 * yield_strength * diameter**2 / (3 * bearing_main)
    k1 = (math.sqrt(re + 2 * re**2 * (1 + rt + rt**2) + rt**2 * re**3) - re * (1 + rt)) / (1 + re)
    k2 = -1 + math.sqrt(2 * (1 + re) + bend * (1 + 2 * re) / main**2)
    k3 = -1 + math.sqrt(2 * (1 + re) / re + bend * (2 + re) / side**2)
    inches = (diameter if nominal is None else nominal) / 25.4
    small = 2.2 if inches <= 0.17 else 10 * inches + 0.5
    first, second, rest = (small, small, small) if inches < 0.25 else (5.0, 4.5, 4.0)
    df = diameter * bearing_main
    modes = (
        main * df / first,
        side * diameter * bearing_side / first,
        k1 * side * diameter * bearing_side / second,
        k2 * main * df / ((1 + 2 * re) * rest),
        k3 * side * df / ((2 + re) * rest),
        diameter**2 / rest * math.sqrt(2 * bearing_main * yield_strength / (3 * (1 + re))),
    )
    return min(modes)
