"""Are the drawings of the frame's sticks and of the details true to the design, and do they follow it?

Expected sizes are those typed into the hand-made shelter; the files are read with ezdxf.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest

from enclosure.outputs.drawing.frame_pieces import BOLT_MM, HOLE_PLAY_MM, frame_pieces
from enclosure.outputs.drawing.projection import projection_of, symbol
from enclosure.outputs.dxf import write_details, write_frame_parts
from enclosure.shape.model import Design, Fixing, StickCut
from tests.hand_made import FRONT, box, small_design

DESIGN = small_design()


def outlines(document: Any, layer: str) -> list[list[tuple[float, float]]]:
    found = document.modelspace().query(f'LWPOLYLINE[layer=="{layer}"]')
    assert all(line.closed for line in found)
    return [list(line.get_points("xy")) for line in found]


def spread(points: list[tuple[float, float]]) -> tuple[float, float]:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return round(max(xs) - min(xs), 2), round(max(ys) - min(ys), 2)


def marks(document: Any) -> list[str]:
    return [text.dxf.text for text in document.modelspace().query('TEXT[layer=="marks"]')]


def measures(document: Any) -> list[float]:
    return [round(dim.get_measurement(), 2) for dim in document.modelspace().query("DIMENSION")]


def parts_file(design: Design, folder: Path) -> Any:
    path = write_frame_parts(design, folder)
    assert path is not None
    return ezdxf.readfile(path)


# --- sticks -----------------------------------------------------------------------


def test_every_stick_once_equal_ones_together(tmp_path: Path) -> None:
    document = parts_file(DESIGN, tmp_path)
    assert sorted(marks(document)) == ["FM1", "FM2", "FM3, FM4, FM5", "FM6", "LM1", "LM2", "LM3", "LM4"]
    sizes = sorted(spread(points) for points in outlines(document, "parts"))
    # the head of the left frame: 707.4 to cut, 38 square to its length
    assert [size[0] for size in sizes] == [482, 700, 707.4, 900, 900, 1124, 1129.4, 1224]
    assert {size[1] for size in sizes} == {38, round(38 * 7 / math.hypot(7, 1), 2)}
    texts = [text.dxf.text for text in document.modelspace().query('TEXT[layer=="words"]')]
    assert any(words.startswith("3 x stile, mullion, ") for words in texts)


def test_lengths_along_both_edges_are_dimensioned(tmp_path: Path) -> None:
    """LM3 is 1224 long on one edge and 38/7 less on the other: two lengths make its sloped end."""
    found = measures(parts_file(DESIGN, tmp_path))
    assert 1224 in found
    assert round(1224 - 38 / 7, 2) in found
    assert round(1129.4 - 38 / 7, 2) in found


def test_holes_lie_where_the_bolts_run(tmp_path: Path) -> None:
    """Two corner bolts run front to back at x = 19 and 881, 19 mm up: through the face of the sill alone."""
    document = parts_file(DESIGN, tmp_path)
    circles = document.modelspace().query('CIRCLE[layer=="holes"]')
    assert [2 * circle.dxf.radius for circle in circles] == [BOLT_MM + HOLE_PLAY_MM] * 2 == [9.0, 9.0]
    sill = next(points for points in outlines(document, "parts") if _holds(points, circles[0].dxf.center))
    left, low = min(x for x, _ in sill), min(y for _, y in sill)
    assert spread(sill) == (900, 38)
    places = [(c.dxf.center.x - left, c.dxf.center.y - low) for c in circles]
    assert places == [pytest.approx((19, 19)), pytest.approx((881, 19))]
    assert {19.0, 881.0} <= set(measures(document))


def _holds(points: list[tuple[float, float]], at: Any) -> bool:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return bool(min(xs) < at.x < max(xs) and min(ys) < at.y < max(ys))


def test_a_bolt_upright_through_two_frames_is_seen_from_above() -> None:
    """A tier bolt at x = 250 in the middle of the sill's depth: 30 from its outward side."""
    bolt = Fixing("bolt_m8", "Bolt", "tier bolts", ((250.0, 30.0, 38.0),), "each", 1.0)
    pieces = frame_pieces(replace(DESIGN, fixings=(bolt,)))
    bored = {piece.parts[0].mark: piece.bores for piece in pieces if piece.bores}
    (bore,) = bored.pop("FM1")
    assert (bore.edge, bore.x_mm, bore.across_mm) == (True, 250.0, 30.0)
    assert not bored


