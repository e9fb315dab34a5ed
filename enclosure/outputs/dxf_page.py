"""How does a drawing become a DXF file that can be trusted and printed?

`Drawing` gathers closed outlines, lines, words and dimensions of one drawing in
true size (mm) and `finish` writes it: DXF R2010, units mm, layers by plain words
(`dxf_layers`), line widths after ISO 128 (wide 0.50, narrow 0.25), real dimension
entities, a paper space page ready to print with frame, title block and viewport
at a round scale. The file is then audited, read back from the disk and every
closed outline compared with what was asked; only then is success reported.

The same drawing always gives the same bytes: no clock, no chance.

Left out: what is drawn (see dxf_sheets, dxf_panels, dxf_elevations, dxf_frame_parts,
dxf_details), and what the title block says (dxf_title).

Units: model space mm; widths and heights called "on paper" are mm of the printed page.

References:
    [ISO128] line kinds and widths; [ISO5455] scales (15, 25, 30 and 40 are added, as is common
    where a page is small); [ISO5457] margins 20 mm at the left, 10 mm elsewhere. Values as
    collected in the project's fact list, not from the standards themselves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any, Literal

from enclosure.errors import OutputError
from enclosure.language import decimal
from enclosure.outputs.dxf_file import fixed_dates, read_back
from enclosure.outputs.dxf_layers import LAYERS
from enclosure.outputs.dxf_title import (
    TEXT_MM,
    TITLE_HEIGHT,
    Title,
    clean,
    define_title,
    place_title,
    text_width,
)

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, lower, right, upper
Align = Literal["left", "middle", "right"]

SCALES = (1, 2, 5, 10, 15, 20, 25, 30, 40, 50, 100, 200, 500)
PAPERS: dict[str, Point] = {
    "A4": (297.0, 210.0),
    "A3": (420.0, 297.0),
    "Letter": (279.4, 215.9),
    "Tabloid": (431.8, 279.4),
}
MARGIN_LEFT, MARGIN = 20.0, 10.0
SMALLEST_SHARE = 0.7  # of the height of a dimension's words


def reads_upside_down(mark: str) -> bool:
    """Return True for a number that turned over is another number, such as 6, 9 or 86."""
    return set(mark) <= set("0689") and mark.strip("08") != ""


def outline_box(points: Sequence[Point]) -> Box:
    """Return left, lower, right and upper bound."""
    return (
        min(x for x, _ in points), min(y for _, y in points),
        max(x for x, _ in points), max(y for _, y in points),
    )


class Drawing:
    """One drawing in true size, and its page.

    Args:
        title: Contents of the title block.
        paper: Key of `PAPERS`.
        size: Width and height of what is drawn [mm].
        around: Room for dimensions and notes at left, below, right, above [mm on paper].
        words: False leaves out words, dimensions and the page: for machines.
    """

    def __init__(
        self,
        title: Title,
        paper: str,
        size: Point,
        around: tuple[float, float, float, float] = (20.0, 20.0, 20.0, 20.0),
        *,
        words: bool = True,
    ) -> None:
        import ezdxf
        from ezdxf import units

        self.title, self.words, self.outlines = title, words, list[tuple[str, tuple[Point, ...]]]()
        self.sort_of_paper = paper
        self.paper, self.scale = page_of(paper, size, around)
        self._spans: list[Box] = []
        self.boxes: list[Box] = []
        self._pages: list[tuple[str, Title, Box]] = []
        self._lines: list[tuple[Point, Point]] = []
        with fixed_dates():
            self.document: Any = ezdxf.new("R2010", units=units.MM)
        self.document.header["$MEASUREMENT"] = 1
        self.document.header["$LTSCALE"] = float(self.scale)
        self.document.header["$PSLTSCALE"] = 0
        self.document.header["$LWDISPLAY"] = 1
        self._tables()
        self.space: Any = self.document.modelspace()

    def on_paper(self, millimetres: float) -> float:
        """Return the length in model space that prints as `millimetres`."""
        return millimetres * self.scale

    def page(self, name: str, title: Title, window: Box) -> None:
        """Add a page that shows one window of the drawing; without any, one page shows all of it."""
        self._pages.append((name, title, window))

    def reach_since(self, mark: int) -> Box:
        """Return the box around all lines and words drawn since `mark` (see `marker`)."""
        return outline_box([point for box in self._spans[mark:] for point in (box[:2], box[2:])])

    def page_width(self) -> float:
        """Return the width in model space that a page shows."""
        return self.on_paper(self.paper[0] - MARGIN_LEFT - MARGIN)

    def forget_lines(self) -> None:
        """Let words from here on keep clear only of the lines that follow."""
        self._lines.clear()

    def marker(self) -> int:
        """Return a place in the order of drawing, for `reach_since`."""
        return len(self._spans)

    def outline(self, points: Sequence[Point], layer: str) -> None:
        """Draw a closed outline; it is compared when the file is read back."""
        corners = tuple((float(x), float(y)) for x, y in points)
        self._reach(corners)
        self.outlines.append((layer, corners))
        self._lines.extend((corners[i - 1], corners[i]) for i in range(len(corners)))
        self.space.add_lwpolyline(corners, close=True, dxfattribs={"layer": layer})

    def line(self, start: Point, end: Point, layer: str) -> None:
        """Draw a straight line."""
        self._reach((start, end))
        self._lines.append((start, end))
        self.space.add_line(start, end, dxfattribs={"layer": layer})

    def hatch(self, points: Sequence[Point], angle: float = 0.0, pitch: float = 1.0) -> None:
        """Hatch the inside of a closed outline with slanting lines; `pitch` widens them."""
        if not self.words:
            return
        field = self.space.add_hatch(dxfattribs={"layer": "hatching", "color": 256})
        field.set_pattern_fill("ANSI31", color=256, angle=angle, scale=pitch * self.on_paper(1.0))
        field.paths.add_polyline_path([(float(x), float(y)) for x, y in points], is_closed=True)

    def circle(self, middle: Point, radius: float, layer: str) -> None:
        """Draw a circle."""
        x, y = middle
        self._reach(((x - radius, y - radius), (x + radius, y + radius)))
        self.space.add_circle(middle, radius, dxfattribs={"layer": layer})

    def number(self, digits: str, middle: Point, radius: float, layer: str) -> None:
        """Write a number in a circle."""
        if not self.words:
            return
        x, y = middle
        tall = radius * (1.0 if len(digits) < 2 else 0.8)
        self.circle(middle, radius, layer)
        self.text(digits, middle, layer, align="middle", model_height=tall)
        self.boxes.append((x - radius, y - radius, x + radius, y + radius))

    def mark(self, mark: str, at: Point, tall: float, turn: float = 0.0) -> None:
        """Write a mark around a place, `tall` in model space; a bar under it where it reads upside down."""
        self.text(mark, at, "marks", align="middle", turn=turn, model_height=tall)
        if self.words and reads_upside_down(mark):
            half, under = text_width(mark, tall) / 2, -0.7 * tall
            c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            start, end = ((at[0] + a * c - under * s, at[1] + a * s + under * c) for a in (-half, half))
            self.line(start, end, "marks")

    def text(
        self, words: str, at: Point, layer: str = "words", height: float = TEXT_MM, align: Align = "left",
        turn: float = 0.0, *, model_height: float | None = None,
    ) -> None:
        """Write one line; `at` is its left, middle or right at half height.

        Args:
            words: Any text; signs that DXF would read as codes are defused.
            at: Where.
            layer: On which layer.
            height: Height of capitals [mm on paper].
            align: Which point of the line lies at `at`.
            turn: Direction of the line [deg], counter-clockwise.
            model_height: Height in model space instead, to fit a part.
        """
        if not self.words:
            return
        from ezdxf.enums import TextEntityAlignment

        tall = self.on_paper(height) if model_height is None else model_height
        line = clean(words)
        box = _turned_box(at, text_width(line, tall), tall, align, turn)
        self.boxes.append(box)
        self._reach(((box[0], box[1]), (box[2], box[3])))
        place = {"left": "MIDDLE_LEFT", "middle": "MIDDLE_CENTER", "right": "MIDDLE_RIGHT"}[align]
        entity = self.space.add_text(
            line, height=tall, rotation=turn, dxfattribs={"layer": layer, "style": "words"}
        )
        entity.set_placement(at, align=TextEntityAlignment[place])

    def dimension(
        self, start: Point, end: Point, away: float, words: str = "<>", turn: float | None = None,
        *, figure_at: Point | None = None,
    ) -> None:
        """Draw a linear dimension.

        Args:
            start: First point measured.
            end: Second.
            away: Distance of the dimension line from the points to the left of start-end [mm on
                paper]; negative for the right.
            words: Text instead of the measured mm; "<>" for the measure itself.
            turn: Direction measured [deg]; that of start-end when None.
            figure_at: Middle of the words, where they are not to stand on the line.
        """
        if not self.words:
            return
        angle = math.degrees(math.atan2(end[1] - start[1], end[0] - start[0])) if turn is None else turn
        shift = self.on_paper(away)
        left = math.radians(angle + 90)
        base = (start[0] + shift * math.cos(left), start[1] + shift * math.sin(left))
        wide = shift + math.copysign(self.on_paper(2 * TEXT_MM), shift)
        for x, y in (start, end):
            self._reach(((x, y), (x + wide * math.cos(left), y + wide * math.sin(left))))
        # words stand between the extension lines, somewhat smaller if they must, else beside them
        wide = text_width(words, self.on_paper(TEXT_MM))
        share = min(1.0, math.dist(start, end) / wide)
        fit = {"dimtix": 1, "dimtxt": TEXT_MM * share} if share > SMALLEST_SHARE else {"dimtix": 0}
        if figure_at is not None:
            fit = {"dimtmove": 2}
        self.space.add_linear_dim(
            base=base, p1=start, p2=end, angle=angle, text=words, dimstyle="shelter", location=figure_at,
            override=fit, dxfattribs={"layer": "dimensions"},
        ).render()

    def running(self, start: Point, stops: Sequence[float], away: float, texts: Sequence[str]) -> None:
        """Draw dimensions along x that all begin at `start`, on one line, each with its text at its far end.

        Args:
            start: Where all begin.
            stops: Where each ends, rising.
            away: Distance of their line above `start` [mm on paper]; negative for below.
            texts: Text for each, "<>" for the measured mm.
        """
        if not self.words:
            return
        base = (start[0], start[1] + self.on_paper(away))
        over = self.on_paper(TEXT_MM * 0.5 + 0.8)
        before = start[0]
        for stop, words in zip(stops, texts, strict=True):
            shown = f"{stop - start[0]:.1f}" if words == "<>" else words
            wide = text_width(shown, self.on_paper(TEXT_MM))
            room = stop - before - self.on_paper(1.0)
            at = stop - self.on_paper(0.8) - wide / 2 if wide < room else stop + self.on_paper(0.8) + wide / 2
            before = stop if wide < room else stop + wide
            self._reach(((start[0], start[1]), (max(stop, at + wide / 2), base[1] + math.copysign(2 * over, away))))
            self.space.add_linear_dim(
                base=base, p1=start, p2=(stop, start[1]), angle=0, text=words, dimstyle="shelter",
                location=(at, base[1] + over), override={"dimtmove": 2}, dxfattribs={"layer": "dimensions"},
            ).render()

    def fitted(self, words: str, height: float, room: float) -> float:
        """Return the height in model space that prints as `height`, or less to fit a width in model space."""
        tall = self.on_paper(height)
        return min(tall, tall * room / text_width(clean(words), tall))

    def clear_place(self, places: Sequence[Point], width: float, height: float) -> Point:
        """Return the first place for a box where no words stand and no line runs, else without words."""

        def box(place: Point) -> Box:
            x, y = place
            return x - width / 2, y - height / 2, x + width / 2, y + height / 2

        unwritten = [place for place in places if self.free(box(place))]
        clear = (place for place in unwritten if not self._crossed(box(place)))
        return next(clear, next(iter(unwritten), places[0]))

    def free(self, box: Box) -> bool:
        """Return True when no words stand in the box yet."""
        return not any(
            box[0] < right and left < box[2] and box[1] < upper and lower < box[3]
            for left, lower, right, upper in self.boxes
        )

    def _crossed(self, box: Box) -> bool:
        return any(_runs_through(start, end, box) for start, end in self._lines)

    def finish(self, path: Path) -> Path:
        """Write the file, read it back and compare.

        Raises:
            OutputError: The file cannot be written.
            VerifyError: The file read back is not what was drawn.
        """
        if self.words:
            define_title(self.document, self.sort_of_paper)
            for name, title, window in self._pages or [("page", self.title, self.reach_since(0))]:
                self._print_page(name, title, window)
        left, lower, right, upper = self.reach_since(0)
        low, high = (left, lower, 0.0), (right, upper, 0.0)
        self.space.reset_extents(low, high)
        self.document.header["$EXTMIN"], self.document.header["$EXTMAX"] = low, high
        middle = ((low[0] + high[0]) / 2, (low[1] + high[1]) / 2)
        self.document.set_modelspace_vport(1.05 * max(high[1] - low[1], high[0] - low[0]), middle)
        # ezdxf adds the classes in use in the order of a set, which changes from run to run
        for name in sorted(self.document.entitydb.dxf_types_in_use()):
            self.document.classes.add_class(name)
        with fixed_dates():
            try:
                self.document.saveas(path, encoding="utf-8")
            except OSError as error:
                words = (error.strerror or str(error)).lower()
                raise OutputError(f"{path.name} cannot be written: {words}", "make room, or write elsewhere") from error
        read_back(path, self.outlines)
        return path

    # --- inside ---------------------------------------------------------------

    def _reach(self, points: Sequence[Point]) -> None:
        self._spans.append(outline_box(points))

    def _tables(self) -> None:
        document = self.document
        document.linetypes.add("dashed", [4.5, 3.0, -1.5], description="narrow dashed __ __ __")
        document.linetypes.add("chain", [12.0, 8.0, -1.5, 1.0, -1.5], description="narrow chain ____ _ ____")
        document.styles.add("words", font="DejaVuSans.ttf").dxf.width = 0.85
        for name, layer in LAYERS.items():
            entry = document.layers.add(
                name, color=layer.colour, lineweight=layer.weight, linetype=layer.linetype
            )
            entry.description = layer.meaning
        document.layers.get("window").dxf.plot = 0
        style = document.dimstyles.duplicate_entry("Standard", "shelter")
        for key, value in {
            "dimscale": float(self.scale), "dimtxt": TEXT_MM, "dimasz": 2.5, "dimexe": 1.25, "dimexo": 1.0,
            "dimgap": 0.8, "dimtad": 1, "dimtih": 0, "dimtoh": 0, "dimdec": 1, "dimzin": 8,
            "dimtxsty": "words", "dimlunit": 2, "dimdsep": ord(decimal("0.0")[1]), "dimtix": 0, "dimtmove": 1,
        }.items():
            style.dxf.set(key, value)

    def _print_page(self, name: str, title: Title, window: Box) -> None:
        width, height = self.paper
        layouts = self.document.layouts
        if "Layout1" in layouts:
            layouts.rename("Layout1", name)
        else:
            layouts.new(name)
        layout = layouts.get(name)
        layout.page_setup(size=(round(width, 2), round(height, 2)), margins=(0, 0, 0, 0), units="mm")
        left, lower, right, upper = MARGIN_LEFT, MARGIN, width - MARGIN, height - MARGIN
        frame = ((left, lower), (right, lower), (right, upper), (left, upper))
        layout.add_lwpolyline(frame, close=True, dxfattribs={"layer": "page frame"})
        place_title(layout, title, self.scale, self.sort_of_paper, right, lower)
        view = (right - left - 2, upper - lower - TITLE_HEIGHT - 2)
        middle = ((window[0] + window[2]) / 2, (window[1] + window[3]) / 2)
        port = layout.add_viewport(
            center=((left + right) / 2, (lower + TITLE_HEIGHT + upper) / 2), size=view,
            view_center_point=middle, view_height=view[1] * self.scale, status=2,
        )
        port.dxf.layer = "window"


def view_room(paper: str) -> Point:
    """Return width and height of what a lying page shows at full size [mm]."""
    long_side, short_side = PAPERS[paper]
    return long_side - MARGIN_LEFT - MARGIN - 2, short_side - 2 * MARGIN - TITLE_HEIGHT - 2


def page_of(paper: str, size: Point, around: tuple[float, float, float, float]) -> tuple[Point, int]:
    """Return width and height of the page and the scale: upright or lying, whichever shows more."""
    long_side, short_side = PAPERS[paper]
    best: tuple[int, Point] | None = None
    for page in ((long_side, short_side), (short_side, long_side)):
        room = (
            page[0] - MARGIN_LEFT - MARGIN - 2 - around[0] - around[2],
            page[1] - 2 * MARGIN - TITLE_HEIGHT - 2 - around[1] - around[3],
        )
        fitting = [scale for scale in SCALES if size[0] <= room[0] * scale and size[1] <= room[1] * scale]
        scale = fitting[0] if fitting else SCALES[-1]
        if best is None or scale < best[0]:
            best = (scale, page)
    assert best is not None
    return best[1], best[0]


def _runs_through(start: Point, end: Point, box: Box) -> bool:
    """Return True when a line passes through the inside of a box (the line clipped to it has a length)."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        low, high, at, way = box[axis], box[axis + 2], start[axis], end[axis] - start[axis]
        if way == 0:
            if not low < at < high:
                return False
            continue
        one, two = sorted(((low - at) / way, (high - at) / way))
        enter, leave = max(enter, one), min(leave, two)
    return enter < leave


def _turned_box(at: Point, width: float, height: float, align: Align, turn: float) -> Box:
    start = {"left": 0.0, "middle": -width / 2, "right": -width}[align]
    cosine, sine = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    corners = [(a, b) for a in (start, start + width) for b in (-height / 2, height / 2)]
    return outline_box([(at[0] + a * cosine - b * sine, at[1] + a * sine + b * cosine) for a, b in corners])
