"""From a brief to its verdict.

    design_from -> checks.stand (wind, snow, frame, anchors) + checks.live (heat, sun, power) -> worst first

`propose` walks the ways out: it changes the brief step by step until the sheet
passes, or says where it stops.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.brief.model import Brief
from enclosure.checks.model import Check, worst_first
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.model import Anchor

if TYPE_CHECKING:
    from enclosure.checks.wayout import WayOut
    from enclosure.checks.weather import Weather

Progress = Callable[[str, float], None]

MOST_CHANGES = 14


@dataclass(frozen=True, slots=True)
class CheckResult:
    """The verdict on one brief.

    Args:
        shelter: Brief, site, stock and design.
        checks: All rows, worst first.
        anchors: The least set of posts and wires that holds, for the plan; empty when the design's own do.
        anchor_words: That set in words, "" when none was searched.
        anchors_hold: False when no set tried holds and the nearest one is given.
    """

    shelter: Shelter
    checks: tuple[Check, ...]
    anchors: tuple[Anchor, ...] = ()
    anchor_words: str = ""
    anchors_hold: bool = True

    @property
    def failing(self) -> tuple[Check, ...]:
        """Rows over 1.00 that are more than advice."""
        return tuple(c for c in self.checks if not c.passes and not c.advice)

    @property
    def exit_code(self) -> int:
        """0 when all rows pass, 3 when one does not."""
        return 3 if self.failing else 0


def check(
    brief_path: Path, *, weather: Path | None = None, progress: Progress | None = None
) -> tuple[Check, ...]:
    """Return all checks of a brief, worst first.

    Args:
        brief_path: The brief.
        weather: A file of hours (EPW, TMY3, CSV) for the row on the winter's heat.
        progress: Told what is being done and the share done, 0 to 1.

    Returns:
        Rows with demand, capacity, their unit, utilisation, clause, source kind, working and way out.

    Raises:
        FaultsError: The brief or the weather file cannot be read.
        DesignError: The shelter cannot be made.
        RangeError: Wind, snow or soil outside the range of a formula.

    >>> from enclosure.templates_home import find_template
    >>> rows = check(find_template("briefs", "tree-fern"))
    >>> [row.key for row in rows if not row.passes and not row.advice]
    []
    >>> rows[0].utilisation >= rows[-1].utilisation, all(row.clause for row in rows)
    (True, True)
    """
    say = progress or (lambda text, share: None)
    say("reading the brief", 0.05)
    shelter = design_from(brief_path)
    hours = None
    if weather is not None:
        from enclosure.pipeline.weather import hours_for

        say("reading the weather", 0.15)
        hours = hours_for(shelter, weather)
    say("checks", 0.3)
    rows = checks_of(shelter, weather=hours)
    say("done", 1.0)
    return rows


def checks_of(
    shelter: Shelter, *, ways_out: bool = True, weather: Weather | None = None, search: WayOut | None = None
) -> tuple[Check, ...]:
    """Return all checks of a shelter, worst first.

    Args:
        shelter: The shelter.
        ways_out: False leaves the ways out empty (quicker).
        weather: Hours of a file for the row on the winter's heat.
        search: A search of ways out over this shelter, for a caller who asks it more afterwards.
    """
    from enclosure.checks.live import living_checks
    from enclosure.checks.stand import standing_checks

    asked = (shelter.design, shelter.brief, shelter.site, shelter.stock)
    stands = standing_checks(*asked, ways_out=ways_out, search=search)
    return worst_first((*stands, *living_checks(*asked, weather=weather)))


def inspected(shelter: Shelter, *, weather: Weather | None = None) -> CheckResult:
    """Return the verdict on a shelter already built."""
    from enclosure.checks.case import case_for
    from enclosure.checks.stand import FAMILIES, is_body
    from enclosure.checks.wayout import WayOut

    search = WayOut(case_for(shelter.design, shelter.brief, shelter.site, shelter.stock), FAMILIES)
    rows = checks_of(shelter, weather=weather, search=search)
    if all(c.passes for c in rows if is_body(c)):
        return CheckResult(shelter, rows)
    plan = search.plan()
    return CheckResult(shelter, rows, plan.anchors, plan.words, plan.passes)


@dataclass(frozen=True, slots=True)
class Proposal:
    """What the program would change, and what that does.

    Args:
        changes: Changes of the brief in the order in which they were made, in words.
        brief: The changed brief.
        before: Utilisation of each failing row before.
        after: The same rows after, and any row that fails then.
        anchors: The least set of posts and wires of the changed shelter, in words; the changed brief asks for it.
        passes: True when every standing row passes with the changes and that set.
    """

    changes: tuple[str, ...]
    brief: Brief
    before: tuple[tuple[str, float], ...]
    after: tuple[tuple[str, float], ...]
    anchors: str
    passes: bool


def propose(shelter: Shelter) -> Proposal:
    """Return the changes that make the standing rows pass, one at a time: the frame's worst row first, then anchors."""
    from enclosure.checks.case import case_for
    from enclosure.checks.stand import FAMILIES, failing_by_family
    from enclosure.checks.wayout import WayOut

    first = WayOut(case_for(shelter.design, shelter.brief, shelter.site, shelter.stock), FAMILIES)
    search, changes, anchors = first, [], ""
    stuck: set[str] = set()
    for _ in range(MOST_CHANGES):
        failing = [(f, c) for f, c in failing_by_family(search.case) if c.key not in stuck]
        if not failing:
            break
        family, worst = max(failing, key=lambda pair: (pair[0] != "body", pair[1].utilisation, pair[1].key))
        change = search.change(family, worst)
        case = None if change is None else search.built(change)
        if change is None or case is None:
            stuck.add(worst.key)
            continue
        if family == "body":
            anchors = change.words
            if not search.plan().passes:
                stuck.update(c.key for f, c in failing if f == "body")
        else:
            changes.append(change.words)
        search = WayOut(case, FAMILIES)
    before = {c.key: c.utilisation for _, c in failing_by_family(first.case)}
    after = {
        c.key: c.utilisation
        for family in FAMILIES.values()
        for c in family(search.case)
        if not c.advice and (c.key in before or not c.passes)
    }
    return Proposal(
        tuple(changes),
        search.case.brief,
        tuple(sorted(before.items(), key=lambda i: (-i[1], i[0]))),
        tuple(sorted(after.items(), key=lambda i: (-i[1], i[0]))),
        anchors,
        all(u <= 1.0 for u in after.values()),
    )
