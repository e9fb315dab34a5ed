"""From a brief to a folder of papers.

design_from -> nesting.cut_everything -> checks -> outputs into a scratch folder -> one rename
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.checks.model import Check
from enclosure.errors import OutputError, VerifyError
from enclosure.language import spoken
from enclosure.money import money
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.outputs.folder import check_target, whole_folder
from enclosure.pipeline.check import CheckResult, inspected
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.model import Design

if TYPE_CHECKING:
    from enclosure.outputs.old_parts import OldParts
    from enclosure.outputs.paper.label_notes import LabelNote
    from enclosure.pipeline.labels import LabelWish
    from enclosure.pipeline.rack import OpenRack, RackWish

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class MakeResult:
    """What making gives back.

    Args:
        out_dir: The folder that was written.
        files: Its files, relative to it, in reading order.
        summary: Lines for people.
        notes: What was left out and why.
        checks: All checks, worst first.
        design: The shelter.
        plans: Cutting plans and buying list.
    """

    out_dir: Path
    files: tuple[str, ...]
    summary: tuple[str, ...]
    notes: tuple[str, ...]
    checks: tuple[Check, ...]
    design: Design
    plans: Plans


@dataclass(frozen=True, slots=True)
class Told:
    """What papers say beside the shelter itself.

    Args:
        old: The shelter that it grew out of.
        notes: By mark, what a label says of the old part or of sizes measured after building.
        measured: The file of what was measured, to lie beside the design; "" without one.
    """

    old: OldParts | None
    notes: Mapping[str, LabelNote]
    measured: str = ""


def make(
    brief_path: Path,
    out_dir: Path,
    *,
    force: bool = False,
    solids: bool = True,
    plots: bool = False,
    year: int | None = None,
    labels: LabelWish | None = None,
    rack: RackWish | None = None,
    as_built: Path | None = None,
    progress: Progress | None = None,
) -> MakeResult:
    """Write every paper of a brief into a folder, all or nothing.

    Args:
        brief_path: The brief.
        out_dir: Folder to write; its parent must exist.
        force: Replace the folder even when it holds other files.
        solids: Write the STEP file too; the GLB and all papers come without it.
        plots: Put the pictures of heat, winter, sun and cost into the report too (takes a second or two more).
        year: Year in which the first season of the calendar begins; every year from a fixed one when None.
        labels: Label sheet, first cell and offsets; those of the brief when None.
        rack: Rack to cut from, and whether its change is to wait beside it; that of the stock list when None.
        as_built: What was measured after building: new parts meet it, and labels say it.
        progress: Told what is being done and the share done, 0 to 1.

    Raises:
        FaultsError: The brief cannot be read.
        DesignError: The shelter cannot be made; VerifyError when its papers failed the audit.
        OutputError: The folder cannot be written or replaced.

    >>> import tempfile
    >>> from enclosure.templates_home import find_template
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     made = make(find_template("briefs", "tree-fern"), Path(folder) / "papers", solids=False)
    >>> "packet.pdf" in made.files, "design.json" in made.files, made.notes[-1]
    (True, True, 'shelter.step was left out, as asked')
    """
    say = progress or (lambda text, share: None)
    check_target(out_dir, force=force)
    say("reading the brief", 0.02)
    shelter, told = _begun(brief_path, as_built)
    say("cutting plans", 0.1)
    opened = _open_rack(rack, brief_path, shelter)
    plans = _cut(shelter, opened, lambda name: say(f"cutting plan: {name}", 0.15))
    say("checks", 0.35)
    found = _inspected(shelter)
    with whole_folder(out_dir, force=force) as scratch:
        notes = write_papers(found, plans, scratch, say, labels, told)
        say("report", 0.8)
        notes += write_report(found, scratch, plots, year)
        say("solids", 0.88)
        notes += write_solids(shelter.design, scratch) if solids else ["shelter.step was left out, as asked"]
        say("audit", 0.95)
        audit(scratch)
        files = _names(scratch)
    summary = (*_summary(shelter, plans, found.checks), *_propose(rack, opened, plans))
    say("done", 1.0)
    return MakeResult(out_dir, files, summary, tuple(notes), found.checks, shelter.design, plans)


def _inspected(shelter: Shelter) -> CheckResult:
    """Return the verdict in the language of the papers."""
    with spoken(shelter.design.language):
        return inspected(shelter)


def _names(folder: Path) -> tuple[str, ...]:
    return tuple(sorted(p.relative_to(folder).as_posix() for p in folder.rglob("*") if p.is_file()))


def _begun(brief_path: Path, as_built: Path | None) -> tuple[Shelter, Told | None]:
    shelter = design_from(brief_path)
    if as_built is None:
        return shelter, None
    from enclosure.pipeline.as_built import built_shelter

    built = built_shelter(shelter, as_built)
    return built.shelter, Told(None, built.notes, built.text)


def _open_rack(rack: RackWish | None, brief_path: Path, shelter: Shelter) -> OpenRack | None:
    if rack is None:
        return None
    from enclosure.pipeline.rack import open_rack

    return open_rack(rack, brief_path, shelter.brief)


def _cut(shelter: Shelter, opened: OpenRack | None, progress: Callable[[str], None]) -> Plans:
    if opened is None:
        return cut_everything(shelter.design, shelter.stock, progress, progress)
    from enclosure.pipeline.rack import cut_from_rack

    return cut_from_rack(shelter, opened, progress)


def _propose(rack: RackWish | None, opened: OpenRack | None, plans: Plans) -> tuple[str, ...]:
    """Let the change of the rack wait when the papers stand in their place, and say so."""
    if rack is None or opened is None or not rack.keep:
        return ()
    from enclosure.pipeline.rack import change_words, propose_change

    return change_words(opened, propose_change(opened, plans))


def write_papers(
    found: CheckResult, plans: Plans, folder: Path, say: Progress, labels: LabelWish | None, told: Told | None = None
) -> list[str]:
    """Write all papers but report and solids into a folder and return the design's warnings.

    Args:
        found: The shelter and its checks.
        plans: Cutting plans and buying list.
        folder: Folder to write into.
        say: Told what is being done and the share done.
        labels: Label sheet, first cell and offsets.
        told: What papers and labels say of old parts and measured sizes.
    """
    from enclosure.outputs import dxf, glb, tables
    from enclosure.outputs.cut_svg import write_cut_pictures
    from enclosure.outputs.page import write_page
    from enclosure.outputs.paper.packet import write_packet
    from enclosure.outputs.paper.raising import write_raising
    from enclosure.outputs.view_svg import view_svg
    from enclosure.pipeline.report import events_of
    from enclosure.shape.serial import to_json

    shelter, checks = found.shelter, found.checks
    design = shelter.design
    say("lists", 0.4)
    (folder / "design.json").write_text(to_json(design), encoding="utf-8", newline="\n")
    tables.write_tables(design, plans, folder, checks)
    if told is not None and told.measured:
        (folder / "as-built.toml").write_text(told.measured, encoding="utf-8", newline="\n")
    say("packet", 0.5)
    write_packet(design, plans, folder / "packet.pdf", told.old if told else None)
    say("labels", 0.6)
    _write_labels(shelter, folder / "labels.pdf", labels, told.notes if told else None)
    say("raising", 0.65)
    write_raising(design, folder / "raising.pdf", events_of(shelter))
    say("drawings", 0.75)
    drawings = folder / "dxf"
    drawings.mkdir()
    dxf.write_sheets(design, plans, drawings)
    dxf.write_panels(design, drawings)
    dxf.write_elevations(design, drawings)
    dxf.write_frame_parts(design, drawings)
    dxf.write_details(design, drawings)
    pictures = folder / "svg"
    pictures.mkdir()
    if not write_cut_pictures(design, plans, pictures):
        pictures.rmdir()
    glb.write_glb(design, folder / "shelter.glb")
    (folder / "shelter.svg").write_text(view_svg(design), encoding="utf-8", newline="\n")
    write_page(design, plans, folder / "shelter.html", checks)
    return list(design.warnings)


def audit(folder: Path) -> None:
    """Have the finished papers re-read by code that shares nothing with their writers."""
    from enclosure.audit.folder import audit_folder

    findings = audit_folder(folder, manifest=False).findings
    if findings:
        more = f" and {len(findings) - 1} more" if len(findings) > 1 else ""
        raise VerifyError(
            f"the finished papers disagree: {findings[0]}{more}; nothing was written",
            "this is a fault of the program, not of your brief; please report it with the brief",
        )


def write_report(found: CheckResult, folder: Path, plots: bool, year: int | None) -> list[str]:
    """Write report.pdf and calendar.ics; say what was left out."""
    from enclosure.pipeline.report import calendar_words, events_of, why_no_dates, write_calendar, write_report_of

    events, notes = events_of(found.shelter), []
    with spoken(found.shelter.design.language):
        said = calendar_words(year) if events else ""
    missing = write_report_of(found, folder / "report.pdf", events=events, calendar_words=said, plots=plots)
    if missing:
        notes.append(f"report.pdf: {missing}")
    if events:
        write_calendar(found.shelter, events, folder / "calendar.ics", year)
    else:
        notes.append(f"calendar.ics was left out: {why_no_dates(found.shelter)}")
    return notes


def write_solids(design: Design, folder: Path) -> list[str]:
    """Write the STEP file; without a CAD kernel say so in one line and go on."""
    from enclosure.outputs import solid

    try:
        solid.kernel()
    except OutputError as error:
        return [f"shelter.step was left out: {error.message}; {error.hint}" if error.hint else error.message]
    path = folder / "shelter.step"
    solid.write_step(design, path)
    solid.check_step(design, path)
    return []


def _write_labels(
    shelter: Shelter, path: Path, wish: LabelWish | None, notes: Mapping[str, LabelNote] | None
) -> None:
    from enclosure.outputs.paper.labels import write_labels
    from enclosure.pipeline.labels import LabelWish, label_sheet

    wish = wish or LabelWish()
    sheet = label_sheet(wish.sheet or shelter.brief.papers.labels or "")
    write_labels(shelter.design, path, sheet=sheet, start=wish.start, offset_mm=wish.offset_mm, notes=notes)


def _summary(shelter: Shelter, plans: Plans, checks: tuple[Check, ...]) -> tuple[str, ...]:
    """A few lines for the terminal; summary.txt says more."""
    from enclosure.units import format_length

    design = shelter.design

    def long(mm: float) -> str:
        return format_length(mm, design.units)

    panels = len(design.panels())
    width, depth, height = design.clear_mm
    sheets = sum(p.copies for item in plans.sheet_jobs if not item.ordered for p in item.plan.patterns)
    sticks = sum(p.copies for item in plans.stick_jobs for p in item.plan.patterns)
    everything: list[MaterialSheets | MaterialSticks] = [*plans.sheet_jobs, *plans.stick_jobs]
    proved = all(item.plan.status == "proved" for item in everything)
    over = [row for row in checks if not row.passes and not row.advice]
    return (
        f"{design.name}: clear inside {long(width)} wide, {long(depth)} deep, {long(height)} high",
        f"{panels} panels from {sheets} sheets, {len(design.parts) - panels} other parts, {sticks} sticks and lengths",
        f"to pay {money(plans.total_cents)} {plans.currency} ({plans.prices_note}); "
        + ("cutting proved at least cost" if proved else "cutting not yet proved at least cost"),
        f"raising: {design.raising_method}; {design.raising_reason}",
        f"{len(checks)} checks, {len(over)} over 1.00" if over else f"{len(checks)} checks, none over 1.00",
    )
