"""How does a person see that long work goes on?

A bar on a terminal, nothing anywhere else; the bar stands on stderr so that stdout stays clean.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from enclosure.cli.doors import Progress


@contextmanager
def progress_bar(quiet: bool = False) -> Iterator[Progress]:
    """Yield a function that takes what is being done and the share of the work done, 0 to 1."""
    if quiet or sys.stderr is None or not sys.stderr.isatty() or os.environ.get("TERM") == "dumb":
        yield lambda words, share: None
        return
    from rich.console import Console
    from rich.progress import BarColumn, TaskProgressColumn, TextColumn
    from rich.progress import Progress as Bar

    columns = (TextColumn("{task.description:<34}"), BarColumn(), TaskProgressColumn())
    with Bar(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("starting", total=1.0)
        yield lambda words, share: bar.update(task, description=words, completed=min(max(share, 0.0), 1.0))
