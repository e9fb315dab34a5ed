"""What is a cutting job, and what is a cutting plan?

Plain frozen data shared by the engines, the verifier, the papers and the
benchmark command. Everything is an exact integer: lengths in *units* of
1/10 000 mm (so that 1/16 in = 15 875 units), prices in whole minor units of
money times whatever the caller chose. x runs across a stock sheet (its width),
y along it (its height, the direction of the flutes). A plan never turns a
sheet over.

Kerf: two neighbouring parts are at least a kerf apart. A part may lie flush on
the (trimmed) edge of its sheet; a sliver thinner than the kerf at an edge is
sawn away. Trim is taken off all four edges of a sheet.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

UNITS_PER_MM = 10_000
HOLE_TO_END = 10 * UNITS_PER_MM
"""Least distance of a sawn end of a stick from the middle of an old screw hole; common practice, no source."""

Axis = Literal["x", "y"]
Status = Literal["proved", "gap"]


@dataclass(frozen=True, slots=True)
class PartKind:
    """A rectangle wanted `quantity` times.

    Args:
        key: Name of the kind, unique in the job.
        width: Size along x [units], > 0.
        height: Size along y, along the flutes [units], > 0.
        quantity: Copies wanted, >= 1.
        turnable: True when the part may lie turned by 90 degrees.
        group: Wall or frame to which the part belongs, for keeping parts together.
        slope: For a part with one sloped end (a right trapezoid or triangle):
            (height at x=0, height at x=width) [units]; the larger of the two
            equals `height`. None for a rectangle. Two such parts may share a
            rectangle with one sloped cut (see `Pair`).
        gable: For a part that rises from both sides to one peak (a pentagon):
            (height at x=0, distance of the peak from x=0, height at x=width) [units];
            the peak is `height` high. None for other shapes.

    What is missing from the rectangle at an upper corner is a *drop*: a triangle with a
    square corner there, from which whole rectangles may be cut (see `Filled`).
    """

    key: str
    width: int
    height: int
    quantity: int = 1
    turnable: bool = False
    group: str = ""
    slope: tuple[int, int] | None = None
    gable: tuple[int, int, int] | None = None

    def drops(self) -> tuple[tuple[int, int] | None, tuple[int, int] | None]:
        """Return how far the drops at the upper left and right corner reach: along x and down [units]."""
        if self.gable is not None:
            left, peak, right = self.gable
            return (peak, self.height - left), (self.width - peak, self.height - right)
        if self.slope is None or self.slope[0] == self.slope[1]:
            return None, None
        drop = self.width, abs(self.slope[1] - self.slope[0])
        return (drop, None) if self.slope[0] < self.slope[1] else (None, drop)


@dataclass(frozen=True, slots=True)
class SheetKind:
    """A stock sheet that can be bought, or an offcut or old panel on the rack.

    Args:
        key: Name of the kind, unique in the job.
        width: Size along x [units].
        height: Size along y [units].
        price: Price of one [whole money units of the job], >= 0.
        copies: How many exist; None when as many as wanted can be bought.
        trim: Taken off each of the four edges before any part [units].
        owned: True for rack pieces.
    """

    key: str
    width: int
    height: int
    price: int
    copies: int | None = None
    trim: int = 0
    owned: bool = False


@dataclass(frozen=True, slots=True)
class SheetJob:
    """Parts wanted, sheets to be had, saw kerf [units] and cut stages.

    `stages` is 2, 3 or None (unlimited). A stage is one change of cutting
    direction; the final trim of a piece to its size does count as a stage.
    """

    kinds: tuple[PartKind, ...]
    sheets: tuple[SheetKind, ...]
    kerf: int = 0
    stages: int | None = None


# --- a cutting plan is a tree of guillotine cuts ---------------------------------


@dataclass(frozen=True, slots=True)
class Part:
    """A leaf: the piece is exactly one part (turned when `turned`)."""

    key: str
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Pair:
    """A leaf that one sloped cut divides into two parts with sloped ends.

    The rectangle is `low` as it stands plus `high` turned by 180 degrees, both
    of the same width, their slopes parallel and a kerf (measured square to the
    cut) apart. A multiwall part turned by 180 degrees keeps its flute
    direction and its weather face.
    """

    low: str
    high: str


@dataclass(frozen=True, slots=True)
class Filled:
    """A leaf that sloped cuts divide into one part and its drops, from which other parts are cut.

    `left` and `right` are trees over the rectangle around the drop at that upper corner,
    laid from the corner: x away from the side, y down from the top, `near` next to the
    corner. What of that rectangle lies beyond the sloped cut is not there: every part
    must lie whole within the drop, and every cut must meet it. None for a drop that is
    waste, or that does not exist.
    """

    key: str
    left: Node | None = None
    right: Node | None = None


@dataclass(frozen=True, slots=True)
class Rest:
    """A leaf that no part uses: an offcut when `keep`, else waste."""

    keep: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut from edge to edge of the piece.

    `axis` "x" cuts at a fixed x (a rip, along the flutes): `near` is the piece
    from 0 to `at` and `far` the piece from `at + kerf` to the end. "y" cuts at
    a fixed y (a crosscut). `far` is None when nothing wider than the kerf is
    left beyond the cut (the sliver is sawn away).
    """

    axis: Axis
    at: int
    near: Node
    far: Node | None


