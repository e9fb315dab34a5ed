"""What is a check?

One row of the engineer's sheet: what is asked of a part, what it can give, by
which clause, from which inputs, under which assumptions, and the smallest
change that would pass.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

SourceKind = Literal["published", "handbook", "practice", "memory"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a worked calculation.

    Args:
        symbol: Symbol or name of the quantity.
        formula: The formula in symbols, empty for an input.
        numbers: The formula with numbers put in, empty for an input.
        value: Result.
        unit: Unit of the result, "" for a pure number.
        source: Clause, table, or "common practice, no source" / "from memory".
    """

    symbol: str
    formula: str
    numbers: str
    value: float
    unit: str
    source: str = ""


@dataclass(frozen=True, slots=True)
class Check:
    """One demand against one capacity.

    Args:
        key: Short name for `--explain`, unique, plain words with hyphens ("wind-uplift").
        name: Name for people.
        demand: What is asked.
        capacity: What can be given.
        unit: Unit of both.
        utilisation: Demand over capacity (for checks where more is better the
            inverse, so that above 1.00 is always a failure).
        clause: Standard and clause, or "common practice, no source" / "from memory".
        source_kind: How far the method can be trusted.
        inputs: Values the grower gave or the design has, as text with units.
        assumptions: What was assumed, one sentence each.
        way_out: The smallest change that passes; empty when it passes.
        working: The calculation line by line.
        governs: Marks or addresses of the part that governs.
        advice: True when the row only informs and never sets the exit code.

    >>> Check("sag", "sag under snow", 12.0, 10.0, "mm", 1.2, "common practice, no source", "practice").passes
    False
    """

    key: str
    name: str
    demand: float
    capacity: float
    unit: str
    utilisation: float
    clause: str
    source_kind: SourceKind
    inputs: tuple[str, ...] = ()
    assumptions: tuple[str, ...] = ()
    way_out: str = ""
    working: tuple[Line, ...] = field(default_factory=tuple)
    governs: tuple[str, ...] = ()
    advice: bool = False

    @property
    def passes(self) -> bool:
        """True when the demand does not exceed the capacity."""
        return self.utilisation <= 1.0


def worst_first(checks: tuple[Check, ...]) -> tuple[Check, ...]:
    """Return the checks by falling utilisation; ties by key."""
    return tuple(sorted(checks, key=lambda c: (-c.utilisation, c.key)))
