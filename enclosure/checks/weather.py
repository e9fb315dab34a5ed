"""What does an hourly year look like, made from monthly means or read from a file?

Made: the usual course of the year, plus daily departures that remember the day
before (first-order autoregression, 0.7 a day), standardised in every month so
that the monthly mean is kept exactly and the spread is Erbs's, plus a daily
cosine. The seed fixes it for all time: the numbers come from our own counter
hash, not from a library's stream. Read: EPW, TMY3 and plain CSV of hours, with
faults that name line and column.

Left out: wind, rain, and the link between clear skies and cold nights.
Heavy imports: numpy. Import this module only when an hourly run is asked for.
Units: °C, W/m².
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from enclosure.checks.climate import Climate, coldest_day, daily_sd, month_of, normal_course
from enclosure.checks.ranges import within
from enclosure.errors import BriefError, Fault, FaultsError

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

MEMORY_A_DAY = 0.7
MOST_FAULTS = 10
MOST_BYTES = 20_000_000
"""A year of hours in the widest of the formats takes a tenth of it."""


@dataclass(frozen=True, slots=True)
class Weather:
    """Hours in a row.

    Args:
        source: Where they come from, in words.
        day: Day of the year of each hour, 1 to 366.
        hour: Middle of each hour, local time, 0.5 to 23.5.
        outside_degc: Dry-bulb temperature [°C].
        global_w_m2: Sun on the level [W/m²], None when the file lacks it in any hour.
    """

    source: str
    day: Ints
    hour: Floats
    outside_degc: Floats
    global_w_m2: Floats | None = None

    def only(self, keep: NDArray[np.bool_]) -> Weather:
        """Return the hours that are kept, in order."""
        sun = None if self.global_w_m2 is None else self.global_w_m2[keep]
        return Weather(self.source, self.day[keep], self.hour[keep], self.outside_degc[keep], sun)

    def turned(self, day: int) -> Weather:
        """Return a whole year beginning with a day, so that the winter lies in one piece; less than a year as it is."""
        if len(self.day) != 8760 or not (self.day == day).any():
            return self
        first = -int(np.argmax(self.day == day))
        sun = None if self.global_w_m2 is None else np.roll(self.global_w_m2, first)
        day_row, hour, outside = np.roll(self.day, first), np.roll(self.hour, first), np.roll(self.outside_degc, first)
        return Weather(self.source, day_row, hour, outside, sun)


def uniform(seed: int, count: int) -> Floats:
    """Return numbers between 0 and 1 (exclusive) that depend on nothing but the seed.

    References:
        splitmix64 finaliser (Steele, Lea, Flood 2014) over a counter.
    """
    with np.errstate(over="ignore"):
        golden = np.uint64(0x9E3779B97F4A7C15)
        z = (np.arange(1, count + 1, dtype=np.uint64) + np.uint64(seed) * np.uint64(1_000_003)) * golden
        z = (z ^ (z >> np.uint64(30))) * np.uint64(0xBF58476D1CE4E5B9)
        z = (z ^ (z >> np.uint64(27))) * np.uint64(0x94D049BB133111EB)
        z = z ^ (z >> np.uint64(31))
    return ((z >> np.uint64(11)).astype(np.float64) + 0.5) / 2.0**53


def bell(seed: int, count: int) -> Floats:
    """Return standard normal numbers (Box-Muller over `uniform`)."""
    pair = uniform(seed, 2 * count)
    result: Floats = np.sqrt(-2.0 * np.log(pair[:count])) * np.cos(2.0 * np.pi * pair[count:])
    return result


def made_year(climate: Climate, seed: int = 1, spread: bool = True) -> Weather:
    """Return 8,760 hours of a made-up usual year with the winter in its middle.

    Args:
        climate: The place.
        seed: Which of the possible years, 0 to 1e9.
        spread: False for days that never stray from the usual course (tests).
    """
    within("seed", seed, 0, 1e9)
    start = coldest_day(climate) + 182
    days = np.array([(start + i - 1) % 365 + 1 for i in range(365)], dtype=np.int64)
    months = np.array([month_of(int(day)) for day in days])
    mean = np.array(normal_course(climate.monthly_mean_degc))[days - 1]
    if spread:
        noise, shocks = np.empty(365), bell(seed, 365)
        last = shocks[0]
        for i in range(365):
            last = MEMORY_A_DAY * last + np.sqrt(1.0 - MEMORY_A_DAY**2) * shocks[i]
            noise[i] = last
        for month in range(12):
            here = months == month
            part = noise[here] - noise[here].mean()
            noise[here] = part / part.std() * daily_sd(climate, month)
        mean = mean + noise
    hour = np.arange(24) + 0.5
    swing = climate.daily_range_k / 2.0 * np.cos(2.0 * np.pi * (hour - 15.0) / 24.0)
    outside = (mean[:, None] + swing[None, :]).ravel()
    return Weather(
        f"made from monthly means, autoregression {MEMORY_A_DAY} a day, seed {seed}",
        np.repeat(days, 24),
        np.tile(hour, 365),
        outside,
    )


def read_weather(path: Path) -> Weather:
    """Return the hours of a weather file: EPW, TMY3 or plain CSV, told apart by their first line.

    Raises:
        BriefError: The file cannot be opened or is in none of the three formats.
        FaultsError: Lines are wrong; each fault names its line and column.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BriefError(f"{path} is larger than {MOST_BYTES / 1e6:.0f} MB", "use one year of hours")
        raw = path.read_bytes()
    except OSError as error:
        raise BriefError(f"the weather file {path} cannot be read: {(error.strerror or '').lower()}") from None
    name = path.name
    try:
        return _read_text(_decode(raw, name), name)
    except csv.Error as error:
        raise BriefError(f"{name} cannot be read as CSV: {error}", "save it again as CSV in UTF-8") from None


