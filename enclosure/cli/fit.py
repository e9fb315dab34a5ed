"""``enclosure fit``: which size within the windows costs least?"""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path

if TYPE_CHECKING:
    from enclosure.choose.fit_stock import Choice, Fit, NearMiss


@click.command(short_help="Find the size that costs least.")
@click.argument("brief", type=str)
@click.option("--no-bays", is_flag=True, help="Keep the number of bays; do not try one more.")
@click.option("--no-near", is_flag=True, help="Leave out what a little more or less room would change.")
@click.option("-q", "--quiet", is_flag=True, help="Print only the two clearances, for the brief.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def fit(brief: str, no_bays: bool, no_near: bool, quiet: bool, as_json: bool) -> int:
    """Find the clearances of BRIEF, within its windows, at which everything costs least.

    Of the sizes that cost the same the roomiest is chosen. Nothing is written: put the clearances into the
    brief if you like them.

    \b
    Examples:
      enclosure fit my-fern.toml
      enclosure fit my-fern.toml --no-near
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.fit import fit as find

    with progress_bar(quiet or as_json) as progress:
        found = find(brief_path(brief), bays=not no_bays, near=not no_near and not quiet, progress=progress)
    if as_json:
        click.echo(json.dumps(facts(found), indent=2, ensure_ascii=False))
    elif quiet:
        click.echo(clearance_lines(found))
    else:
        click.echo("\n".join(told(found)))
    return 0


def facts(found: Fit) -> dict[str, object]:
    """Return the answer as plain data for JSON."""
    return {
        "chosen": asdict(found.chosen),
        "tightest": asdict(found.tightest),
        "roomiest": asdict(found.roomiest) if found.roomiest else None,
        "saving_cents": found.saving_cents,
        "bound_cents": found.bound_cents,
        "proved": found.proved,
        "near": [asdict(miss) for miss in found.near],
        "sizes": found.sizes,
    }


def clearance_lines(found: Fit) -> str:
    """Return the two lines for the brief."""
    units = found.design.units
    side, top = (_length(v, units, down=True) for v in (found.chosen.side_mm, found.chosen.top_mm))
    return f'side = "{side}"\ntop = "{top}"'


def told(found: Fit) -> list[str]:
    """Return the answer as lines for a terminal."""
    units, money = found.design.units, found.plans.currency
    lines = [
        f"{_row('cheapest', found.chosen, units, money)}",
        f"{_row('least room', found.tightest, units, money)}",
    ]
    if found.roomiest is not None:
        lines.append(_row("most room", found.roomiest, units, money))
    lines.append("")
    if found.saving_cents > 0:
        lines.append(f"saves {_money(found.saving_cents, money)} against the brief at its least clearance")
    if found.chosen.label:
        lines.append(f"with {found.chosen.label}")
    extra = found.chosen.side_mm - found.tightest.side_mm
    if found.saving_cents == 0 and extra > 0.5:
        lines.append(f"{_length(extra, units)} more room at each side costs nothing")
    lines += [near_words(miss, units, money) for miss in found.near]
    gap = found.chosen.price_cents - found.bound_cents
    proof = (
        "no size within the windows is cheaper: proved"
        if found.proved
        else (f"not proved: a size may be cheaper by up to {_money(gap, money)}")
    )
    lines.append(f"{found.sizes} sizes; {proof}")
    lines += ["", "for the brief, under [clearance]:", clearance_lines(found)]
    return lines


def near_words(miss: NearMiss, units: str, money: str) -> str:
    """Return a near miss as a sentence."""
    where = "at each side" if miss.axis == "side" else "at the top"
    outside = "" if miss.inside else ", outside your window"
    if miss.change_mm < 0:
        return (
            f"{_length(-miss.change_mm, units)} less {where} saves {_money(-miss.change_cents, money)}"
            f"{outside}: {miss.reason}"
        )
    if miss.change_mm == 0:
        return f"any more room {where} costs {_money(miss.change_cents, money)}{outside}: {miss.reason}"
    return (
        f"more than {_length(miss.change_mm, units)} more {where} costs {_money(miss.change_cents, money)}"
        f"{outside}: {miss.reason}"
    )


def _row(name: str, choice: Choice, units: str, money: str) -> str:
    box = " x ".join(_length(v, units) for v in choice.clear_mm)
    return (
        f"{name:<10}  {_money(choice.price_cents, money):>12}  side {_length(choice.side_mm, units)}, "
        f"top {_length(choice.top_mm, units)}, clear {box}"
    )


def _money(cents: int, money: str) -> str:
    from enclosure.money import money as said

    return f"{said(cents)} {money}"


def _length(size_mm: float, units: str, *, down: bool = False) -> str:
    from enclosure.units import format_length

    return format_length(size_mm, "inch" if units == "inch" else "metric", rounding="down" if down else "nearest")
