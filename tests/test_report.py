"""Does the report hold every check, can it be read in black and white, and do its drawings tell the truth?

Read back with pdfplumber and pypdf; nothing of the program is used to read it.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import icalendar
import pdfplumber
import pytest
from pypdf import PdfReader

from enclosure.brief.model import Anchors
from enclosure.checks.explain import FOOTER, NOT_CHECKED, asked, short
from enclosure.outputs import plots as plots_module
from enclosure.outputs.paper.words import words_of
from enclosure.pipeline.check import CheckResult, inspected
from enclosure.pipeline.report import (
    calendar_words,
    events_of,
    why_no_dates,
    write_calendar,
    write_report_of,
)
from enclosure.pipeline.walk import Shelter, rebuild
from tests.paper_pages import MM, font_faults, outside, overlapping
from tests.shelters import shipped

CASES = ("tree-fern", "olive-glass", "weak banana-clump")


@dataclass(frozen=True)
class Made:
    """A report with what it was made from."""

    path: Path
    found: CheckResult
    pages: list
    text: tuple[str, ...]

    @property
    def shelter(self) -> Shelter:
        return self.found.shelter

    def page(self, words: str) -> int:
        """Number of the first page whose text begins with some words, from 1."""
        return next(n for n, text in enumerate(self.text, start=1) if text.startswith(words))


@cache
def found(name: str) -> CheckResult:
    brief, site, stock = shipped(name.removeprefix("weak "))
    if name.startswith("weak "):
        frame = brief.frame.model_copy(update={"brace_screws": 2})
        brief = brief.model_copy(update={"frame": frame, "anchors": Anchors(posts=4)})
    return inspected(rebuild(brief, site, stock))


@pytest.fixture(scope="module", params=CASES)
def made(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Made]:
    result = found(request.param)
    path = tmp_path_factory.mktemp("report") / "report.pdf"
    plots = "fern" in request.param
    missing = write_report_of(
        result, path, events=events_of(result.shelter), calendar_words=calendar_words(2027), plots=plots
    )
    assert bool(missing) != plots
    with pdfplumber.open(path) as document:  # kept open: its pages remember what was read from them
        yield Made(path, result, document.pages, tuple(page.extract_text() or "" for page in document.pages))


def flat(text: str) -> str:
    return " ".join(text.split())


def test_text_stays_on_the_page_and_apart_and_every_font_is_embedded(made: Made) -> None:
    assert font_faults(made.path) == []
    assert len(made.pages) > 12
    for number, page in enumerate(made.pages, start=1):
        assert len(page.chars) > 60, f"page {number} is empty"
        assert outside(page) == [], f"page {number}"
        assert overlapping(page) == [], f"page {number}"
        least = min(char["size"] for char in page.chars if char["text"].strip())
        assert least * 0.729 / MM > 1.1, f"page {number} has letters of {least * 0.729 / MM:.2f} mm"


def test_every_check_stands_in_the_table_and_where_the_table_says(made: Made) -> None:
    keys = [row.key for row in made.found.checks]
    table = flat(" ".join(text for text in made.text if text.startswith("Checks, worst first")))
    for row in made.found.checks:
        pages = [n for n, text in enumerate(made.text, start=1) if f"[{row.key}]" in text]
        assert len(pages) == 1, row.key
        first = row.name.split()[0]
        said = words_of(made.found.shelter.design).said
        cells = said(asked(row)).split(" ")[0] if row.advice and row.utilisation == 0 else f"{row.utilisation:.2f}"
        assert first in table
        assert cells in table, row.key
        assert re.search(rf"\b{pages[0]}\b", table), row.key
    assert len(keys) == len(set(keys))


def test_rows_of_the_table_are_worst_first_and_name_their_page(made: Made) -> None:
    """Each line of the table with a utilisation, read from the paper itself."""
    lines = [line for text in made.text if text.startswith("Checks, worst first") for line in text.splitlines()]
    rows = [
        re.match(r"(pass|OVER|info) .*? (\d+\.\d\d) (?:published|handbook|practice|memory) (\d+)$", line)
        for line in lines
    ]
    read = [(row[1], float(row[2]), int(row[3])) for row in rows if row]
    judged = [row for row in made.found.checks if not (row.advice and row.utilisation == 0)]
    assert len(read) == len(judged)
    assert [use for _, use, _ in read] == sorted((use for _, use, _ in read), reverse=True)
    for (word, use, page), row in zip(read, judged, strict=True):
        assert word == ("info" if row.advice else "OVER" if row.utilisation > 1.0 else "pass")
        assert use == pytest.approx(row.utilisation, abs=0.0051)
        assert f"[{row.key}]" in made.text[page - 1]


def test_cautions_stand_once_and_first(made: Made) -> None:
    whole = flat(" ".join(made.text))
    front = flat(made.text[0])
    assert front.count(FOOTER[0]) == 1
    assert whole.count("licensed person") == 1
    inches = made.found.shelter.design.units == "inch"
    assert f"People do not shelter in it. Stop raising above {'18.6 mph' if inches else '30 km/h'}." in front
    first_pages = flat(" ".join(made.text[:2]))
    for words in NOT_CHECKED:
        assert words in first_pages


def test_the_verdict_and_the_ways_out_come_first(made: Made) -> None:
    over = [row for row in made.found.checks if row.utilisation > 1.0 and not row.advice]
    front = flat(" ".join(made.text[:2]))
    if not over:
        assert f"No row of {len(made.found.checks)} is over 1.00." in front
        return
    assert f"{len(over)} of {len(made.found.checks)} rows are over 1.00" in front
    for row in over:
        assert flat(words_of(made.found.shelter.design).said(row.way_out)) in front, row.key


def test_a_calculation_reads_line_by_line(made: Made) -> None:
    """Symbol, numbers put in and the value with its unit stand on the page of the check, sources under them."""
    for key in ("wind-overturning", "anchor-side", "heat-plant", "member-stile"):
        row = next((one for one in made.found.checks if one.key == key), None)
        if row is None:
            continue
        start = next(n for n, text in enumerate(made.text) if f"[{key}]" in text)
        page = flat(" ".join(made.text[start : start + 2]))
        for line in row.working:
            assert f"= {short(line.value)} {line.unit}".strip() in page, (key, line.symbol)
        assert f"utilisation {row.utilisation:.2f}" in page
        assert flat(row.clause) in page


def test_bars_are_as_long_as_their_utilisation_and_tell_apart_in_grey(made: Made) -> None:
    """Grey bars of rows that pass, in the order of the page, against the utilisations printed beside them."""
    number = made.page("Checks, worst first")
    page, text = made.pages[number - 1], made.text[number - 1]
    shapes = [*page.rects, *page.curves]
    grey = [s for s in shapes if s["fill"] and _level(s) == pytest.approx(0.62, abs=0.01)]
    black = [s for s in shapes if s["fill"] and _level(s) == 0.0 and 1.5 * MM < s["height"] < 3.0 * MM]
    uses = [float(u) for u in re.findall(r"^pass .*? (\d\.\d\d) (?:published|handbook|practice|memory)", text, re.M)]
    uses = [use for use in uses if use > 0]
    assert len(grey) == len(uses) > 10
    widths = [s["width"] for s in sorted(grey, key=lambda s: s["top"])]
    full = widths[0] / uses[0]
    for width, use in zip(widths, uses, strict=True):
        assert width / full == pytest.approx(use, abs=0.012)
    over = len(re.findall(r"^OVER ", text, re.M))
    assert sum(1 for s in black if s["width"] > full) >= over


def _level(shape: dict) -> float | None:
    colour = shape["non_stroking_color"]
    if colour is None:
        return None
    return sum(colour) / len(colour)


def test_the_anchor_plan_is_true_to_scale(made: Made) -> None:
    """Distances between posts and stakes on paper, times the scale, against the model."""
    anchors = made.found.anchors or made.shelter.design.anchors
    number = made.page("What holds it down")
    text = made.text[number - 1]
    divisor = float(re.search(r"Scale 1 : ([\d.]+)", text)[1])
    page = made.pages[number - 1]
    marks = {word["text"] for word in page.extract_words()}
    found_dots = [
        ((s["x0"] + s["x1"]) / 2 / MM, (float(page.height) - (s["top"] + s["bottom"]) / 2) / MM)
        for s in [*page.curves, *page.rects]
        if abs(s["width"] / MM - s["height"] / MM) < 0.05 and 2.4 < s["width"] / MM < 3.0
    ]
    # a filled square is read twice, as a field and as an outline
    dots = list({(round(x, 2), round(y, 2)): (x, y) for x, y in found_dots}.values())
    assert len(dots) == len(anchors) > 3
    assert all(anchor.mark in marks for anchor in anchors)
    drawn = sorted(dots)
    model = sorted((a.x_mm, a.y_mm) for a in anchors)
    shift = (drawn[0][0] - model[0][0] / divisor, drawn[0][1] - model[0][1] / divisor)
    for x, y in model:
        place = (x / divisor + shift[0], y / divisor + shift[1])
        assert min(math.dist(place, dot) for dot in dots) < 0.1, (x, y)
    flat_text = flat(text)
    assert ("The posts of the brief hold" in flat_text) == (not made.found.anchors)
    if made.found.anchors:
        assert flat(made.found.anchor_words) in flat_text


def test_dates_and_pictures(made: Made) -> None:
    events = events_of(made.shelter)
    pages = [text for text in made.text if text.startswith("Dates of the season")]
    assert len(pages) == bool(events)
    for event in events:
        assert event.date_text in pages[0]
        assert flat(event.title)[:20] in flat(pages[0])
    images = sum(len(page.images) for page in PdfReader(made.path).pages)
    if "fern" in made.shelter.design.name:
        assert images == 4
        assert "ictures of heat" not in made.text[0]
    else:
        assert images == 0
        assert "Pictures of heat, winter, sun and cost come with: enclosure make --plots" in flat(made.text[0])


def test_same_result_same_bytes(made: Made, tmp_path: Path) -> None:
    again = tmp_path / "again.pdf"
    write_report_of(
        made.found,
        again,
        events=events_of(made.shelter),
        calendar_words=calendar_words(2027),
        plots="fern" in made.shelter.design.name,
    )
    assert again.read_bytes() == made.path.read_bytes()


def test_without_the_plotting_library_one_line_says_so(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plots_module, "can_plot", lambda: False)
    result = found("olive-glass")
    said = write_report_of(result, tmp_path / "r.pdf", events=())
    assert "matplotlib" in said
    assert said in flat(PdfReader(tmp_path / "r.pdf").pages[0].extract_text())


def test_a_place_without_monthly_means_still_has_its_report(tmp_path: Path) -> None:
    brief, site, stock = shipped("tree-fern")
    bare = rebuild(brief, site.model_copy(update={"monthly_mean_degc": None}), stock)
    assert events_of(bare) == ()
    assert why_no_dates(bare) == "the site gives no monthly means"
    path = tmp_path / "r.pdf"
    write_report_of(inspected(bare), path, events=(), plots=False)
    titles = [page.extract_text().splitlines() for page in PdfReader(path).pages]
    assert not any("Dates of the season" in lines for lines in titles)
    with pdfplumber.open(path) as document:
        assert all(overlapping(page) == [] for page in document.pages[:3])


@pytest.mark.published(source="RFC 5545, RFC 7986, read by the icalendar library", where="VCALENDAR", printed="values")
@pytest.mark.parametrize("year", [None, 2031])
def test_the_calendar_file(year: int | None, tmp_path: Path) -> None:
    shelter = found("tree-fern").shelter
    events = events_of(shelter)
    write_calendar(shelter, events, tmp_path / "calendar.ics", year)
    read = icalendar.Calendar.from_ical((tmp_path / "calendar.ics").read_bytes())
    parts = list(read.walk("VEVENT"))
    assert len(parts) == len(events) > 3
    first = 2025 if year is None else year
    assert parts[0].decoded("dtstart").year == first
    assert str(first) in str(read["description"])
    for part in parts:
        assert part["rrule"]["FREQ"] == ["YEARLY"]
        assert part["rrule"].get("COUNT") == (None if year is None else [shelter.brief.winters])
    assert str(first) in calendar_words(year)
