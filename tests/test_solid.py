"""Do the CAD solids agree with the plain model, and does the STEP file read back?

The STEP file is read by the CAD kernel's own importer; expected volumes are hand sums
of the hand-made shelter.
"""

from __future__ import annotations

import json
import math
import re
import subprocess
import sys
import types
from dataclasses import replace
from pathlib import Path

import pytest

from enclosure.audit.findings import Findings
from enclosure.audit.readers import Papers
from enclosure.audit.step_file import check_step as check_step_text
from enclosure.errors import OutputError, VerifyError
from enclosure.outputs import solid
from enclosure.outputs.colours import colour_of
from enclosure.outputs.solid import check_step, prove, read_step, write_step
from enclosure.shape.model import Design, Prism
from enclosure.shape.serial import to_json
from tests.hand_made import FRONT, box, small_design

cadquery = pytest.importorskip("cadquery")

DESIGN = small_design()
ROOT = Path(__file__).parents[1]

HAND_VOLUME = (
    2 * 900 * 38 * 60 + 3 * 1124 * 38 * 60 + 482 * 38 * 60  # front frame
    + 700 * 38 * 60 + 700 * 38 * 60  # left sill, and the sloped head: 38 upright over 700
    + 38 * ((1262 - 38) + (1262 - 38 / 7 - 38)) / 2 * 60  # long stile
    + 38 * ((1162 + 38 / 7 - 38) + (1162 - 38)) / 2 * 60  # short stile
    + 10 * (511 * 590 + 511 * 548 + 327 * 1160 + 660 * (1150 + 1150 + 660 / 7) / 2 + 940 * 760)
    + 150 * 130 / 2 * 9 + 690 * 1100 * 0.2
    + 900 * 20 * 10 + 2 * 900 * 38 * 2
)


