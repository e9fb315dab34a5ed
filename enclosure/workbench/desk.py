"""Where does the work on one brief live while the page is open?

A desk holds the text of one brief, every text before it for undo, and what was last
reckoned from it. Desks live in memory; a desk that was opened from a file can be saved
back to it. All changes go through one lock, so that edits that arrive together from
two windows are done one after the other.
"""

from __future__ import annotations

import secrets
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path

from enclosure.errors import BriefError, OutputError
from enclosure.files.read import MOST_BYTES
from enclosure.files.settled import replacing
from enclosure.templates_home import find_template, templates_root
from enclosure.units import UnitSystem
from enclosure.workbench.edit import changed
from enclosure.workbench.shelves import Shelves

MOST_UNDO = 200
MOST_DESKS = 40


@dataclass(slots=True)
class Desk:
    """The work on one brief.

    Args:
        key: Random word in the desk's address.
        text: The brief as it stands.
        shelves: Files that it may name.
        file: The file it was opened from, None when it has none.
        origin: Where it came from, in words.
    """

    key: str
    text: str
    shelves: Shelves
    file: Path | None = None
    origin: str = ""
    view: UnitSystem = "metric"
    rev: int = 1
    saved: str = ""
    pinned: str = ""
    past: list[str] = field(default_factory=list)
    future: list[str] = field(default_factory=list)
    lock: threading.RLock = field(default_factory=threading.RLock)
    _live_key: str = ""

    def edit(self, changes: Mapping[str, str], *, live: bool = False) -> bool:
        """Change some fields; edits of one field while typing make one step of undo.

        Returns:
            True when the text changed.
        """
        with self.lock:
            text = changed(self.text, changes)
            if text == self.text:
                return False
            key = ",".join(sorted(changes)) if live else ""
            if not (live and key == self._live_key):
                self._remember()
            self._live_key = key
            self.future.clear()
            self.text = text
            self.rev += 1
            return True

    def state(self) -> tuple[str, list[str], list[str], int, str]:
        """Return what `restore` takes back."""
        return self.text, list(self.past), list(self.future), self.rev, self._live_key

    def restore(self, state: tuple[str, list[str], list[str], int, str]) -> None:
        """Forget what was done since a state was taken, as if it had not happened."""
        self.text, self.past, self.future, self.rev, self._live_key = state

    def undo(self) -> bool:
        """Go one text back; False when there is none."""
        with self.lock:
            return self._step(self.past, self.future)

    def redo(self) -> bool:
        """Go one text forward again; False when there is none."""
        with self.lock:
            return self._step(self.future, self.past)

    def _step(self, source: list[str], other: list[str]) -> bool:
        if not source:
            return False
        other.append(self.text)
        self.text = source.pop()
        self._live_key = ""
        self.rev += 1
        return True

    def _remember(self) -> None:
        self.past.append(self.text)
        del self.past[:-MOST_UNDO]

    def save(self) -> Path:
        """Write the brief back to the file it was opened from, in one move.

        Raises:
            OutputError: It has no file, the file was changed by somebody else, or it cannot be written.
        """
        with self.lock:
            if self.file is None:
                raise OutputError("this brief has no file on this computer yet", "download it instead")
            try:
                if self.file.exists() and self.file.read_text(encoding="utf-8-sig") != self.saved:
                    raise OutputError(
                        f"{self.file.name} was changed by another program since it was opened",
                        "download this brief under another name, then look at both",
                    )
                with replacing(self.file) as scratch:
                    scratch.write_text(self.text, encoding="utf-8", newline="\n")
            except (OSError, UnicodeDecodeError) as error:
                words = getattr(error, "strerror", None) or "unknown reason"
                raise OutputError(
                    f"{self.file.name} cannot be written: {words.lower()}", "download the brief instead"
                ) from None
            self.saved = self.text
            return self.file

    @property
    def is_saved(self) -> bool:
        """True when the file holds what stands here."""
        return self.file is not None and self.saved == self.text


class Bench:
    """All desks of one run."""

    def __init__(self) -> None:
        self._desks: dict[str, Desk] = {}
        self._lock = threading.Lock()

    def get(self, key: str) -> Desk | None:
        """Return the desk with this word, None when there is none."""
        return self._desks.get(key)

    def all(self) -> tuple[Desk, ...]:
        """Return all desks, the newest last."""
        return tuple(self._desks.values())

    def from_template(self, name: str) -> Desk:
        """Put a shipped brief on a new desk.

        Raises:
            BriefError: No such brief is shipped, or there are too many desks.
        """
        text = find_template("briefs", name).read_text(encoding="utf-8")
        return self._add(Desk(secrets.token_urlsafe(9), text, Shelves(), None, f"the shipped brief {name}"))

    def from_text(self, text: str, name: str) -> Desk:
        """Put a text that the browser read from a file on a new desk."""
        check_size(text)
        return self._add(Desk(secrets.token_urlsafe(9), text, Shelves(), None, name))

    def from_file(self, path: Path) -> Desk:
        """Put a file named on the command line on a new desk.

        Raises:
            BriefError: It cannot be read as text.
        """
        try:
            if path.stat().st_size > MOST_BYTES:
                raise BriefError(f"{path} is too large for a brief", "check that this is the right file")
            text = path.read_text(encoding="utf-8-sig")
        except (OSError, UnicodeDecodeError) as error:
            words = getattr(error, "strerror", None) or "it is not text in UTF-8"
            raise BriefError(f"{path} cannot be read: {words.lower()}", "check the name") from None
        if path.parent.resolve() == (templates_root() / "briefs").resolve():
            # a shipped brief is where work begins, never where it is saved
            return self.from_template(path.stem)
        desk = Desk(secrets.token_urlsafe(9), text, Shelves(path), path, path.name)
        desk.saved = text
        return self._add(desk)

    def _add(self, desk: Desk) -> Desk:
        with self._lock:
            if len(self._desks) >= MOST_DESKS:
                raise BriefError(f"{MOST_DESKS} briefs are open", "stop the program and start it again")
            self._desks[desk.key] = desk
        desk.view = "inch" if 'units = "inch"' in desk.text else "metric"
        return desk


def check_size(text: str) -> None:
    """Raise when a text is too large for a brief.

    Raises:
        BriefError: It is.
    """
    if len(text.encode()) > MOST_BYTES:
        raise BriefError("the file is too large for a brief", "check that this is the right file")
