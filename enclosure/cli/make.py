"""``enclosure make``: from a brief to a folder of papers."""

from __future__ import annotations

import json
from pathlib import Path

import click

from enclosure.cli.doors import MakeResult, brief_path, make_all


@click.command(short_help="Write all the papers.")
@click.argument("brief", type=str)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write. Left out: the brief's name and -papers, here.",
)
@click.option("-f", "--force", is_flag=True, help="Replace the folder even when it holds other files.")
@click.option("--no-solids", is_flag=True, help="Leave out the solid model (STEP): much quicker.")
@click.option("--plots", is_flag=True, help="Put pictures of heat, winter, sun and cost into the report (slower).")
@click.option(
    "--year",
    type=click.IntRange(1970, 2200),
    metavar="YEAR",
    help="Year in which the first winter of the calendar begins. Left out: the dates return every year.",
)
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors.")
@click.option("--json", "as_json", is_flag=True, help="Say what was made as JSON.")
def make(
    brief: str,
    out: Path | None,
    force: bool,
    no_solids: bool,
    plots: bool,
    year: int | None,
    quiet: bool,
    as_json: bool,
) -> int:
    """Write all the papers for BRIEF: plans, lists, labels, drawings, order of work, checks, dates.

    BRIEF is your file, or the name of a shipped one (see: enclosure templates). All files are written
    aside first and moved into place at the end, so a stop halfway leaves nothing behind.

    \b
    Examples:
      enclosure make my-fern.toml
      enclosure make tree-fern --out fern --no-solids
      enclosure make my-fern.toml --year 2027
    """
    from enclosure.cli.progress import progress_bar

    path = brief_path(brief)
    folder = out if out is not None else Path(f"{path.stem}-papers")
    with progress_bar(quiet or as_json) as progress:
        made = make_all(
            path, folder, force=force, solids=not no_solids, plots=plots, year=year, progress=progress
        )
    code = 3 if any(not row.passes and not row.advice for row in made.checks) else 0
    if as_json:
        click.echo(json.dumps(_facts(path, made, code), indent=2, ensure_ascii=False))
    elif not quiet:
        _tell(made)
    return code


def _facts(path: Path, made: MakeResult, code: int) -> dict[str, object]:
    from enclosure import __version__
    from enclosure.cli.check import check_facts

    return {
        "enclosure": __version__,
        "brief": str(path),
        "out": str(made.out_dir),
        "files": list(made.files),
        "summary": list(made.summary),
        "notes": list(made.notes),
        "checks": [check_facts(row) for row in made.checks],
        "exit_code": code,
    }


def _tell(made: MakeResult) -> None:
    for line in made.summary:
        click.echo(line)
    for note in made.notes:
        click.echo(f"note: {note}")
    over = [row for row in made.checks if not row.passes and not row.advice]
    for row in over:
        click.echo(f"over 1.00: {row.name}, {row.utilisation:.2f}; {row.way_out}")
    click.echo(f"{len(made.files)} files in {made.out_dir}")
