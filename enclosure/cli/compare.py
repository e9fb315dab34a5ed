"""``enclosure compare``: which skin costs least over the winters, and which keep the plant alive?"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from enclosure.cli.doors import brief_path
from enclosure.cli.write import refuse_existing, whole_file
from enclosure.errors import BriefError, OutputError

if TYPE_CHECKING:
    from enclosure.choose.compare import Comparison, Outcome

CHARTS = ("png", "pdf", "svg")


@click.command(short_help="Set film, twin-wall, glass side by side.")
@click.argument("brief", type=str)
@click.option(
    "--discount",
    metavar="SHARE",
    default="0 %",
    help='What money is worth less each year, for instance "3 %". Left out: nothing.',
)
@click.option("--exact", is_flag=True, help="Price every skin by its own cutting plan: some minutes.")
@click.option("--chart", type=click.Path(path_type=Path), metavar="FILE", help="Draw the cost over the winters.")
@click.option("-f", "--force", is_flag=True, help="Replace the chart if it is there.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def compare(brief: str, discount: str, exact: bool, chart: Path | None, force: bool, as_json: bool) -> int:
    """Build BRIEF in every skin of its stock list and say what each costs over the winters it serves.

    Film, double film, twin-wall, glass, foam with one clear wall; with and without a cloth tent where the
    heat allows one. For each: what to buy, what wears out, what the heat costs, how cold it may get
    outside, how much light is left, how heavy it is. A star marks the cheapest that keeps the plant alive.
    Nothing in the brief is changed.

    \b
    Examples:
      enclosure compare my-fern.toml
      enclosure compare my-fern.toml --discount "3 %" --chart cost.png
    """
    from enclosure.pipeline.compare import compare_skins, comparison_chart

    rate = _share(discount)
    if chart is not None:
        kind = chart.suffix.removeprefix(".").lower()
        if kind not in CHARTS:
            raise OutputError(f"a chart cannot be written as {chart.name}", f"end its name in .{', .'.join(CHARTS)}")
        refuse_existing(chart, force)
    found = compare_skins(brief_path(brief), discount=rate, by_cutting_plan=exact)
    if chart is not None:
        picture = comparison_chart(found, kind)
        with whole_file(chart, force) as scratch:
            scratch.write_bytes(picture)
    if as_json:
        click.echo(json.dumps(facts(found), indent=2, ensure_ascii=False))
        return 0
    from enclosure.choose.compare_table import compare_text

    click.echo(compare_text(found), nl=False)
    if chart is not None:
        click.echo(f"wrote {chart}")
    return 0


def _share(said: str) -> float:
    from enclosure.errors import EnclosureError
    from enclosure.units import SHARE, parse

    try:
        rate = float(parse(said, SHARE))
    except EnclosureError:
        rate = -1.0
    if not 0.0 <= rate <= 0.2:
        raise BriefError(f"--discount {said} is not a share from 0 % to 20 %", 'write for instance --discount "3 %"')
    return rate


def facts(found: Comparison) -> dict[str, Any]:
    """Return a comparison as plain data for JSON."""
    return {
        "cheapest": found.cheapest.option.key if found.cheapest is not None else None,
        "winters": found.winters,
        "price_kwh": found.price_kwh,
        "discount": found.discount,
        "currency": found.currency,
        "limit_degc": found.limit_degc,
        "design_min_degc": found.design_min_degc,
        "options": [_option(one) for one in found.outcomes],
        "cheapest_by_energy_price": [{"factor": factor, "key": key or None} for factor, key in found.winners],
        "notes": list(found.notes),
    }


def _option(one: Outcome) -> dict[str, Any]:
    plain = asdict(one)
    option = plain.pop("option")
    return {**option, "skins": dict(option["skins"]), **plain, "total": one.total()}
