"""The rack: nothing is consumed until confirmed, nothing is lost on the way, the last change can be undone."""

from __future__ import annotations

import os
import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.errors import BriefError, FaultsError, OutputError, VerifyError
from enclosure.nesting import serial
from enclosure.nesting.model import (
    Cut,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPiece,
    StickPlan,
)
from enclosure.nesting.model import Part as Piece
from enclosure.nesting.plans import MaterialSheets, MaterialSticks, Plans
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.verify import verify_sheets, verify_sticks
from enclosure.pipeline.rack import change_of, pieces_of, plan_from_rack
from enclosure.pipeline.walk import design_from
from enclosure.reuse import rack as rack_module
from enclosure.reuse.rack import (
    Change,
    Take,
    applied,
    before_path,
    confirm,
    drop,
    lay_on,
    pending_path,
    propose,
    read_rack,
    undo,
    waiting,
)
from enclosure.reuse.rack_text import csv_text, size_text
from enclosure.stock.model import Defect, Rack, RackSheet, RackStick

ROOT = Path(__file__).parents[1]
TEXT = """# my rack, behind the shed
least_sheet = "250 mm"

[[sheets]]
material = "twin-wall-10"   # scratched on one side
width = "600 mm"
height = "1200 mm"
copies = 3

[[sheets]]
material = "foam-25"
width = "1 m"
height = "50 cm"

[[sticks]]
material = "2x2"
length = "1.8 m"
defects = [{ start = "10 cm", end = "15 cm" }]
"""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "rack.toml"
    path.write_text(TEXT, encoding="utf-8")
    return path


def test_reading(file: Path) -> None:
    found = read_rack(file)
    assert [(s.material, s.width_mm, s.copies) for s in found.sheets] == [
        ("twin-wall-10", 600, 3),
        ("foam-25", 1000, 1),
    ]
    assert found.sticks[0].defects == (Defect(start_mm=100.0, end_mm=150.0),)
    assert found.least_sheet_mm == 250


CHANGE = Change(
    (Take("sheets", 0, 2), Take("sheets", 1, 1)),
    (RackSheet(material="twin-wall-10", width_mm=300.0, height_mm=412.5, note="offcut"),),
    "papers of my fern",
)


def test_nothing_is_consumed_until_confirmed_and_then_it_can_be_undone(file: Path) -> None:
    propose(file, CHANGE)
    assert file.read_text(encoding="utf-8") == TEXT
    assert waiting(file) == CHANGE
    assert confirm(file) == CHANGE
    after = read_rack(file)
    assert [(s.material, s.width_mm, s.copies) for s in after.sheets] == [
        ("twin-wall-10", 600, 1),
        ("twin-wall-10", 300, 1),
    ]
    text = file.read_text(encoding="utf-8")
    assert "# my rack, behind the shed" in text
    assert "# scratched on one side" in text
    assert not pending_path(file).exists()
    with pytest.raises(BriefError, match="no cut waits"):
        confirm(file)
    undo(file)
    assert file.read_text(encoding="utf-8") == TEXT
    with pytest.raises(BriefError, match="no earlier state"):
        undo(file)


def test_a_rack_changed_in_between_is_not_touched(file: Path) -> None:
    propose(file, CHANGE)
    file.write_text(TEXT + "# moved\n", encoding="utf-8")
    with pytest.raises(BriefError, match="changed after"):
        confirm(file)
    assert file.read_text(encoding="utf-8") == TEXT + "# moved\n"
    drop(file)
    assert waiting(file) is None
    with pytest.raises(BriefError):
        drop(file)


def test_taking_what_is_not_there(file: Path) -> None:
    with pytest.raises(BriefError, match="takes 4"):
        propose(file, Change((Take("sheets", 0, 4),)))
    assert not pending_path(file).exists()


def test_a_damaged_pending_file_says_so(file: Path) -> None:
    pending_path(file).write_text("{", encoding="utf-8")
    with pytest.raises(BriefError, match="damaged"):
        waiting(file)


@pytest.mark.parametrize("step", ["replace", "fsync"])
def test_a_stop_halfway_loses_nothing(file: Path, step: str, monkeypatch: pytest.MonkeyPatch) -> None:
    propose(file, CHANGE)

    def broken(*_: object) -> None:
        raise OSError("the disk is full")

    monkeypatch.setattr(rack_module.os, step, broken)
    with pytest.raises(OutputError, match="disk is full"):
        confirm(file)
    monkeypatch.undo()
    assert file.read_text(encoding="utf-8") == TEXT
    assert waiting(file) == CHANGE
    assert not [p for p in file.parent.iterdir() if p.suffix == ".part"]


def test_a_rack_used_up_is_still_a_rack(tmp_path: Path) -> None:
    path = tmp_path / "rack.toml"
    lay_on(path, [RackSheet(material="foam-25", width_mm=500.0, height_mm=500.0)])
    assert read_rack(path).sheets[0].width_mm == 500
    propose(path, Change((Take("sheets", 0, 1),)))
    confirm(path)
    assert read_rack(path).sheets == ()
    lay_on(path, [RackStick(material="2x2", length_mm=700.0, defects=(Defect(start_mm=5.0, end_mm=9.0),))])
    assert read_rack(path).sticks[0].defects[0].end_mm == 9
    propose(path, Change((Take("sticks", 0, 1),)))
    with pytest.raises(OutputError, match="waits"):
        lay_on(path, [])


