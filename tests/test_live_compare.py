"""Does the comparison of skins add up, mark the right one, and read well?"""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

from enclosure.brief.model import Heat
from enclosure.brief.read import read_all
from enclosure.choose.area_price import area_price, price_m, price_m2, skin_price
from enclosure.choose.compare import (
    Comparison,
    cheapest_alive,
    compare,
    options_for,
    present_worth,
    replacements,
    sunny_wall,
    wall_bearings,
)
from enclosure.choose.compare_table import compare_text
from enclosure.choose.plan_price import plan_price
from enclosure.errors import DesignError, RangeError
from enclosure.shape.build import build
from enclosure.shape.limits import SpanLimits

BRIEFS = Path(__file__).parents[1] / "templates" / "briefs"


def no_limits(brief, site, stock) -> SpanLimits:
    return SpanLimits()


# Heat is set here, so that a change of a template moves no test.
HEAT = {
    "potted-lemon": {
        "source": "light string",
        "watts": 140.0,
        "setpoint_degc": 1.0,
        "tent": True,
        "price_kwh": 0.3,
    },
    "tree-fern": {
        "source": "fan heater",
        "watts": 1500.0,
        "setpoint_degc": 2.0,
        "tent": False,
        "price_kwh": 0.15,
    },
    "olive-glass": {"source": "none", "watts": 0.0},
}


@lru_cache
def files(name: str):
    brief, site, stock = read_all(BRIEFS / f"{name}.toml")
    heat = (brief.heat or Heat(source="none")).model_copy(update=HEAT[name])
    plant = brief.plant.model_copy(update={"limit_degc": {"potted-lemon": -3.0}.get(name, -5.0)})
    cold = site.model_copy(update={"design_min_degc": {"tree-fern": -30.0}.get(name, -8.0)})
    return brief.model_copy(update={"heat": heat, "plant": plant}), cold, stock


@lru_cache
def compared(name: str) -> Comparison:
    return compare(*files(name), limits_of=no_limits)


def by_name(comparison: Comparison, words: str):
    return next(one for one in comparison.outcomes if one.option.name == words)


@pytest.mark.published(
    source="annuity formula, any text on engineering economy",
    where="present worth factor 5 %, 10 years",
    printed="7.7217",
)
def test_present_worth():
    assert present_worth(1.0, 10, 0.05) == pytest.approx(7.7217, abs=5e-5)
    assert present_worth(100.0, 4, 0.0) == pytest.approx(400.0)


def test_replacements_fall_only_within_the_winters():
    assert replacements(10.0, 4.0, 4, 0.0) == 0.0
    assert replacements(10.0, 4.0, 5, 0.0) == 10.0
    assert replacements(10.0, 4.0, 9, 0.0) == 20.0
    assert replacements(10.0, 4.0, 9, 0.05) == pytest.approx(10 / 1.05**4 + 10 / 1.05**8)


def test_sunny_wall_by_bearing_and_hemisphere():
    assert wall_bearings(180.0) == {"front": 180.0, "right": 90.0, "back": 0.0, "left": 270.0}
    assert sunny_wall(180.0, 44.0) == "front"
    assert sunny_wall(180.0, -44.0) == "back"
    assert sunny_wall(90.0, 44.0) == "left"
    assert sunny_wall(160.0, 44.0) == "front"


def test_options_cover_every_clear_skin_and_mixes_and_tents_only_where_safe():
    brief, site, stock = files("potted-lemon")
    options = options_for(brief, site, stock)
    clear = {key for key, skin in stock.skins.items() if skin.light > 0}
    alone = {o.skins[0][1] for o in options if len({k for _, k in o.skins}) == 1}
    assert clear == alone
    assert any("sunny wall" in o.name for o in options)
    assert sum(o.tent for o in options) * 2 == len(options)
    assert len({o.key for o in options}) == len(options)
    fern = options_for(*files("tree-fern"))
    assert not any(o.tent for o in fern)
    assert [o for o in fern if o.asked]


def test_totals_add_up_and_the_order_is_by_total():
    comparison = compared("potted-lemon")
    made = [one for one in comparison.outcomes if not one.problem]
    for one in made:
        assert one.total() == pytest.approx(one.purchase + one.replacement + one.energy_cost)
        assert one.energy_cost == pytest.approx(one.energy_winter_cost * comparison.winters)
        assert one.total(2.0) - one.total(1.0) == pytest.approx(one.energy_cost)
        assert one.lives == (one.lowest_degc <= comparison.design_min_degc + 1e-9)
    assert [one.total() for one in made] == sorted(one.total() for one in made)


def test_the_star_is_the_cheapest_that_lives():
    comparison = compared("potted-lemon")
    living = [one for one in comparison.outcomes if one.lives]
    assert comparison.cheapest is min(living, key=lambda one: one.total())
    assert any(not one.lives for one in comparison.outcomes)
    for factor, key in comparison.winners:
        assert key == cheapest_alive(comparison.outcomes, factor).option.key


