"""What does one cutting pattern look like, drawn to scale in black and white?

An SVG for papers and the page: the stock sheet in outline, each part with its
mark and size, the cuts numbered in the order of `replay.cut_sequence`, offcuts
worth keeping under a wide hatch and waste under a close one. Nothing depends
on colour, so that it survives a grey print. Text that does not fit in its part
goes to a list under the drawing.

Units: sheets in 1/10 000 mm, drawing in px (1 px = 1/96 in).
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import ROUND_HALF_EVEN, Decimal
from html import escape

from enclosure.language import decimal, tr, tr_n
from enclosure.nesting.model import UNITS_PER_MM, Pattern, SheetJob
from enclosure.nesting.replay import CutStep, Left, Placed, cut_sequence, leftovers, placements

MARGIN_PX = 34.0
LARGEST_TEXT_PX = 13.0
SMALLEST_TEXT_PX = 6.5
# Mean advance of DejaVu Sans digits and lower case, as a share of the text size.
ADVANCE = 0.64
CIRCLE_PX = 7.5


@dataclass(frozen=True, slots=True)
class _Box:
    left: float
    top: float
    right: float
    bottom: float

    def overlap(self, other: _Box) -> float:
        """Return the shared area [px²]."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across * down if across > 0 and down > 0 else 0.0


@dataclass(slots=True)
class _Canvas:
    """Sheet to paper: scale, lines drawn so far, and room taken by text."""

    scale: float
    sheet_height: int
    top: float
    lines: list[str] = field(default_factory=list)
    taken: list[_Box] = field(default_factory=list)

    def x(self, units: int) -> float:
        return MARGIN_PX + units * self.scale

    def y(self, units: int) -> float:
        return self.top + (self.sheet_height - units) * self.scale


def length_in_mm(units: int) -> str:
    """Return a length [units] as text in mm, to a tenth."""
    value = (Decimal(units) / UNITS_PER_MM).quantize(Decimal("0.1"), ROUND_HALF_EVEN)
    return decimal(f"{value.normalize():f}")


def plan_svg(
    job: SheetJob,
    pattern: Pattern,
    *,
    title: str = "",
    names: Mapping[str, str] | None = None,
    marks: Sequence[str] | None = None,
    length_text: Callable[[int], str] = length_in_mm,
    width_px: float = 620.0,
    height_px: float = 860.0,
    number_cuts: bool = True,
    flutes: bool = True,
) -> str:
    """Return an SVG of one sheet cut after `pattern`.

    Args:
        job: The job to which the pattern belongs.
        pattern: What to draw.
        title: Line over the drawing; the sheet's key and copies when empty.
        names: Text to print for a part's key; the key itself when missing.
        marks: Text for each part by itself, in the order of `replay.placements`, instead of `names`.
        length_text: How to write a length [units]; mm to a tenth unless told.
        width_px: Room for the drawing across [px].
        height_px: Room for the drawing down [px].
        number_cuts: Draw the numbers of the cuts.
        flutes: Draw the arrow of the flute direction.
    """
    sheet = next(sheet for sheet in job.sheets if sheet.key == pattern.sheet)
    scale = min((width_px - 2 * MARGIN_PX) / sheet.width, (height_px - 2 * MARGIN_PX - 60) / sheet.height)
    canvas = _Canvas(scale, sheet.height, MARGIN_PX + 26)
    shown = names or {}
    listed: list[str] = []
    for left in leftovers(job, pattern):
        _draw_left(canvas, left, length_text)
    for place, part in enumerate(placements(job, pattern)):
        name = shown.get(part.key, part.key) if marks is None else marks[place]
        _draw_part(canvas, part, name, length_text, listed)
    steps = cut_sequence(job, pattern)
    for step in steps:
        _draw_cut(canvas, step, job.kerf)
    _draw_sheet(canvas, sheet.width, sheet.trim, length_text)
    if flutes:
        _draw_flutes(canvas, sheet.width)
    if number_cuts:
        for step in steps:
            _draw_number(canvas, step)
    copies = tr_n("{count} sheet", "{count} sheets, all cut alike", pattern.copies).format(count=pattern.copies)
    head = title or f"{sheet.key}: {copies}"
    return _assemble(canvas, sheet.width, head, listed, len(steps), number_cuts)


