"""How does ink get onto a page? One small drawing layer over reportlab.

Lengths on the page in mm, origin in the lower left corner. Line widths follow
ISO 128 (wide to narrow 2 : 1, here 0.5 and 0.25 mm), letter heights ISO 3098
(1.8, 2.5, 3.5, 5, 7, 10, 14, 20 mm: the height of a capital). Every string goes
through `Sheet.text` or `Sheet.paragraph`: it is measured, set in a narrower
face, made smaller or shortened until it fits, and its box is remembered so that
later strings can be kept clear of it. Every letter comes from an embedded font.

Left out: page frames and title blocks (see `frame`), dimensions (see
`dimension`), tables (see `table`).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any, Literal

from reportlab import rl_config
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas

from enclosure.language import language
from enclosure.shape.model import Point

POINTS_PER_MM = 72 / 25.4

Ink = tuple[float, float, float]

WIDE_MM = 0.5
NARROW_MM = 0.25
FRAME_MM = 0.7

NOTE = 2.5
BODY = 2.5
DRAWN = 3.5
TITLE = 5.0
SMALLEST = 1.8

REGULAR, BOLD, SLIM = "DejaVuSans", "DejaVuSans-Bold", "DejaVuSansCondensed"
_FONTS = Path(__file__).resolve().parent / "fonts"
_CAPITAL = 0.729  # height of a capital of DejaVu Sans over the size of the face
_ASCENT, _DESCENT = 0.77, 0.24  # what letters reach above and below the line, same measure

# Fills only, always with a dark outline and a word or a pattern (safe for the colour-blind)
WHITE = (1, 1, 1)
BLACK = (0, 0, 0)
GREY = (0.45, 0.45, 0.45)
PALE = (0.93, 0.93, 0.93)
NEW = (0.99, 0.84, 0.55)
GLASS = (0.62, 0.82, 0.94)
WOOD = (0.98, 0.94, 0.86)
METAL = (0.80, 0.82, 0.84)
FAINT = (0.35, 0.35, 0.35)

LineKind = Literal["wide", "narrow", "hidden", "centre", "phantom", "cut"]
_DASHES: dict[str, tuple[float, ...]] = {
    "hidden": (2.5, 1.0),
    "centre": (8.0, 1.0, 0.6, 1.0),
    "phantom": (8.0, 1.0, 0.6, 1.0, 0.6, 1.0),
    "cut": (1.0, 1.0),
}
Align = Literal["left", "centre", "right"]
Box = tuple[float, float, float, float]


def ready_fonts() -> None:
    """Register the embedded faces and make them the default, so that no other face slips in."""
    if REGULAR in pdfmetrics.getRegisteredFontNames():
        return
    rl_config.canvas_basefontname = REGULAR
    rl_config.defaultGraphicsFontName = REGULAR
    rl_config.useA85 = 0  # binary streams: a fifth smaller and quicker to write
    for name in (REGULAR, BOLD, SLIM):
        pdfmetrics.registerFont(TTFont(name, str(_FONTS / f"{name}.ttf")))


@lru_cache(maxsize=20_000)
def _em_width(text: str, face: str) -> float:
    ready_fonts()
    return float(pdfmetrics.stringWidth(text, face, 1.0))


def text_width(text: str, height: float, face: str = REGULAR) -> float:
    """Return how wide a text is [mm] when its capitals are `height` high [mm]."""
    return _em_width(text, face) * height / _CAPITAL


@dataclass
class Sheet:
    """One page under the pen.

    Args:
        canvas: The reportlab canvas, scaled to mm.
        width: Width of the paper [mm].
        height: Height of the paper [mm].
        area: Left, bottom, right, top of the space left for the drawing.
        taken: Boxes of all strings written so far.
    """

    canvas: Any
    width: float
    height: float
    area: Box
    taken: list[Box] = field(default_factory=list)

    # --- text ---------------------------------------------------------------

    def text(
        self,
        words: str,
        x: float,
        y: float,
        room: float,
        height: float = BODY,
        *,
        align: Align = "left",
        bold: bool = False,
        least: float = SMALLEST,
        turned: bool = False,
        ink: Ink = BLACK,
        paper: bool = False,
    ) -> float:
        """Write one line and return the height it was written in.

        Args:
            words: The text.
            x: Left end, middle or right end (after `align`) of the base line.
            y: Base line.
            room: Greatest width it may take [mm].
            height: Height of capitals wished for.
            align: What `x` means.
            bold: Heavy face.
            least: Smallest height allowed; after that the text is shortened.
            turned: Read from the right: x, y still the anchor, the line runs upward.
            ink: Colour of the letters.
            paper: Clear a white field behind it first (text across lines).
        """
        words, face, height = fitted(words, room, height, bold=bold, least=least)
        if not words:
            return height
        wide = text_width(words, height, face)
        shift = {"left": 0.0, "centre": -wide / 2, "right": -wide}[align]
        size = height / _CAPITAL
        low, high = -_DESCENT * size, _ASCENT * size
        box = (x + shift, y + low, x + shift + wide, y + high)
        if turned:
            box = (x - high, y + shift, x - low, y + shift + wide)
        self.taken.append(box)
        pen = self.canvas
        if paper:
            pen.setFillColorRGB(*WHITE)
            pen.rect(box[0] - 0.3, box[1], box[2] - box[0] + 0.6, box[3] - box[1], stroke=0, fill=1)
        pen.setFillColorRGB(*ink)
        pen.setFont(face, size)
        if turned:
            pen.saveState()
            pen.translate(x, y)
            pen.rotate(90)
            pen.drawString(shift, 0, words)
            pen.restoreState()
        else:
            pen.drawString(x + shift, y, words)
        return height

    def paragraph(
        self,
        words: str,
        x: float,
        top: float,
        room: float,
        height: float = BODY,
        *,
        bold: bool = False,
        most: int = 40,
        pitch: float = 1.75,
    ) -> float:
        """Write text in lines from `top` down and return where the next block may start."""
        y = top - height * 1.06
        for line in wrapped(words, room, height, BOLD if bold else REGULAR, most):
            self.text(line, x, y, room, height, bold=bold)
            y -= height * pitch
        return y + height * (pitch - 0.45)

    def is_free(self, box: Box, gap: float = 0.4) -> bool:
        """Return whether a box lies on the page's drawing area and clear of all text."""
        left, bottom, right, top = self.area
        if box[0] < left or box[1] < bottom or box[2] > right or box[3] > top:
            return False
        return not any(
            box[0] < other[2] + gap
            and other[0] < box[2] + gap
            and box[1] < other[3] + gap
            and other[1] < box[3] + gap
            for other in self.taken
        )

    # --- lines and fields -----------------------------------------------------
    #
    # Written as PDF operators: a raising sequence has tens of thousands of lines, and the
    # general number formatting of the library would take most of the time.

    def ops(self, *codes: str) -> None:
        """Add PDF operators to the page."""
        self.canvas.addLiteral("\n".join(codes))

    def line(
        self, a: Point, b: Point, kind: LineKind = "wide", width: float | None = None, ink: Ink = BLACK
    ) -> None:
        """Draw a straight line of a kind of ISO 128."""
        self.ops(stroke_code(kind, width, ink), f"{a[0]:.3f} {a[1]:.3f} m {b[0]:.3f} {b[1]:.3f} l S")

    def polygon(
        self,
        points: Sequence[Point],
        fill: Ink | None = None,
        kind: LineKind | None = "wide",
        width: float | None = None,
        *,
        alpha: float = 1.0,
        ink: Ink = BLACK,
    ) -> None:
        """Draw a closed outline, filled when a colour is given, without line when kind is None."""
        path = path_code(points)
        if fill is not None:
            if alpha < 1:
                self.canvas.setFillAlpha(alpha)
            self.ops(fill_code(fill), path + " f")
            if alpha < 1:
                self.canvas.setFillAlpha(1)
        if kind is not None:
            self.ops(stroke_code(kind, width, ink), path + " s")

    def rect(
        self,
        x: float,
        y: float,
        width: float,
        height: float,
        fill: Ink | None = None,
        kind: LineKind | None = "wide",
        line: float | None = None,
    ) -> None:
        """Draw a rectangle."""
        self.polygon([(x, y), (x + width, y), (x + width, y + height), (x, y + height)], fill, kind, line)

    def circle(
        self, x: float, y: float, radius: float, fill: Ink | None = WHITE, width: float = NARROW_MM
    ) -> None:
        """Draw a circle."""
        self.ops(stroke_code("narrow", width, BLACK))
        if fill is not None:
            self.ops(fill_code(fill))
        self.canvas.circle(x, y, radius, stroke=1, fill=int(fill is not None))

    def hatch(
        self, points: Sequence[Point], pitch: float = 1.6, angle_deg: float = 45.0, width: float = 0.13
    ) -> None:
        """Draw parallel lines inside a convex polygon."""
        angle = math.radians(angle_deg)
        across = (-math.sin(angle), math.cos(angle))
        heights = [x * across[0] + y * across[1] for x, y in points]
        codes = [stroke_code("narrow", width, BLACK)]
        step = math.floor(min(heights) / pitch) + 1
        while step * pitch < max(heights):
            found = _crossings(points, heights, step * pitch)
            if len(found) == 2:
                (x0, y0), (x1, y1) = found
                codes.append(f"{x0:.3f} {y0:.3f} m {x1:.3f} {y1:.3f} l")
            step += 1
        self.ops(*codes, "S" if len(codes) > 1 else "")

    def arrow(self, tip: Point, toward_deg: float, size: float = 2.5, fill: Ink = BLACK) -> None:
        """Draw a slim filled arrow head (15 degrees, ISO 129) whose point lies at `tip`."""
        angle = math.radians(toward_deg)
        back = (tip[0] - size * math.cos(angle), tip[1] - size * math.sin(angle))
        half = size * math.tan(math.radians(9))
        side = (-math.sin(angle) * half, math.cos(angle) * half)
        self.polygon(
            [tip, (back[0] + side[0], back[1] + side[1]), (back[0] - side[0], back[1] - side[1])], fill, None
        )


