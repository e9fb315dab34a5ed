"""What must a browser know to draw a shelter and to answer when somebody picks a part?

Plain data for `page_files/viewer.js`: every prism as the design has it (no kernel, no
triangles), what a person wants to know of each part in both unit systems, the steps
of the work, and the plant as a simple shape today and in each winter to come.

Units: mm, world axes of the design.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from enclosure.outputs.colours import colour_of
from enclosure.shape.model import Anchor, Base, Design, Part, Plane, Prism, StickCut
from enclosure.units import format_length, format_mass

SCENE_SCHEMA = 1
_DIGITS = 3


def scene_of(design: Design, sources: Mapping[str, str] | None = None) -> dict[str, Any]:
    """Return the scene of a design, ready for JSON.

    Args:
        design: The shelter.
        sources: For each mark the sheet or stick it is cut from, where a cutting plan is there.
    """
    phases = ("first build", "raising", "take-down")
    return {
        "schema": SCENE_SCHEMA,
        "name": design.name,
        "units": design.units,
        "outside": list(design.outside_mm),
        "clear": list(design.clear_mm),
        "materials": {
            material.key: {"name": material.name, "colour": list(colour_of(material.kind))}
            for material in design.materials
        },
        "outward": {frame.face: _outward(frame.plane) for frame in reversed(design.frames)},
        "parts": [_part(design, part, sources or {}) for part in design.parts if part.solids],
        "steps": {phase: _steps(design, phase) for phase in phases},
        "ring": _ring(design.base, design),
        "posts": [_post(anchor) for anchor in design.anchors],
        "plant": _plant(design),
    }


def _outward(plane: Plane) -> list[float]:
    return [round(share, 6) for share in plane.n]


def _prism(prism: Prism) -> list[float]:
    """Origin, u, v, depth, then the outline: the prism in one flat list."""
    axes = [round(value, 6) + 0.0 for value in (*prism.u, *prism.v)]
    outline = [round(value, _DIGITS) + 0.0 for point in prism.outline for value in point]
    origin = [round(value, _DIGITS) + 0.0 for value in prism.origin]
    return [*origin, *axes, round(prism.depth, _DIGITS), *outline]


def _part(design: Design, part: Part, sources: Mapping[str, str]) -> dict[str, Any]:
    entry: dict[str, Any] = {
        "mark": part.mark,
        "kind": part.kind,
        "role": part.role,
        "face": part.face,
        "address": part.address,
        "material": part.material,
        "size": [_size(part, "metric"), _size(part, "inch")],
        "mass": [format_mass(part.mass_kg, "metric"), format_mass(part.mass_kg, "inch")],
        "solids": [_prism(prism) for prism in part.solids],
    }
    if part.mark in sources:
        entry["from"] = sources[part.mark]
    if part.lift_out:
        entry["note"] = "lifts out to let the plant in"
    elif part.vent:
        entry["note"] = "opens on sunny days"
    return entry


def _size(part: Part, system: Any) -> str:
    cut = part.cut
    if isinstance(cut, StickCut):
        return f"{format_length(cut.length_mm, system)} long"
    wide, high = format_length(cut.width_mm, system), format_length(cut.height_mm, system)
    return f"{wide} wide, {high} high"


def _steps(design: Design, phase: str) -> list[dict[str, Any]]:
    return [
        {
            "title": step.title, "text": step.text, "parts": list(step.parts), "people": step.people,
            "mass": [format_mass(step.mass_kg, "metric"), format_mass(step.mass_kg, "inch")] if step.mass_kg else None,
            "minutes": step.minutes, "tools": list(step.tools), "cautions": list(step.cautions),
        }
        for step in design.steps
        if step.phase == phase
    ]  # fmt: skip


def _ring(base: Base, design: Design) -> dict[str, float] | None:
    if base.brick_mm[2] <= 0:
        return None
    wide, deep = design.outside_mm[0], design.outside_mm[1]
    return {
        "x": (wide - base.ring_length_mm) / 2, "y": (deep - base.ring_width_mm) / 2, "length": base.ring_length_mm,
        "width": base.ring_width_mm, "thick": base.brick_mm[1], "height": base.brick_mm[2],
    }  # fmt: skip


def _post(anchor: Anchor) -> dict[str, Any]:
    """A post or a stake, with the wires from it to the frame."""
    stake = anchor.kind == "stake"
    wires = [[*anchor.frame_mm, height] for height in anchor.tie_heights_mm]
    foot = anchor.ground_mm
    return {
        "mark": anchor.mark,
        "x": anchor.x_mm,
        "y": anchor.y_mm,
        "top": foot + 60.0 if stake else max(anchor.tie_heights_mm, default=0.0) + 150.0,
        "bottom": foot - min(anchor.depth_mm or 350.0, 600.0),
        "wires": wires,
    }


def _plant(design: Design) -> dict[str, Any]:
    """The plant today and in each winter: winter 0 is today, in winter k it has grown k times."""
    plant = design.plant
    soil = -design.base.brick_mm[2] + plant.crown_mm
    sizes = []
    for winter in range(plant.winters + 3):
        high = plant.height_mm + winter * plant.growth_height_mm
        wide = plant.spread_x_mm + winter * plant.growth_spread_mm
        deep = plant.spread_y_mm + winter * plant.growth_spread_mm
        words = [
            " x ".join(format_length(side, system) for side in (wide, deep, high)) for system in ("metric", "inch")
        ]
        sizes.append({"size": [wide, deep, high], "words": words})
    return {
        "name": plant.name, "x": design.outside_mm[0] / 2, "y": design.outside_mm[1] / 2, "z": soil,
        "winters": plant.winters, "sizes": sizes,
    }  # fmt: skip
