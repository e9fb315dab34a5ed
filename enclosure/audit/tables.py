"""Do the cut list and the buying list say what the design and the saw say?

Units: mm and money as printed; 1/10 000 mm where named units.
"""

from __future__ import annotations

import math
import re
from collections import Counter
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, read_length, read_size, shown, units
from enclosure.audit.readers import Papers
from enclosure.audit.replay import PLAN, Saw

Record = dict[str, Any]
CUT_LIST, BUYING = "cut-list.csv", "buying-list.csv"
_EXACT_KINDS = ("panel", "film")


def address_of(part: Record) -> str:
    """Return where a part goes, as the papers say it: ``BACK bay 2 tier 1``."""
    words = [part["face"]]
    if part["bay"]:
        words.append(f"bay {part['bay']}")
    if part["tier"]:
        words.append(f"tier {part['tier']}")
    elif part["level"] > 1:
        words.append(f"frame tier {part['level']}")
    if part["layer"] > 1:
        words.append("outer layer")
    return " ".join(words)


# --- plan against design ----------------------------------------------------------


def check_plan_parts(
    design: Record, plan: Record, findings: Findings, kept: frozenset[str] = frozenset()
) -> None:
    """Every part of the design that is not kept from an old shelter stands once in its plan, in its right size."""
    parts = {part["mark"]: part for part in design["parts"]}
    asked: Counter[str] = Counter()
    for what in ("sheets", "sticks"):
        for item in plan[what]:
            with findings.reading(PLAN, str(item.get("material"))):
                _check_job(what, item, parts, asked, findings)
    for mark in parts:
        right, words = (0, "none, for it is kept") if mark in kept else (1, "one")
        findings.unless(asked[mark] == right, PLAN, mark, f"stands in {asked[mark]} cutting plans", words)


def _check_job(what: str, item: Record, parts: dict[str, Record], asked: Counter[str], findings: Findings) -> None:
    kinds = {kind["key"]: kind for kind in item["job"]["parts"]}
    findings.unless(
        set(kinds) == set(item["marks"]), PLAN, item["material"], "kinds and marks differ", "marks for each kind"
    )
    for key, marks in item["marks"].items():
        kind = kinds[key]
        found = f"{kind['quantity']} wanted for {len(marks)} marks"
        findings.unless(kind["quantity"] == len(marks), PLAN, key, found, "as many as marks")
        for mark in marks:
            asked[mark] += 1
            part = parts.get(mark)
            if part is None:
                findings.add(PLAN, mark, "is cut", "parts of the design only")
                continue
            _check_kind(what, item, kind, part, findings)
    for stock in item["job"]["sheets" if what == "sheets" else "sticks"]:
        findings.unless(
            stock["price"] > 0 or stock["owned"], PLAN, stock["key"], "costs nothing", "a price, or from the rack"
        )


def _check_kind(what: str, item: Record, kind: Record, part: Record, findings: Findings) -> None:
    mark, cut = part["mark"], part["cut"]
    findings.unless(part["material"] == item["material"], PLAN, mark, f"cut from {item['material']}", part["material"])
    if (cut["from"] == "sheet") != (what == "sheets"):
        findings.add(PLAN, mark, f"stands among the {what}", f"cut from a {cut['from']}")
        return
    if what == "sticks":
        right = units(cut["length_mm"])
        findings.unless(kind["length_units"] == right, PLAN, mark, f"{shown(kind['length_units'])} long", shown(right))
        return
    size = (units(cut["width_mm"]), units(cut["height_mm"]))
    found = (kind["width_units"], kind["height_units"])
    findings.unless(found == size, PLAN, mark, " by ".join(map(shown, found)), " by ".join(map(shown, size)))
    if kind["turnable"] and not cut["turnable"]:
        findings.add(PLAN, mark, "may be turned", "flutes fix its direction, as the design says")
    if kind["slope_units"] is not None:
        heights = {0: 0, size[0]: 0}
        for x, y in cut["outline"]:
            side = 0 if units(x) < size[0] / 2 else size[0]
            heights[side] = max(heights[side], units(y))
        sides = (heights[0], heights[size[0]])
        near = all(abs(a - b) <= 1 for a, b in zip(kind["slope_units"], sides, strict=True))
        found_text = " and ".join(map(shown, kind["slope_units"]))
        findings.unless(near, PLAN, mark, f"sides of {found_text}", " and ".join(map(shown, sides)))


