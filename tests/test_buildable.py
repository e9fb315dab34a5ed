"""Can a stranger build from the papers? Every screw has its place, every cut its width, every brick its edge.

Trade facts: common practice, no source, unless a test says otherwise.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.nesting.cutting import cut_everything
from enclosure.outputs.drawing.details import details
from enclosure.outputs.paper.packet import write_packet
from enclosure.outputs.paper.packet_gussets import gussets
from enclosure.outputs.paper.raising import write_raising
from enclosure.outputs.paper.raising_arrows import arrows_of
from enclosure.outputs.paper.words import words_of
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.course import bricks_needed, course, divided
from enclosure.shape.lifting import closes, in_body
from enclosure.shape.model import Base, Part, Prism, SheetCut
from enclosure.shape.rip import ripped_mm
from enclosure.shape.screws import SINK_DEEP_MM, bolt_for, bolt_needed
from enclosure.stock.model import Hardware
from enclosure.templates_home import find_template
from tests.paper_pages import text_of

NAMES = ("tree-fern", "potted-lemon", "broad-fig", "olive-glass", "banana-clump")
pytestmark = pytest.mark.practice("common practice, no source")


@cache
def shelter(name: str) -> Shelter:
    return design_from(find_template("briefs", name))


def corners(prism: Prism) -> list[tuple[float, float, float]]:
    n = (
        prism.u[1] * prism.v[2] - prism.u[2] * prism.v[1],
        prism.u[2] * prism.v[0] - prism.u[0] * prism.v[2],
        prism.u[0] * prism.v[1] - prism.u[1] * prism.v[0],
    )
    return [
        tuple(prism.origin[i] + a * prism.u[i] + b * prism.v[i] + c * n[i] for i in range(3))  # type: ignore[misc]
        for a, b in prism.outline
        for c in (0.0, prism.depth)
    ]


def box_of(prism: Prism) -> list[tuple[float, float]]:
    return [(min(c[i] for c in corners(prism)), max(c[i] for c in corners(prism))) for i in range(3)]


# --- gussets ------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_gusset_screw_that_is_bought_is_drawn(name: str) -> None:
    design = shelter(name).design
    bought = sum(f.amount for f in design.fixings if f.key == "frame_screw_short" and f.bag == "gussets and diagonals")
    shapes = gussets(design)
    assert sum(len(shape.marks) * len(shape.screws) for shape in shapes) == bought
    assert Counter(mark for shape in shapes for mark in shape.marks) == Counter(
        part.mark for part in design.parts if part.kind == "gusset"
    )


@pytest.mark.parametrize("name", NAMES)
def test_gusset_screws_hit_one_member_each_and_do_not_come_out_of_its_far_face(name: str) -> None:
    """Three over the stile, three over sill or head; no nearer than 9 mm to the gusset's edge."""
    design, stock = shelter(name).design, shelter(name).stock
    long = stock.hardware["frame_screw_short"].length_mm
    assert long is not None
    members = [p for p in design.parts if p.kind == "member"]
    for part in design.parts:
        if part.kind != "gusset":
            continue
        solid = part.solids[0]
        assert long < solid.depth + next(f.depth_mm for f in design.frames if f.face == part.face)
        ring = [*solid.outline, solid.outline[0]]
        hit: Counter[str] = Counter()
        for fixing in design.fixings:
            if fixing.key != "frame_screw_short" or fixing.bag != "gussets and diagonals":
                continue
            for place in fixing.positions:
                off = tuple(p - o for p, o in zip(place, solid.origin, strict=True))
                a, b = (sum(x * y for x, y in zip(off, way, strict=True)) for way in (solid.u, solid.v))
                lie = [
                    ((q[0] - p[0]) * (b - p[1]) - (q[1] - p[1]) * (a - p[0])) / math.dist(p, q)
                    for p, q in pairwise(ring)
                ]
                same_plane = abs(sum(off) - sum(a * u + b * v for u, v in zip(solid.u, solid.v, strict=True))) < 1.0
                if min(lie) < 0 or not same_plane:
                    continue
                assert min(lie) >= 8.9, (part.mark, place)
                for member in members:
                    if member.face == part.face and member.level == part.level and _over(member, a, b, solid):
                        hit[member.role] += 1
        assert sum(hit.values()) == 6, (part.mark, hit)
        assert hit["stile"] == 3


