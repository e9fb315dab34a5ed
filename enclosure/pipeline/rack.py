"""From cutting plans to a change of the rack, and back to a stock list that knows the rack.

read_all -> open_rack -> with_rack -> nesting.cut_everything -> change_of -> reuse.rack.propose
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path

from enclosure.brief.model import Brief
from enclosure.brief.read import find_named, read_all
from enclosure.choose.reused import offcut_rows
from enclosure.errors import BriefError
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.model import SheetKind, StickKind
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.pipeline.walk import Shelter, rebuild
from enclosure.reuse.match import old_pieces
from enclosure.reuse.rack import Change, Take, propose, rack_or_none, state_of, waits_for
from enclosure.reuse.rack_text import size_text
from enclosure.shape.model import Design
from enclosure.stock.model import Rack, RackSheet, RackStick, Stock
from enclosure.templates_home import templates_root

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class RackWish:
    """Which rack a plan starts from, and whether its change is to wait beside it.

    Args:
        path: The rack; that of the brief's own stock list when None.
        keep: Propose what the plan takes and the offcuts that it leaves.
    """

    path: Path | None = None
    keep: bool = False


@dataclass(frozen=True, slots=True)
class OpenRack:
    """A rack as it was when a plan was begun."""

    path: Path
    rack: Rack
    state: str
    why: str


@dataclass(frozen=True, slots=True)
class Planned:
    """A cut planned from a rack: the plans and the change that waits."""

    plans: Plans
    change: Change


def with_rack(stock: Stock, rack: Rack) -> Stock:
    """Return a stock list that has this rack instead of its own."""
    return stock.model_copy(update={"rack": rack})


def open_rack(wish: RackWish, brief_path: Path, brief: Brief) -> OpenRack | None:
    """Return the rack that a plan starts from; None when the stock list's own will do and is not changed.

    Raises:
        BriefError: The rack cannot be read, is a shipped file, or another cut waits for it.
    """
    if wish.path is None and not wish.keep:
        return None
    path = wish.path or find_named(brief_path, brief.stock, "stock")
    assert path is not None
    if wish.keep and path.resolve().is_relative_to(templates_root().resolve()):
        raise BriefError(
            f"the stock list {path.name} is a shipped one, whose rack is only an example",
            "name a rack file of your own, which need not exist yet: --keep-rack --rack rack.toml",
        )
    if not path.parent.is_dir():
        raise BriefError(f"there is no folder {path.parent} for the rack {path.name}", "make it first")
    if not wish.keep and not path.exists():
        raise BriefError(f"there is no rack {path}", "name a rack that exists, or start one with --keep-rack")
    if path.suffix.lower() not in (".toml", ".csv"):
        raise BriefError(f"{path} is neither a TOML nor a CSV file", "name the rack for instance rack.toml")
    state = state_of(path)
    why = f"papers of {brief_path.stem}"
    waits = waits_for(path) if wish.keep else None
    if waits not in (None, why):
        raise BriefError(
            f"a cut waits for {path}: {waits}",
            f"confirm it (enclosure rack confirm {path}) or forget it (enclosure rack drop {path}) first",
        )
    return OpenRack(path, rack_or_none(path), state, why)


def cut_from_rack(shelter: Shelter, opened: OpenRack, progress: Callable[[str], None] | None = None) -> Plans:
    """Return the cutting plans of a shelter from a rack and what can be bought, never dearer than without the rack."""
    plans = cut_everything(shelter.design, with_rack(shelter.stock, opened.rack), progress, progress)
    jobs: list[MaterialSheets | MaterialSticks] = [*plans.sheet_jobs, *plans.stick_jobs]
    if all(item.plan.status == "proved" for item in jobs):
        return plans
    bare = cut_everything(shelter.design, with_rack(shelter.stock, Rack()), progress, progress)
    return bare if bare.total_cents < plans.total_cents else plans


def propose_change(opened: OpenRack, plans: Plans) -> Change:
    """Let the change that some plans make to a rack wait beside it, and return it."""
    change = change_of(plans, opened.rack, opened.why)
    propose(opened.path, change, opened.state)
    return change


def change_words(opened: OpenRack, change: Change) -> tuple[str, ...]:
    """Return what waits beside a rack and what to do when the cut is made."""
    taken, laid = sum(t.copies for t in change.takes), sum(p.copies for p in change.adds)
    return (
        f"rack {opened.path}: the plan takes {taken or 'nothing'} and leaves {laid or 'no'} "
        f"offcut{'s' * (laid != 1)} worth keeping (sheets from {size_text(opened.rack.least_sheet_mm)}, sticks from "
        f"{size_text(opened.rack.least_stick_mm)}); nothing is changed yet",
        f"when it is cut: enclosure rack confirm {opened.path}",
    )


def plan_from_rack(rack_path: Path, brief_path: Path, progress: Progress | None = None) -> Planned:
    """Plan the cuts of a brief from a rack and let the change wait beside it.

    Args:
        rack_path: The rack; it stays as it is until the cut is confirmed.
        brief_path: The brief.
        progress: Told what is being done and the share done.
    """
    say = progress or (lambda text, share: None)
    brief, site, stock = read_all(brief_path)
    opened = open_rack(RackWish(rack_path, keep=True), brief_path, brief)
    assert opened is not None
    shelter = rebuild(brief, site, stock)
    plans = cut_from_rack(shelter, opened, lambda name: say(f"cutting plan: {name}", 0.5))
    change = propose_change(opened, plans)
    say("done", 1.0)
    return Planned(plans, change)


def change_of(plans: Plans, rack: Rack, why: str = "") -> Change:
    """Return what some plans take from a rack and the offcuts worth keeping that they leave.

    Args:
        plans: Made from a stock list with this rack; parts of an old shelter may have stood before its rows.
        rack: The rack; its least sizes say which offcuts are worth keeping.
        why: What the change is for.
    """
    takes: list[Take] = []
    for item in plans.sheet_jobs:
        rows = [i for i, row in enumerate(rack.sheets) if row.material == item.material]
        used = [(pattern.sheet, pattern.copies) for pattern in item.plan.patterns]
        takes += _takes("sheets", rows, used, _rack_rows(item.job.sheets))
    for rods in plans.stick_jobs:
        rows = [i for i, row in enumerate(rack.sticks) if row.material == rods.material]
        used = [(run.stick, run.copies) for run in rods.plan.patterns]
        takes += _takes("sticks", rows, used, _rack_rows(rods.job.sticks))
    adds = offcut_rows(plans, rack.least_sheet_mm, rack.least_stick_mm)
    return Change(tuple(takes), adds, why)


def _rack_rows(kinds: Iterable[SheetKind | StickKind]) -> int:
    return sum(kind.key.startswith("rack ") for kind in kinds)


def _takes(kind: str, rows: list[int], used: list[tuple[str, int]], owned: int) -> list[Take]:
    counts: dict[int, int] = {}
    before = owned - len(rows)
    for key, copies in used:
        if key.startswith("rack ") and int(key.removeprefix("rack ")) > before:
            place = rows[int(key.removeprefix("rack ")) - 1 - before]
            counts[place] = counts.get(place, 0) + copies
    return [Take(kind, row, count) for row, count in sorted(counts.items())]


def pieces_of(design: Design, margin_mm: float = 0.0) -> tuple[RackSheet | RackStick, ...]:
    """Return every part of an old shelter as a piece for the rack, where enough of it is left."""
    return tuple(item.piece for item in old_pieces(design, margin_mm))
