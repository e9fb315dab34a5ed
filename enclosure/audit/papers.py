"""Do the labels, the raising book and the summary say what the design says?

Lines of text are read in the order in which they are drawn; where on the page they
stand is left to the eye.
"""

from __future__ import annotations

import re
from typing import Any

from enclosure.audit.design_own import PANELS
from enclosure.audit.findings import Findings
from enclosure.audit.lengths import plain_money, read_length, read_number, read_size, units
from enclosure.audit.printed import pattern, printed_address
from enclosure.audit.readers import PDFS, Papers
from enclosure.audit.tables import check_pairs
from enclosure.language import decimal, tr, tr_as

Record = dict[str, Any]
LABELS, RAISING, SUMMARY = "labels.pdf", "raising.pdf", "summary.txt"
SIZE = re.compile(r"[\d /]+?(?: mm| in)? × [\d /]+? (?:mm|in)\b")
LENGTH = re.compile(r"(?:\d+ ft ?)?[\d /]*\d (?:mm|in)\b|\d+ ft\b")


def check_pdfs(papers: Papers, findings: Findings) -> None:
    """All three books are there, count their pages right and name one and the same design."""
    names: dict[str, set[str]] = {}
    design = pattern(tr("design {version}"), version="")
    for name in PDFS:
        pages = papers.pdfs.get(name, [])
        check_paging(name, pages, findings)
        text = "\n".join(line for page in pages for line in page)
        names[name] = set(re.findall(rf"(?:\n{tr('Number')}\n|{design}|, )([0-9A-F]{{6}})(?=\n|$)", text))
        findings.unless(len(names[name]) == 1, name, "", f"design numbers {sorted(names[name])}", "one on every page")
        wanted = papers.design["name"]
        findings.unless(wanted in text, name, "", "the shelter is not named", wanted)
    both = set().union(*names.values())
    findings.unless(len(both) <= 1, "packet.pdf", "", f"the books name designs {sorted(both)}", "one design")


def check_paging(name: str, pages: list[list[str]], findings: Findings) -> None:
    """Check that a book has pages and numbers them right."""
    counts = {"number": r"(\d+)", "total": r"(\d+)"}
    paged, numbered = pattern(tr("page {number} of {total}"), **counts), pattern(tr("{number} of {total}"), **counts)
    findings.unless(len(pages) > 0, name, "", "no pages", "a book with pages")
    for number, page in enumerate(pages, start=1):
        for line in page:
            match = re.search(f"(?:{paged}|^{numbered})$", line)
            said = [int(text) for text in match.groups() if text] if match else []
            if match is not None and said != [number, len(pages)]:
                findings.add(name, f"page {number}", line, f"{number} of {len(pages)}")


# --- labels -----------------------------------------------------------------------


def check_labels(papers: Papers, findings: Findings) -> None:
    """Every part has one label with its mark, address and size; a panel's says which face is out."""
    lines = [line for page in papers.pdfs.get(LABELS, ()) for line in page]
    fluted = {row["key"] for row in papers.design["materials"] if row["flutes"]}
    for part in papers.design["parts"]:
        with findings.reading(LABELS, part["mark"]):
            if part["kind"] in PANELS:
                _check_panel_label(lines, part, part["material"] in fluted, papers.design, findings)
            else:
                _check_small_label(lines, part, papers.design, findings)


def _check_panel_label(lines: list[str], part: Record, fluted: bool, design: Record, findings: Findings) -> None:
    mark, out, up = part["mark"], tr("OUTSIDE FACE"), tr("UP")
    ribs = (tr("flutes upright"), tr("flutes down the slope"))
    places = [i for i, line in enumerate(lines) if line == mark and lines[i - 1] == out and i]
    if len(places) != 1:
        findings.add(LABELS, mark, f"{len(places)} labels", "one, headed OUTSIDE FACE")
        return
    end = next((i for i in range(places[0] + 1, len(lines)) if lines[i] == out), len(lines))
    block = " ".join(lines[places[0] + 1 : end][:8])
    findings.unless(block.startswith(f"{up} "), LABELS, mark, f"label says {block[:20]}", "UP beside the arrow")
    address = printed_address(part)
    findings.unless(re.search(rf"{address} \d", block) is not None, LABELS, mark, f"label says {block[:50]}", address)
    said = any(words in block for words in ribs)
    findings.unless(said == fluted, LABELS, mark, f"label says {block[:60]}", f"flutes named: {fluted}")
    size = SIZE.search(block.split(address, 1)[-1])
    if size is None:
        findings.add(LABELS, mark, f"label says {block[:60]}", "width × height")
        return
    cut = part["cut"]
    pairs = list(zip(read_size(size[0]), (units(cut["width_mm"]), units(cut["height_mm"])), strict=True))
    check_pairs(LABELS, part, size[0].strip(), pairs, design, findings)


def _check_small_label(lines: list[str], part: Record, design: Record, findings: Findings) -> None:
    mark, cut = part["mark"], part["cut"]
    face, role = part["face"], part["role"]
    start = f"{tr_as('face', face)} {tr(role)}"
    blocks = [lines[i + 1 : i + 7] for i, line in enumerate(lines) if line == mark]
    outside = tr("mark outside")
    found = [block for block in blocks if outside in block[:3] or any(t.startswith(start) for t in block[:4])]
    if len(found) != 1:
        findings.add(LABELS, mark, f"{len(found)} labels", "one label")
        return
    text = " ".join(found[0])
    findings.unless(start in text, LABELS, mark, f"label says {text[:60]}", start)
    rest = text.split(start, 1)[-1]
    if cut["from"] == "stick":
        length = LENGTH.search(rest)
        pairs = [(read_length(length[0].strip()), units(cut["length_mm"]))] if length else []
    else:
        size = SIZE.search(rest)
        sizes = (units(cut["width_mm"]), units(cut["height_mm"]))
        pairs = list(zip(read_size(size[0]), sizes, strict=True)) if size else []
    findings.unless(bool(pairs), LABELS, mark, f"label says {text[:60]}", "its size")
    check_pairs(LABELS, part, rest[:24].strip(), pairs, design, findings)