def _over(member: Part, a: float, b: float, solid: Prism) -> bool:
    """Return whether a point of a gusset's plane lies over a member."""
    flat = [
        tuple(sum((c[i] - solid.origin[i]) * way[i] for i in range(3)) for way in (solid.u, solid.v))
        for c in corners(member.solids[0])
    ]
    lows, highs = [min(p[i] for p in flat) for i in (0, 1)], [max(p[i] for p in flat) for i in (0, 1)]
    if member.role == "head" and member.solids[0].u == solid.u:  # a sloped head, not a bevelled one
        ring = [*member.solids[0].outline, member.solids[0].outline[0]]
        return all((q[0] - p[0]) * (b - p[1]) - (q[1] - p[1]) * (a - p[0]) >= 0 for p, q in pairwise(ring))
    return lows[0] < a < highs[0] and lows[1] < b < highs[1]


# --- bolts ---------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_every_bolt_is_long_enough_for_what_it_clamps(name: str) -> None:
    """Grip, two washers of 1.6 mm, a nut of 6.8 mm (ISO 4032, ISO 7089, from memory)."""
    design, stock = shelter(name).design, shelter(name).stock
    front = next(f for f in design.frames if f.face == "FRONT")
    stile = next(p for p in design.parts if p.role == "stile" and p.face == "LEFT")
    thick = box_of(stile.solids[0])[1]
    for fixing in design.fixings:
        if fixing.bag == "corner bolts" and fixing.key.startswith("bolt"):
            long = stock.hardware[fixing.key].length_mm
            assert long is not None
            assert long >= front.depth_mm + thick[1] - thick[0] - SINK_DEEP_MM + 2 * 1.6 + 6.8
        if fixing.key == "washer_m8":
            bolts = sum(f.amount for f in design.fixings if f.bag == fixing.bag and f.key.startswith("bolt"))
            assert fixing.amount == 2 * bolts


def test_the_shortest_bolt_that_will_do_is_taken() -> None:
    def bolt(key: str, mm: float | None) -> Hardware:
        return Hardware(key=key, name=key, per="each", pack=1, price=1.0, length_mm=mm)

    stock = {key: bolt(key, mm) for key, mm in (("bolt_m8", 110.0), ("bolt_m8_short", 60.0), ("bolt_m8_long", 150.0))}
    assert [bolt_for(stock, need) for need in (44.0, 60.0, 61.0, 128.0, 400.0)] == [
        "bolt_m8_short", "bolt_m8_short", "bolt_m8", "bolt_m8_long", "bolt_m8_long",
    ]  # fmt: skip
    assert bolt_for({"bolt_m8": bolt("bolt_m8", None)}, 999.0) == "bolt_m8"
    assert bolt_needed(127.0, 12.0) == pytest.approx(127.0 - 12.0 + 3.2 + 6.8 + 3.0)


def test_a_stock_list_without_the_new_screws_still_builds() -> None:
    """Lists that people wrote before screws and bolts had lengths."""
    from enclosure.checks.span import span_limits
    from enclosure.shape.build import build

    one = shelter("tree-fern")
    plain = {
        key: item.model_copy(update={"length_mm": None})
        for key, item in one.stock.hardware.items()
        if key not in ("bolt_m8_short", "bolt_m8_long", "bolt_m8_longest", "frame_screw_short", "frame_screw_bracket")
    }
    poor = one.stock.model_copy(update={"hardware": {k: v for k, v in plain.items() if k != "bed_sheet"}})
    design = build(one.brief, one.site, poor, span_limits(one.brief, one.site, poor))
    keys = {fixing.key for fixing in design.fixings}
    assert {"bolt_m8", "frame_screw"} <= keys
    assert not keys & {"bolt_m8_long", "frame_screw_short", "bed_sheet"}


