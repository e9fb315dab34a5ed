"""How are sheets cut at least cost?"""

from __future__ import annotations

from enclosure.nesting.sheets.engine import solve_sheets

__all__ = ["solve_sheets"]
