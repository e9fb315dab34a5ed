"""``enclosure fit``: which size within the windows costs least, and with which bays, timber and track?"""

from __future__ import annotations

import json
import math
from dataclasses import asdict
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.money import money as said

if TYPE_CHECKING:
    from enclosure.choose.fit_stock import Choice, NearMiss
    from enclosure.choose.variants import Refused
    from enclosure.nesting.plans import Plans
    from enclosure.pipeline.fit import Fitted

MOST_REFUSED = 3
"""So many of the cheaper timbers and tracks that do not do are told, the nearest first."""


@click.command(short_help="Find the size that costs least.")
@click.argument("brief", type=str)
@click.option("--keep-bays", is_flag=True, help="Keep the number of bays.")
@click.option("--keep-frame", is_flag=True, help="Keep the timber and the track that the brief names.")
@click.option("--no-near", is_flag=True, help="Leave out what a little more or less room would change.")
@click.option("-q", "--quiet", is_flag=True, help="Print only the lines for the brief.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def fit(brief: str, keep_bays: bool, keep_frame: bool, no_near: bool, quiet: bool, as_json: bool) -> int:
    """Find the size of BRIEF, within its windows of clearance, at which everything costs least.

    One bay fewer and more is tried on each pair of walls and on the roof, and every timber and track of the
    stock list that is cheaper; what comes out passes all checks that the brief as it stands passes. Of the
    sizes that cost the same the roomiest is chosen. Nothing is written: put the lines into the brief if you
    like them.

    \b
    Examples:
      enclosure fit my-fern.toml
      enclosure fit my-fern.toml --keep-bays --keep-frame
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.fit import fit as find

    with progress_bar(quiet or as_json) as progress:
        found = find(
            brief_path(brief), bays=not keep_bays, frame=not keep_frame, near=not no_near and not quiet,
            progress=progress,
        )  # fmt: skip
    if as_json:
        click.echo(json.dumps(facts(found), indent=2, ensure_ascii=False))
    elif quiet:
        click.echo("\n".join(brief_lines(found)))
    else:
        click.echo("\n".join(told(found)))
    return 0


def facts(found: Fitted) -> dict[str, object]:
    """Return the answer as plain data for JSON."""
    fit = found.fit
    return {
        "chosen": asdict(fit.chosen),
        "tightest": asdict(fit.tightest),
        "roomiest": asdict(fit.roomiest) if fit.roomiest else None,
        "saving_cents": fit.saving_cents,
        "bound_cents": fit.bound_cents,
        "proved": fit.proved,
        "near": [asdict(miss) for miss in fit.near],
        "refused": [asdict(row) for row in found.refused],
        "excused": list(found.excused),
        "sizes": fit.sizes,
        "buying": [asdict(line) for line in fit.plans.buying],
        "for_the_brief": brief_lines(found),
    }


def brief_lines(found: Fitted) -> list[str]:
    """Return the lines for the brief, table by table: both clearances, and of the frame what is chosen otherwise."""
    units, clearance = found.fit.design.units, []
    for name in ("side", "top"):
        after = getattr(found.brief.clearance, name)
        least, most = (exact_length(size, units) for size in (after.least_mm, after.most_mm))
        window = f'"{least}"' if least == most else f'{{ least = "{least}", most = "{most}" }}'
        clearance.append(f"{name} = {window}")
    frame = []
    for name in ("section", "on_edge", "roof_section", "tracks", "bays"):
        value = getattr(found.brief.frame, name)
        if value != getattr(found.asked.frame, name):
            frame.append(f"{name} = {_toml(value)}")
    return ["[clearance]", *clearance, *(["[frame]", *frame] if frame else [])]


def _toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {number}" for key, number in value.items()) + " }"
    return f'"{value}"'


def exact_length(size_mm: float, units: str) -> str:
    """Return a length that reads back to the same size: inches where that is a 64th and inches are used, else mm."""
    sixty_fourths = size_mm / 25.4 * 64
    if units != "inch" or abs(sixty_fourths - round(sixty_fourths)) > 1e-3:
        return f"{round(size_mm, 6):g} mm"
    whole, part = divmod(round(sixty_fourths), 64)
    below = 64
    while part and part % 2 == 0:
        part, below = part // 2, below // 2
    words = [str(whole)] if whole or not part else []
    return " ".join([*words, f"{part}/{below}"] if part else words) + " in"


def told(found: Fitted) -> list[str]:
    """Return the answer as lines for a terminal."""
    fit = found.fit
    units, money = fit.design.units, fit.plans.currency
    lines = [_row("cheapest", fit.chosen, units, money), _row("as it stands", fit.tightest, units, money)]
    if fit.roomiest is not None:
        lines.append(_row("most room", fit.roomiest, units, money))
    lines.append("")
    if fit.chosen.label:
        lines.append(f"with {fit.chosen.label}")
    if fit.saving_cents > 0:
        lines.append(f"saves {_money(fit.saving_cents, money)} against the brief as it stands")
    extra = fit.chosen.side_mm - fit.tightest.side_mm
    if fit.saving_cents == 0 and extra > 0.5:
        lines.append(f"{_length(extra, units)} more room at each side costs nothing")
    lines += [near_words(miss, units, money) for miss in fit.near]
    lines += [f"{row.words} would not do: {_why(row)}" for row in nearest_refused(found.refused)]
    gap = fit.chosen.price_cents - fit.bound_cents
    proof = (
        "none that passes its checks is cheaper: proved"
        if fit.proved
        else f"not proved: one may be cheaper by up to {_money(gap, money)}"
    )
    lines.append(f"{fit.sizes} sizes; {proof}")
    if found.excused:
        lines.append(f"failed by the brief as it stands, so not counted: {', '.join(found.excused)}")
    lines += ["", "sheets and lengths to buy", *bought(fit.plans)]
    return [*lines, "", "for the brief:", *brief_lines(found)]


def bought(plans: Plans) -> list[str]:
    """Return which sizes of sheets and lengths are bought, one line a material."""
    rows: dict[str, list[str]] = {}
    for line in plans.buying:
        if line.group in ("skins", "boards", "timber", "track") and line.unit_price_cents:
            rows.setdefault(line.name, []).append(f"{line.count} of {line.size_text}")
    return [f"  {name}: {', '.join(sizes)}" for name, sizes in rows.items()]


def nearest_refused(rows: tuple[Refused, ...]) -> list[Refused]:
    """Return the refusals nearest to passing, one for each row of the checks."""
    nearest: dict[str, Refused] = {}
    for row in sorted(rows, key=lambda r: (r.utilisation == 0.0, r.utilisation)):
        nearest.setdefault(row.row, row)
    return list(nearest.values())[:MOST_REFUSED]


def _why(row: Refused) -> str:
    if not row.utilisation:
        return row.row
    return f"{row.row} is {math.ceil(row.utilisation * 100 - 1e-9) / 100:.2f} of what is allowed"


def near_words(miss: NearMiss, units: str, money: str) -> str:
    """Return a near miss as a sentence."""
    where = "at each side" if miss.axis == "side" else "at the top"
    outside = "" if miss.inside else ", outside your window"
    outside += f", and fails: {miss.fails}" if miss.fails else ""
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
    fails = f"  fails: {choice.fails}" if choice.fails else ""
    return (
        f"{name:<12}  {_money(choice.price_cents, money):>12}  side {exact_length(choice.side_mm, units)}, "
        f"top {exact_length(choice.top_mm, units)}, clear {box}{fails}"
    )


def _money(cents: int, money: str) -> str:
    return f"{said(cents)} {money}"


def _length(size_mm: float, units: str) -> str:
    from enclosure.units import format_length

    return format_length(size_mm, "inch" if units == "inch" else "metric")
