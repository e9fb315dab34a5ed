"""Does a stick bear a line load between two supports?

Bending, shear and sag of a simple span; for posts the column with bending on
top. The route follows the timber's grade: North American grades and ungraded
timber by allowable stresses, EN 338 classes by limit states.

Units: mm, N/mm for line loads inside, MPa.

References: `timber_nds`, `timber_ec5`;
    [IBC] table 1604.3: greenhouses, and walls with flexible finishes, L/120; footnote f: 0.42 of strength level
    wind for sag (0.7 of the service level used here); 1604.3.7: members that carry glass L/175.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from enclosure.checks import timber_ec5 as ec5
from enclosure.checks import timber_nds as nds
from enclosure.checks.model import Line
from enclosure.checks.panels import Verdict
from enclosure.checks.ranges import within
from enclosure.language import tr

SAG_SHARE = 120.0
SAG_SHARE_GLASS = 175.0
WIND_SAG = 0.7
SNOW_SAG = 1.0


@dataclass(frozen=True, slots=True)
class Stick:
    """A piece of timber in its place.

    Args:
        grade: Grade of the stock list.
        wide: Side square to the load [mm].
        deep: Side along the load [mm].
        pieces: How many are bolted side by side and share the load.
    """

    grade: str
    wide: float
    deep: float
    pieces: int = 1

    @property
    def area(self) -> float:
        """Area of all pieces [mm²]."""
        return self.wide * self.deep * self.pieces

    @property
    def modulus(self) -> float:
        """Section modulus of all pieces, no composite action [mm³]."""
        return self.wide * self.deep**2 / 6 * self.pieces

    @property
    def inertia(self) -> float:
        """Second moment of area of all pieces [mm⁴]."""
        return self.wide * self.deep**3 / 12 * self.pieces

    @property
    def greater(self) -> float:
        """Greater side [mm]."""
        return max(self.wide, self.deep)

    @property
    def words(self) -> str:
        """Size and grade in words."""
        times = f"{self.pieces} x " if self.pieces > 1 else ""
        return f"{times}{self.wide:.0f} x {self.deep:.0f} mm, {self.grade}"


@dataclass(frozen=True, slots=True)
class Push:
    """A line load on a stick.

    Args:
        name: "wind" or "snow".
        load: Service load [N/mm].
        strength: Factor to the strength level.
        words: How the load came about.
    """

    name: str
    load: float
    strength: float
    words: str


def simple_moment(load: float, span: float) -> float:
    """Return the moment of a simple span [N mm]: w L²/8."""
    within("the span", span, 1.0, 2e4, "mm")
    return load * span**2 / 8


def simple_sag(load: float, span: float, modulus: float, inertia: float) -> float:
    """Return the sag of a simple span [mm]: 5 w L⁴ / 384 E I."""
    within("the span", span, 1.0, 2e4, "mm")
    within("E I", modulus * inertia, 1.0, 1e15, "N mm²")
    return 5 * load * span**4 / (384 * modulus * inertia)


def allowed(stick: Stick, stress: str, name: str) -> tuple[float, str, str]:
    """Return the stress that the timber may bear [MPa], the clause, and what was assumed ("" for nothing)."""
    if ec5.is_class(stick.grade):
        key = {"fb": "fm", "fc": "fc", "fv": "fv"}[stress]
        value = ec5.design_strength(stick.grade, key, stick.greater, name)
        return value, tr("EN 1995-1-1 2.4.1, EN 338 {grade}, service class 3").format(grade=stick.grade), ""
    grade, assumed = nds.grade_for(stick.grade)
    value = nds.adjusted(grade, stress, stick.greater, nds.DURATION[name])
    return (
        value,
        tr("NDS 4.3, {words}, CD {duration:g}, wet service").format(
            words=tr(nds.GRADES[grade].words), duration=nds.DURATION[name]
        ),
        assumed,
    )


def modulus_of(stick: Stick) -> float:
    """Return the modulus for sag [MPa]."""
    if ec5.is_class(stick.grade):
        return ec5.CLASSES[stick.grade.strip().lower()].e
    return nds.stiffness(nds.grade_for(stick.grade)[0])[0]


def level(stick: Stick, push: Push) -> float:
    """Return the factor that brings a service load to the level of this timber's strengths."""
    return push.strength if ec5.is_class(stick.grade) else 1.0


