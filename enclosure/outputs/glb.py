"""How does a shelter become a small 3-D file that a browser can show?

Writes binary glTF 2.0 (GLB) straight from the plain prisms, without any library.
The shelter is one node, each face (FRONT, ROOF, ...) a node under it, each part a
node named by its mark under that. Equal parts share one mesh. Units in the file are
metres with y up, as the format asks: the topmost node turns and scales the design's
mm with z up.

The same design always gives the same bytes.

References:
    [glTF] Khronos Group, "glTF 2.0 Specification", sections 3.6 (buffers and accessors),
    3.9 (materials) and 4.4 (GLB layout).
"""

from __future__ import annotations

import json
import struct
from pathlib import Path
from typing import Any

from enclosure import __version__
from enclosure.errors import OutputError
from enclosure.outputs.colours import colour_of
from enclosure.outputs.shared_shape import own_axes
from enclosure.shape.model import Design, Part, Prism, Vec
from enclosure.shape.solid_math import corners, normal
from enclosure.shape.space import cross

MAGIC, VERSION, JSON_CHUNK, BIN_CHUNK = 0x46546C67, 2, 0x4E4F534A, 0x004E4942
FLOAT, UNSIGNED_SHORT = 5126, 5123
VERTICES, INDICES = 34962, 34963
Z_UP_MM_TO_Y_UP_M = [0.001, 0, 0, 0, 0, 0, -0.001, 0, 0, 0.001, 0, 0, 0, 0, 0, 1]
"""Column by column: x stays, y (to the back) becomes -z, z (up) becomes y; mm become m."""

Mesh = tuple[tuple[Vec, ...], tuple[Vec, ...], tuple[int, ...]]


def write_glb(design: Design, path: Path) -> Path:
    """Write a design as GLB and return the path.

    Raises:
        OutputError: The file cannot be written.
    """
    try:
        path.write_bytes(to_glb(design))
    except OSError as error:
        raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
    return path


def to_glb(design: Design) -> bytes:
    """Return a design as the bytes of a GLB file."""
    scene = _Scene(design)
    text = json.dumps(scene.tree(), separators=(",", ":"), ensure_ascii=False).encode()
    text += b" " * (-len(text) % 4)
    binary = bytes(scene.buffer)
    length = 12 + 8 + len(text) + 8 + len(binary)
    return b"".join(
        (
            struct.pack("<III", MAGIC, VERSION, length),
            struct.pack("<II", len(text), JSON_CHUNK), text,
            struct.pack("<II", len(binary), BIN_CHUNK), binary,
        )
    )


