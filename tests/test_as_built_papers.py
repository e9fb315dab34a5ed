"""Measured sizes in later papers: make --as-built, single labels, and the shelter that grows out of the old one."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest

from enclosure.audit.folder import audit_folder
from enclosure.cli.main import run
from enclosure.pipeline.walk import design_from
from enclosure.reuse.as_built import AsBuilt, bearing_mm, post_words, read_as_built, ring_stays, ring_words
from enclosure.reuse.match import match, still_fits
from enclosure.shape.model import Design, SheetCut
from enclosure.shape.serial import from_json

ROOT = Path(__file__).parents[1]
FERN = ROOT / "templates" / "briefs" / "tree-fern.toml"
NEEDS_POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
MEASURED = """[parts.7]
height = "87 in"
note = "cut short at the yard"
[opening]
width = "38 3/16 in"
[ring]
length = "1132 mm"
[posts.P1]
out_of_plumb = "15 mm"
toward = "left"
"""


@pytest.fixture(scope="module")
def fern() -> Design:
    return design_from(FERN).design


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("built")
    (folder / "built.toml").write_text(MEASURED, encoding="utf-8")
    text = FERN.read_text(encoding="utf-8")
    (folder / "now.toml").write_text(text.replace('"6 ft 3 in" ', '"6 ft 7 in" '), encoding="utf-8")
    asked = ["make", str(FERN), "--no-solids", "-q", "-o", str(folder / "papers")]
    asked += ["--as-built", str(folder / "built.toml")]
    assert run(asked) == 0
    return folder


def words_of(path: Path) -> str:
    return subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout


def test_new_parts_meet_the_measured_opening(home: Path, fern: Design) -> None:
    built = from_json((home / "papers" / "design.json").read_text(encoding="utf-8"))
    assert audit_folder(home / "papers").findings == ()
    assert built.clear_mm[0] == pytest.approx(38.1875 * 25.4)
    assert [p.mark for p in built.parts] == [p.mark for p in fern.parts]
    # the front and back sills run the whole width: 3/16 in more than drawn
    assert built.part("BM1").cut.length_mm - fern.part("BM1").cut.length_mm == pytest.approx(3 / 16 * 25.4, abs=0.01)  # type: ignore[union-attr]
    assert built.base.ring_length_mm == 1132
    said = " ".join(built.warnings)
    assert "let it lie and set the frame in its middle" in said
    assert "post P1 leans" in said
    assert (home / "papers" / "as-built.toml").read_text(encoding="utf-8") == MEASURED


@NEEDS_POPPLER
def test_labels_say_both_sizes(home: Path) -> None:
    wanted = "as built 87 in high (drawn 87 11/16 in)"
    assert wanted in words_of(home / "papers" / "labels.pdf")
    out = home / "again.pdf"
    assert run(["make", str(home / "papers"), "--label", "7", "-q", "-o", str(out)]) == 0
    assert wanted in words_of(out)


def test_the_next_shelter_reckons_with_what_was_measured(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """as-built.toml beside the old design is found by itself, and what still holds goes along."""
    asked = ["outgrow", str(home / "papers"), str(home / "now.toml"), "-q", "--way", "tier", "-o", str(home / "next")]
    assert run(asked) == 0
    capsys.readouterr()
    design = from_json((home / "next" / "design.json").read_text(encoding="utf-8"))
    assert design.clear_mm[0] == pytest.approx(38.1875 * 25.4), "the tier meets the body as it was built"
    with (home / "next" / "old-parts.csv").open(encoding="utf-8", newline="") as file:
        ends = {row["old mark"]: row for row in csv.DictReader(file)}
    assert ends["7"]["ends as"] == "keep", "a panel that stands in its place stays, whatever it measures"
    assert ends["7"]["measured"] == "as built 87 in high (drawn 87 11/16 in)"
    carried = read_as_built(home / "next" / "as-built.toml")
    assert carried.parts["7"].height_mm == pytest.approx(87 * 25.4)
    assert carried.ring.length_mm == 1132
    assert set(carried.posts) == {"P1"}


def test_elsewhere_a_measured_part_must_fit(fern: Design) -> None:
    """A panel 17 mm short would slip out of its track in another wall; 1 mm short it would not."""
    part = fern.part("7")
    assert isinstance(part.cut, SheetCut)
    assert part.fit is not None
    spare = part.fit.cover_cold_mm[1] - part.fit.least_cover_mm
    assert 1.0 < spare < 17.0, "else this example says nothing"
    for less, kept in ((1.0, True), (17.0, False)):
        cut = replace(part.cut, height_mm=part.cut.height_mm - less)
        old = replace(fern, parts=tuple(replace(p, cut=cut) if p.mark == "7" else p for p in fern.parts))
        assert still_fits(old.part("7"), part) == kept
        assert ("7" in {k.old for k in match(old, fern, drawn=fern).keeps}) == kept
        assert "7" in {k.old for k in match(old, fern, drawn=fern, stands=True).keeps}


@pytest.mark.regression
def test_bearing_of_a_sill_by_hand() -> None:
    """A sill 64 deep in the middle of bricks 92 wide has 14 on either side.

    A ring 12 longer moves each course 6 outward: the sill still bears whole. 40 longer: 20, so 6 of 64 hang
    over and 58 bear. 40 shorter the same. 200 longer: 100, more than 64/2 + 92/2 = 78, so nothing bears.
    """
    assert bearing_mm(64.0, 92.0, 12.0) == 64.0
    assert bearing_mm(64.0, 92.0, 40.0) == 58.0
    assert bearing_mm(64.0, 92.0, -40.0) == 58.0
    assert bearing_mm(64.0, 92.0, 200.0) == 0.0


def test_what_a_ring_off_its_size_means(fern: Design) -> None:
    for more, words, stays in ((12.0, "bear whole", True), (40.0, "bear on the bricks", True), (120.0, "anew", False)):
        there = replace(fern.base, ring_length_mm=fern.base.ring_length_mm + more)
        (said,) = ring_words(fern, there)
        assert words in said
        assert ring_stays(fern, there) == stays
    assert ring_words(fern, fern.base) == ()


def test_what_a_leaning_post_means(fern: Design) -> None:
    post = next(p for p in fern.anchors if p.tied_to == "LEFT")
    tie = max(post.tie_heights_mm)

    def said(lean: float, toward: str) -> str:
        measured = AsBuilt.model_validate({"posts": {post.mark: {"out_of_plumb_mm": lean, "toward": toward}}})
        return " ".join(post_words(fern, fern, measured))

    assert "let it stand" in said(0.01 * tie, "left")
    assert "more than 1 in 50" in said(0.03 * tie, "left")
    assert "between it and the frame" in said(60.0, "right"), "it leans against the panel"
    assert said(0.0, "left") == ""


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('[parts.999]\nheight = "1 m"\n', "does not have"),
        ('[parts.7]\nheight = "1 m"\n', "measure again"),
        ('[ring]\nlength = "3 m"\n', "base ring"),
        ("[ring]\nlength = 1132\n", "has no unit"),
        ('[ringg]\nlength = "1132 mm"\n', "did you mean ring?"),
        ('[posts.P9]\nout_of_plumb = "5 mm"\ntoward = "left"\n', "post P9"),
        ('[posts.P1]\nout_of_plumb = "5 mm"\ntoward = "up"\n', "front, right, back, left"),
    ],
)
def test_wrong_files(tmp_path: Path, capsys: pytest.CaptureFixture[str], text: str, words: str) -> None:
    (tmp_path / "built.toml").write_text(text, encoding="utf-8")
    asked = ["make", str(FERN), "--no-solids", "-q", "-o", str(tmp_path / "x")]
    asked += ["--as-built", str(tmp_path / "built.toml")]
    assert run(asked) == 2
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert not (tmp_path / "x").exists()


def test_json_names_the_notes(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    asked = ["outgrow", str(home / "papers"), str(home / "now.toml"), "--json"]
    assert run(asked) == 0
    ways = json.loads(capsys.readouterr().out)["ways"]
    assert all(any("base ring" in note for note in way["notes"]) for way in ways)
