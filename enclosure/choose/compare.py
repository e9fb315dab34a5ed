"""Which skin is cheapest over the years the shelter serves, and which keep the plant alive?

Builds the same brief with every sensible skin and mix of the stock list, with
and without a tent, and adds up over the winters served: purchase, energy,
skins that wear out; beside it light, mass and the lowest outdoor temperature
held. Prices of parts come from a cutting plan when the caller hands one in,
otherwise from areas and lengths with a stated allowance. Left out: the value of
what is left at the end, and the grower's time.

Units: money in the currency of the stock list, kWh, kg, °C, W.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from enclosure.brief.model import FACES, Brief
from enclosure.checks.climate import mid_day
from enclosure.checks.heat_network import lowest_outdoor, power_for
from enclosure.checks.live import plant_limit
from enclosure.checks.live_heat_rows import Supply
from enclosure.checks.live_inputs import Living, living
from enclosure.checks.live_power_rows import supply_of
from enclosure.checks.live_season_rows import base_temperature, season_energy
from enclosure.checks.ranges import within
from enclosure.checks.season_calendar import days_by_month, season_days
from enclosure.checks.span import span_limits
from enclosure.checks.sun import daily_light, light_share
from enclosure.choose.area_price import AreaPrice, area_price, skin_price
from enclosure.errors import EnclosureError
from enclosure.language import tr
from enclosure.shape.build import build
from enclosure.shape.limits import SpanLimits
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Skin, Stock

ENERGY_FACTORS = (0.5, 1.0, 1.5, 2.0)
TENT_PRICE_M2 = 3.0
TENT_LIFE_YEARS = 3.0

LimitsOf = Callable[[Brief, Site, Stock], SpanLimits]
PriceOf = Callable[[Design, Brief, Site, Stock], float]


@dataclass(frozen=True, slots=True)
class Option:
    """One skin or mix to try.

    Args:
        key: Unique, for files.
        name: Name for people.
        skins: Skin key of each face: front, right, back, left, roof.
        tent: True with a tent round the plant and the heat inside it.
        asked: True for the skins that the brief itself names.
    """

    key: str
    name: str
    skins: tuple[tuple[str, str], ...]
    tent: bool
    asked: bool = False


@dataclass(frozen=True, slots=True)
class Outcome:
    """What an option costs and does.

    Args:
        option: The option.
        problem: Why it cannot be made; all numbers are 0 then.
        purchase: Price of everything, first year.
        replacement: Price of skins and cloth worn out within the winters served, discounted.
        energy_winter_kwh: Heat that holds the setpoint over a winter [kWh].
        energy_winter_cost: Its price, one winter.
        energy_cost: Its price over all winters, discounted.
        light_mol: Light for the plant on a clear mid-winter day [mol/m² a day].
        mass_kg: Mass of all parts.
        conductance_w_k: From the plant to the outside [W/K].
        heat_needed_w: Heat for the plant's limit on the design night [W].
        lowest_degc: Lowest outdoor temperature at which the heat installed holds the limit [°C].
        lives: True when the plant's limit is held on the design night.
    """

    option: Option
    problem: str = ""
    purchase: float = 0.0
    replacement: float = 0.0
    energy_winter_kwh: float = 0.0
    energy_winter_cost: float = 0.0
    energy_cost: float = 0.0
    light_mol: float = 0.0
    mass_kg: float = 0.0
    conductance_w_k: float = 0.0
    heat_needed_w: float = 0.0
    lowest_degc: float = 0.0
    lives: bool = False

    def total(self, energy_factor: float = 1.0) -> float:
        """Return the cost over all winters with the energy price times a factor."""
        return self.purchase + self.replacement + energy_factor * self.energy_cost


@dataclass(frozen=True, slots=True)
class Comparison:
    """All options of one brief.

    Args:
        outcomes: By rising total; those that cannot be made last.
        cheapest: The cheapest that keeps the plant alive, None when none does.
        winners: For each energy factor the key of the cheapest that keeps the plant alive, "" for none.
        winters: Winters served.
        price_kwh: Energy price.
        discount: Yearly discount rate, 0 for none.
        currency: Of all money.
        limit_degc: Plant's limit.
        design_min_degc: Design night.
        notes: How the figures came about; print them with the table.
    """

    outcomes: tuple[Outcome, ...]
    cheapest: Outcome | None
    winners: tuple[tuple[float, str], ...]
    winters: int
    price_kwh: float
    discount: float
    currency: str
    limit_degc: float
    design_min_degc: float
    notes: tuple[str, ...]


def wall_bearings(front_bearing_deg: float) -> dict[str, float]:
    """Return the compass bearing toward which each wall looks [degrees]."""
    turns = {"front": 0.0, "right": -90.0, "back": 180.0, "left": 90.0}
    return {wall: (front_bearing_deg + turn) % 360.0 for wall, turn in turns.items()}


def sunny_wall(front_bearing_deg: float, latitude_deg: float) -> str:
    """Return the wall that looks most toward the noon sun."""
    noon = 180.0 if latitude_deg >= 0.0 else 0.0
    bearings = wall_bearings(front_bearing_deg)
    return min(bearings, key=lambda wall: (abs((bearings[wall] - noon + 180.0) % 360.0 - 180.0), wall))


def _all(key: str) -> tuple[tuple[str, str], ...]:
    return tuple((face, key) for face in FACES)


def _best_glazing(stock: Stock) -> Skin | None:
    """Return the multiwall sheet of the middle thickness, for mixes; the only clear one otherwise."""
    clear = [skin for skin in stock.skins.values() if skin.light > 0.0]
    sheets = sorted((s for s in clear if s.kind == "multiwall"), key=lambda s: (s.thickness_mm, s.key))
    pool = sheets or sorted(clear, key=lambda s: s.key)
    return pool[len(pool) // 2] if pool else None


def options_for(brief: Brief, site: Site, stock: Stock) -> tuple[Option, ...]:
    """Return every sensible skin and mix of a stock list, with and without a tent.

    A tent is only offered where the heat may be inside it: bulbs, cable, or none.
    """
    asked = tuple((face, str(getattr(brief.skin, face))) for face in FACES)
    found: dict[tuple[tuple[str, str], ...], str] = {asked: ""}
    for skin in sorted(stock.skins.values(), key=lambda s: (s.kind, s.thickness_mm, s.key)):
        if skin.light > 0.0:
            found.setdefault(_all(skin.key), skin.name)
    glazing = _best_glazing(stock)
    foams = [skin for skin in stock.skins.values() if skin.light == 0.0]
    if glazing is not None and foams:
        foam = max(foams, key=lambda s: (s.thickness_mm, s.key))
        sunny = sunny_wall(brief.front_bearing_deg, site.latitude_deg)
        south = tuple((face, glazing.key if face == sunny else foam.key) for face in FACES)
        roof = tuple((face, glazing.key if face in (sunny, "roof") else foam.key) for face in FACES)
        names = {"foam": foam.name, "glazing": glazing.name}
        found.setdefault(south, tr("{foam}, sunny wall of {glazing}").format(**names))
        found.setdefault(roof, tr("{foam}, sunny wall and roof of {glazing}").format(**names))
    heat = brief.heat
    inside = heat is None or heat.source in ("light string", "heating cable", "none")
    tents = (False, True) if inside else (False,)
    result = []
    for skins, name in found.items():
        keys = sorted({key for _, key in skins})
        skins_of = ", ".join(stock.skins[k].name for k in keys)
        label = name or tr("as asked ({skins})").format(skins=skins_of)
        for tent in tents:
            key = "+".join(key for _, key in skins) if len(keys) > 1 else keys[0]
            words = tr("{skins}, with a tent").format(skins=label) if tent else label
            result.append(Option(f"{key}{'+tent' if tent else ''}", words, skins, tent, not name))
    return tuple(result)


def present_worth(yearly: float, years: int, rate: float) -> float:
    """Return the worth today of a cost paid at the end of each of some years."""
    return sum(yearly / (1.0 + rate) ** year for year in range(1, years + 1))


def replacements(price: float, life_years: float, winters: int, rate: float) -> float:
    """Return the worth today of replacing something each time its life is over before the last winter."""
    total, when = 0.0, life_years
    while when < winters:
        total += price / (1.0 + rate) ** when
        when += life_years
    return total


def brief_for(brief: Brief, option: Option) -> Brief:
    """Return the brief with the skins and the tent of an option."""
    heat = brief.heat.model_copy(update={"tent": option.tent}) if brief.heat is not None else None
    choice = brief.skin.model_copy(update=dict(option.skins))
    return brief.model_copy(update={"skin": choice, "heat": heat})


def _winter(here: Living, limit: float) -> float:
    """Return the heat that holds the setpoint over a winter [kWh], 0 without a source or a usual year."""
    if here.climate is None or here.source.name == "none" or here.heat.watts <= 0.0:
        return 0.0
    days = days_by_month(season_days(here.climate, limit, here.design_min_degc))
    return season_energy(here.climate, here.network, here.heat.watts, base_temperature(here), days).wanted_kwh


def _light(here: Living) -> float:
    if here.climate is None:
        return 0.0
    day = 355 if here.climate.latitude_deg >= 0.0 else 172
    month = min(range(12), key=lambda m: (abs(mid_day(m) - day), m))
    return daily_light(here.climate, month) * light_share(here.faces, here.climate, month)


def outcome_of(
    option: Option,
    brief: Brief,
    site: Site,
    stock: Stock,
    limits_of: LimitsOf,
    price_of: PriceOf | None,
    discount: float,
) -> Outcome:
    """Return what one option costs and does."""
    asked = brief_for(brief, option)
    try:
        design = build(asked, site, stock, limits_of(asked, site, stock))
        prices: AreaPrice = area_price(design, stock)
        purchase = price_of(design, asked, site, stock) if price_of else prices.total
    except EnclosureError as error:
        return Outcome(option, problem=error.message)
    here = living(design, asked, site, stock)
    network = here.with_tent() if option.tent else here.network
    here = replace(here, network=network)
    supply: Supply = supply_of(asked, here.source)
    limit = plant_limit(here, asked)
    cloth = TENT_PRICE_M2 * here.tent_m2 if option.tent else 0.0
    winters = brief.winters
    worn = sum(
        replacements(skin_price(design, stock, key), stock.skins[key].life_years, winters, discount)
        for key in sorted({key for _, key in option.skins})
    )
    worn += replacements(cloth, TENT_LIFE_YEARS, winters, discount)
    kwh = _winter(here, limit)
    yearly = kwh / (here.source.heat_share or 1.0) * here.heat.price_kwh
    lowest = lowest_outdoor(network, supply.heat_w, limit)
    return Outcome(
        option,
        purchase=purchase + cloth,
        replacement=worn,
        energy_winter_kwh=kwh,
        energy_winter_cost=yearly,
        energy_cost=present_worth(yearly, winters, discount),
        light_mol=_light(here),
        mass_kg=sum(part.mass_kg for part in design.parts),
        conductance_w_k=network.plant_w_k,
        heat_needed_w=power_for(network, limit, site.design_min_degc),
        lowest_degc=lowest,
        lives=lowest <= site.design_min_degc + 1e-9,
    )


def cheapest_alive(outcomes: tuple[Outcome, ...], factor: float = 1.0) -> Outcome | None:
    """Return the cheapest option that keeps the plant alive, None when none does."""
    alive = [one for one in outcomes if one.lives and not one.problem]
    return min(alive, key=lambda one: (round(one.total(factor), 6), one.option.key)) if alive else None


def compare(
    brief: Brief,
    site: Site,
    stock: Stock,
    *,
    limits_of: LimitsOf | None = None,
    price_of: PriceOf | None = None,
    discount: float = 0.0,
) -> Comparison:
    """Return all options of a brief, added up over the winters it serves.

    Args:
        brief: What is asked; its heat and setpoint are kept for all options.
        site: Climate and design night.
        stock: Skins, prices, lives.
        limits_of: Gives the span limits of a brief; the wind and snow checks when None.
        price_of: Gives the price of a design by its cutting plan (see `plan_price`);
            without it prices come from areas and lengths.
        discount: Yearly rate, 0 for none, up to 0.2.

    Raises:
        RangeError: The discount rate lies outside its range.
    """
    within("discount rate", discount, 0.0, 0.2)
    options, limits = options_for(brief, site, stock), limits_of or span_limits
    made = [outcome_of(one, brief, site, stock, limits, price_of, discount) for one in options]
    outcomes = tuple(sorted(made, key=lambda one: (bool(one.problem), round(one.total(), 6), one.option.key)))
    winners = []
    for factor in ENERGY_FACTORS:
        best = cheapest_alive(outcomes, factor)
        winners.append((factor, best.option.key if best else ""))
    heat = brief.heat
    return Comparison(
        outcomes,
        cheapest_alive(outcomes),
        tuple(winners),
        brief.winters,
        heat.price_kwh if heat else 0.0,
        discount,
        stock.currency,
        brief.plant.limit_degc
        if brief.plant.limit_degc is not None
        else (heat.setpoint_degc if heat else 2.0),
        site.design_min_degc,
        _notes(brief, site, stock, price_of is not None, discount),
    )


def _notes(brief: Brief, site: Site, stock: Stock, nested: bool, discount: float) -> tuple[str, ...]:
    heat = brief.heat
    words = [stock.prices_note]
    words.append(
        "purchase by the cutting plan"
        if nested
        else "purchase by area and length with 15 % more sheet and 10 % more stick (0 to 6 % too low)"
    )
    words.append("no value is given to what is left at the end; the grower's time is left out")
    if heat is None or heat.source == "none" or heat.watts <= 0.0:
        words.append(
            "no heat is planned: no energy is counted, and only skins that need none keep the plant alive"
        )
    else:
        words.append("energy is what holds the setpoint over a usual winter, without sun: an upper bound")
    if heat is not None and heat.source in ("fan heater", "oil radiator"):
        words.append(
            f"no tent is offered: the {heat.source} must stand outside it, and then it saves nothing"
        )
    else:
        words.append(
            f"tent: one layer of cloth, U 5.5 W/m²K, {TENT_PRICE_M2:g} {stock.currency}/m² (invented), "
            f"new every {TENT_LIFE_YEARS:.0f} winters"
        )
    words.append("foam shuts out light: well enough for a plant at rest, poor for one that grows all winter")
    if site.monthly_mean_degc is None:
        words.append("the site gives no monthly means: energy and light are not counted")
    words.append(f"discounted at {discount:.1%} a year" if discount else "not discounted")
    return tuple(words)
