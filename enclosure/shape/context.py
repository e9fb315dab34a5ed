"""What does every room of the shape need to know?

The brief, the stock and the few facts derived from them once: the clear box,
the chosen sections, the track that fits a skin.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from enclosure.brief.model import Brief
from enclosure.errors import DesignError
from enclosure.shape.clear_box import ClearBox
from enclosure.shape.fit import Climate, needed_clearance
from enclosure.shape.limits import SpanLimits
from enclosure.shape.marks import numbered
from enclosure.shape.model import Part
from enclosure.site.model import Site
from enclosure.stock.model import Skin, Stock, Timber, Track

WASHER_JOINT_MM = 2.0
"""Gap between two screwed boards over one member at the cutting temperature; practice, no source."""


MOST_PLAY_MM = 2.5
"""How much wider than the sheet a slot may be; practice, no source."""


@dataclass(frozen=True, slots=True)
class Section:
    """A timber as it stands in a frame: `face` in the plane of the frame, `depth` across it [mm]."""

    key: str
    face: float
    depth: float
    density: float


@dataclass(frozen=True, slots=True)
class Context:
    """The asked, the given and the chosen."""

    brief: Brief
    site: Site
    stock: Stock
    limits: SpanLimits
    box: ClearBox
    section: Section
    roof_section: Section
    step: float
    levels: int = 0
    feet: tuple[float, ...] = ()
    """Heights at which the frame tiers stand, from the ground, where a shelter that exists sets them [mm]."""
    marking: Callable[[list[Part]], tuple[Part, ...]] = numbered

    @property
    def outside_width(self) -> float:
        """Outside width of the frame [mm]."""
        return round(self.box.width + 2 * self.section.depth, 4)

    @property
    def outside_depth(self) -> float:
        """Outside depth of the frame [mm]."""
        return round(self.box.depth + 2 * self.section.depth, 4)

    @property
    def ridge_thickness(self) -> float:
        """Thickness of the ridge board [mm]."""
        return min(self.roof_section.face, self.roof_section.depth)

    @property
    def climate(self) -> Climate:
        """Temperatures between which the sheets live."""
        heat = self.brief.temperatures
        return Climate(heat.cut_degc, heat.hottest_degc, self.site.design_min_degc)

    def skin(self, side: str) -> str:
        """Return the key of the skin on a side."""
        return str(getattr(self.brief.skin, side))

    def track(self, skin_key: str, kind: str) -> Track:
        """Return the track of a kind that the brief names, else the one whose slot leaves the skin the least play."""
        skin = self.stock.skins[skin_key]
        fits = tracks_for(self.stock, skin, kind)
        if not fits:
            raise DesignError(
                f"no {kind} track in the stock takes {skin.name} ({skin.thickness_mm:g} mm thick)",
                f"list a track of kind {kind} with a slot {skin.thickness_mm:g} to "
                f"{skin.thickness_mm + MOST_PLAY_MM:g} mm wide, or choose another skin",
            )
        named = self.brief.frame.track_names
        return min(fits, key=lambda t: (t.key not in named, t.slot_width_mm, -t.slot_depth_mm, t.key))

    def webs(self, skin_key: str) -> tuple[float, float]:
        """Return what an edge and a joint take from the length of a wall: (edge web, joiner web) [mm]."""
        skin = self.stock.skins[skin_key]
        if skin.fixing == "track":
            return (self.track(skin_key, "edge").web_mm, self.track(skin_key, "joiner").web_mm)
        return (0.0, 0.0)

    def slot_depth(self, skin_key: str) -> float:
        """Return the depth by which an edge of the skin is held [mm]."""
        skin = self.stock.skins[skin_key]
        if skin.fixing == "track":
            return min(self.track(skin_key, k).slot_depth_mm for k in ("edge", "joiner"))
        return self.section.face / 2

    def out(self, skin_key: str) -> float:
        """Return how far skin and track stand out from the frame [mm]."""
        skin = self.stock.skins[skin_key]
        if skin.fixing == "track":
            tracks = [self.track(skin_key, k) for k in ("edge", "joiner")]
            return max(t.slot_width_mm + 2 * t.flange_mm for t in tracks)
        if skin.fixing == "batten":
            return skin.layers * (skin.thickness_mm + self.lath.thickness_mm)
        return skin.thickness_mm

    def least_gap(self, skin_key: str) -> float:
        """Return the clearance behind an edge that even a short panel needs [mm]."""
        skin = self.stock.skins[skin_key]
        return needed_clearance(300.0, skin.alpha_1e6_k, self.climate, skin.cut_tolerance_mm)

    def longest_in_slot(self, skin_key: str) -> float:
        """Return the greatest panel size whose edge cover still holds at the coldest [mm]."""
        skin = self.stock.skins[skin_key]
        if skin.fixing != "track" or not skin.alpha_1e6_k:
            return math.inf
        swing = self.climate.hottest_degc - self.climate.coldest_degc
        room = self.slot_depth(skin_key) - skin.least_cover_mm - skin.cut_tolerance_mm - self.step
        return max(0.0, room) / (skin.alpha_1e6_k * 1e-6 * swing)

    @property
    def lath(self) -> Timber:
        """The thinnest timber narrow enough for a batten over every member that film covers."""
        skin = self.brief.skin
        walls = {self.stock.skins[key].fixing for key in (skin.front, skin.right, skin.back, skin.left)}
        faces = [self.section.face] if "batten" in walls else []
        faces += [self.roof_section.face] if self.stock.skins[skin.roof].fixing == "batten" else []
        face = min(faces, default=self.section.face)
        fits = [t for t in self.stock.timbers.values() if t.width_mm <= face + 0.5]
        if not fits:
            raise DesignError(
                f"no timber in the stock is narrow enough for battens on a {face:g} mm face",
                "list a lath in the stock file (timbers)",
            )
        return min(fits, key=lambda t: (t.thickness_mm, t.width_mm, t.key))


def tracks_for(stock: Stock, skin: Skin, kind: str) -> list[Track]:
    """Return the tracks of a kind whose slot takes a skin."""
    return [track for track in stock.tracks.values() if track.kind == kind and takes(track, skin)]


def takes(track: Track, skin: Skin) -> bool:
    """Return whether a skin goes into the slot of a track without too much play."""
    return skin.thickness_mm <= track.slot_width_mm <= skin.thickness_mm + MOST_PLAY_MM


def section_of(stock: Stock, key: str, *, on_edge: bool) -> Section:
    """Return how a timber stands in a frame."""
    timber = stock.timbers[key]
    thin, wide = sorted((timber.thickness_mm, timber.width_mm))
    face, depth = (thin, wide) if on_edge else (wide, thin)
    return Section(key, face, depth, timber.density_kg_m3)
