"""How does the program meet inputs that nobody would write?

    python -m tests.fuzz readers [--seed N] [--count N] [--only NAME ...] [--keep FOLDER]
    python -m tests.fuzz briefs  [--seed N] [--count N] [--cut SHARE] [--papers SHARE]
    python -m tests.fuzz kills   [--seed N] [--count N]

`readers` spoils good files at random and reads them in this process: an `EnclosureError` with clear words is
right, any other exception, more than 20 s of processor time for one file, or words that are not fit to print, is a
fault; the input is kept. `briefs` makes random legal briefs and walks them to design, checks and, for a share, cutting
plans and all papers. `kills` stops ``enclosure make`` with SIGKILL at random moments. The same seed gives the same
inputs. Exit code 1 when a fault was found. Seconds are processor time.
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path


def main() -> int:
    """Run what was asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("what", choices=("readers", "briefs", "kills"))
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--only", nargs="*", default=[], help="readers: names of readers")
    parser.add_argument("--keep", type=Path, help="readers: folder for the inputs that showed a fault")
    parser.add_argument("--cut", type=float, default=0.02, help="briefs: share whose cutting plans are made")
    parser.add_argument("--papers", type=float, default=0.0, help="briefs: share whose papers are made and audited")
    wanted = parser.parse_args()
    if wanted.what == "readers":
        from tests.fuzz.hunt import hunt

        return hunt(wanted.seed, wanted.count, wanted.only, wanted.keep)
    if wanted.what == "briefs":
        from tests.fuzz.random_briefs import walk_briefs

        return walk_briefs(wanted.seed, wanted.count, wanted.cut, wanted.papers)
    from tests.fuzz.kills import kill_many

    return kill_many(wanted.seed, wanted.count)


if __name__ == "__main__":
    sys.exit(main())
