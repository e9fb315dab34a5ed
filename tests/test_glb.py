"""Is the GLB file sound glTF 2.0, true to the design, small and the same every time?

The file is taken apart twice: here with struct and json alone, after the layout
printed in the specification, and by VTK's own glTF reader.
"""

from __future__ import annotations

import json
import struct
import subprocess
import sys
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from enclosure.errors import OutputError
from enclosure.outputs.glb import to_glb, write_glb
from enclosure.shape.solid_math import design_box, part_volume
from tests.hand_made import FRONT, LEFT, box, small_design

DESIGN = small_design()
FILE = to_glb(DESIGN)
ROOT = Path(__file__).parents[1]


def take_apart(data: bytes) -> tuple[dict[str, Any], bytes]:
    magic, version, length = struct.unpack_from("<4sII", data)
    assert (magic, version, length) == (b"glTF", 2, len(data))
    size, kind = struct.unpack_from("<I4s", data, 12)
    assert kind == b"JSON"
    assert size % 4 == 0
    tree = json.loads(data[20:20 + size])
    binary_size, kind = struct.unpack_from("<I4s", data, 20 + size)
    assert kind == b"BIN\0"
    assert binary_size % 4 == 0
    assert 28 + size + binary_size == len(data)
    return tree, data[28 + size:]


TREE, BINARY = take_apart(FILE)


def values(accessor: int) -> list[tuple[float, ...]]:
    entry = TREE["accessors"][accessor]
    view = TREE["bufferViews"][entry["bufferView"]]
    letters = {(5126, "VEC3"): "<3f", (5123, "SCALAR"): "<H"}[entry["componentType"], entry["type"]]
    size = struct.calcsize(letters)
    assert view["byteOffset"] % 4 == 0
    assert view["byteLength"] == entry["count"] * size
    assert view["byteOffset"] + view["byteLength"] <= TREE["buffers"][0]["byteLength"]
    start = view["byteOffset"]
    return [struct.unpack_from(letters, BINARY, start + i * size) for i in range(entry["count"])]


def moved(matrix: list[float], point: tuple[float, ...], kind: float = 1.0) -> tuple[float, ...]:
    """Return matrix times point; the matrix stands column by column; kind 0 for a direction."""
    x, y, z = point
    m = matrix
    return tuple(m[r] * x + m[4 + r] * y + m[8 + r] * z + m[12 + r] * kind for r in range(3))


def part_nodes() -> dict[str, dict[str, Any]]:
    return {node["name"]: node for node in TREE["nodes"] if "mesh" in node}


def triangles(node: dict[str, Any]) -> list[tuple[tuple[float, ...], ...]]:
    """Return a part's triangles in metres with y up, turned by its own and the topmost node's matrix."""
    (primitive,) = TREE["meshes"][node["mesh"]]["primitives"]
    points = [
        moved(TREE["nodes"][0]["matrix"], moved(node["matrix"], point))
        for point in values(primitive["attributes"]["POSITION"])
    ]
    order = [index for (index,) in values(primitive["indices"])]
    return [tuple(points[int(i)] for i in order[n:n + 3]) for n in range(0, len(order), 3)]


@pytest.mark.published(
    source="Khronos glTF 2.0 specification, from memory", where="3.6.2.4 and 4.4", printed="alignment, bounds"
)
def test_structure_follows_the_specification() -> None:
    assert TREE["asset"]["version"] == "2.0"
    assert TREE["scenes"][TREE["scene"]]["nodes"] == [0]
    assert len(TREE["buffers"]) == 1
    assert TREE["buffers"][0]["byteLength"] <= len(BINARY) < TREE["buffers"][0]["byteLength"] + 4
    assert "uri" not in TREE["buffers"][0]
    for view in TREE["bufferViews"]:
        assert view["target"] in (34962, 34963)
    seen = set()
    waiting = [0]
    while waiting:  # every node hangs in the tree exactly once
        number = waiting.pop()
        assert number not in seen
        seen.add(number)
        waiting.extend(TREE["nodes"][number].get("children", []))
    assert seen == set(range(len(TREE["nodes"])))
    for mesh in TREE["meshes"]:
        (primitive,) = mesh["primitives"]
        points, normals = (values(primitive["attributes"][key]) for key in ("POSITION", "NORMAL"))
        assert len(points) == len(normals)
        entry = TREE["accessors"][primitive["attributes"]["POSITION"]]
        assert [min(p[axis] for p in points) for axis in range(3)] == entry["min"]
        assert [max(p[axis] for p in points) for axis in range(3)] == entry["max"]
        assert max(index for (index,) in values(primitive["indices"])) < len(points)
        for normal in normals:
            assert sum(part * part for part in normal) == pytest.approx(1, abs=1e-5)
        assert 0 <= primitive["material"] < len(TREE["materials"])


def test_nodes_bear_the_marks_under_their_faces() -> None:
    assert list(part_nodes()) == [part.mark for part in DESIGN.parts]
    groups = [node for node in TREE["nodes"][1:] if "mesh" not in node]
    faces = {node["name"]: node["children"] for node in groups}
    assert set(faces) == {"FRONT", "LEFT", "ROOF"}
    for part in DESIGN.parts:
        names = [TREE["nodes"][child]["name"] for child in faces[part.face]]
        assert part.mark in names
        primitive = TREE["meshes"][part_nodes()[part.mark]["mesh"]]["primitives"][0]
        assert TREE["materials"][primitive["material"]]["name"] == DESIGN.material(part.material).name