def test_turned_round_is_the_same_piece_mirrored_is_not() -> None:
    """A slope at the right end of one, at the left of the other: one turned over. With a hole off the middle: two."""
    first, second = DESIGN.part("LM3"), DESIGN.part("FM3")
    ends = ((38.0, 38.0), (76.0, 38.0), (76.0, 1262.0), (38.0, 1262 - 38 / 7))
    solid = replace(first.solids[0], outline=ends)
    twin = replace(second, mark="LM9", face="LEFT", cut=first.cut, solids=(solid,))
    design = replace(DESIGN, parts=(first, twin), fixings=())
    assert [len(piece.parts) for piece in frame_pieces(design)] == [2]
    for off, count in ((30.0, [2]), (20.0, [1, 1])):  # the frame is 60 deep
        bolt = Fixing("bolt_m8", "Bolt", "corner bolts", ((off, 741.0, 300.0),), "each", 1.0)
        pieces = frame_pieces(replace(design, fixings=(bolt,)))
        assert [len(piece.parts) for piece in pieces] == count
        for piece in pieces:
            (bore,) = piece.bores
            assert (bore.edge, bore.across_mm, bore.x_mm) == (True, off, 262.0)  # the stile stands 38 up


def test_a_longer_stick_makes_a_longer_drawing(tmp_path: Path) -> None:
    longer = replace(
        DESIGN.part("FM6"), cut=StickCut(501.0), solids=(box(FRONT, 38, 610, 501, 38, -60, 0),)
    )
    parts = tuple(longer if part.mark == "FM6" else part for part in DESIGN.parts)
    document = parts_file(replace(DESIGN, parts=parts), tmp_path)
    assert 501 in [spread(points)[0] for points in outlines(document, "parts")]
    assert 501 in measures(document)


def test_a_length_rounded_down_is_drawn_as_it_is_cut(tmp_path: Path) -> None:
    shorter = replace(DESIGN.part("FM6"), cut=StickCut(481.0125))
    parts = tuple(shorter if part.mark == "FM6" else part for part in DESIGN.parts)
    document = parts_file(replace(DESIGN, parts=parts), tmp_path)
    assert 481.01 in [spread(points)[0] for points in outlines(document, "parts")]


def test_the_views_lie_after_the_projection(tmp_path: Path) -> None:
    """Third angle: what is seen from above stands above; first angle: below (ISO 5456-2)."""
    for paper, above in (("Letter", True), ("A4", False)):
        document = parts_file(replace(DESIGN, paper=paper, parts=(DESIGN.part("FM1"),)), tmp_path)
        (face,) = outlines(document, "parts")
        edge = next(points for points in outlines(document, "other views") if spread(points)[0] == 900)
        assert (min(y for _, y in edge) > max(y for _, y in face)) == above


def test_the_symbol_shows_the_same_cone_in_both_projections() -> None:
    first, third = (symbol(projection_of(paper), 6.0) for paper in ("A4", "Letter"))
    assert first.width == pytest.approx(third.width)
    assert min(x for x, _ in first.cone) < first.circles[0][0][0]
    assert min(x for x, _ in third.cone) > third.circles[0][0][0]


def test_a_design_without_sticks_has_no_such_file(tmp_path: Path) -> None:
    assert write_frame_parts(replace(DESIGN, parts=(DESIGN.part("1"),)), tmp_path) is None
    assert not list(tmp_path.iterdir())


# --- details ----------------------------------------------------------------------


def detail(design: Design, name: str, folder: Path) -> Any:
    write_details(design, folder)
    return ezdxf.readfile(folder / f"detail-{name}.dxf")


def test_sill_brick_and_panel_are_cut_where_they_stand(tmp_path: Path) -> None:
    """y to the right, z up: sill 60 deep and 38 high, brick 102.5 wide and 65 high, 50 beyond the frame."""
    document = detail(DESIGN, "sill", tmp_path)
    assert [spread(points) for points in outlines(document, "members")] == [(60, 38)]
    (brick,) = outlines(document, "base ring")
    assert spread(brick) == (102.5, 65)
    assert min(brick) == pytest.approx((-50, -65))
    assert {60, 38, 102.5, 65, 50} <= set(measures(document))
    assert len(document.modelspace().query("HATCH")) == 2


