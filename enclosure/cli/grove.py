"""``enclosure grove``: several shelters on one shopping trip."""

from __future__ import annotations

import json
from dataclasses import asdict
from glob import glob
from pathlib import Path
from typing import TYPE_CHECKING

import click

from enclosure.cli.doors import brief_path
from enclosure.errors import BriefError
from enclosure.money import money as said

if TYPE_CHECKING:
    from enclosure.choose.grove import Grove


@click.command(short_help="Buy for several shelters at once.")
@click.argument("briefs", type=str, nargs=-1, required=True)
@click.option(
    "-o", "--out", type=click.Path(path_type=Path), default=Path("grove-papers"), show_default=True,
    help="Folder to write.",
)
@click.option("-f", "--force", is_flag=True, help="Replace the folder even when it holds other files.")
@click.option("--no-papers", is_flag=True, help="Only tell; write nothing.")
@click.option("--cores", type=click.IntRange(1, 64), help="Processes to use; all cores when left out.")
@click.option("--alone", is_flag=True, help="Plan every one of more than 12 shelters alone too, for its exact price.")
@click.option("-q", "--quiet", is_flag=True, help="No progress bar.")
@click.option("--json", "as_json", is_flag=True, help="Print the answer as JSON.")
def grove(
    briefs: tuple[str, ...], out: Path, force: bool, no_papers: bool, cores: int | None, alone: bool, quiet: bool,
    as_json: bool,
) -> int:  # fmt: skip
    """Plan BRIEFS together: one buying list, one set of cutting plans, the cost shared out.

    Write a brief as 3*fern.toml to have it three times. All must name the same stock list. A folder is written
    with one packet and one set of lists for all, and labels for each shelter: a part's mark has its shelter's
    number before it (3-7). How a shelter goes up is in its own papers (see make).

    \b
    Examples:
      enclosure grove fern.toml lemon.toml
      enclosure grove 12*fern.toml 3*fig.toml --out avenue
    """
    from enclosure.cli.progress import progress_bar
    from enclosure.outputs.folder import check_target
    from enclosure.pipeline.grove import grove_files, write_papers

    if not no_papers:
        check_target(out, force=force)
    paths = [path for brief in briefs for path in several(brief)]
    with progress_bar(quiet or as_json) as progress:
        planned = grove_files(paths, cores=cores, alone=alone or None, progress=progress)
        if not no_papers:
            write_papers(planned, out, force=force, progress=progress)
    found = planned.grove
    click.echo(json.dumps(facts(found), indent=2, ensure_ascii=False) if as_json else "\n".join(told(found)))
    if not (no_papers or as_json):
        click.echo(f"\npapers in {out}")
    return 0


def several(said: str) -> list[Path]:
    """Return the briefs that one word on the command line means: ``fern.toml``, ``3*fern.toml``, ``trees/*.toml``.

    Raises:
        BriefError: It means none.
    """
    from enclosure.pipeline.grove import MOST_SHELTERS

    count, star, name = said.partition("*")
    if star and count.isdigit() and name.strip():
        if not 1 <= int(count) <= MOST_SHELTERS:
            raise BriefError(f"{count} times {name} is no number of shelters", f"1 to {MOST_SHELTERS} go together")
        return [brief_path(name.strip())] * int(count)
    if star and count.isdigit():
        raise BriefError(f"{said} says how many, but not of which brief", f"write for instance {count}*fern.toml")
    if any(sign in said for sign in "*?[") and not Path(said).exists():
        # a shell hands a pattern on as it stands when nothing matches, or when it was quoted
        found = sorted(glob(said))
        if not found:
            raise BriefError(f"no file matches {said}", "name the briefs, or write 3*fern.toml for three alike")
        return [Path(name) for name in found]
    return [brief_path(said)]


def facts(found: Grove) -> dict[str, object]:
    """Return the answer as plain data for JSON."""
    return {
        "price_cents": found.price_cents,
        "bound_cents": found.bound_cents,
        "alone_cents": found.alone_cents,
        "saving_cents": found.saving_cents,
        "shares": [asdict(share) for share in found.shares],
        "buying": [asdict(line) for line in found.plans.buying],
    }


def told(found: Grove) -> list[str]:
    """Return the answer as lines for a terminal."""
    money = found.plans.currency
    lines = [f"{'':>4} {'shelter':<28} {'alone':>10} {'here':>10}"]
    lines += [
        f"{s.number:>4} {s.name[:28]:<28} {said(s.alone_cents):>10} {said(s.share_cents):>10}"
        + ("" if s.exact else "  alone at least")
        for s in found.shares
    ]
    lines.append(f"{'':>4} {'together':<28} {said(found.alone_cents):>10} {said(found.price_cents):>10} {money}")
    lines.append("")
    lines.append(
        f"buying together saves at least {said(found.saving_cents)} {money}; gap to the bound {found.gap_share:.2%}"
    )
    lines += ["", "to buy"]
    lines += [
        f"  {line.count:>5} {line.unit:<7} {' '.join(w for w in (line.name, line.size_text) if w)}"
        for line in found.plans.buying
    ]
    return lines
