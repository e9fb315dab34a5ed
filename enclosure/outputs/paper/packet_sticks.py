"""How is each stick cut? Every stick to scale, pieces in cutting order, running positions.

Positions are measured from the squared end, so that the tape is hooked once and
all marks are drawn without moving it. The kerf lies beyond each mark.

Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from enclosure.language import tr
from enclosure.nesting.plans import MaterialSticks
from enclosure.outputs.drawing.sheet_pages import StickRow, mm, stick_rows
from enclosure.outputs.paper.frame import Draw, heading
from enclosure.outputs.paper.layer import METAL, PALE, SLIM, SMALLEST, WOOD, Box, Sheet, text_width
from enclosure.outputs.paper.words import Words, stick_words, timber_words
from enclosure.shape.model import Design, StickCut

_BLOCK_MM = 26.0
_HEAD_MM = 10.0
_BAR_MM = 8.0


@dataclass(frozen=True, slots=True)
class _Block:
    """A stick on a page, and whether its material is named above it."""

    sticks: MaterialSticks
    row: StickRow
    number: str
    headed: bool

    @property
    def height(self) -> float:
        return _BLOCK_MM + (_HEAD_MM if self.headed else 0.0)


def stick_draws(
    design: Design, jobs: Sequence[MaterialSticks], words: Words, high: float
) -> list[tuple[str, Draw]]:
    """Return title and drawing of the pages with all sticks, material after material."""
    pages: list[list[_Block]] = [[]]
    room = high - 24
    left = room
    for sticks in jobs:
        rows = stick_rows(sticks)
        for place, row in enumerate(rows):
            block = _Block(sticks, row, tr("{number} of {total}").format(number=place + 1, total=len(rows)), place == 0)
            if block.height > left and pages[-1]:
                pages.append([])
                left = room
                block = replace(block, headed=True)
            pages[-1].append(block)
            left -= block.height
    names = [list(dict.fromkeys(block.sticks.name for block in page)) for page in pages]
    return [
        (_title(some), _draw(design, words, page))
        for page, some in zip(pages, names, strict=True)
        if page
    ]


def _title(names: list[str]) -> str:
    """Return the title of a page; of many materials the first is named."""
    more = len(names) - 1
    said = tr("Sticks: {name} and {count} more") if more else tr("Sticks: {name}")
    return said.format(name=names[0], count=more)


def _draw(design: Design, words: Words, blocks: list[_Block]) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, _, right, _ = sheet.area
        note = tr("Square the first end, hook the tape there and mark all positions; saw on the far side of each mark. "
                  "Positions in {unit}. Lengths are from long point to long point; angles, from a square cut, run "
                  "across the face that will look outward.").format(unit=words.unit_word)  # fmt: skip
        y = heading(sheet, tr("Sticks in cutting order"), note)
        for block in blocks:
            if block.headed:
                kerf = words.fine(mm(block.sticks.job.kerf))
                name = timber_words(design.material(block.sticks.material), words)
                line = tr("{name}, kerf {size}").format(name=name, size=kerf)
                sheet.text(line, left, y - 5.5, right - left, 3.5, bold=True)
                y -= _HEAD_MM
            longest = max(row.kind.length for row in stick_rows(block.sticks))
            box = (left, y - _BLOCK_MM, right, y)
            scale = (right - left) / mm(longest)
            _stick(sheet, design, block.sticks, words, block.row, block.number, box, scale)
            y -= _BLOCK_MM

    return draw


def _stick(
    sheet: Sheet,
    design: Design,
    sticks: MaterialSticks,
    words: Words,
    row: StickRow,
    number: str,
    box: Box,
    scale: float,
) -> None:
    left, _, right, top = box
    rest = row.rest - sticks.job.kerf
    tail = tr("offcut {size}").format(size=words.length(mm(rest))) if mm(rest) > 5 else ""
    squared = tr("square off {size}").format(size=words.fine(mm(row.kind.squaring))) if row.kind.squaring else ""
    owned = _from_where(sticks, row, words) if row.kind.owned else ""
    stick = tr("Stick {number}: {size}").format(number=number, size=words.length(mm(row.kind.length), feet=False))
    line = ", ".join(filter(None, (f"{stick}{owned}", squared, tail)))
    sheet.text(line, left, top - 3.6, right - left, 2.5, bold=True)
    low = top - 5.6 - _BAR_MM
    metal = design.material(sticks.material).kind == "track"
    sheet.rect(left, low, mm(row.kind.length) * scale, _BAR_MM, PALE, "wide", 0.35)
    for start, end in row.kind.defects:
        x = left + mm(start) * scale
        wide = mm(end - start) * scale
        sheet.hatch([(x, low), (x + wide, low), (x + wide, low + _BAR_MM), (x, low + _BAR_MM)], 1.0)
    levels: list[float] = []
    unsaid: list[str] = []
    for mark, start, length in row.pieces:
        extra = _piece(sheet, design, words, mark, (left + mm(start) * scale, low, mm(length) * scale), metal)
        if extra:
            unsaid.append(f"{mark}: {extra}")
        _position(
            sheet,
            words.bare(mm(start + length - row.kind.squaring)),
            left + mm(start + length) * scale,
            low,
            right,
            levels,
        )
    if unsaid:
        line = "; ".join(unsaid)
        sheet.text(line, left, low - 6.4 - 3.0 * len(levels), right - left, SMALLEST)


def _from_where(sticks: MaterialSticks, row: StickRow, words: Words) -> str:
    """Return where an owned stick comes from, and what is sawn off an old part first."""
    old = next((sticks.olds[mark] for mark, _, _ in row.pieces if mark in sticks.olds), None)
    if old is None:
        return ", " + tr("from the rack")
    said = ", " + tr("old {mark}").format(mark=old.mark)
    if old.left_mm > 0.05:
        said += ", " + tr("first {length} off its foot or left end").format(length=words.length(old.left_mm))
    return said


def _piece(
    sheet: Sheet, design: Design, words: Words, mark: str, place: tuple[float, float, float], metal: bool
) -> str:
    """Draw a piece with mark and length; return what else must be said of it and found no room."""
    x, low, wide = place
    cut = design.part(mark).cut
    slant = (0.0, 0.0)
    if isinstance(cut, StickCut):
        slant = (_slant(cut.start_deg), _slant(cut.end_deg))
    high = low + _BAR_MM
    sheet.polygon(
        [
            (x + max(0.0, -slant[0]), low),
            (x + wide - max(0.0, -slant[1]), low),
            (x + wide - max(0.0, slant[1]), high),
            (x + max(0.0, slant[0]), high),
        ],
        METAL if metal else WOOD,
        "wide",
        0.35,
    )
    length = words.bare(cut.length_mm) if isinstance(cut, StickCut) else ""
    part = design.part(mark)
    extra = stick_words(part, design.material(part.material), words)
    middle = x + wide / 2
    room = wide - (4.0 if any(slant) else 0.4)
    longer = f"{length}, {extra}"
    line = longer if extra and text_width(longer, SMALLEST, SLIM) < wide - 4 else length
    if wide > text_width(mark, SMALLEST, SLIM) + 0.6 and text_width(length, SMALLEST, SLIM) < room:
        sheet.text(mark, middle, low + 4.4, wide - 0.6, 2.6, align="centre", bold=True)
        sheet.text(line, middle, low + 1.2, room, 1.9, align="centre")
        return extra if line == length else ""
    _beside(sheet, [mark, length], (x, low, wide))
    return extra


def _beside(sheet: Sheet, lines: list[str], place: tuple[float, float, float]) -> None:
    """Write mark and length of a short piece upright in it, or over it with a leader where it is shorter still."""
    x, low, wide = place
    if wide > len(lines) * SMALLEST * 1.7:
        for number, line in enumerate(lines):
            at = x + wide / 2 + (number - (len(lines) - 1) / 2) * SMALLEST * 1.6 + SMALLEST / 2
            middle = low + _BAR_MM / 2
            sheet.text(line, at, middle, _BAR_MM - 0.4, SMALLEST, align="centre", bold=number == 0, turned=True)
        return
    line = "  ".join(lines)
    sheet.text(line, x + wide, low + _BAR_MM + 0.6, 30, SMALLEST, align="right")


def _slant(deg: float) -> float:
    """Return how far an angled end leans on the drawing: enough to be seen, not to scale."""
    if abs(deg) < 0.05:
        return 0.0
    return 1.6 if deg > 0 else -1.6


def _position(sheet: Sheet, figure: str, x: float, low: float, right: float, levels: list[float]) -> None:
    """Write a running position under a saw mark, on the first of three levels that is free."""
    wide = text_width(figure, SMALLEST, SLIM)
    start = min(x - wide / 2, right - wide)
    level = next((n for n, end in enumerate(levels) if end + 1.0 < start), None)
    if level is None:
        levels.append(0.0)
        level = len(levels) - 1
    levels[level] = start + wide
    base = low - 3.6 - level * 3.0
    sheet.line((x, low), (x, base + 2.5), "narrow", 0.18)
    sheet.text(figure, start, base, wide + 0.5, SMALLEST)
