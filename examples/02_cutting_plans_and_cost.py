"""Cut everything one shelter needs, and see what to pay and whether it is proved the least."""

from __future__ import annotations

from enclosure import cut_everything, design_from
from enclosure.templates_home import find_template

shelter = design_from(find_template("briefs", "olive-glass"))
plans = cut_everything(shelter.design, shelter.stock)

for item in (*plans.sheet_jobs, *plans.stick_jobs):
    pieces = sum(pattern.copies for pattern in item.plan.patterns)
    gap = "least cost proved" if item.plan.status == "proved" else f"at least {item.plan.bound / 100:.2f}"
    print(f"{item.name:<52} {pieces:>3} pieces {item.plan.price / 100:>9.2f} {plans.currency}  {gap}")
print(f"to pay, with hardware: {plans.total_cents / 100:.2f} {plans.currency} ({plans.prices_note})")
