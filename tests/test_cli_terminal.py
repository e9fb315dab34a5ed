"""Does ``enclosure new`` ask on a terminal, bear wrong answers, and stop cleanly?"""

from __future__ import annotations

import os
import select
import signal
import sys
import time
from pathlib import Path

import pytest

from enclosure.brief.read import read_all
from enclosure.templates_home import find_template

pty = pytest.importorskip("pty")


def talk(folder: Path, arguments: list[str], answers: list[bytes]) -> tuple[str, int]:
    """Run the program on a terminal of its own; give one answer each time it waits after a colon."""
    child, screen = pty.fork()
    if child == 0:
        signal.signal(signal.SIGINT, signal.SIG_DFL)
        os.chdir(folder)
        os.execv(sys.executable, [sys.executable, "-m", "enclosure.cli.main", *arguments])
    said, left, until = b"", list(answers), time.monotonic() + 30
    while time.monotonic() < until:
        if select.select([screen], [], [], 0.2)[0]:
            try:
                said += os.read(screen, 4096)
            except OSError:
                break
        elif said.endswith(b": ") and left:
            os.write(screen, left.pop(0))
    else:
        os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    os.close(screen)
    return said.decode(), os.waitstatus_to_exitcode(status)


@pytest.fixture(autouse=True)
def importable(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PYTHONPATH", str(Path(__file__).resolve().parent.parent))


def test_questions(tmp_path: Path) -> None:
    answers = [
        b"tree-fern\n",
        b"my fern\n",
        b"1950\n",
        b"2,1 m\n",
        b"6 ft 1/2 in\n",
        b"\n",
        b"80 cm\n",
        b"0\n",
        b"7\n",
    ]
    answers += [b"XX\n", b"SE\n", b"nowhere\n", b"mild-coast\n", b"\n"]
    said, code = talk(tmp_path, ["new", "my.toml"], answers)
    assert code == 0, said
    brief, site, _ = read_all(tmp_path / "my.toml")
    assert brief.plant.name == "my fern"
    # 72.5 in * 25.4
    assert (brief.plant.height_mm, brief.plant.spread_x_mm, brief.plant.spread_y_mm) == (1841.5, 762, 800)
    assert (brief.winters, brief.front_bearing_deg, site.name) == (7, 135, "mild coast")
    for refused in ("no unit", "comma", "whole number from 1 to 40", "compass point", "not one of them"):
        assert refused in said
    assert "# from the soil to the highest frond" in (tmp_path / "my.toml").read_text(encoding="utf-8")


def test_enter_keeps_everything(tmp_path: Path) -> None:
    said, code = talk(tmp_path, ["new", "my.toml"], [b"\n"] * 12)
    assert code == 0, said
    assert (tmp_path / "my.toml").read_bytes() == find_template("briefs", "tree-fern").read_bytes()


def test_no_questions_when_told(tmp_path: Path) -> None:
    said, code = talk(tmp_path, ["new", "my.toml", "--template", "broad-fig"], [])
    assert code == 0
    assert "?" not in said


def test_control_c_leaves_nothing(tmp_path: Path) -> None:
    said, code = talk(tmp_path, ["new", "my.toml"], [b"\n", b"\x03"])
    assert code == 130
    assert "stopped; nothing was written" in said
    assert list(tmp_path.iterdir()) == []
