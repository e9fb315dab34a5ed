"""Several shelters at once: one buying list, one set of cutting plans.

The parts of all shelters become one cutting problem for each material; a part's
mark is then its shelter's number, a dash, and its own mark (`3-7`). Where bounds
do not settle that the joint plan of a material is cheaper, the same shelters are
solved one by one too, and their single plans are laid together if these cost
less: a grove is never dearer than its shelters. What is saved is shared out in
proportion to what each would have paid alone, so that nobody pays more than
alone.

A large grove is cut in lots of whole shelters, each solved jointly
(`sheet_lots`); the bound is that of the whole (`grouped`).

Left out: shelters with different stock lists (one grove for each list).

Units: whole cents.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from enclosure.choose.bounds import sheet_bound, stick_bound
from enclosure.choose.grouped import joint_bound
from enclosure.choose.price import Pricer, sheet_key, stick_key
from enclosure.language import tr
from enclosure.nesting.buying import buying_list
from enclosure.nesting.demand import (
    SheetDemand,
    StickDemand,
    sheet_demands,
    sheet_demands_of,
    stick_demands,
    stick_demands_of,
)
from enclosure.nesting.model import SheetJob, SheetPlan, Status, StickJob, StickPlan
from enclosure.nesting.plans import BuyingLine, MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.shape.model import Base, Design, Fixing, Part
from enclosure.stock.model import Rack, Stock

KINDS_OF_ONE = 20
SHEET_KINDS, STICK_KINDS = 400, 300
"""Kinds of parts that go into one cutting job of a grove."""
WORK_A_KIND, MOST_WORK = 45, 16_000
"""Work units that a joint sheet job gets for each kind of part, and at most."""
SINGLE_WORK = 200
"""Work units for the sheets of one shelter alone, which are only compared."""
STICK_WORK = 3_000_000
"""Work units for one stick job of a grove."""
MOST_WITH_GOODS = 12
"""Up to so many shelters plans are improved beyond their price (offcuts, set-ups) and compared with exact ones."""
Job = SheetJob | StickJob
Plan = SheetPlan | StickPlan
Demand = SheetDemand | StickDemand


@dataclass(frozen=True, slots=True)
class Task:
    """One cutting job to solve, wherever that is done."""

    job: Job
    sheet_work: int | None = None
    stick_work: int | None = None
    goods: bool = True
    bound_only: bool = False

    @property
    def weight(self) -> int:
        """A guess of the work, so that long jobs start first: kinds, sheets counting more."""
        if self.bound_only:
            return 5000 if isinstance(self.job, SheetJob) else 0
        if isinstance(self.job, SheetJob):
            return 1000 + 10 * len(self.job.kinds) + sum(k.quantity for k in self.job.kinds)
        return len(self.job.parts)


Runner = Callable[[Sequence[Task]], Iterable[Plan]]
"""Solves tasks and yields their plans in the order of the tasks."""


def solve_task(task: Task) -> Plan:
    """Return the verified plan of a task, or one without patterns that tells a bound.

    At module level so that a worker process can be handed it.
    """
    if task.bound_only:
        bound = joint_bound(task.job)
        if isinstance(task.job, SheetJob):
            return SheetPlan((), bound, bound, "gap")
        return StickPlan((), bound, bound, "gap")
    pricer = Pricer(Stock.model_construct(), task.sheet_work, task.stick_work, goods=task.goods)
    return pricer.plan(task.job)


def one_by_one(tasks: Sequence[Task]) -> Iterable[Plan]:
    """Solve tasks in this process."""
    return (solve_task(task) for task in tasks)


@dataclass(frozen=True, slots=True)
class Share:
    """What one shelter pays.

    Args:
        number: Its number in the grove, 1 up.
        name: Its name.
        alone_cents: What it would cost bought alone.
        share_cents: What it pays in the grove.
        exact: Whether `alone_cents` is a price found; else it costs at least that.
    """

    number: int
    name: str
    alone_cents: int
    share_cents: int
    exact: bool = True


@dataclass(frozen=True, slots=True)
class Grove:
    """The answer.

    Args:
        designs: The shelters, their marks with their number before them.
        plans: Joint cutting plans and buying list.
        shares: What each pays, in order; their sum is the price.
        price_cents: Price of everything.
        bound_cents: No joint plan costs less.
        alone_cents: Sum of the single prices, or of their lower bounds where those were enough.
    """

    designs: tuple[Design, ...]
    plans: Plans
    shares: tuple[Share, ...]
    price_cents: int
    bound_cents: int
    alone_cents: int

    @property
    def saving_cents(self) -> int:
        """What buying together saves, at least."""
        return max(0, self.alone_cents - self.price_cents)

    @property
    def gap_share(self) -> float:
        """How far the price may still lie above the least, as a share of the price."""
        return (self.price_cents - self.bound_cents) / self.price_cents if self.price_cents else 0.0


def numbered_apart(designs: Sequence[Design]) -> tuple[Design, ...]:
    """Return the designs with their number and a dash before every mark of a part."""
    return tuple(
        replace(design, parts=tuple(replace(p, mark=f"{n}-{p.mark}") for p in design.parts))
        for n, design in enumerate(designs, start=1)
    )


def grove(
    designs: Sequence[Design],
    stock: Stock,
    run: Runner = one_by_one,
    *,
    alone: bool | None = None,
    sheet_work: int | None = None,
    stick_work: int | None = None,
) -> Grove:
    """Return joint plans for several shelters, compared with buying them one by one.

    Args:
        designs: The shelters, all built from the same stock list.
        stock: What can be bought; its rack serves the joint plan, the single ones go without.
        run: Solves the cutting jobs, for instance on two cores.
        alone: Solve every shelter alone too; None does so for up to `MOST_WITH_GOODS`. Otherwise that is done only
            for materials whose joint plan does not already cost less than the shelters' lower bounds together;
            elsewhere the lower bounds are told.
        sheet_work: Work units for one sheet job; grows with the job when None.
        stick_work: The same for one stick job; `STICK_WORK` when None.

    Raises:
        CuttingError: A part fits no sheet or stick.
    """
    alone = len(designs) <= MOST_WITH_GOODS if alone is None else alone
    apart = numbered_apart(designs)
    parts = [part for design in apart for part in design.parts]
    sheets, sticks = sheet_demands_of(parts, stock), stick_demands_of(parts, stock)
    bare = stock.model_copy(update={"rack": Rack()})
    singles = [(sheet_demands(d, bare), stick_demands(d, bare)) for d in apart]
    lots = {_key(d.job): sheet_lots(d, apart, stock, bare) for d in sheets}
    lots |= {_key(d.job): stick_lots(d, apart, stock, bare) for d in sticks}
    effort = Effort(run, sheet_work, stick_work, len(designs) <= MOST_WITH_GOODS)
    whole: list[Job] = [*(d.job for d in sheets), *(d.job for d in sticks)]
    solved = _solve_lots(whole, lots, effort)
    single_jobs = _singles_wanted(sheets, sticks, singles, solved, alone)
    solved |= {key: plan for key, plan in effort.solve(single_jobs, single=True).items() if key not in solved}
    flat = tuple(_joint_sheets(d, [s for s, _ in singles], solved) for d in sheets)
    long = tuple(_joint_sticks(d, [s for _, s in singles], solved) for d in sticks)
    lines = (*buying_list(_together(apart), stock, flat, long), *brick_lines(apart, stock))
    plans = Plans(flat, long, lines, stock.currency, stock.prices_note)
    gap = sum(i.plan.price - i.plan.bound for i in flat) + sum(i.plan.price - i.plan.bound for i in long)
    prices = [_alone(d, s, bare, solved) for d, s in zip(apart, singles, strict=True)]
    shares = shared_out(plans.total_cents, [price for price, _ in prices])
    rows = tuple(
        Share(n, design.name, price, share, exact)
        for n, (design, (price, exact), share) in enumerate(zip(designs, prices, shares, strict=True), start=1)
    )
    total = plans.total_cents
    return Grove(apart, plans, rows, total, total - gap, sum(price for price, _ in prices))


@dataclass(frozen=True, slots=True)
class Effort:
    """How jobs are solved and with how much work."""

    run: Runner
    sheet_work: int | None
    stick_work: int | None
    goods: bool

    def task(self, job: Job, single: bool = False) -> Task:
        """Return the task for a job, of one shelter or of several."""
        if single:
            return Task(job, self.sheet_work or SINGLE_WORK, self.stick_work or STICK_WORK, self.goods)
        return Task(job, self.sheet_work or work_for(job), self.stick_work or STICK_WORK, self.goods)

    def solve(self, jobs: Sequence[Job], *, single: bool = False) -> _Solved:
        """Solve every different job once, the longest first."""
        different = {_key(job): job for job in jobs}
        tasks = sorted((self.task(job, single) for job in different.values()), key=lambda task: -task.weight)
        return {_key(task.job): plan for task, plan in zip(tasks, self.run(tasks), strict=True)}


def _solve_lots(whole: Sequence[Job], lots: dict[tuple[object, ...], list[Job]], effort: Effort) -> _Solved:
    """Return the plan of every job of the whole grove, made of those of its lots, with the bound of the whole."""
    pieces = {_key(job): job for jobs in lots.values() for job in jobs}
    tasks = [effort.task(job) for job in pieces.values()]
    tasks += [Task(job, bound_only=True) for job in whole if len(lots[_key(job)]) > 1]
    tasks.sort(key=lambda task: -task.weight)
    plans: _Solved = {}
    bounds: dict[tuple[object, ...], int] = {}
    for task, plan in zip(tasks, effort.run(tasks), strict=True):
        if task.bound_only:
            bounds[_key(task.job)] = plan.bound
        else:
            plans[_key(task.job)] = plan
    for job in whole:
        found = _joined(job, [plans[_key(piece)] for piece in lots[_key(job)]])
        bound = min(found.price, max(found.bound, bounds.get(_key(job), 0)))
        plans[_key(job)] = replace(found, bound=bound, status="proved" if bound == found.price else "gap")
    return plans


_Singles = tuple[tuple[SheetDemand, ...], tuple[StickDemand, ...]]
_Solved = dict[tuple[object, ...], Plan]


def _key(job: Job) -> tuple[object, ...]:
    return sheet_key(job) if isinstance(job, SheetJob) else stick_key(job)


def sheet_lots(demand: SheetDemand, apart: Sequence[Design], stock: Stock, bare: Stock) -> list[Job]:
    """Return a joint sheet job, or several smaller ones that together ask for the same parts.

    The engine searches some hundred kinds of parts together; a larger grove is
    cut in lots of whole shelters. The rack goes to the first lot.
    """
    own = [[p for p in d.parts if p.material == demand.material] for d in apart]
    chunks = _chunks([parts for parts in own if parts], -(-len(demand.job.kinds) // SHEET_KINDS))
    if len(chunks) == 1:
        return [demand.job]
    return [sheet_demands_of(parts, bare if k else stock)[0].job for k, parts in enumerate(chunks)]


def stick_lots(demand: StickDemand, apart: Sequence[Design], stock: Stock, bare: Stock) -> list[Job]:
    """Return the same for a joint stick job."""
    own = [[p for p in d.parts if p.material == demand.material] for d in apart]
    chunks = _chunks([parts for parts in own if parts], -(-len(demand.job.parts) // STICK_KINDS))
    if len(chunks) == 1:
        return [demand.job]
    return [stick_demands_of(parts, bare if k else stock)[0].job for k, parts in enumerate(chunks)]


def _chunks(rows: list[list[Part]], count: int) -> list[list[Part]]:
    """Return the rows joined into `count` lists of about as many rows each."""
    count = max(1, min(count, len(rows)))
    cuts = [len(rows) * k // count for k in range(count + 1)]
    return [[p for row in rows[a:b] for p in row] for a, b in itertools.pairwise(cuts)]


def _joined(job: Job, plans: list[Plan]) -> Plan:
    """Lay the plans of the lots of a job together; the bound is then that of areas and lengths."""
    return plans[0] if len(plans) == 1 else _side_by_side(job, plans, _least(job))


def _side_by_side(job: Job, plans: Sequence[Plan], bound: int) -> Plan:
    """Return one verified plan made of several that together cut the parts of a job, with the job's bound."""
    price, work = sum(p.price for p in plans), sum(p.work for p in plans)
    bound = min(price, bound)
    status: Status = "proved" if bound == price else "gap"
    if isinstance(job, SheetJob):
        flat = tuple(pattern for p in plans if isinstance(p, SheetPlan) for pattern in p.patterns)
        sheets = SheetPlan(flat, price, bound, status, work)
        verify_sheets(job, sheets)
        return sheets
    long = tuple(run for p in plans if isinstance(p, StickPlan) for run in p.patterns)
    sticks = StickPlan(long, price, bound, status, work)
    verify_sticks(job, sticks)
    return sticks


