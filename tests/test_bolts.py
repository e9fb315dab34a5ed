"""Is there room for every bolt's nut, and is each hole drilled through the two frames that it clamps?

A nut is tried as a block of 24 x 24 x 10 mm (the outer diameter of an M8 washer is 24 mm, ISO 7093, from memory) on
the free side of the stile: it must touch no timber.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest

from enclosure.audit.geometry import Body, body, depth_of_clash
from enclosure.errors import EnclosureError
from enclosure.outputs.drawing.frame_pieces import clamped, frame_pieces, wall_bodies
from enclosure.pipeline.walk import design_from
from enclosure.shape.hardware import BOLT_CLEAR_MM, apart_from
from enclosure.shape.model import Design, Part, Vec
from tests.fuzz.mutate import toml_text
from tests.fuzz.random_briefs import random_brief
from tests.shelters import BRIEFS, shipped_design

NUT_MM, DEEP_MM = 24.0, 10.0


def bolts(design: Design, bag: str) -> Iterator[Vec]:
    for fixing in design.fixings:
        if fixing.bag == bag and fixing.key.startswith("bolt_"):
            yield from fixing.positions


def block(part: Part) -> Body:
    solid = part.solids[0]
    return body(part.mark, {"origin": solid.origin, "u": solid.u, "v": solid.v, "outline": solid.outline,
                            "depth": solid.depth})  # fmt: skip


def nut(place: Vec, inward: float) -> Body:
    half = NUT_MM / 2
    corners = [[-half, -half], [half, -half], [half, half], [-half, half]]
    start = place[1] + (0.1 if inward > 0 else -0.1 - DEEP_MM)
    prism = {"origin": [place[0], start, place[2]], "u": [0.0, 0.0, 1.0], "v": [1.0, 0.0, 0.0], "outline": corners}
    return body("nut", prism | {"depth": DEEP_MM})


def designs(count: int, tmp_path: Path) -> Iterator[Design]:
    path, made, number = tmp_path / "b.toml", 0, 0
    while made < count:
        number += 1
        path.write_text(toml_text(random_brief(random.Random(f"bolts {number}"))), encoding="utf-8")
        try:
            design = design_from(path).design
        except EnclosureError:
            continue
        made += 1
        yield design


def crowded(design: Design) -> list[str]:
    """Return the places where a nut finds timber in its way."""
    timber = [block(part) for part in design.parts if part.kind == "member"]
    middle = design.outside_mm[1] / 2
    found = []
    for place in bolts(design, "corner bolts"):
        probe = nut(place, 1.0 if place[1] < middle else -1.0)
        found += [f"{one.mark} at {place}" for one in timber if depth_of_clash(probe, one) > 0.01]
    return found


@pytest.mark.parametrize("brief", BRIEFS, ids=lambda path: path.stem)
def test_every_nut_of_a_shipped_shelter_has_room(brief: Path) -> None:
    assert crowded(shipped_design(brief.stem)) == []


def test_nuts_of_random_shelters_have_room(tmp_path: Path) -> None:
    for design in designs(25, tmp_path):
        assert crowded(design) == []


def test_each_bolt_is_drilled_through_two_frames(tmp_path: Path) -> None:
    """One hole in a stile of each of two walls for a corner bolt, in head and sill for a tier bolt; no more."""
    for design in [shipped_design("tree-fern"), *designs(12, tmp_path)]:
        bodies = wall_bodies(design)
        for bag, run, roles in (
            ("corner bolts", (0.0, 1.0, 0.0), [["stile", "stile"]]),
            ("tier bolts", (0.0, 0.0, 1.0), [["head", "sill"]]),
        ):
            for place in bolts(design, bag):
                marks = [mark for mark, _, _ in clamped(bodies, place, run)]
                assert sorted(design.part(mark).role for mark in marks) in roles, (design.name, place, marks)
        holes = sum(len(piece.bores) * len(piece.parts) for piece in frame_pieces(design))
        count = sum(1 for bag in ("corner bolts", "tier bolts") for _ in bolts(design, bag))
        assert holes == 2 * count


def test_places_move_aside_and_stay_apart() -> None:
    """A transom of 38 mm at 700 in a stile from 100 to 1300: the middle bolt goes beside it, the others stay."""
    moved = apart_from([100.0, 700.0, 1300.0], [(681.0, 719.0)], 100.0, 1300.0)
    assert moved[::2] == [100.0, 1300.0]
    assert abs(moved[1] - 700.0) == pytest.approx(19.0 + BOLT_CLEAR_MM)
    assert apart_from([50.0], [(0.0, 100.0)], 0.0, 100.0) == [50.0], "no room anywhere"
    two = apart_from([500.0, 510.0], [(480.0, 530.0)], 0.0, 1000.0)
    assert abs(two[0] - two[1]) > BOLT_CLEAR_MM
