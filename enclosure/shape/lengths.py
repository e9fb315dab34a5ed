"""Is every stick short enough to be cut from what can be bought?

Track and battens longer than the longest stock length are made of equal pieces
butted end to end; a frame member is never spliced, so one that is too long is
an error with a way out.
Units: mm.
"""

from __future__ import annotations

import math
from dataclasses import replace

from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.fit import floor_to
from enclosure.shape.model import Part, Prism, StickCut
from enclosure.shape.space import clip, extent


def longest_stick(ctx: Context, key: str) -> float:
    """Return the longest piece that a timber or track section yields, squaring cut taken off [mm]."""
    if key in ctx.stock.timbers:
        return max(row.length_mm for row in ctx.stock.timbers[key].lengths) - ctx.stock.saw.squaring_mm
    return max(row.length_mm for row in ctx.stock.tracks[key].lengths)


def within_stock(ctx: Context, part: Part) -> list[Part]:
    """Return the part, or the butted pieces of a track or batten that is longer than any stick.

    Raises:
        DesignError: A frame member or diagonal is longer than any stick.
    """
    if not isinstance(part.cut, StickCut):
        return [part]
    longest = longest_stick(ctx, part.material)
    if part.cut.length_mm <= longest:
        return [part]
    if part.kind not in ("track", "batten"):
        name = ctx.stock.timbers[part.material].name
        raise DesignError(
            f"the {part.role} of the {part.face} is {part.cut.length_mm:.0f} mm long; the longest clear "
            f"{name} in stock is {longest:.0f} mm",
            "list a longer stock length, choose another section, or make the shelter smaller",
        )
    return _butted(ctx, part, math.ceil(part.cut.length_mm / longest - 1e-9))


def _butted(ctx: Context, part: Part, count: int) -> list[Part]:
    assert isinstance(part.cut, StickCut)
    left, bottom, right, top = extent([point for solid in part.solids for point in solid.outline])
    upright = top - bottom > right - left
    start, size = (bottom, top - bottom) if upright else (left, right - left)
    pieces = []
    for k in range(count):
        low, high = start + size * k / count, start + size * (k + 1) / count
        solids = tuple(_between(solid, low, high, upright) for solid in part.solids)
        plumb = part.cut.start_deg, part.cut.end_deg
        angles = (plumb[0] if k == 0 or not upright else 0.0, plumb[1] if k == count - 1 or not upright else 0.0)
        length = floor_to(part.cut.length_mm / count, ctx.step)
        cut = replace(part.cut, length_mm=length, start_deg=angles[0], end_deg=angles[1])
        pieces.append(replace(part, cut=cut, solids=solids, mass_kg=round(part.mass_kg / count, 4)))
    return pieces


def _between(solid: Prism, low: float, high: float, upright: bool) -> Prism:
    far = 1e6
    if upright:
        outline = clip(clip(solid.outline, (-far, low), (far, low)), (far, high), (-far, high))
    else:
        outline = clip(clip(solid.outline, (low, far), (low, -far)), (high, -far), (high, far))
    return replace(solid, outline=outline)
