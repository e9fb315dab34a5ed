"""What stands in each file of a finished folder?

Each format is read here from its own open definition and not with the code that
wrote it: CSV with the standard library, the workbook as zipped XML, DXF as its
pairs of group code and value, GLB by its header, PDF text by `pdf_text`. A file that is
missing or broken becomes a finding.

Left out: fonts, colours, pictures.
"""

from __future__ import annotations

import csv
import io
import json
import math
import struct
import zipfile
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from enclosure.audit.findings import Findings
from enclosure.audit.pdf_text import pdf_pages

Record = dict[str, Any]
Corner = tuple[float, float]

_SHEET_NAMESPACE = "{http://schemas.openxmlformats.org/spreadsheetml/2006/main}"
_RELATION = "{http://schemas.openxmlformats.org/officeDocument/2006/relationships}id"
PDFS = ("packet.pdf", "labels.pdf", "raising.pdf")
MOST_BYTES = 200_000_000
"""Larger files are not read; a paper of this program is below a hundredth of it."""


@dataclass(frozen=True, slots=True)
class Drawing:
    """What a DXF file shows.

    Args:
        units: The code of $INSUNITS (4 = mm), -1 when it is missing.
        outlines: Closed outlines as (layer, corners).
        lines: (layer, start, end).
        words: (layer, text), in file order.
        spots: Where each of the words stands, in the same order.
        circles: (layer, middle, radius).
        measures: Measured lengths of the linear dimensions [mm].
    """

    units: int
    outlines: tuple[tuple[str, tuple[Corner, ...]], ...]
    lines: tuple[tuple[str, Corner, Corner], ...]
    words: tuple[tuple[str, str], ...]
    spots: tuple[Corner, ...]
    circles: tuple[tuple[str, Corner, float], ...]
    measures: tuple[float, ...]


@dataclass(slots=True)
class Papers:
    """A finished folder as read. Lists are rows of text, the first row the headings."""

    folder: Path
    design: Record = field(default_factory=dict)
    plan: Record = field(default_factory=dict)
    cut_list: list[list[str]] = field(default_factory=list)
    buying: list[list[str]] = field(default_factory=list)
    workbook: dict[str, list[list[str]]] = field(default_factory=dict)
    drawings: dict[str, Drawing] = field(default_factory=dict)
    pdfs: dict[str, list[list[str]]] = field(default_factory=dict)
    pictures: dict[str, ElementTree.Element] = field(default_factory=dict)
    solids: Record = field(default_factory=dict)
    summary: str = ""
    old_parts: list[list[str]] = field(default_factory=list)


def read_papers(folder: Path, findings: Findings) -> Papers:
    """Read all files of a folder that the audit understands."""
    papers = Papers(folder)
    papers.design = read_object(folder / "design.json", findings)
    read_lists(papers, findings)
    if (folder / "old-parts.csv").is_file():
        papers.old_parts = read_rows(folder / "old-parts.csv", findings)
    for path in sorted((folder / "dxf").glob("*.dxf")):
        name = f"dxf/{path.name}"
        with findings.reading(name):
            papers.drawings[path.stem] = _drawing(_bytes(path, findings).decode("utf-8"))
    for path in sorted((folder / "svg").glob("*.svg")):
        with findings.reading(f"svg/{path.name}"):
            papers.pictures[path.stem] = _picture(_bytes(path, findings))
    with findings.reading("shelter.glb"):
        papers.solids = _glb(_bytes(folder / "shelter.glb", findings))
    with findings.reading("summary.txt"):
        papers.summary = _bytes(folder / "summary.txt", findings).decode("utf-8")
    for name in PDFS:
        read_pdf(papers, name, findings)
    return papers


def read_lists(papers: Papers, findings: Findings) -> None:
    """Read the cutting plans and the lists for people."""
    folder = papers.folder
    papers.plan = read_object(folder / "plan.json", findings)
    papers.cut_list = read_rows(folder / "cut-list.csv", findings)
    papers.buying = read_rows(folder / "buying-list.csv", findings)
    with findings.reading("lists.xlsx"):
        papers.workbook = _workbook(_bytes(folder / "lists.xlsx", findings))


def read_object(path: Path, findings: Findings) -> Record:
    """Return the one object of a JSON file, empty when it cannot be read."""
    with findings.reading(path.name):
        record = json.loads(_bytes(path, findings) or b"{}")
        if not isinstance(record, dict):
            raise ValueError("not one JSON object")
        return record
    return {}


def read_rows(path: Path, findings: Findings) -> list[list[str]]:
    """Return the rows of a CSV file, none when it cannot be read."""
    with findings.reading(path.name):
        text = _bytes(path, findings).decode("utf-8-sig")
        return list(csv.reader(io.StringIO(text, newline="")))
    return []


def read_pdf(papers: Papers, name: str, findings: Findings) -> None:
    """Read the text of one PDF into the papers."""
    data = _bytes(papers.folder / name, findings)
    if data:
        with findings.reading(name):
            papers.pdfs[name] = pdf_pages(data)


