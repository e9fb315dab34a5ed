"""Do the papers of a grove agree with the designs of its shelters, with each other and with the saw?

A grove's folder holds one packet and one set of lists for all shelters, and for each
of them its design and its labels. A part's mark in the joint papers is its shelter's
number, a dash, and its own mark. One design is put together here from those of the
shelters, and the checks of single folders are run on it.

Units: mm and money as printed.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

from enclosure.audit import packet, papers, tables, workbook
from enclosure.audit.design_own import check_design, check_order
from enclosure.audit.findings import Findings
from enclosure.audit.lengths import plain_money
from enclosure.audit.printed import pattern
from enclosure.audit.readers import Papers, read_lists, read_pdf, read_rows
from enclosure.audit.replay import Saw
from enclosure.language import ENGLISH, decimal, spoken, tr

Record = dict[str, Any]
SHELTERS, LABELS, SHARES = "shelters", "labels", "shares.csv"


def is_grove(folder: Path) -> bool:
    """Return True for a folder that holds the papers of several shelters."""
    return (folder / SHELTERS).is_dir()


def read_grove(folder: Path, findings: Findings) -> tuple[Papers, list[tuple[str, Record]]]:
    """Read the joint papers of a grove, and the design of each shelter with the name of its files."""
    shelters: list[tuple[str, Record]] = []
    for path in sorted((folder / SHELTERS).glob("*.json")):
        with findings.reading(f"{SHELTERS}/{path.name}"):
            record = json.loads(path.read_text(encoding="utf-8"))
            if not isinstance(record, dict):
                raise ValueError("not one JSON object")
            shelters.append((path.stem, record))
    read = Papers(folder)
    read_lists(read, findings)
    read_pdf(read, "packet.pdf", findings)
    with findings.reading(SHELTERS):
        read.design = joint_design([_numbered(record, n) for n, (_, record) in enumerate(shelters, start=1)])
    return read, shelters


def _numbered(design: Record, number: int) -> Record:
    """Return the design with its number and a dash before every mark of a part."""
    parts = [{**part, "mark": f"{number}-{part['mark']}"} for part in design["parts"]]
    return {**design, "parts": parts}


def joint_design(designs: list[Record]) -> Record:
    """Return one design with the parts, the hardware and the bricks of all."""
    fixings: dict[str, Record] = {}
    for design in designs:
        for row in design["fixings"]:
            before = fixings.get(row["key"])
            amount = row["amount"] + (before["amount"] if before else 0)
            fixings[row["key"]] = {**(before or row), "amount": amount}
    count = len(designs)
    bricks = {key: sum(design["base"][key] for design in designs) for key in ("bricks", "bricks_to_buy")}
    with spoken(str(designs[0].get("language", ENGLISH))):
        name = tr("{count} shelters").format(count=count) if count > 1 else designs[0]["name"]
    return {
        **designs[0],
        "name": name,
        "parts": [part for design in designs for part in design["parts"]],
        "materials": list({row["key"]: row for design in designs for row in design["materials"]}.values()),
        "fixings": list(fixings.values()),
        "base": {**designs[0]["base"], **bricks},
    }


def check_grove(read: Papers, shelters: list[tuple[str, Record]], saw: Saw, findings: Findings) -> None:
    """Run every check; one that stumbles does not keep the others from running."""
    for stem, design in shelters:
        own = Findings()
        with own.reading("design.json"):
            check_design(design, own)
            check_order(design, own)
        for row in own.rows:
            findings.add(f"{SHELTERS}/{stem}.json", row.part, row.found, row.expected)
    checks: tuple[tuple[str, Callable[[], None]], ...] = (
        ("plan.json", lambda: tables.check_plan_parts(read.design, read.plan, findings)),
        ("cut-list.csv", lambda: tables.check_cut_list(read, saw, findings)),
        ("buying-list.csv", lambda: tables.check_buying(read, saw, findings)),
        ("lists.xlsx", lambda: workbook.check_workbook(read, saw, findings)),
        ("packet.pdf", lambda: papers.check_paging("packet.pdf", read.pdfs.get("packet.pdf", []), findings)),
        ("packet.pdf", lambda: packet.check_joint(read, saw, findings)),
        (SHARES, lambda: _check_shares(read, shelters, findings)),
    )
    for file, check in checks:
        with findings.reading(file):
            check()
    _check_labels(read.folder, shelters, findings)


def _check_labels(folder: Path, shelters: list[tuple[str, Record]], findings: Findings) -> None:
    """Each shelter has a book of labels for all its parts, and there is none without a shelter."""
    for number, (stem, design) in enumerate(shelters, start=1):
        name = f"{LABELS}/{stem}.pdf"
        own, one = Findings(), Papers(folder, design=_numbered(design, number))
        read_pdf(one, name, own)
        with own.reading(name):
            papers.check_paging(name, one.pdfs.get(name, []), own)
            one.pdfs = {papers.LABELS: one.pdfs.get(name, [])}
            papers.check_labels(one, own)
        for row in own.rows:
            findings.add(name, row.part, row.found, row.expected)
    extra = {path.stem for path in (folder / LABELS).glob("*")} - {stem for stem, _ in shelters}
    for stem in sorted(extra):
        findings.add(f"{LABELS}/{stem}.pdf", "", "belongs to no shelter", "labels of the shelters only")


def _check_shares(read: Papers, shelters: list[tuple[str, Record]], findings: Findings) -> None:
    """Every shelter pays its share, none more than alone, and together they pay the price; the packet says the same."""
    rows = read_rows(read.folder / SHARES, findings)
    heads = [head.split(" [", 1)[0] for head in rows[0]]
    findings.unless(
        len(rows) == len(shelters) + 1, SHARES, "", f"{len(rows) - 1} shelters", f"the {len(shelters)} of the grove"
    )
    pages = read.pdfs.get("packet.pdf", [])
    lines = [plain_money(line) for page in pages for line in page]
    together = 0
    for number, (row, (_, design)) in enumerate(zip(rows[1:], shelters, strict=False), start=1):
        said, who = dict(zip(heads, row, strict=True)), f"shelter {number}"
        findings.unless(said["shelter"] == str(number), SHARES, who, f"is numbered {said['shelter']}", str(number))
        findings.unless(said["name"] == design["name"], SHARES, who, f"is named {said['name']}", design["name"])
        alone, here = (round(100 * float(said[key])) for key in ("alone", "here"))
        findings.unless(here <= alone, SHARES, who, f"pays {here} cents", f"at most the {alone} it would pay alone")
        together += here
        places = [i for i, line in enumerate(lines) if line == str(number) and lines[i + 1 : i + 2] == [design["name"]]]
        block = " ".join(" ".join(lines[i + 2 : i + 6]) for i in places[:1])
        price, share = decimal(f"{alone / 100:.2f}"), decimal(f"{here / 100:.2f}")
        prices = "|".join((re.escape(price), pattern(tr("at least {price}"), price=re.escape(price))))
        wanted = rf"{len(design['parts'])} (?:{prices}) {re.escape(share)}\b"
        right = f"{len(design['parts'])} parts, {alone / 100:.2f} alone, {here / 100:.2f} here"
        findings.unless(re.match(wanted, block) is not None, "packet.pdf", who, block or "is not listed", right)
    total = read.plan["total_cents"]
    findings.unless(together == total, SHARES, "", f"{together} cents in all", f"the price, {total} cents")
