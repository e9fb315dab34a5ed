"""Does the workbook say what the two lists and the saw say, in the language of the papers?

The lists are read from their CSV files, whose headings and words are keys in English; the
workbook has them in the language that the design names, word for word.

Units: mm and money as printed; 1/10 000 mm where named units.
"""

from __future__ import annotations

import re
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, read_length, shown
from enclosure.audit.printed import pattern, printed_address
from enclosure.audit.readers import Papers
from enclosure.audit.replay import Saw
from enclosure.audit.tables import compare
from enclosure.language import tr, tr_as

Record = dict[str, Any]
BOOK = "lists.xlsx"
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def check_workbook(papers: Papers, saw: Saw, findings: Findings) -> None:
    """The workbook says the same as the two lists, and its sheets and sticks are those of the saw."""
    book = papers.workbook
    parts = {part["mark"]: part for part in papers.design["parts"]}
    _same_rows("Cut list", book[tr("Cut list")], papers.cut_list, findings, parts)
    _same_rows("Buying list", book[tr("Buying list")], papers.buying, findings, {})
    last = len(papers.buying)
    sums = [cell for row in book[tr("Buying list")][last:] for cell in row if cell.startswith("=")]
    findings.unless(sums == [f"=SUM(G2:G{last})"], BOOK, "Buying list total", str(sums), f"=SUM(G2:G{last})")
    _check_sheet_rows(book[tr("Sheets")], saw, findings)
    _check_stick_rows(book[tr("Sticks")], saw, papers.design, findings)
    rows = book[tr("Hardware")]
    fixings = papers.design["fixings"]
    findings.unless(len(rows) == len(fixings) + 1, BOOK, "Hardware", f"{len(rows) - 1} rows", f"{len(fixings)} rows")
    for row, fixing in zip(rows[1:], fixings, strict=False):
        bag, name, amount, unit = (fixing[key] for key in ("bag", "name", "amount", "unit"))
        wanted = _headed({"bag": tr(bag), "what": name, "amount": amount, "unit": tr(unit)})
        compare(BOOK, f"Hardware {fixing['name']}", rows[0], row, wanted, findings)


def _headed(wanted: dict[str, str | float]) -> dict[str, str | float]:
    return {tr_as("column", head): cell for head, cell in wanted.items()}


def _same_rows(
    name: str, book: list[list[str]], lists: list[list[str]], findings: Findings, parts: dict[str, Record]
) -> None:
    """Compare the rows of a sheet with those of its CSV file, told in the language of the papers."""
    if len(book) < len(lists):
        findings.add(BOOK, name, f"{len(book)} rows", f"{len(lists)} rows")
    heads = lists[0] if lists else []
    for number, (ours, theirs) in enumerate(zip(book, lists, strict=False), start=1):
        ours = ours + [""] * (len(theirs) - len(ours))
        for column, (one, other) in enumerate(zip(ours, theirs, strict=False), start=1):
            if number == 1:
                same = _is_head(one, other)
            else:
                same = _is_cell(heads[column - 1], one, other, parts.get(theirs[0]))
            where = f"{name} {theirs[0]} (row {number}, column {column})"
            findings.unless(same, BOOK, where, one or "empty", f"{other or 'empty'}, as in the CSV")


def _is_head(one: str, head: str) -> bool:
    price = re.fullmatch(r"(price(?: of one)?) \[(.*)\]", head)
    if price:
        return one == tr(f"{price[1]} [{{currency}}]").format(currency=tr(price[2]))
    return one == tr_as("column", head)


def _is_cell(head: str, one: str, other: str, part: Record | None) -> bool:
    try:
        return abs(float(one) - float(other)) < 1e-6
    except ValueError:
        pass
    if head == "address" and part is not None:
        return one == printed_address(part)
    if head in ("kind", "part", "group", "unit", "flute direction fixed", "lifts out"):
        return one == (tr(other) if other else "")
    if head == "cut from":
        stick = re.fullmatch(r"stick (\d+)", other)
        copy = re.fullmatch(r"(sheet-\d+) copy (\d+)", other)
        words = tr("stick {number}").format(number=stick[1]) if stick else tr(other) if other else ""
        return one == (tr("{drawing} copy {number}").format(drawing=copy[1], number=copy[2]) if copy else words)
    if head in ("size", "note"):
        return one == other or _is_bought(one, other)
    return one == other


