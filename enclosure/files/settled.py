"""How does a file come to be whole or not at all, and still be so after the power fails?

What is written goes into a scratch file beside the target, is handed to the disk (fsync) and takes the name in one
move; then the folder is handed to the disk too, which holds the name. A stop at any moment, of the program or of the
machine, leaves the old file or the new one.

Left out: whole folders (see `outputs.folder`); what the files hold.
"""

from __future__ import annotations

import errno
import os
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from enclosure.errors import OutputError

_NO_MATTER = (errno.EINVAL, errno.ENOTSUP, errno.EBADF, errno.EACCES, errno.EPERM, errno.EISDIR)
"""A folder cannot be handed to the disk on every system; a file can."""


def settle(path: Path) -> None:
    """Wait until a file, or the names in a folder, lie on the disk.

    Raises:
        OSError: The disk is full or broken.
    """
    is_folder = path.is_dir()
    try:
        handle = os.open(path, os.O_RDONLY if is_folder else os.O_RDWR)
    except OSError as error:
        if is_folder and error.errno in _NO_MATTER:
            return
        raise
    try:
        os.fsync(handle)
    except OSError as error:
        if not (is_folder and error.errno in _NO_MATTER):
            raise
    finally:
        os.close(handle)


def settle_all(folder: Path) -> None:
    """Wait until everything below a folder lies on the disk, and then the folder itself.

    Raises:
        OSError: The disk is full or broken.
    """
    for base, _, names in os.walk(folder, topdown=False):
        for name in names:
            settle(Path(base) / name)
        settle(Path(base))


@contextmanager
def replacing(target: Path) -> Iterator[Path]:
    """Yield a scratch path; what was written there becomes the target in one move at the end.

    A link stays a link: what it points to is replaced. A file keeps its rights, a new one gets the usual ones.

    Raises:
        OSError: The file cannot be written there; nothing is changed.
    """
    target = target.resolve() if target.is_symlink() else target
    handle, name = tempfile.mkstemp(prefix=f".{target.name[:50]}.", suffix=".part", dir=target.parent)
    os.close(handle)
    scratch = Path(name)
    try:
        yield scratch
        scratch.chmod(target.stat().st_mode & 0o777 if target.exists() else 0o666 & ~_umask())
        settle(scratch)
        scratch.replace(target)
        settle(target.parent)
    finally:
        scratch.unlink(missing_ok=True)


def write_in_one_move(target: Path, content: str | bytes) -> None:
    """Write a file, whole or not at all.

    Raises:
        OutputError: It cannot be written.
    """
    try:
        with replacing(target) as scratch:
            scratch.write_bytes(content.encode("utf-8") if isinstance(content, str) else content)
    except OSError as error:
        words = (error.strerror or str(error)).lower()
        raise OutputError(f"{target} cannot be written: {words}", "check the folder and its rights") from error


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
