"""From a brief with clearance windows to the cheapest size.

read_all -> checks.span -> variants of the brief -> choose.fit_stock
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.fit_grid import Builder, grid_for
from enclosure.choose.fit_stock import MOST_SOLVES, Fit, Variant, fit_stock
from enclosure.choose.price import Pricer
from enclosure.errors import DesignError
from enclosure.shape.base import ring_height
from enclosure.shape.build import build
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock

LOOK_MM = 50.0
"""How far beyond the windows near misses are looked for."""
Progress = Callable[[str, float], None]


def fit(path: Path, *, bays: bool = True, near: bool = True, progress: Progress | None = None) -> Fit:
    """Return the cheapest size for a brief.

    Args:
        path: The brief.
        bays: Try one more bay on each pair of walls and on the roof too.
        near: Look for near misses beside the chosen size.
        progress: Told what is being done and the share done.
    """
    brief, site, stock = read_all(path)
    return fit_models(brief, site, stock, bays=bays, near=near, progress=progress)


def fit_models(
    brief: Brief,
    site: Site,
    stock: Stock,
    *,
    bays: bool = True,
    near: bool = True,
    most_solves: int = MOST_SOLVES,
    progress: Progress | None = None,
) -> Fit:
    """Return the cheapest size for models already read; arguments as in `fit`."""
    builder = builder_for(brief, site, stock)
    ring = ring_height(brief, stock)
    look = (LOOK_MM, LOOK_MM) if near else (0.0, 0.0)
    pairs = [(brief, "")]
    if bays:
        pairs += bay_variants(brief, site, stock)
    variants = [Variant(*grid_for(b, stock, builder, ring, look, label)) for b, label in pairs]
    return fit_stock(variants, Pricer(stock), most_solves=most_solves, near=near, progress=progress)


def builder_for(brief: Brief, site: Site, stock: Stock) -> Builder:
    """Return what builds a design of a given size; the span limits are those of the brief as it stands."""
    limits = span_limits(brief, site, stock)

    def make(wanted: Brief, side: float, top: float) -> Design:
        return build(wanted, site, stock, limits, side_clearance=side, top_clearance=top)

    return make


def bay_variants(brief: Brief, site: Site, stock: Stock) -> list[tuple[Brief, str]]:
    """Return the brief with one more bay on pairs of walls and on the roof, as far as its own keys allow."""
    try:
        design = build(brief, site, stock, span_limits(brief, site, stock))
    except DesignError:
        return []
    counts: dict[str, int] = {}
    for frame in design.frames:
        face = "roof" if frame.face.startswith("ROOF") else frame.face.lower()
        counts[face] = max(counts.get(face, 0), len(frame.bay_lines_mm) + 1)
    groups = [("front", "back"), ("left", "right"), ("roof",)]
    free = [g for g in groups if not any(face in brief.frame.bays for face in g)]
    found = []
    for number in range(1, 2 ** len(free)):
        more = [g for k, g in enumerate(free) if number >> k & 1]
        bays = dict(brief.frame.bays) | {face: counts[face] + 1 for g in more for face in g}
        choice = brief.frame.model_copy(update={"bays": bays})
        words = ", ".join(f"{' and '.join(g)} in {counts[g[0]] + 1} bays" for g in more)
        found.append((brief.model_copy(update={"frame": choice}), words))
    return found
