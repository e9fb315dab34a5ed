"""Is a brief read as the grower means it, and is every fault shown at once with its line?"""

from __future__ import annotations

import contextlib
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.model import Brief, Plant, Window
from enclosure.brief.read import read_all, read_all_text, read_brief
from enclosure.errors import BriefError, Fault, FaultsError
from enclosure.files.lines import key_lines
from enclosure.templates_home import find_template, template_names

FERN = find_template("briefs", "tree-fern")
TEXT = FERN.read_text(encoding="utf-8")


def changed(old: str, new: str) -> str:
    assert TEXT.count(old) == 1, old
    return TEXT.replace(old, new)


def faults_of(text: str, name: str = "my.toml") -> tuple[Fault, ...]:
    with pytest.raises(FaultsError) as caught:
        read_all_text(text, Path(name))
    return caught.value.faults


def line_with(text: str, words: str) -> int:
    return next(number for number, line in enumerate(text.splitlines(), 1) if words in line)


@pytest.mark.parametrize("name", template_names("briefs"))
def test_shipped_briefs_read(name: str) -> None:
    brief, site, stock = read_all(find_template("briefs", name))
    assert brief.skin.front in stock.skins
    assert brief.frame.section in stock.timbers
    assert site.design_min_degc < 0


def test_there_are_five_scenarios() -> None:
    assert len(template_names("briefs")) >= 5
    kinds = {read_brief(find_template("briefs", name)).roof.kind for name in template_names("briefs")}
    assert {"mono", "gable"} <= kinds


def test_lead_example_by_hand() -> None:
    brief = read_brief(FERN)
    # 6 ft 3 in = 75 in = 1905 mm; 30 in = 762 mm; 4 in = 101.6; 5 1/2 in = 139.7; 10 in = 254
    assert brief.plant.height_mm == 1905
    assert (brief.plant.spread_x_mm, brief.plant.growth_height_mm) == (762, 25.4)
    assert brief.clearance.side == Window(least_mm=101.6, most_mm=139.7)
    assert brief.clearance.top.least_mm == brief.clearance.top.most_mm == 101.6
    assert brief.plant.limit_degc == -5  # 23 degF
    assert brief.front_bearing_deg == 180
    assert brief.bed is not None
    assert brief.bed.depth_mm == 254
    assert brief.skin.roof == brief.skin.left == "twin-wall-10"


def test_open_spread_and_share() -> None:
    lemon = read_brief(find_template("briefs", "potted-lemon"))
    assert lemon.plant.spread_x_mm == 750  # 1.0 m tied to 75 %


def test_strings_of_bulbs_are_added_up() -> None:
    lemon = read_brief(find_template("briefs", "potted-lemon"))
    assert lemon.heat is not None
    assert lemon.heat.watts == 25 * 7  # by hand
    assert Brief.model_validate(lemon.model_dump()) == lemon
    two = lemon.heat.model_dump(exclude={"watts"}) | {"strings": 2}
    assert type(lemon.heat).model_validate(two).watts == 2 * 25 * 7


def test_models_take_numbers_in_their_own_unit_from_programs() -> None:
    plant = Plant(name="olive", height_mm=2000, spread_x_mm=900, spread_y_mm=900.0)
    assert plant.height_mm == 2000.0
    assert Brief.model_validate(read_brief(FERN).model_dump()) == read_brief(FERN)


def test_models_are_frozen() -> None:
    with pytest.raises(ValueError, match="frozen"):
        read_brief(FERN).plant.height_mm = 1.0  # type: ignore[misc]


