"""How do the patterns chosen become sticks, with every part at its place?

Takes the solution of the integer problem back to the job: drops parts cut too
often, puts the stretches of a stick together, deals out the keys of parts and
sticks that were treated as one, and measures every part's start in units.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

from enclosure.nesting.model import StickJob, StickPattern, StickPiece
from enclosure.nesting.sticks_problem import Problem, Version

Counts = tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Run:
    """`copies` sticks of one version of a bin; one vector of counts for each stretch."""

    bin: int
    version: int
    fills: tuple[Counts, ...]
    copies: int


def drop_surplus(problem: Problem, runs: list[Run]) -> list[Run]:
    """Drop parts cut more often than wanted, and sticks that are then empty."""
    total = [0] * len(problem.sizes)
    for run in runs:
        for fill in run.fills:
            for kind, count in enumerate(fill):
                total[kind] += count * run.copies
    surplus = [have - want for have, want in zip(total, problem.wanted, strict=True)]
    result: list[Run] = []
    # Sparse and dear sticks first: dropping from them may save a whole stick.
    order = sorted(runs, key=lambda run: (sum(map(sum, run.fills)), -problem.bins[run.bin].price))
    for run in order:
        copies = run.copies
        while copies and any(surplus[kind] > 0 for fill in run.fills for kind, n in enumerate(fill) if n):
            fills, times = _lighter(run, surplus, copies)
            result.append(Run(run.bin, run.version, fills, times))
            copies -= times
        if copies:
            result.append(Run(run.bin, run.version, run.fills, copies))
    return [run for run in result if any(map(any, run.fills))]


def _lighter(run: Run, surplus: list[int], copies: int) -> tuple[tuple[Counts, ...], int]:
    """Return the fills without what is surplus, and for how many sticks that can be done alike."""
    held: Counter[int] = Counter()
    for fill in run.fills:
        for kind, count in enumerate(fill):
            held[kind] += count
    times = copies
    dropped = {}
    for kind, count in held.items():
        if count and surplus[kind] > 0:
            dropped[kind] = min(count, surplus[kind])
            times = min(times, surplus[kind] // dropped[kind])
    fills = []
    left = dict(dropped)
    for fill in run.fills:
        lighter = list(fill)
        for kind in left:
            take = min(left[kind], lighter[kind])
            lighter[kind] -= take
            left[kind] -= take
        fills.append(tuple(lighter))
    for kind, count in dropped.items():
        surplus[kind] -= count * times
    return tuple(fills), times


def build(job: StickJob, problem: Problem, runs: list[Run]) -> tuple[StickPattern, ...]:
    """Return the patterns of the plan, sticks and parts by their keys, cheapest rack first."""
    sticks = [list(item.keys) for item in problem.bins]
    parts = [[[key, quantity] for key, quantity in members] for members in problem.members]
    lengths = {part.key: part.length for part in job.parts}
    patterns: Counter[tuple[str, tuple[StickPiece, ...]]] = Counter()
    for run in runs:
        copies = run.copies
        version = problem.bins[run.bin].versions[run.version]
        while copies:
            stick, most = _next_stick(sticks[run.bin])
            dealt, alike = _deal(run, parts, min(copies, most))
            pieces = _places(job.kerf, version, dealt, lengths)
            patterns[(stick, pieces)] += alike
            copies -= alike
            _use_stick(sticks[run.bin], alike)
    order = {stick.key: index for index, stick in enumerate(job.sticks)}
    rows = [StickPattern(stick, copies, pieces) for (stick, pieces), copies in patterns.items()]
    return tuple(
        sorted(
            rows,
            key=lambda row: (
                order[row.stick],
                -row.copies,
                [-lengths[piece.key] for piece in row.pieces],
                [piece.key for piece in row.pieces],
            ),
        )
    )


def _next_stick(keys: list[tuple[str, int | None]]) -> tuple[str, int]:
    key, copies = keys[0]
    return key, 1 << 60 if copies is None else copies


def _use_stick(keys: list[tuple[str, int | None]], used: int) -> None:
    key, copies = keys[0]
    if copies is None:
        return
    if copies == used:
        keys.pop(0)
    else:
        keys[0] = (key, copies - used)


def _deal(run: Run, parts: list[list[list[object]]], most: int) -> tuple[list[list[str]], int]:
    """Give keys to the parts of a stick; return them by stretch, and for how many sticks they last."""
    need: Counter[int] = Counter()
    for fill in run.fills:
        for kind, count in enumerate(fill):
            need[kind] += count
    alike = most
    for kind, count in need.items():
        if count:
            left = parts[kind][0][1]
            assert isinstance(left, int)
            alike = min(alike, left // count) if left >= count else 1
    keys: dict[int, list[str]] = {}
    for kind, count in need.items():
        keys[kind] = _take(parts[kind], count, alike)
    dealt = []
    for fill in run.fills:
        stretch: list[str] = []
        for kind, count in enumerate(fill):
            stretch += [keys[kind].pop(0) for _ in range(count)]
        dealt.append(stretch)
    return dealt, alike


def _take(members: list[list[object]], count: int, times: int) -> list[str]:
    """Take `count` parts for each of `times` sticks, all of one key when times > 1."""
    taken: list[str] = []
    while len(taken) < count:
        key, left = members[0]
        assert isinstance(key, str)
        assert isinstance(left, int)
        now = min(count - len(taken), left // times)
        taken += [key] * now
        members[0][1] = left - now * times
        if members[0][1] == 0:
            members.pop(0)
    return taken


def _places(kerf: int, version: Version, dealt: list[list[str]], lengths: dict[str, int]) -> tuple[StickPiece, ...]:
    pieces = []
    for stretch, keys in zip(version, dealt, strict=True):
        start = stretch.start
        for key in keys:
            pieces.append(StickPiece(key, start))
            start += lengths[key] + kerf
    return tuple(pieces)
