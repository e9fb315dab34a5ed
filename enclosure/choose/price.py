"""What does a design cost to buy, and how little could it cost?

One `Pricer` serves a whole search: equal cutting jobs are solved once. It tells
a price in rising order of effort: the cheap bound, what larger and smaller jobs
already solved tell (`dominance`), the finished plan.

Units: whole cents; jobs in 1/10 000 mm.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

from enclosure.choose.bounds import sheet_bound, stick_bound
from enclosure.choose.dominance import Ladder
from enclosure.nesting.buying import buying_list
from enclosure.nesting.demand import SheetDemand, StickDemand, sheet_demands, stick_demands
from enclosure.nesting.model import SheetJob, SheetPlan, StickJob, StickPlan
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.sheets import Goods, solve_sheets
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.shape.model import Design
from enclosure.stock.model import Stock

PRICE_ONLY = Goods(offcut=False, setups=False, cuts=False, crosscuts_first=False, together=False)
NEVER = 1 << 60
"""A price that stands for "not known"."""


def sheet_key(job: SheetJob) -> tuple[Any, ...]:
    """Return what makes two sheet jobs the same question, whatever the order of their parts."""
    kinds = sorted((k.key, k.width, k.height, k.quantity, k.turnable, k.slope or (), k.gable or ()) for k in job.kinds)
    return (tuple(kinds), job.sheets, job.kerf, job.stages)


def stick_key(job: StickJob) -> tuple[Any, ...]:
    """Return the same for a stick job."""
    return (tuple(sorted((p.key, p.length, p.quantity) for p in job.parts)), job.sticks, job.kerf)


@dataclass
class Pricer:
    """Solves and remembers cutting jobs.

    Args:
        stock: What can be bought and what is on the rack.
        sheet_work: Work units for one sheet job; the engine's own limit when None.
        stick_work: The same for one stick job.
        goods: Look for the goods after the price too; a search for a price does without (it takes most of the time).
    """

    stock: Stock
    sheet_work: int | None = None
    stick_work: int | None = None
    goods: bool = True
    solved: int = 0
    ladder: Ladder = field(default_factory=Ladder)
    _sheets: dict[tuple[Any, ...], SheetPlan] = field(default_factory=dict)
    _sticks: dict[tuple[Any, ...], StickPlan] = field(default_factory=dict)
    _cheap: dict[tuple[Any, ...], int] = field(default_factory=dict)
    _spans: dict[tuple[Any, ...], tuple[int, int, int]] = field(default_factory=dict)

    def sheets(self, job: SheetJob) -> SheetPlan:
        """Return the verified plan of a sheet job."""
        key = sheet_key(job)
        if key not in self._sheets:
            self._sheets[key] = self._solve_sheets(job)
        return self._sheets[key]

    def sticks(self, job: StickJob) -> StickPlan:
        """Return the verified plan of a stick job."""
        key = stick_key(job)
        if key not in self._sticks:
            self._sticks[key] = self._solve_sticks(job)
        return self._sticks[key]

    def _solve_sheets(self, job: SheetJob, going: Callable[[SheetPlan], bool] | None = None) -> SheetPlan:
        """Solve a job with its kinds in an order that does not depend on where it comes from."""
        ordered = replace(job, kinds=tuple(sorted(job.kinds, key=lambda k: (-k.height, -k.width, k.key))))
        goods = None if self.goods else PRICE_ONLY
        plan = solve_sheets(ordered, work_limit=self.sheet_work, goods=goods, progress=going)
        verify_sheets(ordered, plan)
        self._solved(job, plan)
        return plan

    def _solve_sticks(self, job: StickJob, going: Callable[[int | None, int], bool] | None = None) -> StickPlan:
        ordered = replace(job, parts=tuple(sorted(job.parts, key=lambda p: (-p.length, p.key))))
        plan = solve_sticks(ordered, work_limit=self.stick_work, goods=self.goods, progress=going)
        verify_sticks(ordered, plan)
        self._solved(job, plan)
        return plan

    def _solved(self, job: SheetJob | StickJob, plan: SheetPlan | StickPlan) -> None:
        self.solved += 1
        self.ladder.add(job, plan.bound, plan.price)

    def span(self, job: SheetJob | StickJob) -> tuple[int, int]:
        """Return between which prices [cents] the job lies, as far as is known without solving it."""
        key = sheet_key(job) if isinstance(job, SheetJob) else stick_key(job)
        if self.known(job):
            plan = self.plan(job)
            return plan.bound, plan.price
        if key not in self._spans:
            self._spans[key] = (0, self.cheap(job), NEVER)
        seen, least, most = self._spans[key]
        if least < most:
            self._spans[key] = self.ladder.span(job, least, most, seen)
        return self._spans[key][1:]

    def cheap(self, job: SheetJob | StickJob) -> int:
        """Return the cheap bound of a job [cents]."""
        key = sheet_key(job) if isinstance(job, SheetJob) else stick_key(job)
        if key not in self._cheap:
            self._cheap[key] = sheet_bound(job) if isinstance(job, SheetJob) else stick_bound(job)
        return self._cheap[key]

    def refuted(self, job: SheetJob | StickJob, most: int) -> bool:
        """Solve a job no further than until it is known whether it costs more than `most` [cents]."""
        if self.known(job):
            return self.plan(job).price > most
        if isinstance(job, SheetJob):
            plan = self._solve_sheets(job, lambda found: found.bound <= most)
            if plan.bound <= most or plan.bound == plan.price:
                self._sheets[sheet_key(job)] = plan
            return plan.price > most
        sticks = self._solve_sticks(job, lambda price, bound: bound <= most)
        if sticks.bound <= most or sticks.bound == sticks.price:
            self._sticks[stick_key(job)] = sticks
        return sticks.price > most

    def known(self, job: SheetJob | StickJob) -> bool:
        """Return whether the job has been solved already."""
        if isinstance(job, SheetJob):
            return sheet_key(job) in self._sheets
        return stick_key(job) in self._sticks

    def plan(self, job: SheetJob | StickJob) -> SheetPlan | StickPlan:
        """Return the plan of either kind of job."""
        return self.sheets(job) if isinstance(job, SheetJob) else self.sticks(job)

    def plans(self, design: Design) -> Plans:
        """Return the cutting plans and the buying list of a design."""
        sheets = tuple(self.cut_sheets(demand) for demand in sheet_demands(design, self.stock))
        sticks = tuple(self.cut_sticks(demand) for demand in stick_demands(design, self.stock))
        lines = buying_list(design, self.stock, sheets, sticks)
        return Plans(sheets, sticks, lines, self.stock.currency, self.stock.prices_note)

    def cut_sheets(self, demand: SheetDemand) -> MaterialSheets:
        """Return one sheet material with its plan."""
        plan = self.sheets(demand.job)
        return MaterialSheets(demand.material, demand.name, demand.job, plan, demand.marks, demand.ordered)

    def cut_sticks(self, demand: StickDemand) -> MaterialSticks:
        """Return one timber or track with its plan."""
        return MaterialSticks(demand.material, demand.name, demand.job, self.sticks(demand.job), demand.marks)


@dataclass(frozen=True)
class Asked:
    """What a design asks for, before anything is solved.

    Args:
        jobs: Its cutting jobs by material, sticks before sheets (they are quicker).
        fixed_cents: Hardware and bricks.
    """

    jobs: tuple[tuple[str, SheetJob | StickJob], ...]
    fixed_cents: int


def asked(design: Design, stock: Stock) -> Asked:
    """Return the cutting jobs of a design and the price of what is not cut."""
    jobs: list[tuple[str, SheetJob | StickJob]] = [
        (demand.material, demand.job) for demand in stick_demands(design, stock)
    ]
    jobs += [(demand.material, demand.job) for demand in sheet_demands(design, stock)]
    fixed = sum(line.total_cents for line in buying_list(design, stock, (), ()))
    return Asked(tuple(jobs), fixed)


def floor_price(pricer: Pricer, wanted: Asked) -> int:
    """Return a bound on the price of a design [cents] from what is known without solving more."""
    return wanted.fixed_cents + sum(pricer.span(job)[0] for _, job in wanted.jobs)


def price_within(pricer: Pricer, wanted: Asked, most: int) -> int | None:
    """Return the price of a design [cents] when it is at most `most`, else None; solve no more than that asks.

    Where a plan was not proved least, the price of a job that was not solved itself may be less than the
    engine would find for it.
    """
    spans = [(job, *pricer.span(job)) for _, job in wanted.jobs]
    total = wanted.fixed_cents + sum(least for _, least, _ in spans)
    for job, least, known in spans:
        if total > most:
            return None
        if least < known:
            if pricer.refuted(job, most - total + least):
                return None
            total += pricer.plan(job).price - least
    return total if total <= most else None


def is_within(pricer: Pricer, wanted: Asked, most: int) -> bool:
    """Return whether the price of a design is at most `most` [cents], without its price where that is not needed."""
    spans = [(job, *pricer.span(job)) for _, job in wanted.jobs]
    if wanted.fixed_cents + sum(known for _, _, known in spans) <= most:
        return True
    return price_within(pricer, wanted, most) is not None


def full_price(pricer: Pricer, wanted: Asked) -> int:
    """Return the price of a design [cents], solving all its jobs."""
    return wanted.fixed_cents + sum(pricer.plan(job).price for _, job in wanted.jobs)
