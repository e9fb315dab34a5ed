"""Print every check of a shipped brief, worst first, with the clause it rests on."""

from __future__ import annotations

from enclosure import check
from enclosure.templates_home import find_template

for row in check(find_template("briefs", "tree-fern")):
    sign = "advice" if row.advice else ("ok" if row.passes else "OVER")
    print(
        f"{row.utilisation:6.2f} {sign:<6} {row.name:<44} {row.demand:10.4g} of {row.capacity:10.4g} {row.unit:<8} "
        f"{row.clause}"
    )
    if row.way_out:
        print(f"       way out: {row.way_out}")
