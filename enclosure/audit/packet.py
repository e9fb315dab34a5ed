"""Does the cutting packet say what the saw needs?

Sheet pages, stick pages, the list of panels, frame tables, buying list and base plan
are read back and compared with the design and with the cutting plan as followed.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

from enclosure.audit.design_own import PANELS
from enclosure.audit.findings import Findings
from enclosure.audit.lengths import (
    SIXTEENTH,
    UNITS_PER_MM,
    plain_money,
    read_length,
    read_number,
    read_size,
    shown,
    units,
)
from enclosure.audit.papers import LENGTH, SIZE
from enclosure.audit.printed import pattern, printed_address
from enclosure.audit.readers import Papers
from enclosure.audit.replay import Saw, SheetCut, StickCut
from enclosure.audit.tables import check_pairs
from enclosure.language import decimal, tr, tr_n

Record = dict[str, Any]
PACKET = "packet.pdf"
_SHORT_SHARE = 1 / 16
"""Of the longest stick, which is as wide as the page: a shorter piece need not hold its length in figures."""
_BARE = re.compile(r"(?:\d+ )?\d+/\d+|\d+")


def check_packet(papers: Papers, saw: Saw, findings: Findings) -> None:
    """Compare the packet of a shelter with the design and the saw."""
    check_joint(papers, saw, findings)
    pages = papers.pdfs.get(PACKET, [])
    with findings.reading(PACKET, "frames"):
        _check_frames(pages, papers.design, findings)
    with findings.reading(PACKET, "base"):
        _check_base([line for page in pages for line in page], papers.design, _unit(papers.design), findings)


def check_joint(papers: Papers, saw: Saw, findings: Findings) -> None:
    """Compare what the packets of a shelter and of several have in common: panels, cuts, money."""
    pages, unit = papers.pdfs.get(PACKET, []), _unit(papers.design)
    lines = [line for page in pages for line in page]
    with findings.reading(PACKET, "panels"):
        _check_panels(lines, papers.design, findings)
    for sheet in saw.sheets:
        with findings.reading(PACKET, f"sheet {sheet.number}"):
            _check_sheet(pages, sheet, unit, findings)
    with findings.reading(PACKET, "sticks"):
        _check_sticks(pages, saw, unit, findings)
    with findings.reading(PACKET, "buying list"):
        _check_money(lines, papers.plan, findings)


def _unit(design: Record) -> str:
    return "in" if design["units"] == "inch" else "mm"


def _check_panels(lines: list[str], design: Record, findings: Findings) -> None:
    for part in design["parts"]:
        if part["kind"] not in PANELS:
            continue
        start = f"{printed_address(part)} "
        blocks = [" ".join(lines[i + 1 : i + 5]) for i, line in enumerate(lines) if line == part["mark"]]
        found = [block for block in blocks if block.startswith(start) and SIZE.match(block[len(start) :])]
        findings.unless(len(found) == 1, PACKET, part["mark"], f"{len(found)} rows in the list of panels", "one row")
        for block in found[:1]:
            size = SIZE.match(block[len(start) :])
            assert size is not None
            cut = part["cut"]
            sizes = (units(cut["width_mm"]), units(cut["height_mm"]))
            check_pairs(PACKET, part, size[0], list(zip(read_size(size[0]), sizes, strict=True)), design, findings)


def _check_frames(pages: list[list[str]], design: Record, findings: Findings) -> None:
    lines = [
        line
        for page in pages
        if any(re.match(pattern(tr("Frame of the {wall}")), text) for text in page)
        for line in page
    ]
    for part in design["parts"]:
        if part["cut"]["from"] != "stick" or part["kind"] not in ("member", "diagonal", "batten"):
            continue
        blocks = [" ".join(lines[i + 1 : i + 4]) for i, line in enumerate(lines) if line == part["mark"]]
        named = part["role"]
        role = tr(named)
        found = [block for block in blocks if block.startswith(role)]
        findings.unless(len(found) == 1, PACKET, part["mark"], f"{len(found)} rows in the frame tables", "one row")
        for block in found[:1]:
            rest = block[len(role) :]
            length = LENGTH.search(rest)
            findings.unless(
                (tr("lifts out") in rest) == part["lift_out"],
                PACKET,
                part["mark"],
                rest[:30],
                f"lifts out: {part['lift_out']}",
            )
            if length is None:
                findings.add(PACKET, part["mark"], f"row says {block[:40]}", "its length")
                continue
            pairs = [(read_length(length[0].strip()), units(part["cut"]["length_mm"]))]
            check_pairs(PACKET, part, length[0].strip(), pairs, design, findings)


# --- sheets -----------------------------------------------------------------------


def _check_sheet(pages: list[list[str]], sheet: SheetCut, unit: str, findings: Findings) -> None:
    first, last = sheet.first, sheet.first + sheet.copies - 1
    who = f"sheet {first}" if first == last else f"sheets {first}-{last}"
    said = tr_n("Sheet {span}: {name}", "Sheets {span}: {name}", sheet.copies)
    heading = re.compile(pattern(said, span=rf"{first}(?:–{last})?", name=""))
    own = [page for page in pages if any(heading.match(line) for line in page if "×" not in line)]
    page = next(iter(own), None)
    if page is None:
        findings.add(PACKET, who, "has no page", f"a page for {sheet.name}")
        return
    text = " ".join(page)
    findings.unless(f": {sheet.name}" in text, PACKET, who, "the material is not named", sheet.name)
    stock = re.search(pattern(tr("Stock {size}"), size=r"([\d /]+ × [\d /]+ (?:mm|in))"), text)
    size = (sheet.stock["width_units"], sheet.stock["height_units"])
    near = stock is not None and all(
        abs(a - b) <= SIXTEENTH // 2 for a, b in zip(read_size(stock[1]), size, strict=True)
    )
    findings.unless(near, PACKET, who, stock[0] if stock else "no stock size", " × ".join(map(shown, size)))
    kerf = re.search(pattern(tr("Kerf {size}."), size=r"(?:[\d /]+ in \()?([\d.,]+) mm\)?"), text)
    good = kerf is not None and abs(read_number(kerf[1]) - sheet.kerf / UNITS_PER_MM) < 0.051
    findings.unless(good, PACKET, who, kerf[0] if kerf else "no kerf", shown(sheet.kerf))
    grain = (SIXTEENTH if unit == "in" else UNITS_PER_MM) // 2 + 1
    for part in sheet.parts:
        named = " / ".join(part.marks)
        sizes = [page[i + 1] for i, line in enumerate(page[:-1]) if line == named and " × " in page[i + 1]]
        right = (part.width, part.height)
        found = [read_size(f"{text} {unit}") for text in sizes]
        same = any(all(abs(a - b) <= grain for a, b in zip(one, right, strict=True)) for one in found)
        # a part too small for words bears its mark alone; its size stands in the cuts beside it
        said_beside = " ".join(line for one in own for line in one)
        alone = not sizes and all(re.search(rf"(?<!\w){re.escape(mark)}(?!\w)", said_beside) for mark in part.marks)
        said = ", ".join(sizes) or "not there"
        findings.unless(same or alone, PACKET, named, f"on {who}: {said}", " × ".join(map(shown, right)))
    # a long list of cuts goes on overleaf, under the same heading
    _check_cut_table([line for page in own for line in page], sheet, unit, who, findings)


def _check_cut_table(page: list[str], sheet: SheetCut, unit: str, who: str, findings: Findings) -> None:
    """The fence settings of the rips and crosscuts are those of the plan."""
    head, ways = tr("Set at"), {tr("rip"): "rip", tr("crosscut"): "crosscut"}
    start = page.index(head) if head in page else len(page)
    found: Counter[tuple[str, int]] = Counter()
    for how, at in zip(page[start:], page[start + 1 :], strict=False):
        if how in ways and _BARE.fullmatch(at):
            found[ways[how], read_length(f"{at} {unit}")] += 1
    grain = SIXTEENTH if unit == "in" else UNITS_PER_MM
    wanted: Counter[tuple[str, int]] = Counter()
    for how, fence in sheet.fences:
        wanted[how, (fence + grain // 2) // grain * grain] += 1
    for (how, fence), count in (wanted - found).items():
        findings.add(PACKET, who, f"{how} at {shown(fence)} is missing {count} times", "every cut of the plan")
    for (how, fence), count in (found - wanted).items():
        findings.add(PACKET, who, f"{how} at {shown(fence)} stands {count} times too often", "the cuts of the plan")


# --- sticks -----------------------------------------------------------------------


def _check_sticks(pages: list[list[str]], saw: Saw, unit: str, findings: Findings) -> None:
    """Each stick of a material, in the order of the plan, with its pieces and running positions."""
    blocks: list[list[str]] = []
    count = pattern(tr("{number} of {total}"), number=r"\d+", total=r"\d+")
    opening = pattern(tr("Stick {number}: {size}"), number=count, size="")
    for page in pages:
        if tr("Sticks in cutting order") not in page:
            continue
        inside = False
        for line in page:
            if re.match(opening, line):
                blocks.append([line])
                inside = True
            elif inside:
                blocks[-1].append(line)
    each = [(stick, copy) for stick in saw.sticks for copy in range(stick.last - stick.first + 1)]
    findings.unless(len(blocks) == len(each), PACKET, "sticks", f"{len(blocks)} drawn", str(len(each)))
    longest: dict[str, int] = {}
    for stick, _ in each:
        longest[stick.material] = max(longest.get(stick.material, 0), stick.stock["length_units"])
    for block, (stick, copy) in zip(blocks, each, strict=False):
        _check_stick(block, stick, copy, longest[stick.material], unit, findings)


def _check_stick(
    block: list[str], stick: StickCut, copy: int, longest: int, unit: str, findings: Findings
) -> None:
    who = f"stick {stick.first + copy}"
    length = re.search(r": ([^,]+)", block[0])
    grain = (SIXTEENTH if unit == "in" else UNITS_PER_MM) // 2 + 1
    stock = stick.stock["length_units"]
    near = length is not None and abs(read_length(length[1]) - stock) <= grain
    findings.unless(near, PACKET, who, block[0], f"a stick of {shown(stock)}")
    place = 1
    squared = stick.stock["squaring_units"]
    short = _SHORT_SHARE * longest
    for marks, start, long in stick.pieces:
        named = marks[copy]
        found = next((i for i in range(place, len(block)) if block[i] == named), None)
        if found is None:
            findings.add(PACKET, named, f"is not on {who}", "its place in cutting order")
            continue
        said = [text for text in block[found + 1 : found + 3] if re.fullmatch(rf"(?:{_BARE.pattern})(?:, .*)?", text)]
        wanted = ((long, "length"), (start + long - squared, "position"))
        # a piece too short on paper for its length bears its mark alone; the running position stands under it
        alone = long < short and len(said) == 1
        for text, (right, what) in zip(said, wanted[1:] if alone else wanted, strict=False):
            bare = _BARE.match(text)
            assert bare is not None
            value = read_length(f"{bare[0]} {unit}")
            findings.unless(
                abs(value - right) <= grain, PACKET, named, f"{what} {bare[0]} {unit} on {who}", shown(right)
            )
        good = alone or len(said) == 2
        findings.unless(good, PACKET, named, f"{len(said)} numbers on {who}", "length and position")
        place = found + 1


# --- money and base ---------------------------------------------------------------


def _check_money(lines: list[str], plan: Record, findings: Findings) -> None:
    total = decimal(f"{plan['total_cents'] / 100:.2f}")
    lines = [plain_money(line) for line in lines]
    head = tr("All together: {price}").format(price="")
    end = next((line for line in lines if line.startswith(head)), "no sum")
    findings.unless(end.startswith(f"{head}{total}"), PACKET, "buying list", end, f"{head}{total}")
    seen = Counter(lines)
    wanted: Counter[str] = Counter()
    for line in plan["buying"]:
        wanted[decimal(f"{line['total_cents'] / 100:.2f}")] += 1
        wanted[decimal(f"{line['unit_price_cents'] / 100:.2f}")] += 1
    for price, count in wanted.items():
        findings.unless(
            seen[price] >= count, PACKET, "buying list", f"{price} stands {seen[price]} times", f"{count} times"
        )
    counted = Counter(
        _counted(line["count"], line["unit"])
        for line in plan["buying"]
        if line["unit"] in ("sheet", "length", "pack")
    )
    for text, count in counted.items():
        findings.unless(
            seen[text] >= count, PACKET, "buying list", f"{text} stands {seen[text]} times", f"{count} times"
        )


def _counted(count: int, unit: str) -> str:
    words = {
        "sheet": tr_n("{count} sheet", "{count} sheets", count),
        "length": tr_n("{count} length", "{count} lengths", count),
        "pack": tr_n("{count} pack", "{count} packs", count),
    }
    return words[unit].format(count=count)


def _check_base(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    base, text = design["base"], " ".join(lines)
    if base["bricks"]:
        said = tr("Ring: {count} bricks of {size}, joint {joint}; buy {buy} with spares. Both diagonals must be "
                  "{diagonal}; stretch two strings and move the corners until they are.")  # fmt: skip
        wanted = said.split(" {size}")[0].format(count=base["bricks"])
        findings.unless(wanted in text, PACKET, "base", "the ring's bricks are not named", wanted)
        before = re.escape(said.split("{diagonal}")[0].rsplit("}", 1)[1].strip())
        ring = re.search(rf"{before} ([\d /]+ (?:mm|in))", text)
        grain = (SIXTEENTH if unit == "in" else UNITS_PER_MM) // 2 + 1
        near = ring is not None and abs(read_length(ring[1]) - units(base["diagonal_mm"])) <= grain
        findings.unless(near, PACKET, "base", ring[0] if ring else "no diagonal", f"{base['diagonal_mm']} mm")
    for anchor in design["anchors"]:
        findings.unless(anchor["mark"] in lines, PACKET, anchor["mark"], "is not on the base plan", "every post")
