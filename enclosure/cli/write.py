"""How is one file written: whole, or not at all, and never over somebody's work?"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from enclosure.errors import OutputError
from enclosure.files.settled import replacing


def refuse_existing(target: Path, force: bool) -> None:
    """Raise when a file cannot be written there.

    Raises:
        OutputError: It is a folder, or there already and not to be replaced, or its folder is missing.
    """
    if target.is_dir():
        raise OutputError(f"{target} is a folder", f"name a file, for instance {target / 'my-fern.toml'}")
    if target.exists() and not force:
        raise OutputError(f"{target} is there already", "choose another name, or --force to replace it")
    if not target.parent.is_dir():
        raise OutputError(f"there is no folder {target.parent}", "make it first, or write somewhere else")


@contextmanager
def whole_file(target: Path, force: bool) -> Iterator[Path]:
    """Yield a scratch path; what was written there moves to the target in one step at the end.

    Raises:
        OutputError: The file cannot be written there.
    """
    refuse_existing(target, force)
    try:
        with replacing(target) as scratch:
            yield scratch
            refuse_existing(target, force)
    except OSError as error:
        raise OutputError(
            f"{target} cannot be written: {(error.strerror or 'unknown reason').lower()}",
            "choose a folder that you may write to",
        ) from None


def write_text(target: Path, text: str, force: bool) -> None:
    """Write text in one move, so that a stop halfway leaves no half file."""
    with whole_file(target, force) as scratch:
        scratch.write_text(text, encoding="utf-8", newline="\n")

