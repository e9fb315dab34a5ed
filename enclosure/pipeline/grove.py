"""From several briefs to one buying list and one set of cutting plans.

read_all each -> shape.build each -> choose.grove, its cutting jobs on both cores -> papers of the grove
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.choose.grove import Grove, Plan, Task, grove, grove_design, one_by_one, solve_task
from enclosure.errors import BriefError
from enclosure.language import spoken
from enclosure.outputs.folder import check_target, whole_folder
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.model import Design
from enclosure.stock.model import Stock

if TYPE_CHECKING:
    from enclosure.outputs.paper.label_sheet import LabelSheet
    from enclosure.outputs.table_rows import Table

MOST_SHELTERS = 1000
FEW_TASKS = 6
"""Below this a second process costs more than it saves."""
Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class GroveResult:
    """A grove with the files its shelters came from, in order."""

    grove: Grove
    briefs: tuple[Path, ...]
    shelters: tuple[Shelter, ...] = ()


def grove_files(
    paths: Sequence[Path],
    *,
    cores: int | None = None,
    alone: bool | None = None,
    sheet_work: int | None = None,
    progress: Progress | None = None,
) -> GroveResult:
    """Plan all shelters together.

    Args:
        paths: Briefs; the same file may come several times. All must name the same stock list.
        cores: Processes to use; as many as the machine has when None.
        alone: Plan every shelter alone too, for its exact price; None does so for a few.
        sheet_work: Work units for one sheet job.
        progress: Told what is being done and the share done.

    Raises:
        BriefError: No brief, too many, or different stock lists.
    """
    say = progress or (lambda text, share: None)
    if not paths:
        raise BriefError("a grove needs at least one brief", "name the briefs: enclosure grove A.toml B.toml")
    if len(paths) > MOST_SHELTERS:
        raise BriefError(f"{len(paths)} shelters are too many at once", f"split them; {MOST_SHELTERS} go together")
    read: dict[Path, Shelter] = {}
    for number, path in enumerate(dict.fromkeys(paths)):
        say(f"building {path.stem}", 0.2 * number / len(paths))
        read[path] = design_from(path)
    shelters = [read[path] for path in paths]
    stock = same_stock(shelters, paths)
    made = plan_grove(
        [s.design for s in shelters], stock, cores=cores, alone=alone, sheet_work=sheet_work, progress=say
    )
    return GroveResult(made, tuple(paths), tuple(shelters))


def write_papers(found: GroveResult, folder: Path, *, force: bool = False, progress: Progress | None = None) -> None:
    """Write the papers of a grove into a folder, all or nothing; they are read again before the folder gets its name.

    One packet and one set of lists over all shelters; in `labels` one file of labels for each shelter; in
    `shelters` the design of each, with its own marks.

    Raises:
        OutputError: The folder cannot be written or replaced.
        VerifyError: The papers failed the audit.
    """
    from enclosure.outputs import tables
    from enclosure.outputs.paper.labels import write_labels
    from enclosure.outputs.paper.packet_grove import write_grove_packet
    from enclosure.pipeline.make import audit
    from enclosure.shape.serial import to_json

    say = progress or (lambda text, share: None)
    check_target(folder, force=force)
    made, count = found.grove, len(found.grove.designs)
    with spoken(made.designs[0].language), whole_folder(folder, force=force) as scratch:
        say("packet", 0.1)
        write_grove_packet(made, scratch / "packet.pdf")
        tables.write_grove_tables(grove_design(made), made.plans, shares_table(made), scratch)
        for name in ("labels", "shelters"):
            (scratch / name).mkdir()
        digits = len(str(count))
        for number, (design, shelter) in enumerate(zip(made.designs, found.shelters, strict=True), start=1):
            say(f"labels of shelter {number} of {count}", 0.2 + 0.6 * number / count)
            stem = f"{number:0{digits}d}-{found.briefs[number - 1].stem}"
            write_labels(design, scratch / "labels" / f"{stem}.pdf", sheet=_label_sheet(shelter), helps=number == 1)
            text = to_json(shelter.design)
            (scratch / "shelters" / f"{stem}.json").write_text(text, encoding="utf-8", newline="\n")
        say("audit", 0.85)
        audit(scratch)


def _label_sheet(shelter: Shelter) -> LabelSheet | None:
    from enclosure.outputs.paper.label_sheet import read_label_sheet
    from enclosure.templates_home import find_template

    name = shelter.brief.papers.labels
    return read_label_sheet(find_template("labels", name)) if name else None


def shares_table(found: Grove) -> Table:
    """Return who pays what, for a spreadsheet; money as plain numbers in the currency of the stock list."""
    from enclosure.outputs.table_rows import Table

    money = f"[{found.plans.currency}]"
    rows = tuple(
        (s.number, s.name, s.alone_cents / 100, "yes" if s.exact else "at least", s.share_cents / 100)
        for s in found.shares
    )
    return Table("shares", ("shelter", "name", f"alone {money}", "alone is exact", f"here {money}"), rows, (2, 4))


def plan_grove(
    designs: Sequence[Design],
    stock: Stock,
    *,
    cores: int | None = None,
    alone: bool | None = None,
    sheet_work: int | None = None,
    progress: Progress | None = None,
) -> Grove:
    """Plan shelters already built together; arguments as in `grove_files`."""
    say = progress or (lambda text, share: None)
    wanted = cores or os.cpu_count() or 1

    def run(tasks: Sequence[Task]) -> Iterable[Plan]:
        many = wanted > 1 and len(tasks) >= FEW_TASKS
        return _told(_on_cores(tasks, wanted) if many else one_by_one(tasks), len(tasks), say)

    return grove(designs, stock, run, alone=alone, sheet_work=sheet_work)


def _told(plans: Iterable[Plan], count: int, say: Progress) -> Iterator[Plan]:
    for number, plan in enumerate(plans, start=1):
        say(f"cutting plan {number} of {count}", 0.2 + 0.8 * number / count)
        yield plan


def _on_cores(tasks: Sequence[Task], cores: int) -> Iterator[Plan]:
    """Solve tasks in worker processes; a worker starts afresh, so that no open file or lock is inherited."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(cores, mp_context=context) as pool:
        yield from pool.map(solve_task, tasks)


def same_stock(shelters: Sequence[Shelter], paths: Sequence[Path]) -> Stock:
    """Return the one stock list of all shelters.

    Raises:
        BriefError: They name different ones.
    """
    first = shelters[0].stock
    for shelter, path in zip(shelters, paths, strict=True):
        if shelter.stock != first:
            raise BriefError(
                f"{path} names the stock list '{shelter.stock.name}', {paths[0]} names '{first.name}'",
                "one grove buys from one stock list: run one grove for each",
            )
    return first
