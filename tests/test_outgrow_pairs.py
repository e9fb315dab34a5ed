"""Any old shelter and any new one: nothing is used twice, all balances to the kerf, never dearer than buying new."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from itertools import pairwise

from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from enclosure.brief.model import Brief
from enclosure.checks.span import span_limits
from enclosure.choose.outgrow import Case, Way, outgrow
from enclosure.errors import DesignError
from enclosure.nesting.model import UNITS_PER_MM, StickJob, StickKind, StickPart
from enclosure.nesting.replay import placements
from enclosure.nesting.sticks import solve_sticks
from enclosure.nesting.sticks_ends import clear_ends
from enclosure.nesting.verify import verify_sticks
from enclosure.reuse.match import END_MARGIN_MM, HOLE_MARGIN_MM, old_holes, sound_pieces
from enclosure.shape.model import Design, SheetCut, StickCut
from tests.shelters import briefs, changed, design_of, shipped, shipped_design

Box = tuple[float, float, float, float]
WORK = 20


def built(brief: Brief) -> Design | None:
    try:
        return design_of(brief)
    except DesignError:
        return None


@settings(
    max_examples=20, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow],
    phases=[Phase.generate],
)  # fmt: skip
@given(briefs(), briefs(), st.sampled_from([0.0, 6.0]))
def test_old_and_new_balance(first: Brief, second: Brief, margin: float) -> None:
    old, new = built(first), built(second)
    if old is None or new is None:
        return
    check_pair(old, second, margin)


def check_pair(old: Design, second: Brief, margin: float) -> Way:
    """Check all ways from an old shelter to what a brief wants and return that of the least new one."""
    _, site, stock = shipped()
    case = Case(old, second, site, stock, span_limits(second, site, stock), margin, sheet_work=WORK)
    found = outgrow(case)
    for way in found.ways:
        if way.possible:
            check_way(old, way, margin)
    anew = next(way for way in found.ways if way.key == "new")
    assert anew.possible
    assert anew.price_cents <= found.all_new_cents
    return anew


def test_a_lower_shelter_from_panels_with_holes() -> None:
    """The fern's panels have a row of holes at the transom: two sound pieces each, and both are cut."""
    brief = shipped()[0]
    lower = changed(brief, plant={"height_mm": brief.plant.height_mm - 1150.0})
    old = shipped_design()
    holed = {p.mark for p in old.parts if isinstance(p.cut, SheetCut) and p.cut.holes}
    assert holed
    for margin in (0.0, 6.0):
        way = check_pair(old, lower, margin)
        assert way.plans is not None
        assert holed & {o.mark for item in way.plans.sheet_jobs for o in item.olds.values()}


def check_way(old: Design, way: Way, margin: float) -> None:
    assert way.design is not None
    assert way.plans is not None
    # every old part ends once, every new part comes from one place
    assert Counter(f.old for f in way.fates) == Counter(p.mark for p in old.parts)
    kept = [f.old for f in way.fates if f.end == "keep"]
    jobs = (*way.plans.sheet_jobs, *way.plans.stick_jobs)
    cut = [mark for job in jobs for row in job.marks.values() for mark in row]
    assert Counter(kept) + Counter(cut) == Counter(p.mark for p in way.design.parts)
    assert all(old.part(m).material == way.design.part(m).material for m in kept)
    # what is cut from old parts is what the fates say, and lies in them
    from_old = {mark: o.mark for job in jobs for mark, o in job.olds.items()}
    assert from_old == {m: f.old for f in way.fates if f.end == "re-cut" for m in f.new}
    check_sheets(old, way, margin)
    check_sticks(old, way)
    assert way.bound_cents <= way.price_cents


def check_sheets(old: Design, way: Way, margin: float) -> None:
    """Boxes in one old sheet part: inside it, a kerf apart, clear of its holes or where these serve again, flutes as
    they ran."""
    assert way.plans is not None
    assert way.design is not None
    inside: dict[tuple[str, Box], str] = {}
    boxes: dict[str, list[Box]] = {}
    for item in way.plans.sheet_jobs:
        kerf = item.job.kerf / UNITS_PER_MM
        waiting = {key: list(marks) for key, marks in item.marks.items()}
        for pattern in item.plan.patterns:
            for _ in range(pattern.copies):
                for one in placements(item.job, pattern):
                    mark = waiting[one.key].pop(0)
                    if mark not in item.olds:
                        continue
                    there = item.olds[mark]
                    x, y = there.left_mm + one.x / UNITS_PER_MM, there.low_mm + one.y / UNITS_PER_MM
                    wide, high = one.width / UNITS_PER_MM, one.height / UNITS_PER_MM
                    for box in boxes.setdefault(there.mark, []):
                        apart = max(box[0] - x - wide, x - box[2], box[1] - y - high, y - box[3])
                        assert apart >= kerf - 1e-3 or one.flipped, f"{mark} lies in another part from {there.mark}"
                    boxes[there.mark].append((x, y, x + wide, y + high))
                    inside[there.mark, boxes[there.mark][-1]] = mark
                    assert not (one.turned and any(m.flutes for m in old.materials if m.key == item.material))
    for source, found in boxes.items():
        part = old.part(source)
        assert isinstance(part.cut, SheetCut)
        area = sum((right - left) * (top - low) for left, low, right, top in found)
        assert area <= part.cut.width_mm * part.cut.height_mm + 1e-3 or part.cut.outline
        for left, low, right, top in found:
            assert left >= margin - 1e-3
            assert low >= margin - 1e-3
            assert right <= part.cut.width_mm - margin + 1e-3
            assert top <= part.cut.height_mm - margin + 1e-3
            for hole in part.cut.holes:
                cut = way.design.part(inside[source, (left, low, right, top)]).cut
                assert isinstance(cut, SheetCut)
                here = hole.x_mm - left, hole.y_mm - low
                if any(abs(h.x_mm - here[0]) <= 1.01 and abs(h.y_mm - here[1]) <= 1.01 for h in cut.holes):
                    continue
                dx = max(left - hole.x_mm, hole.x_mm - right)
                dy = max(low - hole.y_mm, hole.y_mm - top)
                assert max(dx, dy) >= hole.diameter_mm / 2 + HOLE_MARGIN_MM - 1e-2


