"""At which scale does a drawing fit its place, and how is the scale shown?

Scales after ISO 5455 with the steps that draughtsmen use between them. Units:
model and page in mm.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.language import decimal, tr
from enclosure.outputs.paper.layer import BLACK, WHITE, Box, Sheet
from enclosure.outputs.paper.words import Words
from enclosure.shape.model import Point

_DIVISORS = (1, 2, 2.5, 4, 5, 7.5, 10, 12.5, 15, 20, 25, 30, 40, 50, 75, 100, 150, 200)


@dataclass(frozen=True, slots=True)
class Fitting:
    """How a drawing lies on the page: page = corner + model / divisor."""

    divisor: float
    corner: Point
    low: Point = (0.0, 0.0)

    def at(self, point: tuple[float, float]) -> Point:
        """Return the place of a model point on the page."""
        return (
            self.corner[0] + (point[0] - self.low[0]) / self.divisor,
            self.corner[1] + (point[1] - self.low[1]) / self.divisor,
        )

    @property
    def words(self) -> str:
        """Return the scale in words."""
        return tr("Scale 1 : {divisor}").format(divisor=decimal(f"{self.divisor:g}"))


def fit_scale(size: tuple[float, float], box: Box, low: Point = (0.0, 0.0)) -> Fitting:
    """Return the largest standard scale at which a size fits a box, centred across and up."""
    wide, high = box[2] - box[0], box[3] - box[1]
    needed = max(size[0] / wide, size[1] / high, 1e-9)
    divisor = next((d for d in _DIVISORS if d >= needed), needed)
    corner = (
        box[0] + (wide - size[0] / divisor) / 2,
        box[1] + (high - size[1] / divisor) / 2,
    )
    return Fitting(float(divisor), corner, low)


def scale_bar(sheet: Sheet, place: Fitting, words: Words, x: float, y: float) -> None:
    """Draw a scale bar of round length, 15 to 45 mm on paper."""
    step = 304.8 if words.units == "inch" else 100.0
    count = 1
    while step * count / place.divisor < 15:
        count += 1 if words.units == "inch" else (1 if count < 2 else 3 if count == 2 else 5)
    length = step * count / place.divisor
    for part in range(2):
        sheet.rect(x + part * length / 2, y, length / 2, 1.2, BLACK if part == 0 else WHITE, "narrow", 0.18)
    sheet.text(words.length(step * count, feet=True), x + length + 1.5, y - 0.1, 25, 1.8)
