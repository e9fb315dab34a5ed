"""Which pictures of the cutting plans lie in the folder?

``sheet-NN.svg``, one for each cutting pattern, numbered as the drawings of the sheets are;
``sticks-NN.svg``, one for each timber and track section. Black and white, text as text.
"""

from __future__ import annotations

from pathlib import Path

from enclosure.errors import OutputError
from enclosure.language import tr
from enclosure.nesting.picture import plan_svg
from enclosure.nesting.plans import Plans
from enclosure.nesting.stick_picture import DrawnStick, sticks_svg
from enclosure.outputs.drawing.sheet_pages import mm, sheet_pages, stick_rows
from enclosure.shape.model import Design
from enclosure.shape.names import in_its_language
from enclosure.units import format_length


@in_its_language
def write_cut_pictures(design: Design, plans: Plans, folder: Path) -> list[Path]:
    """Write all pictures and return their paths.

    Raises:
        OutputError: A file cannot be written.
    """

    def length(units: int) -> str:
        return format_length(mm(units), design.units)

    pictures: dict[str, str] = {}
    for number, page in enumerate(sheet_pages(plans), start=1):
        marks = [", ".join(names) for names in page.marks]
        pictures[f"sheet-{number:02d}.svg"] = plan_svg(
            page.sheets.job,
            page.pattern,
            title=_sheet_title(design.name, number, page.sheets.name, page.copies),
            marks=marks,
            length_text=length,
            flutes=any(m.key == page.sheets.material and m.flutes for m in design.materials),
        )
    for number, sticks in enumerate(plans.stick_jobs, start=1):
        rows = stick_rows(sticks)
        drawn = [
            DrawnStick(
                _stick_words(place, len(rows), row.kind.owned),
                row.kind.length,
                row.pieces,
                row.kind.squaring,
            )
            for place, row in enumerate(rows, start=1)
        ]
        kerf = tr("kerf {kerf:.1f} mm").format(kerf=mm(sticks.job.kerf))
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


def _sheet_title(name: str, number: int, material: str, copies: int) -> str:
    words = tr("{name}: sheet {number}, {material}").format(name=name, number=number, material=material)
    return words if copies == 1 else tr("{title}, {count} sheets cut alike").format(title=words, count=copies)


def _stick_words(number: int, count: int, owned: bool) -> str:
    words = tr("stick {number} of {count}").format(number=number, count=count)
    return tr("{stick}, from the rack").format(stick=words) if owned else words