@pytest.mark.parametrize(
    ("old", "new", "key", "words", "hint"),
    [
        ('height = "6 ft 3 in"', "height = 1905", "plant.height", "no unit", "mm, cm, m, in, ft"),
        ('height = "6 ft 3 in"', 'height = "1905"', "plant.height", "no unit", "mm, cm, m, in, ft"),
        ('height = "6 ft 3 in"', 'height = "40 m"', "plant.height", "from 100 mm to 8 m", ""),
        ('height = "6 ft 3 in"', "height = nan", "plant.height", "finite", "mm"),
        ('height = "6 ft 3 in"', 'height = "nan m"', "plant.height", "finite", "mm"),
        ('height = "6 ft 3 in"', 'hight = "6 ft 3 in"', "plant.hight", "not a key", "did you mean height?"),
        ('growth_height = "1 in"', 'growth_height = "-1 in"', "plant.growth_height", "from 0 mm", ""),
        ("winters = 5", "winters = 0", "winters", "from 1 to 40", ""),
        ("winters = 5", "winters = true", "winters", "whole number", ""),
        ("winters = 5", "winters = 2.5", "winters", "whole number", ""),
        ("winters = 5", 'winters = "5"', "winters", "whole number", ""),
        (
            'least = "4 in", most = "5 1/2 in"',
            'least = "6 in", most = "5 in"',
            "clearance.side",
            "upside down",
            "exchange",
        ),
        ('kind = "mono"', 'kind = "momo"', "roof.kind", "flat, mono, gable", 'did you mean "mono"?'),
        ('fall = "10 deg"', 'fall = "2 deg"', "roof", "at least 5 deg", ""),
        ('falls_to = "back"', 'falls_to = "bakc"', "roof.falls_to", "one of", 'did you mean "back"?'),
        (
            'all = "twin-wall-10"',
            'all = "twinwall-10"',
            "skin.all",
            "not among the skins",
            'did you mean "twin-wall-10"?',
        ),
        (
            '[frame]\nsection = "2x3"',
            '[frame]\nsection = "2 x 3"',
            "frame.section",
            "not among the timbers",
            'did you mean "2x3"?',
        ),
        (
            'gusset = "ply-9"',
            'gusset = "play-9"',
            "frame.gusset",
            "not among the boards",
            'did you mean "ply-9"?',
        ),
        (
            'brick = "modular"',
            'brick = "moduler"',
            "base_ring.brick",
            "not among the bricks",
            'did you mean "modular"?',
        ),
        (
            'site = "cold-inland.toml"',
            'site = "cold-inlnd.toml"',
            "site",
            "neither beside",
            'did you mean "cold-inland.toml"?',
        ),
        ('stock = "inch-stock.toml"', 'stock = "inches.toml"', "stock", "neither beside", "inch-stock.toml"),
        (
            'labels = "letter-2x5"',
            'labels = "letter-2x6"',
            "papers.labels",
            "not a label sheet",
            "letter-2x5",
        ),
        ('cord = "awg-14"', 'cord = "awg14"', "heat.cord", "not a cord", 'did you mean "awg-14"?'),
        ('watts = "1400 W"', 'watts = "1400 W"\nbulbs = 25', "heat", "say the power twice", "leave watts out"),
        ('watts = "1400 W"', 'bulbs = 25', "heat", "bulbs and bulb_watts go together", "bulb_watts ="),
        ('watts = "1400 W"', 'bulbs = 25\nbulb_watts = "7 W"', "heat", "need the source light string", "without bulbs"),
        (
            'source = "fan heater"',
            'source = "propane heater"',
            "heat.source",
            "a flame in a closed shelter makes carbon monoxide",
            "opening for combustion air, a carbon monoxide alarm",
        ),
        ('front_faces = "S"', 'front_faces = "SX"', "front_faces", "compass point", "SSE"),
        ('share = "15 %"', "share = 0.15", "vent.share", "no unit", "%"),
        ("posts = 6", "posts = 25", "anchors.posts", "from 0 to 24", "write a number"),
        ("posts = 6", "posts = 1", "anchors.posts", "one post does not hold a shelter", "stakes = 4"),
        ("posts = 6", "posts = 0", "anchors.posts", "no posts and no stakes", "leave posts out"),
        ("posts = 6", "stakes = 5", "anchors.stakes", "0, 4, 8 or 12", "stakes = 8"),
        ("posts = 6", "stakes = 13", "anchors.stakes", "from 0 to 12", ""),
        ("posts = 6", "stakes = 4.0", "anchors.stakes", "whole number", ""),
        ("posts = 6", 'wire_slope = "80 deg"', "anchors.wire_slope", "from 20 deg to 70 deg", ""),
        ("posts = 6", "wire_slope = 45", "anchors.wire_slope", "no unit", "deg"),
        ("posts = 6", 'stake_depth = "5 cm"', "anchors.stake_depth", "from 300 mm to 1.5 m", ""),
        ('ties = "low"', 'ties = "lwo"', "anchors.ties", "one of both, low", 'did you mean "low"?'),
        ('depth = "50 in"', 'depth = "50"', "anchors.depth", "no unit", "in"),
        ("brace_screws = 3", "brace_screws = 7", "frame.brace_screws", "from 2 to 6", ""),
        ("tent = true", 'tent = "yes"', "heat.tent", "true or false", ""),
        ('name = "tree fern"\nsite', "name = 3\nsite", "name", "text", ""),
    ],
)
def test_one_fault(old: str, new: str, key: str, words: str, hint: str) -> None:
    text = changed(old, new)
    faults = [fault for fault in faults_of(text) if fault.key == key]
    assert len(faults) == 1, faults_of(text)
    fault = faults[0]
    assert fault.file == "my.toml"
    near = f"[{key}]" if key in ("roof", "heat") else new.splitlines()[-1 if new.startswith("[frame]") else 0]
    assert fault.line == line_with(text, near)
    assert words in fault.allowed
    assert hint in fault.hint
    assert fault.hint
    assert not fault.allowed.endswith(".")


