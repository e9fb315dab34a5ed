"""The main job, end to end: from a brief to a folder, all or nothing, the same bytes every time."""

from __future__ import annotations

import csv
import filecmp
import json
import os
import signal
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path

import ezdxf
import pytest
from pypdf import PdfReader

from enclosure.cli.main import run
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
        "raising.pdf", "dxf/elevations.dxf", "shelter.glb", "shelter.svg", "summary.txt",
    }  # fmt: skip
    assert wanted <= set(made.files)
    assert all((made.out_dir / name).stat().st_size > 0 for name in made.files)
    panels = [n for n in made.files if n.startswith("dxf/panel-")]
    assert len(panels) == len(made.design.panels())


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


def test_an_untouched_folder_is_replaced_and_a_changed_one_is_not(tmp_path: Path) -> None:
    brief = next(path for path in BRIEFS if path.stem == "potted-lemon")
    folder = tmp_path / "papers"
    make(brief, folder, solids=False)
    before = (folder / "design.json").read_bytes()
    make(brief, folder, solids=False)
    assert (folder / "design.json").read_bytes() == before
    (folder / "my notes.txt").write_text("the ring is 12 mm long")
    assert run(["make", str(brief), "-o", str(folder), "--no-solids", "-q"]) == 1
    assert (folder / "my notes.txt").exists()
    assert run(["make", str(brief), "-o", str(folder), "--no-solids", "-q", "--force"]) in (0, 3)
    assert not (folder / "my notes.txt").exists()


WRONG = {
    "no unit": ('height = "6 ft 3 in"', "height = 75", 2),
    "negative growth": ('growth_height = "1 in"', 'growth_height = "-1 in"', 2),
    "no winters": ("winters = 5", "winters = 0", 2),
    "upside down": ('least = "4 in", most = "5 1/2 in"', 'least = "6 in", most = "5 1/2 in"', 2),
    "a 40 m tree": ('height = "6 ft 3 in"', 'height = "40 m"', 2),
    "not a number": ("winters = 5", "winters = nan", 2),
    "unknown key": ("winters = 5", "winterz = 5", 2),
    "unknown skin": ('all = "twin-wall-10"', 'all = "twin-wall-11"', 2),
    "one impossible bay": ('section = "2x3"', 'section = "2x3"\nbays = { back = 1 }', 1),
}


@pytest.mark.parametrize("case", sorted(WRONG))
def test_wrong_briefs_end_in_one_clear_error(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = next(path for path in BRIEFS if path.stem == "tree-fern").read_text(encoding="utf-8")
    old, new, code = WRONG[case]
    assert old in text, f"the tree fern brief no longer says {old}"
    if case == "one impossible bay":
        text = text.replace('spread_x = "30 in"', 'spread_x = "90 in"')
    brief = tmp_path / "wrong.toml"
    brief.write_text(text.replace(old, new), encoding="utf-8")
    assert run(["make", str(brief), "-o", str(tmp_path / "papers"), "--no-solids"]) == code
    said = capsys.readouterr().err
    assert said.startswith("error: ")
    assert "Traceback" not in said
    assert "hint:" in said or "use " in said or "write " in said
    assert list(tmp_path.iterdir()) == [brief]


def test_no_sheet_can_yield_the_panel(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A slot too shallow for the movement, and sheets narrower than the least bay."""
    home = next(path for path in BRIEFS if path.stem == "tree-fern")
    stock = (home.parent.parent / "stock" / "inch-stock.toml").read_text(encoding="utf-8")
    brief_text = home.read_text(encoding="utf-8").replace("inch-stock.toml", "mine.toml")
    (tmp_path / "b.toml").write_text(brief_text, encoding="utf-8")
    (tmp_path / "mine.toml").write_text(stock.replace('slot_depth = "30 mm"', 'slot_depth = "13 mm"'), encoding="utf-8")
    assert run(["make", str(tmp_path / "b.toml"), "-o", str(tmp_path / "papers"), "--no-solids"]) == 1
    said = capsys.readouterr().err
    assert "slot" in said
    assert "mm deep" in said
    assert not (tmp_path / "papers").exists()


@pytest.mark.parametrize(
    ("name", "content"),
    [("empty.toml", b""), ("binary.toml", bytes(range(256)) * 9), ("big.toml", b"# x\n" * 3_000_000)],
)
def test_files_that_are_no_briefs(
    name: str, content: bytes, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / name).write_bytes(content)
    assert run(["make", str(tmp_path / name), "-o", str(tmp_path / "papers")]) == 2
    said = capsys.readouterr().err
    assert name in said
    assert "Traceback" not in said
    assert not (tmp_path / "papers").exists()


def test_stopping_halfway_leaves_nothing(tmp_path: Path) -> None:
    brief = next(path for path in BRIEFS if path.stem == "tree-fern")
    code = "import sys; from enclosure.cli.main import main; main(sys.argv[1:])"
    task = subprocess.Popen(
        [sys.executable, "-c", code, "make", str(brief), "-o", str(tmp_path / "papers")],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        cwd=tmp_path,
    )
    deadline = time.monotonic() + 120
    while time.monotonic() < deadline and not any(tmp_path.iterdir()) and task.poll() is None:
        time.sleep(0.02)
    task.send_signal(signal.SIGINT)
    _, said = task.communicate(timeout=60)
    assert task.returncode == 130, said
    assert list(tmp_path.iterdir()) == []


def test_json_answer(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    brief = next(path for path in BRIEFS if path.stem == "potted-lemon")
    code = run(["make", str(brief), "-o", str(tmp_path / "papers"), "--no-solids", "--json"])
    facts = json.loads(capsys.readouterr().out)
    assert facts["exit_code"] == code
    assert "design.json" in facts["files"]
