"""Which size within the clearance windows costs least to buy and cut, and with which bays, timber and track?

The price steps only where a rounded size changes, so the sizes are finite in
number (`fit_grid`). They are searched by branch and bound: blocks of sizes are
bounded first by areas and lengths, then by the cutting engines on the least
sizes of the block, and only what can still be cheapest is checked and solved.
Between sizes of one make-up the parts only grow or only shrink; that the make-up
between two equal corners is the same is taken as given and tested against every
size on a fine grid.

Beside the window, variants may be handed in (more bays, another section, see
`variants`). After the least price comes the most room at that price, then the
near misses on both sides: what a little less room would save, what a little more
costs.

Units: mm, whole cents.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable
from dataclasses import dataclass, replace

from enclosure.choose.fit_grid import Block, Cell, Grid
from enclosure.choose.price import Asked, Pricer, floor_price, full_price, is_within, price_within
from enclosure.errors import DesignError
from enclosure.nesting.model import SheetJob
from enclosure.nesting.plans import BuyingLine, Plans
from enclosure.shape.model import Design

MOST_SOLVES = 1200
MOST_REOPENED = 12
WORTH_TELLING = 0.01
"""A near miss that changes the price by less than this share is not told."""
Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Choice:
    """One size with its price.

    Args:
        label: What is special about the variant; empty for the brief as it stands.
        side_mm: Side clearance.
        top_mm: Top clearance.
        clear_mm: Clear width, depth, height.
        price_cents: Buying list, complete.
        fails: Name of the worst check that it fails; empty when it passes.
    """

    label: str
    side_mm: float
    top_mm: float
    clear_mm: tuple[float, float, float]
    price_cents: int
    fails: str = ""


@dataclass(frozen=True, slots=True)
class NearMiss:
    """What a size a little off would change.

    Args:
        axis: "side" or "top".
        change_mm: Change of that clearance: negative, so much less room and the price falls; else the room
            that is still free of charge (but for cents) before the price rises.
        price_cents: Price there.
        change_cents: Price there less the chosen price.
        inside: Whether that size lies inside the window of the brief.
        reason: What is bought more or less, in words.
        fails: Name of the check that fails there; empty when all pass.
    """

    axis: str
    change_mm: float
    price_cents: int
    change_cents: int
    inside: bool
    reason: str
    fails: str = ""


@dataclass(frozen=True, slots=True)
class Fit:
    """The answer.

    Args:
        chosen: The cheapest size that passes its checks, the roomiest of those.
        tightest: The brief as it stands at the least of its windows, as `make` builds it.
        roomiest: The same at the most of its windows.
        bound_cents: No size within the windows, of no variant, that passes its checks costs less.
        proved: Whether `chosen` reaches the bound.
        near: Near misses.
        sizes: How many sizes lie in the windows, over all variants.
        solved: Cutting jobs solved.
        built: Designs built.
        design: The shelter of the chosen size.
        plans: Its cutting plans and buying list.
        place: Which of the variants is chosen, from 0.
    """

    chosen: Choice
    tightest: Choice
    roomiest: Choice | None
    bound_cents: int
    proved: bool
    near: tuple[NearMiss, ...]
    sizes: int
    solved: int
    built: int
    design: Design
    plans: Plans
    place: int = 0

    @property
    def saving_cents(self) -> int:
        """What the chosen size saves against the brief at the least of its windows."""
        return self.tightest.price_cents - self.chosen.price_cents


@dataclass(frozen=True)
class Variant:
    """A grid and the block of it that lies inside the brief's windows."""

    grid: Grid
    window: Block


