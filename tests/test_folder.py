"""Does a folder of files come to be whole or not at all, and is nobody's work ever lost?"""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from enclosure.errors import OutputError
from enclosure.outputs import in_place
from enclosure.outputs.folder import MANIFEST, changes_in, check_target, whole_folder

ROOT = Path(__file__).parents[1]


def make(target: Path, words: str = "one", *, force: bool = False) -> None:
    with whole_folder(target, force=force) as scratch:
        (scratch / "summary.txt").write_text(words)
        (scratch / "dxf").mkdir()
        (scratch / "dxf" / "sheet-01.dxf").write_text(words * 2)


def names(folder: Path) -> list[str]:
    return sorted(path.relative_to(folder).as_posix() for path in folder.rglob("*") if not path.is_dir())


@pytest.mark.published(
    source="SHA-256 of the empty message, NIST example values", where="from memory", printed="e3b0c442...b855"
)
def test_a_new_folder_holds_all_files_and_a_manifest(tmp_path: Path) -> None:
    target = tmp_path / "fern"
    with whole_folder(target) as scratch:
        assert scratch.parent == tmp_path  # beside the target: a rename within one file system
        assert not target.exists()
        (scratch / "b.txt").write_text("bee")
        (scratch / "a.txt").write_text("")
    assert names(target) == [MANIFEST, "a.txt", "b.txt"]
    assert [path.name for path in tmp_path.iterdir()] == ["fern"]
    manifest = json.loads((target / MANIFEST).read_text())
    assert manifest["sha256"]["a.txt"] == "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    assert list(manifest["sha256"]) == ["a.txt", "b.txt"]
    assert changes_in(target) == []


def test_the_folder_gets_the_usual_mode_and_not_a_private_one(tmp_path: Path) -> None:
    mask = os.umask(0o022)
    try:
        make(tmp_path / "fern")
    finally:
        os.umask(mask)
    assert (tmp_path / "fern").stat().st_mode & 0o777 == 0o755


def test_the_same_contents_give_the_same_manifest(tmp_path: Path) -> None:
    make(tmp_path / "one")
    make(tmp_path / "two")
    assert (tmp_path / "one" / MANIFEST).read_bytes() == (tmp_path / "two" / MANIFEST).read_bytes()


def test_an_untouched_folder_is_replaced(tmp_path: Path) -> None:
    make(tmp_path / "fern", "one")
    make(tmp_path / "fern", "two")
    assert (tmp_path / "fern" / "summary.txt").read_text() == "two"
    assert [path.name for path in tmp_path.iterdir()] == ["fern"]


def test_an_empty_folder_is_filled(tmp_path: Path) -> None:
    (tmp_path / "fern").mkdir()
    make(tmp_path / "fern")
    assert "summary.txt" in names(tmp_path / "fern")


def _change(folder: Path, how: str) -> None:
    if how == "changed":
        (folder / "dxf" / "sheet-01.dxf").write_text("my own cut")
    elif how == "same size":
        (folder / "summary.txt").write_text("onE")
    elif how == "added":
        (folder / "notes.txt").write_text("mine")
    elif how == "added below":
        (folder / "dxf" / "mine.dxf").write_text("mine")
    elif how == "removed":
        (folder / "summary.txt").unlink()
    elif how == "empty folder added":
        (folder / "photos").mkdir()
    elif how == "link added":
        (folder / "photo").symlink_to("/etc/hostname")
    elif how == "file became a link":
        (folder / "summary.txt").rename(folder.parent / "elsewhere.txt")
        (folder / "summary.txt").symlink_to(folder.parent / "elsewhere.txt")


@pytest.mark.parametrize(
    ("how", "words"),
    [
        ("changed", "dxf/sheet-01.dxf (changed)"),
        ("same size", "summary.txt (changed)"),
        ("added", "notes.txt (added)"),
        ("added below", "dxf/mine.dxf (added)"),
        ("removed", "summary.txt (removed)"),
        ("empty folder added", "photos (added)"),
        ("link added", "photo (added)"),
        ("file became a link", "summary.txt (changed)"),
    ],
)
def test_work_of_the_user_is_never_lost_without_force(tmp_path: Path, how: str, words: str) -> None:
    target = tmp_path / "fern"
    make(target)
    _change(target, how)
    before = sorted(path.name for path in tmp_path.rglob("*"))
    with pytest.raises(OutputError) as caught:
        make(target, "two")
    assert words in caught.value.message
    assert "--force" in caught.value.hint
    assert sorted(path.name for path in tmp_path.rglob("*")) == before
    make(target, "two", force=True)
    assert (target / "summary.txt").read_text() == "two"
    assert changes_in(target) == []


def test_a_folder_of_somebody_else_is_left_alone(tmp_path: Path) -> None:
    target = tmp_path / "thesis"
    target.mkdir()
    (target / "chapter.txt").write_text("years of work")
    with pytest.raises(OutputError, match="was not made by this program"):
        make(target)
    assert names(tmp_path) == ["thesis/chapter.txt"]
    make(target, force=True)
    assert "chapter.txt" not in names(target)


@pytest.mark.parametrize(
    "manifest",
    [
        "", "{", "[]", '{"made_by": "me"}', '{"made_by": "enclosure"}',
        '{"made_by": "enclosure", "sha256": {"a": 1}}',
    ],
)
def test_a_broken_manifest_counts_as_somebody_elses(tmp_path: Path, manifest: str) -> None:
    (tmp_path / "fern").mkdir()
    (tmp_path / "fern" / MANIFEST).write_text(manifest)
    (tmp_path / "fern" / "a.txt").write_text("a")
    assert changes_in(tmp_path / "fern") is None
    with pytest.raises(OutputError, match="was not made by this program"):
        make(tmp_path / "fern")


