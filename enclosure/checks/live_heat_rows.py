"""Is there heat enough on the design night, and what does the shelter do without it?

Rows: heat for the plant's limit, heat for the setpoint, the lowest outdoor
temperature held (with and without a tent), what one layer is worth, frost on
the inside, and the power cut.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks.cautions import DRIP
from enclosure.checks.damp import dampest_dry, inner_surface
from enclosure.checks.heat_network import Network, lowest_outdoor, power_for, row_cover_rise, shares, state
from enclosure.checks.heat_sources import string_watts, strings_needed
from enclosure.checks.live_inputs import Living
from enclosure.checks.model import Check, Line
from enclosure.checks.power_cut import WATER_KJ_KG_K, freezing_hours, hours_until, water_capacity
from enclosure.checks.rows import degc, kelvin, note, ratio
from enclosure.checks.u_value import INSIDE_RESISTANCE

NIGHT_HOURS = 8.0
BARRELS_L = 200.0
DAMP_AIR_PERCENT = 80.0
LAYER_RULE_K = 1.5 * 10.0 / 1.8


@dataclass(frozen=True, slots=True)
class Supply:
    """What reaches the heat source.

    Args:
        heat_w: Heat released inside after the voltage drop [W].
        most_w: Largest continuous load the circuit may carry [W].
        heat_share: Share of the input that becomes heat inside, 0 for no source.
        drop_per_w: Voltage drop over voltage for each watt of load along this cord [1/W].
    """

    heat_w: float
    most_w: float
    heat_share: float = 1.0
    drop_per_w: float = 0.0

    def heat_from(self, watts: float) -> float:
        """Return the heat of a rated load at the end of this cord [W]."""
        drop = min(0.5, self.drop_per_w * watts)
        return watts * (self.heat_share or 1.0) * (1.0 - drop) ** 2

    def watts_for(self, heat_w: float) -> float:
        """Return the rated load that gives a heat at the end of the cord [W]; infinite when none does."""
        most = 1.0 / (3.0 * self.drop_per_w) if self.drop_per_w else 1e6
        if self.heat_from(most) < heat_w:
            return math.inf
        low, high = 0.0, most
        for _ in range(60):
            middle = (low + high) / 2.0
            low, high = (middle, high) if self.heat_from(middle) < heat_w else (low, middle)
        return high


def _network_lines(network: Network) -> tuple[Line, ...]:
    lines = [
        Line(
            loss.name,
            "U A" if loss.area_m2 else "",
            f"{loss.u_value_w_m2k:.2f} x {loss.area_m2:.2f}" if loss.area_m2 else "",
            loss.conductance_w_k,
            "W/K",
            loss.source,
        )
        for loss, _ in shares(network)
    ]
    lines.append(Line("H shelter", "sum of the above", "", network.shelter_w_k, "W/K"))
    if network.tent_w_k is not None:
        series = f"1/(1/{network.tent_w_k:.1f} + 1/{network.shelter_w_k:.1f})"
        lines.append(
            Line("H tent", "U A of the cloth", "", network.tent_w_k, "W/K", "U 5.5 W/m²K from memory")
        )
        lines.append(Line("H plant", "1/(1/H tent + 1/H shelter)", series, network.plant_w_k, "W/K"))
    return tuple(lines)


def _assumptions(here: Living) -> tuple[str, ...]:
    words = [
        "steady night without sun; stored heat and wind on the skin left out (an exposed clear night "
        "takes 10 to 20 % more)",
        f"air change {here.heat.air_changes:g} per hour; ground edge loss as for a slab, an upper bound "
        "for a small bed",
    ]
    if here.heat.tent and not here.source.inside_tent:
        words.append(
            f"the {here.source.name} stands outside the tent, so the tent counts for nothing in steady cold"
        )
    return tuple(words)


def _more_heat(here: Living, needed_w: float, supply: Supply, target: float) -> str:
    """Return the smallest changes that hold a temperature on the design night."""
    watts, ways = supply.watts_for(needed_w), []
    if watts <= supply.most_w and here.source.name == "none":
        idle = f"; with none its {here.heat.watts:.0f} W count for nothing" if here.heat.watts else ""
        ways.append(f"install {watts:.0f} W of heat (heat.source, heat.watts{idle})")
    elif watts <= supply.most_w:
        ways.append(f"install {watts:.0f} W of heat instead of {here.heat.watts:.0f} W")
    else:
        most = supply.heat_from(supply.most_w)
        best = state(here.network, most, here.design_min_degc).plant_degc
        lowest = lowest_outdoor(here.network, most, target)
        ways.append(
            f"no heater on this circuit does it: its {supply.most_w:.0f} W hold {degc(best)} on the design "
            f"night, or {degc(target)} down to {degc(lowest)} outside; a second circuit is needed for "
            f"{needed_w:.0f} W of heat in all"
        )
    if here.network.tent_w_k is None:
        tent = power_for(here.with_tent(), target, here.design_min_degc)
        words = (
            "bulbs or a cable inside the tent" if here.heat.tent else "a tent with bulbs or a cable inside it"
        )
        ways.append(f"or {words}: {tent:.0f} W of heat then do")
    if here.source.name == "light string" and here.heat.watts > 1.0:
        string_w = here.heat.watts / here.heat.strings
        count = strings_needed(watts, string_w, 1.0) if watts < 5000.0 else 0
        if count:
            ways.append(f"or {count} strings of {string_w:.0f} W")
    return "; ".join(ways)


def _bulbs(here: Living) -> str:
    heat = here.heat
    if heat.bulbs is None or heat.bulb_watts is None:
        return ""
    strings = "1 string" if heat.strings == 1 else f"{heat.strings} strings"
    dead = string_watts(heat.bulbs, heat.bulb_watts, dead=1) * heat.strings
    return f": {strings} of {heat.bulbs} bulbs of {heat.bulb_watts:g} W; with a dead bulb on each {dead:.0f} W"


def heat_row(here: Living, supply: Supply, limit: float | None) -> Check:
    """Return the row that decides: heat for the plant's limit (or the setpoint) on the design night."""
    target = here.heat.setpoint_degc if limit is None else limit
    needed = power_for(here.network, target, here.design_min_degc)
    words = _assumptions(here)
    if limit is None:
        words = (*words, "the brief gives no limit of the plant: the thermostat's setpoint is held instead")
    short = needed > supply.heat_w
    lines = (
        *_network_lines(here.network),
        Line(
            "Q",
            "H (T plant - T design night)",
            f"{here.network.plant_w_k:.1f} x ({target:.1f} - {here.design_min_degc:.1f})",
            needed,
            "W",
        ),
        Line(
            "heat installed",
            "watts x share kept x (1 - drop)²",
            f"{here.heat.watts:.0f} x {here.source.heat_share:g}",
            supply.heat_w,
            "W",
            here.source.source,
        ),
    )
    return Check(
        "heat-plant",
        "heat for the plant's limit on the design night",
        needed,
        supply.heat_w,
        "W",
        ratio(needed, supply.heat_w),
        "ISO 6946 and steady heat balance",
        "handbook",
        inputs=(
            f"plant's limit {degc(target)}",
            f"design night {degc(here.design_min_degc)}",
            f"{here.source.name}, {here.heat.watts:.0f} W{_bulbs(here)}",
        ),
        assumptions=words,
        way_out=_more_heat(here, needed, supply, target) if short else "",
        working=lines,
        governs=(shares(here.network)[0][0].name,),
    )


