"""Are the DXF files sound, true to size, complete and the same every time?

Files are measured with ezdxf as any reader would see them: the expected sizes are
those typed into the hand-made shelter, not those the writer worked out.
"""

from __future__ import annotations

import math
import os
import random
import subprocess
import sys
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from scipy.spatial import ConvexHull

from enclosure.errors import OutputError, VerifyError
from enclosure.nesting.plans import Plans
from enclosure.nesting.verify import verify_sheets
from enclosure.outputs import dxf_page
from enclosure.outputs.drawing.hull import hull
from enclosure.outputs.dxf import write_details, write_elevations, write_frame_parts, write_panels, write_sheets
from enclosure.outputs.dxf_file import read_back
from enclosure.outputs.dxf_layers import LAYERS
from enclosure.outputs.dxf_page import SCALES, Drawing, reads_upside_down
from enclosure.outputs.dxf_title import Title, clean
from tests.hand_made import small_design
from tests.hand_plans import pair_sheets, small_plans

DESIGN, PLANS = small_design(), small_plans()
ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    where = tmp_path_factory.mktemp("dxf")
    write_sheets(DESIGN, PLANS, where)
    write_panels(DESIGN, where)
    write_elevations(DESIGN, where)
    write_frame_parts(DESIGN, where)
    write_details(DESIGN, where)
    return where


def outlines(document: Any, layer: str) -> list[tuple[tuple[float, float], ...]]:
    found = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    assert all(line.closed for line in found)
    return [tuple((x, y) for x, y in line.get_points("xy")) for line in found]


def sizes(polygons: Sequence[Sequence[tuple[float, float]]]) -> list[tuple[float, float]]:
    spans = []
    for polygon in polygons:
        across, up = [x for x, _ in polygon], [y for _, y in polygon]
        spans.append((round(max(across) - min(across), 3), round(max(up) - min(up), 3)))
    return sorted(spans)


def texts(document: Any) -> list[str]:
    return [text.dxf.text for text in document.modelspace().query("TEXT")]


def measures(document: Any) -> list[float]:
    return sorted(round(dim.get_measurement(), 3) for dim in document.modelspace().query("DIMENSION"))


def test_the_hand_laid_plans_are_legal() -> None:
    for sheets in (*PLANS.sheet_jobs, pair_sheets()):
        verify_sheets(sheets.job, sheets.plan)


def test_the_expected_files_are_there(folder: Path) -> None:
    assert sorted(path.name for path in folder.iterdir()) == [
        "detail-bays.dxf", "detail-corner.dxf", "detail-roof-edge.dxf", "detail-sill.dxf", "detail-track.dxf",
        "elevations.dxf", "frame-parts.dxf", "panel-01.dxf", "panel-02.dxf", "panel-03.dxf", "panel-04.dxf",
        "panel-05.dxf", "panel-lf1.dxf", "sheet-01.dxf", "sheet-02.dxf", "sheet-03.dxf", "sheet-04.dxf",
    ]


def test_every_file_is_r2010_in_mm_without_faults(folder: Path) -> None:
    for path in sorted(folder.iterdir()):
        document = ezdxf.readfile(path)
        audit = document.audit()
        assert not audit.errors, path
        assert not audit.fixes, path
        assert document.dxfversion == "AC1024"  # R2010
        assert document.header["$INSUNITS"] == 4  # millimetres
        assert document.header["$MEASUREMENT"] == 1
        low, high = document.header["$EXTMIN"], document.header["$EXTMAX"]
        assert low[0] < high[0] < 20_000
        assert low[1] < high[1] < 20_000
        assert set(LAYERS) <= {layer.dxf.name for layer in document.layers}
        used = {entity.dxf.layer for entity in document.modelspace()}
        assert used <= set(LAYERS)


