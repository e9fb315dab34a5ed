"""Through which doors do the commands reach the pipeline, and what do they expect back?

The pipeline is imported only when a command runs, so that ``enclosure --help`` stays quick.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from enclosure.errors import BriefError

if TYPE_CHECKING:
    from enclosure.checks.model import Check
    from enclosure.pipeline.labels import LabelWish
    from enclosure.pipeline.rack import RackWish

Progress = Callable[[str, float], None]


class MakeResult(Protocol):
    """What making gives back."""

    @property
    def out_dir(self) -> Path:
        """The folder that was written."""

    @property
    def files(self) -> tuple[str, ...]:
        """Its files, relative to it, in reading order."""

    @property
    def summary(self) -> tuple[str, ...]:
        """Lines for people."""

    @property
    def notes(self) -> tuple[str, ...]:
        """What was left out and why."""

    @property
    def checks(self) -> tuple[Check, ...]:
        """All checks, worst first."""


def make_all(
    brief: Path,
    out_dir: Path,
    *,
    force: bool,
    solids: bool,
    progress: Progress,
    plots: bool = True,
    year: int | None = None,
    labels: LabelWish | None = None,
    rack: RackWish | None = None,
    as_built: Path | None = None,
) -> MakeResult:
    """Write every paper of a brief into a folder."""
    from enclosure.pipeline.make import make  # type: ignore[import-not-found,import-untyped,unused-ignore]

    made: MakeResult = make(
        brief, out_dir, force=force, solids=solids, plots=plots, year=year, labels=labels, rack=rack,
        as_built=as_built,
        progress=progress,
    )
    return made


def check_all(brief: Path, progress: Progress, weather: Path | None = None) -> tuple[Check, ...]:
    """Return all checks of a brief, worst first."""
    from enclosure.pipeline.check import check  # type: ignore[import-not-found,import-untyped,unused-ignore]

    rows: tuple[Check, ...] = check(brief, weather=weather, progress=progress)
    return rows


def brief_path(said: str) -> Path:
    """Return the brief that was meant: a file, or the name of a shipped one.

    Raises:
        BriefError: Neither exists.
    """
    from enclosure.templates_home import find_template, template_names

    path = Path(said)
    shipped = said in template_names("briefs")
    if (path.exists() and not (shipped and path.is_dir())) or path.suffix or path.parent != Path("."):
        return path
    if shipped:
        return find_template("briefs", said)
    raise BriefError(
        f"there is no file {said}, and no shipped brief of that name",
        f"name your brief file, or one of {', '.join(template_names('briefs'))}",
    )
