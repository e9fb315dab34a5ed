"""Which plan comes without any search?

Shelves: the highest part still wanted opens a shelf across the sheet, the widest
parts that still fit fill it, and a new shelf is opened above. A sheet filled so
is repeated as long as demand allows, so the effort does not grow with the number
of copies. Keeps to two stages when asked (then a shelf holds one height only);
otherwise crosscut, rip, trim. Used as first plan and for jobs too large for more.
"""

from __future__ import annotations

import numpy as np

from enclosure.nesting.sheets.points import IntArray
from enclosure.nesting.sheets.problem import Problem
from enclosure.nesting.sheets.space import Tree
from enclosure.nesting.sheets.trees import Layout, min_size


def shelf_plan(problem: Problem) -> list[Layout] | None:
    """Return layouts that cover the demand, or None when the finite stock ran out on the way."""
    single = [i for i, leaf in enumerate(problem.leaves) if len(leaf.parts) == 1]
    order = sorted(single, key=lambda i: (-problem.leaves[i].height, -problem.leaves[i].width, i))
    width = np.array([problem.leaves[i].width for i in order], dtype=np.int64)
    height = np.array([problem.leaves[i].height for i in order], dtype=np.int64)
    part = np.array([problem.leaves[i].parts[0] for i in order], dtype=np.int64)
    left = np.array(problem.demand, dtype=np.int64)
    stock_left = [s.copies for s in problem.stocks]
    layouts: list[Layout] = []
    while left.any():
        best: tuple[float, int, Tree, IntArray] | None = None
        for index, stock in enumerate(problem.stocks):
            if stock_left[index] == 0:
                continue
            filled = _fill(problem, order, (width, height, part), left, stock.width, stock.height)
            if filled is None:
                continue
            tree, used, area = filled
            score = area / (stock.price * stock.width * stock.height + 1e-9 * stock.width * stock.height)
            score = area / stock.price if stock.price else score * 1e12
            if best is None or score > best[0]:
                best = (score, index, tree, used)
        if best is None:
            return None
        _, index, tree, used = best
        times = int((left[used > 0] // used[used > 0]).min())
        have = stock_left[index]
        if have is not None:
            times = min(times, have)
            stock_left[index] = have - times
        left -= used * times
        layouts.append(Layout(index, tree, times))
    return downgrade(layouts, problem)


def _fill(
    problem: Problem,
    order: list[int],
    sizes: tuple[IntArray, IntArray, IntArray],
    wanted: IntArray,
    width: int,
    height: int,
) -> tuple[Tree, IntArray, int] | None:
    """Return one sheet filled by shelves: tree, uses, area; None when nothing fits."""
    wide, high, part = sizes
    left = wanted.copy()
    shelves: list[Tree] = []
    area, room_y = 0, height
    exact = problem.stages == 2
    while True:
        fits = (high <= room_y) & (wide <= width) & (left[part] > 0)
        if not fits.any():
            break
        shelf = int(high[int(fits.argmax())])
        row: list[Tree] = []
        room_x = width
        while True:
            can = (high == shelf) if exact else (high <= shelf)
            can = can & (wide <= room_x) & (left[part] > 0)
            if not can.any():
                break
            pick = int(can.argmax())
            times = int(min(left[part[pick]], room_x // wide[pick]))
            row.extend([("leaf", order[pick])] * times)
            left[part[pick]] -= times
            room_x -= int(wide[pick]) * times
            area += int(wide[pick] * high[pick]) * times
        shelves.append(("x", tuple(row)))
        room_y -= shelf
    if not shelves:
        return None
    return ("y", tuple(shelves)), wanted - left, area


def downgrade(layouts: list[Layout], problem: Problem) -> list[Layout]:
    """Return the layouts with sheets exchanged for cheaper ones that still hold what is cut from them."""
    used = [0] * len(problem.stocks)
    for layout in layouts:
        used[layout.stock] += layout.copies
    cheap = sorted(range(len(problem.stocks)), key=lambda i: (problem.stocks[i].price, i))
    out: list[Layout] = []
    for layout in layouts:
        width, height = min_size(layout.tree, problem)
        copies = layout.copies
        for index in cheap:
            stock = problem.stocks[index]
            if copies == 0 or stock.price >= problem.stocks[layout.stock].price:
                break
            if stock.width < width or stock.height < height:
                continue
            free = copies if stock.copies is None else min(copies, stock.copies - used[index])
            if free > 0:
                used[index] += free
                used[layout.stock] -= free
                copies -= free
                out.append(Layout(index, layout.tree, free))
        if copies:
            out.append(Layout(layout.stock, layout.tree, copies))
    return out
