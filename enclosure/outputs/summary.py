"""What does a grower want to know at once about a finished shelter?

One page of plain text: sizes, what to buy and what it costs, how well the stock is
used, what was checked, what to watch, and the order of work in a few lines. The papers
say all of it at length.
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Iterator, Sequence

from enclosure.checks.model import Check, worst_first
from enclosure.money import money
from enclosure.nesting.plans import Plans
from enclosure.outputs.table_rows import sheet_yield, stick_yield
from enclosure.shape.model import Design
from enclosure.units import format_length, format_mass

WIDTH = 78
_MOST_CHECKS = 8


def summary(design: Design, plans: Plans, checks: Sequence[Check] = ()) -> str:
    """Return the page, ending in one line end.

    Args:
        design: The shelter.
        plans: Its cutting plans and buying list.
        checks: Rows of the engineer's sheet, if they were reckoned.
    """
    lines = [*_head(design), *_sizes(design), *_cost(plans), *_yields(plans)]
    lines += [*_checks(checks), *_warnings(design), *_order(design)]
    return "\n".join(lines).rstrip() + "\n"


def _long(design: Design, mm: float, *, feet: bool = False) -> str:
    return format_length(mm, design.units, feet=feet)


def _wrapped(words: str, first: str = "", rest: str = "  ") -> list[str]:
    flat = " ".join(words.split())
    lines = textwrap.wrap(flat, WIDTH, initial_indent=first, subsequent_indent=rest, break_long_words=False)
    return lines or [""]


def _heading(words: str) -> list[str]:
    return ["", words, "-" * len(words)]


def _head(design: Design) -> list[str]:
    name = _wrapped(design.name, rest="")
    plant = design.plant
    size = f"{_long(design, plant.height_mm)} high, {_long(design, plant.spread_x_mm)}"
    words = (
        f"Winter shelter for {plant.name}: {size} by {_long(design, plant.spread_y_mm)} as tied today, "
        f"good for {plant.winters} winter{'s' if plant.winters != 1 else ''}."
    )
    return [*name, "=" * max(len(line) for line in name), "", *_wrapped(words, rest="")]


def _sizes(design: Design) -> list[str]:
    def three(sizes: tuple[float, float, float]) -> str:
        return " x ".join(_long(design, side) for side in sizes)

    roof = design.roof
    if design.roof == "mono":
        roof = f"single fall of {design.fall_deg:.1f} deg to the {design.falls_to}"
    elif design.roof == "gable":
        roof = f"gable of {design.fall_deg:.1f} deg, ridge along {design.falls_to}"
    mass = math.fsum(part.mass_kg for part in design.parts)
    rows = [
        ("clear inside", three(design.clear_mm) + " (width, depth, height)"),
        ("outside frame", three(design.outside_mm)),
        ("roof", roof),
        ("front looks to", f"{design.front_bearing_deg:.0f} deg from north"),
        ("parts", f"{len(design.parts)} parts, {len(design.panels())} of them panels"),
        ("mass", format_mass(mass, design.units) + " without hardware"),
        ("raising", f"{design.raising_method}, {design.people} people: {design.raising_reason}"),
    ]
    if design.base.bricks:
        ring = f"{_long(design, design.base.ring_length_mm)} x {_long(design, design.base.ring_width_mm)}"
        diagonal = _long(design, design.base.diagonal_mm)
        rows.append(("base ring", f"{ring}, both diagonals {diagonal}, {design.base.bricks} bricks"))
    return [*_heading("Sizes"), *_pairs(rows)]


def _pairs(rows: Sequence[tuple[str, str]]) -> list[str]:
    wide = max(len(key) for key, _ in rows) + 2
    return [line for key, words in rows for line in _wrapped(words, key.ljust(wide), " " * wide)]


def _cost(plans: Plans) -> list[str]:
    if not plans.buying:
        return [*_heading("Cost"), f"nothing to buy: total {money(0)}"] if plans.currency else []
    groups: dict[str, int] = {}
    for line in plans.buying:
        groups[line.group] = groups.get(line.group, 0) + line.total_cents
    wide = max(len(group) for group in [*groups, "total"])
    right = max(len(money(cents)) for cents in [*groups.values(), plans.total_cents])
    lines = [f"{group.ljust(wide)}  {money(cents).rjust(right)}" for group, cents in groups.items()]
    lines += ["-" * (wide + 2 + right), f"{'total'.ljust(wide)}  {money(plans.total_cents).rjust(right)}"]
    note = _wrapped(plans.prices_note, rest="") if plans.prices_note else []
    return [*_heading(f"Cost{f' ({plans.currency})' if plans.currency else ''}"), *lines, *note]


def _yields(plans: Plans) -> list[str]:
    rows = []
    for sheets in plans.sheet_jobs:
        if sheets.ordered:
            continue
        count = sum(pattern.copies for pattern in sheets.plan.patterns)
        rows.append((sheets.name, count, "sheet", sheet_yield(sheets), sheets.plan.status))
    for sticks in plans.stick_jobs:
        count = sum(pattern.copies for pattern in sticks.plan.patterns)
        rows.append((sticks.name, count, "stick", stick_yield(sticks), sticks.plan.status))
    if not rows:
        return []
    said = {"proved": "no cheaper plan exists", "gap": "not proved to be the cheapest"}
    pairs = [
        (name, f"{count} {unit}{'s' if count != 1 else ''}, {share:.0%} of it in parts, {said[status]}")
        for name, count, unit, share, status in rows
    ]
    return [*_heading("Cutting"), *_pairs(pairs)]


def _checks(checks: Sequence[Check]) -> Iterator[str]:
    if not checks:
        return
    yield from _heading("Checks, the tightest first")
    ordered = worst_first(tuple(checks))
    for check in ordered[:_MOST_CHECKS]:
        verdict = "note" if check.advice else "good" if check.passes else "FAILS"
        yield from _wrapped(check.name, f"{check.utilisation:5.2f}  {verdict:5}  ", " " * 14)
        if not check.passes and check.way_out:
            yield from _wrapped(check.way_out, " " * 14, " " * 14)
    if len(ordered) > _MOST_CHECKS:
        yield f"and {len(ordered) - _MOST_CHECKS} more"
    yield from _wrapped("Results defer to local codes and to the judgement of a licensed engineer.", rest="")


def _warnings(design: Design) -> Iterator[str]:
    if design.warnings:
        yield from _heading("Watch out")
        for words in design.warnings:
            yield from _wrapped(words, "- ")


def _order(design: Design) -> Iterator[str]:
    for phase, name in (("first build", "First build, once"), ("raising", "Raising, each autumn"),
                        ("take-down", "Take-down, each spring")):
        steps = [step for step in design.steps if step.phase == phase]
        if not steps:
            continue
        minutes = sum(step.minutes for step in steps)
        count = f"{len(steps)} step{'s' if len(steps) != 1 else ''}"
        yield from _heading(f"{name}: {count}, about {_time(minutes)}")
        for number, step in enumerate(steps, start=1):
            yield from _wrapped(step.title, f"{number:2}. ", "    ")


def _time(minutes: int) -> str:
    return f"{minutes} minutes" if minutes < 90 else f"{minutes / 60:.1f} hours"
