"""Which DXF files does a shelter come with?

``sheet-NN.dxf``, one for each cutting pattern; ``panel-NN.dxf``, one for each panel;
``elevations.dxf``, every frame from outside; ``frame-parts.dxf``, every different stick of
the frames; ``detail-NAME.dxf``, how the parts meet, in full size. All are DXF R2010 in mm with the layers
of `dxf_layers.LAYERS`; each is audited and read back before its path is returned. With
``words=False`` a file holds the cut paths alone, for machines.

Importing this module is cheap: ezdxf is loaded when the first file is drawn.
"""

from __future__ import annotations

from pathlib import Path

from enclosure.nesting.plans import Plans
from enclosure.outputs.dxf_details import draw_details
from enclosure.outputs.dxf_elevations import draw_elevations
from enclosure.outputs.dxf_frame_parts import draw_frame_parts
from enclosure.outputs.dxf_panels import draw_panels
from enclosure.outputs.dxf_sheets import draw_sheets
from enclosure.shape.model import Design
from enclosure.shape.names import in_its_language


@in_its_language
def write_sheets(design: Design, plans: Plans, folder: Path, *, words: bool = True) -> list[Path]:
    """Write one file for each pattern of the sheet plans and return the paths, in order.

    Raises:
        OutputError: A file cannot be written.
        VerifyError: A file read back is not what was drawn.
    """
    return draw_sheets(design, plans, folder, words=words)


@in_its_language
def write_panels(design: Design, folder: Path, *, words: bool = True) -> list[Path]:
    """Write one file for each panel and film, in the order in which they go on; raises as `write_sheets`."""
    return draw_panels(design, folder, words=words)


@in_its_language
def write_elevations(design: Design, folder: Path, *, words: bool = True) -> Path:
    """Write the views of all frames into one file; raises as `write_sheets`."""
    return draw_elevations(design, folder, words=words)


@in_its_language
def write_frame_parts(design: Design, folder: Path, *, words: bool = True) -> Path | None:
    """Write every different stick of the frames into one file, None for a design without any; raises as above."""
    return draw_frame_parts(design, folder, words=words)


@in_its_language
def write_details(design: Design, folder: Path, *, words: bool = True) -> list[Path]:
    """Write one file for each full-size detail; raises as `write_sheets`."""
    return draw_details(design, folder, words=words)
