"""Which other tracks, timbers and bays are worth trying for a brief?

What the brief does not set, and the timber and track that it names, may be
otherwise. They are tried on one shelter, at the least of the windows:

1. Track: for every skin, cheaper profiles whose slot takes it. One that is too
   shallow for the movement of the sheet cannot be built.
2. Section of walls and roof: every timber thick enough for a frame, cheapest
   metre first. A pair is left out when another one passes that is no dearer in
   the walls nor in the roof: so the least sections that pass are found.
3. Bays: one fewer and one more on each pair of walls and on the roof, where the
   brief leaves them free.

What comes out are changed briefs with words; their sizes are searched by
`fit_stock`. What fails is kept with its reason.

Units: mm; prices of a metre in the money of the stock list.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, field

from enclosure.brief.model import FACES, Brief
from enclosure.choose.area_price import price_m
from enclosure.choose.fit_grid import Builder, Verdict
from enclosure.choose.soundness import Failing
from enclosure.errors import DesignError
from enclosure.shape.context import tracks_for
from enclosure.shape.model import Design
from enclosure.stock.model import Stock, Timber, Track

LEAST_THICK_MM = 30.0
"""A frame of thinner timber does not take a bolt across it (common practice, no source)."""
GROUPS = (("front", "back"), ("left", "right"), ("roof",))


@dataclass(frozen=True, slots=True)
class Changed:
    """A brief with something chosen otherwise, and what that is in words."""

    brief: Brief
    words: tuple[str, ...] = ()

    @property
    def label(self) -> str:
        """What is special, empty for the brief as it stands."""
        return ", ".join(self.words)


@dataclass(frozen=True, slots=True)
class Refused:
    """Something that would be cheaper to buy but does not do.

    Args:
        words: What it is.
        row: Name of the check that fails, or why it cannot be built.
        utilisation: How far that row is over 1.00; 0 when it cannot be built.
    """

    words: str
    row: str
    utilisation: float


@dataclass
class Trials:
    """Tries changed briefs at one size.

    Args:
        stock: What can be bought.
        build: Builds a design from a brief, a side and a top clearance.
        judge: Tells what a design fails.
        side_mm: Side clearance of the trial.
        top_mm: Top clearance.
    """

    stock: Stock
    build: Builder
    judge: Verdict
    side_mm: float
    top_mm: float
    refused: list[Refused] = field(default_factory=list)
    built: int = 0

    def design(self, brief: Brief) -> Design | None:
        """Return the design of a brief at the trial's size; None when it cannot be made."""
        self.built += 1
        try:
            return self.build(brief, self.side_mm, self.top_mm)
        except DesignError:
            return None

    def trouble(self, brief: Brief) -> Failing | None:
        """Return the worst row that a brief fails, or why it cannot be built; None when it passes."""
        self.built += 1
        try:
            design = self.build(brief, self.side_mm, self.top_mm)
        except DesignError as error:
            return Failing("build", error.message, 0.0)
        rows = self.judge(design, brief)
        return rows[0] if rows else None

    def passes(self, brief: Brief, words: str) -> bool:
        """Return whether a brief passes; keep the reason when it does not."""
        row = self.trouble(brief)
        if row is not None:
            self.refused.append(Refused(words, row.name, row.utilisation))
        return row is None


def variants(brief: Brief, trials: Trials, *, frame: bool = True, bays: bool = True) -> list[Changed]:
    """Return the brief as it stands and what is worth trying beside it.

    Args:
        brief: What is asked.
        trials: Builds and checks at one size.
        frame: Try other tracks and sections.
        bays: Try one bay fewer and more.
    """
    found = [Changed(brief)]
    if frame:
        found += _tracks(brief, trials)
        found += [other for start in tuple(found) for other in _sections(start, trials)]
    if bays:
        found += [other for start in tuple(found) for other in _bays(start, trials)]
    return found


# --- track ---------------------------------------------------------------------------


def _tracks(brief: Brief, trials: Trials) -> list[Changed]:
    """Return the brief with every track replaced for which a cheaper one passes; nothing when none does."""
    design = trials.design(brief)
    if design is None:
        return []
    used = {p.material: trials.stock.tracks[p.material] for p in design.parts if p.kind == "track"}
    skins = {trials.stock.skins[getattr(brief.skin, face)] .key: None for face in FACES}
    named, words = list(brief.frame.track_names), []
    for now in used.values():
        fits = [s for key in skins for s in [trials.stock.skins[key]] if s.fixing == "track"]
        takers = [s for s in fits if now in tracks_for(trials.stock, s, now.kind)]
        for track in _cheaper(now, [tracks_for(trials.stock, s, now.kind) for s in takers]):
            wanted = [name for name in named if name != now.key] + [track.key]
            if trials.passes(_with_tracks(brief, wanted), f"{track.name} instead of {now.name}"):
                named = wanted
                words.append(f"{track.name} instead of {now.name}")
                break
    return [Changed(_with_tracks(brief, named), tuple(words))] if words else []


