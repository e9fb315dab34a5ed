"""Several shelters at once: never dearer than one by one, everything cut once, shared out to the cent."""

from __future__ import annotations

import csv
import io
import json
import random
from collections import Counter
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose import grove as grove_module
from enclosure.choose.grouped import grouped_sheets, grouped_sticks, joint_bound
from enclosure.choose.grove import Grove, grove, shared_out
from enclosure.cli.main import run
from enclosure.errors import BriefError
from enclosure.nesting.model import PartKind, SheetJob, SheetKind, StickJob, StickKind, StickPart
from enclosure.nesting.replay import placements
from enclosure.nesting.sticks import solve_sticks
from enclosure.pipeline.grove import grove_files, plan_grove
from enclosure.shape.build import build
from enclosure.shape.model import Design
from enclosure.stock.model import Stock
from tests.oracle_guillotine import least_sheet_price

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


@pytest.mark.regression
def test_shares_by_hand() -> None:
    # 100 shared 1 : 1 : 1 is 33.33 each; the odd cent goes to the first.
    assert shared_out(100, [5, 5, 5]) == (34, 33, 33)
    # 90 of 120 alone: three quarters each, 22.5, 22.5, 45: the odd cent to the first of the two halves.
    assert shared_out(90, [30, 30, 60]) == (23, 22, 45)
    assert shared_out(0, [0, 0]) == (0, 0)


@settings(max_examples=100, deadline=None)
@given(st.lists(st.integers(0, 10**6), min_size=1, max_size=30), st.floats(0, 1))
def test_shares_add_up_and_nobody_pays_more_than_alone(alone: list[int], part: float) -> None:
    total = int(sum(alone) * part)
    shares = shared_out(total, alone)
    assert sum(shares) == total
    if sum(alone):
        assert all(share <= price for share, price in zip(shares, alone, strict=True))


def sizes(count: int) -> tuple[list[Design], Stock]:
    """Return potted lemons of different heights (the quickest template to cut)."""
    brief, site, stock = read_all(BRIEFS / "potted-lemon.toml")
    designs = []
    for k in range(count):
        plant = brief.plant.model_copy(update={"height_mm": brief.plant.height_mm + 130.0 * k})
        wanted = brief.model_copy(update={"plant": plant})
        designs.append(build(wanted, site, stock, span_limits(wanted, site, stock)))
    return designs, stock


@pytest.fixture(scope="module")
def small() -> tuple[Grove, list[Design]]:
    designs, stock = sizes(3)
    return grove(designs, stock, alone=True, sheet_work=40), designs


def test_never_dearer_than_one_by_one(small: tuple[Grove, list[Design]]) -> None:
    found, _ = small
    assert found.price_cents <= found.alone_cents
    assert found.bound_cents <= found.price_cents
    assert sum(share.share_cents for share in found.shares) == found.price_cents
    assert sum(share.alone_cents for share in found.shares) == found.alone_cents
    assert all(share.share_cents <= share.alone_cents for share in found.shares)


def test_without_single_plans_it_is_still_never_dearer(small: tuple[Grove, list[Design]]) -> None:
    found, designs = small
    quick = grove(designs, read_all(BRIEFS / "potted-lemon.toml")[2], alone=False, sheet_work=40)
    assert quick.price_cents == found.price_cents
    assert quick.price_cents <= quick.alone_cents <= found.alone_cents


def test_lots_ask_for_the_same_parts(monkeypatch: pytest.MonkeyPatch, small: tuple[Grove, list[Design]]) -> None:
    monkeypatch.setattr(grove_module, "SHEET_KINDS", 4)
    monkeypatch.setattr(grove_module, "STICK_KINDS", 12)
    whole, designs = small
    found = grove(designs, read_all(BRIEFS / "potted-lemon.toml")[2], alone=True, sheet_work=20)
    assert found.price_cents <= found.alone_cents
    for one, lots in zip(whole.plans.sheet_jobs, found.plans.sheet_jobs, strict=True):
        assert one.job == lots.job
        assert lots.plan.bound <= one.plan.price
    assert found.bound_cents <= whole.price_cents


def test_every_part_of_every_shelter_is_cut_once(small: tuple[Grove, list[Design]]) -> None:
    found, designs = small
    wanted = Counter(f"{n}-{p.mark}" for n, d in enumerate(designs, start=1) for p in d.parts)
    given_out = Counter(
        m for job in (*found.plans.sheet_jobs, *found.plans.stick_jobs) for row in job.marks.values() for m in row
    )
    assert given_out == wanted
    for item in found.plans.sheet_jobs:
        cut = Counter(p.key for pattern in item.plan.patterns for p in placements(item.job, pattern) * pattern.copies)
        assert cut == {key: len(marks) for key, marks in item.marks.items()}


def test_hardware_and_bricks_are_those_of_all(small: tuple[Grove, list[Design]]) -> None:
    found, designs = small
    bought = {line.name: line for line in found.plans.buying if line.group == "bricks"}
    assert sum(line.count for line in bought.values()) == sum(d.base.bricks_to_buy for d in designs)
    screws = sum(f.amount for d in designs for f in d.fixings if f.key == "frame_screw")
    line = next(li for li in found.plans.buying if li.group == "hardware" and f"{screws:.0f} needed" == li.note)
    assert line.count >= 1


def test_a_grove_of_one_costs_what_it_costs_alone() -> None:
    designs, stock = sizes(1)
    found = grove(designs, stock, alone=True, sheet_work=40)
    assert found.price_cents == found.alone_cents


@pytest.mark.slow
def test_two_cores_give_the_same_plans_as_one() -> None:
    designs, stock = sizes(2)
    one = plan_grove(designs, stock, cores=1, sheet_work=20)
    two = plan_grove(designs, stock, cores=2, sheet_work=20)
    assert one == two


