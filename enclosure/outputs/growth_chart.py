"""When is it outgrown, as a picture?

One SVG: for each axis on which the plant grows, the room it takes winter by
winter by a slow, a likely and a fast guess, and the room there is. The three
guesses differ by dash and by mark, never by colour alone. The same input gives
the same bytes.

Units: px in the picture, mm in the numbers.
"""

from __future__ import annotations

from xml.sax.saxutils import escape

from enclosure.choose.growth import ChartRow, Growth, Outgrown
from enclosure.language import later, tr, tr_as
from enclosure.units import format_length

WIDTH, PANEL, LEFT, RIGHT, TOP, BOTTOM = 640, 230, 86, 118, 34, 40
LINES = (
    ("fast", "high_mm", "2 3", "diamond"),
    ("likely", "likely_mm", "", "dot"),
    ("slow", "low_mm", "8 4", "square"),
)
FONT = 'font-family="DejaVu Sans, sans-serif" font-size="12"'

_AXES = {
    "height": later("height that plant and clearance take"),
    "width": later("width that plant and clearance take"),
    "depth": later("depth that plant and clearance take"),
}


def growth_svg(found: Growth, units: str, name: str) -> str:
    """Return the chart as SVG text.

    Args:
        found: When the shelter is outgrown, with its rows.
        units: "inch" or "metric", for the numbers.
        name: Name of the shelter.
    """
    axes = [row for row in found.outgrown if row.high is not None]
    height = max(1, len(axes)) * PANEL + 30
    question = tr("{name}: when is it outgrown?").format(name=name)
    body = [
        f'<text x="{LEFT}" y="20" font-weight="bold" {FONT}>{escape(question)}</text>',
    ]
    for place, row in enumerate(axes):
        rows = [r for r in found.rows if r.axis == row.axis]
        body += _panel(rows, row, units, 30 + place * PANEL)
    if not axes:
        never = escape(tr("the plant does not grow: it is never outgrown"))
        body.append(f'<text x="{LEFT}" y="60" {FONT}>{never}</text>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH}" height="{height}" '
        f'viewBox="0 0 {WIDTH} {height}">\n<rect width="{WIDTH}" height="{height}" fill="white"/>\n'
        + "\n".join(body)
        + "\n</svg>\n"
    )


def _panel(rows: list[ChartRow], row: Outgrown, units: str, top: float) -> list[str]:
    low = min(r.low_mm for r in rows)
    high = max(max(r.high_mm for r in rows), rows[0].clear_mm)
    pad = (high - low) * 0.08 or 1.0
    low, high = low - pad, high + pad
    last = rows[-1].winter
    right, bottom, up = WIDTH - RIGHT, top + PANEL - BOTTOM, top + TOP

    def at(winter: float, size: float) -> tuple[float, float]:
        x = LEFT + (right - LEFT) * winter / last
        return round(x, 1), round(bottom - (bottom - up) * (size - low) / (high - low), 1)

    limit = at(0, rows[0].clear_mm)[1]
    foot = escape(tr("winter"))
    said = format_length(rows[0].clear_mm, "inch" if units == "inch" else "metric")
    out = [
        f'<text x="{LEFT}" y="{top + 20}" {FONT}>{escape(tr(_AXES[row.axis]))}</text>',
        f'<path d="M{LEFT} {up}V{bottom}H{right}" fill="none" stroke="#222" stroke-width="1"/>',
        f'<path d="M{LEFT} {limit}H{right}" stroke="#222" stroke-width="3"/>',
        f'<text x="{LEFT - 6}" y="{limit + 4}" text-anchor="end" {FONT}>{said}</text>',
        f'<text x="{(LEFT + right) / 2}" y="{bottom + 34}" text-anchor="middle" {FONT}>{foot}</text>',
    ]
    every = max(1, round(last / 10))
    for winter in range(0, last + 1, every):
        x, _ = at(winter, low)
        out.append(f'<path d="M{x} {bottom}v5" stroke="#222"/>')
        out.append(f'<text x="{x}" y="{bottom + 18}" text-anchor="middle" {FONT}>{winter}</text>')
    ends: list[tuple[float, str]] = []
    for word, attribute, dash, mark in LINES:
        points = [at(r.winter, getattr(r, attribute)) for r in rows]
        path = "M" + "L".join(f"{x} {y}" for x, y in points)
        dashes = f' stroke-dasharray="{dash}"' if dash else ""
        out.append(f'<path d="{path}" fill="none" stroke="#0072B2" stroke-width="2"{dashes}/>')
        out += [_mark(mark, x, y) for x, y in points[::every]]
        when = {"fast": row.high, "likely": row.likely, "slow": row.low}[word]
        named = tr_as("growth", word)
        until = tr("winter {number}").format(number=when) if when else tr("never")
        ends.append((points[-1][1], f"{named}: {until}"))
    out += _end_words(ends, right + 8)
    return out


def _end_words(ends: list[tuple[float, str]], x: float) -> list[str]:
    """Write the names at the lines' ends, apart from each other."""
    placed: list[str] = []
    last = -1e9
    for y, words in sorted(ends):
        y = max(y + 4, last + 15)
        last = y
        placed.append(f'<text x="{x}" y="{round(y, 1)}" {FONT}>{escape(words)}</text>')
    return placed


def _mark(mark: str, x: float, y: float) -> str:
    style = 'fill="white" stroke="#0072B2" stroke-width="1.5"'
    if mark == "dot":
        return f'<circle cx="{x}" cy="{y}" r="3.5" fill="#0072B2"/>'
    if mark == "square":
        return f'<rect x="{x - 3}" y="{y - 3}" width="6" height="6" {style}/>'
    return f'<path d="M{x} {y - 4.5}L{x + 4.5} {y}L{x} {y + 4.5}L{x - 4.5} {y}Z" {style}/>'
