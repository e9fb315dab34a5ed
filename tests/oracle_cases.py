"""Random tiny cutting jobs for the brute-force tests: unequal parts, kerf, trim, prices, racks."""

from __future__ import annotations

from random import Random

from enclosure.nesting.model import PartKind, SheetJob, SheetKind, StickJob, StickKind, StickPart


def tiny_sheet_job(seed: int, *, stages: int | None = None, sloped: bool = False) -> SheetJob:
    """Return a random sheet job small enough to try everything."""
    draw = Random(f"sheet {seed} {stages} {sloped}")
    kinds = [
        PartKind(
            f"p{index}", draw.randint(1, 6), draw.randint(1, 7), draw.randint(1, 3), draw.random() < 0.35
        )
        for index in range(draw.randint(1, 4))
    ]
    if sloped:
        width, rise, short = draw.randint(2, 6), draw.randint(1, 4), draw.randint(0, 2)
        other = draw.randint(0, 2)
        kinds = [
            *kinds[:2],
            PartKind("s0", width, short + rise, draw.randint(1, 2), slope=(short, short + rise)),
            PartKind("s1", width, other + rise, draw.randint(1, 2), slope=(other, other + rise)),
        ]
    sheets = [SheetKind("a", draw.randint(7, 11), draw.randint(8, 12), draw.randint(3, 9))]
    sheets[0] = _with_trim(sheets[0], draw)
    if draw.random() < 0.6:
        other_sheet = SheetKind("b", draw.randint(5, 9), draw.randint(5, 9), draw.randint(1, 7))
        if draw.random() < 0.3:
            other_sheet = SheetKind("b", other_sheet.width, other_sheet.height, other_sheet.price, 2)
        sheets.append(other_sheet)
    if draw.random() < 0.6:
        price = draw.choice([0, 0, 1])
        sheets.append(
            SheetKind("rack", draw.randint(2, 7), draw.randint(2, 7), price, draw.randint(1, 2), owned=True)
        )
    kerf = draw.choice([0, 0, 1, 1, 2])
    return SheetJob(tuple(kinds), tuple(sheets), kerf, stages)


def tiny_drop_job(seed: int) -> SheetJob:
    """Return a random job with a part whose drops are large enough for other parts."""
    draw = Random(f"drop {seed}")
    kinds = [
        PartKind(f"p{index}", draw.randint(1, 3), draw.randint(1, 3), draw.randint(1, 3), draw.random() < 0.4)
        for index in range(draw.randint(1, 2))
    ]
    width, height = draw.randint(5, 9), draw.randint(6, 9)
    if draw.random() < 0.6:
        gable = draw.randint(0, height - 4), draw.randint(2, width - 2), draw.randint(0, height - 3)
        kinds.append(PartKind("g", width, height, draw.randint(1, 2), gable=gable))
    else:
        ends = draw.randint(0, height - 4), height
        slope = ends if draw.random() < 0.5 else ends[::-1]
        kinds.append(PartKind("s", width, height, draw.randint(1, 2), slope=slope))
    sheets = [SheetKind("a", width + draw.randint(0, 2), height + draw.randint(0, 3), draw.randint(3, 9))]
    if draw.random() < 0.5:
        size = draw.randint(3, 6), draw.randint(3, 6)
        sheets.append(SheetKind("b", *size, draw.randint(1, 4), draw.choice([None, 2])))
    return SheetJob(tuple(kinds), tuple(sheets), draw.choice([0, 0, 1]))


def _with_trim(sheet: SheetKind, draw: Random) -> SheetKind:
    trim = draw.choice([0, 0, 1])
    return SheetKind(sheet.key, sheet.width + 2 * trim, sheet.height + 2 * trim, sheet.price, None, trim)


def tiny_stick_job(seed: int) -> StickJob:
    """Return a random stick job small enough to try everything."""
    draw = Random(f"stick {seed}")
    lengths = draw.sample(range(2, 17), draw.randint(1, 5))
    parts = tuple(StickPart(f"p{index}", length, draw.randint(1, 4)) for index, length in enumerate(lengths))
    sticks = [StickKind("a", draw.randint(19, 30), draw.randint(4, 9), squaring=draw.choice([0, 0, 1, 2]))]
    if draw.random() < 0.6:
        copies = draw.choice([None, None, 2])
        sticks.append(StickKind("b", draw.randint(10, 20), draw.randint(2, 6), copies))
    if draw.random() < 0.6:
        sticks.append(
            StickKind("rack", draw.randint(3, 15), draw.choice([0, 0, 1]), draw.randint(1, 2), owned=True)
        )
    if draw.random() < 0.5:
        start, size = draw.randint(0, 18), draw.randint(1, 4)
        bad = [(start, start + size)]
        if draw.random() < 0.4:
            bad.append((start + size + draw.randint(2, 5), start + size + 7))
        sticks.append(
            StickKind(
                "knots", 25, draw.randint(1, 5), draw.choice([None, 1, 2]), draw.choice([0, 1]), tuple(bad)
            )
        )
    return StickJob(parts, tuple(sticks), draw.choice([0, 0, 1, 2]))