def _read_text(text: str, name: str) -> Weather:
    first = text.split("\n", 1)[0]
    if first.upper().startswith("LOCATION,"):
        return _read_epw(text, name)
    rows = text.split("\n", 2)
    if len(rows) > 1 and "dry-bulb" in rows[1].casefold():
        return _read_table(text, name, 1, _TMY3)
    if "temperature" in first.casefold():
        return _read_table(text, name, 0, _PLAIN)
    raise BriefError(
        f"{name} is neither EPW nor TMY3 nor a CSV of hours",
        "the first line of a plain CSV names its columns: month,day,hour,temperature_degc[,global_w_m2]",
    )


def _decode(raw: bytes, name: str) -> str:
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        try:
            return raw.decode("utf-16").replace("\r\n", "\n")
        except UnicodeDecodeError:
            raise BriefError(f"{name} begins as UTF-16 text and is damaged further on", "save it as UTF-8") from None
    try:
        return raw.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        before = raw[: error.start]
        line = before.count(b"\n") + 1
        column = error.start - (before.rfind(b"\n") + 1) + 1
        if raw[:9].upper() == b"LOCATION," and line <= 8:  # place names; the hours below are plain ASCII
            return raw.decode("latin-1").replace("\r\n", "\n")
        fault = Fault(
            name,
            line,
            f"column {column}",
            f"byte 0x{raw[error.start]:02X}",
            "the file is not UTF-8 text",
            "open it in a text editor and save it as UTF-8",
        )
        raise FaultsError((fault,)) from None


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where a format keeps what: words that a column's heading starts with."""

    temperature: str
    sun: str
    date: str = ""
    time: str = ""


_TMY3 = _Columns("dry-bulb (c)", "ghi (w/m^2)", "date (mm/dd/yyyy)", "time (hh:mm)")
_PLAIN = _Columns("temperature_degc", "global_w_m2")


class _Collector:
    """Gathers hours and faults of one file."""

    def __init__(self, name: str) -> None:
        self.name = name
        self.faults: list[Fault] = []
        self.rows: list[tuple[int, float, float, float]] = []
        self.last: int | None = None

    def fault(self, line: int, column: str, value: str, allowed: str, hint: str = "") -> None:
        self.faults.append(Fault(self.name, line, f"column {column}", value, allowed, hint))
        if len(self.faults) >= MOST_FAULTS:
            raise FaultsError(tuple(self.faults))

    def number(self, line: int, column: str, text: str, low: float, high: float) -> float:
        try:
            value = float(text)
        except ValueError:
            self.fault(line, column, text or "(empty)", "needs a number")
            return float("nan")
        if not low <= value <= high:
            hint = "an hour without a reading must be filled in before the file can be used"
            self.fault(line, column, text, f"must lie from {low:g} to {high:g}", hint)
        return value

    def when(self, line: int, column: str, month: float, day: float, hour: float) -> int | None:
        """Return the hour of the year of an hour that ends at `hour` (1 to 24), None when it is wrong."""
        from enclosure.checks.climate import MONTH_DAYS, first_day

        if not (1 <= month <= 12 and 1 <= day <= 31 and 1 <= hour <= 24):
            return None
        if month == 2 and day == 29:
            return -1
        if day > MONTH_DAYS[int(month) - 1]:
            self.fault(line, column, f"{int(month)}/{int(day)}", "is not a day of the calendar")
            return None
        index = (first_day(int(month) - 1) + int(day) - 2) * 24 + int(hour) - 1
        if self.last is not None and index != (self.last + 1) % 8760:
            lost = (index - self.last - 1) % 8760
            self.fault(
                line,
                column,
                f"hour {int(hour)} of {int(month)}/{int(day)}",
                f"does not follow the line before: {lost} hours are missing or out of order",
                "hours must stand in a row; fill the gap, or cut the file there",
            )
        self.last = index
        return index

    def finish(self, source: str) -> Weather:
        if self.faults:
            raise FaultsError(tuple(self.faults))
        if len(self.rows) < 24:
            raise BriefError(f"{self.name} holds {len(self.rows)} hours; at least 24 are needed")
        day, hour, outside, sun = (np.array(column) for column in zip(*self.rows, strict=True))
        return Weather(source, day.astype(np.int64), hour, outside, None if np.isnan(sun).any() else sun)


