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
from enclosure.language import tr, tr_n

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
    lines.append(Line(tr("H shelter"), tr("sum of the above"), "", network.shelter_w_k, "W/K"))
    if network.tent_w_k is not None:
        series = f"1/(1/{network.tent_w_k:.1f} + 1/{network.shelter_w_k:.1f})"
        lines.append(
            Line(tr("H tent"), tr("U A of the cloth"), "", network.tent_w_k, "W/K", tr("U 5.5 W/m²K from memory"))
        )
        lines.append(Line(tr("H plant"), tr("1/(1/H tent + 1/H shelter)"), series, network.plant_w_k, "W/K"))
    return tuple(lines)


def _assumptions(here: Living) -> tuple[str, ...]:
    words = [
        tr(
            "steady night without sun; stored heat and wind on the skin left out (an exposed clear night takes "
            "10 to 20 % more)"
        ),
        tr(
            "air change {air_changes:g} per hour; ground edge loss as for a slab, an upper bound for a small bed"
        ).format(air_changes=here.heat.air_changes),
    ]
    if here.heat.tent and not here.source.inside_tent:
        words.append(
            tr("the {name} stands outside the tent, so the tent counts for nothing in steady cold").format(
                name=tr(here.source.name)
            )
        )
    return tuple(words)


def _more_heat(here: Living, needed_w: float, supply: Supply, target: float) -> str:
    """Return the smallest changes that hold a temperature on the design night."""
    watts, ways = supply.watts_for(needed_w), []
    if watts <= supply.most_w and here.source.name == "none":
        idle = (
            tr("; with none its {watts:.0f} W count for nothing").format(watts=here.heat.watts)
            if here.heat.watts
            else ""
        )
        ways.append(tr("install {watts:.0f} W of heat (heat.source, heat.watts{idle})").format(watts=watts, idle=idle))
    elif watts <= supply.most_w:
        ways.append(tr("install {watts:.0f} W of heat instead of {now:.0f} W").format(watts=watts, now=here.heat.watts))
    else:
        most = supply.heat_from(supply.most_w)
        best = state(here.network, most, here.design_min_degc).plant_degc
        lowest = lowest_outdoor(here.network, most, target)
        ways.append(
            tr(
                "no heater on this circuit does it: its {most_w:.0f} W hold {best} on the design night, or "
                "{target} down to {lowest} outside; a second circuit is needed for {needed_w:.0f} W of heat in "
                "all"
            ).format(most_w=supply.most_w, best=degc(best), target=degc(target), lowest=degc(lowest), needed_w=needed_w)
        )
    if here.network.tent_w_k is None:
        tent = power_for(here.with_tent(), target, here.design_min_degc)
        words = (
            tr("bulbs or a cable inside the tent") if here.heat.tent else tr("a tent with bulbs or a cable inside it")
        )
        ways.append(tr("or {words}: {tent:.0f} W of heat then do").format(words=words, tent=tent))
    if here.source.name == "light string" and here.heat.watts > 1.0:
        string_w = here.heat.watts / here.heat.strings
        count = strings_needed(watts, string_w, 1.0) if watts < 5000.0 else 0
        if count:
            ways.append(tr("or {count} strings of {string_w:.0f} W").format(count=count, string_w=string_w))
    return "; ".join(ways)


def _bulbs(here: Living) -> str:
    heat = here.heat
    if heat.bulbs is None or heat.bulb_watts is None:
        return ""
    strings = tr_n("{count} string", "{count} strings", heat.strings).format(count=heat.strings)
    dead = string_watts(heat.bulbs, heat.bulb_watts, dead=1) * heat.strings
    return tr(": {strings} of {bulbs} bulbs of {bulb_watts:g} W; with a dead bulb on each {dead:.0f} W").format(
        strings=strings, bulbs=heat.bulbs, bulb_watts=heat.bulb_watts, dead=dead
    )


