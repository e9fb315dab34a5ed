"""How are sheets cut at least cost?"""

from __future__ import annotations

from enclosure.nesting.sheets.engine import solve_sheets
from enclosure.nesting.sheets.goods import Goods

__all__ = ["Goods", "solve_sheets"]