# --- cut list ---------------------------------------------------------------------


def check_cut_list(papers: Papers, saw: Saw, findings: Findings) -> None:
    """Every part has its one row, with the numbers of the design and the place of the plan."""
    design, rows = papers.design, papers.cut_list
    names = {row["key"]: row["name"] for row in design["materials"]}
    wide = {row["key"]: row["width_mm"] for row in design["materials"]}
    places = _places(saw)
    by_mark: dict[str, list[list[str]]] = {}
    for row in rows[1:]:
        by_mark.setdefault(row[0], []).append(row)
    for part in design["parts"]:
        mark = part["mark"]
        found = by_mark.pop(mark, [])
        findings.unless(len(found) == 1, CUT_LIST, mark, f"{len(found)} rows", "one row")
        for row in found[:1]:
            with findings.reading(CUT_LIST, mark):
                wanted = _cut_row(part, names, places.get(mark, ("", "")), wide.get(part["material"], 0.0))
                compare(CUT_LIST, mark, rows[0], row, wanted, findings)
                _check_printed(CUT_LIST, part, row[rows[0].index("size as printed")], design, findings)
    for mark in by_mark:
        findings.add(CUT_LIST, mark, "has a row", "parts of the design only")


def _cut_row(
    part: Record, names: dict[str, str], place: tuple[str, str], lath: float
) -> dict[str, str | float]:
    cut = part["cut"]
    row: dict[str, str | float] = {
        "kind": part["kind"],
        "part": part["role"],
        "address": address_of(part),
        "material": names[part["material"]],
        "lifts out": "yes" if part["lift_out"] else "",
        "mass [kg]": part["mass_kg"],
        "cut from": place[0],
        "from the stick's end [mm]": place[1],
    }
    if cut["from"] == "stick":
        row |= {
            "length or height [mm]": cut["length_mm"],
            "width [mm]": ripped_width(part, lath) or "",
            "start angle [deg]": cut["start_deg"],
            "end angle [deg]": cut["end_deg"],
            "bevel [deg]": cut["bevel_deg"],
            "flute direction fixed": "",
        }
    else:
        row |= {
            "length or height [mm]": cut["height_mm"],
            "width [mm]": cut["width_mm"],
            "start angle [deg]": "",
            "end angle [deg]": "",
            "bevel [deg]": "",
            "flute direction fixed": "" if cut["turnable"] else "yes",
        }
    return row


def ripped_width(part: Record, lath: float) -> float:
    """Return the width to which a batten on a narrower face than its lath is wide is ripped, 0 for none [mm]."""
    if part["kind"] != "batten":
        return 0.0
    corners = part["solids"][0]["outline"]
    sides = [(x1 - x0, y1 - y0) for (x0, y0), (x1, y1) in zip(corners, corners[1:] + corners[:1], strict=True)]
    run, rise = max(sides, key=lambda side: side[0] ** 2 + side[1] ** 2)
    off = [(y * run - x * rise) / (run**2 + rise**2) ** 0.5 for x, y in corners]
    wide = max(off) - min(off)
    return float(wide) if wide < lath - 0.6 else 0.0


_GRAINS = {"mass [kg]": 6e-4, "start angle [deg]": 6e-3, "end angle [deg]": 6e-3, "bevel [deg]": 6e-3}


def compare(
    file: str, who: str, heads: list[str], row: list[str], wanted: dict[str, str | float], findings: Findings
) -> None:
    """Compare the cells of a row, numbers within their grain, with what stands under each heading."""
    for head, right in wanted.items():
        found = row[heads.index(head)] if heads.index(head) < len(row) else ""
        try:
            same = abs(float(found) - float(right)) <= _GRAINS.get(head, 6e-4)
        except ValueError:
            same = found == right
        findings.unless(same, file, who, f"{head} is {found or 'empty'}", str(right) or "empty")


