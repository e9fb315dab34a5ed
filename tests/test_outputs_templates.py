"""Do all files come out right for every shipped brief?

Geometry alone, without cutting plans, so that it stays quick; the plans have tests of
their own, and the whole main job is run elsewhere.
"""

from __future__ import annotations

import json
import struct
from collections import Counter
from functools import cache
from pathlib import Path

import ezdxf
import pytest

from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.nesting.plans import Plans
from enclosure.outputs.dxf import write_elevations, write_panels
from enclosure.outputs.dxf_page import Drawing
from enclosure.outputs.glb import to_glb
from enclosure.outputs.table_rows import cut_list
from enclosure.shape.build import build
from enclosure.shape.model import Design, SheetCut
from enclosure.shape.serial import from_json, to_json
from enclosure.shape.solid_math import area, clashes, part_volume, prism_faults

BRIEFS = sorted((Path(__file__).parents[1] / "templates" / "briefs").glob("*.toml"))
NAMES = [path.stem for path in BRIEFS]


@cache
def design_of(name: str) -> Design:
    brief, site, stock = read_all(next(path for path in BRIEFS if path.stem == name))
    return build(brief, site, stock, span_limits(brief, site, stock))


def test_the_briefs_are_found() -> None:
    assert len(NAMES) >= 5


@pytest.mark.parametrize("name", NAMES)
def test_json_brings_the_design_back(name: str) -> None:
    design = design_of(name)
    text = to_json(design)
    assert from_json(text) == design
    assert to_json(from_json(text)) == text


@pytest.mark.parametrize("name", NAMES)
def test_solids_are_sound_and_touch_without_overlap(name: str) -> None:
    design = design_of(name)
    assert [(p.mark, words) for p in design.parts for s in p.solids for words in prism_faults(s)] == []
    assert clashes(design) == []
    for part in design.panels():
        assert isinstance(part.cut, SheetCut)
        if part.kind == "film":  # cut with a lap that is folded over the battens
            continue
        thick = next(m.thickness_mm for m in design.materials if m.key == part.material)
        flat = area(part.cut.outline) * thick
        # a panel's solid is its cut outline times its thickness (a hole is not modelled)
        assert part_volume(part) == pytest.approx(flat, rel=2e-3), part.mark


@pytest.mark.parametrize("name", NAMES)
def test_glb_is_light_and_names_every_part(name: str) -> None:
    design = design_of(name)
    data = to_glb(design)
    assert len(data) < 1_000_000
    size = struct.unpack_from("<I", data, 12)[0]
    tree = json.loads(data[20:20 + size])
    assert [n["name"] for n in tree["nodes"] if "mesh" in n] == [p.mark for p in design.parts if p.solids]


QUICK = ("tree-fern", "olive-glass")


@pytest.mark.parametrize(
    "name", [name if name in QUICK else pytest.param(name, marks=pytest.mark.slow) for name in NAMES]
)
def test_drawings_are_true_and_their_words_apart(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept: list[tuple[str, Drawing]] = []
    finish = Drawing.finish

    def keep(self: Drawing, path: Path) -> Path:
        kept.append((path.name, self))
        return finish(self, path)

    monkeypatch.setattr(Drawing, "finish", keep)
    design = design_of(name)
    paths = write_panels(design, tmp_path)
    assert len(paths) == len(set(paths)) == len(design.panels())
    write_elevations(design, tmp_path)
    for path, part in list(zip(paths, design.panels(), strict=True))[::5]:
        assert isinstance(part.cut, SheetCut)
        document = ezdxf.readfile(path)
        (outline,) = document.modelspace().query('LWPOLYLINE[layer=="parts"]')
        points = list(outline.get_points("xy"))
        assert max(x for x, _ in points) == pytest.approx(part.cut.width_mm)
        assert max(y for _, y in points) == pytest.approx(part.cut.height_mm)
        assert len(document.modelspace().query("CIRCLE")) == len(part.cut.holes)
    document = ezdxf.readfile(tmp_path / "elevations.dxf")
    assert len(document.layouts.names()) == len(design.frames) + 1
    shown = Counter(text.dxf.text for text in document.modelspace().query('TEXT[layer=="marks"]'))
    assert shown == Counter(part.mark for part in design.parts if part.kind != "lining")
    for drawn, drawing in kept:
        assert overlaps(drawing) == [], drawn


def overlaps(drawing: Drawing) -> list[object]:
    boxes = drawing.boxes
    return [
        (one, two)
        for i, one in enumerate(boxes)
        for two in boxes[i + 1:]
        if one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]
    ]


@pytest.mark.parametrize("name", NAMES)
def test_cut_list_has_a_row_for_every_part(name: str) -> None:
    design = design_of(name)
    table = cut_list(design, Plans((), (), ()))
    assert [row[0] for row in table.rows] == [part.mark for part in design.parts]


@pytest.mark.slow
@pytest.mark.parametrize("name", ["tree-fern"])
def test_step_agrees_with_the_model(name: str, tmp_path: Path) -> None:
    pytest.importorskip("cadquery")
    from enclosure.outputs.solid import check_step, prove, write_step

    design = design_of(name)
    check_step(design, write_step(design, tmp_path / "shelter.step"))
    assert prove(design).worst_share < 1e-9
