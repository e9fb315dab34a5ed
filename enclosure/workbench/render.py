"""How do answers become HTML?

Everything goes through templates that escape what they are given. A piece that is sent
into an open page replaces the element of the same id.
"""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Iterable
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from enclosure.checks.explain import FOOTER, NOT_CHECKED, explain, verdict
from enclosure.checks.model import Check
from enclosure.outputs.page import scene_json
from enclosure.templates_home import find_template, template_names
from enclosure.units import UnitSystem, format_length, format_mass
from enclosure.workbench.choices import choices_for
from enclosure.workbench.desk import Desk
from enclosure.workbench.fields import FIELDS, GROUPS
from enclosure.workbench.helpers import Job
from enclosure.workbench.reckon import First
from enclosure.workbench.state import DeskBook
from enclosure.workbench.verdicts import (
    QUESTIONS,
    SIGNS,
    State,
    Verdict,
    cost_verdict,
    fit_verdict,
    live_verdict,
    stand_verdict,
    waste_verdict,
)

MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
          "November", "December")  # fmt: skip
WAIT_MS = 500
"""Rest after the last edit before cutting plans are begun."""


class Render:
    """Turns answers into pages and pieces of pages."""

    def __init__(self, root: str) -> None:
        self.root = root
        self.env = Environment(
            loader=PackageLoader("enclosure.workbench", "pages"), autoescape=True, undefined=StrictUndefined,
            trim_blocks=True, lstrip_blocks=True,
        )  # fmt: skip

    def _html(self, template: str, **values: Any) -> str:
        return self.env.get_template(template).render(root=self.root, **values)

    def start(self, desks: Iterable[Desk], trouble: str) -> str:
        """Return the page where one begins."""
        items = [_template_words(name) for name in template_names("briefs")]
        rows = [{"key": d.key, "title": title_of(d.text), "origin": d.origin} for d in desks]
        return self._html("start.html", templates=items, desks=rows, trouble=trouble)

    def page(self, desk: Desk, book: DeskBook, facts: dict[str, Any], stage: str, answer: str) -> str:
        """Return the whole page of a desk."""
        first = book.first()
        given = {
            "groups": GROUPS, "values": first.values, "choices": choices_for(desk, first.values), "stage_html": stage,
            "answer": answer, "oob": False,
        }  # fmt: skip
        return self._html("desk.html", **{**facts, **self.later(desk, book), **given})

    def piece(self, name: str, desk: Desk, facts: dict[str, Any], answer: str = "") -> str:
        """Return pieces that replace those of an open page."""
        return self._html(name, **{**facts, "answer": answer, "oob": True, "desk": desk})

    def facts(self, desk: Desk, book: DeskBook) -> dict[str, Any]:
        """Return what the first pieces show: bar, troubles, sizes, verdicts known at once."""
        first = book.first()
        job = book.deep()
        cut = job.parts.get("cut") if job is not None else None
        return {
            "desk": desk, "first": first, "fields": FIELDS, "title": title_of(desk.text), "said": "",
            "facts": _size_facts(book.good, desk.view),
            "warnings": book.good.shelter.design.warnings if book.good.shelter else (),
            "verdicts": [fit_verdict(book.good), cost_verdict(book.good, cut)] if book.good.shelter else [],
            "papers": _papers_state(desk, book),
        }  # fmt: skip

    def later(self, desk: Desk, book: DeskBook) -> dict[str, Any]:
        """Return what the later pieces show: all verdicts, cutting plans, lists, calendar."""
        second, job = book.known_second(), book.deep()
        cut = job.parts.get("cut") if job is not None else None
        verdicts: list[Verdict] = [
            fit_verdict(book.good), stand_verdict(second), live_verdict(second), cost_verdict(book.good, cut),
            waste_verdict(book.good, cut),
        ]  # fmt: skip
        failed = job is not None and job.state == "failed"
        words = f"{job.words} \u2026" if job is not None and not job.over else job.words if failed and job else ""
        return {
            "desk": desk, "verdicts": verdicts, "cut": _cut_shown(cut), "cut_words": words, "cut_rev": desk.rev,
            "again": job is not None and not job.over, "wait": WAIT_MS,
            "calendar": [] if second is None else [
                {"when": f"{e.day} {MONTHS[e.month - 1]}", "title": e.title, "reason": e.reason}
                for e in second.calendar
            ],
            "sources": scene_json(cut.get("sources", {}) if cut else {}),
        }  # fmt: skip

    # --- why ---------------------------------------------------------------------------

    def why(self, key: str, desk: Desk, book: DeskBook) -> str:
        """Return how one verdict was reckoned."""
        job = book.deep()
        cut = job.parts.get("cut") if job is not None else None
        ways = job.parts.get("ways", {}) if job is not None else {}
        lines: list[str] = []
        foot: list[str] = []
        table: dict[str, Any] | None = None
        rows: list[dict[str, Any]] = []
        if key in ("stand", "live"):
            second = book.second()
            found = second.standing if key == "stand" else second.living
            rows = [_check_row(check, ways) for check in found]
            lines = [second.trouble.words] if second.trouble else []
            foot = [*FOOTER, *([f"Not checked: {'; '.join(NOT_CHECKED)}."] if key == "stand" else [])]
        elif key == "fit":
            lines, table = _growth_table(book.good, desk.view)
        elif key == "cost":
            lines, table = _cost_lines(book.good, cut)
        else:
            lines, table = _waste_table(cut)
        return self._html("why.html", question=QUESTIONS[key], lines=lines, table=table, rows=rows, foot=foot)

    # --- comparing -----------------------------------------------------------------------

    def compare(self, desk: Desk, book: DeskBook) -> str:
        """Return the variant set aside beside the brief as it stands."""
        pinned = book.pinned_first() if desk.pinned else None
        rows: list[tuple[str, str, str]] = []
        if pinned is not None and pinned.shelter is not None and book.good.shelter is not None:
            rows = _differences(desk, book, pinned)
        return self._html("compare.html", desk=desk, pinned=pinned is not None, rows=rows)

    def study(self, kind: str, desk: Desk, job: Job | None) -> str:
        """Return all skins side by side, or the cheapest size, or how far that has come."""
        return self._html("study.html", kind=kind, desk=desk, job=job)