def _check_printed(file: str, part: Record, text: str, design: Record, findings: Findings) -> None:
    """The printed size is the size to cut: exactly for panels, to half a grain for the rest."""
    cut = part["cut"]
    if cut["from"] == "stick":
        pairs = [(read_length(text), units(cut["length_mm"]))]
    else:
        pairs = list(zip(read_size(text), (units(cut["width_mm"]), units(cut["height_mm"])), strict=True))
    check_pairs(file, part, text, pairs, design, findings)


def check_pairs(
    file: str, part: Record, text: str, pairs: list[tuple[int, int]], design: Record, findings: Findings
) -> None:
    """Compare printed with true sizes [units]; a panel printed too large would not fit its track."""
    grain = (SIXTEENTH if design["units"] == "inch" else UNITS_PER_MM) // 2 + 1
    most = 20 if part["kind"] in _EXACT_KINDS else grain
    for printed, right in pairs:
        findings.unless(abs(printed - right) <= most, file, part["mark"], f"printed as {text}", shown(right))


def _places(saw: Saw) -> dict[str, tuple[str, str]]:
    """Return for each mark what it is cut from and its start on a stick [mm]."""
    places: dict[str, tuple[str, str]] = {}
    for sheet in saw.sheets:
        for part in sheet.parts:
            for copy, mark in enumerate(part.marks, start=1):
                places[mark] = (f"sheet-{sheet.number:02d}" + (f" copy {copy}" if sheet.copies > 1 else ""), "")
    for pane in saw.panes:
        places.update({mark: ("made to size", "") for part in pane.parts for mark in part.marks})
    for stick in saw.sticks:
        for marks, start, _ in stick.pieces:
            for copy, mark in enumerate(marks):
                places[mark] = (f"stick {stick.first + copy}", f"{start / UNITS_PER_MM:.4f}")
    return places


# --- buying list ------------------------------------------------------------------


def check_buying(papers: Papers, saw: Saw, findings: Findings) -> None:
    """What is bought is what the saw uses and the design counts, and the sums are right."""
    lines = papers.plan["buying"]
    _check_file_lines(papers, lines, findings)
    for line in lines:
        total = line["count"] * line["unit_price_cents"]
        findings.unless(
            line["total_cents"] == total, PLAN, line["name"], f"{line['total_cents']} cents", f"{total} cents"
        )
    total = sum(line["total_cents"] for line in lines)
    findings.unless(
        papers.plan["total_cents"] == total, PLAN, "total", f"{papers.plan['total_cents']} cents", f"{total} cents"
    )
    used: Counter[tuple[str, int, int]] = Counter()
    for sheet in saw.sheets:
        used[sheet.name, sheet.stock["width_units"], sheet.stock["height_units"]] += sheet.copies
    for stick in saw.sticks:
        used[stick.name, stick.stock["length_units"], 0] += stick.last - stick.first + 1
    bought: Counter[tuple[str, int, int]] = Counter()
    for line in lines:
        if line["unit"] in ("sheet", "length"):
            size = read_size(line["size"]) if line["unit"] == "sheet" else (read_length(line["size"]), 0)
            bought[line["name"], size[0], size[1]] += line["count"]
    for name, count, right in _differences(bought, used):
        findings.add(BUYING, name, f"{count} to buy", f"{right}, as the cutting plans use")
    _check_prices(saw, lines, findings)
    _check_panes(saw, lines, findings)
    _check_hardware(papers.design, lines, findings, bool(papers.old_parts))


def _differences(
    bought: Counter[tuple[str, int, int]], used: Counter[tuple[str, int, int]]
) -> list[tuple[str, int, int]]:
    """Return what differs; printed sizes are rounded, so they match within a sixteenth of an inch."""
    rows = []
    for (name, a, b), count in bought.items():
        right = sum(
            n
            for (other, c, d), n in used.items()
            if other == name and abs(a - c) <= SIXTEENTH // 2 and abs(b - d) <= SIXTEENTH // 2
        )
        if right != count:
            rows.append((name, count, right))
    if sum(bought.values()) != sum(used.values()):
        rows.append(("sheets and lengths", sum(bought.values()), sum(used.values())))
    return rows


