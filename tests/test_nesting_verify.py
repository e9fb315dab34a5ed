"""Does the verifier pass sound cutting plans and catch every planted fault?

Sound plans are made by cutting: a random sheet is cut at random, and what falls
off becomes the demand. No engine takes part.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations
from math import hypot
from random import Random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.errors import BriefError, VerifyError
from enclosure.nesting.model import (
    Cut,
    Node,
    Pair,
    Part,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPiece,
    StickPlan,
)
from enclosure.nesting.replay import cut_sequence, leftovers, placements
from enclosure.nesting.serial import from_json, to_json
from enclosure.nesting.verify import verify_sheets, verify_sticks

pytestmark = pytest.mark.regression

# --- one plan cut by hand ----------------------------------------------------------
# Kerf 3. Sheet 100 x 200 with a trim of 5 leaves 90 x 190. A crosscut at 120 leaves 90 x 120
# and 90 x 67. The lower piece is ripped at 40 (tall, 40 x 120) and again at 45 of the 47 left,
# where the kerf takes the sliver of 2; two of wide, 45 x 58, with a kerf between fill 119 of 120.

KERF = 3
JOB = SheetJob(
    (
        PartKind("tall", 40, 120, 2),
        PartKind("wide", 45, 58, 4),
        PartKind("free", 60, 30, 2, turnable=True),
    ),
    (SheetKind("new", 100, 200, 700, None, 5), SheetKind("rack", 70, 40, 0, 1, owned=True)),
    KERF,
)
WIDES = Cut("x", 45, Cut("y", 58, Part("wide"), Cut("y", 58, Part("wide"), None)), None)
LOWER = Cut("x", 40, Part("tall"), WIDES)
UPPER = Cut("x", 30, Cut("y", 60, Part("free", turned=True), Rest()), Rest(keep=True))
UPPER_BARE = Rest(keep=True)
PLAN = SheetPlan(
    (
        Pattern("new", 1, Cut("y", 120, LOWER, UPPER)),
        Pattern("new", 1, Cut("y", 120, LOWER, UPPER_BARE)),
        Pattern("rack", 1, Cut("y", 30, Cut("x", 60, Part("free"), Rest()), Rest())),
    ),
    1400,
    1400,
    "proved",
)


def test_a_sound_plan_passes() -> None:
    verify_sheets(JOB, PLAN)


def _with_root(index: int, root: Node) -> SheetPlan:
    patterns = list(PLAN.patterns)
    patterns[index] = replace(patterns[index], root=root)
    return replace(PLAN, patterns=tuple(patterns))


SHEET_FAULTS: dict[str, tuple[SheetJob, SheetPlan, str]] = {
    "part missing": (JOB, _with_root(0, Cut("y", 120, LOWER, UPPER_BARE)), "free is cut 1 times"),
    "part once too often": (
        JOB,
        _with_root(1, Cut("y", 120, LOWER, UPPER)),
        "part free is cut 3 times; the job wants 2",
    ),
    "copies count": (
        JOB,
        replace(PLAN, patterns=(replace(PLAN.patterns[0], copies=2), *PLAN.patterns[1:])),
        "tall is cut 3",
    ),
    "one unit too narrow": (
        JOB,
        _with_root(0, Cut("y", 120, Cut("x", 39, Part("tall"), WIDES), UPPER)),
        "part tall should be",
    ),
    "one unit too high": (JOB, _with_root(0, Cut("y", 121, LOWER, UPPER)), "part tall should be"),
    "swapped parts": (
        JOB,
        _with_root(0, Cut("y", 120, Cut("x", 40, Part("wide"), WIDES), UPPER)),
        "part wide should be",
    ),
    "turned against the flutes": (
        SheetJob((PartKind("tall", 120, 40, 1),), JOB.sheets, KERF),
        SheetPlan(
            (Pattern("new", 1, Cut("y", 120, Cut("x", 40, Part("tall", turned=True), Rest()), Rest())),),
            700,
            0,
            "gap",
        ),
        "its direction is fixed",
    ),
    "turned mark lost": (
        JOB,
        _with_root(0, Cut("y", 120, LOWER, Cut("x", 30, Cut("y", 60, Part("free"), Rest()), Rest()))),
        "part free should be",
    ),
    "kerf forgotten": (
        JOB,
        _with_root(
            0,
            Cut("y", 120, Cut("x", 40, Part("tall"), Cut("x", 45, WIDES.near, Rest())), UPPER),
        ),
        "leaves nothing beyond",
    ),
    "rest forgotten": (
        JOB,
        _with_root(0, Cut("y", 120, LOWER, Cut("x", 30, Cut("y", 60, Part("free", True), Rest()), None))),
        "of which the plan says nothing",
    ),
    "cut outside the piece": (JOB, _with_root(0, Cut("y", 191, LOWER, None)), "does not divide it"),
    "cut at the edge": (JOB, _with_root(0, Cut("y", 190, LOWER, None)), "does not divide it"),
    "cut at nothing": (JOB, _with_root(0, Cut("y", 0, LOWER, UPPER)), "at least 1"),
    "cut at a float": (JOB, _with_root(0, Cut("y", 120.0, LOWER, UPPER)), "whole number"),  # type: ignore[arg-type]
    "slanted axis": (JOB, _with_root(0, Cut("z", 120, LOWER, UPPER)), "only x and y"),  # type: ignore[arg-type]
    "trim forgotten": (
        replace(JOB, sheets=(replace(JOB.sheets[0], trim=6), JOB.sheets[1])),
        PLAN,
        "does not divide it",
    ),
    "wider saw": (replace(JOB, kerf=4), PLAN, "does not divide it"),
    "narrower saw": (replace(JOB, kerf=2), PLAN, "pattern 1 on sheet new"),
    "unknown part": (JOB, _with_root(0, Cut("y", 120, LOWER, Part("ghost"))), "ghost is not in the job"),
    "unknown sheet": (
        JOB,
        replace(PLAN, patterns=(*PLAN.patterns, Pattern("ghost", 1, Rest()))),
        "no such sheet",
    ),
    "sheet without parts": (
        JOB,
        replace(PLAN, patterns=(*PLAN.patterns, Pattern("new", 1, Rest())), price=2100, bound=2100),
        "no part is cut from it",
    ),
    "too many from the rack": (
        replace(JOB, kinds=(*JOB.kinds[:2], replace(JOB.kinds[2], quantity=3))),
        replace(PLAN, patterns=(*PLAN.patterns[:2], replace(PLAN.patterns[2], copies=2))),
        "rack is used 2 times; there are only 1",
    ),
    "no copies": (
        JOB,
        replace(PLAN, patterns=(*PLAN.patterns[:2], replace(PLAN.patterns[2], copies=0))),
        "at least 1",
    ),
    "price too low": (JOB, replace(PLAN, price=1399, bound=1399), "its stock costs 1400"),
    "price too high": (JOB, replace(PLAN, price=1401, bound=1401), "its stock costs 1400"),
    "bound above price": (JOB, replace(PLAN, bound=1401, status="gap"), "above the price"),
    "proof without a bound": (JOB, replace(PLAN, bound=1399), "the status is 'proved'"),
    "bound without the proof": (JOB, replace(PLAN, status="gap"), "the status is 'gap'"),
    "bound a float": (JOB, replace(PLAN, bound=1400.0), "whole number"),  # type: ignore[arg-type]
    "unknown status": (JOB, replace(PLAN, status="best"), "must be 'proved' or 'gap'"),  # type: ignore[arg-type]
    "twins": (replace(JOB, kinds=(*JOB.kinds, JOB.kinds[0])), PLAN, "part tall stands 2 times"),
    "a stage too many": (
        replace(JOB, stages=3),
        _with_root(
            0,
            Cut(
                "y",
                120,
                LOWER,
                Cut("x", 50, Cut("y", 60, Cut("x", 30, Part("free", turned=True), Rest()), Rest()), Rest()),
            ),
        ),
        "needs cutting stage 4; the job allows 3",
    ),
    "two stages only": (replace(JOB, stages=2), PLAN, "needs cutting stage 3; the job allows 2"),
    "stranger in the tree": (JOB, _with_root(0, Cut("y", 120, LOWER, "part")), "not a node"),  # type: ignore[arg-type]
}


@pytest.mark.parametrize("fault", SHEET_FAULTS)
def test_planted_fault_is_caught(fault: str) -> None:
    job, plan, words = SHEET_FAULTS[fault]
    with pytest.raises(VerifyError) as caught:
        verify_sheets(job, plan)
    assert words in caught.value.message
    assert caught.value.message[0].islower()
    assert not caught.value.message.endswith(".")


def test_three_stages_are_enough_for_the_sound_plan() -> None:
    verify_sheets(replace(JOB, stages=3), PLAN)


# --- pairs -------------------------------------------------------------------------


def _pair_case(
    low: tuple[int, int], high: tuple[int, int], *, width: int = 1000, gap: int, kerf: int = 32
) -> tuple[SheetJob, SheetPlan]:
    height = low[0] + high[1] + gap
    job = SheetJob(
        (PartKind("low", width, max(low), 1, slope=low), PartKind("high", width, max(high), 1, slope=high)),
        (SheetKind("new", width, height, 10),),
        kerf,
    )
    return job, SheetPlan((Pattern("new", 1, Pair("low", "high")),), 10, 0, "gap")


def test_pair_a_kerf_apart_square_to_the_cut_passes() -> None:
    # Rise 750 over 1000: the cut is 1250 long, so a gap of 40 upright is 32 square to it.
    verify_sheets(*_pair_case((200, 950), (100, 850), gap=40))
    verify_sheets(*_pair_case((950, 200), (850, 100), gap=40))
    verify_sheets(*_pair_case((0, 750), (0, 750), gap=40))
    verify_sheets(*_pair_case((300, 300), (100, 100), gap=32))


@pytest.mark.parametrize(
    ("case", "words"),
    [
        (_pair_case((200, 950), (100, 850), gap=39), "needs more"),
        (_pair_case((200, 950), (100, 850), gap=32), "needs more"),
        (_pair_case((200, 950), (100, 850), gap=-1), "needs more"),
        (_pair_case((200, 950), (100, 850), gap=60), "too large"),
        (_pair_case((200, 950), (100, 851), gap=40), "one cut cannot make both"),
        (_pair_case((200, 950), (850, 100), gap=40), "one cut cannot make both"),
        (_pair_case((-5, 745), (100, 850), gap=40), "its ends are"),
    ],
)
def test_false_pair_is_caught(case: tuple[SheetJob, SheetPlan], words: str) -> None:
    with pytest.raises(VerifyError, match=words):
        verify_sheets(*case)


def test_pair_of_unequal_widths_or_rectangles_is_caught() -> None:
    job, plan = _pair_case((200, 950), (100, 850), gap=40)
    narrow = replace(job, kinds=(job.kinds[0], replace(job.kinds[1], width=999)))
    with pytest.raises(VerifyError, match="should be"):
        verify_sheets(narrow, plan)
    plain = replace(job, kinds=(job.kinds[0], replace(job.kinds[1], slope=None)))
    with pytest.raises(VerifyError, match="no sloped end"):
        verify_sheets(plain, plan)
    with pytest.raises(VerifyError, match="not in the job"):
        verify_sheets(replace(job, kinds=job.kinds[:1]), plan)


def _fault(job: SheetJob, plan: SheetPlan) -> str:
    try:
        verify_sheets(job, plan)
    except VerifyError as error:
        return error.message
    return ""


@given(
    st.integers(1, 400), st.integers(0, 300), st.integers(0, 300), st.integers(-400, 400), st.integers(0, 40)
)
def test_pair_passes_exactly_when_the_outlines_stand_a_kerf_apart(
    width: int, low: int, high: int, rise: int, kerf: int
) -> None:
    """The distance is measured between the replayed outlines, in floats well away from the limit."""
    low, high = low + max(0, -rise), high + max(0, -rise)
    for gap in range(1, 120):
        job, plan = _pair_case((low, low + rise), (high, high + rise), width=width, gap=gap, kerf=kerf)
        if min(kind.height for kind in job.kinds) < 1:
            return
        below, above = placements(job, plan.patterns[0])
        left = min(y for x, y in above.outline if x == 0) - max(y for x, y in below.outline if x == 0)
        apart = left * width / hypot(width, rise)
        fault = _fault(job, plan)
        if not fault:
            assert apart >= kerf - 1e-9
            return
        assert apart < kerf + 1e-9 or "too large" in fault
    assert kerf * hypot(width, rise) / width > 118


# --- random sound plans ------------------------------------------------------------


def _random_cuts(
    draw: Random, width: int, height: int, kerf: int, depth: int, leaves: list[PartKind]
) -> Node:
    """Cut a piece at random; every leaf that is not rest becomes a part kind of its own."""
    if depth == 0 or draw.random() < 0.12 or max(width, height) < 4:
        if draw.random() < 0.2 and leaves:
            return Rest(keep=draw.random() < 0.5)
        turned = draw.random() < 0.3
        size = (height, width) if turned else (width, height)
        leaves.append(PartKind(f"p{len(leaves)}", *size, 1, turned))
        return Part(leaves[-1].key, turned)
    axis = draw.choice("xy")
    along = width if axis == "x" else height
    if along < 2:
        return Rest()
    at = draw.randint(1, along - 1)
    beyond = along - at - kerf
    near = _random_cuts(draw, *((at, height) if axis == "x" else (width, at)), kerf, depth - 1, leaves)
    far = None
    if beyond > 0:
        size = (beyond, height) if axis == "x" else (width, beyond)
        far = _random_cuts(draw, *size, kerf, depth - 1, leaves)
    return Cut(axis, at, near, far)  # type: ignore[arg-type]


def _random_case(seed: int) -> tuple[SheetJob, SheetPlan] | None:
    draw = Random(seed)
    kerf, trim = draw.choice([0, 1, 3]), draw.choice([0, 2])
    width, height = draw.randint(10, 90), draw.randint(10, 140)
    leaves: list[PartKind] = []
    root = _random_cuts(draw, width, height, kerf, draw.randint(1, 6), leaves)
    if not leaves:
        return None
    copies = draw.randint(1, 3)
    kinds = tuple(replace(kind, quantity=copies) for kind in leaves)
    sheet = SheetKind("new", width + 2 * trim, height + 2 * trim, draw.randint(0, 9), copies, trim)
    plan = SheetPlan((Pattern("new", copies, root),), sheet.price * copies, 0, "gap")
    if plan.price == 0:
        plan = replace(plan, status="proved")
    return SheetJob(kinds, (sheet,), kerf), plan


@settings(max_examples=300, deadline=None)
@given(st.integers(0, 10**9))
def test_random_cuts_pass_and_replay_to_parts_a_kerf_apart(seed: int) -> None:
    case = _random_case(seed)
    if case is None:
        return
    job, plan = case
    verify_sheets(job, plan)
    placed = placements(job, plan.patterns[0])
    sheet, kinds = job.sheets[0], {kind.key: kind for kind in job.kinds}
    assert sorted(part.key for part in placed) == sorted(kinds)
    for part in placed:
        kind = kinds[part.key]
        size = (kind.height, kind.width) if part.turned else (kind.width, kind.height)
        assert (part.width, part.height) == size
        assert sheet.trim <= part.x <= part.x + part.width <= sheet.width - sheet.trim
        assert sheet.trim <= part.y <= part.y + part.height <= sheet.height - sheet.trim
    boxes = [(piece.x, piece.y, piece.width, piece.height) for piece in placed]
    boxes += [(left.x, left.y, left.width, left.height) for left in leftovers(job, plan.patterns[0])]
    for one, two in combinations(boxes, 2):
        across = max(one[0], two[0]) - min(one[0] + one[2], two[0] + two[2])
        up = max(one[1], two[1]) - min(one[1] + one[3], two[1] + two[3])
        assert max(across, up) >= job.kerf
    assert from_json(to_json(plan)) == plan
    assert from_json(to_json(job, indent=1)) == job


def _fault_kerf(draw: Random, job: SheetJob, plan: SheetPlan) -> tuple[SheetJob, SheetPlan] | None:
    """A wider saw is a fault only where a part shrinks; a sliver may hide it elsewhere."""
    wider = replace(job, kerf=job.kerf + 1)
    before, after = (placements(one, plan.patterns[0]) for one in (job, wider))
    shrunk = [(part.width, part.height) for part in before] != [(part.width, part.height) for part in after]
    return (wider, plan) if shrunk else None


def _fault_size(draw: Random, job: SheetJob, plan: SheetPlan) -> tuple[SheetJob, SheetPlan]:
    index = draw.randrange(len(job.kinds))
    kind = job.kinds[index]
    grown = (
        replace(kind, width=kind.width + 1) if draw.random() < 0.5 else replace(kind, height=kind.height + 1)
    )
    return replace(job, kinds=(*job.kinds[:index], grown, *job.kinds[index + 1 :])), plan


def _fault_demand(draw: Random, job: SheetJob, plan: SheetPlan) -> tuple[SheetJob, SheetPlan]:
    index = draw.randrange(len(job.kinds))
    kind = job.kinds[index]
    more = replace(kind, quantity=kind.quantity + draw.choice([-1, 1]))
    return replace(job, kinds=(*job.kinds[:index], more, *job.kinds[index + 1 :])), plan


def _fault_sheet(draw: Random, job: SheetJob, plan: SheetPlan) -> tuple[SheetJob, SheetPlan] | None:
    sheet = job.sheets[0]
    parts = placements(job, plan.patterns[0])
    if any(part.x + part.width == sheet.width - sheet.trim for part in parts):
        return replace(job, sheets=(replace(sheet, width=sheet.width - 1),)), plan
    return None


def _fault_turn(draw: Random, job: SheetJob, plan: SheetPlan) -> tuple[SheetJob, SheetPlan] | None:
    fixed = tuple(replace(kind, turnable=False) for kind in job.kinds)
    return (replace(job, kinds=fixed), plan) if fixed != job.kinds else None


@pytest.mark.parametrize("fault", [_fault_kerf, _fault_size, _fault_demand, _fault_sheet, _fault_turn])
def test_fault_in_a_random_plan_is_caught(
    fault: Callable[[Random, SheetJob, SheetPlan], tuple[SheetJob, SheetPlan] | None],
) -> None:
    tried = 0
    for seed in range(300):
        case = _random_case(seed)
        faulty = fault(Random(seed), *case) if case else None
        if faulty is not None:
            tried += 1
            with pytest.raises(VerifyError):
                verify_sheets(*faulty)
    assert tried > 60


@settings(max_examples=200, deadline=None)
@given(st.integers(0, 10**9))
def test_cut_sequence_can_be_sawn(seed: int) -> None:
    """Each cut divides a piece that exists by then, and the pieces left are the parts and rests."""
    case = _random_case(seed)
    if case is None:
        return
    job, plan = case
    sheet, trim = job.sheets[0], job.sheets[0].trim
    steps = cut_sequence(job, plan.patterns[0])
    assert [step.number for step in steps] == list(range(1, len(steps) + 1))
    assert sum(step.trim for step in steps) == (4 if trim else 0)
    pieces = {(trim, trim, sheet.width - trim, sheet.height - trim)}
    for step in steps:
        if step.trim:
            continue
        (x1, y1), (x2, y2) = step.start, step.end
        hits = [
            piece
            for piece in pieces
            if (step.axis == "x" and (piece[1], piece[3]) == (y1, y2) and piece[0] < x1 < piece[2])
            or (step.axis == "y" and (piece[0], piece[2]) == (x1, x2) and piece[1] < y1 < piece[3])
        ]
        assert len(hits) == 1
        left, low, right, top = hits[0]
        pieces.remove(hits[0])
        if step.axis == "x":
            assert step.at == x1 - left
            pieces.add((left, low, x1, top))
            if x1 + job.kerf < right:
                pieces.add((x1 + job.kerf, low, right, top))
        else:
            assert step.at == y1 - low
            pieces.add((left, low, right, y1))
            if y1 + job.kerf < top:
                pieces.add((left, y1 + job.kerf, right, top))
    ends = [*placements(job, plan.patterns[0]), *leftovers(job, plan.patterns[0])]
    assert pieces == {(end.x, end.y, end.x + end.width, end.y + end.height) for end in ends}


# --- sticks ------------------------------------------------------------------------

STICK_JOB = StickJob(
    (StickPart("post", 50, 3), StickPart("brace", 21, 2)),
    (
        StickKind("new", 130, 9, None, squaring=4),
        StickKind("rack", 100, 0, 1, 2, ((0, 10), (60, 64)), owned=True),
    ),
    3,
)
NEW = StickPattern("new", 1, (StickPiece("post", 4), StickPiece("post", 57)))
RACK = StickPattern("rack", 1, (StickPiece("post", 10), StickPiece("brace", 64)))
NEW_BRACE = StickPattern("new", 1, (StickPiece("brace", 4),))
GOOD_STICKS = StickPlan((NEW, RACK, NEW_BRACE), 18, 9, "gap")


def test_sound_stick_plan_passes() -> None:
    verify_sticks(STICK_JOB, GOOD_STICKS)
    assert from_json(to_json(GOOD_STICKS)) == GOOD_STICKS
    assert from_json(to_json(STICK_JOB)) == STICK_JOB


def _stick(index: int, *pieces: tuple[str, int], copies: int = 1) -> StickPlan:
    patterns = list(GOOD_STICKS.patterns)
    kept = tuple(StickPiece(key, start) for key, start in pieces)
    patterns[index] = replace(patterns[index], pieces=kept, copies=copies)
    return replace(GOOD_STICKS, patterns=tuple(patterns))


STICK_FAULTS: dict[str, tuple[StickPlan, str]] = {
    "before the squaring cut": (
        _stick(0, ("post", 3), ("post", 57)),
        "the squaring cut takes the stick up to",
    ),
    "kerf forgotten": (_stick(0, ("post", 4), ("post", 56)), "and the kerf takes"),
    "wrong order": (_stick(0, ("post", 57), ("post", 4)), "and the kerf takes"),
    "past the end": (_stick(0, ("post", 4), ("post", 81)), "the stick is 0.013 mm long"),
    "in a bad stretch": (_stick(1, ("post", 11), ("brace", 64)), "touches the bad stretch"),
    "over a bad stretch": (_stick(1, ("post", 10), ("brace", 63)), "touches the bad stretch"),
    "at the bad end": (_stick(1, ("post", 9), ("brace", 64)), "touches the bad stretch"),
    "part missing": (_stick(0, ("post", 4)), "part post is cut 2 times; the job wants 3"),
    "part too often": (_stick(2, ("brace", 4), ("brace", 30)), "part brace is cut 3 times"),
    "copies": (_stick(2, ("brace", 4), copies=2), "part brace is cut 3 times"),
    "rack twice": (_stick(1, ("post", 10), ("brace", 64), copies=2), "there are only 1"),
    "unknown part": (_stick(2, ("ghost", 4)), "ghost is not in the job"),
    "float start": (_stick(2, ("brace", 4.0)), "whole number"),  # type: ignore[arg-type]
    "nothing cut": (
        replace(GOOD_STICKS, patterns=(*GOOD_STICKS.patterns, StickPattern("new", 1))),
        "no part is cut",
    ),
    "unknown stick": (
        replace(GOOD_STICKS, patterns=(*GOOD_STICKS.patterns, StickPattern("ghost", 1))),
        "no such stick",
    ),
    "price": (replace(GOOD_STICKS, price=17), "its stock costs 18"),
    "bound": (replace(GOOD_STICKS, bound=19), "above the price"),
    "status": (replace(GOOD_STICKS, status="proved"), "the status is 'proved'"),
}


@pytest.mark.parametrize("fault", STICK_FAULTS)
def test_planted_stick_fault_is_caught(fault: str) -> None:
    plan, words = STICK_FAULTS[fault]
    job = STICK_JOB
    if fault == "rack twice":
        job = replace(job, parts=(StickPart("post", 50, 4), StickPart("brace", 21, 3)))
    with pytest.raises(VerifyError) as caught:
        verify_sticks(job, plan)
    assert words in caught.value.message


# --- files -------------------------------------------------------------------------


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"what": "sheet plan"}',
        '{"what": "sheet plan", "version": 99}',
        to_json(PLAN).replace('"price": 1400', '"price": 1400.0'),
        to_json(PLAN).replace('"turned": false', '"turned": 0'),
        to_json(PLAN).replace('"rest": "keep"', '"rest": "sell"'),
        to_json(PLAN).replace('"cut": "y"', '"cut": "q"'),
        to_json(PLAN).replace('"status"', '"state"'),
        to_json(JOB).replace('"kerf_units": 3', '"kerf_units": "3"'),
    ],
)
def test_json_of_another_form_is_refused(text: str) -> None:
    with pytest.raises(BriefError):
        from_json(text)


def test_json_keeps_every_field() -> None:
    job, plan = _pair_case((200, 950), (100, 850), gap=40)
    assert from_json(to_json(job)) == job
    assert from_json(to_json(plan)) == plan
    assert from_json(to_json(PLAN)) == PLAN
    assert from_json(to_json(JOB)) == JOB
