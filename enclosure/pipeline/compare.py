"""From a brief to the comparison of its skins.

brief.read -> choose.compare (a shelter, its heat and its price for every skin)
"""

from __future__ import annotations

from pathlib import Path

from enclosure.brief.read import read_all
from enclosure.choose.compare import Comparison, compare


def compare_skins(brief_path: Path, *, discount: float = 0.0, by_cutting_plan: bool = False) -> Comparison:
    """Return every sensible skin and mix of a brief, added up over the winters it serves.

    Args:
        brief_path: The brief.
        discount: Yearly rate, 0 for none, up to 0.2.
        by_cutting_plan: Price every option by its own cutting plan: exact, but some ten seconds an option.

    Raises:
        FaultsError: The brief cannot be read.
        RangeError: The rate lies outside its range.
    """
    brief, site, stock = read_all(brief_path)
    if not by_cutting_plan:
        return compare(brief, site, stock, discount=discount)
    from enclosure.choose.plan_price import plan_price

    return compare(brief, site, stock, discount=discount, price_of=plan_price(stock))


def comparison_chart(comparison: Comparison, kind: str) -> bytes:
    """Return the chart of cost over the winters.

    Raises:
        OutputError: matplotlib is not installed, or the kind is none of png, pdf, svg.
    """
    from enclosure.outputs.plots import cost_plot

    return cost_plot(comparison, kind)
