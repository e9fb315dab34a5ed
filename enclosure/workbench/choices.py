"""What can be chosen in each list of the form?

Skins, timbers, boards and bricks come from the stock list that the brief names, sites
and stock lists from the shelves, the rest is fixed. A value that stands in the brief but
is no longer on offer stays in its list, marked, so that nothing changes by being shown.
"""

from __future__ import annotations

from enclosure.brief.model import HEAT_SOURCES
from enclosure.tables.read import keys
from enclosure.templates_home import template_names
from enclosure.workbench.desk import Desk
from enclosure.workbench.fields import FIELDS
from enclosure.workbench.reckon import First

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


def choices_for(desk: Desk, first: First) -> dict[str, Pairs]:
    """Return the pairs of value and words for each field with a list."""
    lists = {**_FIXED, **_from_stock(first)}
    for what in ("site", "stock"):
        names = desk.shelves.names("site" if what == "site" else "stock")
        lists["sites" if what == "site" else "stock"] = [(name, name.removesuffix(".toml")) for name in names]
    lists["labels"] = [(name, name) for name in template_names("labels")]
    lists["cords"] = [(name, name) for name in keys("cords")]
    found: dict[str, Pairs] = {}
    for key, field in FIELDS.items():
        if field.kind == "yes-no":
            found[key] = [("yes", "yes"), ("no", "no")]
        elif field.kind == "pick":
            found[key] = _with(lists.get(field.choices, []), _now(desk, key), key in ("site", "stock"))
    return found


def _from_stock(first: First) -> dict[str, Pairs]:
    if first.shelter is None:
        return {"skins": [], "timbers": [], "boards": [], "bricks": []}
    stock = first.shelter.stock
    groups = {"skins": stock.skins, "timbers": stock.timbers, "boards": stock.boards, "bricks": stock.bricks}
    return {
        name: [(key, str(getattr(item, "name", key))) for key, item in items.items()]  # type: ignore[attr-defined]
        for name, items in groups.items()
    }


def _now(desk: Desk, key: str) -> str:
    import tomllib

    from enclosure.workbench.edit import values_of

    try:
        return values_of(tomllib.loads(desk.text))[key]
    except (ValueError, RecursionError):
        return ""


def _with(pairs: Pairs, value: str, file_name: bool) -> Pairs:
    if not value or any(value == known for known, _ in pairs):
        return pairs
    if file_name and any(f"{value}.toml" == known for known, _ in pairs):
        return [(value, value), *(pair for pair in pairs if pair[0] != f"{value}.toml")]
    return [*pairs, (value, f"{value} (not on offer)")]
