"""How far does a sheet bulge, how far do its edges draw in, and what does that cost it?

Multiwall, acrylic and foam are plates held at four edges that may slide in
their slots: the edges carry no pull in the plane of the sheet. Film is a taut
skin. Glass is a stiff plate whose stress counts.

The sag of a plate much larger than its thickness follows from two terms:
bending of an orthotropic plate, and the stretch that a double curvature forces
on the middle of the sheet. The stretch term is a one-term solution for
stress-free edges; on a square isotropic plate it gives 2 to 3 % more sag than
Kaiser's classic series solution and test (from memory), so it errs to the safe
side.

Units: N, mm, MPa for stresses; stiffness D in N m; membrane stiffness in N/m;
pressure in Pa; sizes in m inside, in mm at the functions' doors.

References:
    [Timoshenko1959] Theory of Plates and Shells, 2nd ed., articles 30, 85, 100, 101.
    [Kaiser1936] Kaiser, ZAMM 16: square plate, simply supported, stress-free edges (from memory).
"""

from __future__ import annotations

import math

from enclosure.checks.ranges import interpolate, within
from enclosure.tables.read import row

POLYCARBONATE_E_MPA = 2300.0
"""Short-term modulus of polycarbonate (from memory)."""

POLYCARBONATE_E_LONG_MPA = 1500.0
"""Modulus under snow lying for weeks (from memory)."""

POLYCARBONATE_DENSITY = float(row("materials", "polycarbonate")["density_kg_m3"])

_STRETCH = 53.83
"""16 pi⁴ / 32 times (2 * 16/15 * 48/pi⁴)²: work of the one-term stress function."""
_EDGEWISE = 332.9
"""16 * 25.6 * 256/315."""
_MIXED = 95.1
"""16 * (256/105)²."""


def flat_stiffness(modulus: float, thickness: float, poisson: float = 0.35) -> float:
    """Return the bending stiffness of a solid sheet [N m].

    Args:
        modulus: E [MPa], above 0.
        thickness: t [mm], above 0.
        poisson: Poisson's ratio, 0 to 0.5.

    References:
        [Timoshenko1959] equation 3: D = E t³ / 12 (1 - nu²).
    """
    within("the modulus", modulus, 1e-3, 3e5, "MPa")
    within("the thickness", thickness, 1e-3, 500.0, "mm")
    return modulus * thickness**3 / (12 * (1 - poisson**2)) / 1000.0


def multiwall_membrane(mass: float, modulus: float = POLYCARBONATE_E_MPA) -> float:
    """Return the membrane stiffness of a twin-wall sheet's two skins [N/m].

    Args:
        mass: Mass [kg/m²], 0.3 to 6.
        modulus: E [MPa].

    References:
        All plastic as one solid layer, mass / density; three quarters of it lie in the skins, the rest
        in the ribs (from memory, typical sheets).
    """
    within("the mass of the sheet", mass, 0.2, 8.0, "kg/m²")
    return modulus * 1e6 * 0.75 * mass / POLYCARBONATE_DENSITY


def multiwall_stiffness(mass: float, thickness: float, modulus: float = POLYCARBONATE_E_MPA) -> float:
    """Return the bending stiffness along the flutes of a twin-wall sheet [N m], for a stock list without one.

    References:
        Two skins of 37.5 % of the plastic each at half the thickness from the middle (from memory; 25 %).
    """
    within("the mass of the sheet", mass, 0.2, 8.0, "kg/m²")
    within("the thickness", thickness, 2.0, 60.0, "mm")
    skin = 0.375 * mass / POLYCARBONATE_DENSITY * 1000.0
    lever = (thickness - skin) / 2.0
    return modulus * 2 * skin * lever**2 / 1000.0