def stroke_code(kind: LineKind, width: float | None, ink: Ink) -> str:
    """Return the operators that choose a line (ISO 128): width, colour, dashes."""
    size = width if width is not None else (WIDE_MM if kind == "wide" else NARROW_MM)
    dashes = " ".join(f"{dash:g}" for dash in _DASHES.get(kind, ()))
    return f"{size:.2f} w {ink[0]:.3g} {ink[1]:.3g} {ink[2]:.3g} RG [{dashes}] 0 d"


def fill_code(ink: Ink) -> str:
    """Return the operator that chooses a colour for filling."""
    return f"{ink[0]:.3g} {ink[1]:.3g} {ink[2]:.3g} rg"


def path_code(points: Sequence[Point]) -> str:
    """Return the operators of a closed path, not yet painted."""
    first, *others = points
    return f"{first[0]:.3f} {first[1]:.3f} m " + " ".join(f"{x:.3f} {y:.3f} l" for x, y in others) + " h"


def _crossings(points: Sequence[Point], heights: Sequence[float], level: float) -> list[Point]:
    found: list[Point] = []
    for place, (x0, y0) in enumerate(points):
        x1, y1 = points[(place + 1) % len(points)]
        low, high = heights[place], heights[(place + 1) % len(points)]
        if (low < level) != (high < level):
            share = (level - low) / (high - low)
            found.append((x0 + share * (x1 - x0), y0 + share * (y1 - y0)))
    return found


