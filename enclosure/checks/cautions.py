"""Which dangers of heat, light and current belong on the papers, each said once?

Short cautions, chosen by what the brief uses. They defer to local codes and to
licensed electricians; nothing here replaces either.
"""

from __future__ import annotations

from enclosure.language import later

FLAME = later(
    "No propane, kerosene or charcoal in a closed shelter: carbon monoxide, fire, and no air left to burn. "
    "A flame needs a combustion-air opening and a carbon monoxide alarm, and this program does not plan "
    "for one."
)
BULBS = later(
    "Bulbs reach 100 to 200 °C: keep them 150 mm from cloth, film, foam and dry fronds, in a guard, fixed "
    "so that they cannot fall; no clip-on heat lamps."
)
HEATER = later(
    "Keep the heater clear of cloth, foam and leaves as its maker says, upright, with tip-over and "
    "overheat cut-outs; it stands outside the cloth tent."
)
CABLE = later("Do not cross, bundle or cut a heating cable, and do not bury it in dry mulch.")
CORD = later(
    "Outdoor-rated cord, uncoiled, joints off the ground with a drip loop, on a circuit with "
    "residual-current (ground-fault) protection. A tripped protector on a cold night kills the plant: put "
    "a temperature alarm on another circuit."
)
CODES = later("Wiring and loads follow the local code; ask a licensed electrician when in doubt.")
DRIP = later(
    "Meltwater runs down the inside: lead it to the edge, away from the crown of the plant and from bulbs and plugs."
)

BY_SOURCE: dict[str, tuple[str, ...]] = {
    "light string": (BULBS,),
    "heating cable": (CABLE,),
    "fan heater": (HEATER,),
    "oil radiator": (HEATER,),
    "none": (),
}


def cautions_for(source: str) -> tuple[str, ...]:
    """Return the cautions for a kind of heat source, in the order in which they are printed."""
    electric = () if source == "none" else (CORD, CODES)
    return (FLAME, *BY_SOURCE.get(source, ()), *electric)
