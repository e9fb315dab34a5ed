"""How does a model field take a quantity written as text?

A model names its fields with the unit (``height_mm``); the file uses the same word without it
(``height = "1.95 m"``). From a file only text with a unit is taken. Programs that build a model
directly may also give a plain number in the unit of the field's name.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from fractions import Fraction
from typing import Any, Final

from pydantic import AliasGenerator, BaseModel, BeforeValidator, ConfigDict, ValidationInfo
from pydantic_core import PydanticCustomError

from enclosure import units
from enclosure.errors import EnclosureError, nearest

UNIT_SUFFIXES: Final = (
    "_w_m2k", "_kg_m2", "_kg_m3", "_kg_m", "_n_m", "_1e6_k", "_m_s", "_degc", "_kpa", "_deg", "_mm", "_m2",
    "_years", "_kg", "_m", "_k",
)  # fmt: skip
FROM_FILE: Final = "from file"
_LARGEST_BARE: Final = 1e300


def file_key(field_name: str) -> str:
    """Return the word used in files for a field: its name without the unit.

    >>> file_key("u_value_w_m2k"), file_key("height_mm"), file_key("name")
    ('u_value', 'height', 'name')
    """
    for suffix in UNIT_SUFFIXES:
        if field_name.endswith(suffix):
            return field_name.removesuffix(suffix)
    return field_name


class FileModel(BaseModel):
    """Base of everything read from a file: frozen, and closed to unknown keys.

    Each validator is built when a file is first read with it, and then in one piece with what it holds; that and
    annotations that are not text (no ``from __future__ import annotations`` in the modules of models) halve the
    time it takes to start.
    """

    model_config = ConfigDict(
        defer_build=True,
        frozen=True,
        extra="forbid",
        validate_by_name=True,
        validate_by_alias=True,
        alias_generator=AliasGenerator(validation_alias=file_key),
    )


def fault(allowed: str, hint: str = "") -> PydanticCustomError:
    """Return the error that the reader turns into a fault: what is allowed, and the way out."""
    return PydanticCustomError("enclosure_fault", "{allowed}", {"allowed": allowed, "hint": hint})


def nearest_hint(said: str, known: tuple[str, ...] | list[str], what: str = "names") -> str:
    """Return ``did you mean ...`` or the list of what there is."""
    if not known:
        return f"there are no {what} to choose from"
    return nearest(said, known, f"{what}: {', '.join(sorted(known))}", quote='"')


def _exact(text: str, dimension: units.Dimension, reader: Callable[[str], Fraction] | None) -> Fraction:
    return reader(text) if reader is not None else units.parse(text, dimension)


def quantity(
    dimension: units.Dimension,
    least: str | None = None,
    most: str | None = None,
    *,
    per: Fraction | int = 1,
    reader: Callable[[str], Fraction] | None = None,
) -> BeforeValidator:
    """Return a validator that reads a quantity and holds it between two bounds, both written as text.

    Args:
        dimension: Kind of quantity.
        least: Smallest value allowed, as text with its unit.
        most: Largest value allowed.
        per: Base units in one unit of the field (1000 for a field in kPa, whose base unit is Pa).
        reader: A reader other than the plain one (bearings, slopes).
    """
    low = None if least is None else units.parse(least, dimension) / per
    high = None if most is None else units.parse(most, dimension) / per
    limits = {
        (True, True): f" from {least} to {most}",
        (True, False): f" of at least {least}",
        (False, True): f" of at most {most}",
        (False, False): "",
    }[(least is not None, most is not None)]
    allowed = f"needs {dimension.name}{limits}"

    def read(value: Any, info: ValidationInfo) -> Any:
        if value is None:
            return None
        if isinstance(value, str):
            try:
                number = float(_exact(value, dimension, reader) / per)
            except EnclosureError as error:
                raise fault(f"{error.message}; {allowed}", error.hint) from None
        elif _no_number(value):
            raise fault(allowed, units.unit_hint(dimension))
        elif info.context == FROM_FILE and math.isfinite(value):
            hint = units.unit_hint(dimension, *_likely(value, dimension, low, high, per))
            raise fault(f"a bare number has no unit; {allowed}", hint)
        else:
            number = float(value)
        number = round(number, 6)
        if not math.isfinite(number):
            raise fault(f"not a finite number; {allowed}", units.unit_hint(dimension))
        if (low is not None and number < round(float(low), 6)) or (
            high is not None and number > round(float(high), 6)
        ):
            raise fault(f"outside its range; {allowed}", "check the unit and the number")
        return number

    return BeforeValidator(read)


def _likely(
    value: float, dimension: units.Dimension, low: Fraction | None, high: Fraction | None, per: Fraction | int
) -> tuple[str, str]:
    """Return a bare number as text and the first usual unit in which it would be allowed, "" when there is none."""
    said = f"{value:g}"
    for unit in dimension.shown:
        try:
            number = units.parse(f"{said} {unit}", dimension) / per
        except EnclosureError:
            continue
        if (low is None or number >= low) and (high is None or number <= high):
            return said, unit
    return said, ""


def _no_number(value: Any) -> bool:
    if isinstance(value, bool) or not isinstance(value, int | float):
        return True
    return isinstance(value, int) and abs(value) > _LARGEST_BARE


def length(least: str | None = None, most: str | None = None) -> BeforeValidator:
    """Return a validator for a length field in mm."""
    return quantity(units.LENGTH, least, most)


def temperature(least: str | None = None, most: str | None = None) -> BeforeValidator:
    """Return a validator for a temperature field in degC."""
    return quantity(units.TEMPERATURE, least, most)


def share(least: str | None = None, most: str | None = None) -> BeforeValidator:
    """Return a validator for a share field, 1 meaning the whole."""
    return quantity(units.SHARE, least, most)


def whole_number(least: int, most: int, what: str) -> BeforeValidator:
    """Return a validator for a count: a bare whole number between two bounds."""

    def read(value: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int) or not least <= value <= most:
            raise fault(
                f"needs a whole number of {what} from {least} to {most}",
                f"write a number without quotation marks, for instance {min(most, max(least, 2))}",
            )
        return value

    return BeforeValidator(read)


def plain_number(least: float, most: float, what: str) -> BeforeValidator:
    """Return a validator for a number without a unit, such as a price, between two bounds."""

    def read(value: Any) -> Any:
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, int | float) or not least <= value <= most:
            raise fault(
                f"needs {what} from {least:g} to {most:g}, without a unit",
                "write a plain number, for instance 12.50",
            )
        return float(value)

    return BeforeValidator(read)


def one_of(*words: str) -> BeforeValidator:
    """Return a validator for a word out of a short list, with the nearest one offered."""

    def read(value: Any) -> Any:
        if value is None or value in words:
            return value
        raise fault(f"needs one of {', '.join(words)}", nearest_hint(str(value), words, "choose from"))

    return BeforeValidator(read)


def some_text(most: int = 200) -> BeforeValidator:
    """Return a validator for words: one line, not empty, not overlong."""

    def read(value: Any) -> Any:
        if value is None:
            return None
        if not isinstance(value, str) or not value.strip() or len(value) > most or not value.isprintable():
            raise fault(
                f"needs text on one line of 1 to {most} characters",
                'write it between quotation marks, "like this"',
            )
        return value.strip()

    return BeforeValidator(read)


def yes_or_no() -> BeforeValidator:
    """Return a validator for true or false."""

    def read(value: Any) -> Any:
        if not isinstance(value, bool):
            raise fault("needs true or false", "write true or false without quotation marks")
        return value

    return BeforeValidator(read)