def test_physics_orders_the_skins():
    comparison = compared("tree-fern")
    single, double = (
        by_name(comparison, n)
        for n in ("greenhouse film 0.2 mm, one layer", "greenhouse film 0.2 mm, two layers with an air gap")
    )
    assert double.energy_winter_kwh < 0.75 * single.energy_winter_kwh
    assert double.lowest_degc < single.lowest_degc
    assert double.light_mol < single.light_mol
    glass = by_name(comparison, "toughened glass 4 mm")
    assert glass.mass_kg == max(one.mass_kg for one in comparison.outcomes)
    lemon = compared("potted-lemon")
    for one in lemon.outcomes:
        if one.option.tent:
            bare = next(o for o in lemon.outcomes if o.option.skins == one.option.skins and not o.option.tent)
            assert one.heat_needed_w < bare.heat_needed_w
            assert one.energy_winter_kwh < bare.energy_winter_kwh
            assert one.purchase > bare.purchase


@pytest.mark.published(
    source="US cooperative extension module",
    where="double against single glazing",
    printed="saves about 35 percent",
)
def test_double_film_saves_about_a_third():
    comparison = compared("tree-fern")
    single, double = (
        by_name(comparison, n)
        for n in ("greenhouse film 0.2 mm, one layer", "greenhouse film 0.2 mm, two layers with an air gap")
    )
    assert 1 - double.conductance_w_k / single.conductance_w_k == pytest.approx(0.35, abs=0.05)


def test_discount_and_price_by_plan_are_taken():
    brief, site, stock = files("tree-fern")
    told = compare(brief, site, stock, limits_of=no_limits, price_of=lambda *_: 500.0, discount=0.05)
    for one in told.outcomes:
        if not one.problem:
            assert one.purchase == 500.0
            assert one.energy_cost == pytest.approx(
                present_worth(one.energy_winter_cost, brief.winters, 0.05)
            )
    assert any("cutting plan" in note for note in told.notes)
    assert any("5.0%" in note for note in told.notes)
    with pytest.raises(RangeError, match="discount"):
        compare(brief, site, stock, limits_of=no_limits, discount=0.5)


def test_what_cannot_be_made_is_said_and_stands_last():
    brief, site, stock = files("tree-fern")

    def picky(asked, site, stock):
        if asked.skin.roof == "glass-4":
            raise DesignError("the pane is too large")
        return SpanLimits()

    comparison = compare(brief, site, stock, limits_of=picky)
    assert comparison.outcomes[-1].problem == "the pane is too large"
    assert "cannot be made: toughened glass 4 mm: the pane is too large" in compare_text(comparison)


def test_area_prices_by_hand():
    brief, site, stock = files("tree-fern")
    design = build(brief, site, stock, SpanLimits())
    skin = stock.skins["twin-wall-10"]
    size = min(
        skin.sizes, key=lambda s: s.price / ((s.width_mm - 2 * s.trim_mm) * (s.height_mm - 2 * s.trim_mm))
    )
    area = sum(p.cut.width_mm * p.cut.height_mm for p in design.parts if p.kind == "panel")
    each = size.price / ((size.width_mm - 2 * size.trim_mm) * (size.height_mm - 2 * size.trim_mm))
    assert skin_price(design, stock, "twin-wall-10") == pytest.approx(1.15 * area * each)
    assert price_m2(skin.sizes) == pytest.approx(each * 1e6)
    timber = next(iter(stock.timbers.values()))
    assert price_m(timber.lengths) == pytest.approx(min(x.price / x.length_mm * 1000 for x in timber.lengths))
    prices = area_price(design, stock)
    assert min(prices.skins, prices.timber, prices.track, prices.hardware, prices.bricks) > 0
    assert prices.total == pytest.approx(
        prices.skins + prices.timber + prices.track + prices.boards + prices.hardware + prices.bricks
    )


@pytest.mark.slow
@pytest.mark.regression
def test_area_prices_lie_a_little_under_the_cutting_plan():
    brief, site, stock = files("olive-glass")
    design = build(brief, site, stock, SpanLimits())
    by_plan = plan_price(stock, 2000, 200)(design, brief, site, stock)
    assert 0.90 * by_plan < area_price(design, stock).total < 1.02 * by_plan


def test_table_marks_and_words():
    text = compare_text(compared("potted-lemon"))
    rows = text.splitlines()
    assert sum(row.startswith("*  ") for row in rows) == 1
    assert "invented" in text
    assert text.count("energy price x") == 4
    olive = compare_text(compared("olive-glass"))
    assert "none holds it with the heat installed" in olive
    assert "none keeps the plant alive" in olive
    assert text == compare_text(compare(*files("potted-lemon"), limits_of=no_limits))