# --- the base ring -----------------------------------------------------------------------


BRICKS = ((190.0, 90.0, 3.0), (215.0, 102.5, 10.0), (305.0, 203.0, 0.0), (250.0, 120.0, 0.0))


@given(st.floats(500, 6000), st.floats(500, 6000), st.sampled_from(BRICKS))
@settings(max_examples=150, deadline=None)
def test_the_bricks_fill_the_ring_and_do_not_overlap(
    long: float, wide: float, brick: tuple[float, float, float]
) -> None:
    base = Base(long, wide, (brick[0], brick[1], 60.0), brick[2], 0, 0, 0.0, 0.0, 0.0)
    sides = course(base, (long, wide))
    boxes = []
    for side in sides:
        assert side.joint_mm >= brick[2] - 1e-6
        assert all(0 < piece <= brick[0] + 1e-6 for piece in side.pieces_mm)
        for points in side.bricks:
            xs, ys = [p[0] for p in points], [p[1] for p in points]
            boxes.append((min(xs), min(ys), max(xs), max(ys)))
    covered = sum((b[2] - b[0]) * (b[3] - b[1]) for b in boxes)
    ring = 2 * brick[1] * (long + wide - 2 * brick[1])
    joints = sum(side.joint_mm * len(side.bricks) for side in sides) * brick[1]
    assert covered + joints == pytest.approx(ring, rel=1e-6)
    for place, a in enumerate(boxes):
        assert -1e-6 < a[0] < a[2] < long + 1e-6
        assert -1e-6 < a[1] < a[3] < wide + 1e-6
        for b in boxes[place + 1 :]:
            assert a[2] <= b[0] + 1e-6 or b[2] <= a[0] + 1e-6 or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6
    used = sum(side.whole for side in sides) + sum(len(side.pieces_mm) for side in sides)
    assert sum(side.whole for side in sides) <= bricks_needed(sides, brick[0]) <= used


@pytest.mark.parametrize(
    ("run", "long", "joint", "found"),
    [
        (1028.7, 193.675, 3.175, (5, 12.065, ())),  # joints opened to half an inch
        (1497.5, 215.0, 10.0, (6, 10.0, (137.5,))),
        (1000.0, 300.0, 0.0, (3, 0.0, (100.0,))),
        (930.0, 300.0, 0.0, (3, 10.0, ())),
        (960.0, 300.0, 0.0, (3, 0.0, (60.0,))),
        (630.0, 290.0, 10.0, (1, 10.0, (155.0, 155.0))),
        (200.0, 300.0, 10.0, (0, 10.0, (190.0,))),
    ],
)
def test_a_side_of_the_ring_by_hand(
    run: float, long: float, joint: float, found: tuple[int, float, tuple[float, ...]]
) -> None:
    whole, gap, pieces = divided(run, long, joint)
    assert (whole, pieces) == (found[0], pytest.approx(found[2]))
    assert gap == pytest.approx(found[1])


@pytest.mark.parametrize("name", NAMES)
def test_enough_bricks_are_bought_for_the_course_as_drawn(name: str) -> None:
    design = shelter(name).design
    sides = course(design.base, design.outside_mm[:2])
    assert bricks_needed(sides, design.base.brick_mm[0]) <= design.base.bricks_to_buy


@pytest.mark.parametrize("name", ["tree-fern", "broad-fig", "banana-clump"])
def test_lining_boards_stand_clear_of_bricks_and_sills(name: str) -> None:
    design = shelter(name).design
    wide, deep, _ = design.outside_mm
    inner = (wide - design.base.ring_length_mm) / 2 + design.base.brick_mm[1]
    boards = [box_of(p.solids[0]) for p in design.parts if p.kind == "lining"]
    assert boards
    for (x0, x1), (y0, y1), _z in boards:
        assert min(x0, y0) >= inner - 1e-6
        assert max(x1 - wide, y1 - deep) <= -inner + 1e-6
    length = next(f.amount for f in design.fixings if f.key == "bed_sheet")
    around = 2 * (max(b[0][1] for b in boards) - min(b[0][0] for b in boards))
    around += 2 * (max(b[1][1] for b in boards) - min(b[1][0] for b in boards))
    assert around - 8 * 30 < length * 1000 - 300 <= around


