"""How does an edit in the form change the text of a brief, and nothing else in it?

Values are put into the TOML document in place, so that notes, order and lines that the
form does not show stay as they were. Nothing is judged here: what cannot be read later
is written as it was typed, and the reader says what is wrong.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import InlineTable

from enclosure.errors import BriefError
from enclosure.workbench.fields import FIELDS, Field

LONGEST_VALUE = 300
_NEW_TABLES: dict[str, dict[str, Any]] = {"vent": {"share": "15 %"}, "heat": {"watts": "0 W"}}
"""What a table needs besides the key that begins it, so that switching it on does not begin with a fault."""


def values_of(content: Mapping[str, Any]) -> dict[str, str]:
    """Return what each field of the form shows for the content of a brief."""
    return {key: _shown(content, key) for key in FIELDS}


def changed(text: str, changes: Mapping[str, str]) -> str:
    """Return the text of a brief with some fields changed.

    Args:
        text: The brief as TOML.
        changes: Dotted key and what was typed; "" takes the line out.

    Raises:
        BriefError: A key that the form does not have, an overlong value, or a text that is not TOML.
    """
    try:
        document = tomlkit.parse(text)
    except (TOMLKitError, ValueError, RecursionError):
        raise BriefError(
            "the brief is not TOML any more, so the form cannot change it", "undo, or open the file again"
        ) from None
    for key, said in _with_companions(document, changes).items():
        field = FIELDS.get(key)
        if field is None:
            raise BriefError(f"{key[:60]} is not a line of the form", "load the page again")
        if len(said) > LONGEST_VALUE:
            raise BriefError(f"{field.label}: more than {LONGEST_VALUE} characters", "write it shorter")
        _put(document, field, _printable(said))
    return tomlkit.dumps(document)


def _with_companions(document: Any, changes: Mapping[str, str]) -> dict[str, str]:
    """Return the changes with the fall that another kind of roof needs, so that choosing one is no fault."""
    kind, fall = changes.get("roof.kind"), changes.get("roof.fall")
    roof = document.get("roof")
    now = str(roof.get("fall", "")) if isinstance(roof, dict) else ""
    wanted = {"flat": "", "mono": now or "10 deg", "gable": "25 deg"}
    if kind in wanted and fall is None and kind != (roof.get("kind") if isinstance(roof, dict) else None):
        return {**changes, "roof.fall": wanted[kind]}
    return dict(changes)


def _printable(said: str) -> str:
    return "".join(sign for sign in said if sign.isprintable()).strip()


def _put(document: Any, field: Field, said: str) -> None:
    if field.key.startswith("clearance."):
        _put_window(document, field.key, said)
        return
    *tables, last = field.key.split(".")
    if said == "":
        _take_out(document, field, tables, last)
        return
    place = document
    for name in tables:
        if not isinstance(place.get(name), dict):
            place[name] = tomlkit.table() if name != "bays" else tomlkit.inline_table()
            for inner, value in _NEW_TABLES.get(name, {}).items():
                if inner != last:
                    place[name][inner] = value
        place = place[name]
    value = _typed(field, said)
    # a number that is the same keeps the way in which it was written
    if last not in place or place[last] != value or isinstance(place[last], bool) != isinstance(value, bool):
        place[last] = value


def _take_out(document: Any, field: Field, tables: list[str], last: str) -> None:
    if field.switch:
        document.pop(field.switch, None)
        return
    place, chain = document, []
    for name in tables:
        if not isinstance(place.get(name), dict):
            return
        chain.append((place, name))
        place = place[name]
    place.pop(last, None)
    for above, name in reversed(chain):
        if len(above[name]):
            break
        del above[name]


def _put_window(document: Any, key: str, said: str) -> None:
    """Write one end of a clearance window; a window of one value is written as that value."""
    _, side, end = key.split(".")
    if not isinstance(document.get("clearance"), dict):
        document["clearance"] = tomlkit.table()
    now = document["clearance"].get(side)
    ends = {"least": "", "most": ""}
    if isinstance(now, dict):
        ends = {name: str(now.get(name, "")) for name in ends}
    elif now is not None:
        ends["least"] = str(now)
    ends[end] = said
    if isinstance(now, InlineTable | dict) and ends["least"] and ends["most"]:
        now[end] = said
    elif ends["most"] and ends["most"] != ends["least"]:
        window = tomlkit.inline_table()
        window.update({name: value for name, value in ends.items() if value})
        document["clearance"][side] = window
    elif ends["least"]:
        document["clearance"][side] = ends["least"]
    else:
        document["clearance"].pop(side, None)


def _typed(field: Field, said: str) -> Any:
    """Return what was typed as the kind of value that the file wants; text when it is none."""
    if field.kind == "count" and re.fullmatch(r"[+-]?\d{1,9}", said):
        return int(said)
    if field.kind == "number" and re.fullmatch(r"\d{1,9}([.,]\d{1,6})?", said):
        return float(said.replace(",", "."))
    if field.kind == "yes-no" and said in ("yes", "no"):
        return said == "yes"
    return said


def _shown(content: Mapping[str, Any], key: str) -> str:
    parts = key.split(".")
    if parts[0] == "clearance":
        return _shown_window(content, parts[1], parts[2])
    place: Any = content
    for part in parts:
        place = place.get(part) if isinstance(place, Mapping) else None
    return _words(place)


def _shown_window(content: Mapping[str, Any], side: str, end: str) -> str:
    table = content.get("clearance")
    window = table.get(side) if isinstance(table, Mapping) else None
    if isinstance(window, Mapping):
        return _words(window.get(end))
    return _words(window) if end == "least" else ""


def _words(value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return f"{value:.10g}"
    return "" if value is None or isinstance(value, Mapping | list) else str(value)
