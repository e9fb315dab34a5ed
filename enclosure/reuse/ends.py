"""Where may the ends of an old stick be sawn, so that no screw hole lies beside the new end?

Units: mm, along the stick from its first end.
"""

from __future__ import annotations


def clear_of_holes(
    stretch: tuple[float, float], length_mm: float, holes_mm: list[float], margin_mm: float
) -> tuple[float, float]:
    """Return the stretch with each sawn end moved inward until no hole is nearer than a margin.

    Args:
        stretch: From, to [mm]; 0 and the whole length are ends as they stand, not sawn.
        length_mm: Length of the stick.
        holes_mm: Places of its screw holes.
        margin_mm: Sound timber between a hole and a sawn end.
    """
    start, end = stretch
    for at in sorted(holes_mm):
        if start > 0.0 and abs(at - start) < margin_mm:
            start = at + margin_mm
    for at in sorted(holes_mm, reverse=True):
        if end < length_mm and abs(at - end) < margin_mm:
            end = at - margin_mm
    return start, end
