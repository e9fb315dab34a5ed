"""Random but legal shelters for property tests: unequal walls, mixed skins, all roofs, both units."""

from __future__ import annotations

from functools import cache
from pathlib import Path

from hypothesis import strategies as st

from enclosure.brief.model import Brief, Vent
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.shape.build import build
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock

HOME = Path(__file__).parent.parent
BRIEFS = tuple(sorted((HOME / "templates" / "briefs").glob("*.toml")))


@cache
def shipped(name: str = "tree-fern") -> tuple[Brief, Site, Stock]:
    return read_all(HOME / "templates" / "briefs" / f"{name}.toml")


@cache
def shipped_design(name: str = "tree-fern") -> Design:
    brief, site, stock = shipped(name)
    return build(brief, site, stock, span_limits(brief, site, stock))


def design_of(brief: Brief) -> Design:
    _, site, stock = shipped()
    return build(brief, site, stock, span_limits(brief, site, stock))


def changed(brief: Brief, **rooms: dict[str, object]) -> Brief:
    """Return a brief with some fields of some rooms changed."""
    return brief.model_copy(
        update={room: getattr(brief, room).model_copy(update=fields) for room, fields in rooms.items()}
    )


@st.composite
def briefs(draw: st.DrawFn) -> Brief:
    base, _, stock = shipped()
    skins = sorted(stock.skins)
    kind = draw(st.sampled_from(["flat", "mono", "gable"]))
    fall = 0.0 if kind == "flat" else float(draw(st.sampled_from([10, 13, 18, 25])))
    skin = draw(st.sampled_from(skins))
    faces = dict.fromkeys(("front", "right", "back", "left", "roof"), skin)
    faces[draw(st.sampled_from(sorted(faces)))] = draw(st.sampled_from(skins))
    brief = changed(
        base,
        roof={
            "kind": kind, "fall_deg": fall, "falls_to": draw(st.sampled_from(["front", "right", "back", "left"])),
            "ridge": draw(st.sampled_from("xy")), "drip_edge_mm": draw(st.sampled_from([25.0, 40.0, 60.0])),
        },
        skin=faces,
        plant={
            "height_mm": draw(st.floats(500, 2900)), "spread_x_mm": draw(st.floats(300, 2300)),
            "spread_y_mm": draw(st.floats(300, 1700)), "growth_height_mm": draw(st.floats(0, 60)),
        },
        frame={
            "section": draw(st.sampled_from(["2x2", "2x2", "2x3"])), "on_edge": draw(st.booleans()),
            "roof_section": draw(st.sampled_from([None, "2x2", "2x3"])),
            "levels": draw(st.sampled_from([None, None, 1, 2])), "transoms": draw(st.sampled_from([None, 0, 1])),
        },
        papers={"units": draw(st.sampled_from(["inch", "metric"]))},
        people={"count": draw(st.integers(1, 3))},
    )  # fmt: skip
    wall = draw(st.sampled_from([None, "front", "back", "left"]))
    share = draw(st.sampled_from([0.1, 0.2]))
    return brief.model_copy(update={"vent": Vent.model_construct(wall=wall, share=share) if wall else None})