class Search:
    """Branch and bound over the blocks of all variants."""

    def __init__(
        self, variants: list[Variant], pricer: Pricer, most_solves: int = MOST_SOLVES, fine: Pricer | None = None
    ) -> None:
        self.variants = variants
        self.pricer = pricer
        self.fine = fine or pricer
        self.most_solves = most_solves
        self.best: tuple[int, int, Cell] | None = None
        self.bound = 0
        self.left: list[tuple[int, int, Cell]] = []
        """Sizes whose plan was neither found cheaper nor proved dearer, with their bound."""
        self.splits: tuple[list[int], list[int]] = ([], [])
        """Places on each axis after which the make-up of some variant changes: the next one is cut there first."""

    @property
    def ceiling(self) -> int:
        """The best price so far; huge before the first."""
        return self.best[0] if self.best else 1 << 60

    def try_cell(self, place: int, cell: Cell, pricer: Pricer | None = None) -> int | None:
        """Check and price a cell if it can beat the best; return its price when it is known to."""
        grid, pricer = self.variants[place].grid, pricer or self.pricer
        wanted = grid.asked(cell)
        if wanted is None or floor_price(pricer, wanted) >= self.ceiling or not grid.sound(cell):
            return None
        if price_within(pricer, wanted, self.ceiling - 1) is None:
            return None
        price = full_price(pricer, wanted)
        if price < self.ceiling:
            self.best = (price, place, cell)
        return price

    def run(self) -> None:
        """Find the least price; `bound` is proved for all sizes afterwards."""
        queue: list[tuple[int, int, int, Block]] = []
        ticket = 0
        for place, variant in enumerate(self.variants):
            queue.append((0, ticket, place, variant.window))
            ticket += 1
        heapq.heapify(queue)
        while queue:
            bound, _, place, block = heapq.heappop(queue)
            if bound >= self.ceiling:
                break
            if self.pricer.solved >= self.most_solves and self.best:
                self.bound = min(bound, self._closed())
                return
            for known, piece in self._open(place, block, bound):
                ticket += 1
                heapq.heappush(queue, (known, ticket, place, piece))
        if self.best is None:
            raise DesignError(
                "no size within the clearance windows can be made",
                "widen clearance.side or clearance.top in the brief",
            )
        self.bound = self._closed()

    def _closed(self) -> int:
        """Look once more, with more work, at the sizes left open; return the bound they leave."""
        for _, place, cell in sorted(self.left)[:MOST_REOPENED]:
            self.try_cell(place, cell, self.fine)
        floors = [self.ceiling]
        for bound, place, cell in self.left:
            wanted = self.variants[place].grid.asked(cell)
            floors.append(max(bound, floor_price(self.fine, wanted)) if wanted else bound)
        return min(floors)

    def _open(self, place: int, block: Block, bound: int) -> list[tuple[int, Block]]:
        """Return what is left to search of a block, with better bounds."""
        grid = self.variants[place].grid
        least = grid.least_asked(block)
        if least is None:
            return [] if block.single or grid.empty(block) else [(bound, piece) for piece in self._cut(grid, block)]
        better = max(bound, floor_price(self.pricer, least))
        if better > bound:
            return [(better, block)]
        if grid.hopeless(block):
            return []
        if tightened(self.pricer, least, self.ceiling - 1, sheets=False):
            return [(max(bound, floor_price(self.pricer, least)), block)]
        price = self.try_cell(place, block.low)
        if price is not None and price <= bound:
            return []
        if tightened(self.pricer, least, self.ceiling - 1, sheets=True):
            return [(max(bound, floor_price(self.pricer, least)), block)]
        if block.single:
            if price is None and grid.sound(block.low):
                self.left.append((bound, place, block.low))
            return []
        return [(bound, half) for half in block.halves()]

    def _cut(self, grid: Grid, block: Block) -> tuple[Block, Block]:
        """Return a block of several make-ups in two, cut where the make-up of another variant changed if it can be."""
        for axis in (0, 1):
            low, high = block.low[axis], block.high[axis]
            for last in self.splits[axis]:
                if low <= last < high:
                    return block.cut(axis, last)
        pieces = block.halves()
        for axis in (0, 1):
            if block.high[axis] == block.low[axis] + 1 and block.high[1 - axis] == block.low[1 - axis]:
                self.splits[axis].append(block.low[axis])
        return pieces


def tightened(pricer: Pricer, wanted: Asked, most: int, *, sheets: bool) -> bool:
    """Solve the next unsolved job of its kind, until the whole costs more than `most`; False when none is left."""
    spare = most - floor_price(pricer, wanted)
    for _, job in wanted.jobs:
        least, known = pricer.span(job)
        if isinstance(job, SheetJob) == sheets and least < known and not pricer.known(job):
            pricer.refuted(job, least + spare)
            return True
    return False