@pytest.fixture(scope="module")
def step(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return write_step(DESIGN, tmp_path_factory.mktemp("step") / "shelter.step")


def without(design: Design, mark: str, solids: tuple[Prism, ...]) -> Design:
    parts = tuple(replace(part, solids=solids) if part.mark == mark else part for part in design.parts)
    return replace(design, parts=parts)


def test_the_file_read_back_has_the_volume_of_the_hand_sum(step: Path) -> None:
    volume, count, (low, high) = read_step(step)
    assert volume == pytest.approx(HAND_VOLUME, rel=1e-3)
    assert count == 18  # 18 parts, one of them of three prisms that make one piece
    fall = math.atan2(100, 700)
    rise = 760 * math.sin(fall)
    assert low[0] == pytest.approx(-20, abs=1e-3)
    assert high[0] == pytest.approx(920, abs=1e-3)
    assert low[2] == pytest.approx(0, abs=1e-3)
    assert high[2] == pytest.approx(1200 + 730 / 760 * rise + 30 * math.cos(fall), abs=1e-3)
    check_step(DESIGN, step)


def test_names_places_colours_and_materials(step: Path) -> None:
    assembly = cadquery.Assembly.importStep(str(step))
    leaves = {name.split("/")[-1]: node for name, node in assembly.traverse() if not node.children}
    assert set(leaves) >= {part.mark for part in DESIGN.parts}
    groups = {name.split("/")[-1] for name, node in assembly.traverse() if node.children}
    assert {"FRONT", "LEFT", "ROOF"} <= groups
    corners = {"FM1": (0, 0, 0), "FM2": (0, 0, 1162), "FM5": (862, 0, 38), "3": (553, -14, 20)}
    for mark, low in corners.items():
        node = leaves[mark]
        place = node.loc
        walker = node.parent
        while walker is not None:
            place = walker.loc * place
            walker = walker.parent
        shapes = cadquery.Compound.makeCompound(node.shapes).moved(place)
        box = shapes.BoundingBox()
        assert (box.xmin, box.ymin, box.zmin) == pytest.approx(low, abs=1e-5), mark
    text = step.read_text(encoding="latin-1")
    assert text.count("COLOUR_RGB") == len({material.kind for material in DESIGN.materials})
    for material in DESIGN.materials:
        assert material.name in text


def test_every_part_reads_back_with_its_name_colour_and_material(step: Path) -> None:
    """Also the track, whose web and flanges make one solid, has its own."""
    assembly = cadquery.Assembly.importStep(str(step))
    names = {material.key: (material.name, material.kind) for material in DESIGN.materials}
    leaves = {name.split("/")[-1]: node for name, node in assembly.traverse() if not node.children}
    for part in DESIGN.parts:
        node = leaves[part.mark]
        name, kind = names[part.material]
        assert node.material is not None, part.mark
        assert node.material.name == name
        assert node.color.toTuple()[:3] == pytest.approx(colour_of(kind)[:3], abs=0.01), part.mark
        assert len(node.shapes[0].Solids()) == 1


def test_pieces_that_do_not_touch_stay_apart(tmp_path: Path) -> None:
    far = without(DESIGN, "FT1", (box(FRONT, 0, 0, 900, 20, 4, 14), box(FRONT, 0, 60, 900, 20, 4, 14)))
    path = write_step(far, tmp_path / "far.step")
    assert read_step(path)[1] == 19
    check_step(far, path)


def test_density_has_the_unit_that_its_number_is_in(step: Path) -> None:
    """Panel 1: 1.7e-6 kg/mm² x 511 x 590 over 10 mm is 0.17 g/cm³; grams to the 1, centimetres to the -3."""
    text = step.read_text(encoding="latin-1")
    assert "('MassDensity',0.17," in text
    assert "SI_UNIT($,.GRAM.)" in text
    assert "SI_UNIT(.CENTI.,.METRE.)" in text
    powers = {line.split(",")[1] for line in text.splitlines() if "DERIVED_UNIT_ELEMENT" in line}
    assert powers == {"1.);", "-3.);"}


def test_equal_parts_share_one_solid(step: Path) -> None:
    """FM1 = FM2; FM3 = FM4 = FM5: 18 parts, 15 shapes."""
    text = step.read_text(encoding="latin-1")
    assert text.count("MANIFOLD_SOLID_BREP(") == 15


def test_the_same_design_gives_the_same_bytes_in_another_program(step: Path, tmp_path: Path) -> None:
    again = write_step(DESIGN, tmp_path / "again.step")
    assert again.read_bytes() == step.read_bytes()
    script = (
        "import sys; from pathlib import Path; from tests.hand_made import small_design\n"
        "from enclosure.outputs.solid import write_step; write_step(small_design(), Path(sys.argv[1]))"
    )
    other = tmp_path / "other.step"
    run = subprocess.run(
        [sys.executable, "-c", script, str(other)], check=True, cwd=ROOT, capture_output=True, text=True
    )
    assert other.read_bytes() == step.read_bytes()
    assert run.stdout == ""  # the kernel keeps its reports to itself


def test_the_proof_finds_the_hand_sum_and_no_clash() -> None:
    proof = prove(DESIGN)
    assert proof.parts == 18
    assert proof.volume_mm3 == pytest.approx(HAND_VOLUME, rel=1e-9)
    assert proof.worst_share < 1e-9
    assert proof.pairs < 30


def test_a_clash_is_named() -> None:
    moved = without(DESIGN, "FM4", (box(FRONT, 500, 38, 38, 1124, -60, 0),))
    with pytest.raises(VerifyError, match="parts FM4 and FM6 share 45600 mm³"):  # 20 x 38 x 60
        prove(moved)


def test_a_touch_is_no_clash() -> None:
    prove(without(DESIGN, "FM4", (box(FRONT, 520, 38, 38, 1124, -60, 0),)))


def test_a_model_that_lies_about_its_volume_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    honest = solid.part_volume
    monkeypatch.setattr(solid, "part_volume", lambda part: honest(part) * (1.002 if part.mark == "4" else 1))
    with pytest.raises(VerifyError, match="part 4 has"):
        prove(DESIGN)


def test_a_step_file_of_another_shelter_is_found_out(step: Path) -> None:
    bigger = without(DESIGN, "FM1", (box(FRONT, 0, 0, 900, 38, -70, 0),))
    with pytest.raises(VerifyError, match=r"holds .* mm³; the design has"):
        check_step(bigger, step)
    fewer = replace(DESIGN, parts=DESIGN.parts[1:])
    with pytest.raises(VerifyError, match="holds 18 solids; the design has 17"):
        check_step(fewer, step)
    turned = without(DESIGN, "5", (replace(DESIGN.part("5").solids[0], origin=(0.0, 60.0, 1500.0)),))
    with pytest.raises(VerifyError, match="ends at"):
        check_step(turned, step)


def audited(text: str, folder: Path) -> list[str]:
    """Return what the audit, which reads the file as text, says of it."""
    (folder / "shelter.step").write_text(text, encoding="latin-1")
    findings = Findings()
    check_step_text(Papers(folder, design=json.loads(to_json(DESIGN))), findings)
    return [str(row) for row in findings.rows]


def test_the_audit_reads_volumes_without_the_kernel(step: Path, tmp_path: Path) -> None:
    text = step.read_text(encoding="latin-1")
    assert audited(text, tmp_path) == []
    # panel 1 is 511 wide: nothing else in the shelter has a corner there
    moved = re.sub(r"(CARTESIAN_POINT\('',\()590\.(?=,)", r"\g<1>595.", text)
    assert moved != text
    assert any(row.startswith("shelter.step: 1: ") and "mm³" in row for row in audited(moved, tmp_path))
    lost = re.sub(r"'FM4',''", "'FM44',''", text)
    assert any("FM4: is not in the model" in row for row in audited(lost, tmp_path))
    short = text[: len(text) // 2]
    assert any("cut short" in row for row in audited(short, tmp_path))
    brep = r"ADVANCED_BREP_SHAPE_REPRESENTATION\('',\(#(\d+),#\d+\)"
    hollow = re.sub(brep, r"SHAPE_REPRESENTATION('',(#\1)", text, count=1)
    assert any("0 solids" in row for row in audited(hollow, tmp_path))


def test_faults_of_files_have_words(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="no folder"):
        write_step(DESIGN, tmp_path / "missing" / "shelter.step")
    broken = tmp_path / "broken.step"
    broken.write_text("this is not STEP")
    with pytest.raises(OutputError, match="cannot be read as STEP"):
        read_step(broken)


@pytest.mark.parametrize(
    ("words", "message", "hint"),
    [
        ("No module named 'cadquery'", "cadquery is not installed", "pip install"),
        ("libGL.so.1: cannot open shared object file", "load libGL.so.1", "libgl1"),
    ],
)
def test_without_the_kernel_one_line_says_what_is_missing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, words: str, message: str, hint: str
) -> None:
    class Missing(types.ModuleType):
        def find_spec(self, name: str, *_: object) -> None:
            if name == "cadquery":
                raise ImportError(words)

    monkeypatch.delitem(sys.modules, "cadquery", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Missing("missing"), *sys.meta_path])
    with pytest.raises(OutputError, match=message) as caught:
        write_step(DESIGN, tmp_path / "shelter.step")
    assert "\n" not in caught.value.message
    assert hint in caught.value.hint
    assert not list(tmp_path.iterdir())


def test_importing_the_module_does_not_load_the_kernel() -> None:
    script = "import sys, enclosure.outputs.solid; sys.exit(not {'cadquery', 'OCP'}.isdisjoint(sys.modules))"
    assert subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=False).returncode == 0
