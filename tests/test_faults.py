"""Real faults of the machine: no room on the disk, no right to write, files that change, odd names, odd locales.

Each ends in words with nothing half-written, and what stood there before still stands.
"""

from __future__ import annotations

import builtins
import locale
import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from enclosure.brief.read import read_brief
from enclosure.cli.main import run
from enclosure.errors import BriefError, OutputError
from enclosure.outputs import in_place
from enclosure.outputs.folder import changes_in, whole_folder
from enclosure.outputs.in_place import exchanged, sweep
from enclosure.pipeline.make import make, write_solids
from enclosure.reuse.rack import Change, confirm, propose, read_rack
from enclosure.stock.model import RackSheet
from tests.shelters import BRIEFS, shipped_design

LEMON = next(path for path in BRIEFS if path.stem == "potted-lemon")
ROOT_ONLY = pytest.mark.skipif(os.geteuid() != 0, reason="only root can mount a small disk or step down to nobody")


def fill(target: Path, words: str = "one", *, force: bool = False) -> None:
    with whole_folder(target, force=force) as scratch:
        (scratch / "summary.txt").write_text(words)
        (scratch / "dxf").mkdir()
        (scratch / "dxf" / "sheet-01.dxf").write_text(words * 2)


@contextmanager
def disk(place: Path, options: str) -> Iterator[Path]:
    """Mount a small disk in memory."""
    place.mkdir()
    command = ["mount", "-t", "tmpfs", "-o", options, "tmpfs", str(place)]
    if subprocess.run(command, capture_output=True, check=False).returncode:
        pytest.skip("nothing can be mounted here")
    try:
        yield place
    finally:
        subprocess.run(["umount", str(place)], check=True)