def test_a_manifest_cannot_point_outside(tmp_path: Path) -> None:
    """A name that climbs out of the folder is a name that is not found in it: the folder was changed."""
    make(tmp_path / "fern")
    manifest = json.loads((tmp_path / "fern" / MANIFEST).read_text())
    manifest["sha256"]["../secret.txt"] = "0" * 64
    (tmp_path / "fern" / MANIFEST).write_text(json.dumps(manifest))
    assert changes_in(tmp_path / "fern") == ["../secret.txt (removed)"]


def test_links_files_and_missing_parents_are_refused_even_with_force(tmp_path: Path) -> None:
    real = tmp_path / "real"
    make(real)
    (tmp_path / "link").symlink_to(real)
    (tmp_path / "dangling").symlink_to(tmp_path / "nowhere")
    (tmp_path / "file").write_text("hello")
    for name, words in (
        ("link", "a link to another place"), ("dangling", "a link to another place"),
        ("file", "is a file, not a folder"), ("no/where", "there is no folder"),
    ):
        for force in (False, True):
            with pytest.raises(OutputError, match=words):
                make(tmp_path / name, force=force)
    assert (real / "summary.txt").read_text() == "one"
    assert (tmp_path / "file").read_text() == "hello"
    assert sorted(path.name for path in tmp_path.iterdir()) == ["dangling", "file", "link", "real"]
    with pytest.raises(OutputError, match="is no place"):
        check_target(Path("/"))


def test_a_relative_target_and_dots(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    make(Path("fern"))
    make(Path("fern/../fig"))
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fern", "fig"]


@pytest.mark.parametrize("error", [KeyboardInterrupt, ValueError, SystemExit, OutputError("disk")])
def test_a_failure_leaves_nothing_and_keeps_the_old(tmp_path: Path, error: type[BaseException]) -> None:
    make(tmp_path / "fern", "one")

    def fail(target: Path) -> None:
        with whole_folder(target) as scratch:
            (scratch / "half.txt").write_text("half")
            raise error

    for target in (tmp_path / "fern", tmp_path / "new"):
        with pytest.raises(error if isinstance(error, type) else OutputError):
            fail(target)
    assert [path.name for path in tmp_path.iterdir()] == ["fern"]
    assert changes_in(tmp_path / "fern") == []


def test_work_done_while_the_new_folder_is_made_is_kept(tmp_path: Path) -> None:
    target = tmp_path / "fern"
    make(target)

    def meddle() -> None:
        with whole_folder(target) as scratch:
            (scratch / "summary.txt").write_text("two")
            (target / "notes.txt").write_text("written meanwhile")

    with pytest.raises(OutputError, match=r"notes.txt \(added\)"):
        meddle()
    assert (target / "notes.txt").read_text() == "written meanwhile"
    assert [path.name for path in tmp_path.iterdir()] == ["fern"]


@pytest.mark.parametrize("stop", [OSError(28, "No space left on device"), KeyboardInterrupt()])
def test_a_failed_rename_puts_the_old_folder_back(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, stop: BaseException
) -> None:
    target = tmp_path / "fern"
    make(target, "one")
    monkeypatch.setattr(in_place, "exchanged", lambda one, other: False)  # as on a system without the exchange
    honest, calls = Path.rename, []

    def rename(self: Path, other: Path) -> Path:
        calls.append(self)
        if self.name.endswith(".part") and len(calls) > 1:  # the first try finds the target in the way
            raise stop
        return honest(self, other)

    monkeypatch.setattr(Path, "rename", rename)
    with pytest.raises((OutputError, KeyboardInterrupt)):
        make(target, "two")
    assert (target / "summary.txt").read_text() == "one"
    assert [path.name for path in tmp_path.iterdir()] == ["fern"]


def test_only_files_belong_in_a_finished_folder(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="door is a link"), whole_folder(tmp_path / "fern") as scratch:
        (scratch / "door").symlink_to("/tmp")
    assert not list(tmp_path.iterdir())


@pytest.mark.skipif(os.geteuid() == 0, reason="root may write anywhere")
def test_a_place_that_may_not_be_written_gets_words(tmp_path: Path) -> None:
    tmp_path.chmod(0o555)
    try:
        with pytest.raises(OutputError, match="permission denied") as caught:
            make(tmp_path / "fern")
        assert "may write" in caught.value.hint
    finally:
        tmp_path.chmod(0o755)


def test_a_real_interrupt_of_a_real_program_leaves_nothing(tmp_path: Path) -> None:
    script = (
        "import sys, time; from pathlib import Path; from enclosure.outputs.folder import whole_folder\n"
        "with whole_folder(Path(sys.argv[1])) as scratch:\n"
        "    (scratch / 'half.txt').write_text('half'); print('ready', flush=True); time.sleep(60)\n"
    )
    program = subprocess.Popen(
        [sys.executable, "-c", script, str(tmp_path / "fern")], cwd=ROOT, stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
    )
    assert program.stdout is not None
    assert program.stdout.readline() == b"ready\n"
    assert any(path.name.endswith(".part") for path in tmp_path.iterdir())
    program.send_signal(signal.SIGINT)
    program.wait(timeout=20)
    time.sleep(0.05)
    assert program.returncode != 0
    assert not list(tmp_path.iterdir())