def test_a_flame_is_refused_before_its_bulbs_are_counted() -> None:
    text = changed('source = "fan heater"', 'source = "gas burner"').replace(
        'watts = "1400 W"', 'bulbs = 25\nbulb_watts = "7 W"'
    )
    (fault,) = faults_of(text)
    assert fault.key == "heat.source"
    assert "carbon monoxide" in fault.allowed


def test_all_faults_at_once() -> None:
    text = TEXT
    for old, new in (
        ("winters = 5", "winters = 0"),
        ('height = "6 ft 3 in"', "height = 1905"),
        ('spread_x = "30 in"', 'spread_x = "2,6 m"'),
        ('kind = "mono"', 'kind = "momo"'),
        ('[frame]\nsection = "2x3"', '[frame]\nsection = "2x5"'),
        ('units = "inch"', 'units = "inches"'),
        ("[vent]", "[vents]"),
    ):
        text = text.replace(old, new)
    faults = faults_of(text)
    keys = [fault.key for fault in faults]
    assert keys == [
        "winters",
        "plant.height",
        "plant.spread_x",
        "roof.kind",
        "frame.section",
        "vents",
        "papers.units",
    ]
    assert [fault.line for fault in faults] == sorted(fault.line for fault in faults)


def test_faults_of_all_three_files_together(tmp_path: Path) -> None:
    site = (
        find_template("sites", "cold-inland")
        .read_text(encoding="utf-8")
        .replace('soil = "garden"', 'soil = "gardn"')
    )
    stock = (
        find_template("stock", "inch-stock")
        .read_text(encoding="utf-8")
        .replace('squaring = "1/4 in"', "squaring = 6")
    )
    (tmp_path / "cold-inland.toml").write_text(site, encoding="utf-8")
    (tmp_path / "inch-stock.toml").write_text(stock, encoding="utf-8")
    (tmp_path / "brief.toml").write_text(TEXT.replace("winters = 5", "winters = 99"), encoding="utf-8")
    with pytest.raises(FaultsError) as caught:
        read_all(tmp_path / "brief.toml")
    assert [fault.key for fault in caught.value.faults] == ["winters", "soil", "saw.squaring"]
    assert [Path(fault.file).name for fault in caught.value.faults] == [
        "brief.toml",
        "cold-inland.toml",
        "inch-stock.toml",
    ]


