"""Do case files come in exactly, and do plans go out so that others can check them?"""

from __future__ import annotations

import json
import subprocess
import sys
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from enclosure.errors import BriefError
from enclosure.nesting.__main__ import main
from enclosure.nesting.casefile import read_cases
from enclosure.nesting.model import SheetJob, StickJob

pytestmark = pytest.mark.regression

CASES = {
    "two_d": [{"name": "plain", "bins": [[10, 8, 1, None]], "items": [[7, 3, 2], [2, 5, 3]], "kerf": 0}],
    "instances": [
        {
            "name": "house", "unit": "mm", "kerf": 3.2, "trim": 5, "oriented": True,
            "bins": [[1219, 2438, 45.71, None]], "offcuts": [[866, 1601, 0.0, 1]],
            "items": [[600, 1100.5, 3], [400, 700, 2]],
        }
    ],
    "sticks": [
        {
            "name": "rails", "unit": "mm", "kerf": 3.2, "stock": [[2438.4, 10.58, None]],
            "offcuts": [[1300, 0, 1]], "items": [[1216.1, 2], [600, 3]],
        }
    ],
}  # fmt: skip


@pytest.fixture
def case_file(tmp_path: Path) -> Path:
    path = tmp_path / "cases.json"
    path.write_text(json.dumps(CASES), encoding="utf-8")
    return path


def test_decimals_are_read_exactly(case_file: Path) -> None:
    jobs = {case.name: case for case in read_cases(case_file)}
    house = jobs["house"].job
    assert isinstance(house, SheetJob)
    assert (house.kerf, house.kinds[0].height, house.sheets[0].price) == (32_000, 11_005_000, 4571)
    assert (house.sheets[0].trim, house.sheets[1].trim) == (50_000, 0)
    assert not any(kind.turnable for kind in house.kinds)
    rails = jobs["rails"].job
    assert isinstance(rails, StickJob)
    assert [part.length for part in rails.parts] == [12_161_000, 6_000_000]


def test_a_case_that_is_oriented_by_nature_never_turns(case_file: Path) -> None:
    modes = [(case.name, case.mode) for case in read_cases(case_file, modes=("oriented", "rotated"))]
    assert modes == [("plain", "oriented"), ("plain", "rotated"), ("house", "oriented"), ("rails", "")]


def _leaves(
    node: dict[str, Any], width: Fraction, height: Fraction, kerf: Fraction
) -> list[tuple[str, Fraction, Fraction]]:
    """Replay a printed tree in the file's own lengths, with nothing but the printed numbers."""
    assert (Fraction(str(node["width"])), Fraction(str(node["height"]))) == (width, height)
    if "cut" not in node:
        return [(node.get("part", ""), width, height)]
    at = Fraction(str(node["at"]))
    across = node["cut"] == "x"
    beyond = (width if across else height) - at - kerf
    found = _leaves(node["near"], at if across else width, height if across else at, kerf)
    if node["far"] is None:
        assert beyond <= 0
        return found
    return found + _leaves(node["far"], beyond if across else width, height if across else beyond, kerf)


def test_printed_plans_can_be_checked_by_anyone(case_file: Path) -> None:
    """The command prints nothing but JSON lines, and the trees replay to the parts of the file."""
    run = subprocess.run(
        [sys.executable, "-m", "enclosure.nesting", str(case_file), "--seconds", "2", "--json"],
        capture_output=True, text=True, check=True, timeout=120,
    )  # fmt: skip
    lines = [json.loads(line) for line in run.stdout.splitlines()]
    assert [line["name"] for line in lines] == ["plain", "house", "rails"]
    for line in lines:
        assert line["lower_bound"] <= line["price"]
        assert line["proved"] == (line["lower_bound"] == line["price"])
    case: dict[str, Any] = CASES["instances"][0]  # type: ignore[assignment]
    made: dict[str, int] = {}
    price = Fraction(0)
    for pattern in lines[1]["plan"]["patterns"]:
        source, index = pattern["sheet"][:-1].split("[")
        width, height, cost, _ = case[source][int(index)]
        trim = Fraction(str(pattern["trim"]))
        assert trim == (case["trim"] if source == "bins" else 0)
        price += Fraction(str(cost)) * pattern["copies"]
        for key, across, up in _leaves(pattern["root"], width - 2 * trim, height - 2 * trim, Fraction("3.2")):
            if key:
                item = case["items"][int(key[6:-1])]
                assert (across, up) == (Fraction(str(item[0])), Fraction(str(item[1])))
                made[key] = made.get(key, 0) + pattern["copies"]
    assert made == {"items[0]": 3, "items[1]": 2}
    assert price == Fraction(str(lines[1]["price"]))
    rails = lines[2]
    assert rails["price"] == 10.58 * sum(
        pattern["copies"] for pattern in rails["plan"]["patterns"] if pattern["stick"].startswith("stock")
    )


def test_the_command_says_what_cannot_be_read(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([str(tmp_path / "none.json"), "--json"]) == 2
    assert capsys.readouterr().err.startswith("error: ")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[]", "one JSON object"),
        ("{", "cannot be read"),
        ('{"two_d": [{"name": "x", "bins": [[1, 2, 3]], "items": []}]}', "case x of two_d is malformed"),
        ('{"two_d": [{"name": "x", "items": []}]}', "malformed"),
        ('{"sticks": [{"name": "x", "stock": [["a", 1, null]], "items": [[1, 1]]}]}', "malformed"),
        (
            '{"sticks": [{"name": "x", "unit": "mm", "stock": [[1.00001, 1, null]], "items": [[1, 1]]}]}',
            "finer than",
        ),
    ],
)
def test_malformed_files_are_refused(tmp_path: Path, text: str, words: str) -> None:
    path = tmp_path / "bad.json"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(BriefError, match=words):
        list(read_cases(path))


def test_a_case_without_a_plan_is_a_line_with_an_error(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = tmp_path / "short.json"
    path.write_text('{"sticks": [{"name": "x", "stock": [[5, 1, null]], "items": [[6, 1]]}]}', encoding="utf-8")
    assert main([str(path), "--json"]) == 1
    record = json.loads(capsys.readouterr().out)
    assert "longest clear stick" in record["error"]