def _cheaper(now: Track, fits: list[list[Track]]) -> list[Track]:
    """Return the tracks that every skin in `now` fits too and whose metre is cheaper, cheapest first."""
    price = price_m(now.lengths)
    common = {t.key: t for row in fits for t in row if all(t in other for other in fits)}
    return sorted(
        (t for t in common.values() if price_m(t.lengths) < price - 1e-9), key=lambda t: (price_m(t.lengths), t.key)
    )


def _with_tracks(brief: Brief, names: list[str]) -> Brief:
    return brief.model_copy(update={"frame": brief.frame.model_copy(update={"tracks": ", ".join(names)})})


# --- section -------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Pair:
    """Timber of the walls, whether it stands on edge, timber of the roof."""

    wall: Timber
    on_edge: bool
    roof: Timber

    @property
    def prices(self) -> tuple[float, float]:
        return price_m(self.wall.lengths), price_m(self.roof.lengths)

    def spared_by(self, other: _Pair) -> bool:
        """Return whether `other` is no dearer in the walls nor in the roof."""
        mine, theirs = self.prices, other.prices
        return theirs[0] <= mine[0] and theirs[1] <= mine[1]

    def words(self) -> str:
        """Return the pair in words."""
        turned = "" if self.on_edge or self.wall.width_mm == self.wall.thickness_mm else ", flat"
        if self.wall == self.roof:
            return f"a frame of {self.wall.name}{turned}"
        return f"walls of {self.wall.name}{turned}, roof of {self.roof.name}"


def _sections(start: Changed, trials: Trials) -> list[Changed]:
    """Return the brief with the least sections that pass."""
    frame, timbers = start.brief.frame, trials.stock.timbers
    now = _Pair(timbers[frame.section], frame.on_edge, timbers[frame.roof_section or frame.section])
    thick = [t for t in timbers.values() if t.thickness_mm >= LEAST_THICK_MM or t in (now.wall, now.roof)]
    pairs = [
        _Pair(wall, edge, roof)
        for wall, roof in itertools.product(thick, thick)
        for edge in ((True,) if wall.width_mm == wall.thickness_mm else (True, False))
    ]
    pairs.sort(key=lambda p: (sum(p.prices), not p.on_edge, p.wall.key, p.roof.key))
    passing = [now] if trials.trouble(start.brief) is None else []
    found: list[Changed] = []
    for pair in pairs:
        if pair == now or any(pair.spared_by(other) for other in passing):
            continue
        brief = _with_pair(start.brief, pair)
        if trials.passes(brief, pair.words()):
            passing.append(pair)
            found.append(Changed(brief, (*start.words, pair.words())))
    return found


def _with_pair(brief: Brief, pair: _Pair) -> Brief:
    chosen = {"section": pair.wall.key, "on_edge": pair.on_edge, "roof_section": pair.roof.key}
    return brief.model_copy(update={"frame": brief.frame.model_copy(update=chosen)})


# --- bays ----------------------------------------------------------------------------


def _bays(start: Changed, trials: Trials) -> Iterator[Changed]:
    """Yield the brief with one bay fewer or more, on every choice of the walls and the roof that are free."""
    design = trials.design(start.brief)
    if design is None:
        return
    counts: dict[str, int] = {}
    for drawn in design.frames:
        face = "roof" if drawn.face.startswith("ROOF") else drawn.face.lower()
        counts[face] = max(counts.get(face, 0), len(drawn.bay_lines_mm) + 1)
    free = [g for g in GROUPS if not any(face in start.brief.frame.bays for face in g)]
    for steps in itertools.product((0, -1, 1), repeat=len(free)):
        moved = [(g, step) for g, step in zip(free, steps, strict=True) if step]
        if not moved or any(counts[face] + step < 1 for g, step in moved for face in g):
            continue
        bays = {face: counts[face] + step for g, step in moved for face in g}
        frame = start.brief.frame.model_copy(update={"bays": dict(start.brief.frame.bays) | bays})
        words = tuple(f"{' and '.join(g)} in {_bays_words([bays[face] for face in g])}" for g, _ in moved)
        yield Changed(start.brief.model_copy(update={"frame": frame}), (*start.words, *words))


def _bays_words(counts: list[int]) -> str:
    if len(set(counts)) > 1:
        return " and ".join(str(n) for n in counts) + " bays"
    return f"{counts[0]} bay" if counts[0] == 1 else f"{counts[0]} bays"
