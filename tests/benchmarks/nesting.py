"""How good are the cutting plans, beside a greedy baseline and beside general-purpose libraries?

    python -m tests.benchmarks.nesting [--file FILE] [--seconds S] [--families N] [--only sheets|sticks|growth|classes]

Prints one table for each set of a case file (see `enclosure.nesting.casefile`)
and, of `tests.benchmarks.families`, one for the stick families and one for the classes of sheet jobs. Every plan of
this project is verified before it counts. Seconds are processor time, because
wall-clock time says little on a shared machine.

The libraries are not needed to run the program; a column says "not installed"
where its library is missing.
"""

from __future__ import annotations

import argparse
import resource
import statistics
import sys
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from enclosure import design_from
from enclosure.errors import CuttingError
from enclosure.nesting.casefile import Case, read_cases
from enclosure.nesting.cases import BOUNDLESS
from enclosure.nesting.demand import sheet_demands
from enclosure.nesting.model import SheetJob, SheetPlan, StickJob, StickPlan
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.solver import silence_banner
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.templates_home import find_template
from tests.benchmarks.families import sheet_class, shelter, triplets, uniform, zero_waste
from tests.benchmarks.peers import SHEET_PEERS, STICK_PEERS, PeerMissing

Row = tuple[str, ...]


def main() -> int:
    """Print the tables asked for."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.nesting")
    parser.add_argument("--file", type=Path, action="append", default=[], help="a file of cutting cases")
    parser.add_argument("--seconds", type=float, default=1.0, help="limit for each case (1)")
    parser.add_argument("--families", type=int, default=4, metavar="N", help="cases of each stick family (4)")
    parser.add_argument("--only", choices=("sheets", "sticks", "growth", "classes"))
    parser.add_argument("--name", action="append", help="only cases with this in their name")
    wanted = parser.parse_args()
    silence_banner()
    for path in wanted.file:
        _file_tables(path, wanted.seconds, wanted.only, wanted.name or [])
    if wanted.only in (None, "sticks") and wanted.families:
        _family_table(wanted.families, 5.0)
    if wanted.only == "classes":
        _class_table(wanted.families, wanted.seconds)
    if wanted.only in (None, "growth"):
        _growth_table()
    return 0


# --- case files --------------------------------------------------------------------


def _file_tables(path: Path, seconds: float, only: str | None, names: list[str]) -> None:
    groups: dict[tuple[str, str], list[Case]] = {}
    for case in read_cases(path, modes=("oriented", "rotated")):
        kind = "sheets" if isinstance(case.job, SheetJob) else "sticks"
        if only in (None, kind) and (not names or any(name in case.name for name in names)):
            groups.setdefault((case.set_name, case.mode), []).append(case)
    for (set_name, mode), cases in groups.items():
        print(f"\n{path.name}: {set_name} {mode}, {len(cases)} cases, {seconds:g} s each")
        ours = [_ours(case, seconds) for case in cases]
        _print([("solver", "total price", "cheaper", "dearer", "no plan", "proved", "median s", "worst s")])
        _print([_our_row(cases, ours)])
        peers = SHEET_PEERS if isinstance(cases[0].job, SheetJob) else STICK_PEERS
        for label, solve in peers.items():
            _print([_peer_row(label, solve, cases, ours)])


def _ours(case: Case, seconds: float) -> tuple[SheetPlan | StickPlan | None, float]:
    begin = time.process_time()
    try:
        plan: SheetPlan | StickPlan
        if isinstance(case.job, SheetJob):
            plan = solve_sheets(case.job, work_limit=BOUNDLESS, seconds=seconds)
        else:
            plan = solve_sticks(case.job, seconds=seconds)
    except CuttingError:
        return None, time.process_time() - begin
    spent = time.process_time() - begin
    if isinstance(case.job, SheetJob):
        assert isinstance(plan, SheetPlan)
        verify_sheets(case.job, plan)
    else:
        assert isinstance(plan, StickPlan)
        verify_sticks(case.job, plan)
    return plan, spent


def _our_row(cases: list[Case], ours: list[tuple[SheetPlan | StickPlan | None, float]]) -> Row:
    total = sum(plan.price / case.money for case, (plan, _) in zip(cases, ours, strict=True) if plan)
    proved = sum(plan is not None and plan.status == "proved" for plan, _ in ours)
    spent = [one for _, one in ours]
    missing = sum(plan is None for plan, _ in ours)
    return (
        "this project", f"{total:,.2f}", "", "", str(missing), str(proved),
        f"{statistics.median(spent):.2f}", f"{max(spent):.2f}",
    )  # fmt: skip


def _peer_row(
    label: str,
    solve: Callable[[SheetJob], int | None] | Callable[[StickJob], int | None],
    cases: list[Case],
    ours: list[tuple[SheetPlan | StickPlan | None, float]],
) -> Row:
    """Return a peer's row; cheaper and dearer compare it with this project, case by case."""
    total, cheaper, dearer, missing = 0.0, 0, 0, 0
    spent = []
    for case, (plan, _) in zip(cases, ours, strict=True):
        begin = time.process_time()
        try:
            price = solve(case.job)  # type: ignore[arg-type]
        except PeerMissing as missing_peer:
            return (label, str(missing_peer), "", "", "", "", "", "")
        spent.append(time.process_time() - begin)
        if price is None:
            missing += 1
            continue
        total += price / case.money
        if plan is not None:
            cheaper += price < plan.price
            dearer += price > plan.price
            if price < plan.bound:
                raise AssertionError(f"{case.name}: {label} has {price}, below our bound {plan.bound}")
    return (
        label, f"{total:,.2f}", str(cheaper), str(dearer), str(missing), "",
        f"{statistics.median(spent):.2f}", f"{max(spent):.2f}",
    )  # fmt: skip