def test_sheet_one_measured_back(folder: Path) -> None:
    """Sheet 1050 x 2440, trim 5, kerf 3: panel 3 stands at the trimmed corner, panel 1 a kerf beside it."""
    document = ezdxf.readfile(folder / "sheet-01.dxf")
    assert sizes(outlines(document, "sheet edge")) == [(1050, 2440)]
    parts = outlines(document, "parts")
    high = round(1150 + 660 / 7, 3)
    assert sizes(parts) == [(327, 1160), (511, 548), (511, 590), (660, high)]
    lowest = {size: p for p in parts for size in sizes([p])}
    assert min(lowest[327, 1160]) == pytest.approx((5, 5))
    assert min(lowest[511, 590]) == pytest.approx((5 + 327 + 3, 5))
    assert min(lowest[511, 548]) == pytest.approx((335, 5 + 590 + 3))
    sloped = lowest[660, high]
    assert sorted(y for _, y in sloped) == pytest.approx([1168, 1168, 1168 + 1150, 1168 + high], abs=1e-3)
    assert measures(document) == [1050, 2440]
    said = " ".join(texts(document))
    for words in (
        "kerf 3.0 mm", "trim 5.0 mm", "flutes upright", "weather face toward you", "keep", "cut 4 to shape"
    ):
        assert words in said
    marks = Counter(t.dxf.text for t in document.modelspace().query('TEXT[layer=="marks"]'))
    assert marks == {"1": 1, "2": 1, "3": 1, "4": 1}
    numbers = sorted(int(t.dxf.text) for t in document.modelspace().query('TEXT[layer=="cut numbers"]'))
    lines = document.modelspace().query('LINE[layer=="cuts"]')
    assert numbers == list(range(1, len(lines) + 1))
    # the rip beside panel 3 runs in the middle of the kerf: 5 + 327 + 1.5
    assert any(
        line.dxf.start.x == line.dxf.end.x == pytest.approx(333.5)
        and {line.dxf.start.y, line.dxf.end.y} == {5, 1165}
        for line in lines
    )


def test_no_saw_line_runs_through_a_part(folder: Path) -> None:
    """The middle of a kerf is half a kerf from every part of the plan; here every part is convex."""
    for name in ("sheet-01", "sheet-02", "sheet-03", "sheet-04"):
        document = ezdxf.readfile(folder / f"{name}.dxf")
        parts = outlines(document, "parts")
        for line in document.modelspace().query('LINE[layer=="cuts"]'):
            for share in (0.01, 0.25, 0.5, 0.75, 0.99):
                at = line.dxf.start.lerp(line.dxf.end, share)
                assert not any(inside((at.x, at.y), part) for part in parts), (name, line.dxf.start, at)


def inside(at: tuple[float, float], corners: Sequence[tuple[float, float]], clear: float = -1e-6) -> bool:
    """Say whether a point lies inside a convex polygon that runs counter-clockwise."""
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        long = math.hypot(x2 - x1, y2 - y1)
        if ((x2 - x1) * (at[1] - y1) - (y2 - y1) * (at[0] - x1)) / long <= -clear:
            return False
    return True


def test_copies_and_a_shared_slope(tmp_path: Path) -> None:
    """Two sheets cut alike carry both marks; the sloped cut runs half a kerf from both parts."""
    (path,) = write_sheets(DESIGN, Plans((pair_sheets(),), (), ()), tmp_path)
    document = ezdxf.readfile(path)
    assert {"1, 2", "11, 12"} <= set(texts(document))
    assert any("cut 2 sheets alike" in words for words in texts(document))
    said = texts(document)
    assert any(words.startswith("3  sloped cut") and words.endswith("1, 2 + 11, 12") for words in said)
    slope = next(
        line for line in document.modelspace().query('LINE[layer=="cuts"]')
        if 1 < abs(line.dxf.start.y - line.dxf.end.y) < 200
    )
    low, high = outlines(document, "parts")
    for corner in ((0, 600), (400, 700)):
        assert any(math.dist(corner, p) < 1e-3 for p in low)
        assert distance(corner, slope) == pytest.approx(1.5, abs=1e-3)
    upper = sorted(high, key=lambda p: p[1])[:2]
    assert [distance(corner, slope) for corner in upper] == pytest.approx([1.5, 1.5], abs=1e-3)


def distance(at: tuple[float, float], line: Any) -> float:
    start, end = line.dxf.start, line.dxf.end
    way = end - start
    return abs(way.x * (at[1] - start.y) - way.y * (at[0] - start.x)) / way.magnitude  # type: ignore[no-any-return]


def test_panels_measured_back(folder: Path) -> None:
    document = ezdxf.readfile(folder / "panel-04.dxf")
    (outline,) = outlines(document, "parts")
    high = 1150 + 660 / 7
    wanted = sorted([(0, 0), (660, 0), (660, 1150), (0, high)])
    for seen, corner in zip(sorted(outline), wanted, strict=True):
        assert seen == pytest.approx(corner)
    assert measures(document) == pytest.approx([660, 1150, round(high, 3)])
    said = " ".join(texts(document))
    for words in (
        "LEFT bay 1 tier 1", "weather face toward you", "flutes upright", "slot 22.0 mm deep", "UP",
    ):
        assert words in said
    assert len(document.modelspace().query('LINE[layer=="flutes"]')) == 3


