"""Which wind meets this shelter, and with which factors does each code count it?

Brings the site's road (a gust, or a code's speed or pressure) down to one
velocity pressure at roof height and the factors that go with it, so that every
check above asks only for "the net pressure on a wall panel of this size".

Two levels of load are kept apart:
    service   set beside allowable stresses, anchors and sags
    strength  set beside design strengths of limit state timber (EN 338 grades)

References: see `wind_pressure` and `wind_coefficients`; combinations
    [IBC] 1605.3.1 (0.6 D + 0.6 W), [EN1990] table A1.2(A) (0.9 G + 1.5 Q),
    [NBCC] table 4.1.3.2 (0.9 D + 1.4 W, from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from enclosure.checks import wind_coefficients as shape
from enclosure.checks import wind_pressure as speed
from enclosure.checks.model import Line, SourceKind
from enclosure.errors import RangeError
from enclosure.language import tr, tr_as
from enclosure.site.model import Site

SIDES = ("FRONT", "RIGHT", "BACK", "LEFT")


@dataclass(frozen=True, slots=True)
class WindSet:
    """One wind, ready to be multiplied by coefficients.

    Args:
        route: "gust", "asce7", "en1991" or "nbcc".
        q_pa: Velocity pressure at roof height [Pa].
        body_gust: Gust effect factor for the whole body.
        service: Factor to the level of allowable stresses.
        strength: Factor to the level of limit states.
        stability: Factor on the wind when uplift, sliding and overturning are checked.
        dead: Share of the self weight that counts against the wind.
        clause: Where the pressure comes from.
        source_kind: How far it can be trusted.
        words: The wind in words, with its unit.
        lines: How the pressure came about.
    """

    route: str
    q_pa: float
    body_gust: float
    service: float
    strength: float
    stability: float
    dead: float
    clause: str
    source_kind: SourceKind
    words: str
    lines: tuple[Line, ...]

    @property
    def limit_state(self) -> bool:
        """True when stability is checked with factored loads (EN, NBCC)."""
        return self.stability > 1.0


def wind_set(site: Site, height_m: float) -> WindSet:
    """Return the wind of a site at a roof height.

    Args:
        site: The site.
        height_m: Height of the roof above the ground [m], above 0 to 9.

    Raises:
        RangeError: The site's wind is incomplete or out of range.
    """
    wind = site.wind
    if wind.route == "gust":
        return _from_gust(wind.gust_m_s)
    if wind.route == "asce7":
        return _from_asce(wind.speed_m_s, wind.exposure, height_m)
    if wind.route == "en1991":
        return _from_en(wind.speed_m_s, wind.terrain, height_m)
    return _from_nbcc(wind.hourly_pressure_kpa, wind.terrain, height_m)


def _given(value: float | None, what: str) -> float:
    if value is None:
        raise RangeError(f"the site gives no {what}", f"add {what} to the wind of the site file")
    return value


def _from_gust(given: float | None) -> WindSet:
    gust = _given(given, "gust")
    q = speed.gust_pressure(gust)
    lines = (
        Line("v", "", "", gust, "m/s", tr("gust at the shelter, given by the grower")),
        Line("q", "0.613 v²", f"0.613 x {gust:.2f}²", q, "Pa", tr("ASCE 7-16 26.10.2, SI constant; no gust factor")),
    )
    return WindSet(
        "gust",
        q,
        1.0,
        1.0,
        1.5,
        1.0,
        0.6,
        tr("gust typed by the grower, q = 0.613 v²; 0.6 D + 1.0 W"),
        "published",
        tr("gust {gust:.0f} km/h ({metres:.1f} m/s)").format(gust=gust * 3.6, metres=gust),
        lines,
    )


def _from_asce(given: float | None, exposure: str | None, height: float) -> WindSet:
    basic = _given(given, "speed")
    kz = speed.asce_exposure_coefficient(height, exposure or "C")
    kd = speed.DIRECTIONALITY_SQUARE_TOWER
    q = speed.asce_velocity_pressure(kz, 1.0, kd, basic)
    lines = (
        Line("V", "", "", basic, "m/s", tr("basic wind speed, strength level")),
        Line("Kz", "", "", kz, "", tr("ASCE 7-16 table 26.10-1, exposure {exposure}").format(exposure=exposure)),
        Line("Kd", "", "", kd, "", tr("ASCE 7-16 table 26.6-1, square tower")),
        Line(
            "q",
            "0.613 Kz Kzt Kd V²",
            f"0.613 x {kz:.3f} x 1 x {kd:.2f} x {basic:.2f}²",
            q,
            "Pa",
            "ASCE 7-16 26.10.2",
        ),
    )
    return WindSet(
        "asce7",
        q,
        speed.GUST_EFFECT_RIGID,
        0.6,
        1.0,
        0.6,
        0.6,
        tr("ASCE 7-16 26.10.2; IBC 1605.3.1 0.6 D + 0.6 W"),
        "published",
        tr("basic speed {basic:.1f} m/s, exposure {exposure}").format(basic=basic, exposure=exposure),
        lines,
    )


def _from_en(given: float | None, terrain: str | None, height: float) -> WindSet:
    basic = _given(given, "speed")
    q = speed.en_peak_pressure(basic, terrain or "II", height)
    z0, zmin = speed.TERRAINS[terrain or "II"]
    lines = (
        Line("vb", "", "", basic, "m/s", tr("basic wind velocity, 10 min mean")),
        Line("z", "max(h, zmin)", f"max({height:.2f}, {zmin:g})", max(height, zmin), "m", "EN 1991-1-4 4.3.2"),
        Line(
            "qp",
            "(1 + 7 Iv) 0.625 (kr ln(z/z0) vb)²",
            tr("terrain {terrain}, z0 {z0:g} m").format(terrain=terrain, z0=z0),
            q,
            "Pa",
            "EN 1991-1-4 4.5",
        ),
    )
    return WindSet(
        "en1991",
        q,
        1.0,
        1.0,
        1.5,
        1.5,
        0.9,
        "EN 1991-1-4 4.5; EN 1990 0.9 G + 1.5 Q",
        "published",
        tr("basic velocity {basic:.1f} m/s, terrain {terrain}").format(basic=basic, terrain=terrain),
        lines,
    )


def _from_nbcc(given: float | None, terrain: str | None, height: float) -> WindSet:
    hourly = _given(given, "hourly_pressure") * 1000.0
    ce = speed.nbcc_exposure_factor(height, terrain == "rough")
    q = speed.nbcc_pressure(hourly, 0.8, ce, 1.0, 1.0, 1.0)
    lines = (
        Line("q50", "", "", hourly, "Pa", tr("hourly velocity pressure, 1 in 50 years")),
        Line(
            "Ce",
            "max(0.9, (h/10)^0.2)",
            tr("h = {height:.2f} m, {terrain}").format(height=height, terrain=tr_as("terrain", terrain or "open")),
            ce,
            "",
            "NBCC 4.1.7.3",
        ),
        Line("Iw", "", "", 0.8, "", tr("NBCC table 4.1.7.3, low importance")),
        Line("q", "Iw q50 Ce Ct", f"0.8 x {hourly:.0f} x {ce:.3f} x 1", q, "Pa", "NBCC 4.1.7.3 (1)"),
    )
    return WindSet(
        "nbcc",
        q,
        2.0,
        1.0,
        1.4,
        1.4,
        0.9,
        tr("NBCC 4.1.7.3; table 4.1.3.2 0.9 D + 1.4 W"),
        "published",
        tr("hourly pressure {hourly:.2f} kPa, {terrain} terrain").format(
            hourly=hourly / 1000, terrain=tr_as("terrain", terrain or "open")
        ),
        lines,
    )


def scaled(wind: WindSet, share: float) -> WindSet:
    """Return the same wind with `share` times the pressure (1.21 for 10 % more speed)."""
    return replace(wind, q_pa=wind.q_pa * share)


def body_coefficient(wind: WindSet, height: float, width: float, diagonal: bool = False) -> float:
    """Return the whole-body force coefficient with the gust factor in it, for the area projected square to the wind.

    Args:
        wind: The wind.
        height: Height of the body [m].
        width: Least plan size [m].
        diagonal: Wind along the diagonal.

    References:
        gust, asce7: [ASCE7-16] figure 29.4-1; en1991: table 7.1 D - E; nbcc: Cg (0.8 + 0.5).
        On the diagonal EN and NBCC are taken at the ratio of the tower figure (common practice, no source).
    """
    ratio = height / width
    square = shape.square_tower_force(ratio)
    share = shape.square_tower_force(ratio, diagonal=True) / square if diagonal else 1.0
    if wind.route == "en1991":
        zones = shape.en_wall_zones(ratio)
        return (zones["D"] - zones["E"]) * share
    if wind.route == "nbcc":
        return wind.body_gust * (shape.NBCC_WHOLE["windward"] - shape.NBCC_WHOLE["leeward"]) * share
    return wind.body_gust * square * share


def roof_lift_coefficient(wind: WindSet, kind: str, slope: float, height: float, length: float) -> float:
    """Return the net coefficient that lifts the whole roof, inside pressure included, gust factor in it.

    Args:
        wind: The wind.
        kind: "flat", "mono" or "gable".
        slope: Roof slope [deg], 0 to 60.
        height: Height of the body [m].
        length: Its length along the wind [m].
    """
    inside = shape.internal(wind.route)[1]
    if wind.route == "en1991":
        return -shape.en_roof_whole(kind, slope) + inside
    if wind.route == "nbcc":
        return -shape.NBCC_WHOLE["roof"] * wind.body_gust + inside
    return wind.body_gust * -shape.asce_roof_whole(slope, height / length) + inside


def wall_net(wind: WindSet, area: float, opened: bool = False) -> tuple[float, float]:
    """Return the net coefficients on a wall panel or member: (push in, pull out), both positive numbers."""
    low, high = shape.internal(wind.route, opened)
    if wind.route == "en1991":
        push, pull = shape.EN_WALL_LOCAL["D"], shape.EN_WALL_LOCAL["A"]
    elif wind.route == "nbcc":
        push, pull = shape.NBCC_WALL_LOCAL
    else:
        push, pull = shape.asce_wall_local(area)
    return push - low, high - pull


def roof_net(wind: WindSet, kind: str, slope: float, area: float, opened: bool = False) -> tuple[float, float]:
    """Return the net coefficients on a roof panel or member: (push down, pull up), both positive numbers."""
    low, high = shape.internal(wind.route, opened)
    if wind.route == "en1991":
        down, up = (0.2 if slope <= 15 else 0.7), shape.en_roof_local(kind, slope)
    elif wind.route == "nbcc":
        down, up = shape.NBCC_ROOF_LOCAL
    else:
        down, up = shape.asce_roof_local(kind, slope, area)
    return max(0.0, down - low), high - up
