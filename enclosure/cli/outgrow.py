"""``enclosure outgrow``: a tier, a wider body, or all new?"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.cli.paper_options import label_options, label_wish, report_options
from enclosure.money import money as said

if TYPE_CHECKING:
    from enclosure.choose.outgrow import Outgrow, Way


MOST_MARGIN_MM = 100.0


@click.command(short_help="A bigger shelter from the old one.")
@click.argument("old", type=click.Path(path_type=Path))
@click.argument("brief", type=str)
@click.option(
    "--as-built", type=click.Path(path_type=Path), metavar="FILE",
    help="Measured sizes; as-built.toml beside OLD if there.",
)  # fmt: skip
@click.option(
    "--margin", metavar="LENGTH", default="0 mm", show_default=True, help="Taken off each edge of a re-cut panel."
)
@click.option("--age", type=click.FloatRange(0, 100), metavar="YEARS", default=0.0, help="Age of the old shelter.")
@click.option("--way", type=click.Choice(["tier", "body", "new"]), help="Tell all of one way, part by part.")
@click.option("-o", "--out", type=click.Path(path_type=Path), help="Folder to write the papers of the way into.")
@click.option("-f", "--force", is_flag=True, help="Replace the folder even when it holds other files.")
@report_options
@label_options
@click.option("--rack", type=click.Path(path_type=Path), metavar="FILE", help="Cut from the offcuts in FILE too.")
@click.option("--keep-rack", is_flag=True, help="Let spare parts and offcuts wait beside the rack (with --out).")
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
@click.option("--json", "as_json", is_flag=True, help="Print the comparison as JSON.")
def outgrow(
    old: Path, brief: str, as_built: Path | None, margin: str, age: float, way: str | None, out: Path | None,
    force: bool, no_solids: bool, plots: bool, year: int | None, label_sheet: str | None, first_cell: int,
    to_right: str, to_top: str, rack: Path | None, keep_rack: bool, quiet: bool, as_json: bool,
) -> int:  # fmt: skip
    """Compare the ways to shelter a plant that has outgrown OLD (its papers), as BRIEF now describes it.

    A tier added, a body wider or taller from old parts and new, or all new with the old shelter as the
    rack: cost, work, what is kept, re-cut and spare. With --out all papers are written, of the cheapest
    way or the one named: cutting packet with the old parts, labels with the old numbers struck, lists.

    \b
    Examples:
      enclosure outgrow fern-papers my-fern-now.toml
      enclosure outgrow fern-papers my-fern-now.toml --way tier --out taller
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.pipeline.outgrow import PaperWish, outgrow_files, write_way
    from enclosure.pipeline.rack import RackWish

    wish = PaperWish(not no_solids, plots, year, label_wish(label_sheet, first_cell, to_right, to_top))
    written: tuple[str, ...] = ()
    with progress_bar(quiet or as_json) as progress:
        done = outgrow_files(
            old, brief_path(brief), as_built=as_built, margin_mm=_margin(margin), age_years=age,
            rack=RackWish(rack, keep_rack and out is not None), progress=progress,
        )  # fmt: skip
        chosen = done.way(way) if way is not None or out is not None else None
        if out is not None and chosen is not None:
            written = write_way(done, chosen, out, wish, force=force, progress=progress)
    if as_json:
        click.echo(json.dumps(facts(done.found, done.over), indent=2, ensure_ascii=False))
        return 0
    click.echo("\n".join(table(done.found, done.over)))
    if way is not None and chosen is not None and out is None:
        click.echo("\n".join(["", *parts_told(chosen)]))
    if written:
        click.echo("\n".join(["", *written]))
    return 0


def _margin(said: str) -> float:
    """Return the margin [mm].

    Raises:
        BriefError: It is no length, is below 0 or more than 100 mm.
    """
    from enclosure.errors import BriefError
    from enclosure.units import in_mm, parse_length

    margin = in_mm(parse_length(said))
    if not 0 <= margin <= MOST_MARGIN_MM:
        raise BriefError(f"a margin of {said} lies outside 0 to {MOST_MARGIN_MM:.0f} mm", 'write for instance "10 mm"')
    return margin


def facts(found: Outgrow, over: Mapping[str, int]) -> dict[str, object]:
    """Return the comparison as plain data for JSON, without the designs and plans."""
    ways = []
    for way in found.ways:
        told = {k: getattr(way, k) for k in _TOLD}
        told["checks_over"] = over.get(way.key)
        ways.append(told | {"fates": [asdict(f) for f in way.fates], "labels": dict(way.labels)})
    return {
        "fits": found.fits,
        "old_serves_until": found.old_serves_until,
        "all_new_cents": found.all_new_cents,
        "ways": ways,
    }


_TOLD = (
    "key", "title", "possible", "reason", "price_cents", "bound_cents", "proved", "kept", "recut", "spare", "cuts",
    "minutes", "yield_share", "outgrown", "notes",
)  # fmt: skip


def table(found: Outgrow, over: Mapping[str, int]) -> list[str]:
    """Return the comparison as lines for a terminal."""
    money = next((w.plans.currency for w in found.ways if w.plans is not None), "")
    lines = []
    if found.fits:
        lines.append("the old shelter still serves all the winters asked for")
    elif found.old_serves_until is not None:
        lines.append(f"the old shelter is outgrown in winter {found.old_serves_until} from now")
    lines += ["", f"{'to buy':>14}  {'keep':>4} {'cut':>4} {'spare':>5}  {'work':>7}  {'outgrown':>9}  way"]
    for way in found.ways:
        if not way.possible:
            lines.append(f"{'-':>14}  {'':>4} {'':>4} {'':>5}  {'':>7}  {'':>9}  {way.title}: {way.reason}")
            continue
        gap = "" if way.proved else f" (least {said(way.bound_cents)})"
        until = f"winter {way.outgrown}" if way.outgrown else "never"
        price = f"{said(way.price_cents)} {money}"
        work = f"{way.minutes // 60}:{way.minutes % 60:02d} h"
        lines.append(
            f"{price:>14}  {way.kept:>4} {way.recut:>4} {way.spare:>5}  {work:>7}  {until:>9}  {way.title}{gap}"
        )
        count = over.get(way.key, 0)
        if count:
            lines.append(f"{'':>51}{count} check{'s' * (count > 1)} over 1.00: see the report of its papers")
        lines += [f"{'':>51}{note}" for note in way.notes]
    lines.append(f"{said(found.all_new_cents)} {money}".rjust(14) + "  buying everything new, nothing old used")
    return lines


def parts_told(way: Way) -> list[str]:
    """Return what becomes of every old part, and what is written on every new one."""
    lines = [f"{way.title}: old parts"]
    lines += [f"  {f.old:<6} {f.end:<7} {', '.join(f.new):<14} {f.words}" for f in way.fates]
    lines += ["", "labels"]
    lines += [f"  {mark:<6} {words}" for mark, words in way.labels]
    return lines