# --- what is drawn ----------------------------------------------------------------


def _draw_sheet(canvas: _Canvas, width: int, trim: int, length_text: Callable[[int], str]) -> None:
    left, right = canvas.x(0), canvas.x(width)
    top, bottom = canvas.y(canvas.sheet_height), canvas.y(0)
    canvas.lines.append(_rect(left, top, right - left, bottom - top, 'class="sheet"'))
    middle = (left + right) / 2
    text = f"{length_text(width)} \u00d7 {length_text(canvas.sheet_height)} mm"
    if length_text is not length_in_mm:
        text = text.removesuffix(" mm")
    if trim:
        text = tr("{size}, trimmed {trim} all round").format(size=text, trim=length_text(trim))
    canvas.lines.append(_text(middle, bottom + 24, 10, text))


def _draw_flutes(canvas: _Canvas, width: int) -> None:
    """Draw an arrow beside the sheet: the flutes run along y."""
    along, bottom = canvas.x(width) + 16, canvas.y(0)
    canvas.lines.append(
        f'<path class="thin" d="M{along:.1f} {bottom - 8:.1f} V{bottom - 58:.1f} m-3 7 l3 -7 l3 7"/>'
    )
    canvas.lines.append(_text(along + 3.5, bottom - 92, 9, tr("flutes"), turned=True))


def _draw_left(canvas: _Canvas, left: Left, length_text: Callable[[int], str]) -> None:
    x, y = canvas.x(left.x), canvas.y(left.y + left.height)
    width, height = left.width * canvas.scale, left.height * canvas.scale
    canvas.lines.append(_rect(x, y, width, height, f'class="{"offcut" if left.keep else "waste"}"'))
    if left.keep:
        size = f"{length_text(left.width)} \u00d7 {length_text(left.height)}"
        _fit(canvas, _Box(x, y, x + width, y + height), [tr("offcut"), size], plate=True)


def _draw_part(
    canvas: _Canvas, part: Placed, name: str, length_text: Callable[[int], str], listed: list[str]
) -> None:
    points = " ".join(f"{canvas.x(x):.2f},{canvas.y(y):.2f}" for x, y in part.outline)
    canvas.lines.append(f'<polygon class="part" data-mark="{escape(name)}" points="{points}"/>')
    box = _Box(
        canvas.x(part.x), canvas.y(part.y + part.height), canvas.x(part.x + part.width), canvas.y(part.y)
    )
    if len(part.outline) != 4 or len({x for x, _ in part.outline}) + len({y for _, y in part.outline}) > 4:
        box = _inner_box(canvas, part)
    width, height = (part.height, part.width) if part.turned else (part.width, part.height)
    size = f"{length_text(width)} \u00d7 {length_text(height)}"
    heads = [f"{name} \u21bb" if part.turned else name, size]
    if _fit(canvas, box, heads) or _fit(canvas, box, [f"{heads[0]}  {size}"]):
        return
    row = tr("{part} is {size}").format(part=heads[0], size=size)
    if _fit(canvas, box, heads[:1]):
        if row not in listed:
            listed.append(row)
        return
    numbered = [entry for entry in listed if entry.endswith(row)]
    mark = numbered[0].split(" = ")[0] if numbered else f"*{len(listed) + 1}"
    if not numbered:
        listed.append(f"{mark} = {row}")
    _fit(canvas, box, [mark], smallest=3.0)


