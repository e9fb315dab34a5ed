"""How is a file of cutting cases read, and how is a plan written in that file's own lengths?

The form of the file: bins `[width, height, price, copies or null]`, stock
`[length, price, copies or null]`, offcuts `[width, height, price, copies]` or
`[length, price, copies]`, items `[width, height, quantity]` or
`[length, quantity]`; kerf and trim in the same lengths (trim is taken off bins
only). Decimals are read as exact fractions and scaled once to whole units; the
plan goes back in the file's lengths, with the size of every piece beside its cut.

Keys are positions in the file: `items[0]`, `bins[2]`, `offcuts[0]`, `stock[1]`.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from math import lcm
from pathlib import Path
from typing import Any

from enclosure.errors import BriefError
from enclosure.nesting.model import (
    UNITS_PER_MM,
    Cut,
    Filled,
    Node,
    Pair,
    Part,
    PartKind,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPlan,
)

SETS = ("two_d", "two_d_variable_size", "instances", "sticks")
MOST_DIGITS = 20
MODES = ("oriented", "rotated")

Record = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Case:
    """One case of a file, scaled to whole units.

    Args:
        set_name: The list of the file that it stands in.
        name: Its own name.
        mode: "oriented" or "rotated"; "" for sticks.
        job: The job.
        scale: Units of the job in one length of the file.
        money: Money units of the job in one of the file.
    """

    set_name: str
    name: str
    mode: str
    job: SheetJob | StickJob
    scale: int
    money: int


def read_cases(path: Path, sets: tuple[str, ...] = (), modes: tuple[str, ...] = ()) -> Iterator[Case]:
    """Yield the cases of a file, in its order.

    Args:
        path: A JSON file.
        sets: Lists of the file to read; all that it has when empty.
        modes: Modes wanted; for a case that is oriented by nature only that mode exists.

    Raises:
        BriefError: The file cannot be read or a case is not of the form above.
    """
    try:
        record = json.loads(path.read_text(encoding="utf-8"), parse_float=_decimal)
    except (OSError, ValueError, RecursionError) as error:
        raise BriefError(f"{path} cannot be read: {error}") from error
    if not isinstance(record, dict):
        raise BriefError(f"{path} must be one JSON object")
    for set_name in sets or tuple(name for name in SETS if name in record):
        if set_name not in record:
            raise BriefError(f"{path} has no list '{set_name}'", f"it has {', '.join(sorted(record))}")
        if not isinstance(record[set_name], list):
            raise BriefError(f"{path}: {set_name} is not a list of cases")
        for case in record[set_name]:
            try:
                if not isinstance(case, dict):
                    raise TypeError("a case is an object")
                yield from _cases(set_name, case, modes)
            except (LookupError, TypeError, ValueError, ArithmeticError) as error:
                name = case.get("name", "?") if isinstance(case, dict) else "?"
                raise BriefError(f"{path}: case {name} of {set_name} is malformed: {error!r}") from error


def _decimal(text: str) -> Decimal:
    value = Decimal(text)
    if not -MOST_DIGITS < value.adjusted() < MOST_DIGITS or len(text) > 2 * MOST_DIGITS:
        raise ValueError(f"{text[:40]} is no length and no price")
    return value


def _cases(set_name: str, case: Record, modes: tuple[str, ...]) -> Iterator[Case]:
    if "stock" in case:
        job, scale, money = _stick_job(case)
        yield Case(set_name, case["name"], "", job, scale, money)
        return
    fixed = case.get("oriented") is True
    for mode in ("oriented",) if fixed else modes or ("oriented",):
        sheet_job, scale, money = _sheet_job(case, turnable=mode == "rotated")
        yield Case(set_name, case["name"], mode, sheet_job, scale, money)


def _sheet_job(case: Record, *, turnable: bool) -> tuple[SheetJob, int, int]:
    bins, offcuts = case["bins"], case.get("offcuts", [])
    kerf, trim = case.get("kerf", 0), case.get("trim", 0)
    lengths = [value for row in (*bins, *offcuts, *case["items"]) for value in row[:2]]
    scale = _scale(case, [*lengths, kerf, trim])
    money = _denominator([row[2] for row in (*bins, *offcuts)])
    kinds = tuple(
        PartKind(f"items[{index}]", _units(width, scale), _units(height, scale), int(quantity), turnable)
        for index, (width, height, quantity) in enumerate(case["items"])
    )
    sheets = []
    for source, rows in (("bins", bins), ("offcuts", offcuts)):
        for index, (width, height, price, copies) in enumerate(rows):
            new = source == "bins"
            sheets.append(
                SheetKind(
                    f"{source}[{index}]",
                    _units(width, scale),
                    _units(height, scale),
                    _units(price, money),
                    copies,
                    _units(trim, scale) if new else 0,
                    not new,
                )
            )
    return SheetJob(kinds, tuple(sheets), _units(kerf, scale), case.get("stages")), scale, money


def _stick_job(case: Record) -> tuple[StickJob, int, int]:
    stock, offcuts, kerf = case["stock"], case.get("offcuts", []), case.get("kerf", 0)
    scale = _scale(case, [row[0] for row in (*stock, *offcuts, *case["items"])] + [kerf])
    money = _denominator([row[1] for row in (*stock, *offcuts)])
    parts = tuple(
        StickPart(f"items[{index}]", _units(length, scale), int(quantity))
        for index, (length, quantity) in enumerate(case["items"])
    )
    sticks = tuple(
        StickKind(
            f"{source}[{index}]",
            _units(length, scale),
            _units(price, money),
            copies,
            owned=source == "offcuts",
        )
        for source, rows in (("stock", stock), ("offcuts", offcuts))
        for index, (length, price, copies) in enumerate(rows)
    )
    return StickJob(parts, sticks, _units(kerf, scale)), scale, money


def _scale(case: Record, lengths: list[Decimal | int]) -> int:
    return UNITS_PER_MM if case.get("unit") == "mm" else _denominator(lengths)


def _denominator(values: list[Decimal | int]) -> int:
    return lcm(*(Decimal(value).as_integer_ratio()[1] for value in values))


def _units(value: Decimal | int, scale: int) -> int:
    scaled = Decimal(value) * scale
    if scaled != int(scaled):
        raise BriefError(f"{value} is finer than 1/{scale}")
    return int(scaled)


# --- plans, in the lengths of the file --------------------------------------------


def plan_record(case: Case, plan: SheetPlan | StickPlan) -> Record:
    """Return a plan as plain objects in the lengths of the case's file."""
    if isinstance(plan, StickPlan):
        return {"patterns": _stick_rows(case, plan)}
    assert isinstance(case.job, SheetJob)
    sheets = {sheet.key: sheet for sheet in case.job.sheets}
    rows = []
    for pattern in plan.patterns:
        sheet = sheets[pattern.sheet]
        width, height = sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim
        rows.append(
            {
                "sheet": pattern.sheet,
                "copies": pattern.copies,
                "trim": number(sheet.trim, case.scale),
                "root": _node(case, case.job, pattern.root, width, height),
            }
        )
    return {"patterns": rows}


