"""Where do the shipped briefs, stock lists, site files and label sheets lie?

In the wheel they are ``enclosure/_templates``; in a checkout they are ``templates`` beside the package.
"""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from enclosure.errors import BriefError, nearest

Kind = Literal["briefs", "stock", "sites", "labels"]
_ONE: dict[Kind, str] = {
    "briefs": "brief",
    "stock": "stock list",
    "sites": "site file",
    "labels": "label sheet",
}


def templates_root() -> Path:
    """Return the folder of the shipped templates: the wheel's first, then the checkout's.

    Raises:
        BriefError: Neither exists, so the installation is incomplete.
    """
    package = Path(__file__).resolve().parent
    for folder in (package / "_templates", package.parent / "templates"):
        if (folder / "briefs").is_dir():
            return folder
    raise BriefError("the shipped templates are missing from this installation", "install the program again")


def template_names(kind: Kind) -> tuple[str, ...]:
    """Return the names (without ending) of the shipped files of one kind, sorted."""
    return tuple(sorted(path.stem for path in (templates_root() / kind).glob("*.toml")))


def find_template(kind: Kind, name: str) -> Path:
    """Return the path of one shipped file; the ending may be left out.

    Raises:
        BriefError: No such file is shipped.
    """
    stem = name.removesuffix(".toml")
    names = template_names(kind)
    if stem not in names:
        hint = nearest(stem, names, f"choose one of {', '.join(names)}")
        raise BriefError(f"no shipped {_ONE[kind]} is called {stem}", hint)
    return templates_root() / kind / f"{stem}.toml"
