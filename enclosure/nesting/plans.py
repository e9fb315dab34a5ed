"""What is cut from which stock, and what has to be paid for?

The bundle that the pipeline hands to the papers: for every material its
cutting job, its plan, and which marks stand behind each kind of the job. The
engines work on kinds ("a panel of 584.2 x 1168.4, 3 times"); a grower cuts
parts with marks. Pieces of one kind are interchangeable, so the marks of a
kind are handed out in the order in which its pieces appear in the plan:
pattern by pattern, copy by copy, piece by piece.

Left out: how the jobs come about, and the prices (see the pipeline).

Units: jobs and plans in 1/10 000 mm; money in whole cents.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from enclosure.nesting.model import SheetJob, SheetPlan, StickJob, StickPlan


@dataclass(frozen=True, slots=True)
class OldStock:
    """An old part that something is cut from: its mark, and where its sound piece begins in it [mm].

    Args:
        mark: Mark in the old shelter.
        left_mm: From its left edge, or from its first end.
        low_mm: From its lower edge; 0 for sticks.
    """

    mark: str
    left_mm: float = 0.0
    low_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class MaterialSheets:
    """The sheets of one material.

    Args:
        material: Key of the material in `Design.materials`.
        name: Name for people.
        job: What was asked of the cutting engine.
        plan: What it answered.
        marks: For each kind key of the job its marks, in the order in which they
            are handed out.
        ordered: True when the seller makes each piece to size: priced by the plan, never cut at home.
        olds: For each mark that is cut from a part of an old shelter, that part.
    """

    material: str
    name: str
    job: SheetJob
    plan: SheetPlan
    marks: Mapping[str, tuple[str, ...]]
    ordered: bool = False
    olds: Mapping[str, OldStock] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class MaterialSticks:
    """The sticks of one material; fields as in `MaterialSheets`."""

    material: str
    name: str
    job: StickJob
    plan: StickPlan
    marks: Mapping[str, tuple[str, ...]]
    olds: Mapping[str, OldStock] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class BuyingLine:
    """One line of the buying list.

    Args:
        group: Heading under which it stands ("skins", "timber", "track", ...).
        name: Name for people.
        size_text: Size as printed, in the units of the design; may be empty.
        count: How many to buy.
        unit: What is counted: "sheet", "pane" (made to size), "length", "pack", "each", "m".
        unit_price_cents: Price of one, whole cents.
        total_cents: Price of the line, whole cents.
        note: Anything to know; may be empty.
    """

    group: str
    name: str
    size_text: str
    count: int
    unit: str
    unit_price_cents: int
    total_cents: int
    note: str = ""


@dataclass(frozen=True, slots=True)
class Plans:
    """All cutting plans and the buying list.

    Args:
        sheet_jobs: One per sheet material.
        stick_jobs: One per timber section or track profile.
        buying: Lines in the order in which they are printed.
        currency: Currency of the prices ("USD").
        prices_note: What the stock file says about its prices.

    >>> Plans((), (), (), "EUR").total_cents
    0
    """

    sheet_jobs: tuple[MaterialSheets, ...]
    stick_jobs: tuple[MaterialSticks, ...]
    buying: tuple[BuyingLine, ...]
    currency: str = ""
    prices_note: str = ""

    @property
    def total_cents(self) -> int:
        """Sum over the buying list [cents]."""
        return sum(line.total_cents for line in self.buying)


class MarkDealer:
    """Hands out the marks behind the kinds of one job, in plan order."""

    def __init__(self, marks: Mapping[str, tuple[str, ...]]) -> None:
        self._left: dict[str, Iterator[str]] = {key: iter(names) for key, names in marks.items()}

    def take(self, key: str) -> str:
        """Return the next mark of a kind; StopIteration when the plan cuts more than was asked for."""
        return next(self._left[key])