def test_different_stock_lists_are_refused() -> None:
    with pytest.raises(BriefError, match="stock list"):
        grove_files([BRIEFS / "potted-lemon.toml", BRIEFS / "broad-fig.toml"])
    with pytest.raises(BriefError, match="at least one"):
        grove_files([])


# --- the bound of very many kinds ----------------------------------------------------


@pytest.mark.parametrize("groups", [1, 2, 9])
def test_the_bound_of_grouped_kinds_never_passes_the_exact_least_price(
    groups: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Against an exhaustive search over all guillotine plans of tiny jobs."""
    monkeypatch.setattr("enclosure.choose.grouped.SHEET_GROUPS", groups)
    rng = random.Random(groups)
    sheets = (SheetKind("a", 7, 9, 10), SheetKind("b", 9, 7, 9), SheetKind("c", 12, 8, 17))
    for _ in range(12):
        kinds = tuple(
            PartKind(f"k{i}", rng.randint(2, 6), rng.randint(2, 6), 1, rng.random() < 0.3)
            for i in range(rng.randint(2, 4))
        )
        job = SheetJob(kinds, sheets, rng.randint(0, 1))
        exact = least_sheet_price(job)
        assert exact is not None
        assert joint_bound(job) <= exact


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.tuples(st.integers(10, 90), st.integers(1, 4)), min_size=1, max_size=8, unique_by=lambda row: row[0]),
    st.integers(1, 4),
)
def test_grouped_sticks_are_as_many_and_no_longer(rows: list[tuple[int, int]], groups: int) -> None:
    parts = tuple(StickPart(f"p{i}", length, count) for i, (length, count) in enumerate(rows))
    job = StickJob(parts, (StickKind("s", 100, 10),), 3)
    fewer = grouped_sticks(job, groups)
    assert len(fewer.parts) <= groups
    before = sorted(p.length for p in parts for _ in range(p.quantity))
    after = sorted(p.length for p in fewer.parts for _ in range(p.quantity))
    assert len(before) == len(after)
    assert all(a <= b for a, b in zip(after, before, strict=True))
    assert joint_bound(job) <= solve_sticks(job).price


def test_grouped_sheets_keep_count_and_turning() -> None:
    kinds = (
        PartKind("a", 50, 80, 3), PartKind("b", 52, 81, 2), PartKind("c", 10, 90, 1), PartKind("d", 30, 20, 4, True),
    )  # fmt: skip
    fewer = grouped_sheets(SheetJob(kinds, (SheetKind("s", 100, 100, 10),), 3), 3)
    assert {(k.width, k.height, k.quantity, k.turnable) for k in fewer.kinds} == {
        (50, 80, 5, False), (10, 90, 1, False), (20, 30, 4, True),
    }  # fmt: skip


def test_bounds_of_a_grove_in_lots_are_those_of_the_whole(
    monkeypatch: pytest.MonkeyPatch, small: tuple[Grove, list[Design]]
) -> None:
    """A plan laid of several lots must not call itself proved by the bounds of its lots."""
    whole, designs = small
    monkeypatch.setattr(grove_module, "SHEET_KINDS", 4)
    monkeypatch.setattr(grove_module, "STICK_KINDS", 8)
    monkeypatch.setattr(grove_module, "KINDS_OF_ONE", 5)
    found = grove(designs, read_all(BRIEFS / "potted-lemon.toml")[2], sheet_work=20)
    for one, other in zip(whole.plans.stick_jobs, found.plans.stick_jobs, strict=True):
        assert other.plan.bound <= one.plan.price
        assert one.plan.bound <= other.plan.price


# --- papers --------------------------------------------------------------------------


@pytest.mark.slow
def test_papers_of_a_grove(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from pypdf import PdfReader

    out = tmp_path / "avenue"
    lemon = str(BRIEFS / "potted-lemon.toml")
    assert run(["grove", f"2*{lemon}", "--out", str(out), "--cores", "1", "-q", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    pages = [page.extract_text() for page in PdfReader(out / "packet.pdf").pages]
    assert "Who pays what" in pages[0]
    cut = list(csv.DictReader(io.StringIO((out / "cut-list.csv").read_text(encoding="utf-8"))))
    marks = [row["mark"] for row in cut]
    assert {mark.split("-", 1)[0] for mark in marks} == {"1", "2"}
    assert sorted(m[2:] for m in marks if m[0] == "1") == sorted(m[2:] for m in marks if m[0] == "2")
    printed = " ".join(pages)
    sticks = {row["mark"] for row in cut if row["kind"] in ("member", "diagonal", "batten")}
    assert sticks
    assert all(mark in printed for mark in sticks), "every stick's mark stands on a cutting page"
    labels = sorted(p.name for p in (out / "labels").iterdir())
    assert labels == ["1-potted-lemon.pdf", "2-potted-lemon.pdf"]
    second = " ".join(page.extract_text() for page in PdfReader(out / "labels" / labels[1]).pages)
    assert "2-1" in second
    assert "1-1 " not in second
    shares = list(csv.DictReader(io.StringIO((out / "shares.csv").read_text(encoding="utf-8"))))
    here = [round(float(value) * 100) for row in shares for key, value in row.items() if key.startswith("here")]
    assert here == [share["share_cents"] for share in told["shares"]]
    assert sum(here) == told["price_cents"] <= told["alone_cents"]
    # a folder with somebody's own work in it is left alone
    (out / "mine.txt").write_text("mine", encoding="utf-8")
    assert run(["grove", lemon, "--out", str(out), "-q"]) == 1
