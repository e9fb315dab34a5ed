"""Do the brackets hold the roof down on the walls?

The lift on the whole roof, less its own weight, is shared by the ties that the
design counts where rafters cross walls; an edge tie beside a corner gets twice
the even share.

Units: N, kg.

References: hold of a tie from memory; the doubled share at a corner is common practice, no source.
"""

from __future__ import annotations

from enclosure.checks.case import ROOFS, Case, roof_plan_area, wind_face
from enclosure.checks.model import Check, Line
from enclosure.checks.ranges import GRAVITY
from enclosure.checks.wind import roof_lift_coefficient
from enclosure.language import tr
from enclosure.shape.names import face_code

TIE_HOLD_N = 600.0
"""Galvanised angle with one M8 bolt and screws in softwood, wind, safety in it (from memory)."""
CORNER_SHARE = 2.0


def roof_tie_checks(case: Case) -> tuple[Check, ...]:
    """Return the row for the ties between roof and walls; none when the design counts none."""
    ties = [f for f in case.design.fixings if f.bag == "roof ties" and f.key == "angle_bracket"]
    count = int(sum(f.amount for f in ties))
    if count == 0:
        return ()
    wind, design = case.wind, case.design
    tall = 2 * wind_face(case, "FRONT")[1]
    c = roof_lift_coefficient(wind, design.roof, design.fall_deg, tall, min(case.width_m, case.depth_m))
    area = roof_plan_area(design)
    q = wind.q_pa * wind.service
    lift = q * c * area
    mass = sum(p.mass_kg for p in design.parts if p.face in ROOFS)
    net = max(0.0, lift - 0.6 * mass * GRAVITY)
    worst = CORNER_SHARE * net / count
    shared = f"{CORNER_SHARE:g} x {net:.0f} / {count}"
    lines = (
        *wind.lines,
        Line("Fr", "q Cr Ar", f"{q:.1f} x {c:.3f} x {area:.3f}", lift, "N", wind.clause),
        Line("G", "0.6 m g", f"0.6 x {mass:.1f} x 9.807", 0.6 * mass * GRAVITY, "N", tr("roof frame and panels")),
        Line("T", "2 (Fr - G) / n", shared, worst, "N", tr("a corner tie gets twice its share: common practice")),
        Line(tr("hold"), "", "", TIE_HOLD_N, "N", tr("angle with one M8 bolt (from memory)")),
    )
    return (
        Check(
            "roof-ties",
            tr("lift on the worst tie between roof and wall"),
            worst,
            TIE_HOLD_N,
            "N",
            worst / TIE_HOLD_N,
            tr("hold of an angle with one M8 bolt, from memory"),
            "memory",
            (tr("{count} ties").format(count=count), wind.words, tr("roof {mass:.0f} kg").format(mass=mass)),
            (tr("the roof frame spreads the lift evenly but for the corners"),),
            working=lines,
            governs=(face_code("ROOF"),),
        ),
    )
