"""One plain shelter with every choice fixed, for calculations by hand."""

from __future__ import annotations

from functools import cache

from enclosure.brief.model import Brief, Window
from enclosure.checks.case import Case, case_for
from enclosure.checks.span import span_limits
from enclosure.shape.build import build
from enclosure.shape.model import Design
from enclosure.site.model import Site, Wind
from enclosure.stock.model import Stock
from tests.shelters import changed, shipped


def fixed(value: float) -> Window:
    return Window.model_construct(least_mm=value, most_mm=value)


@cache
def brief() -> Brief:
    """1.8 m plant, 0.9 x 0.8 m, 100 mm free all round, 10 deg to the back, 2x3 on edge, two bays a face."""
    base = changed(
        shipped()[0],
        plant={
            "height_mm": 1800.0, "spread_x_mm": 900.0, "spread_y_mm": 800.0, "growth_height_mm": 0.0,
            "growth_spread_mm": 0.0, "crown_mm": 0.0,
        },
        roof={"kind": "mono", "fall_deg": 10.0, "falls_to": "back", "ridge": "x", "drip_edge_mm": 40.0},
        skin=dict.fromkeys(("front", "right", "back", "left", "roof"), "twin-wall-10"),
        frame={
            "section": "2x3", "roof_section": "2x3", "on_edge": True, "transoms": 1, "levels": 1,
            "bays": dict.fromkeys(("front", "back", "left", "right", "roof"), 2),
            "diagonal": "1x2", "gusset": "ply-9", "brace_screws": 2,
        },
        people={"count": 2},
        papers={"units": "metric"},
        anchors={"posts": 4, "depth_mm": None, "ties": "both", "stakes": 0},
        clearance={"side": fixed(100.0), "top": fixed(100.0)},
    )  # fmt: skip
    return base.model_copy(update={"winters": 1, "vent": None, "base_ring": None})


@cache
def place() -> Site:
    """80 km/h gust, 40 psf of ground snow with 0.4 kPa of rain, garden soil."""
    site = shipped()[1]
    return site.model_copy(
        update={
            "wind": Wind.model_validate({"route": "gust", "gust": "80 km/h"}),
            "snow_ground_kpa": 1.9152, "rain_on_snow_kpa": 0.4, "soil": "garden",
        }
    )  # fmt: skip


def stock() -> Stock:
    return shipped()[2]


@cache
def design() -> Design:
    return build(brief(), place(), stock(), span_limits(brief(), place(), stock()))


def case() -> Case:
    return case_for(design(), brief(), place(), stock())