def setpoint_row(here: Living, supply: Supply) -> Check:
    """Return what the thermostat's setpoint asks on the design night, and what the heat reaches."""
    target = here.heat.setpoint_degc
    needed = power_for(here.network, target, here.design_min_degc)
    reached = state(here.network, supply.heat_w, here.design_min_degc)
    lines = (
        Line("Q setpoint", "H (T set - T design night)", "", needed, "W"),
        Line("T plant", "T out + Q/H shelter + Q/H tent", "", reached.plant_degc, "°C"),
        Line("T shelter", "T out + Q/H shelter", "", reached.shelter_degc, "°C"),
        *(
            Line(f"share of {loss.name}", "H part / H shelter", "", 100.0 * share, "%")
            for loss, share in shares(here.network)
        ),
    )
    return Check(
        "heat-setpoint",
        "heat for the thermostat's setpoint on the design night",
        needed,
        supply.heat_w,
        "W",
        ratio(needed, supply.heat_w),
        "steady heat balance",
        "handbook",
        inputs=(
            f"setpoint {degc(target)}",
            f"the heat installed holds {degc(reached.plant_degc)} round the plant",
            f"and {degc(reached.shelter_degc)} in the shelter",
        ),
        assumptions=(*_assumptions(here), "makers and growers add 15 to 25 %: common practice, no source"),
        way_out=_more_heat(here, needed, supply, target) if needed > supply.heat_w else "",
        working=lines,
        advice=True,
    )


