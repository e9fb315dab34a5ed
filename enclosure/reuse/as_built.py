"""What did the tape measure say after building?

Corrections entered once the shelter stands: a part that came out longer or
shorter than drawn, a ring or an opening off its size, a post out of plumb. Later
designs reckon with the measured sizes, and labels say both.

The file is TOML, every length text with a unit:

    [parts.7]                  # by mark
    height = "1165 mm"
    [parts.BM3]
    length = "902 mm"
    [opening]                  # clear size between the frames, where it differs from the drawing
    width = "980 mm"
    [posts.P1]
    out_of_plumb = "15 mm"     # at the upper tie
    toward = "left"

Units: mm.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Literal

from pydantic import Field

from enclosure.errors import BriefError
from enclosure.files.fields import FileModel, length, one_of, some_text
from enclosure.files.read import raise_if_faulty, read_model
from enclosure.shape.model import Design, Part, Point, SheetCut, StickCut

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


class PostAsBuilt(FileModel):
    """How far a post leans at its upper tie."""

    out_of_plumb_mm: Annotated[float, length("0 mm", "500 mm")]
    toward: Annotated[Literal["front", "right", "back", "left"], one_of("front", "right", "back", "left")]


class AsBuilt(FileModel):
    """All corrections of one shelter."""

    parts: dict[str, PartAsBuilt] = Field(default_factory=dict)
    opening: Opening = Opening()
    posts: dict[str, PostAsBuilt] = Field(default_factory=dict)


def read_as_built(path: Path) -> AsBuilt:
    """Return the corrections in a file.

    Raises:
        FaultsError: The file cannot be read; all faults together.
    """
    outcome = read_model(path, AsBuilt)
    raise_if_faulty(outcome.faults)
    assert outcome.model is not None
    return outcome.model


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
    clear = _opening(design, measured.opening)
    anchors = tuple(
        replace(post, x_mm=post.x_mm + lean[0], y_mm=post.y_mm + lean[1])
        for post in design.anchors
        for lean in (_lean(measured, post.mark),)
    )
    return replace(design, parts=parts, clear_mm=clear, anchors=anchors)


def _opening(design: Design, opening: Opening) -> tuple[float, float, float]:
    width, depth, height = (
        _near("the opening", axis, drawn, said)
        for axis, drawn, said in (
            ("wide", design.clear_mm[0], opening.width_mm),
            ("deep", design.clear_mm[1], opening.depth_mm),
            ("high", design.clear_mm[2], opening.height_mm),
        )
    )
    return width, depth, height


def _lean(measured: AsBuilt, mark: str) -> Point:
    post = measured.posts.get(mark)
    if post is None:
        return (0.0, 0.0)
    way = {"front": (0.0, -1.0), "back": (0.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0)}[post.toward]
    return (way[0] * post.out_of_plumb_mm, way[1] * post.out_of_plumb_mm)


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


def differences(drawn: Design, built: Design, *, least_mm: float = 0.05) -> dict[str, str]:
    """Return for each part that differs what its label adds: ``as built 1165 mm high (drawn 1168)``."""
    rows = {}
    for a, b in zip(drawn.parts, built.parts, strict=True):
        words = [
            f"{after:g} mm {axis} (drawn {before:g})"
            for axis, before, after in _sizes(a, b)
            if abs(after - before) >= least_mm
        ]
        if words:
            rows[a.mark] = "as built " + ", ".join(words)
    return rows


def _sizes(a: Part, b: Part) -> list[tuple[str, float, float]]:
    if isinstance(a.cut, StickCut) and isinstance(b.cut, StickCut):
        return [("long", a.cut.length_mm, b.cut.length_mm)]
    assert isinstance(a.cut, SheetCut)
    assert isinstance(b.cut, SheetCut)
    return [("wide", a.cut.width_mm, b.cut.width_mm), ("high", a.cut.height_mm, b.cut.height_mm)]
