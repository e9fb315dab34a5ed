"""`enclosure make --keep-rack` and `enclosure rack`: the whole cycle at the terminal, and files broken on purpose."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from enclosure.cli.main import run
from enclosure.reuse.rack import after_path, before_path, pending_path, read_rack

ROOT = Path(__file__).parents[1]
LEMON = ROOT / "templates" / "briefs" / "potted-lemon.toml"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    shutil.copy(LEMON, tmp_path / "lemon.toml")
    return tmp_path


def make(*more: str) -> int:
    return run(["make", "lemon.toml", "--no-solids", "-q", "--rack", "rack.toml", *more])


def test_the_whole_cycle(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rack = here / "rack.toml"
    assert make("--keep-rack", "-o", "first") == 0
    assert not rack.exists(), "nothing is laid on the rack before the grower confirms"
    assert run(["rack", "show", "rack.toml"]) == 0
    assert "waiting to be confirmed: papers of lemon" in capsys.readouterr().out
    # made again, the same brief replaces its own note
    assert make("--keep-rack", "-f", "-o", "first") == 0
    assert run(["rack", "confirm", "rack.toml"]) == 0
    laid = read_rack(rack)
    assert laid.sheets
    assert laid.sticks
    assert all(min(row.width_mm, row.height_mm) >= laid.least_sheet_mm for row in laid.sheets)
    assert all(row.length_mm >= laid.least_stick_mm for row in laid.sticks)
    assert not pending_path(rack).exists()
    text = rack.read_text(encoding="utf-8")
    assert make("-o", "second") == 0
    assert rack.read_text(encoding="utf-8") == text
    assert not pending_path(rack).exists(), "without --keep-rack nothing waits"
    assert run(["rack", "undo", "rack.toml"]) == 0
    assert read_rack(rack).sheets == ()
    assert not before_path(rack).exists()
    assert not after_path(rack).exists()
    capsys.readouterr()
    assert run(["rack", "undo", "rack.toml"]) == 2
    assert "no earlier state" in capsys.readouterr().err


def test_the_least_size_of_the_rack_decides_what_is_kept(here: Path) -> None:
    rack = here / "rack.toml"
    rack.write_text('least_sheet = "900 mm"\nleast_stick = "900 mm"\n', encoding="utf-8")
    assert make("--keep-rack", "-o", "first") == 0
    told = json.loads(pending_path(rack).read_text(encoding="utf-8"))["adds"]
    assert all(min(row["width_mm"], row["height_mm"]) >= 900 for kind, row in told if kind == "sheet")
    assert all(row["length_mm"] >= 900 for kind, row in told if kind == "stick")
    assert any(kind == "stick" for kind, _ in told)


def test_a_cut_that_waits_is_not_pushed_aside_by_another_brief(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert make("--keep-rack", "-o", "first") == 0
    note = pending_path(here / "rack.toml").read_text(encoding="utf-8")
    shutil.copy(here / "lemon.toml", here / "other.toml")
    assert run(["make", "other.toml", "--no-solids", "-q", "--rack", "rack.toml", "--keep-rack"]) == 2
    assert "a cut waits for rack.toml: papers of lemon" in capsys.readouterr().err
    assert pending_path(here / "rack.toml").read_text(encoding="utf-8") == note
    assert not (here / "other-papers").exists()


@pytest.mark.parametrize(
    ("note", "words"),
    [
        ("{", "damaged"),
        ('{"why": "x", "rack": "none", "takes": [["sheets", 0, "a"]], "adds": []}', "damaged"),
        ('{"why": "x", "rack": "none", "takes": [["boards", 0, 1]], "adds": []}', "damaged"),
        ('{"why": "x", "rack": "none", "takes": [], "adds": [["sheet", {"material": "x"}]]}', "damaged"),
        ('{"why": "x", "rack": "none", "takes": [["sheets", 0, 1]], "adds": []}', "there are 0"),
        ('{"why": "x", "rack": "abc", "takes": [], "adds": []}', "changed after"),
    ],
)
def test_a_broken_note_changes_nothing(here: Path, capsys: pytest.CaptureFixture[str], note: str, words: str) -> None:
    pending_path(here / "rack.toml").write_text(note, encoding="utf-8")
    assert run(["rack", "confirm", "rack.toml"]) == 2
    assert words in capsys.readouterr().err
    assert not (here / "rack.toml").exists()
    assert run(["rack", "drop", "rack.toml"]) == 0
    assert not pending_path(here / "rack.toml").exists()


def test_a_note_left_behind_by_a_stop_is_known_for_what_it_is(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The machine stopped after the rack was changed and before its note was removed."""
    assert make("--keep-rack", "-o", "first") == 0
    note = pending_path(here / "rack.toml").read_text(encoding="utf-8")
    (here / "rack.toml").write_text('least_sheet = "300 mm"\n', encoding="utf-8")
    pending_path(here / "rack.toml").unlink()
    assert make("--keep-rack", "-f", "-o", "first") == 0
    note = pending_path(here / "rack.toml").read_text(encoding="utf-8")
    assert run(["rack", "confirm", "rack.toml"]) == 0
    pending_path(here / "rack.toml").write_text(note, encoding="utf-8")
    text = (here / "rack.toml").read_text(encoding="utf-8")
    capsys.readouterr()
    assert run(["rack", "confirm", "rack.toml"]) == 2
    assert "carried out already" in capsys.readouterr().err
    assert (here / "rack.toml").read_text(encoding="utf-8") == text


