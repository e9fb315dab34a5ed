"""How far may each skin span, so that the shape is built to pass?

The shape asks for plain numbers (`shape.limits.SpanLimits`); they are worked
out here from the site's wind and snow with the same judges that check the
finished panels, so the shape and the check cannot disagree.

Bay and transom spacing belong together: a panel on four edges may be longer
when it is narrower. For the faces that a skin covers, every number of bays is
tried; the one that needs the least timber and track in mullions and transoms
is taken. The limits handed down are its bay width and its spacing.

Units: mm.
"""

from __future__ import annotations

import math

from enclosure.brief.model import Brief
from enclosure.checks.panels import PanelLoad, judge, worst
from enclosure.checks.snow import snow_set
from enclosure.checks.wind import WindSet, roof_net, wall_net, wind_set
from enclosure.shape.limits import SpanLimits
from enclosure.site.model import Site
from enclosure.stock.model import Skin, Stock

LONGEST_MM = 3000.0
"""Widest spacing of cross members that is tried."""
LEAST_MM = 250.0
"""No closer grid is proposed; a skin that fails even there fails its check."""
STEP_MM = 25.0
MOST_BAYS = 12
MARGIN = 0.98
"""Share of the capacity used when the grid is chosen, so that rounding to the cutting step cannot fail it."""
PANEL_AREA_M2 = 0.6
BAY_COST = 2.0
"""A mullion with its joiner against a transom of the same length (common practice, no source)."""
FRAME_MM = 90.0
"""Added to a clear size for the frame members at both ends, on the safe side."""

Size = tuple[float, float]
"""Width across the bays, length along them [mm]."""


def clear_sizes(brief: Brief) -> tuple[float, float, float]:
    """Return inside width, depth and the roof's height above the ground, as far as the brief tells [mm]."""
    plant = brief.plant
    grown = brief.winters * plant.growth_spread_mm + 2 * brief.clearance.side.most_mm
    width, depth = plant.spread_x_mm + grown, plant.spread_y_mm + grown
    clear = (
        plant.crown_mm
        + plant.height_mm
        + brief.winters * plant.growth_height_mm
        + brief.clearance.top.most_mm
    )
    rise = math.tan(math.radians(brief.roof.fall_deg)) * max(width, depth)
    return width, depth, clear + rise + 150.0


def wall_load(wind: WindSet) -> PanelLoad:
    """Return the net pressures on a wall panel."""
    push, pull = wall_net(wind, PANEL_AREA_M2)
    q = wind.q_pa * wind.service
    return PanelLoad(push * q, pull * q)


def roof_load(wind: WindSet, kind: str, slope: float, snow_kpa: float) -> PanelLoad:
    """Return the net pressures on a roof panel; snow turned from plan area to the slope and square to it."""
    push, pull = roof_net(wind, kind, slope, PANEL_AREA_M2)
    q = wind.q_pa * wind.service
    return PanelLoad(push * q, pull * q, snow_kpa * 1000.0 * math.cos(math.radians(slope)) ** 2)


