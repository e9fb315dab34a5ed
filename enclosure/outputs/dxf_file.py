"""Is a DXF file on the disk what was drawn?

The file is audited, read back and every closed outline compared with what was asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from enclosure.errors import VerifyError
from enclosure.outputs.dxf_layers import OUTLINE_LAYERS

Point = tuple[float, float]
READ_BACK_MM = 1e-6


def read_back(path: Path, outlines: Sequence[tuple[str, Sequence[Point]]]) -> None:
    """Read a file from the disk, audit it and compare its closed outlines with what was asked.

    Raises:
        VerifyError: It cannot be read, has faults, or an outline differs by more than 1e-6 mm.
    """
    import ezdxf

    try:
        document = ezdxf.readfile(path)
    except (OSError, ezdxf.DXFError) as error:
        raise VerifyError(f"{path.name} cannot be read back: {error}") from error
    _demand_sound(document, path)
    found: list[tuple[str, tuple[Point, ...]]] = [
        (line.dxf.layer, tuple((x, y) for x, y in line.get_points("xy")))
        for line in document.modelspace().query("LWPOLYLINE")
        if line.closed and line.dxf.layer in OUTLINE_LAYERS
    ]
    if len(found) != len(outlines):
        raise VerifyError(f"{path.name} holds {len(found)} closed outlines; {len(outlines)} were drawn")
    for (layer, wanted), (seen_layer, seen) in zip(outlines, found, strict=True):
        same = layer == seen_layer and len(wanted) == len(seen)
        if not same or any(math.dist(a, b) > READ_BACK_MM for a, b in zip(wanted, seen, strict=True)):
            raise VerifyError(f"{path.name}: an outline on layer '{layer}' reads back other than drawn")


def _demand_sound(document: Any, path: Path) -> None:
    audit = document.audit()
    if audit.errors or audit.fixes:
        faults = [*audit.errors, *audit.fixes]
        raise VerifyError(f"{path.name} has {len(faults)} faults; the first: {faults[0].message}")


@contextmanager
def fixed_dates() -> Iterator[None]:
    """Let ezdxf write a fixed date and fixed ids in place of the clock's and random ones."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before
