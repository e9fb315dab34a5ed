"""``enclosure outgrow``: a tier, a wider body, or all new?"""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.money import money as said

if TYPE_CHECKING:
    from enclosure.choose.outgrow import Outgrow, Way


@click.command(short_help="A bigger shelter from the old one.")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("brief", type=str)
@click.option("--as-built", type=click.Path(path_type=Path), help="Measured corrections of the old shelter.")
@click.option("--margin", default="0 mm", show_default=True, help="Taken off each edge of a re-cut panel.")
@click.option("--age", type=click.FloatRange(0, 100), default=0.0, help="Age of the old shelter in years.")
@click.option("--way", type=click.Choice(["tier", "body", "new"]), help="Tell all of one way, part by part.")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Write the new design.json of the way.")
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def outgrow(
    old: Path, brief: str, as_built: Path | None, margin: str, age: float, way: str | None, out: Path | None,
    quiet: bool, as_json: bool,
) -> int:  # fmt: skip
    """Compare the ways to shelter a plant that has outgrown OLD (a design.json), as BRIEF now describes it.

    A tier added, a body wider or taller from old parts and new, or all new with the old shelter as the
    rack: cost, work, what is kept, re-cut and spare.

    \b
    Examples:
      enclosure outgrow fern-papers/design.json my-fern-now.toml
      enclosure outgrow fern-papers/design.json my-fern-now.toml --way tier
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.outgrow import outgrow_files
    from enclosure.units import parse_length

    with progress_bar(quiet or as_json) as progress:
        found = outgrow_files(
            old, brief_path(brief), as_built=as_built, margin_mm=float(parse_length(margin)), age_years=age,
            progress=progress,
        )  # fmt: skip
    chosen = _chosen(found, way)
    if out is not None and chosen is not None and chosen.design is not None:
        from enclosure.reuse.rack import write_in_one_move
        from enclosure.shape.serial import to_json

        write_in_one_move(out, to_json(chosen.design))
    if as_json:
        click.echo(json.dumps(facts(found), indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(table(found)))
        if way is not None and chosen is not None:
            click.echo("\n".join(["", *parts_told(chosen)]))
    return 0


def _chosen(found: Outgrow, way: str | None) -> Way | None:
    from enclosure.errors import DesignError

    if way is None:
        return found.best
    row = next(w for w in found.ways if w.key == way)
    if not row.possible:
        raise DesignError(f"{row.title}: {row.reason}", "choose another way")
    return row


def facts(found: Outgrow) -> dict[str, object]:
    """Return the comparison as plain data for JSON, without the designs and plans."""
    ways = []
    for way in found.ways:
        told = {k: getattr(way, k) for k in _TOLD}
        ways.append(told | {"fates": [asdict(f) for f in way.fates], "labels": dict(way.labels)})
    return {
        "fits": found.fits,
        "old_serves_until": found.old_serves_until,
        "all_new_cents": found.all_new_cents,
        "ways": ways,
    }


_TOLD = (
    "key", "title", "possible", "reason", "price_cents", "bound_cents", "proved", "kept", "recut", "spare", "cuts",
    "minutes", "yield_share", "outgrown",
)  # fmt: skip


def table(found: Outgrow) -> list[str]:
    """Return the comparison as lines for a terminal."""
    money = next((w.plans.currency for w in found.ways if w.plans is not None), "")
    lines = []
    if found.fits:
        lines.append("the old shelter still serves all the winters asked for")
    elif found.old_serves_until is not None:
        lines.append(f"the old shelter is outgrown in winter {found.old_serves_until} from now")
    lines += ["", f"{'to buy':>14}  {'keep':>4} {'cut':>4} {'spare':>5}  {'work':>7}  {'outgrown':>8}  way"]
    for way in found.ways:
        if not way.possible:
            lines.append(f"{'-':>14}  {'':>4} {'':>4} {'':>5}  {'':>7}  {'':>8}  {way.title}: {way.reason}")
            continue
        gap = "" if way.proved else f" (least {said(way.bound_cents)})"
        until = f"winter {way.outgrown}" if way.outgrown else "never"
        price = f"{said(way.price_cents)} {money}"
        work = f"{way.minutes // 60}:{way.minutes % 60:02d} h"
        lines.append(
            f"{price:>14}  {way.kept:>4} {way.recut:>4} {way.spare:>5}  {work:>7}  {until:>9} {way.title}{gap}"
        )
    lines.append(f"{said(found.all_new_cents)} {money}".rjust(14) + "  buying everything new, nothing old used")
    return lines


def parts_told(way: Way) -> list[str]:
    """Return what becomes of every old part, and what is written on every new one."""
    lines = [f"{way.title}: old parts"]
    lines += [f"  {f.old:<6} {f.end:<7} {', '.join(f.new):<14} {f.words}" for f in way.fates]
    lines += ["", "labels"]
    lines += [f"  {mark:<6} {words}" for mark, words in way.labels]
    return lines