def test_missing_keys_say_what_to_add() -> None:
    faults = faults_of('name = "x"\n')
    by_key = {fault.key: fault for fault in faults}
    assert {"site", "stock", "winters", "front_faces", "plant", "clearance", "roof", "skin", "frame"} == set(
        by_key
    )
    assert "[plant]" in by_key["plant"].hint
    assert "cold-inland.toml" in by_key["site"].hint


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "is empty"),
        (b"  \n\t\n", "is empty"),
        (bytes(range(256)) * 8, "not a text file"),
        (b"name = 1\0", "not a text file"),
        (b"#" * 10_000_000, "10.0 MB"),
        (b"a = " + b"[" * 5000 + b"]" * 5000, "nested"),
        (b"a = " + b"9" * 6000, "digits"),
        (b"name = fern\n", "not TOML"),
        (b"[plant]\nheight = 6' 3\"\n", "not TOML"),
        (b"winters = 1\nwinters = 2\n", "stands above"),
    ],
    ids=["empty", "blank", "binary", "nul", "10 MB", "deep", "long number", "bare word", "primes", "twice"],
)
def test_files_that_are_no_brief(tmp_path: Path, content: bytes, words: str) -> None:
    path = tmp_path / "brief.toml"
    path.write_bytes(content)
    with pytest.raises(FaultsError) as caught:
        read_all(path)
    (fault,) = caught.value.faults
    assert words in fault.allowed
    assert fault.hint
    assert caught.value.exit_code == 2


def test_paths_that_are_no_brief(tmp_path: Path) -> None:
    (tmp_path / "my-fern.toml").write_text(TEXT, encoding="utf-8")
    for path, words in (
        (tmp_path, "folder"),
        (tmp_path / "my-fren.toml", "does not exist"),
        (Path("/dev/null"), "not an ordinary"),
    ):
        with pytest.raises(FaultsError, match=words):
            read_all(path)
    with pytest.raises(FaultsError, match=r"did you mean my-fern\.toml"):
        read_all(tmp_path / "my-fren.toml")


def test_windows_line_ends_and_byte_order_mark(tmp_path: Path) -> None:
    path = tmp_path / "brief.toml"
    path.write_bytes(b"\xef\xbb\xbf" + TEXT.replace("\n", "\r\n").encode())
    assert read_all(path)[0] == read_brief(FERN)


@settings(max_examples=25)
@given(st.text(max_size=60), st.sampled_from(["height", "spread_x", "growth_height", "crown", "limit"]))
def test_any_text_in_a_quantity_gives_a_model_or_faults(said: str, key: str) -> None:
    quoted = "".join(f"\\U{ord(sign):08x}" for sign in said if not 0xD800 <= ord(sign) <= 0xDFFF)
    lines = [f'{key} = "{quoted}"' if line.startswith(f"{key} =") else line for line in TEXT.splitlines()]
    with contextlib.suppress(BriefError):  # any other error is a failure
        read_all_text("\n".join(lines), Path("my.toml"))


def test_line_numbers_inside_tables_and_lists() -> None:
    text = (
        'a = 1\n[b]\nc = { d = "x", e = [1,\n 2] }\n"f g" = """\nlong\n"""\n'
        "[[h]]\ni = 1\n[[h]]\ni = 2\n[b.j]\nk.l = 3\n"
    )
    lines = key_lines(text)
    expected = {
        ("a",): 1, ("b",): 2, ("b", "c"): 3, ("b", "c", "d"): 3, ("b", "c", "e", 1): 4, ("b", "f g"): 5,
        ("h", 0, "i"): 9, ("h", 1): 10, ("h", 1, "i"): 11, ("b", "j"): 12, ("b", "j", "k", "l"): 13,
    }  # fmt: skip
    assert {path: lines.get(path) for path in expected} == expected
