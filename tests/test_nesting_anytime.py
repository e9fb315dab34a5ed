"""Can a long search be watched, ended and spread over cores, from the engines and from the command?"""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
import time
from itertools import pairwise
from pathlib import Path
from random import Random

import pytest

from enclosure import design_from
from enclosure.nesting.__main__ import STOPPED, main
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.model import SheetPlan
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.sheets.budget import BEAT
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.templates_home import find_template
from tests.benchmarks.families import uniform
from tests.oracle_cases import tiny_sheet_job

pytestmark = pytest.mark.regression


def _hard(number: int) -> dict[str, object]:
    """Return a case like a small shelter of many different panels: no proof in a short time."""
    draw = Random(f"hard {number}")
    items = [[draw.randint(180, 620), draw.randint(250, 1100), 1] for _ in range(26)]
    return {
        "name": f"hard{number}", "bins": [[1219, 2438, 50, None], [1219, 3048, 62, None]], "items": items, "kerf": 3,
    }  # fmt: skip


@pytest.fixture(scope="module")
def hard_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("cases") / "hard.json"
    path.write_text(json.dumps({"instances": [_hard(n) for n in range(3)]}))
    return path


def test_progress_tells_better_plans_and_bounds_and_then_comes_again(hard_file: Path) -> None:
    from enclosure.nesting.casefile import read_cases

    job = next(iter(read_cases(hard_file))).job
    told: list[SheetPlan] = []

    def keep(plan: SheetPlan) -> bool:
        told.append(plan)
        return True

    plan = solve_sheets(job, work_limit=1200, progress=keep)  # type: ignore[arg-type]
    assert plan.price == min(found.price for found in told)
    for before, after in pairwise(told):
        assert (after.price, -after.bound) <= (before.price, -before.bound)
        verify_sheets(job, after)  # type: ignore[arg-type]
    if plan.status == "gap":
        assert any(a is b for a, b in pairwise(told)), f"told again after {BEAT:g} units"


def test_a_caller_can_end_a_search_between_two_better_plans(hard_file: Path) -> None:
    """Cancelled at the tenth word, whatever that says: the plan is whole and most of the work is not spent."""
    from enclosure.nesting.casefile import read_cases

    job = next(iter(read_cases(hard_file))).job
    words = 0

    def some(plan: SheetPlan) -> bool:
        nonlocal words
        words += 1
        return words < 10

    plan = solve_sheets(job, work_limit=100_000, progress=some)  # type: ignore[arg-type]
    verify_sheets(job, plan)  # type: ignore[arg-type]
    assert plan.work < 50_000
    sticks = uniform(120, 1)
    stopped = solve_sticks(sticks, work_limit=10**9, progress=lambda price, bound: price is None)
    verify_sticks(sticks, stopped)


def test_the_same_work_gives_the_same_plan_whether_watched_or_not() -> None:
    for seed in range(12):
        job = tiny_sheet_job(seed)
        try:
            plain = solve_sheets(job, work_limit=60)
        except Exception:
            continue
        assert solve_sheets(job, work_limit=60, progress=lambda plan: True) == plain


def test_cutting_a_shelter_tells_gaps_in_words() -> None:
    shelter = design_from(find_template("briefs", "tree-fern"))
    begun: list[str] = []
    gaps: list[str] = []
    cut_everything(shelter.design, shelter.stock, begun.append, gaps.append)
    assert len(begun) == len({part.material for part in shelter.design.parts})
    assert any(words.endswith("least price proved") for words in gaps)
    assert {words.rsplit(", ", 1)[0] for words in gaps} <= set(begun)


def test_cases_on_two_cores_are_printed_as_on_one(hard_file: Path, capsys: pytest.CaptureFixture[str]) -> None:
    printed = []
    for cores in ("1", "2"):
        assert main([str(hard_file), "--work", "60", "--cores", cores, "--json"]) == 0
        rows = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
        printed.append([{key: value for key, value in row.items() if key != "seconds"} for row in rows])
    assert printed[0] == printed[1]
    assert [row["name"] for row in printed[0]] == ["hard0", "hard1", "hard2"]


def test_ctrl_c_on_a_terminal_ends_a_long_run_with_the_best_plan_so_far(hard_file: Path) -> None:
    """The line with the gap stands on the terminal, the plan on standard output; the later cases are not begun."""
    above, below = pty.openpty()
    run = subprocess.Popen(
        [sys.executable, "-m", "enclosure.nesting", str(hard_file), "--seconds", "600", "--json"],
        stdout=subprocess.PIPE, stderr=below,
    )  # fmt: skip
    os.close(below)
    seen = b""
    patience = time.monotonic() + 120
    while b"gap" not in seen and time.monotonic() < patience:
        seen += os.read(above, 4096)
    run.send_signal(signal.SIGINT)
    out, _ = run.communicate(timeout=120)
    os.close(above)
    assert b"hard0" in seen
    assert run.returncode == STOPPED
    (row,) = [json.loads(line) for line in out.splitlines()]
    assert row["name"] == "hard0"
    assert row["lower_bound"] < row["price"]
    assert row["plan"]["patterns"]
