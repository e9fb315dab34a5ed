"""Do the packet and the summary give sizes, bolts, bags, posts and track gaps as the design has them?

What `packet` leaves out: the pages that are no lists of cuts.

Units: as `lengths`.
"""

from __future__ import annotations

import itertools
import re
from typing import Any

from enclosure.audit.findings import Findings
from enclosure.audit.geometry import dot
from enclosure.audit.lengths import SIXTEENTH, UNITS_PER_MM, plain_money, read_length, read_number, shown, units
from enclosure.audit.printed import pattern
from enclosure.audit.readers import Papers
from enclosure.language import decimal, tr

Record = dict[str, Any]
PACKET, SUMMARY = "packet.pdf", "summary.txt"
_SIZE = r"(?:\d+ ft ?)?(?:\d+ )?(?:\d+/\d+ |\d+ )?(?:in|mm)|\d+ ft"
_BARE = r"-?(?:\d+ )?\d+(?:/\d+)?"


def check_packet_sums(papers: Papers, findings: Findings) -> None:
    """Compare the packet's words with the design."""
    lines = [line for page in papers.pdfs.get(PACKET, []) for line in page]
    unit = "in" if papers.design["units"] == "inch" else "mm"
    for name, check in (
        ("key sizes", _check_sizes), ("corner bolts", _check_bolts), ("posts", _check_posts), ("bags", _check_bags),
        ("track", _check_track),
    ):  # fmt: skip
        with findings.reading(PACKET, name):
            check(lines, papers.design, unit, findings)


def _grain(unit: str) -> int:
    return (SIXTEENTH if unit == "in" else UNITS_PER_MM) // 2 + 2


def _near(text: str, mm: float, unit: str) -> bool:
    """Whether a bare printed length is one of the design's, to half its grain."""
    length = read_length(f"{text.removeprefix('-')} {unit}")
    return abs(length - abs(units(mm))) <= _grain(unit) and (text.startswith("-") == (mm < 0) or length == 0)


def _three(text: str, sign: str) -> tuple[list[str], str] | None:
    found = re.search(rf"({_BARE})(?: in| mm)? {sign} ({_BARE})(?: in| mm)? {sign} ({_BARE}) (in|mm)", text)
    return (list(found.groups()[:3]), found[4]) if found else None


