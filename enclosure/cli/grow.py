"""``enclosure grow``: in which winter is the shelter outgrown?"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path

if TYPE_CHECKING:
    from enclosure.choose.growth import Growth
    from enclosure.shape.model import Design

WIDE = 44


@click.command(short_help="When is it outgrown?")
@click.argument("brief", type=str)
@click.option("--old", type=click.Path(path_type=Path), metavar="FILE", help="design.json of a shelter that stands.")
@click.option(
    "--sheets", type=click.IntRange(1, 1000), metavar="N", help="The other way round: how long do N sheets serve?"
)
@click.option("--of", "material", metavar="SKIN", help="Which sheet is counted; the main skin when left out.")
@click.option(
    "--low", type=click.FloatRange(0, 1), metavar="SHARE", default=0.7, show_default=True,
    help="A poor year's growth over the likely one.",
)
@click.option(
    "--high", type=click.FloatRange(1, 5), metavar="SHARE", default=1.5, show_default=True,
    help="A lush year's growth over the likely one.",
)  # fmt: skip
@click.option("--chart", type=click.Path(path_type=Path), metavar="FILE", help="Write the chart as SVG.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def grow(
    brief: str, old: Path | None, sheets: int | None, material: str | None, low: float, high: float,
    chart: Path | None, as_json: bool,
) -> int:  # fmt: skip
    """Tell in which winter the shelter of BRIEF is outgrown, by height and by spread.

    Growth is a guess: a poor, a likely and a lush year are told side by side.

    \b
    Examples:
      enclosure grow my-fern.toml
      enclosure grow my-fern.toml --old fern-papers/design.json
      enclosure grow my-fern.toml --sheets 3
    """
    path = brief_path(brief)
    if sheets is not None:
        return _from_sheets(path, sheets, material, chart, as_json)
    from enclosure.pipeline.grow import grow as find

    found, design = find(path, old_design=old, low=low, high=high)
    if chart is not None:
        _write_chart(chart, found, design)
    if as_json:
        click.echo(json.dumps(asdict(found), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(told(found, design.units)))
    return 0


def _from_sheets(path: Path, sheets: int, material: str | None, chart: Path | None, as_json: bool) -> int:
    from enclosure.choose.largest import MOST_WINTERS
    from enclosure.cli.fit import _length
    from enclosure.pipeline.grow import grow_from_sheets

    found = grow_from_sheets(path, sheets, material)
    units = found.design.units
    if chart is not None:
        _write_chart(chart, found.growth, found.design)
    if as_json:
        told_facts = {
            "material": found.material, "sheets": found.sheets, "winters": found.winters,
            "extra_mm": found.extra_mm, "clear_mm": found.design.clear_mm, "next_sheets": found.next_sheets,
            "growth": asdict(found.growth),
        }  # fmt: skip
        click.echo(json.dumps(told_facts, indent=2, ensure_ascii=False))
        return 0
    box = " x ".join(_length(v, units) for v in found.design.clear_mm)
    plural = "s" * (found.sheets != 1)
    click.echo(f"{found.sheets} sheet{plural} of {found.material} make{'' if plural else 's'} a clear box of {box}")
    more = " or more" if found.winters >= MOST_WINTERS else ""
    click.echo(f"it serves {found.winters} winter{'s' * (found.winters != 1)}{more} at the growth given", nl=False)
    click.echo(f", with {_length(found.extra_mm, units)} more room than asked" if found.extra_mm else "")
    if found.next_sheets is not None:
        click.echo(f"one winter more needs {found.next_sheets} sheets")
    click.echo("\n".join(["", *told(found.growth, units)]))
    return 0


def told(found: Growth, units: str) -> list[str]:
    """Return the answer as lines for a terminal: a table, then a bar chart that needs no colour."""
    lines = [f"{'outgrown in winter':<20}{'slow':>8}{'likely':>8}{'fast':>8}"]
    for row in found.outgrown:
        cells = [str(when) if when is not None else "never" for when in (row.low, row.likely, row.high)]
        lines.append(f"  {'by ' + row.axis:<18}" + "".join(f"{cell:>8}" for cell in cells))
    for row in found.outgrown:
        if row.high is not None:
            lines += ["", *_chart(found, row.axis, units)]
    return lines


def _chart(found: Growth, axis: str, units: str) -> list[str]:
    from enclosure.cli.fit import _length

    rows = [r for r in found.rows if r.axis == axis]
    start = min(r.low_mm for r in rows) * 0.98
    most = max(max(r.high_mm for r in rows), rows[0].clear_mm)

    def place(value: float) -> int:
        return round((value - start) / (most - start) * WIDE)

    limit = place(rows[0].clear_mm)
    lines = [f"{axis}: = slow, + likely, - fast, | what there is ({_length(rows[0].clear_mm, units)})"]
    for row in rows:
        cells = [" "] * (WIDE + 1)
        for mark, reach in (("-", row.high_mm), ("+", row.likely_mm), ("=", row.low_mm)):
            for spot in range(place(reach)):
                cells[spot] = mark
        cells[limit] = "|"
        over = "  outgrown" if row.likely_mm > row.clear_mm + 1e-6 else ""
        lines.append(f"  {row.winter:>3} {''.join(cells)}{over}")
    return lines


def _write_chart(path: Path, found: Growth, design: Design) -> None:
    from enclosure.files.settled import write_in_one_move
    from enclosure.language import spoken
    from enclosure.outputs.growth_chart import growth_svg

    with spoken(design.language):
        picture = growth_svg(found, design.units, design.name)
    write_in_one_move(path, picture)
    click.echo(f"wrote {path}", err=True)
