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
from enclosure.errors import BriefError
from enclosure.pipeline.outgrow import read_design
from enclosure.pipeline.walk import design_from
from enclosure.shape.build import build
from enclosure.shape.model import Design, SheetCut


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
    """Return the largest shelter that so many sheets make for the plant of a brief.

    Args:
        path: The brief.
        sheets: Sheets that may be bought.
        material: Which sheet is counted; the skin that covers most when None.

    Raises:
        BriefError: The shelter has no such sheet.
        DesignError: The sheets are not even enough for the coming winter.
    """
    brief, site, stock = read_all(path)

    def make(wanted: Brief) -> Design:
        return build(wanted, site, stock, span_limits(wanted, site, stock))

    if material is not None:
        used = sorted({p.material for p in make(brief).parts if isinstance(p.cut, SheetCut)})
        if material not in used:
            raise BriefError(f"the shelter has no sheet called {material}", f"name one of {', '.join(used)}")
    return largest(brief, make, Pricer(stock), sheets, material)