Node = Part | Pair | Filled | Rest | Cut


@dataclass(frozen=True, slots=True)
class Pattern:
    """`copies` sheets of kind `sheet`, all cut alike.

    `root` is the sheet after its trim cuts: a piece of width - 2 trim by
    height - 2 trim.
    """

    sheet: str
    copies: int
    root: Node


@dataclass(frozen=True, slots=True)
class SheetPlan:
    """A complete plan.

    Args:
        patterns: What to cut from which sheets.
        price: Sum of price over all sheets used.
        bound: A valid lower bound on the price of any guillotine plan.
        status: "proved" when bound == price, else "gap".
        work: Work units spent (deterministic), for repeatable limits.
    """

    patterns: tuple[Pattern, ...]
    price: int
    bound: int
    status: Status
    work: int = 0


# --- sticks -----------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class StickPart:
    """A length wanted `quantity` times [units]."""

    key: str
    length: int
    quantity: int = 1
    group: str = ""


@dataclass(frozen=True, slots=True)
class StickKind:
    """A stock length, or a stick on the rack.

    Args:
        key: Name of the kind, unique in the job.
        length: [units]
        price: Price of one [whole money units of the job].
        copies: How many exist; None for unlimited.
        squaring: Sawn off the first end before any part [units] (kerf included).
        defects: Bad stretches (from, to) in the stick, measured from the first end,
            that no part may touch [units].
        owned: True for rack sticks.
        holes: Old screw holes, measured like `defects`: a part may hold one, but no new end comes
            within `HOLE_TO_END` of one [units].
    """

    key: str
    length: int
    price: int
    copies: int | None = None
    squaring: int = 0
    defects: tuple[tuple[int, int], ...] = ()
    owned: bool = False
    holes: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class StickJob:
    """Lengths wanted, sticks to be had, saw kerf [units]."""

    parts: tuple[StickPart, ...]
    sticks: tuple[StickKind, ...]
    kerf: int = 0


@dataclass(frozen=True, slots=True)
class StickPiece:
    """One part on a stick: `key` lies from `start` to `start + length` [units]."""

    key: str
    start: int


@dataclass(frozen=True, slots=True)
class StickPattern:
    """`copies` sticks of kind `stick`, all cut alike, pieces in cutting order."""

    stick: str
    copies: int
    pieces: tuple[StickPiece, ...] = field(default_factory=tuple)


@dataclass(frozen=True, slots=True)
class StickPlan:
    """A complete plan for sticks; fields as in `SheetPlan`."""

    patterns: tuple[StickPattern, ...]
    price: int
    bound: int
    status: Status
    work: int = 0
