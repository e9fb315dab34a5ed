"""How long does each command take to start, beside importing numpy and pydantic?

    python -m tests.benchmarks.startup [--runs N] [--brief NAME] [--no-bytecode]

Prints the user processor time of whole commands as ratios to ``python -c "import numpy, pydantic"``, all run in turn.
Bytecode is kept, as it is wherever the program was installed; --no-bytecode shows a checkout in which Python
may not write any.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from collections.abc import Callable
from functools import partial
from pathlib import Path

from enclosure.templates_home import template_names
from tests.benchmarks.measure import IMPORTS, alternate, child_cpu, heading, print_table

PROGRAM = (sys.executable, "-c", "from enclosure.cli.main import main; main()")
CALIBRATION = "import numpy, pydantic"


def main() -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.startup")
    parser.add_argument("--runs", type=int, default=9, help="runs of each command (9)")
    parser.add_argument("--brief", action="append", help="only these shipped briefs")
    parser.add_argument("--no-bytecode", action="store_true", help="compile every module in every run")
    wanted = parser.parse_args()
    changes = {"PYTHONDONTWRITEBYTECODE": "1"} if wanted.no_bytecode else {}
    with tempfile.TemporaryDirectory() as scratch:
        kept = {} if wanted.no_bytecode else {"PYTHONPYCACHEPREFIX": str(Path(scratch) / "bytecode")}
        works: dict[str, Callable[[], float]] = {CALIBRATION: partial(child_cpu, IMPORTS, **kept)}
        for words in _commands(Path(scratch), wanted.brief or list(template_names("briefs"))):
            shown = " ".join(word for word in words if not word.startswith((scratch, "--force", "--out")))
            works[shown] = partial(child_cpu, (*PROGRAM, *words), **kept, **changes)
        for work in works.values():
            work()
        medians = alternate(works, wanted.runs)
    rows = [(name, f"{s:.3f}", f"{s / medians[CALIBRATION]:.2f}") for name, s in medians.items()]
    print_table(heading("Start-up, median user processor time"), ("command", "seconds", "ratio"), rows)
    return 0


def _commands(scratch: Path, briefs: list[str]) -> list[list[str]]:
    return [
        ["--help"],
        ["templates"],
        ["new", "--force", str(scratch / "new.toml")],
        *(["check", brief] for brief in briefs),
        ["make", briefs[0], "--no-solids", "--force", "--out", str(scratch / "papers")],
    ]


if __name__ == "__main__":
    sys.exit(main())
