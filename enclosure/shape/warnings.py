"""What should the grower know about this shape before buying?"""

from __future__ import annotations

import math

from enclosure.language import tr
from enclosure.shape.bracing import most_screws
from enclosure.shape.context import Context
from enclosure.shape.grid import FrameGrid, verge_mm
from enclosure.shape.model import Part, SheetCut
from enclosure.shape.names import all_of, face_code
from enclosure.units import format_length

PLAY_MM = 2.0


def warnings_for(
    ctx: Context, walls: tuple[FrameGrid, ...], roofs: tuple[FrameGrid, ...], parts: tuple[Part, ...]
) -> tuple[str, ...]:
    """Return plain sentences, the weightiest first."""
    said = []
    if ctx.brief.roof.kind == "flat":
        said.append(tr("a flat roof holds water and snow: a fall of 5 degrees or more drains it"))
    verge = verge_mm(ctx)
    thick = sorted(
        {grid.face for grid in walls if grid.face in _verge_faces(ctx) and ctx.out(grid.skin) + PLAY_MM > verge}
    )
    if thick:
        words = tr("the roof runs only {size} past the {faces}, less than its skin stands out: tape its top edge")
        size = format_length(verge, ctx.brief.papers.units)
        said.append(words.format(size=size, faces=all_of([face_code(face) for face in thick])))
    if any(ctx.stock.skins[grid.skin].kind == "glass" for grid in roofs):
        said.append(
            tr("glass overhead can fall in pieces: use toughened or laminated glass, or another skin, on the roof")
        )
    if any(ctx.stock.skins[grid.skin].kind == "film" for grid in roofs):
        said.append(tr("a film roof sags under snow and rain: clear it after every fall"))
    if ctx.brief.vent and not any(part.vent for part in parts):
        words = tr("the vent asked for in the {wall} needs a skin held in track; none was made")
        said.append(words.format(wall=tr(ctx.brief.vent.wall)))
    if ctx.brief.vent and any(part.vent for part in parts):
        sashes = [p.cut for p in parts if p.vent and isinstance(p.cut, SheetCut)]
        area = sum(cut.width_mm * cut.height_mm for cut in sashes)
        share = area / (ctx.box.width * ctx.box.depth)
        if share < ctx.brief.vent.share * 0.85:
            words = tr("the vent opens {share} of the floor; {wanted} was asked for; the {wall} has no room for more")
            wanted = f"{ctx.brief.vent.share:.0%}"
            said.append(words.format(share=f"{share:.0%}", wanted=wanted, wall=tr(ctx.brief.vent.wall)))
    lath = min((ctx.stock.timbers[p.material].width_mm for p in parts if p.kind == "diagonal"), default=math.inf)
    if ctx.brief.frame.brace_screws > most_screws(lath):
        words = tr("{count} screws at each end split a diagonal {size} wide: drill every hole first, or take a wider "
                   "one (frame.diagonal)")  # fmt: skip
        size = format_length(lath, ctx.brief.papers.units)
        said.append(words.format(count=ctx.brief.frame.brace_screws, size=size))
    return tuple(said)


def _verge_faces(ctx: Context) -> tuple[str, ...]:
    toward = ctx.brief.roof.ridge if ctx.brief.roof.kind == "gable" else ctx.brief.roof.falls_to
    if ctx.brief.roof.kind == "flat" or toward in ("front", "back", "x"):
        return ("LEFT", "RIGHT")
    return ("FRONT", "BACK")
