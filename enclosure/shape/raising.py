"""Which steps raise the shelter each autumn?

Wrap, heat, body or frames, ties, panels by number, roof, test. A light shelter
is slid round the plant as a three-sided body; a heavy or tall one goes up frame
by frame.
"""

from __future__ import annotations

from enclosure.shape.lifting import WALL_ORDER, Method, closes, in_body, most_lifted
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Phase, Step
from enclosure.shape.step_writer import StepWriter

TWO_TIES = "Two wire ties on each post, low and high"


class Raising(StepWriter):
    """Writes the raising."""

    phase: Phase = "raising"

    def steps(self, method: Method) -> list[Step]:
        """Return the steps in the order of writing."""
        steps = [
            self.step(
                "wrap",
                "Tie and wrap the plant",
                "Tie the leaves up loosely and wrap them in breathable cloth, dry and on a mild day.",
                (),
                (),
                ("soft ties", "frost cloth"),
                20,
            ),
            self.step(
                "heat",
                "Set lights, heat and thermostat",
                "Heat source clear of leaves and cloth, lights facing out; thermostat on "
                "the coldest side, on a brick 50 to 75 mm off the ground.",
                (),
                ("wrap",),
                ("brick", "outdoor-rated cord"),
                15,
                2.0,
                (
                    "outdoor-rated cord on a circuit with residual-current protection; nothing hot touches leaf or "
                    "cloth; no flame in a closed shelter",
                ),
            ),
        ]
        steps += self._slide() if method.name == "slide" else self._frame_by_frame()
        steps += self._upper_tiers()
        steps += self._panels()
        steps += self._roofs()
        covered = tuple(step.key for step in steps)
        steps.append(
            self.step(
                "test",
                "Power on, test, look at every seal",
                "Turn the thermostat up until the heat comes on, set it back, close gaps "
                "with tape or foam, and check the plug against rain.",
                (),
                covered,
                ("thermometer",),
                15,
            )
        )
        return steps

    def _slide(self) -> list[Step]:
        body = [p for p in self.parts if in_body(p)]
        front = [p for p in self.parts if p.face == "FRONT" and p.level == 1 and p.lift_out]
        mass = sum(p.mass_kg for p in body)
        return [
            self.step(
                "body",
                "Slide the three-sided body round the plant",
                "Bolt the frames together on open ground with the front sill out, "
                f"then slide the body over the ring from behind, open side first.{self._behind()}",
                body,
                ("heat",),
                ("spanner",),
                20,
                mass,
                ("not in wind",),
            ),
            self.step(
                "front-sill",
                "Bolt the front sill back",
                "Two bolts each end, then what stands on the sill.",
                front,
                ("body",),
                ("spanner",),
                8,
            ),
            self._anchor(("front-sill",)),
        ]

    def _behind(self) -> str:
        """Return what posts behind the shelter mean for sliding it in from there."""
        marks = [post.mark for post in self.posts if post.tied_to == "BACK"]
        return f" Posts behind it ({', '.join(marks)}) go in only when it stands." if marks else ""

    def _anchor(self, after: tuple[str, ...]) -> Step:
        return self.step(
            "anchor",
            "Tie it to the posts" if self.posts else "Hang the slanting wires",
            self._tying(),
            (),
            after,
            ("pliers", "tie wire") if not self.stakes else ("pliers", "tie wire", "spanner"),
            5 + 3 * len(self.anchors),
            0.0,
            ("flag wires at eye and ankle height",),
        )

    def _tying(self) -> str:
        """Return how the posts are tied and the slanting wires hung."""
        words = []
        if self.posts:
            low = max(len(post.tie_heights_mm) for post in self.posts) == 1
            words.append(f"{'One wire tie on each post, low' if low else TWO_TIES}, twisted tight.")
        if self.stakes:
            words.append(
                "A slanting wire from each stake to the eye in the corner post; tighten opposite wires "
                "turn by turn, so that the frame stays plumb."
            )
        return " ".join(words)

    def _frame_by_frame(self) -> list[Step]:
        steps = []
        before: tuple[str, ...] = ("heat",)
        for face in WALL_ORDER:
            parts = [
                p for p in self.parts if p.face == face and p.level == 1 and p.kind not in ("panel",) and not closes(p)
            ]
            mass = sum(p.mass_kg for p in parts)
            key = f"stand-{face.lower()}"
            text = "Stand it on the ring and hold it plumb" + (
                "; it needs a prop until the next frame is bolted to it."
                if face == "BACK"
                else " while it is bolted in each corner."
            )
            steps.append(
                self.step(
                    key,
                    f"Stand the {face} frame",
                    text,
                    parts,
                    before,
                    ("spanner", "spirit level", "prop"),
                    10,
                    mass,
                    ("a standing frame falls in a gust: keep hold of it until it is bolted",) if face == "BACK" else (),
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
                mass = sum(p.mass_kg for p in parts)
                key = f"stand-{face.lower()}-{level}"
                steps.append(
                    self.step(
                        key,
                        f"Lift the {face} frame of tier {level}",
                        "Set it on the head below and bolt it down through the sill, then in the corners.",
                        parts,
                        before,
                        ("spanner", "steps"),
                        12,
                        mass,
                        ("work from a standing platform, one person below out of the way",),
                    )
                )
                before = (key,)
        return steps

    def _panels(self) -> list[Step]:
        steps = []
        last = "anchor"
        for level in range(1, self.levels + 1):
            for face in WALL_ORDER:
                panels = [p for p in self.parts if p.face == face and p.level == level and p.kind == "panel"]
                closing = [p for p in self.parts if p.face == face and p.level == level and closes(p)]
                stands = ("anchor",) if level == 1 else ("anchor", f"stand-front-{level}")
                key = f"panels-{face.lower()}-{level}"
                name = face if self.levels == 1 else f"{face}, tier {level}"
                if panels:
                    numbers = ", ".join(sorted((p.mark for p in panels), key=sort_key))
                    text = (
                        f"By number: {numbers}. Arrow up, OUTSIDE FACE out; lower each into its side slots, "
                        "then close it with its top piece."
                    )
                else:
                    text = "Its film came with the frame; look it over for tears and tape them."
                steps.append(
                    self.step(
                        key,
                        f"Panels of the {name}",
                        text,
                        panels + closing,
                        (*stands, last),
                        ("driver",),
                        4 + 4 * len(panels),
                        max((p.mass_kg for p in panels), default=0.0),
                        ("a panel is a sail: not in more than a light breeze",)
                        if panels and face == "BACK" and level == 1
                        else (),
                    )
                )
                last = key
        return steps

    def _roofs(self) -> list[Step]:
        steps = []
        walls = tuple(f"panels-{face.lower()}-{self.levels}" for face in WALL_ORDER)
        for face in self.roofs:
            frame = [p for p in self.parts if p.face == face and p.kind not in ("panel",) and not closes(p)]
            panels = [p for p in self.parts if p.face == face and (p.kind == "panel" or closes(p))]
            whole = sum(p.mass_kg for p in frame + panels)
            key = face.lower().replace(" ", "-")
            if whole <= most_lifted(self.people):
                steps.append(
                    self.step(
                        key,
                        f"Lift the {face} on whole",
                        "With its panels in, over the high side first; bolt it to the angles.",
                        frame + panels,
                        walls,
                        ("spanner", "steps"),
                        15,
                        whole,
                        ("steps on firm ground; never lean on a panel",),
                    )
                )
            else:
                mass = sum(p.mass_kg for p in frame)
                steps.append(
                    self.step(
                        key,
                        f"Lift the bare {face} frame on",
                        "Over the high side first; bolt it to the angles.",
                        frame,
                        walls,
                        ("spanner", "steps"),
                        15,
                        mass,
                        ("steps on firm ground; never lean on a panel",),
                    )
                )
                heaviest = max((p.mass_kg for p in panels), default=0.0)
                steps.append(
                    self.step(
                        f"{key}-panels",
                        f"Panels of the {face}",
                        "By number, from the low edge up, then the top pieces.",
                        panels,
                        (key,),
                        ("driver", "steps"),
                        20,
                        heaviest,
                    )
                )
            walls = (*walls, key)
        return steps
