"""What has been reckoned for each desk, and what is being reckoned?

Answers are kept by the text that they were reckoned from, so undo and redo are quick,
and an answer can never be shown with another brief.
"""

from __future__ import annotations

import threading
import tomllib
from collections import OrderedDict
from pathlib import Path
from typing import Any

from enclosure.errors import DesignError
from enclosure.outputs.page import scene_json
from enclosure.outputs.page_scene import scene_of
from enclosure.units import UnitSystem, format_length
from enclosure.workbench.desk import Desk
from enclosure.workbench.fields import FIELDS
from enclosure.workbench.helpers import Helper, Job, Workshop
from enclosure.workbench.reckon import First, ReadBack, Second, first_answer, second_answer

MOST_KEPT = 24


class DeskBook:
    """All answers of one desk."""

    def __init__(self, desk: Desk, books: Books) -> None:
        self.desk = desk
        self.books = books
        self._good: First | None = None
        self.last_cut: dict[str, Any] | None = None
        self.papers: Job | None = None
        self._firsts: OrderedDict[str, First] = OrderedDict()
        self._seconds: OrderedDict[str, Second] = OrderedDict()
        self._deeps: OrderedDict[str, Job] = OrderedDict()
        self._studies: dict[str, Job] = {}
        self._scene: tuple[str, str] = ("", "null")
        self._reading = threading.Lock()
        self._backs = {view: ReadBack(view) for view in ("inch", "metric")}

    def first(self) -> First:
        """Return the first answer to the text on the desk; the last good one is kept beside it."""
        with self.desk.lock:
            text = self.desk.text
            found = self._firsts.get(text)
            if found is None:
                found = self._firsts[text] = first_answer(text, self.desk.shelves)
                _trim(self._firsts)
            if found.shelter is not None:
                self._good = found
            return found

    @property
    def good(self) -> First:
        """The first answer to the last text that made a shelter."""
        if self._good is None:
            found = self.first()
            return self._good or found
        return self._good

    def pinned_first(self) -> First:
        """Return the first answer to the variant set aside."""
        text = self.desk.pinned
        found = self._firsts.get(text)
        return found if found is not None else first_answer(text, self.desk.shelves)

    def second(self, text: str | None = None) -> Second:
        """Return the checks of the last good text, or of the variant set aside."""
        first = self.good if text is None else self.pinned_first()
        found = self._seconds.get(first.text)
        if found is not None:
            return found
        with self._reading:
            found = self._seconds.get(first.text)
            if found is None:
                if first.shelter is None:
                    return Second()
                found = self._seconds[first.text] = second_answer(first.shelter)
                _trim(self._seconds)
        return found

    def known_second(self) -> Second | None:
        """Return the checks of the last good text if they are there."""
        return self._seconds.get(self.good.text)

    def scene_text(self) -> str:
        """Return the scene of the last good shelter as JSON."""
        if self.good.shelter is None:
            return "null"
        if self._scene[0] != self.good.text:
            self._scene = (self.good.text, scene_json(scene_of(self.good.shelter.design)))
        return self._scene[1]

    def read_back(self, view: UnitSystem, values: dict[str, str]) -> dict[str, str]:
        """Return the quantities as they read in the units shown."""
        back = self._backs[view]
        said = {key: back.of(field, values.get(key, "")) for key, field in FIELDS.items()}
        for axis in ("x", "y"):
            plant = self.good.shelter.brief.plant if self.good.shelter else None
            opened = getattr(plant, f"open_spread_{axis}_mm", None)
            if plant is not None and opened and not values.get(f"plant.spread_{axis}"):
                tied = format_length(getattr(plant, f"spread_{axis}_mm"), view)
                said[f"plant.spread_{axis}"] = f"= {tied}, tied down from the untied size below"
        return {key: words for key, words in said.items() if words}

    # --- long work -----------------------------------------------------------------------

    def deep(self) -> Job | None:
        """Return the job of ways out and cutting plans for the last good text."""
        return self._deeps.get(self.good.text)

    def begin_deep(self) -> Job | None:
        """Begin ways out and cutting plans unless they are there or under way."""
        job = self.deep()
        if self.good.shelter is None or (job is not None and job.state in ("waiting", "working", "done")):
            self._remember_cut(job)
            return job
        if job is not None and job.state == "failed":
            self._remember_cut(job)
            return job
        job = self._deeps[self.good.text] = self.books.job("deep", self.good.text, self.desk)
        for text in list(self._deeps)[:-MOST_KEPT]:
            del self._deeps[text]
        self.books.submit(self.books.cutter, job)
        return job

    def _remember_cut(self, job: Job | None) -> None:
        if job is not None and "cut" in job.parts:
            self.last_cut = job.parts["cut"]
        if job is not None and job.over:
            self.books.workshop.drop(job)

    def begin_papers(self) -> None:
        """Begin to make the papers of the text on the desk."""
        if self.first().troubles or (self.papers is not None and not self.papers.over):
            return
        self.books.workshop.drop(self.papers)
        self.papers = self.books.job("papers", self.desk.text, self.desk)
        self.books.submit(self.books.printer, self.papers)

    def cancel_papers(self) -> None:
        """Stop making the papers."""
        if self.papers is not None and not self.papers.over:
            self.books.printer.cancel(self.papers)
            self.books.workshop.drop(self.papers)

    def paper_files(self) -> dict[str, Path]:
        """Return the finished papers by the names that the maker gave them."""
        job = self.papers
        if job is None or job.state != "done":
            return {}
        return {str(name): job.folder / "papers" / str(name) for name in job.value["files"]}

    def begin_study(self, kind: str) -> Job | None:
        """Begin the comparison of all skins, or the search for the cheapest size, unless it is there or under way."""
        if self.good.shelter is None:
            return None
        job = self._studies.get(kind)
        if job is None or job.text != self.good.text or job.state == "cancelled":
            self.books.workshop.drop(job)
            job = self._studies[kind] = self.books.job(kind, self.good.text, self.desk)
            self.books.submit(self.books.printer, job)
        return job

    def cancel_study(self, kind: str) -> None:
        """Stop a comparison or a search."""
        job = self._studies.get(kind)
        if job is not None and not job.over:
            self.books.printer.cancel(job)


