"""Which steps build the shelter the first time?

Done once: ring and posts, cutting, frames on the flat, track, one dry fit, the
numbers, and the front off again for the plant.
"""

from __future__ import annotations

import math

from enclosure.language import tr, tr_n
from enclosure.shape.hardware import STAPLE_STEP_MM, TRACK_SCREW_END_MM, TRACK_SCREW_STEP_MM
from enclosure.shape.lifting import WALL_ORDER
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Anchor, Part, Phase, Step
from enclosure.shape.step_writer import StepWriter


class FirstBuild(StepWriter):
    """Writes the first build."""

    phase: Phase = "first build"
    slides: bool = True
    """Whether the body will be slid round the plant and so stays together when the front is off."""

    def steps(self) -> list[Step]:
        """Return the steps in the order of writing."""
        steps = self._preparing()
        frames: list[str] = []
        tracks: list[str] = []
        for face in (*WALL_ORDER, *self.roofs):
            for level in range(1, self.levels + 1):
                assembled = self._frame(face, level)
                steps += assembled
                frames += [step.key for step in assembled[:1]]
                tracks += [step.key for step in assembled[1:]]
        return [*steps, *self._dry_fit(frames, tracks)]

    def _driving(self) -> tuple[str, str]:
        """Return title and text of driving posts and stakes."""
        posts, stakes = len(self.posts), len(self.stakes)
        said = []
        if posts:
            words = tr_n("Drive {count} post where the base plan shows it.", "Drive {count} posts where the base plan "
                         "shows them.", posts)  # fmt: skip
            said.append(words.format(count=posts))
            said += self._depth(self.posts)
        if stakes:
            words = tr_n("Drive {count} stake where the plan of the stakes shows it, leaning away from the shelter.",
                         "Drive {count} stakes where the plan of the stakes shows them, leaning away from the shelter.",
                         stakes)  # fmt: skip
            said.append(words.format(count=stakes))
            said += self._depth(self.stakes)
        title = tr("Drive the stakes") if not posts else tr("Drive the anchor posts")
        return (tr("Drive posts and stakes") if posts and stakes else title), " ".join(said)

    def _depth(self, anchors: tuple[Anchor, ...]) -> list[str]:
        deepest = max(anchor.depth_mm for anchor in anchors)
        if not deepest:
            return [tr("How deep, the report says.")]
        return [tr("They go {depth} into the ground.").format(depth=self.long(deepest))]

    def _preparing(self) -> list[Step]:
        return [
            self.step(
                "ring",
                tr("Level the base ring"),
                tr("Compact the soil, lay the bricks level and square: both diagonals of the ring alike. Line the bed "
                   "and crown the soil toward the trunk."),
                self.pick(face="BASE"),
                (),
                (tr("spirit level"), tr("string line"), tr("rubber mallet")),
                90,
            ),
            self.step(
                "posts",
                *self._driving(),
                (),
                ("ring",),
                (tr("post driver"), tr("spirit level"), *((tr("sledgehammer"),) if self.stakes else ())),
                10 * len(self.anchors),
                8.0,
                (tr("ask where cables and pipes lie before driving anything into the ground"),),
            ),
            self.step(
                "cut",
                tr("Cut timber and track"),
                tr("Cut every stick in the order of the packet (At the saw: sticks) and write its mark on it at once, "
                   "on the face that will lie outside."),
                (),
                (),
                (tr("saw"), tr("square"), tr("tape measure"), tr("pencil")),
                120,
                0.0,
                (tr("eye and ear protection; unplug the saw before touching the blade"),),
            ),
            self.step(
                "cut-panels",
                tr("Cut the panels"),
                self._cutting(),
                [p for p in self.parts if p.kind in ("panel", "film")],
                (),
                (tr("fine-toothed saw or knife"), tr("straight-edge"), *((tr("tapes"),) if self._fluted() else ())),
                90,
                None,
                (tr("support the sheet on both sides of the cut; gloves for glass and metal edges"),),
            ),
        ]

    def _fluted(self) -> bool:
        return any(p.tape_mm[0] or p.tape_mm[1] for p in self.parts)

    def _cutting(self) -> str:
        """Return how the skins at hand are cut and marked."""
        keys = dict.fromkeys(p.material for p in self.parts if p.kind == "panel")
        skins = [self.ctx.stock.skins[key] for key in keys]
        said = []
        if any(not skin.ordered for skin in skins):
            said.append(tr("Cut the sheets by their numbered cuts, weather face up; mark number, up arrow and OUTSIDE "
                           "FACE on each before its protective film comes off."))  # fmt: skip
        if self._fluted():
            said.append(tr("Blow the flutes clean; solid tape on the top edge, breather tape on the foot."))
        if any(skin.ordered for skin in skins):
            said.append(tr("Panes made to size only get number, up arrow and OUTSIDE FACE."))
        if any(p.kind == "film" for p in self.parts):
            said.append(tr("Cut film on a clean floor with a knife along the straight-edge."))
        return " ".join(said)

    def _frame(self, face: str, level: int) -> list[Step]:
        parts = self.frame_parts(face, level)
        if not parts:
            return []
        name = self.frame_name(face, level)
        key = f"frame-{face}-{level}".lower().replace(" ", "-")
        steps = [
            self.step(
                key,
                tr("Assemble the {frame}").format(frame=name),
                self._joining(parts),
                parts,
                ("cut",),
                (tr("drill"), tr("driver"), tr("square"), tr("tape measure")),
                25,
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

    def _joining(self, parts: list[Part]) -> str:
        """Return how the members of a frame are put together."""
        said = [
            tr("Lay the members flat, outside face down, as the frame's drawing in the packet shows; make both "
               "diagonals alike. Drill every hole first."),
            tr("Two long screws into each end of an upright and of a cross bar."),
        ]  # fmt: skip
        if any(p.lift_out for p in parts):
            said.append(tr("The lift-out sill is not screwed: a bracket and two bolts hold each of its ends."))
        if any(p.kind == "gusset" for p in parts):
            said.append(tr("Gussets over the corners, three screws in each leg; steel angles at the other ends of "
                           "the uprights."))  # fmt: skip
        else:
            said.append(tr("A steel angle at each end of an upright."))
        if any(p.kind == "diagonal" for p in parts):
            count = self.ctx.brief.frame.brace_screws
            said.append(tr("Last the diagonal, {count} screws at each end.").format(count=count))
        return " ".join(said)

    def _track(self, key: str, name: str, after: str, tracks: list[Part]) -> Step:
        said = [
            tr("Screw the uprights and the foot channels to the outside face, a screw every {step}, the first {end} "
               "from the end; keep the level top pieces by, they close each panel.").format(
                step=self.long(TRACK_SCREW_STEP_MM), end=self.long(TRACK_SCREW_END_MM)
            )
        ]  # fmt: skip
        face = tracks[0].face
        for vent in (p for p in self.parts if p.face == face and p.vent and p.kind == "panel"):
            sash = tr("Panel {mark} is the vent: its four channels make a sash; hang it by its hinges from the member "
                      "above it, turn buttons at its foot hold it shut.")  # fmt: skip
            said.append(sash.format(mark=vent.mark))
        return self.step(
            key,
            tr("Fit the track of the {frame}").format(frame=name),
            " ".join(said),
            tracks,
            (after,),
            (tr("drill"), tr("driver")),
            20,
        )  # fmt: skip

    def _film(self, key: str, name: str, after: str, films: list[Part]) -> Step:
        two = max(p.layer for p in films) > 1
        said = [
            tr("Turn the frame over. Lay the film on its outside face, turn its edges round the frame and staple it "
               "every {step}; screw a batten over each upright and along foot and top, a screw every {screw}.").format(
                step=self.long(STAPLE_STEP_MM), screw=self.long(TRACK_SCREW_STEP_MM)
            )
        ]  # fmt: skip
        if two:
            inner = [p for p in films if p.layer == 1 and p.kind == "film"]
            first = ", ".join(sorted((p.mark for p in inner), key=sort_key))
            said.append(tr("Film {marks} with its battens first, then the outer film with the other battens on top; "
                           "the gap between them keeps the warmth.").format(marks=first))  # fmt: skip
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

    def _dry_fit(self, frames: list[str], tracks: list[str]) -> list[Step]:
        fitted = (*frames, *tracks, "ring", "posts", "cut-panels")
        return [
            self.step(
                "dry-fit",
                tr("Put it all together once"),
                tr("Stand the frames on the ring, front and back outside the sides; clamp the corners, drill at the "
                   "heights that the drawings of the side frames give, bolt them with a washer under head and nut. "
                   "Lay the roof on, screw a steel angle where each rafter meets a wall and bolt it. Foam seal under "
                   "the sills and in the corners. Then try every panel in its place."),
                (),
                fitted,
                (tr("spanner"), tr("drill"), tr("clamps"), tr("steps")),
                90,
                0.0,
                (tr("do not stand frames or panels in wind"),),
            ),
            self.step(
                "numbers",
                tr("Write the numbers"),
                tr("Stick on or write each number and address, arrow up; draw one pencil line with a number across "
                   "each joint of two frames, so that both halves find each other."),
                (),
                ("dry-fit",),
                (tr("labels"), tr("paint pen")),
                30,
            ),
            self.step(
                "apart",
                tr("Take the front off"),
                tr("Undo roof and panels in reverse, lift out the front sill; the shelter is ready for the plant.")
                if self.slides
                else tr("Undo roof, panels and frames in reverse; the shelter is ready for the plant."),
                (),
                ("numbers",),
                (tr("spanner"),),
                30,
            ),
        ]
