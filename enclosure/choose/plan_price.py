"""What does a design of a comparison cost by its cutting plan?

Hands the comparison a price that comes from verified cutting plans. Equal jobs
are solved once, but every skin asks for new ones: expect some ten seconds an
option. Prices by area (see `area_price`) come out up to 6 % lower on the shipped
briefs and are there at once.

Units: money in the currency of the stock list.
"""

from __future__ import annotations

from collections.abc import Callable

from enclosure.brief.model import Brief
from enclosure.choose.price import Pricer
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock


def plan_price(
    stock: Stock, sheet_work: int | None = None, stick_work: int | None = None
) -> Callable[[Design, Brief, Site, Stock], float]:
    """Return the price function that `compare` takes as `price_of`.

    Args:
        stock: The stock list of the comparison; the same for all options.
        sheet_work: Work units for one sheet job, the engine's own limit when None.
        stick_work: The same for one stick job.
    """
    pricer = Pricer(stock, sheet_work, stick_work)

    def price_of(design: Design, brief: Brief, site: Site, same: Stock) -> float:
        return pricer.plans(design).total_cents / 100.0

    return price_of
