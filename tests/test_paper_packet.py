"""Does the packet say what is in the plans and the model, and does it change with them?"""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from pathlib import Path

import pytest

from enclosure.money import money
from enclosure.nesting.model import UNITS_PER_MM, Cut, Pair, Rest
from enclosure.nesting.model import Part as Piece
from enclosure.outputs.drawing.details import details
from enclosure.outputs.drawing.neighbours import neighbours, panels_of
from enclosure.outputs.drawing.seat import seats, tightest
from enclosure.outputs.drawing.section import level_section, slices, upright_section
from enclosure.outputs.drawing.sheet_pages import gives, sheet_pages, stick_rows
from enclosure.outputs.paper.packet import write_packet
from enclosure.outputs.paper.words import angle, ends, natural, runs, words_of
from enclosure.shape.model import Anchor, Design, StickCut
from tests.paper_pages import text_of
from tests.sample_design import FIT, sample_design, sample_plans

DESIGN = sample_design()
PLANS = sample_plans(DESIGN)


@pytest.fixture(scope="module")
def pages(tmp_path_factory) -> list[str]:
    path = tmp_path_factory.mktemp("packet") / "packet.pdf"
    write_packet(DESIGN, PLANS, path)
    return text_of(path)


def test_buying_list_adds_up_and_says_invented(pages: list[str]) -> None:
    page = next(text for text in pages if text.startswith("Buying list"))
    assert "invented example prices" in page.lower()
    # by hand: 5 sheets at 120.00, 9 lengths at 14.90, one pack at 12.50
    sheets = len(PLANS.sheet_jobs[0].plan.patterns)
    assert f"{money(12_000 * sheets)}" in page
    assert f"All together: {money(12_000 * sheets + 13_410 + 1250)} USD" in page


def test_every_stick_part_is_printed_with_its_running_position(pages: list[str]) -> None:
    text = "\n".join(text for text in pages if text.startswith("Sticks in cutting order"))
    for sticks in PLANS.stick_jobs:
        for row in stick_rows(sticks):
            end = 0.0
            for place, (mark, start, length) in enumerate(row.pieces):
                assert mark in text
                # kerf 3, squared end 5 mm off: pieces follow each other a kerf apart from 0 on
                begin = 0.0 if place == 0 else end + 3.0
                assert start / UNITS_PER_MM - 5.0 == pytest.approx(begin)
                end = begin + length / UNITS_PER_MM
                assert f"{int(end + 0.5)}" in text


def test_every_panel_and_member_is_in_the_packet(pages: list[str]) -> None:
    text = "\n".join(pages)
    for part in DESIGN.parts:
        assert part.mark in text
    for panel in DESIGN.panels():
        assert panel.address in text


def test_numbered_cuts_replay_to_the_parts() -> None:
    """Saw the sheet by the printed list, piece by piece; what is left must be the parts."""
    for page in sheet_pages(PLANS):
        trim, kerf = page.kind.trim, page.sheets.job.kerf
        pieces = {"sheet": (trim, trim, page.kind.width - trim, page.kind.height - trim)}
        finished: Counter[tuple[str, int, int]] = Counter()
        assert [step.number for step in page.cuts] == list(range(1, len(page.cuts) + 1))
        for step in page.cuts:
            if step.trim:
                continue
            x0, y0, x1, y1 = pieces.pop(step.piece)
            if step.axis == "x":
                near, far = (x0, y0, x0 + step.at, y1), (x0 + step.at + kerf, y0, x1, y1)
            else:
                near, far = (x0, y0, x1, y0 + step.at), (x0, y0 + step.at + kerf, x1, y1)
            for name, box in zip(gives(page, step), (near, far), strict=True):
                if not name:
                    continue
                assert box[2] > box[0]
                assert box[3] > box[1]
                if name.startswith(f"{step.number}"):
                    pieces[name] = box
                else:
                    finished[name, box[2] - box[0], box[3] - box[1]] += 1
        wanted = Counter(
            (" / ".join(marks), part.width, part.height)
            for part, marks in zip(page.parts, page.marks, strict=True)
        )
        assert finished == wanted


def test_marks_are_dealt_once_each() -> None:
    dealt = [mark for page in sheet_pages(PLANS) for marks in page.marks for mark in marks]
    dealt += [mark for sticks in PLANS.stick_jobs for row in stick_rows(sticks) for mark, _, _ in row.pieces]
    assert sorted(dealt) == sorted(part.mark for part in DESIGN.parts)


