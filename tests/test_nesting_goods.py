"""After least price: is the order of goods kept, does each switch switch, does the price stay?

Every figure here is reckoned from the tree of cuts by this module alone. What is best at
all is found by trying every cut of tiny sheets and sticks.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise
from random import Random

import pytest

from enclosure import design_from
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.model import (
    UNITS_PER_MM,
    Cut,
    Node,
    Part,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPlan,
)
from enclosure.nesting.replay import cut_sequence, leftovers
from enclosure.nesting.sheets import Goods, solve_sheets
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.templates_home import find_template
from tests.oracle_cases import tiny_stick_job

# Expected values come from exhaustive search and from counting here: our own arithmetic.
pytestmark = pytest.mark.regression

KEEP = 3
"""Both sides of an offcut worth keeping, on sheets of about 12."""
NONE = Goods(False, False, False, False, False, KEEP, KEEP)
ALL = replace(NONE, offcut=True, setups=True, cuts=True, crosscuts_first=True, together=True)
SWITCHES = ("offcut", "setups", "cuts", "crosscuts_first", "together")


@dataclass(frozen=True)
class Counted:
    """What a whole plan comes to; each of `SWITCHES` is better when smaller."""

    offcut: int
    setups: int
    cuts: int
    crosscuts_first: int
    together: int


def _counted(job: SheetJob, plan: SheetPlan) -> Counted:
    sheets = {sheet.key: sheet for sheet in job.sheets}
    walls = {kind.key: kind.group for kind in job.kinds}
    largest, fences, cuts, rips_first, pairs = 0, set[tuple[str, int]](), 0, 0, 0
    for pattern in plan.patterns:
        sheet = sheets[pattern.sheet]
        size = sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim
        here = set[str]()
        for node, width, height in _pieces(job.kerf, pattern.root, *size):
            if isinstance(node, Cut):
                cuts += pattern.copies
                fences.add((node.axis, node.at))
            elif isinstance(node, Rest) and min(width, height) >= KEEP:
                largest = max(largest, width * height)
            elif isinstance(node, Part):
                here.add(walls[node.key])
        rips_first += pattern.copies * (isinstance(pattern.root, Cut) and pattern.root.axis == "x")
        pairs += pattern.copies * len(here - {""})
    return Counted(-largest, len(fences), cuts, rips_first, pairs)


def _pieces(kerf: int, node: Node | None, width: int, height: int) -> Iterator[tuple[Node, int, int]]:
    if node is None:
        return
    yield node, width, height
    if isinstance(node, Cut):
        along = width if node.axis == "x" else height
        for side, size in ((node.near, node.at), (node.far, along - node.at - kerf)):
            yield from _pieces(kerf, side, *((size, height) if node.axis == "x" else (width, size)))


def _random_job(seed: int, sheets: int = 2) -> SheetJob:
    """Return a job that needs a few sheets, its parts belonging to two walls."""
    draw = Random(f"goods {seed} {sheets}")
    kinds = tuple(
        PartKind(f"p{n}", draw.randint(2, 6), draw.randint(2, 7), draw.randint(1, sheets), False, draw.choice("LR"))
        for n in range(draw.randint(2, 4))
    )
    first = kinds[0]
    other = replace(first, key="twin", group="LR".replace(first.group, ""))
    kinds = (*kinds, other) if draw.random() < 0.5 else kinds
    stock = (SheetKind("a", 11, 12, 7), SheetKind("b", 8, 12, 5))
    return SheetJob(kinds, stock[: draw.randint(1, 2)], draw.choice([0, 1]))


def _solved(job: SheetJob, goods: Goods) -> tuple[SheetPlan, Counted]:
    plan = solve_sheets(job, work_limit=400, goods=goods)
    verify_sheets(job, plan)
    return plan, _counted(job, plan)


def _ranked(counted: Counted) -> tuple[int, ...]:
    return tuple(getattr(counted, name) for name in SWITCHES)


def test_goods_never_touch_the_price_and_never_make_the_order_worse() -> None:
    better = 0
    for seed in range(60):
        job = _random_job(seed)
        before, without = _solved(job, NONE)
        after, counted = _solved(job, ALL)
        assert (after.price, after.bound) == (before.price, before.bound)
        assert _ranked(counted) <= _ranked(without), seed
        better += _ranked(counted) < _ranked(without)
    assert better >= 20


@pytest.mark.parametrize("switch", SWITCHES)
def test_each_switch_alone_improves_what_it_names_and_does_so_somewhere(switch: str) -> None:
    better = 0
    for seed in range(60):
        job = _random_job(seed, 3)
        _, without = _solved(job, NONE)
        _, counted = _solved(job, replace(NONE, **{switch: True}))
        assert getattr(counted, switch) <= getattr(without, switch), seed
        better += getattr(counted, switch) < getattr(without, switch)
    assert better >= 3, f"{switch} changed nothing"


@pytest.mark.parametrize("first", range(len(SWITCHES)))
def test_a_good_gives_way_only_to_those_above_it(first: int) -> None:
    """With the goods from some place on switched off, none above is worse than with all of them on."""
    for seed in range(20):
        job = _random_job(seed)
        _, few = _solved(job, replace(NONE, **dict.fromkeys(SWITCHES[: first + 1], True)))
        _, every = _solved(job, ALL)
        assert _ranked(every)[: first + 1] <= _ranked(few)[: first + 1], seed


def test_the_fence_moves_one_way_along_every_row() -> None:
    """Cuts of one direction that follow each other on one piece: each is set no farther out than the one before."""
    rows = 0
    for seed in range(60):
        job = _random_job(seed, 3)
        plan, _ = _solved(job, ALL)
        for pattern in plan.patterns:
            steps = [step for step in cut_sequence(job, pattern) if not step.trim]
            for one, two in pairwise(steps):
                if one.axis == two.axis and two.piece == f"{one.number}b":
                    rows += 1
                    assert two.at <= one.at, (seed, pattern)
    assert rows > 50


def test_parts_of_one_wall_come_from_one_sheet_where_nothing_else_speaks_against_it() -> None:
    """Four equal parts, two of each wall, two a sheet: a wall a sheet."""
    kinds = (PartKind("left", 5, 12, 2, group="L"), PartKind("right", 5, 12, 2, group="R"))
    job = SheetJob(kinds, (SheetKind("a", 10, 12, 7),), 0)
    plan, counted = _solved(job, replace(NONE, together=True))
    assert plan.price == 14
    assert counted.together == 2


# --- against trying everything, one sheet -------------------------------------------------


class _Every:
    """All ways to cut exactly the parts of a job out of one sheet: what is the best offcut, what the fewest cuts?"""

    def __init__(self, job: SheetJob) -> None:
        self.job = job
        self.sizes = [(kind.width, kind.height) for kind in job.kinds]
        self.nothing = tuple(0 for _ in job.kinds)

    def best(self) -> tuple[int, int]:
        """Return the area of the largest offcut that any plan keeps, and the fewest cuts of any plan."""
        sheet = self.job.sheets[0]
        wanted = tuple(kind.quantity for kind in self.job.kinds)
        found = self.ways(sheet.width, sheet.height)[wanted]
        return max(offcut for offcut, _ in found), min(cuts for _, cuts in found)

    @cache  # noqa: B019 - lives as long as one test
    def ways(self, width: int, height: int) -> dict[tuple[int, ...], frozenset[tuple[int, int]]]:
        """Return for every multiset of parts that a piece yields all pairs (largest offcut, cuts) worth having."""
        found: dict[tuple[int, ...], set[tuple[int, int]]] = {}
        found[self.nothing] = {(width * height if min(width, height) >= KEEP else 0, 0)}
        for index, size in enumerate(self.sizes):
            if size == (width, height):
                found.setdefault(tuple(int(k == index) for k in range(len(self.sizes))), set()).add((0, 0))
        for axis, extent in (("x", width), ("y", height)):
            for at in range(1, extent):
                beyond = extent - at - self.job.kerf
                near = self.ways(at, height) if axis == "x" else self.ways(width, at)
                far: dict[tuple[int, ...], frozenset[tuple[int, int]]] = {self.nothing: frozenset({(0, 0)})}
                if beyond > 0:
                    far = self.ways(beyond, height) if axis == "x" else self.ways(width, beyond)
                for one, several in near.items():
                    for two, more in far.items():
                        both = tuple(a + b for a, b in zip(one, two, strict=True))
                        if both == self.nothing or any(
                            n > k.quantity for n, k in zip(both, self.job.kinds, strict=True)
                        ):
                            continue
                        found.setdefault(both, set()).update(
                            (max(a[0], b[0]), a[1] + b[1] + 1) for a in several for b in more
                        )
        return {parts: _worth_having(pairs) for parts, pairs in found.items()}


def _worth_having(pairs: set[tuple[int, int]]) -> frozenset[tuple[int, int]]:
    return frozenset(
        one for one in pairs if not any(two != one and two[0] >= one[0] and two[1] <= one[1] for two in pairs)
    )


def test_offcut_and_cuts_of_one_sheet_against_every_way_to_cut_it() -> None:
    """Never better than the best there is, which would be a fault of measuring; and mostly as good."""
    jobs = best_offcut = fewest_cuts = 0
    for seed in range(70):
        draw = Random(f"one sheet {seed}")
        kinds = tuple(
            PartKind(f"p{n}", draw.randint(2, 5), draw.randint(2, 6), draw.randint(1, 2))
            for n in range(draw.randint(1, 3))
        )
        job = SheetJob(kinds, (SheetKind("a", 9, 11, 10),), draw.choice([0, 1]))
        plan, counted = _solved(job, ALL)
        if plan.price != 10:
            continue
        offcut, cuts = _Every(job).best()
        _, only_cuts = _solved(job, replace(NONE, cuts=True))
        assert -counted.offcut <= offcut, seed
        assert only_cuts.cuts >= cuts, seed
        jobs += 1
        best_offcut += -counted.offcut == offcut
        fewest_cuts += only_cuts.cuts == cuts
    assert jobs >= 40
    assert best_offcut >= 0.95 * jobs
    assert fewest_cuts >= 0.9 * jobs


# --- sticks -------------------------------------------------------------------------------


def _sticks_counted(job: StickJob, plan: StickPlan) -> tuple[int, int]:
    """Return the longest end left whole, and the distinct lengths of every distinct pattern added up."""
    lengths = {part.key: part.length for part in job.parts}
    sticks = {stick.key: stick for stick in job.sticks}
    longest, patterns = 0, set[tuple[str, frozenset[tuple[int, int]]]]()
    for pattern in plan.patterns:
        stick = sticks[pattern.stick]
        counts = Counter(lengths[piece.key] for piece in pattern.pieces)
        used = sum((length + job.kerf) * count for length, count in counts.items())
        longest = max(longest, stick.length - stick.squaring - used)
        patterns.add((pattern.stick, frozenset(counts.items())))
    return longest, sum(len(counts) for _, counts in patterns)


def _longest_end(job: StickJob, price: int) -> int:
    """Return the longest end that any plan of that price leaves on a stick, by trying every plan."""
    wanted = tuple(part.quantity for part in job.parts)
    sizes = [part.length + job.kerf for part in job.parts]

    @cache
    def fills(room: int, kind: int) -> frozenset[tuple[tuple[int, ...], int]]:
        if kind == len(sizes):
            return frozenset({((), room)})
        return frozenset(
            ((count, *rest), left)
            for count in range(min(wanted[kind], room // sizes[kind]) + 1)
            for rest, left in fills(room - count * sizes[kind], kind + 1)
        )

    @cache
    def best(missing: tuple[int, ...], index: int, used: int, money: int) -> int:
        if not any(missing):
            return 0
        if index == len(job.sticks):
            return -1
        stick = job.sticks[index]
        found = best(missing, index + 1, 0, money)
        if money >= stick.price and used < (sum(wanted) if stick.copies is None else stick.copies):
            for counts, left in fills(stick.length - stick.squaring + job.kerf, 0):
                if any(counts) and all(c <= m for c, m in zip(counts, missing, strict=True)):
                    rest = tuple(m - c for c, m in zip(counts, missing, strict=True))
                    after = best(rest, index, used + 1, money - stick.price)
                    if after >= 0:
                        found = max(found, after, left - job.kerf)
        return found

    return best(wanted, 0, 0, price)


def test_sticks_keep_their_price_and_mostly_the_longest_end_there_is() -> None:
    jobs = longest = 0
    for seed in range(120):
        job = tiny_stick_job(seed)
        job = replace(job, sticks=tuple(s for s in job.sticks if not s.defects and s.price))
        plan, plain = solve_sticks(job), solve_sticks(job, goods=False)
        verify_sticks(job, plan)
        assert (plan.price, plan.bound) == (plain.price, plain.bound)
        end, _ = _sticks_counted(job, plan)
        assert end >= _sticks_counted(job, plain)[0], seed
        if sum(part.quantity for part in job.parts) > 7:
            continue
        most = _longest_end(job, plan.price)
        assert end <= most, seed
        jobs += 1
        longest += end == most
    assert jobs >= 40
    assert longest >= 0.8 * jobs


def test_sticks_repeat_a_pattern_instead_of_cutting_many() -> None:
    """Where the longest end is as long without the goods, there are no more set-ups with them, and somewhere fewer."""
    fewer = 0
    for seed in range(40):
        draw = Random(f"stick set-ups {seed}")
        parts = tuple(StickPart(f"p{n}", draw.randint(20, 90), draw.randint(2, 8)) for n in range(5))
        job = StickJob(parts, (StickKind("a", 240, 5), StickKind("b", 180, 4)), 1)
        with_goods, without = (_sticks_counted(job, solve_sticks(job, goods=on)) for on in (True, False))
        assert with_goods[0] >= without[0]
        if with_goods[0] == without[0]:
            assert with_goods[1] <= without[1], seed
            fewer += with_goods[1] < without[1]
    assert fewer >= 3


def test_patterns_are_whole_patterns() -> None:
    """The counting above sees what is cut: a hand-made plan of one sheet with an offcut of 5 x 12 and three cuts."""
    job = SheetJob((PartKind("p", 5, 6, 2, group="L"),), (SheetKind("a", 11, 12, 7),), 1)
    root = Cut("x", 5, Cut("y", 6, Part("p"), Cut("y", 5, Rest(), None)), Rest(keep=True))
    plan = SheetPlan((Pattern("a", 1, root),), 7, 0, "gap")
    assert _counted(job, plan) == Counted(-60, 3, 3, 1, 1)


def test_an_offcut_is_kept_when_it_reaches_the_rack_s_own_least_size() -> None:
    shelter = design_from(find_template("briefs", "tree-fern"))
    kept = []
    for least in (200.0, 900.0):
        rack = shelter.stock.rack.model_copy(update={"least_sheet_mm": least})
        plans = cut_everything(shelter.design, shelter.stock.model_copy(update={"rack": rack}))
        sides = [
            min(left.width, left.height) / UNITS_PER_MM
            for item in plans.sheet_jobs
            for pattern in item.plan.patterns
            for left in leftovers(item.job, pattern)
            if left.keep
        ]
        assert all(side >= least for side in sides)
        kept.append(len(sides))
    assert kept[0] > kept[1]
