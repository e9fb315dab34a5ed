"""Do the report and the calendar belong to this design, and do the dates agree with the raising book?

Both may be missing: a shelter whose heat cannot be reckoned has no dates.
"""

from __future__ import annotations

import re
from datetime import date

from enclosure.audit.findings import Findings
from enclosure.audit.pdf_text import pdf_pages
from enclosure.audit.readers import Papers
from enclosure.language import tr

CALENDAR, REPORT = "calendar.ics", "report.pdf"
_MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September", "October",
           "November", "December")  # fmt: skip


def check_report(papers: Papers, findings: Findings) -> None:
    """The report bears the name and the number that the packet bears."""
    path = papers.folder / REPORT
    if not path.is_file():
        findings.notes.append(f"{REPORT} was not made, so it was not read")
        return
    said = _joined(pdf_pages(path.read_bytes()))
    packet = _joined(papers.pdfs.get("packet.pdf", []))
    own = set(re.findall(rf"\n{tr('Number')}\n([0-9A-F]{{6}})(?=\n)", said))
    right = set(re.findall(r"\n([0-9A-F]{6})(?=\n)", packet))
    findings.unless(len(own) == 1 and own <= right, REPORT, "", f"design numbers {sorted(own)}", f"{sorted(right)}")
    name = papers.design["name"]
    findings.unless(f"{name}: " in said, REPORT, "", "the shelter is not named", name)


def _joined(pages: list[list[str]]) -> str:
    return "\n" + "\n".join(line for page in pages for line in page) + "\n"


def check_calendar(papers: Papers, findings: Findings) -> None:
    """Every event names the shelter and stands in the raising book, on the same day and in the same order."""
    path = papers.folder / CALENDAR
    if not path.is_file():
        findings.notes.append(f"{CALENDAR} was not made, so it was not read")
        return
    lines = re.sub(r"\r?\n[ \t]", "", path.read_bytes().decode("utf-8")).splitlines()
    book = [line for page in papers.pdfs.get("raising.pdf", []) for line in page]
    name, day, place = papers.design["name"], date.min, 0
    events = 0
    for line in lines:
        key, _, value = line.partition(":")
        if key == "DTSTART;VALUE=DATE":
            day = date(int(value[:4]), int(value[4:6]), int(value[6:8]))
        if key != "SUMMARY":
            continue
        events += 1
        text = re.sub(r"\\([\\;,])", r"\1", value).replace("\\n", "\n")
        findings.unless(text.startswith(f"{name}: "), CALENDAR, text[:40], "is of another shelter", name)
        title = text.removeprefix(f"{name}: ")
        wanted = tr("{day} {month}").format(day=day.day, month=tr(_MONTHS[day.month - 1]))
        days = [i for i in range(place, len(book) - 1) if book[i] == wanted and _begins(book[i + 1 :], title)]
        found = next(iter(days), -1)
        findings.unless(found >= 0, CALENDAR, title, f"on {wanted}", "the date in the raising book")
        place = max(place, found)
    findings.unless(events > 0, CALENDAR, "", "holds no events", "the dates of the season")


def _begins(lines: list[str], title: str) -> bool:
    return " ".join(lines[:3]).startswith(f"{title}.")