def test_every_part_has_its_volume_and_its_triangles_look_outward() -> None:
    """A closed mesh has a positive signed volume if its triangles run counter-clockwise from outside."""
    for part in DESIGN.parts:
        volume = 0.0
        for a, b, c in triangles(part_nodes()[part.mark]):
            volume += (
                a[0] * (b[1] * c[2] - b[2] * c[1])
                - a[1] * (b[0] * c[2] - b[2] * c[0])
                + a[2] * (b[0] * c[1] - b[1] * c[0])
            ) / 6
        assert volume == pytest.approx(part_volume(part) * 1e-9, rel=1e-4), part.mark


def test_normals_agree_with_the_triangles() -> None:
    for mesh in TREE["meshes"]:
        (primitive,) = mesh["primitives"]
        points, normals = (values(primitive["attributes"][key]) for key in ("POSITION", "NORMAL"))
        order = [int(index) for (index,) in values(primitive["indices"])]
        for n in range(0, len(order), 3):
            a, b, c = (points[i] for i in order[n:n + 3])
            e, f = [q - p for p, q in zip(a, b, strict=True)], [q - p for p, q in zip(a, c, strict=True)]
            way = (e[1] * f[2] - e[2] * f[1], e[2] * f[0] - e[0] * f[2], e[0] * f[1] - e[1] * f[0])
            long = sum(part * part for part in way) ** 0.5
            along = sum(p * q for p, q in zip(way, normals[order[n]], strict=True))
            assert along == pytest.approx(long, rel=1e-4)


def test_place_and_size_in_metres_with_y_up() -> None:
    """Panel 3: x 553 to 880, height 20 to 1180, 4 to 14 mm in front of the frame (y -14 to -4)."""
    points = [point for triangle in triangles(part_nodes()["3"]) for point in triangle]
    low, high = ([pick(p[axis] for p in points) for axis in range(3)] for pick in (min, max))
    assert low == pytest.approx([0.553, 0.020, 0.004], abs=1e-6)
    assert high == pytest.approx([0.880, 1.180, 0.014], abs=1e-6)


def test_another_reader_finds_the_same_box(tmp_path: Path) -> None:
    vtk = pytest.importorskip("vtk")
    reader = vtk.vtkGLTFReader()
    reader.SetFileName(str(write_glb(DESIGN, tmp_path / "shelter.glb")))
    reader.Update()
    joined = vtk.vtkCompositeDataGeometryFilter()
    joined.SetInputConnection(reader.GetOutputPort())
    joined.Update()
    assert joined.GetOutput().GetNumberOfPoints() > 24 * len(DESIGN.parts)
    bounds = joined.GetOutput().GetBounds()
    (x1, y1, z1), (x2, y2, z2) = design_box(DESIGN)
    wanted = [x1, x2, z1, z2, -y2, -y1]
    assert bounds == pytest.approx([value / 1000 for value in wanted], abs=1e-5)


def test_equal_parts_share_a_mesh_and_unequal_ones_do_not() -> None:
    nodes = part_nodes()
    assert nodes["FM1"]["mesh"] == nodes["FM2"]["mesh"]  # both 900 x 38
    assert nodes["FM3"]["mesh"] == nodes["FM4"]["mesh"] == nodes["FM5"]["mesh"]
    assert nodes["FM1"]["mesh"] != nodes["FM3"]["mesh"]
    many = tuple(
        replace(
            DESIGN.parts[0], mark=f"X{i}",
            solids=(box((FRONT, LEFT)[i % 2], 10.0 * i, 0, 900, 38, 100 * i, 100 * i + 60),),
        )
        for i in range(300)
    )
    tree, binary = take_apart(to_glb(replace(DESIGN, parts=many)))
    assert len(tree["meshes"]) == 1
    assert len(binary) < 20_000


def test_small_and_the_same_whatever_the_hash_seed() -> None:
    assert len(FILE) < 40_000
    script = (
        "import sys; from tests.hand_made import small_design; from enclosure.outputs.glb import to_glb\n"
        "sys.stdout.buffer.write(to_glb(small_design()))"
    )
    run = subprocess.run(
        [sys.executable, "-c", script], env={"PYTHONHASHSEED": "9"}, capture_output=True, check=True, cwd=ROOT
    )
    assert run.stdout == FILE


def test_glazing_is_seen_through() -> None:
    materials = {material["name"]: material for material in TREE["materials"]}
    assert materials["Twin-wall 10 mm"]["alphaMode"] == "BLEND"
    assert materials["Twin-wall 10 mm"]["pbrMetallicRoughness"]["baseColorFactor"][3] < 1
    assert "alphaMode" not in materials["Spruce 38 x 60 mm"]


def test_a_design_without_parts_is_still_sound() -> None:
    data = to_glb(replace(DESIGN, parts=()))
    size = struct.unpack_from("<I", data, 12)[0]
    tree = json.loads(data[20:20 + size])
    assert "meshes" not in tree
    assert "children" not in tree["nodes"][0]


def test_a_folder_that_is_not_there_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_glb(DESIGN, tmp_path / "missing" / "shelter.glb")
