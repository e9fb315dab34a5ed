"""How does a plan of joined pieces become a tree of saw cuts?

Inside the engine a pattern is ("leaf", i) or ("x" | "y", children): children side
by side along that axis. Here it is laid into its sheet and turned into `Cut`,
`Part`, `Pair` and `Rest` with true sizes (the kerf taken out again), names are
given to parts of merged kinds, and surplus parts become rest.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass

from enclosure.nesting.drops import drops_of
from enclosure.nesting.model import Axis, Cut, Filled, Node, Pair, Part, Pattern, Rest
from enclosure.nesting.sheets.fills import Fill, fill_size
from enclosure.nesting.sheets.problem import Leaf, Problem
from enclosure.nesting.sheets.space import Tree

Keep = Callable[[int, int], bool]


@dataclass(frozen=True, slots=True)
class Layout:
    """A pattern of the engine: stock index, tree of joined pieces, how many sheets are cut so."""

    stock: int
    tree: Tree
    copies: int = 1


def leaf_counts(tree: Tree) -> Counter[int]:
    """Return how often each leaf is in the tree."""
    count: Counter[int] = Counter()
    pending = [tree]
    while pending:
        node = pending.pop()
        if node[0] == "leaf":
            count[node[1]] += 1
        else:
            pending.extend(node[1])
    return count


def part_counts(tree: Tree, problem: Problem) -> Counter[int]:
    """Return how often each merged kind is in the tree."""
    count: Counter[int] = Counter()
    for leaf, times in leaf_counts(tree).items():
        for part in problem.leaves[leaf].parts:
            count[part] += times
    return count


def drop_surplus(tree: Tree, left: Counter[int], problem: Problem) -> Tree | None:
    """Return the tree without parts that `left` no longer wants; `left` is lowered by what stays.

    Of a pair of which one part is surplus the other stays alone; of filled drops those parts that are wanted.
    """
    if tree[0] == "leaf":
        parts = problem.leaves[tree[1]].parts
        wanted = []
        for part in parts:
            if left[part] > 0:
                left[part] -= 1
                wanted.append(part)
        return tree if len(wanted) == len(parts) else _lesser(problem, parts, wanted)
    children = [c for c in (drop_surplus(child, left, problem) for child in tree[1]) if c is not None]
    return (tree[0], tuple(children)) if children else None


def _lesser(problem: Problem, parts: tuple[int, ...], wanted: list[int]) -> Tree | None:
    """Return a tree that fits where a leaf with these parts lies and yields only those wanted."""
    if not wanted:
        return None
    if len(wanted) > 1 and wanted[0] == parts[0]:
        for index, leaf in enumerate(problem.leaves):
            if leaf.parts[0] == wanted[0] and sorted(leaf.parts[1:]) == sorted(wanted[1:]) and leaf.fills:
                return ("leaf", index)
    found = next(leaf for leaf in problem.leaves if leaf.parts == parts)
    if wanted[0] != parts[0] and found.fills:
        return _freely(problem, found, Counter(wanted))
    return ("leaf", single_leaf(problem, wanted[0], turned=False))


def _freely(problem: Problem, leaf: Leaf, wanted: Counter[int]) -> Tree | None:
    """Return the parts wanted from the drops of a leaf as plain rectangles; they fit without the sloped part too."""

    def picked(fill: Fill | None) -> Tree | None:
        if fill is None:
            return None
        if fill[0] == "part":
            if not wanted[fill[1]]:
                return None
            wanted[fill[1]] -= 1
            return ("leaf", single_leaf(problem, fill[1], turned=fill[2]))
        both = [tree for tree in (picked(fill[1]), picked(fill[2])) if tree is not None]
        return (fill[0], tuple(both)) if both else None

    assert leaf.fills is not None
    sides = [tree for tree in map(picked, leaf.fills) if tree is not None]
    return ("x", tuple(sides)) if sides else None


def single_leaf(problem: Problem, part: int, *, turned: bool) -> int:
    """Return the leaf that holds that kind alone."""
    for index, leaf in enumerate(problem.leaves):
        if leaf.parts == (part,) and leaf.turned == turned:
            return index
    raise LookupError(f"kind {part} has no leaf of its own")


def exact_layouts(layouts: list[Layout], problem: Problem) -> list[Layout]:
    """Return layouts that yield each kind exactly as often as wanted; surplus sheets vanish."""
    left = Counter(dict(enumerate(problem.demand)))
    out: list[Layout] = []
    for layout in layouts:
        copies, count = layout.copies, part_counts(layout.tree, problem)
        if not count:
            continue
        whole = min(copies, min(left[part] // times for part, times in count.items()))
        if whole:
            out.append(Layout(layout.stock, layout.tree, whole))
            for part, times in count.items():
                left[part] -= times * whole
        for _ in range(copies - whole):
            tree = drop_surplus(layout.tree, left, problem)
            if tree is None:
                break
            out.append(Layout(layout.stock, tree, 1))
    return out


def min_size(tree: Tree, problem: Problem) -> tuple[int, int]:
    """Return the least width and height that the tree needs [scaled units]."""
    if tree[0] == "leaf":
        leaf = problem.leaves[tree[1]]
        return leaf.width, leaf.height
    sizes = [min_size(child, problem) for child in tree[1]]
    if tree[0] == "x":
        return sum(w for w, _ in sizes), max(h for _, h in sizes)
    return max(w for w, _ in sizes), sum(h for _, h in sizes)


def to_patterns(
    layouts: list[Layout],
    problem: Problem,
    together: bool = True,
    keep: Keep | None = None,
    counted: bool = True,
) -> tuple[Pattern, ...]:
    """Return the layouts as patterns with names.

    Args:
        layouts: Exact layouts: each kind as often as wanted, together.
        problem: The job.
        together: Prefer parts of the groups already in a sheet among equal parts.
        keep: Says whether a rest of a true size [units] is worth keeping.
        counted: False for a layout on its own: names are then given without counting.
    """
    many = 1 << 40
    counts = [part_counts(layout.tree, problem) for layout in layouts]
    left = {
        part: [[i, problem.job.kinds[i].quantity if counted else many] for i in problem.members[part]]
        for part in sorted({part for count in counts for part in count})
    }
    stock_left = [[[i, problem.job.sheets[i].copies if counted else None] for i in s.members] for s in problem.stocks]
    out: list[Pattern] = []
    for layout, count in zip(layouts, counts, strict=True):
        remaining = layout.copies
        while remaining:
            names, most = _take_names(left, count, remaining, problem if together else None)
            sheet = next(s for s in stock_left[layout.stock] if s[1] is None or s[1] > 0)
            most = most if sheet[1] is None else min(most, sheet[1])
            for part, picks in names.items():
                for pick in picks:
                    entry = next(e for e in left[part] if e[0] == pick)
                    entry[1] -= most
            if sheet[1] is not None:
                sheet[1] -= most
            stock = problem.stocks[layout.stock]
            layer = _Layer(problem, {part: list(picks) for part, picks in names.items()}, keep)
            root = layer.cut(layout.tree, stock.width, stock.height)
            out.append(Pattern(problem.job.sheets[int(sheet[0] or 0)].key, most, root))
            remaining -= most
    return tuple(out)


def _take_names(
    left: dict[int, list[list[int]]], count: Counter[int], copies: int, problem: Problem | None
) -> tuple[dict[int, list[int]], int]:
    """Return the job kinds that stand for each merged kind of one sheet, and for how many sheets."""
    names: dict[int, list[int]] = {}
    most = copies
    groups: set[str] = set()
    for part, times in sorted(count.items(), key=lambda item: (len(left[item[0]]), item[0])):
        entries = [e for e in left[part] if e[1] > 0]
        if problem is not None:
            entries.sort(key=lambda e: problem.job.kinds[e[0]].group not in groups)
        picks: list[int] = []
        for index, have in entries:
            if not picks and have >= times:
                picks = [index] * times
                most = min(most, have // times)
                break
            take = min(have, times - len(picks))
            picks.extend([index] * take)
            most = 1
            if len(picks) == times:
                break
        names[part] = picks
        if problem is not None:
            groups.update(problem.job.kinds[index].group for index in picks)
    return names, most


class _Layer:
    """Lays one tree into its sheet.

    Args:
        problem: The job.
        queue: Job kinds still to be given out, for each merged kind.
        keep: Says whether a rest of a true size [units] is worth keeping.
    """

    def __init__(self, problem: Problem, queue: dict[int, list[int]], keep: Keep | None) -> None:
        self.problem, self.queue, self.keep = problem, queue, keep

    def cut(self, tree: Tree, width: int, height: int) -> Node:
        """Return the cuts that take `tree` out of a piece [scaled units, kerf added]."""
        if tree[0] == "leaf":
            leaf = self.problem.leaves[tree[1]]
            inner: Node = _leaf_node(leaf, self.problem, self.queue)
            inner = self.trim("x", leaf.width, width, leaf.height, inner)
            return self.trim("y", leaf.height, height, width, inner)
        axis, children, is_open = tree[0], tree[1], len(tree) == 3
        side, total, across = (0, width, height) if axis == "x" else (1, height, width)
        sizes = [min_size(child, self.problem)[side] for child in children]
        spare = total - sum(sizes)
        if is_open:
            sizes[-1], spare = sizes[-1] + spare, 0
        nodes = []
        for least, child in zip(sizes, children, strict=True):
            room = (least, height) if axis == "x" else (width, least)
            nodes.append((least, self.cut(child, room[0], room[1])))
        node: Node | None = None
        for least, inner in reversed(nodes):
            if node is None:
                node = self.trim(axis, least, least + spare, across, inner)
            else:
                at = (least - self.problem.kerf) * self.problem.scale
                node = Cut("x" if axis == "x" else "y", at, inner, node)
        assert node is not None
        return node

    def trim(self, axis: str, least: int, total: int, across: int, inner: Node) -> Node:
        """Return `inner` cut off a piece that is `total` long where it needs `least`."""
        if total <= least:
            return inner
        kerf, scale = self.problem.kerf, self.problem.scale
        far: Rest | None = None
        if total - least > kerf:
            size = (total - least - kerf) * scale, (across - kerf) * scale
            far = Rest(self.keep is not None and self.keep(*size))
        return Cut("x" if axis == "x" else "y", (least - kerf) * scale, inner, far)


def _leaf_node(leaf: Leaf, problem: Problem, queue: dict[int, list[int]]) -> Node:
    """Return the named leaf."""
    kinds, kerf = problem.job.kinds, problem.job.kerf
    first = kinds[queue[leaf.parts[0]].pop()]
    if leaf.fills is None:
        if len(leaf.parts) == 2:
            return Pair(first.key, kinds[queue[leaf.parts[1]].pop()].key)
        return Part(first.key, leaf.turned)

    def cut(fill: Fill, width: int, height: int) -> Node:
        if fill[0] == "part":
            part: Node = Part(kinds[queue[fill[1]].pop()].key, fill[2])
            return trimmed("x", fill[3], width, trimmed("y", fill[4], height, part))
        axis: Axis = fill[0]
        least = fill_size(fill[1], kerf)[0 if axis == "x" else 1]
        near, far = ((least, height), (width - least - kerf, height)) if axis == "x" else (
            (width, least), (width, height - least - kerf)
        )
        return Cut(axis, least, cut(fill[1], *near), cut(fill[2], *far))

    def trimmed(axis: Axis, least: int, total: int, inner: Node) -> Node:
        if total == least:
            return inner
        return Cut(axis, least, inner, Rest() if total - least > kerf else None)

    trees = [
        None if fill is None or drop is None else cut(fill, drop.width, drop.rise)
        for fill, drop in zip(leaf.fills, drops_of(first, kerf), strict=True)
    ]
    return Filled(first.key, *trees)
