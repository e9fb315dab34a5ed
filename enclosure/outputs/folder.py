"""How does a folder of finished files come to be whole or not at all?

Everything is written into a scratch folder beside the target and moved into place by
one rename when it is complete (`in_place`). If anything fails, or the person stops the
program, the scratch folder is removed and what stood there before still stands. When the
program is killed the next run for the same target removes it.

A folder that exists already is replaced only if this program made it and nobody has
changed, added or removed a file since: a manifest, ``.enclosure-manifest.json``, holds
the sha256 of every file. With `force` any folder is replaced. A target that is a
symbolic link is refused; it is never followed.

Left out: what the files hold.
"""

from __future__ import annotations

import errno
import hashlib
import json
import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from enclosure.errors import OutputError
from enclosure.outputs.in_place import put_in_place, scratch_beside, sweep

MANIFEST = ".enclosure-manifest.json"
MANIFEST_SCHEMA = 1
_MOST_NAMED = 5


@contextmanager
def whole_folder(target: Path, *, force: bool = False) -> Iterator[Path]:
    """Give a scratch folder to write into; on leaving, it becomes `target` in one rename.

    Args:
        target: Folder to make, for instance ``./tree-fern``. Its parent must exist.
        force: Replace a folder even if this program did not make it or it was changed.

    Yields:
        The scratch folder, empty, beside the target.

    Raises:
        OutputError: The target may not be replaced or cannot be written; nothing is changed.
    """
    # the name as given, made absolute without following a link at its end
    target = Path(os.path.abspath(target))
    check_target(target, force=force)
    sweep(target)
    try:
        with scratch_beside(target) as scratch:
            yield scratch
            _write_manifest(scratch)
            _set_mode(scratch)
            # somebody may have worked in the old folder while the new one was made
            check_target(target, force=force)
            put_in_place(scratch, target)
    except OSError as error:
        raise OutputError(f"{target} cannot be written: {_reason(error)}", _way_out(error)) from error


def check_target(target: Path, *, force: bool = False) -> None:
    """Raise unless a folder may be made or replaced at `target`.

    Raises:
        OutputError: It is a link, a file or a device, its parent is missing, or it holds what
            this program did not write and `force` is not given.
    """
    if target == target.parent or not target.name:
        raise OutputError(f"{target} is no place for a new folder", "name a new folder with --out")
    if not target.parent.is_dir():
        raise OutputError(f"there is no folder {target.parent}", "make it first, or name another with --out")
    if not os.access(target.parent, os.W_OK | os.X_OK):
        read_only = hasattr(os, "statvfs") and os.statvfs(target.parent).f_flag & os.ST_RDONLY
        error = OSError(errno.EROFS if read_only else errno.EACCES, "")
        raise OutputError(f"{target} cannot be written: {os.strerror(error.errno or 0).lower()}", _way_out(error))
    try:
        kind = os.lstat(target).st_mode
    except FileNotFoundError:
        return
    except OSError as error:
        raise OutputError(f"{target} cannot be looked at: {_reason(error)}", _way_out(error)) from error
    if stat.S_ISLNK(kind):
        raise OutputError(
            f"{target} is a link to another place, which is not followed",
            "remove the link, or name the folder itself with --out",
        )
    if not stat.S_ISDIR(kind):
        raise OutputError(f"{target} is a file, not a folder", "name another folder with --out")
    if force:
        return
    changes = changes_in(target)
    if changes is None:
        raise OutputError(
            f"{target} exists and was not made by this program",
            "name another folder with --out, or replace it and all it holds with --force",
        )
    if changes:
        more = f" and {len(changes) - _MOST_NAMED} more" if len(changes) > _MOST_NAMED else ""
        raise OutputError(
            f"{target} holds work of yours: {', '.join(changes[:_MOST_NAMED])}{more}",
            "move it out, name another folder with --out, or lose it with --force",
        )


def changes_in(folder: Path) -> list[str] | None:
    """Return what was changed, added or removed since this program made a folder.

    Returns:
        Words such as ``notes.txt (added)`` in the order of the names; empty when nothing was;
        None when this program did not make the folder. An empty folder counts as made by it.
    """
    try:
        found = _files(folder)
    except OSError as error:
        raise OutputError(f"{folder} cannot be read: {_reason(error)}", _way_out(error)) from error
    if not found:
        return []
    listed = _read_manifest(folder)
    if listed is None:
        return None
    words = []
    for name in sorted({*found, *listed} - {MANIFEST}):
        if name not in listed:
            words.append(f"{name} (added)")
        elif name not in found:
            words.append(f"{name} (removed)")
        elif found[name] != "file" or _sha256(folder / name) != listed[name]:
            words.append(f"{name} (changed)")
    return words


# --- inside -----------------------------------------------------------------------


def _files(folder: Path) -> dict[str, str]:
    """Return all names below a folder, with what they are: "file", "link", "empty folder" or "other"."""
    found: dict[str, str] = {}
    for base, folders, names in os.walk(folder, onerror=_raise):
        for name in [*folders, *names]:
            path = Path(base) / name
            kind = os.lstat(path).st_mode
            key = path.relative_to(folder).as_posix()
            if stat.S_ISLNK(kind):
                found[key] = "link"
            elif stat.S_ISREG(kind):
                found[key] = "file"
            elif not stat.S_ISDIR(kind):
                found[key] = "other"
            elif not any(path.iterdir()):
                found[key] = "empty folder"
    return found


def _raise(error: OSError) -> None:
    raise error


def _sha256(path: Path) -> str:
    with path.open("rb") as file:
        return hashlib.file_digest(file, "sha256").hexdigest()


def _write_manifest(folder: Path) -> None:
    found = _files(folder)
    strange = sorted(name for name, kind in found.items() if kind != "file")
    if strange:
        raise OutputError(f"{strange[0]} is a {found[strange[0]]}; only files belong in a finished folder")
    manifest = {
        "made_by": "enclosure",
        "schema": MANIFEST_SCHEMA,
        "sha256": {name: _sha256(folder / name) for name in sorted(found)},
    }
    text = json.dumps(manifest, indent=1, ensure_ascii=False) + "\n"
    (folder / MANIFEST).write_text(text, encoding="utf-8")


def _read_manifest(folder: Path) -> dict[str, str] | None:
    path = folder / MANIFEST
    if path.is_symlink() or not path.is_file():
        return None
    try:
        manifest = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return None
    if not isinstance(manifest, dict) or manifest.get("made_by") != "enclosure":
        return None
    listed = manifest.get("sha256")
    if not isinstance(listed, dict) or not all(isinstance(value, str) for value in listed.values()):
        return None
    return listed


def _set_mode(folder: Path) -> None:
    """Give the folder the mode that mkdir would have given it; a scratch folder is private."""
    mask = os.umask(0)
    os.umask(mask)
    folder.chmod(0o777 & ~mask)


def _reason(error: OSError) -> str:
    return (error.strerror or str(error)).lower()


def _way_out(error: OSError) -> str:
    if error.errno in (errno.EACCES, errno.EPERM, errno.EROFS):
        return "name a folder that you may write in with --out"
    if error.errno in (errno.ENOSPC, errno.EDQUOT):
        return "make room on the disk, or name a folder on another with --out"
    return "name another folder with --out"
