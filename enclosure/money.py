"""How is money said to people? One way everywhere: thousands parted by a narrow no-break space, the decimal
mark of the language, cents.

The currency is left to the caller, because a table names it once. Files for
machines carry whole cents or plain numbers.
"""

from __future__ import annotations

from enclosure.language import decimal

GAP = "\u202f"


def money(cents: float) -> str:
    """Return cents as money without currency: 123456 -> 1 234.56.

    References:
        [ISO80000-1] clause 7.3.1: groups of three digits are parted by a small space, never by point or comma.
    """
    whole, part = divmod(round(abs(cents)), 100)
    return ("-" if cents < 0 else "") + f"{whole:,}".replace(",", GAP) + decimal(f"0.{part:02d}")[1:]
