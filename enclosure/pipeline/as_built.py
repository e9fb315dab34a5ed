"""From a shelter as drawn to the shelter as it was built: measured sizes for its papers and labels.

read_as_built -> shape.build at the measured opening -> reuse.as_built
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

from enclosure.checks.span import span_limits
from enclosure.choose.outgrow import like
from enclosure.errors import BriefError, DesignError
from enclosure.language import spoken
from enclosure.outputs.paper.label_notes import LabelNote
from enclosure.pipeline.walk import Shelter
from enclosure.reuse.as_built import Opening, corrected, differences, post_words, read_as_built, ring_words
from enclosure.shape.build import build
from enclosure.shape.clear_box import ClearBox
from enclosure.shape.model import Design, Part

AS_BUILT = "as-built.toml"


@dataclass(frozen=True, slots=True)
class Built:
    """A shelter with what was measured.

    Args:
        shelter: New parts of it meet the measured opening; its base ring is the measured one.
        notes: By mark, what a label says of a part that came out otherwise than drawn.
        text: The file of corrections, to lie beside the design.
    """

    shelter: Shelter
    notes: Mapping[str, LabelNote]
    text: str


def built_shelter(shelter: Shelter, path: Path) -> Built:
    """Return a shelter as it was built.

    Args:
        shelter: As drawn.
        path: What was measured.

    Raises:
        FaultsError: The file cannot be read.
        BriefError: It names what the shelter does not have, or sizes far from the drawn ones.
    """
    measured = read_as_built(path)
    drawn = shelter.design
    clear = corrected(drawn, measured).clear_mm
    design = drawn if clear == drawn.clear_mm else _at_opening(shelter, clear)
    rest = measured.model_copy(update={"opening": Opening()})
    built = corrected(design, rest)
    with spoken(design.language):
        words = (*ring_words(drawn, built.base), *post_words(design, drawn, measured))
    design = replace(design, base=built.base, warnings=(*design.warnings, *words))
    return Built(replace(shelter, design=design), _notes(design, built), path.read_text(encoding="utf-8"))


def _at_opening(shelter: Shelter, clear: tuple[float, float, float]) -> Design:
    drawn = shelter.design
    more = [after - before for after, before in zip(clear, drawn.clear_mm, strict=True)]
    box = ClearBox(*clear, drawn.side_clearance_mm + min(more[0], more[1]) / 2, drawn.top_clearance_mm + more[2])
    brief, site, stock = shelter.brief, shelter.site, shelter.stock
    try:
        design = build(like(brief, drawn), site, stock, span_limits(brief, site, stock), box=box)
    except DesignError as error:
        raise BriefError(f"no shelter fits the measured opening: {error.message}", "measure again") from error
    if [_place(p) for p in design.parts] != [_place(p) for p in drawn.parts]:
        raise BriefError(
            "at the measured opening the walls divide otherwise, and the numbers would change",
            "measure again, or state the bays in the brief (frame.bays)",
        )
    return design


def _place(part: Part) -> tuple[object, ...]:
    return (part.mark, part.kind, part.role, part.face, part.level, part.bay, part.tier)


def _notes(drawn: Design, built: Design) -> dict[str, LabelNote]:
    with spoken(drawn.language):
        return {mark: LabelNote("", words) for mark, words in differences(drawn, built).items()}


def notes_beside(design: Design, folder: Path) -> dict[str, LabelNote]:
    """Return what labels say of measured parts, from the corrections that lie beside a finished design."""
    path = folder / AS_BUILT
    if not path.is_file():
        return {}
    rest = read_as_built(path).model_copy(update={"opening": Opening()})
    return _notes(design, corrected(design, rest))
