"""Do labels lie in their cells, say what they must, and survive printer and scanner?"""

from __future__ import annotations

from pathlib import Path

import pdfplumber
import pytest
import zxingcpp
from pypdf import PdfReader

from enclosure.errors import BriefError, OutputError
from enclosure.outputs.paper.label_cells import LabelFacts, qr_text, reversible
from enclosure.outputs.paper.label_sheet import LabelSheet, plain_sheet, read_label_sheet
from enclosure.outputs.paper.labels import write_labels
from enclosure.templates_home import templates_root
from tests.paper_pages import MM, outside, overlapping, picture_of, text_of, words_of
from tests.sample_design import sample_design

DESIGN = sample_design()
SHEETS = sorted((templates_root() / "labels").glob("*.toml"))
NUMBERS = [panel.mark for panel in DESIGN.panels()]
OTHERS = tuple(part.mark for part in DESIGN.parts if part.kind not in ("panel", "film"))


def in_cells(path: Path, sheet: LabelSheet, pages: list[int]) -> None:
    """Every letter of the pages lies in one cell, `keep_inside_mm` from its edge."""
    with pdfplumber.open(path, pages=pages) as document:
        for page in document.pages:
            assert overlapping(page) == []
            high = float(page.height) / MM
            cells = [sheet.cell(index) for index in range(sheet.cells)]
            for char in page.chars:
                box = (char["x0"] / MM, high - char["bottom"] / MM, char["x1"] / MM, high - char["top"] / MM)
                middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
                cell = next(
                    (c for c in cells if c[0] < middle[0] < c[2] and c[1] < middle[1] < c[3]), None
                )
                if cell is None:
                    assert sheet.plain, f"{char['text']} lies outside every cell"
                    assert middle[1] < 18, "only the foot of plain paper may lie outside the cells"
                    continue
                assert box[0] >= cell[0] + sheet.keep_inside_mm - 0.01
                assert box[2] <= cell[2] - sheet.keep_inside_mm + 0.01
                # letters reach 0.24 of their size below the line; the box of a face is a little taller
                assert box[1] >= cell[1] + sheet.keep_inside_mm - 0.5
                assert box[3] <= cell[3] - sheet.keep_inside_mm + 0.5


def test_there_are_label_sheets_to_test() -> None:
    assert len(SHEETS) >= 6


@pytest.mark.parametrize("file", SHEETS, ids=[path.stem for path in SHEETS])
def test_labels_lie_inside_the_cells_of_a_sheet(file: Path, tmp_path: Path) -> None:
    sheet = read_label_sheet(file)
    path = tmp_path / "labels.pdf"
    if sheet.cell_height_mm < 33 or sheet.cell_width_mm < 55:
        with pytest.raises(OutputError, match="too small for the number of panel"):
            write_labels(DESIGN, path, sheet=sheet)
        write_labels(DESIGN, path, sheet=sheet, only=OTHERS)
    else:
        write_labels(DESIGN, path, sheet=sheet, only=(*NUMBERS[:4], *OTHERS[:16]))
    last = len(PdfReader(path).pages)
    with pdfplumber.open(path, pages=[1, last]) as document:
        for page in document.pages:
            assert overlapping(page) == []
    in_cells(path, sheet, list(range(2, min(last, 4))))


