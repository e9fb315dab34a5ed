"""Will it stand? Every row about wind, snow, frame, panels, anchors and lifting.

Runs the families of checks over one design and gives each row that fails its
way out (`wayout`), found by building the changed brief again and checking it.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

from enclosure.brief.model import Brief
from enclosure.checks.anchor_demand import Survey, survey
from enclosure.checks.anchor_rows import anchor_checks, refuse_buried, standing
from enclosure.checks.case import Case, case_for
from enclosure.checks.handling import handling_checks
from enclosure.checks.members import member_checks
from enclosure.checks.model import Check
from enclosure.checks.panel_rows import panel_checks
from enclosure.checks.racking import racking_checks
from enclosure.checks.roof_ties import roof_tie_checks
from enclosure.checks.rows import HOPELESS
from enclosure.checks.stability import stability_checks
from enclosure.checks.thermal import thermal_checks
from enclosure.language import tr
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock

if TYPE_CHECKING:
    from enclosure.checks.wayout import WayOut


def whole_body(case: Case) -> tuple[Check, ...]:
    """Return the rows for the whole body and its anchors."""
    found, grip, rows = standing(case)
    return (*stability_checks(case, found, grip), *anchor_checks(case, found, grip, rows))


def corner_press(found: Survey) -> float:
    """Return the greatest push of the ground under one corner, all winds [N]."""
    presses = [
        -force
        for held in found.helds
        for support, force in zip(held.supports, held.answer.forces, strict=False)
        if support.sense == "push"
    ]
    return max(presses, default=0.0)


def timbers(case: Case) -> tuple[Check, ...]:
    """Return the rows for the members, with the press that the wind brings to a corner's posts."""
    found = survey(case)
    level = case.wind.stability / case.wind.service
    return member_checks(case, corner_press(found) / level)


FAMILIES: dict[str, Callable[[Case], tuple[Check, ...]]] = {
    "body": whole_body,
    "timbers": timbers,
    "panels": panel_checks,
    "racking": racking_checks,
    "ties": roof_tie_checks,
    "handling": handling_checks,
    "thermal": thermal_checks,
}


def standing_checks(
    design: Design,
    brief: Brief,
    site: Site,
    stock: Stock,
    *,
    ways_out: bool = True,
    search: WayOut | None = None,
) -> tuple[Check, ...]:
    """Return every standing row of the sheet, with the way out where a row fails.

    Args:
        design: The shelter.
        brief: What was asked; changed copies of it are tried for the ways out.
        site: Wind, snow, soil.
        stock: Timbers, skins, hardware.
        ways_out: False leaves the ways out empty (quicker).
        search: A search of ways out over this very shelter, for a caller who asks it more afterwards.

    Raises:
        RangeError: Wind, snow or soil out of the range of a formula.
        DesignError: A post stands inside the bed's wall.
    """
    case = search.case if search is not None else case_for(design, brief, site, stock)
    refuse_buried(case)
    rows: list[Check] = []
    for family, function in FAMILIES.items():
        for check in function(case):
            wanted = not check.passes and (not check.advice or family == "handling")
            if ways_out and wanted:
                search = search or _search(case)
                check = replace(check, way_out=search.words(family, check))
            rows.append(finite(check))
    return tuple(rows)


def _search(case: Case) -> WayOut:
    from enclosure.checks.wayout import WayOut  # long, and most sheets have no row that fails

    return WayOut(case, FAMILIES)


def finite(check: Check) -> Check:
    """Return the row with its utilisation at most 99, so that no file has to hold an infinity."""
    lines = tuple(
        line
        if math.isfinite(line.value)
        else replace(line, value=HOPELESS, source=tr("{source}; without limit").format(source=line.source))
        for line in check.working
    )
    demand = check.demand if math.isfinite(check.demand) else HOPELESS
    return replace(check, utilisation=min(check.utilisation, HOPELESS), demand=demand, working=lines)


def is_body(check: Check) -> bool:
    """Return True for the rows of the whole body and its anchors."""
    return check.key.startswith(("wind-", "anchor-", "post-", "tie-", "guy-", "stake-"))


def failing_by_family(case: Case) -> tuple[tuple[str, Check], ...]:
    """Return the rows that fail, advice left out, with the family they belong to."""
    return tuple(
        (family, check)
        for family, function in FAMILIES.items()
        for check in function(case)
        if not check.passes and not check.advice
    )