def _inner_box(canvas: _Canvas, part: Placed) -> _Box:
    """Return a box well inside a part with a sloped end: beside its longer upright, below the slope."""
    xs = sorted({x for x, _ in part.outline})
    lengths = {}
    for x in (xs[0], xs[-1]):
        ys = [y for across, y in part.outline if across == x]
        lengths[x] = max(ys) - min(ys)
    tall = max(lengths, key=lambda x: (lengths[x], -x))
    half = part.x + part.width // 2
    low, high = (part.x, half) if tall == xs[0] else (half, part.x + part.width)
    reach = (lengths[xs[0]] + lengths[xs[-1]]) // 2
    top = part.y + part.height
    bottom, upper = (top - reach, top) if part.flipped else (part.y, part.y + reach)
    return _Box(canvas.x(low), canvas.y(upper), canvas.x(high), canvas.y(bottom))


def _draw_cut(canvas: _Canvas, step: CutStep, kerf: int) -> None:
    (x1, y1), (x2, y2) = step.start, step.end
    half = kerf / 2 * canvas.scale
    dx, dy = (half, 0.0) if step.axis == "x" else (0.0, -half)
    style = "trim" if step.trim else "cut"
    canvas.lines.append(
        f'<line class="{style}" x1="{canvas.x(x1) + dx:.2f}" y1="{canvas.y(y1) + dy:.2f}" '
        f'x2="{canvas.x(x2) + dx:.2f}" y2="{canvas.y(y2) + dy:.2f}"/>'
    )


def _draw_number(canvas: _Canvas, step: CutStep) -> None:
    """Put the number where it hides least: outside for a cut through the sheet, else along the cut."""
    x1, y1 = canvas.x(step.start[0]), canvas.y(step.start[1])
    x2, y2 = canvas.x(step.end[0]), canvas.y(step.end[1])
    length = max(abs(x2 - x1) + abs(y2 - y1), 1.0)
    shares = [0.02 + 0.04 * index for index in range(25)]
    if step.piece == "sheet":
        shares = [-14 / length, 1 + 14 / length, *shares]
    best, least = (x1, y1), float("inf")
    for rank, share in enumerate(shares):
        x, y = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
        box = _Box(x - CIRCLE_PX, y - CIRCLE_PX, x + CIRCLE_PX, y + CIRCLE_PX)
        hidden = sum(box.overlap(other) for other in canvas.taken) + 0.01 * rank
        if hidden < least:
            best, least = (x, y), hidden
    x, y = best
    canvas.taken.append(_Box(x - CIRCLE_PX, y - CIRCLE_PX, x + CIRCLE_PX, y + CIRCLE_PX))
    canvas.lines.append(f'<circle class="mark" cx="{x:.1f}" cy="{y:.1f}" r="{CIRCLE_PX - 1}"/>')
    digits = 8.0 if step.number < 100 else 6.0
    canvas.lines.append(_text(x, y + digits * 0.36, digits, str(step.number)))


# --- text -------------------------------------------------------------------------


def _fit(
    canvas: _Canvas, box: _Box, rows: list[str], *, plate: bool = False, smallest: float = SMALLEST_TEXT_PX
) -> bool:
    """Write rows in the middle of the box, along its longer side if needed; False if too small."""
    longest = max(len(row) for row in rows) * ADVANCE
    across, down = box.right - box.left - 5, box.bottom - box.top - 5
    upright = min(across / longest, down / (1.25 * len(rows)), LARGEST_TEXT_PX)
    lying = min(down / longest, across / (1.25 * len(rows)), LARGEST_TEXT_PX)
    turned = lying > upright + 0.5
    size = max(upright, lying) if turned else upright
    if size < smallest:
        return False
    x, y = (box.left + box.right) / 2, (box.top + box.bottom) / 2
    half_long, half_short = longest * size / 2, 1.25 * len(rows) * size / 2
    half_x, half_y = (half_short, half_long) if turned else (half_long, half_short)
    room = _Box(x - half_x, y - half_y, x + half_x, y + half_y)
    canvas.taken.append(room)
    if plate:
        canvas.lines.append(_rect(room.left - 1, room.top, 2 * half_x + 2, 2 * half_y, 'class="plate"'))
    for index, row in enumerate(rows):
        offset = (index - (len(rows) - 1) / 2) * 1.25 * size + 0.36 * size
        bold = index == 0 and len(rows) > 1
        if turned:
            canvas.lines.append(_text(x + offset, y, size, row, turned=True, bold=bold))
        else:
            canvas.lines.append(_text(x, y + offset, size, row, bold=bold))
    return True


