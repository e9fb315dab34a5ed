"""What did the tape measure say after building?

Corrections entered once the shelter stands: a part that came out longer or
shorter than drawn, a ring or an opening off its size, a post out of plumb. Later
designs reckon with the measured sizes, and labels say both. The file is looked
for beside the old shelter's design.json, under the name as-built.toml.

The file is TOML, every length text with a unit:

    [parts.7]                  # by mark
    height = "1165 mm"
    [parts.BM3]
    length = "902 mm"
    [opening]                  # clear size between the frames, where it differs from the drawing
    width = "980 mm"
    [ring]                     # outer size of the brick ring: length left to right, width front to back
    length = "1152 mm"
    [posts.P1]
    out_of_plumb = "15 mm"     # at the upper tie
    toward = "left"

Units: mm.
"""

from __future__ import annotations

import json
import math
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from enclosure.errors import BriefError
from enclosure.files.fields import FileModel, length, one_of, some_text
from enclosure.files.read import read_model
from enclosure.language import later, tr, tr_as
from enclosure.shape.anchoring import POST_GAP_MM
from enclosure.shape.model import WALLS, Anchor, Base, Design, Part, SheetCut, StickCut, Vec
from enclosure.units import UnitSystem, format_length

MOST_CHANGE = 0.2
"""A measured size this share off the drawn one is taken for a slip of the pen."""
Size = Annotated[float | None, length("10 mm", "15 m")]


class PartAsBuilt(FileModel):
    """Measured sizes of one part; only what was measured."""

    length_mm: Size = None
    width_mm: Size = None
    height_mm: Size = None
    note: Annotated[str | None, some_text()] = None


class Opening(FileModel):
    """Clear sizes between the frames as measured."""

    width_mm: Size = None
    depth_mm: Size = None
    height_mm: Size = None


class Ring(FileModel):
    """Outer sizes of the base ring as measured."""

    length_mm: Size = None
    width_mm: Size = None


class PostAsBuilt(FileModel):
    """How far a post leans at its upper tie."""

    out_of_plumb_mm: Annotated[float, length("0 mm", "500 mm")]
    toward: Annotated[Literal["front", "right", "back", "left"], one_of("front", "right", "back", "left")]


class AsBuilt(FileModel):
    """All corrections of one shelter."""

    parts: dict[str, PartAsBuilt] = Field(default_factory=dict)
    opening: Opening = Opening()
    ring: Ring = Ring()
    posts: dict[str, PostAsBuilt] = Field(default_factory=dict)


def read_as_built(path: Path) -> AsBuilt:
    """Return the corrections in a file.

    Raises:
        FaultsError: The file cannot be read; all faults together.
    """
    return read_model(path, AsBuilt).sound()


def corrected(design: Design, measured: AsBuilt) -> Design:
    """Return the design with measured sizes in place of drawn ones, for use as an old shelter.

    Args:
        design: The shelter as drawn.
        measured: Corrections.

    Raises:
        BriefError: A mark that the shelter does not have, or a size far from the drawn one.
    """
    known = {part.mark for part in design.parts}
    posts = {post.mark for post in design.anchors}
    for mark in measured.parts:
        if mark not in known:
            raise BriefError(f"the as-built file names part {mark}, which the shelter does not have", "see its labels")
    for mark in measured.posts:
        if mark not in posts:
            raise BriefError(
                f"the as-built file names post {mark}; the shelter has {', '.join(sorted(posts))}",
                "use those names",
            )
    parts = tuple(
        _measured(part, measured.parts[part.mark]) if part.mark in measured.parts else part for part in design.parts
    )
    clear = opening_of(design, measured.opening)
    return replace(design, parts=parts, clear_mm=clear, base=_ring(design, measured.ring))


def _ring(design: Design, ring: Ring) -> Base:
    base = design.base
    if ring.length_mm is None and ring.width_mm is None:
        return base
    if not base.bricks:
        raise BriefError("the as-built file measures a base ring; the shelter has none", "leave [ring] out")
    length = _near("the base ring", "long", base.ring_length_mm, ring.length_mm)
    width = _near("the base ring", "wide", base.ring_width_mm, ring.width_mm)
    diagonal = round(math.hypot(length, width), 4)
    return replace(base, ring_length_mm=length, ring_width_mm=width, diagonal_mm=diagonal)


def opening_of(design: Design, opening: Opening) -> Vec:
    """Return the clear width, depth and height as measured, drawn ones where nothing was measured [mm]."""
    width, depth, height = (
        _near("the opening", axis, drawn, said)
        for axis, drawn, said in (
            ("wide", design.clear_mm[0], opening.width_mm),
            ("deep", design.clear_mm[1], opening.depth_mm),
            ("high", design.clear_mm[2], opening.height_mm),
        )
    )
    return width, depth, height


