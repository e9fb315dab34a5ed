"""How does a person read the checks: the sheet worst first, and one calculation line by line?

Plain text only, so that terminal, report and tests share it; what only a terminal prints is
English. Bars and words
carry the verdict; colour is never needed.
"""

from __future__ import annotations

from collections.abc import Iterable

from enclosure.checks.model import Check, Line, worst_first
from enclosure.language import decimal, later, tr

CELLS = 20
ONE_AT = 15
"""Cells of a bar, and the cell after which 1.00 stands."""

FOOTER = (
    later("This is arithmetic for a grower, not a structural design by a licensed person; local codes govern."),
    later("People do not shelter in it. Stop raising above the wind named under raising-wind."),
    later("Numbers marked 'from memory' or 'common practice, no source' have not been traced to a source."),
)
"""The cautions, once."""

NOT_CHECKED = (
    later("joints one by one (bolts, screws, brackets) except the screws of gussets and diagonals"),
    later("drift, slides from a roof above and ploughed snow"),
    later("flutter of loose film, hail, falling branches"),
    later("settling and frost heave of the base ring"),
    later("stiffness of the roof as a diaphragm: it is taken as none"),
    later("earthquake, flood, vandals"),
)


def verdict(check: Check) -> str:
    """Return the verdict in one short word, in English of four letters."""
    if check.advice:
        return tr("info")
    return tr("pass") if check.passes else tr("OVER")


def bar(utilisation: float) -> str:
    """Return a bar with a stroke at 1.00; an arrow shows that it runs off the end."""
    filled = min(CELLS, max(0, round(utilisation * ONE_AT)))
    cells = ["#" if place < filled else "." for place in range(CELLS)]
    if utilisation * ONE_AT > CELLS:
        cells[-1] = ">"
    cells.insert(ONE_AT, "|")
    return "".join(cells)


def short(value: float) -> str:
    """Return a number with three digits that count, thousands in full."""
    if value != value or value in (float("inf"), float("-inf")):
        return tr("no limit")
    if abs(value) < 1e-9:
        return "0"
    return decimal(f"{value:.3g}") if abs(value) < 1000 else f"{value:.0f}"


def only_says(check: Check) -> bool:
    """Return True for a row that states a value and sets it against nothing."""
    return check.advice and check.utilisation == 0.0


def asked(check: Check) -> str:
    """Return what is asked of what is there, with the unit; the bare value where nothing is asked."""
    demand = short(check.demand)
    if not only_says(check):
        demand = tr("{demand} of {capacity}").format(demand=demand, capacity=short(check.capacity))
    return f"{demand} {check.unit}".rstrip()


def ways_out(checks: Iterable[Check]) -> dict[str, str]:
    """Return the way out of each row that needs one, by its key; one that was told already only names that row."""
    first: dict[str, str] = {}
    found: dict[str, str] = {}
    for check in checks:
        if check.way_out and not check.passes:
            known = first.setdefault(check.way_out, check.name)
            same = tr('the same as for "{name}"').format(name=known)
            found[check.key] = check.way_out if known == check.name else same
    return found


def sheet(checks: tuple[Check, ...]) -> tuple[str, ...]:
    """Return the engineer's sheet: one row a check, worst first, ways out under the rows that need one."""
    if not checks:
        return ("no checks apply",)
    wide = max(len(check.name) for check in checks)
    lines: list[str] = []
    ways = ways_out(worst_first(checks))
    for check in worst_first(checks):
        use = "      " if only_says(check) else f"{check.utilisation:6.2f}"
        length = " " * (CELLS + 1) if only_says(check) else bar(check.utilisation)
        lines.append(f"{verdict(check)} {use} {length} {check.name:<{wide}}  {asked(check)}")
        if check.key in ways:
            lines.append(f"     way out: {ways[check.key]}")
    over = sum(1 for check in checks if not check.passes and not check.advice)
    lines += ["", f"{over} of {len(checks)} rows over 1.00" if over else f"all {len(checks)} rows pass", ""]
    lines += ["not checked:", *(f"  {words}" for words in NOT_CHECKED), "", *FOOTER]
    return tuple(lines)


def explain(check: Check) -> str:
    """Return one check as a worked calculation that an engineer can follow."""
    lines = [f"{check.name}   [{check.key}]", f"by {check.clause}{_kind(check)}", ""]
    if check.governs:
        lines.append(f"governed by  {', '.join(check.governs)}")
    lines += [f"given        {words}" for words in check.inputs]
    lines += [f"assumed      {words}" for words in check.assumptions]
    lines.append("")
    lines += [_step(line) for line in check.working]
    unit = f" {check.unit}" if check.unit else ""
    lines += [
        "",
        f"demand       {short(check.demand)}{unit}",
        f"capacity     {short(check.capacity)}{unit}",
        f"utilisation  {check.utilisation:.2f}  {bar(check.utilisation)}  {verdict(check)}",
    ]
    if check.way_out:
        lines.append(f"way out      {check.way_out}")
    return "\n".join([*lines, "", *FOOTER])


def _kind(check: Check) -> str:
    """Return how far the method can be trusted, unless the clause says so itself."""
    words = {
        "published": "published",
        "handbook": "handbook",
        "practice": "common practice, no source",
        "memory": "from memory",
    }[check.source_kind]
    return "" if words in check.clause else f" ({words})"


def _step(line: Line) -> str:
    parts = [part for part in (line.formula, line.numbers) if part]
    value = f"{short(line.value)} {line.unit}".strip()
    text = "  " + " = ".join([f"{line.symbol:<10}", *parts, value])
    return f"{text:<78}  {line.source}".rstrip() if line.source else text