def _text(x: float, y: float, size: float, words: str, *, turned: bool = False, bold: bool = False) -> str:
    place = f'transform="translate({x:.1f} {y:.1f}) rotate(-90)"' if turned else f'x="{x:.1f}" y="{y:.1f}"'
    weight = ' font-weight="bold"' if bold else ""
    return f'<text {place} font-size="{size:.1f}"{weight}>{escape(words)}</text>'


def _rect(x: float, y: float, width: float, height: float, extra: str) -> str:
    return f'<rect {extra} x="{x:.2f}" y="{y:.2f}" width="{width:.2f}" height="{height:.2f}"/>'


# --- the file ---------------------------------------------------------------------

_STYLE = """
text { font-family: "DejaVu Sans", sans-serif; text-anchor: middle; fill: #000 }
.sheet { fill: none; stroke: #000; stroke-width: 1.8 }
.part { fill: #fff; stroke: #000; stroke-width: 0.6 }
.offcut { fill: url(#wide); stroke: #000; stroke-width: 0.6 }
.waste { fill: url(#close); stroke: #000; stroke-width: 0.3 }
.cut { stroke: #000; stroke-width: 1.1 }
.trim { stroke: #000; stroke-width: 0.6; stroke-dasharray: 3 2 }
.thin { fill: none; stroke: #000; stroke-width: 0.8 }
.mark { fill: #fff; stroke: #000; stroke-width: 0.8 }
.plate { fill: #fff; stroke: none }
"""

_HATCHES = (
    '<pattern id="wide" width="9" height="9" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="9" height="9" fill="#fff"/><path d="M0 0 V9" stroke="#000" stroke-width="0.7"/></pattern>'
    '<pattern id="close" width="3" height="3" patternUnits="userSpaceOnUse" patternTransform="rotate(-45)">'
    '<rect width="3" height="3" fill="#fff"/><path d="M0 0 V3" stroke="#000" stroke-width="0.8"/></pattern>'
)


def _assemble(
    canvas: _Canvas, sheet_width: int, title: str, listed: list[str], cuts: int, number_cuts: bool
) -> str:
    drawing_width = 2 * MARGIN_PX + sheet_width * canvas.scale
    width = max(drawing_width, 380.0)
    bottom = canvas.y(0) + 44
    key = tr("wide hatch: offcut to keep; close hatch: waste")
    if number_cuts and cuts:
        key += "; " + tr("numbers: order of the {cuts} cuts").format(cuts=cuts)
    rows = [key, *listed]
    foot = []
    for row in rows:
        size = min(9.5, (width - 20) / (len(row) * 0.6))
        foot.append(_text(width / 2, bottom, size, row))
        bottom += 14
    body = "\n".join(canvas.lines)
    shift = (width - drawing_width) / 2
    heading = _text(width / 2, 22, min(14.0, (width - 20) / max(len(title) * ADVANCE, 1)), title, bold=True)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}" height="{bottom:.0f}" '
        f'viewBox="0 0 {width:.1f} {bottom:.1f}" role="img">\n<title>{escape(title)}</title>\n'
        f"<style>{_STYLE}</style>\n<defs>{_HATCHES}</defs>\n"
        f'<rect width="{width:.1f}" height="{bottom:.1f}" fill="#fff"/>\n{heading}\n'
        f'<g transform="translate({shift:.1f} 0)">\n{body}\n</g>\n' + "\n".join(foot) + "\n</svg>\n"
    )