def _bytes(path: Path, findings: Findings) -> bytes:
    name = path.name
    try:
        if path.stat().st_size > MOST_BYTES:
            findings.add(name, "", "is larger than 200 MB", "a file as the program writes it")
            return b""
        return path.read_bytes()
    except OSError as error:
        findings.add(name, "", f"cannot be read: {error.strerror}", "the file")
        return b""


def _workbook(data: bytes) -> dict[str, list[list[str]]]:
    """Return rows of text by name of sheet; formulas keep their leading equals sign."""
    if not data:
        return {}
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
        if sum(entry.file_size for entry in archive.infolist()) > MOST_BYTES:
            raise ValueError("it swells beyond 200 MB")
        shared = ["".join(node.itertext()) for node in ElementTree.fromstring(archive.read("xl/sharedStrings.xml"))]
        relations = ElementTree.fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        targets = {node.attrib["Id"]: node.attrib["Target"].removeprefix("/xl/") for node in relations}
        book = ElementTree.fromstring(archive.read("xl/workbook.xml"))
        sheets = book.find(f"{_SHEET_NAMESPACE}sheets")
        assert sheets is not None
        return {
            node.attrib["name"]: _rows(archive.read(f"xl/{targets[node.attrib[_RELATION]]}"), shared) for node in sheets
        }
    except (zipfile.BadZipFile, ElementTree.ParseError, AssertionError, EOFError, OSError) as error:
        raise ValueError(str(error) or "no sheets") from error


def _rows(xml: bytes, shared: list[str]) -> list[list[str]]:
    rows: list[list[str]] = []
    for row in ElementTree.fromstring(xml).iter(f"{_SHEET_NAMESPACE}row"):
        cells: list[str] = []
        for cell in row:
            column = 0
            for letter in cell.attrib["r"].rstrip("0123456789"):
                column = column * 26 + ord(letter) - 64
            cells += [""] * (column - len(cells))
            formula = cell.find(f"{_SHEET_NAMESPACE}f")
            value = cell.find(f"{_SHEET_NAMESPACE}v")
            if formula is not None:
                cells[column - 1] = f"={formula.text}"
            elif value is not None and value.text is not None:
                cells[column - 1] = shared[int(value.text)] if cell.attrib.get("t") == "s" else value.text
        rows.append(cells)
    return rows


def _picture(data: bytes) -> ElementTree.Element:
    try:
        return ElementTree.fromstring(data)
    except ElementTree.ParseError as error:
        raise ValueError(str(error)) from error


# --- DXF --------------------------------------------------------------------------


def _drawing(text: str) -> Drawing:
    lines = text.splitlines()
    pairs = [(int(lines[i]), lines[i + 1]) for i in range(0, len(lines) - 1, 2)]
    units = -1
    for place, (code, value) in enumerate(pairs):
        if code == 9 and value == "$INSUNITS":
            units = int(pairs[place + 1][1])
        if code == 2 and value == "ENTITIES":
            return _entities(units, pairs[place + 1 :])
    raise ValueError("no section of entities")


def _entities(units: int, pairs: list[tuple[int, str]]) -> Drawing:
    outlines: list[tuple[str, tuple[Corner, ...]]] = []
    lines: list[tuple[str, Corner, Corner]] = []
    words: list[tuple[str, str]] = []
    spots: list[Corner] = []
    circles: list[tuple[str, Corner, float]] = []
    measures: list[float] = []
    entity: list[tuple[int, str]] = []

    def close() -> None:
        what, layer = entity[0][1], next((v for c, v in entity if c == 8), "")
        first = dict(reversed(entity))
        if what == "LWPOLYLINE":
            xs, ys = ([float(v) for c, v in entity if c == wanted] for wanted in (10, 20))
            outlines.append((layer, tuple(zip(xs, ys, strict=True))))
        elif what == "LINE":
            start = (float(first[10]), float(first[20]))
            lines.append((layer, start, (float(first[11]), float(first[21]))))
        elif what in ("TEXT", "MTEXT"):
            words.append((layer, first.get(1, "")))
            # the point of a justified text is its second one
            spots.append((float(first.get(11, first[10])), float(first.get(21, first[20]))))
        elif what == "CIRCLE":
            circles.append((layer, (float(first[10]), float(first[20])), float(first[40])))
        elif what == "DIMENSION":
            turn = math.radians(float(first.get(50, "0")))
            across, up = (float(first[b]) - float(first[a]) for a, b in ((13, 14), (23, 24)))
            measures.append(abs(across * math.cos(turn) + up * math.sin(turn)))

    for code, value in pairs:
        if code == 0:
            if entity:
                close()
            entity = []
            if value == "ENDSEC":
                return Drawing(
                    units, tuple(outlines), tuple(lines), tuple(words), tuple(spots), tuple(circles), tuple(measures)
                )
        entity.append((code, value))
    raise ValueError("the file stops inside its entities")


# --- solids and PDF ---------------------------------------------------------------


def _glb(data: bytes) -> Record:
    if data[:4] != b"glTF":
        raise ValueError("not a GLB file")
    version, total, length, kind = struct.unpack("<IIII", data[4:20])
    if version != 2 or total != len(data) or kind != 0x4E4F534A:
        raise ValueError(f"{len(data)} bytes, its header says {total}")
    record: Record = json.loads(data[20 : 20 + length])
    record["binary"] = data[28 + length :]
    return record

