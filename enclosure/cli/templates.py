"""``enclosure templates``: what is shipped to start from?"""

from __future__ import annotations

import json
from pathlib import Path
from typing import get_args

import click

from enclosure.errors import BriefError, nearest


@click.command(short_help="List what is shipped to start from.")
@click.option("-s", "--show", metavar="NAME", help="Print one file; send it to a file of your own with >.")
@click.option("--json", "as_json", is_flag=True, help="Print the list as JSON.")
def templates(show: str | None, as_json: bool) -> None:
    """List the briefs, stock lists, sites and label sheets that are shipped.

    \b
    Examples:
      enclosure templates
      enclosure templates --show inch-stock > my-stock.toml
    """
    if show is not None:
        click.echo(_find(show).read_text(encoding="utf-8"), nl=False)
        return
    listed = {kind: {path.stem: _says(path) for path in paths} for kind, paths in _shipped().items()}
    if as_json:
        click.echo(json.dumps(listed, indent=2, ensure_ascii=False))
        return
    for kind, entries in listed.items():
        click.echo(f"{kind}:")
        wide = max(map(len, entries), default=0)
        for name, words in entries.items():
            click.echo(f"  {name:<{wide}}  {words}")


def _shipped() -> dict[str, list[Path]]:
    from enclosure.templates_home import Kind, find_template, template_names

    return {kind: [find_template(kind, name) for name in template_names(kind)] for kind in get_args(Kind)}


def _find(name: str) -> Path:
    known = {path.stem: path for paths in _shipped().values() for path in paths}
    stem = name.removesuffix(".toml")
    if stem not in known:
        raise BriefError(f"nothing shipped is called {name}", nearest(stem, known, "see: enclosure templates"))
    return known[stem]


def _says(path: Path) -> str:
    """Return the first sentence of a file's opening note, or its name line where that says more."""
    words: list[str] = []
    with path.open(encoding="utf-8") as file:
        for line in file:
            if line.startswith("name = ") and path.parent.name == "labels":
                return line.split("=", 1)[1].strip().strip('"')
            if not line.startswith("#") and path.parent.name != "labels":
                break
            words.append(line.lstrip("# ").strip())
    text = " ".join(words)
    return text.partition(": ")[2].partition(". ")[0].rstrip(".") if ": " in text else text.partition(". ")[0]
