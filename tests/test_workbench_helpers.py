"""Does long work run beside the page, one job at a time, and can it be stopped? Real second processes."""

from __future__ import annotations

import re
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from enclosure.templates_home import find_template
from enclosure.workbench.helpers import Helper, Job, Workshop
from enclosure.workbench.shelves import Shelves
from enclosure.workbench.state import _names

PATIENCE_S = 120.0


def wait(until: Callable[[], bool]) -> None:
    end = time.monotonic() + PATIENCE_S
    while not until():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)


@pytest.fixture(scope="module")
def workshop() -> Iterator[Workshop]:
    one = Workshop()
    yield one
    root = one._root
    one.close()
    assert root is not None
    assert not root.exists()


@pytest.fixture(scope="module")
def helper() -> Iterator[Helper]:
    one = Helper()
    one.start()
    yield one
    one.close()


def job(workshop: Workshop, kind: str, owner: str, text: str | None = None) -> Job:
    given = text or find_template("briefs", "potted-lemon").read_text(encoding="utf-8")
    return workshop.job(kind, given, owner, Shelves(), _names)


def test_the_jobs_of_two_owners_take_turns_and_a_newer_one_replaces_its_own(workshop: Workshop, helper: Helper) -> None:
    first, other = job(workshop, "skins", "a"), job(workshop, "skins", "b")
    helper.submit(first)
    helper.submit(other)
    newer = job(workshop, "skins", "b")
    helper.submit(newer)
    assert other.state == "cancelled"
    wait(lambda: newer.over)
    assert (first.state, newer.state) == ("done", "done")
    assert "cheapest" in newer.value["text"]
    assert first.value == newer.value


def test_a_stopped_job_leaves_nothing_and_the_next_one_runs(workshop: Workshop, helper: Helper) -> None:
    slow = job(workshop, "deep", "a")
    helper.submit(slow)
    wait(lambda: slow.state == "working")
    helper.cancel(slow)
    assert slow.state == "cancelled"
    after = job(workshop, "skins", "c")
    helper.submit(after)
    wait(lambda: after.over)
    assert after.state == "done"
    assert slow.state == "cancelled"


def test_a_job_that_cannot_be_done_says_why(workshop: Workshop, helper: Helper) -> None:
    text = find_template("briefs", "potted-lemon").read_text(encoding="utf-8").replace('height = "', 'height = "900 ')
    bad = job(workshop, "deep", "a", text)
    helper.submit(bad)
    wait(lambda: bad.over)
    assert bad.state == "failed"
    assert bad.words


def test_a_folder_holds_the_brief_and_what_it_names(workshop: Workshop) -> None:
    one = job(workshop, "papers", "a")
    names = {path.name for path in one.folder.iterdir()}
    assert "brief.toml" in names
    assert len(names) == 3
    workshop.drop(one)
    assert not one.folder.exists()


def test_ending_the_program_ends_its_processes(workshop: Workshop) -> None:
    one = Helper()
    one.start()
    slow = job(workshop, "deep", "z")
    one.submit(slow)
    process = one._process
    assert process is not None
    one.close()
    assert process.poll() is not None
    assert slow.state == "cancelled"
    later = job(workshop, "skins", "z")
    one.submit(later)
    assert later.state == "cancelled"


def test_a_helper_ends_when_its_server_is_gone() -> None:
    one = Helper()
    one.start()
    process = one._process
    assert process is not None
    assert process.stdin is not None
    process.stdin.close()
    assert process.wait(PATIENCE_S) == 0


def test_the_helper_is_not_the_server() -> None:
    """The second process must not open the page's modules: it only needs the pipeline."""
    source = (Path(__file__).parent.parent / "enclosure/workbench/helper.py").read_text(encoding="utf-8")
    assert not re.search(r"starlette|jinja2|enclosure\.workbench\.app", source)
