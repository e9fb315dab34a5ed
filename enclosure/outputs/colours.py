"""Which colour shows a material in a solid model?

Colours only please the eye: a part is told by its name, never by its colour.
Red, green and blue as on a screen (sRGB), and opacity, each 0 to 1.
"""

from __future__ import annotations

Colour = tuple[float, float, float, float]

_OF_KIND: dict[str, Colour] = {
    "timber": (0.78, 0.62, 0.42, 1.0),
    "track": (0.66, 0.69, 0.72, 1.0),
    "multiwall": (0.72, 0.86, 0.94, 0.45),
    "glass": (0.70, 0.88, 0.84, 0.35),
    "acrylic": (0.80, 0.90, 0.96, 0.35),
    "film": (0.88, 0.92, 0.95, 0.30),
    "foam board": (0.93, 0.74, 0.72, 1.0),
    "board": (0.66, 0.50, 0.34, 1.0),
}
_OTHER: Colour = (0.6, 0.6, 0.6, 1.0)


def colour_of(kind: str) -> Colour:
    """Return the colour of a kind of material (`Material.kind`)."""
    return _OF_KIND.get(kind, _OTHER)