def _check_sizes(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    for head, key in ((tr("Outside"), "outside_mm"), (tr("Clear inside"), "clear_mm")):
        start = lines.index(head)
        said = _three(" ".join(lines[start + 1 : start + 3]), "×")
        good = said is not None and all(_near(text, mm, unit) for text, mm in zip(said[0], design[key], strict=True))
        findings.unless(good, PACKET, head, lines[start + 1], " × ".join(f"{mm:g}" for mm in design[key]) + " mm")
    bed = design["base"]["bed_depth_mm"]
    if bed:
        words = tr("Bed: {depth} deep, lined; soil crowned {crown} toward the trunk.").split(" {crown}")[0]
        found = re.search(pattern(words, depth=f"({_SIZE})"), " ".join(lines))
        good = found is not None and abs(read_length(found[1]) - units(bed)) <= _grain(unit)
        findings.unless(good, PACKET, "bed", found[0] if found else "no bed", f"{bed} mm deep")


# --- bolts and bags ---------------------------------------------------------------


def _check_bolts(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    """The heights of the corner bolts on each side frame's page, from its foot."""
    words = tr("Crosses: corner bolts, through both frames, at heights of {heights} from the foot.")
    said = [match[1] for match in re.finditer(pattern(words, heights="(.+?)"), " ".join(lines))]
    left, right = (pattern(tr(side), marks="(.+)") for side in ("left {marks}", "right {marks}"))
    for frame in design["frames"]:
        wanted = _heights(frame, design)
        if not any(wanted):
            continue
        fits = [one for one in said if _same_heights(one, wanted, (left, right), unit)]
        right_words = "; ".join(", ".join(f"{b:g}" for b in side) for side in wanted)
        name = f"{frame['face']} tier {frame['level']}"
        findings.unless(bool(fits), PACKET, name, f"bolts at {' | '.join(said) or 'no heights'}", f"{right_words} mm")


def _heights(frame: Record, design: Record) -> tuple[list[float], list[float]]:
    """Return the heights of the corner bolts that lie in a frame, at its left and its right end."""
    plane, outline = frame["plane"], frame["outline"]
    ends = [a for a, _ in outline]
    low, high = min(b for _, b in outline), max(b for _, b in outline)
    sides: tuple[list[float], list[float]] = ([], [])
    for fixing in design["fixings"]:
        if fixing["bag"] != "corner bolts" or not fixing["key"].startswith("bolt"):
            continue
        for place in fixing["positions"]:
            x, y, z = (p - o for p, o in zip(place, plane["origin"], strict=True))
            a, b, n = (dot((x, y, z), tuple(plane[axis])) for axis in "uvn")
            inside = min(ends) - 1 <= a <= max(ends) + 1 and low - 1 <= b <= high + 1
            if -frame["depth_mm"] <= n <= 1.0 and inside and not frame["face"].startswith("ROOF"):
                sides[a - min(ends) >= max(ends) - a].append(round(b - low, 1))
    return sorted(set(sides[0])), sorted(set(sides[1]))


def _same_heights(text: str, wanted: tuple[list[float], list[float]], sides: tuple[str, str], unit: str) -> bool:
    said = text.split("; ")
    pairs = [(heights, side) for heights, side in zip(wanted, sides, strict=True) if heights]
    if len(said) != len(pairs):
        return False
    for words, (heights, side) in zip(said, pairs, strict=True):
        match = re.fullmatch(side, words)
        found = match[1].split(", ") if match else []
        if len(found) != len(heights) or not all(_near(t, b, unit) for t, b in zip(found, heights, strict=True)):
            return False
    return True


def _check_bags(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    """Each bag's rows, in the order of the design, with their amounts."""
    heading = pattern(tr("Bag: {name}"), name="")
    place = next((i for i, line in enumerate(lines) if re.match(heading, line)), 0)
    for fixing in design["fixings"]:
        start = next((i for i in range(place, len(lines)) if fixing["name"].startswith(lines[i])), -1)
        joined = next((n for n in range(1, 4) if " ".join(lines[start : start + n]) == fixing["name"]), 0)
        if start < 0 or not joined:
            findings.add(PACKET, fixing["name"], f"is not in the bag {fixing['bag']}", "a row with its amount")
            continue
        place = start + joined
        said = lines[place] if place < len(lines) else ""
        if fixing["unit"] == "each":
            good = said == f"{fixing['amount']:g}"
        else:
            metric = re.fullmatch(r"([\d.,]+) m", said)
            length = round(read_number(metric[1]) * 1000 * UNITS_PER_MM) if metric else read_length(said)
            # enough, rounded up to a whole foot; metres to the nearest tenth
            more = length - units(fixing["amount"] * 1000)
            good = abs(more) <= 51 * UNITS_PER_MM if metric else -_grain(unit) <= more <= 305 * UNITS_PER_MM
        findings.unless(good, PACKET, fixing["name"], f"{said} in the bag", f"{fixing['amount']:g} {fixing['unit']}")


# --- ground -----------------------------------------------------------------------


def _check_posts(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    """Where each post and stake stands, and how deep."""
    text = " ".join(lines)
    for anchor in design["anchors"]:
        places = [lines[i + 1] for i, line in enumerate(lines[:-1]) if line == anchor["mark"]]
        said = [re.fullmatch(rf"({_BARE}), ({_BARE})", place) for place in places]
        good = any(
            match and _near(match[1], anchor["x_mm"], unit) and _near(match[2], anchor["y_mm"], unit) for match in said
        )
        right = f"{anchor['x_mm']:g}, {anchor['y_mm']:g} mm"
        findings.unless(good, PACKET, anchor["mark"], f"at {' | '.join(places) or 'no place'}", right)
    for kind, words in (
        ("post", tr("Posts, driven {depth} deep: x and y from the frame's front left corner. Wire ties at {heights} "
                    "above the ring.")),
        ("stake", tr("Stakes (triangles), driven {depth} deep, leaning away from the shelter: x and y from the "
                     "frame's front left corner.")),
    ):  # fmt: skip
        depth = max((one["depth_mm"] for one in design["anchors"] if one["kind"] == kind), default=0.0)
        if depth:
            found = re.search(pattern(words.split("{depth}")[0] + "{depth}", depth=f"({_SIZE})"), text)
            good = found is not None and abs(read_length(found[1]) - units(depth)) <= _grain(unit)
            findings.unless(good, PACKET, f"{kind}s", found[0] if found else "no depth", shown(units(depth)))


# --- panel in its track -----------------------------------------------------------


def _check_track(lines: list[str], design: Record, unit: str, findings: Findings) -> None:
    """Covers and gaps of the panel with the least cover to spare: as cut, at the hottest and at the coldest."""
    said = {
        name: [read_number(text) for line in lines for text in re.findall(pattern(words, size=_FINE), line)]
        for name, words in (("cover", tr("cover {size}")), ("clearance", tr("clearance {size}")))
    }
    least = pattern(tr("least cover {size}"), size=_FINE)
    limits = [read_number(text) for line in lines for text in re.findall(least, line)]
    for limit in limits:
        if limit in said["cover"]:
            said["cover"].remove(limit)
    if not said["cover"]:
        return
    rows = [_gaps(part, axis, design) for part, axis in _seats(design)]
    found = f"covers {said['cover']}, gaps {said['clearance']} mm"
    good = any(
        _alike(said["cover"], [c for c, _ in row]) and _alike(said["clearance"], [g for _, g in row]) for row in rows
    )
    right = "; ".join(f"{c:.1f} and {g:.1f}" for c, g in rows[0]) if rows else "nothing in track"
    findings.unless(good, PACKET, "panel in its track", found, f"{right} mm")


_FINE = r"(?:[\d /]+ in \()?(-?[\d.,]+) mm\)?"


def _alike(ones: list[float], others: list[float]) -> bool:
    pairs = zip(sorted(ones), sorted(others), strict=False)
    return len(ones) == len(others) and all(abs(a - b) < 0.11 for a, b in pairs)


def _seats(design: Record) -> list[tuple[Record, int]]:
    """Return the panels in track that have the least cover to spare, with the direction in which they have it."""
    faces = {part["face"] for part in design["parts"] if part["kind"] == "track"}
    seats = [
        (part["fit"]["cover_cold_mm"][axis] - part["fit"]["least_cover_mm"], part, axis)
        for part in design["parts"]
        if part["kind"] in ("panel", "film") and part["fit"] and part["face"] in faces
        for axis in (0, 1)
    ]
    least = min((spare for spare, _, _ in seats), default=0.0)
    return [(part, axis) for spare, part, axis in seats if spare < least + 1e-6]


def _gaps(part: Record, axis: int, design: Record) -> list[tuple[float, float]]:
    """Return cover and gap at both edges: as cut, at the hottest, and at the coldest with one edge hard in."""
    fit, slot = part["fit"], part["fit"]["slot_depth_mm"]
    alpha = next(m["alpha_1e6_k"] for m in design["materials"] if m["key"] == part["material"]) * 1e-6
    size, gap = part["cut"][("width_mm", "height_mm")[axis]], fit["clearance_mm"][axis]
    hot = gap - alpha * size * (fit["hottest_degc"] - fit["cut_degc"]) / 2
    cold = slot - fit["cover_cold_mm"][axis]
    return [(slot - g, g) for g in itertools.chain((gap, gap), (hot, hot), (0.0, cold))]


# --- summary ----------------------------------------------------------------------


def check_summary_sums(papers: Papers, findings: Findings) -> None:
    """Sizes, and what each group of goods costs."""
    text, design = " ".join(papers.summary.split()), papers.design
    unit = "in" if design["units"] == "inch" else "mm"
    for head, key in ((tr("clear inside"), "clear_mm"), (tr("outside frame"), "outside_mm")):
        start = text.find(f"{head} ")
        said = _three(text[start : start + 90], "x")
        good = said is not None and all(_near(one, mm, unit) for one, mm in zip(said[0], design[key], strict=True))
        findings.unless(good, SUMMARY, head, text[start : start + 60], f"{design[key]} mm")
    groups: dict[str, int] = {}
    for line in papers.plan["buying"]:
        named = line["group"]
        group = tr(named)
        groups[group] = groups.get(group, 0) + line["total_cents"]
    rows = {" ".join(plain_money(line).split()) for line in papers.summary.splitlines()}
    for group, cents in groups.items():
        wanted = f"{group} {decimal(f'{cents / 100:.2f}')}"
        findings.unless(wanted in rows, SUMMARY, group, "its sum is not there", wanted)
