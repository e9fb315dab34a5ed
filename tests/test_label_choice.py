"""Are single labels printed again: the right ones, from the right cell, from a brief and from a finished folder?"""

from __future__ import annotations

from pathlib import Path

import pdfplumber
import pytest
import zxingcpp

from enclosure.cli.main import run
from enclosure.errors import BriefError, EnclosureError, OutputError
from enclosure.outputs.paper.label_choice import chosen_marks
from enclosure.outputs.paper.label_sheet import read_label_sheet
from enclosure.shape.serial import to_json
from enclosure.templates_home import find_template
from tests.paper_pages import MM, picture_of
from tests.sample_design import sample_design

DESIGN = sample_design()
PANELS = [part.mark for part in DESIGN.panels()]


def test_marks_and_ranges_name_each_part_once_in_the_order_said() -> None:
    assert chosen_marks("3, 1-2,2 ,fm1–fm2,FM1-2", DESIGN) == ("3", "1", "2", "FM1", "FM2")


@pytest.mark.parametrize(
    ("said", "words"),
    [
        (f"1,{len(PANELS) + 1}", f"no panel {len(PANELS) + 1}"),
        (f"2-{len(PANELS) + 3}", rf"no panel {len(PANELS) + 1} \(in 2-{len(PANELS) + 3}\)"),
        ("FM99", "no part FM99"),
        ("", "no mark"),
        (" , ", "no mark"),
        ("3-1", "upward"),
        ("FM1-BM2", "within one kind"),
        ("1-2-3", "neither"),
        ("seven", "neither"),
        ("1-999999999", "more than"),
    ],
)
def test_what_does_not_exist_is_named_with_a_way_out(said: str, words: str) -> None:
    with pytest.raises(EnclosureError, match=words) as caught:
        chosen_marks(said, DESIGN)
    assert isinstance(caught.value, BriefError | OutputError)
    assert caught.value.hint


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder as far as reprinting needs it: its design.json."""
    made = tmp_path / "corner-papers"
    made.mkdir()
    (made / "design.json").write_text(to_json(DESIGN), encoding="utf-8")
    return made


def test_labels_come_again_from_a_finished_folder(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Panel 2 and 3 on cells 7 and 8 of a sheet of 8, 1 mm to the right; nothing else on the page."""
    monkeypatch.chdir(folder.parent)
    command = ["make", "corner-papers", "--label", "2-3", "--label-sheet", "a4-2x4", "--first-cell", "7", "-q"]
    assert run([*command, "--to-right", "1 mm"]) == 0
    sheet = read_label_sheet(find_template("labels", "a4-2x4"))
    path = Path("corner-papers-labels.pdf")
    with pdfplumber.open(path) as document:
        assert len(document.pages) == 1
        page = document.pages[0]
        top = min(float(char["top"]) for char in page.chars) / MM
        assert top > float(page.height) / MM - sheet.cell(6)[3], "only the last row is printed"
    read = {code.text.split("\n", 1)[0] for code in zxingcpp.read_barcodes(picture_of(path, 0, 200))}
    assert read == {"PANEL 2", "PANEL 3"}
    assert run([*command, "-o", "straight.pdf"]) == 0
    moved, straight = (_left(one) for one in (path, Path("straight.pdf")))
    assert moved - straight == pytest.approx(1.0, abs=0.01)


def _left(path: Path) -> float:
    with pdfplumber.open(path) as document:
        return min(float(char["x0"]) for char in document.pages[0].chars) / MM


def test_a_brief_gives_the_same_label_as_all_its_papers(tmp_path: Path) -> None:
    path = tmp_path / "one.pdf"
    assert run(["make", "potted-lemon", "--label", "7", "-o", str(path), "-q"]) == 0
    codes = zxingcpp.read_barcodes(picture_of(path, 0, 200))
    assert [code.text.split("\n", 1)[0] for code in codes] == ["PANEL 7"]


@pytest.mark.parametrize(
    ("more", "words", "code"),
    [
        (["--label", "99"], "no panel 99", 1),
        (["--label", "1", "--label-sheet", "a4-2x4", "--first-cell", "9"], "no cell 9", 1),
        (["--label", "1", "--to-top", "2"], "no unit", 2),
        (["--label", "1", "--to-top", "2 m"], "more than 50 mm", 2),
        (["--label", "1", "--label-sheet", "a4-9x9"], "no shipped label sheet", 2),
    ],
)
def test_mistakes_are_told_and_nothing_is_written(
    folder: Path, capsys: pytest.CaptureFixture[str], more: list[str], words: str, code: int
) -> None:
    out = folder.parent / "again.pdf"
    assert run(["make", str(folder), "-o", str(out), *more]) == code
    assert words in capsys.readouterr().err
    assert not out.exists()


def test_a_folder_without_a_design_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["make", str(tmp_path), "--label", "1", "-o", str(tmp_path / "x.pdf")]) == 2
    assert "no design.json" in capsys.readouterr().err