def heat_row(here: Living, supply: Supply, limit: float | None) -> Check:
    """Return the row that decides: heat for the plant's limit (or the setpoint) on the design night."""
    target = here.heat.setpoint_degc if limit is None else limit
    needed = power_for(here.network, target, here.design_min_degc)
    words = _assumptions(here)
    if limit is None:
        words = (*words, tr("the brief gives no limit of the plant: the thermostat's setpoint is held instead"))
    short = needed > supply.heat_w
    lines = (
        *_network_lines(here.network),
        Line(
            "Q",
            tr("H (T plant - T design night)"),
            f"{here.network.plant_w_k:.1f} x ({target:.1f} - {here.design_min_degc:.1f})",
            needed,
            "W",
        ),
        Line(
            tr("heat installed"),
            tr("watts x share kept x (1 - drop)²"),
            f"{here.heat.watts:.0f} x {here.source.heat_share:g}",
            supply.heat_w,
            "W",
            tr(here.source.source),
        ),
    )
    return Check(
        "heat-plant",
        tr("heat for the plant's limit on the design night"),
        needed,
        supply.heat_w,
        "W",
        ratio(needed, supply.heat_w),
        tr("ISO 6946 and steady heat balance"),
        "handbook",
        inputs=(
            tr("plant's limit {target}").format(target=degc(target)),
            tr("design night {least}").format(least=degc(here.design_min_degc)),
            f"{tr(here.source.name)}, {here.heat.watts:.0f} W{_bulbs(here)}",
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
        Line(tr("Q setpoint"), tr("H (T set - T design night)"), "", needed, "W"),
        Line(tr("T plant"), tr("T out + Q/H shelter + Q/H tent"), "", reached.plant_degc, "°C"),
        Line(tr("T shelter"), tr("T out + Q/H shelter"), "", reached.shelter_degc, "°C"),
        *(
            Line(tr("share of {name}").format(name=loss.name), tr("H part / H shelter"), "", 100.0 * share, "%")
            for loss, share in shares(here.network)
        ),
    )
    return Check(
        "heat-setpoint",
        tr("heat for the thermostat's setpoint on the design night"),
        needed,
        supply.heat_w,
        "W",
        ratio(needed, supply.heat_w),
        tr("steady heat balance"),
        "handbook",
        inputs=(
            tr("setpoint {target}").format(target=degc(target)),
            tr("the heat installed holds {reached} round the plant").format(reached=degc(reached.plant_degc)),
            tr("and {reached} in the shelter").format(reached=degc(reached.shelter_degc)),
        ),
        assumptions=(*_assumptions(here), tr("makers and growers add 15 to 25 %: common practice, no source")),
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
        tr("the zone's number is the average of the yearly minima: half of all winters are colder, by 5 K or more")
    ]
    inputs = [
        tr("holds {target} down to {held} outside").format(target=degc(target), held=degc(held)),
        tr("design night {least}").format(least=degc(here.design_min_degc)),
    ]
    if zone:
        inputs.append(tr("zone {zone}: average yearly minimum {least}").format(zone=zone[0], least=degc(zone[1])))
    lines = (
        Line(
            tr("lowest outdoors"),
            tr("T plant - Q/H plant"),
            f"{target:.1f} - {supply.heat_w:.0f}/{here.network.plant_w_k:.1f}",
            held,
            "°C",
        ),
        Line(tr("without a tent"), tr("T plant - Q/H shelter"), "", bare, "°C"),
        Line(tr("with a tent, heat inside it"), tr("T plant - Q (1/H tent + 1/H shelter)"), "", tent, "°C"),
        Line(tr("for the setpoint"), tr("T set - Q/H plant"), "", set_held, "°C"),
    )
    asked, given = target - here.design_min_degc, target - held
    return Check(
        "heat-lowest-outdoor",
        tr("lowest outdoor temperature this heat can hold"),
        here.design_min_degc,
        held,
        "°C",
        ratio(asked, given),
        tr("steady heat balance"),
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
        Line(tr("rule"), tr("1.5 zones of 10 °F"), "", LAYER_RULE_K, "K", tr("common practice, no source")),
        Line(
            tr("heat the rule would need"),
            tr("H x rule"),
            f"{here.network.shelter_w_k:.1f} x {LAYER_RULE_K:.2f}",
            needs,
            "W",
        ),
        Line(tr("rise by the heat installed"), tr("Q/H shelter"), "", by_heat, "K"),
        Line(tr("more by a tent with the heat inside"), tr("Q/H tent"), "", by_tent, "K"),
        Line(
            tr("cloth of 40 g/m² on a calm night over mild soil"),
            tr("row cover table"),
            "",
            row_cover_rise(40.0),
            "K",
            tr("horticultural magazine, common practice"),
        ),
    ]
    words = [tr("in steady cold a layer without heat under it is worth nothing: it only slows and shares out heat")]
    alone = 0.0
    if ground_w is not None:
        alone = ground_w / here.network.shelter_w_k
        lines += [
            Line(
                tr("ground gives about"), tr("1.2 W/m²K x floor x (soil - plant)"), "", ground_w, "W", tr("from memory")
            ),
            Line(tr("rise by the ground alone"), tr("Q/H shelter"), "", alone, "K"),
        ]
        words.append(
            tr(
                "the rule is met on short calm nights with stored heat, mild soil and cloth to the ground, not "
                "by U-values"
            )
        )
    return note(
        "heat-layer-rule",
        tr("what one sealed layer is worth without heat (rule: 1.5 zones)"),
        alone,
        "K",
        tr("common practice, no source"),
        "practice",
        working=tuple(lines),
        assumptions=tuple(words),
        inputs=(
            tr("the rule says {rise}").format(rise=kelvin(LAYER_RULE_K)),
            tr("the model says {alone} from the ground alone on a long cold night").format(alone=kelvin(alone)),
            tr("{needs:.0f} W of heat would make the rule true here; the heat installed makes {by_heat}").format(
                needs=needs, by_heat=kelvin(by_heat)
            ),
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
    way = tr("frost inside is to be expected; a lower U-value and an airing every mild noon lessen it")
    if dry >= DAMP_AIR_PERCENT:
        way = ""
    return Check(
        "damp-inner-surface",
        tr("dew and frost on the inside on the design night"),
        DAMP_AIR_PERCENT,
        dry,
        tr("% humidity"),
        ratio(DAMP_AIR_PERCENT, dry),
        tr("ISO 13788 (surface temperature) and Magnus"),
        "published",
        inputs=(
            tr("inside {inside}").format(inside=degc(inside)),
            tr("inner face of {worst_face} {surface}").format(worst_face=here.worst_face, surface=degc(surface)),
        ),
        assumptions=(
            tr(
                "damp soil keeps closed air near 80 % and more; above 90 % fungi prosper, below 70 % there is "
                "little trouble"
            ),
            tr(DRIP),
            tr("air it out on every mild noon: open a panel for ten minutes"),
        ),
        way_out=way,
        working=(
            Line(
                tr("T inner face"),
                tr("Ti - U Rsi (Ti - Te)"),
                f"{inside:.1f} - {here.worst_u_w_m2k:.2f} x {flow:g} x ({inside:.1f} - {here.design_min_degc:.1f})",
                surface,
                "°C",
            ),
            Line(tr("dampest dry air"), tr("p sat(face) / p sat(air)"), "", dry, "%"),
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
    way, by = "", tr("handbook heats, own estimate of depth")
    lines = [
        Line("C", tr("air, half of wood and skin, 20 mm of soil"), "", here.capacity_kj_k, "kJ/K", by),
        Line(tr("time constant"), "C/H", "", here.capacity_kj_k / h / 3.6, "h"),
        Line(tr("hours, design night"), "C/H ln((Ts - To)/(Tl - To))", "", min(bare, 999.0), "h"),
        Line(tr("hours with {barrels:.0f} litres of water").format(barrels=BARRELS_L), "", "", min(wet, 999.0), "h"),
        Line(tr("hours when it is 5 K below the limit outside"), "", "", min(mild, 999.0), "h"),
    ]
    if least < 0.0 < start:
        lines.append(
            Line(
                tr("hours near 0 °C while the water freezes, at most"),
                "m 334 kJ/kg / (H x -To)",
                "",
                min(freezing_hours(BARRELS_L, min(outside, -0.1), h), 999.0),
                "h",
            )
        )
    if not math.isinf(bare) and bare < NIGHT_HOURS and outside < least < start:
        enough = NIGHT_HOURS * 3.6 * h / math.log((start - outside) / (least - outside))
        litres = (enough - here.capacity_kj_k) / WATER_KJ_KG_K
        way = tr(
            "{litres:.0f} litres of water inside would carry it over {hours:.0f} h, or a heater that "
            "needs no mains; a temperature alarm wakes you in time"
        ).format(litres=litres, hours=NIGHT_HOURS)
    return note(
        "power-cut",
        tr("power cut: time until the plant's limit"),
        min(bare, 999.0),
        "h",
        tr("Newton cooling; 8 h for a night is common practice, no source"),
        "handbook",
        inputs=(
            tr("from {start} to {least}").format(start=degc(start), least=degc(least)),
            tr("outside {outside}: {bare}; with {barrels:.0f} litres of water {wet}").format(
                outside=degc(outside), bare=_span(bare), barrels=BARRELS_L, wet=_span(wet)
            ),
        ),
        assumptions=(tr("one lump of heat; ground and wind left out; barrels follow the air a little late"),),
        way_out=way,
        working=tuple(lines),
    )


def _span(hours: float) -> str:
    """Return a time for people."""
    if hours > 99.0:
        return tr("no end in sight")
    return (
        tr("{hours:.0f} minutes").format(hours=hours * 60.0)
        if hours < 2.0
        else tr("{hours:.1f} hours").format(hours=hours)
    )