def largest_within(grid: Grid, block: Block, pricer: Pricer, most: int) -> Cell | None:
    """Return the roomiest cell of a block whose price is at most `most`; None when none is found.

    Blocks whose lowest cell is already dearer are left out: more room of one
    make-up is not cheaper, but for a vent that takes from the panel below it.
    """
    ticket = 0
    queue = [(-_room(grid, block.high), ticket, block)]
    seen: dict[Cell, bool] = {}

    def within(cell: Cell) -> bool:
        if cell not in seen:
            wanted = grid.asked(cell)
            seen[cell] = wanted is not None and is_within(pricer, wanted, most)
        return seen[cell]

    while queue:
        _, _, piece = heapq.heappop(queue)
        wanted = grid.asked(piece.high)
        if wanted and within(piece.high) and grid.sound(piece.high) and full_price(pricer, wanted) <= most:
            return piece.high
        if piece.single or grid.empty(piece) or grid.hopeless(piece):
            continue
        if grid.alike(piece) and not within(piece.low):
            continue
        for half in piece.halves():
            ticket += 1
            heapq.heappush(queue, (-_room(grid, half.high), ticket, half))
    return None


def _room(grid: Grid, cell: Cell) -> float:
    return 2 * grid.sides[cell[0]] + grid.tops[cell[1]]


def fit_stock(
    variants: list[Variant],
    pricer: Pricer,
    *,
    fine: Pricer | None = None,
    final: Pricer | None = None,
    most_solves: int = MOST_SOLVES,
    near: bool = True,
    progress: Progress | None = None,
) -> Fit:
    """Return the cheapest size of all variants, the first of which is the brief as it stands.

    Args:
        variants: Grids with their windows.
        pricer: Solves and remembers cutting jobs in the search for the least price.
        fine: The same with more work for each, for what is then told; `pricer` when None.
        final: Makes the plans that are handed back; `pricer` when None.
        most_solves: Most cutting jobs solved in the search for the least price.
        near: Look for near misses too.
        progress: Told what is being done and the share done.

    Raises:
        DesignError: No size can be made.
    """
    say = progress or (lambda text, share: None)
    search = Search(variants, pricer, most_solves, fine)
    say("the brief as it stands", 0.05)
    for place, variant in enumerate(variants):
        if variant.grid.sound(variant.window.low):
            search.try_cell(place, variant.window.low)
            break
    say("searching the sizes", 0.2)
    search.run()
    return _answer(search, final, near, say)


def _answer(search: Search, final: Pricer | None, near: bool, say: Progress) -> Fit:
    """Return what is told of a finished search."""
    assert search.best is not None
    price, place, _ = search.best
    variants, pricer, fine = search.variants, search.pricer, search.fine
    first, chosen = variants[0], variants[place]
    say("the most room at that price", 0.5)
    cell = largest_within(chosen.grid, chosen.window, fine, price)
    assert cell is not None
    say("near misses", 0.7)
    misses = near_misses(chosen, cell, price, fine) if near else ()
    design = chosen.grid.design(cell)
    assert design is not None
    say("the plans", 0.9)
    plans = (final or fine).plans(design)
    say("done", 1.0)
    picked = choice(chosen.grid, cell, fine)
    if final is not None:
        picked = replace(picked, price_cents=min(picked.price_cents, plans.total_cents))
    return Fit(
        picked,
        choice(first.grid, first.window.low, fine),
        _roomiest(first, fine),
        min(search.bound, picked.price_cents),
        search.bound >= picked.price_cents,
        misses,
        sum(_cells(v.window) for v in variants),
        pricer.solved + (fine.solved if fine is not pricer else 0),
        sum(v.grid.built for v in variants),
        design,
        plans,
        place,
    )


def _roomiest(first: Variant, pricer: Pricer) -> Choice | None:
    if first.grid.design(first.window.high) is None:
        return None
    return choice(first.grid, first.window.high, pricer)


def _cells(block: Block) -> int:
    (a, b), (c, d) = block.low, block.high
    return (c - a + 1) * (d - b + 1)


