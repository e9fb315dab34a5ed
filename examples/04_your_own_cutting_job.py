"""Cut any rectangles from any sheets: the cutting engine by itself, checked, and drawn.

Lengths in units of 1/10 000 mm, prices in cents.
"""

from __future__ import annotations

from enclosure.nesting.model import UNITS_PER_MM as MM
from enclosure.nesting.model import PartKind, SheetJob, SheetKind
from enclosure.nesting.picture import plan_svg
from enclosure.nesting.sheets import solve_sheets
from enclosure.nesting.verify import verify_sheets

job = SheetJob(
    kinds=(
        PartKind("door", 560 * MM, 1800 * MM, quantity=3),
        PartKind("shelf", 300 * MM, 880 * MM, quantity=7, turnable=True),
        PartKind("gable", 400 * MM, 700 * MM, quantity=4),
    ),
    sheets=(
        SheetKind("new", 1220 * MM, 2440 * MM, price=5200),
        SheetKind("offcut", 640 * MM, 1900 * MM, price=0, copies=1, owned=True),
    ),
    kerf=3 * MM,
)
plan = solve_sheets(job)
verify_sheets(job, plan)
print(f"price {plan.price / 100:.2f}, lower bound {plan.bound / 100:.2f}: {plan.status}")
for pattern in plan.patterns:
    picture = plan_svg(job, pattern)
    print(f"{pattern.copies} x {pattern.sheet}: a picture of {len(picture)} characters of SVG")
