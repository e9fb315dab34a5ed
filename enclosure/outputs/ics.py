"""How do the dates of the season get into a calendar program?

Plain iCalendar text (RFC 5545): whole-day events that return every year, each
with its reason and a reminder three days before. No clock is read: the first
year is given by the caller, and equal input gives equal bytes.
"""

from __future__ import annotations

from datetime import date, timedelta

from enclosure.checks.season_calendar import Event
from enclosure.errors import OutputError
from enclosure.language import language

LINE_OCTETS = 75
FIRST_YEAR = 2025
"""First year of the dates when nobody stated one; no clock is read, so that the file is always the same."""


def escaped(text: str) -> str:
    """Return text with the characters escaped that RFC 5545 section 3.3.11 reserves."""
    return text.replace("\\", "\\\\").replace(";", "\\;").replace(",", "\\,").replace("\n", "\\n")


def folded(line: str) -> str:
    """Return a content line folded to 75 octets, never inside a character (RFC 5545 section 3.1)."""
    pieces, rest, room = [], line, LINE_OCTETS
    while len(rest.encode()) > room:
        cut = room
        while len(rest[:cut].encode()) > room:
            cut -= 1
        pieces.append(rest[:cut])
        rest, room = rest[cut:], LINE_OCTETS - 1
    pieces.append(rest)
    return "\r\n ".join(pieces)


def event_dates(events: tuple[Event, ...], first_year: int) -> tuple[date, ...]:
    """Return the date of each event in the season that begins in a year."""
    if not events:
        return ()
    begin = (events[0].month, events[0].day)
    return tuple(
        date(first_year + (1 if (event.month, event.day) < begin else 0), event.month, event.day)
        for event in events
    )


def calendar_text(
    events: tuple[Event, ...], name: str, first_year: int, winters: int | None, note: str = ""
) -> str:
    """Return the text of an .ics file.

    Args:
        events: Dates of the season in order.
        name: Name of the shelter.
        first_year: Year in which the first season begins, 1970 to 2200.
        winters: How many seasons to repeat, 1 to 40; None for every year without end.
        note: What the calendar says of itself (RFC 7986), "" for nothing.

    Raises:
        OutputError: Year or winters lie outside their range.
    """
    if not 1970 <= first_year <= 2200 or not (winters is None or 1 <= winters <= 40):
        raise OutputError(
            f"a calendar from {first_year} over {'all' if winters is None else winters} winters cannot be written",
            "give a first year from 1970 to 2200 and 1 to 40 winters",
        )
    program = f"PRODID:-//enclosure//season//{language().upper()}"
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", program, "CALSCALE:GREGORIAN"]
    if note:
        lines += [f"NAME:{escaped(name)}", f"DESCRIPTION:{escaped(note)}"]
    repeat = "RRULE:FREQ=YEARLY" + ("" if winters is None else f";COUNT={winters}")
    slug = "".join(letter if letter.isalnum() else "-" for letter in name.casefold())
    for event, day in zip(events, event_dates(events, first_year), strict=True):
        lines += [
            "BEGIN:VEVENT",
            f"UID:{event.key}-{first_year}@{slug.encode('ascii', 'ignore').decode() or 'shelter'}.enclosure",
            f"DTSTAMP:{first_year}0101T000000Z",
            f"DTSTART;VALUE=DATE:{day:%Y%m%d}",
            f"DTEND;VALUE=DATE:{day + timedelta(days=1):%Y%m%d}",
            repeat,
            f"SUMMARY:{escaped(f'{name}: {event.title}')}",
            f"DESCRIPTION:{escaped(event.reason)}",
            "TRANSP:TRANSPARENT",
            "BEGIN:VALARM",
            "ACTION:DISPLAY",
            f"DESCRIPTION:{escaped(event.title)}",
            "TRIGGER:-P3D",
            "END:VALARM",
            "END:VEVENT",
        ]
    lines.append("END:VCALENDAR")
    return "\r\n".join(folded(line) for line in lines) + "\r\n"
