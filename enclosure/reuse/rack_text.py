"""How is a rack written as TOML or CSV, and read from CSV?

A TOML file keeps its notes: only the rows that change are touched. What was written is read back by the caller, so
that a layout that this module does not master ends in words and not in a lost piece.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Set
from pathlib import Path
from typing import Any

import tomlkit
from pydantic import ValidationError
from pydantic_core import ErrorDetails
from tomlkit.items import Table

from enclosure.errors import BriefError, Fault, FaultsError, OutputError
from enclosure.files.fields import FROM_FILE
from enclosure.files.read import MOST_BYTES
from enclosure.stock.model import Rack, RackSheet, RackStick

COLUMNS = ("kind", "material", "width", "height", "length", "copies", "note")


def is_stock_list(content: Any) -> bool:
    """Return whether a file is a stock list, whose rack is one of its tables."""
    return "skins" in content or "timbers" in content


def size_text(size_mm: float) -> str:
    """Return a length as it is written in a rack file, to a hundredth of a millimetre, never too long."""
    return f"{int(size_mm * 100 + 1e-6) / 100:.10g} mm"


# --- CSV ----------------------------------------------------------------------------


def read_csv(path: Path) -> Rack:
    """Return the rack in a CSV file.

    Raises:
        BriefError: The file cannot be read, or has unknown columns or kinds.
        FaultsError: Cells are wrong; all are named.
    """
    try:
        if path.stat().st_size > MOST_BYTES:
            raise BriefError(f"{path} is larger than {MOST_BYTES / 1e6:.0f} MB", "check that this is the right file")
        reader = csv.DictReader(io.StringIO(path.read_bytes().decode("utf-8-sig"), newline=""))
        names = reader.fieldnames or ()
        found = list(reader)
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        raise BriefError(f"{path} cannot be read: {error}", "save it as CSV in UTF-8") from error
    unknown = [name for name in names if name not in COLUMNS]
    if unknown or not names:
        raise BriefError(
            f"{path} has the column {unknown[0] if unknown else '(none)'}", f"columns: {', '.join(COLUMNS)}"
        )
    rows: dict[str, list[dict[str, Any]]] = {"sheets": [], "sticks": []}
    lines: dict[tuple[str, int], int] = {}
    for number, row in enumerate(found, start=2):
        kind, told = _csv_row(f"{path}:{number}", row)
        lines[kind, len(rows[kind])] = number
        rows[kind].append(told)
    try:
        return Rack.model_validate(rows, context=FROM_FILE)
    except ValidationError as error:
        raise FaultsError(tuple(_csv_fault(path, lines, item) for item in error.errors(include_url=False))) from error


def _csv_row(where: str, row: dict[Any, Any]) -> tuple[str, dict[str, Any]]:
    """Return "sheets" or "sticks", and what the filled cells of a row say.

    Raises:
        BriefError: It has more cells than there are columns, an unknown kind, or no count of copies.
    """
    if None in row:  # the standard reader's place for cells beyond the last column
        raise BriefError(f"{where} has more cells than there are columns", "quote cells that hold a comma")
    kind = (row.get("kind") or "").strip()
    if kind not in ("sheet", "stick"):
        raise BriefError(f"{where} kind is '{kind}'", "write sheet or stick")
    told: dict[str, Any] = {k: v.strip() for k, v in row.items() if k != "kind" and v and v.strip()}
    if "copies" in told:
        if not (told["copies"].isascii() and told["copies"].isdigit() and len(told["copies"]) < 10):
            raise BriefError(f"{where} copies is '{told['copies']}'", "write a whole number")
        told["copies"] = int(told["copies"])
    return f"{kind}s", told


def _csv_fault(path: Path, lines: dict[tuple[str, int], int], item: ErrorDetails) -> Fault:
    place = item["loc"]
    line = lines.get((str(place[0]), int(place[1])), 0) if len(place) > 1 else 0
    key = str(place[2]).removesuffix("_mm") if len(place) > 2 else ""
    context = item.get("ctx", {})
    said = "" if item["type"] == "missing" else str(item.get("input", ""))
    words = "is missing" if item["type"] == "missing" else str(context.get("allowed", item["msg"].lower()))
    return Fault(str(path), line, key, said, words, str(context.get("hint", "")))


def csv_text(rack: Rack) -> str:
    """Return a rack as CSV.

    Raises:
        OutputError: A stick has bad stretches or old screw holes, for which CSV has no column.
    """
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    for sheet in rack.sheets:
        writer.writerow(
            {"kind": "sheet", "material": sheet.material, "width": size_text(sheet.width_mm),
             "height": size_text(sheet.height_mm), "copies": sheet.copies, "note": sheet.note}
        )  # fmt: skip
    for stick in rack.sticks:
        if stick.defects or stick.holes_mm:
            what = "bad stretches" if stick.defects else "old screw holes"
            raise OutputError(f"stick {stick.note} has {what}, which a CSV rack cannot hold", "keep the rack as TOML")
        writer.writerow(
            {"kind": "stick", "material": stick.material, "length": size_text(stick.length_mm),
             "copies": stick.copies, "note": stick.note}
        )  # fmt: skip
    return out.getvalue()


# --- TOML ---------------------------------------------------------------------------


def toml_text(text: str, before: Rack, after: Rack, gone: Mapping[str, Set[int]]) -> str:
    """Return the text of a TOML rack or stock list with its rack changed.

    Args:
        text: The file as it is.
        before: The rack it holds.
        after: The rack it shall hold: rows that stay in their order, new ones at the end.
        gone: Rows used up, by "sheets" and "sticks".
    """
    document = tomlkit.parse(text)
    table: Any = document
    if is_stock_list(document):
        if not isinstance(document.get("rack"), Table):
            inline = document.pop("rack", {})
            document["rack"] = tomlkit.table()
            document["rack"].update(inline)
        table = document["rack"]
    for kind, old, new in (("sheets", before.sheets, after.sheets), ("sticks", before.sticks, after.sticks)):
        if old != new:
            _rewrite(table, kind, new, gone[kind])
    changed = tomlkit.dumps(document)
    if not tomlkit.parse(changed):
        # an empty rack still has to be a file that can be read
        changed += f'least_sheet = "{size_text(after.least_sheet_mm)}"\n'
    return changed


def _rewrite(table: Any, kind: str, new: tuple[Any, ...], gone: Set[int]) -> None:
    """Change the rows that changed, drop those used up, add the new ones at the end."""
    rows = table.get(kind)
    items = list(rows) if rows is not None else []
    kept = [item for i, item in enumerate(items) if i not in gone]
    fresh = tomlkit.aot()
    for found, row in zip(kept, new, strict=False):
        item = found
        if not isinstance(item, Table):
            item = tomlkit.table()
            item.update(found)
        if item.get("copies", 1) != row.copies:
            item["copies"] = row.copies
        fresh.append(item)
    for row in new[len(kept) :]:
        fresh.append(_row_table(row))
    if rows is not None:
        table.remove(kind)
    if len(fresh):
        table[kind] = fresh


def _row_table(row: RackSheet | RackStick) -> Any:
    table = tomlkit.table()
    table["material"] = row.material
    if isinstance(row, RackSheet):
        table["width"], table["height"] = size_text(row.width_mm), size_text(row.height_mm)
    else:
        table["length"] = size_text(row.length_mm)
    if row.copies != 1:
        table["copies"] = row.copies
    if isinstance(row, RackStick) and row.defects:
        table["defects"] = [{"start": size_text(d.start_mm), "end": size_text(d.end_mm)} for d in row.defects]
    if isinstance(row, RackStick) and row.holes_mm:
        table["holes"] = [size_text(at) for at in row.holes_mm]
    table["note"] = row.note
    return table
