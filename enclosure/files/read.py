"""How is a TOML file read into a model, with every fault shown at once?

One read gives either a model or faults; it never stops at the first fault. Each fault carries the
file, the line, the key, what the file says, what is allowed and a way out.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Generic, TypeVar

from pydantic import BaseModel, ValidationError

from enclosure.errors import Fault, FaultsError, nearest
from enclosure.files.fields import FROM_FILE, file_key

MOST_BYTES = 1_000_000
_MOST_NESTING = 20
_Loc = tuple[int | str, ...]
ModelT = TypeVar("ModelT", bound=BaseModel)

_PLAIN_WORDS = {
    "string_type": "needs text between quotation marks",
    "bool_type": "needs true or false",
    "dict_type": "needs a table of keys",
    "model_type": "needs a table of keys",
    "model_attributes_type": "needs a table of keys",
    "tuple_type": "needs a list in square brackets",
    "list_type": "needs a list in square brackets",
}


@dataclass(frozen=True)
class TomlText:
    """A TOML file that could be taken apart: its name, its text and its content."""

    name: str
    text: str
    content: dict[str, Any]


@dataclass(frozen=True)
class Outcome(Generic[ModelT]):
    """What came of reading one file: a model, or faults."""

    source: TomlText | None
    model: ModelT | None
    faults: tuple[Fault, ...]

    def sound(self) -> ModelT:
        """Return the model.

        Raises:
            FaultsError: The file could not be read; all faults together.
        """
        raise_if_faulty(self.faults)
        assert self.model is not None
        return self.model


def _whole_file(path: Path, allowed: str, hint: str) -> Fault:
    return Fault(file=str(path), line=0, key="", value="", allowed=allowed, hint=hint)


def load_toml(path: Path) -> TomlText | Fault:
    """Return a file taken apart, or the one fault that stops that."""
    try:
        if path.is_dir():
            return _whole_file(path, "is a folder, not a file", "name the file in it")
        if path.exists() and not path.is_file():
            return _whole_file(path, "is not an ordinary file", "name a TOML file")
        if path.stat().st_size > MOST_BYTES:
            return _whole_file(
                path,
                f"is {path.stat().st_size / 1e6:.1f} MB; a file of at most {MOST_BYTES / 1e6:.0f} MB is read",
                "check that this is the right file",
            )
        raw = path.read_bytes()
    except FileNotFoundError:
        names = [entry.name for entry in _siblings(path)]
        hint = nearest(path.name, names, "check the name, or start one with: enclosure new")
        return _whole_file(path, "does not exist", hint)
    except OSError as error:
        return _whole_file(
            path, f"cannot be read: {(error.strerror or 'unknown reason').lower()}", "check its permissions"
        )
    if not raw.strip():
        return _whole_file(path, "is empty", "start from a template: enclosure new")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError:
        return _whole_file(
            path, "is not a text file in UTF-8", "save it as plain text (UTF-8), not as a document or picture"
        )
    if "\0" in text:
        return _whole_file(path, "is not a text file", "save it as plain text (UTF-8)")
    text = text.replace("\r\n", "\n")
    return take_apart(path, text)


def _siblings(path: Path) -> list[Path]:
    try:
        return sorted(path.parent.glob("*.toml"))
    except OSError:
        return []


def take_apart(path: Path, text: str) -> TomlText | Fault:
    """Return a text taken apart as TOML, or the one fault that stops that."""
    try:
        content = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        return _syntax_fault(path, text, str(error))
    except RecursionError:
        return _whole_file(path, "is nested too deeply", "write plain tables")
    except ValueError as error:
        return _whole_file(
            path, f"cannot be read as TOML: {str(error).lower()}", "shorten the overlong number"
        )
    if _depth(content) > _MOST_NESTING:
        return _whole_file(path, "is nested too deeply", "write plain tables")
    return TomlText(str(path), text, content)


def _depth(value: Any) -> int:
    deepest, level = 0, [value]
    while level and deepest <= _MOST_NESTING:
        deepest += 1
        level = [
            inner
            for outer in level
            if isinstance(outer, dict | list)
            for inner in (outer.values() if isinstance(outer, dict) else outer)
        ]
    return deepest


def _syntax_fault(path: Path, text: str, message: str) -> Fault:
    words, _, place = message.partition(" (at ")
    line = int(place.split()[1].rstrip(",")) if place.startswith("line ") else text.count("\n") + 1
    rows = text.splitlines()
    row = rows[line - 1].strip()[:60] if 0 < line <= len(rows) else ""
    hint = 'write key = "value", one a line; text and quantities stand between quotation marks'
    if "overwrite" in words or "twice" in words:
        words, hint = "the same key or table stands above already", "keep one of the two"
    elif row.count('"') % 2 and "'" not in row:
        words, hint = "a quotation mark is missing", 'text stands between two quotation marks, "like this"'
    elif "'" in row and '"' in row:
        hint = 'write feet and inches in words, "6 ft 5 1/2 in", or between triple single quotation marks'
    said = f"the row {row} " if row else ""
    return Fault(str(path), line, "", "", f"{said}is not TOML: {words[:1].lower()}{words[1:]}", hint)


def read_model(path: Path, model: type[ModelT]) -> Outcome[ModelT]:
    """Return the model in a file, or all its faults."""
    source = load_toml(path)
    if isinstance(source, Fault):
        return Outcome(None, None, (source,))
    return check_model(source, model)


def check_model(source: TomlText, model: type[ModelT]) -> Outcome[ModelT]:
    """Return the model in a file already taken apart, or all its faults."""
    try:
        made = model.model_validate(source.content, by_alias=True, by_name=False, context=FROM_FILE)
    except ValidationError as error:
        return Outcome(source, None, _faults(source, model, error))
    return Outcome(source, made, ())


def fault_at(source: TomlText, path: _Loc, allowed: str, hint: str) -> Fault:
    """Return a fault at a key of a file, with its line and what stands there."""
    return _Faults(source).at(path, allowed, hint)


class _Faults:
    """Makes faults for one file; the lines are looked for only once."""

    def __init__(self, source: TomlText) -> None:
        from enclosure.files.lines import key_lines

        self.source = source
        self.lines = key_lines(source.text)

    def at(self, path: _Loc, allowed: str, hint: str) -> Fault:
        from enclosure.files.lines import line_of

        return Fault(
            file=self.source.name,
            line=line_of(self.lines, path),
            key=_dotted(path),
            value=_shown(_look(self.source.content, path)),
            allowed=allowed,
            hint=hint,
        )


def _faults(source: TomlText, model: type[BaseModel], error: ValidationError) -> tuple[Fault, ...]:
    maker = _Faults(source)
    found: list[Fault] = []
    for item in error.errors(include_url=False):
        path: _Loc = tuple(part for part in item["loc"] if part != "[key]")
        kind = item["type"]
        if kind == "extra_forbidden":
            known = _keys_at(model, path[:-1])
            hint = nearest(str(path[-1]), known, f"known keys here: {', '.join(known)}")
            found.append(maker.at(path, "is not a key that is known here", hint))
        elif kind == "missing":
            found.append(maker.at(path, "is missing", _missing_hint(model, path)))
        elif kind == "enclosure_fault":
            context = item.get("ctx", {})
            found.append(maker.at(path, str(context.get("allowed")), str(context.get("hint", ""))))
        elif kind in ("too_short", "too_long"):
            found.append(maker.at(path, *_counted(item.get("ctx", {}))))
        else:
            words = _PLAIN_WORDS.get(kind, item["msg"][:1].lower() + item["msg"][1:])
            found.append(maker.at(path, words, "see a template: enclosure new"))
    return tuple(sorted(set(found), key=lambda fault: (fault.line, fault.key, fault.allowed)))


def _counted(context: dict[str, Any]) -> tuple[str, str]:
    """Return what is allowed, and the way out, for a list or table with too few or too many entries."""
    least, most, actual = context.get("min_length"), context.get("max_length"), context.get("actual_length")
    if most is None:
        return f"needs at least {least} entries, here are {actual}", "add what is missing"
    return f"needs {most} entries, here are {actual}", "add or take away entries"


def _keys_at(model: type[BaseModel], path: _Loc) -> list[str]:
    """Return the file keys that the model knows in the table at a path."""
    here = _model_at(model, path)
    return [] if here is None else sorted(file_key(name) for name in here.model_fields)


def _model_at(model: type[BaseModel], path: _Loc) -> type[BaseModel] | None:
    here: type[BaseModel] | None = model
    for part in path:
        if here is not None and isinstance(part, str):
            here = _inner_model(here, part)
    return here


def _inner_model(model: type[BaseModel], key: str) -> type[BaseModel] | None:
    for name, info in model.model_fields.items():
        if file_key(name) == key:
            return _model_in(info.annotation)
    return model


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in getattr(annotation, "__args__", ()):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


def _missing_hint(model: type[BaseModel], path: _Loc) -> str:
    here = _model_at(model, path[:-1])
    for name, info in here.model_fields.items() if here is not None else ():
        if file_key(name) == path[-1]:
            if _model_in(info.annotation) is not None:
                return f"add the table [{_dotted(path)}]"
            if info.description:
                return f"add {path[-1]}: {info.description}"
    return f"add a line {path[-1]} = ..."


def _look(content: Any, path: _Loc) -> Any:
    for part in path:
        try:
            content = content[part]
        except (KeyError, IndexError, TypeError):
            return None
    return content


def _shown(value: Any) -> str:
    if value is None:
        return ""
    if isinstance(value, str):
        short = value if len(value) <= 60 else value[:57] + "..."
        return f"'{short}'" if '"' in short else f'"{short}"'
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{key} = {_shown(inner)}" for key, inner in list(value.items())[:3]) + " }"
    if isinstance(value, list):
        return (
            "[" + ", ".join(_shown(inner) for inner in value[:3]) + (", ..." if len(value) > 3 else "") + "]"
        )
    return str(value)[:60]


def _dotted(path: _Loc) -> str:
    text = ""
    for part in path:
        text += f"[{part}]" if isinstance(part, int) else (f".{part}" if text else str(part))
    return text


def raise_if_faulty(*groups: tuple[Fault, ...]) -> None:
    """Raise all the faults of all the files, if there are any.

    Raises:
        FaultsError: At least one fault was found.
    """
    faults = tuple(fault for group in groups for fault in group)
    if faults:
        raise FaultsError(faults)
