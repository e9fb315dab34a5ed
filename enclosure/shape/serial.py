"""How does a Design go to JSON and come back exactly?

`to_json` writes one object whose first key is ``schema``; keys stand in the order
of the fields of `model`, a small item (a point, a prism, a fixing without
positions) takes one line, so that two designs can be compared line by line.
Floats are written with the fewest digits that read back to the same number.
A cut says from what: ``{"from": "stick", ...}`` or ``{"from": "sheet", ...}``.

`from_json` refuses what it does not know: unknown, missing and repeated keys,
wrong types, numbers that are not finite, marks used twice, materials that are
not listed, prisms that are not convex. All faults are reported at once.

A file of an older schema is brought up to date by one named function per
version (`UPGRADES`) before it is read.
"""

from __future__ import annotations

import json
import math
import types
from collections.abc import Callable, Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from typing import Any, Literal, Union, cast, get_args, get_origin, get_type_hints

from enclosure.errors import BriefError, Fault, FaultsError
from enclosure.shape.model import SCHEMA, Design, SheetCut, StickCut
from enclosure.shape.solid_math import prism_faults

Tree = dict[str, Any]
Upgrade = Callable[[Tree], Tree]


def add_language(tree: Tree) -> Tree:
    """Version 2 says in which language the sentences of a design are written; before, all were English."""
    return {**tree, "language": "en"}


UPGRADES: Mapping[int, Upgrade] = {1: add_language}
"""For each older schema version the function that turns its tree into the next version's, named after what changed."""

LINE_WIDTH = 118
MOST_FAULTS = 40
_TAGS: dict[type, str] = {StickCut: "stick", SheetCut: "sheet"}


def to_json(design: Design) -> str:
    """Return a design as JSON text, the same text for the same design.

    Args:
        design: The shelter; every field keeps its name, which ends in its unit.

    Raises:
        BriefError: A number of the design is not finite.

    >>> from enclosure import design_from
    >>> from enclosure.templates_home import find_template
    >>> design = design_from(find_template("briefs", "tree-fern")).design
    >>> from_json(to_json(design)) == design
    True
    """
    try:
        return lay_out(_plain(design, Design))
    except ValueError as error:
        raise BriefError(f"the design holds a number that is not finite: {error}") from error


def from_json(text: str, file: str = "design.json", upgrades: Mapping[int, Upgrade] | None = None) -> Design:
    """Return the design that `to_json` wrote, of this or an older schema version.

    Args:
        text: Contents of the file.
        file: Its name, for the words of an error.
        upgrades: Functions that bring older versions up to date; `UPGRADES` by default.

    Raises:
        BriefError: The text is no JSON, or no design, or of a version this program does not know.
        FaultsError: The design has faults; all are named.

    >>> try:
    ...     from_json("{}")
    ... except BriefError as error:
    ...     print(error.message)
    design.json is no design file: it has no whole number under 'schema'
    """
    tree = upgrade(_parse(text, file), UPGRADES if upgrades is None else upgrades, file)
    reader = _Reader(file)
    design = reader.read(Design, tree, "")
    if not reader.faults:
        _check_sense(design, reader)
    if reader.faults:
        raise FaultsError(tuple(reader.faults[:MOST_FAULTS]))
    return cast(Design, design)


def upgrade(tree: Tree, upgrades: Mapping[int, Upgrade], file: str, newest: int = SCHEMA) -> Tree:
    """Return a tree of schema version `newest`, applying one function per version.

    Raises:
        BriefError: The version is missing, newer than this program, or has no way up.
    """
    version = tree.get("schema")
    if isinstance(version, bool) or not isinstance(version, int):
        raise BriefError(
            f"{file} is no design file: it has no whole number under 'schema'",
            "a design file is written by enclosure make as design.json",
        )
    if version > newest:
        raise BriefError(
            f"{file} has schema version {version}; this program reads up to {newest}",
            "use a newer version of enclosure, or make the design again from its brief",
        )
    while version < newest:
        if version not in upgrades:
            raise BriefError(
                f"{file} has schema version {version}, which this program cannot bring up to {newest}",
                "make the design again from its brief",
            )
        version += 1
        tree = {**upgrades[version - 1](tree), "schema": version}
    return tree