def _near(name: str, axis: str, drawn: float, said: float | None) -> float:
    if said is None:
        return drawn
    if abs(said - drawn) > MOST_CHANGE * drawn:
        raise BriefError(
            f"{name} is said to be {said:g} mm {axis}; it was drawn {drawn:g} mm",
            "measure again, or make a new design from a brief",
        )
    return said


def _measured(part: Part, said: PartAsBuilt) -> Part:
    name = f"part {part.mark}"
    if isinstance(part.cut, StickCut):
        if said.width_mm is not None or said.height_mm is not None:
            raise BriefError(f"{name} is a stick and has a length only", f"write length under [parts.{part.mark}]")
        long = _near(name, "long", part.cut.length_mm, said.length_mm)
        return replace(part, cut=replace(part.cut, length_mm=long))
    if said.length_mm is not None:
        raise BriefError(f"{name} is a sheet part and has no length", "write width or height")
    width = _near(name, "wide", part.cut.width_mm, said.width_mm)
    high = _near(name, "high", part.cut.height_mm, said.height_mm)
    return replace(part, cut=_stretched(part.cut, width, high))


def _stretched(cut: SheetCut, width: float, height: float) -> SheetCut:
    """Return the cut with its right side and its upper edge moved; slopes keep their rise."""
    right, up = width - cut.width_mm, height - cut.height_mm
    outline = tuple((x + right if x > cut.width_mm / 2 else x, y + up if y > 0.02 else y) for x, y in cut.outline)
    holes = tuple(h for h in cut.holes if h.x_mm < width and h.y_mm < height)
    return replace(cut, width_mm=width, height_mm=height, outline=outline, holes=holes)


LONG = later("{after} long (drawn {before})")
WIDE = later("{after} wide (drawn {before})")
HIGH = later("{after} high (drawn {before})")


def differences(drawn: Design, built: Design, *, least_mm: float = 0.05) -> dict[str, str]:
    """Return for each part that differs what its label adds: ``as built 1165 mm high (drawn 1168 mm)``."""
    units: UnitSystem = "inch" if drawn.units == "inch" else "metric"
    rows = {}
    for a, b in zip(drawn.parts, built.parts, strict=True):
        sizes = [
            tr(words).format(after=format_length(after, units), before=format_length(before, units))
            for words, before, after in _sizes(a, b)
            if abs(after - before) >= least_mm
        ]
        if sizes:
            rows[a.mark] = tr("as built {sizes}").format(sizes=", ".join(sizes))
    return rows


def _sizes(a: Part, b: Part) -> list[tuple[str, float, float]]:
    if isinstance(a.cut, StickCut) and isinstance(b.cut, StickCut):
        return [(LONG, a.cut.length_mm, b.cut.length_mm)]
    assert isinstance(a.cut, SheetCut)
    assert isinstance(b.cut, SheetCut)
    return [(WIDE, a.cut.width_mm, b.cut.width_mm), (HIGH, a.cut.height_mm, b.cut.height_mm)]


# --- what follows from it -------------------------------------------------------------

POST_STAYS_MM = 25.0
"""A post this near to its new place stays; common practice, no source."""
PLUMB_SHARE = 0.02
"""A post that leans more than this share of its height is set again; common practice, no source."""


def bearing_mm(sill_depth: float, brick_width: float, off: float) -> float:
    """Return how much of a sill lies on its bricks when the ring is too long or too short [mm].

    Args:
        sill_depth: Depth of the sill across the wall [mm].
        brick_width: Width of the ring [mm].
        off: How much longer (or shorter, < 0) the ring is than drawn; half of it falls on each end [mm].
    """
    aside = off / 2
    high = min(sill_depth / 2, brick_width / 2 + aside)
    return max(0.0, high - max(-sill_depth / 2, aside - brick_width / 2))


def ring_words(wanted: Design, there: Base) -> tuple[str, ...]:
    """Return what to do with a base ring that is there when a shelter is to stand on it.

    Args:
        wanted: The shelter that is to stand on it.
        there: The ring as measured.
    """
    base, units = wanted.base, _units(wanted)
    if not base.bricks or base.brick_mm != there.brick_mm:
        return ()
    sill = next(f.depth_mm for f in wanted.frames if f.face in WALLS)
    rows = []
    for axis, have, want in (
        ("long", there.ring_length_mm, base.ring_length_mm), ("wide", there.ring_width_mm, base.ring_width_mm)
    ):  # fmt: skip
        off = have - want
        if abs(off) < 0.05:
            continue
        rest = bearing_mm(sill, base.brick_mm[1], off)
        said = tr(_RINGS[axis, off > 0]).format(size=format_length(have, units), off=format_length(abs(off), units))
        if rest >= sill - 1e-6:
            then = tr("let it lie and set the frame in its middle; the sills bear whole")
        elif rest >= sill * 2 / 3:
            then = tr(
                "let it lie and set the frame in its middle; {rest} of the sill's {sill} bear on the bricks"
            ).format(rest=format_length(rest, units), sill=format_length(sill, units))
        else:
            then = tr("lay the ring anew")
        rows.append(f"{said}: {then}")
    return tuple(rows)


