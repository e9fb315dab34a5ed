"""From a brief that does not pass to one that does.

design_from -> pipeline.check.propose -> brief.change (the new text, notes kept) -> checks again
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from enclosure.brief.change import changed_text, differences
from enclosure.checks.model import Check
from enclosure.pipeline.check import Proposal, checks_of, propose
from enclosure.pipeline.walk import design_from, rebuild

Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Proposed:
    """What the program would change in a brief.

    Args:
        proposal: Changes in words, utilisations before and after.
        lines: Keys of the brief that change, with their new values.
        rows: All checks of the brief as it stands, worst first.
        later: All checks of the changed brief, worst first.
        text: The changed brief; the old text when nothing changes.
    """

    proposal: Proposal
    lines: tuple[tuple[str, object], ...]
    rows: tuple[Check, ...]
    later: tuple[Check, ...]
    text: str

    @property
    def left(self) -> tuple[Check, ...]:
        """Rows that are still over 1.00 and more than advice."""
        return tuple(row for row in self.later if not row.passes and not row.advice)


def proposed(brief_path: Path, target: Path | None = None, *, progress: Progress | None = None) -> Proposed:
    """Return the changes that make the shelter of a brief stand, and the brief that has them.

    Args:
        brief_path: The brief.
        target: Where the changed brief will be written; the files it names are looked for beside it.
        progress: Told what is being done and the share done, 0 to 1.

    Raises:
        FaultsError: The brief cannot be read, or a file it names is not found from the target.
        DesignError: The shelter cannot be made.
        BriefError: A change that a brief cannot say.
    """
    say = progress or (lambda text, share: None)
    say("reading the brief", 0.05)
    shelter = design_from(brief_path)
    rows = checks_of(shelter, ways_out=False)
    say("trying changes", 0.2)
    found = propose(shelter)
    text = brief_path.read_text(encoding="utf-8-sig")
    if found.brief == shelter.brief:
        return Proposed(found, (), rows, rows, text)
    say("checks of the changed brief", 0.85)
    later = checks_of(rebuild(found.brief, shelter.site, shelter.stock), ways_out=False)
    text = changed_text(text, shelter.brief, found.brief, target or brief_path)
    lines = tuple((".".join(key), value) for key, value in differences(shelter.brief, found.brief))
    say("done", 1.0)
    return Proposed(found, lines, rows, later, text)
