"""Do the tables hold what was published, inside their bounds, with a source in every row?"""

from __future__ import annotations

import math

import pytest

from enclosure.errors import RangeError
from enclosure.sources import SourceKind, split_source
from enclosure.tables import read
from enclosure.tables.read import BOUNDS, keys, number, row, table, table_names, zone_low_degc

NAMES = table_names()


def test_all_tables_are_found() -> None:
    assert len(NAMES) >= 8
    assert set(NAMES) == set(BOUNDS)


@pytest.mark.parametrize("name", NAMES)
def test_rows_are_sourced_and_bounded(name: str) -> None:
    rows = table(name)
    assert rows
    assert len(set(keys(name))) == len(rows)
    for cells in rows:
        assert cells["source"].strip()
        SourceKind(cells["source_kind"])
        for column, (least, most) in BOUNDS[name].items():
            value = number(cells, column)
            assert value is None or (math.isfinite(value) and least <= value <= most)
    numeric = {
        column for column in rows[0] if column.rsplit("_", 1)[-1] in {"mm", "mpa", "in", "psf", "degf", "k"}
    }
    assert numeric <= set(BOUNDS[name]), "every column of numbers needs bounds"


def test_a_bad_row_is_refused(monkeypatch: pytest.MonkeyPatch, tmp_path: object) -> None:
    from pathlib import Path

    home = Path(str(tmp_path))
    monkeypatch.setattr(read, "_HOME", home)
    for bad in ("5b,-15,-10,,published", "5b,-15,-10,somewhere,guess", "5b,-150,-10,somewhere,published"):
        (home / "zones.csv").write_text(
            f"zone,low_degf,high_degf,source,source_kind\n{bad}\n", encoding="utf-8"
        )
        table.cache_clear()
        with pytest.raises(RangeError):
            table("zones")
    table.cache_clear()


@pytest.mark.published(
    source="USDA Plant Hardiness Zone Map",
    where="list of half zones",
    printed="5a -20 to -15 F (-28.9 to -26.1 C) ... 26 half zones of 5 F from -60 to 70 F",
)
def test_hardiness_zones() -> None:
    rows = table("zones")
    assert len(rows) == 26
    assert [cells["zone"] for cells in rows[:3]] == ["1a", "1b", "2a"]
    assert rows[-1]["zone"] == "13b"
    lows = [float(cells["low_degf"]) for cells in rows]
    assert lows[0] == -60
    assert float(rows[-1]["high_degf"]) == 70
    assert all(float(cells["high_degf"]) - float(cells["low_degf"]) == 5 for cells in rows)
    assert lows[1:] == [float(cells["high_degf"]) for cells in rows[:-1]]
    printed = {
        "4a": -34.4,
        "4b": -31.7,
        "5a": -28.9,
        "5b": -26.1,
        "6a": -23.3,
        "6b": -20.6,
        "7a": -17.8,
        "8b": -9.4,
        "9a": -6.7,
    }
    for zone, degc in printed.items():
        assert round(zone_low_degc(zone), 1) == degc


@pytest.mark.published(
    source="American Softwood Lumber Standard PS 20 rule as quoted on lumber pages",
    where="dry dressed sizes",
    printed="1 in: 3/4; 2 to 6 in nominal minus 1/2 in; 8 in and wider minus 3/4 in",
)
def test_dressed_sizes_follow_the_rule() -> None:
    for cells in table("dressed_timber"):
        nominal = [int(side) for side in cells["nominal"].split("x")]
        dressed = [side - 0.25 if side == 1 else side - 0.5 if side <= 6 else side - 0.75 for side in nominal]
        assert [float(cells["thickness_in"]), float(cells["width_in"])] == dressed


@pytest.mark.published(
    source="ISO 216",
    where="series A",
    printed="A4 210 x 297, A0 841 x 1189; each size is the next larger one halved",
)
def test_paper_sizes() -> None:
    sizes = {
        cells["paper"]: (float(cells["width_mm"]), float(cells["height_mm"])) for cells in table("papers")
    }
    assert sizes["A4"] == (210, 297)
    assert sizes["A0"] == (841, 1189)
    for larger, smaller in (("A0", "A1"), ("A1", "A2"), ("A2", "A3"), ("A3", "A4"), ("A4", "A5")):
        assert sizes[smaller] == (sizes[larger][1] // 2, sizes[larger][0])


@pytest.mark.published(
    source="ANSI/ASME Y14.1 size A", where="sheet sizes (from memory)", printed="8.5 x 11 in"
)
def test_letter_size() -> None:
    letter = row("papers", "Letter")
    assert (float(letter["width_mm"]), float(letter["height_mm"])) == pytest.approx((8.5 * 25.4, 11 * 25.4))


def test_label_sheets_close_with_their_paper() -> None:
    for cells in table("label_sheets"):
        paper = row("papers", cells["paper"])
        value = {column: float(cells[column]) for column in BOUNDS["label_sheets"]}
        across = (
            2 * value["left_mm"]
            + value["columns"] * value["cell_width_mm"]
            + (value["columns"] - 1) * value["gap_across_mm"]
        )
        down = (
            2 * value["top_mm"]
            + value["rows"] * value["cell_height_mm"]
            + (value["rows"] - 1) * value["gap_down_mm"]
        )
        assert across == pytest.approx(float(paper["width_mm"]), abs=0.02)
        assert down == pytest.approx(float(paper["height_mm"]), abs=0.02)


@pytest.mark.published(
    source="IBC 2012 table 1806.2 as printed in a geotechnical handbook",
    where="lateral bearing",
    printed="200, 150, 100 psf/ft",
)
def test_soils() -> None:
    assert [row("soils", soil)["lateral_psf_per_ft"] for soil in ("gravel", "sand", "clay")] == [
        "200",
        "150",
        "100",
    ]


def test_unknown_names_say_what_there_is() -> None:
    with pytest.raises(RangeError, match="zones"):
        table("nothing")
    with pytest.raises(RangeError) as caught:
        row("soils", "mud")
    assert "clay" in caught.value.hint


def test_a_source_says_its_kind() -> None:
    assert split_source("practice: habit") == (SourceKind.PRACTICE, "habit")
    for bad in ("habit", "guess: x", "memory:", ": x"):
        with pytest.raises(RangeError):
            split_source(bad)
