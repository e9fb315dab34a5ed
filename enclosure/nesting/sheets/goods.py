"""Of all plans at the same price, which one would the person with the saw choose?

After the price, in this order, each switchable (`Goods`):

1. the largest single offcut kept whole (both sides at least the rack minimum);
2. fewest set-ups: distinct fence settings, a setting being axis and distance;
3. fewest cuts;
4. crosscuts first: sheets whose first cut is a crosscut;
5. parts of one wall together: fewest (sheet, group) pairs.

Two means: how each sheet is laid out and trimmed (`laying.py`, every choice
tried), and which patterns are mixed (integer programs over the pool with the
price held). Limited by the pool: the order is improved, not proved best.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np

from enclosure.nesting.model import UNITS_PER_MM, Cut, Filled, Node, Pair, Part, PartKind, Pattern, Rest
from enclosure.nesting.sheets.laying import STYLES, lay
from enclosure.nesting.sheets.masters import solve_integer
from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.relaying import relaid
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.state import State
from enclosure.nesting.sheets.trees import Layout, exact_layouts, to_patterns

MOST_PATTERNS = 150
MOST_OFFCUTS = 4
ROUNDS = 3
MOST_RELAID = 12
"""Up to so many sheets that differ the pieces of each are laid anew too."""
MOST_TOGETHER = 60
"""Above so many sheets that differ each is laid for itself."""
MOST_PARTS = 300
"""Above so many parts only the laying of each sheet is improved, not the mix."""


@dataclass(frozen=True, slots=True)
class Goods:
    """What matters after the price.

    Args:
        offcut: Keep the largest single offcut whole.
        setups: Fewest distinct fence settings.
        cuts: Fewest cuts.
        crosscuts_first: Prefer sheets whose first cut is a crosscut.
        together: Parts of one group from the same sheet.
        keep_width: Least side of an offcut worth keeping [units].
        keep_height: Least other side of an offcut worth keeping [units].
    """

    offcut: bool = True
    setups: bool = True
    cuts: bool = True
    crosscuts_first: bool = True
    together: bool = True
    keep_width: int = 300 * UNITS_PER_MM
    keep_height: int = 300 * UNITS_PER_MM

    def worth_keeping(self, width: int, height: int) -> bool:
        """Return True when a rest of that true size [units] goes on the rack."""
        short, long = sorted((self.keep_width, self.keep_height))
        return min(width, height) >= short and max(width, height) >= long

    def any(self) -> bool:
        """Return True when anything is asked for."""
        return self.offcut or self.setups or self.cuts or self.crosscuts_first or self.together


@dataclass(frozen=True, slots=True)
class Measure:
    """What one sheet laid out costs in work and leaves over."""

    offcut: int
    settings: frozenset[tuple[str, int]]
    cuts: int
    crosscut: bool
    groups: int


def measure(root: Node, width: int, height: int, kerf: int, goods: Goods, kinds: dict[str, PartKind]) -> Measure:
    """Return the measure of one sheet of true size [units]."""
    offcut, cuts = 0, 0
    settings: set[tuple[str, int]] = set()
    walls: set[str] = set()
    pending: list[tuple[Node, int, int]] = [(root, width, height)]
    while pending:
        node, wide, high = pending.pop()
        match node:
            case Cut():
                cuts += 1
                settings.add((node.axis, node.at))
                along = wide if node.axis == "x" else high
                for piece, size in ((node.near, node.at), (node.far, along - node.at - kerf)):
                    if piece is not None:
                        pending.append((piece, size, high) if node.axis == "x" else (piece, wide, size))
            case Rest():
                if goods.worth_keeping(wide, high):
                    offcut = max(offcut, wide * high)
            case Part():
                walls.add(kinds[node.key].group)
            case Pair():
                walls.update((kinds[node.low].group, kinds[node.high].group))
                cuts += 1
            case Filled():
                walls.add(kinds[node.key].group)
                drops = kinds[node.key].drops()
                cuts += sum(drop is not None for drop in drops)
                for drop, tree in zip(drops, (node.left, node.right), strict=True):
                    if drop is not None and tree is not None:
                        pending.append((tree, *drop))
    crosscut = not isinstance(root, Cut) or root.axis == "y"
    return Measure(offcut, frozenset(settings), cuts, crosscut, len(walls - {""}))


def score(measures: list[tuple[Measure, int]], goods: Goods) -> tuple[int, ...]:
    """Return what is to be as small as possible, most important first."""
    settings: set[tuple[str, int]] = set()
    for each, _ in measures:
        settings |= each.settings
    return (
        -max((m.offcut for m, _ in measures), default=0) if goods.offcut else 0,
        len(settings) if goods.setups else 0,
        sum(m.cuts * copies for m, copies in measures) if goods.cuts else 0,
        sum((not m.crosscut) * copies for m, copies in measures) if goods.crosscuts_first else 0,
        sum(m.groups * copies for m, copies in measures) if goods.together else 0,
    )


class Orderer:
    """Improves the order of goods of the best plan.

    Args:
        state: Shared knowledge, with a best plan.
        goods: What matters.
    """

    def __init__(self, state: State, goods: Goods) -> None:
        self.state, self.goods = state, goods
        self.kinds = {k.key: k for k in state.problem.job.kinds}
        self._laid: dict[tuple[int, int, bool], tuple[Tree, list[tuple[Layout, Measure]]]] = {}

    def run(self) -> tuple[Pattern, ...]:
        """Return the patterns of the best plan found at the best price."""
        state, goods = self.state, self.goods
        assert state.best is not None
        best = self.finish(state.best)
        if not goods.any() or len(state.pool) < 2 or int(state.demand.sum()) > MOST_PARTS:
            return best[1]
        for layouts in self._mixes(-best[0][0]):
            found = self.finish(layouts)
            if found[0] < best[0]:
                best = found
        return best[1]

    def finish(self, layouts: list[Layout]) -> tuple[tuple[int, ...], tuple[Pattern, ...]]:
        """Return score and patterns of a plan with every sheet laid out as well as the goods ask."""
        laid = self._together(layouts)
        # Names are given out sheet by sheet; another order may keep more walls together.
        named = [(laid, self.goods.together)]
        if self.goods.together and len(laid) <= MOST_TOGETHER:
            named = [(laid, True), (laid, False), (laid[::-1], True)]
        found = [to_patterns(one, self.state.problem, near, self.goods.worth_keeping) for one, near in named]
        return min(((self._score(patterns), patterns) for patterns in found), key=lambda item: item[0])

    def _score(self, patterns: tuple[Pattern, ...]) -> tuple[int, ...]:
        """Return the score of a finished plan."""
        job = self.state.problem.job
        sheets = {s.key: s for s in job.sheets}
        measures = []
        for pattern in patterns:
            sheet = sheets[pattern.sheet]
            size = sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim
            measures.append((measure(pattern.root, *size, job.kerf, self.goods, self.kinds), pattern.copies))
        return score(measures, self.goods)

    def _together(self, layouts: list[Layout]) -> list[Layout]:
        """Return the layouts, each in the style that is best beside those of the others."""
        again = len(layouts) <= MOST_RELAID
        ways = [self._lay(layout, again=again) for layout in layouts]

        def value(picks: list[int]) -> tuple[int, ...]:
            picked = [(way[pick][1], x.copies) for x, way, pick in zip(layouts, ways, picks, strict=True)]
            return score(picked, self.goods)

        alone = [min(range(len(way)), key=lambda pick: score([(way[pick][1], 1)], self.goods)) for way in ways]
        chosen = min([0] * len(layouts), alone, key=value)
        for _ in range(ROUNDS if len(layouts) <= MOST_TOGETHER else 0):
            before = chosen
            for place, own in enumerate(ways):
                others = [[*chosen[:place], pick, *chosen[place + 1 :]] for pick in range(len(own))]
                chosen = min(chosen, *others, key=value) if len(own) > 1 else chosen
            if chosen == before:
                break
        return [
            Layout(layout.stock, way[pick][0].tree, layout.copies)
            for layout, way, pick in zip(layouts, ways, chosen, strict=True)
        ]

    def _lay(self, layout: Layout, *, again: bool = False) -> list[tuple[Layout, Measure]]:
        """Return the layout in every style that makes a difference, with its measure, without first trims first."""
        key = id(layout.tree), layout.stock, again
        if key not in self._laid:  # the tree is kept too, so that its id stays its own
            self._laid[key] = (layout.tree, self._styles(layout, again=again))
        return self._laid[key][1]

    def _styles(self, layout: Layout, *, again: bool) -> list[tuple[Layout, Measure]]:
        problem = self.state.problem
        ways: dict[Measure, Layout] = {}
        stock = problem.stocks[layout.stock]
        width, height = (
            (stock.width - problem.kerf) * problem.scale,
            (stock.height - problem.kerf) * problem.scale,
        )
        many = len(self.state.best or []) > MOST_PATTERNS
        styles = STYLES[:1] if many or problem.stages is not None else STYLES
        trees = [lay(layout.tree, stock.width, stock.height, problem, style) for style in styles]
        if again and problem.stages is None:
            quick, strips = relaid(layout.tree, stock.width, stock.height, problem)
            trees += strips
            trees += [lay(other, stock.width, stock.height, problem, style) for other in quick for style in STYLES]
        for tree in trees:
            one = Layout(layout.stock, tree, 1)
            root = to_patterns([one], problem, False, self.goods.worth_keeping, False)[0].root
            found = measure(root, width, height, problem.job.kerf, self.goods, self.kinds)
            ways.setdefault(found, Layout(layout.stock, tree, layout.copies))
        return [(way, found) for found, way in ways.items()]

    def _mixes(self, offcut: int) -> list[list[Layout]]:
        """Return other plans at the best price: first with a larger offcut, then with less work."""
        state = self.state
        order = self._candidates()
        if len(order) < 2:
            return []
        laid = [self._lay(Layout(state.pool[p][0], state.pool[p][2])) for p in order]
        # Only one sheet of the plan needs its offcut; the others may be cut with the least work.
        measures = [min((m for _, m in ways), key=lambda m: score([(m, 1)], self.goods)) for ways in laid]
        least = [min((m for _, m in ways), key=lambda m: (len(m.settings), m.cuts)) for ways in laid]
        out: list[list[Layout]] = []
        forced: int | None = None
        if self.goods.offcut:
            larger = sorted((k for k, m in enumerate(measures) if m.offcut > offcut), key=lambda k: -measures[k].offcut)
            for pick in larger[:MOST_OFFCUTS]:
                plan = self._solve(order, _with(least, measures, pick), pick)
                if plan is not None:
                    out.append(plan)
                    forced = pick
                    break
        if forced is None and (self.goods.setups or self.goods.cuts):
            own = [k for k, m in enumerate(measures) if m.offcut == offcut] if self.goods.offcut else []
            kept = own[0] if own else None
            plan = self._solve(order, _with(least, measures, kept), kept)
            if plan is not None:
                out.append(plan)
        return out

    def _candidates(self) -> list[int]:
        """Return the patterns of the best plan and those with the fullest use, at most `MOST_PATTERNS`."""
        state = self.state
        assert state.best is not None
        own = {id(x.tree) for x in state.best}
        area = state.leaf_area_of_kind
        full = [
            (id(tree) not in own, -float((used * area).sum()) / float(s.width * s.height), p)
            for p, (stock, used, tree) in enumerate(state.pool)
            for s in [state.problem.stocks[stock]]
        ]
        return [p for _, _, p in sorted(full)[:MOST_PATTERNS]]

    def _solve(self, order: list[int], measures: list[Measure], forced: int | None) -> list[Layout] | None:
        """Return a plan at the best price with the least work, one pattern forced into it."""
        state = self.state
        # The same whatever is switched on, so that a good never changes which plans those above it choose from.
        settings = sorted(set().union(*(m.settings for m in measures)))
        count, kinds = len(order), state.kinds
        most = int(state.demand.sum())
        used = np.array([state.pool[p][1] for p in order], dtype=np.int64)
        stock = np.array([state.pool[p][0] for p in order], dtype=np.int64)
        finite = np.flatnonzero(state.limits >= 0)
        rows = np.zeros((kinds + len(finite) + 1 + len(settings), count + len(settings)), dtype=np.int64)
        rows[:kinds, :count] = used.T
        rows[kinds : kinds + len(finite), :count] = stock[None, :] == finite[:, None]
        rows[kinds + len(finite), :count] = state.prices[stock]
        for number, setting in enumerate(settings):
            row = kinds + len(finite) + 1 + number
            rows[row, :count] = [setting in m.settings for m in measures]
            rows[row, count + number] = -most
        none = -np.inf
        low = np.array([float(d) for d in state.demand] + [none] * (len(rows) - kinds))
        high = np.array(
            [np.inf] * kinds + [float(v) for v in state.limits[finite]] + [float(state.price)] + [0.0] * len(settings)
        )
        total = sum(m.cuts for m in measures) + 1.0
        cost = [float(m.cuts) for m in measures] + [total] * len(settings)
        upper = self._upper(used)
        if forced is not None:
            rows = np.vstack([rows, np.eye(1, rows.shape[1], forced, dtype=np.int64)])
            low, high = np.append(low, 1.0), np.append(high, np.inf)
        answer = solve_integer(
            np.array(cost), rows, low, high, np.append(upper, np.ones(len(settings))), 3, seconds=state.budget.left()
        )
        state.budget.spend(1.0 + answer.steps * 0.02)
        if answer.counts is None:
            return None
        layouts = [
            Layout(state.pool[order[k]][0], state.pool[order[k]][2], int(answer.counts[k]))
            for k in np.flatnonzero(answer.counts[:count])
        ]
        return self._checked(layouts)

    def _upper(self, used: IntArray) -> IntArray:
        """Return how often each pattern can be of use."""
        need = np.where(used > 0, -(-self.state.demand[None, :] // np.maximum(used, 1)), 0)
        return np.asarray(need.max(axis=1), dtype=np.int64)

    def _checked(self, layouts: list[Layout]) -> list[Layout] | None:
        """Return the plan without surplus when it covers all at the best price (counted again in integers)."""
        state, problem = self.state, self.state.problem
        exact = exact_layouts(layouts, problem)
        got: Counter[int] = Counter()
        taken: Counter[int] = Counter()
        for layout in exact:
            taken[layout.stock] += layout.copies
            for part, times in state.uses_of(layout.tree).items():
                got[part] += times * layout.copies
        if any(got[k] != d for k, d in enumerate(problem.demand)):
            return None
        if any(s.copies is not None and taken[i] > s.copies for i, s in enumerate(problem.stocks)):
            return None
        price = sum(problem.stocks[i].price * n for i, n in taken.items())
        return exact if price == state.price else None


def _with(least: list[Measure], measures: list[Measure], pick: int | None) -> list[Measure]:
    """Return the first measures, but the second for the sheet picked."""
    return [measures[k] if k == pick else one for k, one in enumerate(least)]
