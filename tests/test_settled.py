"""Does what was written lie on the disk before it takes its name, so that a power cut leaves old or new, and whole?

The order of the system calls is watched: a rename may reach the disk before the data that were written earlier, unless
fsync stands between (open(2) and fsync(2) of the Linux manual pages, from memory).
"""

from __future__ import annotations

import errno
import os
from pathlib import Path

import pytest

from enclosure.errors import OutputError
from enclosure.files import settled
from enclosure.files.settled import replacing, settle_all, write_in_one_move
from enclosure.outputs import in_place
from enclosure.outputs.folder import changes_in, whole_folder


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> list[tuple[str, str]]:
    """Record (what was done, name) of every fsync and every rename."""
    done: list[tuple[str, str]] = []
    sync, rename, exchange = os.fsync, Path.rename, in_place.exchanged

    def syncing(handle: int) -> None:
        done.append(("sync", Path(os.readlink(f"/proc/self/fd/{handle}")).name))
        sync(handle)

    def renaming(self: Path, target: Path) -> Path:
        moved = rename(self, target)
        done.append(("rename", Path(target).name))
        return moved

    def exchanging(one: Path, other: Path) -> bool:
        came = exchange(one, other)
        done.extend([("rename", other.name)] if came else [])
        return came

    if not Path("/proc/self/fd").is_dir():
        pytest.skip("open files have no names here")
    monkeypatch.setattr(settled.os, "fsync", syncing)
    monkeypatch.setattr(Path, "rename", renaming)
    monkeypatch.setattr(Path, "replace", renaming)
    monkeypatch.setattr(in_place, "exchanged", exchanging)
    return done


def fill(target: Path, words: str) -> None:
    with whole_folder(target) as scratch:
        (scratch / "a.txt").write_text(words)
        (scratch / "dxf").mkdir()
        (scratch / "dxf" / "b.dxf").write_text(words)


@pytest.mark.parametrize("way", ["exchange", "step aside"])
def test_a_folder_lies_on_the_disk_before_it_takes_its_name(
    way: str, watched: list[tuple[str, str]], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for turn in ("one", "two"):
        if way == "step aside":
            monkeypatch.setattr(in_place, "exchanged", lambda one, other: False)
        watched.clear()
        fill(tmp_path / "papers", turn)
        named = watched.index(("rename", "papers"))
        before = {name for what, name in watched[:named] if what == "sync"}
        assert {"a.txt", "b.dxf", "dxf", ".enclosure-manifest.json"} < before
        assert watched[-1] == ("sync", tmp_path.name), "the name itself is handed over last"


def test_a_file_lies_on_the_disk_before_it_takes_its_name(watched: list[tuple[str, str]], tmp_path: Path) -> None:
    write_in_one_move(tmp_path / "rack.toml", "winters = 5\n")
    assert [what for what, _ in watched] == ["sync", "rename", "sync"]
    assert watched[1:] == [("rename", "rack.toml"), ("sync", tmp_path.name)]


def test_a_disk_that_fails_late_keeps_the_old_folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Disks that find room late (network, quota) say so only when asked to hand over."""
    fill(tmp_path / "papers", "one")

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    with monkeypatch.context() as patch:
        patch.setattr(settled.os, "fsync", full)
        with pytest.raises(OutputError, match="no space left on device") as caught:
            fill(tmp_path / "papers", "two")
        assert "make room" in caught.value.hint
        with pytest.raises(OutputError, match="no space left on device"):
            write_in_one_move(tmp_path / "papers" / "a.txt", "two")
    assert (tmp_path / "papers" / "a.txt").read_text() == "one"
    assert changes_in(tmp_path / "papers") == []
    assert [path.name for path in tmp_path.iterdir()] == ["papers"]


def test_a_system_that_cannot_hand_over_folders_is_no_fault(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    honest = os.open

    def opening(path: Path, flags: int, *rest: int) -> int:
        if Path(path).is_dir():
            raise PermissionError(errno.EACCES, "folders cannot be opened here")
        return honest(path, flags, *rest)

    monkeypatch.setattr(settled.os, "open", opening)
    (tmp_path / "below").mkdir()
    (tmp_path / "below" / "a.txt").write_text("a")
    settle_all(tmp_path)


def test_a_link_stays_a_link_and_rights_stay_as_they_were(tmp_path: Path) -> None:
    real, link = tmp_path / "real.toml", tmp_path / "link.toml"
    real.write_text("old")
    real.chmod(0o640)
    link.symlink_to(real)
    with replacing(link) as scratch:
        scratch.write_text("new")
    assert link.is_symlink()
    assert real.read_text() == "new"
    assert real.stat().st_mode & 0o777 == 0o640
    mask = os.umask(0o027)
    try:
        write_in_one_move(tmp_path / "fresh.toml", "fresh")
    finally:
        os.umask(mask)
    assert (tmp_path / "fresh.toml").stat().st_mode & 0o777 == 0o640
    with pytest.raises(ValueError, match="stop"), replacing(real):
        raise ValueError("stop")
    assert sorted(path.name for path in tmp_path.iterdir()) == ["fresh.toml", "link.toml", "real.toml"]
