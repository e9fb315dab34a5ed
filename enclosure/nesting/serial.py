"""How do cutting jobs and plans go to JSON and come back exactly?

Everything is a whole number in the units of `model`, so nothing is rounded.
A tree of cuts is written as nested objects:

    {"cut": "x", "at_units": 4060000, "near": ..., "far": ...}   (far null: sliver)
    {"part": "BACK-1", "turned": false}
    {"pair": ["LEFT-1", "RIGHT-1"]}
    {"rest": "keep"} or {"rest": "waste"}

Reading refuses unknown keys, wrong types and unknown versions with a BriefError.
"""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any, cast

from enclosure.errors import BriefError
from enclosure.nesting.model import (
    Axis,
    Cut,
    Filled,
    Node,
    Pair,
    Part,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    Status,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPiece,
    StickPlan,
)

VERSION = 1

Record = dict[str, Any]


def to_json(thing: SheetJob | SheetPlan | StickJob | StickPlan, *, indent: int | None = None) -> str:
    """Return a job or plan as JSON text."""
    writers: dict[type, tuple[str, Callable[[Any], Record]]] = {
        SheetJob: ("sheet job", _sheet_job_out),
        SheetPlan: ("sheet plan", _sheet_plan_out),
        StickJob: ("stick job", _stick_job_out),
        StickPlan: ("stick plan", _stick_plan_out),
    }
    what, write = writers[type(thing)]
    return json.dumps({"what": what, "version": VERSION, **write(thing)}, indent=indent)


def from_json(text: str) -> SheetJob | SheetPlan | StickJob | StickPlan:
    """Return the job or plan that `to_json` wrote.

    Raises:
        BriefError: The text is not JSON, or not of this form.
    """
    try:
        record = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise BriefError(f"a cutting job or plan cannot be read: {error}") from error
    if not isinstance(record, dict):
        raise BriefError("a cutting job or plan must be one JSON object")
    readers: dict[str, Callable[[Record], SheetJob | SheetPlan | StickJob | StickPlan]] = {
        "sheet job": _sheet_job_in,
        "sheet plan": _sheet_plan_in,
        "stick job": _stick_job_in,
        "stick plan": _stick_plan_in,
    }
    what, version = record.pop("what", None), record.pop("version", None)
    if not isinstance(what, str) or what not in readers:
        raise BriefError(f"'{what}' is none of {', '.join(readers)}")
    if version != VERSION:
        raise BriefError(f"version {version} of a {what} is unknown; this program reads {VERSION}")
    return readers[what](record)


# --- trees of cuts ----------------------------------------------------------------


def node_out(node: Node | None) -> Record | None:
    """Return a tree of cuts as nested plain objects."""
    match node:
        case None:
            return None
        case Cut():
            return {
                "cut": node.axis,
                "at_units": node.at,
                "near": node_out(node.near),
                "far": node_out(node.far),
            }
        case Part():
            return {"part": node.key, "turned": node.turned}
        case Pair():
            return {"pair": [node.low, node.high]}
        case Filled():
            return {"filled": node.key, "left": node_out(node.left), "right": node_out(node.right)}
        case Rest():
            return {"rest": "keep" if node.keep else "waste"}


def node_in(record: object) -> Node:
    """Return the tree of cuts that `node_out` wrote."""
    if not isinstance(record, dict):
        raise BriefError(f"a node of a cutting plan must be an object, not {record!r}")
    if "cut" in record:
        axis, at, near, far = _take(record, "cut", "at_units", "near", "far")
        if axis not in ("x", "y"):
            raise BriefError(f"a cut goes along x or y, not {axis!r}")
        return Cut(cast(Axis, axis), _whole(at), node_in(near), None if far is None else node_in(far))
    if "part" in record:
        key, turned = _take(record, "part", "turned")
        return Part(_word(key), _yes(turned))
    if "pair" in record:
        (pair,) = _take(record, "pair")
        if not isinstance(pair, list) or len(pair) != 2:
            raise BriefError(f"a pair names two parts, not {pair!r}")
        return Pair(_word(pair[0]), _word(pair[1]))
    if "filled" in record:
        key, left, right = _take(record, "filled", "left", "right")
        return Filled(_word(key), *(None if side is None else node_in(side) for side in (left, right)))
    (rest,) = _take(record, "rest")
    if rest not in ("keep", "waste"):
        raise BriefError(f"a rest is to keep or waste, not {rest!r}")
    return Rest(rest == "keep")


