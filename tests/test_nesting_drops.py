"""Are drops of sloped parts filled rightly: proved against trying everything, cut as the saw can, drawn as cut?"""

from __future__ import annotations

import json
from dataclasses import replace
from math import hypot

import pytest

from enclosure.audit.findings import Findings
from enclosure.audit.replay import follow
from enclosure.choose.bounds import sheet_bound
from enclosure.choose.dominance import undercuts_sheets
from enclosure.choose.grouped import joint_bound
from enclosure.errors import CuttingError, VerifyError
from enclosure.nesting import serial
from enclosure.nesting.demand import gable_of
from enclosure.nesting.drops import Drop
from enclosure.nesting.model import (
    UNITS_PER_MM,
    Cut,
    Filled,
    Node,
    Pair,
    Part,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
)
from enclosure.nesting.plans import MaterialSheets, Plans
from enclosure.nesting.replay import cut_sequence, leftovers, placements
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.verify import verify_sheets
from enclosure.outputs.drawing.sheet_pages import gives, sheet_pages
from enclosure.shape.model import SheetCut
from tests.oracle_cases import tiny_drop_job
from tests.oracle_guillotine import least_sheet_price

# Expected values are found by exhaustive search or worked by hand here: our own arithmetic.
pytestmark = pytest.mark.regression

MM = UNITS_PER_MM
KERF = 3 * MM
GABLE = PartKind("gable", 1000 * MM, 1300 * MM, 1, gable=(800 * MM, 400 * MM, 900 * MM))
SMALL = PartKind("small", 180 * MM, 200 * MM, 2)
SHEET = SheetKind("new", 1000 * MM, 1300 * MM, 5900)


def test_engine_and_exhaustive_search_agree_where_drops_can_be_filled() -> None:
    used = 0
    for seed in range(160):
        job = tiny_drop_job(seed)
        least = least_sheet_price(job)
        if least is None:
            with pytest.raises(CuttingError):
                solve_sheets(job, work_limit=400)
            continue
        plan = solve_sheets(job, work_limit=400)
        verify_sheets(job, plan)
        assert plan.bound <= least <= plan.price, seed
        used += any(isinstance(node, Filled) for pattern in plan.patterns for node in _nodes(pattern.root))
    assert used >= 15


def _nodes(node: Node | None) -> list[Node]:
    if node is None:
        return []
    inner: tuple[Node | None, ...] = ()
    if isinstance(node, Cut):
        inner = (node.near, node.far)
    elif isinstance(node, Filled):
        inner = (node.left, node.right)
    return [node, *(found for one in inner for found in _nodes(one))]


def _job(*kinds: PartKind) -> SheetJob:
    return SheetJob(kinds, (SHEET,), KERF)


def _plan(left: Node | None, right: Node | None) -> SheetPlan:
    return SheetPlan((Pattern("new", 1, Filled("gable", left, right)),), 5900, 0, "gap")


def _corner(width: int, height: int) -> Node:
    """Cut one small part from the square corner of a drop of that size."""
    over, under = width - SMALL.width - KERF, height - SMALL.height - KERF
    inner = Cut("y", SMALL.height, Part("small"), Rest() if under > 0 else None)
    return Cut("x", SMALL.width, inner, Rest() if over > 0 else None)


LEFT, RIGHT = _corner(400 * MM, 500 * MM), _corner(600 * MM, 400 * MM)


def test_both_drops_of_a_gable_save_a_sheet() -> None:
    """Two panels of 180 x 200 lie in the drops of 400 x 500 and 600 x 400: one sheet, with nothing beside the gable."""
    job = _job(GABLE, SMALL)
    plan = solve_sheets(job)
    verify_sheets(job, plan)
    assert (plan.price, plan.status) == (5900, "proved")
    assert solve_sheets(replace(job, kinds=(replace(GABLE, gable=None), SMALL))).price == 2 * 5900


def test_verifier_accepts_filled_drops_and_refuses_what_no_saw_can_do() -> None:
    job = _job(GABLE, SMALL)
    verify_sheets(job, _plan(LEFT, RIGHT))
    wrong = [
        (job, _plan(LEFT, None), "1 times"),
        (job, _plan(None, None), "nothing is cut"),
        (job, _plan(Part("small"), RIGHT), "should be"),
        (job, _plan(Cut("x", 398 * MM, LEFT, None), RIGHT), "does not meet the drop"),
        (job, _plan(Cut("x", SMALL.width, Cut("y", SMALL.height, Part("small"), Rest(True)), Rest()), RIGHT), "Rest"),
        (job, _plan(Cut("x", SMALL.width, Pair("small", "small"), Rest()), RIGHT), "Pair"),
        (replace(job, stages=3), _plan(LEFT, RIGHT), "stages"),
        (_job(replace(GABLE, gable=None), SMALL), _plan(LEFT, RIGHT), "no drop"),
        (_job(replace(GABLE, gable=None, slope=(800 * MM, 1300 * MM)), SMALL), _plan(None, RIGHT), "no drop at its r"),
    ]
    for other, plan, words in wrong:
        with pytest.raises(VerifyError, match=words):
            verify_sheets(other, plan)


