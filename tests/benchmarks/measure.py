"""How is processor time measured, and against what, so that figures of two machines can be set side by side?

Wall-clock time says little on a shared machine, so every figure is processor
time, the median of several runs that alternate with a calibration in the same
process or in a process of the same kind. What is compared is the ratio.
"""

from __future__ import annotations

import os
import platform
import resource
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
IMPORTS = (sys.executable, "-c", "import numpy, pydantic")
"""What a start-up is set against."""


def loop() -> float:
    """Return a sum of a million products in plain Python: what work inside one process is set against."""
    total = 0.0
    for number in range(1_000_000):
        total += number * 0.5
    return total


def own_cpu(work: Callable[[], object]) -> float:
    """Return the processor time of a call in this process [s]."""
    begun = time.process_time()
    work()
    return time.process_time() - begun


def child_cpu(command: Sequence[str], **changes: str) -> float:
    """Return the user processor time of a command [s], its bytecode kept or written as an installed program's is."""
    environment = {**os.environ, "PYTHONPATH": str(ROOT), **changes}
    if "PYTHONDONTWRITEBYTECODE" not in changes:
        environment.pop("PYTHONDONTWRITEBYTECODE", None)
    before = resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    subprocess.run(command, env=environment, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - before


def child_peak_mb(command: Sequence[str]) -> float:
    """Return the most memory that a command held [MB], asked of a small process that runs nothing else."""
    code = (
        "import resource, subprocess, sys; "
        "subprocess.run(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL); "
        "print(resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024)"
    )
    said = subprocess.run(
        [sys.executable, "-c", code, *command],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
    )
    return float(said.stdout)


def alternate(works: Mapping[str, Callable[[], float]], runs: int) -> dict[str, float]:
    """Return the median of each measurement, all of them run in turn so that they meet the same load."""
    found: dict[str, list[float]] = {name: [] for name in works}
    for _ in range(runs):
        for name, work in works.items():
            found[name].append(work())
    return {name: statistics.median(times) for name, times in found.items()}


def heading(what: str) -> str:
    """Return the line above a table: what, when, and on which kind of machine."""
    return f"{what}, {date.today()}, Python {platform.python_version()}, {platform.machine()}, {os.cpu_count()} cores"


def print_table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Print a table that Markdown readers take as one."""
    wide = [max(len(row[i]) for row in (columns, *rows)) for i in range(len(columns))]
    print(f"\n{title}\n")
    for row in (columns, ["-" * w for w in wide], *rows):
        cells = [cell.ljust(w) if i == 0 else cell.rjust(w) for i, (cell, w) in enumerate(zip(row, wide, strict=True))]
        print(f"| {' | '.join(cells)} |")
