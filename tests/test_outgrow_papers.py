"""The papers of a shelter that is outgrown: packet, labels with the old number struck, lists, audit, rack."""

from __future__ import annotations

import csv
import json
import shutil
import subprocess
from pathlib import Path

import pytest

from enclosure.audit.folder import audit_folder
from enclosure.audit.pdf_text import pdf_pages
from enclosure.cli.main import run
from enclosure.reuse.rack import pending_path
from enclosure.shape.serial import from_json

ROOT = Path(__file__).parents[1]
BRIEFS = ROOT / "templates" / "briefs"
NEEDS_POPPLER = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")


SHEET = ["--no-solids", "--label-sheet", "letter-2x3", "--first-cell", "4", "--to-right", "1 mm"]
"""Labels on another sheet than the brief names."""


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def words_of(path: Path) -> str:
    return subprocess.run(["pdftotext", "-raw", str(path), "-"], capture_output=True, text=True, check=True).stdout


@pytest.fixture(scope="module")
def home(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The papers of a fern under a flat roof, briefs of it 14 in taller and tied 5 in narrower."""
    folder = tmp_path_factory.mktemp("fern")
    text = (BRIEFS / "tree-fern.toml").read_text(encoding="utf-8").replace('kind = "mono"', 'kind = "flat"')
    kept = [line for line in text.splitlines() if not line.startswith(("fall =", "falls_to ="))]
    old = "\n".join(kept) + "\n"
    (folder / "old.toml").write_text(old, encoding="utf-8")
    (folder / "now.toml").write_text(old.replace('"6 ft 3 in" ', '"7 ft 5 in" '), encoding="utf-8")
    assert run(["make", str(folder / "old.toml"), "--no-solids", "-q", "-o", str(folder / "old")]) == 0
    narrow = old.replace('spread_x = "30 in"', 'spread_x = "25 in"')
    assert narrow != old
    (folder / "narrow.toml").write_text(narrow, encoding="utf-8")
    options = ["--rack", str(folder / "rack.toml"), "--keep-rack", "--margin", "5 mm", "--way", "new", "--no-solids"]
    asked = [str(folder / "old"), str(folder / "narrow.toml"), "-q", "-o", str(folder / "new"), *options]
    assert run(["outgrow", *asked]) == 0
    return folder


def test_the_folder_is_sound(home: Path) -> None:
    """Read again by code that shares nothing with the writers."""
    assert audit_folder(home / "new").findings == ()


def test_every_old_part_ends_once_and_every_new_one_has_a_label(home: Path) -> None:
    old = from_json((home / "old" / "design.json").read_text(encoding="utf-8"))
    new = from_json((home / "new" / "design.json").read_text(encoding="utf-8"))
    ends = rows(home / "new" / "old-parts.csv")
    assert sorted(row["old mark"] for row in ends) == sorted(p.mark for p in old.parts)
    assert {row["ends as"] for row in ends} <= {"keep", "re-cut", "spare"}
    labels = {row["mark"]: row for row in rows(home / "new" / "labels.csv")}
    assert set(labels) == {p.mark for p in new.parts}
    for row in ends:
        for mark in filter(None, row["new marks"].split(", ")):
            source = labels[mark]["from"]
            assert source == ("kept" if row["ends as"] == "keep" else f"old {row['old mark']}")


@NEEDS_POPPLER
def test_labels_and_packet_say_what_is_cut_from_what(home: Path) -> None:
    cut = [row for row in rows(home / "new" / "labels.csv") if row["was"]]
    assert cut
    printed, packet = words_of(home / "new" / "labels.pdf"), words_of(home / "new" / "packet.pdf")
    flat = " ".join(printed.split())
    for row in cut:
        assert row["was"] in flat
        assert row["label"] in flat
        assert f"old {row['was']}" in packet, "the page of the stick or sheet names the old part"
    assert "The ways compared" in packet
    assert "Spare parts and stowing" in packet
    assert "To the rack" in packet


def test_spare_parts_wait_for_the_rack(home: Path) -> None:
    told = json.loads(pending_path(home / "rack.toml").read_text(encoding="utf-8"))
    assert not (home / "rack.toml").exists()
    spare = {row["old mark"] for row in rows(home / "new" / "old-parts.csv") if row["ends as"] == "spare"}
    laid = {row["note"].removeprefix("old ") for _, row in told["adds"] if row["note"].startswith("old ")}
    assert laid
    assert laid & spare
    kept = {row["old mark"] for row in rows(home / "new" / "old-parts.csv") if row["ends as"] == "keep"}
    assert not laid & kept, "what is kept never goes to the rack"


def test_a_shelter_that_still_serves_has_papers_too(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Nothing is bought and nothing cut: lists without rows, no pictures of cuts, and the audit content."""
    assert run(["outgrow", str(home / "old"), str(home / "old.toml"), "-q", "-o", str(home / "same"), *SHEET]) == 0
    assert "as it stands" in capsys.readouterr().out
    assert audit_folder(home / "same").findings == ()
    assert {row["ends as"] for row in rows(home / "same" / "old-parts.csv")} == {"keep"}
    assert rows(home / "same" / "buying-list.csv") == []
    asked, usual = (pdf_pages((home / name / "labels.pdf").read_bytes()) for name in ("same", "old"))
    assert len(asked) > len(usual), "six labels a sheet and not ten, as asked"


def test_both_places_of_a_tier_are_told_and_either_can_win(home: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With a vent in the top tier the tier goes under the body; without it nothing stands against the top."""
    for vent, wins, loses in ((True, "under", "on top of"), (False, "on top of", "under")):
        folder = home / f"vent-{vent}"
        folder.mkdir()
        for name in ("old", "now"):
            text = (home / f"{name}.toml").read_text(encoding="utf-8")
            if not vent:
                start = text.index("[vent]")
                text = text[:start] + text[text.index("[bed]") :]
            (folder / f"{name}.toml").write_text(text, encoding="utf-8")
        assert run(["make", str(folder / "old.toml"), "--no-solids", "-q", "-o", str(folder / "old")]) in (0, 3)
        capsys.readouterr()
        assert run(["outgrow", str(folder / "old"), str(folder / "now.toml"), "--json"]) == 0
        ways = json.loads(capsys.readouterr().out)["ways"]
        tier = next(way for way in ways if way["key"] == "tier")
        assert f"{wins} the old body" in tier["title"]
        assert any(f"{loses} the old body" in note for note in tier["notes"])


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["gone.json", "now.toml"], 2, "cannot be read"),
        (["old.toml", "now.toml"], 2, "not JSON"),
        (["old", "gone.toml"], 2, "does not exist"),
        (["old", "now.toml", "--margin", "10"], 2, "has no unit"),
        (["old", "now.toml", "--margin", "-5 mm"], 2, "outside 0 to 100 mm"),
        (["old", "now.toml", "--margin", "2 m"], 2, "outside 0 to 100 mm"),
        (["old", "now.toml", "--age", "-1"], 2, "must lie from 0 to 100"),
        (["old", "now.toml", "--way", "up"], 2, "'tier', 'body', 'new'"),
        (["old", "now.toml", "--as-built", "gone.toml"], 2, "does not exist"),
        (["old", "old.toml", "--way", "tier", "-o", "x"], 1, "tall enough"),
        (["old", "now.toml", "-o", "old.toml"], 1, "is a file"),
        (["old", "now.toml", "--rack", "gone.toml"], 2, "there is no rack"),
    ],
)
def test_wrong_inputs(
    home: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: list[str], code: int,
    words: str,
) -> None:  # fmt: skip
    monkeypatch.chdir(home)
    before = sorted(p.name for p in home.iterdir())
    assert run(["outgrow", *arguments, "-q"]) == code
    said = capsys.readouterr().err
    assert words in said
    assert "Traceback" not in said
    assert sorted(p.name for p in home.iterdir()) == before
