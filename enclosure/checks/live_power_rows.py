"""Does the circuit carry the heat, and does enough of it arrive at the end of the cord?

Rows: continuous load of the circuit, voltage drop along the cord, what the cord
may carry, and the cautions of the heat source. Voltage and fuse of the brief;
where it gives none, 120 V and 15 A for cords in AWG or papers in inches, and
230 V and 16 A otherwise.
"""

from __future__ import annotations

from enclosure.brief.model import Brief, Heat
from enclosure.checks.cautions import cautions_for
from enclosure.checks.electric import (
    conductor_ohm_m,
    continuous_limit,
    cord_text,
    current,
    heat_at_voltage,
    is_metric,
    normal_cord,
    thinnest_cord,
    voltage_drop,
)
from enclosure.checks.heat_sources import HeatSource
from enclosure.checks.live_heat_rows import Supply
from enclosure.checks.model import Check, Line
from enclosure.checks.rows import note, ratio
from enclosure.language import tr, tr_as
from enclosure.tables.read import number, row

MOST_DROP = 0.05
AIM_DROP = 0.03


def supply_volts(heat: Heat, inches: bool) -> float:
    """Return the mains voltage [V]: given, else by the cord's system, else by the units of the papers."""
    if heat.volts is not None:
        return heat.volts
    if heat.cord is not None:
        return 230.0 if is_metric(heat.cord) else 120.0
    return 120.0 if inches else 230.0


def fuse(heat: Heat, volts: float) -> float:
    """Return the fuse of the circuit [A]: given, else 15 A at 120 V and 16 A at 230 V."""
    if heat.fuse_amps is not None:
        return heat.fuse_amps
    return 15.0 if volts < 160.0 else 16.0


def drop_share(heat: Heat, volts: float) -> float:
    """Return the voltage drop along the cord over the voltage, 0 without a cord."""
    if heat.cord is None or heat.cord_length_mm <= 0.0 or heat.watts <= 0.0:
        return 0.0
    degc = 20.0 if is_metric(heat.cord) else 75.0
    ohm_m = conductor_ohm_m(heat.cord, stranded=True, temperature_degc=degc)
    return min(0.5, voltage_drop(heat.cord_length_mm / 1000.0, ohm_m, current(heat.watts, volts)) / volts)


def supply_of(brief: Brief, source: HeatSource) -> Supply:
    """Return the heat that arrives and the most the circuit may carry."""
    heat = brief.heat or Heat(source="none")
    volts = supply_volts(heat, brief.papers.units == "inch")
    share = drop_share(heat, volts)
    arrives = heat_at_voltage(heat.watts, share) * source.heat_share
    per_watt = share / heat.watts if heat.watts else 0.0
    return Supply(arrives, continuous_limit(fuse(heat, volts), volts), source.heat_share, per_watt)


def circuit_row(heat: Heat, volts: float) -> Check:
    """Return the row for the load of the circuit."""
    amps, limit = current(heat.watts, volts), 0.8 * fuse(heat, volts)
    american = volts < 160.0
    way = ""
    if amps > limit:
        way = tr(
            "at most {limit:.0f} W on this circuit; split the heat over two circuits, or have an "
            "electrician put in a larger one"
        ).format(limit=limit * volts)
    return Check(
        "circuit-load",
        tr("continuous load of the circuit"),
        amps,
        limit,
        "A",
        ratio(amps, limit),
        "NEC 210.20(A)" if american else tr("80 % of the fuse, common practice, no source"),
        "published" if american else "practice",
        inputs=(
            tr("{watts:.0f} W at {volts:.0f} V").format(watts=heat.watts, volts=volts),
            tr("fuse {amps:g} A").format(amps=fuse(heat, volts)),
        ),
        assumptions=(tr("the heater runs three hours or more on a cold night; nothing else is on the circuit"),),
        way_out=way,
        working=(
            Line("I", "P / V", f"{heat.watts:.0f} / {volts:.0f}", amps, "A"),
            Line(
                tr("limit"),
                tr("0.8 x fuse"),
                f"0.8 x {fuse(heat, volts):g}",
                limit,
                "A",
                tr("loads of three hours or more"),
            ),
        ),
    )