def plate_sag(
    pressure: float, along: float, across: float, stiff_along: float, stiff_across: float, membrane: float
) -> float:
    """Return the sag in the middle of a plate held at four sliding edges [mm].

    Args:
        pressure: [Pa], >= 0.
        along: Free size along the flutes [mm].
        across: Free size across the flutes [mm].
        stiff_along: D along the flutes [N m].
        stiff_across: D across the flutes [N m].
        membrane: Membrane stiffness A [N/m]; 0 leaves the stretch out (small sags).

    References:
        [Timoshenko1959] articles 30 and 85 (first term of Navier's series, torsion sqrt(Dx Dy)) and 101
        (energy method): K w + N w³ = 16 q/pi⁶ with K = Dx/a⁴ + 2 sqrt(Dx Dy)/a²b² + Dy/b⁴ and
        N = 53.83 A / [332.9 (b⁴ + a⁴) + 190.2 a²b²].
    """
    within("the pressure", pressure, 0.0, 1e5, "Pa")
    within("the size along the flutes", along, 1.0, 1e5, "mm")
    within("the size across the flutes", across, 1.0, 1e5, "mm")
    within("the stiffness along", stiff_along, 1e-9, 1e7, "N m")
    within("the stiffness across", stiff_across, 1e-9, 1e7, "N m")
    a, b = along / 1000.0, across / 1000.0
    linear = (
        stiff_along / a**4 + 2 * math.sqrt(stiff_along * stiff_across) / (a * b) ** 2 + stiff_across / b**4
    )
    cubic = _STRETCH * membrane / (_EDGEWISE * (a**4 + b**4) + 2 * _MIXED * (a * b) ** 2)
    return 1000.0 * _root(linear, cubic, 16 * pressure / math.pi**6)


def _root(linear: float, cubic: float, load: float) -> float:
    """Return the real root of linear x + cubic x³ = load (Cardano, for rising cubics)."""
    if load == 0.0:
        return 0.0
    if cubic == 0.0:
        return load / linear
    p, q = linear / cubic, load / cubic
    # hyperbolic form: exact and free of cancellation for p > 0
    t = math.asinh(1.5 * q / p * math.sqrt(3.0 / p)) / 3.0
    return 2.0 * math.sqrt(p / 3.0) * math.sinh(t)


def pull_in(sag: float, span: float) -> float:
    """Return by how much one of two opposite edges draws in [mm].

    Args:
        sag: Sag in the middle [mm], >= 0.
        span: Distance between the two held edges [mm].

    References:
        Arc of a flat parabola is longer than its chord by 8 d² / 3 L; half at each edge.
    """
    within("the span", span, 1.0, 1e5, "mm")
    return 4 * sag**2 / (3 * span)


def curvature_stress(sag: float, span: float, thickness: float, modulus: float) -> float:
    """Return the stress in the outer skin of a sheet bent to this sag [MPa].

    References:
        Half sine: curvature pi² d / L²; stress E t/2 times curvature.
    """
    within("the span", span, 1.0, 1e5, "mm")
    return modulus * thickness / 2.0 * math.pi**2 * sag / span**2


def glass_stress(pressure: float, short: float, long: float, thickness: float) -> float:
    """Return the greatest stress in a pane on four edges [MPa].

    Args:
        pressure: [Pa].
        short: Shorter side [mm].
        long: Longer side [mm].
        thickness: [mm].

    References:
        [Timoshenko1959] table 8 (nu 0.3): sigma = beta q b²/t², beta 0.2874 square to 0.75 strip.
    """
    within("the thickness", thickness, 0.5, 50.0, "mm")
    within("the shorter side", short, 1.0, 1e4, "mm")
    ratio = max(1.0, long / short)
    table = (
        (1.0, 0.2874),
        (1.2, 0.3762),
        (1.4, 0.4530),
        (1.6, 0.5172),
        (1.8, 0.5688),
        (2.0, 0.6102),
        (3.0, 0.7134),
        (4.0, 0.7410),
        (5.0, 0.7476),
        (20.0, 0.7500),
    )
    return interpolate(ratio, table) * pressure * 1e-6 * (short / thickness) ** 2


def film_pull(pressure: float, span: float, modulus: float, thickness: float) -> float:
    """Return the pull in a film laid flat between battens [N/m].

    Args:
        pressure: [Pa].
        span: Distance between battens [mm].
        modulus: E [MPa].
        thickness: [mm].

    References:
        Flat taut strip: strain = q² L² / 24 T² and T = E t strain, so T³ = E t q² L² / 24.
    """
    within("the pressure", pressure, 0.0, 1e5, "Pa")
    within("the span", span, 1.0, 1e5, "mm")
    stretch = modulus * 1e6 * thickness / 1000.0
    return float((stretch * (pressure * span / 1000.0) ** 2 / 24.0) ** (1 / 3))


def film_sag(pressure: float, span: float, pull: float) -> float:
    """Return the sag of a film [mm]: d = q L² / 8 T."""
    if pull <= 0.0:
        return 0.0
    return pressure * (span / 1000.0) ** 2 / (8 * pull) * 1000.0
