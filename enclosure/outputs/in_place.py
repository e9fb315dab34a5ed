"""How does a finished folder take its name in one step, and what becomes of what a stopped run left behind?

On Linux two folders exchange their names in one system call, so a stop at any moment leaves the old folder or the
new one under the name, never neither. Elsewhere the old folder steps aside first; a stop between the two steps leaves
it under a hidden name, and the next run puts it back.

A run holds a lock on its scratch folder. A scratch folder that nobody holds was left by a run that was killed; the
next run for the same target removes it. Where the system has no such locks nothing is swept.
"""

from __future__ import annotations

import ctypes
import errno
import os
import re
import shutil
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from enclosure.files.settled import settle, settle_all

_AT_FDCWD = -100
_EXCHANGE = 2
"""RENAME_EXCHANGE of renameat2(2)."""


@contextmanager
def scratch_beside(target: Path) -> Iterator[Path]:
    """Give a new private folder beside a target, hidden, on the same file system, locked against `sweep`.

    Raises:
        OSError: It cannot be made.
    """
    with _new_folder(target, ".part") as scratch:
        try:
            yield scratch
        finally:
            shutil.rmtree(scratch, ignore_errors=True)


@contextmanager
def _new_folder(target: Path, ending: str) -> Iterator[Path]:
    while True:
        folder = Path(tempfile.mkdtemp(prefix=f".{_short(target)}.", suffix=ending, dir=target.parent))
        try:
            handle = _lock(folder)
        except OSError:  # file systems without locks, or another run that swept in this very moment
            handle = None
        if folder.exists():
            break
    try:
        yield folder
    finally:
        if handle is not None:
            os.close(handle)


def _short(target: Path) -> str:
    """Return as much of a target's name as leaves room for what is added to it."""
    return target.name[:50]


def _lock(folder: Path) -> int | None:
    """Return a handle that holds the lock of a folder, None on a system without such locks.

    Raises:
        OSError: Another run holds it, or the file system has no locks.
    """
    try:
        import fcntl
    except ImportError:
        return None
    handle = os.open(folder, os.O_RDONLY | os.O_DIRECTORY | os.O_NOFOLLOW)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise
    return handle


def sweep(target: Path) -> None:
    """Remove what killed runs left beside a target; an old folder that had stepped aside gets its name back."""
    pattern = re.compile(re.escape(f".{_short(target)}.") + r"[a-z0-9_]{8}\.(part|old)")
    try:
        found = sorted(path for path in target.parent.iterdir() if pattern.fullmatch(path.name))
    except OSError:
        return
    for path in found:
        try:
            handle = _lock(path)
        except OSError:
            continue
        if handle is not None:
            _clear(path, target)
            os.close(handle)


def _clear(left: Path, target: Path) -> None:
    old = left / target.name
    if left.suffix == ".old" and os.path.lexists(old) and not os.path.lexists(target):
        try:
            old.rename(target)
        except OSError:
            return
    shutil.rmtree(left, ignore_errors=True)


def put_in_place(scratch: Path, target: Path) -> None:
    """Give a finished folder its name; what bore the name before is removed.

    All of it lies on the disk before it takes the name, and the name before the old folder goes: when the power
    fails, the old folder or the new one is there, and whole.

    Raises:
        OSError: It cannot be done; what stood there still stands.
    """
    settle_all(scratch)
    try:
        # an empty folder, or none, is replaced by the rename itself
        scratch.rename(target)
    except OSError as error:
        if error.errno not in (errno.ENOTEMPTY, errno.EEXIST):
            raise
    else:
        settle(target.parent)
        return
    if exchanged(scratch, target):
        settle(target.parent)
        shutil.rmtree(scratch, ignore_errors=True)
        return
    _step_aside(scratch, target)


def exchanged(one: Path, other: Path) -> bool:
    """Exchange the names of two folders in one step; False where the system cannot."""
    if sys.platform != "linux":
        return False
    try:
        call = ctypes.CDLL(None, use_errno=True).renameat2
    except (AttributeError, OSError):
        return False
    return bool(call(_AT_FDCWD, os.fsencode(one), _AT_FDCWD, os.fsencode(other), _EXCHANGE) == 0)


def _step_aside(scratch: Path, target: Path) -> None:
    with _new_folder(target, ".old") as aside:
        old = aside / target.name
        try:
            target.rename(old)
            scratch.rename(target)
        except BaseException:
            # also when stopped between the two: look at what is there, not at how far we came
            if old.exists() and not target.exists():
                old.rename(target)
            if not old.exists():
                aside.rmdir()
            raise
        settle(target.parent)
        shutil.rmtree(aside, ignore_errors=True)
