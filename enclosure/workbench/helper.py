"""What does the page's second process do?

Work that takes seconds (ways out, cutting plans, papers, comparing skins) would hold up
every edit if it ran in the server, so it runs here: ``python -m enclosure.workbench.helper``.
One job a line comes in as JSON, answers go out as JSON lines. Killing the process is the
way to cancel. When the other end goes away this process ends too.

A job names a folder that the server made, with ``brief.toml`` and the two files that it names.
"""

from __future__ import annotations

import json
import os
import queue
import sys
import threading
from pathlib import Path
from typing import Any, TextIO

from enclosure.choose.fit_stock import NearMiss
from enclosure.errors import EnclosureError
from enclosure.money import money as said
from enclosure.nesting.plans import Plans
from enclosure.pipeline.walk import Shelter

NICE = 5
"""How far this process stands back behind the one that answers edits."""


def main() -> None:
    """Read jobs until the other end goes away."""
    # what libraries print must not get between the answers
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)
    os.nice(NICE)
    jobs: queue.SimpleQueue[str] = queue.SimpleQueue()
    threading.Thread(target=_listen, args=(jobs,), daemon=True).start()
    _warm()
    _say(answers, event="ready")
    while True:
        job = json.loads(jobs.get())
        try:
            _JOBS[job["kind"]](job, answers)
        except EnclosureError as error:
            _say(answers, event="trouble", job=job["number"], words=error.message, hint=error.hint)
        except Exception as error:
            words = f"the program itself went wrong ({type(error).__name__}: {error})"
            _say(answers, event="trouble", job=job["number"], words=words, hint="please report it")


def _listen(jobs: queue.SimpleQueue[str]) -> None:
    for line in sys.stdin:
        jobs.put(line)
    os._exit(0)


def _warm() -> None:
    """Import what every job needs, so that the first one does not wait for it."""
    import enclosure.nesting.cutting
    import enclosure.outputs.table_rows
    import enclosure.pipeline.check  # noqa: F401


def _say(answers: TextIO, **words: Any) -> None:
    try:
        answers.write(json.dumps(words) + "\n")
        answers.flush()
    except BrokenPipeError:
        os._exit(0)


def _deep(job: dict[str, Any], answers: TextIO) -> None:
    """Ways out of failing checks, then cutting plans."""
    from enclosure.checks.stand import standing_checks
    from enclosure.nesting.cutting import cut_everything
    from enclosure.pipeline.walk import design_from

    number = job["number"]
    shelter = design_from(Path(job["folder"]) / "brief.toml")
    _say(answers, event="progress", job=number, words="looking for ways out", share=0.05)
    rows = standing_checks(shelter.design, shelter.brief, shelter.site, shelter.stock)
    _say(answers, event="part", job=number, name="ways", value={row.key: row.way_out for row in rows if row.way_out})
    total = max(1, len({part.material for part in shelter.design.parts}))
    begun = 0

    def tell(name: str) -> None:
        nonlocal begun
        _say(answers, event="progress", job=number, words=f"cutting plan: {name}", share=0.1 + 0.85 * begun / total)
        begun += 1

    try:
        plans = cut_everything(shelter.design, shelter.stock, tell)
    except EnclosureError as error:
        cut = {"trouble": error.message, "hint": error.hint}
    else:
        cut = cut_facts(shelter, plans)
    _say(answers, event="part", job=number, name="cut", value=cut)
    _say(answers, event="done", job=number, value={})


def cut_facts(shelter: Shelter, plans: Plans) -> dict[str, Any]:
    """Return what the page shows of cutting plans, ready for JSON."""
    from enclosure.outputs import table_rows as tables

    design = shelter.design
    states = [item.plan.status for item in plans.sheet_jobs] + [item.plan.status for item in plans.stick_jobs]
    buying = tables.buying_list(plans)
    parts = tables.cut_list(design, plans)
    return {
        "total": plans.total_cents / 100,
        "currency": plans.currency,
        "prices_note": plans.prices_note,
        "proved": all(state == "proved" for state in states),
        "yields": _yields(plans),
        "sheets": _sheets(shelter, plans),
        "sticks": _table(tables.stick_list(design, plans)),
        "buying": _table(buying, buying.money),
        "parts": _table(parts),
        "sources": {str(row[0]): str(row[parts.headers.index("cut from")]) for row in parts.rows},
    }


def _table(table: Any, money: tuple[int, ...] = ()) -> dict[str, Any]:
    rows = [[said(100 * cell) if i in money else cell for i, cell in enumerate(row)] for row in table.rows]
    return {"name": table.name, "headers": list(table.headers), "rows": rows}


