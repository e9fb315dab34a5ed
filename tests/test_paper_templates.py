"""Is every page of every shipped brief clean: nothing over anything, nothing off the page, nothing cut short?"""

from __future__ import annotations

from pathlib import Path

import pdfplumber
import pytest

from enclosure.pipeline.make import make
from enclosure.templates_home import find_template, template_names
from tests.paper_pages import outside, overlapping, words_of

BOOKS = ("packet", "labels", "raising", "report")


@pytest.fixture(scope="module", params=template_names("briefs"))
def folder(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("papers") / request.param
    make(find_template("briefs", request.param), out, solids=False)
    return out


@pytest.mark.parametrize("name", BOOKS)
def test_every_page_is_clean(folder: Path, name: str) -> None:
    with pdfplumber.open(folder / f"{name}.pdf") as document:
        assert document.pages
        for number, page in enumerate(document.pages, start=1):
            assert len(page.chars) > 20, f"page {number} is empty"
            assert overlapping(page) == [], f"page {number}"
            assert outside(page) == [], f"page {number}"
            assert [word["text"] for word in words_of(page) if "…" in word["text"]] == [], f"page {number}"
