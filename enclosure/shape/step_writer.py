"""How is one step of the work written down?

Shared by the first build and the raising: picks parts, finds the heaviest lift
and the hands it takes. Minutes are rough guides; common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction

from enclosure.language import tr
from enclosure.shape.context import Context
from enclosure.shape.lifting import hands_for
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Anchor, Part, Phase, Step
from enclosure.shape.names import face_code
from enclosure.units import format_length

QUARTER_INCH_MM = 25.4 / 4
FINE_BELOW_MM = 10.0


class StepWriter:
    """Parts, posts and people at hand, and one way to write a step of the phase."""

    phase: Phase

    def __init__(self, ctx: Context, parts: tuple[Part, ...], anchors: tuple[Anchor, ...]) -> None:
        self.ctx, self.parts, self.anchors = ctx, parts, anchors
        self.posts = tuple(a for a in anchors if a.kind == "post")
        self.stakes = tuple(a for a in anchors if a.kind == "stake")
        self.people = ctx.brief.people
        self.levels = max(p.level for p in parts)
        self.roofs = tuple(dict.fromkeys(p.face for p in parts if p.face.startswith("ROOF")))

        self.down: dict[str, tuple[str, str]] = {}
        """Title and text of the take-down of a step, by its key."""

    def long(self, length_mm: float) -> str:
        """Return a length in the units of the papers."""
        return format_length(length_mm, self.ctx.brief.papers.units)

    def about(self, length_mm: float) -> str:
        """Return a length that something may have at most: to the quarter inch, rounded down, or to the mm."""
        if self.ctx.brief.papers.units == "inch":
            return self.long(math.floor(length_mm / QUARTER_INCH_MM) * QUARTER_INCH_MM)
        return self.long(length_mm)

    def fine(self, size_mm: float) -> str:
        """Return the size of a drill or a hole: to the thirty-second of an inch, or to the mm."""
        if self.ctx.brief.papers.units == "inch":
            parts = 32 if size_mm < FINE_BELOW_MM else 16
            size = Fraction(round(size_mm / 25.4 * parts), parts)
            whole, rest = divmod(size, 1)
            return " ".join(str(one) for one in (whole, rest) if one) + " in"
        return self.long(size_mm)

    def frame_name(self, face: str, level: int) -> str:
        """Return what a frame is called in a sentence: BACK frame, BACK frame of tier 2."""
        if self.levels == 1 or face.startswith("ROOF"):
            return tr("{face} frame").format(face=face_code(face))
        return tr("{face} frame of tier {tier}").format(face=face_code(face), tier=level)

    def pick(self, **wanted: object) -> list[Part]:
        """Return the parts whose fields have these values."""
        return [p for p in self.parts if all(getattr(p, key) == value for key, value in wanted.items())]

    def step(
        self,
        key: str,
        title: str,
        text: str,
        parts: Iterable[Part] = (),
        after: tuple[str, ...] = (),
        tools: tuple[str, ...] = (),
        minutes: int = 10,
        lifted: float | None = None,
        cautions: tuple[str, ...] = (),
        down: tuple[str, str] | None = None,
        hands: int = 1,
    ) -> Step:
        """Return a step; the heaviest lift is that of its heaviest part unless told.

        `hands` is how many people it takes beside the lifting (one holds, one drills), where there are so many;
        `down` are title and text of the step that undoes it.
        """
        if down is not None:
            self.down[key] = down
        chosen = list(parts)
        heaviest = max((p.mass_kg for p in chosen), default=0.0) if lifted is None else lifted
        marks = tuple(sorted((p.mark for p in chosen), key=sort_key))
        return Step(
            key,
            self.phase,
            title,
            text,
            marks,
            after,
            tools,
            max(hands_for(heaviest, self.people), min(hands, self.people.count)),
            round(heaviest, 1),
            minutes,
            cautions,
        )

    def frame_parts(self, face: str, level: int) -> list[Part]:
        """Return the timber and bracing of one bare frame."""
        kinds = ("member", "gusset", "diagonal")
        return [p for p in self.parts if p.face == face and p.level == level and p.kind in kinds]
