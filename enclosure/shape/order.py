"""In what order is the shelter built, raised, taken down and stowed?

The steps are the nodes of a directed graph: each names what must stand before
it. The printed order is a topological sort in which ties keep the order of
writing. The take-down is the raising reversed, edge by edge.

Minutes are rough guides; common practice, no source.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from graphlib import CycleError, TopologicalSorter

from enclosure.brief.model import People
from enclosure.errors import DesignError
from enclosure.shape.context import Context
from enclosure.shape.marks import sort_key
from enclosure.shape.model import Anchor, Part, Step

THREE_LIFT_KG = 20.0
"""What each of three or more people carries; common practice, no source."""
WALL_ORDER = ("BACK", "LEFT", "RIGHT", "FRONT")


@dataclass(frozen=True, slots=True)
class Method:
    """How the body comes to stand round the plant, and why."""

    name: str
    reason: str


def hands_for(mass: float, people: People) -> int:
    """Return how many people lift a mass: one up to 25 kg, two up to 40 kg (both adjustable)."""
    if mass <= people.lift_one_kg:
        return 1
    if mass <= people.lift_two_kg:
        return 2
    return max(3, math.ceil(mass / THREE_LIFT_KG))


def most_lifted(people: People) -> float:
    """Return what the people available may lift together [kg]."""
    if people.count == 1:
        return people.lift_one_kg
    return people.lift_two_kg if people.count == 2 else THREE_LIFT_KG * people.count


def choose_method(ctx: Context, parts: tuple[Part, ...]) -> Method:
    """Choose between sliding the three-sided body round the plant and raising frame by frame."""
    body = sum(p.mass_kg for p in parts if _in_body(p))
    most = most_lifted(ctx.brief.people)
    levels = max(p.level for p in parts)
    people = "one person" if ctx.brief.people.count == 1 else f"{ctx.brief.people.count} people"
    if levels > 1:
        return Method("frame by frame", f"the shelter has {levels} frame tiers, so it goes up one frame at a time")
    if body > most:
        return Method(
            "frame by frame",
            f"the three-sided body weighs {body:.0f} kg; {people} should lift no more than {most:.0f} kg",
        )
    return Method(
        "slide",
        f"the three-sided body weighs {body:.0f} kg, within the {most:.0f} kg that {people} should lift",
    )


def _in_body(part: Part) -> bool:
    frame = part.kind in ("member", "gusset", "diagonal", "track", "batten", "film")
    return frame and part.level == 1 and part.face in WALL_ORDER and not part.lift_out and not _closes(part)


def _closes(part: Part) -> bool:
    """Track pieces that go on with their panel: everything level in a bay, and sashes."""
    return part.kind == "track" and (part.tier > 0 or part.vent)


def order_of_work(
    ctx: Context, parts: tuple[Part, ...], posts: tuple[Anchor, ...], method: Method
) -> tuple[Step, ...]:
    """Return every step: first build, raising, take-down, each sorted."""
    builder = _Builder(ctx, parts, posts)
    build = builder.first_build()
    raising = builder.raising(method)
    down = _take_down(raising)
    return (*in_order(build), *in_order(raising), *in_order(down))


def in_order(steps: list[Step]) -> tuple[Step, ...]:
    """Return the steps in topological order; ties keep the order of the list.

    Raises:
        DesignError: The steps wait for each other in a circle.
    """
    index = {step.key: i for i, step in enumerate(steps)}
    sorter: TopologicalSorter[str] = TopologicalSorter(
        {step.key: [key for key in step.after if key in index] for step in steps}
    )
    try:
        sorter.prepare()
    except CycleError as error:
        raise DesignError(f"the order of work goes in a circle: {' - '.join(error.args[1])}") from error
    ready: list[int] = []
    result: list[Step] = []
    while sorter.is_active():
        for key in sorter.get_ready():
            heapq.heappush(ready, index[key])
        step = steps[heapq.heappop(ready)]
        result.append(step)
        sorter.done(step.key)
    return tuple(result)


def _take_down(raising: list[Step]) -> list[Step]:
    """Reverse the raising: what stood before now waits for what stood on it."""
    waits: dict[str, list[str]] = {step.key: [] for step in raising}
    for step in raising:
        for key in step.after:
            if key in waits:
                waits[key].append(f"down-{step.key}")
    steps = []
    for step in reversed(raising):
        title, text = _down_words(step)
        steps.append(
            replace(step, key=f"down-{step.key}", phase="take-down", title=title, text=text,
                    after=tuple(waits[step.key]), minutes=max(2, round(step.minutes * 0.6)))
        )
    last = tuple(step.key for step in steps)
    steps.append(
        Step("clean", "take-down", "Clean and check", "Wash panels with lukewarm water and a drop of neutral soap, "
             "let the flutes dry, replace damaged tape, retighten or replace worn hardware.",
             (), last, ("sponge", "bucket", "tape"), 1, 0.0, 40)
    )
    steps.append(
        Step("stow", "take-down", "Stow by number", "Stack panels flat, dry and shaded, last off on top, the heaviest "
             "at the bottom, battens between, nothing resting on the flutes; bundle frames and track by wall, labels outward.",
             (), ("clean",), ("straps", "battens"), 1, 0.0, 20)
    )
    return steps


def _down_words(step: Step) -> tuple[str, str]:
    words = {
        "wrap": ("Unwrap the plant", "Take off the cloth on an overcast day and untie the leaves little by little."),
        "heat": ("Take out the heat", "Switch off, unplug, then take out lights, thermostat and cord; dry and coil them."),
        "test": ("Switch off the power", "Unplug the supply before anything is touched."),
        "anchor": ("Cut the wire ties", "Hold the frame while the last tie is undone; leave the posts or pull them."),
        "body": ("Slide the body away", "With the front open, slide the three-sided body off the plant and lay the frames apart."),
        "front-sill": ("Open the front", "Undo the bolts and lift out the front sill and what stands on it."),
    }
    if step.key in words:
        return words[step.key]
    return (f"Undo: {step.title[0].lower()}{step.title[1:]}", f"In reverse: {step.text[0].lower()}{step.text[1:]}")


class _Builder:
    """Writes the steps from the parts; kept together because all of them ask for marks and masses."""

    def __init__(self, ctx: Context, parts: tuple[Part, ...], posts: tuple[Anchor, ...]) -> None:
        self.ctx, self.parts, self.posts = ctx, parts, posts
        self.people = ctx.brief.people
        self.levels = max(p.level for p in parts)
        self.roofs = tuple(dict.fromkeys(p.face for p in parts if p.face.startswith("ROOF")))

    def pick(self, **wanted: object) -> list[Part]:
        return [p for p in self.parts if all(getattr(p, key) == value for key, value in wanted.items())]

    def step(
        self, key: str, phase: str, title: str, text: str, parts: Iterable[Part] = (), after: tuple[str, ...] = (),
        tools: tuple[str, ...] = (), minutes: int = 10, lifted: float | None = None, cautions: tuple[str, ...] = (),
    ) -> Step:
        chosen = list(parts)
        heaviest = max((p.mass_kg for p in chosen), default=0.0) if lifted is None else lifted
        marks = tuple(sorted((p.mark for p in chosen), key=sort_key))
        return Step(key, phase, title, text, marks, after, tools, hands_for(heaviest, self.people),  # type: ignore[arg-type]
                    round(heaviest, 1), minutes, cautions)

    def frame_parts(self, face: str, level: int) -> list[Part]:
        kinds = ("member", "gusset", "diagonal")
        return [p for p in self.parts if p.face == face and p.level == level and p.kind in kinds]

    def first_build(self) -> list[Step]:
        phase = "first build"
        steps = [
            self.step("ring", phase, "Level the base ring", "Compact the soil, lay the bricks level and square: both "
                      "diagonals of the ring alike. Line the bed and crown the soil toward the trunk.",
                      self.pick(face="BASE"), (), ("spirit level", "string line", "rubber mallet"), 90),
            self.step("posts", phase, "Drive the anchor posts", f"Drive {len(self.posts)} posts where the base plan shows them.",
                      (), ("ring",), ("post driver", "spirit level"), 10 * len(self.posts), 8.0,
                      ("ask where cables and pipes lie before driving anything into the ground",)),
            self.step("cut", phase, "Cut timber and track", "Cut every stick in the order of the cut list and write its mark "
                      "on it at once.", (), (), ("saw", "square", "tape measure", "pencil"), 120, 0.0,
                      ("eye and ear protection; unplug the saw before touching the blade",)),
            self.step("cut-panels", phase, "Cut the panels", "Cut the sheets by their numbered cuts, weather face up; mark "
                      "number, up arrow and OUTSIDE FACE before the film comes off; tape the flute ends.",
                      [p for p in self.parts if p.kind in ("panel", "film")], (),
                      ("fine-toothed saw or knife", "straight-edge", "tapes"), 90, None,
                      ("support the sheet on both sides of the cut; gloves for glass and metal edges",)),
        ]
        frames: list[str] = []
        fitted: list[str] = []
        for face in (*WALL_ORDER, *self.roofs):
            for level in range(1, self.levels + 1):
                parts = self.frame_parts(face, level)
                if not parts:
                    continue
                name = _frame_name(face, level, self.levels)
                key = f"frame-{face}-{level}".lower().replace(" ", "-")
                frames.append(key)
                mass = sum(p.mass_kg for p in parts)
                steps.append(
                    self.step(key, phase, f"Assemble the {name}", "Lay the members flat, make both diagonals alike, then drill, "
                              "screw on angles and gussets, last the diagonal.", parts, ("cut",),
                              ("drill", "driver", "square", "tape measure"), 25, mass)
                )
                tracks = [p for p in self.parts if p.face == face and p.level == level and p.kind == "track"]
                if tracks:
                    fitted.append(f"track-{key}")
                    steps.append(
                        self.step(f"track-{key}", phase, f"Fit the track of the {name}", "Screw the uprights and the foot channels to "
                                  "the outside face; keep the level top pieces by, they close each panel.",
                                  tracks, (key,), ("drill", "driver"), 20)
                    )
        steps += self._dry_fit(frames, fitted)
        return steps

    def _dry_fit(self, frames: list[str], tracks: list[str]) -> list[Step]:
        phase = "first build"
        fitted = (*frames, *tracks, "ring", "posts", "cut-panels")
        return [
            self.step("dry-fit", phase, "Put it all together once", "Stand the frames on the ring, bolt them, and try every panel in "
                      "its place.", (), fitted, ("spanner", "steps"), 90, 0.0,
                      ("do not stand frames or panels in wind",)),
            self.step("numbers", phase, "Write the numbers", "Stick on or write each number and address; match marks across every joint.",
                      (), ("dry-fit",), ("labels", "paint pen"), 30),
            self.step("apart", phase, "Take the front off", "Undo roof and panels in reverse, lift out the front sill; the shelter is ready "
                      "for the plant.", (), ("numbers",), ("spanner",), 30),
        ]

    def raising(self, method: Method) -> list[Step]:
        phase = "raising"
        steps = [
            self.step("wrap", phase, "Tie and wrap the plant", "Tie the leaves up loosely and wrap them in breathable cloth, dry and on a "
                      "mild day.", (), (), ("soft ties", "frost cloth"), 20),
            self.step("heat", phase, "Set lights, heat and thermostat", "Heat source clear of leaves and cloth, lights facing out; thermostat on "
                      "the coldest side, on a brick 50 to 75 mm off the ground.", (), ("wrap",), ("brick", "outdoor-rated cord"), 15, 2.0,
                      ("outdoor-rated cord on a circuit with residual-current protection; nothing hot touches leaf or cloth; no flame in a closed shelter",)),
        ]
        steps += self._slide() if method.name == "slide" else self._frame_by_frame()
        steps += self._upper_tiers()
        steps += self._panels()
        steps += self._roofs()
        covered = tuple(step.key for step in steps)
        steps.append(
            self.step("test", phase, "Power on, test, look at every seal", "Turn the thermostat up until the heat comes on, set it back, close gaps "
                      "with tape or foam, and check the plug against rain.", (), covered, ("thermometer",), 15)
        )
        return steps

    def _slide(self) -> list[Step]:
        body = [p for p in self.parts if _in_body(p)]
        front = [p for p in self.parts if p.face == "FRONT" and p.level == 1 and p.lift_out]
        mass = sum(p.mass_kg for p in body)
        return [
            self.step("body", "raising", "Slide the three-sided body round the plant", "Bolt the frames together on open ground with the front sill out, "
                      "then slide the body over the ring from behind, open side first.", body, ("heat",), ("spanner",), 20, mass,
                      ("not in wind",)),
            self.step("front-sill", "raising", "Bolt the front sill back", "Two bolts each end, then what stands on the sill.", front, ("body",),
                      ("spanner",), 8),
            self._anchor(("front-sill",)),
        ]

    def _anchor(self, after: tuple[str, ...]) -> Step:
        return self.step("anchor", "raising", "Tie it to the posts", "Two wire ties on each post, low and high, twisted tight.", (), after,
                         ("pliers", "tie wire"), 5 + 3 * len(self.posts), 0.0, ("flag wires at eye and ankle height",))

    def _frame_by_frame(self) -> list[Step]:
        steps = []
        before: tuple[str, ...] = ("heat",)
        for face in WALL_ORDER:
            parts = [p for p in self.parts if p.face == face and p.level == 1 and p.kind not in ("panel",) and not _closes(p)]
            mass = sum(p.mass_kg for p in parts)
            key = f"stand-{face.lower()}"
            text = "Stand it on the ring and hold it plumb" + (
                "; it needs a prop until the next frame is bolted to it." if face == "BACK" else " while it is bolted in each corner."
            )
            steps.append(self.step(key, "raising", f"Stand the {face} frame", text, parts, before, ("spanner", "spirit level", "prop"), 10,
                                   mass, ("a standing frame falls in a gust: keep hold of it until it is bolted",) if face == "BACK" else ()))
            before = (key,)
        steps.append(self._anchor(before))
        return steps

    def _upper_tiers(self) -> list[Step]:
        steps = []
        for level in range(2, self.levels + 1):
            before = tuple(f"panels-{face.lower()}-{level - 1}" for face in WALL_ORDER)
            for face in WALL_ORDER:
                parts = [p for p in self.parts if p.face == face and p.level == level and p.kind != "panel" and not _closes(p)]
                mass = sum(p.mass_kg for p in parts)
                key = f"stand-{face.lower()}-{level}"
                steps.append(self.step(key, "raising", f"Lift the {face} frame of tier {level}", "Set it on the head below and bolt it down through the "
                                       "sill, then in the corners.", parts, before, ("spanner", "steps"), 12, mass,
                                       ("work from a standing platform, one person below out of the way",)))
                before = (key,)
        return steps

    def _panels(self) -> list[Step]:
        steps = []
        last = "anchor"
        for level in range(1, self.levels + 1):
            for face in WALL_ORDER:
                panels = [p for p in self.parts if p.face == face and p.level == level and p.kind == "panel"]
                closing = [p for p in self.parts if p.face == face and p.level == level and _closes(p)]
                stands = ("anchor",) if level == 1 else ("anchor", f"stand-front-{level}")
                key = f"panels-{face.lower()}-{level}"
                name = face if self.levels == 1 else f"{face}, tier {level}"
                if panels:
                    numbers = ", ".join(sorted((p.mark for p in panels), key=sort_key))
                    text = f"By number: {numbers}. Arrow up, OUTSIDE FACE out; lower each into its side slots, then close it with its top piece."
                else:
                    text = "Its film came with the frame; look it over for tears and tape them."
                steps.append(self.step(key, "raising", f"Panels of the {name}", text, panels + closing, (*stands, last), ("driver",), 4 + 4 * len(panels),
                                       max((p.mass_kg for p in panels), default=0.0),
                                       ("a panel is a sail: not in more than a light breeze",) if panels and face == "BACK" and level == 1 else ()))
                last = key
        return steps

    def _roofs(self) -> list[Step]:
        steps = []
        walls = tuple(f"panels-{face.lower()}-{self.levels}" for face in WALL_ORDER)
        for face in self.roofs:
            frame = [p for p in self.parts if p.face == face and p.kind not in ("panel",) and not _closes(p)]
            panels = [p for p in self.parts if p.face == face and (p.kind == "panel" or _closes(p))]
            whole = sum(p.mass_kg for p in frame + panels)
            key = face.lower().replace(" ", "-")
            if whole <= most_lifted(self.people):
                steps.append(self.step(key, "raising", f"Lift the {face} on whole", "With its panels in, over the high side first; bolt it to the angles.",
                                       frame + panels, walls, ("spanner", "steps"), 15, whole, ("steps on firm ground; never lean on a panel",)))
            else:
                mass = sum(p.mass_kg for p in frame)
                steps.append(self.step(key, "raising", f"Lift the bare {face} frame on", "Over the high side first; bolt it to the angles.", frame, walls,
                                       ("spanner", "steps"), 15, mass, ("steps on firm ground; never lean on a panel",)))
                heaviest = max((p.mass_kg for p in panels), default=0.0)
                steps.append(self.step(f"{key}-panels", "raising", f"Panels of the {face}", "By number, from the low edge up, then the top pieces.",
                                       panels, (key,), ("driver", "steps"), 20, heaviest))
            walls = (*walls, key)
        return steps


def _frame_name(face: str, level: int, levels: int) -> str:
    return f"{face} frame" if levels == 1 or face.startswith("ROOF") else f"{face} frame of tier {level}"
