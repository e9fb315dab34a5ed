"""What is on the rack, and how is it changed without ever losing a piece?

A rack is a TOML file of its own, the ``[rack]`` table of a stock list, or a CSV
file. It is changed in two steps: a cutting plan *proposes* a change (pieces it
would take, offcuts worth keeping that it would leave), which is written beside
the rack; the grower *confirms* when the cuts are made. Until then nothing is
consumed. A file is replaced in one move, and the last change can be undone.

    rack.toml            the rack
    rack.toml.pending    a proposed change, waiting
    rack.toml.before     the rack before the last confirmed change
    rack.toml.after      the checksum of the rack after it, so that undoing loses no work of yours

Units: mm.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

import tomlkit.exceptions

from enclosure.errors import BriefError, Fault, FaultsError, OutputError
from enclosure.files.read import TomlText, check_model, load_toml, take_apart
from enclosure.files.settled import write_in_one_move
from enclosure.reuse.rack_text import csv_text, is_stock_list, read_csv, size_text, toml_text
from enclosure.stock.model import Rack, RackSheet, RackStick
from enclosure.stock.read import stock_outcome_of

SAME_MM = 0.01


@dataclass(frozen=True, slots=True)
class Take:
    """Copies taken of one row: `kind` is "sheets" or "sticks", `row` counts from 0 within it."""

    kind: str
    row: int
    copies: int


@dataclass(frozen=True, slots=True)
class Change:
    """A change of a rack: what is taken from it and what is laid on it."""

    takes: tuple[Take, ...] = ()
    adds: tuple[RackSheet | RackStick, ...] = ()
    why: str = ""


def read_rack(path: Path) -> Rack:
    """Return the rack in a file: TOML of its own, the rack of a stock list, or CSV.

    Raises:
        FaultsError: The TOML cannot be read.
        BriefError: The CSV cannot be read.
    """
    if path.suffix.lower() == ".csv":
        return read_csv(path)
    return _rack_in(_source(path))


def _source(path: Path) -> TomlText:
    source = load_toml(path)
    if isinstance(source, Fault):
        raise FaultsError((source,))
    return source


def _rack_in(source: TomlText) -> Rack:
    if is_stock_list(source.content):
        return stock_outcome_of(source).sound().rack
    return check_model(source, Rack).sound()


# --- change --------------------------------------------------------------------------


def applied(rack: Rack, change: Change) -> Rack:
    """Return the rack after a change.

    Raises:
        BriefError: It takes what is not there.
    """
    left: dict[str, list[RackSheet | RackStick]] = {"sheets": list(rack.sheets), "sticks": list(rack.sticks)}
    for take in change.takes:
        rows = left[take.kind]
        if take.row >= len(rows) or take.copies > rows[take.row].copies:
            there = rows[take.row].copies if take.row < len(rows) else 0
            raise BriefError(
                f"the plan takes {take.copies} of {take.kind[:-1]} {take.row + 1} of the rack; there are {there}",
                "the rack was changed since: make the plan again",
            )
    taken = {(t.kind, t.row): t.copies for t in change.takes}
    for kind, rows in left.items():
        left[kind] = [
            row.model_copy(update={"copies": row.copies - taken.get((kind, i), 0)})
            for i, row in enumerate(rows)
            if row.copies > taken.get((kind, i), 0)
        ]
    for piece in change.adds:
        _laid_on(left["sheets" if isinstance(piece, RackSheet) else "sticks"], piece)
    return rack.model_copy(update={kind: tuple(rows) for kind, rows in left.items()})


def _laid_on(rows: list[RackSheet | RackStick], piece: RackSheet | RackStick) -> None:
    for i, row in enumerate(rows):
        if _alike(row, piece):
            rows[i] = row.model_copy(update={"copies": row.copies + piece.copies})
            return
    rows.append(piece)


def _alike(a: RackSheet | RackStick, b: RackSheet | RackStick) -> bool:
    if a.material != b.material or a.note != b.note:
        return False
    if isinstance(a, RackSheet) and isinstance(b, RackSheet):
        return abs(a.width_mm - b.width_mm) < SAME_MM and abs(a.height_mm - b.height_mm) < SAME_MM
    if isinstance(a, RackStick) and isinstance(b, RackStick):
        return abs(a.length_mm - b.length_mm) < SAME_MM and (a.defects, a.holes_mm) == (b.defects, b.holes_mm)
    return False


# --- files ---------------------------------------------------------------------------


def pending_path(path: Path) -> Path:
    """Return where a proposed change waits."""
    return path.with_name(path.name + ".pending")


def before_path(path: Path) -> Path:
    """Return where the rack before the last change is kept."""
    return path.with_name(path.name + ".before")


def after_path(path: Path) -> Path:
    """Return where it stands what the rack looked like after the last change."""
    return path.with_name(path.name + ".after")


def state_of(path: Path) -> str:
    """Return a short text that changes whenever the rack file does; of a rack that is not there yet, "none".

    Raises:
        BriefError: The file cannot be read.
    """
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except FileNotFoundError:
        return "none"
    except OSError as error:
        raise BriefError(f"{path} cannot be read: {(error.strerror or 'unknown reason').lower()}") from error


def rack_or_none(path: Path) -> Rack:
    """Return the rack in a file; an empty one where no file is yet."""
    return read_rack(path) if path.exists() else Rack()


def propose(path: Path, change: Change, planned_on: str | None = None) -> None:
    """Write a change beside the rack, to wait for its confirmation; the rack itself stays as it is.

    Args:
        path: The rack; need not be there yet.
        change: What the plan takes and leaves.
        planned_on: `state_of` the rack when the plan was made; that of now when None.

    Raises:
        BriefError: The change takes what is not on the rack, or the rack was changed since the plan was made.
    """
    if planned_on is not None and planned_on != state_of(path):
        raise BriefError(f"{path} was changed while the cut was planned", "make the plan again")
    changed_text(path, change)
    told = {
        "why": change.why,
        "rack": state_of(path),
        "takes": [[t.kind, t.row, t.copies] for t in change.takes],
        "adds": [["sheet" if isinstance(p, RackSheet) else "stick", p.model_dump(mode="json")] for p in change.adds],
    }
    write_in_one_move(pending_path(path), json.dumps(told, indent=1, ensure_ascii=False) + "\n")


def waiting(path: Path) -> Change | None:
    """Return the change that waits beside a rack, None when there is none.

    Raises:
        BriefError: The rack was changed since the change was proposed, or the file is damaged.
    """
    file = pending_path(path)
    if not file.exists():
        return None
    change, planned_on = _read_pending(file)
    if planned_on == state_of(path):
        return change
    if after_path(path).exists() and planned_on == state_of(before_path(path)):
        raise BriefError(
            f"the cut that waits for {path} was carried out already; only its note was left behind",
            f"forget it: enclosure rack drop {path}",
        )
    raise BriefError(f"{path} was changed after the cut was planned", f"delete {file} and make the plan again")


def waits_for(path: Path) -> str | None:
    """Return what the waiting cut is for, whatever became of the rack since; None when none waits."""
    file = pending_path(path)
    return _read_pending(file)[0].why if file.exists() else None


def _read_pending(file: Path) -> tuple[Change, str]:
    try:
        told = json.loads(file.read_text(encoding="utf-8"))
        change = Change(
            tuple(_take_in(*row) for row in told["takes"]),
            tuple((RackSheet if kind == "sheet" else RackStick)(**row) for kind, row in told["adds"]),
            str(told["why"]),
        )
        return change, str(told["rack"])
    except (OSError, ValueError, KeyError, TypeError, RecursionError) as error:
        raise BriefError(
            f"{file} is damaged: {str(error).splitlines()[0]}", f"delete {file} and make the plan again"
        ) from error


def _take_in(kind: object, row: object, copies: object) -> Take:
    if kind not in ("sheets", "sticks") or type(row) is not int or type(copies) is not int or row < 0 or copies < 1:
        raise ValueError("a piece is taken from nowhere")
    return Take(str(kind), row, copies)


def confirm(path: Path) -> Change:
    """Carry out the waiting change; the rack as it was is kept for `undo`.

    Raises:
        BriefError: Nothing waits, or the rack was changed since.
    """
    change = waiting(path)
    if change is None:
        raise BriefError(f"no cut waits for {path}", "plan one first: enclosure make --keep-rack, enclosure rack plan")
    _carry_out(path, change)
    pending_path(path).unlink(missing_ok=True)
    return change


def _carry_out(path: Path, change: Change) -> None:
    text = changed_text(path, change)
    write_in_one_move(before_path(path), path.read_bytes() if path.exists() else _empty(path))
    write_in_one_move(after_path(path), hashlib.sha256(text.encode()).hexdigest() + "\n")
    write_in_one_move(path, text)


def _empty(path: Path) -> str:
    """Return the text of a rack with nothing on it."""
    if path.suffix.lower() == ".csv":
        return csv_text(Rack())
    rack = Rack()
    return (
        "# Offcuts and old parts. Kept are sheets with both sides from least_sheet up, sticks from least_stick up.\n"
        f'least_sheet = "{size_text(rack.least_sheet_mm)}"\nleast_stick = "{size_text(rack.least_stick_mm)}"\n'
    )


def lay_on(path: Path, pieces: Iterable[RackSheet | RackStick], why: str = "") -> Change:
    """Lay pieces on a rack at once; can be undone.

    Raises:
        OutputError: A cut waits for this rack; confirm or drop it first.
    """
    if pending_path(path).exists():
        raise OutputError(f"a cut waits for {path}", "confirm it or drop it first: enclosure rack confirm, drop")
    change = Change((), tuple(pieces), why)
    _carry_out(path, change)
    return change


def undo(path: Path, *, force: bool = False) -> None:
    """Put the rack back as it was before the last change.

    Args:
        path: The rack.
        force: Even when somebody wrote into it since, whose work is then lost.

    Raises:
        BriefError: There is no earlier state, or the rack was changed by hand since.
    """
    before, after = before_path(path), after_path(path)
    if not before.exists():
        raise BriefError(f"{path} has no earlier state", "only the last change can be undone")
    try:
        told = after.read_text(encoding="utf-8").strip() if after.exists() else state_of(path)
        # after a stop between the two moves of a change the rack is still as it was: nothing is lost by undoing
        if not force and state_of(path) not in (told, state_of(before)):
            raise BriefError(
                f"{path} was changed by hand since; undoing would lose that",
                f"write it into {before} too, or lose it: enclosure rack undo --force {path}",
            )
        os.replace(before, path)
        after.unlink(missing_ok=True)
    except OSError as error:
        raise OutputError(f"{path} cannot be put back: {error}") from error


def drop(path: Path) -> None:
    """Throw a waiting change away, damaged or not.

    Raises:
        BriefError: Nothing waits.
    """
    if not pending_path(path).exists():
        raise BriefError(f"no cut waits for {path}")
    pending_path(path).unlink()


def changed_text(path: Path, change: Change) -> str:
    """Return the text of a rack file after a change; notes in a TOML file stay.

    Raises:
        BriefError: The change takes what is not there, or the file is laid out so that it cannot be changed.
    """
    if path.suffix.lower() == ".csv":
        rack = read_rack(path) if path.exists() else Rack()
        return csv_text(applied(rack, change))
    before, text = Rack(), _empty(path)
    if path.exists():
        source = _source(path)
        before, text = _rack_in(source), source.text
    after = applied(before, change)
    rows: dict[str, tuple[RackSheet | RackStick, ...]] = {"sheets": before.sheets, "sticks": before.sticks}
    gone = {
        kind: {t.row for t in change.takes if t.kind == kind and t.copies >= each[t.row].copies}
        for kind, each in rows.items()
    }
    try:
        changed = toml_text(text, before, after, gone)
        again = take_apart(path, changed)
        same = isinstance(again, TomlText) and _alike_racks(_rack_in(again), after)
    except (tomlkit.exceptions.TOMLKitError, FaultsError, LookupError, TypeError, ValueError):
        same = False
    if not same:
        raise BriefError(
            f"the change cannot be written into {path} as it is laid out; nothing was changed",
            "write each row under a heading of its own, [[sheets]] or [[sticks]]",
        )
    return changed


def _alike_racks(a: Rack, b: Rack) -> bool:
    """Compare two racks row by row; sizes are written to a hundredth of a millimetre."""
    ones: list[RackSheet | RackStick] = [*a.sheets, *a.sticks]
    others: list[RackSheet | RackStick] = [*b.sheets, *b.sticks]
    return len(a.sheets) == len(b.sheets) and all(
        one.material == other.material
        and one.copies == other.copies
        and all(abs(x - y) < 2 * SAME_MM for x, y in zip(_sizes(one), _sizes(other), strict=True))
        for one, other in zip(ones, others, strict=True)
    )


def _sizes(piece: RackSheet | RackStick) -> tuple[float, ...]:
    if isinstance(piece, RackSheet):
        return (piece.width_mm, piece.height_mm)
    return (piece.length_mm, *(end for bad in piece.defects for end in (bad.start_mm, bad.end_mm)), *piece.holes_mm)
