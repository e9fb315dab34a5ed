"""Is a finished cutting plan really one that the saw can follow, and is its price what it says?

Written from the data contract alone (`model`), sharing no code with any engine:
the tree of cuts is replayed piece by piece in exact integers. A fault raises
`VerifyError`, which names the sheet or stick, the part and the numbers.

Checked for sheets: every cut goes through the piece it divides; a kerf between
neighbours; every part its exact size, turned only when it may be, exactly as
often as wanted; the trimmed sheet and the finite copies respected; sloped cuts
a kerf wide measured square to the cut; parts in a drop a kerf clear of the sloped
cut, every cut there meeting the drop; cutting stages when the job limits them;
price, bound and status. For sticks: squaring, kerf, defects, length, copies,
price, bound and status.

Left out: whether the bound is true (only the engine's proof and the brute-force
tests can say that); here it may merely not contradict the price.

Units: 1/10 000 mm (see `model.UNITS_PER_MM`); messages carry mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable
from decimal import Decimal
from math import isqrt

from enclosure.errors import VerifyError
from enclosure.nesting.model import (
    HOLE_TO_END,
    UNITS_PER_MM,
    Cut,
    Filled,
    Node,
    Pair,
    Part,
    PartKind,
    Pattern,
    Rest,
    SheetJob,
    SheetKind,
    SheetPlan,
    StickJob,
    StickKind,
    StickPart,
    StickPattern,
    StickPlan,
)


def verify_sheets(job: SheetJob, plan: SheetPlan) -> None:
    """Raise VerifyError unless `plan` is a complete, cuttable, truly priced plan for `job`.

    A stage is a run of cuts in one direction on the way from the sheet to a
    part; a sloped cut is not counted as a stage.
    """
    kinds = {kind.key: kind for kind in job.kinds}
    sheets = {sheet.key: sheet for sheet in job.sheets}
    _no_twins("part", (kind.key for kind in job.kinds))
    _no_twins("sheet", (sheet.key for sheet in job.sheets))
    made: Counter[str] = Counter()
    used: Counter[str] = Counter()
    for number, pattern in enumerate(plan.patterns, start=1):
        where = f"pattern {number} on sheet {pattern.sheet}"
        sheet = sheets.get(pattern.sheet)
        if sheet is None:
            raise VerifyError(f"{where}: no such sheet in the job")
        _whole(where, "copies", pattern.copies, least=1)
        used[pattern.sheet] += pattern.copies
        for key, count in _replay(job, kinds, sheet, pattern, where).items():
            made[key] += count * pattern.copies
    _demand({kind.key: kind.quantity for kind in job.kinds}, made)
    _copies("sheet", {sheet.key: sheet.copies for sheet in job.sheets}, used)
    _price({sheet.key: sheet.price for sheet in job.sheets}, used, plan)


def verify_sticks(job: StickJob, plan: StickPlan) -> None:
    """Raise VerifyError unless `plan` is a complete, cuttable, truly priced plan for `job`."""
    parts = {part.key: part for part in job.parts}
    sticks = {stick.key: stick for stick in job.sticks}
    _no_twins("part", (part.key for part in job.parts))
    _no_twins("stick", (stick.key for stick in job.sticks))
    made: Counter[str] = Counter()
    used: Counter[str] = Counter()
    for number, pattern in enumerate(plan.patterns, start=1):
        where = f"pattern {number} on stick {pattern.stick}"
        stick = sticks.get(pattern.stick)
        if stick is None:
            raise VerifyError(f"{where}: no such stick in the job")
        _whole(where, "copies", pattern.copies, least=1)
        used[pattern.stick] += pattern.copies
        _walk_stick(job.kerf, parts, stick, pattern, where)
        for piece in pattern.pieces:
            made[piece.key] += pattern.copies
    _demand({part.key: part.quantity for part in job.parts}, made)
    _copies("stick", {stick.key: stick.copies for stick in job.sticks}, used)
    _price({stick.key: stick.price for stick in job.sticks}, used, plan)


# --- sheets -----------------------------------------------------------------------


def _replay(
    job: SheetJob, kinds: dict[str, PartKind], sheet: SheetKind, pattern: Pattern, where: str
) -> Counter[str]:
    """Return how often each part falls from one sheet cut after `pattern`."""
    made: Counter[str] = Counter()
    start = (pattern.root, sheet.width - 2 * sheet.trim, sheet.height - 2 * sheet.trim, 0, "")
    pieces: list[tuple[Node, int, int, int, str]] = [start]
    while pieces:
        node, width, height, stages, axis = pieces.pop()
        if width <= 0 or height <= 0:
            raise VerifyError(f"{where}: a piece of {_size(width, height)} cannot exist")
        match node:
            case Cut():
                if node.axis not in ("x", "y"):
                    raise VerifyError(f"{where}: a cut along '{node.axis}'; only x and y are cuts")
                stages += node.axis != axis
                if job.stages is not None and stages > job.stages:
                    raise VerifyError(
                        f"{where}: a piece of {_size(width, height)} needs cutting stage {stages}; "
                        f"the job allows {job.stages}"
                    )
                along = width if node.axis == "x" else height
                for side, extent in _divide(job.kerf, node, along, where):
                    size = (extent, height) if node.axis == "x" else (width, extent)
                    pieces.append((side, *size, stages, node.axis))
            case Part():
                _check_part(kinds, node, width, height, where)
                made[node.key] += 1
            case Pair():
                _check_pair(job.kerf, kinds, node, width, height, where)
                made[node.low] += 1
                made[node.high] += 1
            case Filled():
                _check_part(kinds, Part(node.key), width, height, where)
                if job.stages is not None:
                    raise VerifyError(f"{where}: parts from the drops of {node.key}, but the job limits the stages")
                made[node.key] += 1
                made.update(_replay_drops(job.kerf, kinds, node, where))
            case Rest():
                pass
            case _:
                raise VerifyError(f"{where}: a {type(node).__name__} is not a node of a cutting plan")
    if not made:
        raise VerifyError(f"{where}: no part is cut from it")
    return made


def _divide(kerf: int, cut: Cut, along: int, where: str) -> list[tuple[Node, int]]:
    """Return the pieces a cut leaves with their extent across it [units]."""
    _whole(where, f"cut position along {cut.axis}", cut.at, least=1)
    what = f"{where}: cut {cut.axis} at {_mm(cut.at)} in a piece of {_mm(along)}"
    if cut.at >= along:
        raise VerifyError(f"{what} does not divide it")
    beyond = along - cut.at - kerf
    if cut.far is None:
        if beyond > 0:
            raise VerifyError(f"{what} leaves {_mm(beyond)} of which the plan says nothing")
        return [(cut.near, cut.at)]
    if beyond <= 0:
        raise VerifyError(f"{what} with a kerf of {_mm(kerf)} leaves nothing beyond, but the plan uses it")
    return [(cut.near, cut.at), (cut.far, beyond)]


def _replay_drops(kerf: int, kinds: dict[str, PartKind], filled: Filled, where: str) -> Counter[str]:
    """Return how often each part falls from the drops of a filled piece."""
    kind = kinds[filled.key]
    if kind.gable is not None:
        left, peak, right = kind.gable
        sizes = (peak, kind.height - left), (kind.width - peak, kind.height - right)
    elif kind.slope is not None:
        fall = kind.slope[1] - kind.slope[0]
        sizes = (kind.width * (fall > 0), max(fall, 0)), (kind.width * (fall < 0), max(-fall, 0))
    else:
        raise VerifyError(f"{where}: part {filled.key} is a rectangle and has no drop")
    made: Counter[str] = Counter()
    if filled.left is None and filled.right is None:
        raise VerifyError(f"{where}: nothing is cut from the drops of part {filled.key}")
    for side, (across, down), tree in zip(("left", "right"), sizes, (filled.left, filled.right), strict=True):
        if tree is None:
            continue
        if across <= 0 or down <= 0:
            raise VerifyError(f"{where}: part {filled.key} has no drop at its {side}")
        made.update(_replay_drop(kerf, kinds, tree, (across, down), f"{where}, {side} drop of {filled.key}"))
    return made


def _replay_drop(
    kerf: int, kinds: dict[str, PartKind], tree: Node, drop: tuple[int, int], where: str
) -> Counter[str]:
    """Return how often each part falls from one drop, x and y being measured from its square corner.

    With the legs w and h of the triangle, the distance of a point from the slope of the part
    is (w h - x h - y w) / sqrt(w^2 + h^2), compared with the kerf as squares.
    """

    def clear(x: int, y: int) -> bool:
        inward = drop[0] * drop[1] - x * drop[1] - y * drop[0]
        return inward >= 0 and inward**2 >= kerf**2 * (drop[0] ** 2 + drop[1] ** 2)

    made: Counter[str] = Counter()
    pieces: list[tuple[Node, int, int, int, int]] = [(tree, 0, 0, *drop)]
    while pieces:
        node, x, y, width, height = pieces.pop()
        if width <= 0 or height <= 0:
            raise VerifyError(f"{where}: a piece of {_size(width, height)} cannot exist")
        match node:
            case Cut(axis="x"):
                if not clear(x + node.at, y):
                    raise VerifyError(f"{where}: cut x at {_mm(node.at)} does not meet the drop")
                for place, (side, extent) in enumerate(_divide(kerf, node, width, where)):
                    pieces.append((side, x + place * (node.at + kerf), y, extent, height))
            case Cut(axis="y"):
                if not clear(x, y + node.at):
                    raise VerifyError(f"{where}: cut y at {_mm(node.at)} does not meet the drop")
                for place, (side, extent) in enumerate(_divide(kerf, node, height, where)):
                    pieces.append((side, x, y + place * (node.at + kerf), width, extent))
            case Part():
                _check_part(kinds, node, width, height, where)
                if not clear(x + width, y + height):
                    raise VerifyError(
                        f"{where}: part {node.key}, {_mm(x)} from the side and {_mm(y)} from the top, "
                        f"reaches over the sloped cut and its kerf of {_mm(kerf)}"
                    )
                made[node.key] += 1
            case Rest(keep=False):
                pass
            case _:
                raise VerifyError(f"{where}: a {type(node).__name__} cannot be cut from a drop")
    if not made:
        raise VerifyError(f"{where}: no part is cut from it")
    return made


def _check_part(kinds: dict[str, PartKind], part: Part, width: int, height: int, where: str) -> None:
    kind = kinds.get(part.key)
    if kind is None:
        raise VerifyError(f"{where}: part {part.key} is not in the job")
    if part.turned and not kind.turnable:
        raise VerifyError(f"{where}: part {part.key} is turned, but its direction is fixed")
    want = (kind.height, kind.width) if part.turned else (kind.width, kind.height)
    if (width, height) != want:
        turned = " turned" if part.turned else ""
        raise VerifyError(
            f"{where}: part {part.key}{turned} should be {_size(*want)}, its piece is {_size(width, height)}"
        )


def _check_pair(
    kerf: int, kinds: dict[str, PartKind], pair: Pair, width: int, height: int, where: str
) -> None:
    """Check that one sloped cut makes both parts out of a piece of width x height.

    The top of `low` runs from its height at x = 0 to its height at x = width.
    `high`, turned by 180 degrees, hangs from the top edge, so its lower edge
    runs parallel exactly when both rise by the same amount. The clear distance
    square to the cut is gap * width / sqrt(width^2 + rise^2), compared as
    squares so that no root is rounded.
    """
    ends: list[tuple[int, int]] = []
    for key in (pair.low, pair.high):
        kind = kinds.get(key)
        if kind is None:
            raise VerifyError(f"{where}: part {key} is not in the job")
        if kind.slope is None:
            raise VerifyError(f"{where}: part {key} has no sloped end and cannot be one of a pair")
        if kind.width != width:
            raise VerifyError(
                f"{where}: part {key} should be {_mm(kind.width)} wide, its piece is {_mm(width)}"
            )
        if min(kind.slope) < 0 or max(kind.slope) != kind.height:
            raise VerifyError(
                f"{where}: part {key} is {_mm(kind.height)} high, but its ends are "
                f"{_mm(kind.slope[0])} and {_mm(kind.slope[1])}"
            )
        ends.append(kind.slope)
    (low_left, low_right), (high_left, high_right) = ends
    rise = low_right - low_left
    names = f"{where}: parts {pair.low} and {pair.high}"
    if rise != high_right - high_left:
        raise VerifyError(
            f"{names} rise by {_mm(rise)} and {_mm(high_right - high_left)}; one cut cannot make both"
        )
    gap = height - low_left - high_right
    if gap < 0 or gap * gap * width * width < kerf * kerf * (width * width + rise * rise):
        raise VerifyError(
            f"{names} are {_mm(gap)} apart, measured along y, in a piece of {_size(width, height)}; "
            f"a kerf of {_mm(kerf)} square to the sloped cut needs more"
        )
    # One unit is granted for rounding up; more would need a second sloped cut.
    widest = isqrt(kerf * kerf * (width * width + rise * rise) // (width * width)) + 2
    if gap > widest:
        raise VerifyError(
            f"{names} are {_mm(gap)} apart, measured along y, in a piece of {_size(width, height)}; "
            f"one sloped cut with a kerf of {_mm(kerf)} leaves one of them too large"
        )


# --- sticks -----------------------------------------------------------------------


def _walk_stick(
    kerf: int, parts: dict[str, StickPart], stick: StickKind, pattern: StickPattern, where: str
) -> None:
    if not pattern.pieces:
        raise VerifyError(f"{where}: no part is cut from it")
    free_from = stick.squaring
    before = "the squaring cut" if stick.squaring else "the end"
    for piece in pattern.pieces:
        part = parts.get(piece.key)
        if part is None:
            raise VerifyError(f"{where}: part {piece.key} is not in the job")
        _whole(where, f"start of part {piece.key}", piece.start, least=0)
        end = piece.start + part.length
        if piece.start < free_from:
            raise VerifyError(
                f"{where}: part {piece.key} starts at {_mm(piece.start)}, but {before} takes "
                f"the stick up to {_mm(free_from)}"
            )
        if end > stick.length:
            raise VerifyError(
                f"{where}: part {piece.key} ends at {_mm(end)}; the stick is {_mm(stick.length)} long"
            )
        for bad_from, bad_to in stick.defects:
            if piece.start < bad_to and bad_from < end:
                raise VerifyError(
                    f"{where}: part {piece.key} from {_mm(piece.start)} to {_mm(end)} touches the bad "
                    f"stretch from {_mm(bad_from)} to {_mm(bad_to)}"
                )
        for at in (piece.start, end):
            near = [hole for hole in stick.holes if abs(at - hole) < HOLE_TO_END]
            if near and at not in (0, stick.length):
                raise VerifyError(
                    f"{where}: part {piece.key} ends at {_mm(at)}, near the old screw hole at {_mm(near[0])}"
                )
        free_from = end + kerf
        before = f"part {piece.key} and the kerf"


# --- both -------------------------------------------------------------------------


def _no_twins(what: str, keys: Iterable[str]) -> None:
    for key, count in Counter(keys).items():
        if count > 1:
            raise VerifyError(f"{what} {key} stands {count} times in the job; names must differ")


def _whole(where: str, what: str, value: object, *, least: int) -> None:
    if type(value) is not int or value < least:
        raise VerifyError(f"{where}: {what} is {value!r}; it must be a whole number of at least {least}")


def _demand(wanted: dict[str, int], made: Counter[str]) -> None:
    for key, quantity in wanted.items():
        if made[key] != quantity:
            raise VerifyError(f"part {key} is cut {made[key]} times; the job wants {quantity}")


def _copies(what: str, copies: dict[str, int | None], used: Counter[str]) -> None:
    for key, count in used.items():
        limit = copies[key]
        if limit is not None and count > limit:
            raise VerifyError(f"{what} {key} is used {count} times; there are only {limit}")


def _price(prices: dict[str, int], used: Counter[str], plan: SheetPlan | StickPlan) -> None:
    total = sum(prices[key] * count for key, count in used.items())
    _whole("plan", "price", plan.price, least=0)
    if total != plan.price:
        raise VerifyError(f"the plan says a price of {plan.price}; its stock costs {total}")
    if type(plan.bound) is not int:
        raise VerifyError(f"the bound is {plan.bound!r}; it must be a whole number")
    if plan.bound > plan.price:
        raise VerifyError(f"the bound of {plan.bound} is above the price of {plan.price}")
    if plan.status not in ("proved", "gap"):
        raise VerifyError(f"the status is '{plan.status}'; it must be 'proved' or 'gap'")
    if (plan.status == "proved") != (plan.bound == plan.price):
        raise VerifyError(
            f"the status is '{plan.status}' with a price of {plan.price} and a bound of {plan.bound}"
        )


def _mm(units: int) -> str:
    """Return a length as text in mm, exact to the last unit."""
    return f"{Decimal(units) / UNITS_PER_MM:f} mm"


def _size(width: int, height: int) -> str:
    return f"{_mm(width)} x {_mm(height)}"
