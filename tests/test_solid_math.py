"""Do volume, bounds and overlap of the plain prisms agree with a CAD kernel and with hand sums?"""

from __future__ import annotations

import dataclasses
import math
import random
import time
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from enclosure.shape.model import Prism
from enclosure.shape.solid_math import (
    TOLERANCE_MM,
    area,
    bounding_box,
    clashes,
    corners,
    cross,
    dot,
    overlap_depth,
    part_volume,
    prism_faults,
    volume,
)
from tests.hand_made import FRONT, ROOF, box, small_design

cadquery = pytest.importorskip("cadquery")


def turned(rng: random.Random) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Return two unit vectors square to each other, in any direction."""
    while True:
        first = tuple(rng.gauss(0, 1) for _ in range(3))
        second = tuple(rng.gauss(0, 1) for _ in range(3))
        normal = cross(first, second)  # type: ignore[arg-type]
        size = math.sqrt(dot(normal, normal))
        if size > 0.1:
            break
    u = tuple(value / math.sqrt(dot(first, first)) for value in first)  # type: ignore[arg-type]
    n = tuple(value / size for value in normal)
    return u, cross(n, u)  # type: ignore[arg-type,return-value]


def random_prism(rng: random.Random, spread: float = 60.0) -> Prism:
    """Return a convex prism of 3 to 7 corners in any position: corners on an ellipse are convex."""
    u, v = turned(rng)
    count = rng.randint(3, 7)
    angles = sorted(rng.uniform(0, 2 * math.pi) for _ in range(count))
    if max(b - a for a, b in zip(angles, [*angles[1:], angles[0] + 2 * math.pi], strict=True)) > 3.0 or min(
        b - a for a, b in pairwise(angles)
    ) < 0.2:
        return random_prism(rng, spread)
    a, b = rng.uniform(10, 60), rng.uniform(10, 60)
    outline = tuple((a * math.cos(angle), b * math.sin(angle)) for angle in angles)
    origin = tuple(rng.uniform(-spread, spread) for _ in range(3))
    return Prism(origin, u, v, outline, rng.uniform(5, 60))  # type: ignore[arg-type]


def kernel_solid(prism: Prism) -> cadquery.Solid:  # type: ignore[name-defined]
    """Return the same body made by the CAD kernel from its corners alone, face by face."""
    points = [cadquery.Vector(*point) for point in corners(prism)]
    count = len(prism.outline)
    foot, top = points[:count], points[count:]
    rings = [foot[::-1], top, *([foot[i - 1], foot[i], top[i], top[i - 1]] for i in range(count))]
    faces = [cadquery.Face.makeFromWires(cadquery.Wire.makePolygon(ring, close=True)) for ring in rings]
    return cadquery.Solid.makeSolid(cadquery.Shell.makeShell(faces))


def test_volume_and_box_agree_with_the_kernel_on_random_prisms() -> None:
    rng = random.Random(11)
    for _ in range(40):
        prism = random_prism(rng)
        assert prism_faults(prism) == []
        solid = kernel_solid(prism)
        assert volume(prism) == pytest.approx(solid.Volume(), rel=1e-9)
        low, high = bounding_box([prism])
        outer = solid.BoundingBox()
        assert low == pytest.approx((outer.xmin, outer.ymin, outer.zmin), abs=1e-5)
        assert high == pytest.approx((outer.xmax, outer.ymax, outer.zmax), abs=1e-5)


def test_overlap_agrees_with_the_kernel_boolean_on_random_prisms() -> None:
    rng = random.Random(5)
    seen = {True: 0, False: 0}
    for _ in range(120):
        one, two = random_prism(rng, 45), random_prism(rng, 45)
        common = kernel_solid(one).intersect(kernel_solid(two)).Volume()
        depth = overlap_depth(one, two)
        if common > 1e-3:
            assert depth > TOLERANCE_MM
        elif depth > 0.5:
            raise AssertionError(f"depth {depth} but the kernel finds no common volume: {one} {two}")
        seen[depth > 0] += 1
        assert overlap_depth(two, one) == pytest.approx(depth)
    assert min(seen.values()) > 25  # both answers occur often


def test_two_prisms_that_only_an_edge_cross_separates() -> None:
    """Square sticks 10 thick, turned by 45 degrees about their length, one along x, one along y above it.

    Their edges meet crosswise; the middles are then two half diagonals, 2 x 5 x sqrt 2, apart.
    No face of either stick separates them.
    """
    root = math.sqrt(0.5)
    square = ((-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0))
    along_x = Prism((-50.0, 0.0, 0.0), (0.0, root, root), (0.0, -root, root), square, 100.0)
    rise = 2 * 5 * math.sqrt(2)
    for gap, deep in ((0.01, False), (0.0, False), (-0.5 * TOLERANCE_MM, False), (-0.01, True)):
        along_y = Prism((0.0, -50.0, rise + gap), (root, 0.0, root), (root, 0.0, -root), square, 100.0)
        assert (overlap_depth(along_x, along_y) > 0) is deep


@settings(max_examples=80, deadline=None)
@given(seed=st.integers(0, 10**6), push=st.floats(0.0, 30.0))
def test_a_prism_pushed_off_a_face_touches_and_pushed_in_overlaps(seed: int, push: float) -> None:
    """Move a copy out along a face normal by its own width there: touching; a little less: overlap."""
    prism = random_prism(random.Random(seed))
    n = cross(prism.u, prism.v)

    def moved(distance: float) -> Prism:
        origin = tuple(at + distance * way for at, way in zip(prism.origin, n, strict=True))
        return dataclasses.replace(prism, origin=origin)

    assert overlap_depth(prism, moved(prism.depth)) == 0
    assert overlap_depth(prism, moved(prism.depth + push)) == 0
    inside = min(push, prism.depth / 2) + 0.01
    # shapes narrower than the push are moved clear sideways sooner: the depth is the least of all ways
    assert 0 < overlap_depth(prism, moved(prism.depth - inside)) <= inside + 1e-9


@pytest.mark.regression
def test_hand_sums() -> None:
    """Box 900 x 38 x 60; a trapezoid 660 wide, 1150 and 1244.29 high, 10 thick; a triangle 150 x 130 x 9."""
    parts = {part.mark: part for part in small_design().parts}
    assert part_volume(parts["FM1"]) == pytest.approx(900 * 38 * 60)
    assert part_volume(parts["4"]) == pytest.approx((1150 + 1150 + 660 / 7) / 2 * 660 * 10)
    assert part_volume(parts["FG1"]) == pytest.approx(150 * 130 / 2 * 9)
    assert part_volume(parts["FT1"]) == pytest.approx(900 * 20 * 10 + 2 * 900 * 38 * 2)
    assert area(((0, 0), (0, 2), (2, 2))) == -2
    low, high = bounding_box(parts["FM1"].solids)
    assert low == pytest.approx((0, 0, 0), abs=1e-12)
    assert high == pytest.approx((900, 60, 38))


def test_the_hand_made_shelter_has_no_clash_and_a_moved_part_is_named() -> None:
    design = small_design()
    assert clashes(design) == []
    parts = list(design.parts)
    number = next(i for i, part in enumerate(parts) if part.mark == "FM4")
    solid = box(FRONT, 500.0 - 0.5, 38, 38, 1124, -60, 0)  # 20.5 left: into the transom's end
    parts[number] = dataclasses.replace(parts[number], solids=(solid,))
    found = clashes(dataclasses.replace(design, parts=tuple(parts)))
    assert [(clash.first, clash.second) for clash in found] == [("FM4", "FM6")]
    assert found[0].depth_mm == pytest.approx(20.5)
    assert found[0].at == pytest.approx((499.5 + 10.25, 30.0, 629.0))


def test_a_part_whose_own_prisms_overlap_is_named() -> None:
    design = small_design()
    parts = list(design.parts)
    solids = (box(ROOF, 0, 0, 10, 10, 50, 60), box(ROOF, 5, 5, 10, 10, 50, 60))
    parts[0] = dataclasses.replace(parts[0], solids=solids)
    found = clashes(dataclasses.replace(design, parts=tuple(parts)))
    assert [(clash.first, clash.second) for clash in found] == [("FM1", "FM1")]
    assert found[0].depth_mm == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"depth": 0.0}, "depth"),
        ({"depth": float("nan")}, "depth"),
        ({"u": (2.0, 0.0, 0.0)}, "unit vectors"),
        ({"v": (1.0, 0.0, 0.0)}, "unit vectors"),
        ({"outline": ((0.0, 0.0), (1.0, 0.0))}, "counter-clockwise"),
        ({"outline": ((0.0, 0.0), (0.0, 1.0), (1.0, 0.0))}, "counter-clockwise"),
        ({"outline": ((0.0, 0.0), (4.0, 0.0), (1.0, 1.0), (0.0, 4.0))}, "convex"),
        ({"outline": ((0.0, 0.0), (4.0, 0.0), (4.0, 0.0), (0.0, 4.0))}, "the same"),
        (  # a five-pointed star turns left at every corner, but goes round twice
            {"outline": tuple((math.cos(0.8 * math.pi * i), math.sin(0.8 * math.pi * i)) for i in range(5))},
            "convex",
        ),
    ],
)
def test_an_unsound_prism_is_found_out(change: dict[str, object], words: str) -> None:
    sound = box(FRONT, 0, 0, 10, 20, 0, 5)
    assert prism_faults(sound) == []
    assert words in " ".join(prism_faults(dataclasses.replace(sound, **change)))  # type: ignore[arg-type]


def test_the_sweep_finds_what_all_pairs_find_and_is_quick() -> None:
    rng = random.Random(3)
    design = small_design()
    part = design.parts[0]
    parts = tuple(
        dataclasses.replace(part, mark=f"X{i}", solids=(random_prism(rng, 400.0),)) for i in range(250)
    )
    started = time.process_time()
    found = clashes(dataclasses.replace(design, parts=parts))
    spent = time.process_time() - started
    slow = [
        (one.mark, two.mark)
        for i, one in enumerate(parts)
        for two in parts[i + 1:]
        if overlap_depth(one.solids[0], two.solids[0]) > 0
    ]
    assert [(clash.first, clash.second) for clash in found] == slow
    assert len(slow) > 20
    assert spent < 2.0