@pytest.mark.parametrize("short", [0, 1])
def test_a_part_may_come_as_near_to_the_slope_as_the_kerf_and_no_nearer(short: int) -> None:
    """A 3-4-5 triangle of 300 x 400 and a kerf of 12: down the side 400 - 12 * 5/3 = 380 remain (worked by hand)."""
    kerf, drop = 12 * MM, Drop("left", 300 * MM, 400 * MM, 12 * MM)
    part = PartKind("p", 150 * MM, 180 * MM + short, 1)
    assert drop.holds(part.width, part.height) == (not short)
    roof = PartKind("roof", 300 * MM, 500 * MM, 1, slope=(100 * MM, 500 * MM))
    job = SheetJob((roof, part), (SheetKind("new", 300 * MM, 500 * MM, 10),), kerf)
    tree = Cut("x", part.width, Cut("y", part.height, Part("p"), Rest()), Rest())
    plan = SheetPlan((Pattern("new", 1, Filled("roof", tree)),), 10, 0, "gap")
    if not short:
        verify_sheets(job, plan)
        assert solve_sheets(job).price == 10
        return
    with pytest.raises(VerifyError, match="over the sloped cut"):
        verify_sheets(job, plan)
    assert solve_sheets(job).price == 20


def test_parts_in_drops_lie_in_the_corners_and_clear_of_the_slopes() -> None:
    gable, one, two = placements(_job(GABLE, SMALL), _plan(LEFT, RIGHT).patterns[0])
    assert set(gable.outline) == {
        (0, 0), (1000 * MM, 0), (1000 * MM, 900 * MM), (400 * MM, 1300 * MM), (0, 800 * MM),
    }
    assert (one.x, one.y + one.height) == (0, 1300 * MM)
    assert (two.x + two.width, two.y + two.height) == (1000 * MM, 1300 * MM)
    peak, left, right = (400 * MM, 1300 * MM), (0, 800 * MM), (1000 * MM, 900 * MM)
    for corner, foot in (((one.x + one.width, one.y), left), ((two.x, two.y), right)):
        across, up = peak[0] - foot[0], peak[1] - foot[1]
        away = abs(across * (corner[1] - foot[1]) - up * (corner[0] - foot[0])) / hypot(across, up)
        assert away >= KERF
    assert leftovers(_job(GABLE, SMALL), _plan(LEFT, RIGHT).patterns[0]) == []


def test_slopes_come_before_the_cuts_in_their_drops_and_name_what_falls() -> None:
    job, plan = _job(GABLE, SMALL), _plan(LEFT, RIGHT)
    steps = cut_sequence(job, plan.patterns[0])
    assert [step.number for step in steps] == list(range(1, 7))
    assert [step.axis for step in steps].count("slope") == 2
    fallen = {"sheet"}
    for step in steps:
        assert step.piece in fallen
        fallen |= {step.near, step.far}
    sheets = MaterialSheets("m", "m", job, plan, {"gable": ("9",), "small": ("L", "R")})
    (page,) = sheet_pages(Plans((sheets,), (), ()))
    named = {(step.corner, name) for step in page.cuts for name in gives(page, step)}
    assert {("left", "L"), ("right", "R"), ("", "9")} <= named


def test_audit_follows_filled_drops_and_finds_a_part_over_the_slope() -> None:
    def findings(left: Node, right: Node) -> tuple[int, float]:
        job, plan = _job(GABLE, SMALL), _plan(left, right)
        record = {
            "material": "m", "name": "m", "marks": {"gable": ["9"], "small": ["L", "R"]},
            "job": json.loads(serial.to_json(job)), "plan": json.loads(serial.to_json(plan)),
        }
        found = Findings()
        saw = follow({"sheets": [record]}, found)
        return len(found.rows), sum(part.area for part in saw.sheets[0].parts)

    area = 1000 * 1300 - 400 * 500 / 2 - 600 * 400 / 2 + 2 * 180 * 200
    assert findings(LEFT, RIGHT) == (0, area * MM * MM)
    shifted = Cut("x", 150 * MM, Rest(), _corner(400 * MM - 150 * MM - KERF, 500 * MM))
    assert findings(shifted, RIGHT)[0] == 1


def test_jobs_and_plans_with_drops_come_back_from_json() -> None:
    job, plan = _job(GABLE, SMALL), _plan(LEFT, None)
    assert serial.from_json(serial.to_json(job)) == job
    assert serial.from_json(serial.to_json(plan)) == plan


def test_a_pentagon_is_known_by_its_corners() -> None:
    outline = ((0.0, 0.0), (1000.0, 0.0), (1000.0, 900.0), (400.0, 1300.0), (0.0, 800.0))
    assert gable_of(SheetCut(1000.0, 1300.0, outline, False)) == GABLE.gable
    hip = ((0.0, 0.0), (1000.0, 0.0), (1000.0, 1300.0), (400.0, 1300.0), (0.0, 800.0))
    assert gable_of(SheetCut(1000.0, 1300.0, hip, False)) is None


def test_quick_bounds_know_that_a_drop_may_hold_a_part() -> None:
    """The bounds of the searches over sizes lie below the price although the small parts take no room of their own."""
    for seed in range(60):
        job = tiny_drop_job(seed)
        try:
            plan = solve_sheets(job, work_limit=400)
        except CuttingError:
            continue
        assert sheet_bound(job) <= plan.price
        assert joint_bound(job) <= plan.price
    job = _job(GABLE, SMALL)
    smaller = replace(job, kinds=(replace(GABLE, width=900 * MM), SMALL))
    assert not undercuts_sheets(smaller, job)
    assert undercuts_sheets(job, job)