def fitted(
    words: str, room: float, height: float, *, bold: bool = False, least: float = SMALLEST
) -> tuple[str, str, float]:
    """Return text, face and height that fit a width: narrower face, then smaller, then shortened."""
    face = BOLD if bold else REGULAR
    wide = text_width(words, height, face)
    if not words or wide <= room:
        return words, face, height
    if not bold:
        face = SLIM
        wide = text_width(words, height, face)
        if wide <= room:
            return words, face, height
    smaller = height * max(room, 0.0) / wide
    if smaller >= min(least, height):
        return words, face, math.floor(smaller * 100) / 100
    height = min(least, height)
    if bold and text_width(words, height, SLIM) <= room:
        return words, SLIM, height
    while words and text_width(words + "…", height, face) > room:
        words = words[:-1].rstrip()
    return (words + "…" if words else ""), face, height


def wrapped(words: str, room: float, height: float, face: str = REGULAR, most: int = 40) -> list[str]:
    """Return the lines of a text; a word longer than the room stays whole and is fitted later."""
    lines: list[str] = []
    for block in words.split("\n"):
        line = ""
        for word in filter(None, block.split(" ")):  # a no-break space holds a number to its unit
            longer = f"{line} {word}" if line else word
            if line and text_width(longer, height, face) > room:
                lines.append(line)
                line = word
            else:
                line = longer
        lines.append(line)
    if len(lines) > most:
        lines = [*lines[: most - 1], " ".join(lines[most - 1 :])]
    return lines


def new_canvas(path: Path, width: float, height: float) -> Any:
    """Return a canvas that writes the same bytes for the same drawing, in mm-sized pages."""
    ready_fonts()
    canvas = Canvas(
        str(path),
        pagesize=(width * POINTS_PER_MM, height * POINTS_PER_MM),
        invariant=1,
        pageCompression=1,
        initialFontName=REGULAR,
        initialFontSize=10,
        lang=language(),
    )
    canvas.setViewerPreference("DisplayDocTitle", "true")  # the window is named after the paper, not the file
    return canvas