def _yields(plans: Plans) -> list[dict[str, Any]]:
    from enclosure.outputs.table_rows import sheet_yield, stick_yield

    rows: list[dict[str, Any]] = []
    for sheets in plans.sheet_jobs:
        sizes = {kind.key: kind.width * kind.height for kind in sheets.job.sheets}
        bought = sum(sizes[p.sheet] * p.copies for p in sheets.plan.patterns)
        rows.append({"name": sheets.name, "what": "sheet", "used": sheet_yield(sheets), "bought": bought})
    for sticks in plans.stick_jobs:
        lengths = {kind.key: kind.length for kind in sticks.job.sticks}
        bought = sum(lengths[p.stick] * p.copies for p in sticks.plan.patterns)
        rows.append({"name": sticks.name, "what": "stick", "used": stick_yield(sticks), "bought": bought})
    return rows


def _sheets(shelter: Shelter, plans: Plans) -> list[dict[str, str]]:
    from enclosure.nesting.model import UNITS_PER_MM
    from enclosure.nesting.picture import plan_svg
    from enclosure.outputs.drawing.sheet_pages import sheet_pages
    from enclosure.units import format_length

    system = shelter.brief.papers.units
    found = []
    for number, page in enumerate(sheet_pages(plans), start=1):
        copies = page.pattern.copies
        every = "" if copies == 1 else f", {copies} sheets cut alike"
        words = f"sheet {number}: {page.sheets.name}{every}"
        svg = plan_svg(
            page.sheets.job, page.pattern, title=words, marks=[", ".join(names) for names in page.marks],
            length_text=lambda units: format_length(units / UNITS_PER_MM, system),
        )  # fmt: skip
        found.append({"words": words, "svg": svg})
    return found


def _papers(job: dict[str, Any], answers: TextIO) -> None:
    """All papers into a folder beside the brief."""
    from enclosure.pipeline.make import make

    number, folder = job["number"], Path(job["folder"])

    def tell(words: str, share: float) -> None:
        _say(answers, event="progress", job=number, words=words, share=share)

    made = make(folder / "brief.toml", folder / "papers", progress=tell)
    _say(answers, event="done", job=number, value={"files": list(made.files), "notes": list(made.notes)})


def _skins(job: dict[str, Any], answers: TextIO) -> None:
    """All skins of the stock list side by side."""
    from enclosure.choose.compare import compare
    from enclosure.choose.compare_table import compare_text
    from enclosure.pipeline.walk import design_from

    number = job["number"]
    _say(answers, event="progress", job=number, words="building the shelter with every skin", share=0.1)
    shelter = design_from(Path(job["folder"]) / "brief.toml")
    found = compare(shelter.brief, shelter.site, shelter.stock)
    _say(answers, event="done", job=number, value={"text": compare_text(found)})


def _size(job: dict[str, Any], answers: TextIO) -> None:
    """The size within the windows at which everything costs least."""
    from enclosure.pipeline.fit import fit
    from enclosure.units import format_length

    number = job["number"]

    def tell(words: str, share: float) -> None:
        _say(answers, event="progress", job=number, words=words, share=share)

    # the page puts two clearances into the brief, so bays, timber and track stay as they are
    found = fit(Path(job["folder"]) / "brief.toml", bays=False, frame=False, progress=tell).fit
    units, money = found.design.units, found.plans.currency

    def long(mm: float) -> str:
        return format_length(mm, units, rounding="down")

    rows = []
    for name, choice in (("cheapest", found.chosen), ("least room", found.tightest), ("most room", found.roomiest)):
        if choice is not None:
            clear = " x ".join(format_length(side, units) for side in choice.clear_mm)
            price = f"{said(choice.price_cents)} {money}"
            rows.append([name, price, long(choice.side_mm), long(choice.top_mm), clear])
    proof = "proved: no size within the windows is cheaper" if found.proved else "not proved to be the cheapest"
    chosen = found.chosen
    value = {
        "heads": ["size", "price", "free room at the sides", "on top", "clear inside"],
        "rows": rows,
        "lines": [f"{found.sizes} sizes looked at; {proof}", *([f"with {chosen.label}"] if chosen.label else [])],
        "near": [_near_words(miss, long(abs(miss.change_mm)), money) for miss in found.near],
        "side": long(chosen.side_mm),
        "top": long(chosen.top_mm),
    }
    _say(answers, event="done", job=number, value=value)


def _near_words(miss: NearMiss, size: str, money: str) -> str:
    where = "at each side" if miss.axis == "side" else "on top"
    price = f"{said(abs(miss.change_cents))} {money}"
    outside = "" if miss.inside else ", outside what the brief allows"
    change = f"{size} less room {where} saves" if miss.change_mm < 0 else f"more than {size} more room {where} costs"
    return f"{change} {price}{outside}: {miss.reason}"


_JOBS = {"deep": _deep, "papers": _papers, "skins": _skins, "size": _size}

if __name__ == "__main__":
    main()