def test_the_rack_of_a_stock_list_keeps_the_rest_of_the_list(tmp_path: Path) -> None:
    path = tmp_path / "metric-stock.toml"
    shutil.copy(ROOT / "templates" / "stock" / "metric-stock.toml", path)
    before = path.read_text(encoding="utf-8")
    rows = len(read_rack(path).sheets)
    lay_on(path, [RackSheet(material="foam-25", width_mm=640.0, height_mm=500.0, note="offcut")])
    assert len(read_rack(path).sheets) == rows + 1
    comments = [line for line in before.splitlines() if line.startswith("#")]
    after = path.read_text(encoding="utf-8")
    assert all(line in after for line in comments)
    undo(path)
    assert path.read_text(encoding="utf-8") == before


def test_csv_there_and_back(tmp_path: Path) -> None:
    path = tmp_path / "rack.csv"
    path.write_text(
        "kind,material,width,height,length,copies,note\nsheet,foam-25,1 m,500 mm,,2,left over\nstick,2x2,,,6 ft,,\n",
        encoding="utf-8",
    )
    found = read_rack(path)
    assert found.sheets[0].copies == 2
    assert found.sticks[0].length_mm == pytest.approx(1828.8)
    propose(path, Change((Take("sheets", 0, 1),)))
    confirm(path)
    assert read_rack(path).sheets[0].copies == 1
    assert read_rack(path).sticks == found.sticks
    for text, words in (("kind,colour\n", "colour"), ("kind,material\nboard,x\n", "board"), ("", "none")):
        path.write_text(text, encoding="utf-8")
        with pytest.raises(BriefError, match=words):
            read_rack(path)
    path.write_text("kind,material,length\nstick,2x2,1800\n", encoding="utf-8")
    with pytest.raises(BriefError):
        read_rack(path)


def test_a_faulty_toml_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "rack.toml"
    path.write_text('[[sheets]]\nmaterial = "x"\nwidth = 600\nheight = "1 m"\n', encoding="utf-8")
    with pytest.raises(FaultsError, match=r"rack\.toml:3"):
        read_rack(path)


pieces = st.tuples(
    st.sampled_from(["a", "b"]),
    st.integers(100, 900),
    st.integers(100, 900),
    st.integers(1, 4),
    st.sampled_from(["offcut", "old 4"]),
).map(
    lambda row: RackSheet(material=row[0], width_mm=float(row[1]), height_mm=float(row[2]), copies=row[3], note=row[4])
)


@settings(max_examples=60, deadline=None)
@given(st.lists(pieces, max_size=5), st.lists(pieces, max_size=4), st.data())
def test_pieces_balance(have: list[RackSheet], adds: list[RackSheet], data: st.DataObject) -> None:
    rack = Rack(sheets=tuple(have))
    takes = tuple(
        Take("sheets", i, data.draw(st.integers(1, row.copies)))
        for i, row in enumerate(have)
        if data.draw(st.booleans())
    )
    after = applied(rack, Change(takes, tuple(adds)))

    def area(rows: tuple[RackSheet, ...]) -> float:
        return sum(r.width_mm * r.height_mm * r.copies for r in rows)

    taken = sum(have[t.row].width_mm * have[t.row].height_mm * t.copies for t in takes)
    assert area(after.sheets) == area(rack.sheets) - taken + area(tuple(adds))
    assert sum(r.copies for r in after.sheets) == sum(r.copies for r in have) - sum(t.copies for t in takes) + sum(
        r.copies for r in adds
    )


def test_sizes_are_never_written_too_long() -> None:
    assert size_text(1219.2) == "1219.2 mm"
    assert size_text(587.37509) == "587.37 mm"
    assert size_text(600.0) == "600 mm"


