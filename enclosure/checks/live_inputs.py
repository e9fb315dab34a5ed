"""Which areas, conductances, masses and faces does a design give to the heat checks?

The one place where a Design's millimetres become the network, the faces for the
sun and the store of heat. Every face: skin where it is free, skin and wood in
series where a frame member lies behind it, the aluminium track as a length that
conducts. Left out: gussets, hardware, gaps at corners.

Units: m, m², m³, W/K, kg.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from enclosure.brief.model import Brief, Heat
from enclosure.checks.climate import Climate
from enclosure.checks.heat_network import Loss, Network, air_conductance, edge_conductance, edge_factor
from enclosure.checks.heat_sources import HeatSource, source_kind
from enclosure.checks.power_cut import shelter_capacity
from enclosure.checks.sun import Face
from enclosure.checks.u_value import backed_u_value, conductivity, skin_u_value, turned_u_value
from enclosure.language import decimal, tr
from enclosure.shape.model import Design, Frame, Material, Part, Point, Prism, StickCut
from enclosure.shape.names import frame_word
from enclosure.shape.space import area, cross
from enclosure.site.model import Site
from enclosure.stock.model import Stock

TENT_U_W_M2K = 5.5
TENT_GAP_MM = 60.0
TRACK_PSI_W_MK = 0.05


@dataclass(frozen=True, slots=True)
class Living:
    """What the heat, sun, damp and power rows work with.

    Args:
        network: The shelter as asked; with the tent when the brief has one and the heat can
            safely be inside it.
        faces: Faces as the sun sees them.
        worst_u_w_m2k: Highest U-value of a wall or roof, for frost on the inside.
        worst_face: Where that is.
        volume_m3: Air inside.
        floor_m2: Floor inside.
        height_m: Greatest height inside.
        tent_m2: Area of the tent, 0 without plant sizes.
        capacity_kj_k: Heat that follows the inside air.
        heat: What the brief says of the heat, or none.
        source: Its kind.
        climate: Usual year, None when the site gives no monthly means.
        design_min_degc: The design night.
    """

    network: Network
    faces: tuple[Face, ...]
    worst_u_w_m2k: float
    worst_face: str
    volume_m3: float
    floor_m2: float
    height_m: float
    tent_m2: float
    capacity_kj_k: float
    heat: Heat
    source: HeatSource
    climate: Climate | None
    design_min_degc: float

    def with_tent(self) -> Network:
        """Return the network with a tent round the plant and the heat inside it."""
        return replace(self.network, tent_w_k=TENT_U_W_M2K * self.tent_m2)


def polygon_area(outline: tuple[Point, ...]) -> float:
    """Return the area of a polygon (shoelace), in the square of its unit."""
    return abs(area(outline))


def _seen_area_mm2(prism: Prism, frame: Frame) -> float:
    """Return the area of a member as seen square to its frame: its volume over its depth."""
    n = frame.plane.n
    axis = cross(prism.u, prism.v)
    along_u = sum(a * b for a, b in zip(prism.u, n, strict=True))
    along_v = sum(a * b for a, b in zip(prism.v, n, strict=True))
    along_depth = abs(sum(a * b for a, b in zip(axis, n, strict=True))) * prism.depth
    heights = [x * along_u + y * along_v for x, y in prism.outline]
    through = max(heights) - min(heights) + along_depth
    return polygon_area(prism.outline) * prism.depth / through if through > 1e-6 else 0.0


def bearing_of(design: Design, normal: tuple[float, float, float]) -> float:
    """Return the compass bearing toward which a face looks [degrees]."""
    turn = math.degrees(math.atan2(normal[0], -normal[1])) if normal[0] or normal[1] else 0.0
    return (design.front_bearing_deg - turn) % 360.0


def skin_u(material: Material, layers: int = 1) -> tuple[float, str]:
    """Return the U-value of a skin on a wall and where it comes from; a declared one wins."""
    if material.u_value_w_m2k:
        return material.u_value_w_m2k, tr("declared in the stock list ({source})").format(
            source=material.source or tr("no source")
        )
    return skin_u_value(material.kind, material.thickness_mm, material.mass_kg_m2, layers)


@dataclass(frozen=True, slots=True)
class _FaceSum:
    losses: tuple[Loss, ...]
    face: Face
    u_value: float


def _face(design: Design, frame: Frame, scale: float) -> _FaceSum:
    """Return losses and sun face of one frame; `scale` takes the overhang off a roof."""
    gross = polygon_area(frame.glazed) / 1e6 * scale
    tilt = math.degrees(math.acos(max(-1.0, min(1.0, frame.plane.n[2]))))
    parts = [
        part
        for part in design.parts
        if part.face == frame.face and (part.level in (0, frame.level) or frame.face.startswith("ROOF"))
    ]
    members = [part for part in parts if part.kind == "member"]
    wood = sum(_seen_area_mm2(solid, frame) for part in members for solid in part.solids) / 1e6
    backed = min(wood, 0.6 * gross)
    layers = max((part.layer for part in parts if part.kind in ("panel", "film")), default=1)
    material = design.material(frame.skin)
    u_wall, source = skin_u(material, layers)
    u = turned_u_value(u_wall, "upward") if tilt < 60.0 else u_wall
    u_wood = backed_u_value(u, frame.depth_mm, conductivity("softwood"))
    name = frame_word(frame.face, frame.level)
    tracks = sum(_track_mm(part) for part in parts) / 1000.0
    losses = [
        Loss(
            tr("{face} skin ({material})").format(face=name, material=material.name),
            u * (gross - backed),
            gross - backed,
            u,
            source,
            name,
        ),
        Loss(
            tr("{face} frame").format(face=name),
            u_wood * backed,
            backed,
            u_wood,
            tr("ISO 6946, skin and softwood 0.13 W/mK in series"),
            name,
        ),
    ]
    if tracks:
        psi = tr("linear 0.05 W/mK of aluminium edge, from memory")
        losses.append(Loss(tr("{face} track").format(face=name), TRACK_PSI_W_MK * tracks * scale, 0.0, 0.0, psi, name))
    open_share = max(0.3, 1.0 - backed / gross) if gross else 0.0
    bearing = bearing_of(design, frame.plane.n)
    return _FaceSum(tuple(losses), Face(name, tilt, bearing, gross, material.light, open_share), u)


def _track_mm(part: Part) -> float:
    return part.cut.length_mm if part.kind == "track" and isinstance(part.cut, StickCut) else 0.0


def lining_resistance(brief: Brief, stock: Stock) -> float:
    """Return the resistance of the bed's lining [m²K/W], 0 without."""
    if brief.bed is None or brief.bed.lining is None:
        return 0.0
    board = stock.boards[brief.bed.lining]
    if board.u_value_w_m2k:
        return max(0.0, 1.0 / board.u_value_w_m2k - 0.17)
    return board.thickness_mm / 1000.0 / conductivity("eps")


