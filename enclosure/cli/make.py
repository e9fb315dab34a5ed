"""``enclosure make``: from a brief to a folder of papers."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import MakeResult, brief_path, make_all
from enclosure.cli.paper_options import label_options, label_wish, report_options

if TYPE_CHECKING:
    from enclosure.pipeline.labels import LabelWish


@click.command(short_help="Write all the papers, or single labels again.")
@click.argument("brief", type=str)
@click.option(
    "-o",
    "--out",
    type=click.Path(path_type=Path),
    help="Folder to write. Left out: the brief's name and -papers, here. With --label: the file to write.",
)
@click.option("-f", "--force", is_flag=True, help="Replace the folder even when it holds other files.")
@report_options
@click.option("--label", metavar="MARKS", help="Print only these labels again, for instance 7,9-12,BM3.")
@label_options
@click.option("--rack", type=click.Path(path_type=Path), metavar="FILE", help="Cut from the offcuts in FILE too.")
@click.option("--keep-rack", is_flag=True, help="Let what the plan takes and leaves wait beside the rack.")
@click.option("--as-built", type=click.Path(path_type=Path), metavar="FILE", help="What was measured after building.")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing but errors.")
@click.option("--json", "as_json", is_flag=True, help="Say what was made as JSON.")
def make(
    brief: str, out: Path | None, force: bool, no_solids: bool, plots: bool, year: int | None, label: str | None,
    label_sheet: str | None, first_cell: int, to_right: str, to_top: str, rack: Path | None, keep_rack: bool,
    as_built: Path | None, quiet: bool, as_json: bool,
) -> int:  # fmt: skip
    """Write all the papers for BRIEF: plans, lists, labels, drawings, order of work, checks, dates.

    BRIEF is your file, or the name of a shipped one (see: enclosure templates). All files are written
    aside first and moved into place at the end, so a stop halfway leaves nothing behind.

    With --label only those labels are written, into one PDF. BRIEF may then also be a finished folder or
    its design.json, which keeps the numbers that stand on the shelter already.

    With --keep-rack a note waits beside the rack of what the plan takes from it and of the offcuts worth
    keeping; the rack itself changes only when you confirm the cut (see: enclosure rack).

    \b
    Examples:
      enclosure make my-fern.toml
      enclosure make tree-fern --out fern --no-solids
      enclosure make my-fern.toml --year 2027
      enclosure make my-fern.toml --keep-rack --rack rack.toml
      enclosure make fern-papers --label 7,9-12 --label-sheet a4-2x4 --first-cell 3
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.rack import RackWish

    wish = label_wish(label_sheet, first_cell, to_right, to_top)
    path = brief_path(brief)
    if label is not None:
        return _print_again(path, label, out, force, wish, quiet, as_json)
    folder = out if out is not None else Path(f"{path.stem}-papers")
    with progress_bar(quiet or as_json) as progress:
        made = make_all(
            path, folder, force=force, solids=not no_solids, plots=plots, year=year, labels=wish,
            rack=RackWish(rack, keep_rack), as_built=as_built, progress=progress,
        )  # fmt: skip
    code = 3 if any(not row.passes and not row.advice for row in made.checks) else 0
    if as_json:
        click.echo(json.dumps(_facts(path, made, code), indent=2, ensure_ascii=False))
    elif not quiet:
        _tell(made)
    return code


def _print_again(
    source: Path, label: str, out: Path | None, force: bool, wish: LabelWish, quiet: bool, as_json: bool
) -> int:
    from enclosure.cli.write import whole_file
    from enclosure.pipeline.labels import print_labels

    name = source.resolve().parent.name if source.suffix == ".json" else source.resolve().stem
    target = out if out is not None else Path(f"{name}-labels.pdf")
    with whole_file(target, force) as scratch:
        marks = print_labels(source, label, scratch, wish)
    if as_json:
        facts = {"source": str(source), "out": str(target), "labels": list(marks), "exit_code": 0}
        click.echo(json.dumps(facts, indent=2, ensure_ascii=False))
    elif not quiet:
        click.echo(f"{len(marks)} label{'' if len(marks) == 1 else 's'} in {target}")
    return 0


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
    from enclosure.checks.explain import ways_out

    over = [row for row in made.checks if not row.passes and not row.advice]
    ways = ways_out(over)
    for row in over:
        click.echo(f"over 1.00: {row.name}, {row.utilisation:.2f}; {ways.get(row.key, '')}".rstrip("; "))
    click.echo(f"{len(made.files)} files in {made.out_dir}")
