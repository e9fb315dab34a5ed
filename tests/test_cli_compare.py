"""Do `compare` and the doors of `check` (weather, report, proposal) answer plainly and leave no mess?"""

from __future__ import annotations

import csv
import io
import json
import math
import tomllib
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from enclosure.brief.change import changed_text, differences, with_values
from enclosure.brief.read import read_all, read_all_text
from enclosure.checks.weather import read_weather
from enclosure.cli.main import run
from enclosure.errors import BriefError
from enclosure.templates_home import find_template
from tests.shelters import changed

FERN = find_template("briefs", "tree-fern")


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    return tmp_path


def answer(capsys: pytest.CaptureFixture[str], *arguments: str) -> dict:
    assert run([*arguments, "--json"]) in (0, 3)
    return json.loads(capsys.readouterr().out)


# --- compare ------------------------------------------------------------------------------------


def test_the_star_marks_the_cheapest_that_lives(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    facts = answer(capsys, "compare", "tree-fern")
    alive = [one for one in facts["options"] if one["lives"] and not one["problem"]]
    assert alive
    for one in facts["options"]:
        assert one["total"] == pytest.approx(one["purchase"] + one["replacement"] + one["energy_cost"])
        assert one["lives"] == (not one["problem"] and one["lowest_degc"] <= facts["design_min_degc"] + 1e-9)
    cheapest = min(alive, key=lambda one: one["total"])
    assert facts["cheapest"] == cheapest["key"]
    assert run(["compare", "tree-fern"]) == 0
    lines = capsys.readouterr().out.splitlines()
    starred = [line for line in lines if line.startswith("*  ")]
    assert len(starred) == 1
    assert starred[0].endswith(cheapest["name"])
    assert f" {cheapest['total']:.0f} " in starred[0]
    assert len(lines[0]) < 100, "the numbers fit a terminal; names follow"
    assert list(here.iterdir()) == []


def test_discounting_is_the_annuity_of_the_textbooks(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Payments at the end of each of n years: worth (1 - (1 + i)^-n) / i yearly payments."""
    plain = answer(capsys, "compare", "tree-fern")
    rated = answer(capsys, "compare", "tree-fern", "--discount", "3 %")
    factor = (1.0 - 1.03 ** -plain["winters"]) / 0.03
    for one in rated["options"]:
        if not one["problem"]:
            assert one["energy_cost"] == pytest.approx(one["energy_winter_cost"] * factor)
    for one in plain["options"]:
        if not one["problem"]:
            assert one["energy_cost"] == pytest.approx(one["energy_winter_cost"] * plain["winters"])


def test_the_chart_is_written_whole_and_not_over_anything(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    for name, head in (("cost.png", b"\x89PNG"), ("cost.pdf", b"%PDF"), ("cost.svg", b"<?xml")):
        assert run(["compare", "tree-fern", "--chart", name]) == 0
        assert Path(name).read_bytes().startswith(head)
    before = Path("cost.png").read_bytes()
    Path("cost.png").write_bytes(b"mine")
    assert run(["compare", "tree-fern", "--chart", "cost.png"]) == 1
    assert Path("cost.png").read_bytes() == b"mine"
    assert run(["compare", "tree-fern", "--chart", "cost.png", "--force"]) == 0
    assert Path("cost.png").read_bytes() == before
    assert sorted(path.name for path in here.iterdir()) == ["cost.pdf", "cost.png", "cost.svg"]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["compare", "tree-fern", "--discount", "0.03"], 2, 'write for instance --discount "3 %"'),
        (["compare", "tree-fern", "--discount", "50 %"], 2, "0 % to 20 %"),
        (["compare", "tree-fern", "--chart", "cost.gif"], 1, ".png, .pdf, .svg"),
        (["compare", "tree-fern", "--chart", "none/cost.png"], 1, "there is no folder none"),
        (["compare", "tree-fren"], 2, "tree-fern"),
        (["check", "tree-fern", "--write", "new.toml"], 2, "--write needs --propose"),
        (["check", "tree-fern", "--propose", "--report", "r.pdf"], 2, "run the command twice"),
        (["check", "tree-fern", "--report", "none/r.pdf"], 1, "there is no folder none"),
        (["check", "tree-fern", "--weather", "none.csv"], 2, "none.csv cannot be read"),
        (["make", "tree-fern", "--year", "1066"], 2, "1970"),
    ],
)
def test_what_cannot_be_done_is_said_and_nothing_is_left(
    here: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], code: int, words: str
) -> None:
    assert run(arguments) == code
    said = capsys.readouterr()
    assert words in said.err
    assert said.err.startswith("error: ")
    assert "Traceback" not in said.err
    assert list(here.iterdir()) == []


# --- check --weather ------------------------------------------------------------------------------


def hours(colder: float = 0.0, months: range = range(1, 13)) -> str:
    """A plain file of hours: warmest at the end of July, coldest at the end of January."""
    out = io.StringIO()
    rows = csv.writer(out, lineterminator="\n")
    rows.writerow(("month", "day", "hour", "temperature_degc"))
    lengths = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    at = 0
    for month in range(1, 13):
        for day in range(1, lengths[month - 1] + 1):
            for hour in range(1, 25):
                if month in months:
                    year = 8.0 - 15.0 * math.cos(2 * math.pi * (at / 8760 - 0.08))
                    rows.writerow((month, day, hour, f"{year - colder:.1f}"))
                at += 1
    return out.getvalue()


def test_a_colder_file_needs_more_heat(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    heats = []
    for colder in (0.0, 3.0):
        Path("w.csv").write_text(hours(colder), encoding="utf-8")
        rows = answer(capsys, "check", "tree-fern", "--weather", "w.csv")
        row = next(one for one in rows if one["key"] == "season-energy")
        assert any(line["symbol"].startswith("hourly walk") for line in row["working"])
        heats.append(row["demand"])
    assert heats[1] > 1.1 * heats[0]
    plain = next(one for one in answer(capsys, "check", "tree-fern") if one["key"] == "season-energy")
    assert not any(line["symbol"].startswith("hourly walk") for line in plain["working"])


def test_a_year_is_turned_so_that_the_winter_lies_in_one_piece(here: Path) -> None:
    Path("w.csv").write_text(hours(), encoding="utf-8")
    weather = read_weather(Path("w.csv"))
    turned = weather.turned(200)
    assert turned.day[0] == 200
    assert turned.day[-1] == 199
    assert len(turned.day) == 8760
    for day in (1, 60, 200, 365):
        assert np.array_equal(turned.outside_degc[turned.day == day], weather.outside_degc[weather.day == day])
    part = weather.only(weather.day < 90)
    assert part.turned(200) is part


def test_files_that_do_not_fit_are_refused_with_the_place(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("july.csv").write_text(hours(months=range(7, 8)), encoding="utf-8")
    assert run(["check", "tree-fern", "--weather", "july.csv"]) == 2
    assert "july.csv holds no hour of the time in which the shelter stands" in capsys.readouterr().err
    lines = hours().splitlines()
    lines[40] = lines[40].rsplit(",", 1)[0] + ",warm"
    Path("w.csv").write_text("\n".join(lines), encoding="utf-8")
    assert run(["check", "tree-fern", "--weather", "w.csv"]) == 2
    said = capsys.readouterr().err
    assert "w.csv:41" in said
    assert "temperature_degc" in said


# --- check --report -------------------------------------------------------------------------------


def test_the_report_alone(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["check", "tree-fern", "--report", "r.pdf"]) == 0
    said = capsys.readouterr().out
    assert "wrote r.pdf" in said
    assert "local codes govern" in said
    pages = PdfReader("r.pdf").pages
    assert "Will it stand" in pages[0].extract_text()
    assert run(["check", "tree-fern", "--report", "r.pdf"]) == 1
    assert "is there already" in capsys.readouterr().err
    wrong = FERN.read_text(encoding="utf-8").replace("winters = 5", "winters = 0")
    Path("wrong.toml").write_text(wrong, encoding="utf-8")
    assert run(["check", "wrong.toml", "--report", "x.pdf"]) == 2
    assert sorted(path.name for path in here.iterdir()) == ["r.pdf", "wrong.toml"]


# --- check --propose ------------------------------------------------------------------------------


def weak_text() -> str:
    text = FERN.read_text(encoding="utf-8")
    changes = (("brace_screws = 3 ", "brace_screws = 2 "), ("posts = 6 ", "posts = 4 "), ('depth = "50 in" ', ""))
    for old, new in changes:
        assert text.count(old) == 1, old
        text = text.replace(old, new, 1)
    return text.replace('site = "cold-inland.toml"', 'site = "windy.toml"')


def windy() -> str:
    site = find_template("sites", "cold-inland").read_text(encoding="utf-8")
    assert site.count('gust = "') == 1
    head, _, tail = site.partition('gust = "')
    return f'{head}gust = "95 km/h"{tail.partition(chr(34))[2]}'


def test_a_proposal_is_written_with_its_notes_and_passes(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("windy.toml").write_text(windy(), encoding="utf-8")
    Path("weak.toml").write_text(weak_text(), encoding="utf-8")
    assert run(["check", "weak.toml", "-q"]) == 3
    facts = answer(capsys, "check", "weak.toml", "--propose", "--write", "strong.toml")
    assert max(facts["before"].values()) > 1.0
    assert facts["stands"]
    assert facts["lines"]
    assert all(use <= 1.0 for use in facts["after"].values())
    old, new = Path("weak.toml").read_text(encoding="utf-8"), Path("strong.toml").read_text(encoding="utf-8")
    notes = [line[line.index("#") :] for line in old.splitlines() if "#" in line]
    assert len(notes) > 20
    assert all(note in new for note in notes)
    touched = {key.rsplit(".", 1)[-1] for key in facts["lines"]}
    for line in set(new.splitlines()) - set(old.splitlines()):
        assert line.split("=")[0].strip() in touched, line
    for key, value in facts["lines"].items():
        table, _, last = key.partition(".")
        assert tomllib.loads(new)[table].get(last) == value
    rows = answer(capsys, "check", "strong.toml")
    over = [row["key"] for row in rows if not row["passes"] and not row["advice"]]
    assert over == [one["key"] for one in facts["left"]]
    assert not any(row["key"] in facts["before"] and not row["passes"] for row in rows)
    assert run(["check", "weak.toml", "--propose", "--write", "strong.toml"]) == 1
    assert "is there already" in capsys.readouterr().err
    assert Path("strong.toml").read_text(encoding="utf-8") == new


def test_a_proposal_in_words(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    Path("windy.toml").write_text(windy(), encoding="utf-8")
    Path("weak.toml").write_text(weak_text(), encoding="utf-8")
    assert run(["check", "weak.toml", "--propose"]) in (0, 3)
    said = capsys.readouterr().out
    assert said.startswith("change in the brief:")
    assert "with these changes it stands" in said
    assert "--write FILE" in said
    assert run(["check", "tree-fern", "--propose"]) == 0
    assert "nothing to change" in capsys.readouterr().out
    assert sorted(path.name for path in here.iterdir()) == ["weak.toml", "windy.toml"]


# --- brief.change ---------------------------------------------------------------------------------


def test_differences_are_said_as_in_a_file() -> None:
    brief, _, _ = read_all(FERN)
    other = changed(
        brief,
        frame={"transoms": 2, "bays": {"front": 3}, "on_edge": False},
        anchors={"depth_mm": 900.0, "wire_slope_deg": 30.0},
        skin={"roof": "twin-wall-8"},
    )
    other = other.model_copy(update={"front_bearing_deg": 170.0})
    said = {".".join(key): value for key, value in differences(brief, other)}
    assert said == {
        "front_faces": "170 deg",
        "frame.transoms": 2,
        "frame.bays": {"front": 3},
        "frame.on_edge": False,
        "anchors.depth": "900 mm",
        "anchors.wire_slope": "30 deg",
        "skin.roof": "twin-wall-8",
    }
    text = FERN.read_text(encoding="utf-8")
    again = changed_text(text, brief, other, FERN)
    assert read_all_text(again, FERN)[0] == other
    assert again.count("#") == text.count("#")
    back = changed_text(again, other, brief, FERN)
    assert read_all_text(back, FERN)[0] == brief


def test_what_a_file_cannot_say_is_refused() -> None:
    brief, _, _ = read_all(FERN)
    assert brief.heat is not None
    with pytest.raises(BriefError, match=r"heat\.watts cannot be changed by the program"):
        differences(brief, changed(brief, heat={"watts": 900.0}))
    with pytest.raises(BriefError, match="winters is a value, not a table"):
        with_values("winters = 5\n", ((("winters", "x"), 3),))
