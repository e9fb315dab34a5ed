"""How long does an edit on the page wait for its answer? Prints a table; run by hand.

    python -m tests.benchmarks.workbench [edits]

Process CPU time of the server alone, for each shipped brief: the answer with numbers and picture, the
answer with the checks, and the page as a whole. No browser, no second process, no CAD kernel.
"""

from __future__ import annotations

import sys
import time

from enclosure.templates_home import template_names
from tests.workbench_client import Page


def share(times: list[float], part: float) -> float:
    """Return a percentile in ms by the nearest rank."""
    ordered = sorted(times)
    return 1000 * ordered[min(len(ordered) - 1, round(part * (len(ordered) - 1)))]


def main(edits: int) -> None:
    """Print the table."""
    print(f"{'brief':<16} {'what':<22} {'p50':>7} {'p90':>7} {'p99':>7} {'most':>7}  ms of CPU, {edits} edits")
    all_first: list[float] = []
    for name in template_names("briefs"):
        first, second = [], []
        with Page() as page:
            page.begin(name)
            height = page.answer()["scene"]["plant"]["sizes"][0]["size"][2]
            for number in range(edits + 3):
                begun = time.process_time()
                answer = page.edit(plant__height=f"{height + 2 * (number + 1):.0f} mm")
                middle = time.process_time()
                page.get(f"second?rev={answer['rev']}")
                end = time.process_time()
                if number >= 3:
                    first.append(middle - begun)
                    second.append(end - middle)
        all_first += first
        for what, times in (("numbers and picture", first), ("then the checks", second)):
            row = " ".join(f"{share(times, p):7.0f}" for p in (0.5, 0.9, 0.99, 1.0))
            print(f"{name:<16} {what:<22} {row}")
    row = " ".join(f"{share(all_first, p):7.0f}" for p in (0.5, 0.9, 0.99, 1.0))
    print(f"{'all':<16} {'numbers and picture':<22} {row}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 40)