def cord_row(heat: Heat, volts: float) -> Check | None:
    """Return the row for the voltage drop of the cord, None without a cord."""
    if heat.cord is None or heat.cord_length_mm <= 0.0:
        return None
    cord, length = normal_cord(heat.cord), heat.cord_length_mm / 1000.0
    share, metric = drop_share(heat, volts), is_metric(heat.cord)
    amps = current(heat.watts, volts)
    ohm_m = conductor_ohm_m(cord, stranded=True, temperature_degc=20.0 if metric else 75.0)
    better = thinnest_cord(heat.watts, volts, length, AIM_DROP, metric)
    way = ""
    if share > MOST_DROP:
        way = (
            tr("take {better}").format(better=cord_text(better))
            if better
            else tr("bring the outlet nearer; no listed cord is thick enough")
        )
    left = heat_at_voltage(1.0, share)
    return Check(
        "cord-voltage-drop",
        tr("voltage drop along the cord"),
        100.0 * share,
        100.0 * MOST_DROP,
        "%",
        ratio(share, MOST_DROP),
        tr("IEC 60228 class 5, Ohm's law") if metric else tr("NEC chapter 9 table 8 (stranded), Ohm's law"),
        "memory" if metric or cord in ("awg-18", "awg-16") else "published",
        inputs=(
            tr("{cord}, {length:.1f} m one way").format(cord=cord_text(cord), length=length),
            tr("{watts:.0f} W at {volts:.0f} V").format(watts=heat.watts, volts=volts),
        ),
        assumptions=(
            tr(
                "3 % is the aim, 5 % the limit: common practice; a cord is stranded, 2 % above the solid wire "
                "of its size"
            ),
            tr("heat falls with the square of the voltage: {left:.1f} % of the rated heat is left").format(
                left=100.0 * left
            ),
        ),
        way_out=way,
        working=(
            Line("R", tr("resistance of one conductor"), "", 1000.0 * ohm_m, "ohm/km"),
            Line(tr("drop"), "2 L R I", f"2 x {length:.1f} x {ohm_m:.5f} x {amps:.2f}", share * volts, "V"),
            Line(tr("heat left"), tr("(1 - drop/V)²"), "", 100.0 * left, "%"),
        ),
    )


def cord_current_row(heat: Heat, volts: float) -> Check | None:
    """Return the row for the current that the cord may carry, None without a cord."""
    if heat.cord is None or heat.watts <= 0.0:
        return None
    cells = row("cords", normal_cord(heat.cord))
    rated = number(cells, "rated_a")
    if rated is None:
        return None
    amps, source = current(heat.watts, volts), cells["source"]
    return Check(
        "cord-current",
        tr("current in the cord"),
        amps,
        rated,
        "A",
        ratio(amps, rated),
        tr_as("source", source),
        "memory",
        inputs=(f"{cord_text(heat.cord)}",),
        assumptions=(tr("uncoiled, in free air; the fuse protects the cord only if it is not larger than its rating"),),
        way_out=tr("take a thicker cord") if amps > rated else "",
        working=(Line("I", "P / V", f"{heat.watts:.0f} / {volts:.0f}", amps, "A"),),
    )


def caution_row(source: HeatSource) -> Check:
    """Return the cautions that belong to the heat of this brief."""
    return note(
        "heat-cautions",
        tr("cautions for heat and current"),
        source.clearance_mm,
        tr("mm clear"),
        tr("common practice, no source"),
        "practice",
        inputs=(f"{tr(source.name)}: {tr(source.note)}",),
        assumptions=tuple(tr(caution) for caution in cautions_for(source.name)),
    )


def power_rows(brief: Brief, source: HeatSource) -> tuple[Check, ...]:
    """Return the rows of the circuit, the cord and the cautions."""
    heat = brief.heat or Heat(source="none")
    if source.name == "none" or heat.watts <= 0.0:
        return (caution_row(source),)
    volts = supply_volts(heat, brief.papers.units == "inch")
    rows = (
        circuit_row(heat, volts),
        cord_row(heat, volts),
        cord_current_row(heat, volts),
        caution_row(source),
    )
    return tuple(one for one in rows if one is not None)