def _read_epw(text: str, name: str) -> Weather:
    got = _Collector(name)
    for line, cells in enumerate(csv.reader(io.StringIO(text)), start=1):
        if line <= 8 or not cells:
            continue
        if len(cells) < 14:
            got.fault(
                line, str(len(cells)), cells[-1], "an hour of EPW has 35 columns, at least 14 are needed"
            )
            continue
        month = got.number(line, "2 (month)", cells[1], 1, 12)
        day = got.number(line, "3 (day)", cells[2], 1, 31)
        hour = got.number(line, "4 (hour)", cells[3], 1, 24)
        outside = got.number(line, "7 (dry bulb)", cells[6], -70, 70)
        sun = float("nan")
        if not cells[13].strip().startswith("9999"):  # EPW's mark for a missing sun
            sun = got.number(line, "14 (global horizontal)", cells[13], 0, 1500)
        index = got.when(line, "2 to 4", month, day, hour)
        if index is not None and index >= 0:
            got.rows.append((index // 24 + 1, hour - 0.5, outside, sun))
    return got.finish(f"EPW file {name}")


def _read_table(text: str, name: str, heading: int, columns: _Columns) -> Weather:
    rows = list(csv.reader(io.StringIO(text)))
    heads = [cell.strip().casefold() for cell in rows[heading]]
    got = _Collector(name)
    wanted = (columns.date, columns.time) if columns.date else ("month", "day", "hour")
    for word in (*wanted, columns.temperature):
        if word not in heads:
            given = ", ".join(cell.strip() for cell in rows[heading][:6])
            got.fault(heading + 1, word, given, "this column is missing from the heading")
    if got.faults:
        raise FaultsError(tuple(got.faults))
    places = {word: heads.index(word) for word in (*wanted, columns.temperature)}
    sun_at = heads.index(columns.sun) if columns.sun in heads else -1
    needed = max(*places.values(), sun_at)
    for line, cells in enumerate(rows[heading + 1 :], start=heading + 2):
        if not cells:
            continue
        if len(cells) <= needed:
            got.fault(line, str(len(cells)), cells[-1], f"the line ends before column {needed + 1}")
            continue
        month, day, hour, where = _moment(got, line, [cells[places[word]] for word in wanted], wanted)
        column = f"{places[columns.temperature] + 1} ({columns.temperature})"
        outside = got.number(line, column, cells[places[columns.temperature]], -70, 70)
        sun = float("nan")
        if sun_at >= 0:
            sun = got.number(line, f"{sun_at + 1} ({columns.sun})", cells[sun_at], 0, 1500)
        index = got.when(line, where, month, day, hour)
        if index is not None and index >= 0:
            got.rows.append((index // 24 + 1, hour - 0.5, outside, sun))
    return got.finish(f"{'TMY3' if columns.date else 'CSV'} file {name}")


def _moment(
    got: _Collector, line: int, cells: list[str], names: tuple[str, ...]
) -> tuple[float, float, float, str]:
    """Return month, day, ending hour 1 to 24, and the column to blame."""
    if len(names) == 3:
        month = got.number(line, "month", cells[0], 1, 12)
        day = got.number(line, "day", cells[1], 1, 31)
        return month, day, got.number(line, "hour", cells[2], 1, 24), "month, day, hour"
    parts, clock = cells[0].split("/"), cells[1].split(":")
    if len(parts) != 3 or len(clock) != 2:
        got.fault(line, names[0], f"{cells[0]} {cells[1]}", "needs MM/DD/YYYY and HH:MM")
        return 0.0, 0.0, 0.0, names[0]
    month = got.number(line, names[0], parts[0], 1, 12)
    day = got.number(line, names[0], parts[1], 1, 31)
    return month, day, got.number(line, names[1], clock[0], 1, 24), names[0]