def title_of(text: str) -> str:
    """Return the name in a brief, or a stand-in."""
    try:
        name = tomllib.loads(text).get("name")
    except (ValueError, RecursionError):
        name = None
    return name if isinstance(name, str) and name.strip() else "A shelter without a name"


def _template_words(name: str) -> dict[str, str]:
    text = find_template("briefs", name).read_text(encoding="utf-8")
    notes = itertools.takewhile(lambda line: line.startswith("# "), text.splitlines())
    head = re.split(r"\.(?:\s|$)", " ".join(line[2:] for line in notes).removeprefix("Brief:").strip())[0] + "."
    content = tomllib.loads(text)
    return {"name": name, "plant": str(content["name"]).capitalize(), "words": head}


def _papers_state(desk: Desk, book: DeskBook) -> dict[str, Any]:
    job = book.papers
    if job is None:
        return {"state": "none"}
    state = {"waiting": "working"}.get(job.state, job.state)
    return {
        "state": state, "words": f"{job.words}; {job.hint}" if job.hint else job.words, "share": round(100 * job.share),
        "files": job.value.get("files", []), "notes": job.value.get("notes", []), "current": job.text == desk.text,
    }  # fmt: skip


def _size_facts(first: First, view: UnitSystem) -> list[tuple[str, str]]:
    if first.shelter is None:
        return []
    design = first.shelter.design

    def three(sizes: tuple[float, float, float]) -> str:
        return " x ".join(format_length(side, view) for side in sizes)

    heaviest = max((step.mass_kg for step in design.steps if step.phase == "raising"), default=0.0)
    return [
        ("clear inside", f"{three(design.clear_mm)} (width, depth, height)"),
        ("outside frame", three(design.outside_mm)),
        ("panels", str(len(design.panels()))),
        ("parts in all", str(len(design.parts))),
        ("heaviest lift", f"{format_mass(heaviest, view)}, people: {design.people}"),
        ("raising", f"{design.raising_method}: {design.raising_reason}"),
    ]  # fmt: skip


