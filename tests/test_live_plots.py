"""Are the plots written, the same for the same input, and drawn with what was computed?"""

from __future__ import annotations

import io
import sys
from functools import lru_cache
from itertools import pairwise
from pathlib import Path

import pytest
from PIL import Image

from enclosure.brief.read import read_all
from enclosure.checks.live_inputs import living
from enclosure.choose.compare import compare
from enclosure.errors import OutputError
from enclosure.outputs import plots
from enclosure.outputs.plots import (
    cost_plot,
    grouped_losses,
    living_plots,
    losses_plot,
    spread_labels,
    yearly_totals,
)
from enclosure.shape.build import build
from enclosure.shape.limits import SpanLimits

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


@lru_cache
def whole(name: str):
    brief, site, stock = read_all(BRIEFS / f"{name}.toml")
    return build(brief, site, stock, SpanLimits()), brief, site, stock


@lru_cache
def comparison(name: str):
    brief, site, stock = read_all(BRIEFS / f"{name}.toml")
    return compare(brief, site, stock, limits_of=lambda *_: SpanLimits())


@lru_cache
def pictures(name: str):
    return living_plots(*whole(name), comparison(name))


@pytest.mark.parametrize("name", ["tree-fern", "potted-lemon"])
def test_every_plot_is_a_picture_with_ink_on_it(name):
    made = pictures(name)
    assert set(made) == {"losses", "winter", "sun", "cost"}
    for data in made.values():
        image = Image.open(io.BytesIO(data)).convert("L")
        assert image.width == 1340
        dark = sum(image.histogram()[:128]) / (image.width * image.height)
        assert 0.005 < dark < 0.4


def test_same_input_same_bytes():
    assert living_plots(*whole("tree-fern"), comparison("tree-fern")) == pictures("tree-fern")
    for kind in ("pdf", "svg"):
        here = living(*whole("tree-fern"))
        assert losses_plot(here, kind) == losses_plot(here, kind)


def test_losses_of_a_face_are_skin_frame_and_track_together():
    here = living(*whole("banana-clump"))
    groups = dict(grouped_losses(here.network))
    assert sum(groups.values()) == pytest.approx(here.network.shelter_w_k)
    front = sum(
        x.conductance_w_k for x in here.network.losses if x.name.startswith("FRONT") and "tier" not in x.name
    )
    assert groups["FRONT"] == pytest.approx(front)
    assert {"air change", "ground edge", "ROOF"} <= set(groups)


def test_cost_lines_start_at_the_purchase_and_end_at_the_total():
    for one in comparison("tree-fern").outcomes:
        if not one.problem:
            line = yearly_totals(one, 5)
            assert line[0] == pytest.approx(one.purchase)
            assert line[-1] == pytest.approx(one.total())
    apart = spread_labels([(10.0, 1), (10.2, 2), (30.0, 3)], 2.0)
    assert [number for _, number in apart] == [1, 2, 3]
    assert all(b[0] - a[0] >= 2.0 - 1e-9 for a, b in pairwise(apart))
    # by hand: 10.0 and 10.2 part evenly round 10.1, 30 stays; three in one place stand round it
    assert apart == [(pytest.approx(9.1), 1), (pytest.approx(11.1), 2), (30.0, 3)]
    assert spread_labels([(5.0, 1), (5.0, 2), (5.0, 3)], 1.0) == [(4.0, 1), (5.0, 2), (6.0, 3)]


def test_inch_papers_have_their_temperatures_in_fahrenheit():
    here = living(*whole("tree-fern"))
    assert losses_plot(here, units="inch") != losses_plot(here, units="metric")
    said_inch = plots._thermometer("inch")
    assert said_inch[1] == "°F"
    assert [said_inch[0](degc) for degc in (-40.0, 0.0, 100.0)] == [-40.0, 32.0, 212.0]


def test_unknown_format_and_missing_library_are_said(monkeypatch):
    with pytest.raises(OutputError, match="cannot be written as gif"):
        cost_plot(comparison("tree-fern"), "gif")
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(OutputError, match="matplotlib"):
        losses_plot(living(*whole("tree-fern")))


def test_site_without_monthly_means_still_shows_the_losses():
    design, brief, site, stock = whole("tree-fern")
    bare = site.model_copy(update={"monthly_mean_degc": None})
    assert set(living_plots(design, brief, bare, stock)) == {"losses"}
