"""What are faces, roles and other names called on paper, in the language spoken?

Names are keys for the program (`Part.face`, `Part.role`, `Fixing.bag`) and stay as they
are in files for machines; people read them through these functions.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec, TypeVar

from enclosure.language import later, spoken, tr, tr_as
from enclosure.shape.model import Design, Part

FACES = {
    "FRONT": later("front wall"),
    "RIGHT": later("right wall"),
    "BACK": later("back wall"),
    "LEFT": later("left wall"),
    "ROOF": later("roof"),
    "ROOF A": later("roof, slope A"),
    "ROOF B": later("roof, slope B"),
    "BASE": later("base"),
}
"""Faces in the order in which papers list them."""

_CODES = tuple(FACES)
_ROLES = (
    later("sill"), later("head"), later("stile"), later("mullion"), later("transom"), later("rafter"),
    later("purlin"), later("ridge"), later("eaves rail"), later("top rail"), later("edge channel"), later("joiner"),
    later("panel"), later("film"), later("gusset"), later("diagonal"), later("batten"), later("lining board"),
)  # fmt: skip
_KINDS = (later("member"), later("track"), later("lining"))
_BAGS = (
    later("anchors"), later("battens"), later("bed"), later("corner bolts"), later("frame joints"),
    later("gussets and diagonals"), later("lift-out sill"), later("panel fixings"), later("roof ties"),
    later("tape and seal"), later("tier bolts"),
    later("track screws"), later("vent"),
)  # fmt: skip


P = ParamSpec("P")
R = TypeVar("R")


def in_its_language(write: Callable[Concatenate[Design, P], R]) -> Callable[Concatenate[Design, P], R]:
    """Have a writer of papers speak the language of the design that it is given first."""

    @wraps(write)
    def writes(design: Design, /, *rest: P.args, **named: P.kwargs) -> R:
        with spoken(design.language):
            return write(design, *rest, **named)

    return writes


def face_word(face: str) -> str:
    """Return a face in words: back wall."""
    return tr(FACES.get(face, face.lower()))


def face_code(face: str) -> str:
    """Return a face as it stands in an address and on labels: BACK."""
    return tr_as("face", face)


def frame_word(face: str, level: int) -> str:
    """Return which frame of a wall, the lowest without its tier: BACK frame tier 2."""
    code = face_code(face)
    return code if level <= 1 else tr("{face} frame tier {number}").format(face=code, number=level)


def address(part: Part) -> str:
    """Return where a part goes, as its label says it: BACK bay 2 tier 1."""
    words = [face_code(part.face)]
    if part.bay:
        words.append(tr("bay {number}").format(number=part.bay))
    if part.tier:
        words.append(tr("tier {number}").format(number=part.tier))
    elif part.level > 1:
        words.append(tr("frame tier {number}").format(number=part.level))
    if part.layer > 1:
        words.append(tr("outer layer"))
    return " ".join(words)


def all_of(words: list[str]) -> str:
    """Return some words in a row, the last after 'and'."""
    if len(words) < 2:
        return "".join(words)
    return tr("{several} and {last}").format(several=", ".join(words[:-1]), last=words[-1])
