"""From an old design and a new brief to a comparison of ways out, and its papers.

read old design.json -> as built -> read_all(new brief) -> choose.outgrow
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.outgrow import Case, Outgrow, outgrow
from enclosure.errors import BriefError
from enclosure.reuse.as_built import corrected, read_as_built
from enclosure.shape.model import Design
from enclosure.shape.serial import from_json

Progress = Callable[[str, float], None]


def read_design(path: Path) -> Design:
    """Read a design file of this or an older schema version.

    Raises:
        BriefError: The file is missing or is no design.
    """
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BriefError(f"{path} cannot be read", "name the design.json in the papers of the old shelter") from error
    return from_json(text, str(path))


def outgrow_files(
    old_path: Path,
    brief_path: Path,
    *,
    as_built: Path | None = None,
    margin_mm: float = 0.0,
    age_years: float = 0.0,
    sheet_work: int | None = None,
    progress: Progress | None = None,
) -> Outgrow:
    """Compare the ways out for an old shelter and a new brief.

    Args:
        old_path: ``design.json`` of the shelter that stands.
        brief_path: Brief for the plant as it is now.
        as_built: Measured corrections of the old shelter.
        margin_mm: Taken off each edge of a panel that is cut again.
        age_years: Age of the old shelter; skins past their life are not used again.
        sheet_work: Work units for one sheet job.
        progress: Told what is being done and the share done.
    """
    old = read_design(old_path)
    brief, site, stock = read_all(brief_path)
    if as_built is not None:
        old = corrected(old, read_as_built(as_built))
    worn = frozenset(key for key, skin in stock.skins.items() if 0 < skin.life_years <= age_years)
    limits = span_limits(brief, site, stock)
    case = Case(old, brief, site, stock, limits, margin_mm, worn, sheet_work)
    return outgrow(case, progress)
