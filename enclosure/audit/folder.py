"""Do the finished papers in a folder agree with the design, with each other and with the saw?

One call reads everything that ``enclosure make`` wrote and returns what does not
agree. Nothing is imported from the packages that design, nest or write: what is
shared with them is this folder and the formats of its files.

Left out: what drawn pages show beside their words, whether the design stands or keeps
warm, whether a bound in a cutting plan is true.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from enclosure.audit import (
    drawings,
    joint,
    old_parts,
    packet,
    packet_sums,
    papers,
    pictures,
    season_papers,
    step_file,
    tables,
    whole_views,
    workbook,
)
from enclosure.audit.design_own import check_design, check_order
from enclosure.audit.findings import Finding, Findings
from enclosure.audit.readers import Papers, Record, read_papers
from enclosure.audit.replay import Saw, follow
from enclosure.errors import OutputError
from enclosure.language import ENGLISH, spoken

MANIFEST = ".enclosure-manifest.json"


@dataclass(frozen=True, slots=True)
class Audit:
    """What an audit found.

    Args:
        findings: What does not agree, in the order of the checks; empty when all is well.
        notes: What could not be looked at.
        parts: Number of parts looked for.
        files: Number of files in the folder.
    """

    findings: tuple[Finding, ...]
    notes: tuple[str, ...]
    parts: int
    files: int


def audit_folder(folder: Path, *, manifest: bool = True) -> Audit:
    """Read a folder that ``enclosure make``, ``outgrow`` or ``grove`` wrote and return what does not agree.

    Args:
        folder: The folder.
        manifest: Also compare the files with the folder's own list of checksums.

    Raises:
        OutputError: The folder holds no design.
    """
    several = joint.is_grove(folder)
    if not several and not (folder / "design.json").is_file():
        raise OutputError(f"{folder} holds no design.json", "give a folder that enclosure make, outgrow or grove wrote")
    findings = Findings()
    if manifest:
        with findings.reading(MANIFEST):
            _check_manifest(folder, findings)
    shelters: list[tuple[str, Record]] = []
    if several:
        read, shelters = joint.read_grove(folder, findings)
    else:
        read = read_papers(folder, findings)
    saw = Saw()
    if read.plan and read.design:
        with findings.reading("plan.json"):
            saw = follow(read.plan, findings)
        with findings.reading("design.json"), spoken(str(read.design.get("language", ENGLISH))):
            if several:
                joint.check_grove(read, shelters, saw, findings)
            else:
                _run(read, saw, findings)
    files = sum(path.is_file() and path.name != MANIFEST for path in folder.rglob("*"))
    return Audit(tuple(findings.rows), tuple(findings.notes), len(read.design.get("parts", ())), files)


def _run(read: Papers, saw: Saw, findings: Findings) -> None:
    """Run every check; one that stumbles does not keep the others from running."""
    checks: tuple[tuple[str, Callable[[], None]], ...] = (
        ("design.json", lambda: check_design(read.design, findings)),
        ("design.json", lambda: check_order(read.design, findings)),
        ("old-parts.csv", lambda: old_parts.check_old_parts(read, findings)),
        ("plan.json", lambda: tables.check_plan_parts(read.design, read.plan, findings, old_parts.kept_marks(read))),
        ("cut-list.csv", lambda: tables.check_cut_list(read, saw, findings)),
        ("buying-list.csv", lambda: tables.check_buying(read, saw, findings)),
        ("lists.xlsx", lambda: workbook.check_workbook(read, saw, findings)),
        ("dxf", lambda: drawings.check_drawings(read, saw, findings)),
        ("dxf/elevations.dxf", lambda: whole_views.check_elevations(read, findings)),
        ("svg", lambda: pictures.check_pictures(read, saw, findings)),
        ("shelter.html", lambda: whole_views.check_page(read, findings)),
        ("shelter.svg", lambda: whole_views.check_picture(read, findings)),
        ("shelter.glb", lambda: drawings.check_glb(read, findings)),
        ("shelter.step", lambda: step_file.check_step(read, findings)),
        ("packet.pdf", lambda: papers.check_pdfs(read, findings)),
        ("packet.pdf", lambda: packet.check_packet(read, saw, findings)),
        ("packet.pdf", lambda: packet_sums.check_packet_sums(read, findings)),
        ("labels.pdf", lambda: papers.check_labels(read, findings)),
        ("raising.pdf", lambda: papers.check_raising(read, findings)),
        ("summary.txt", lambda: papers.check_summary(read, findings)),
        ("summary.txt", lambda: packet_sums.check_summary_sums(read, findings)),
        ("report.pdf", lambda: season_papers.check_report(read, findings)),
        ("calendar.ics", lambda: season_papers.check_calendar(read, findings)),
    )
    for file, check in checks:
        with findings.reading(file):
            check()


def _check_manifest(folder: Path, findings: Findings) -> None:
    listed: dict[str, str] = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))["sha256"]
    there = {
        path.relative_to(folder).as_posix(): path
        for path in folder.rglob("*")
        if path.is_file() and path.name != MANIFEST
    }
    for name in sorted(set(listed) - set(there)):
        findings.add(name, "", "is missing", "the file, as the manifest lists it")
    for name in sorted(set(there) - set(listed)):
        findings.add(name, "", "is not in the manifest", "files of this program only")
    for name in sorted(set(listed) & set(there)):
        found = hashlib.sha256(there[name].read_bytes()).hexdigest()
        if found != listed[name]:
            findings.add(name, "", f"sha256 {found[:12]}", f"{listed[name][:12]}: changed since it was made")