# --- sheets -----------------------------------------------------------------------


def _sheet_job_out(job: SheetJob) -> Record:
    return {
        "kerf_units": job.kerf,
        "stages": job.stages,
        "parts": [
            {
                "key": kind.key,
                "width_units": kind.width,
                "height_units": kind.height,
                "quantity": kind.quantity,
                "turnable": kind.turnable,
                "group": kind.group,
                "slope_units": None if kind.slope is None else list(kind.slope),
                **({} if kind.gable is None else {"gable_units": list(kind.gable)}),
            }
            for kind in job.kinds
        ],
        "sheets": [
            {
                "key": sheet.key,
                "width_units": sheet.width,
                "height_units": sheet.height,
                "price": sheet.price,
                "copies": sheet.copies,
                "trim_units": sheet.trim,
                "owned": sheet.owned,
            }
            for sheet in job.sheets
        ],
    }


def _sheet_job_in(record: Record) -> SheetJob:
    kerf, stages, parts, sheets = _take(record, "kerf_units", "stages", "parts", "sheets")
    return SheetJob(
        tuple(_part_kind_in(part) for part in _rows(parts)),
        tuple(_sheet_kind_in(sheet) for sheet in _rows(sheets)),
        _whole(kerf),
        None if stages is None else _whole(stages),
    )


def _part_kind_in(record: Record) -> PartKind:
    gable = record.pop("gable_units", None)
    key, width, height, quantity, turnable, group, slope = _take(
        record, "key", "width_units", "height_units", "quantity", "turnable", "group", "slope_units"
    )
    ends = None if slope is None else _wholes(slope, 2)
    peak = None if gable is None else _wholes(gable, 3)
    return PartKind(
        _word(key), _whole(width), _whole(height), _whole(quantity), _yes(turnable), _word(group), ends, peak
    )


def _sheet_kind_in(record: Record) -> SheetKind:
    key, width, height, price, copies, trim, owned = _take(
        record, "key", "width_units", "height_units", "price", "copies", "trim_units", "owned"
    )
    limit = None if copies is None else _whole(copies)
    return SheetKind(
        _word(key), _whole(width), _whole(height), _whole(price), limit, _whole(trim), _yes(owned)
    )


def _sheet_plan_out(plan: SheetPlan) -> Record:
    patterns = [
        {"sheet": pattern.sheet, "copies": pattern.copies, "root": node_out(pattern.root)}
        for pattern in plan.patterns
    ]
    return {"patterns": patterns, **_result_out(plan)}


def _sheet_plan_in(record: Record) -> SheetPlan:
    patterns, price, bound, status, work = _take(record, "patterns", "price", "bound", "status", "work")
    read = []
    for row in _rows(patterns):
        sheet, copies, root = _take(row, "sheet", "copies", "root")
        read.append(Pattern(_word(sheet), _whole(copies), node_in(root)))
    return SheetPlan(tuple(read), _whole(price), _whole(bound), _status(status), _whole(work))


# --- sticks -----------------------------------------------------------------------


def _stick_job_out(job: StickJob) -> Record:
    return {
        "kerf_units": job.kerf,
        "parts": [
            {"key": part.key, "length_units": part.length, "quantity": part.quantity, "group": part.group}
            for part in job.parts
        ],
        "sticks": [
            {
                "key": stick.key,
                "length_units": stick.length,
                "price": stick.price,
                "copies": stick.copies,
                "squaring_units": stick.squaring,
                "defects_units": [list(bad) for bad in stick.defects],
                "owned": stick.owned,
                **({"holes_units": list(stick.holes)} if stick.holes else {}),
            }
            for stick in job.sticks
        ],
    }


