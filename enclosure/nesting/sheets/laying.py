"""In which order is a sheet cut?

The same joined pieces can be laid down in several ways: a row may first be freed
from the rest beside it by one cut (one large offcut, fewer trims), and pieces of
equal size follow each other so that the fence stays and then moves one way. A
style says which trims of the whole sheet come first: "" none, "x" the rip, "y"
the crosscut, "xy" both, rip first.
"""

from __future__ import annotations

from enclosure.nesting.sheets.problem import Problem
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.trees import min_size

STYLES = ("", "x", "y", "xy", "yx")


def lay(tree: Tree, width: int, height: int, problem: Problem, style: str) -> Tree:
    """Return the tree with rows sorted, and with the style's first trims as rows of one piece."""
    out = tidy(tree, problem)
    least = dict(zip("xy", min_size(out, problem), strict=True))
    room = {"x": width, "y": height}
    for axis in reversed(style):
        if room[axis] > least[axis]:
            out = (axis, (out,))
    return out


def tidy(tree: Tree, problem: Problem) -> Tree:
    """Return the tree with rows along one axis merged (unless stages are limited) and sorted, largest first."""
    if tree[0] == "leaf":
        return tree
    axis = tree[0]
    flat: list[Tree] = []
    for child in tree[1]:
        inner = tidy(child, problem)
        if inner[0] == axis and problem.stages is None:
            flat.extend(inner[1])
        else:
            flat.append(inner)
    if len(flat) == 1 and problem.stages is None:
        return flat[0]
    side = 0 if axis == "x" else 1
    sizes = [min_size(child, problem) for child in flat]
    order = sorted(range(len(flat)), key=lambda k: (-sizes[k][side], -sizes[k][1 - side], k))
    row = [flat[k] for k in order]
    if problem.stages is not None:
        return (axis, tuple(row))
    return (axis, tuple(_free(row, [sizes[k] for k in order], axis)))


def _free(row: list[Tree], sizes: list[tuple[int, int]], axis: str) -> list[Tree]:
    """Return the row; runs of low pieces are freed from the rest above them by one cut where that saves cuts."""
    cross = 1 if axis == "x" else 0
    top = max(size[cross] for size in sizes)
    low = [k for k, size in enumerate(sizes) if size[cross] < top]
    if len(low) < 2:
        return row
    tall = max(sizes[k][cross] for k in low)
    saved = len(low) - 1 - sum(sizes[k][cross] < tall for k in low)
    if saved <= 0 or len(low) == len(row):
        return row
    other = "y" if axis == "x" else "x"
    inner: Tree = (axis, tuple(row[k] for k in low))
    along = sum(sizes[k][1 - cross] for k in low)
    larger = [k for k in range(len(row)) if k not in low and sizes[k][1 - cross] >= along]
    smaller = [k for k in range(len(row)) if k not in low and sizes[k][1 - cross] < along]
    return [*(row[k] for k in larger), (other, (inner,)), *(row[k] for k in smaller)]
