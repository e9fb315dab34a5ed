"""Are the solids in the STEP file as many and as large as the design says?

Read as text, from the definition of the exchange file (ISO 10303-21) and of its plane-faced
solids: an occurrence names a part and points at a product, whose shape lists solids; a solid
is a closed shell of faces, a face a loop of straight edges. The volume follows from the
corners alone (divergence theorem), wherever the part is placed.

Left out: where each part is placed, colours and materials.
Units: mm, mm³.
"""

from __future__ import annotations

import itertools
import re
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import cross, dot, shoelace
from enclosure.audit.readers import Papers

FILE = "shelter.step"
_ENTITY = re.compile(r"#(\d+)\s*=\s*([A-Z0-9_]*)\s*\((.*?)\)\s*;\s*$", re.DOTALL | re.MULTILINE)
_NUMBER = re.compile(r"#(\d+)")
_VOLUME_SHARE = 1e-3
Vector = tuple[float, float, float]
Record = dict[str, Any]


@dataclass(slots=True)
class _Step:
    """Entities by number as (name, arguments), and what has been worked out of them."""

    entities: dict[int, tuple[str, str]]
    volumes: dict[int, float] = field(default_factory=dict)

    def named(self, name: str) -> Iterator[tuple[int, str]]:
        """Yield number and arguments of all entities of a name."""
        return ((number, text) for number, (kind, text) in self.entities.items() if kind == name)

    def targets(self, number: int, name: str = "") -> list[int]:
        """Return the entities that one refers to, of one name when given."""
        found = [int(digits) for digits in _NUMBER.findall(self.entities[number][1])]
        return [one for one in found if not name or self.entities[one][0] == name]

    def point(self, number: int) -> Vector:
        """Return the place of a vertex."""
        (place,) = self.targets(number, "CARTESIAN_POINT")
        x, y, z = (float(v) for v in re.findall(r"-?\d[\d.]*(?:[Ee][-+]?\d+)?", self.entities[place][1])[-3:])
        return x, y, z

    def loop(self, number: int) -> list[Vector]:
        """Return the corners of a loop of edges in order."""
        corners = []
        for oriented in self.targets(number, "ORIENTED_EDGE"):
            (edge,) = self.targets(oriented, "EDGE_CURVE")
            start, end = self.targets(edge, "VERTEX_POINT")
            forward = self.entities[oriented][1].rstrip().endswith(".T.")
            corners.append(self.point(start if forward else end))
        return corners

    def volume(self, solid: int) -> float:
        """Return the volume of a solid of plane faces."""
        if solid not in self.volumes:
            total = 0.0
            (shell,) = self.targets(solid, "CLOSED_SHELL")
            for face in self.targets(shell, "ADVANCED_FACE"):
                bounds = [one for one in self.targets(face) if self.entities[one][0].startswith("FACE_")]
                for bound in bounds:
                    (loop,) = self.targets(bound, "EDGE_LOOP")
                    ring = self.loop(loop)
                    sign = 1.0 if self.entities[bound][1].rstrip().endswith(".T.") else -1.0
                    for b, c in itertools.pairwise(ring[1:]):
                        total += sign * dot(ring[0], cross(b, c)) / 6
            self.volumes[solid] = total
        return self.volumes[solid]


def check_step(papers: Papers, findings: Findings) -> None:
    """Every part is named in the STEP file, where there is one, and has its volume."""
    path = papers.folder / FILE
    if not path.is_file():
        findings.notes.append(f"{FILE} was not made, so it was not read")
        return
    text = path.read_text(encoding="utf-8", errors="replace")
    findings.unless(text.rstrip().endswith("END-ISO-10303-21;"), FILE, "", "the file is cut short", "its last line")
    step = _Step({int(number): (name, rest) for number, name, rest in _ENTITY.findall(text)})
    named, shapes = _occurrences(step), dict[int, list[int]]()
    with findings.reading(FILE):
        shapes = _shapes(step)
    for part in papers.design["parts"]:
        mark = part["mark"]
        if mark not in named:
            findings.add(FILE, mark, "is not in the model", "one solid for each part")
            continue
        with findings.reading(FILE, mark):
            _check_part(part, step, shapes.get(named[mark], []), findings)


def _occurrences(step: _Step) -> dict[str, int]:
    """Return for each name the product definition of its occurrence."""
    found = {}
    for _, text in step.named("NEXT_ASSEMBLY_USAGE_OCCURRENCE"):
        match = re.match(r"\s*'[^']*'\s*,\s*'([^']*)'", text)
        targets = _NUMBER.findall(text)
        if match and len(targets) == 2:
            found[match[1]] = int(targets[1])
    return found


def _shapes(step: _Step) -> dict[int, list[int]]:
    """Return for each product definition the solids of its shape."""
    of_shape = {number: int(_NUMBER.findall(text)[-1]) for number, text in step.named("PRODUCT_DEFINITION_SHAPE")}
    found: dict[int, list[int]] = {}
    for number, _ in step.named("SHAPE_DEFINITION_REPRESENTATION"):
        shape, representation = step.targets(number)[:2]
        if shape in of_shape:
            found.setdefault(of_shape[shape], []).extend(step.targets(representation, "MANIFOLD_SOLID_BREP"))
    return found


def _check_part(part: Record, step: _Step, solids: list[int], findings: Findings) -> None:
    most = len(part["solids"])
    findings.unless(1 <= len(solids) <= most, FILE, part["mark"], f"{len(solids)} solids", f"1 to {most}")
    volume = sum(step.volume(solid) for solid in solids)
    right = sum(abs(shoelace(prism["outline"])) * prism["depth"] for prism in part["solids"])
    good = abs(volume - right) <= _VOLUME_SHARE * right
    findings.unless(good, FILE, part["mark"], f"{volume:.0f} mm³", f"{right:.0f} mm³")