def test_a_key_with_several_copies_deals_its_marks_in_plan_order() -> None:
    sheets = PLANS.sheet_jobs[0]
    kind = replace(sheets.job.kinds[0], key="twin", quantity=4)
    root = Cut("x", kind.width, Piece("twin"), Cut("x", kind.width, Piece("twin"), Rest()))
    pattern = replace(sheets.plan.patterns[0], copies=2, root=root)
    job = replace(sheets.job, kinds=(kind,))
    plan = replace(sheets.plan, patterns=(pattern,))
    twin = replace(sheets, job=job, plan=plan, marks={"twin": ("A", "B", "C", "D")})
    page = next(sheet_pages(replace(PLANS, sheet_jobs=(twin,))))
    # copy 1 gets A and B, copy 2 gets C and D
    assert page.marks == (("A", "C"), ("B", "D"))
    assert gives(page, page.cuts[-2])[0] == "A, C"
    assert isinstance(Pair("a", "b"), Pair)


def test_track_detail_follows_the_model() -> None:
    """Worked by hand: movement 3.9 over 77 K; 30 K of it above the cut, 47 K below."""
    cut, hot, cold = seats(FIT, 0)
    growth = 3.9 * 30 / 77
    assert cut.gap_left == 2.4
    assert hot.gap_left == pytest.approx(2.4 - growth / 2)
    assert cold.gap_left == 0.0
    assert cold.cover_right == pytest.approx(15 - 2 * 2.4 - (3.9 - growth))
    for seat in (cut, hot, cold):
        assert seat.gap_left + seat.cover_left == pytest.approx(15.0)
        assert seat.gap_right + seat.cover_right == pytest.approx(15.0)
    deeper = seats(replace(FIT, slot_depth_mm=25.0), 0)
    assert deeper[2].cover_right - cold.cover_right == pytest.approx(10.0)


def test_track_detail_page_prints_the_model(pages: list[str], tmp_path: Path) -> None:
    page = next(text for text in pages if text.startswith("Panel in its track"))
    assert "slot depth 15.0 mm" in page
    assert "clearance 2.4 mm" in page
    found = tightest(DESIGN)
    assert found is not None
    assert found[1] == 0
    changed = replace(DESIGN, parts=tuple(
        replace(p, fit=replace(p.fit, slot_depth_mm=21.0)) if p.fit else p for p in DESIGN.parts
    ))
    path = tmp_path / "packet.pdf"
    write_packet(changed, PLANS, path)
    assert any("slot depth 21.0 mm" in text for text in text_of(path))


def test_frames_carry_true_dimensions_and_diagonals(pages: list[str]) -> None:
    page = next(text for text in pages if text.startswith("Frame of the front wall"))
    # front frame 1500 x 1400, mullion at 650: chain 650 + 850, diagonals sqrt(1500² + 1400²) = 2051.8
    for figure in ("650", "850", "1500", "2052"):
        assert figure in page
    base = next(text for text in pages if text.startswith("Base ring"))
    # ring 1540 x 1160: diagonal 1928.0
    assert "1928" in base
    assert "buy 23" in base


def test_inches_are_printed_as_fractions(tmp_path: Path) -> None:
    design = sample_design("inch", "Letter")
    path = tmp_path / "packet.pdf"
    write_packet(design, sample_plans(design), path)
    text = "\n".join(text_of(path))
    # 1500 mm = 59 1/16 in (59.055), 650 mm = 25 9/16 in (25.591)
    assert "59 1/16" in text
    assert "25 9/16" in text


@pytest.mark.regression
def test_words() -> None:
    assert money(123456) == "1\u202f234.56"
    assert money(5) == "0.05"
    assert angle(0) == "square"
    assert ends(StickCut(100.0)) == ""
    assert ends(StickCut(100.0, 10.0, -10.0)) == "ends 10.0° / 10.0°, parallel"
    assert runs(["FM2", "FM10", "FM1", "FM3", "7"]) == "7, FM1–FM3, FM10"
    assert sorted(["FM10", "FM2", "10", "9"], key=natural) == ["9", "10", "FM2", "FM10"]
    inch = words_of(sample_design("inch", "Letter"))
    assert inch.length(1500) == "59 1/16 in"
    assert inch.fine(1.6) == "1/16 in (1.6 mm)"