def test_undoing_never_loses_what_was_written_by_hand(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rack = here / "rack.toml"
    assert make("--keep-rack", "-o", "first") == 0
    assert run(["rack", "confirm", "rack.toml"]) == 0
    rack.write_text(rack.read_text(encoding="utf-8") + "# two more behind the shed\n", encoding="utf-8")
    capsys.readouterr()
    assert run(["rack", "undo", "rack.toml"]) == 2
    assert "changed by hand" in capsys.readouterr().err
    assert "behind the shed" in rack.read_text(encoding="utf-8")
    assert run(["rack", "undo", "--force", "rack.toml"]) == 0
    assert read_rack(rack).sheets == ()


def test_a_shelter_laid_on_the_rack_is_cut_from(here: Path) -> None:
    assert run(["make", "lemon.toml", "--no-solids", "-q", "-o", "old"]) == 0
    assert run(["rack", "add", "rack.toml", "old/design.json"]) == 0
    before = read_rack(here / "rack.toml")
    assert make("--keep-rack", "-o", "new") == 0
    told = json.loads(pending_path(here / "rack.toml").read_text(encoding="utf-8"))
    assert sum(copies for _, _, copies in told["takes"]) > 5
    assert run(["rack", "add", "rack.toml", "old/design.json"]) == 1, "first the cut that waits"
    assert run(["rack", "confirm", "rack.toml"]) == 0
    gone = sum(r.copies for r in (*before.sheets, *before.sticks)) - sum(copies for _, _, copies in told["takes"])
    after = read_rack(here / "rack.toml")
    laid = sum(row["copies"] for _, row in told["adds"])
    assert sum(r.copies for r in (*after.sheets, *after.sticks)) == gone + laid


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["make", "lemon.toml", "--keep-rack"], 2, "is a shipped one"),
        (["make", "lemon.toml", "--rack", "rack.toml"], 2, "there is no rack"),
        (["make", "lemon.toml", "--keep-rack", "--rack", "rack.txt"], 2, "neither a TOML nor a CSV"),
        (["make", "lemon.toml", "--keep-rack", "--rack", "gone/rack.toml"], 2, "no folder gone"),
        (["rack", "show", "rack.toml"], 2, "there is no rack"),
        (["rack", "confirm", "rack.toml"], 2, "no cut waits"),
        (["rack", "drop", "rack.toml"], 2, "no cut waits"),
        (["rack", "add", "rack.toml", "gone.json"], 2, "cannot be read"),
        (["rack", "plan", "rack.toml", "nolemon"], 2, "potted-lemon"),
        (["rack", "confrim", "rack.toml"], 2, "confrim"),
        (["rack", "show"], 2, "missing argument"),
    ],
)
def test_wrong_inputs(
    here: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], code: int, words: str
) -> None:
    assert run(arguments) == code
    said = capsys.readouterr()
    assert words in said.err
    assert "Traceback" not in said.err
    assert sorted(p.name for p in here.iterdir()) == ["lemon.toml"]


def test_faults_in_a_csv_rack_name_their_lines(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = "kind,material,width,height,length,copies,note\nsheet,foam-25,1,2 m,,1,hand\nstick,2x2,,,,1,\n"
    (here / "rack.csv").write_text(text, encoding="utf-8")
    assert run(["rack", "show", "rack.csv"]) == 2
    said = capsys.readouterr().err
    assert "rack.csv:2: width = 1" in said
    assert "rack.csv:3: length" in said