def test_holes_of_a_panel_are_drawn_where_they_are(tmp_path: Path) -> None:
    gusset = DESIGN.part("FG1")
    panel = replace(gusset, kind="panel", mark="9")
    write_panels(replace(DESIGN, parts=(panel,)), tmp_path)
    document = ezdxf.readfile(tmp_path / "panel-09.dxf")
    circles = document.modelspace().query('CIRCLE[layer=="holes"]')
    holes = sorted((c.dxf.center.x, c.dxf.center.y, 2 * c.dxf.radius) for c in circles)
    assert holes == [(19, 95, 6.5), (20, 20, 5), (110, 19, 5)]


def test_inch_words_and_metric_words(folder: Path, tmp_path: Path) -> None:
    """584.2 mm is 23 in by definition; dimensions measure mm in both."""
    outline = ((0.0, 0.0), (584.2, 0.0), (584.2, 300.0), (0.0, 300.0))
    cut = replace(DESIGN.part("1").cut, width_mm=584.2, height_mm=300.0, outline=outline)
    part = replace(DESIGN.part("1"), cut=cut)
    for units, shown in (("inch", "23 in"), ("metric", "<>")):
        where = tmp_path / units
        where.mkdir()
        write_panels(replace(DESIGN, parts=(part,), units=units), where)
        document = ezdxf.readfile(where / "panel-01.dxf")
        assert measures(document) == [300, 584.2]
        assert any(dim.dxf.text == shown for dim in document.modelspace().query("DIMENSION"))
    metric = ezdxf.readfile(tmp_path / "metric" / "panel-01.dxf")
    drawn = [
        text.dxf.text if text.dxftype() == "TEXT" else text.text
        for dim in metric.modelspace().query("DIMENSION")
        for text in dim.get_geometry_block().query("TEXT MTEXT")
    ]
    assert sorted(drawn) == ["300", "584.2"]


def test_elevations_show_every_part_of_every_frame_in_true_size(folder: Path) -> None:
    document = ezdxf.readfile(folder / "elevations.dxf")
    members = outlines(document, "members")
    assert len(members) == 10
    assert (900, 38) in sizes(members)
    assert (482, 38) in sizes(members)
    assert (700, 138) in sizes(members)  # sloped head: 38 upright, rises 100 over 700
    panels = sizes(outlines(document, "panels"))
    assert (511, 590) in panels
    assert (940, 760) in panels  # roof panel in true size, seen square to the slope
    assert (690, 1100) in panels
    marks = {text.dxf.text for text in document.modelspace().query('TEXT[layer=="marks"]')}
    assert marks == {part.mark for part in DESIGN.parts}
    length = round(math.hypot(700, 100), 3)
    assert Counter(measures(document)) == Counter(
        {900: 4, 539: 2, 361: 2, 1200: 4, 629: 2, 571: 2, 700: 2, 1300: 2, length: 2}
    )


def test_the_page_is_ready_to_print(folder: Path) -> None:
    for path in sorted(folder.iterdir()):
        document = ezdxf.readfile(path)
        for name in document.layouts.names():
            if name != "Model":
                check_page(document, document.layout(name), path.stem)
    document = ezdxf.readfile(folder / "elevations.dxf")
    assert document.layouts.names_in_taborder() == ["Model", "FRONT", "LEFT", "ROOF"]


def check_page(document: Any, page: Any, number: str) -> None:
    """The page is Letter, and the window shows at a round scale all that the drawing or its frame has."""
    small, large = (round(side, 1) for side in sorted((page.dxf.paper_width, page.dxf.paper_height)))
    assert (small, large) == (215.9, 279.4)
    port = next(view for view in page.query("VIEWPORT") if view.dxf.id != 1)
    scale = port.dxf.view_height / port.dxf.height
    assert any(scale == pytest.approx(known) for known in SCALES)
    middle = port.dxf.view_center_point
    half = (port.dxf.width * scale / 2, port.dxf.height * scale / 2)
    if number in ("elevations", "frame-parts"):
        layers = ("members", "panels", "tracks", "parts")
        points = [p for layer in layers for o in outlines(document, layer) for p in o]
        near = [p for p in points if abs(p[0] - middle.x) < half[0]]
        assert near
    else:
        low, up = document.header["$EXTMIN"], document.header["$EXTMAX"]
        near = [low, up]
    for point in near:
        assert abs(point[0] - middle.x) <= half[0]
        assert abs(point[1] - middle.y) <= half[1]
    (title,) = page.query("INSERT")
    fields = {attribute.dxf.tag: attribute.dxf.text for attribute in title.attribs}
    assert fields["SHELTER"] == DESIGN.name
    assert fields["SCALE"] == f"1:{scale:.0f}"
    assert fields["NUMBER"] == number
    assert fields["PROJECTION"] == "third angle"  # Letter paper