@pytest.mark.regression
def test_change_of_a_plan_by_hand() -> None:
    """One part 500 x 700 from a rack piece 600 x 1200, one stick part 900 from a rack stick of 1800.

    Left of the piece: beside the part 600 - 500 - 3 = 97 wide (too small), above it 600 x 497 (kept).
    Left of the stick: 1800 - 900 - 3 = 897 (kept).
    """
    mm = 10_000
    root = Cut("y", 700 * mm, Cut("x", 500 * mm, Piece("p"), Rest()), Rest(keep=True))
    job = SheetJob(
        (PartKind("p", 500 * mm, 700 * mm),), (SheetKind("rack 1", 600 * mm, 1200 * mm, 0, 3, 0, True),), 3 * mm
    )
    plan = SheetPlan((Pattern("rack 1", 1, root),), 0, 0, "proved")
    verify_sheets(job, plan)
    rods = StickJob((StickPart("900", 900 * mm),), (StickKind("rack 1", 1800 * mm, 0, 1, 0, (), True),), 3 * mm)
    cut = StickPlan((StickPattern("rack 1", 1, (StickPiece("900", 0),)),), 0, 0, "proved")
    verify_sticks(rods, cut)
    plans = Plans(
        (MaterialSheets("tw", "twin wall", job, plan, {"p": ("1",)}),),
        (MaterialSticks("2x2", "38 x 38", rods, cut, {"900": ("BM1",)}),),
        (),
    )
    rack = Rack(
        sheets=(RackSheet(material="foam", width_mm=900.0, height_mm=900.0),
                RackSheet(material="tw", width_mm=600.0, height_mm=1200.0, copies=3)),
        sticks=(RackStick(material="2x2", length_mm=1800.0),),
    )  # fmt: skip
    change = change_of(plans, rack)
    assert change.takes == (Take("sheets", 1, 1), Take("sticks", 0, 1))
    sizes = [(p.width_mm, p.height_mm) for p in change.adds if isinstance(p, RackSheet)]
    assert sizes == [(600.0, 497.0)]
    assert [p.length_mm for p in change.adds if isinstance(p, RackStick)] == [897.0]
    after = applied(rack, change)
    assert [row.copies for row in after.sheets] == [1, 2, 1]


def test_an_old_shelter_laid_on_the_rack(tmp_path: Path) -> None:
    design = design_from(ROOT / "templates" / "briefs" / "olive-glass.toml").design
    rows = pieces_of(design)
    path = tmp_path / "rack.toml"
    lay_on(path, rows, "the old shelter")
    back = read_rack(path)
    assert sum(r.copies for r in (*back.sheets, *back.sticks)) == len(rows)
    assert 0.5 * len(design.parts) < len(rows) <= len(design.parts)


@pytest.mark.slow
def test_planning_from_a_rack_costs_less_and_leaves_the_rack_alone(tmp_path: Path) -> None:
    brief = ROOT / "templates" / "briefs" / "potted-lemon.toml"
    design = design_from(brief).design
    path = tmp_path / "rack.toml"
    lay_on(path, pieces_of(design))
    text = path.read_text(encoding="utf-8")
    empty = before_path(path).read_text(encoding="utf-8")
    planned = plan_from_rack(path, brief)
    assert path.read_text(encoding="utf-8") == text
    assert planned.change.takes
    assert os.path.exists(pending_path(path))
    assert before_path(path).read_text(encoding="utf-8") == empty, "planning is no change that could be undone"
    confirm(path)
    assert read_rack(path) == applied(read_rack(before_path(path)), planned.change)
    assert before_path(path).read_text(encoding="utf-8") == text


# --- old screw holes of sticks -------------------------------------------------------------


def test_screw_holes_of_sticks_stay_with_them_on_the_rack(tmp_path: Path) -> None:
    design = design_from(Path(__file__).parents[1] / "templates" / "briefs" / "tree-fern.toml").design
    holed = [row for row in pieces_of(design) if isinstance(row, RackStick) and row.holes_mm]
    assert holed, "stiles and track were screwed"
    path = tmp_path / "rack.toml"
    lay_on(path, holed[:3])
    back = read_rack(path).sticks
    assert [len(row.holes_mm) for row in back] == [len(row.holes_mm) for row in holed[:3]]
    for one, other in zip(back, holed, strict=False):
        assert all(abs(a - b) <= 0.01 for a, b in zip(one.holes_mm, other.holes_mm, strict=True))
    with pytest.raises(OutputError, match="screw holes"):
        csv_text(Rack(sticks=(holed[0].model_copy(update={"defects": ()}),)))


def test_no_part_cut_from_the_rack_ends_near_an_old_hole_by_hand() -> None:
    """A stick of 1000 with a hole at 405 and a part of 400: it must start at 0 + 15 or later, to end at 415."""
    mm = 10_000
    old = StickKind("rack 1", 1000 * mm, 0, 1, owned=True, holes=(405 * mm,))
    job = StickJob((StickPart("400", 400 * mm),), (old, StickKind("new", 2400 * mm, 500)), 3 * mm)
    plan = solve_sticks(job)
    (run,) = plan.patterns
    assert (plan.price, run.stick) == (0, "rack 1")
    (piece,) = run.pieces
    assert piece.start >= 415 * mm or piece.start + 400 * mm >= 415 * mm
    verify_sticks(job, plan)
    near = replace(plan, patterns=(StickPattern("rack 1", 1, (StickPiece("400", 0),)),))
    with pytest.raises(VerifyError, match="screw hole"):
        verify_sticks(job, near)
    # an offcut of it keeps the hole where it lies in the offcut: 1000 - 403 = 597 left, its hole 2 from its end
    rods = MaterialSticks("2x2", "2x2", job, near, {"400": ("A",)})
    (left,) = change_of(Plans((), (rods,), ()), Rack(sticks=(RackStick(material="2x2", length_mm=1000.0),))).adds
    assert isinstance(left, RackStick)
    assert (left.length_mm, left.holes_mm) == (597.0, (2.0,))
    assert serial.from_json(serial.to_json(job)) == job
