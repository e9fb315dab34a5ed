"""How is a value refused that lies outside the range of a formula?

One helper for every formula of this package: name, value, unit and range in
one message, so that no check goes on with a number that means nothing.
"""

from __future__ import annotations

import math
from itertools import pairwise

from enclosure.errors import RangeError

GRAVITY = 9.80665
"""Conventional acceleration of free fall [m/s²]."""


def within(name: str, value: float, low: float, high: float, unit: str = "", hint: str = "") -> float:
    """Return `value`, or raise RangeError when it is not a number from `low` to `high`."""
    if not math.isfinite(value) or not low <= value <= high:
        tail = f" {unit}" if unit else ""
        raise RangeError(f"{name} is {value:g}{tail}; it must lie from {low:g} to {high:g}{tail}", hint)
    return value


def interpolate(x: float, table: tuple[tuple[float, float], ...]) -> float:
    """Return the straight-line value between the rows (x, y) of a rising table; its end values beyond."""
    if x <= table[0][0]:
        return table[0][1]
    for (x0, y0), (x1, y1) in pairwise(table):
        if x <= x1:
            return y0 + (y1 - y0) * (x - x0) / (x1 - x0)
    return table[-1][1]