def lowest_row(here: Living, supply: Supply, limit: float | None, zone: tuple[str, float] | None) -> Check:
    """Return the lowest outdoor temperature that the heat installed can hold, beside the zone's minimum."""
    target = here.heat.setpoint_degc if limit is None else limit
    held = lowest_outdoor(here.network, supply.heat_w, target)
    bare = lowest_outdoor(here.network.without_tent(), supply.heat_w, target)
    tent = lowest_outdoor(here.with_tent(), supply.heat_w, target)
    set_held = lowest_outdoor(here.network, supply.heat_w, here.heat.setpoint_degc)
    words = [
        "the zone's number is the average of the yearly minima: half of all winters are colder, by 5 K or "
        "more"
    ]
    inputs = [
        f"holds {degc(target)} down to {degc(held)} outside",
        f"design night {degc(here.design_min_degc)}",
    ]
    if zone:
        inputs.append(f"zone {zone[0]}: average yearly minimum {degc(zone[1])}")
    lines = (
        Line(
            "lowest outdoors",
            "T plant - Q/H plant",
            f"{target:.1f} - {supply.heat_w:.0f}/{here.network.plant_w_k:.1f}",
            held,
            "°C",
        ),
        Line("without a tent", "T plant - Q/H shelter", "", bare, "°C"),
        Line("with a tent, heat inside it", "T plant - Q (1/H tent + 1/H shelter)", "", tent, "°C"),
        Line("for the setpoint", "T set - Q/H plant", "", set_held, "°C"),
    )
    asked, given = target - here.design_min_degc, target - held
    return Check(
        "heat-lowest-outdoor",
        "lowest outdoor temperature this heat can hold",
        here.design_min_degc,
        held,
        "°C",
        ratio(asked, given),
        "steady heat balance",
        "handbook",
        inputs=tuple(inputs),
        assumptions=tuple(words),
        working=lines,
        advice=True,
    )


def layer_row(here: Living, supply: Supply, ground_w: float | None) -> Check:
    """Return what the model says of "one sealed layer is worth one and a half zones"."""
    by_heat = supply.heat_w / here.network.shelter_w_k
    by_tent = supply.heat_w / (here.network.tent_w_k or here.with_tent().tent_w_k or 1.0)
    needs = LAYER_RULE_K * here.network.shelter_w_k
    lines = [
        Line("rule", "1.5 zones of 10 °F", "", LAYER_RULE_K, "K", "common practice, no source"),
        Line(
            "heat the rule would need",
            "H x rule",
            f"{here.network.shelter_w_k:.1f} x {LAYER_RULE_K:.2f}",
            needs,
            "W",
        ),
        Line("rise by the heat installed", "Q/H shelter", "", by_heat, "K"),
        Line("more by a tent with the heat inside", "Q/H tent", "", by_tent, "K"),
        Line(
            "cloth of 40 g/m² on a calm night over mild soil",
            "row cover table",
            "",
            row_cover_rise(40.0),
            "K",
            "horticultural magazine, common practice",
        ),
    ]
    words = [
        "in steady cold a layer without heat under it is worth nothing: it only slows and shares out heat"
    ]
    alone = 0.0
    if ground_w is not None:
        alone = ground_w / here.network.shelter_w_k
        lines += [
            Line(
                "ground gives about", "1.2 W/m²K x floor x (soil - plant)", "", ground_w, "W", "from memory"
            ),
            Line("rise by the ground alone", "Q/H shelter", "", alone, "K"),
        ]
        words.append(
            "the rule is met on short calm nights with stored heat, mild soil and cloth to the ground, "
            "not by U-values"
        )
    return note(
        "heat-layer-rule",
        "what one sealed layer is worth without heat (rule: 1.5 zones)",
        alone,
        "K",
        "common practice, no source",
        "practice",
        working=tuple(lines),
        assumptions=tuple(words),
        inputs=(
            f"the rule says {kelvin(LAYER_RULE_K)}",
            f"the model says {kelvin(alone)} from the ground alone on a long cold night",
            f"{needs:.0f} W of heat would make the rule true here; the heat installed makes "
            f"{kelvin(by_heat)}",
        ),
    )


