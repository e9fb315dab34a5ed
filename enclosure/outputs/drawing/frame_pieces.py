"""Which different pieces is the frame cut from, and what does each look like by itself?

A piece lies in axes of its own: x along it from the left end, y across its face, z
through it toward the side that looks outward. Parts that are the same piece turned round
(a left and a right stile, say) count as one; the mark list says which they are. The piece
is as long as it is to be cut, which is the length in place rounded down.

Holes are those of the bolts that clamp two frames together: corner bolts run front to
back, tier bolts upright; battens and diagonals go on when the frames stand bolted. Holes of
screws, brackets and roof ties are drilled in place.

Units: mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.drawing.solids import Body, body_of
from enclosure.shape.model import WALLS, Design, Part, Point, Prism, StickCut, Vec
from enclosure.shape.space import cross, dot

KINDS = ("member", "diagonal", "batten")
BOLT_RUNS: dict[str, Vec] = {"corner bolts": (0.0, 1.0, 0.0), "tier bolts": (0.0, 0.0, 1.0)}
BOLT_MM = 8.0
"""M8, of which 5/16 in is 7.94 mm."""
HOLE_PLAY_MM = 1.0
"""EN 1995-1-1, 10.4.3: a bolt hole in timber at most 1 mm wider than the bolt (from memory)."""
_TOUCH_MM = 0.6  # frames may stand this far apart or in each other where lengths are rounded
_ALONG_SHARE = 0.7  # more than this of a bolt's direction lies along a member: it runs with the grain
_GRAIN_MM = 0.0637  # pieces that differ by less are one; no multiple of a sixteenth of an inch or of a mm
_SQUARE_SHARE = 0.99


@dataclass(frozen=True, slots=True, order=True)
class Bore:
    """A hole for a bolt: its middle from the left end, and across the view in which it is round.

    Args:
        edge: True when it runs through the edges (round seen from above), False through the face.
        x_mm: From the left end.
        across_mm: From the lower edge of the view in which it is round.
        diameter_mm: Diameter.
    """

    edge: bool
    x_mm: float
    across_mm: float
    diameter_mm: float


@dataclass(frozen=True, slots=True)
class Outline:
    """One view: its outline, counter-clockwise, and the edges seen inside it."""

    points: tuple[Point, ...]
    inner: tuple[tuple[Point, Point], ...]


@dataclass(frozen=True, slots=True)
class FramePiece:
    """One sort of piece.

    Args:
        parts: All parts that are this piece, in the order of their marks.
        face: Seen square to the face, outward side toward the viewer.
        edge: Seen from above: x to the right, the outward side at the foot.
        end: Seen from the right end: the outward side at the left, y up.
        bores: Holes.
    """

    parts: tuple[Part, ...]
    face: Outline
    edge: Outline
    end: Outline
    bores: tuple[Bore, ...]

    @property
    def cut(self) -> StickCut:
        """How it is cut."""
        cut = self.parts[0].cut
        assert isinstance(cut, StickCut)
        return cut


def frame_pieces(design: Design) -> list[FramePiece]:
    """Return the different sticks of all frames, by kind of timber, the longest first."""
    found: dict[object, list[tuple[Part, _Lying]]] = {}
    bores = _bores(design)
    for part in design.parts:
        if part.kind in KINDS and isinstance(part.cut, StickCut) and len(part.solids) == 1:
            lying = _lying(design, part, bores.get(part.mark, ()))
            found.setdefault((part.kind, part.material, _key(lying)), []).append((part, lying))
    pieces = []
    for group in found.values():
        lying = group[0][1]
        views = [_view(lying.body, *axes) for axes in (_FACE, _EDGE, _END)]
        pieces.append(FramePiece(tuple(part for part, _ in group), views[0], views[1], views[2], lying.bores))
    order = {kind: place for place, kind in enumerate(KINDS)}
    keys = [material.key for material in design.materials]

    def place(piece: FramePiece) -> tuple[int, int, float]:
        first = piece.parts[0]
        return order[first.kind], keys.index(first.material), -piece.cut.length_mm

    return sorted(pieces, key=place)


# --- a piece by itself ------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Lying:
    body: Body
    size: Vec
    bores: tuple[Bore, ...]


_FACE = ((1.0, 0.0, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0))  # to the right, up, toward the viewer
_EDGE = ((1.0, 0.0, 0.0), (0.0, 0.0, -1.0), (0.0, 1.0, 0.0))
_END = ((0.0, 0.0, -1.0), (0.0, 1.0, 0.0), (1.0, 0.0, 0.0))


def _lying(design: Design, part: Part, holes: Sequence[tuple[Vec, Vec]]) -> _Lying:
    """Return a part in its own axes, its lower left back corner at the origin, as long as it is cut."""
    assert isinstance(part.cut, StickCut)
    solid = part.solids[0]
    x, y, z = _axes(design, part, solid)
    body = body_of(solid, 0)
    flat = [(dot(corner, x), dot(corner, y), dot(corner, z)) for corner in body.corners]
    low = tuple(min(corner[axis] for corner in flat) for axis in range(3))
    high = tuple(max(corner[axis] for corner in flat) for axis in range(3))
    long = high[0] - low[0]
    short_by = long - part.cut.length_mm

    def moved(point: Vec) -> Vec:
        along = point[0] - low[0]
        return (along - short_by if along > long / 2 else along, point[1] - low[1], point[2] - low[2])

    def turned(direction: Vec) -> Vec:
        return (dot(direction, x), dot(direction, y), dot(direction, z))

    bores = []
    for place, run in holes:
        there, way = turned(place), turned(run)
        edge = abs(way[1]) > _SQUARE_SHARE
        if edge or abs(way[2]) > _SQUARE_SHARE:
            # from the left end, which lies where it stands, so that the holes of two frames meet
            across = high[2] - there[2] if edge else there[1] - low[1]
            bores.append(Bore(edge, round(there[0] - low[0], 3), round(across, 3), BOLT_MM + HOLE_PLAY_MM))
    lies = replace(
        body,
        corners=tuple(moved(corner) for corner in flat),
        normals=tuple(turned(normal) for normal in body.normals),
    )
    size = (part.cut.length_mm, high[1] - low[1], high[2] - low[2])
    return _Lying(lies, size, tuple(sorted(bores)))


def _axes(design: Design, part: Part, solid: Prism) -> tuple[Vec, Vec, Vec]:
    """Return directions along the part, across its face and outward."""
    sweep = cross(solid.u, solid.v)
    count = len(solid.outline)
    edges = [(solid.outline[i], solid.outline[(i + 1) % count]) for i in range(count)]
    a, b = max(edges, key=lambda edge: round(math.dist(*edge), 1))
    if math.dist(a, b) >= solid.depth:
        long = math.dist(a, b)
        c, s = (b[0] - a[0]) / long, (b[1] - a[1]) / long
        along = tuple(c * u + s * v for u, v in zip(solid.u, solid.v, strict=True))
        x: Vec = (along[0], along[1], along[2])
        if (c, s) < (0.0, 0.0):  # to the right, or up, in the plane of the frame
            x = (-x[0], -x[1], -x[2])
        return x, cross(sweep, x), sweep
    frame = next((one for one in design.frames if one.face == part.face), None)
    outward = (0.0, 0.0, 1.0) if frame is None else frame.plane.n
    z = max((solid.u, solid.v), key=lambda axis: abs(dot(axis, outward)))
    if dot(z, outward) < 0:
        z = (-z[0], -z[1], -z[2])
    return sweep, cross(z, sweep), z


def _key(lying: _Lying) -> object:
    """Return what is equal for two pieces that are the same when one of them is turned round."""
    long, high, deep = lying.size

    def image(flip_x: bool, flip_y: bool, flip_z: bool) -> object:
        corners = sorted(
            (
                _grains(long - x if flip_x else x),
                _grains(high - y if flip_y else y),
                _grains(deep - z if flip_z else z),
            )
            for x, y, z in lying.body.corners
        )
        holes = sorted(
            (
                bore.edge,
                _grains(long - bore.x_mm if flip_x else bore.x_mm),
                _grains(_across(bore, high, deep, flip_z if bore.edge else flip_y)),
            )
            for bore in lying.bores
        )
        return corners, holes

    turns = ((False, False, False), (False, True, True), (True, False, True), (True, True, False))
    return min(repr(image(*turn)) for turn in turns)


def _grains(length: float) -> int:
    return round(length / _GRAIN_MM)


def _across(bore: Bore, high: float, deep: float, flip: bool) -> float:
    return (deep if bore.edge else high) - bore.across_mm if flip else bore.across_mm


def _view(body: Body, right: Vec, up: Vec, toward: Vec) -> Outline:
    """Return the outline of a body, its lower left corner at (0, 0), and the visible edges within it."""
    flat = [(dot(corner, right), dot(corner, up)) for corner in body.corners]
    left, low = min(x for x, _ in flat), min(y for _, y in flat)
    flat = [(x - left, y - low) for x, y in flat]
    points = hull(flat)
    seen: set[tuple[int, int]] = set()
    for face, normal in zip(body.faces, body.normals, strict=True):
        if dot(normal, toward) > 1e-6:
            seen |= {(min(i, j), max(i, j)) for i, j in zip(face, face[1:] + face[:1], strict=True)}
    inner = {(min(flat[i], flat[j]), max(flat[i], flat[j])) for i, j in seen}
    return Outline(points, tuple(sorted(edge for edge in inner if not _on_rim(edge, points))))


def _on_rim(edge: tuple[Point, Point], points: Sequence[Point]) -> bool:
    if math.dist(*edge) < 0.05:
        return True
    middle = ((edge[0][0] + edge[1][0]) / 2, (edge[0][1] + edge[1][1]) / 2)
    for a, b in zip(points, [*points[1:], points[0]], strict=True):
        long = math.dist(a, b)
        away = (b[0] - a[0]) * (middle[1] - a[1]) - (b[1] - a[1]) * (middle[0] - a[0])
        if long > 0 and abs(away) / long < 0.05:
            return True
    return False


# --- bolts ------------------------------------------------------------------------


def _bores(design: Design) -> dict[str, list[tuple[Vec, Vec]]]:
    """Return by mark of a member (middle of the hole, direction) of each bolt that clamps it to another frame."""
    found: dict[str, list[tuple[Vec, Vec]]] = {}
    bodies = wall_bodies(design)
    for fixing in design.fixings:
        run = BOLT_RUNS.get(fixing.bag)
        if run is None or not fixing.key.startswith("bolt"):
            continue
        for place in fixing.positions:
            for mark, near, far in clamped(bodies, place, run):
                middle = (near + far) / 2
                there = (place[0] + middle * run[0], place[1] + middle * run[1], place[2] + middle * run[2])
                found.setdefault(mark, []).append((there, run))
    return found


def wall_bodies(design: Design) -> list[tuple[str, Body, Vec]]:
    """Return mark, body and lengthwise direction of every member of a wall."""
    return [
        (part.mark, body_of(part.solids[0], 0), _axes(design, part, part.solids[0])[0])
        for part in design.parts
        if part.kind == "member" and part.face in WALLS and len(part.solids) == 1
    ]


def clamped(bodies: Iterable[tuple[str, Body, Vec]], place: Vec, run: Vec) -> list[tuple[str, float, float]]:
    """Return the two members through which a bolt runs, from where to where, counted from `place`.

    `place` lies at the first member or in it, or between both. A timber that only ends there, with the bolt along it,
    is not clamped; nor is one farther away on the same line, as in a shelter hardly deeper than its own timber.
    """
    spans = []
    for mark, body, along in bodies:
        span = chord(body, place, run)
        if span is not None and span[1] - span[0] > 1.0 and abs(dot(along, run)) < _ALONG_SHARE:
            spans.append((mark, *span))
    chain: list[tuple[str, float, float]] = []
    ends = [0.0]
    while len(chain) < 2:
        rest = [one for one in spans if one not in chain]
        touching = [one for one in rest if any(one[1] - _TOUCH_MM < end < one[2] + _TOUCH_MM for end in ends)]
        if not touching:
            break
        chain.append(touching[0])
        ends += touching[0][1:]
    return chain


def chord(body: Body, place: Vec, run: Vec) -> tuple[float, float] | None:
    """Return where a straight line enters and leaves a convex body, counted from `place`; None if it misses."""
    enter, leave = -math.inf, math.inf
    for face, normal in zip(body.faces, body.normals, strict=True):
        over = dot(normal, place) - dot(normal, body.corners[face[0]])
        rate = dot(normal, run)
        if abs(rate) < 1e-9:
            if over > -1e-6:
                return None
        elif rate > 0:
            leave = min(leave, -over / rate)
        else:
            enter = max(enter, -over / rate)
    return (enter, leave) if leave > enter else None
