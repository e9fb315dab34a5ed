"""How is a site file read?"""

from __future__ import annotations

from pathlib import Path

from enclosure.files.read import Outcome, read_model
from enclosure.site.model import Site


def site_outcome(path: Path) -> Outcome[Site]:
    """Return the site in a file, or all its faults."""
    return read_model(path, Site)


def read_site(path: Path) -> Site:
    """Return the site in a file.

    Raises:
        FaultsError: The file cannot be read; all faults together.
    """
    return site_outcome(path).sound()
