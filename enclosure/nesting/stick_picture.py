"""What do the sticks of one material look like, cut and drawn to scale in black and white?

An SVG with one bar for each stick: its pieces with their marks in cutting order, the
position of each cut from the squared end below it, what is left under a hatch. Text that
does not fit into its piece stands in a line under the bar.

Units: sticks in 1/10 000 mm, drawing in px (1 px = 1/96 in).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from html import escape

from enclosure.language import tr
from enclosure.nesting.picture import ADVANCE, length_in_mm

WIDTH_PX, MARGIN_PX, HEAD_PX, ROW_PX, BAR_PX = 900.0, 26.0, 56.0, 64.0, 22.0
LINE_PX = 11.0
TEXT_PX, SMALL_PX, LEAST_PX = 11.0, 8.0, 6.0


@dataclass(frozen=True, slots=True)
class DrawnStick:
    """One stick: its length, its pieces as (mark, start, length) in cutting order, and words at its head.

    `squaring` is sawn off first; positions count from there.
    """

    words: str
    length: int
    pieces: tuple[tuple[str, int, int], ...]
    squaring: int = 0


def sticks_svg(
    title: str,
    sticks: Sequence[DrawnStick],
    *,
    length_text: Callable[[int], str] = length_in_mm,
) -> str:
    """Return an SVG of sticks, one under the other.

    Args:
        title: Line over the drawing.
        sticks: What to draw.
        length_text: How to write a length [units]; mm to a tenth unless told.
    """
    scale = (WIDTH_PX - 2 * MARGIN_PX) / max((stick.length for stick in sticks), default=1)
    rows: list[str] = []
    top = HEAD_PX
    for stick in sticks:
        lines, below = _bar(stick, top, scale, length_text)
        rows += lines
        top += ROW_PX + LINE_PX * below
    size = min(15.0, (WIDTH_PX - 2 * MARGIN_PX) / max(len(title) * ADVANCE, 1.0))
    note = tr("positions from the squared end, at the left; the kerf lies beyond each; hatch: left over")
    high = top + 8
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_PX:.0f}" height="{high:.0f}" '
        f'viewBox="0 0 {WIDTH_PX:.0f} {high:.0f}" role="img">\n<title>{escape(title)}</title>\n'
        f"<style>{_STYLE}</style>\n<defs>{_HATCH}</defs>\n"
        f'<rect width="{WIDTH_PX:.0f}" height="{high:.0f}" fill="#fff"/>\n'
        + _text(MARGIN_PX, 22, size, title, "start", bold=True)
        + "\n"
        + _text(MARGIN_PX, 38, SMALL_PX + 1, note, "start")
        + "\n"
        + "\n".join(rows)
        + "\n</svg>\n"
    )


def _bar(stick: DrawnStick, top: float, scale: float, length_text: Callable[[int], str]) -> tuple[list[str], int]:
    """Return the elements of one stick, and how many lines of text stand under it."""
    bar = top + 14
    words = f"{stick.words}: {length_text(stick.length)}"
    if stick.squaring:
        words = tr("{stick}, square off {length}").format(stick=words, length=length_text(stick.squaring))
    rows = [
        _text(MARGIN_PX, top + 9, SMALL_PX + 1, words, "start", bold=True),
        _rect(MARGIN_PX, bar, stick.length * scale, BAR_PX, 'class="left"'),
    ]
    listed: list[str] = []
    taken = MARGIN_PX - 100.0
    for mark, start, length in stick.pieces:
        x, wide = MARGIN_PX + start * scale, length * scale
        rows.append(_rect(x, bar, wide, BAR_PX, f'class="piece" data-mark="{escape(mark)}"'))
        label = f"{mark}  {length_text(length)}"
        size = min(TEXT_PX, (wide - 3) / (len(label) * ADVANCE))
        if size < LEAST_PX:
            listed.append(label)
            label = mark
            size = min(TEXT_PX, (wide - 2) / (len(label) * ADVANCE))
        if size >= LEAST_PX / 2:
            rows.append(_text(x + wide / 2, bar + BAR_PX / 2 + size * 0.36, size, label, "middle"))
        end = x + wide
        figure = length_text(start + length - stick.squaring)
        half = len(figure) * SMALL_PX * ADVANCE / 2
        lower = bar + BAR_PX + (11 if end - half > taken + 2 else 20)
        rows.append(f'<path class="thin" d="M{end:.1f} {bar + BAR_PX:.1f} V{lower - SMALL_PX:.1f}"/>')
        place = min(end, WIDTH_PX - half - 2)
        rows.append(_text(place, lower, SMALL_PX, figure, "middle"))
        if lower == bar + BAR_PX + 11:
            taken = place + half
    lines = _lines(listed)
    for place, line in enumerate(lines):
        rows.append(_text(MARGIN_PX, bar + BAR_PX + 31 + LINE_PX * place, SMALL_PX + 1, line, "start"))
    return rows, len(lines)


def _lines(listed: Sequence[str]) -> list[str]:
    """Return the words that found no room in their pieces, as few lines as hold them."""
    most = int((WIDTH_PX - 2 * MARGIN_PX) / ((SMALL_PX + 1) * ADVANCE))
    lines: list[str] = []
    for words in listed:
        if lines and len(lines[-1]) + len(words) + 3 <= most:
            lines[-1] += f";  {words}"
        else:
            lines.append(words)
    return lines


def _text(x: float, y: float, size: float, words: str, anchor: str, *, bold: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:.1f}" text-anchor="{anchor}"{weight}>{escape(words)}</text>'
    )


def _rect(x: float, y: float, width: float, height: float, extra: str) -> str:
    return f'<rect {extra} x="{x:.3f}" y="{y:.1f}" width="{width:.3f}" height="{height:.1f}"/>'


_STYLE = """
text { font-family: "DejaVu Sans", sans-serif; fill: #000 }
.piece { fill: #fff; stroke: #000; stroke-width: 1 }
.left { fill: url(#left); stroke: #000; stroke-width: 1.4 }
.thin { fill: none; stroke: #000; stroke-width: 0.6 }
"""

_HATCH = (
    '<pattern id="left" width="5" height="5" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="5" height="5" fill="#fff"/><path d="M0 0 V5" stroke="#000" stroke-width="0.7"/></pattern>'
)