def judge_beam(stick: Stick, span: float, push: Push, sag_share: float = SAG_SHARE) -> tuple[Verdict, ...]:
    """Return bending, shear and sag of a simple span under one load.

    Args:
        stick: The timber.
        span: Between supports [mm].
        push: The load.
        sag_share: Sag at most the span over this.
    """
    factor = level(stick, push)
    times = f" x {factor:g}" if factor != 1.0 else ""
    first = (
        Line("w", push.words, "", push.load, "N/mm", tr("{load}, service level").format(load=tr(push.name))),
        Line("L", "", "", span, "mm", tr("between supports")),
        Line("W", "b d²/6", stick.words, stick.modulus, "mm³", ""),
    )
    return (
        _bending(stick, span, push, factor, times, first),
        _shearing(stick, span, push, factor, times, first),
        _sagging(stick, span, push, sag_share, first),
    )


def _bending(stick: Stick, span: float, push: Push, factor: float, times: str, first: tuple[Line, ...]) -> Verdict:
    moment = simple_moment(push.load * factor, span)
    stress = moment / stick.modulus
    bend, clause, _ = allowed(stick, "fb", push.name)
    lines = (
        *first,
        Line("M", "w L²/8", f"{push.load:.4f}{times} x {span:.0f}² / 8", moment, "N mm", tr("simple span")),
        Line("sigma", "M / W", f"{moment:.0f} / {stick.modulus:.0f}", stress, "MPa", ""),
        Line("f", tr("allowed"), "", bend, "MPa", clause),
    )
    return Verdict(f"bending, {push.name}", stress, bend, "MPa", clause, "published", lines)


def _shearing(stick: Stick, span: float, push: Push, factor: float, times: str, first: tuple[Line, ...]) -> Verdict:
    share = ec5.CRACK if ec5.is_class(stick.grade) else 1.0
    shear = 1.5 * push.load * factor * span / 2 / (share * stick.area)
    cut, clause, _ = allowed(stick, "fv", push.name)
    split = "" if share == 1.0 else f"{share:g} x "
    words = f"1.5 x {push.load:.4f}{times} x {span:.0f} / (2 x {split}{stick.area:.0f})"
    source = "" if share == 1.0 else "EN 1995-1-1 6.1.7 (2), kcr 0.67"
    lines = (
        *first,
        Line("tau", "1.5 w L / 2 A", words, shear, "MPa", source),
        Line("fv", tr("allowed"), "", cut, "MPa", clause),
    )
    return Verdict(f"shear, {push.name}", shear, cut, "MPa", clause, "published", lines)


def _sagging(stick: Stick, span: float, push: Push, sag_share: float, first: tuple[Line, ...]) -> Verdict:
    e = modulus_of(stick)
    share = WIND_SAG if push.name == "wind" else SNOW_SAG
    sag = simple_sag(push.load * share, span, e, stick.inertia)
    most = span / sag_share
    words = f"5 x {push.load:.4f} x {share:g} x {span:.0f}⁴ / (384 x {e * stick.inertia:.4g})"
    foot = tr("IBC table 1604.3 footnote f: 0.7 of the wind for sag") if share != 1 else tr("simple span")
    table = tr("IBC table 1604.3, greenhouses L/120; L/175 for glass")
    lines = (
        *first,
        Line("EI", "E b d³/12", f"{e:.0f} x {stick.inertia:.0f}", e * stick.inertia, "N mm²", ""),
        Line("d", "5 w L⁴ / 384 E I", words, sag, "mm", foot),
        Line(tr("most"), f"L/{sag_share:.0f}", "", most, "mm", table),
    )
    source = tr("IBC table 1604.3, L/{sag_share:.0f}").format(sag_share=sag_share)
    return Verdict(f"sag, {push.name}", sag, most, "mm", source, "published", lines)


@dataclass(frozen=True, slots=True)
class Post:
    """An upright in the wind that carries roof as well.

    Args:
        stick: The timber; `deep` is across the wall.
        height: Unbraced height across the wall [mm].
        braced: Unbraced height in the plane of the wall, between transoms [mm].
        axial: Service compression [N].
        axial_strength: Factor to the strength level.
        push: Wind on it.
        wind_share: Share of the wind that acts together with the compression.
    """

    stick: Stick
    height: float
    braced: float
    axial: float
    axial_strength: float
    push: Push
    wind_share: float


