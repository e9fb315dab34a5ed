"""How does a shelter become CAD solids, and do they prove the model?

`write_step` builds each part as a solid of the CAD kernel and writes one STEP
assembly: the shelter, under it one group for each face, under that each part, named by
its mark, with its colour and material. Parts of one shape and material share one solid,
placed many times. `prove` builds the same solids and compares them with the plain
model: volume of each part, box around all, and no two solids sharing space.

The CAD kernel (cadquery) is loaded when a function of this module is called, never on
import. Where it is missing, one line says so and everything else still works.

Units: mm, mm³; densities in the STEP file in g/cm³.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from enclosure.errors import OutputError, VerifyError
from enclosure.outputs.colours import colour_of
from enclosure.outputs.shared_shape import own_axes
from enclosure.outputs.step_text import steady
from enclosure.shape.model import Design, Material, Part, Prism, Vec
from enclosure.shape.solid_math import bounding_box, corners, design_box, part_volume
from enclosure.shape.space import cross

VOLUME_SHARE = 1e-3
BOX_MM = 1e-3
TOUCH_MM = 1e-6
JOINED_MM = 1e-3  # coordinates are kept to 0.0001 mm, so what belongs together may stand this far apart
CLASH_MM3 = 1.0
CLASH_MM = 1e-4


@dataclass(frozen=True, slots=True)
class Proof:
    """What comparing kernel solids with the plain model found.

    Args:
        parts: Number of parts compared.
        volume_mm3: Sum of the volumes of the kernel solids.
        worst_share: Greatest difference of a part's volume, as a share of the model's.
        pairs: Pairs of solids whose boxes overlap, so that the kernel had to look.
        box: Least and greatest corner of the box around all kernel solids.
    """

    parts: int
    volume_mm3: float
    worst_share: float
    pairs: int
    box: tuple[Vec, Vec]


def kernel() -> Any:
    """Return the cadquery module.

    Raises:
        OutputError: It is not installed, or a system library that it needs is missing.
    """
    try:
        import cadquery
    except ImportError as error:
        words = str(error)
        if "libGL" in words or ".so" in words:
            library = re.search(r"lib[\w.+-]+?\.so[.\d]*", words)
            name = library.group() if library else "a system library"
            raise OutputError(
                f"the CAD kernel cannot load {name}",
                "install it, on Debian or Ubuntu with: sudo apt install libgl1",
            ) from error
        raise OutputError(
            "the CAD kernel cadquery is not installed",
            "where your system has it, install it with: pip install cadquery",
        ) from error
    return cadquery


def write_step(design: Design, path: Path) -> Path:
    """Write a design as a STEP assembly and return the path.

    Raises:
        OutputError: There is no CAD kernel, or the file cannot be written.
    """
    cadquery = kernel()
    assembly = _assembly(cadquery, design)
    if not path.parent.is_dir():
        raise OutputError(f"{path} cannot be written: there is no folder {path.parent}")
    with _quiet():
        assembly.export(str(path), exportType="STEP", write_pcurves=False)
    if not path.is_file() or path.stat().st_size == 0:
        raise OutputError(f"{path} cannot be written by the CAD kernel")
    text = path.read_text(encoding="latin-1")
    names = {material.key: material.name for material in design.materials}
    what = {_name(part.mark): _name(f"{part.role}, {names[part.material]}") for part in design.parts}
    path.write_text(steady(text, _name(design.name), what), encoding="latin-1", newline="\n")
    return path


def read_step(path: Path) -> tuple[float, int, tuple[Vec, Vec]]:
    """Return total volume [mm³], number of solids and bounding box of a STEP file.

    Raises:
        OutputError: There is no CAD kernel, or the file cannot be read.
    """
    cadquery = kernel()
    try:
        shape = cadquery.importers.importStep(str(path)).val()
    except Exception as error:  # the kernel raises many sorts, none of them documented
        raise OutputError(f"{path} cannot be read as STEP: {error}") from error
    solids = shape.Solids()
    return sum(solid.Volume() for solid in solids), len(solids), _box(shape)


def check_step(design: Design, path: Path) -> None:
    """Read a STEP file back and compare volume, number of solids and box with the model.

    Raises:
        OutputError: It cannot be read.
        VerifyError: It differs from the model.
    """
    volume, found, box = read_step(path)
    wanted = sum(part_volume(part) for part in design.parts)
    several = {part.mark: own_axes(part)[1] for part in design.parts if len(part.solids) > 1}
    pieces = {prisms: len(_body(kernel(), prisms).Solids()) for prisms in set(several.values())}
    solids = sum(pieces[several[part.mark]] if part.mark in several else len(part.solids) for part in design.parts)
    if found != solids:
        raise VerifyError(f"{path.name} holds {found} solids; the design has {solids}")
    if abs(volume - wanted) > VOLUME_SHARE * wanted:
        raise VerifyError(f"{path.name} holds {volume:.0f} mm³; the design has {wanted:.0f} mm³")
    _compare_box(path.name, box, design)


def prove(design: Design) -> Proof:
    """Build every solid and compare it with the plain model.

    Raises:
        OutputError: There is no CAD kernel.
        VerifyError: A volume differs by more than 0.1 %, the boxes differ by more than 1e-3 mm,
            or two solids share more than 1 mm³, thicker than 1e-4 mm; names the parts.
    """
    cadquery = kernel()
    solids: list[tuple[str, Prism, Any]] = []
    total = worst = 0.0
    for part in design.parts:
        mine = [(part.mark, prism, _solid(cadquery, prism)) for prism in part.solids]
        volume, wanted = sum(solid.Volume() for _, _, solid in mine), part_volume(part)
        share = abs(volume - wanted) / wanted if wanted > 0 else 1.0
        if share > VOLUME_SHARE:
            raise VerifyError(
                f"part {part.mark} has {volume:.0f} mm³ as a solid and {wanted:.0f} mm³ in the model"
            )
        total, worst = total + volume, max(worst, share)
        solids.extend(mine)
    box = _box(cadquery.Compound.makeCompound([solid for _, _, solid in solids]))
    _compare_box("the solid", box, design)
    pairs = list(_overlapping_boxes([prism for _, prism, _ in solids]))
    for one, two in pairs:
        (mark, _, first), (other, _, second) = solids[one], solids[two]
        common = first.intersect(second)
        volume = common.Volume()
        # wide panels that touch may share a sheet of rounding, a millionth of a mm thick
        if volume > CLASH_MM3 and volume > CLASH_MM * max(face.Area() for face in common.Faces()):
            raise VerifyError(f"parts {mark} and {other} share {volume:.0f} mm³ of space")
    return Proof(len(design.parts), total, worst, len(pairs), box)


# --- building ---------------------------------------------------------------------


def _solid(cadquery: Any, prism: Prism) -> Any:
    """Return the kernel solid of one prism: its outline extruded along u x v."""
    ring = [cadquery.Vector(*corner) for corner in corners(prism)[: len(prism.outline)]]
    face = cadquery.Face.makeFromWires(cadquery.Wire.makePolygon(ring, close=True))
    n = cross(prism.u, prism.v)
    return cadquery.Solid.extrudeLinear(face, cadquery.Vector(*(prism.depth * part for part in n)))


def _body(cadquery: Any, prisms: tuple[Prism, ...]) -> Any:
    """Return one solid for prisms that make one piece, such as the web and flanges of a track, else a compound.

    The kernel writes colour and material only for a product of one solid.
    """
    solids = [_solid(cadquery, prism) for prism in prisms]
    if len(solids) == 1:
        return solids[0]
    whole = solids[0].fuse(*solids[1:], tol=JOINED_MM).clean().Solids()
    return whole[0] if len(whole) == 1 else cadquery.Compound.makeCompound(solids)


def _assembly(cadquery: Any, design: Design) -> Any:
    materials = {material.key: material for material in design.materials}
    shapes: dict[tuple[tuple[Prism, ...], str], Any] = {}
    root = cadquery.Assembly(name=_name(design.name))
    ordered = sorted(design.parts, key=lambda part: _faces(design).index(part.face))
    for face, parts in groupby(ordered, key=lambda part: part.face):
        group = cadquery.Assembly(name=_name(face))
        for part in parts:
            if not part.solids:
                continue
            frame, prisms = own_axes(part)
            key = (prisms, part.material)
            if key not in shapes:
                shapes[key] = _body(cadquery, prisms)
            material = materials[part.material]
            plane = cadquery.Plane(frame.origin, frame.u, cross(frame.u, frame.v))
            group.add(
                shapes[key], name=_name(part.mark), loc=cadquery.Location(plane),
                color=cadquery.Color(*colour_of(material.kind)), material=_material(cadquery, material, part),
            )
        root.add(group)
    return root


def _faces(design: Design) -> list[str]:
    return list(dict.fromkeys(part.face for part in design.parts))


def _material(cadquery: Any, material: Material, part: Part) -> Any:
    """Return the material with the part's mean density [g/cm³], from its mass and volume."""
    volume_cm3 = part_volume(part) / 1000
    density = round(part.mass_kg * 1000 / volume_cm3, 6) if volume_cm3 > 0 else 0.0
    return cadquery.Material(material.name, description=material.kind, density=density)


