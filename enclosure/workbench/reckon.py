"""What follows from the text of a brief: faults, picture and numbers first, then the checks?

The first answer (read, build, picture, sizes, growth, price by area) takes a few tens
of milliseconds; the checks take about a hundred more and come second. Cutting plans
and ways out take seconds and are left to a process of their own (`helpers`).
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

from enclosure import units
from enclosure.checks.live import calendar_of, living_checks
from enclosure.checks.model import Check, worst_first
from enclosure.checks.season_calendar import Event
from enclosure.checks.stand import standing_checks
from enclosure.choose.area_price import area_price
from enclosure.choose.growth import Growth, growth
from enclosure.errors import EnclosureError, Fault, FaultsError
from enclosure.files.read import take_apart
from enclosure.pipeline.walk import Shelter, rebuild
from enclosure.workbench.edit import values_of
from enclosure.workbench.fields import FIELDS, Field
from enclosure.workbench.shelves import Shelves


@dataclass(frozen=True, slots=True)
class Trouble:
    """Something that stops the shelter, with the way out; `key` names the field, "" for none of them."""

    key: str
    words: str
    hint: str


@dataclass(slots=True)
class First:
    """The first answer to a text.

    Args:
        text: The brief.
        values: What each field shows.
        troubles: What is wrong; empty when the shelter was built.
        shelter: Brief, site, stock, design; None when there is trouble.
        growth: When it is outgrown.
        price: Price by area and length, in the money of the stock list.
    """

    text: str
    values: dict[str, str]
    troubles: tuple[Trouble, ...] = ()
    shelter: Shelter | None = None
    growth: Growth | None = None
    price: float = 0.0


@dataclass(frozen=True, slots=True)
class Second:
    """The checks of a shelter.

    Args:
        standing: Will it stand, worst first.
        living: Will it live, worst first.
        calendar: Dates of the season.
        trouble: Why they could not be reckoned; None when they were.
    """

    standing: tuple[Check, ...] = ()
    living: tuple[Check, ...] = ()
    calendar: tuple[Event, ...] = ()
    trouble: Trouble | None = None

    @property
    def checks(self) -> tuple[Check, ...]:
        """All rows, worst first."""
        return worst_first((*self.standing, *self.living))


def first_answer(text: str, shelves: Shelves) -> First:
    """Return what can be said at once about a text."""
    source = take_apart(shelves.place, text)
    if isinstance(source, Fault):
        return First(text, dict.fromkeys(FIELDS, ""), (_of_file(source),))
    values = values_of(source.content)
    try:
        brief, site, stock = shelves.read(text)
        shelter = rebuild(brief, site, stock)
    except FaultsError as error:
        return First(text, values, tuple(_of_fault(fault, shelves) for fault in error.faults))
    except EnclosureError as error:
        return First(text, values, (Trouble("", error.message, error.hint),))
    price = area_price(shelter.design, stock).total
    return First(text, values, (), shelter, growth(brief, stock, shelter.design), price)


def second_answer(shelter: Shelter) -> Second:
    """Return the checks of a shelter, without the ways out."""
    asked = (shelter.design, shelter.brief, shelter.site, shelter.stock)
    try:
        standing = worst_first(standing_checks(*asked, ways_out=False))
        living = worst_first(living_checks(*asked))
        return Second(standing, living, calendar_of(*asked))
    except EnclosureError as error:
        return Second(trouble=Trouble("", error.message, error.hint))


def _of_file(fault: Fault) -> Trouble:
    where = f"line {fault.line}: " if fault.line else ""
    return Trouble("", f"{where}{fault.allowed}", fault.hint)


def _of_fault(fault: Fault, shelves: Shelves) -> Trouble:
    if fault.file != str(shelves.place):
        name = fault.file.rsplit("/", 1)[-1]
        return Trouble("", f"{name}, line {fault.line}: {fault.key} {fault.allowed}", fault.hint)
    key = _field_of(fault.key)
    words = fault.allowed if key else f"{fault.key}: {fault.allowed}" if fault.key else fault.allowed
    return Trouble(key, words, fault.hint)


def _field_of(key: str) -> str:
    """Return the field that shows the fault of a key, "" when the form has none for it."""
    for name in (key, f"{key}.least", *(f"{key}.{last}" for last in _FIRST_OF)):
        if name in FIELDS:
            return name
    return ""


_FIRST_OF = ("kind", "brick", "depth", "wall", "source", "all", "section", "front")
"""Where the fault of a whole table is shown: at the field that begins it."""


# --- reading back ------------------------------------------------------------------


@dataclass(slots=True)
class ReadBack:
    """How typed quantities read in the units that the page shows."""

    view: units.UnitSystem
    known: dict[tuple[str, str], str] = field(default_factory=dict)

    def of(self, item: Field, said: str) -> str:
        """Return a quantity in the units shown, "" where that would say nothing new."""
        if not said or (item.dimension is None and not item.bearing):
            return ""
        found = self.known.get((item.key, said))
        if found is None:
            found = self.known[item.key, said] = self._read(item, said)
        return found

    def _read(self, item: Field, said: str) -> str:
        try:
            if item.bearing:
                bearing = units.parse_bearing(said)
                return f"= {float(bearing):.4g} deg from north"
            if item.dimension is units.TEMPERATURE:
                shown = units.format_temperature(float(units.parse(said, units.TEMPERATURE)), self.view)
            else:
                shown = self._length(units.parse_length(said))
        except EnclosureError:
            return ""
        return "" if shown == said else f"= {shown}"

    def _length(self, mm: Fraction) -> str:
        text = units.format_length(float(mm), self.view, feet=True)
        exact = units.parse_length(text) == mm
        return text if exact else f"about {text}"
