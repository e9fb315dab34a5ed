"""Does the painter's order agree with rays shot through the same solids?

The yardstick shares no code with the program: every prism is written down as
half-spaces, a ray toward the eye is clipped against them, and of the solids it
meets the one that it leaves last is the one that must be painted last.
Disjointness of random solids is decided by a linear program of scipy.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable

import numpy as np
import pytest
from scipy.optimize import linprog

from enclosure.outputs.drawing.axonometric import BACK_LEFT, FRONT_RIGHT, picture, view_from
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.order import paint_order
from enclosure.outputs.drawing.solids import body_of, cut
from enclosure.shape.model import Prism


def half_spaces(prism: Prism) -> tuple[np.ndarray, np.ndarray]:
    u, v = np.array(prism.u), np.array(prism.v)
    n = np.cross(u, v)
    origin = np.array(prism.origin)
    rows, limits = [n, -n], [n @ origin + prism.depth, -(n @ origin)]
    for (a0, b0), (a1, b1) in zip(prism.outline, prism.outline[1:] + prism.outline[:1], strict=True):
        outward = (b1 - b0) * u - (a1 - a0) * v
        outward = outward / np.linalg.norm(outward)
        rows.append(outward)
        limits.append(outward @ (origin + a0 * u + b0 * v))
    return np.array(rows), np.array(limits)


def disjoint(first: Prism, second: Prism) -> bool:
    balls = [np.array(body_of(prism, 0).corners) for prism in (first, second)]
    middles = [ball.mean(axis=0) for ball in balls]
    spans = [np.linalg.norm(ball - middle, axis=1).max() for ball, middle in zip(balls, middles, strict=True)]
    reach = sum(spans)
    if np.linalg.norm(middles[0] - middles[1]) > reach:
        return True
    rows_a, limits_a = half_spaces(first)
    rows_b, limits_b = half_spaces(second)
    rows, limits = np.vstack([rows_a, rows_b]), np.concatenate([limits_a, limits_b])
    # greatest depth to which some point lies inside both
    answer = linprog(
        [0, 0, 0, -1],
        A_ub=np.hstack([rows, np.ones((len(rows), 1))]),
        b_ub=limits,
        bounds=[(None, None)] * 3 + [(None, 1000)],
    )
    return bool(answer.status == 2 or -answer.fun < 1e-7)


def stretches(scene: list[Prism], toward: np.ndarray) -> Callable[[np.ndarray], dict[int, float]]:
    """Return a function that says which prisms a line of sight runs through, and where it leaves each."""
    spaces = [half_spaces(prism) for prism in scene]
    most = max(len(rows) for rows, _ in spaces)
    rows = np.stack([np.vstack([r, np.repeat(r[:1], most - len(r), axis=0)]) for r, _ in spaces])
    limits = np.stack([np.concatenate([m, np.repeat(m[:1], most - len(m))]) for _, m in spaces])
    rate = rows @ toward

    def found(point: np.ndarray) -> dict[int, float]:
        room = limits - rows @ point
        with np.errstate(divide="ignore", invalid="ignore"):
            at = room / rate
        high = np.where(rate > 1e-12, at, np.inf).min(axis=1)
        low = np.where(rate < -1e-12, at, -np.inf).max(axis=1)
        level = (np.abs(rate) <= 1e-12) & (room < 0)
        hit = (high - low > 0.5) & ~level.any(axis=1)
        return {int(index): float(high[index]) for index in np.nonzero(hit)[0]}

    return found


def random_prism(dice: random.Random, *, sloped: bool) -> Prism:
    if sloped:
        axis = np.array([dice.gauss(0, 1) for _ in range(3)])
        other = np.array([dice.gauss(0, 1) for _ in range(3)])
        u = axis / np.linalg.norm(axis)
        v = np.cross(u, other)
        v = v / np.linalg.norm(v)
    else:
        u, v = [np.roll(np.array([1.0, 0, 0]), dice.randrange(3)), None]
        v = np.roll(u, 1)
    width, height = dice.uniform(20, 600), dice.uniform(20, 600)
    corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height * dice.uniform(0.3, 1.0))]
    if dice.random() < 0.3:
        corners = corners[:3]
    origin = tuple(dice.uniform(0, 1000) for _ in range(3))
    return Prism(origin, tuple(u.tolist()), tuple(v.tolist()), tuple(corners), dice.uniform(10, 300))


def random_scene(seed: int, count: int, *, sloped: bool) -> list[Prism]:
    dice = random.Random(seed)
    scene: list[Prism] = []
    for _ in range(count * 8):
        fresh = random_prism(dice, sloped=sloped)
        if all(disjoint(fresh, known) for known in scene):
            scene.append(fresh)
        if len(scene) == count:
            break
    return scene


def faults(scene: list[Prism], view, seed: int, rays: int = 400) -> tuple[int, int]:
    """Shoot rays; return how many met two solids or more and how many found the wrong one on top."""
    painted = paint_order(scene, view.toward)
    assert painted.clashes == ()
    assert painted.forced == 0
    bodies = [np.array([view.project(tuple(c)) for c in body.corners]) for body in painted.bodies]
    outlines = [hull([tuple(p) for p in flat]) for flat in bodies]
    dice = random.Random(seed)
    toward, right, up = np.array(view.toward), np.array(view.right), np.array(view.up)
    look = stretches(scene, toward)
    met = wrong = 0
    for _ in range(rays):
        aimed = bodies[dice.randrange(len(bodies))]
        weights = np.array([dice.expovariate(1) for _ in aimed])
        x, y = (weights / weights.sum()) @ aimed
        point = x * right + y * up
        hits = look(point)
        if len(hits) < 2:
            continue
        met += 1
        on_top = max(hits, key=lambda index: hits[index])
        last = [
            body.owner
            for body, outline in zip(painted.bodies, outlines, strict=True)
            if body.owner in hits and inside(outline, (x, y))
        ][-1]
        wrong += last != on_top
    return met, wrong


def inside(outline, point) -> bool:
    return all(
        (b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0]) >= -1e-6
        for a, b in zip(outline, outline[1:] + outline[:1], strict=True)
    )


@pytest.mark.practice(words="common practice, no source")
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("sloped", [False, True])
def test_order_agrees_with_rays(seed: int, sloped: bool) -> None:
    scene = random_scene(seed, 20, sloped=sloped)
    view = (FRONT_RIGHT, BACK_LEFT, view_from("odd", 71.0, 12.0))[seed % 3]
    met, wrong = faults(scene, view, seed)
    assert met > 40, "the rays must meet solids behind one another, or the test proves nothing"
    assert wrong == 0


def ring_of_sticks() -> list[Prism]:
    """Three sticks, each leaning over the next: no order of whole sticks exists from above."""
    sticks = []
    for turn in (0, 120, 240):
        angle = math.radians(turn)
        along = np.array([math.cos(angle), math.sin(angle), 0.25])
        along = along / np.linalg.norm(along)
        side = np.array([-math.sin(angle), math.cos(angle), 0.0])
        middle = np.array([math.cos(angle + math.pi / 2), math.sin(angle + math.pi / 2), 0]) * 110
        start = middle - along * 300
        sticks.append(
            Prism(tuple(start), tuple(along), tuple(side), ((0, 0), (600, 0), (600, 20), (0, 20)), 20.0)
        )
    return sticks


def test_a_real_ring_is_cut_open_and_right() -> None:
    scene = ring_of_sticks()
    assert all(disjoint(scene[a], scene[b]) for a, b in ((0, 1), (1, 2), (0, 2)))
    view = view_from("above", 10.0, 80.0)
    painted = paint_order(scene, view.toward)
    assert painted.cuts >= 1
    met, wrong = faults(scene, view, 1, rays=3000)
    assert met > 20
    assert wrong == 0


def cube(x: float, y: float, z: float) -> Prism:
    return Prism((x, y, z), (1, 0, 0), (0, 1, 0), ((0, 0), (50, 0), (50, 50), (0, 50)), 50.0)


def test_touching_boxes_side_by_side_make_no_ring() -> None:
    boxes = [cube(x * 50.0, y * 50.0, z * 50.0) for x in range(5) for y in range(5) for z in range(5)]
    painted = paint_order(boxes, FRONT_RIGHT.toward)
    assert (painted.clashes, painted.cuts, painted.forced) == ((), 0, 0)


def test_overlap_is_reported_as_a_clash() -> None:
    boxes = [cube(0.0, 0.0, 0.0), cube(20.0, 20.0, 20.0)]
    assert paint_order(boxes, FRONT_RIGHT.toward).clashes == ((0, 1),)


def volume(corners: np.ndarray, faces) -> float:
    """Divergence theorem over a fan of triangles."""
    total = 0.0
    for face in faces:
        for i in range(1, len(face) - 1):
            total += float(np.dot(corners[face[0]], np.cross(corners[face[i]], corners[face[i + 1]]))) / 6
    return total


@pytest.mark.parametrize("seed", range(20))
def test_a_cut_body_keeps_its_volume_and_faces_outward(seed: int) -> None:
    dice = random.Random(seed)
    prism = random_prism(dice, sloped=True)
    body = body_of(prism, 0)
    axis = np.array([dice.gauss(0, 1) for _ in range(3)])
    axis = axis / np.linalg.norm(axis)
    middle = np.array(body.corners).mean(axis=0)
    halves = cut(body, tuple(axis), float(middle @ axis) + dice.uniform(-5, 5))
    assert halves is not None
    parts = [volume(np.array(half.corners), half.faces) for half in halves]
    outline = prism.outline
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(outline, outline[1:] + outline[:1], strict=True)) / 2
    assert min(parts) > 0
    assert sum(parts) == pytest.approx(area * prism.depth, rel=1e-6)
    for half in halves:
        corners = np.array(half.corners)
        for face, normal in zip(half.faces, half.normals, strict=True):
            assert (corners - corners[face[0]]) @ np.array(normal) == pytest.approx(
                np.minimum((corners - corners[face[0]]) @ np.array(normal), 0), abs=1e-4
            )


def test_hundreds_of_prisms_are_all_shown() -> None:
    boxes = [cube(x * 61.0, y * 57.0, z * 53.0) for x in range(8) for y in range(8) for z in range(7)]
    found = picture(boxes, FRONT_RIGHT)
    assert len(found.shapes) == 448
    assert all(len(shape.facets) == 3 for shape in found.shapes)
