"""``enclosure new``: how does a grower get a first brief?

A shipped brief is copied with its notes. On a terminal a few questions are asked; elsewhere, or with
``--template`` or ``--set``, nothing is asked. A changed brief is checked before it is written.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any, TextIO

import click

from enclosure.cli.write import refuse_existing, write_text
from enclosure.errors import BriefError, EnclosureError

DEFAULT = "tree-fern"
# key, question, dimension or other kind of answer
QUESTIONS = (
    ("plant.name", "What is the plant", "text"),
    ("plant.height", "How tall is it, as tied for winter", "length"),
    ("plant.spread_x", "How wide from left to right, as tied", "length"),
    ("plant.spread_y", "How deep from front to back, as tied", "length"),
    ("plant.open_spread_x", "How wide does it grow, untied", "length"),
    ("plant.open_spread_y", "How deep does it grow, untied", "length"),
    ("winters", "How many winters must the shelter serve", "count"),
    ("front_faces", "Which way does the front look (S, SSE, 170 deg)", "bearing"),
    ("site", "Which site", "sites"),
    ("stock", "Which stock list", "stock"),
)


@click.command(short_help="Write a first brief, ready to change.")
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option(
    "-t", "--template", metavar="NAME", help="Shipped brief to start from (see: enclosure templates)."
)
@click.option(
    "-s",
    "--set",
    "changes",
    metavar="KEY=VALUE",
    multiple=True,
    help='Change one line, for instance plant.height="2.1 m". May be given again.',
)
@click.option("-f", "--force", is_flag=True, help="Replace FILE if it is there.")
def new(file: Path | None, template: str | None, changes: tuple[str, ...], force: bool) -> None:
    """Write a brief with notes, ready to change, to FILE.

    On a terminal a few questions are asked; Enter keeps the answer in brackets. With --template or
    --set nothing is asked. A file that is there is never replaced without --force.

    \b
    Examples:
      enclosure new my-fern.toml
      enclosure new lemon.toml --template potted-lemon --set plant.height="1.1 m" --set winters=4
    """
    from enclosure.templates_home import find_template, template_names

    if file is not None:
        refuse_existing(file, force)
    asks = template is None and not changes and _is_terminal(sys.stdin) and _is_terminal(sys.stdout)
    if asks:
        template = _ask_template(template_names("briefs"))
    source = find_template("briefs", template or DEFAULT)
    target = file if file is not None else Path(source.name)
    refuse_existing(target, force)
    text = source.read_text(encoding="utf-8")
    wanted = [_split(change) for change in changes]
    if asks:
        wanted = _ask(text)
    if wanted:
        text = _changed(text, wanted)
        _check(text, target)
    write_text(target, text, force)
    click.echo(f"wrote {target}, from the shipped brief {source.stem}")
    click.echo(f"next: change it in any editor, then: enclosure make {target}")


def _is_terminal(stream: TextIO | None) -> bool:
    """Return whether somebody sits there; a program started without a terminal may have no stream at all."""
    return stream is not None and stream.isatty()


def _split(change: str) -> tuple[str, Any]:
    """Return key and value of one ``--set``; the value is TOML if it can be, else text."""
    import tomllib

    key, sign, said = change.partition("=")
    if not sign or not all(part.strip() for part in key.split(".")):
        raise BriefError(f"--set {change} is not KEY=VALUE", 'write for instance --set plant.height="2.1 m"')
    said = said.strip()
    try:
        return key.strip(), tomllib.loads(f"value = {said}")["value"] if "\n" not in said else said
    except ValueError:
        return key.strip(), said


def _changed(text: str, wanted: list[tuple[str, Any]]) -> str:
    """Return a brief with some values changed and all its notes kept."""
    from enclosure.brief.change import with_values

    return with_values(text, tuple((tuple(part.strip() for part in key.split(".")), value) for key, value in wanted))


def _check(text: str, target: Path) -> None:
    from enclosure.brief.read import read_all_text

    read_all_text(text, target)


def _ask_template(names: tuple[str, ...]) -> str:
    click.echo("Shipped briefs: " + ", ".join(names))
    return _ask_one("Start from which", DEFAULT, lambda said: _among(said, names))


def _ask(text: str) -> list[tuple[str, Any]]:
    import tomllib

    told = tomllib.loads(text)
    wanted: list[tuple[str, Any]] = []
    for key, question, kind in QUESTIONS:
        now = _value(told, key)
        if now is None:
            continue
        said = _ask_one(question, str(now), lambda answer, kind=kind: _accept(answer, kind))
        if said != str(now):
            wanted.append((key, int(said) if kind == "count" else said))
    return wanted


def _value(told: Any, key: str) -> Any:
    for part in key.split("."):
        told = told.get(part) if isinstance(told, dict) else None
    return told


def _ask_one(question: str, default: str, accept: Any) -> str:
    while True:
        said = str(click.prompt(question, default=default)).strip()
        try:
            accept(said)
        except EnclosureError as error:
            click.echo(f"  {error.message}\n  {error.hint}")
            continue
        return said


def _among(said: str, names: tuple[str, ...]) -> None:
    if said.removesuffix(".toml") not in names:
        raise BriefError(f"{said} is not one of them", f"choose from {', '.join(names)}")


def _accept(said: str, kind: str) -> None:
    """Raise the reader's own error when an answer could not be read later."""
    from enclosure.templates_home import template_names
    from enclosure.units import parse_bearing, parse_length

    if kind == "length":
        parse_length(said)
    elif kind == "bearing":
        parse_bearing(said)
    elif kind == "count":
        if not said.isdecimal() or not 1 <= int(said) <= 40:
            raise BriefError(f"{said} is not a whole number from 1 to 40", "write for instance 5")
    elif kind == "sites":
        _among(said, template_names("sites"))
    elif kind == "stock":
        _among(said, template_names("stock"))
