"""Does the command line answer plainly, with the right exit codes, and quickly?"""

from __future__ import annotations

import json
import os
import re
import resource
import subprocess
import sys
import tomllib
from pathlib import Path
from types import SimpleNamespace

import pytest

from enclosure import __version__
from enclosure.brief.read import read_all
from enclosure.checks.model import Check, Line
from enclosure.cli import check as check_module
from enclosure.cli import make as make_module
from enclosure.cli.main import run
from enclosure.templates_home import find_template, template_names

PROGRAM = [sys.executable, "-m", "enclosure.cli.main"]
COMMANDS = ("new", "check", "compare", "make", "templates", "completion")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def row(utilisation: float, *, advice: bool = False, key: str = "wind-uplift") -> Check:
    return Check(
        key=key,
        name="uplift of the whole shelter",
        demand=utilisation * 500,
        capacity=500.0,
        unit="N",
        utilisation=utilisation,
        clause="made up for this test",
        source_kind="practice",
        inputs=("gust 80 km/h",),
        assumptions=("no friction",),
        way_out="" if utilisation <= 1 else "6 posts instead of 4",
        working=(Line("q", "0.613 V²", "0.613 · 22.2²", 302.7, "Pa", "from memory"),),
        governs=("P1",),
        advice=advice,
    )


def spawn(*arguments: str, **more: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*PROGRAM, *arguments], capture_output=True, text=True, timeout=60, check=False, **more
    )  # type: ignore[call-overload,no-any-return]


def test_help_names_every_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--help"]) == 0
    said = capsys.readouterr().out
    assert all(re.search(rf"^  {command} ", said, re.MULTILINE) for command in COMMANDS)
    assert "\x1b" not in said
    for command in COMMANDS:
        assert run([command, "-h"]) == 0
        assert "Usage: enclosure " + command in capsys.readouterr().out


def test_version(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["--version"]) == 0
    assert capsys.readouterr().out == f"enclosure {__version__}\n"


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["mak"], "did you mean make?"),
        (["xyzzy"], "commands: new, check, compare, make"),
        (["make"], "missing argument"),
        (["make", "x", "--ot", "y"], "no such option"),
        (["completion", "tcsh"], "tcsh"),
        (["make", "nofern"], "tree-fern"),
        (["check", "nofern.toml"], "does not exist"),
        (["new", "--set", "winters"], "KEY=VALUE"),
        (["new", "--template", "tree-fren"], "did you mean tree-fern?"),
        (["templates", "--show", "inch-stok"], "did you mean inch-stock?"),
    ],
)
def test_commands_that_cannot_be_read(
    here: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], words: str
) -> None:
    assert run(arguments) == 2
    said = capsys.readouterr()
    assert said.out == ""
    assert words in said.err
    assert said.err.startswith("error: ")
    assert "Traceback" not in said.err
    first = said.err.splitlines()[0]
    assert not first.endswith(".")
    assert list(here.iterdir()) == []


@pytest.mark.parametrize("name", template_names("briefs"))
def test_new_copies_a_template_that_reads(here: Path, name: str) -> None:
    assert run(["new", "my.toml", "--template", name]) == 0
    assert Path("my.toml").read_bytes() == find_template("briefs", name).read_bytes()
    read_all(Path("my.toml"))
    assert [path.name for path in here.iterdir()] == ["my.toml"]