class _Scene:
    """Gathers nodes, meshes and the binary buffer of one design."""

    def __init__(self, design: Design) -> None:
        self.design = design
        self.buffer = bytearray()
        self.views: list[dict[str, Any]] = []
        self.accessors: list[dict[str, Any]] = []
        self.meshes: list[dict[str, Any]] = []
        self.nodes: list[dict[str, Any]] = [{}]
        self._shapes: dict[tuple[Prism, ...], dict[str, Any]] = {}
        self._mesh_numbers: dict[tuple[tuple[Prism, ...], str], int] = {}
        self._materials = {material.key: number for number, material in enumerate(design.materials)}
        groups: dict[str, list[int]] = {}
        for part in design.parts:
            if part.solids:
                groups.setdefault(part.face, []).append(self._part(part))
        children = []
        for face, members in groups.items():
            children.append(len(self.nodes))
            self.nodes.append({"name": face, "children": members})
        self.nodes[0] = {"name": design.name, "matrix": Z_UP_MM_TO_Y_UP_M}
        if children:
            self.nodes[0]["children"] = children

    def tree(self) -> dict[str, Any]:
        """Return the JSON part of the file; lists that are empty are left out, as the format asks."""
        tree: dict[str, Any] = {
            "asset": {"version": "2.0", "generator": f"enclosure {__version__}"},
            "scene": 0,
            "scenes": [{"name": self.design.name, "nodes": [0]}],
            "nodes": self.nodes,
            "meshes": self.meshes,
            "materials": [_material(material.name, material.kind) for material in self.design.materials],
            "accessors": self.accessors,
            "bufferViews": self.views,
            "buffers": [{"byteLength": len(self.buffer)}] if self.buffer else [],
        }
        return {key: value for key, value in tree.items() if value != []}

    def _part(self, part: Part) -> int:
        frame, prisms = own_axes(part)
        self.nodes.append(
            {
                "name": part.mark,
                "mesh": self._mesh_number(prisms, part.material),
                "matrix": _matrix(frame),
                "extras": {"kind": part.kind, "role": part.role, "address": part.address},
            }
        )
        return len(self.nodes) - 1

    def _mesh_number(self, prisms: tuple[Prism, ...], material: str) -> int:
        known = self._mesh_numbers.get((prisms, material))
        if known is not None:
            return known
        if prisms not in self._shapes:
            points, normals, indices = _mesh(prisms)
            attributes = {"POSITION": self._vectors(points, bounds=True), "NORMAL": self._vectors(normals)}
            self._shapes[prisms] = {"attributes": attributes, "indices": self._indices(indices)}
        primitive = {**self._shapes[prisms], "material": self._materials[material]}
        self.meshes.append({"primitives": [primitive]})
        self._mesh_numbers[prisms, material] = len(self.meshes) - 1
        return len(self.meshes) - 1

    def _vectors(self, vectors: tuple[Vec, ...], *, bounds: bool = False) -> int:
        data = b"".join(struct.pack("<3f", *vector) for vector in vectors)
        accessor: dict[str, Any] = {"componentType": FLOAT, "count": len(vectors), "type": "VEC3"}
        if bounds:
            stored = list(struct.iter_unpack("<3f", data))
            accessor["min"] = [min(vector[axis] for vector in stored) for axis in range(3)]
            accessor["max"] = [max(vector[axis] for vector in stored) for axis in range(3)]
        return self._accessor(accessor, data, VERTICES)

    def _indices(self, indices: tuple[int, ...]) -> int:
        accessor = {"componentType": UNSIGNED_SHORT, "count": len(indices), "type": "SCALAR"}
        return self._accessor(accessor, struct.pack(f"<{len(indices)}H", *indices), INDICES)

    def _accessor(self, accessor: dict[str, Any], data: bytes, target: int) -> int:
        view = {"buffer": 0, "byteOffset": len(self.buffer), "byteLength": len(data), "target": target}
        self.views.append(view)
        self.accessors.append({"bufferView": len(self.views) - 1, **accessor})
        self.buffer += data + b"\0" * (-len(data) % 4)
        return len(self.accessors) - 1


def _material(name: str, kind: str) -> dict[str, Any]:
    *colour, opacity = colour_of(kind)
    material: dict[str, Any] = {
        "name": name,
        "pbrMetallicRoughness": {
            "baseColorFactor": [*(_linear(share) for share in colour), opacity],
            # no metal, even for track: without surroundings to mirror, metal shows black
            "metallicFactor": 0.0,
            "roughnessFactor": 0.5 if kind == "track" else 0.8,
        },
    }
    if opacity < 1:
        material |= {"alphaMode": "BLEND", "doubleSided": True}
    return material


def _linear(share: float) -> float:
    """Return the linear light of a colour share as seen on a screen (IEC 61966-2-1), which glTF asks for."""
    return round(share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4, 4)


def _matrix(frame: Prism) -> list[float]:
    """Return the matrix, column by column, that carries a prism's own axes into the design."""
    columns = (*frame.u, 0, *frame.v, 0, *normal(frame), 0, *frame.origin, 1)
    return [round(value, 9) + 0.0 for value in columns]


def _mesh(prisms: tuple[Prism, ...]) -> Mesh:
    """Return corners, normals and triangles of some prisms."""
    points: list[Vec] = []
    normals: list[Vec] = []
    indices: list[int] = []

    def face(ring: tuple[Vec, ...], toward: Vec) -> None:
        first = len(points)
        points.extend(ring)
        normals.extend([toward] * len(ring))
        for number in range(1, len(ring) - 1):
            indices.extend((first, first + number, first + number + 1))

    for prism in prisms:
        ring, count, n = corners(prism), len(prism.outline), normal(prism)
        foot, top = ring[:count], ring[count:]
        face(top, n)
        face(foot[::-1], (-n[0], -n[1], -n[2]))
        for number in range(count):
            side = cross(_edge(prism, number), n)
            face((foot[number - 1], foot[number], top[number], top[number - 1]), side)
    return tuple(points), tuple(normals), tuple(indices)


def _edge(prism: Prism, number: int) -> Vec:
    """Return the unit direction of the outline edge that ends at a corner."""
    (a1, b1), (a2, b2) = prism.outline[number - 1], prism.outline[number]
    a, b = a2 - a1, b2 - b1
    long = (a * a + b * b) ** 0.5
    u, v = prism.u, prism.v
    return (
        (a * u[0] + b * v[0]) / long, (a * u[1] + b * v[1]) / long, (a * u[2] + b * v[2]) / long
    )
