"""Who lifts what, and how does the body come to stand round the plant?

Masses in kg. One person 25 kg, two 40 kg (both adjustable in the brief).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.brief.model import People
from enclosure.language import tr, tr_n
from enclosure.shape.context import Context
from enclosure.shape.model import Part, Units

MORE_KG = 15.0
"""What each further person adds beyond two; common practice, no source."""
POUND_KG = 0.45359237
WALL_ORDER = ("BACK", "LEFT", "RIGHT", "FRONT")


@dataclass(frozen=True, slots=True)
class Method:
    """How the body comes to stand round the plant, and why."""

    name: str
    reason: str


def hands_for(mass: float, people: People) -> int:
    """Return how many people lift a mass: one up to 25 kg, two up to 40 kg (both adjustable), 15 kg more for each."""
    if mass <= people.lift_one_kg:
        return 1
    if mass <= people.lift_two_kg:
        return 2
    return 2 + math.ceil((mass - people.lift_two_kg) / MORE_KG - 1e-9)


def most_lifted(people: People) -> float:
    """Return what the people available may lift together [kg]."""
    if people.count == 1:
        return people.lift_one_kg
    return people.lift_two_kg + MORE_KG * (people.count - 2)


def choose_method(ctx: Context, parts: tuple[Part, ...]) -> Method:
    """Choose between sliding the three-sided body round the plant and raising frame by frame."""
    body = math.fsum(p.mass_kg for p in parts if in_body(p))
    most = most_lifted(ctx.brief.people)
    levels = max(p.level for p in parts)
    count = ctx.brief.people.count
    people = tr_n("one person", "{count} people", count).format(count=count)
    units = ctx.brief.papers.units
    masses = {"mass": whole_mass(body, units), "most": whole_mass(most, units), "people": people}
    if levels > 1:
        said = tr("the shelter has {count} frame tiers, so it goes up one frame at a time")
        return Method("frame by frame", said.format(count=levels))
    if body > most:
        said = tr("the three-sided body weighs {mass}; {people} should lift no more than {most}")
        return Method("frame by frame", said.format(**masses))
    said = tr("the three-sided body weighs {mass}, within the {most} that {people} should lift")
    return Method("slide", said.format(**masses))


def whole_mass(kg: float, units: Units) -> str:
    """Return a mass to the whole kg or lb."""
    return f"{kg / POUND_KG:.0f} lb" if units == "inch" else f"{kg:.0f} kg"


def in_body(part: Part) -> bool:
    """True for what is bolted together before the body is slid: frames, fixed track, film, no front infill."""
    frame = part.kind in ("member", "gusset", "diagonal", "track", "batten", "film")
    return frame and part.level == 1 and part.face in WALL_ORDER and not part.lift_out and not closes(part)


def closes(part: Part) -> bool:
    """Track pieces that go on with their panel: everything level in a bay but its foot channel, and sashes."""
    return part.kind == "track" and (part.tier > 0 or part.vent)