# --- raising ----------------------------------------------------------------------


def check_raising(papers: Papers, findings: Findings) -> None:
    """The book lists every step in order, and each step's page names exactly its parts."""
    pages = papers.pdfs.get(RAISING, [])
    steps = papers.design["steps"]
    listed = [line for page in pages if any(line.startswith(tr("Order of work")) for line in page) for line in page]
    place = 0
    for number, step in enumerate(steps, start=1):
        found = _find(listed, place, [str(number), step["title"]])
        if found < 0:
            findings.add(RAISING, f"step {number}", "is not in the list of steps", step["title"])
            continue
        place = found
        row = " ".join(listed[found + 2 : found + 3])
        people = str(step["people"])
        findings.unless(row == people, RAISING, f"step {number}", f"{row} people", people)
        _check_lift(listed[found + 3], number, step, findings)
    lines = [line for page in pages for line in page]
    place = len(listed)
    for number, step in enumerate(steps, start=1):
        found = _find(lines, place, [str(number), step["title"]])
        if found < 0:
            findings.add(RAISING, f"step {number}", "has no picture page", step["title"])
            continue
        after = (
            _find(lines, found + 2, [str(number + 1), steps[number]["title"]]) if number < len(steps) else len(lines)
        )
        place = found
        block = lines[found : after if after > 0 else len(lines)]
        named = _named_parts(block)
        missing, more = sorted(set(step["parts"]) - named), sorted(named - set(step["parts"]))
        findings.unless(
            not missing, RAISING, f"step {number}", f"does not name {', '.join(missing[:5])}", "all its parts"
        )
        findings.unless(not more, RAISING, f"step {number}", f"names {', '.join(more[:5])}", "its own parts only")


def _check_lift(text: str, number: int, step: Record, findings: Findings) -> None:
    if text == "–" and step["mass_kg"] == 0:
        return
    match = re.fullmatch(r"([\d.,]+) (kg|lb)", text)
    if match is None:
        findings.add(RAISING, f"step {number}", f"lift {text}", f"{step['mass_kg']} kg")
        return
    found = read_number(match[1]) * (1.0 if match[2] == "kg" else 0.45359237)
    slack = 0.051 if match[2] == "kg" else 0.024
    findings.unless(
        abs(found - step["mass_kg"]) <= slack, RAISING, f"step {number}", f"lift {text}", f"{step['mass_kg']} kg"
    )


def _find(lines: list[str], start: int, wanted: list[str]) -> int:
    """Return where the lines begin with wanted[0] and then wanted[1] (perhaps wrapped), -1 when nowhere."""
    for place in range(start, len(lines) - 1):
        if lines[place] == wanted[0] and wanted[1].startswith(lines[place + 1]):
            both = " ".join(lines[place + 1 : place + 3])
            if lines[place + 1] == wanted[1] or both.startswith(wanted[1]):
                return place
    return -1


def _named_parts(block: list[str]) -> set[str]:
    """Return the marks under headings such as ``Members (21)``, ranges told apart."""
    named: set[str] = set()
    for place, line in enumerate(block):
        heading = re.fullmatch(r"[A-Z][^\W\d_]+(?: [^\W\d_]+)* \((\d+)\)", line)
        if heading is None:
            continue
        group: list[str] = []
        for text in block[place + 1 :]:
            if len(group) >= int(heading[1]) or re.fullmatch(r"[A-Z0-9–, ]+", text) is None:
                break
            for item in filter(None, (piece.strip() for piece in text.split(","))):
                group += _range(item)
        named |= set(group)
    return named


def _range(text: str) -> list[str]:
    match = re.fullmatch(r"([A-Z]*)(\d+)–([A-Z]*)(\d+)", text)
    if match is None:
        return [text]
    return [f"{match[1]}{number}" for number in range(int(match[2]), int(match[4]) + 1)]


# --- summary ----------------------------------------------------------------------


def check_summary(papers: Papers, findings: Findings) -> None:
    """The summary's sums are those of the plan and the design."""
    text, design = plain_money(" ".join(papers.summary.split())), papers.design
    cost = f"{papers.plan['total_cents'] / 100:.2f}"
    total = f"{tr('total')} {decimal(cost)}"
    findings.unless(total in text, SUMMARY, "cost", _after(text, tr("total")), total)
    panels = sum(part["kind"] in PANELS for part in design["parts"])
    parts = tr("{parts} parts, {panels} of them panels").format(parts=len(design["parts"]), panels=panels)
    findings.unless(parts in text, SUMMARY, "parts", _after(text, f"{tr('parts')} "), parts)
    mass = sum(part["mass_kg"] for part in design["parts"])
    match = re.search(pattern(tr("{mass} without hardware"), mass=r"([\d.,]+) (kg|lb)"), text)
    found = read_number(match[1]) * (1.0 if match[2] == "kg" else 0.45359237) if match else -1.0
    findings.unless(abs(found - mass) <= 0.06, SUMMARY, "mass", _after(text, tr("mass")), f"{mass:.2f} kg")
    for step in design["steps"]:
        findings.unless(step["title"] in text, SUMMARY, f"step {step['key']}", "is not listed", step["title"])


def _after(text: str, word: str) -> str:
    place = text.find(word)
    return text[place : place + 40] if place >= 0 else f"no {word}"
