"""What does the shelter look like, as one small vector picture?

The same exact axonometric view as on the papers, written as SVG: no screenshot,
no kernel. Timber is filled, glazing see-through, every edge drawn.
Units: the picture is 1 mm of model to 0.1 units.
"""

from __future__ import annotations

from html import escape

from enclosure.language import tr, tr_as
from enclosure.outputs.colours import colour_of
from enclosure.outputs.drawing.axonometric import FRONT_RIGHT, Facet, View, bounds, picture
from enclosure.shape.model import Design
from enclosure.shape.names import in_its_language

SCALE = 0.1
MARGIN = 6.0


@in_its_language
def view_svg(design: Design, view: View = FRONT_RIGHT) -> str:
    """Return the whole shelter as SVG text, ending in one line end."""
    owners = [part for part in design.parts if part.face != "BASE" for _ in part.solids]
    solids = [solid for part in design.parts if part.face != "BASE" for solid in part.solids]
    seen = picture(solids, view)
    left, bottom, right, top = bounds(seen.shapes)
    kinds = {material.key: material.kind for material in design.materials}

    def place(point: tuple[float, float]) -> str:
        return f"{(point[0] - left) * SCALE + MARGIN:.1f} {(top - point[1]) * SCALE + MARGIN:.1f}"

    rows: list[str] = []
    for shape in seen.shapes:
        red, green, blue, opacity = colour_of(kinds[owners[shape.owner].material])
        for facet in shape.facets:
            shade = 1.0 if opacity < 1 else 0.72 + 0.28 * facet.light
            fill = "#" + "".join(f"{round(255 * c * shade):02x}" for c in (red, green, blue))
            outline = "M" + "L".join(place(p) for p in facet.points) + "Z"
            rows.append(f'<path d="{outline}" fill="{fill}" fill-opacity="{opacity:g}" {_pen(facet)}/>')
            rows += _edges(facet, place)
    width, height = (right - left) * SCALE + 2 * MARGIN, (top - bottom) * SCALE + 2 * MARGIN
    said = tr("the shelter seen from {side}").format(side=tr_as("seen from", view.name))
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:.1f} {height:.1f}" '
        f'width="{width:.0f}" height="{height:.0f}" role="img" aria-label="{escape(said)}">'
    )
    ground = f'<rect width="{width:.1f}" height="{height:.1f}" fill="#ffffff"/>'
    pen = '<g stroke-linejoin="round" stroke-linecap="round" stroke-width="0.35">'
    return "\n".join([head, ground, pen, *rows, "</g>", "</svg>"]) + "\n"


def _pen(facet: Facet) -> str:
    return 'stroke="#1a1a1a"' if all(facet.drawn) else 'stroke="none"'


def _edges(facet: Facet, place: object) -> list[str]:
    """Real edges of a face that was cut to open a ring; a whole face is stroked by itself."""
    if all(facet.drawn):
        return []
    put = place
    assert callable(put)
    count = len(facet.points)
    return [
        f'<path d="M{put(facet.points[i])}L{put(facet.points[(i + 1) % count])}" stroke="#1a1a1a" fill="none"/>'
        for i in range(count)
        if facet.drawn[i]
    ]
