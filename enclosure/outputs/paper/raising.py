"""In which order does the shelter go up, and what does each step look like?

One step a half page: what to do, who and what is needed, and an axonometric
picture in which the parts of the step are filled and thickly outlined and what
stands already is drawn thin. First build, then the raising of every autumn,
then the take-down with the stacks for stowing.

Units: mm on paper.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from enclosure.checks.season_calendar import Event
from enclosure.language import later, tr, tr_as, tr_n
from enclosure.outputs.paper.frame import Book, Draw, heading
from enclosure.outputs.paper.layer import (
    BODY,
    BOLD,
    DRAWN,
    PALE,
    REGULAR,
    SMALLEST,
    WHITE,
    Sheet,
    text_width,
    wrapped,
)
from enclosure.outputs.paper.raising_arrows import arrows_of, draw_arrows
from enclosure.outputs.paper.raising_front import add_front
from enclosure.outputs.paper.scene import Scene, paint
from enclosure.outputs.paper.scene_anchors import ShownAnchors
from enclosure.outputs.paper.table import Column, Row, Table
from enclosure.outputs.paper.words import Words, continued, runs, words_of
from enclosure.shape.model import Design, Part, SheetCut, Step
from enclosure.shape.names import FACES, address, face_code, face_word, in_its_language

PHASES = (
    ("first build", later("First build: once")),
    ("raising", later("Raising: each autumn")),
    ("take-down", later("Take-down: each spring")),
)
_KIND_WORDS = {
    "panel": later("Panels ({count})"),
    "film": later("Film ({count})"),
    "member": later("Members ({count})"),
    "track": later("Track ({count})"),
    "gusset": later("Gussets ({count})"),
    "diagonal": later("Diagonals ({count})"),
    "batten": later("Battens ({count})"),
    "lining": later("Lining boards ({count})"),
}
_MOST_MARKS = 30
_LONG = 430
_SENTENCE = re.compile(r"(?<=[.]) (?=[A-ZÄÖÜ0-9])")
_STANDING = ("bolt-frames", "roof-on", "try-panels")
"""Steps of the first build in which the shelter stands on its ring."""
_ANCHORING = ("posts", "anchor", "down-anchor")
"""Steps about the anchors: they bring no part, but posts, stakes and wires are drawn."""


@in_its_language
def write_raising(design: Design, path: Path, events: Sequence[Event] = ()) -> None:
    """Write raising.pdf.

    Args:
        design: The shelter.
        path: File to write.
        events: Dates of the season, where the site gives them.
    """
    book = Book(design, tr("Raising"), design.paper)
    scene = Scene(design)
    words = words_of(design)
    ordered = [step for phase, _ in PHASES for step in design.steps if step.phase == phase]
    add_front(book, PHASES, ordered, events)
    _add_overview(book, ordered, words)
    standing = _standing(design, ordered)
    blocks = _blocks(ordered, standing, bool(design.anchors), design.base.ring_length_mm > 0)
    for phase, title in PHASES:
        for page in _deal([block for block in blocks if block.step.phase == phase]):
            first, last = page[0].number, page[-1].number
            name = tr("Step {first}") if first == last else tr("Steps {first}–{last}")
            name = name.format(first=first, last=last)
            book.add(name, _page(scene, page, words), chapter=tr(title))
    _add_stowing(book, design, words)
    book.write(path)


@dataclass(frozen=True, slots=True)
class _Block:
    """A step on its page: half of it with a picture, all of it where much is to be done, a quarter without."""

    number: int
    step: Step
    old: frozenset[str]
    pictured: bool
    tied: bool = False

    @property
    def quarters(self) -> int:
        if self.pictured and self.long:
            return 4
        return 2 if self.pictured else 1

    @property
    def long(self) -> bool:
        """Whether so much is to be done that it is told line by line on a page of its own."""
        return len(self.step.text) > _LONG


def _blocks(
    ordered: list[Step], standing: dict[str, frozenset[str]], anchored: bool = False, ringed: bool = False
) -> list[_Block]:
    """Return the steps; one that brings nothing new to look at has no picture."""
    blocks: list[_Block] = []
    shown: frozenset[str] = frozenset()
    tied = False
    for number, step in enumerate(ordered, start=1):
        old = standing[step.key]
        whole = old | frozenset(step.parts)
        pictured = bool(step.parts) or (bool(old) and whole != shown) or (step.key in _ANCHORING and anchored)
        pictured = pictured or (step.key == "ring" and ringed)
        tied = (tied or step.key == "anchor" or step.phase == "take-down") and step.key not in _untied(ordered)
        blocks.append(_Block(number, step, old, pictured, tied))
        shown = old if step.phase == "take-down" else whole
    return blocks


def _untied(ordered: list[Step]) -> set[str]:
    """Return the steps from the undoing of the wires on."""
    keys = [step.key for step in ordered]
    return set(keys[keys.index("down-anchor") :]) if "down-anchor" in keys else set()


def _deal(blocks: list[_Block]) -> list[list[_Block]]:
    pages: list[list[_Block]] = []
    for block in blocks:
        if not pages or sum(one.quarters for one in pages[-1]) + block.quarters > 4:
            pages.append([])
        pages[-1].append(block)
    return pages


def _standing(design: Design, ordered: list[Step]) -> dict[str, frozenset[str]]:
    """Return for each step the marks of the parts that stand besides its own.

    In the first build frames are put together apart from each other: there only
    what the step rests on counts. Later everything that has gone up stands.
    """
    found: dict[str, frozenset[str]] = {}
    by_key = {step.key: step for step in ordered}
    up: set[str] = set()
    phase = ""
    for step in ordered:
        if step.phase != phase:
            phase = step.phase
            up = {part.mark for part in design.parts} if phase == "take-down" else set()
        if phase == "take-down":
            up -= set(step.parts)
            found[step.key] = frozenset(up)
        elif step.key in _STANDING:
            first = [key for key in step.after if key in _STANDING][:1]
            found[step.key] = frozenset(mark for key in first for mark in by_key[key].parts)
        elif phase == "first build":
            before = _before(by_key, step)
            found[step.key] = frozenset(mark for one in before for mark in one.parts) - set(step.parts)
        else:
            found[step.key] = frozenset(up - set(step.parts))
            up |= set(step.parts)
    return found


def _before(by_key: dict[str, Step], step: Step) -> list[Step]:
    """Return the steps of the same phase on which a step rests, directly or through others."""
    found: dict[str, Step] = {}
    waiting = list(step.after)
    while waiting:
        key = waiting.pop()
        if key in by_key and key not in found and by_key[key].phase == step.phase and key != "cut-panels":
            found[key] = by_key[key]
            waiting.extend(by_key[key].after)
    return list(found.values())


# --- overview -------------------------------------------------------------------------


def _add_overview(book: Book, ordered: list[Step], words: Words) -> None:
    wide, high = book.area()
    rows: list[Row] = []
    for phase, title in PHASES:
        steps = [(n, step) for n, step in enumerate(ordered, start=1) if step.phase == phase]
        if not steps:
            continue
        total = sum(step.minutes for _, step in steps)
        most = max(step.people for _, step in steps)
        people = tr_n("{count} person", "{count} people", most).format(count=most)
        rows.append(Row((f"{tr(title)}: {_time(total)}, {people}",), heading=True))
        rows.extend(
            Row((str(n), step.title, str(step.people), _lift(step, words), _time(step.minutes)))
            for n, step in steps
        )
    columns = (
        Column(tr("Step"), 12, "right", True),
        Column(tr("What"), 96),
        Column(tr("People"), 18, "right"),
        Column(tr("Heaviest lift"), 30, "right"),
        Column(tr("Time"), 22, "right"),
    )
    design = book.design
    how = (
        tr("The three-sided body is slid round the plant.")
        if design.raising_method == "slide"
        else tr("The shelter goes up frame by frame.")
    )
    note = f"{how} {design.raising_reason[:1].upper()}{design.raising_reason[1:]}".strip().rstrip(".") + "."
    tables = [Table(columns, tuple(rows), height) for height in (BODY, 2.3, 2.1, 1.9)]
    one = next((table for table in tables if table.total(wide) <= high - 26), None)
    pages = [one] if one is not None else _by_phase(tables[1], wide, high)
    for number, table in enumerate(pages):
        title = continued(tr("Order of work")) if number else tr("Order of work")
        book.add(title, _overview(table, "" if number else note))


def _by_phase(table: Table, wide: float, high: float) -> list[Table]:
    """Return the pages of a long list of steps: the first build on its own, the work of every year together."""
    starts = [place for place, row in enumerate(table.rows) if row.heading]
    cut = starts[1] if len(starts) > 1 else len(table.rows)
    parts = [replace(table, rows=rows) for rows in (table.rows[:cut], table.rows[cut:]) if rows]
    return [page for part in parts for page in part.pages(wide, high - 26, high - 26)]


def _lift(step: Step, words: Words) -> str:
    return words.mass(step.mass_kg) if step.mass_kg > 0 else "–"


def _overview(table: Table, note: str) -> Draw:
    def draw(sheet: Sheet) -> None:
        y = heading(sheet, tr("Order of work"), note)
        left, _, right, _ = sheet.area
        table.draw(sheet, left, y, right - left)

    return draw


def _time(minutes: int) -> str:
    if minutes < 60:
        return f"{minutes} min"
    hours, rest = divmod(minutes, 60)
    return f"{hours} h {rest} min" if rest else f"{hours} h"


# --- steps ------------------------------------------------------------------------------


def _page(scene: Scene, blocks: list[_Block], words: Words) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, top = sheet.area
        quarter = (top - bottom) / 4
        pictures = sum(block.pictured for block in blocks)
        spare = (4 - sum(block.quarters for block in blocks)) / pictures if pictures else 0.0
        upper = top
        for place, block in enumerate(blocks):
            if place:
                sheet.line((left, upper), (right, upper), "narrow")
            lower = upper - (block.quarters + (spare if block.pictured else 0.0)) * quarter
            _step(sheet, scene, block, words, (left, lower, right, upper - 2))
            upper = lower

    return draw


def _step(
    sheet: Sheet,
    scene: Scene,
    block: _Block,
    words: Words,
    box: tuple[float, float, float, float],
) -> None:
    left, bottom, right, top = box
    step = block.step
    figure = str(block.number)
    wide = max(11.0, text_width(figure, 7.0, BOLD) + 4)
    sheet.rect(left, top - 11, wide, 11, WHITE)
    sheet.text(figure, left + wide / 2, top - 9, wide - 2, 7.0, align="centre", bold=True)
    sheet.text(step.title, left + wide + 3, top - 7.5, right - left - wide - 3, 5.0, bold=True, least=3.5)
    facts_left = right - 60
    beside = right - left if block.pictured else facts_left - left - 6
    y = top - 14
    for line in _SENTENCE.split(step.text) if block.long and block.pictured else [step.text]:
        dash = "• " if line != step.text else ""
        y = sheet.paragraph(f"{dash}{line}", left, y, beside, BODY, most=12) - (0.6 if dash else 0.0)
    facts_top = y - 1 if block.pictured else top - 13
    _facts(sheet, scene.design, step, words, (facts_left, bottom + 2, right, facts_top))
    if not block.pictured:
        return
    _picture(sheet, scene, block, (left, bottom, facts_left - 4, y - 2))


def _picture(sheet: Sheet, scene: Scene, block: _Block, box: tuple[float, float, float, float]) -> None:
    """Paint the step, with its marks and arrows, and say from where it is seen."""
    left, bottom, right, top = box
    step = block.step
    inside = step.key.startswith("frame-") and "roof" not in step.key
    face = next((p.face for p in scene.design.parts if p.mark in step.parts), "")
    view = scene.from_inside(face) if inside else scene.best_view(step.parts)
    saved = sheet.area
    sheet.area = (left, bottom + 8, right, top)
    new, old = frozenset(step.parts), block.old
    if step.key == "ring":
        new = scene.ring()
    elif step.phase != "first build" or step.key in ("lining", "posts", "numbers", "apart", *_STANDING):
        old = old | scene.ring()
    arrows = arrows_of(scene.design, step)
    marked, names = _marked(scene.design, step)
    inner = (left + 6, bottom + 11, right - 6, top - 3)
    beyond = [view.project(end) for arrow in arrows for end in arrow]
    anchors = _anchors(scene.design, block)
    placing = paint(
        sheet, scene, view, inner, new, old, marked=marked, anchors=anchors, beyond=beyond, names=names
    )  # fmt: skip
    sheet.area = saved
    draw_arrows(sheet, arrows, lambda point: placing.at(view.project(point)))
    said = tr("Seen from the {side}.")
    if inside:
        said = tr("Seen from the {side}: the inside face is toward you. Filled: parts of this step.")
    elif new or anchors is not None:
        said = tr("Seen from the {side}. Filled: parts of this step.")
    sheet.text(said.format(side=tr_as("seen from", view.name)), left, bottom + 3, right - left, 1.8)


def _anchors(design: Design, block: _Block) -> ShownAnchors | None:
    """Return what of the anchors stands in a picture: the posts all winter, stakes where a step is about them."""
    step = block.step
    if not design.anchors or (step.phase == "first build" and step.key not in ("posts", *_STANDING)):
        return None
    about = step.key in _ANCHORING
    # tied as soon as it stands, until it is taken down again
    return ShownAnchors(design, stakes=about, wires=step.key != "posts" and (about or block.tied), new=about)


def _marked(design: Design, step: Step) -> tuple[list[str], dict[str, str]]:
    """Return the marks to write in the picture: panels, then members, as many as stay readable.

    Where whole walls go up, ready made, each wall is named on its head instead.
    """
    heads = {p.face: p.mark for p in design.parts if p.mark in step.parts and p.role in ("head", "eaves rail")}
    if len(heads) > 1 or "stand-" in step.key:
        return list(heads.values()), {mark: face_code(face) for face, mark in heads.items()}
    kinds: tuple[str, ...] = ("panel", "film", "member", "diagonal", "batten", "lining", "gusset")
    here = [p for p in design.parts if p.mark in step.parts]
    if all(p.kind == "track" for p in here):
        kinds = ("track",)
    elif any(p.kind in ("panel", "film") and p.face.startswith("ROOF") for p in here):
        kinds = ("panel", "film")  # a roof that goes on whole
    chosen: list[str] = []
    for kind in kinds:
        more = [p.mark for p in design.parts if p.kind == kind and p.mark in step.parts]
        if len(chosen) + len(more) <= _MOST_MARKS:
            chosen.extend(more)
    return chosen, {}


def _facts(
    sheet: Sheet, design: Design, step: Step, words: Words, box: tuple[float, float, float, float]
) -> None:
    left, bottom, right, y = box
    room = right - left
    people = tr_n("{count} person, about {time}", "{count} people, about {time}", step.people)
    lines = [(people.format(count=step.people, time=_time(step.minutes)), True)]
    if step.mass_kg > 0:
        lines.append((tr("Heaviest lift {mass}").format(mass=words.mass(step.mass_kg)), False))
    if step.tools:
        lines += [(tr("In hand"), True), (", ".join(step.tools), False)]
    for caution in step.cautions:
        lines += [(tr("CAUTION"), True), (caution[:1].upper() + caution[1:], False)]
    for kind, title in _KIND_WORDS.items():
        marks = [p.mark for p in design.parts if p.kind == kind and p.mark in step.parts]
        if marks:
            lines += [(tr(title).format(count=len(marks)), True), (runs(marks), False)]
    for height in (BODY, 2.2, 2.0, SMALLEST):
        rows = sum(len(wrapped(line, room, height, BOLD if bold else REGULAR)) for line, bold in lines)
        if rows * height * 1.75 + len(lines) * height * 0.4 <= y - bottom:
            break
    for line, bold in lines:
        if line == tr("CAUTION"):
            sheet.line((left, y), (right, y), "wide")
            y -= 0.6
        y = sheet.paragraph(line, left, y, room, height, bold=bold) - (0.0 if bold else 0.8)


# --- stowing -----------------------------------------------------------------------------


def _add_stowing(book: Book, design: Design, words: Words) -> None:
    panels = [p for p in design.panels() if isinstance(p.cut, SheetCut)]
    # heaviest at the bottom; among equals the first to go on again lies on top
    stack = sorted(panels, key=lambda p: (-p.mass_kg, -design.parts.index(p)))
    size = 26
    for start in range(0, max(1, len(stack)), size):
        part_of = stack[start : start + size]
        title = tr("Stowing") if start == 0 else continued(tr("Stowing"))
        book.add(title, _stowing(design, part_of, words, start // size + 1), chapter=tr(PHASES[2][1]))


def _stowing(design: Design, stack: list[Part], words: Words, number: int) -> Draw:
    def draw(sheet: Sheet) -> None:
        left, bottom, right, _ = sheet.area
        y = heading(
            sheet,
            tr("Stowing"),
            tr("Stack the panels flat and dry, the heaviest at the bottom, films or paper between them, on four "
               "battens; nothing stands on an edge of the flutes. Out of the sun, one strap round the stack. Write the "
               "numbers of a stack on a tag that hangs outside."),
        )
        if stack:
            _stack(sheet, stack, words, number, (left, bottom + 62, right, y))
        _bundles(sheet, design, (left, bottom, right, bottom + 58))

    return draw


def _stack(
    sheet: Sheet, stack: list[Part], words: Words, number: int, box: tuple[float, float, float, float]
) -> None:
    left, bottom, right, top = box
    title = tr("Stack {number}, seen from its side; lay from the ground up").format(number=number)
    sheet.text(title, left, top - 4, right - left, DRAWN, bold=True)
    y0 = bottom + 5
    each = min(6.0, (top - 10 - y0) / len(stack))
    room = (right - left) * 0.52
    longest = max(part.cut.height_mm for part in stack if isinstance(part.cut, SheetCut))
    sheet.line((left, bottom + 1), (right, bottom + 1), "wide")
    for foot in (0.06, 0.36, 0.64, 0.94):
        sheet.rect(left + foot * room - 2, bottom + 1, 4, 3.6, PALE, "wide")
    for place, part in enumerate(stack):
        assert isinstance(part.cut, SheetCut)
        wide = room * part.cut.height_mm / longest
        y = y0 + place * each
        x = left + (room - wide) / 2
        sheet.rect(x, y + 0.3, wide, each - 0.9, WHITE, "wide", 0.35)
        height = min(BODY, each * 0.5)
        base = y + (each - height) / 2 - 0.1
        sheet.text(part.mark, x + wide / 2, base, wide - 2, height, align="centre", bold=True)
        line = f"{part.mark}   {address(part)}   {words.size(part)}   {words.mass(part.mass_kg)}"
        sheet.text(line, left + room + 8, base, right - left - room - 8, height)
        sheet.line((x + wide + 0.5, y + each / 2), (left + room + 7, y + each / 2), "narrow", 0.13)


def _bundles(sheet: Sheet, design: Design, box: tuple[float, float, float, float]) -> None:
    left, _, right, top = box
    rows = []
    for face in FACES:
        marks = [p.mark for p in design.parts if p.face == face and p.kind not in ("panel", "film")]
        loose = [p.mark for p in design.parts if p.face == face and p.lift_out]
        if marks:
            said = tr_n("{count} part", "{count} parts", len(marks))
            if loose:
                said = tr_n("{count} part; tie on the lift-out {marks}", "{count} parts; tie on the lift-out {marks}",
                            len(marks))  # fmt: skip
            rows.append(Row((face_word(face), said.format(count=len(marks), marks=runs(loose)))))
    table = Table((Column(tr("Bundle or frame"), 40, "left", True), Column(tr("Holds"), 130)), tuple(rows))
    table.draw(sheet, left, top, right - left)