def frost_row(here: Living, supply: Supply) -> Check:
    """Return whether the inside of the skin stays dry on the design night."""
    heated, cold = (state(here.network, heat, here.design_min_degc).shelter_degc for heat in (supply.heat_w, 0.0))
    inside = min(heated, max(here.heat.setpoint_degc, cold))
    roof = next((face for face in here.faces if face.name == here.worst_face), None)
    flow = INSIDE_RESISTANCE["upward" if roof is not None and roof.tilt_deg < 60.0 else "horizontal"]
    surface = inner_surface(here.worst_u_w_m2k, inside, here.design_min_degc, flow)
    dry = dampest_dry(inside, surface) if inside > -40.0 else 100.0
    way = "frost inside is to be expected; a lower U-value and an airing every mild noon lessen it"
    if dry >= DAMP_AIR_PERCENT:
        way = ""
    return Check(
        "damp-inner-surface",
        "dew and frost on the inside on the design night",
        DAMP_AIR_PERCENT,
        dry,
        "% humidity",
        ratio(DAMP_AIR_PERCENT, dry),
        "ISO 13788 (surface temperature) and Magnus",
        "published",
        inputs=(f"inside {degc(inside)}", f"inner face of {here.worst_face} {degc(surface)}"),
        assumptions=(
            "damp soil keeps closed air near 80 % and more; above 90 % fungi prosper, below 70 % there is "
            "little trouble",
            DRIP,
            "air it out on every mild noon: open a panel for ten minutes",
        ),
        way_out=way,
        working=(
            Line(
                "T inner face",
                "Ti - U Rsi (Ti - Te)",
                f"{inside:.1f} - {here.worst_u_w_m2k:.2f} x {flow:g} x ({inside:.1f} - "
                f"{here.design_min_degc:.1f})",
                surface,
                "°C",
            ),
            Line("dampest dry air", "p sat(face) / p sat(air)", "", dry, "%"),
        ),
        governs=(here.worst_face,),
        advice=True,
    )


def power_cut_row(here: Living, limit: float | None) -> Check:
    """Return how long a power cut leaves, with and without water barrels."""
    least = 0.0 if limit is None else limit
    start = max(here.heat.setpoint_degc, least) + here.source.band_k / 2.0
    h, outside = here.network.plant_w_k, here.design_min_degc
    bare = hours_until(start, least, outside, here.capacity_kj_k, h)
    wet = hours_until(start, least, outside, here.capacity_kj_k + water_capacity(BARRELS_L), h)
    mild = hours_until(start, least, least - 5.0, here.capacity_kj_k, h)
    way, lines = (
        "",
        [
            Line(
                "C",
                "air, half of wood and skin, 20 mm of soil",
                "",
                here.capacity_kj_k,
                "kJ/K",
                "handbook heats, own estimate of depth",
            ),
            Line("time constant", "C/H", "", here.capacity_kj_k / h / 3.6, "h"),
            Line("hours, design night", "C/H ln((Ts - To)/(Tl - To))", "", min(bare, 999.0), "h"),
            Line(f"hours with {BARRELS_L:.0f} litres of water", "", "", min(wet, 999.0), "h"),
            Line("hours when it is 5 K below the limit outside", "", "", min(mild, 999.0), "h"),
        ],
    )
    if least < 0.0 < start:
        lines.append(
            Line(
                "hours near 0 °C while the water freezes, at most",
                "m 334 kJ/kg / (H x -To)",
                "",
                min(freezing_hours(BARRELS_L, min(outside, -0.1), h), 999.0),
                "h",
            )
        )
    if not math.isinf(bare) and bare < NIGHT_HOURS and outside < least < start:
        enough = NIGHT_HOURS * 3.6 * h / math.log((start - outside) / (least - outside))
        litres = (enough - here.capacity_kj_k) / WATER_KJ_KG_K
        way = (
            f"{litres:.0f} litres of water inside would carry it over {NIGHT_HOURS:.0f} h, or a heater "
            f"that needs no mains; a temperature alarm wakes you in time"
        )
    return note(
        "power-cut",
        "power cut: time until the plant's limit",
        min(bare, 999.0),
        "h",
        "Newton cooling; 8 h for a night is common practice, no source",
        "handbook",
        inputs=(
            f"from {degc(start)} to {degc(least)}",
            f"outside {degc(outside)}: {_span(bare)}; with {BARRELS_L:.0f} litres of water {_span(wet)}",
        ),
        assumptions=("one lump of heat; ground and wind left out; barrels follow the air a little late",),
        way_out=way,
        working=tuple(lines),
    )


def _span(hours: float) -> str:
    """Return a time for people."""
    if hours > 99.0:
        return "no end in sight"
    return f"{hours * 60.0:.0f} minutes" if hours < 2.0 else f"{hours:.1f} hours"
