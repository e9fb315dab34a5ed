"""What do the five verdicts say: will it fit, stand and live, what does it cost, how much is waste?

Each verdict is a word, a sign and a line or two; colour only repeats what they say.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from enclosure.checks.model import Check
from enclosure.choose.growth import Growth
from enclosure.money import money
from enclosure.workbench.reckon import First, Second

State = Literal["good", "bad", "watch", "wait", "none"]
SIGNS: dict[State, str] = {"good": "\u2713", "bad": "\u2717", "watch": "!", "wait": "\u2026", "none": "\u2013"}
QUESTIONS = {
    "fit": "Will it fit, until when?",
    "stand": "Will it stand?",
    "live": "Will it live?",
    "cost": "What does it cost?",
    "waste": "How much is waste?",
}
TIGHT = 0.9
"""From this utilisation on a passing row is called tight."""


@dataclass(frozen=True, slots=True)
class Verdict:
    """One verdict.

    Args:
        key: fit, stand, live, cost or waste.
        state: What the sign shows.
        word: The verdict in a word or two.
        lines: A line or two more.
    """

    key: str
    state: State
    word: str
    lines: tuple[str, ...] = ()

    @property
    def question(self) -> str:
        """The question that it answers."""
        return QUESTIONS[self.key]

    @property
    def sign(self) -> str:
        """A sign that needs no colour."""
        return SIGNS[self.state]


def waiting(key: str, words: str = "being reckoned") -> Verdict:
    """Return a verdict that is not there yet."""
    return Verdict(key, "wait", words)


def fit_verdict(first: First) -> Verdict:
    """Return until which winter the plant fits."""
    if first.growth is None or first.shelter is None:
        return Verdict("fit", "none", "not known", ("the shelter cannot be made as asked",))
    wanted = first.shelter.brief.winters
    likely = first.growth.first("likely")
    lines = [_range_words(first.growth)]
    if likely is None:
        return Verdict("fit", "good", f"{wanted} winters and more", ("it is not outgrown in 60 winters", *lines[1:]))
    when, axis = likely
    served = when - 1
    lines.insert(0, f"too small in {axis} in winter {when}")
    if served >= wanted:
        return Verdict("fit", "good", _winters(served), tuple(lines))
    return Verdict("fit", "bad", f"{_winters(served)} of {wanted}", tuple(lines))


def _winters(count: int) -> str:
    return f"{count} winter" if count == 1 else f"{count} winters"


def _range_words(growth: Growth) -> str:
    lush, poor = growth.first("high"), growth.first("low")
    early = "never" if lush is None else f"winter {lush[0]}"
    late = "never" if poor is None else f"winter {poor[0]}"
    return f"outgrown in {early} if it grows fast, {late} if it grows slowly"


def stand_verdict(second: Second | None) -> Verdict:
    """Return whether wind, snow and weight are borne."""
    if second is None:
        return waiting("stand")
    return _rows_verdict("stand", second, second.standing, "It stands", "It does not stand yet")


def live_verdict(second: Second | None) -> Verdict:
    """Return whether the plant lives through the design night and the season."""
    if second is None:
        return waiting("live")
    return _rows_verdict("live", second, second.living, "It lives", "It is in danger")


def _rows_verdict(key: str, second: Second, rows: tuple[Check, ...], yes: str, no: str) -> Verdict:
    if second.trouble is not None:
        return Verdict(key, "none", "not known", (second.trouble.words, second.trouble.hint))
    counted = [row for row in rows if not row.advice]
    over = [row for row in counted if not row.passes]
    if not counted:
        return Verdict(key, "none", "nothing to check")
    worst = max(counted, key=lambda row: (row.utilisation, row.key))
    if over:
        names = ", ".join(row.name for row in over[:2]) + (f" and {len(over) - 2} more" if len(over) > 2 else "")
        return Verdict(key, "bad", no, (f"{len(over)} of {len(counted)} over 1.00: {names}",))
    lines = (f"{len(counted)} checks pass", f"tightest: {worst.name}, {worst.utilisation:.2f} of 1.00")
    if worst.utilisation >= TIGHT:
        return Verdict(key, "watch", f"{yes}, just", lines)
    return Verdict(key, "good", yes, lines)


def priced(amount: float, currency: str) -> str:
    """Return an amount of money for people, as the papers say it."""
    return f"{money(100 * amount)} {currency}".strip()


def cost_verdict(first: First, cut: Mapping[str, Any] | None) -> Verdict:
    """Return the price: by area at once, by the cutting plans when they are there."""
    if first.shelter is None:
        return Verdict("cost", "none", "not known")
    stock = first.shelter.stock
    if cut is None:
        about = f"about {priced(first.price, stock.currency)}"
        return Verdict("cost", "wait", about, ("by area; whole sheets and sticks cost more", stock.prices_note))
    if "trouble" in cut:
        return Verdict("cost", "bad", "cannot be cut", (str(cut["trouble"]), str(cut.get("hint", ""))))
    proved = "no cheaper plan exists" if cut["proved"] else "not proved to be the cheapest plan"
    return Verdict("cost", "good", priced(cut["total"], cut["currency"]), (proved, str(cut["prices_note"])))


def waste_verdict(first: First, cut: Mapping[str, Any] | None) -> Verdict:
    """Return the share of bought sheets and sticks that becomes no part."""
    if first.shelter is None:
        return Verdict("waste", "none", "not known")
    if cut is None:
        return waiting("waste", "cutting plans are being made")
    if "trouble" in cut:
        return Verdict("waste", "none", "not known")
    rows = cut["yields"]
    lines = tuple(f"{row['name']}: {row['used']:.0%} used" for row in rows[:4])
    sheets, sticks = (_mean([row for row in rows if row["what"] == what]) for what in ("sheet", "stick"))
    words = [f"{1 - share:.0%} of the {name}" for share, name in ((sheets, "sheets"), (sticks, "sticks")) if share >= 0]
    return Verdict("waste", "good", ", ".join(words) or "none", lines)


def _mean(rows: list[Mapping[str, Any]]) -> float:
    bought = sum(row["bought"] for row in rows)
    return sum(row["used"] * row["bought"] for row in rows) / bought if bought else -1.0
