"""Which steps build the shelter the first time?

Done once: ring and posts, cutting, frames on the flat, track, one dry fit, the
numbers, and the front off again for the plant.
"""

from __future__ import annotations

from enclosure.shape.lifting import WALL_ORDER
from enclosure.shape.model import Phase, Step
from enclosure.shape.step_writer import StepWriter


class FirstBuild(StepWriter):
    """Writes the first build."""

    phase: Phase = "first build"

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
        if not self.stakes:
            return "Drive the anchor posts", f"Drive {len(self.posts)} posts where the base plan shows them."
        lean = f"{len(self.stakes)} stakes where the base plan shows them, leaning away from the shelter"
        if not self.posts:
            return "Drive the stakes", f"Drive {lean}."
        return "Drive posts and stakes", f"Drive {len(self.posts)} posts and {lean}."

    def _preparing(self) -> list[Step]:
        return [
            self.step(
                "ring",
                "Level the base ring",
                "Compact the soil, lay the bricks level and square: both "
                "diagonals of the ring alike. Line the bed and crown the soil toward the trunk.",
                self.pick(face="BASE"),
                (),
                ("spirit level", "string line", "rubber mallet"),
                90,
            ),
            self.step(
                "posts",
                *self._driving(),
                (),
                ("ring",),
                ("post driver", "spirit level", "sledgehammer") if self.stakes else ("post driver", "spirit level"),
                10 * len(self.anchors),
                8.0,
                ("ask where cables and pipes lie before driving anything into the ground",),
            ),
            self.step(
                "cut",
                "Cut timber and track",
                "Cut every stick in the order of the cut list and write its mark on it at once.",
                (),
                (),
                ("saw", "square", "tape measure", "pencil"),
                120,
                0.0,
                ("eye and ear protection; unplug the saw before touching the blade",),
            ),
            self.step(
                "cut-panels",
                "Cut the panels",
                "Cut the sheets by their numbered cuts, weather face up; mark "
                "number, up arrow and OUTSIDE FACE before the film comes off; tape the flute ends.",
                [p for p in self.parts if p.kind in ("panel", "film")],
                (),
                ("fine-toothed saw or knife", "straight-edge", "tapes"),
                90,
                None,
                ("support the sheet on both sides of the cut; gloves for glass and metal edges",),
            ),
        ]

    def _frame(self, face: str, level: int) -> list[Step]:
        parts = self.frame_parts(face, level)
        if not parts:
            return []
        alone = self.levels == 1 or face.startswith("ROOF")
        name = f"{face} frame" if alone else f"{face} frame of tier {level}"
        key = f"frame-{face}-{level}".lower().replace(" ", "-")
        assemble = self.step(
            key,
            f"Assemble the {name}",
            "Lay the members flat, make both diagonals alike, then drill, screw on angles and gussets, "
            "last the diagonal.",
            parts,
            ("cut",),
            ("drill", "driver", "square", "tape measure"),
            25,
            sum(p.mass_kg for p in parts),
        )
        tracks = [p for p in self.parts if p.face == face and p.level == level and p.kind == "track"]
        if not tracks:
            return [assemble]
        fit = self.step(
            f"track-{key}",
            f"Fit the track of the {name}",
            "Screw the uprights and the foot channels to the outside face; keep the level top pieces by, "
            "they close each panel.",
            tracks,
            (key,),
            ("drill", "driver"),
            20,
        )
        return [assemble, fit]

    def _dry_fit(self, frames: list[str], tracks: list[str]) -> list[Step]:
        fitted = (*frames, *tracks, "ring", "posts", "cut-panels")
        return [
            self.step(
                "dry-fit",
                "Put it all together once",
                "Stand the frames on the ring, bolt them, and try every panel in its place.",
                (),
                fitted,
                ("spanner", "steps"),
                90,
                0.0,
                ("do not stand frames or panels in wind",),
            ),
            self.step(
                "numbers",
                "Write the numbers",
                "Stick on or write each number and address; match marks across every joint.",
                (),
                ("dry-fit",),
                ("labels", "paint pen"),
                30,
            ),
            self.step(
                "apart",
                "Take the front off",
                "Undo roof and panels in reverse, lift out the front sill; the shelter is ready for the plant.",
                (),
                ("numbers",),
                ("spanner",),
                30,
            ),
        ]