def volume_of(design: Design) -> float:
    """Return the air inside [m³]: the clear box and half of the roof's rise above it."""
    width, depth, height = (value / 1000.0 for value in design.clear_mm)
    span = width if design.falls_to in ("left", "right", "y") else depth
    if design.roof == "gable":
        rise = span / 2.0 * math.tan(math.radians(design.fall_deg))
    elif design.roof == "mono":
        rise = span * math.tan(math.radians(design.fall_deg))
    else:
        rise = 0.0
    return width * depth * (height + rise / 2.0)


def tent_area(design: Design) -> float:
    """Return the area of a cloth tent round the plant at its last winter [m²]: four sides and a top."""
    plant = design.plant
    width = plant.spread_x_mm + plant.winters * plant.growth_spread_mm + 2 * TENT_GAP_MM
    depth = plant.spread_y_mm + plant.winters * plant.growth_spread_mm + 2 * TENT_GAP_MM
    height = plant.height_mm + plant.winters * plant.growth_height_mm + TENT_GAP_MM
    return (2.0 * (width + depth) * height + width * depth) / 1e6


def climate_of(site: Site) -> Climate | None:
    """Return the usual year of a site, None when it gives no monthly means."""
    if site.monthly_mean_degc is None:
        return None
    return Climate(
        tuple(site.monthly_mean_degc),
        site.daily_range_k,
        site.latitude_deg,
        site.longitude_deg,
        site.altitude_m,
    )


def living(design: Design, brief: Brief, site: Site, stock: Stock) -> Living:
    """Return everything the living checks need of a design, a brief, a site and a stock list."""
    heat = brief.heat or Heat(source="none")
    width, depth = (value / 1000.0 for value in design.outside_mm[:2])
    roofs = [frame for frame in design.frames if frame.face.startswith("ROOF")]
    over = sum(polygon_area(frame.glazed) / 1e6 * frame.plane.n[2] for frame in roofs)
    scale = min(1.0, width * depth / over) if over else 1.0
    sums = [_face(design, frame, scale if frame in roofs else 1.0) for frame in design.frames]
    losses = [loss for one in sums for loss in one.losses]
    volume = volume_of(design)
    losses.append(
        Loss(tr("air change"), air_conductance(heat.air_changes, volume), source=decimal("1.2 kg/m³ x 1005 J/kgK"))
    )
    factor = edge_factor(lining_resistance(brief, stock))
    losses.append(
        Loss(tr("ground edge"), edge_conductance(2.0 * (width + depth), factor), source=tr("WAC 51-11C table A106.1"))
    )
    tent, source = tent_area(design), source_kind(heat.source)
    wood = math.fsum(part.mass_kg for part in design.parts if part.kind == "member")
    sheet = math.fsum(part.mass_kg for part in design.parts if part.kind in ("panel", "film"))
    floor = design.clear_mm[0] * design.clear_mm[1] / 1e6
    worst = max(sums, key=lambda one: (one.u_value, one.face.name))
    return Living(
        network=Network(tuple(losses), TENT_U_W_M2K * tent if heat.tent and source.inside_tent else None),
        faces=tuple(one.face for one in sums),
        worst_u_w_m2k=worst.u_value,
        worst_face=worst.face.name,
        volume_m3=volume,
        floor_m2=floor,
        height_m=design.outside_mm[2] / 1000.0,
        tent_m2=tent,
        capacity_kj_k=shelter_capacity(volume, wood, sheet, floor),
        heat=heat,
        source=source,
        climate=climate_of(site),
        design_min_degc=site.design_min_degc,
    )