def choice(grid: Grid, cell: Cell, pricer: Pricer) -> Choice:
    """Return a cell with its price."""
    design = grid.design(cell)
    if design is None:
        raise DesignError(
            f"the brief cannot be made with {grid.sides[cell[0]]:.1f} mm at the sides and "
            f"{grid.tops[cell[1]]:.1f} mm at the top",
            "run enclosure check on the brief to see why",
        )
    wanted = grid.asked(cell)
    assert wanted is not None
    side, top = grid.sides[cell[0]], grid.tops[cell[1]]
    return Choice(grid.label, side, top, design.clear_mm, full_price(pricer, wanted), _fails(grid, cell))


def _fails(grid: Grid, cell: Cell) -> str:
    rows = grid.failing(cell)
    return rows[0].name if rows else ""


def near_misses(variant: Variant, cell: Cell, price: int, pricer: Pricer) -> tuple[NearMiss, ...]:
    """Return the first step worth telling in less and in more clearance, on each axis.

    A step counts from `WORTH_TELLING` of the price. It is found by bisection: the
    price is taken to rise with the room, but for a vent's panel and a new bay.
    """
    found = []
    step = max(1, round(price * WORTH_TELLING))
    for axis, name in enumerate(("side", "top")):
        values = variant.grid.sides if axis == 0 else variant.grid.tops
        below = _last_within(variant.grid, cell, axis, 0, cell[axis] - 1, pricer, price - step)
        if below is not None:
            found.append(_miss(variant, cell, below, axis, name, price, pricer))
        last = len(values) - 1
        same = _last_within(variant.grid, cell, axis, cell[axis], last, pricer, price + step - 1)
        if same is not None and same < last and variant.grid.design(_moved(cell, axis, same + 1)) is not None:
            found.append(_miss(variant, cell, same + 1, axis, name, price, pricer))
    return tuple(found)


def _last_within(grid: Grid, cell: Cell, axis: int, low: int, high: int, pricer: Pricer, most: int) -> int | None:
    """Return the last place from `low` to `high` on an axis whose price is at most `most`; None for none."""

    def within(place: int) -> bool:
        wanted = grid.asked(_moved(cell, axis, place))
        return wanted is not None and is_within(pricer, wanted, most)

    if low > high or not within(low):
        return None
    if within(high):
        return high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if within(middle) else (low, middle)
    return low


def _moved(cell: Cell, axis: int, to: int) -> Cell:
    return (to, cell[1]) if axis == 0 else (cell[0], to)


def _miss(variant: Variant, cell: Cell, place: int, axis: int, name: str, price: int, pricer: Pricer) -> NearMiss:
    grid, window = variant.grid, variant.window
    values = grid.sides if axis == 0 else grid.tops
    other = _moved(cell, axis, place)
    here, there, wanted = grid.design(cell), grid.design(other), grid.asked(other)
    assert here is not None
    assert there is not None
    assert wanted is not None
    there_cents = full_price(pricer, wanted)
    # upward the change told is the room that is still free, just before the step
    reached = values[place - 1] if place > cell[axis] else values[place]
    return NearMiss(
        name,
        round(reached - values[cell[axis]], 3),
        there_cents,
        there_cents - price,
        window.low[axis] <= place <= window.high[axis],
        difference(pricer.plans(here).buying, pricer.plans(there).buying),
        _fails(grid, other),
    )


def difference(here: tuple[BuyingLine, ...], there: tuple[BuyingLine, ...]) -> str:
    """Return what `there` buys more or less than `here`, dearest change first, in words."""
    counts: dict[tuple[str, str, str], list[int]] = {}
    for sign, lines in ((-1, here), (1, there)):
        for line in lines:
            size = "" if line.unit == "pane" else line.size_text  # made to size, so every size differs
            row = counts.setdefault((line.name, size, line.unit), [0, 0])
            row[0] += sign * line.count
            row[1] += sign * line.total_cents
    changed = sorted(((k, v) for k, v in counts.items() if v[0]), key=lambda kv: (-abs(kv[1][1]), kv[0]))
    words = []
    for (name, size, unit), (count, _) in changed[:4]:
        how = "more" if count > 0 else "less"
        named = " ".join(w for w in (name, size) if w)
        words.append(f"{abs(count)} {how} of {named}" + (f" ({unit})" if unit not in ("each", "pack") else ""))
    return ", ".join(words)