def test_plain_paper_labels_lie_inside_their_cut_lines(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels(DESIGN, path, only=tuple(NUMBERS))
    in_cells(path, plain_sheet("A4", 2, 3), [1, 2])


@pytest.mark.published(source="facts: ANSI Z535.2 legibility", where="section 11", printed="number >= 20 mm")
def test_numbers_are_20_mm_high_and_unique(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels(DESIGN, path, only=tuple(NUMBERS))
    found = []
    with pdfplumber.open(path) as document:
        for page in document.pages[:-1]:
            # a capital or figure of DejaVu Sans is 0.729 of the size high (OS/2 table of the face)
            big = [w for w in words_of(page) if w["size"] * 0.729 / MM >= 20]
            found += [w["text"] for w in big]
    assert sorted(found, key=int) == sorted(NUMBERS, key=int)


def test_label_says_what_is_needed(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels(DESIGN, path, only=("3",))
    text = text_of(path)[0]
    assert "OUTSIDE FACE" in text
    assert "UP" in text
    assert DESIGN.part("3").address in text
    assert "flutes upright" in text
    assert "Lemon corner" in text
    assert "644 × 794 mm" in text or "844 × 794 mm" in text


def test_code_reads_back_offline(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels(DESIGN, path, only=tuple(NUMBERS[:6]))
    codes = sorted(code.text for code in zxingcpp.read_barcodes(picture_of(path, 0, 220)))
    facts = LabelFacts(DESIGN)
    assert codes == sorted(qr_text(facts, DESIGN.part(mark)) for mark in NUMBERS[:6])
    for mark in NUMBERS[:6]:
        part = DESIGN.part(mark)
        code = next(code for code in codes if code.startswith(f"PANEL {mark}\n"))
        assert part.address in code
        assert "OUTSIDE FACE" in code
        assert "http" not in code.lower()


@pytest.mark.parametrize("name", ["a4-3x7", "letter-2x3"])
def test_code_reads_back_from_small_cells(name: str, tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    sheet = read_label_sheet(templates_root() / "labels" / f"{name}.toml")
    write_labels(DESIGN, path, sheet=sheet, only=tuple(NUMBERS[:4]))
    codes = zxingcpp.read_barcodes(picture_of(path, 1, 300))
    assert len(codes) == 4


def test_ruler_is_100_mm_long(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    sheet = read_label_sheet(templates_root() / "labels" / "a4-2x4.toml")
    for options in ({}, {"sheet": sheet}):
        write_labels(DESIGN, path, only=("1",), **options)
        with pdfplumber.open(path) as document:
            lines = [abs(line["x1"] - line["x0"]) / MM for line in document.pages[0].lines]
        assert any(length == pytest.approx(100.0, abs=0.005) for length in lines)


def test_start_and_offset_move_the_labels(tmp_path: Path) -> None:
    sheet = read_label_sheet(templates_root() / "labels" / "a4-2x4.toml")
    places = []
    for options in ({}, {"start": 4}, {"offset_mm": (1.5, -2.0)}):
        path = tmp_path / "labels.pdf"
        write_labels(DESIGN, path, sheet=sheet, only=("7",), **options)
        with pdfplumber.open(path) as document:
            big = next(w for w in words_of(document.pages[1]) if w["text"] == "7")
            places.append((big["x0"] / MM, big["top"] / MM))
    (x0, y0), (x1, y1), (x2, y2) = places
    # cell 4 is the right one of the second row: one cell and gap across, one row down
    assert x1 - x0 == pytest.approx(sheet.cell_width_mm + sheet.gap_across_mm, abs=0.01)
    assert y1 - y0 == pytest.approx(sheet.cell_height_mm + sheet.gap_down_mm, abs=0.01)
    assert (x2 - x0, y2 - y0) == (pytest.approx(1.5, abs=0.01), pytest.approx(2.0, abs=0.01))


def test_a_sheet_of_several_pages_uses_every_cell_once(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    sheet = read_label_sheet(templates_root() / "labels" / "a4-2x4.toml")
    write_labels(DESIGN, path, sheet=sheet, start=7, only=tuple(NUMBERS))
    with pdfplumber.open(path) as document:
        counts = [sum(w["size"] * 0.729 / MM >= 20 for w in words_of(p)) for p in document.pages[1:-1]]
    assert counts[0] == 2
    assert sum(counts) == len(NUMBERS)
    assert max(counts) <= sheet.cells


def test_numbers_that_turn_into_others_get_a_bar() -> None:
    # by hand: turned by 180 degrees 6 reads 9, 16 reads 91, 8 and 69 stay what they are, 12 is no number
    assert [reversible(n) for n in ("6", "9", "16", "8", "69", "11", "12", "7", "66")] == [
        True, True, True, False, False, False, False, False, True,
    ]


def test_bad_requests_end_in_one_clear_error(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    with pytest.raises(OutputError, match="no part has the mark 99"):
        write_labels(DESIGN, path, only=("99",))
    sheet = read_label_sheet(templates_root() / "labels" / "a4-2x4.toml")
    with pytest.raises(OutputError, match="no cell 9"):
        write_labels(DESIGN, path, sheet=sheet, start=9)
    assert not path.exists()
    bad = tmp_path / "sheet.toml"
    good = (templates_root() / "labels" / "a4-2x4.toml").read_text()
    for old, new, words in (
        ('"99.1 mm"', '"119.1 mm"', "reach beyond"), ('"99.1 mm"', "99.1", "has no unit"),
        ("columns = 2", "columns = 0", "not from 1 to 50"), ("columns", "colums", "lacks columns"),
        ('paper = "A4"', 'paper = "A44"', "no known paper"),
    ):
        assert old in good
        bad.write_text(good.replace(old, new, 1))
        with pytest.raises(BriefError, match=words):
            read_label_sheet(bad)
    bad.write_bytes(b"\xff\x00binary")
    with pytest.raises(BriefError):
        read_label_sheet(bad)


def test_every_part_has_exactly_one_label(tmp_path: Path) -> None:
    path = tmp_path / "labels.pdf"
    write_labels(DESIGN, path)
    with pdfplumber.open(path) as document:
        found = [w["text"] for p in document.pages[:-1] for w in words_of(p) if w["size"] * 0.729 / MM >= 4.9]
        assert not any(outside(page) for page in document.pages)
    marks = [part.mark for part in DESIGN.parts]
    assert sorted(mark for mark in found if mark in marks) == sorted(marks)