def test_the_corner_shows_the_bolt_of_the_model(tmp_path: Path) -> None:
    """The hole runs at x = 19, 9 wide, through the 60 deep sill of the front frame."""
    document = detail(DESIGN, "corner", tmp_path)
    lines = document.modelspace().query('LINE[layer=="holes"]')
    assert sorted(line.dxf.start.x for line in lines) == pytest.approx([14.5, 23.5])
    assert all({round(line.dxf.start.y, 3), round(line.dxf.end.y, 3)} == {0, 60} for line in lines)
    assert {19, 60} <= set(measures(document))
    moved = replace(DESIGN.fixings[0], positions=((24.0, 30.0, 19.0),))
    document = detail(replace(DESIGN, fixings=(moved,)), "corner", tmp_path)
    lines = document.modelspace().query('LINE[layer=="holes"]')
    assert sorted(line.dxf.start.x for line in lines) == pytest.approx([19.5, 28.5])


def test_a_deeper_slot_changes_the_track(tmp_path: Path) -> None:
    """Slot 22 deep, gap 6.5 along: 15.5 covered as cut. Made 27 deep, 20.5 are."""
    for slot, covered in ((22.0, 15.5), (27.0, 20.5)):
        parts = tuple(
            replace(part, fit=replace(part.fit, slot_depth_mm=slot)) if part.fit is not None else part
            for part in DESIGN.parts
        )
        document = detail(replace(DESIGN, parts=parts), "track", tmp_path)
        tracks, panels = outlines(document, "tracks"), outlines(document, "panels")
        assert len(tracks) == len(panels) == 6
        mouth = max(x for x, _ in tracks[0])
        assert mouth - min(x for x, _ in panels[0]) == pytest.approx(covered)
        assert {slot, covered, 10.0} <= set(measures(document))


def test_hot_and_cold_cover_by_hand(tmp_path: Path) -> None:
    """Movement 5.1 over 80 K: 1.9125 of growth to the hottest, half at each end; 3.1875 of shrinkage to the coldest.

    Gap 6.5, slot 22. Hottest: 6.5 - 0.95625 of gap. Coldest, hard to the left: 13 + 3.1875 of gap at the right.
    """
    document = detail(DESIGN, "track", tmp_path)
    tracks, panels = outlines(document, "tracks"), outlines(document, "panels")
    gaps = []
    for row in range(3):
        web = max(x for x, _ in tracks[2 * row]) - 22
        far = min(x for x, _ in tracks[2 * row + 1]) + 22
        gaps.append((min(x for x, _ in panels[2 * row]) - web, far - max(x for x, _ in panels[2 * row + 1])))
    assert gaps == [
        pytest.approx((6.5, 6.5)), pytest.approx((5.54375, 5.54375)), pytest.approx((0.0, 16.1875)),
    ]  # fmt: skip


def test_a_thicker_roof_rises_in_the_roof_edge(tmp_path: Path) -> None:
    document = detail(DESIGN, "roof-edge", tmp_path)
    assert 10.0 in measures(document)
    thick = replace(DESIGN.part("5"), solids=(replace(DESIGN.part("5").solids[0], depth=16.0),))
    parts = tuple(thick if part.mark == "5" else part for part in DESIGN.parts)
    document = detail(replace(DESIGN, parts=parts), "roof-edge", tmp_path)
    assert 16.0 in measures(document)


def test_a_detail_is_full_size_where_the_page_holds_it(tmp_path: Path) -> None:
    paths = write_details(DESIGN, tmp_path)
    for path in paths:
        document = ezdxf.readfile(path)
        (title,) = document.layout("page").query("INSERT")
        fields = {attribute.dxf.tag: attribute.dxf.text for attribute in title.attribs}
        assert fields["PAGE"].endswith(f"of {len(paths)}")
        assert fields["SCALE"] in ("1:1", "1:2")
    assert fields["SCALE"] == "1:1"  # the track, last