# --- writing ----------------------------------------------------------------------


def _plain(value: Any, hint: Any) -> Any:
    """Return a value as dicts, lists and plain numbers; the type says int or float."""
    if value is None:
        return None
    if is_dataclass(value):
        kind: type = type(value)
        hints = _hints(kind)
        tree: Tree = {"from": _TAGS[kind]} if kind in _TAGS else {}
        for field in fields(value):
            tree[field.name] = _plain(getattr(value, field.name), hints[field.name])
        return tree
    if isinstance(value, tuple):
        inner = get_args(hint)
        each = [inner[0]] * len(value) if inner[-1] is Ellipsis else inner
        return [_plain(item, wanted) for item, wanted in zip(value, each, strict=True)]
    if hint is float:
        number = float(value)
        if not math.isfinite(number):
            raise ValueError(repr(number))
        return number
    return value


def lay_out(value: Any) -> str:
    """Return any plain tree as JSON text in which a small item takes one line.

    Raises:
        ValueError: A number is not finite.
    """
    return "\n".join(_lay_out(value, "")) + "\n"


def _lay_out(value: Any, indent: str) -> list[str]:
    """Return JSON lines: a value that fits in one line takes one line."""
    line = json.dumps(value, ensure_ascii=False, allow_nan=False)
    if len(indent) + len(line) <= LINE_WIDTH or not isinstance(value, (dict, list)) or not value:
        return [line]
    if isinstance(value, dict):
        heads = [f"{json.dumps(key)}: " for key in value]
        items, ends = list(value.values()), "{}"
    else:
        heads, items, ends = [""] * len(value), value, "[]"
    deeper = indent + " "
    lines = [ends[0]]
    for number, (head, item) in enumerate(zip(heads, items, strict=True), start=1):
        inner = _lay_out(item, deeper)
        inner[0] = f"{deeper}{head}{inner[0]}"
        if number < len(items):
            inner[-1] += ","
        lines.extend(inner)
    lines.append(indent + ends[1])
    return lines


# --- reading ----------------------------------------------------------------------


