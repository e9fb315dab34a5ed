"""What must be read before the first step? Safety, the tools of each phase, the dates of the season.

All of it is taken from the steps themselves, so that nothing stands here that no
step needs. Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence

from enclosure.checks.season_calendar import Event
from enclosure.language import later, tr, tr_n
from enclosure.outputs.paper.flow import Piece, boxed, deal, labelled, page_of, prose, title
from enclosure.outputs.paper.frame import Book
from enclosure.outputs.paper.layer import BODY
from enclosure.outputs.paper.words import continued, runs_of, words_of
from enclosure.shape.model import Step

HEAD_MM = 14.0
ALWAYS = (
    later("Never raise, take down or repair in wind; stop when a panel pulls at your hands."),
    later("Lift with straight back and both hands; nobody stands under a part that is being lifted."),
    later("Nobody shelters inside, and no flame, no fuel and no charging of batteries inside."),
    later("Local codes govern. These papers are arithmetic and drawings, not the work of a licensed engineer."),
)


def add_front(book: Book, phases: Sequence[tuple[str, str]], steps: Sequence[Step], events: Sequence[Event]) -> None:
    """Add the page on safety and tools, and the page of dates where there are any."""
    room, high = book.area()
    words = words_of(book.design)
    pieces = [boxed(tr("Safety"), _safety(), room), *_cautions(steps, room), *_tools(phases, steps, room)]
    for place, page in enumerate(deal(pieces, high - HEAD_MM)):
        name = continued(tr("Before you start")) if place else tr("Before you start")
        book.add(name, page_of(name, "", page))
    if events:
        said = tr("From the usual course of the year at this place; this year's forecast always wins.")
        dates = [
            labelled(event.date_text, words.said(_because(event)), room, BODY, label=30.0, after=1.2)
            for event in events
        ]
        book.add(tr("Dates of the season"), page_of(tr("Dates of the season"), said, dates))


def _because(event: Event) -> str:
    return f"{event.title}. {event.reason[:1].upper()}{event.reason[1:]}."


def _safety() -> list[str]:
    return [tr(line) for line in ALWAYS]


def _cautions(steps: Sequence[Step], room: float) -> list[Piece]:
    """Return each caution once, with the numbers of its steps."""
    found: dict[str, list[int]] = {}
    for number, step in enumerate(steps, start=1):
        for caution in step.cautions:
            found.setdefault(caution, []).append(number)
    if not found:
        return []
    pieces = [title(tr("What can hurt, and in which step"))]
    for caution, numbers in found.items():
        said = f"{caution[:1].upper()}{caution[1:]}."
        pieces.append(labelled(_steps(numbers), said, room, BODY, label=30.0, after=1.0))
    return pieces


def _steps(numbers: list[int]) -> str:
    return tr_n("Step {numbers}", "Steps {numbers}", len(numbers)).format(numbers=runs_of(numbers))


def _tools(phases: Sequence[tuple[str, str]], steps: Sequence[Step], room: float) -> list[Piece]:
    pieces = [title(tr("Tools and things to have ready"))]
    for phase, name in phases:
        tools = dict.fromkeys(tool for step in steps if step.phase == phase for tool in step.tools)
        if tools:
            pieces.append(prose(tr(name), room, BODY, bold=True, after=0.4))
            pieces.append(prose(", ".join(tools) + ".", room, BODY, after=1.6))
    return pieces
