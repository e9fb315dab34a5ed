"""What may a piece of European strength-graded timber carry?

Limit state design of solid timber, service class 3 (out of doors, wet).

Units: MPa, mm.

References:
    [EN338] EN 338:2016, table 1 (seen as coded in an open material library).
    [EN1995-1-1] EN 1995-1-1:2004, 2.4.1, 3.1.3, 3.2, 6.1 to 6.3 (kmod and factors from memory).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.ranges import within
from enclosure.errors import RangeError
from enclosure.tables.read import table

PARTIAL_FACTOR = 1.3
"""[EN1995-1-1] table 2.3, solid timber."""

CRACK = 0.67
"""[EN1995-1-1] 6.1.7 (2), kcr: share of the width that counts in shear, because solid timber splits as it dries."""

KMOD = {"permanent": 0.50, "snow": 0.70, "wind": 0.90}
"""[EN1995-1-1] table 3.1, service class 3: permanent, short-term, instantaneous."""


@dataclass(frozen=True, slots=True)
class Strength:
    """Characteristic values [MPa, kg/m³] of one class."""

    fm: float
    ft: float
    fc: float
    fv: float
    fc90: float
    e: float
    e05: float
    rho: float


_COLUMNS = ("fm_mpa", "ft_mpa", "fc_mpa", "fv_mpa", "fc90_mpa", "e_mpa", "e05_mpa", "rho_kg_m3")
CLASSES: dict[str, Strength] = {
    cells["class"].lower(): Strength(*(float(cells[column]) for column in _COLUMNS)) for cells in table("timber_en338")
}
"""[EN338] table 1, by the small name of the class."""


def is_class(name: str) -> bool:
    """Return True when the grade is a strength class of EN 338 that is known here."""
    return name.strip().lower() in CLASSES


def height_factor(width: float) -> float:
    """Return kh for bending and tension of a section below 150 mm.

    References:
        [EN1995-1-1] 3.2 (3): kh = min((150/h)^0.2, 1.3).
    """
    within("the timber width", width, 15.0, 400.0, "mm")
    return float(max(1.0, min((150.0 / width) ** 0.2, 1.3)))


def design_strength(name: str, stress: str, width: float, duration: str) -> float:
    """Return a design strength [MPa].

    References:
        [EN1995-1-1] 2.4.1: X_d = kmod X_k / gamma_M; kh for fm and ft.
    """
    if not is_class(name):
        raise RangeError(f"strength class {name} is unknown", "use C16 or C24")
    value = float(getattr(CLASSES[name.strip().lower()], stress))
    factor = height_factor(width) if stress in ("fm", "ft") else 1.0
    return KMOD[duration] * value * factor / PARTIAL_FACTOR


def column_factor(name: str, slenderness: float) -> float:
    """Return the instability factor kc.

    Args:
        name: Strength class.
        slenderness: lambda = buckling length over radius of gyration, 0 to 300.

    References:
        [EN1995-1-1] 6.3.2: lambda_rel = lambda/pi sqrt(fc/E05), beta_c 0.2.
    """
    within("the slenderness", slenderness, 0.0, 400.0)
    grade = CLASSES[name.strip().lower()]
    relative = slenderness / math.pi * math.sqrt(grade.fc / grade.e05)
    if relative <= 0.3:
        return 1.0
    k = 0.5 * (1 + 0.2 * (relative - 0.3) + relative**2)
    return 1.0 / (k + math.sqrt(k**2 - relative**2))


def combined(sigma_c: float, fc: float, kc: float, sigma_m: float, fm: float) -> float:
    """Return the utilisation of a post in bending and compression.

    References:
        [EN1995-1-1] equation 6.23: sigma_c/(kc fc) + sigma_m/fm <= 1.
    """
    return sigma_c / (kc * fc) + sigma_m / fm
