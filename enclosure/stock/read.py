"""How is a stock list read, and do its parts fit together?"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from enclosure.errors import Fault
from enclosure.files.fields import nearest_hint
from enclosure.files.read import Outcome, TomlText, check_model, fault_at, load_toml
from enclosure.stock.model import HARDWARE_NEEDED, Stock


def stock_outcome(path: Path) -> Outcome[Stock]:
    """Return the stock list in a file, or all its faults, also those between its parts."""
    source = load_toml(path)
    return Outcome(None, None, (source,)) if isinstance(source, Fault) else stock_outcome_of(source)


def stock_outcome_of(source: TomlText) -> Outcome[Stock]:
    """Return the stock list in a file already taken apart, or all its faults."""
    outcome = check_model(source, Stock)
    faults = outcome.faults + _hardware_faults(source) + _name_faults(source) + _rack_faults(source)
    return Outcome(source, None if faults else outcome.model, faults)


def read_stock(path: Path) -> Stock:
    """Return the stock list in a file.

    Raises:
        FaultsError: The file cannot be read; all faults together.
    """
    return stock_outcome(path).sound()


def names_in(source: TomlText, group: str) -> list[str]:
    """Return the keys of one group of a stock list, whether or not the list is sound."""
    items = source.content.get(group)
    return sorted(items) if isinstance(items, dict) else []


def _hardware_faults(source: TomlText) -> tuple[Fault, ...]:
    if not isinstance(source.content.get("hardware"), dict):
        return ()
    known = names_in(source, "hardware")
    return tuple(
        fault_at(
            source, ("hardware", key), "is missing", f"add [hardware.{key}] with name, per, pack and price"
        )
        for key in HARDWARE_NEEDED
        if key not in known
    )


def _name_faults(source: TomlText) -> tuple[Fault, ...]:
    """Plans, lists and the rack go by names alone, so one name is one good."""
    faults: list[Fault] = []
    hint = "one name is one good: give it another name"
    for key in sorted({*names_in(source, "timbers")} & {*names_in(source, "tracks")}):
        faults.append(fault_at(source, ("tracks", key), "has the name of one of the timbers", hint))
    for key in sorted({*names_in(source, "skins")} & {*names_in(source, "boards")}):
        skin, board = source.content["skins"][key], source.content["boards"][key]
        for fact in ("thickness", "mass", "sizes"):
            if isinstance(skin, dict) and isinstance(board, dict) and skin.get(fact) != board.get(fact):
                said = f"has the name of one of the skins, and another {fact} than that"
                faults.append(fault_at(source, ("boards", key), said, hint))
    return tuple(faults)


def _rack_faults(source: TomlText) -> tuple[Fault, ...]:
    rack: Any = source.content.get("rack")
    if not isinstance(rack, dict):
        return ()
    faults: list[Fault] = []
    for part, groups in (("sheets", ("skins", "boards")), ("sticks", ("timbers", "tracks"))):
        known = [key for group in groups for key in names_in(source, group)]
        pieces = rack.get(part)
        for number, piece in enumerate(pieces if isinstance(pieces, list) else ()):
            said = piece.get("material") if isinstance(piece, dict) else None
            if isinstance(said, str) and said not in known:
                where = ("rack", part, number, "material")
                faults.append(
                    fault_at(
                        source,
                        where,
                        f"is not among the {' or '.join(groups)} of this list",
                        nearest_hint(said, known),
                    )
                )
    return tuple(faults)
