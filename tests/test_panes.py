"""Are panes that are made to size ordered one by one, and never cut at home?

Rule of the trade: toughened glass cannot be cut after toughening, so panes are ordered to size (EN 12150-1,
from memory: all cutting and drilling come before toughening). That a made pane is charged like the listed size
that holds it is common practice, no source.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from enclosure.audit.folder import audit_folder
from enclosure.choose.reused import offcut_rows
from enclosure.nesting.cutting import cut_everything
from enclosure.nesting.demand import sheet_demands_of
from enclosure.nesting.sheets import solve_sheets
from enclosure.outputs.drawing.sheet_pages import sheet_pages
from enclosure.outputs.table_rows import cut_list
from enclosure.pipeline.make import make
from enclosure.pipeline.walk import Shelter, design_from
from enclosure.shape.model import SheetCut
from enclosure.templates_home import find_template
from tests.paper_pages import text_of


@pytest.fixture(scope="module")
def olive() -> Shelter:
    return design_from(find_template("briefs", "olive-glass"))


def glass_of(shelter: Shelter) -> list:
    return [part for part in shelter.design.panels() if part.material == "glass-4"]


def test_every_pane_is_a_line_of_its_own_size_at_the_price_of_the_size_that_holds_it(olive: Shelter) -> None:
    plans = cut_everything(olive.design, olive.stock)
    panes = glass_of(olive)
    lines = [line for line in plans.buying if line.unit == "pane"]
    assert sum(line.count for line in lines) == len(panes) > 0
    sizes = olive.stock.skins["glass-4"].sizes
    for line in lines:
        width, height = (float(side.removesuffix(" mm")) for side in line.size_text.split(" x "))
        holds = [
            size.price
            for size in sizes
            if max(size.width_mm, size.height_mm) >= max(width, height)
            and min(size.width_mm, size.height_mm) >= min(width, height)
        ]
        assert line.unit_price_cents == round(100 * min(holds))
    assert not [page for page in sheet_pages(plans) if page.sheets.material == "glass-4"]
    sources = {row[0]: row[-2] for row in cut_list(olive.design, plans).rows}
    assert {sources[pane.mark] for pane in panes} == {"made to size"}
    assert not [row for row in offcut_rows(plans, 20.0, 20.0) if row.material == "glass-4"]


def test_two_small_panes_never_come_from_one_listed_size(olive: Shelter) -> None:
    """200 x 300 mm would lie six times in 600 x 1200 mm; a cutting plan would buy one, an order has two."""
    pane = glass_of(olive)[0]
    corners = ((0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 300.0))
    small = [replace(pane, mark=str(n), cut=SheetCut(200.0, 300.0, corners, True)) for n in (91, 92)]
    (demand,) = sheet_demands_of(small, olive.stock)
    plan = solve_sheets(demand.job)
    assert demand.ordered
    assert sum(pattern.copies for pattern in plan.patterns) == 2
    assert plan.price == 2 * 4400


def test_the_stock_file_may_say_that_glass_is_cut_at_home(olive: Shelter) -> None:
    skin = olive.stock.skins["glass-4"].model_copy(update={"made_to_size": False})
    stock = olive.stock.model_copy(update={"skins": {**olive.stock.skins, "glass-4": skin}})
    plans = cut_everything(olive.design, stock)
    assert [page for page in sheet_pages(plans) if page.sheets.material == "glass-4"]
    assert not [line for line in plans.buying if line.unit == "pane"]


def test_the_packet_lists_panes_to_order_and_draws_no_plan_of_them(tmp_path: Path) -> None:
    out = tmp_path / "olive"
    made = make(find_template("briefs", "olive-glass"), out, solids=False)
    pages = text_of(out / "packet.pdf")
    order = [page for page in pages if page.lstrip().startswith("Panes to order")]
    assert len(order) == 1
    marks = [part.mark for part in made.design.panels() if part.material == "glass-4"]
    for mark in marks:
        assert f"\n{mark} toughened glass" in order[0]
    heads = [page.lstrip().split("\n")[0] for page in pages]
    assert not [head for head in heads if head.startswith("Sheet") and "toughened glass" in head]
    assert not audit_folder(out).findings