def _node(case: Case, job: SheetJob, node: Node, width: int, height: int) -> Record:
    size: Record = {"width": number(width, case.scale), "height": number(height, case.scale)}
    if isinstance(node, Cut):
        beyond = node.at + job.kerf
        across = node.axis == "x"
        near = (node.at, height) if across else (width, node.at)
        far = (width - beyond, height) if across else (width, height - beyond)
        return {
            "cut": node.axis,
            "at": number(node.at, case.scale),
            **size,
            "near": _node(case, job, node.near, *near),
            "far": None if node.far is None else _node(case, job, node.far, *far),
        }
    if isinstance(node, Part):
        return {"part": node.key, "turned": node.turned, **size}
    if isinstance(node, Pair):
        return {"pair": [node.low, node.high], **size}
    if isinstance(node, Filled):  # the cases of a file are rectangles
        raise TypeError("a case of a file has no sloped parts")
    return {"rest": "keep" if node.keep else "waste", **size}


def _stick_rows(case: Case, plan: StickPlan) -> list[Record]:
    return [
        {
            "stick": pattern.stick,
            "copies": pattern.copies,
            "pieces": [
                {"part": piece.key, "start": number(piece.start, case.scale)} for piece in pattern.pieces
            ],
        }
        for pattern in plan.patterns
    ]


def number(units: int, scale: int) -> int | float:
    """Return units over scale as a whole number where it is one."""
    return units // scale if units % scale == 0 else units / scale