def test_words_do_not_overlap(folder: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    kept: list[tuple[str, Drawing]] = []
    finish = Drawing.finish

    def keep(self: Drawing, path: Path) -> Path:
        kept.append((path.name, self))
        return finish(self, path)

    monkeypatch.setattr(Drawing, "finish", keep)
    write_sheets(DESIGN, PLANS, tmp_path)
    write_panels(DESIGN, tmp_path)
    write_elevations(DESIGN, tmp_path)
    write_frame_parts(DESIGN, tmp_path)
    write_details(DESIGN, tmp_path)
    assert len(kept) == 17
    for name, drawing in kept:
        words = drawing.boxes
        for i, one in enumerate(words):
            for two in words[i + 1:]:
                apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
                around = all(one[k] <= two[k] for k in (0, 1)) and all(one[k] >= two[k] for k in (2, 3))
                within = all(two[k] <= one[k] for k in (0, 1)) and all(two[k] >= one[k] for k in (2, 3))
                assert apart or around or within, (name, one, two)  # a number lies within its own circle


def test_for_machines_only_the_paths(folder: Path, tmp_path: Path) -> None:
    write_sheets(DESIGN, PLANS, tmp_path, words=False)
    write_panels(DESIGN, tmp_path, words=False)
    write_elevations(DESIGN, tmp_path, words=False)
    write_frame_parts(DESIGN, tmp_path, words=False)
    write_details(DESIGN, tmp_path, words=False)
    for path in sorted(tmp_path.iterdir()):
        bare, full = ezdxf.readfile(path), ezdxf.readfile(folder / path.name)
        assert not bare.modelspace().query("TEXT MTEXT DIMENSION HATCH")
        for layer in ("parts", "sheet edge", "members", "panels"):
            assert outlines(bare, layer) == outlines(full, layer) or path.name == "elevations.dxf"


def test_the_same_design_gives_the_same_bytes_whatever_the_hash_seed(folder: Path, tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path; from tests.hand_made import small_design as d\n"
        "from tests.hand_plans import small_plans as p; from enclosure.outputs.dxf import *\n"
        "where = Path(sys.argv[1]); write_sheets(d(), p(), where); write_panels(d(), where)\n"
        "write_elevations(d(), where); write_frame_parts(d(), where); write_details(d(), where)\n"
    )
    environment = {**os.environ, "PYTHONHASHSEED": "123"}
    subprocess.run([sys.executable, "-c", script, str(tmp_path)], check=True, env=environment, cwd=ROOT)
    for path in sorted(folder.iterdir()):
        assert path.read_bytes() == (tmp_path / path.name).read_bytes(), path.name


def test_importing_the_module_does_not_load_ezdxf() -> None:
    script = "import sys, enclosure.outputs.dxf; sys.exit('ezdxf' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", script], cwd=ROOT, check=False).returncode == 0


# --- when things go wrong ---------------------------------------------------------


def test_a_file_that_reads_back_different_is_refused(folder: Path, tmp_path: Path) -> None:
    path = folder / "panel-01.dxf"
    wanted = [("parts", ((0.0, 0.0), (511.0, 0.0), (511.0, 590.0), (0.0, 590.0)))]
    read_back(path, wanted)
    moved = [("parts", ((0.0, 0.0), (511.0, 0.0), (511.0, 590.00001), (0.0, 590.0)))]
    with pytest.raises(VerifyError, match="reads back other than drawn"):
        read_back(path, moved)
    with pytest.raises(VerifyError, match="1 closed outlines; 2 were drawn"):
        read_back(path, wanted * 2)
    broken = tmp_path / "panel-01.dxf"
    broken.write_bytes(path.read_bytes()[:9000])
    with pytest.raises(VerifyError):
        read_back(broken, wanted)


