"""From cutting plans to a change of the rack, and back to a stock list that knows the rack.

read_all -> with_rack -> nesting.cut_everything -> change_of -> reuse.rack.propose
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from enclosure.brief.read import read_all
from enclosure.choose.reused import offcut_rows
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.plans import Plans
from enclosure.pipeline.walk import rebuild
from enclosure.reuse.match import bolt_places, old_piece
from enclosure.reuse.rack import Change, Take, propose, read_rack
from enclosure.shape.model import Design
from enclosure.stock.model import Rack, RackSheet, RackStick, Stock

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Planned:
    """A cut planned from a rack: the plans, the change that waits, what it would cost without the rack."""

    plans: Plans
    change: Change


def with_rack(stock: Stock, rack: Rack) -> Stock:
    """Return a stock list that has this rack instead of its own."""
    return stock.model_copy(update={"rack": rack})


def plan_from_rack(rack_path: Path, brief_path: Path, progress: Progress | None = None) -> Planned:
    """Plan the cuts of a brief from a rack and let the change wait beside it.

    Args:
        rack_path: The rack; it stays as it is until the cut is confirmed.
        brief_path: The brief.
        progress: Told what is being done and the share done.
    """
    say = progress or (lambda text, share: None)
    brief, site, stock = read_all(brief_path)
    rack = read_rack(rack_path)
    shelter = rebuild(brief, site, with_rack(stock, rack))
    plans = cut_everything(shelter.design, shelter.stock, lambda name: say(f"cutting plan: {name}", 0.5))
    change = change_of(plans, rack, f"papers of {brief_path.stem}")
    propose(rack_path, change)
    say("done", 1.0)
    return Planned(plans, change)


def change_of(plans: Plans, rack: Rack, why: str = "") -> Change:
    """Return what some plans take from a rack and the offcuts worth keeping that they leave.

    Args:
        plans: Made from a stock list with this rack.
        rack: The rack; its least sizes say which offcuts are worth keeping.
        why: What the change is for.
    """
    takes: list[Take] = []
    for item in plans.sheet_jobs:
        rows = [i for i, row in enumerate(rack.sheets) if row.material == item.material]
        used = [(pattern.sheet, pattern.copies) for pattern in item.plan.patterns]
        takes += _takes("sheets", rows, used)
    for rods in plans.stick_jobs:
        rows = [i for i, row in enumerate(rack.sticks) if row.material == rods.material]
        used = [(run.stick, run.copies) for run in rods.plan.patterns]
        takes += _takes("sticks", rows, used)
    adds = offcut_rows(plans, rack.least_sheet_mm, rack.least_stick_mm)
    return Change(tuple(takes), adds, why)


def _takes(kind: str, rows: list[int], used: list[tuple[str, int]]) -> list[Take]:
    counts: dict[int, int] = {}
    for key, copies in used:
        if key.startswith("rack "):
            place = rows[int(key.removeprefix("rack ")) - 1]
            counts[place] = counts.get(place, 0) + copies
    return [Take(kind, row, count) for row, count in sorted(counts.items())]


def pieces_of(design: Design, margin_mm: float = 0.0) -> tuple[RackSheet | RackStick, ...]:
    """Return every part of an old shelter as a piece for the rack, where enough of it is left."""
    bolts = bolt_places(design)
    found = (old_piece(part, bolts, margin_mm) for part in design.parts)
    return tuple(item.piece for item in found if item is not None)