# --- what goes on when ------------------------------------------------------------------------


@pytest.mark.parametrize("name", NAMES)
def test_foot_channels_stay_on_the_frame_and_top_pieces_go_with_their_panel(name: str) -> None:
    design = shelter(name).design
    for part in design.parts:
        if part.kind != "track" or part.vent or part.role != "edge channel":
            continue
        low, high = box_of(part.solids[0])[2]
        frame = next(f for f in design.frames if f.face == part.face and f.level == part.level)
        if part.face.startswith("ROOF") or high - low > 200:
            continue
        foot = low < frame.plane.origin[2] + 1.0
        assert closes(part) is not foot, part.mark


@pytest.mark.parametrize("name", ["tree-fern", "olive-glass"])
def test_nothing_of_the_body_hangs_on_what_lifts_out(name: str) -> None:
    """The joiner of a mullion that lifts out, and the foot channel on its sill, go out with them."""
    design = shelter(name).design
    for part in design.parts:
        if part.face == "FRONT" and part.kind == "track" and part.level == 1 and not closes(part):
            over = [
                m
                for m in design.parts
                if m.face == "FRONT" and m.kind == "member" and m.role in ("sill", "stile", "mullion")
                and _length_shared(part, m) > 0.5
            ]
            assert over
            assert all(m.lift_out == part.lift_out for m in over), part.mark
            assert in_body(part) is not part.lift_out


def _length_shared(track: Part, member: Part) -> float:
    """Return the share of a track piece's length that lies over a member, front views."""
    a, b = box_of(track.solids[0]), box_of(member.solids[0])
    across = min(a[0][1], b[0][1]) - max(a[0][0], b[0][0])
    upward = min(a[2][1], b[2][1]) - max(a[2][0], b[2][0])
    if across <= 1 or upward <= 1:
        return 0.0
    long = max(a[0][1] - a[0][0], a[2][1] - a[2][0])
    return max(across, upward) / long


@pytest.mark.parametrize("name", NAMES)
def test_the_first_build_stands_everything_once_before_the_numbers_are_written(name: str) -> None:
    design = shelter(name).design
    known = {part.mark for part in design.parts}
    built: Counter[str] = Counter()
    for step in design.steps:
        assert set(step.parts) <= known
        assert 1 <= step.people <= max(design.people, 4)
        if step.phase == "first build" and step.key in ("bolt-frames", "roof-on", "try-panels"):
            built.update(step.parts)
    walls = {p.mark for p in design.parts if not p.face.startswith("ROOF") and p.face != "BASE"}
    assert walls <= set(built)
    assert max(built.values()) == 1


@pytest.mark.parametrize("name", NAMES)
def test_panels_in_track_come_from_above_and_boards_from_outside(name: str) -> None:
    design = shelter(name).design
    seen = 0
    for step in design.steps:
        for start, tip in arrows_of(design, step):
            assert math.dist(start, tip) > 100
        panels = [p for p in design.parts if p.mark in step.parts and p.kind == "panel" and p.face in ("FRONT", "LEFT")]
        if step.phase != "raising" or not step.key.startswith("panels-") or not panels:
            continue
        tracked = any(p.kind == "track" and p.face == panels[0].face for p in design.parts)
        for start, tip in arrows_of(design, step):
            seen += 1
            assert (start[2] > tip[2] + 1) is tracked
    assert seen


# --- battens and details --------------------------------------------------------------------------