def _stick_job_in(record: Record) -> StickJob:
    kerf, parts, sticks = _take(record, "kerf_units", "parts", "sticks")
    read_parts = []
    for row in _rows(parts):
        key, length, quantity, group = _take(row, "key", "length_units", "quantity", "group")
        read_parts.append(StickPart(_word(key), _whole(length), _whole(quantity), _word(group)))
    return StickJob(tuple(read_parts), tuple(_stick_kind_in(row) for row in _rows(sticks)), _whole(kerf))


def _stick_kind_in(record: Record) -> StickKind:
    key, length, price, copies, squaring, defects, owned, holes = _take(
        {"holes_units": [], **record},
        "key", "length_units", "price", "copies", "squaring_units", "defects_units", "owned", "holes_units",
    )  # fmt: skip
    if not isinstance(defects, list):
        raise BriefError(f"defects must be a list, not {defects!r}")
    if not isinstance(holes, list):
        raise BriefError(f"holes must be a list, not {holes!r}")
    return StickKind(
        _word(key),
        _whole(length),
        _whole(price),
        None if copies is None else _whole(copies),
        _whole(squaring),
        tuple(_wholes(bad, 2) for bad in defects),
        _yes(owned),
        tuple(_whole(hole) for hole in holes),
    )


def _stick_plan_out(plan: StickPlan) -> Record:
    patterns = [
        {
            "stick": pattern.stick,
            "copies": pattern.copies,
            "pieces": [{"part": piece.key, "start_units": piece.start} for piece in pattern.pieces],
        }
        for pattern in plan.patterns
    ]
    return {"patterns": patterns, **_result_out(plan)}


def _stick_plan_in(record: Record) -> StickPlan:
    patterns, price, bound, status, work = _take(record, "patterns", "price", "bound", "status", "work")
    read = []
    for row in _rows(patterns):
        stick, copies, pieces = _take(row, "stick", "copies", "pieces")
        places = []
        for piece in _rows(pieces):
            key, start = _take(piece, "part", "start_units")
            places.append(StickPiece(_word(key), _whole(start)))
        read.append(StickPattern(_word(stick), _whole(copies), tuple(places)))
    return StickPlan(tuple(read), _whole(price), _whole(bound), _status(status), _whole(work))


# --- small readers ----------------------------------------------------------------


def _result_out(plan: SheetPlan | StickPlan) -> Record:
    return {"price": plan.price, "bound": plan.bound, "status": plan.status, "work": plan.work}


def _take(record: Record, *keys: str) -> list[Any]:
    if set(record) != set(keys):
        raise BriefError(f"found the keys {', '.join(sorted(record))}; wanted {', '.join(sorted(keys))}")
    return [record[key] for key in keys]


def _rows(value: object) -> list[Record]:
    if not isinstance(value, list) or not all(isinstance(row, dict) for row in value):
        raise BriefError(f"wanted a list of objects, found {value!r}")
    return value


def _whole(value: object) -> int:
    if type(value) is not int:
        raise BriefError(f"wanted a whole number, found {value!r}")
    return value


def _wholes(value: object, count: int) -> tuple[Any, ...]:
    if not isinstance(value, list) or len(value) != count:
        raise BriefError(f"wanted {count} whole numbers, found {value!r}")
    return tuple(_whole(one) for one in value)


def _word(value: object) -> str:
    if not isinstance(value, str):
        raise BriefError(f"wanted text, found {value!r}")
    return value


def _yes(value: object) -> bool:
    if not isinstance(value, bool):
        raise BriefError(f"wanted true or false, found {value!r}")
    return value


def _status(value: object) -> Status:
    if value not in ("proved", "gap"):
        raise BriefError(f"a status is proved or gap, not {value!r}")
    return value
