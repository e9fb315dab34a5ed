"""Are all papers clean: inside the page, nothing over anything, fonts embedded, same bytes?"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pdfplumber
import pytest
from pypdf import PdfReader

from enclosure.outputs.paper.labels import write_labels
from enclosure.outputs.paper.packet import write_packet
from enclosure.outputs.paper.raising import write_raising
from enclosure.shape.model import Design
from tests.paper_pages import MM, font_faults, outside, overlapping
from tests.sample_design import sample_design, sample_plans

CASES = [("metric", "A4"), ("inch", "Letter")]


@lru_cache
def design_for(units: str, paper: str) -> Design:
    return sample_design(units, paper)


@pytest.fixture(scope="module", params=CASES, ids=["metric-A4", "inch-Letter"])
def papers(request, tmp_path_factory) -> dict[str, Path]:
    units, paper = request.param
    design = design_for(units, paper)
    folder = tmp_path_factory.mktemp(f"papers-{units}")
    found = {name: folder / f"{name}.pdf" for name in ("packet", "labels", "raising")}
    write_packet(design, sample_plans(design), found["packet"])
    write_labels(design, found["labels"])
    write_raising(design, found["raising"])
    return found


@pytest.mark.parametrize("name", ["packet", "labels", "raising"])
def test_text_stays_on_the_page_and_apart(papers: dict[str, Path], name: str) -> None:
    with pdfplumber.open(papers[name]) as document:
        assert len(document.pages) >= 3
        for number, page in enumerate(document.pages, start=1):
            assert len(page.chars) > 20, f"page {number} is empty"
            assert outside(page) == [], f"page {number}"
            assert overlapping(page) == [], f"page {number}"


@pytest.mark.parametrize("name", ["packet", "labels", "raising"])
def test_every_font_is_embedded(papers: dict[str, Path], name: str) -> None:
    assert font_faults(papers[name]) == []


@pytest.mark.published(source="ISO216, ANSI-Y14.1", where="A4, Letter", printed="210 x 297 mm, 8.5 x 11 in")
@pytest.mark.parametrize("name", ["packet", "labels", "raising"])
def test_page_size(papers: dict[str, Path], name: str) -> None:
    sizes = {(210.0, 297.0), (round(8.5 * 25.4, 1), round(11 * 25.4, 1))}
    with pdfplumber.open(papers[name]) as document:
        for page in document.pages:
            assert (round(float(page.width) / MM, 1), round(float(page.height) / MM, 1)) in sizes


@pytest.mark.published(source="ISO5457", where="margins, from memory", printed="20 mm left, 10 mm others")
def test_frame_lies_on_the_margins(papers: dict[str, Path]) -> None:
    with pdfplumber.open(papers["packet"]) as document:
        page = document.pages[1]
        wide, high = float(page.width) / MM, float(page.height) / MM
        framed = [
            tuple(round(c[side] / MM, 1) for side in ("x0", "top", "x1", "bottom"))
            for c in [*page.curves, *page.rects]
        ]
        assert (20.0, 10.0, round(wide - 10, 1), round(high - 10, 1)) in framed


def test_pages_are_numbered_bookmarked_and_described(papers: dict[str, Path]) -> None:
    for name, path in papers.items():
        reader = PdfReader(path)
        assert reader.metadata is not None
        assert "Lemon corner" in str(reader.metadata.title)
        assert len(reader.outline) >= 3, name
        if name != "labels":
            for number, page in enumerate(reader.pages, start=1):
                assert f"{number} of {len(reader.pages)}" in page.extract_text()


def test_same_design_gives_the_same_bytes(papers: dict[str, Path], tmp_path: Path) -> None:
    with pdfplumber.open(papers["packet"]) as document:
        metric = float(document.pages[0].width) / MM < 212
    design = design_for(*CASES[0 if metric else 1])
    for name, write in (
        ("packet", lambda path: write_packet(design, sample_plans(design), path)),
        ("labels", lambda path: write_labels(design, path)),
        ("raising", lambda path: write_raising(design, path)),
    ):
        again = tmp_path / f"{name}.pdf"
        write(again)
        assert again.read_bytes() == papers[name].read_bytes(), name


def test_the_yardsticks_themselves_find_faults(tmp_path: Path) -> None:
    """A page with text over text, text off the page and a face that is not embedded must be caught."""
    from reportlab.pdfgen.canvas import Canvas

    path = tmp_path / "bad.pdf"
    canvas = Canvas(str(path), pagesize=(200, 200))
    canvas.setFont("Helvetica", 12)
    canvas.drawString(50, 100, "one")
    canvas.drawString(58, 103, "two")
    canvas.drawString(190, 20, "beyond")
    canvas.save()
    assert "Helvetica" in font_faults(path)[0]
    with pdfplumber.open(path) as document:
        assert overlapping(document.pages[0])
        assert outside(document.pages[0])
