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
from enclosure.language import decimal, tr, tr_as, tr_n
from enclosure.money import money
from enclosure.nesting.plans import Plans
from enclosure.outputs.table_rows import sheet_yield, stick_yield
from enclosure.shape.model import Design
from enclosure.shape.names import in_its_language
from enclosure.units import format_length, format_mass

WIDTH = 78
_MOST_CHECKS = 8


@in_its_language
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
    words = tr_n(
        "Winter shelter for {plant}: {high} high, {wide} by {deep} as tied today, good for {count} winter.",
        "Winter shelter for {plant}: {high} high, {wide} by {deep} as tied today, good for {count} winters.",
        plant.winters,
    ).format(
        plant=plant.name,
        high=_long(design, plant.height_mm),
        wide=_long(design, plant.spread_x_mm),
        deep=_long(design, plant.spread_y_mm),
        count=plant.winters,
    )
    return [*name, "=" * max(len(line) for line in name), "", *_wrapped(words, rest="")]


def _sizes(design: Design) -> list[str]:
    def three(sizes: tuple[float, float, float]) -> str:
        return " x ".join(_long(design, side) for side in sizes)

    mass = math.fsum(part.mass_kg for part in design.parts)
    rows = [
        (tr("clear inside"), tr("{sizes} (width, depth, height)").format(sizes=three(design.clear_mm))),
        (tr("outside frame"), three(design.outside_mm)),
        (tr("roof"), _roof(design)),
        (tr("front looks to"), tr("{angle:.0f} deg from north").format(angle=design.front_bearing_deg)),
        (
            tr("parts"),
            tr("{parts} parts, {panels} of them panels").format(parts=len(design.parts), panels=len(design.panels())),
        ),
        (tr("mass"), tr("{mass} without hardware").format(mass=format_mass(mass, design.units))),
        (
            tr("raising"),
            tr("{method}, {people} people: {reason}").format(
                method=tr(design.raising_method), people=design.people, reason=design.raising_reason
            ),
        ),
    ]
    if design.base.bricks:
        ring = f"{_long(design, design.base.ring_length_mm)} x {_long(design, design.base.ring_width_mm)}"
        words = tr("{ring}, both diagonals {diagonal}, {bricks} bricks")
        diagonal = _long(design, design.base.diagonal_mm)
        rows.append((tr("base ring"), words.format(ring=ring, diagonal=diagonal, bricks=design.base.bricks)))
    return [*_heading(tr("Sizes")), *_pairs(rows)]


def _roof(design: Design) -> str:
    if design.roof == "mono":
        words = tr("single fall of {angle:.1f} deg to the {side}")
        return words.format(angle=design.fall_deg, side=tr_as("to the", design.falls_to))
    if design.roof == "gable":
        along = tr("from left to right") if design.falls_to == "x" else tr("from front to back")
        return tr("gable of {angle:.1f} deg, ridge {along}").format(angle=design.fall_deg, along=along)
    return tr("flat")


def _pairs(rows: Sequence[tuple[str, str]]) -> list[str]:
    wide = max(len(key) for key, _ in rows) + 2
    return [line for key, words in rows for line in _wrapped(words, key.ljust(wide), " " * wide)]


def _cost(plans: Plans) -> list[str]:
    total = tr("total")
    if not plans.buying:
        nothing = tr("nothing to buy: total {money}").format(money=money(0))
        return [*_heading(tr("Cost")), nothing] if plans.currency else []
    groups: dict[str, int] = {}
    for line in plans.buying:
        groups[tr(line.group)] = groups.get(tr(line.group), 0) + line.total_cents
    wide = max(len(group) for group in [*groups, total])
    right = max(len(money(cents)) for cents in [*groups.values(), plans.total_cents])
    lines = [f"{group.ljust(wide)}  {money(cents).rjust(right)}" for group, cents in groups.items()]
    lines += ["-" * (wide + 2 + right), f"{total.ljust(wide)}  {money(plans.total_cents).rjust(right)}"]
    note = _wrapped(tr(plans.prices_note), rest="") if plans.prices_note else []
    head = tr("Cost ({currency})").format(currency=plans.currency) if plans.currency else tr("Cost")
    return [*_heading(head), *lines, *note]


def _yields(plans: Plans) -> list[str]:
    pairs = []
    for sheets in plans.sheet_jobs:
        if sheets.ordered:
            continue
        count = sum(pattern.copies for pattern in sheets.plan.patterns)
        words = tr_n("{count} sheet", "{count} sheets", count).format(count=count)
        pairs.append((sheets.name, _used(words, sheet_yield(sheets), sheets.plan.status)))
    for sticks in plans.stick_jobs:
        count = sum(pattern.copies for pattern in sticks.plan.patterns)
        words = tr_n("{count} stick", "{count} sticks", count).format(count=count)
        pairs.append((sticks.name, _used(words, stick_yield(sticks), sticks.plan.status)))
    return [*_heading(tr("Cutting")), *_pairs(pairs)] if pairs else []


def _used(count: str, share: float, status: str) -> str:
    """Return how well some sheets or sticks are used, and how sure it is that there is no cheaper plan."""
    said = {"proved": tr("no cheaper plan exists"), "gap": tr("not proved to be the cheapest")}
    words = tr("{count}, {share:.0f} % of it in parts, {proof}")
    return words.format(count=count, share=100 * share, proof=said[status])


def _checks(checks: Sequence[Check]) -> Iterator[str]:
    if not checks:
        return
    yield from _heading(tr("Checks, the tightest first"))
    ordered = worst_first(tuple(checks))
    good, fails, info = tr("good"), tr("FAILS"), tr("note")
    wide = max(map(len, (good, fails, info)))
    for check in ordered[:_MOST_CHECKS]:
        verdict = info if check.advice else good if check.passes else fails
        use = decimal(f"{check.utilisation:5.2f}")
        yield from _wrapped(check.name, f"{use}  {verdict:{wide}}  ", " " * (9 + wide))
        if not check.passes and check.way_out:
            yield from _wrapped(check.way_out, " " * (9 + wide), " " * (9 + wide))
    if len(ordered) > _MOST_CHECKS:
        yield tr("and {count} more").format(count=len(ordered) - _MOST_CHECKS)
    yield from _wrapped(tr("Results defer to local codes and to the judgement of a licensed engineer."), rest="")


def _warnings(design: Design) -> Iterator[str]:
    if design.warnings:
        yield from _heading(tr("Watch out"))
        for words in design.warnings:
            yield from _wrapped(words, "- ")


def _order(design: Design) -> Iterator[str]:
    titles = {
        "first build": tr("First build, once: {steps}, about {time}"),
        "raising": tr("Raising, each autumn: {steps}, about {time}"),
        "take-down": tr("Take-down, each spring: {steps}, about {time}"),
    }
    for phase, title in titles.items():
        steps = [step for step in design.steps if step.phase == phase]
        if not steps:
            continue
        minutes = sum(step.minutes for step in steps)
        count = tr_n("{count} step", "{count} steps", len(steps)).format(count=len(steps))
        yield from _heading(title.format(steps=count, time=_time(minutes)))
        for number, step in enumerate(steps, start=1):
            yield from _wrapped(step.title, f"{number:2}. ", "    ")


def _time(minutes: int) -> str:
    if minutes < 90:
        return tr("{minutes} minutes").format(minutes=minutes)
    return tr("{hours:.1f} hours").format(hours=minutes / 60)
