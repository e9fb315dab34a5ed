"""From several briefs to one buying list and one set of cutting plans.

read_all each -> shape.build each -> choose.grove, its cutting jobs on both cores
"""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from enclosure.choose.grove import Grove, Plan, Task, grove, one_by_one, solve_task
from enclosure.errors import BriefError
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.model import Design
from enclosure.stock.model import Stock

MOST_SHELTERS = 1000
FEW_TASKS = 6
"""Below this a second process costs more than it saves."""
Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class GroveResult:
    """A grove with the files its shelters came from, in order."""

    grove: Grove
    briefs: tuple[Path, ...]


def grove_files(
    paths: Sequence[Path],
    *,
    cores: int | None = None,
    alone: bool = False,
    sheet_work: int | None = None,
    progress: Progress | None = None,
) -> GroveResult:
    """Plan all shelters together.

    Args:
        paths: Briefs; the same file may come several times. All must name the same stock list.
        cores: Processes to use; as many as the machine has when None.
        alone: Plan every shelter alone too, for its exact price.
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
    return GroveResult(made, tuple(paths))


def plan_grove(
    designs: Sequence[Design],
    stock: Stock,
    *,
    cores: int | None = None,
    alone: bool = False,
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
