"""What is the U-value of a skin, from its own build-up?

ISO 6946: surface resistances, still air layers and solid layers in series. A
declared U-value of the stock file overrides the computed one; it is turned
from a wall to a roof by exchanging the inner surface resistance. Left out:
ribs between the walls of a multiwall sheet (they let a little more through),
wind and clear sky (10 to 20 % more on exposed nights), and the long-wave
transparency of thin film, for which a declared value must be used.

Units: mm, W/mK, m²K/W, W/m²K.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from enclosure.checks.ranges import interpolate, within
from enclosure.errors import RangeError
from enclosure.language import tr
from enclosure.tables.read import row

Flow = Literal["horizontal", "upward", "downward"]

OUTSIDE_RESISTANCE = 0.04

INSIDE_RESISTANCE: dict[Flow, float] = {"horizontal": 0.13, "upward": 0.10, "downward": 0.17}

AIR_LAYER_WIDTHS_MM = (0.0, 5.0, 7.0, 10.0, 15.0, 25.0, 50.0, 100.0, 300.0)

AIR_LAYER_RESISTANCE: dict[Flow, tuple[float, ...]] = {
    "upward": (0.0, 0.11, 0.13, 0.15, 0.16, 0.16, 0.16, 0.16, 0.16),
    "horizontal": (0.0, 0.11, 0.13, 0.15, 0.17, 0.18, 0.18, 0.18, 0.18),
    "downward": (0.0, 0.11, 0.13, 0.15, 0.17, 0.19, 0.21, 0.22, 0.23),
}


def conductivity(material: str) -> float:
    """Return the design conductivity of a material of `tables/materials.csv` [W/mK]."""
    return float(row("materials", material)["conductivity_w_mk"])


def air_layer_resistance(width_mm: float, flow: Flow = "horizontal") -> float:
    """Return the resistance of a still air layer between ordinary surfaces [m²K/W].

    Args:
        width_mm: Width of the layer along the heat flow [mm], 0 to 300; between the
            rows of the table the value is interpolated.
        flow: Direction of the heat flow.

    Raises:
        RangeError: The width lies outside 0 to 300 mm.

    References:
        [ISO6946:2007] table 2, unventilated air layers with high emissivity surfaces.
    """
    within("width of the air layer", width_mm, 0.0, 300.0, "mm")
    rows = zip(AIR_LAYER_WIDTHS_MM, AIR_LAYER_RESISTANCE[flow], strict=True)
    return interpolate(width_mm, tuple(rows))


def layer_resistance(thickness_mm: float, conductivity_w_mk: float) -> float:
    """Return the resistance d / lambda of a solid layer [m²K/W].

    Raises:
        RangeError: Thickness outside 0 to 1000 mm or conductivity outside 0.01 to 500 W/mK.

    References:
        [ISO6946] R = d / lambda.
    """
    within("thickness of the layer", thickness_mm, 0.0, 1000.0, "mm")
    within("conductivity", conductivity_w_mk, 0.01, 500.0, "W/mK")
    return thickness_mm / 1000.0 / conductivity_w_mk


def u_value(resistances_m2k_w: Sequence[float], flow: Flow = "horizontal") -> float:
    """Return U = 1 / (Rsi + sum R + Rse) [W/m²K].

    Args:
        resistances_m2k_w: Resistances of the layers [m²K/W], each >= 0.
        flow: Direction of the heat flow.

    References:
        [ISO6946] total thermal resistance of homogeneous layers.
    """
    for resistance in resistances_m2k_w:
        within("resistance of a layer", resistance, 0.0, 100.0, "m²K/W")
    return 1.0 / (INSIDE_RESISTANCE[flow] + sum(resistances_m2k_w) + OUTSIDE_RESISTANCE)


def multiwall_skin_mm(mass_kg_m2: float, thickness_mm: float, walls: int, pitch_mm: float) -> float:
    """Return the thickness of each wall of a multiwall sheet from its mass [mm].

    The sheet is solid polycarbonate of thickness t_eq = mass / density, shared
    among equal walls and ribs of the same thickness t at the pitch p:
    n t + t (h - n t) / p = t_eq, solved for t.

    References:
        Geometry; the density of polycarbonate 1200 kg/m³ is a handbook value.
    """
    within("mass of the sheet", mass_kg_m2, 0.1, 20.0, "kg/m²")
    within("thickness of the sheet", thickness_mm, 3.0, 60.0, "mm")
    within("number of walls", walls, 2, 7)
    within("pitch of the ribs", pitch_mm, 2.0, 60.0, "mm")
    solid = mass_kg_m2 / float(row("materials", "polycarbonate")["density_kg_m3"]) * 1000.0
    # n t^2 / p - t (n + h / p) + t_eq = 0: the smaller root is the sheet.
    a, b = walls / pitch_mm, walls + thickness_mm / pitch_mm
    root = b * b - 4.0 * a * solid
    within("mass of the sheet against its thickness", root, 0.0, 1e9)
    return float((b - root**0.5) / (2.0 * a))


def multiwall_u_value(thickness_mm: float, walls: int, wall_mm: float, flow: Flow = "horizontal") -> float:
    """Return the U-value of a multiwall polycarbonate sheet from its build-up [W/m²K].

    Args:
        thickness_mm: Whole thickness [mm], 3 to 60.
        walls: Number of solid walls, 2 to 7; the cavities between them are equal.
        wall_mm: Thickness of one wall [mm], 0.1 to 3.
        flow: Direction of the heat flow.

    References:
        [ISO6946] with [ISO6946:2007] table 2 for each cavity and 0.20 W/mK for polycarbonate.
    """
    within("thickness of the sheet", thickness_mm, 3.0, 60.0, "mm")
    within("number of walls", walls, 2, 7)
    within("thickness of one wall", wall_mm, 0.1, 3.0, "mm")
    cavity = (thickness_mm - walls * wall_mm) / (walls - 1)
    solid = layer_resistance(walls * wall_mm, conductivity("polycarbonate"))
    return u_value([solid, *[air_layer_resistance(cavity, flow)] * (walls - 1)], flow)


def turned_u_value(u_wall_w_m2k: float, flow: Flow) -> float:
    """Return the U-value of a skin declared for a wall when it lies in another direction [W/m²K].

    Only the inner surface resistance changes; the cavity of thin sheets is the
    same in all directions.

    References:
        [ISO6946] table of surface resistances.
    """
    within("declared U-value", u_wall_w_m2k, 0.05, 7.6, "W/m²K")
    resistance = 1.0 / u_wall_w_m2k - INSIDE_RESISTANCE["horizontal"] + INSIDE_RESISTANCE[flow]
    return 1.0 / resistance


def backed_u_value(u_skin_w_m2k: float, thickness_mm: float, conductivity_w_mk: float) -> float:
    """Return the U-value where a frame member lies behind the skin [W/m²K].

    References:
        [ISO6946] layers in series: 1 / (1/U + d/lambda).
    """
    within("U-value of the skin", u_skin_w_m2k, 0.05, 10.0, "W/m²K")
    return 1.0 / (1.0 / u_skin_w_m2k + layer_resistance(thickness_mm, conductivity_w_mk))


def skin_u_value(kind: str, thickness_mm: float, mass_kg_m2: float, layers: int = 1) -> tuple[float, str]:
    """Return the U-value of a stock skin without a declared one, and how it was found.

    Args:
        kind: multiwall, glass, acrylic, film, foam board or board.
        thickness_mm: Thickness of the sheet [mm].
        mass_kg_m2: Mass of the sheet [kg/m²]; for multiwall it gives the walls.
        layers: 2 for a double film or a double pane with a gap of 25 mm or more.

    References:
        [ISO6946] for all but film; thin film lets long-wave radiation through, so its
        value is the middle of 1.0 to 1.2 Btu/h ft² F of the extension service (single)
        and 0.70 as quoted from ASAE EP406 (double).
    """
    if kind == "film":
        value = 6.5 if layers < 2 else 4.0
        return value, tr("extension service and ASAE EP406 as quoted (film lets long-wave heat through)")
    if kind == "multiwall":
        walls = 2 if thickness_mm < 14.0 else 3
        pitch = 5.75 if thickness_mm < 7.0 else 10.5 if thickness_mm < 14.0 else 20.0
        wall = multiwall_skin_mm(mass_kg_m2, thickness_mm, walls, pitch) if mass_kg_m2 else 0.45
        return multiwall_u_value(thickness_mm, walls, wall), tr("ISO 6946 from the walls and cavities")
    lambda_of = {"glass": "glass", "acrylic": "acrylic", "foam board": "eps", "board": "plywood"}
    if kind not in lambda_of:
        raise RangeError(
            f"no build-up is known for a skin of kind {kind!r}",
            "give the skin a u_value in the stock file",
        )
    solid = layer_resistance(thickness_mm, conductivity(lambda_of[kind]))
    if layers < 2:
        return u_value([solid]), tr("ISO 6946, one solid layer")
    return u_value([solid, air_layer_resistance(25.0), solid]), tr("ISO 6946, two layers and 25 mm of air")
