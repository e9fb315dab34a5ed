"""What do the engines make of a file of cutting cases?

    python -m enclosure.nesting FILE [--set SET] [--mode MODE] [--seconds S] [--name NAME] --json

prints one JSON object a line: the set, name and mode of the case, its price, a
lower bound, whether the price is proved least, the seconds it took and the full
plan, checked by `verify` before it is printed. Without --json one line of words
a case. Exit code 0 when every case got a plan, 1 when one has none, 2 when the
file cannot be read.
"""

from __future__ import annotations

import argparse
import json
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from enclosure.errors import EnclosureError
from enclosure.nesting.casefile import MODES, SETS, Case, number, plan_record, read_cases
from enclosure.nesting.model import SheetJob, SheetPlan, StickPlan
from enclosure.nesting.solver import silence_banner
from enclosure.nesting.verify import verify_sheets, verify_sticks

BOUNDLESS = 10**9
"""Work units that no run reaches: a limit in seconds is then the only one."""

def main(arguments: Sequence[str] | None = None) -> int:
    """Solve the cases asked for, print a line for each, and return the exit code."""
    wanted = _parser().parse_args(arguments)
    failed = False
    try:
        for case in read_cases(wanted.file, tuple(wanted.set or ()), tuple(wanted.mode or ())):
            if wanted.name and case.name not in wanted.name:
                continue
            record = solve_case(case, wanted.seconds)
            failed |= "error" in record
            print(json.dumps(record) if wanted.json else _words(record), flush=True)
    except EnclosureError as error:
        print(f"error: {error}", file=sys.stderr)
        return error.exit_code
    return int(failed)


def solve_case(case: Case, seconds: float | None) -> dict[str, Any]:
    """Return one case's result as plain objects; a case without a plan has an `error`."""
    head = {"set": case.set_name, "name": case.name, "mode": case.mode}
    begin = time.perf_counter()
    try:
        plan = _solve(case, seconds)
    except EnclosureError as error:
        return {**head, "error": error.message, "seconds": round(time.perf_counter() - begin, 4)}
    return {
        **head,
        "price": number(plan.price, case.money),
        "lower_bound": number(plan.bound, case.money),
        "proved": plan.status == "proved",
        "seconds": round(time.perf_counter() - begin, 4),
        "work": plan.work,
        "plan": plan_record(case, plan),
    }


def _solve(case: Case, seconds: float | None) -> SheetPlan | StickPlan:
    # The engines load numpy and HiGHS, which `--help` should not pay for.
    silence_banner()
    if isinstance(case.job, SheetJob):
        from enclosure.nesting.sheets import solve_sheets

        sheet_plan: SheetPlan = solve_sheets(case.job, work_limit=BOUNDLESS if seconds else None, seconds=seconds)
        verify_sheets(case.job, sheet_plan)
        return sheet_plan
    from enclosure.nesting.sticks import solve_sticks

    stick_plan: StickPlan = solve_sticks(case.job, seconds=seconds)
    verify_sticks(case.job, stick_plan)
    return stick_plan


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
    parser.add_argument("--name", action="append", metavar="NAME", help="only this case (repeatable)")
    parser.add_argument("--json", action="store_true", help="one JSON object a line, with the full plan")
    return parser


if __name__ == "__main__":
    sys.exit(main())
