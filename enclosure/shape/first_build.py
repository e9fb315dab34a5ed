"""Which steps build the shelter the first time?

Done once: ring and posts, cutting, frames on the flat, track, one dry fit, the
numbers, and the front off again for the plant.
"""

from __future__ import annotations

import math

from enclosure.language import tr, tr_n
from enclosure.shape.frame_steps import BOLT_HOLE_MM, FrameSteps
from enclosure.shape.hardware import BED_LAP_MM
from enclosure.shape.lifting import WALL_ORDER, closes
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Anchor, SheetCut, Step, StickCut
from enclosure.shape.names import all_of
from enclosure.shape.rip import ripped_mm

TIE_HOLE_MM = 6.0
NOTCH_WIDE_MM = 8.0
NOTCH_PAST_MM = 5.0
"""A notch in a panel's edge leaves a track screw this much play; common practice, no source."""


class FirstBuild(FrameSteps):
    """Writes the first build."""

    slides: bool = True
    """Whether the body will be slid round the plant and so stays together when the front is off."""

    def steps(self) -> list[Step]:
        """Return the steps in the order of writing."""
        steps = self._preparing()
        frames: list[str] = []
        tracks: list[str] = []
        for face in (*WALL_ORDER, *self.roofs):
            for level in range(1, self.levels + 1):
                assembled = self.frame(face, level)
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
        return [self._ring(), *self._lining(), self._posts(), self._cut(), self._cut_panels()]

    def _ring(self) -> Step:
        base = self.ctx.brief.base_ring
        said = (
            tr("Take off the turf and tread the soil firm. Lay the bricks as the base plan shows, level along all four "
               "sides and across the corners, and square: both diagonals of the ring alike.")
            if base is not None
            else tr("Take off the turf and tread the soil firm and level where the sills will lie; stretch a string "
                    "round the frame's foot and make both diagonals alike.")
        )  # fmt: skip
        return self.step(
            "ring",
            tr("Level the base ring") if base is not None else tr("Level the ground"),
            said,
            (),
            (),
            (tr("spade"), tr("spirit level"), tr("string line"), tr("rubber mallet")),
            90,
        )

    def _lining(self) -> list[Step]:
        """Return the step that lines the bed, where it is lined."""
        boards = self.pick(face="BASE")
        bed = self.ctx.brief.bed
        if not boards or bed is None:
            return []
        turned = [p.mark for p in boards if abs(p.solids[0].u[0]) > 0.5]
        between = [p.mark for p in boards if p.mark not in turned]
        said = [
            tr("Dig along the inside of the ring, {deep} deep, and stand the boards there on edge, their upper edges "
               "level with the foot of the ring: {through} run through, {between} stand between them.").format(
                deep=self.long(bed.depth_mm), through=all_of(turned), between=all_of(between)
            )
        ]  # fmt: skip
        sheet = "bed_sheet" in self.ctx.stock.hardware
        if sheet:
            said.append(
                tr("Hang the plastic sheet over their inner face, its ends {lap} over each other, its foot turned "
                   "inward.").format(lap=self.about(BED_LAP_MM))
            )  # fmt: skip
        crown = self.ctx.brief.plant.crown_mm
        said.append(
            tr("Fill the soil back and crown it {crown} toward the trunk, so that rain and melt run off.").format(
                crown=self.long(crown)
            )
            if crown
            else tr("Fill the soil back.")
        )
        tools = (tr("spade"), tr("knife"), *((tr("plastic sheet"),) if sheet else ()))
        return [self.step("lining", tr("Line the bed"), " ".join(said), boards, ("ring",), tools, 60)]

    def _posts(self) -> Step:
        return self.step(
            "posts",
            *self._driving(),
            (),
            ("ring",),
            (tr("post driver"), tr("spirit level"), *((tr("sledgehammer"),) if self.stakes else ())),
            10 * len(self.anchors),
            8.0,
            (tr("ask where cables and pipes lie before driving anything into the ground"),),
        )

    def _cut(self) -> Step:
        said = [
            tr("Cut every stick in the order of the packet (At the saw: sticks) and write its mark on it at once, on "
               "the face that will lie outside.")
        ]  # fmt: skip
        ripped = [p.mark for p in self.parts if isinstance(p.cut, StickCut) and p.cut.bevel_deg]
        if ripped:
            said.append(
                tr("Then rip the bevel of {marks} along its whole length; the list beside its frame gives angle and "
                   "height.").format(marks=all_of(sorted(ripped, key=sort_key)))
            )  # fmt: skip
        laths = {key: timber.width_mm for key, timber in self.ctx.stock.timbers.items()}
        narrow = [p.mark for p in self.parts if p.kind == "batten" and ripped_mm(p, laths[p.material])]
        if narrow:
            said.append(
                tr("Rip {marks} to the width that the list beside their frame gives.").format(
                    marks=all_of(sorted(narrow, key=sort_key))
                )
            )
        said.append(tr("Two coats of exterior finish on all timber and on the edges of plywood, before anything is put "
                       "together."))  # fmt: skip
        return self.step(
            "cut",
            tr("Cut timber and track"),
            " ".join(said),
            (),
            (),
            (tr("saw"), tr("square"), tr("tape measure"), tr("pencil"), tr("exterior finish"), tr("brush")),
            180,
            0.0,
            (tr("eye and ear protection; unplug the saw before touching the blade"),),
        )

    def _cut_panels(self) -> Step:
        return self.step(
            "cut-panels",
            tr("Cut the panels"),
            self._cutting(),
            [p for p in self.parts if p.kind in ("panel", "film")],
            (),
            (tr("fine-toothed saw or knife"), tr("straight-edge"), *((tr("tapes"),) if self._fluted() else ())),
            90,
            None,
            (tr("support the sheet on both sides of the cut; gloves for glass and metal edges"),),
        )

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
        if any(isinstance(p.cut, SheetCut) and p.cut.holes for p in self.parts):
            said.append(tr("Drill the holes that the list of panels gives, larger than their screws, so that the sheet "
                           "can move."))  # fmt: skip
        if any(p.kind == "film" for p in self.parts):
            said.append(tr("Cut film on a clean floor with a knife along the straight-edge."))
        if any(p.kind == "gusset" for p in self.parts):
            said.append(tr("Gussets: plywood, to the shapes on their page."))
        return " ".join(said)

    def _dry_fit(self, frames: list[str], tracks: list[str]) -> list[Step]:
        fitted = (*frames, *tracks, "ring", "posts", "cut-panels")
        tried = self._try_panels()
        steps = [
            self._bolt_together(fitted),
            self._roof_on(),
            tried,
            self.step(
                "numbers",
                tr("Write the numbers"),
                tr("Stick on or write each number and address, arrow up, on the outside face; draw one pencil line "
                   "with a number across each joint of two frames, so that both halves find each other."),
                (),
                ("roof-on", *(["try-panels"] if tried else [])),
                (tr("labels"), tr("paint pen")),
                30,
            ),
            self._apart(),
        ]  # fmt: skip
        return [step for step in steps if step is not None]

    def _bolt_together(self, fitted: tuple[str, ...]) -> Step:
        """Return the step in which the bare frames stand on the ring for the first time."""
        said = [
            tr("Stick foam seal under each sill and on the ends of the side frames. Stand the frames on the middle "
               "of the bricks, front and back outside the sides, and clamp the corners flush.")
            if self.ctx.brief.base_ring is not None
            else tr("Stick foam seal under each sill and on the ends of the side frames. Stand the frames in their "
                    "place, front and back outside the sides, and clamp the corners flush.")
        ]  # fmt: skip
        said.append(
            tr("Drill on from the bolts of front and back, {hole}, through the side frame's stile; knock the bolts "
               "through, washer and nut inside.").format(hole=self.fine(BOLT_HOLE_MM))
        )  # fmt: skip
        if self.levels > 1:
            said.append(tr("Set the upper frames on the heads below, drill down through both where the drawing shows "
                           "it, and bolt."))  # fmt: skip
        if self.stakes:
            said.append(
                tr("Drill {hole} from side to side through the corner stiles of front and back at the heights of the "
                   "wires, one under the other, and put in an eye bolt for each wire.").format(
                    hole=self.fine(BOLT_HOLE_MM)
                )
            )  # fmt: skip
        return self.step(
            "bolt-frames",
            tr("Stand the frames and bolt them"),
            " ".join(said),
            [p for p in self.parts if p.face in WALL_ORDER and not (p.kind == "panel" or closes(p))],
            fitted,
            (tr("spanner"), tr("drill"), tr("clamps"), tr("spirit level"), tr("step ladder")),
            60,
            max(math.fsum(p.mass_kg for p in self.frame_parts(face, 1)) for face in WALL_ORDER),
            (tr("do not stand frames or panels in wind"),),
            hands=2,
        )

    def _roof_on(self) -> Step:
        """Return the step in which the roof frame is fitted to the walls."""
        said = []
        ridge = [p.mark for p in self.parts if p.role == "ridge"]
        if ridge:
            said.append(
                tr("Hang the ridge {mark} between the heads of the gables, two steel angles at each end; lean both "
                   "roof frames on it and bolt their top rails to it, three bolts each. The ridge strip goes over the "
                   "joint.").format(mark=ridge[0])
            )  # fmt: skip
        said.append(
            tr("Foam seal on the heads. Lay the roof on: it stands out {out} at the eaves, and alike at both ends. "
               "Beside each rafter, where it crosses a wall, two short screws hold a steel angle on the head; drill "
               "{hole} through its other leg and the rafter, and bolt.").format(
                out=self.long(self.ctx.brief.roof.drip_edge_mm), hole=self.fine(BOLT_HOLE_MM)
            )
        )  # fmt: skip
        parts = [p for p in self.parts if p.face in self.roofs and p.kind in ("member", "track", "film", "batten")]
        return self.step(
            "roof-on",
            tr("Lay the roof on"),
            " ".join(said),
            [p for p in parts if not (closes(p) and p.kind == "track")],
            ("bolt-frames",),
            (tr("spanner"), tr("drill"), tr("driver"), tr("step ladder")),
            40,
            max(math.fsum(p.mass_kg for p in parts if p.face == face) for face in self.roofs),
            (tr("ladder on firm ground; never lean on a panel"),),
            hands=2,
        )

    def _try_panels(self) -> Step | None:
        panels = [p for p in self.parts if p.kind == "panel"]
        if not panels:
            return None
        skins = {p.material: self.ctx.stock.skins[p.material] for p in panels}
        said = []
        if any(skin.fixing == "track" for skin in skins.values()):
            said.append(
                tr("Lift the roof off again; its panels are put in on the ground. Let each panel down between its "
                   "uprights, put its top piece on and mark the panel through the piece's holes; take it out and notch "
                   "its top edge {wide} wide to {past} below each mark. The screws of the top piece go through the "
                   "notches into the frame and do not touch the panel.").format(
                    wide=self.fine(NOTCH_WIDE_MM), past=self.fine(NOTCH_PAST_MM)
                )
            )  # fmt: skip
        if any(isinstance(p.cut, SheetCut) and p.cut.holes for p in panels):
            said.append(tr("A button fixing through each hole into the cross bar, tight enough to touch, not to "
                           "clamp."))  # fmt: skip
        if any(skin.fixing == "washers" for skin in skins.values()):
            said.append(tr("Hold boards against the frame and screw them on with wide washers."))
        if any(skin.kind == "glass" for skin in skins.values()):
            said.append(tr("A pane stands on two setting blocks, a quarter of its width from each side; no notch in "
                           "glass: its top piece is held by the joiners beside it and by the roof."))  # fmt: skip
        faces = {post.tied_to for post in self.posts}
        if any(p.face in faces for p in panels):
            said.append(tr("At each wire tie drill two holes of {hole} through the panel, one on either side of the "
                           "upright and clear of the track.").format(hole=self.fine(TIE_HOLE_MM)))  # fmt: skip
        if any(skin.kind in ("multiwall", "acrylic") for skin in skins.values()):
            said.append(tr("Peel off the protective film when all fit."))
        return self.step(
            "try-panels",
            tr("Try every panel in its place"),
            " ".join(said),
            [p for p in self.parts if p.face in WALL_ORDER and (p.kind == "panel" or closes(p))],
            ("bolt-frames", "roof-on"),
            (tr("driver"), tr("knife"), tr("pencil"), tr("step ladder")),
            10 * len(panels),
            max(p.mass_kg for p in panels),
            hands=2,
            cautions=(tr("a panel is a sail: not in more than a light breeze"),),
        )

    def _apart(self) -> Step:
        return self.step(
            "apart",
            tr("Take the front off"),
            tr("Undo roof and panels in reverse, lift out the front sill; the shelter is ready for the plant.")
            if self.slides
            else tr("Undo roof, panels and frames in reverse; the shelter is ready for the plant."),
            (),
            ("numbers",),
            (tr("spanner"), tr("driver")),
            30,
            hands=2,
        )
