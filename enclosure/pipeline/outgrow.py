"""From an old design and a new brief to the ways out, and to the papers of one of them.

read_design -> as built -> read_all(new brief) -> choose.outgrow -> checks -> outputs into a scratch folder
-> one rename
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.outgrow import Case, Outgrow, Way, outgrow
from enclosure.errors import BriefError, DesignError
from enclosure.language import spoken
from enclosure.outputs.folder import check_target, whole_folder
from enclosure.pipeline.check import checks_of, inspected
from enclosure.pipeline.rack import OpenRack, RackWish, change_of, change_words, open_rack, with_rack
from enclosure.pipeline.walk import Shelter
from enclosure.reuse.as_built import (
    AsBuilt,
    carried_text,
    corrected,
    differences,
    post_stays,
    read_as_built,
    ring_stays,
)
from enclosure.reuse.rack import Change, propose
from enclosure.shape.model import Design
from enclosure.shape.serial import from_json
from enclosure.stock.model import RackSheet

if TYPE_CHECKING:
    from enclosure.pipeline.labels import LabelWish

AS_BUILT = "as-built.toml"
Progress = Callable[[str, float], None]


def read_design(path: Path) -> Design:
    """Read a design file of this or an older schema version; a finished folder stands for the one in it.

    Raises:
        BriefError: The file is missing or is no design.
    """
    path = path / "design.json" if path.is_dir() else path
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise BriefError(f"{path} cannot be read", "name the design.json in the papers of the old shelter") from error
    return from_json(text, str(path))


@dataclass(frozen=True)
class Outgrown:
    """The comparison with all it was made from.

    Args:
        found: The ways out.
        case: Old design, new brief, site, stock.
        over: For each way that can be made, how many of its checks are over 1.00.
        brief_path: The new brief.
        opened: The rack whose change is to wait, None without one.
    """

    found: Outgrow
    case: Case
    over: Mapping[str, int]
    brief_path: Path
    opened: OpenRack | None = None

    def way(self, key: str | None) -> Way:
        """Return a way by its key, the cheapest without one.

        Raises:
            DesignError: It cannot be made, or none can.
        """
        wanted = (w for w in self.found.ways if key in (None, w.key))
        way = next(wanted)
        if not way.possible:
            raise DesignError(f"{way.title}: {way.reason}", "choose another way")
        return way


def measured_beside(design_path: Path, named: Path | None) -> AsBuilt | None:
    """Return the corrections named, or those that lie beside a design as as-built.toml; None without any."""
    beside = design_path / AS_BUILT if design_path.is_dir() else design_path.with_name(AS_BUILT)
    if named is None and not beside.is_file():
        return None
    return read_as_built(named or beside)


def outgrow_files(
    old_path: Path,
    brief_path: Path,
    *,
    as_built: Path | None = None,
    margin_mm: float = 0.0,
    age_years: float = 0.0,
    sheet_work: int | None = None,
    rack: RackWish | None = None,
    progress: Progress | None = None,
) -> Outgrown:
    """Compare the ways out for an old shelter and a new brief.

    Args:
        old_path: ``design.json`` of the shelter that stands, or its folder.
        brief_path: Brief for the plant as it is now.
        as_built: Measured corrections of the old shelter; those beside its design when None.
        margin_mm: Taken off each edge of a panel that is cut again.
        age_years: Age of the old shelter; skins past their life are not used again.
        sheet_work: Work units for one sheet job.
        rack: Rack to cut from too, and whether its change is to wait; that of the stock list when None.
        progress: Told what is being done and the share done.
    """
    drawn = read_design(old_path)
    brief, site, stock = read_all(brief_path)
    opened = open_rack(rack or RackWish(), brief_path, brief)
    if opened is not None:
        stock = with_rack(stock, opened.rack)
    measured = measured_beside(old_path, as_built)
    old = drawn if measured is None else corrected(drawn, measured)
    worn = frozenset(key for key, skin in stock.skins.items() if 0 < skin.life_years <= age_years)
    limits = span_limits(brief, site, stock)
    case = Case(
        old, brief, site, stock, limits, margin_mm, worn, sheet_work,
        drawn=None if measured is None else drawn, measured=measured,
    )  # fmt: skip
    with spoken(brief.papers.language):
        found = outgrow(case, progress)
    over = {way.key: _over(_shelter(case, way)) for way in found.ways if way.possible}
    return Outgrown(found, case, over, brief_path, opened if rack is not None and rack.keep else None)


def _shelter(case: Case, way: Way) -> Shelter:
    assert way.design is not None
    return Shelter(case.brief, case.site, case.stock, way.design)


def _over(shelter: Shelter) -> int:
    return sum(not row.passes and not row.advice for row in checks_of(shelter, ways_out=False))


# --- papers ------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class PaperWish:
    """What the papers of a way are to hold beside the usual.

    Args:
        solids: Write the STEP file.
        plots: Put the pictures of heat, winter, sun and cost into the report.
        year: Year in which the first season of the calendar begins; every year when None.
        labels: Label sheet, first cell and offsets; those of the brief when None.
    """

    solids: bool = False
    plots: bool = False
    year: int | None = None
    labels: LabelWish | None = None


def write_way(
    done: Outgrown, way: Way, out_dir: Path, wish: PaperWish | None = None, *, force: bool = False,
    progress: Progress | None = None,
) -> tuple[str, ...]:  # fmt: skip
    """Write all papers of one way into a folder, all or nothing, and return lines for people.

    Args:
        done: The comparison.
        way: The way that is taken.
        out_dir: Folder to write; its parent must exist.
        wish: What the papers hold beside the usual; nothing when None.
        force: Replace the folder even when it holds other files.
        progress: Told what is being done and the share done.

    Raises:
        OutputError: The folder cannot be written or replaced.
        VerifyError: The finished papers disagree; nothing is written.
    """
    from enclosure.outputs.old_parts import OldParts, label_notes, labels_table, old_parts_table
    from enclosure.outputs.tables import to_csv
    from enclosure.pipeline.make import Told, audit, write_papers, write_report, write_solids

    wish = wish or PaperWish()
    say = progress or (lambda text, share: None)
    check_target(out_dir, force=force)
    case = done.case
    assert way.plans is not None
    with spoken(case.brief.papers.language):
        built = differences(case.drawn, case.old) if case.drawn is not None else {}
        old = OldParts(case.old, done.found, way, case.margin_mm, built, done.over)
        checked = inspected(_shelter(case, way))
        notes_of = label_notes(old)
    with whole_folder(out_dir, force=force) as scratch:
        told = Told(old, notes_of, _carried(case, way))
        notes = write_papers(checked, way.plans, scratch, say, wish.labels, told)
        for name, table in (("old-parts.csv", old_parts_table(old)), ("labels.csv", labels_table(old))):
            (scratch / name).write_bytes(to_csv(table).encode())
        say("report", 0.85)
        notes += write_report(checked, scratch, wish.plots, wish.year)
        say("solids", 0.9)
        if wish.solids:
            notes += write_solids(checked.shelter.design, scratch)
        say("audit", 0.95)
        audit(scratch)
        files = sum(path.is_file() for path in scratch.rglob("*"))
    lines = [f"{files} files in {out_dir} for: {way.title}", *(f"note: {words}" for words in (*way.notes, *notes))]
    lines += [f"over 1.00: {row.name}, {row.utilisation:.2f}; {row.way_out}" for row in checked.failing]
    if done.opened is not None:
        lines += change_words(done.opened, _propose(done.opened, way))
    say("done", 1.0)
    return tuple(lines)


def _carried(case: Case, way: Way) -> str:
    """Return the file of what was measured and is still true of what is kept; "" where nothing was."""
    if case.measured is None or way.design is None:
        return ""
    there = {post.mark: post for post in case.old.anchors}
    posts = [p.mark for p in way.design.anchors if p.mark in there and post_stays(p, there[p.mark])]
    kept = [fate.old for fate in way.fates if fate.end == "keep"]
    return carried_text(case.measured, kept, posts, ring=ring_stays(way.design, case.old.base))


def _propose(opened: OpenRack, way: Way) -> Change:
    """Let wait what a way takes from the rack, and its offcuts and sound spare parts that are worth keeping."""
    assert way.plans is not None
    change = change_of(way.plans, opened.rack, opened.why)
    rack = opened.rack
    spare = [
        item.piece
        for item in way.unused
        if (
            min(item.piece.width_mm, item.piece.height_mm) >= rack.least_sheet_mm
            if isinstance(item.piece, RackSheet)
            else item.piece.length_mm >= rack.least_stick_mm
        )
    ]
    change = Change(change.takes, (*change.adds, *spare), change.why)
    propose(opened.path, change, opened.state)
    return change