def judge_post(post: Post) -> Verdict:
    """Return combined bending and compression of an upright."""
    stick = post.stick
    moment = simple_moment(post.push.load * level(stick, post.push) * post.wind_share, post.height)
    fb = moment / stick.modulus
    is_class = ec5.is_class(stick.grade)
    fc = post.axial * (post.axial_strength if is_class else 1.0) / stick.area
    across, along = post.height / stick.deep, post.braced / stick.wide
    slender = max(across, along)
    words = f"max({post.height:.0f}/{stick.deep:.0f}, {post.braced:.0f}/{stick.wide:.0f})"
    with_it = tr("{wind_share:g} of the wind with it").format(wind_share=post.wind_share)
    first = (
        Line("P", tr("roof, weight and wires"), "", post.axial, "N", tr("service level")),
        Line("fc", "P / A", f"{post.axial:.0f} / {stick.area:.0f}", fc, "MPa", ""),
        Line("fb", "M / W", f"{moment:.0f} / {stick.modulus:.0f}", fb, "MPa", with_it),
        Line("le/d", "max(h/d, s/b)", words, slender, "", ""),
    )
    if is_class:
        return _post_by_ec5(stick, fc, fb, slender, first)
    return _post_by_nds(stick, fc, fb, slender, across, first)


def _post_by_ec5(stick: Stick, fc: float, fb: float, slender: float, first: tuple[Line, ...]) -> Verdict:
    bend, _, _ = allowed(stick, "fb", "wind")
    crush, _, _ = allowed(stick, "fc", "wind")
    turn = slender * math.sqrt(12)
    kc = ec5.column_factor(stick.grade, turn)
    total = ec5.combined(fc, crush, kc, fb, bend)
    words = f"{fc:.2f}/({kc:.3f} x {crush:.2f}) + {fb:.2f}/{bend:.2f}"
    lines = (
        *first,
        Line("kc", "", f"lambda {turn:.0f}", kc, "", "EN 1995-1-1 6.3.2"),
        Line("u", "fc/(kc fcd) + fb/fmd", words, total, "", tr("EN 1995-1-1 equation 6.23")),
    )
    return Verdict("bending and compression", total, 1.0, "", "EN 1995-1-1 6.3.2 (3)", "memory", lines)


def _post_by_nds(stick: Stick, fc: float, fb: float, slender: float, across: float, first: tuple[Line, ...]) -> Verdict:
    bend, clause, _ = allowed(stick, "fb", "wind")
    crush, _, _ = allowed(stick, "fc", "wind")
    emin = nds.stiffness(nds.grade_for(stick.grade)[0])[1]
    euler, own = nds.euler_stress(emin, slender), nds.euler_stress(emin, across)
    cp = nds.column_factor(euler, crush)
    total = nds.combined(fc, crush * cp, fb, bend, own)
    stress = f"0.822 x {emin:.0f} / {slender:.1f}²"
    words = f"({fc:.2f}/{crush * cp:.2f})² + {fb:.2f}/({bend:.2f} (1 - {fc:.2f}/{own:.2f}))"
    lines = (
        *first,
        Line("FcE", "0.822 Emin'/(le/d)²", stress, euler, "MPa", "NDS 3.7.1.5"),
        Line("Cp", "", f"Fc* {crush:.2f} MPa, c 0.8", cp, "", tr("NDS equation 3.7-1")),
        Line("u", "(fc/Fc')² + fb/(Fb'(1 - fc/FcE))", words, total, "", tr("NDS equation 3.9-3")),
    )
    return Verdict("bending and compression", total, 1.0, "", "NDS 3.9.2, " + clause, "published", lines)


def slenderness(post: Post) -> Verdict | None:
    """Return the slenderness limit of a solid column; None where the code has none."""
    if ec5.is_class(post.stick.grade):
        return None
    across, along = post.height / post.stick.deep, post.braced / post.stick.wide
    slender = max(across, along)
    lines = (
        Line(
            "le/d",
            "max(h/d, s/b)",
            f"max({post.height:.0f}/{post.stick.deep:.0f}, {post.braced:.0f}/{post.stick.wide:.0f})",
            slender,
            "",
            tr("NDS 3.7.1.4, at most 50"),
        ),
    )
    return Verdict("slenderness", slender, 50.0, "", tr("NDS 3.7.1.4, le/d at most 50"), "published", lines)