def work_for(job: Job) -> int | None:
    """Return the work units for a sheet job: what one shelter gets, and more for many kinds of parts."""
    if isinstance(job, SheetJob) and len(job.kinds) > KINDS_OF_ONE:
        return min(MOST_WORK, WORK_A_KIND * len(job.kinds))
    return None


def _singles_wanted(
    sheets: tuple[SheetDemand, ...],
    sticks: tuple[StickDemand, ...],
    singles: list[_Singles],
    solved: _Solved,
    alone: bool,
) -> list[Job]:
    """Return the single jobs of materials whose joint plan is not surely cheaper than all of them."""
    wanted: list[Job] = []
    for demand in sheets:
        own: list[Job] = [d.job for flat, _ in singles for d in flat if d.material == demand.material]
        if alone or solved[_key(demand.job)].price > sum(_least(job) for job in own):
            wanted += own
    for rods in sticks:
        own = [d.job for _, row in singles for d in row if d.material == rods.material]
        if alone or solved[_key(rods.job)].price > sum(_least(job) for job in own):
            wanted += own
    return wanted


def _least(job: Job) -> int:
    return sheet_bound(job) if isinstance(job, SheetJob) else stick_bound(job)


def _joint_sheets(demand: SheetDemand, singles: list[tuple[SheetDemand, ...]], solved: _Solved) -> MaterialSheets:
    plan = _joint_plan(demand, singles, solved)
    assert isinstance(plan, SheetPlan)
    return MaterialSheets(demand.material, demand.name, demand.job, plan, demand.marks, demand.ordered)


