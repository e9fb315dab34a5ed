"""What carries the two slopes of a gable where they meet?

A ridge board between the gable walls; both roof frames lean against it and are
bolted to it. Its ends hang in brackets on the gable walls.
Units: mm.
"""

from __future__ import annotations

import math

from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.fit import floor_to
from enclosure.shape.grid import RoofLine
from enclosure.shape.model import Part, Prism, StickCut
from enclosure.shape.space import box, tidy, vec, volume_mm3

DEEPEST_MM = 145.0
"""A ridge board deeper than this is not needed at these spans; practice, no source."""


def ridge_board(ctx: Context, roof: RoofLine) -> list[Part]:
    """Return the ridge board of a gable (one part), or nothing for other roofs.

    The deepest board that hangs no lower than the clear height.

    Raises:
        DesignError: No timber of the ridge's thickness suits the roof frames and leaves the clear box free.
    """
    if roof.kind != "gable":
        return []
    thick = ctx.ridge_thickness
    depth = ctx.roof_section.depth
    along_x = roof.toward == "x"
    middle = (ctx.outside_depth if along_x else ctx.outside_width) / 2
    underside = roof.clear_height + (middle - thick / 2 - roof.depth_of_member) * roof.slope
    top = tidy(underside + depth * math.cos(math.atan(roof.slope)))
    high, key = _ridge_timber(ctx, thick, depth, top - roof.clear_height)
    f = ctx.section.depth
    length = ctx.box.width if along_x else ctx.box.depth
    section = box(-thick / 2, top - high, thick / 2, top)
    if along_x:
        solid = Prism(vec(f, middle, 0.0), (0.0, 1.0, 0.0), (0.0, 0.0, 1.0), section, length)
    else:
        solid = Prism(vec(middle, f + length, 0.0), (1.0, 0.0, 0.0), (0.0, 0.0, 1.0), section, length)
    mass = round(volume_mm3((solid,)) * 1e-9 * ctx.stock.timbers[key].density_kg_m3, 4)
    cut = StickCut(floor_to(length, ctx.step))
    return [Part("", "member", "ridge", "ROOF A", 1, 0, 0, key, cut, (solid,), mass)]


def _ridge_timber(ctx: Context, thick: float, depth: float, room: float) -> tuple[float, str]:
    """Return width and key of the deepest timber that carries the roof frames and fits the room over the clear box."""
    wide = sorted(
        (t.width_mm, t.key)
        for t in ctx.stock.timbers.values()
        if abs(t.thickness_mm - thick) < 0.6 and depth <= t.width_mm <= DEEPEST_MM
    )
    if not wide:
        raise DesignError(
            f"no timber {thick:g} mm thick and at least {depth:g} mm wide is in the stock for the ridge",
            "list one, or choose another roof section",
        )
    fits = [(width, key) for width, key in wide if width <= room + 1e-3]
    if not fits:
        raise DesignError(
            f"the ridge board has {room:.1f} mm from the clear height to the top of the roof frames; the narrowest "
            f"timber in stock that is {thick:g} mm thick and at least {depth:g} mm wide is {wide[0][0]:g} mm wide",
            f"give the roof more fall (roof.fall), or list a timber {thick:g} x {depth:g} to {thick:g} x {room:.1f} mm"
            if room >= depth
            else "give the roof more fall (roof.fall), or turn the ridge (roof.ridge) along the shorter side",
        )
    return fits[-1]
