"""The main job, end to end: from a brief to a folder, all or nothing, the same bytes every time."""

from __future__ import annotations

import csv
import filecmp
import os
import subprocess
import sys
from collections import Counter
from pathlib import Path

import ezdxf
import pytest
from pypdf import PdfReader

from enclosure.audit.folder import audit_folder
from enclosure.nesting.replay import placements
from enclosure.pipeline.make import MakeResult, make
from enclosure.shape.model import SheetCut
from enclosure.shape.serial import from_json
from tests.shelters import BRIEFS

NAMES = [path.stem for path in BRIEFS]


@pytest.fixture(scope="module", params=NAMES)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> MakeResult:
    brief = next(path for path in BRIEFS if path.stem == request.param)
    return make(brief, tmp_path_factory.mktemp("made") / "papers", solids=False)


def test_there_are_five_briefs() -> None:
    assert len(NAMES) >= 5


def test_all_files_are_there(made: MakeResult) -> None:
    wanted = {
        "design.json", "plan.json", "cut-list.csv", "buying-list.csv", "lists.xlsx", "packet.pdf", "labels.pdf",
        "raising.pdf", "report.pdf", "dxf/elevations.dxf", "shelter.glb", "shelter.svg", "shelter.html", "summary.txt",
    }  # fmt: skip
    assert wanted <= set(made.files)
    assert all((made.out_dir / name).stat().st_size > 0 for name in made.files)
    panels = [n for n in made.files if n.startswith("dxf/panel-")]
    assert len(panels) == len(made.design.panels())


def test_the_audit_finds_nothing(made: MakeResult) -> None:
    """All files read again by code that shares nothing with the writers; see `test_audit.py` for what it catches."""
    audit = audit_folder(made.out_dir)
    assert [str(row) for row in audit.findings] == []
    assert audit.parts == len(made.design.parts)


def test_the_design_reads_back_equal(made: MakeResult) -> None:
    assert from_json((made.out_dir / "design.json").read_text(encoding="utf-8")) == made.design


def test_every_part_is_cut_exactly_once(made: MakeResult) -> None:
    """Counted from the plans' placed pieces by size, not from the plans' own totals."""
    for item in made.plans.sheet_jobs:
        placed: Counter[str] = Counter()
        for pattern in item.plan.patterns:
            for piece in placements(item.job, pattern):
                placed[piece.key] += pattern.copies
        assert placed == Counter({kind.key: kind.quantity for kind in item.job.kinds})
        for key, marks in item.marks.items():
            kind = next(k for k in item.job.kinds if k.key == key)
            for mark in marks:
                cut = made.design.part(mark).cut
                assert isinstance(cut, SheetCut)
                assert round(cut.width_mm * 10000) == kind.width
                assert round(cut.height_mm * 10000) == kind.height
    marks = Counter(
        mark
        for item in (*made.plans.sheet_jobs, *made.plans.stick_jobs)
        for names in item.marks.values()
        for mark in names
    )
    assert marks == Counter(part.mark for part in made.design.parts)


def test_fluted_parts_are_never_turned(made: MakeResult) -> None:
    for item in made.plans.sheet_jobs:
        if made.design.material(item.material).flutes:
            for pattern in item.plan.patterns:
                assert not any(piece.turned for piece in placements(item.job, pattern))


def test_the_lists_agree_with_the_design(made: MakeResult) -> None:
    with (made.out_dir / "cut-list.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert Counter(row["mark"] for row in rows) == Counter(part.mark for part in made.design.parts)
    total = sum(line.total_cents for line in made.plans.buying)
    assert total == made.plans.total_cents
    assert all(line.total_cents == line.count * line.unit_price_cents for line in made.plans.buying)


def test_drawings_pass_the_audit_and_are_in_millimetres(made: MakeResult) -> None:
    names = [n for n in made.files if n.endswith(".dxf")]
    assert names
    for name in (names[0], names[-1], "dxf/elevations.dxf"):
        document = ezdxf.readfile(made.out_dir / name)
        assert document.audit().errors == []
        assert document.header["$INSUNITS"] == 4
        assert document.dxfversion >= "AC1024"


def test_papers_have_the_size_that_was_asked_for(made: MakeResult) -> None:
    """ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1: Letter is 8.5 x 11 in; a point is 1/72 in."""
    wanted = {"A4": (210 / 25.4 * 72, 297 / 25.4 * 72), "Letter": (612.0, 792.0)}[made.design.paper]
    for name in ("packet.pdf", "raising.pdf"):
        for page in PdfReader(made.out_dir / name).pages:
            size = sorted((float(page.mediabox.width), float(page.mediabox.height)))
            assert size == pytest.approx(wanted, abs=0.6)


def test_every_panel_number_is_on_a_label_and_in_the_packet(made: MakeResult) -> None:
    labels = "\n".join(page.extract_text() for page in PdfReader(made.out_dir / "labels.pdf").pages)
    packet = "\n".join(page.extract_text() for page in PdfReader(made.out_dir / "packet.pdf").pages)
    for part in made.design.parts:
        if part.kind not in ("panel", "film"):
            assert part.mark in labels, part.mark
        assert part.mark in packet, part.mark


def test_two_runs_give_the_same_bytes(tmp_path: Path) -> None:
    brief = next(path for path in BRIEFS if path.stem == "potted-lemon")
    code = "import sys; from enclosure.cli.main import main; main(sys.argv[1:])"
    for name, seed, zone in (("one", "1", "UTC"), ("two", "77", "Asia/Tokyo")):
        subprocess.run(
            [sys.executable, "-c", code, "make", str(brief), "-o", str(tmp_path / name), "-q"],
            env={**os.environ, "PYTHONHASHSEED": seed, "TZ": zone},
            check=False,
            timeout=300,
        )
    files = sorted(p.relative_to(tmp_path / "one").as_posix() for p in (tmp_path / "one").rglob("*") if p.is_file())
    assert len(files) > 20
    assert "shelter.step" in files
    same, differ, missing = filecmp.cmpfiles(tmp_path / "one", tmp_path / "two", files, shallow=False)
    assert (differ, missing) == ([], [])
    assert len(same) == len(files)