def _check_prices(saw: Saw, lines: list[Record], findings: Findings) -> None:
    prices: dict[str, set[int]] = {}
    for stock, name in [(s.stock, s.name) for s in saw.sheets] + [(s.stock, s.name) for s in saw.sticks]:
        prices.setdefault(name, set()).add(stock["price"])
    for line in lines:
        if line["unit"] in ("sheet", "length"):
            right = prices.get(line["name"], set())
            found = f"{line['unit_price_cents']} cents each"
            findings.unless(line["unit_price_cents"] in right, BUYING, line["name"], found, f"one of {sorted(right)}")


def _check_panes(saw: Saw, lines: list[Record], findings: Findings) -> None:
    """Each pane comes alone, is ordered in its true size, and is priced as one listed size that holds it."""
    left = [dict(line) for line in lines if line["unit"] == "pane"]
    for pane in saw.panes:
        findings.unless(len(pane.parts) == 1, PLAN, f"pane {pane.number}", f"{len(pane.parts)} panes", "one")
        for part in pane.parts:
            for mark in part.marks:
                fits = [
                    line
                    for line in left
                    if line["name"] == pane.name
                    and line["count"] > 0
                    and line["unit_price_cents"] == pane.stock["price"]
                    and _near(read_size(line["size"]), (part.width, part.height), part.turned)
                ]
                findings.unless(bool(fits), BUYING, mark, "is not ordered", "a line with its size and price")
                for line in fits[:1]:
                    line["count"] -= 1
    for line in left:
        findings.unless(line["count"] == 0, BUYING, line["name"], f"{line['count']} panes too many", "one for each")


def _near(said: tuple[int, int], right: tuple[int, int], turned: bool) -> bool:
    wanted = right[::-1] if turned else right
    return all(abs(a - b) <= SIXTEENTH // 2 + 1 for a, b in zip(said, wanted, strict=True))


def _check_hardware(design: Record, lines: list[Record], findings: Findings, some_there: bool) -> None:
    """Packs for what the design counts; where an old shelter gives some of it, for no more than that."""
    needed: dict[str, float] = {}
    for fixing in design["fixings"]:
        needed[fixing["name"]] = needed.get(fixing["name"], 0.0) + fixing["amount"]
    for line in lines:
        if line["group"] != "hardware":
            continue
        amount = needed.pop(line["name"], 0.0)
        said = float(line["note"].split(" ", 1)[0])
        if some_there and said <= amount:
            amount = said
        match = re.fullmatch(r"(?:pack of ([\d.e+]+)(?: m)?|each)", line["size"])
        pack = float(match[1]) if match and match[1] else 1.0
        right = math.ceil(amount / pack - 1e-9)
        findings.unless(
            line["count"] == right,
            BUYING,
            line["name"],
            f"{line['count']} of {line['size']}",
            f"{right} for {amount:g}",
        )
        findings.unless(abs(said - amount) < 0.051, BUYING, line["name"], line["note"], f"{amount:g} needed")
    for name, amount in needed.items():
        findings.unless(some_there or amount <= 0, BUYING, name, "is not bought", f"{amount:g} needed")
    bricks = sum(line["count"] for line in lines if line["group"] == "bricks")
    right = design["base"]["bricks_to_buy"]
    good = bricks in (right, 0) or (some_there and bricks <= right)
    findings.unless(good, BUYING, "bricks", f"{bricks} to buy", str(right))


def _check_file_lines(papers: Papers, lines: list[Record], findings: Findings) -> None:
    rows = papers.buying
    findings.unless(len(rows) == len(lines) + 1, BUYING, "", f"{len(rows) - 1} lines", f"{len(lines)} lines")
    money = papers.plan["currency"] or "money"
    for row, line in zip(rows[1:], lines, strict=False):
        wanted: dict[str, str | float] = {
            "group": line["group"],
            "what": line["name"],
            "size": line["size"],
            "count": line["count"],
            "unit": line["unit"],
            f"price of one [{money}]": line["unit_price_cents"] / 100,
            f"price [{money}]": line["total_cents"] / 100,
            "note": line["note"],
        }
        compare(BUYING, line["name"], rows[0], row, wanted, findings)