def span_limits(brief: Brief, site: Site, stock: Stock) -> SpanLimits:
    """Return the largest free spans of every skin that the brief uses.

    Args:
        brief: Gives the roof, the faces and their sizes.
        site: Gives wind and snow.
        stock: Gives the skins.

    Returns:
        Bay, transom, purlin and roof bay by skin [mm].

    Raises:
        RangeError: Wind or snow outside the range of a formula.

    References:
        Plates on all sides held, by `plates` (Navier series; Timoshenko and Woinowsky-Krieger); wind and snow by the
        code that the site names.

    >>> from enclosure import read_all
    >>> from enclosure.templates_home import find_template
    >>> limits = span_limits(*read_all(find_template("briefs", "tree-fern")))
    >>> 300.0 < limits.bay_mm["twin-wall-10"] < 1200.0
    True
    """
    width, depth, height = clear_sizes(brief)
    roof = brief.roof
    wind = wind_set(site, height / 1000.0)
    snow = snow_set(site, roof.kind, roof.fall_deg)
    limits = SpanLimits()
    faces: dict[str, list[tuple[Size, int | None]]] = {}
    for side in ("front", "right", "back", "left"):
        size = ((width if side in ("front", "back") else depth) + FRAME_MM, height)
        faces.setdefault(getattr(brief.skin, side), []).append((size, brief.frame.bays.get(side)))
    for key in sorted(faces):
        if key in stock.skins:
            limits.bay_mm[key], limits.transom_mm[key] = best_grid(
                stock.skins[key], wall_load(wind), faces[key]
            )
    key = brief.skin.roof
    if key in stock.skins:
        on_roof = roof_load(wind, roof.kind, roof.fall_deg, snow.worst_kpa)
        sizes = [(_roof_size(brief, width, depth), brief.frame.bays.get("roof"))]
        limits.roof_bay_mm[key], limits.purlin_mm[key] = best_grid(stock.skins[key], on_roof, sizes)
    return limits


def _roof_size(brief: Brief, width: float, depth: float) -> Size:
    """Return the roof's size across the flutes and down one slope."""
    roof = brief.roof
    along_y = roof.falls_to in ("front", "back") if roof.kind == "mono" else roof.ridge == "x"
    across, down = (width, depth) if along_y else (depth, width)
    slope = math.cos(math.radians(roof.fall_deg))
    return across + FRAME_MM + 2 * roof.drip_edge_mm, (
        (down + FRAME_MM) / (2.0 if roof.kind == "gable" else 1.0)
    ) / slope + 2 * roof.drip_edge_mm


def spacing_for(skin: Skin, load: PanelLoad, bay: float, longest: float = LONGEST_MM) -> float:
    """Return the widest cross member spacing that passes in a bay of this free width [mm], 0 for none."""
    low, high = int(LEAST_MM / STEP_MM), int(longest / STEP_MM)
    if worst(judge(skin, low * STEP_MM, bay, load)).utilisation > MARGIN:
        return 0.0
    # a longer panel never sags less, so halving finds the last spacing that passes
    while low < high:
        middle = (low + high + 1) // 2
        if worst(judge(skin, middle * STEP_MM, bay, load)).utilisation > MARGIN:
            high = middle - 1
        else:
            low = middle
    return low * STEP_MM


def best_grid(skin: Skin, load: PanelLoad, faces: list[tuple[Size, int | None]]) -> tuple[float, float]:
    """Return the bay width and cross member spacing [mm] with the least timber and track for these faces.

    Args:
        skin: The skin; a bay never passes its trusted free width, because the stiffness across flutes is
            known only roughly.
        load: Net pressures on a panel.
        faces: Size of each face that the skin covers, and the number of bays when the brief sets it.
    """
    cap = max(LEAST_MM, skin.max_span_mm)
    best: tuple[float, float, float] | None = None
    for divisions in range(1, MOST_BAYS + 1):
        widest = max(size[0] for size, _ in faces) / divisions
        if widest > cap and divisions < MOST_BAYS:
            continue
        counts = [given or max(1, math.ceil(size[0] / widest - 1e-9)) for size, given in faces]
        bays = [size[0] / count for (size, _), count in zip(faces, counts, strict=True)]
        spacing = min(spacing_for(skin, load, max(bay, LEAST_MM)) for bay in bays)
        if spacing == 0.0:
            continue
        cost = sum(
            BAY_COST * (count - 1) * size[1] + (math.ceil(size[1] / spacing) - 1) * size[0]
            for (size, _), count in zip(faces, counts, strict=True)
        )
        if best is None or cost < best[0] - 1e-9:
            best = (cost, min(cap, max(bays)), spacing)
        if widest < LEAST_MM:
            break
    return (best[1], best[2]) if best else (LEAST_MM, LEAST_MM)
