"""From a verdict to report.pdf and calendar.ics.

checks + least anchors + dates of the season + plots -> outputs.paper.report
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from enclosure.checks.model import Check
from enclosure.language import language, later, spoken, tr
from enclosure.pipeline.check import CheckResult, checks_of, inspected
from enclosure.pipeline.walk import Shelter, design_from

if TYPE_CHECKING:
    from enclosure.checks.season_calendar import Event
    from enclosure.checks.weather import Weather

Progress = Callable[[str, float], None]


def report_of(
    brief_path: Path, path: Path, *, weather: Path | None = None, progress: Progress | None = None
) -> tuple[Check, ...]:
    """Write report.pdf alone in the language of the brief and return the checks in the one spoken here, worst first.

    Args:
        brief_path: The brief.
        path: File to write.
        weather: A file of hours for the winter's heat and its picture.
        progress: Told what is being done and the share done, 0 to 1.

    Raises:
        FaultsError: The brief or the weather file cannot be read.
        DesignError: The shelter cannot be made.
    """
    say = progress or (lambda text, share: None)
    say("reading the brief", 0.05)
    shelter = design_from(brief_path)
    hours = None
    if weather is not None:
        from enclosure.pipeline.weather import hours_for

        hours = hours_for(shelter, weather)
    say("checks", 0.3)
    with spoken(shelter.design.language):
        result = inspected(shelter, weather=hours)
    say("report", 0.6)
    write_report_of(result, path, events=events_of(shelter), weather=hours)
    say("done", 1.0)
    return result.checks if shelter.design.language == language() else checks_of(shelter, weather=hours)


def write_report_of(
    result: CheckResult,
    path: Path,
    *,
    events: tuple[Event, ...],
    calendar_words: str = "",
    plots: bool = True,
    weather: Weather | None = None,
) -> str:
    """Write report.pdf and return why the pictures were left out, "" when they are in.

    Args:
        result: The verdict.
        path: File to write.
        events: Dates of the season.
        calendar_words: What the page of dates says of the calendar file.
        plots: False leaves the pictures out.
        weather: Hours of a file for the picture of the winter.
    """
    from enclosure.outputs.paper.report import Extras, write_report

    with spoken(result.shelter.design.language):
        pictures, missing = _pictures(result.shelter, plots, weather)
        left_out = tr(missing)
    extras = Extras(
        anchors=result.anchors,
        anchor_words=result.anchor_words,
        anchors_hold=result.anchors_hold,
        events=events,
        calendar_words=calendar_words,
        plots=pictures,
        plots_missing=left_out,
    )
    write_report(result.shelter.design, result.checks, path, extras)
    return missing


def _pictures(shelter: Shelter, wanted: bool, weather: Weather | None) -> tuple[dict[str, bytes] | None, str]:
    from enclosure.outputs.plots import can_plot

    if not wanted:
        return None, later("Pictures of heat, winter, sun and cost come with: enclosure make --plots.")
    if not can_plot():
        return None, later(
            "The pictures of heat, winter, sun and cost are left out: they need the matplotlib library "
            "(pip install matplotlib). All numbers are here without them."
        )
    from enclosure.choose.compare import compare
    from enclosure.outputs.plots import living_plots

    asked = (shelter.brief, shelter.site, shelter.stock)
    return living_plots(shelter.design, *asked, compare(*asked), weather=weather), ""


def events_of(shelter: Shelter) -> tuple[Event, ...]:
    """Return the dates of the season, empty when the site gives no monthly means or none are needed."""
    from enclosure.checks.live import calendar_of

    with spoken(shelter.design.language):
        return calendar_of(shelter.design, shelter.brief, shelter.site, shelter.stock)


def why_no_dates(shelter: Shelter) -> str:
    """Return why a shelter has no dates of the season."""
    if shelter.site.monthly_mean_degc is None:
        return "the site gives no monthly means"
    return "no night below the plant's limit is likely here"


def calendar_words(year: int | None) -> str:
    """Return what the papers say of the calendar file."""
    from enclosure.outputs.ics import FIRST_YEAR

    if year is not None:
        return tr("calendar.ics holds the same dates, beginning with the season of {year}.").format(year=year)
    return tr("calendar.ics holds the same dates, returning every year from {year} on.").format(year=FIRST_YEAR)


def write_calendar(shelter: Shelter, events: tuple[Event, ...], path: Path, year: int | None) -> None:
    """Write calendar.ics: the winters served from a stated year, or every year when none is stated.

    Raises:
        OutputError: The year lies outside 1970 to 2200.
    """
    from enclosure.outputs.ics import FIRST_YEAR, calendar_text

    first, winters = (FIRST_YEAR, None) if year is None else (year, shelter.brief.winters)
    with spoken(shelter.design.language):
        if year is None:
            note = tr("Dates of a usual year. They return every year from {year} on, because no year was stated.")
        else:
            note = tr("Dates of a usual year, for the seasons that begin in {year} and later.")
        text = calendar_text(events, shelter.design.name, first, winters, note.format(year=first))
    path.write_text(text, encoding="utf-8", newline="")
