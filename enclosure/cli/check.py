"""``enclosure check``: will it stand, and will the plant live?"""

from __future__ import annotations

import json
from dataclasses import asdict
from difflib import get_close_matches
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path, check_all
from enclosure.errors import BriefError

if TYPE_CHECKING:
    from enclosure.checks.model import Check, Line

BAR = 20


@click.command(short_help="Work out wind, snow and heat.")
@click.argument("brief", type=str)
@click.option("-e", "--explain", metavar="NAME", help="Print the working of one check, line by line.")
@click.option("-q", "--quiet", is_flag=True, help="Say nothing; only the exit code tells.")
@click.option("--json", "as_json", is_flag=True, help="Print the checks as JSON.")
def check(brief: str, explain: str | None, quiet: bool, as_json: bool) -> int:
    """Work out wind, snow, heat and the rest for BRIEF, worst first.

    Each row is what is asked over what can be given: over 1.00 does not pass, and the row says the
    smallest change that would. Nothing is written. Exit code 3 when a row is over 1.00.

    \b
    Examples:
      enclosure check my-fern.toml
      enclosure check my-fern.toml --explain wind-uplift
    """
    from enclosure.cli.progress import progress_bar

    with progress_bar(quiet or as_json) as progress:
        rows = check_all(brief_path(brief), progress)
    code = 3 if any(not row.passes and not row.advice for row in rows) else 0
    if explain is not None:
        rows = (_named(rows, explain),)
    if as_json:
        click.echo(json.dumps([check_facts(row) for row in rows], indent=2, ensure_ascii=False))
    elif explain is not None:
        click.echo("\n".join(working(rows[0])))
    elif not quiet:
        click.echo("\n".join(table(rows)))
    return code


def check_facts(row: Check) -> dict[str, object]:
    """Return a check as plain data for JSON."""
    return {**asdict(row), "passes": row.passes}


def table(rows: tuple[Check, ...]) -> list[str]:
    """Return the checks as lines for a terminal; the bars and words carry the verdict, not colour."""
    if not rows:
        return ["no checks apply"]
    wide = max(len(row.name) for row in rows)
    lines: list[str] = []
    for row in rows:
        verdict = "info" if row.advice else ("pass" if row.passes else "OVER")
        lines.append(
            f"{verdict}  {row.utilisation:6.2f} {_bar(row.utilisation)}  {row.name:<{wide}}  "
            f"{_short(row.demand)} of {_short(row.capacity)} {row.unit}".rstrip()
        )
        if not row.passes and row.way_out:
            lines.append(f"      way out: {row.way_out}")
    over = sum(not row.passes and not row.advice for row in rows)
    lines.append("")
    lines.append(f"{over} of {len(rows)} over 1.00" if over else f"all {len(rows)} pass")
    lines.append("the working of one: --explain " + rows[0].key)
    lines.append("Your local code and a licensed engineer have the last word.")
    return lines


def working(row: Check) -> list[str]:
    """Return the worked calculation of one check, line by line."""
    lines = [row.name, f"by {row.clause} ({row.source_kind})", ""]
    if row.governs:
        lines.append(f"governed by: {', '.join(row.governs)}")
    lines += [f"given: {given}" for given in row.inputs]
    lines += [f"assumed: {assumed}" for assumed in row.assumptions]
    lines.append("")
    lines += [_worked(step) for step in row.working]
    lines.append("")
    lines.append(
        f"demand {_short(row.demand)} {row.unit}, capacity {_short(row.capacity)} {row.unit}, "
        f"utilisation {row.utilisation:.2f}: {'passes' if row.passes else 'does not pass'}"
    )
    if row.way_out:
        lines.append(f"way out: {row.way_out}")
    return lines


def _worked(step: Line) -> str:
    parts = [
        step.symbol,
        *(part for part in (step.formula, step.numbers) if part),
        f"{step.value:.4g} {step.unit}".strip(),
    ]
    return "  " + " = ".join(parts) + (f"   [{step.source}]" if step.source else "")


def _bar(utilisation: float) -> str:
    """Return a bar on which 1.00 stands at three quarters, marked by a stroke."""
    one = BAR * 3 // 4
    filled = min(round(utilisation * one), BAR)
    cells = ["#" if place < filled else "." for place in range(BAR)]
    cells.insert(one, "|")
    return "".join(cells)


def _short(value: float) -> str:
    return f"{value:.3g}" if abs(value) < 1000 else f"{value:.0f}"


def _named(rows: tuple[Check, ...], name: str) -> Check:
    for row in rows:
        if row.key == name:
            return row
    known = [row.key for row in rows]
    near = get_close_matches(name, known, n=1)
    raise BriefError(
        f"there is no check called {name}",
        f"did you mean {near[0]}?" if near else f"checks: {', '.join(known)}",
    )