_BOUGHT = (
    ("{amount} needed", r"(.+) needed"), ("{count} to lay, {spare} spare", r"(.+) to lay, (.+) spare"),
    ("pack of {amount}", r"pack of (.+)"), ("made to size; priced as {size}", r"made to size; priced as (.+)"),
    ("each", r"each"), ("from the rack", r"from the rack"),
)  # fmt: skip


def _is_bought(one: str, other: str) -> bool:
    """Whether a size or note of the buying list says the same as the one in the CSV, with the same numbers."""
    for words, english in _BOUGHT:
        if re.fullmatch(english, other):
            said = re.fullmatch(pattern(tr(words)), one) is not None
            return said and [n.replace(",", ".") for n in _NUMBER.findall(one)] == _NUMBER.findall(other)
    return False


def _check_sheet_rows(rows: list[list[str]], saw: Saw, findings: Findings) -> None:
    findings.unless(
        len(rows) == len(saw.sheets) + 1, BOOK, "Sheets", f"{len(rows) - 1} rows", f"{len(saw.sheets)} rows"
    )
    for row, sheet in zip(rows[1:], saw.sheets, strict=False):
        wide, high = sheet.stock["width_units"], sheet.stock["height_units"]
        used = 100 * sum(part.area for part in sheet.parts) / (wide * high)
        wanted: dict[str, str | float] = {
            "drawing": f"sheet-{sheet.number:02d}",
            "material": sheet.name,
            "width [mm]": wide / UNITS_PER_MM,
            "height [mm]": high / UNITS_PER_MM,
            "sheets cut alike": sheet.copies,
            "from the rack": tr("yes") if sheet.stock["owned"] else "",
            "kerf [mm]": sheet.kerf / UNITS_PER_MM,
            "trim [mm]": sheet.stock["trim_units"] / UNITS_PER_MM,
            "saw cuts": len(sheet.cuts) + (4 if sheet.stock["trim_units"] else 0),
            "parts on each": len(sheet.parts),
            "marks": "; ".join(", ".join(part.marks) for part in sheet.parts),
        }
        where = f"Sheets {wanted['drawing']}"
        compare(BOOK, where, rows[0], row, _headed(wanted), findings)
        said = float(row[rows[0].index(tr_as("column", "area used [%]"))])
        findings.unless(said <= used + 0.06, BOOK, where, f"{said} % of its area used", f"at most {used:.1f} %")


def _check_stick_rows(rows: list[list[str]], saw: Saw, design: Record, findings: Findings) -> None:
    heads, place = rows[0], 1
    for stick in saw.sticks:
        for number, (marks, start, length) in enumerate(stick.pieces, start=1):
            row = rows[place] if place < len(rows) else []
            place += 1
            wanted: dict[str, str | float] = {
                "stick": stick.first,
                "to stick": stick.last,
                "material": stick.name,
                "stick [mm]": stick.stock["length_units"] / UNITS_PER_MM,
                "piece": number,
                "marks": ", ".join(marks),
                "from [mm]": start / UNITS_PER_MM,
                "to [mm]": (start + length) / UNITS_PER_MM,
                "length [mm]": length / UNITS_PER_MM,
            }
            where = f"Sticks {', '.join(marks)}"
            compare(BOOK, where, heads, row, _headed(wanted), findings)
            with findings.reading(BOOK, where):
                printed = read_length(row[heads.index(tr_as("column", "length as printed"))])
                grain = (SIXTEENTH if design["units"] == "inch" else UNITS_PER_MM) // 2 + 1
                findings.unless(
                    abs(printed - length) <= grain, BOOK, where, f"printed as {shown(printed)}", shown(length)
                )
    findings.unless(place == len(rows), BOOK, "Sticks", f"{len(rows) - 1} rows", f"{place - 1} rows")
