"""Where do the cells of a sheet of labels lie?

Read from a TOML file (templates/labels): geometry only. Cells are counted from
the top left, along each row. Without such a sheet labels go on plain paper with
cut lines, 2 x 3 a page for panels and 3 x 8 for the other parts.

Units: mm on paper; in the file lengths carry their unit.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from enclosure.errors import BriefError
from enclosure.outputs.paper.frame import PAPERS_MM, paper_size
from enclosure.units import in_mm, parse_length

_LENGTHS = ("cell_width", "cell_height", "top", "left", "gap_across", "gap_down", "keep_inside")
_OTHERS = ("name", "paper", "columns", "rows", "source")


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """A sheet of equal cells.

    Args:
        name: In words for people.
        paper: Key of `frame.PAPERS_MM`.
        columns: Cells across, at least 1.
        rows: Cells down, at least 1.
        cell_width_mm: Width of a cell.
        cell_height_mm: Height of a cell.
        top_mm: From the upper edge of the paper to the first cell.
        left_mm: From the left edge of the paper to the first cell.
        gap_across_mm: Between neighbours in a row.
        gap_down_mm: Between rows.
        keep_inside_mm: Nothing is printed nearer to the edge of a cell.
        plain: True for plain paper that is cut along lines.
    """

    name: str
    paper: str
    columns: int
    rows: int
    cell_width_mm: float
    cell_height_mm: float
    top_mm: float
    left_mm: float
    gap_across_mm: float = 0.0
    gap_down_mm: float = 0.0
    keep_inside_mm: float = 2.0
    plain: bool = False

    @property
    def cells(self) -> int:
        """Return how many labels fit on one sheet."""
        return self.columns * self.rows

    def cell(self, index: int) -> tuple[float, float, float, float]:
        """Return left, bottom, right, top of a cell (0 = top left) from the paper's lower left corner."""
        row, column = divmod(index, self.columns)
        left = self.left_mm + column * (self.cell_width_mm + self.gap_across_mm)
        top = paper_size(self.paper)[1] - self.top_mm - row * (self.cell_height_mm + self.gap_down_mm)
        return (left, top - self.cell_height_mm, left + self.cell_width_mm, top)


def plain_sheet(paper: str, columns: int, rows: int) -> LabelSheet:
    """Return plain paper divided into cells, 10 mm of margin and 18 mm at the foot for the ruler."""
    width, height = paper_size(paper)
    return LabelSheet(
        f"plain {paper}, {columns} across, {rows} down, cut along the lines",
        paper,
        columns,
        rows,
        (width - 20) / columns,
        (height - 28) / rows,
        10.0,
        10.0,
        plain=True,
    )


def read_label_sheet(path: Path) -> LabelSheet:
    """Read a label sheet file.

    Raises:
        BriefError: The file cannot be read, a key is missing or unknown, a value
            cannot be a length or a count, or the cells do not fit on the paper.
    """
    try:
        table = tomllib.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError) as fault:
        raise BriefError(f"the label sheet {path} cannot be read: {fault}", "see templates/labels") from fault
    missing = [key for key in (*_LENGTHS[:4], "name", "paper", "columns", "rows") if key not in table]
    unknown = sorted(set(table) - set(_LENGTHS) - set(_OTHERS))
    if missing or unknown:
        said = f"lacks {', '.join(missing)}" if missing else f"has the unknown key {unknown[0]}"
        raise BriefError(f"the label sheet {path.name} {said}", "see templates/labels")
    sheet = _sheet(path, table)
    width, height = paper_size(sheet.paper)
    left, bottom, right, _ = (*sheet.cell(sheet.cells - 1)[:3], 0.0)
    if left < -0.01 or bottom < -0.01 or right > width + 0.01 or sheet.top_mm > height:
        raise BriefError(
            f"the cells of the label sheet {path.name} reach beyond its paper {sheet.paper}",
            "measure the sheet again",
        )
    return sheet


def _sheet(path: Path, table: Mapping[str, object]) -> LabelSheet:
    lengths = {}
    for key in _LENGTHS:
        value = table.get(key, "2 mm" if key == "keep_inside" else "0 mm")
        if not isinstance(value, str):
            raise BriefError(f"{key} of the label sheet {path.name} has no unit", 'for instance "2.5 mm"')
        lengths[key] = in_mm(parse_length(value))
    counts = {}
    for key in ("columns", "rows"):
        value = table[key]
        if not isinstance(value, int) or isinstance(value, bool) or not 1 <= value <= 50:
            raise BriefError(f"{key} of the label sheet {path.name} is not from 1 to 50", "count again")
        counts[key] = value
    if str(table["paper"]) not in PAPERS_MM:
        hint = f"choose one of {', '.join(PAPERS_MM)}"
        raise BriefError(f"the label sheet {path.name} names no known paper", hint)
    return LabelSheet(
        str(table["name"]),
        str(table["paper"]),
        counts["columns"],
        counts["rows"],
        lengths["cell_width"],
        lengths["cell_height"],
        lengths["top"],
        lengths["left"],
        lengths["gap_across"],
        lengths["gap_down"],
        lengths["keep_inside"],
    )
