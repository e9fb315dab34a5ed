"""Does a design survive the trip to JSON and back, and is a bad file refused in words?"""

from __future__ import annotations

import dataclasses
import json
import subprocess
import sys
import types
from pathlib import Path
from typing import Any, Literal, Union, get_args, get_origin, get_type_hints

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from enclosure.errors import BriefError, FaultsError
from enclosure.shape import serial
from enclosure.shape.model import SCHEMA, Design, Fixing, Part, Prism, SheetCut, StickCut
from enclosure.shape.serial import from_json, to_json, upgrade
from tests.hand_made import small_design

TEXT = to_json(small_design())


def faults_of(tree: dict[str, Any]) -> list[tuple[str, str]]:
    with pytest.raises(FaultsError) as caught:
        from_json(json.dumps(tree))
    return [(fault.key, fault.allowed) for fault in caught.value.faults]


@pytest.fixture
def tree() -> dict[str, Any]:
    return json.loads(TEXT)  # type: ignore[no-any-return]


@pytest.mark.regression
def test_a_whole_design_comes_back_equal_and_writes_the_same_text() -> None:
    again = from_json(TEXT)
    assert again == small_design()
    assert to_json(again) == TEXT


# The strategies below are made from the types of the model alone, so that a new field
# is covered without a change here.
NUMBERS = st.floats(allow_nan=False, allow_infinity=False)


def of_type(hint: Any) -> st.SearchStrategy[Any]:
    origin, inner = get_origin(hint), get_args(hint)
    if hint is str:
        return st.text(max_size=8)
    if hint is float:
        return NUMBERS
    if hint is int:
        return st.integers()
    if hint is bool:
        return st.booleans()
    if hint is types.NoneType:
        return st.none()
    if origin is Literal:
        return st.sampled_from(inner)
    if origin in (Union, types.UnionType):
        return st.one_of([of_type(choice) for choice in inner])
    if origin is tuple and inner[-1] is Ellipsis:
        return st.lists(of_type(inner[0]), max_size=3).map(tuple)
    if origin is tuple:
        return st.tuples(*(of_type(choice) for choice in inner))
    if hint is Prism:
        return PRISMS
    hints = get_type_hints(hint)
    return st.builds(hint, **{name: of_type(kind) for name, kind in hints.items()})


PRISMS = st.builds(
    Prism,
    origin=st.tuples(NUMBERS, NUMBERS, NUMBERS),
    u=st.just((0.0, -1.0, 0.0)),
    v=st.just((0.0, 0.0, 1.0)),
    outline=st.tuples(st.floats(1, 5000), st.floats(1, 5000)).map(lambda s: ((0.0, 0.0), (s[0], 0.0), s)),
    depth=st.floats(0.1, 5000),
)


@pytest.mark.regression
@settings(max_examples=60, suppress_health_check=[HealthCheck.too_slow], deadline=None)
@given(
    parts=st.lists(of_type(Part), max_size=4, unique_by=lambda part: part.mark),
    fixings=of_type(tuple[Fixing, ...]),
    name=st.text(),
    numbers=st.tuples(NUMBERS, NUMBERS, NUMBERS),
    warnings=of_type(tuple[str, ...]),
)
def test_any_design_comes_back_exactly(
    parts: list[Part], fixings: Any, name: str, numbers: Any, warnings: Any
) -> None:
    base = small_design()
    known = base.materials[0].key
    design = dataclasses.replace(
        base,
        parts=tuple(dataclasses.replace(part, material=known) for part in parts),
        fixings=fixings, name=name, clear_mm=numbers, warnings=warnings,
    )
    again = from_json(to_json(design))
    assert again == design
    assert repr(again) == repr(design)  # the sign of a zero too


