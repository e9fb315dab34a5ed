"""Which pictures of the cutting plans lie in the folder?

``sheet-NN.svg``, one for each cutting pattern, numbered as the drawings of the sheets are;
``sticks-NN.svg``, one for each timber and track section. Black and white, text as text.
"""

from __future__ import annotations

from pathlib import Path

from enclosure.errors import OutputError
from enclosure.nesting.picture import plan_svg
from enclosure.nesting.plans import Plans
from enclosure.nesting.stick_picture import DrawnStick, sticks_svg
from enclosure.outputs.drawing.sheet_pages import mm, sheet_pages, stick_rows
from enclosure.shape.model import Design
from enclosure.units import format_length


def write_cut_pictures(design: Design, plans: Plans, folder: Path) -> list[Path]:
    """Write all pictures and return their paths.

    Raises:
        OutputError: A file cannot be written.
    """

    def length(units: int) -> str:
        return format_length(mm(units), design.units)

    pictures: dict[str, str] = {}
    for number, page in enumerate(sheet_pages(plans), start=1):
        every = "" if page.copies == 1 else f", {page.copies} sheets cut alike"
        marks = [", ".join(names) for names in page.marks]
        pictures[f"sheet-{number:02d}.svg"] = plan_svg(
            page.sheets.job,
            page.pattern,
            title=f"{design.name}: sheet {number}, {page.sheets.name}{every}",
            marks=marks,
            length_text=length,
            flutes=any(m.key == page.sheets.material and m.flutes for m in design.materials),
        )
    for number, sticks in enumerate(plans.stick_jobs, start=1):
        rows = stick_rows(sticks)
        drawn = [
            DrawnStick(
                f"stick {place} of {len(rows)}" + (", from the rack" if row.kind.owned else ""),
                row.kind.length,
                row.pieces,
                row.kind.squaring,
            )
            for place, row in enumerate(rows, start=1)
        ]
        kerf = f"kerf {mm(sticks.job.kerf):.1f} mm"
        title = f"{design.name}: {sticks.name}, {kerf}"
        pictures[f"sticks-{number:02d}.svg"] = sticks_svg(title, drawn, length_text=length)
    paths = []
    for name, text in pictures.items():
        path = folder / name
        try:
            path.write_text(text, encoding="utf-8", newline="\n")
        except OSError as error:
            raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
        paths.append(path)
    return paths
