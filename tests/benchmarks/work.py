"""What does the work itself take: a check, a making, a winter hour by hour, a grove, and how much memory?

    python -m tests.benchmarks.work [stages] [season] [grove] [memory] [--runs N] [--most N]

Without a word all four tables. Processor time is set against a loop of a million products in plain Python, run in
turn with it; the winter against numpy sums over as many hours; memory against importing numpy and pydantic.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path

from tests.benchmarks.measure import IMPORTS, alternate, child_peak_mb, heading, loop, own_cpu, print_table
from tests.benchmarks.startup import PROGRAM

LOOP = "a million products"
HOURS = 8760


def main() -> int:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.work")
    parser.add_argument("tables", nargs="*", choices=[*TABLES, []], default=[])
    parser.add_argument("--runs", type=int, default=5, help="runs of each stage (5)")
    parser.add_argument("--most", type=int, default=32, help="shelters in the largest grove (32)")
    wanted = parser.parse_args()
    for name in wanted.tables or TABLES:
        TABLES[name](wanted.runs, wanted.most)
    return 0


def _printed(title: str, first: str, medians: dict[str, float], against: str, digits: int = 2) -> None:
    rows = [(name, f"{s:.4f}", f"{s / medians[against]:.{digits}f}") for name, s in medians.items()]
    print_table(heading(title), (first, "seconds", "ratio"), rows)


def _stages(runs: int, most: int) -> None:
    """Print what the stages of a making take for every shipped brief, the audit among the papers."""
    from enclosure.brief.read import read_all
    from enclosure.nesting.cutting import cut_everything
    from enclosure.pipeline.check import checks_of, inspected
    from enclosure.pipeline.make import make
    from enclosure.pipeline.walk import rebuild
    from enclosure.templates_home import find_template, template_names

    works: dict[str, Callable[[], float]] = {LOOP: lambda: own_cpu(loop)}
    with tempfile.TemporaryDirectory() as scratch:
        for name in template_names("briefs"):
            path = find_template("briefs", name)
            read = read_all(path)
            shelter = rebuild(*read)
            folder = Path(scratch) / name
            stages: dict[str, Callable[[], object]] = {
                "read": lambda path=path: read_all(path),
                "shape": lambda read=read: rebuild(*read),
                "checks": lambda shelter=shelter: checks_of(shelter),
                "checks with anchor plan": lambda shelter=shelter: inspected(shelter),
                "cutting plans": lambda shelter=shelter: cut_everything(shelter.design, shelter.stock),
                "make, no solids": lambda path=path, folder=folder: make(path, folder, force=True, solids=False),
            }
            for stage, work in stages.items():
                work()
                works[f"{name}: {stage}"] = lambda work=work: own_cpu(work)
        _printed("Stages, median processor time", "stage", alternate(works, runs), LOOP)


def _season(runs: int, most: int) -> None:
    """Print what a year hour by hour takes, beside a thousand numpy sums over as many hours."""
    import numpy as np

    from enclosure.checks.heat_network import Loss, Network
    from enclosure.checks.live_inputs import living
    from enclosure.checks.season import Heater, steady_season, stored_season
    from enclosure.checks.weather import made_year
    from enclosure.pipeline.walk import design_from
    from enclosure.templates_home import find_template

    shelter = design_from(find_template("briefs", "tree-fern"))
    here = living(shelter.design, shelter.brief, shelter.site, shelter.stock)
    assert here.climate is not None
    climate, hours = here.climate, np.arange(HOURS, dtype=float)
    outside = made_year(climate).outside_degc
    network, heater = Network((Loss("skin", 20.0),), None), Heater(500.0, 2.0, 2.0)
    against = f"1000 numpy sums of {HOURS}"
    works: dict[str, Callable[[], float]] = {
        against: lambda: own_cpu(lambda: [np.sum(hours) for _ in range(1000)]),
        "made-up year": lambda: own_cpu(lambda: made_year(climate)),
        "year, each hour steady": lambda: own_cpu(lambda: steady_season(outside, network, heater)),
        "year with heat stored": lambda: own_cpu(lambda: stored_season(outside, network, heater, 300.0)),
    }
    for work in works.values():
        work()
    _printed("A year hour by hour, median processor time", "what", alternate(works, runs), against)


def _grove(runs: int, most: int) -> None:
    """Print what groves of growing size take on one core, once each."""
    from enclosure.pipeline.grove import plan_grove
    from enclosure.pipeline.walk import design_from
    from enclosure.templates_home import find_template

    shelters = [design_from(find_template("briefs", name)) for name in ("tree-fern", "broad-fig")]
    rows, count = [], 1
    while count <= most:
        designs = [shelters[number % len(shelters)].design for number in range(count)]
        before = own_cpu(loop)
        taken = own_cpu(lambda designs=designs: plan_grove(designs, shelters[0].stock, cores=1))
        ratio = taken / ((before + own_cpu(loop)) / 2)
        rows.append((str(count), f"{taken:.2f}", f"{ratio:.1f}", f"{ratio / count:.2f}"))
        count *= 2
    title = heading(f"Groves on one core, set against {LOOP}")
    print_table(title, ("shelters", "seconds", "ratio", "ratio a shelter"), rows)


def _memory(runs: int, most: int) -> None:
    """Print the most memory that whole commands held."""
    with tempfile.TemporaryDirectory() as scratch:
        folder = str(Path(scratch) / "papers")
        commands = {
            "import numpy, pydantic": IMPORTS,
            "--help": (*PROGRAM, "--help"),
            "check": (*PROGRAM, "check", "tree-fern"),
            "compare": (*PROGRAM, "compare", "tree-fern"),
            "make, no solids": (*PROGRAM, "make", "tree-fern", "--no-solids", "--force", "--out", folder),
            "make": (*PROGRAM, "make", "tree-fern", "--force", "--out", folder),
        }
        peaks = {name: child_peak_mb(command) for name, command in commands.items()}
    base = peaks["import numpy, pydantic"]
    rows = [(name, f"{mb:.0f}", f"{mb / base:.2f}") for name, mb in peaks.items()]
    print_table(heading("Most memory, tree fern"), ("command", "MB", "ratio"), rows)


TABLES: dict[str, Callable[[int, int], None]] = {
    "stages": _stages,
    "season": _season,
    "grove": _grove,
    "memory": _memory,
}

if __name__ == "__main__":
    sys.exit(main())