_RINGS = {
    ("long", True): later("the base ring is {size} long, {off} more than this shelter needs"),
    ("long", False): later("the base ring is {size} long, {off} less than this shelter needs"),
    ("wide", True): later("the base ring is {size} wide, {off} more than this shelter needs"),
    ("wide", False): later("the base ring is {size} wide, {off} less than this shelter needs"),
}


def ring_stays(wanted: Design, there: Base) -> bool:
    """Return whether a base ring that is there can bear a shelter as it lies."""
    base = wanted.base
    if base.brick_mm != there.brick_mm or not base.bricks:
        return base.brick_mm == there.brick_mm
    sill = next(f.depth_mm for f in wanted.frames if f.face in WALLS)
    offs = (there.ring_length_mm - base.ring_length_mm, there.ring_width_mm - base.ring_width_mm)
    return all(abs(off) < 0.05 or bearing_mm(sill, base.brick_mm[1], off) >= sill * 2 / 3 for off in offs)


def post_words(wanted: Design, old: Design, measured: AsBuilt) -> tuple[str, ...]:
    """Return what a post out of plumb means for a shelter tied to it, at the height of its upper tie there.

    Args:
        wanted: The shelter that is to be tied to the posts.
        old: The shelter at which they were measured.
        measured: The corrections.
    """
    rows = []
    units = _units(wanted)
    before = {post.mark: post for post in old.anchors}
    for post in wanted.anchors:
        said, was = measured.posts.get(post.mark), before.get(post.mark)
        if said is None or was is None or not said.out_of_plumb_mm:
            continue
        if not post_stays(post, was):
            rows.append(tr("post {mark} moves: drive it plumb at its new place").format(mark=post.mark))
            continue
        share = said.out_of_plumb_mm / max(was.tie_heights_mm)
        lean = share * max(post.tie_heights_mm)
        words = tr("post {mark} leans {lean} to the {side} at its upper tie").format(
            mark=post.mark, lean=format_length(lean, units), side=tr_as("to the", said.toward)
        )
        gap = _gap(post, said.toward)
        if gap is not None and lean > gap - 1e-6:
            then = tr("only {gap} lie between it and the frame there, so set it plumb")
            then = then.format(gap=format_length(gap, units))
        elif share > PLUMB_SHARE:
            then = tr("more than 1 in {share:.0f}, so set it plumb before the wire is tied").format(
                share=1 / PLUMB_SHARE
            )
        else:
            then = tr("let it stand, and tie the wire to where it is")
        rows.append(f"{words}: {then}")
    return tuple(rows)


def post_stays(post: Anchor, was: Anchor) -> bool:
    """Return whether a post that stands serves a new place so near that nobody would drive it again."""
    return math.hypot(post.x_mm - was.x_mm, post.y_mm - was.y_mm) <= POST_STAYS_MM


def _gap(post: Anchor, toward: str) -> float | None:
    """Return the room between a post and the frame it leans toward; None when it leans away or along."""
    way = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}[toward]
    gap = (post.frame_mm[0] - post.x_mm) * way[0] + (post.frame_mm[1] - post.y_mm) * way[1]
    return min(gap, POST_GAP_MM) if gap > 0 else None


def _units(design: Design) -> UnitSystem:
    return "inch" if design.units == "inch" else "metric"


def carried_text(measured: AsBuilt, marks: Iterable[str], posts: Iterable[str], *, ring: bool) -> str:
    """Return the as-built file of a later shelter: what is still true of what it keeps.

    Args:
        measured: Corrections of the old shelter.
        marks: Marks of the parts that are kept.
        posts: Marks of the posts that stay where they are.
        ring: Whether the base ring stays.
    """
    lines = ["# Measured after building, carried over from the old shelter. Add what the tape says from now on."]
    kept, standing = set(marks), set(posts)
    for mark, part in measured.parts.items():
        if mark in kept:
            lines += ["", f"[parts.{mark}]", *_rows(part)]
    if ring and _rows(measured.ring):
        lines += ["", "[ring]", *_rows(measured.ring)]
    for mark, post in measured.posts.items():
        if mark in standing:
            lines += ["", f"[posts.{mark}]", *_rows(post)]
    return "\n".join(lines) + "\n"


def _rows(model: FileModel) -> list[str]:
    rows = []
    for name, value in model:
        if isinstance(value, float):
            rows.append(f'{name.removesuffix("_mm")} = "{value:.10g} mm"')
        elif value is not None:
            rows.append(f"{name} = {json.dumps(str(value), ensure_ascii=False)}")
    return rows
