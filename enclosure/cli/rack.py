"""``enclosure rack``: what is owned, and what a cut would take from it."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.money import money

if TYPE_CHECKING:
    from enclosure.reuse.rack import Change
    from enclosure.stock.model import Rack, RackSheet, RackStick

FILE = click.argument("file", type=click.Path(path_type=Path))


@click.group(short_help="Offcuts and old parts.")
def rack() -> None:
    """Look after the rack: offcuts and parts of old shelters, in FILE.

    FILE is a TOML or CSV file of its own, or a stock list with a [rack] table. A planned cut waits beside
    it until you confirm it; nothing is taken before.

    \b
    Examples:
      enclosure make my-fern.toml --keep-rack --rack rack.toml
      enclosure rack show rack.toml
      enclosure rack confirm rack.toml
    """


@rack.command(short_help="Show what is there.")
@FILE
def show(file: Path) -> int:
    """Show the pieces in FILE, and the cut that waits."""
    from enclosure.reuse.rack import waiting

    found = _there(file)
    rows: list[RackSheet | RackStick] = [*found.sheets, *found.sticks]
    for row in rows:
        click.echo(f"{row.copies:>4} x {_words(row)}")
    if not rows:
        click.echo("the rack is empty")
    change = waiting(file)
    if change is not None:
        click.echo("")
        _tell("waiting to be confirmed", change, file)
    return 0


@rack.command(short_help="Plan the cuts of a brief from it.")
@FILE
@click.argument("brief", type=str)
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
def plan(file: Path, brief: str, quiet: bool) -> int:
    """Plan the cuts of BRIEF from FILE; the rack stays as it is until you confirm."""
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.rack import plan_from_rack

    with progress_bar(quiet) as progress:
        planned = plan_from_rack(file, brief_path(brief), progress)
    _tell("the plan", planned.change, file)
    click.echo(f"to buy beside it: {money(planned.plans.total_cents)} {planned.plans.currency}")
    click.echo(f"when it is cut: enclosure rack confirm {file}")
    return 0


@rack.command(short_help="The cut is made: change the rack.")
@FILE
def confirm(file: Path) -> int:
    """Carry out the cut that waits: take what it used from FILE, lay its offcuts on."""
    from enclosure.reuse.rack import confirm as carry_out
    from enclosure.reuse.rack import rack_or_none

    before = rack_or_none(file)
    _tell("done", carry_out(file), file, before)
    click.echo(f"to take it back: enclosure rack undo {file}")
    return 0


@rack.command(short_help="Forget the cut that waits.")
@FILE
def drop(file: Path) -> int:
    """Forget the cut that waits for FILE; the rack stays as it is."""
    from enclosure.reuse.rack import drop as forget

    forget(file)
    click.echo("forgotten; the rack is as it was")
    return 0


@rack.command(short_help="Take the last change back.")
@FILE
@click.option("-f", "--force", is_flag=True, help="Even when FILE was changed by hand since; that is lost then.")
def undo(file: Path, force: bool) -> int:
    """Put FILE back as it was before its last change."""
    from enclosure.reuse.rack import undo as back

    back(file, force=force)
    click.echo(f"{file} is as it was before the last change")
    return 0


@rack.command(short_help="Lay an old shelter on it.")
@FILE
@click.argument("design", type=click.Path(path_type=Path))
def add(file: Path, design: Path) -> int:
    """Lay every part of an old shelter (its DESIGN, a design.json) on the rack in FILE."""
    from enclosure.pipeline.outgrow import read_design
    from enclosure.pipeline.rack import pieces_of
    from enclosure.reuse.rack import lay_on

    rows = pieces_of(read_design(design))
    lay_on(file, rows, f"parts of {design}")
    click.echo(f"{len(rows)} parts laid on {file}")
    return 0


def _there(file: Path) -> Rack:
    """Return the rack in a file; one that only waits for its first pieces is empty."""
    from enclosure.errors import BriefError
    from enclosure.reuse.rack import pending_path, rack_or_none

    if not file.exists() and not pending_path(file).exists():
        hint = f"start one: enclosure make my-fern.toml --keep-rack --rack {file}"
        raise BriefError(f"there is no rack {file}", hint)
    return rack_or_none(file)


def _tell(title: str, change: Change, file: Path, before: Rack | None = None) -> None:
    from enclosure.reuse.rack import rack_or_none

    click.echo(f"{title}{': ' + change.why if change.why else ''}")
    have = before or rack_or_none(file)
    for take in change.takes:
        row = (have.sheets if take.kind == "sheets" else have.sticks)[take.row]
        click.echo(f"  takes {take.copies} x {_words(row)}")
    for piece in change.adds:
        click.echo(f"  lays on {piece.copies} x {_words(piece)}")


def _words(row: RackSheet | RackStick) -> str:
    from enclosure.reuse.rack_text import size_text
    from enclosure.stock.model import RackSheet

    if isinstance(row, RackSheet):
        size = f"{size_text(row.width_mm)} x {size_text(row.height_mm)}"
    else:
        bad = ", ".join(f"{size_text(d.start_mm)} to {size_text(d.end_mm)}" for d in row.defects)
        count = len(row.holes_mm)
        holes = f", {count} old screw hole{'s' * (count > 1)}" if count else ""
        size = size_text(row.length_mm) + (f", not {bad}" if bad else "") + holes
    return f"{row.material} {size} ({row.note})"
