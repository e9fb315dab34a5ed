"""How is a changed brief written, with all the notes of the old one kept?

Only the lines that differ are touched. What was written is read back and must
give the changed brief exactly; a difference that a file cannot say is an error.
tomlkit is imported when it is needed.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any, Final

from pydantic import BaseModel

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all_text
from enclosure.errors import BriefError
from enclosure.files.fields import file_key

Difference = tuple[tuple[str, ...], Any]

_UNITS: Final = {"_mm": "mm", "_deg": "deg", "_degc": "degC", "_kg": "kg"}


def differences(old: BaseModel, new: BaseModel, above: tuple[str, ...] = ()) -> tuple[Difference, ...]:
    """Return what differs between two models of one kind: keys as in the file, and the new value as in the file.

    Raises:
        BriefError: A difference that cannot be written in a file.
    """
    found: list[Difference] = []
    for name, info in type(old).model_fields.items():
        before, after = getattr(old, name), getattr(new, name)
        if before == after:
            continue
        key = (*above, str(info.validation_alias or file_key(name)))
        if isinstance(before, BaseModel) and isinstance(after, BaseModel):
            found += differences(before, after, key)
        else:
            found.append((key, _in_file(name, after, key)))
    return tuple(found)


def _in_file(name: str, value: Any, key: tuple[str, ...]) -> Any:
    """Return a value as it is written in a file; None takes the line out."""
    if value is None or isinstance(value, bool | int | str | dict):
        return value
    unit = name.removeprefix(file_key(name))
    if isinstance(value, float) and unit in _UNITS:
        return f"{value:g} {_UNITS[unit]}"
    raise BriefError(f"{'.'.join(key)} cannot be changed by the program", "change it by hand")


def with_values(text: str, changes: tuple[Difference, ...]) -> str:
    """Return the text of a brief with some values put in; a value of None takes its line out.

    Raises:
        BriefError: A table of a key is a plain value in the text.
    """
    import tomlkit
    from tomlkit.items import AbstractTable, InlineTable

    document = tomlkit.parse(text)
    for (*tables, last), value in changes:
        place: Any = document
        for name in tables:
            if name not in place:
                place[name] = tomlkit.table()
            place = place[name]
            if not isinstance(place, AbstractTable | InlineTable):
                raise BriefError(f"{'.'.join((*tables, last))}: {name} is a value, not a table", "see a shipped brief")
        if value is None:
            place.pop(last, None)
        elif isinstance(value, dict):
            table = tomlkit.inline_table()
            table.update(value)
            place[last] = table
        else:
            place[last] = value
    return tomlkit.dumps(document)


def changed_text(text: str, old: Brief, new: Brief, path: Path) -> str:
    """Return the text of a brief changed from one model to another.

    Args:
        text: The brief as it is.
        old: What the text says.
        new: What it shall say.
        path: Where it will be written; files it names are looked for beside it.

    Raises:
        BriefError: The difference cannot be written.
        FaultsError: A file it names is not found from there.
    """
    changed = with_values(text, differences(old, new))
    again, _, _ = read_all_text(changed, path)
    if again != new:
        left = ", ".join(".".join(key) for key, _ in differences(again, new))
        raise BriefError(f"the change could not be written: {left} reads back differently", "change it by hand")
    return changed
