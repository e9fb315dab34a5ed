"""The first half of every walk: from a brief's file to a Design.

brief.read -> checks.span (how far each skin may span) -> shape.build
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.shape.build import build
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock


@dataclass(frozen=True, slots=True)
class Shelter:
    """A brief with all it names, and the design that follows from it."""

    brief: Brief
    site: Site
    stock: Stock
    design: Design


def design_from(path: Path) -> Shelter:
    """Read a brief and build its shelter.

    Args:
        path: The brief.

    Returns:
        Brief, site and stock as read (`read_all`), and the design built from them (`build`) [mm, kg].

    Raises:
        FaultsError: Brief, site or stock cannot be read; all faults together.
        DesignError: The shelter cannot be made as asked.

    >>> from enclosure.templates_home import find_template
    >>> design = design_from(find_template("briefs", "potted-lemon")).design
    >>> design.roof, len(design.panels()) > 4, all(size > 0 for size in design.clear_mm)
    ('mono', True, True)
    """
    return rebuild(*read_all(path))


def rebuild(brief: Brief, site: Site, stock: Stock) -> Shelter:
    """Build a shelter from models already read, for searches over briefs."""
    return Shelter(brief, site, stock, build(brief, site, stock, span_limits(brief, site, stock)))