def _joint_sticks(demand: StickDemand, singles: list[tuple[StickDemand, ...]], solved: _Solved) -> MaterialSticks:
    plan = _joint_plan(demand, singles, solved)
    assert isinstance(plan, StickPlan)
    return MaterialSticks(demand.material, demand.name, demand.job, plan, demand.marks)


def _joint_plan(demand: Demand, singles: Sequence[tuple[Demand, ...]], solved: _Solved) -> Plan:
    """Return the joint plan of a material, or the shelters' own plans where all are known and together cheaper."""
    plan = solved[_key(demand.job)]
    own = [_key(d.job) for row in singles for d in row if d.material == demand.material]
    laid = [solved[key] for key in own if key in solved]
    if len(laid) == len(own) and sum(p.price for p in laid) < plan.price:
        return _side_by_side(demand.job, laid, plan.bound)
    return plan


def _together(designs: Sequence[Design]) -> Design:
    """Return one design that asks for the hardware of all; bricks of the first kind are added up."""
    amounts: dict[str, Fixing] = {}
    for design in designs:
        for row in design.fixings:
            if row.key in amounts:
                row = replace(amounts[row.key], amount=amounts[row.key].amount + row.amount)
            amounts[row.key] = replace(row, positions=())
    return replace(designs[0], fixings=tuple(amounts.values()), base=_no_bricks(designs[0].base))