def check_sticks(old: Design, way: Way) -> None:
    """Lengths in one old stick: a kerf apart, no longer together than it, no new end near an old screw hole."""
    assert way.plans is not None
    places = old_holes(old)
    spans: dict[str, list[tuple[float, float]]] = {}
    kerfs: dict[str, float] = {}
    for rods in way.plans.stick_jobs:
        lengths = {part.key: part.length for part in rods.job.parts}
        waiting = {key: list(marks) for key, marks in rods.marks.items()}
        for run in rods.plan.patterns:
            for _ in range(run.copies):
                for piece in run.pieces:
                    mark = waiting[piece.key].pop(0)
                    if mark in rods.olds:
                        there = rods.olds[mark]
                        start = there.left_mm + piece.start / UNITS_PER_MM
                        span = (start, start + lengths[piece.key] / UNITS_PER_MM)
                        spans.setdefault(there.mark, []).append(span)
                        kerfs[there.mark] = rods.job.kerf / UNITS_PER_MM
    for source, found in spans.items():
        part = old.part(source)
        assert isinstance(part.cut, StickCut)
        found.sort()
        for (_, end), (start, _) in pairwise(found):
            assert start - end >= kerfs[source] - 1e-3
        used = sum(high - low for low, high in found) + kerfs[source] * (len(found) - 1)
        assert used <= part.cut.length_mm + 1e-3
        edge = END_MARGIN_MM if part.kind != "track" else 0.0
        assert found[0][0] >= edge - 1e-3
        assert found[-1][1] <= part.cut.length_mm - edge + 1e-3
        (piece,) = sound_pieces(part, places)
        for low, high in found:
            for hole in piece.piece.holes_mm:
                at = piece.left_mm + hole
                for end in (low, high):
                    at_old_end = end <= 1e-3 or end >= part.cut.length_mm - 1e-3
                    assert at_old_end or abs(end - at) >= HOLE_MARGIN_MM - 0.06


# --- ends clear of holes --------------------------------------------------------------------


@settings(max_examples=60, deadline=None, derandomize=True)
@given(
    st.lists(st.integers(120, 900), min_size=1, max_size=5),
    st.lists(st.integers(700, 2400), min_size=1, max_size=3),
    st.lists(st.integers(0, 2400), max_size=8),
)
def test_no_part_ends_near_a_hole(wanted: list[int], olds: list[int], holes: list[int]) -> None:
    mm = UNITS_PER_MM
    counts = Counter(wanted)
    parts = tuple(StickPart(str(size), size * mm, count) for size, count in counts.items())
    kinds = [StickKind(f"rack {i}", size * mm, 0, 1, 5 * mm, (), True) for i, size in enumerate(olds, start=1)]
    job = StickJob(parts, (*kinds, StickKind("new", 2400 * mm, 500, None, 5 * mm)), 3 * mm)
    marks = {kind.key: tuple(h * mm for h in holes if h * mm <= kind.length) for kind in kinds}
    holed = replace(job, sticks=tuple(replace(kind, holes=marks.get(kind.key, ())) for kind in job.sticks))
    plan = solve_sticks(holed)
    verify_sticks(holed, plan)
    free = solve_sticks(job)
    assert free.bound <= plan.price, "holes never make it cheaper than the bound without them"
    if not any(marks.values()):
        assert plan.price == free.price
    lengths = {part.key: part.length for part in parts}
    sizes = {kind.key: kind.length for kind in job.sticks}
    for run in plan.patterns:
        for piece in run.pieces:
            for end in (piece.start, piece.start + lengths[piece.key]):
                near = (h for h in marks.get(run.stick, ()) if abs(end - h) < 10 * mm)
                assert end in (0, sizes[run.stick]) or not list(near)


def test_a_worked_example_of_clear_ends_by_hand() -> None:
    """An old stick of 1000 with a hole at 405, parts of 400 and 500, saw 3, nothing squared off.

    400 first ends at 400, 5 from the hole: too near. 500 first ends at 500 (95 away), then 400 from 503 to 903.
    """
    mm = UNITS_PER_MM
    job = StickJob(
        (StickPart("400", 400 * mm), StickPart("500", 500 * mm)),
        (StickKind("rack 1", 1000 * mm, 0, 1, 0, (), True), StickKind("new", 2400 * mm, 500)),
        3 * mm,
    )
    old, new = job.sticks
    plan = clear_ends(replace(job, sticks=(replace(old, holes=(405 * mm,)), new)), solve_sticks)
    assert plan.price == 0
    (run,) = plan.patterns
    assert [(p.key, p.start // mm) for p in run.pieces] == [("500", 0), ("400", 503)]
    # three holes so placed that neither order goes: the old stick is left, one is bought
    full = replace(old, holes=(405 * mm, 500 * mm, 600 * mm, 395 * mm))
    blocked = clear_ends(replace(job, sticks=(full, new)), solve_sticks)
    assert blocked.bound == 0 or blocked.price == blocked.bound
    verify_sticks(job, blocked)