# --- families of sticks --------------------------------------------------------------


def _families(count: int) -> Iterator[tuple[str, list[tuple[StickJob, int | None]]]]:
    for items in (120, 250, 500):
        yield f"uniform {items}", [(uniform(items, seed), None) for seed in range(count)]
    for items in (120, 249, 501):
        yield f"triplets {items}", [triplets(items, seed) for seed in range(count)]
    for items in (120, 250, 500):
        yield f"zero waste {items}", [zero_waste(items, seed) for seed in range(count)]
        yield f"zero waste {items}, kerf", [zero_waste(items, seed, kerf=3) for seed in range(count)]
    yield "shelter", [(shelter(seed), None) for seed in range(3 * count)]


def _family_table(count: int, seconds: float) -> None:
    print(f"\nfamilies of sticks, {seconds:g} s each")
    labels = [f"{label} dearer" for label in STICK_PEERS]
    _print([("family", "cases", "optimal", "proved", "median s", "worst s", *labels)])
    for family, jobs in _families(count):
        optimal = proved = 0
        spent, dearer = [], dict.fromkeys(STICK_PEERS, 0)
        for job, least in jobs:
            begin = time.process_time()
            plan = solve_sticks(job, seconds=seconds)
            spent.append(time.process_time() - begin)
            verify_sticks(job, plan)
            proved += plan.status == "proved"
            optimal += plan.status == "proved" or plan.price == least
            for label, solve in STICK_PEERS.items():
                price = solve(job)
                dearer[label] += price is None or price > plan.price
        _print([
            (family, str(len(jobs)), str(optimal), str(proved), f"{statistics.median(spent):.2f}",
             f"{max(spent):.2f}", *(str(dearer[label]) for label in STICK_PEERS))
        ])  # fmt: skip


# --- classes of sheet jobs -------------------------------------------------------------


def _class_table(count: int, seconds: float) -> None:
    print(f"\nclasses of sheet jobs, {count} cases of 20, 60 and 100 parts each, {seconds:g} s each")
    _print([("class", "sheets", "bound", "proved", "median s", "worst s")])
    for number in range(1, 11):
        for turnable in (False, True):
            jobs = [sheet_class(number, n, s, turnable=turnable) for n in (20, 60, 100) for s in range(count)]
            plans, spent = [], []
            for job in jobs:
                begin = time.process_time()
                plans.append(solve_sheets(job, work_limit=BOUNDLESS, seconds=seconds))
                spent.append(time.process_time() - begin)
                verify_sheets(job, plans[-1])
            proved = sum(plan.status == "proved" for plan in plans)
            _print([
                (f"{number} {'rotated' if turnable else 'oriented'}", str(sum(p.price for p in plans)),
                 str(sum(p.bound for p in plans)), f"{proved} of {len(jobs)}",
                 f"{statistics.median(spent):.2f}", f"{max(spent):.2f}")
            ])  # fmt: skip


# --- growth --------------------------------------------------------------------------


def _growth_table() -> None:
    """Each row in a process of its own, so that its most memory is its own."""
    for what in ("sheets", "sticks"):
        print(f"\ngrowth: one shelter's {what}, many times over, at the engine's own limit of work")
        _print([("copies", "parts", "patterns", "gap", "seconds", "MB")])
        for times in (1, 10, 100, 1000):
            with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
                _print([pool.submit(_growth_row, what, times).result()])


def _growth_row(what: str, times: int) -> Row:
    silence_banner()
    plan: SheetPlan | StickPlan
    if what == "sheets":
        fern = design_from(find_template("briefs", "tree-fern"))
        base = max((d.job for d in sheet_demands(fern.design, fern.stock)), key=lambda j: len(j.kinds))
        job = replace(base, kinds=tuple(replace(kind, quantity=kind.quantity * times) for kind in base.kinds))
        begin, parts = time.process_time(), sum(kind.quantity for kind in job.kinds)
        plan = solve_sheets(job)
        spent = time.process_time() - begin
        verify_sheets(job, plan)
    else:
        sticks = shelter(3)
        more = replace(sticks, parts=tuple(replace(part, quantity=part.quantity * times) for part in sticks.parts))
        begin, parts = time.process_time(), sum(part.quantity for part in more.parts)
        plan = solve_sticks(more)
        spent = time.process_time() - begin
        verify_sticks(more, plan)
    gap = (plan.price - plan.bound) / max(plan.price, 1)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    return str(times), str(parts), str(len(plan.patterns)), f"{gap:.4%}", f"{spent:.2f}", f"{peak:.0f}"


def _print(rows: list[Row]) -> None:
    for row in rows:
        print("  ".join(f"{cell:<26}" if at == 0 else f"{cell:>12}" for at, cell in enumerate(row)), flush=True)


if __name__ == "__main__":
    sys.exit(main())