@ROOT_ONLY
def test_a_full_disk_keeps_the_old_folder_and_leaves_nothing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The disk has room for the lists and not for the papers."""
    with disk(tmp_path / "small", "size=400k") as place:
        fill(place / "papers")
        assert run(["make", str(LEMON), "-o", str(place / "papers"), "--no-solids", "-q"]) == 1
        said = capsys.readouterr().err
        assert "no space left on device" in said
        assert "make room" in said
        assert [path.name for path in place.iterdir()] == ["papers"]
        assert changes_in(place / "papers") == []
        assert (place / "papers" / "summary.txt").read_text() == "one"


@ROOT_ONLY
def test_a_full_disk_never_empties_a_brief_or_a_rack(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with disk(tmp_path / "small", "size=16k") as place:
        rack = place / "rack.toml"
        rack.write_text('[[sheets]]\nmaterial = "ply-9"\nwidth = "600 mm"\nheight = "900 mm"\n')
        (place / "mine.toml").write_text("winters = 5\n")
        before = rack.read_bytes()
        with (place / "filler").open("wb", buffering=0) as filler, pytest.raises(OSError, match="No space left"):
            filler.writelines(b"x" * 1024 for _ in range(100))
        with pytest.raises(OutputError, match="no space left"):
            propose(rack, Change((), (RackSheet(material="ply-9", width_mm=300.0, height_mm=400.0),)))
        assert rack.read_bytes() == before
        assert run(["new", str(place / "mine.toml"), "--force"]) == 1
        assert (place / "mine.toml").read_text() == "winters = 5\n"
        assert "no space left" in capsys.readouterr().err
        assert sorted(path.name for path in place.iterdir()) == ["filler", "mine.toml", "rack.toml"]


@ROOT_ONLY
def test_a_disk_that_is_read_only_gets_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with disk(tmp_path / "fixed", "ro") as place:
        assert run(["make", str(LEMON), "-o", str(place / "papers"), "--no-solids", "-q"]) == 1
        assert "read-only file system" in capsys.readouterr().err
        assert run(["new", str(place / "mine.toml")]) == 1
        said = capsys.readouterr().err
        assert "read-only file system" in said
        assert "may write" in said


@ROOT_ONLY
def test_somebody_elses_folder_gets_words(tmp_path: Path) -> None:
    home = tmp_path / "theirs"
    home.mkdir()
    fill(home / "papers")
    secret = home / "secret.toml"
    secret.write_text("winters = 5\n")
    secret.chmod(0o600)
    for folder in (*reversed(tmp_path.parents[:3]), tmp_path):
        folder.chmod(0o755)
    os.seteuid(65534)
    try:
        with pytest.raises(OutputError, match="permission denied") as caught:
            fill(home / "papers", "two")
        assert "may write" in caught.value.hint
        with pytest.raises(BriefError, match="permission denied"):
            read_brief(secret)
    finally:
        os.seteuid(0)
    assert (home / "papers" / "summary.txt").read_text() == "one"


def test_printing_to_a_full_device_is_said_in_words(tmp_path: Path) -> None:
    if not Path("/dev/full").exists():
        pytest.skip("no device that is always full")
    code = "import sys; from enclosure.cli.main import main; main(sys.argv[1:])"
    with open("/dev/full", "w") as full:
        done = subprocess.run(
            [sys.executable, "-c", code, "templates"], stdout=full, stderr=subprocess.PIPE, text=True, check=False
        )
    assert done.returncode == 1
    assert "no space left on device" in done.stderr
    assert "itself went wrong" not in done.stderr


# --- stops, and two at once -----------------------------------------------------------


def test_what_a_killed_run_left_is_swept_by_the_next(tmp_path: Path) -> None:
    target = tmp_path / "papers"
    fill(target)
    left = tmp_path / ".papers.abcd1234.part"
    (left / "dxf").mkdir(parents=True)
    (left / "dxf" / "half.dxf").write_text("half")
    mine = [tmp_path / ".papers.part", tmp_path / ".papers.notes.abcd1234.part", tmp_path / ".other.abcd1234.part"]
    for folder in mine:
        folder.mkdir()
    fill(target, "two")
    assert not left.exists()
    assert all(folder.exists() for folder in mine)


def test_an_old_folder_that_had_stepped_aside_gets_its_name_back(tmp_path: Path) -> None:
    target = tmp_path / "papers"
    fill(target)
    aside = tmp_path / ".papers.abcd1234.old"
    aside.mkdir()
    target.rename(aside / "papers")
    sweep(target)
    assert (target / "summary.txt").read_text() == "one"
    assert [path.name for path in tmp_path.iterdir()] == ["papers"]


def test_a_run_that_still_works_is_not_swept(tmp_path: Path) -> None:
    target = tmp_path / "papers"
    with whole_folder(target) as scratch:
        (scratch / "summary.txt").write_text("slow")
        fill(target, "quick")
        assert (scratch / "summary.txt").exists()
        assert (target / "summary.txt").read_text() == "quick"
    assert (target / "summary.txt").read_text() == "slow"
    assert [path.name for path in tmp_path.iterdir()] == ["papers"]


def test_many_runs_at_once_on_one_folder_leave_one_whole_folder(tmp_path: Path) -> None:
    target, said = tmp_path / "papers", []

    def often(number: int) -> None:
        for turn in range(15):
            try:
                fill(target, f"{number} {turn} ")
            except OutputError as error:
                said.append(error.message)

    threads = [threading.Thread(target=often, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert changes_in(target) == []
    text = (target / "summary.txt").read_text()
    assert (target / "dxf" / "sheet-01.dxf").read_text() == text * 2
    assert [path.name for path in tmp_path.iterdir()] == ["papers"]
    assert len(said) < 60, "at least one run must have succeeded"


def test_two_folders_exchange_their_names_in_one_step(tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        folder.mkdir()
        (folder / "name").write_text(folder.name)
    if not exchanged(one, two):
        pytest.skip("this system or disk cannot exchange names")
    assert ((one / "name").read_text(), (two / "name").read_text()) == ("two", "one")
    assert not exchanged(one, tmp_path / "nowhere")


def test_without_the_exchange_the_old_folder_steps_aside(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(in_place, "exchanged", lambda one, other: False)
    fill(tmp_path / "papers")
    fill(tmp_path / "papers", "two")
    assert (tmp_path / "papers" / "summary.txt").read_text() == "two"
    assert [path.name for path in tmp_path.iterdir()] == ["papers"]


# --- clock, changing files, links -----------------------------------------------------


@pytest.mark.parametrize("moment", [0.0, 4_102_444_800.0], ids=["1970", "2100"])
def test_a_clock_that_jumps_does_not_matter(moment: float, tmp_path: Path) -> None:
    """Nothing is judged by its date: folders from 1970 or 2100 are replaced, and the papers are the same."""
    fill(tmp_path / "papers")
    for path in tmp_path.rglob("*"):
        os.utime(path, (moment, moment))
    fill(tmp_path / "papers", "two")
    assert changes_in(tmp_path / "papers") == []


def test_a_brief_that_changes_while_it_is_read_is_read_whole_or_refused(tmp_path: Path) -> None:
    path, good = tmp_path / "b.toml", LEMON.read_bytes()
    path.write_bytes(good)
    stop = threading.Event()

    def meddle() -> None:
        while not stop.is_set():
            path.write_bytes(good[: len(good) // 2])
            path.write_bytes(good)
            path.unlink()
            path.write_bytes(good)

    thread = threading.Thread(target=meddle)
    thread.start()
    try:
        whole, words = 0, list[str]()
        for _ in range(60):
            try:
                whole += read_brief(path).plant.height_mm == 1300.0
            except BriefError as error:
                words.append(error.message)
    finally:
        stop.set()
        thread.join()
    assert whole + len(words) == 60
    assert all("b.toml" in said for said in words)
    assert read_brief(path).winters == 3


def test_a_rack_behind_a_link_is_changed_where_it_is(tmp_path: Path) -> None:
    (tmp_path / "shed").mkdir()
    real, link = tmp_path / "shed" / "rack.toml", tmp_path / "rack.toml"
    real.write_text('[[sheets]]\nmaterial = "ply-9"\nwidth = "600 mm"\nheight = "900 mm"\n')
    link.symlink_to(real)
    propose(link, Change((), (RackSheet(material="ply-9", width_mm=300.0, height_mm=400.0),)))
    confirm(link)
    assert link.is_symlink()
    assert len(read_rack(real).sheets) == 2


def test_links_in_a_circle_pipes_and_devices_are_no_briefs(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "x.toml").symlink_to(tmp_path / "y.toml")
    (tmp_path / "y.toml").symlink_to(tmp_path / "x.toml")
    os.mkfifo(tmp_path / "pipe.toml")
    for name in (tmp_path / "x.toml", tmp_path / "pipe.toml", Path("/dev/zero"), tmp_path):
        assert run(["check", str(name)]) == 2
        said = capsys.readouterr().err
        assert said.startswith("error: ")
        assert "itself went wrong" not in said


# --- names, terminals, locales --------------------------------------------------------


@pytest.mark.parametrize(
    "name",
    ["two words", "Öl-Bäume é", "e\u0301 apart", "🌴 palm", "CON", "aux.txt", "-dash", "a" * 255, "dot.", "new\nline",
     "%s {0} $HOME *", "\u202eright to left", os.fsdecode(b"not \xff utf-8")],
    ids=ascii,
)  # fmt: skip
def test_odd_names_make_whole_folders(name: str, tmp_path: Path) -> None:
    fill(tmp_path / name)
    fill(tmp_path / name, "two")
    assert changes_in(tmp_path / name) == []
    assert [path.name for path in tmp_path.iterdir()] == [name]


def test_a_name_that_is_too_long_gets_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    long = "n" * 300
    assert run(["make", str(LEMON), "-o", str(tmp_path / long), "-q"]) == 1
    assert run(["check", f"{long}.toml"]) in (1, 2)
    assert run(["new", str(tmp_path / f"{long}.toml")]) == 1
    said = capsys.readouterr().err
    assert said.count("file name too long") == 3
    assert "itself went wrong" not in said
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize(
    "surroundings",
    [
        {"LC_ALL": "POSIX", "PYTHONCOERCECLOCALE": "0", "PYTHONUTF8": "0"}, {"PYTHONIOENCODING": "ascii"},
        {"LC_ALL": "de_DE.UTF-8"}, {"COLUMNS": "5", "TERM": "dumb"}, {"HOME": "/nonexistent"},
    ],
    ids=lambda each: "-".join(each),
)  # fmt: skip
@pytest.mark.parametrize("closed", [False, True], ids=["open", "no terminal"])
def test_no_terminal_and_poor_ones(surroundings: dict[str, str], closed: bool) -> None:
    code = "import sys; from enclosure.cli.main import main; main(sys.argv[1:])"
    command = [sys.executable, "-c", code, "check", str(LEMON)]
    if closed:
        command = ["sh", "-c", 'exec "$@" <&- >&- 2>&-', "sh", *command]
    done = subprocess.run(command, env={**os.environ, **surroundings}, capture_output=True, check=False)
    assert done.returncode in (0, 3), done.stderr[-500:]
    assert b"Traceback" not in done.stderr


def test_decimal_commas_and_time_zones_change_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A locale with decimal commas in this very process, and a clock a day ahead."""
    make(LEMON, tmp_path / "plain", solids=False)
    was = locale.setlocale(locale.LC_ALL)
    try:
        # where German is not installed the numbers of the test stay plain; the time zones still change
        for name in ("de_DE.UTF-8", "de_DE.utf8"):
            try:
                locale.setlocale(locale.LC_ALL, name)
            except locale.Error:
                continue
        monkeypatch.setenv("TZ", "Pacific/Kiritimati")
        time.tzset()
        make(LEMON, tmp_path / "other", solids=False, force=True)
        for path in sorted((tmp_path / "plain").rglob("*")):
            if path.is_file():
                twin = tmp_path / "other" / path.relative_to(tmp_path / "plain")
                assert twin.read_bytes() == path.read_bytes(), path.name
    finally:
        locale.setlocale(locale.LC_ALL, was)
        monkeypatch.undo()
        time.tzset()


# --- what is not installed ------------------------------------------------------------


@pytest.mark.parametrize(
    ("trouble", "words"),
    [
        (ModuleNotFoundError("No module named 'cadquery'"), "cadquery is not installed; where your system has it"),
        (ImportError("libGL.so.1: cannot open shared object file"), "cannot load libGL.so.1; install it, on Debian"),
    ],
)
def test_without_the_cad_kernel_one_line_says_so(
    trouble: ImportError, words: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    honest = builtins.__import__

    def importing(name: str, *rest: object, **more: object) -> object:
        if name == "cadquery":
            raise trouble
        return honest(name, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.delitem(sys.modules, "cadquery", raising=False)
    monkeypatch.setattr(builtins, "__import__", importing)
    notes = write_solids(shipped_design("potted-lemon"), tmp_path)
    assert len(notes) == 1
    assert "\n" not in notes[0]
    assert notes[0].startswith("shelter.step was left out: the CAD kernel")
    assert words in notes[0]
    assert list(tmp_path.iterdir()) == []
