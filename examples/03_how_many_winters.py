"""How do size and cost grow with the number of winters the shelter must serve?"""

from __future__ import annotations

from enclosure import build, cut_everything, read_all, span_limits
from enclosure.templates_home import find_template

brief, site, stock = read_all(find_template("briefs", "potted-lemon"))
for winters in (1, 3, 6):
    asked = brief.model_copy(update={"winters": winters})
    design = build(asked, site, stock, span_limits(asked, site, stock))
    plans = cut_everything(design, stock)
    width, depth, height = design.clear_mm
    print(
        f"{winters} winters: {width:.0f} x {depth:.0f} x {height:.0f} mm, "
        f"{plans.total_cents / 100:.2f} {plans.currency}"
    )