def _parse(text: str, file: str) -> Tree:
    repeated: list[str] = []

    def once(pairs: list[tuple[str, Any]]) -> Tree:
        tree = dict(pairs)
        if len(tree) < len(pairs):
            seen: set[str] = set()
            repeated.extend(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        return tree

    hint = "a design file is written by enclosure make as design.json"
    try:
        tree = json.loads(text, object_pairs_hook=once)
    except RecursionError as error:
        raise BriefError(f"{file} is nested too deeply for a design file", hint) from error
    except json.JSONDecodeError as error:
        words = error.msg[:1].lower() + error.msg[1:]
        raise BriefError(f"{file}:{error.lineno}: not JSON: {words} at column {error.colno}", hint) from error
    except ValueError as error:
        raise BriefError(f"{file} holds a number with too many digits", hint) from error
    if not isinstance(tree, dict):
        raise BriefError(f"{file} is no design file: it is not one JSON object", hint)
    if repeated:
        raise FaultsError(tuple(Fault(file, 0, key, "", "this key stands twice") for key in repeated))
    return tree


@cache
def _hints(kind: type) -> dict[str, Any]:
    return get_type_hints(kind)


class _Reader:
    """Reads plain trees into the classes of `model`, gathering faults."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.faults: list[Fault] = []

    def fault(self, key: str, value: object, allowed: str, hint: str = "") -> None:
        """Note one thing that is wrong."""
        said = "" if value is _NOTHING else json.dumps(value, ensure_ascii=False, default=str)
        if len(said) > 60:
            said = said[:57] + "..."
        self.faults.append(Fault(self.file, 0, key, said, allowed, hint))

    def read(self, hint: Any, value: Any, key: str) -> Any:
        """Return `value` as the type `hint`; on a fault note it and return None."""
        origin = get_origin(hint)
        if origin in (Union, types.UnionType):
            return self._read_union(get_args(hint), value, key)
        if origin is Literal:
            return self._read_literal(get_args(hint), value, key)
        if origin is tuple:
            return self._read_tuple(get_args(hint), value, key)
        if is_dataclass(hint):
            return self._read_object(cast(type, hint), value, key)
        return self._read_plain(hint, value, key)

    def _read_union(self, choices: tuple[Any, ...], value: Any, key: str) -> Any:
        if value is None and types.NoneType in choices:
            return None
        kinds = [choice for choice in choices if choice is not types.NoneType]
        if len(kinds) == 1:
            return self.read(kinds[0], value, key)
        tags = {_TAGS[kind]: kind for kind in kinds}
        tag = value.get("from") if isinstance(value, dict) else None
        if not isinstance(tag, str) or tag not in tags:
            self.fault(f"{key}.from", tag, f"must be one of {', '.join(tags)}")
            return None
        rest = {name: item for name, item in value.items() if name != "from"}
        return self._read_object(tags[tag], rest, key)

    def _read_literal(self, choices: tuple[Any, ...], value: Any, key: str) -> Any:
        if isinstance(value, str) and value in choices:
            return value
        self.fault(key, value, f"must be one of {', '.join(choices)}")
        return None

    def _read_tuple(self, inner: tuple[Any, ...], value: Any, key: str) -> Any:
        if not isinstance(value, list):
            self.fault(key, value, "must be a list")
            return None
        many = inner[-1] is Ellipsis
        if not many and len(value) != len(inner):
            self.fault(key, value, f"must have {len(inner)} entries, not {len(value)}")
            return None
        each = [inner[0]] * len(value) if many else inner
        return tuple(
            self.read(hint, item, f"{key}[{number}]")
            for number, (hint, item) in enumerate(zip(each, value, strict=True))
        )

    def _read_object(self, kind: type, value: Any, key: str) -> Any:
        if not isinstance(value, dict):
            self.fault(key, value, f"must be an object, a {kind.__name__.lower()}")
            return None
        hints = _hints(kind)
        dot = f"{key}." if key else ""
        before = len(self.faults)
        for name in value:
            if name not in hints:
                self.fault(f"{dot}{name}", value[name], "unknown key", f"known are {', '.join(hints)}")
        found = {}
        for name, hint in hints.items():
            if name in value:
                found[name] = self.read(hint, value[name], f"{dot}{name}")
            else:
                self.fault(f"{dot}{name}", _NOTHING, "this key is missing")
        return None if len(self.faults) > before else kind(**found)

    def _read_plain(self, hint: Any, value: Any, key: str) -> Any:
        wanted = {str: "text", bool: "true or false", int: "a whole number", float: "a finite number"}[hint]
        if hint is float and type(value) in (int, float):
            try:
                number = float(value)
            except OverflowError:
                number = math.inf
            if math.isfinite(number):
                return number
        elif type(value) is hint:
            return value
        self.fault(key, value, f"must be {wanted}")
        return None


_NOTHING = object()


def _check_sense(design: Design, reader: _Reader) -> None:
    """Note what no type can say: marks used twice, unknown materials and steps, unsound prisms."""
    materials = {material.key for material in design.materials}
    marks: set[str] = set()
    for number, part in enumerate(design.parts):
        key = f"parts[{number}]"
        if part.mark in marks:
            reader.fault(f"{key}.mark", part.mark, "this mark belongs to another part already")
        marks.add(part.mark)
        if part.material not in materials:
            reader.fault(f"{key}.material", part.material, f"must be one of {', '.join(sorted(materials))}")
        for place, prism in enumerate(part.solids):
            for words in prism_faults(prism):
                reader.fault(f"{key}.solids[{place}]", _NOTHING, words)
    stand: set[str] = set()
    for number, step in enumerate(design.steps):
        if step.key in stand:
            reader.fault(f"steps[{number}].key", step.key, "this key belongs to another step already")
        for before in step.after:
            if before not in stand:
                reader.fault(f"steps[{number}].after", before, "must be the key of an earlier step")
        stand.add(step.key)
