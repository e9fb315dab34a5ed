"""Do the lists say what the design and the plans say, safely, and the same every time?

CSV is read back with csv, the workbook with openpyxl; counts and sums are hand counts
of the hand-made shelter.
"""

from __future__ import annotations

import csv
import io
import json
import subprocess
import sys
import zipfile
from dataclasses import replace
from pathlib import Path

import openpyxl
import pytest

from enclosure.checks.model import Check
from enclosure.errors import OutputError
from enclosure.nesting import serial
from enclosure.nesting.plans import Plans
from enclosure.outputs.summary import WIDTH, summary
from enclosure.outputs.table_rows import (
    buying_list,
    cut_list,
    hardware_list,
    sheet_list,
    sheet_yield,
    stick_list,
    stick_yield,
)
from enclosure.outputs.tables import defused, plan_json, to_csv, workbook, write_tables
from tests.hand_made import small_design
from tests.hand_plans import pair_sheets, small_plans

DESIGN, PLANS = small_design(), small_plans()
ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("lists")
    write_tables(DESIGN, PLANS, where)
    return where


def rows(path: Path) -> list[dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_cut_list_has_every_part_once_with_its_size(folder: Path) -> None:
    found = {row["mark"]: row for row in rows(folder / "cut-list.csv")}
    assert list(found) == [part.mark for part in DESIGN.parts]
    sill = found["FM1"]
    assert sill["length or height [mm]"] == "900"
    assert sill["size as printed"] == "35 7/16 in"  # 900 / 25.4 = 35.43
    assert sill["lifts out"] == "yes"
    assert sill["cut from"] == "stick 1"
    assert sill["from the stick's end [mm]"] == "10"  # the squaring cut
    assert found["FM2"]["from the stick's end [mm]"] == "913"  # 10 + 900 + kerf 3
    head = found["LM2"]
    assert head["end angle [deg]"] == "8.13"  # atan(100 / 700)
    panel = found["4"]
    assert (panel["width [mm]"], panel["length or height [mm]"]) == ("660", "1244.286")
    assert panel["flute direction fixed"] == "yes"
    assert panel["address"] == "LEFT bay 1 tier 1"
    assert panel["cut from"] == "sheet-01"
    assert found["5"]["cut from"] == "sheet-02"
    assert found["FG1"]["flute direction fixed"] == ""
    assert all(row["cut from"] for row in found.values())


def test_copies_cut_alike_are_told_apart() -> None:
    pair = Plans((pair_sheets(),), (), ())
    parts = tuple(replace(DESIGN.part("1"), mark=mark) for mark in ("1", "2", "11", "12"))
    table = cut_list(replace(DESIGN, parts=parts), pair)
    where = [row[table.headers.index("cut from")] for row in table.rows]
    assert where == ["sheet-01 copy 1", "sheet-01 copy 2", "sheet-01 copy 1", "sheet-01 copy 2"]


def test_every_header_of_a_number_names_its_unit() -> None:
    for table in (
        cut_list(DESIGN, PLANS), buying_list(PLANS), hardware_list(DESIGN), sheet_list(DESIGN, PLANS),
        stick_list(DESIGN, PLANS),
    ):
        for column, header in enumerate(table.headers):
            cells = [row[column] for row in table.rows if row[column] != ""]
            assert all(len(row) == len(table.headers) for row in table.rows)
            if any(isinstance(cell, float) for cell in cells):
                assert "[" in header or header == "amount", (table.name, header)
    assert "price [USD]" in buying_list(PLANS).headers


def test_buying_list_keeps_the_order_and_the_sum(folder: Path) -> None:
    """84.00 + 9.00 + 3.50 + 5 or so lengths at 6.00 + 11.00 + 4.50."""
    found = rows(folder / "buying-list.csv")
    assert [row["group"] for row in found] == ["skins", "boards", "skins", "timber", "track", "hardware"]
    sticks = int(found[3]["count"])
    total = sum(float(row["price [USD]"]) for row in found)
    assert total == pytest.approx(84 + 9 + 3.5 + 6 * sticks + 11 + 4.5)
    assert total == pytest.approx(PLANS.total_cents / 100)
    assert found[0]["price of one [USD]"] == "42.00"


def test_formulas_in_text_are_defused(folder: Path) -> None:
    found = rows(folder / "buying-list.csv")
    assert found[5]["what"] == "'=Bolt M8 x 130"
    assert found[5]["note"] == "'@work, pack of 10"
    for risky in ("=1+1", "+1", "-1", "@x", "\t=1", "\r=1", "\n=1", "＝1"):
        safe = defused(risky)
        assert isinstance(safe, str)
        assert safe.startswith("'")
        assert "\n" not in safe
    assert defused(-1.5) == -1.5  # a number is no formula
    assert defused("6 x 4") == "6 x 4"
    assert defused("two\nlines") == "two lines"


def test_csv_follows_rfc_4180(folder: Path) -> None:
    data = (folder / "cut-list.csv").read_bytes()
    assert data.count(b"\r\n") == len(DESIGN.parts) + 1
    assert data.count(b"\n") == data.count(b"\r\n")
    named = replace(DESIGN, materials=tuple(replace(m, name='6" wide, "best"') for m in DESIGN.materials))
    text = to_csv(cut_list(named, PLANS))
    assert '"6"" wide, ""best"""' in text
    assert {row["material"] for row in csv.DictReader(io.StringIO(text))} == {'6" wide, "best"'}


def test_the_workbook_read_back(folder: Path) -> None:
    book = openpyxl.load_workbook(folder / "lists.xlsx")
    assert book.sheetnames == ["Buying list", "Cut list", "Sheets", "Sticks", "Hardware"]
    buying = list(book["Buying list"].values)
    assert buying[6][1] == "=Bolt M8 x 130"  # the text as it is
    assert book["Buying list"].cell(7, 2).data_type == "s"  # and text, no formula
    total = next(row for row in buying if row[0] == "total")
    assert total[6] == "=SUM(G2:G7)"
    values = openpyxl.load_workbook(folder / "lists.xlsx", data_only=True)
    reckoned = next(row for row in values["Buying list"].values if row[0] == "total")[6]
    assert reckoned == pytest.approx(PLANS.total_cents / 100)
    cut = list(book["Cut list"].values)
    assert len(cut) == len(DESIGN.parts) + 1
    assert cut[1][:5] == ("FM1", "member", "sill", "FRONT", "Spruce 38 x 60 mm")
    assert book["Cut list"].freeze_panes == "B2"
    assert book.properties.created.year == 2000
    sheets = {row[0]: row for row in book["Sheets"].values}
    assert sheets["sheet-01"][3:6] == (1050, 2440, 1)
    used = 327 * 1160 + 511 * (590 + 548) + 660 * (1150 + 1150 + 660 / 7) / 2
    assert sheets["sheet-01"][11] == pytest.approx(100 * used / (1050 * 2440), abs=0.05)
    assert sheets["sheet-01"][12] == "3; 1; 2; 4"


def test_yield_by_hand() -> None:
    panels = 327 * 1160 + 511 * (590 + 548) + 660 * (1150 + 1150 + 660 / 7) / 2 + 940 * 760
    assert sheet_yield(PLANS.sheet_jobs[0]) == pytest.approx(panels / (2 * 1050 * 2440))
    assert stick_yield(PLANS.stick_jobs[1]) == pytest.approx(900 / 3000)
    assert sheet_yield(pair_sheets(2)) == pytest.approx(400 * (600 + 700 + 550 + 650) / 2 / (420 * 1400))


def test_pieces_on_a_stick_follow_one_another() -> None:
    table = stick_list(DESIGN, PLANS)
    at = {header: column for column, header in enumerate(table.headers)}
    before: tuple[object, float] = (None, 0.0)
    for row in table.rows:
        start, end = float(row[at["from [mm]"]]), float(row[at["to [mm]"]])
        assert end - start == pytest.approx(float(row[at["length [mm]"]]))
        assert end <= float(row[at["stick [mm]"]])
        if row[at["stick"]] == before[0]:
            assert start == pytest.approx(before[1] + 3)  # a kerf
        before = (row[at["stick"]], end)


def test_plan_json_holds_jobs_and_plans_exactly(folder: Path) -> None:
    tree = json.loads((folder / "plan.json").read_text())
    assert tree["schema"] == 1
    assert tree["total_cents"] == PLANS.total_cents
    for group, items in ((tree["sheets"], PLANS.sheet_jobs), (tree["sticks"], PLANS.stick_jobs)):
        for entry, item in zip(group, items, strict=True):
            assert serial.from_json(json.dumps(entry["job"])) == item.job
            assert serial.from_json(json.dumps(entry["plan"])) == item.plan
            assert {key: tuple(names) for key, names in entry["marks"].items()} == item.marks


def test_summary_says_what_matters() -> None:
    text = summary(DESIGN, PLANS)
    assert max(map(len, text.splitlines())) <= WIDTH
    flat = " ".join(text.split())
    for words in (
        "Winter shelter for lemon", "good for 3 winters", "30 11/16 in x 27 9/16 in x 47 1/4 in",
        "single fall of 8.1 deg to the front", "18 parts, 6 of them panels",
        f"{PLANS.total_cents / 100:,.2f}",
        "all prices are invented", "2 sheets, 48 % of it in parts, no cheaper plan exists",
        "not proved to be the cheapest", "a flat roof would pond", "1. Lay the ring", "1. Stand the front",
        "First build, once: 1 step, about 1.5 hours", "16 bricks",
    ):
        assert words in flat, words


def test_summary_names_failing_checks_with_the_way_out() -> None:
    def check(name: str, utilisation: float, way_out: str = "") -> Check:
        return Check(
            name, name, utilisation, 1.0, "kN", utilisation, "clause", "memory", way_out=way_out
        )

    checks = [check("snow on the roof", 0.4), check("wind on the front", 1.3, "add a mullion"), *(
        check(f"check {i}", 0.1 + i / 100) for i in range(9)
    )]
    text = summary(DESIGN, PLANS, checks)
    tight = text.index("1.30  FAILS  wind on the front")
    assert tight < text.index("add a mullion") < text.index("0.40  good   snow on the roof")
    assert "and 3 more" in text
    assert "licensed engineer" in text
    assert "Checks" not in summary(DESIGN, PLANS)


def test_a_shelter_without_plans_still_has_a_summary() -> None:
    text = summary(replace(DESIGN, warnings=(), steps=()), Plans((), (), ()))
    assert "Cost" not in text
    assert "Cutting" not in text
    assert text.endswith("\n")
    assert not text.endswith("\n\n")


def test_the_same_bytes_whatever_the_hash_seed(folder: Path, tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from tests.hand_made import small_design as d\n"
        "from tests.hand_plans import small_plans as p; from enclosure.outputs.tables import write_tables\n"
        "assert 'xlsxwriter' not in sys.modules; write_tables(d(), p(), Path(sys.argv[1]))"
    )
    environment = {"PYTHONHASHSEED": "8"}
    subprocess.run([sys.executable, "-c", script, str(tmp_path)], check=True, cwd=ROOT, env=environment)
    assert sorted(path.name for path in folder.iterdir()) == [
        "buying-list.csv", "cut-list.csv", "lists.xlsx", "plan.json", "summary.txt"
    ]
    for path in folder.iterdir():
        assert path.read_bytes() == (tmp_path / path.name).read_bytes(), path.name
    assert workbook(DESIGN, PLANS) == (folder / "lists.xlsx").read_bytes()
    assert plan_json(PLANS) == (folder / "plan.json").read_text()
    with zipfile.ZipFile(folder / "lists.xlsx") as archive:
        assert {entry.date_time[0] for entry in archive.infolist()} == {1980}


def test_a_folder_that_is_not_there_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_tables(DESIGN, PLANS, tmp_path / "missing")
