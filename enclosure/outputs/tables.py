"""Which lists does a shelter come with, for people and for programs?

``cut-list.csv`` and ``buying-list.csv`` (RFC 4180, UTF-8), ``lists.xlsx`` with the
same and more, ``plan.json`` with every cutting job and plan exactly, ``summary.txt``
to read at once. Text that a spreadsheet would take for a formula is defused. The same
design and plans always give the same bytes.

xlsxwriter is loaded when the workbook is written.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

from enclosure.checks.model import Check
from enclosure.errors import OutputError
from enclosure.language import ENGLISH, spoken, tr
from enclosure.nesting import serial
from enclosure.nesting.plans import BuyingLine, MaterialSheets, MaterialSticks, Plans
from enclosure.outputs.summary import summary
from enclosure.outputs.table_rows import (
    Cell,
    Table,
    buying_list,
    cut_list,
    hardware_list,
    sheet_list,
    stick_list,
)
from enclosure.shape.model import Design
from enclosure.shape.names import in_its_language
from enclosure.shape.serial import lay_out

PLAN_SCHEMA = 1
FIXED_DATE = datetime(2000, 1, 1)
_WIDEST = 60


def write_tables(design: Design, plans: Plans, folder: Path, checks: Sequence[Check] = ()) -> list[Path]:
    """Write all lists into a folder and return their paths.

    Raises:
        OutputError: A file cannot be written.
    """
    with spoken(ENGLISH):
        cut, buying = to_csv(cut_list(design, plans)), to_csv(buying_list(plans))
    contents: dict[str, bytes] = {
        "cut-list.csv": cut.encode(),
        "buying-list.csv": buying.encode(),
        "lists.xlsx": workbook(design, plans),
        "plan.json": plan_json(plans).encode(),
        "summary.txt": summary(design, plans, checks).encode(),
    }
    paths = []
    for name, data in contents.items():
        path = folder / name
        try:
            path.write_bytes(data)
        except OSError as error:
            raise OutputError(f"{path} cannot be written: {error.strerror or error}") from error
        paths.append(path)
    return paths


def write_grove_tables(design: Design, plans: Plans, shares: Table, folder: Path) -> None:
    """Write the lists of several shelters bought together into a folder.

    Args:
        design: One design that holds the parts of all.
        plans: Their joint plans.
        shares: Who pays what.
        folder: Where to.
    """
    (folder / "shares.csv").write_bytes(to_csv(shares).encode())
    with spoken(ENGLISH):
        (folder / "cut-list.csv").write_bytes(to_csv(cut_list(design, plans)).encode())
        (folder / "buying-list.csv").write_bytes(to_csv(buying_list(plans)).encode())
    (folder / "lists.xlsx").write_bytes(workbook(design, plans))
    (folder / "plan.json").write_bytes(plan_json(plans).encode())


# --- CSV --------------------------------------------------------------------------


def to_csv(table: Table) -> str:
    """Return a table as CSV after RFC 4180, with text defused against formulas."""
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\r\n")
    writer.writerow(table.headers)
    for row in table.rows:
        writer.writerow([_csv_cell(cell, column in table.money) for column, cell in enumerate(row)])
    return text.getvalue()


def _csv_cell(cell: Cell, money: bool) -> Cell:
    if money and not isinstance(cell, str):
        return f"{cell:.2f}"
    if isinstance(cell, float):
        return f"{cell:.4f}".rstrip("0").rstrip(".")
    return defused(cell)


def defused(cell: Cell) -> Cell:
    """Return text so that a spreadsheet shows it and never runs it; numbers stay as they are.

    A text that begins with one of = + - @, a tab or a line end gets an apostrophe in front,
    as the OWASP notes on CSV injection advise. Line ends within a text become spaces.
    """
    if not isinstance(cell, str):
        return cell
    risky = cell.startswith(("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠"))
    return ("'" if risky else "") + " ".join(cell.split())


# --- workbook ---------------------------------------------------------------------


@in_its_language
def workbook(design: Design, plans: Plans) -> bytes:
    """Return the workbook: buying list with its total, cut list, sheets, sticks, hardware."""
    import xlsxwriter

    data = io.BytesIO()
    options = {
        "in_memory": True, "strings_to_formulas": False, "strings_to_urls": False,
        "strings_to_numbers": False, "default_date_format": "yyyy-mm-dd",
    }
    book = xlsxwriter.Workbook(data, options)
    book.set_properties({"title": design.name, "author": "enclosure", "created": FIXED_DATE})
    buying = buying_list(plans)
    _sheet(book, buying, plans.total_cents / 100, plans.prices_note)
    for table in (
        cut_list(design, plans), sheet_list(design, plans), stick_list(design, plans), hardware_list(design)
    ):
        _sheet(book, table)
    book.close()
    return data.getvalue()


def _sheet(book: Any, table: Table, total: float | None = None, note: str = "") -> None:
    sheet = book.add_worksheet(table.name)
    head = book.add_format({"bold": True, "text_wrap": True, "valign": "top", "bottom": 1})
    money = book.add_format({"num_format": "0.00"})
    strong = book.add_format({"num_format": "0.00", "bold": True})
    for column, header in enumerate(table.headers):
        sheet.write_string(0, column, header, head)
        longest = max((len(str(row[column])) for row in table.rows), default=0)
        sheet.set_column(column, column, min(_WIDEST, max(longest + 2, 10)))
    for number, row in enumerate(table.rows, start=1):
        for column, cell in enumerate(row):
            if isinstance(cell, str):
                if cell:
                    sheet.write_string(number, column, cell)
            else:
                sheet.write_number(number, column, cell, money if column in table.money else None)
    if total is not None:
        last, column = len(table.rows), table.money[-1]
        letter = chr(ord("A") + column)
        sheet.write_string(last + 1, 0, tr("total"), head)
        sheet.write_formula(last + 1, column, f"=SUM({letter}2:{letter}{last + 1})", strong, total)
        if note:
            sheet.write_string(last + 2, 0, note)
    sheet.freeze_panes(1, 1)
    sheet.autofilter(0, 0, max(1, len(table.rows)), len(table.headers) - 1)
    sheet.set_landscape()
    sheet.fit_to_pages(1, 0)
    sheet.repeat_rows(0)


# --- plan.json --------------------------------------------------------------------


def plan_json(plans: Plans) -> str:
    """Return all cutting jobs, plans, marks and buying lines as JSON; lengths are exact whole units."""
    tree = {
        "schema": PLAN_SCHEMA,
        "units_per_mm": 10_000,
        "currency": plans.currency,
        "prices_note": plans.prices_note,
        "total_cents": plans.total_cents,
        "sheets": [_material(item) for item in plans.sheet_jobs],
        "sticks": [_material(item) for item in plans.stick_jobs],
        "buying": [_buying_line(line) for line in plans.buying],
    }
    return lay_out(tree)


def _material(item: MaterialSheets | MaterialSticks) -> dict[str, Any]:
    return {
        "material": item.material,
        "name": item.name,
        **({"ordered": item.ordered} if isinstance(item, MaterialSheets) else {}),
        "job": json.loads(serial.to_json(item.job)),
        "plan": json.loads(serial.to_json(item.plan)),
        "marks": {key: list(names) for key, names in item.marks.items()},
    }


def _buying_line(line: BuyingLine) -> dict[str, Any]:
    return {
        "group": line.group, "name": line.name, "size": line.size_text, "count": line.count,
        "unit": line.unit, "unit_price_cents": line.unit_price_cents, "total_cents": line.total_cents,
        "note": line.note,
    }
