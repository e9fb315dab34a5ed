"""From a brief to the winter in which its shelter is outgrown, and back from sheets to winters.

read_all -> shape.build -> choose.growth; or choose.largest
"""

from __future__ import annotations

from pathlib import Path

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.growth import HIGH, LOW, Growth, growth
from enclosure.choose.largest import Largest, largest
from enclosure.choose.price import Pricer
from enclosure.pipeline.outgrow import read_design
from enclosure.pipeline.walk import design_from
from enclosure.shape.build import build
from enclosure.shape.model import Design


def grow(path: Path, *, old_design: Path | None = None, low: float = LOW, high: float = HIGH) -> tuple[Growth, Design]:
    """Return when the shelter of a brief is outgrown.

    Args:
        path: The brief, with the plant as it is now.
        old_design: ``design.json`` of the shelter that stands; the brief's own shelter when None.
        low: Share of the growth given that a poor year brings.
        high: Share that a lush year brings.
    """
    shelter = design_from(path)
    design = read_design(old_design) if old_design else shelter.design
    return growth(shelter.brief, shelter.stock, design, low=low, high=high), design


def grow_from_sheets(path: Path, sheets: int, material: str | None = None) -> Largest:
    """Return the largest shelter that so many sheets make for the plant of a brief."""
    brief, site, stock = read_all(path)

    def make(wanted: Brief) -> Design:
        return build(wanted, site, stock, span_limits(wanted, site, stock))

    return largest(brief, make, Pricer(stock), sheets, material)
