"""How is one label filled?

`panel_label` has two layouts: a tall one for cells of 58 mm of height or more,
and a flat one that keeps the number at 20 mm and drops the picture first.

Units: mm on paper.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import segno

from enclosure.errors import OutputError
from enclosure.language import later, tr, tr_as
from enclosure.outputs.drawing.neighbours import Patch, face_plane, neighbours, panels_of, patch
from enclosure.outputs.paper.frame import design_version
from enclosure.outputs.paper.label_notes import NOTE_PITCH_MM, LabelNote, note_line, note_rows
from enclosure.outputs.paper.layer import (
    BLACK,
    BOLD,
    SLIM,
    SMALLEST,
    WHITE,
    Box,
    Sheet,
    fill_code,
    text_width,
)
from enclosure.outputs.paper.words import ends, words_of
from enclosure.shape.model import Design, Part, StickCut
from enclosure.shape.names import address, face_code

NUMBER_MM = 20.0
ROW_PITCH = 1.5
SMALL_LEAST_MM = (40.0, 19.0)
_REVERSIBLE = frozenset("01689")
_KIND_WORDS = {
    "member": later("frame"),
    "track": later("track"),
    "gusset": later("gusset"),
    "diagonal": later("diagonal"),
    "batten": later("batten"),
    "lining": later("lining"),
}


@dataclass
class LabelFacts:
    """A design with what all its labels share."""

    design: Design
    version: str = ""
    patches: dict[str, list[Patch]] = field(default_factory=dict)
    notes: Mapping[str, LabelNote] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.version = design_version(self.design)
        self.words = words_of(self.design)

    def of_face(self, face: str) -> list[Patch]:
        """Return the outlines of all panels of a face, worked out once."""
        if face not in self.patches:
            self.patches[face] = panels_of(self.design, face)
        return self.patches[face]

    def beside(self, part: Part) -> dict[str, list[str]]:
        """Return the neighbours of a panel (of an outer film: those of the film under it)."""
        known = [one.part.mark for one in self.of_face(part.face)]
        if part.mark not in known:
            return {"left": [], "right": [], "above": [], "below": []}
        return neighbours(self.of_face(part.face), part.mark)

    def flutes(self, part: Part) -> str:
        """Return how the flutes run, in words; empty when the skin has none."""
        if not self.design.material(part.material).flutes:
            return ""
        return tr("flutes down the slope") if part.face.startswith("ROOF") else tr("flutes upright")


def reversible(number: str) -> bool:
    """Return whether a number can be taken for one when read upside down (6, 9, 16, 88, ...)."""
    turned = number[::-1].translate(str.maketrans("69", "96"))
    return bool(number) and set(number) <= _REVERSIBLE and turned != number


def qr_text(facts: LabelFacts, part: Part) -> str:
    """Return what the code says: the same facts as the label, in plain letters."""
    found = facts.beside(part)
    beside = "; ".join(_side(side, marks) for side, marks in found.items() if marks)
    up = tr("arrow up, OUTSIDE FACE out")
    lines = [
        tr("PANEL {mark}").format(mark=part.mark),
        address(part),
        facts.words.size(part).replace("×", "x"),
        f"{up}, {facts.flutes(part)}" if facts.flutes(part) else up,
        tr("beside it: {parts}").format(parts=beside) if beside else "",
        _note_words(facts.notes.get(part.mark)),
        tr("{name}, design {version}").format(name=facts.design.name, version=facts.version),
    ]
    return "\n".join(line for line in lines if line)


def _note_words(note: LabelNote | None) -> str:
    if note is None:
        return ""
    was = tr("was {mark}").format(mark=note.was) if note.was else ""
    return ", ".join(filter(None, (was, note.words)))


_SIDES = {
    "left": later("left {marks}"),
    "right": later("right {marks}"),
    "above": later("above {marks}"),
    "below": later("below {marks}"),
}


def _side(side: str, marks: list[str]) -> str:
    return tr(_SIDES[side]).format(marks=", ".join(marks))


def panel_label(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    """Fill a cell with the label of a panel.

    Raises:
        OutputError: The number cannot be 20 mm high in this cell.
    """
    wide, high = box[2] - box[0], box[3] - box[1]
    if high < 29.0 or wide < text_width(part.mark, NUMBER_MM, BOLD) + 16:
        raise OutputError(
            f"a label cell of {wide:.0f} x {high:.0f} mm is too small for the number of panel {part.mark}",
            "choose a label sheet with larger cells, or plain paper",
        )
    if high >= 58:
        _tall(sheet, facts, part, box)
    else:
        _flat(sheet, facts, part, box)


def _tall(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    left, bottom, right, top = box
    wide, high = right - left, top - bottom
    band = 7.0 if high > 70 else 5.5
    _outside_band(sheet, (left, top - band, right, top))
    number = 24.0 if high > 70 else NUMBER_MM
    room = wide - 26
    number = max(NUMBER_MM, min(number, number * room / text_width(part.mark, number, BOLD)))
    y = top - band - 2.5 - number
    _number(sheet, part.mark, left, y, number, room)
    _up(sheet, (right - 23, y - 1, right - 12, y + number))
    _flute_sign(sheet, facts, part, (right - 10, y + 1, right, y + number - 1))
    y -= 4.0 if number > 22 else 3.0
    size = 5.0 if high > 70 else 4.0
    sheet.text(address(part), left, y - size, wide, size, bold=True, least=2.5)
    y -= size * 1.25 + 1.4
    line = facts.words.size(part)
    if facts.flutes(part):
        line += f", {facts.flutes(part)}"
    small = 3.5 if high > 70 else 2.6
    sheet.text(line, left, y - small, wide, small, least=2.0)
    note = facts.notes.get(part.mark)
    if note is not None:
        y -= small + 1.4
        note_line(sheet, note, left, y - small, wide, small)
    y -= small + 2.2
    low = y - bottom
    code = min(low, 28.0)
    _code(sheet, qr_text(facts, part), right, bottom, code, error="m" if code > 20 else "l")
    picture = min(34.0, wide * 0.36)
    _place(sheet, facts, part, (left, bottom, left + picture, y))
    _small_print(sheet, facts, part, (left + picture + 2, bottom, right - code - 2, y))


def _flat(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    left, bottom, right, top = box
    wide, high = right - left, top - bottom
    numeral = text_width(part.mark, NUMBER_MM, BOLD)
    column = max(numeral + 1, min(wide * 0.5, 44.0))
    _outside_band(sheet, (left, top - 4.0, left + column, top))
    y = top - 4.0 - 1.2 - NUMBER_MM
    _number(sheet, part.mark, left, y, NUMBER_MM, column)
    x = left + column + 2
    _up(sheet, (x, y + 8, x + 8, top))
    code = min(high - 9.5, right - x - 10, 24.0)
    if code >= 12:
        _code(sheet, qr_text(facts, part), right, top - code, code, error="l")
    foot = y - (3.2 if reversible(part.mark) else 2.6)
    flutes = f", {facts.flutes(part)}" if facts.flutes(part) else ""
    lines = [(address(part), True), (facts.words.size(part) + flutes, False)]
    note = facts.notes.get(part.mark)
    if note is not None:
        line_mm = max(1.6, min(3.4, (foot - bottom) / 5.0))
        second = (note_rows(note, wide) - 1) * NOTE_PITCH_MM
        note_line(sheet, note, left, bottom + 0.4 + second, wide, line_mm)
        bottom += 1.9 * line_mm + second
    height = max(1.8, min(3.5, (foot - bottom) / 3.2))
    if foot - bottom >= 2 * height * 1.5:
        for line, bold in lines:
            sheet.text(line, left, foot - height, wide, height, bold=bold)
            foot -= height * 1.55
    else:
        line = f"{address(part)}  {facts.words.size(part)}{flutes}"
        sheet.text(line, left, bottom + 0.6, wide, max(SMALLEST, min(2.5, foot - bottom)), bold=True)
    if right - code - 2 - (x + 10) >= 14 and high > 40:
        _place(sheet, facts, part, (x + 10, top - code, right - code - 2, top))


# --- pieces ------------------------------------------------------------------------------


def _outside_band(sheet: Sheet, box: Box) -> None:
    sheet.rect(box[0], box[1], box[2] - box[0], box[3] - box[1], BLACK, None)
    height = min(4.0, (box[3] - box[1]) * 0.55)
    base = (box[1] + box[3] - height) / 2
    middle = (box[0] + box[2]) / 2
    room = box[2] - box[0] - 2
    sheet.text(tr("OUTSIDE FACE"), middle, base, room, height, align="centre", bold=True, ink=WHITE)


def _number(sheet: Sheet, mark: str, x: float, y: float, height: float, room: float) -> None:
    sheet.text(mark, x, y, room + 2, height, bold=True, least=NUMBER_MM)
    if reversible(mark):
        sheet.rect(x + 0.5, y - 2.4, text_width(mark, height, BOLD) - 1, 1.3, BLACK, None)


def _up(sheet: Sheet, box: Box) -> None:
    """Draw a block arrow that points up, with the word."""
    left, bottom, right, top = box
    middle, half = (left + right) / 2, (right - left) / 2
    foot = bottom + 4.0
    head = min(half * 1.3, (top - foot) * 0.55)
    sheet.polygon(
        [
            (middle, top),
            (left, top - head),
            (middle - half * 0.4, top - head),
            (middle - half * 0.4, foot),
            (middle + half * 0.4, foot),
            (middle + half * 0.4, top - head),
            (right, top - head),
        ],
        BLACK,
        None,
    )
    sheet.text(tr("UP"), middle, bottom + 0.4, right - left, 2.8, align="centre", bold=True)


def _flute_sign(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    """Draw upright lines between two arrows: the way the flutes run; nothing without flutes."""
    if not facts.flutes(part):
        return
    left, bottom, right, top = box
    low, high = bottom + 4.0, top
    sheet.rect(left + 0.5, low, right - left - 1, high - low, None, "wide", 0.35)
    for share in (0.2, 0.35, 0.65, 0.8):
        x = left + 0.5 + share * (right - left - 1)
        sheet.line((x, low), (x, high), "narrow", 0.18)
    middle = (left + right) / 2
    sheet.line((middle, low + 1), (middle, high - 1), "narrow", 0.35)
    sheet.arrow((middle, high - 0.5), 90, 2.6)
    sheet.arrow((middle, low + 0.5), -90, 2.6)
    sheet.text(tr("FLUTES"), middle, bottom + 0.6, right - left, 1.9, align="centre", bold=True)


def _code(sheet: Sheet, words: str, right: float, bottom: float, side: float, error: str) -> None:
    """Draw a QR code whose right lower corner is given."""
    code = segno.make(words, error=error, micro=False, boost_error=False, encoding="utf-8")
    rows = [list(row) for row in code.matrix]
    count = len(rows)
    module = side / (count + 4)  # 2 modules each side; the empty cell around gives the rest
    x0, y0 = right - side + 2 * module, bottom + side - 2 * module
    codes = [fill_code(BLACK)]
    for line, row in enumerate(rows):
        column = 0
        while column < count:
            if not row[column]:
                column += 1
                continue
            end = column
            while end < count and row[end]:
                end += 1
            codes.append(
                f"{x0 + column * module:.4f} {y0 - (line + 1) * module:.4f} "
                f"{(end - column) * module:.4f} {module:.4f} re"
            )
            column = end
    sheet.ops(*codes, "f")


def _place(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    """Draw the wall from outside with this panel filled, and a plan with the wall drawn thick."""
    left, bottom, right, top = box
    patches = facts.of_face(part.face)
    plan = min(11.0, (top - bottom) * 0.4, (right - left) * 0.36)
    _elevation(sheet, patches, part, (left, bottom, right - plan - 2, top))
    _plan(sheet, facts.design, part.face, (right - plan, bottom, right, bottom + plan * 1.5))


def _elevation(sheet: Sheet, patches: list[Patch], part: Part, box: Box) -> None:
    boxes = [one.box for one in patches]
    low_a, low_b = min(b[0] for b in boxes), min(b[1] for b in boxes)
    wide = max(b[2] for b in boxes) - low_a
    high = max(b[3] for b in boxes) - low_b
    scale = min((box[2] - box[0]) / wide, (box[3] - box[1]) / high)
    x0 = (box[0] + box[2] - scale * wide) / 2
    for one in sorted(patches, key=lambda p: p.part.mark == part.mark):
        points = [(x0 + scale * (a - low_a), box[1] + scale * (b - low_b)) for a, b in one.outline]
        mine = one.part.mark == part.mark or (part.layer > 1 and one.part.address in part.address)
        sheet.polygon(points, BLACK if mine else None, "narrow", 0.25)


def _plan(sheet: Sheet, design: Design, face: str, box: Box) -> None:
    left, bottom, right, top = box
    wide, deep = design.outside_mm[0], design.outside_mm[1]
    foot = bottom + 3.0
    scale = min((right - left) / wide, (top - foot) / deep)
    x0 = (left + right - scale * wide) / 2
    x1, y0, y1 = x0 + scale * wide, foot, foot + scale * deep
    sheet.rect(x0, y0, x1 - x0, y1 - y0, None, "narrow")
    sides = {
        "FRONT": ((x0, y0), (x1, y0)),
        "BACK": ((x0, y1), (x1, y1)),
        "LEFT": ((x0, y0), (x0, y1)),
        "RIGHT": ((x1, y0), (x1, y1)),
    }
    if face in sides:
        sheet.line(*sides[face], "wide", 1.4)
    else:
        sheet.hatch([(x0, y0), (x1, y0), (x1, y1), (x0, y1)], 1.2)
    word = tr_as("on a small plan", "front")
    wide = max(right - left, text_width(word, SMALLEST, SLIM))
    sheet.text(word, (left + right) / 2, bottom + 0.4, wide, SMALLEST, align="centre")


def _small_print(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    left, bottom, right, top = box
    beside = facts.beside(part)
    lines = [(facts.design.name, True), (tr("design {version}").format(version=facts.version), False)]
    lines += [(_side(side, marks), False) for side, marks in beside.items() if marks]
    if part.vent:
        lines.append((tr("opens: vent"), True))
    if part.layer > 1:
        lines.append((tr("outer layer"), True))
    height = max(SMALLEST, min(2.0, (top - bottom) / (len(lines) * 1.6)))
    y = top
    for line, bold in lines:
        y -= height * 1.6
        if y < bottom - 0.3:
            break
        sheet.text(line, left, y, right - left, height, bold=bold)


def small_label(sheet: Sheet, facts: LabelFacts, part: Part, box: Box) -> None:
    """Fill a cell with the label of a member, a track or another part."""
    left, bottom, right, top = box
    wide, high = right - left, top - bottom
    mark = min(9.0, max(5.0, high * 0.34))
    if part.kind not in _KIND_WORDS:
        raise OutputError(f"part {part.mark} is a panel and needs a panel label", "use a larger cell")
    sign = "↑" if _is_upright(facts.design, part) else "← →"
    side = 0.0
    if isinstance(part.cut, StickCut):
        word, outside = (tr("↑ top") if sign == "↑" else tr("← left end")), tr("mark outside")
        side = max(text_width(word, SMALLEST, SLIM), text_width(outside, SMALLEST, SLIM)) + 0.6
        sheet.text(word, right, top - 3.0, side, 2.5, align="right")
        sheet.text(outside, right, top - 6.4, side, SMALLEST, align="right")
    sheet.text(part.mark, left, top - mark, wide - side - 1.0, mark, bold=True, least=3.5)
    note = facts.notes.get(part.mark)
    room = high - mark - 1.6
    told = note_rows(note, wide) if note is not None else 0
    rows = _small_rows(facts, part, wide, most=int(room / (SMALLEST * ROW_PITCH)) - told)
    rows[2:2] = [("", False)] * told
    height = max(SMALLEST, min(2.6, room / (len(rows) * ROW_PITCH)))
    y = top - mark - 1.2
    for line, bold in rows:
        if line:
            sheet.text(line, left, y - height, wide, height, bold=bold)
        elif note is not None:
            note_line(sheet, note, left, y - height, wide, height)
            note = None
        y -= height * ROW_PITCH


def _small_rows(facts: LabelFacts, part: Part, wide: float, most: int) -> list[tuple[str, bool]]:
    """Return the lines of a small label, joined where there is room beside each other and dropped from the last."""
    cuts, where = _end_words(part), f"{tr(_KIND_WORDS[part.kind])}{_where(part)}"
    whose = f"{facts.design.name}, {facts.version}"
    rows = [(f"{face_code(part.face)} {tr(part.role)}", True)]
    for first, second in ((facts.words.size(part), cuts), (where, whose)):
        joined = f"{first}, {second}" if second else first
        if text_width(joined, SMALLEST, SLIM) <= wide:
            rows.append((joined, False))
        else:
            rows += [(first, False), (second, False)]
    return rows[: max(most, 2)]


def _is_upright(design: Design, part: Part) -> bool:
    """Return whether a stick runs up its wall (or slope) and not along it."""
    if part.role in ("stile", "mullion", "rafter"):
        return True
    if part.face == "BASE":
        return False
    low_a, low_b, high_a, high_b = patch(face_plane(design, part.face), part).box
    return high_b - low_b > high_a - low_a


def _end_words(part: Part) -> str:
    if not isinstance(part.cut, StickCut):
        return ""
    return ends(part.cut)


def _where(part: Part) -> str:
    words = []
    if part.bay:
        words.append(tr("bay {number}").format(number=part.bay))
    if part.tier:
        words.append(tr("tier {number}").format(number=part.tier))
    elif part.level > 1:
        words.append(tr("frame tier {number}").format(number=part.level))
    if part.lift_out:
        words.append(tr("lifts out"))
    return (" " + " ".join(words)) if words else ""