def _cut_shown(cut: dict[str, Any] | None) -> dict[str, Any] | None:
    return None if cut is None else {"trouble": "", "hint": "", **cut}


def _check_row(check: Check, ways: dict[str, str]) -> dict[str, Any]:
    said = verdict(check)
    working = explain(check).split(FOOTER[0])[0].rstrip()
    state: State = "none" if check.advice else "good" if check.passes else "bad"
    return {
        "name": check.name, "share": f"{check.utilisation:.2f}", "verdict": said, "sign": SIGNS[state],
        "state": state, "bar": f"{min(150.0, 100.0 * max(check.utilisation, 0.0)):.1f}",
        "way_out": "" if check.passes else check.way_out or ways.get(check.key, ""), "working": working,
    }  # fmt: skip


def _growth_table(first: First, view: UnitSystem) -> tuple[list[str], dict[str, Any] | None]:
    if first.growth is None:
        return ["the shelter cannot be made as asked"], None
    rows: list[list[Any]] = []
    for r in first.growth.rows:
        sizes = [format_length(mm, view) for mm in (r.low_mm, r.likely_mm, r.high_mm, r.clear_mm)]
        fits = "yes" if r.likely_mm <= r.clear_mm + 1e-6 else "no"
        rows.append([r.axis, "today" if r.winter == 0 else r.winter, *sizes, fits])
    lines = [
        "What the plant takes with its least free room, winter by winter, against the clear box.",
        "Slow and fast are 0.7 and 1.5 times the growth given; common practice, no source.",
    ]
    heads = ["axis", "winter", "if slow", "likely", "if fast", "there is", "fits"]
    return lines, {"headers": heads, "rows": rows}


def _cost_lines(first: First, cut: dict[str, Any] | None) -> tuple[list[str], dict[str, Any] | None]:
    if first.shelter is None:
        return ["the shelter cannot be made as asked"], None
    if cut is None or "trouble" in cut:
        return [
            "Area and length of all parts at the cheapest price per square metre and metre, with 15 % more sheet and "
            "10 % more stick than the parts measure.",
            "The buying list with whole sheets and sticks comes with the cutting plans.",
            first.shelter.stock.prices_note,
        ], None
    return [str(cut["prices_note"])], cut["buying"]


def _waste_table(cut: dict[str, Any] | None) -> tuple[list[str], dict[str, Any] | None]:
    if cut is None or "trouble" in cut:
        return ["Known when the cutting plans are there."], None
    rows = [[row["name"], row["what"], f"{row['used']:.1%}", f"{1 - row['used']:.1%}"] for row in cut["yields"]]
    lines = ["Area (or length) of the parts over that of all sheets (or sticks) cut."]
    return lines, {"headers": ["material", "what", "becomes parts", "the rest"], "rows": rows}


def _differences(desk: Desk, book: DeskBook, pinned: First) -> list[tuple[str, str, str]]:
    """Return what is the same and what differs, the brief's own lines last and only where they differ."""
    now, then = book.second(), book.second(desk.pinned)
    rows = [
        (QUESTIONS["fit"], _words(fit_verdict(pinned)), _words(fit_verdict(book.good))),
        (QUESTIONS["stand"], _words(stand_verdict(then)), _words(stand_verdict(now))),
        (QUESTIONS["live"], _words(live_verdict(then)), _words(live_verdict(now))),
        (QUESTIONS["cost"], _words(cost_verdict(pinned, None)), _words(cost_verdict(book.good, None))),
    ]
    for (head, a), (_, b) in zip(_size_facts(pinned, desk.view), _size_facts(book.good, desk.view), strict=True):
        rows.append((head.capitalize(), a, b))
    for key, field in FIELDS.items():
        a, b = pinned.values.get(key, ""), book.good.values.get(key, "")
        if a != b:
            rows.append((field.label, a or field.empty or "not given", b or field.empty or "not given"))
    return rows


def _words(said: Verdict) -> str:
    return f"{said.sign} {said.word}"
