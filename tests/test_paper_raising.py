"""Are the raising papers complete, in order, and drawn fast?"""

from __future__ import annotations

from pathlib import Path

import pytest

from enclosure.brief.read import read_all
from enclosure.outputs.drawing.axonometric import BACK_LEFT, FRONT_RIGHT
from enclosure.outputs.paper.raising import PHASES, _blocks, _deal, _standing, write_raising
from enclosure.outputs.paper.scene import Scene
from enclosure.outputs.paper.scene_anchors import ShownAnchors
from enclosure.shape.build import build
from enclosure.shape.limits import SpanLimits
from enclosure.shape.model import Design
from enclosure.templates_home import find_template, template_names
from tests.paper_pages import text_of
from tests.sample_design import sample_design
from tests.test_axonometric import faults

DESIGN = sample_design()


def template(name: str) -> Design:
    return build(*read_all(find_template("briefs", name)), SpanLimits())


def test_steps_are_numbered_in_order_with_their_parts(tmp_path: Path) -> None:
    path = tmp_path / "raising.pdf"
    write_raising(DESIGN, path)
    pages = text_of(path)
    text = "\n".join(pages)
    place = -1
    ordered = [s for phase, _ in PHASES for s in DESIGN.steps if s.phase == phase]
    for number, step in enumerate(ordered, start=1):
        found = text.find(f"{number} {step.title}", max(place, 0))
        assert found > place, step.title
        place = found
        for caution in step.cautions:
            assert caution.split()[0] in text
    assert "CAUTION" in text
    assert "spanner 13 mm, drill" in text
    assert pages[-1].startswith("Stowing")


def test_parts_stand_when_their_step_is_past() -> None:
    ordered = [s for phase, _ in PHASES for s in DESIGN.steps if s.phase == phase]
    standing = _standing(DESIGN, ordered)
    raising = [s for s in ordered if s.phase == "raising"]
    up: set[str] = set()
    for step in raising:
        assert standing[step.key] == up - set(step.parts)
        up |= set(step.parts)
    down = next(s for s in ordered if s.phase == "take-down")
    assert standing[down.key] == {p.mark for p in DESIGN.parts} - set(down.parts)
    pages = _deal(_blocks(ordered, standing))
    assert [block.number for page in pages for block in page] == list(range(1, len(ordered) + 1))
    assert all(sum(block.quarters for block in page) <= 4 for page in pages)


@pytest.mark.parametrize("name", template_names("briefs"))
@pytest.mark.parametrize("view", [FRONT_RIGHT, BACK_LEFT], ids=["front", "back"])
def test_order_of_real_shelters_agrees_with_rays(name: str, view) -> None:
    """The yardstick of test_axonometric, on the solids of every template."""
    met, wrong = faults(Scene(template(name)).prisms, view, 5, rays=60)
    assert met > 30
    assert wrong == 0


@pytest.mark.slow
def test_posts_and_stakes_have_their_marks_where_a_step_is_about_them(tmp_path: Path) -> None:
    import pdfplumber

    design = template("banana-clump")
    path = tmp_path / "raising.pdf"
    write_raising(design, path)
    marks = {anchor.mark for anchor in design.anchors}
    assert {mark[0] for mark in marks} == {"P", "S"}
    titles = {step.key: step.title for step in design.steps}
    with pdfplumber.open(path) as book:
        for key in ("posts", "anchor", "down-anchor"):
            pages = [page for page in book.pages[2:] if titles[key] in page.extract_text()]
            assert any(marks <= {word["text"] for word in page.extract_words()} for page in pages), key


def test_an_anchor_hides_the_shelter_only_on_the_side_that_looks_toward_the_eye() -> None:
    """Seen from the front and the right: what stands beyond the front or the right wall is near, the rest is not."""
    design = template("banana-clump")
    shown = ShownAnchors(design, stakes=True)
    wide, deep, _ = design.outside_mm
    for anchor in design.anchors:
        near = anchor.y_mm < 0 or anchor.x_mm > wide
        assert shown._is_near(anchor, FRONT_RIGHT) == near, anchor.mark
        assert shown._is_near(anchor, BACK_LEFT) == (anchor.y_mm > deep or anchor.x_mm < 0), anchor.mark
    assert {a.kind for a in ShownAnchors(design).anchors()} == {"post"}
