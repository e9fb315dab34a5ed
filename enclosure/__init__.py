"""Winter shelters for tender trees: size, check, cut, label and raise a demountable framed box.

The public names, each imported only when it is first used; ``help(enclosure.build)`` says what each takes and
gives, in which units, what it refuses, and shows it at work:

    read_all(path)                 brief, site and stock of one brief file
    design_from(path)              the same, with the design built from them
    build(brief, site, stock, limits)   a Design: plain numbers in mm, no CAD kernel
    span_limits(brief, site, stock)     how far each skin may span
    cut_everything(design, stock)  verified cutting plans and the buying list
    check(path)                    every check, worst first
    make(path, folder)             all papers and files
    to_json(design), from_json(text)    a design in its exact, versioned file form
    Design, Plans, Check, EnclosureError
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

__version__ = "0.1.0"

_HOMES = {
    "Check": "enclosure.checks.model",
    "Design": "enclosure.shape.model",
    "EnclosureError": "enclosure.errors",
    "Plans": "enclosure.nesting.plans",
    "build": "enclosure.shape.build",
    "check": "enclosure.pipeline.check",
    "cut_everything": "enclosure.nesting.cutting",
    "design_from": "enclosure.pipeline.walk",
    "from_json": "enclosure.shape.serial",
    "make": "enclosure.pipeline.make",
    "read_all": "enclosure.brief.read",
    "span_limits": "enclosure.checks.span",
    "to_json": "enclosure.shape.serial",
}

__all__ = [
    "Check",
    "Design",
    "EnclosureError",
    "Plans",
    "build",
    "check",
    "cut_everything",
    "design_from",
    "from_json",
    "make",
    "read_all",
    "span_limits",
    "to_json",
]

if TYPE_CHECKING:
    from enclosure.brief.read import read_all
    from enclosure.checks.model import Check
    from enclosure.checks.span import span_limits
    from enclosure.errors import EnclosureError
    from enclosure.nesting.cutting import cut_everything
    from enclosure.nesting.plans import Plans
    from enclosure.pipeline.check import check
    from enclosure.pipeline.make import make
    from enclosure.pipeline.walk import design_from
    from enclosure.shape.build import build
    from enclosure.shape.model import Design
    from enclosure.shape.serial import from_json, to_json


def __getattr__(name: str) -> Any:
    if name in _HOMES:
        return getattr(import_module(_HOMES[name]), name)
    raise AttributeError(f"module 'enclosure' has no attribute {name!r}")