def grove_design(found: Grove) -> Design:
    """Return one design that holds the parts and the hardware of all shelters, for papers over the whole grove."""
    parts = tuple(part for design in found.designs for part in design.parts)
    materials = {m.key: m for design in found.designs for m in design.materials}
    count = len(found.designs)
    return replace(
        _together(found.designs),
        name=tr("{count} shelters").format(count=count) if count > 1 else found.designs[0].name,
        parts=parts,
        materials=tuple(materials.values()),
    )


def _no_bricks(base: Base) -> Base:
    return replace(base, bricks=0, bricks_to_buy=0)


def brick_lines(designs: Sequence[Design], stock: Stock) -> list[BuyingLine]:
    """Return the bricks of all shelters, one line for each kind."""
    totals: dict[tuple[float, float, float], tuple[int, int]] = {}
    for design in designs:
        base = design.base
        if base.bricks_to_buy:
            lay, buy = totals.get(base.brick_mm, (0, 0))
            totals[base.brick_mm] = (lay + base.bricks, buy + base.bricks_to_buy)
    lines: list[BuyingLine] = []
    for size, (lay, buy) in totals.items():
        base = replace(designs[0].base, brick_mm=size, bricks=lay, bricks_to_buy=buy)
        lines += buying_list(replace(designs[0], fixings=(), base=base), stock, (), ())
    return lines


def _alone(design: Design, single: _Singles, bare: Stock, solved: _Solved) -> tuple[int, bool]:
    """Return what a shelter costs alone, and whether that is a price; else it is a lower bound."""
    flat, rods = single
    jobs: list[Job] = [*(d.job for d in flat), *(d.job for d in rods)]
    cut = sum(solved[_key(job)].price if _key(job) in solved else _least(job) for job in jobs)
    exact = all(_key(job) in solved for job in jobs)
    return cut + sum(line.total_cents for line in buying_list(design, bare, (), ())), exact


def shared_out(total: int, weights: Sequence[int]) -> tuple[int, ...]:
    """Share a total out in whole cents in proportion to weights; the largest remainders get the odd cents.

    Args:
        total: Cents to share, >= 0.
        weights: What each would pay alone, >= 0.
    """
    whole = sum(weights)
    if not whole:
        weights, whole = [1] * len(weights), len(weights)
    exact = [total * w / whole for w in weights]
    floors = [total * w // whole for w in weights]
    odd = total - sum(floors)
    order = sorted(range(len(weights)), key=lambda i: (floors[i] - exact[i], i))
    for i in order[:odd]:
        floors[i] += 1
    return tuple(floors)
