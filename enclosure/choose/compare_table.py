"""How does a comparison read as plain text?

One line an option, money rounded to whole units, the cheapest that keeps the
plant alive marked with a star, what fails said in words, then the sensitivity
to the energy price and the notes.
"""

from __future__ import annotations

from enclosure.choose.compare import Comparison, Outcome

HEAD = (
    "",
    "buy",
    "renew",
    "energy/winter",
    "energy all",
    "total",
    "heat night",
    "held down to",
    "light",
    "mass",
    "skin",
)


ENDS = (0, len(HEAD) - 1)
"""Columns of words; the names stand last, so that the numbers line up on a narrow terminal too."""


def _units(comparison: Comparison) -> tuple[str, ...]:
    money = comparison.currency
    return ("", money, money, "kWh", money, money, "W", "°C", "mol/m²d", "kg", "")


def _cells(one: Outcome, best: Outcome | None) -> tuple[str, ...]:
    mark = "*" if best is not None and one.option.key == best.option.key else "+" if one.lives else "-"
    return (
        mark,
        f"{one.purchase:.0f}",
        f"{one.replacement:.0f}",
        f"{one.energy_winter_kwh:.0f}",
        f"{one.energy_cost:.0f}",
        f"{one.total():.0f}",
        f"{one.heat_needed_w:.0f}",
        f"{one.lowest_degc:.1f}",
        f"{one.light_mol:.1f}",
        f"{one.mass_kg:.0f}",
        one.option.name,
    )


def compare_text(comparison: Comparison) -> str:
    """Return the comparison as aligned text; the numbers take some eighty columns, the names follow."""
    made = [one for one in comparison.outcomes if not one.problem]
    rows = [HEAD, _units(comparison), *(_cells(one, comparison.cheapest) for one in made)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(HEAD))]
    lines = []
    for row in rows:
        words = [row[i].ljust(widths[i]) if i in ENDS else row[i].rjust(widths[i]) for i in range(len(HEAD))]
        lines.append("  ".join(words).rstrip())
    lines.append("")
    lines.append(
        f"* cheapest of those that hold the plant's limit of {comparison.limit_degc:.1f} °C on the design "
        "night of "
        f"{comparison.design_min_degc:.1f} °C; + holds it; - does not"
    )
    if comparison.cheapest is None:
        least = min(made, key=lambda one: (one.heat_needed_w, one.option.key), default=None)
        if least is not None:
            lines.append(
                "none holds it with the heat installed; the one that needs least heat is "
                f"{least.option.name}: "
                f"{least.heat_needed_w:.0f} W"
            )
    lines += [
        f"cannot be made: {one.option.name}: {one.problem}" for one in comparison.outcomes if one.problem
    ]
    lines.append("")
    years = "1 winter" if comparison.winters == 1 else f"{comparison.winters} winters"
    lines.append(f"over {years} at {comparison.price_kwh:g} {comparison.currency}/kWh")
    names = {one.option.key: one.option.name for one in comparison.outcomes}
    totals = {one.option.key: one for one in comparison.outcomes}
    for factor, key in comparison.winners:
        said = (
            f"{names[key]}, {totals[key].total(factor):.0f} {comparison.currency}"
            if key
            else "none keeps the plant alive"
        )
        lines.append(f"energy price x {factor:g}: {said}")
    lines.append("")
    lines += [f"note: {note}" for note in comparison.notes]
    return "\n".join(lines) + "\n"
