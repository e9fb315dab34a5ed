"""Is a stock list read, do its parts fit together, and do the shipped lists hold up?"""

from __future__ import annotations

from pathlib import Path

import pytest

from enclosure.errors import FaultsError
from enclosure.sources import split_source
from enclosure.stock.model import HARDWARE_NEEDED, Stock
from enclosure.stock.read import read_stock
from enclosure.tables.read import row
from enclosure.templates_home import find_template, template_names

NAMES = template_names("stock")
INCH = find_template("stock", "inch-stock").read_text(encoding="utf-8")


def stock_with(tmp_path: Path, old: str, new: str) -> Path:
    assert old in INCH, old
    path = tmp_path / "stock.toml"
    path.write_text(INCH.replace(old, new, 1), encoding="utf-8")
    return path


@pytest.fixture(params=NAMES)
def stock(request: pytest.FixtureRequest) -> Stock:
    return read_stock(find_template("stock", request.param))


def test_both_lists_are_shipped() -> None:
    assert {"inch-stock", "metric-stock"} <= set(NAMES)


def test_prices_are_marked_as_invented(stock: Stock) -> None:
    assert "invented" in stock.prices_note


def test_every_skin_held_in_track_has_its_track(stock: Stock) -> None:
    for skin in stock.skins.values():
        if skin.fixing == "track":
            for kind in ("edge", "joiner"):
                widths = [t.slot_width_mm for t in stock.tracks.values() if t.kind == kind]
                assert any(0 < width - skin.thickness_mm <= 2.5 for width in widths), (skin.key, kind)


def test_slots_are_deep_enough_for_a_tall_cold_panel(stock: Stock) -> None:
    # 2.4 m twin-wall cut at 20 degC: hottest 50 degC needs 0.5 * 65e-6 * 2400 * 30 = 2.34 + 0.5 mm of
    # clearance an end; at -30 degC it shrinks 65e-6 * 2400 * 50 = 7.8 mm, all of which may come at one
    # end together with both clearances: cover = depth - 2 * 2.84 - 7.8 = depth - 13.5 >= 12
    for track in stock.tracks.values():
        if track.slot_width_mm > 6:
            assert track.slot_depth_mm - 2 * 2.84 - 7.8 >= 12


def test_hardware_is_complete(stock: Stock) -> None:
    assert set(HARDWARE_NEEDED) <= set(stock.hardware)


def test_keys_are_those_of_the_tables(stock: Stock) -> None:
    assert all(skin.key == key for key, skin in stock.skins.items())
    assert all(track.key == key for key, track in stock.tracks.items())


def test_skins_asked_for(stock: Stock) -> None:
    assert {
        "film-single",
        "film-double",
        "foam-25",
        "foam-50",
        "twin-wall-6",
        "twin-wall-8",
        "twin-wall-10",
    } <= set(stock.skins)
    assert {"triple-wall-16", "acrylic-3", "glass-4"} <= set(stock.skins)
    assert stock.skins["film-double"].layers == 2
    for skin in stock.skins.values():
        split_source(skin.source)


def test_larger_sheets_cost_more(stock: Stock) -> None:
    for skin in stock.skins.values():
        by_area = sorted(skin.sizes, key=lambda size: size.width_mm * size.height_mm)
        assert [size.price for size in by_area] == sorted(size.price for size in by_area)


@pytest.mark.published(
    source="NDS Supplement table 1A as coded in an open finite element library",
    where="dry dressed sizes",
    printed="2x2 1.5 x 1.5 in, 2x4 1.5 x 3.5 in",
)
def test_inch_timber_is_dressed() -> None:
    timbers = read_stock(find_template("stock", "inch-stock")).timbers
    for key in ("1x2", "2x2", "2x3", "2x4", "4x4"):
        cells = row("dressed_timber", key)
        assert timbers[key].thickness_mm == pytest.approx(float(cells["thickness_in"]) * 25.4)
        assert timbers[key].width_mm == pytest.approx(float(cells["width_in"]) * 25.4)


@pytest.mark.published(
    source="fact sheet quoting ASAE EP406",
    where="U of coverings",
    printed="double film 0.70, 8 mm double-wall 0.58, triple-wall 0.38 Btu/h ft2 F",
)
def test_u_values_lie_near_the_printed_ones(stock: Stock) -> None:
    for key, printed in (("film-double", 0.70), ("twin-wall-8", 0.58), ("triple-wall-16", 0.38)):
        assert stock.skins[key].u_value_w_m2k == pytest.approx(printed * 5.678, rel=0.12)


@pytest.mark.published(
    source="general materials tables",
    where="linear expansion",
    printed="polycarbonate 65, acrylic 68-75, glass 9 (1e-6/K)",
)
def test_expansion(stock: Stock) -> None:
    assert stock.skins["twin-wall-10"].alpha_1e6_k == 65
    assert 68 <= stock.skins["acrylic-3"].alpha_1e6_k <= 75
    assert stock.skins["glass-4"].alpha_1e6_k == 9