class Books:
    """The answers of all desks, and the two processes that do long work for them."""

    def __init__(self, helpers: bool) -> None:
        self.helpers = helpers
        self.workshop = Workshop()
        self.cutter, self.printer = Helper(), Helper()
        self._books: dict[str, DeskBook] = {}
        self._lock = threading.Lock()

    def open(self) -> None:
        """Start the process for cutting plans; the one for papers starts when it is wanted."""
        if self.helpers:
            self.cutter.start()

    def close(self) -> None:
        """End both processes and remove their folders."""
        self.cutter.close()
        self.printer.close()
        self.workshop.close()

    def of(self, desk: Desk) -> DeskBook:
        """Return the answers of a desk."""
        with self._lock:
            if desk.key not in self._books:
                self._books[desk.key] = DeskBook(desk, self)
            return self._books[desk.key]

    def job(self, kind: str, text: str, desk: Desk) -> Job:
        """Return a new job for a text."""
        return self.workshop.job(kind, text, desk.key, desk.shelves, _names)

    def submit(self, helper: Helper, job: Job) -> None:
        """Give a job to a process."""
        if self.helpers:
            helper.submit(job)
        else:
            job.state, job.words = "failed", "no second process in this run"


def _names(text: str) -> dict[str, str]:
    content = tomllib.loads(text)
    said = {what: content.get(what) for what in ("site", "stock")}
    if not all(isinstance(name, str) for name in said.values()):
        raise DesignError("the brief names no site or no stock list", "choose both")
    return {what: str(name).strip() for what, name in said.items()}


def _trim(kept: OrderedDict[str, Any]) -> None:
    while len(kept) > MOST_KEPT:
        kept.popitem(last=False)
