"""What do the engines make of a file of cutting cases?

    python -m enclosure.nesting FILE [--set SET] [--mode MODE] [--seconds S | --work W] [--name NAME] [--cores N] --json

prints one JSON object a line: the set, name and mode of the case, its price, a
lower bound, whether the price is proved least, the seconds it took and the full
plan, checked by `verify` before it is printed. Without --json one line of words
a case. On a terminal a line says meanwhile how far the search is; Ctrl-C ends it with
the best plan so far, and the run after that case. Exit code 0 when every case got a
plan, 1 when one has none, 2 when the file cannot be read, 130 after Ctrl-C.

With several cores each process takes one case at a time; what is printed, and its order,
is the same whatever their number when the limit is in work units.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from enclosure.errors import EnclosureError
from enclosure.nesting.casefile import MODES, SETS, read_cases
from enclosure.nesting.cases import Watch, solve_cases

STOPPED = 130
"""Exit code after Ctrl-C."""


def main(arguments: Sequence[str] | None = None) -> int:
    """Solve the cases asked for, print a line for each, and return the exit code."""
    wanted = _parser().parse_args(arguments)
    failed, watch = False, Watch(shown=sys.stderr is not None and sys.stderr.isatty())
    try:
        cases = [
            case
            for case in read_cases(wanted.file, tuple(wanted.set or ()), tuple(wanted.mode or ()))
            if not wanted.name or case.name in wanted.name
        ]
        with watch.listening():
            seconds = None if wanted.work else wanted.seconds
            for record in solve_cases(cases, seconds, wanted.work, watch, wanted.cores):
                failed |= "error" in record
                watch.clear()
                print(json.dumps(record) if wanted.json else _words(record), flush=True)
                if watch.stopped:
                    return STOPPED
    except EnclosureError as error:
        print(f"error: {error}", file=sys.stderr)
        return error.exit_code
    return int(failed)


def _words(record: dict[str, Any]) -> str:
    head = f"{record['name']} {record['mode']}".strip()
    if "error" in record:
        return f"{head}: no plan: {record['error']}"
    state = "least price, proved" if record["proved"] else f"at least {record['lower_bound']}"
    return f"{head}: {record['price']} ({state}), {record['seconds']:.2f} s"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m enclosure.nesting", description="Cut the cases of a file at least price."
    )
    parser.add_argument("file", type=Path, metavar="FILE", help="a JSON file of cutting cases")
    parser.add_argument(
        "--set", action="append", choices=SETS, help="only this list of the file (repeatable)"
    )
    parser.add_argument(
        "--mode", action="append", choices=MODES, help="parts keep their direction, or may turn (repeatable)"
    )
    parser.add_argument("--seconds", type=float, default=1.0, metavar="S", help="limit for each case (1)")
    parser.add_argument(
        "--work", type=_at_least_one, metavar="W", help="limit in work units instead, about a millisecond each"
    )
    parser.add_argument("--cores", type=_at_least_one, default=1, metavar="N", help="cases solved side by side (1)")
    parser.add_argument("--name", action="append", metavar="NAME", help="only this case (repeatable)")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, with the full plan")
    return parser


def _at_least_one(text: str) -> int:
    number = int(text)
    if number < 1:
        raise ValueError(text)
    return number


if __name__ == "__main__":
    sys.exit(main())