@pytest.mark.published(source="EN ISO 10077-2 extract", where="soda-lime glass", printed="2500 kg/m3")
def test_glass_mass(stock: Stock) -> None:
    assert stock.skins["glass-4"].mass_kg_m2 == 2500 * 0.004


@pytest.mark.published(
    source="brick size pages",
    where="modular brick",
    printed="7 5/8 x 3 5/8 x 2 1/4 in; UK 215 x 102.5 x 65 mm",
)
def test_bricks() -> None:
    inch = read_stock(find_template("stock", "inch-stock")).bricks["modular"]
    assert (inch.length_mm, inch.width_mm, inch.height_mm) == pytest.approx((193.675, 92.075, 57.15))
    metric = read_stock(find_template("stock", "metric-stock")).bricks["standard"]
    assert (metric.length_mm, metric.width_mm, metric.height_mm) == (215, 102.5, 65)


@pytest.mark.parametrize(
    ("old", "new", "key", "words"),
    [
        ("[hardware.hinge]", "[hardware.hinges]", "hardware.hinge", "is missing"),
        ('thickness = "6 mm"', "thickness = 6", "skins.twin-wall-6.thickness", "no unit"),
        ("flutes = true", "flutes = false", "skins.twin-wall-6", "flutes"),
        ('thickness = "1 1/2 in"\nwidth = "2 1/2 in"', 'thickness = "2 1/2 in"\nwidth = "1 1/2 in"',
         "timbers.2x3", "thicker"),
        ("price = 41.50", "price = -1", "skins.twin-wall-6.sizes[0].price", "a price from 0"),
        ('source = "handbook: expansion', 'source = "expansion', "skins.twin-wall-6.source", "kind of"),
        ('kind = "multiwall"', 'kind = "multi-wall"', "skins.twin-wall-6.kind", "one of"),
        ("sheets = []", 'sheets = [{ material = "twin-wal-6", width = "2 ft", height = "4 ft" }]',
         "rack.sheets[0].material", "not among"),
        ("sticks = []",
         'sticks = [{ material = "2x2", length = "6 ft",'
         ' defects = [{ start = "5 in", end = "1 in" }] }]',
         "rack.sticks[0].defects[0]", "ends before"),
        ('trim = "1/8 in"', 'trim = "24 in"', "skins.twin-wall-6.sizes[0].trim", "from 0 mm"),
        ('slot_depth = "30 mm"', 'slot_dept = "30 mm"', "tracks.edge-4.slot_dept", "not a key"),
    ],
)  # fmt: skip
def test_one_fault(tmp_path: Path, old: str, new: str, key: str, words: str) -> None:
    with pytest.raises(FaultsError) as caught:
        read_stock(stock_with(tmp_path, old, new))
    faults = [fault for fault in caught.value.faults if fault.key == key]
    assert len(faults) == 1, caught.value.faults
    assert words in faults[0].allowed
    assert faults[0].hint
    assert faults[0].line > 0


def test_rack_is_read(tmp_path: Path) -> None:
    path = stock_with(
        tmp_path,
        "sheets = []",
        'sheets = [{ material = "twin-wall-6", width = "20 in", height = "5 ft", copies = 2 }]',
    )
    rack = read_stock(path).rack
    assert (rack.sheets[0].width_mm, rack.sheets[0].height_mm, rack.sheets[0].copies) == (508, 1524, 2)


@pytest.mark.parametrize("name", template_names("labels"))
def test_label_sheet_files_agree_with_the_table(name: str) -> None:
    import tomllib

    from enclosure.units import parse_length

    told = tomllib.loads(find_template("labels", name).read_text(encoding="utf-8"))
    cells = row("label_sheets", name)
    for key in ("cell_width", "cell_height", "top", "left", "gap_across", "gap_down"):
        assert float(parse_length(told[key])) == pytest.approx(float(cells[f"{key}_mm"]), abs=1e-3)
    assert (told["columns"], told["rows"], told["paper"]) == (
        int(cells["columns"]),
        int(cells["rows"]),
        cells["paper"],
    )


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("[tracks.edge-10]", "[tracks.2x2]", "has the name of one of the timbers"),
        ("[boards.ply-9]", "[boards.twin-wall-10]", "has the name of one of the skins, and another thickness"),
    ],
)
def test_one_name_is_one_good(old: str, new: str, words: str, tmp_path: Path) -> None:
    """Plans, lists and the rack go by names: two goods of one name would be cut from each other's sheets."""
    text = find_template("stock", "metric-stock").read_text(encoding="utf-8")
    assert old in text
    (tmp_path / "mine.toml").write_text(text.replace(old, new), encoding="utf-8")
    with pytest.raises(FaultsError, match=words) as caught:
        read_stock(tmp_path / "mine.toml")
    assert "give it another name" in str(caught.value)
