"""Which steps raise the shelter each autumn?

Wrap, heat, body or frames, ties, panels by number, roof, test. A light shelter
is slid round the plant as a three-sided body; a heavy or tall one goes up frame
by frame.
"""

from __future__ import annotations

import math

from enclosure.language import tr, tr_n
from enclosure.shape.hardware import WASHER_STEP_MM
from enclosure.shape.lifting import WALL_ORDER, Method, closes, in_body, most_lifted
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Part, Phase, SheetCut, Step
from enclosure.shape.names import all_of, face_code
from enclosure.shape.step_writer import StepWriter
from enclosure.units import format_temperature


class Raising(StepWriter):
    """Writes the raising, and with each step the words of its take-down."""

    phase: Phase = "raising"

    def steps(self, method: Method) -> list[Step]:
        """Return the steps in the order of writing."""
        steps = [self._wrap(), self._heat(), *self._tent()]
        steps += self._slide() if method.name == "slide" else self._frame_by_frame()
        steps += self._upper_tiers()
        steps += self._panels()
        steps += self._roofs()
        covered = tuple(step.key for step in steps)
        steps.append(self._test(covered))
        return steps

    def _wrap(self) -> Step:
        return self.step(
            "wrap",
            tr("Tie and wrap the plant"),
            tr("Tie the leaves up loosely and wrap them in breathable cloth, dry and on a mild day."),
            (),
            (),
            (tr("soft ties"), tr("frost cloth")),
            20,
            down=(
                tr("Unwrap the plant"),
                tr("Take off the cloth on an overcast day and untie the leaves little by little."),
            ),
        )

    def _heat(self) -> Step:
        heat = self.ctx.brief.heat
        if heat is None or heat.source == "none":
            return self._no_heat()
        said = []
        if heat.watts:
            at = format_temperature(heat.setpoint_degc, self.ctx.brief.papers.units).replace("deg", "\u00b0")
            words = tr("{source}, {watts} W, the thermostat set to {at}.")
            source = tr(heat.source)
            said.append(words.format(source=source[:1].upper() + source[1:], watts=f"{heat.watts:.0f}", at=at))
        said.append(
            tr("Heat source clear of leaves and cloth, lights facing out; thermostat on the coldest side, on a brick "
               "{low} to {high} off the ground.").format(low=self.long(50.0), high=self.long(75.0))
        )  # fmt: skip
        return self.step(
            "heat",
            tr("Set lights, heat and thermostat"),
            " ".join(said),
            (),
            ("wrap",),
            (tr("brick"), tr("outdoor-rated cord")),
            15,
            2.0,
            (
                tr("outdoor-rated cord on a circuit with residual-current protection; nothing hot touches leaf or "
                   "cloth; no flame in a closed shelter"),
            ),
            down=(
                tr("Take out the heat"),
                tr("Switch off, unplug, then take out lights, thermostat and cord; dry and coil them."),
            ),
        )  # fmt: skip

    def _no_heat(self) -> Step:
        """Return the step in place of the heat where the brief has none."""
        return self.step(
            "heat",
            tr("Hang a thermometer"),
            tr("No heat in this shelter: hang a thermometer that keeps its lowest reading in the shade, at the height "
               "of the crown."),
            (),
            ("wrap",),
            (tr("thermometer"),),
            5,
            down=(tr("Take out the thermometer"), tr("Write its lowest reading of the winter down.")),
        )  # fmt: skip

    def _test(self, covered: tuple[str, ...]) -> Step:
        heat = self.ctx.brief.heat
        heated = heat is not None and heat.source != "none"
        return self.step(
            "test",
            tr("Power on, test, look at every seal") if heated else tr("Look at every seal"),
            tr("Turn the thermostat up until the heat comes on, set it back, close gaps with tape or foam, and "
               "check the plug against rain.")
            if heated
            else tr("Look for daylight in every joint; close gaps with tape or foam."),
            (),
            covered,
            (tr("thermometer"),) if heated else (tr("tape"),),
            15,
            down=(tr("Switch off the power"), tr("Unplug the supply before anything is touched."))
            if heated
            else (tr("Open the shelter"), tr("Open it on an overcast day, so that the plant gets used to the air.")),
        )  # fmt: skip

    def _tent(self) -> list[Step]:
        """Return the step that hangs the tent, where the brief has one."""
        heat = self.ctx.brief.heat
        if heat is None or not heat.tent:
            return []
        return [
            self.step(
                "tent",
                tr("Hang the frost-cloth tent"),
                tr("Three canes round the plant, tied together above it; drape the cloth over them down to the ground, "
                   "clear of the heat, and weight its foot with bricks. Heat and thermostat are inside it."),
                (),
                ("heat",),
                (tr("frost cloth"), tr("canes"), tr("clothes pegs"), tr("brick")),
                15,
                down=(tr("Take down the tent"), tr("Let the cloth dry before it is folded.")),
            )
        ]  # fmt: skip

    def _ready(self) -> str:
        """Return the key of the last step before anything of the shelter stands."""
        heat = self.ctx.brief.heat
        return "tent" if heat is not None and heat.tent else "heat"

    def _slide(self) -> list[Step]:
        body = [p for p in self.parts if in_body(p)]
        front = [p for p in self.parts if p.face == "FRONT" and p.level == 1 and p.lift_out]
        mass = math.fsum(p.mass_kg for p in body)
        loose = math.fsum(p.mass_kg for p in front)
        return [
            self.step(
                "body",
                tr("Slide the three-sided body round the plant"),
                tr("Bolt the frames together on open ground with the front sill out, then slide the body over the ring "
                   "from behind, open side first.") + self._behind(),
                body,
                (self._ready(),),
                (tr("spanner"), tr("step ladder")),
                20,
                mass,
                (tr("not in wind"),),
                hands=2,
                down=(
                    tr("Slide the body away"),
                    tr("With the front open, slide the three-sided body off the plant and lay the frames apart."),
                ),
            ),
            self.step(
                "front-sill",
                tr("Bolt the front sill back"),
                self._insert(front),
                front,
                ("body",),
                (tr("spanner"), tr("driver")),
                12,
                loose,
                hands=2,
                down=(
                    tr("Open the front"),
                    tr("Undo the bolts of the sill and the screws into head and stiles, and lift the sill out in one "
                       "piece with all that stands on it."),
                ),
            ),
            self._anchor(("front-sill",)),
        ]  # fmt: skip

    def _insert(self, front: list[Part]) -> str:
        """Return how the sill and what stands on it go back into the front frame."""
        roles = {p.role for p in front}
        said = [tr("Set the sill in between the stiles with all that stands on it; two bolts through each stile into "
                   "its bracket.")]  # fmt: skip
        tops = [tr("the head into each mullion")] if "mullion" in roles else []
        tops += [tr("the stile into each cross bar")] if "transom" in roles else []
        if tops:
            said.append(tr("Then two long screws through {places}.").format(places=all_of(tops)))
        if "diagonal" in roles:
            count = self.ctx.brief.frame.brace_screws
            said.append(tr("{count} long screws hold the diagonal on the head.").format(count=count))
        return " ".join(said)

    def _behind(self) -> str:
        """Return what posts behind the shelter mean for sliding it in from there."""
        marks = [post.mark for post in self.posts if post.tied_to == "BACK"]
        if not marks:
            return ""
        return " " + tr("Posts behind it ({marks}) go in only when it stands.").format(marks=", ".join(marks))

    def _anchor(self, after: tuple[str, ...]) -> Step:
        return self.step(
            "anchor",
            tr("Tie it to the posts") if self.posts else tr("Hang the slanting wires"),
            self._tying(),
            (),
            after,
            (
                tr("pliers"),
                *((tr("tie wire"),) if self.posts else ()),
                *((tr("spanner"), tr("wire cutters")) if self.stakes else ()),
            ),
            5 + 3 * len(self.anchors),
            0.0,
            (tr("flag wires at eye and ankle height"),),
            down=(
                tr("Undo ties and wires"),
                tr("Hold the frame while the last tie or wire is undone; leave posts and stakes or pull them."),
            ),
        )

    def _tying(self) -> str:
        """Return how the posts are tied and the slanting wires hung."""
        words = []
        if self.posts:
            heights = sorted({height for post in self.posts for height in post.tie_heights_mm})
            most = max(len(post.tie_heights_mm) for post in self.posts)
            said = tr_n(
                "One wire tie on each post, {heights} above the ring, twisted tight round post and frame.",
                "{count} wire ties on each post, {heights} above the ring, twisted tight round post and frame.",
                most,
            )
            words.append(said.format(count=most, heights=all_of([self.long(height) for height in heights])))
            if any(p.kind == "film" and p.face == post.tied_to for p in self.parts for post in self.posts):
                words.append(tr("Where film covers the frame, prick the wire through it and tape round the holes."))
        if self.stakes:
            words.append(
                tr("A slanting wire from each stake to the eye in the frame's corner: a turnbuckle at the stake, each "
                   "end looped back and held by two grips. Tighten opposite wires turn by turn, so that the frame "
                   "stays plumb.")
            )  # fmt: skip
        return " ".join(words)

    def _frame_by_frame(self) -> list[Step]:
        steps = []
        before: tuple[str, ...] = (self._ready(),)
        for face in WALL_ORDER:
            parts = [
                p for p in self.parts if p.face == face and p.level == 1 and p.kind != "panel" and not closes(p)
            ]
            first = face == "BACK"
            key = f"stand-{face.lower()}"
            prop = tr("Stand it on the ring and hold it plumb; it needs a prop until the next frame is bolted to it.")
            bolt = tr("Stand it on the ring and hold it plumb while it is bolted in each corner.")
            lean = tr("Nothing holds it once the others are gone: hold it, then lay it down.")
            undo = tr("Hold it, undo its corner bolts and lay it down.")
            gust = (tr("a standing frame falls in a gust: keep hold of it until it is bolted"),)
            steps.append(
                self.step(
                    key,
                    tr("Stand the {face} frame").format(face=face_code(face)),
                    prop if first else bolt,
                    parts,
                    before,
                    (tr("spanner"), tr("spirit level"), tr("prop")),
                    10,
                    math.fsum(p.mass_kg for p in parts),
                    hands=2,
                    cautions=gust if first else (),
                    down=(tr("Take down the {face} frame").format(face=face_code(face)), lean if first else undo),
                )
            )
            before = (key,)
        steps.append(self._anchor(before))
        return steps

    def _upper_tiers(self) -> list[Step]:
        steps = []
        for level in range(2, self.levels + 1):
            before = tuple(f"panels-{face.lower()}-{level - 1}" for face in WALL_ORDER)
            for face in WALL_ORDER:
                parts = [
                    p for p in self.parts if p.face == face and p.level == level and p.kind != "panel" and not closes(p)
                ]
                key = f"stand-{face.lower()}-{level}"
                name = self.frame_name(face, level)
                steps.append(
                    self.step(
                        key,
                        tr("Lift up the {frame}").format(frame=name),
                        tr("Set it on the head below and bolt it down through the sill, then in the corners."),
                        parts,
                        before,
                        (tr("spanner"), tr("step ladder")),
                        12,
                        math.fsum(p.mass_kg for p in parts),
                        (tr("work from a standing platform, nobody below"),),
                        hands=2,
                        down=(
                            tr("Lift down the {frame}").format(frame=name),
                            tr("Undo its corner bolts, then those through its sill, and hand it down."),
                        ),
                    )
                )
                before = (key,)
        return steps

    def _panels(self) -> list[Step]:
        steps = []
        last = "anchor"
        for level in range(1, self.levels + 1):
            for face in WALL_ORDER:
                stands = ("anchor",) if level == 1 else ("anchor", f"stand-front-{level}")
                step = self._panels_of(face, level, (*stands, last))
                steps.append(step)
                last = step.key
        return steps

    def _panels_of(self, face: str, level: int, after: tuple[str, ...]) -> Step:
        panels = [p for p in self.parts if p.face == face and p.level == level and p.kind == "panel"]
        closing = [p for p in self.parts if p.face == face and p.level == level and closes(p)]
        name = face_code(face)
        if self.levels > 1:
            name = tr("{face}, tier {tier}").format(face=name, tier=level)
        windy = bool(panels) and face == "BACK" and level == 1
        text, down = self._holding(panels)
        if panels and level == 1 and any(post.tied_to == face for post in self.posts):
            text += " " + tr("Past the ties: undo one post at a time, put the panel on, thread the wire out through "
                             "the panel's two holes and twist it again.")  # fmt: skip
        return self.step(
            f"panels-{face.lower()}-{level}",
            (tr("Panels of the {face}") if panels else tr("Film of the {face}")).format(face=name),
            text,
            panels + closing,
            after,
            ((tr("driver"), tr("step ladder")) if panels else (tr("clear tape"),)),
            4 + 4 * len(panels),
            max((p.mass_kg for p in panels), default=0.0),
            hands=2 if panels else 1,
            cautions=(tr("a panel is a sail: not in more than a light breeze"),) if windy else (),
            down=(
                (tr("Take off the panels of the {face}") if panels else tr("Look over the film of the {face}")).format(
                    face=name
                ),
                down,
            ),
        )

    def _holding(self, panels: list[Part]) -> tuple[str, str]:
        """Return how these panels are put up and taken off, after the way in which they are held."""
        if not panels:
            return (
                tr("Its film came with the frame; look it over for tears and tape them."),
                tr("Its film stays on the frame; wipe it dry and mark tears for mending."),
            )
        numbers = ", ".join(sorted((p.mark for p in panels), key=sort_key))
        if all(self.ctx.stock.skins[p.material].fixing == "washers" for p in panels):
            return (
                tr("By number: {numbers}. Arrow up, OUTSIDE FACE out; hold each against the frame and screw it on with "
                   "wide washers, one every {step} round its edge.").format(
                    numbers=numbers, step=self.long(WASHER_STEP_MM)
                ),
                tr("Undo the wide washers, the top ones last; screws and washers into their bag."),
            )  # fmt: skip
        return (
            tr("By number: {numbers}. Arrow up, OUTSIDE FACE out. From a ladder, lift each over the head, let it down "
               "between its uprights into the foot channel and close it with its top piece, the screws through the "
               "notches.").format(numbers=numbers) + self._vents(panels) + self._buttons(panels),
            tr("Undo the top pieces, lift each panel out of its slots, the last number first; screws into their bag."),
        )  # fmt: skip

    def _vents(self, panels: list[Part]) -> str:
        vents = [p.mark for p in panels if p.vent]
        if not vents:
            return ""
        return " " + tr("Panel {mark} is the vent: hang its sash by the hinges.").format(mark=", ".join(vents))

    def _buttons(self, panels: list[Part]) -> str:
        if not any(isinstance(p.cut, SheetCut) and p.cut.holes for p in panels):
            return ""
        return " " + tr("Button fixings into the cross bars.")

    def _roofs(self) -> list[Step]:
        steps = []
        walls = tuple(f"panels-{face.lower()}-{self.levels}" for face in WALL_ORDER)
        for face in self.roofs:
            frame = [p for p in self.parts if p.face == face and p.kind != "panel" and not closes(p)]
            panels = [p for p in self.parts if p.face == face and (p.kind == "panel" or closes(p))]
            whole = math.fsum(p.mass_kg for p in frame + panels)
            light = whole <= most_lifted(self.people)
            steps.append(self._roof(face, frame + panels if light else frame, walls, whole=light))
            if not light:
                steps.append(self._roof_panels(face, panels, steps[-1].key))
            walls = (*walls, face.lower().replace(" ", "-"))
        return steps

    def _roof(self, face: str, parts: list[Part], walls: tuple[str, ...], *, whole: bool) -> Step:
        name = face_code(face)
        return self.step(
            face.lower().replace(" ", "-"),
            (tr("Lift the {face} on whole") if whole else tr("Lift the bare {face} frame on")).format(face=name),
            self._over(face, whole=whole),
            parts,
            walls,
            (tr("spanner"), tr("step ladder")),
            15,
            math.fsum(p.mass_kg for p in parts),
            (tr("ladder on firm ground; never lean on a panel"),),
            hands=2,
            down=(
                tr("Lift the {face} off").format(face=name),
                tr("Undo the bolts of the angles and lift it off over the high side."),
            ),
        )

    def _over(self, face: str, *, whole: bool) -> str:
        """Return how a roof frame goes on."""
        said = [
            tr("With its skin on, which is put in on the ground, over the high side first; bolt each rafter to its "
               "angle.")
            if whole
            else tr("Over the high side first; bolt each rafter to its angle.")
        ]  # fmt: skip
        ridge = [p.mark for p in self.parts if p.role == "ridge"]
        if ridge and face == self.roofs[0]:
            said.insert(0, tr("First the ridge {mark} into its angles between the gables.").format(mark=ridge[0]))
        if ridge:
            said.append(tr("Bolt its top rail to the ridge."))
        if ridge and face == self.roofs[-1]:
            said.append(tr("Ridge strip over the joint."))
        return " ".join(said)

    def _roof_panels(self, face: str, panels: list[Part], frame: str) -> Step:
        name = face_code(face)
        return self.step(
            f"{frame}-panels",
            tr("Panels of the {face}").format(face=name),
            tr("By number, from the low edge up: slide each down between its rafters from the high edge, then the top "
               "pieces, the screws through the notches."),
            panels,
            (frame,),
            (tr("driver"), tr("step ladder")),
            20,
            max((p.mass_kg for p in panels), default=0.0),
            hands=2,
            down=(
                tr("Take off the panels of the {face}").format(face=name),
                tr("Undo the top pieces and hand the panels down, the highest first; screws into their bag."),
            ),
        )