def _name(words: str) -> str:
    """Return a name that STEP readers show as it is: plain letters, and no path separators."""
    plain = words.encode("ascii", "replace").decode()
    return re.sub(r"[^\w .,:()+=?-]", "-", plain.replace("'", "")).strip() or "shelter"


class _quiet:  # noqa: N801  (reads like a word: with _quiet())
    """Keep the kernel from printing its transfer report on the terminal."""

    def __enter__(self) -> None:
        from OCP.Message import Message, Message_Gravity  # type: ignore[import-untyped]

        printers = Message.DefaultMessenger_s().Printers()
        self._printers = [(printer, printer.GetTraceLevel()) for printer in printers]
        for printer, _ in self._printers:
            printer.SetTraceLevel(Message_Gravity.Message_Fail)

    def __exit__(self, *_: object) -> None:
        for printer, level in self._printers:
            printer.SetTraceLevel(level)


# --- comparing --------------------------------------------------------------------


def _box(shape: Any) -> tuple[Vec, Vec]:
    box = shape.BoundingBox()
    return (box.xmin, box.ymin, box.zmin), (box.xmax, box.ymax, box.zmax)


def _compare_box(name: str, box: tuple[Vec, Vec], design: Design) -> None:
    for corner, wanted in zip(box, design_box(design), strict=True):
        for axis, seen, model in zip("xyz", corner, wanted, strict=True):
            if abs(seen - model) > BOX_MM:
                raise VerifyError(f"{name} ends at {axis} = {seen:.3f} mm; the model ends at {model:.3f} mm")


def _overlapping_boxes(prisms: list[Prism]) -> Iterator[tuple[int, int]]:
    """Yield pairs whose boxes overlap; boxes that only touch do not."""
    boxes = [bounding_box([prism]) for prism in prisms]
    order = sorted(range(len(boxes)), key=lambda number: (boxes[number][0][0], number))
    open_now: list[int] = []
    for number in order:
        low, high = boxes[number]
        open_now = [other for other in open_now if boxes[other][1][0] - low[0] > TOUCH_MM]
        for other in open_now:
            other_low, other_high = boxes[other]
            if all(
                other_high[axis] - low[axis] > TOUCH_MM and high[axis] - other_low[axis] > TOUCH_MM
                for axis in range(3)
            ):
                yield min(number, other), max(number, other)
        open_now.append(number)