def test_a_folder_that_cannot_be_written_is_an_output_error(tmp_path: Path) -> None:
    with pytest.raises(OutputError, match="cannot be written"):
        write_panels(DESIGN, tmp_path / "missing")


def test_words_that_dxf_would_read_as_codes_are_defused(tmp_path: Path) -> None:
    assert clean("50%%d ^J a\nb\x07") == "50% %d ^ J a b"
    assert clean("") == " "
    name = "Zoë's %%c house\n^M 温室"
    write_panels(replace(DESIGN, name=name, parts=(DESIGN.part("1"),)), tmp_path)
    document = ezdxf.readfile(tmp_path / "panel-01.dxf")
    (title,) = document.layout("page").query("INSERT")
    assert title.attribs[0].dxf.text == "Zoë's % %c house ^ M 温室"


def test_the_projection_symbol_is_in_the_block_and_follows_the_paper(tmp_path: Path) -> None:
    """ISO 5456-2: a cone from the side and two circles from the left; first angle has the circles at the right."""
    papers = {"Letter": "third angle", "Tabloid": "third angle", "A4": "first angle", "A3": "first angle"}
    for paper, said in papers.items():
        write_panels(replace(DESIGN, paper=paper, parts=(DESIGN.part("1"),)), tmp_path)
        document = ezdxf.readfile(tmp_path / "panel-01.dxf")
        block = document.blocks.get("TITLE")
        circles = block.query("CIRCLE")
        (cone,) = (line for line in block.query("LWPOLYLINE") if len({y for _, y in line.get_points("xy")}) == 4)
        corners = list(cone.get_points("xy"))
        high = {x: max(b for a, b in corners if a == x) - min(b for a, b in corners if a == x) for x, _ in corners}
        narrow, wide = min(high), max(high)
        assert high[narrow] == pytest.approx(high[wide] / 2)  # its narrow end is at the left
        assert sorted(2 * circle.dxf.radius for circle in circles) == pytest.approx([high[narrow], high[wide]])
        beside = all(circle.dxf.center.x > wide for circle in circles)
        assert beside == (said == "first angle"), paper
        (title,) = document.layout("page").query("INSERT")
        assert {a.dxf.tag: a.dxf.text for a in title.attribs}["PROJECTION"] == said


@pytest.mark.regression
def test_hull_by_hand() -> None:
    square = [(0.0, 0.0), (2.0, 0.0), (2.0, 1.0), (0.0, 1.0)]
    assert set(hull([*square, (1.0, 0.5), (1.0, 0.0), (2.0, 1.0 + 1e-9)])) == set(square)
    assert hull([(0, 0), (0, 0), (1, 1)]) == ((0, 0), (1, 1))


def test_hull_agrees_with_scipy() -> None:
    """scipy.spatial.ConvexHull (the Qhull library) finds the same corners of random points, thin strips among them."""
    chance = random.Random(7)
    for high in (0.2, 40.0, 2500.0):
        for _ in range(30):
            points = [(chance.uniform(0, 2500), chance.uniform(0, high)) for _ in range(40)]
            wanted = {points[corner] for corner in ConvexHull(points).vertices}
            found = hull(points)
            assert len(found) == len(wanted)
            assert all(min(math.dist(one, two) for two in wanted) < 1e-5 for one in found)


def test_numbers_that_read_upside_down_get_a_bar(folder: Path, tmp_path: Path) -> None:
    assert [n for n in range(1, 101) if reads_upside_down(str(n))] == [
        6, 9, 60, 66, 68, 69, 86, 89, 90, 96, 98, 99
    ]
    write_panels(replace(DESIGN, parts=(replace(DESIGN.part("1"), mark="6"),)), tmp_path)
    for path, bars in ((tmp_path / "panel-06.dxf", 1), (folder / "panel-01.dxf", 0)):
        assert len(ezdxf.readfile(path).modelspace().query('LINE[layer=="marks"]')) == bars


def test_a_very_large_drawing_gets_the_last_scale() -> None:
    title = Title("s", "d", "n", 1, 1, "mm")
    assert Drawing(title, "A4", (400_000, 10), words=False).scale == SCALES[-1]
    assert dxf_page.page_of("A4", (100.0, 100.0), (20.0, 20.0, 20.0, 20.0))[1] == 1
