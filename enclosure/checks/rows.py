"""How is one row of the living checks put together?

Small helpers shared by the rows: a utilisation that never divides by nothing,
temperatures in both scales, and rows that only inform.
"""

from __future__ import annotations

from enclosure.checks.model import Check, Line, SourceKind
from enclosure.language import decimal

HOPELESS = 99.0


def ratio(demand: float, capacity: float) -> float:
    """Return demand over capacity; 0 when nothing is asked, 99 when nothing is there."""
    if demand <= 0.0:
        return 0.0
    return min(HOPELESS, demand / capacity) if capacity > 0.0 else HOPELESS


def degc(value: float) -> str:
    """Return a temperature for people, in both scales."""
    return decimal(f"{value:.1f} °C ({value * 1.8 + 32.0:.0f} °F)")


def kelvin(value: float) -> str:
    """Return a difference of temperatures for people, in both scales."""
    return decimal(f"{value:.1f} K ({value * 1.8:.0f} °F)")


def note(
    key: str,
    name: str,
    value: float,
    unit: str,
    clause: str,
    source_kind: SourceKind,
    *,
    inputs: tuple[str, ...] = (),
    assumptions: tuple[str, ...] = (),
    way_out: str = "",
    working: tuple[Line, ...] = (),
    governs: tuple[str, ...] = (),
) -> Check:
    """Return a row that informs only: its value stands in both columns and its utilisation is 0."""
    return Check(
        key,
        name,
        value,
        value,
        unit,
        0.0,
        clause,
        source_kind,
        inputs,
        assumptions,
        way_out,
        working,
        governs,
        advice=True,
    )
