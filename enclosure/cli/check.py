"""``enclosure check``: will it stand, will the plant live, and what would have to change?"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from enclosure.cli.doors import brief_path, check_all
from enclosure.cli.write import refuse_existing, whole_file, write_text
from enclosure.errors import BriefError, nearest

if TYPE_CHECKING:
    from enclosure.checks.model import Check
    from enclosure.pipeline.propose import Proposed


@click.command(short_help="Work out wind, snow and heat.")
@click.argument("brief", type=str)
@click.option("-e", "--explain", metavar="NAME", help="Print the working of one check, line by line.")
@click.option(
    "-w",
    "--weather",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Walk through the hours of a weather file (EPW, TMY3 or CSV) instead of a usual winter.",
)
@click.option("-r", "--report", type=click.Path(path_type=Path), metavar="FILE", help="Write it all as a PDF.")
@click.option("-p", "--propose", is_flag=True, help="Say what would have to change so that it stands.")
@click.option(
    "--write",
    type=click.Path(path_type=Path),
    metavar="NEW_BRIEF",
    help="With --propose: write the brief with those changes, notes kept.",
)
@click.option("-f", "--force", is_flag=True, help="Replace the file of --report or --write if it is there.")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing; only the exit code tells.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def check(
    brief: str,
    explain: str | None,
    weather: Path | None,
    report: Path | None,
    propose: bool,
    write: Path | None,
    force: bool,
    quiet: bool,
    as_json: bool,
) -> int:
    """Work out wind, snow, heat and the rest for BRIEF, worst first.

    Each row is what is asked over what can be given: over 1.00 does not pass, and the row says the
    smallest change that would. BRIEF itself is never changed. Exit code 3 when a row is over 1.00; with
    --propose, when one would still be after the changes.

    \b
    Examples:
      enclosure check my-fern.toml
      enclosure check my-fern.toml --explain wind-uplift
      enclosure check my-fern.toml --report my-fern.pdf
      enclosure check my-fern.toml --propose --write my-stronger-fern.toml
    """
    _refuse_together(propose, explain=explain, weather=weather, report=report)
    if write is not None and not propose:
        raise click.UsageError("--write needs --propose")
    for target in (report, write):
        if target is not None:
            refuse_existing(target, force)
    path = brief_path(brief)
    if propose:
        return _propose(path, write, force, quiet, as_json)
    rows = _rows(path, weather, report, force, quiet or as_json)
    code = 3 if any(not row.passes and not row.advice for row in rows) else 0
    if explain is not None:
        rows = (_named(rows, explain),)
    if as_json:
        click.echo(json.dumps([check_facts(row) for row in rows], indent=2, ensure_ascii=False))
    elif explain is not None:
        from enclosure.checks.explain import explain as worked

        click.echo(worked(rows[0]))
    elif not quiet:
        from enclosure.checks.explain import sheet

        click.echo("\n".join([*sheet(rows), *_hints(rows, code)]))
        if report is not None:
            click.echo(f"wrote {report}")
    return code


def _refuse_together(propose: bool, **others: object) -> None:
    named = [f"--{name}" for name, value in others.items() if value is not None]
    if propose and named:
        raise click.UsageError(f"--propose and {named[0]} do not go together; run the command twice")


def _rows(path: Path, weather: Path | None, report: Path | None, force: bool, silent: bool) -> tuple[Check, ...]:
    """Return the checks, having written the report when one is asked for."""
    from enclosure.cli.progress import progress_bar

    with progress_bar(silent) as progress:
        if report is None:
            return check_all(path, progress, weather)
        from enclosure.pipeline.report import report_of

        with whole_file(report, force) as scratch:
            return report_of(path, scratch, weather=weather, progress=progress)


def _hints(rows: tuple[Check, ...], code: int) -> list[str]:
    lines = ["", f"the working of one row: --explain {rows[0].key}"] if rows else []
    if code:
        lines.append("what would have to change in the brief: --propose")
    return lines


def check_facts(row: Check) -> dict[str, object]:
    """Return a check as plain data for JSON."""
    return {**asdict(row), "passes": row.passes}


def _named(rows: tuple[Check, ...], name: str) -> Check:
    for row in rows:
        if row.key == name:
            return row
    known = [row.key for row in rows]
    raise BriefError(f"there is no check called {name}", nearest(name, known, f"checks: {', '.join(known)}"))


# --- what would have to change ------------------------------------------------------------------


def _propose(path: Path, write: Path | None, force: bool, quiet: bool, as_json: bool) -> int:
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.propose import proposed

    with progress_bar(quiet or as_json) as progress:
        found = proposed(path, write, progress=progress)
    if write is not None:
        write_text(write, found.text, force)
    if as_json:
        click.echo(json.dumps(_proposal_facts(found, write), indent=2, ensure_ascii=False))
    elif not quiet:
        click.echo("\n".join(proposal_lines(found)))
        click.echo(f"\nwrote {write}" if write is not None else "\nto have the brief with these changes: --write FILE")
    return 3 if found.left else 0


def proposal_lines(found: Proposed) -> list[str]:
    """Return a proposal as lines for a terminal."""
    said = found.proposal
    names = {row.key: row.name for row in (*found.rows, *found.later)}
    if not said.before:
        lines = ["every row on wind, snow, frame and anchors passes as the brief stands: nothing to change"]
    else:
        lines = ["change in the brief:"]
        lines += [f"  {words}" for words in (*said.changes, *((said.anchors,) if said.anchors else ()))]
        if not found.lines:
            lines = ["no change of the brief tried helps"]
        lines += ["", "before    after"]
        later = {row.key: row.utilisation for row in found.later}
        for key in dict.fromkeys([*(key for key, _ in said.before), *(key for key, _ in said.after)]):
            before = dict(said.before).get(key)
            first = f"{before:6.2f}" if before is not None else "      "
            after = f"{later[key]:6.2f}" if key in later else "  gone"
            lines.append(f"{first}    {after}   {names.get(key, key)}")
    standing = {key for key, _ in (*said.before, *said.after)}
    left = [row for row in found.left if row.key in standing]
    if left:
        lines += ["", "this still does not pass: a sheltered place, a lower shelter or stouter stock would help"]
    elif said.before:
        lines += ["", "with these changes it stands"]
    other = [row for row in found.left if row.key not in standing]
    if other:
        lines += ["", "not about standing, so left as it is:"]
        lines += [f"  {row.name} {row.utilisation:.2f}: {row.way_out}".rstrip(": ") for row in other]
    return lines


def _proposal_facts(found: Proposed, write: Path | None) -> dict[str, Any]:
    said = found.proposal
    return {
        "changes": list(said.changes),
        "anchors": said.anchors,
        "lines": dict(found.lines),
        "before": dict(said.before),
        "after": dict(said.after),
        "stands": said.passes,
        "left": [{"key": row.key, "utilisation": row.utilisation, "way_out": row.way_out} for row in found.left],
        "written": str(write) if write is not None else None,
    }
