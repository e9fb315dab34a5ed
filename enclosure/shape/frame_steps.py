"""How is one frame put together on the flat, and how do track or film come on it?

Members, gussets and diagonal; then bolts that the track will cover; then track
or film. Done once, frame by frame.
"""

from __future__ import annotations

import math

from enclosure.language import tr
from enclosure.shape.hardware import STAPLE_STEP_MM, TRACK_SCREW_END_MM, TRACK_SCREW_STEP_MM
from enclosure.shape.lifting import closes
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Part, Phase, Step
from enclosure.shape.names import all_of
from enclosure.shape.screws import SINK_DEEP_MM, SINK_WIDE_MM
from enclosure.shape.step_writer import StepWriter

BOLT_HOLE_MM = 9.0
PILOT_MM = 3.0


class FrameSteps(StepWriter):
    """Writes the steps of one frame."""

    phase: Phase = "first build"

    def frame(self, face: str, level: int) -> list[Step]:
        """Return the steps of one frame: put together, then its track or film."""
        parts = self.frame_parts(face, level)
        if not parts:
            return []
        name = self.frame_name(face, level)
        key = f"frame-{face}-{level}".lower().replace(" ", "-")
        through = face in ("FRONT", "BACK")
        tools = [tr("drill"), tr("driver"), tr("square"), tr("tape measure")]
        if through:
            tools += [tr("wide drill bit"), tr("adhesive")]
        steps = [
            self.step(
                key,
                tr("Assemble the {frame}").format(frame=name),
                self._joining(face, parts, through=through),
                parts,
                ("cut",),
                tuple(tools),
                40 if through else 30,
                math.fsum(p.mass_kg for p in parts),
            )
        ]
        tracks = [p for p in self.parts if p.face == face and p.level == level and p.kind == "track"]
        films = [p for p in self.parts if p.face == face and p.level == level and p.kind in ("film", "batten")]
        if tracks:
            steps.append(self._track(f"track-{key}", name, key, tracks))
        if films:
            steps.append(self._film(f"film-{key}", name, key, films))
        return steps

    def _joining(self, face: str, parts: list[Part], *, through: bool) -> str:
        """Return how the members of a frame are put together."""
        roles = {p.role for p in parts}
        laid = (
            tr("Lay the members flat as its drawing in the packet shows; make both diagonals alike and drill {pilot} "
               "for every screw.")
            if face.startswith("ROOF")
            else tr("Lay the members flat, outside face down, as in the picture (the drawing in the packet looks at "
                    "the other face); make both diagonals alike and drill {pilot} for every screw.")
        )  # fmt: skip
        said = [laid.format(pilot=self.fine(PILOT_MM))]
        ends = (
            tr("Two long screws through the rail into each end of a rafter.")
            if face.startswith("ROOF")
            else tr("Two long screws through sill and head into each end of an upright; where the head is too thick, "
                    "at a slant from the upright.")
        )  # fmt: skip
        said.append(ends)
        if roles & {"transom", "purlin"}:
            said.append(tr("Two through the upright into each end of a cross bar, at a slant where the next bar is in "
                           "the way."))  # fmt: skip
        said += self._corners(parts)
        if any(p.kind == "diagonal" for p in parts):
            count = self.ctx.brief.frame.brace_screws
            said.append(
                tr("Last the diagonal, on the face that is up, {count} long screws at each end in zigzag.").format(
                    count=count
                )
            )
        if through:
            said.append(
                tr("Turn it over: at each corner bolt of the drawing drill {hole} through the stile, sink {wide} wide "
                   "and {deep} deep from outside, put the bolt in with a washer and bed its head in adhesive; what "
                   "goes over it keeps it there.").format(
                    hole=self.fine(BOLT_HOLE_MM), wide=self.fine(SINK_WIDE_MM), deep=self.fine(SINK_DEEP_MM)
                )
            )  # fmt: skip
        return " ".join(said)

    def _corners(self, parts: list[Part]) -> list[str]:
        """Return what stiffens the corners, and how the lift-out part is held."""
        said = []
        if any(p.kind == "gusset" for p in parts):
            said.append(tr("Gussets over the corners, six screws each where their page in the packet shows; a steel "
                           "angle with four short screws at the other ends of the uprights."))  # fmt: skip
        else:
            said.append(tr("A steel angle with four short screws at each end of an upright."))
        if any(p.lift_out and p.role == "sill" for p in parts):
            said.append(tr("The lift-out sill is not screwed: a bracket on each of its ends, two bolts through the "
                           "stile hold it."))  # fmt: skip
        return said

    def _track(self, key: str, name: str, after: str, tracks: list[Part]) -> Step:
        kept = [p for p in tracks if closes(p) and not p.vent and p.role != "joiner"]
        between = [p for p in tracks if closes(p) and p.role == "joiner"]
        said = [
            tr("Screw the uprights, then the foot channels between them, to the outside face through the flange that "
               "lies on the wood: at most {step} apart, the first {end} from the end.").format(
                step=self.about(TRACK_SCREW_STEP_MM), end=self.about(TRACK_SCREW_END_MM)
            )
        ]  # fmt: skip
        if kept:
            said.append(
                tr("Leave off what closes the panels: {marks}. Drill these through both flanges in the same "
                   "way.").format(marks=", ".join(sorted((p.mark for p in kept), key=sort_key)))
            )  # fmt: skip
        if between:
            said.append(
                tr("Level joiners ({marks}) go on between two panels, screwed through their upper half.").format(
                    marks=", ".join(sorted((p.mark for p in between), key=sort_key))
                )
            )
        sash = [p for p in tracks if p.vent]
        face = tracks[0].face if sash else ""
        for vent in (p for p in self.parts if p.face == face and p.vent and p.kind == "panel"):
            said.append(
                tr("Panel {mark} is the vent: {channels} make a sash round it, a steel angle on the inner face of "
                   "each corner. Hang it by two hinges from the member above it; four turn buttons at its corners "
                   "hold it shut.").format(
                    mark=vent.mark, channels=all_of(sorted((p.mark for p in sash), key=sort_key))
                )
            )  # fmt: skip
        return self.step(
            key,
            tr("Fit the track of the {frame}").format(frame=name),
            " ".join(said),
            tracks,
            (after,),
            (tr("drill"), tr("driver")),
            20,
        )

    def _film(self, key: str, name: str, after: str, films: list[Part]) -> Step:
        two = max(p.layer for p in films) > 1
        said = [
            tr("Turn the frame over. Lay the film on its outside face, turn its edges round the frame and staple it "
               "every {step}; screw a batten over each upright and along foot and top, a screw at most {screw} "
               "apart.").format(step=self.about(STAPLE_STEP_MM), screw=self.about(TRACK_SCREW_STEP_MM))
        ]  # fmt: skip
        if two:
            inner = [p for p in films if p.layer == 1]
            first = [p.mark for p in inner if p.kind == "film"]
            laths = sorted((p.mark for p in inner if p.kind == "batten"), key=sort_key)
            said.append(
                tr("Film {marks} with battens {laths} first, then the outer film with the other battens on top; the "
                   "gap between them keeps the warmth.").format(marks=", ".join(first), laths=", ".join(laths))
            )  # fmt: skip
        return self.step(
            key,
            tr("Fix the film of the {frame}").format(frame=name),
            " ".join(said),
            films,
            (after, "cut-panels"),
            (tr("stapler"), tr("driver"), tr("knife")),
            25,
            0.0,
        )
