"""What must never go wrong with making: lost files, half-written folders, unclear errors."""

from __future__ import annotations

import json
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from enclosure.cli.main import run
from enclosure.pipeline.make import make
from tests.shelters import BRIEFS


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
    "one impossible bay": ("[frame]", "[frame]\nbays = { back = 1 }", 1),
}


@pytest.mark.parametrize("case", sorted(WRONG))
def test_wrong_briefs_end_in_one_clear_error(case: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = next(path for path in BRIEFS if path.stem == "tree-fern").read_text(encoding="utf-8")
    old, new, code = WRONG[case]
    assert old in text, f"the tree fern brief no longer says {old}"
    if case == "one impossible bay":
        text = "\n".join(line for line in text.split("\n") if not line.startswith("bays"))
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
