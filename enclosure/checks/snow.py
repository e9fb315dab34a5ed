"""How much snow must the roof bear?

Chooses the code's road (the same family as the wind's), works out the load on
the whole roof and on one slope of a gable alone, and says what no formula
covers: drift beside a house, slides, ploughed snow.

Units: kPa of roof seen from above.
"""

from __future__ import annotations

from dataclasses import dataclass

from enclosure.checks import snow_load as codes
from enclosure.checks.model import Line, SourceKind
from enclosure.language import later, tr
from enclosure.site.model import Site

DRIFT_WORDS = later(
    "drift against a house or hedge, a slide from a house roof and ploughed snow are not in this load; "
    "keep the shelter a roof's height clear of the eaves above it, or shovel"
)


@dataclass(frozen=True, slots=True)
class SnowSet:
    """Snow on this roof.

    Args:
        roof_kpa: Load on all of the roof, per area seen from above [kPa].
        one_slope_kpa: Load on the fuller slope of a gable while the other is bare [kPa].
        service: Factor to the level of allowable stresses.
        strength: Factor to the level of limit states.
        clause: Standard and clause.
        source_kind: How far it can be trusted.
        lines: How it came about.
    """

    roof_kpa: float
    one_slope_kpa: float
    service: float
    strength: float
    clause: str
    source_kind: SourceKind
    lines: tuple[Line, ...]

    @property
    def worst_kpa(self) -> float:
        """The greater of the two loads [kPa]."""
        return max(self.roof_kpa, self.one_slope_kpa)


def snow_set(site: Site, kind: str, slope: float) -> SnowSet:
    """Return the snow on a roof.

    Args:
        site: Gives ground snow, rain on snow and, by its wind, the family of code.
        kind: "flat", "mono" or "gable".
        slope: Roof slope [deg].
    """
    ground, rain = site.snow_ground_kpa, site.rain_on_snow_kpa
    first = Line(tr("ground"), "", "", ground, "kPa", tr("ground snow load of the site"))
    route = site.wind.route
    if route == "asce7":
        return _asce(first, ground, kind, slope)
    if route == "en1991":
        return _european(first, ground, kind, slope)
    return _canadian(first, ground, rain, kind, slope, plain=route == "gust")


def _european(first: Line, ground: float, kind: str, slope: float) -> SnowSet:
    load, mu = codes.en_roof(ground, slope), codes.en_shape(slope)
    lines = (
        first,
        Line("mu1", "", tr("{slope:g} deg").format(slope=slope), mu, "", tr("EN 1991-1-3 table 5.2")),
        Line("s", "mu1 Ce Ct sk", f"{mu:.3f} x 1 x 1 x {ground:.2f}", load, "kPa", "EN 1991-1-3 5.2 (3)"),
    )
    one = load if kind == "gable" else 0.0
    return SnowSet(load, one, 1.0, 1.5, "EN 1991-1-3 5.2 (3), 5.3.3", "published", lines)


def _canadian(first: Line, ground: float, rain: float, kind: str, slope: float, plain: bool) -> SnowSet:
    """Return NBCC's snow, or the same sum without the rest of a code when only a gust was given."""
    cs, ca = codes.nbcc_slope_factor(slope), codes.nbcc_lee_factor(slope)
    load = codes.plain_roof(ground, rain, slope) if plain else codes.nbcc_roof(ground, rain, cs)
    snow = 0.8 * ground * cs
    held = min(rain, snow)
    clause: str = (
        tr("0.8 of the ground snow; common practice, no source") if plain else tr("NBCC 4.1.6.2, low importance")
    )
    lines: tuple[Line, ...] = (
        first,
        Line("Cs", tr("slippery roof"), tr("{slope:g} deg").format(slope=slope), cs, "", "NBCC 4.1.6.2 (6)"),
        Line("Sr", "min(Sr, Ss Cb Cs)", f"min({rain:.2f}, {snow:.2f})", held, "kPa", tr("NBCC 4.1.6.2 (1)")),
        Line("S", "Is (Ss Cb Cs + Sr)", f"0.8 x ({snow:.3f} + {held:.2f})", load, "kPa", clause),
    )
    if kind != "gable":
        one = 0.0
    elif plain:
        one = load
    else:
        one = codes.nbcc_roof(ground, rain, cs, accumulation=ca)
        if one > load:
            words = tr("Ca {ca:.2f} at {slope:g} deg, the other slope bare").format(ca=ca, slope=slope)
            ours = tr("NBCC 4.1.6.9 (Ca from memory)")
            lines += (Line(tr("S lee"), "Is (Ss Cb Cs Ca + Sr)", words, one, "kPa", ours),)
    return SnowSet(load, one, 1.0, 1.5, clause, "practice" if plain else "published", lines)


def _asce(first: Line, ground: float, kind: str, slope: float) -> SnowSet:
    flat = codes.asce_flat_roof(ground)
    cs = codes.asce_slope_factor(slope)
    least = codes.asce_least(ground) if slope < 15.0 else 0.0
    load = max(flat * cs, least)
    lines: tuple[Line, ...] = (
        first,
        Line(
            "pf",
            "0.7 Ce Ct Is pg",
            f"0.7 x 1 x 1.2 x 0.8 x {ground:.2f}",
            flat,
            "kPa",
            tr("ASCE 7-16 7.3; Ct 1.2 unheated"),
        ),
        Line(
            "Cs",
            "",
            tr("{slope:g} deg, slippery").format(slope=slope),
            cs,
            "",
            tr("ASCE 7-16 figure 7.4-1 (from memory)"),
        ),
        Line(
            "ps",
            "max(Cs pf, pm)",
            f"max({cs:.3f} x {flat:.3f}, {least:.3f})",
            load,
            "kPa",
            "ASCE 7-16 7.4, 7.3.4",
        ),
    )
    one = 0.8 * ground if kind == "gable" and 2.4 <= slope <= 30.2 else 0.0
    if one > load:
        words = tr("0.8 x {ground:.2f}, the other slope bare").format(ground=ground)
        lines += (Line(tr("lee slope"), "Is pg", words, one, "kPa", tr("ASCE 7-16 7.6.1, narrow roof")),)
    return SnowSet(load, one, 1.0, 1.6, "ASCE 7-16 7.3, 7.4, 7.6.1", "published", lines)
