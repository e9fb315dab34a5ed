"""`enclosure fit`, `grow` and `grove` at the terminal: what they say, and what they refuse."""

from __future__ import annotations

import json
from pathlib import Path
from xml.etree import ElementTree

import pytest

from enclosure.brief.read import read_all
from enclosure.choose.largest import counted
from enclosure.cli.main import run
from enclosure.nesting.model import UNITS_PER_MM
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.verify import verify_sheets
from enclosure.pipeline.grow import grow_from_sheets
from enclosure.shape.model import SheetCut

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"
LEMON, OLIVE = BRIEFS / "potted-lemon.toml", BRIEFS / "olive-glass.toml"


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a lemon whose side clearance may lie within 4 mm only, so that few sizes are searched."""
    monkeypatch.chdir(tmp_path)
    text = LEMON.read_text(encoding="utf-8")
    start = text.index("side =")
    line = text[start : text.index("\n", start)]
    (tmp_path / "lemon.toml").write_text(text.replace(line, 'side = { least = "80 mm", most = "84 mm" }'), "utf-8")
    return tmp_path


def said(capsys: pytest.CaptureFixture[str]) -> str:
    return capsys.readouterr().out


# --- fit ------------------------------------------------------------------------------


def test_fit_stays_within_the_window_and_is_never_dearer(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["fit", "lemon.toml", "--no-near", "--keep-bays", "--json"]) == 0
    told = json.loads(said(capsys))
    assert 80 <= told["chosen"]["side_mm"] <= 84
    assert told["bound_cents"] <= told["chosen"]["price_cents"] <= told["tightest"]["price_cents"]
    assert told["saving_cents"] == told["tightest"]["price_cents"] - told["chosen"]["price_cents"]
    assert run(["fit", "lemon.toml", "-q", "--keep-bays"]) == 0
    lines = said(capsys).splitlines()
    assert [line.split(" = ")[0] for line in lines][:3] == ["[clearance]", "side", "top"]
    # what it prints can be put into the brief as it is
    text = (here / "lemon.toml").read_text(encoding="utf-8")
    fitted = text.replace('{ least = "80 mm", most = "84 mm" }', lines[1].split(" = ", 1)[1])
    (here / "fitted.toml").write_text(fitted, "utf-8")
    side = read_all(here / "fitted.toml")[0].clearance.side
    assert side.least_mm == pytest.approx(told["chosen"]["side_mm"], abs=1e-4)
    assert side.most_mm == 84


# --- grow -----------------------------------------------------------------------------


def test_grow_tells_three_guesses_and_draws_them(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["grow", str(OLIVE), "--chart", "chart.svg"]) == 0
    out = said(capsys)
    assert "slow" in out
    assert "fast" in out
    row = next(line for line in out.splitlines() if "by height" in line)
    slow, likely, fast = (int(cell) for cell in row.split()[2:])
    assert fast <= likely <= slow
    assert ElementTree.parse(here / "chart.svg").getroot().tag.endswith("svg")
    assert run(["grow", str(OLIVE), "--json"]) == 0
    told = json.loads(said(capsys))
    assert {r["axis"]: r["likely"] for r in told["outgrown"]}["height"] == likely


def test_grow_of_a_shelter_that_stands(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["make", str(OLIVE), "--no-solids", "-q", "-o", "old"]) in (0, 3)
    text = OLIVE.read_text(encoding="utf-8")
    taller = text.replace('height = "2.05 m"', 'height = "2.15 m"')
    assert taller != text
    (here / "now.toml").write_text(taller, encoding="utf-8")
    assert run(["grow", "now.toml", "--old", "old", "--json"]) == 0
    later = json.loads(said(capsys))
    assert run(["grow", str(OLIVE), "--old", "old/design.json", "--json"]) == 0
    then = json.loads(said(capsys))

    def height(told: dict[str, list[dict[str, int]]]) -> int:
        return next(r["likely"] for r in told["outgrown"] if str(r["axis"]) == "height")

    assert height(later) < height(then), "the plant has grown since"


def test_the_largest_shelter_of_three_sheets_with_the_real_engine() -> None:
    """Cut again by the engine and checked by the verifier: three bought sheets suffice, what is owned beside them."""
    _, _, stock = read_all(OLIVE)
    found = grow_from_sheets(OLIVE, 3)
    assert found.sheets == 3
    job = counted(found.design, stock, found.material)
    assert job is not None
    plan = solve_sheets(job)
    verify_sheets(job, plan)
    owned = {sheet.key for sheet in job.sheets if sheet.owned}
    assert sum(pattern.copies for pattern in plan.patterns if pattern.sheet not in owned) == 3
    area = sum(
        p.cut.width_mm * p.cut.height_mm
        for p in found.design.parts
        if p.material == found.material and isinstance(p.cut, SheetCut)
    )
    largest = max(size.width_mm * size.height_mm for size in stock.skins[found.material].sizes)
    rack = sum(s.width * s.height * (s.copies or 0) for s in job.sheets if s.owned) / UNITS_PER_MM**2
    assert 2 * largest + rack < area <= 3 * largest + rack, "by area alone two sheets would not do"
    assert found.next_sheets == 4
    assert found.winters >= 1
    first = found.growth.first()
    assert first is not None
    assert first[0] > found.winters, "it lasts the winters told"
    assert grow_from_sheets(OLIVE, 4).winters > found.winters


def test_three_sheets_at_the_terminal(here: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["grow", str(OLIVE), "--sheets", "3"]) == 0
    out = said(capsys)
    assert "3 sheets of twin-wall-10 make a clear box of" in out
    assert "winters at the growth given" in out
    assert "one winter more needs 4 sheets" in out


# --- grove ----------------------------------------------------------------------------


def test_a_grove_is_never_dearer_and_its_shares_add_up(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["grove", f"2*{LEMON}", str(OLIVE), "--cores", "1", "--no-papers", "--json"]) == 0
    told = json.loads(said(capsys))
    assert len(told["shares"]) == 3
    assert sum(share["share_cents"] for share in told["shares"]) == told["price_cents"] <= told["alone_cents"]
    assert told["bound_cents"] <= told["price_cents"]
    assert told["saving_cents"] == told["alone_cents"] - told["price_cents"]
    assert all(share["share_cents"] <= share["alone_cents"] for share in told["shares"])
    assert sum(line["total_cents"] for line in told["buying"]) == told["price_cents"]


@pytest.mark.parametrize(
    ("arguments", "code", "words"),
    [
        (["fit"], 2, "missing argument"),
        (["fit", "nofern"], 2, "tree-fern"),
        (["fit", "gone.toml"], 2, "does not exist"),
        (["fit", "lemon.toml", "--baays"], 2, "no such option"),
        (["grow", "gone.toml"], 2, "does not exist"),
        (["grow", "lemon.toml", "--sheets", "0"], 2, "must lie from 1 to 1000"),
        (["grow", "lemon.toml", "--sheets", "three"], 2, "three"),
        (["grow", "lemon.toml", "--sheets", "3", "--of", "brick"], 2, "no sheet called brick"),
        (["grow", str(OLIVE), "--sheets", "1"], 1, "not enough"),
        (["grow", "lemon.toml", "--low", "2"], 2, "must lie from 0 to 1"),
        (["grow", "lemon.toml", "--high", "0.5"], 2, "must lie from 1 to 5"),
        (["grow", "lemon.toml", "--old", "gone.json"], 2, "cannot be read"),
        (["grow", "lemon.toml", "--old", "lemon.toml"], 2, "not JSON"),
        (["grow", "lemon.toml", "--chart", "gone/chart.svg"], 1, "cannot be written"),
        (["grove"], 2, "missing argument"),
        (["grove", "gone.toml"], 2, "does not exist"),
        (["grove", "0*lemon.toml"], 2, "0 times lemon.toml is no number of shelters"),
        (["grove", "2*"], 2, "2* says how many, but not of which brief"),
        (["grove", "tree*.toml"], 2, "no file matches tree*.toml"),
        (["grove", "5000*lemon.toml"], 2, "is no number of shelters"),
        (["grove", "two*lemon.toml"], 2, "no file matches two*lemon.toml"),
        (["grove", "lemon.toml", "tree-fern"], 2, "one grove buys from one stock list"),
        (["grove", "lemon.toml", "--cores", "0"], 2, "must lie from 1 to 64"),
    ],
)
def test_wrong_inputs(
    here: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], code: int, words: str
) -> None:
    assert run(arguments) == code
    err = capsys.readouterr().err
    assert words in err
    assert "Traceback" not in err
    assert not [line for line in err.splitlines()[:1] if line.endswith(".")]
    assert sorted(p.name for p in here.iterdir()) == ["lemon.toml"]