def test_new_never_replaces_without_force(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("my.toml").write_text("mine", encoding="utf-8")
    assert run(["new", "my.toml"]) == 1
    assert Path("my.toml").read_text(encoding="utf-8") == "mine"
    assert "--force" in capsys.readouterr().err
    assert run(["new", "my.toml", "-f"]) == 0
    assert Path("my.toml").read_text(encoding="utf-8") != "mine"
    assert run(["new", "no/such/folder.toml"]) == 1
    assert run(["new", str(here)]) == 1


def test_new_sets_values_and_keeps_the_notes(here: Path) -> None:
    told = [
        "--set",
        "plant.height=1.1 m",
        "-s",
        "winters=4",
        "-s",
        'front_faces="SE"',
        "-s",
        "frame.bays.front=2",
    ]
    assert run(["new", "my.toml", "-t", "tree-fern", *told]) == 0
    text = Path("my.toml").read_text(encoding="utf-8")
    brief, _, _ = read_all(Path("my.toml"))
    assert (brief.plant.height_mm, brief.winters, brief.front_bearing_deg) == (1100, 4, 135)
    assert brief.frame.bays == {"front": 2}
    notes = [
        line.partition("#")[2]
        for line in find_template("briefs", "tree-fern").read_text("utf-8").splitlines()
    ]
    assert all(note in text for note in notes if note)


def test_new_writes_nothing_that_would_not_read(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["new", "my.toml", "-s", "plant.hight=2 m", "-s", "winters=0", "-s", "plant.height=2"]) == 2
    said = capsys.readouterr().err
    assert "3 faults found" in said
    assert "did you mean height?" in said
    assert list(here.iterdir()) == []
    assert run(["new", "my.toml", "-s", "winters.x=2"]) == 2
    assert list(here.iterdir()) == []


def test_templates_are_listed_and_shown(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["templates", "--json"]) == 0
    listed = json.loads(capsys.readouterr().out)
    assert set(listed) == {"briefs", "stock", "sites", "labels"}
    assert all(words for entries in listed.values() for words in entries.values())
    assert run(["templates"]) == 0
    said = capsys.readouterr().out
    assert all(name in said for entries in listed.values() for name in entries)
    assert run(["templates", "--show", "inch-stock"]) == 0
    assert tomllib.loads(capsys.readouterr().out)["currency"] == "USD"


@pytest.mark.parametrize("command", ["make", "check"])
@pytest.mark.parametrize("content", [b"", b"\xff\xfe\x00", b"winters = 0\n", b"a = [\n", b"#" * 1_100_000])
def test_bad_briefs_end_in_one_error(
    here: Path, capsys: pytest.CaptureFixture[str], command: str, content: bytes
) -> None:
    Path("bad.toml").write_bytes(content)
    assert run([command, "bad.toml"]) == 2
    said = capsys.readouterr()
    assert said.err.count("error:") == 1
    assert "bad.toml" in said.err
    assert "hint:" in said.err
    assert "Traceback" not in said.err
    assert [path.name for path in here.iterdir()] == ["bad.toml"]


def test_make_tells_what_was_made(
    here: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[tuple[Path, Path, bool, bool]] = []
    checks: list[Check] = [row(0.8)]

    def fake(brief: Path, out: Path, *, force: bool, solids: bool, **_: object) -> SimpleNamespace:
        asked.append((brief, out, force, solids))
        return SimpleNamespace(
            out_dir=out,
            files=("design.json",),
            summary=("7 panels",),
            notes=("no solids",),
            checks=tuple(checks),
        )

    monkeypatch.setattr(make_module, "make_all", fake)
    assert run(["make", "tree-fern", "-o", "out", "-f", "--no-solids"]) == 0
    assert asked == [(find_template("briefs", "tree-fern"), Path("out"), True, False)]
    said = capsys.readouterr().out
    assert "7 panels" in said
    assert "note: no solids" in said
    assert run(["make", "tree-fern", "-q"]) == 0
    assert asked[-1][1:] == (Path("tree-fern-papers"), False, True)
    assert capsys.readouterr().out == ""
    checks[:] = [row(1.2), row(3.0, advice=True)]
    assert run(["make", "tree-fern", "--json"]) == 3
    facts = json.loads(capsys.readouterr().out)
    assert facts["exit_code"] == 3
    assert facts["files"] == ["design.json"]
    assert [found["passes"] for found in facts["checks"]] == [False, False]


def test_check_table_explain_and_exit_code(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    rows = (row(1.25), row(0.5, key="snow-roof"), row(2.0, key="sun", advice=True))
    monkeypatch.setattr(check_module, "check_all", lambda brief, progress, weather: rows)
    assert run(["check", "tree-fern"]) == 3
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].startswith("info   2.00 ")
    assert lines[2].startswith("OVER   1.25 ")
    assert lines[3].strip() == "way out: 6 posts instead of 4"
    # 1.00 stands at 15 of 20 cells: 1.25 fills 19, 0.50 fills 8 (7.5 rounds to even)
    assert lines[2].count("#") == 19
    assert lines[4].startswith("pass   0.50 ########")
    assert run(["check", "tree-fern", "--explain", "wind-uplift"]) == 3
    said = capsys.readouterr().out
    assert "= 0.613 V² = 0.613 · 22.2² = 303 Pa" in said
    assert "from memory" in said
    assert run(["check", "tree-fern", "-e", "wind-upift"]) == 2
    assert "did you mean wind-uplift?" in capsys.readouterr().err
    assert run(["check", "tree-fern", "--json"]) == 3
    assert [found["key"] for found in json.loads(capsys.readouterr().out)] == [
        "wind-uplift",
        "snow-roof",
        "sun",
    ]
    monkeypatch.setattr(check_module, "check_all", lambda brief, progress, weather: rows[1:])
    assert run(["check", "tree-fern", "-q"]) == 0
    assert capsys.readouterr().out == ""


def test_own_faults_are_owned_up_to(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise RuntimeError("gone wrong")

    monkeypatch.setattr(check_module, "check_all", broken)
    monkeypatch.delenv("ENCLOSURE_TRACE", raising=False)
    assert run(["check", "tree-fern"]) == 1
    said = capsys.readouterr().err
    assert "the program itself went wrong (RuntimeError: gone wrong)" in said
    assert "Traceback" not in said
    monkeypatch.setenv("ENCLOSURE_TRACE", "1")
    assert run(["check", "tree-fern"]) == 1
    assert "Traceback" in capsys.readouterr().err


def test_stop_with_control_c(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(check_module, "check_all", stopped)
    assert run(["check", "tree-fern"]) == 130
    assert capsys.readouterr().err.strip() == "stopped; nothing was written"


def test_completion() -> None:
    for shell in ("bash", "zsh", "fish"):
        done = spawn("completion", shell)
        assert done.returncode == 0
        assert "_ENCLOSURE_COMPLETE" in done.stdout
    words = {"_ENCLOSURE_COMPLETE": "bash_complete", "COMP_WORDS": "enclosure ma", "COMP_CWORD": "1"}
    done = spawn(env={**os.environ, **words})
    assert done.stdout.split() == ["plain,make"]


def test_a_reader_that_goes_away_is_no_error() -> None:
    code = f"{sys.executable} -m enclosure.cli.main templates --show inch-stock | head -n 1"
    done = subprocess.run(["sh", "-c", code], capture_output=True, text=True, timeout=60, check=False)
    assert done.stdout.startswith("# Stock list")
    assert done.stderr == ""


def test_help_loads_nothing_heavy() -> None:
    code = "import sys, enclosure.cli.main; print(*sys.modules)"
    done = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, timeout=60, check=True
    )
    roots = {name.partition(".")[0] for name in done.stdout.split()}
    assert "click" in roots
    assert not roots & {
        "pydantic",
        "rich",
        "tomlkit",
        "numpy",
        "scipy",
        "ezdxf",
        "reportlab",
        "cadquery",
        "OCP",
    }


def processor_seconds(arguments: list[str], folder: Path) -> float:
    best = 99.0
    for _ in range(5):
        before = resource.getrusage(resource.RUSAGE_CHILDREN)
        subprocess.run(arguments, cwd=folder, stdout=subprocess.DEVNULL, check=True, timeout=60)
        after = resource.getrusage(resource.RUSAGE_CHILDREN)
        best = min(best, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime)
    return best


@pytest.mark.regression
def test_help_and_new_are_quick(tmp_path: Path) -> None:
    limit = 3 * processor_seconds([sys.executable, "-c", "import pydantic"], tmp_path)
    assert processor_seconds([*PROGRAM, "--help"], tmp_path) <= limit
    assert processor_seconds([*PROGRAM, "new", "my.toml", "--force"], tmp_path) <= limit
