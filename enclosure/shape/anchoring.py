"""Where do the posts and stakes stand, and where do their wires meet the frame?

Posts stand close beside the side walls and the back; the front stays free,
because it opens. Stakes stand off at the corners and hold slanting wires: one
to a corner along the diagonal, two square to the walls, or all three. Every
anchor stands outside the base ring, and none in front of the opening.

The same places are used by `build` and by the search for the least set of
anchors that holds (`checks.anchor_plan`).
Units: mm, world coordinates.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.brief.model import Anchors
from enclosure.errors import DesignError
from enclosure.shape.model import WALLS, Anchor, Base, Frame, Part, Vec
from enclosure.shape.solid_math import corners
from enclosure.shape.space import at, tidy

POST_GAP_MM = 50.0
POST_FROM_CORNER_MM = 150.0
LEAST_SPACING_MM = 250.0
"""Closer posts loosen each other's ground (common practice, no source)."""
POST_ROOM_MM = 40.0
"""From the ring's face to a post's middle: half a post and room for the driver (common practice, no source)."""
LONG_SIDE_MM = 1500.0
LOW_TIE_MM = 300.0
HIGH_TIE_SHARE = 0.75
WIRE_SHARE = 2.0 / 3.0
"""Slanting wires meet the frame at two thirds of the wall's height (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Place:
    """The shelter as the anchors see it.

    Args:
        width: Outside width of the frame.
        depth: Outside depth.
        away: From the frame's face to the middle of a close post: clear of skin, track and ring.
        eave: Height of the lowest wall top.
        ground: Height of the ground, below the sill's foot by the height of the ring.
    """

    width: float
    depth: float
    away: float
    eave: float
    ground: float


def place_of(outside: Vec, frames: tuple[Frame, ...], parts: tuple[Part, ...], base: Base) -> Place:
    """Return what the anchors need to know of a shelter."""
    width, depth = outside[0], outside[1]
    out = 0.0
    for part in parts:
        if part.face in WALLS:
            for solid in part.solids:
                for x, y, _ in corners(solid):
                    out = max(out, -x, x - width, -y, y - depth)
    ring = max(0.0, (base.ring_length_mm - width) / 2, (base.ring_width_mm - depth) / 2)
    walls = [frame for frame in frames if frame.face in WALLS]
    top = max(frame.level for frame in walls)
    eave = min(
        max(at(frame.plane, a, b)[2] for a, b in frame.outline if abs(a - end) < 1.0)
        for frame in walls
        if frame.level == top
        for end in (min(a for a, _ in frame.outline), max(a for a, _ in frame.outline))
    )
    away = max(out + POST_GAP_MM, ring + POST_ROOM_MM)
    return Place(width, depth, tidy(away), tidy(eave), -base.brick_mm[2] + 0.0)


def placed(asked: Anchors, place: Place) -> tuple[Anchor, ...]:
    """Return the posts, then the stakes.

    Raises:
        DesignError: There is no room for so many posts, or nothing would hold the shelter.
    """
    return (*posts(asked, place), *stakes(asked, place))


def usual_posts(place: Place) -> int:
    """Return how many posts are set when the brief does not say; a small shelter has room for fewer than four."""
    usual = 4 + (place.width > LONG_SIDE_MM) + 2 * (place.depth > LONG_SIDE_MM)
    return min(usual, most_posts(place))


def most_posts(place: Place) -> int:
    """Return the greatest number of posts that this shelter has room for."""
    return max((n for n in range(2, 25) if _room(place, *_shares(place, n))), default=2)


def posts(asked: Anchors, place: Place) -> tuple[Anchor, ...]:
    """Return the close posts: along both sides, and behind where the number is odd or the back is long."""
    count = usual_posts(place) if asked.posts is None else asked.posts
    if count == 0 and asked.stakes:
        return ()
    most = most_posts(place)
    if asked.posts is not None and (count < 2 or count > most or not _room(place, *_shares(place, count))):
        raise DesignError(
            f"{count} anchor posts were asked for; this shape has places for 2 to {most}",
            "leave anchors.posts out, and the program decides; stakes with slanting wires hold too: anchors.stakes = 4",
        )
    side, back = _shares(place, count)
    low = tidy(min(LOW_TIE_MM, place.eave / 3))
    heights = (low,) if asked.ties == "low" else (low, tidy(place.eave * HIGH_TIE_SHARE))
    depth = asked.depth_mm or 0.0
    return tuple(
        Anchor(f"P{i}", tidy(x), tidy(y), heights, face, "post", depth, _nearest(place, x, y), place.ground)
        for i, (x, y, face) in enumerate(_spots(place, side, back), start=1)
    )


def _shares(place: Place, count: int) -> tuple[int, int]:
    """Return the posts along each side and behind."""
    back = count % 2
    if place.width > LONG_SIDE_MM:
        back += 2 * max(0, (count - 4) // 4)
    return (count - back) // 2, back


def _room(place: Place, side: int, back: int) -> bool:
    inset = min(POST_FROM_CORNER_MM, place.depth / 4)
    along = place.depth - 2 * inset >= (side - 1) * LEAST_SPACING_MM
    return along and place.width >= (back + 1) * LEAST_SPACING_MM


def _spots(place: Place, side: int, back: int) -> list[tuple[float, float, str]]:
    """Return the places round the shelter: those nearest the corners first, then behind, then between."""
    left, right = -place.away, place.width + place.away
    inset = min(POST_FROM_CORNER_MM, place.depth / 4)
    run = place.depth - 2 * inset
    if side == 1:
        spots = [(left, place.depth / 2, "LEFT"), (right, place.depth / 2, "RIGHT")]
    else:
        near, far = inset, inset + run
        spots = [(left, near, "LEFT"), (right, near, "RIGHT"), (right, far, "RIGHT"), (left, far, "LEFT")]
    spots += [(place.width * (k + 1) / (back + 1), place.depth + place.away, "BACK") for k in range(back)]
    for k in range(1, side - 1):
        y = inset + run * k / (side - 1)
        spots += [(right, y, "RIGHT"), (left, y, "LEFT")]
    return spots


def stakes(asked: Anchors, place: Place) -> tuple[Anchor, ...]:
    """Return the stakes of the slanting wires, one, two or three to a corner, at the slope asked for."""
    if not asked.stakes:
        return ()
    height = tidy(place.eave * WIRE_SHARE)
    away = (height - place.ground) / math.tan(math.radians(asked.wire_slope_deg))
    away = max(away, place.away)
    slant = away * math.sqrt(0.5)
    found: list[tuple[float, float, str, float, float]] = []
    for x, across, side in ((0.0, -1.0, "LEFT"), (place.width, 1.0, "RIGHT")):
        for y, along, end in ((0.0, -1.0, "FRONT"), (place.depth, 1.0, "BACK")):
            if asked.stakes in (4, 12):
                found.append((x + across * slant, y + along * slant, side, x, y))
            if asked.stakes in (8, 12):
                found.append((x + across * away, y, side, x, y))
                found.append((x, y + along * away, end, x, y))
    depth = asked.stake_depth_mm or 0.0
    return tuple(
        Anchor(f"S{i}", tidy(x), tidy(y), (height,), face, "stake", depth, (cx, cy), place.ground)
        for i, (x, y, face, cx, cy) in enumerate(found, start=1)
    )


def _nearest(place: Place, x: float, y: float) -> tuple[float, float]:
    return (tidy(min(max(x, 0.0), place.width)), tidy(min(max(y, 0.0), place.depth)))


def wire_length(anchor: Anchor, height: float) -> float:
    """Return the straight length of a slanting wire from the frame to the ground [mm]."""
    x, y = anchor.frame_mm
    return math.dist((anchor.x_mm, anchor.y_mm, anchor.ground_mm), (x, y, height))
