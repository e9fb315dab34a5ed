"""What can be chosen in each list of the form?

Skins, timbers, boards and bricks come from the stock list that the brief names, sites
and stock lists from the shelves, the rest is fixed. A value that stands in the brief but
is no longer on offer stays in its list, marked, so that nothing changes by being shown.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from enclosure.brief.model import HEAT_SOURCES
from enclosure.language import languages
from enclosure.stock.model import Stock
from enclosure.tables.read import keys
from enclosure.templates_home import template_names
from enclosure.workbench.desk import Desk
from enclosure.workbench.fields import FIELDS

Pairs = list[tuple[str, str]]
_FIXED: dict[str, Pairs] = {
    "walls": [(word, word) for word in ("front", "right", "back", "left")],
    "roofs": [("mono", "one fall"), ("gable", "gable"), ("flat", "flat")],
    "ridges": [("x", "left to right"), ("y", "front to back")],
    "units": [("metric", "whole millimetres"), ("inch", "sixteenths of an inch")],
    "papers": [("A4", "A4"), ("Letter", "Letter")],
    "ties": [("both", "low and high"), ("low", "low only")],
    "heat": [(word, word) for word in HEAT_SOURCES],
}
_LANGUAGES = {"en": "English", "de": "Deutsch"}


def choices_for(desk: Desk, values: Mapping[str, str]) -> dict[str, Pairs]:
    """Return the pairs of value and words for each field with a list.

    Args:
        desk: For the names on its shelves.
        values: What the fields show.
    """
    lists = {**_FIXED, **_from_stock(desk.shelves.stock_of(values.get("stock", "")))}
    for what in ("site", "stock"):
        names = desk.shelves.names("site" if what == "site" else "stock")
        lists["sites" if what == "site" else "stock"] = [(name, name.removesuffix(".toml")) for name in names]
    lists["labels"] = [(name, name) for name in template_names("labels")]
    lists["languages"] = [(code, _LANGUAGES.get(code, code)) for code in languages()]
    lists["cords"] = [(name, name) for name in keys("cords")]
    found: dict[str, Pairs] = {}
    for key, field in FIELDS.items():
        if field.kind == "yes-no":
            found[key] = [("yes", "yes"), ("no", "no")]
        elif field.kind == "pick":
            found[key] = _with(lists.get(field.choices, []), values.get(key, ""), key in ("site", "stock"))
    return found


def _from_stock(stock: Stock | None) -> dict[str, Pairs]:
    if stock is None:
        return {}
    groups: dict[str, Mapping[str, Any]] = {
        "skins": stock.skins,
        "timbers": stock.timbers,
        "boards": stock.boards,
        "bricks": stock.bricks,
    }
    return {name: [(key, str(item.name)) for key, item in items.items()] for name, items in groups.items()}


def _with(pairs: Pairs, value: str, file_name: bool) -> Pairs:
    if not value or any(value == known for known, _ in pairs):
        return pairs
    if file_name and any(f"{value}.toml" == known for known, _ in pairs):
        return [(value, value), *(pair for pair in pairs if pair[0] != f"{value}.toml")]
    return [*pairs, (value, f"{value} (not on offer)")]
