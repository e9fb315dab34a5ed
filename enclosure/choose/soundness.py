"""Would a design pass its checks, as far as the brief as it stands does?

A search asks this of many designs, so the quick families come first and the
first one that fails ends it. Rows that fail already for the brief as it stands
are held against no other size: they are the brief's own trouble, not the size's.
Rows that only advise are left out, as everywhere.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from enclosure.brief.model import Brief
from enclosure.checks.anchor_rows import refuse_buried
from enclosure.checks.case import Case, case_for
from enclosure.checks.live import living_checks
from enclosure.checks.model import Check
from enclosure.checks.stand import FAMILIES
from enclosure.errors import EnclosureError
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock

QUICK_FIRST = ("thermal", "handling", "ties", "racking", "panels", "living", "timbers", "body")


@dataclass(frozen=True, slots=True)
class Failing:
    """A row over 1.00: its key, its name for people, its utilisation."""

    key: str
    name: str
    utilisation: float


@dataclass
class Judge:
    """Checks designs of one site and stock list.

    Args:
        site: Wind, snow, cold.
        stock: What the parts are made of.
        excused: Keys of rows that are not looked at.
    """

    site: Site
    stock: Stock
    excused: frozenset[str] = field(default_factory=frozenset)
    asked: int = 0

    def failing(self, design: Design, brief: Brief) -> tuple[Failing, ...]:
        """Return the rows of the first family that fails, worst first; nothing when all pass."""
        self.asked += 1
        for family in QUICK_FIRST:
            found = self._family(family, design, brief)
            if found:
                return found
        return ()

    def all_failing(self, design: Design, brief: Brief) -> tuple[Failing, ...]:
        """Return the failing rows of all families."""
        return tuple(row for family in QUICK_FIRST for row in self._family(family, design, brief))

    def _family(self, family: str, design: Design, brief: Brief) -> tuple[Failing, ...]:
        try:
            rows = self._rows(family, design, brief)
        except EnclosureError as error:
            return () if family in self.excused else (Failing(family, error.message, 99.0),)
        over = [Failing(c.key, c.name, c.utilisation) for c in rows if not c.passes and not c.advice]
        return tuple(sorted((r for r in over if r.key not in self.excused), key=lambda r: (-r.utilisation, r.key)))

    def _rows(self, family: str, design: Design, brief: Brief) -> tuple[Check, ...]:
        if family == "living":
            return living_checks(design, brief, self.site, self.stock)
        case: Case = case_for(design, brief, self.site, self.stock)
        if family == "body":
            refuse_buried(case)
        return FAMILIES[family](case)


def judge_for(design: Design | None, brief: Brief, site: Site, stock: Stock) -> Judge:
    """Return a judge that excuses what fails for the brief as it stands (None when that cannot be made)."""
    judge = Judge(site, stock)
    if design is None:
        return judge
    return Judge(site, stock, frozenset(row.key for row in judge.all_failing(design, brief)))