def test_text_is_the_same_whatever_the_hash_seed() -> None:
    script = (
        "from tests.hand_made import small_design; from enclosure.shape.serial import to_json\n"
        "print(to_json(small_design()), end='')"
    )
    for seed in ("1", "77"):
        run = subprocess.run(
            [sys.executable, "-c", script], env={"PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
            capture_output=True, check=True, encoding="utf-8", cwd=Path(__file__).parents[1],
        )
        assert run.stdout == TEXT


def test_a_small_item_takes_one_line_and_no_line_is_wide() -> None:
    lines = TEXT.splitlines()
    assert max(map(len, lines)) <= 2 * serial.LINE_WIDTH
    assert sum('"key": "top_tape"' in line and '"amount": 2.71' in line for line in lines) == 1
    plant = dataclasses.replace(small_design().plant, winters=4)
    other = to_json(dataclasses.replace(small_design(), plant=plant)).splitlines()
    assert sum(one != two for one, two in zip(lines, other, strict=True)) == 1


def test_a_whole_number_in_a_length_is_written_and_read_as_a_length() -> None:
    design = dataclasses.replace(small_design(), clear_mm=(780, 700, 1200))
    assert to_json(design) == TEXT
    again = from_json(TEXT.replace("[780.0, 700.0, 1200.0]", "[780, 700, 1200]"))
    assert again == small_design()
    assert all(type(side) is float for side in again.clear_mm)


def test_numbers_that_are_not_finite_are_refused_both_ways(tree: dict[str, Any]) -> None:
    with pytest.raises(BriefError, match="not finite"):
        to_json(dataclasses.replace(small_design(), fall_deg=float("nan")))
    with pytest.raises(FaultsError, match="finite number"):
        from_json(TEXT.replace('"fall_deg": 8.', '"fall_deg": NaN, "x": 8.'))
    tree["fall_deg"] = 10**400
    assert ("fall_deg", "must be a finite number") in faults_of(tree)


def test_all_faults_are_reported_at_once(tree: dict[str, Any]) -> None:
    tree["colour"] = "blue"
    del tree["people"]
    tree["plant"]["winters"] = 2.5
    tree["clear_mm"] = [1.0, 2.0]
    tree["parts"][0]["face"] = "TOP"
    tree["parts"][1]["cut"]["from"] = "roll"
    tree["parts"][2]["lift_out"] = 1
    tree["frames"][0]["outline"][1] = "corner"
    keys = {key for key, _ in faults_of(tree)}
    assert keys == {
        "colour", "people", "plant.winters", "clear_mm", "parts[0].face", "parts[1].cut.from",
        "parts[2].lift_out", "frames[0].outline[1]",
    }


def test_what_no_type_can_say_is_checked(tree: dict[str, Any]) -> None:
    tree["parts"][3]["mark"] = tree["parts"][0]["mark"]
    tree["parts"][4]["material"] = "balsa"
    tree["parts"][5]["solids"][0]["depth"] = 0.0
    tree["parts"][6]["solids"][0]["outline"].reverse()
    tree["steps"][1]["after"] = ["roof"]
    assert faults_of(tree) == [
        ("parts[3].mark", "this mark belongs to another part already"),
        ("parts[4].material", "must be one of film, ply_9, stick_38x60, twin_10, u_10"),
        ("parts[5].solids[0]", "its depth must be greater than 0"),
        ("parts[6].solids[0]", "its outline must be a polygon that runs counter-clockwise"),
        ("steps[1].after", "must be the key of an earlier step"),
    ]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"),
        ("{", "design.json:1: not JSON"),
        ("[1]", "not one JSON object"),
        ("{}", "no whole number under 'schema'"),
        ('{"schema": true}', "no whole number under 'schema'"),
        ('{"schema": 99}', "reads up to 2"),
        ('{"schema": 0}', "cannot bring up to 2"),
        ('{"schema": 2, "schema": 2}', "this key stands twice"),
        ('{"schema": 2, "name": ' + "9" * 5000 + "}", "too many digits"),
        ("[" * 100_000, "nested too deeply"),
        ("\x00\x01", "not JSON"),
    ],
)
def test_a_bad_file_gets_words_and_not_a_traceback(text: str, words: str) -> None:
    with pytest.raises(BriefError, match=words) as caught:
        from_json(text)
    assert caught.value.exit_code == 2


def test_older_versions_climb_one_step_at_a_time() -> None:
    def split_the_name(old: dict[str, Any]) -> dict[str, Any]:
        return {**old, "name": old["title"] + "!"}

    def rename_title(old: dict[str, Any]) -> dict[str, Any]:
        return {"title": old["label"], "kept": old["kept"]}

    steps = {1: rename_title, 2: split_the_name}
    up = upgrade({"schema": 1, "label": "fig", "kept": 5}, steps, "old.json", newest=3)
    assert up == {"schema": 3, "title": "fig", "name": "fig!", "kept": 5}
    with pytest.raises(BriefError, match="version 1, which this program cannot"):
        upgrade({"schema": 1}, {2: split_the_name}, "old.json", newest=3)


def test_an_older_file_is_read_through_its_upgrade(tree: dict[str, Any]) -> None:
    tree["schema"] = SCHEMA - 1
    tree["title"] = tree.pop("name")

    def rename_title(old: dict[str, Any]) -> dict[str, Any]:
        return {("name" if key == "title" else key): value for key, value in old.items()}

    assert from_json(json.dumps(tree), upgrades={SCHEMA - 1: rename_title}) == small_design()


def test_a_file_of_version_1_was_english(tree: dict[str, Any]) -> None:
    del tree["language"]
    assert from_json(json.dumps({**tree, "schema": 1})).language == "en"


def test_every_class_of_a_union_in_the_model_has_a_tag() -> None:
    assert set(get_args(get_type_hints(Part)["cut"])) == {StickCut, SheetCut} == set(serial._TAGS)
    assert next(iter(get_type_hints(Design))) == "schema"