def test_battens_over_a_bevelled_head_are_ripped_and_the_saw_page_says_so(tmp_path: Path) -> None:
    one = shelter("potted-lemon")
    design = one.design
    ripped = {p.mark: ripped_mm(p, design.material(p.material).width_mm) for p in design.parts if p.kind == "batten"}
    found = {mark: wide for mark, wide in ripped.items() if wide}
    head = next(p for p in design.parts if p.face == "FRONT" and p.role == "head")
    outer = box_of(head.solids[0])[2]
    low = head.cut.bevel_low_mm  # type: ignore[union-attr]
    assert set(found) == {"FN1", "FN6"}
    assert all(wide == pytest.approx(min(low, outer[1] - outer[0]), abs=4.0) for wide in found.values())
    write_packet(design, cut_everything(design, one.stock), tmp_path / "packet.pdf")
    text = " ".join(" ".join(page) for page in map(str.splitlines, text_of(tmp_path / "packet.pdf")))
    said = f"ripped to {words_of(design).length(next(iter(found.values())))}"
    assert text.count(said) == 2 * len(found)  # on the stick, and in the list of the frame


@pytest.mark.parametrize("name", NAMES)
def test_both_stiles_of_the_corner_lie_inside_their_detail(name: str) -> None:
    from enclosure.outputs.paper.packet_sections import _DIVISORS, _needed

    design = shelter(name).design
    need = _needed(design)
    cell = (83.0, 80.0)  # the smaller of the two papers
    divisor = next(d for d in _DIVISORS if all(p * d >= n for p, n in zip(cell, need, strict=True)))
    (corner,) = (d for d in details(design, (cell[0] * divisor, cell[1] * divisor)) if d.key == "corner")
    left, bottom, right, top = corner.window
    level = corner.knife.point[2]
    stiles = [box_of(p.solids[0]) for p in design.parts if p.role == "stile" and p.face in ("FRONT", "LEFT")]
    near = [b for b in stiles if b[0][0] < 200 and b[1][0] < 200 and b[2][0] < level < b[2][1]]
    assert len(near) == 2
    for (x0, x1), (y0, y1), _z in near:
        assert left < x0 < x1 < right
        assert bottom < y0 < y1 < top


def _size(char: dict[str, float]) -> float:
    """Return the size of a character's face; turned ones lie on their side."""
    return float(char["size"] if char["upright"] else char["x1"] - char["x0"])


def test_no_letter_is_smaller_than_the_smallest(tmp_path: Path) -> None:
    """ISO 3098-1 lists 1.8 mm as its least letter height (from memory); capitals are 0.729 of the face's size."""
    import pdfplumber

    one = shelter("potted-lemon")
    write_packet(one.design, cut_everything(one.design, one.stock), tmp_path / "packet.pdf")
    write_raising(replace(one.design), tmp_path / "raising.pdf")
    for name in ("packet", "raising"):
        with pdfplumber.open(tmp_path / f"{name}.pdf") as document:
            for page in document.pages:
                body = [c for c in page.chars if float(c["bottom"]) < float(page.height) - 90]
                assert body
                small = {c["text"] for c in body if _size(c) * 0.729 / (72 / 25.4) < 1.79}
                assert not small, (name, page.page_number, small)


@pytest.mark.parametrize("name", ["tree-fern", "olive-glass"])
def test_holes_of_panels_are_on_the_list_and_one_button_goes_through_each(name: str, tmp_path: Path) -> None:
    one = shelter(name)
    design = one.design
    holes = sum(len(p.cut.holes) for p in design.parts if isinstance(p.cut, SheetCut))
    assert holes == sum(f.amount for f in design.fixings if f.key == "button_fixing") > 0
    write_packet(design, cut_everything(design, one.stock), tmp_path / "packet.pdf")
    pages = [" ".join(p.split()) for p in text_of(tmp_path / "packet.pdf")]
    page = next(p for p in pages if "Holes for button fixings" in p)
    wide = words_of(design).length(next(p.cut.holes[0] for p in design.panels() if p.cut.holes).diameter_mm)  # type: ignore[union-attr]
    assert len(re.findall(rf"⌀ {re.escape(wide)}", page)) == sum(
        1 for p in design.panels() if isinstance(p.cut, SheetCut) and p.cut.holes
    )


