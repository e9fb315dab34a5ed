"""Which battens are narrower than the lath they are cut from?

A batten over a member whose outside face is lower than the lath is wide (the
low side of a bevelled head) is ripped to that face.

Units: mm.
"""

from __future__ import annotations

import math

from enclosure.shape.model import Part

_LEAST_RIP_MM = 0.6


def ripped_mm(part: Part, lath_mm: float) -> float:
    """Return the width to which a batten is ripped from a lath `lath_mm` wide, 0 when it keeps that."""
    if part.kind != "batten":
        return 0.0
    outline = part.solids[0].outline
    p, q = max(zip(outline, (*outline[1:], outline[0]), strict=True), key=lambda edge: math.dist(*edge))
    long = math.dist(p, q)
    across = [(b * (q[0] - p[0]) - a * (q[1] - p[1])) / long for a, b in outline]
    wide = max(across) - min(across)
    return round(wide, 4) if wide < lath_mm - _LEAST_RIP_MM else 0.0
