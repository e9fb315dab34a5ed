"""What does every standing check need to know of one shelter?

The design, what was asked, the place and the stock, with the wind and the snow
worked out once, and the few sums over the design's own parts that several
checks use: mass, centre of mass, faces in the wind.

Units: m, kg, N, Pa inside; the design's mm are converted here.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

from enclosure.brief.model import Brief
from enclosure.checks.snow import SnowSet, snow_set
from enclosure.checks.wind import WindSet, wind_set
from enclosure.shape.model import Design, Part
from enclosure.shape.space import area, cross
from enclosure.site.model import Site
from enclosure.stock.model import Stock, Timber

ROOFS = ("ROOF", "ROOF A", "ROOF B")
OPPOSITE = {"FRONT": "BACK", "BACK": "FRONT", "LEFT": "RIGHT", "RIGHT": "LEFT"}


@dataclass(frozen=True, slots=True)
class Case:
    """One shelter at its place.

    Args:
        known: What several families of checks ask for and is worked out once; a changed copy starts empty.
    """

    design: Design
    brief: Brief
    site: Site
    stock: Stock
    wind: WindSet
    snow: SnowSet
    known: dict[str, Any] = field(init=False, default_factory=dict, compare=False, repr=False)

    @property
    def screws(self) -> int:
        """Screws at each end of a diagonal."""
        return self.brief.frame.brace_screws

    @property
    def width_m(self) -> float:
        """Outside width [m]."""
        return self.design.outside_mm[0] / 1000.0

    @property
    def depth_m(self) -> float:
        """Outside depth [m]."""
        return self.design.outside_mm[1] / 1000.0

    @property
    def height_m(self) -> float:
        """Greatest height above the sill's foot [m]."""
        return self.design.outside_mm[2] / 1000.0

    def timber(self, part: Part) -> Timber:
        """Return the stock's facts of a timber part."""
        return self.stock.timbers[part.material]


def case_for(design: Design, brief: Brief, site: Site, stock: Stock) -> Case:
    """Return the case with wind and snow worked out."""
    above_ground = (design.outside_mm[2] + design.base.brick_mm[2]) / 1000.0
    return Case(
        design, brief, site, stock, wind_set(site, above_ground), snow_set(site, design.roof, design.fall_deg)
    )


def standing_mass(design: Design) -> float:
    """Return the mass of all that stands above the base ring [kg]: every part but the bed's lining."""
    return sum(p.mass_kg for p in design.parts if p.face != "BASE")


def middle_of(part: Part) -> tuple[float, float, float]:
    """Return the middle of a part [mm], by the volumes of its prisms."""
    total, sums = 0.0, [0.0, 0.0, 0.0]
    for solid in part.solids:
        volume = abs(area(solid.outline)) * solid.depth
        cu = sum(p[0] for p in solid.outline) / len(solid.outline)
        cv = sum(p[1] for p in solid.outline) / len(solid.outline)
        normal = cross(solid.u, solid.v)
        for i in range(3):
            at = solid.origin[i] + cu * solid.u[i] + cv * solid.v[i] + 0.5 * solid.depth * normal[i]
            sums[i] += volume * at
        total += volume
    return (sums[0] / total, sums[1] / total, sums[2] / total)


def centre_of_mass(design: Design) -> tuple[float, float, float]:
    """Return the centre of mass of all that stands above the ring [m]."""
    total, sums = 0.0, [0.0, 0.0, 0.0]
    for part in design.parts:
        if part.face == "BASE" or not part.solids or part.mass_kg <= 0.0:
            continue
        where = middle_of(part)
        total += part.mass_kg
        sums = [s + part.mass_kg * w / 1000.0 for s, w in zip(sums, where, strict=True)]
    return (sums[0] / total, sums[1] / total, sums[2] / total)


def face_area(design: Design, face: str) -> float:
    """Return the area of a wall seen from outside, all its frame tiers [m²]."""
    return sum(abs(area(f.outline)) for f in design.frames if f.face == face) * 1e-6


def wind_face(case: Case, face: str) -> tuple[float, float]:
    """Return the area that the wind meets on a side [m²] and the height of its middle [m].

    The greater of the two opposite walls counts (a mono roof hides its high wall from one side only), with
    the roof frame's own thickness on top. Side walls stand between front and back, so the width is the
    shelter's outside one.
    """
    design = case.design
    across = case.width_m if face in ("FRONT", "BACK") else case.depth_m
    greater = max(face_area(design, face), face_area(design, OPPOSITE[face]))
    length = (design.outside_mm[0] if face in ("FRONT", "BACK") else design.clear_mm[1]) / 1000.0
    roof = max((f.depth_mm for f in design.frames if f.face in ROOFS), default=0.0) / 1000.0
    height = greater / length + roof
    return across * height, height / 2.0


def roof_plan_area(design: Design) -> float:
    """Return the roof's area seen from above, overhang included [m²]."""
    return sum(abs(area(f.outline)) * abs(f.plane.n[2]) for f in design.frames if f.face in ROOFS) * 1e-6