def test_neighbours_by_hand() -> None:
    """BACK: 2 bays x 2 tiers, panels go on bay by bay: 1 low left, 2 above it, 3 low right, 4 above it."""
    patches = panels_of(DESIGN, "BACK")
    assert neighbours(patches, "1") == {"left": [], "right": ["3"], "above": ["2"], "below": []}
    assert neighbours(patches, "4") == {"left": ["2"], "right": [], "above": [], "below": ["3"]}


def test_design_without_plans_or_track_still_prints(tmp_path: Path) -> None:
    bare: Design = replace(
        DESIGN, fixings=(), anchors=(), parts=tuple(replace(p, fit=None) for p in DESIGN.parts),
    )
    path = tmp_path / "packet.pdf"
    write_packet(bare, replace(PLANS, sheet_jobs=(), stick_jobs=(), buying=()), path)
    assert len(text_of(path)) >= 6


def test_stakes_have_a_page_of_their_own(tmp_path: Path) -> None:
    """Olive-like: a wire from 800 high to the ground 65 below the sill, 900 off: sqrt(900² + 865²) = 1248 mm."""
    stakes = (
        Anchor("S1", -900.0, 0.0, (800.0,), "LEFT", "stake", 950.0, (0.0, 0.0), -65.0),
        Anchor("S2", 1500.0, 0.0, (800.0,), "RIGHT", "stake", 950.0, (600.0, 0.0), -65.0),
    )
    held = replace(DESIGN, anchors=(*DESIGN.anchors, *stakes))
    path = tmp_path / "packet.pdf"
    write_packet(held, PLANS, path)
    pages = text_of(path)
    page = next(text for text in pages if text.startswith("Stakes and slanting wires"))
    for words in ("S1", "S2", "driven 950 mm deep", "at 800 mm above the ring", "1248 mm long"):
        assert words in page.replace("\n", " ")
    ring = next(text for text in pages if text.startswith("Base ring and anchors"))
    assert "P1" in ring
    assert "S1" not in ring
    assert "next page" in ring


def test_without_stakes_there_is_no_page_of_them(pages: list[str]) -> None:
    assert not any(text.startswith("Stakes and slanting wires") for text in pages)


def test_sections_cut_the_model_where_they_say() -> None:
    """By hand: the front sill is 38 high and 60 deep, y = 0 to 60; its panel lies 3 to 11 mm before it."""
    window = (-100.0, -100.0, 100.0, 100.0)
    cut = slices(DESIGN, upright_section(300.0), window)
    found = {one.part.role: one for one in cut if one.part.face == "FRONT"}
    sill = found["sill"].outline
    assert (min(y for y, _ in sill), max(y for y, _ in sill)) == (pytest.approx(0.0), pytest.approx(60.0))
    assert (min(z for _, z in sill), max(z for _, z in sill)) == (pytest.approx(0.0), pytest.approx(38.0))
    panel = found["panel"].outline
    assert (min(y for y, _ in panel), max(y for y, _ in panel)) == (pytest.approx(-11.0), pytest.approx(-3.0))
    level = slices(DESIGN, level_section(500.0), (-100.0, -100.0, 100.0, 100.0))
    assert {one.part.role for one in level if one.part.face == "FRONT"} == {"stile", "panel"}
    assert "sill" not in {one.part.role for one in level}


def test_every_detail_of_the_page_shows_parts(pages: list[str]) -> None:
    page = next(text for text in pages if text.startswith("Details"))
    for title in ("Sill on the base ring", "Roof edge at the front", "Front left corner", "Between two bays"):
        assert title in page
    for detail in details(DESIGN, (160.0, 160.0)):
        assert len({one.part.role for one in slices(DESIGN, detail.knife, detail.window)}) >= 2, detail.title


def test_the_title_block_states_the_projection_of_its_paper(tmp_path: Path) -> None:
    """Third angle on Letter, first angle on A4 (common practice, no source); every page of the packet says so."""
    import pdfplumber

    for paper, said in (("Letter", "third angle"), ("A4", "first angle")):
        path = tmp_path / f"{paper}.pdf"
        write_packet(replace(DESIGN, paper=paper), PLANS, path)
        with pdfplumber.open(path) as book:
            assert all(said in page.extract_text() for page in book.pages)
