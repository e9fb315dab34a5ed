"""The plant no longer fits: a tier, a wider body, or all new?

Three ways are built and priced alike, the old shelter always serving as finite
stock (`reused`):

    tier   a tier of its own height is put under the old body (or on top of it
           where the roof is flat), so that nearly every old part stays as it is
    body   width, depth and height each stay where the old ones still do, and
           grow where they must: old parts keep their places as far as they fit
    new    the smallest shelter that serves, every old part on the rack

Beside them stands what buying everything would cost. Kept parts keep their
marks; the labels say what became of the rest.

Units: mm, whole cents.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from enclosure.brief.model import Brief
from enclosure.choose.fates import Fate
from enclosure.choose.growth import growth
from enclosure.choose.price import Pricer
from enclosure.choose.reused import Reused, gap_of, reuse
from enclosure.errors import DesignError
from enclosure.language import tr
from enclosure.money import money
from enclosure.nesting.plans import OldStock, Plans
from enclosure.reuse.as_built import AsBuilt, differences, post_words, ring_words
from enclosure.reuse.carry import carried, renamed
from enclosure.reuse.match import OldPiece, match, old_pieces, same_place
from enclosure.shape.base import ring_height
from enclosure.shape.build import build
from enclosure.shape.clear_box import ClearBox, clear_box
from enclosure.shape.fit import ceil_to, step_for
from enclosure.shape.grid import LEAST_TIER_MM
from enclosure.shape.limits import SpanLimits
from enclosure.shape.marks import sort_key
from enclosure.shape.model import WALLS, Design, Part, Plant
from enclosure.shape.names import all_of
from enclosure.site.model import Site
from enclosure.stock.model import Stock
from enclosure.units import UnitSystem, format_length

"""A lower tier than this is more joint than wall; common practice, no source."""
MINUTES_A_CUT, MINUTES_A_NEW_PART, MINUTES_A_MOVE = 3, 6, 4
"""To saw, to drill and fix a new part, to move a kept one to another place; common practice, no source."""
Progress = Callable[[str, float], None]
Key = str


@dataclass(frozen=True, slots=True)
class Way:
    """One way out, made and priced.

    Args:
        key: "tier", "body" or "new".
        title: A few words.
        possible: Whether it can be made; all that follows is empty when it cannot.
        reason: Why not, or what to know.
        design: The new shelter, kept parts under their old marks.
        plans: What is cut and what is bought, in the new marks.
        price_cents: What must be bought.
        bound_cents: No plan of this way costs less.
        fates: What becomes of every old part, in the new marks.
        kept: Old parts that stay as they are.
        recut: Old parts that are cut again.
        spare: Old parts left over.
        cuts: Saw cuts.
        minutes: About how long the sawing and fixing takes.
        yield_share: Area of sheet parts over the area they were cut from.
        outgrown: First winter, from the new brief's present, in which it no longer serves; None beyond sight.
        labels: For each new part in natural order: (mark, words).
        notes: What else to know: the ring, the posts, the same tier the other way round.
        unused: Sound pieces of old parts that nothing is cut from.
    """

    key: Key
    title: str
    possible: bool
    reason: str = ""
    design: Design | None = None
    plans: Plans | None = None
    price_cents: int = 0
    bound_cents: int = 0
    fates: tuple[Fate, ...] = ()
    kept: int = 0
    recut: int = 0
    spare: int = 0
    cuts: int = 0
    minutes: int = 0
    yield_share: float = 0.0
    outgrown: int | None = None
    labels: tuple[tuple[str, str], ...] = ()
    notes: tuple[str, ...] = ()
    unused: tuple[OldPiece, ...] = ()

    @property
    def proved(self) -> bool:
        """True when no plan of this way costs less."""
        return self.possible and self.bound_cents >= self.price_cents


@dataclass(frozen=True, slots=True)
class Outgrow:
    """The comparison.

    Args:
        ways: Possible ones first, by price, then work; then those that cannot be made.
        all_new_cents: Price of the smallest new shelter with nothing old.
        all_new_bound_cents: No plan for it costs less.
        fits: Whether the old shelter still serves all winters of the new brief.
        old_serves_until: First winter in which the old shelter no longer serves the plant of the new brief.
    """

    ways: tuple[Way, ...]
    all_new_cents: int
    all_new_bound_cents: int
    fits: bool
    old_serves_until: int | None

    @property
    def best(self) -> Way | None:
        """The cheapest way that can be made."""
        return next((way for way in self.ways if way.possible), None)


@dataclass(frozen=True)
class Case:
    """All that a comparison is about.

    Args:
        old: The shelter that stands, measured sizes in place of drawn ones.
        brief: What the plant needs now.
        site: Where it stands.
        stock: What can be bought, and the rack.
        limits: How far each skin may span.
        margin_mm: Taken off each edge of a panel that is cut again.
        worn: Materials too old to be used again.
        sheet_work: Work units for one sheet job.
        taken: Marks given to others already.
        drawn: The old shelter as it was drawn, where something was measured.
        measured: What was measured.
    """

    old: Design
    brief: Brief
    site: Site
    stock: Stock
    limits: SpanLimits
    margin_mm: float = 0.0
    worn: frozenset[str] = frozenset()
    sheet_work: int | None = None
    taken: tuple[str, ...] = ()
    drawn: Design | None = None
    measured: AsBuilt | None = None

    @property
    def units(self) -> UnitSystem:
        """Units in which lengths are told."""
        return "inch" if self.brief.papers.units == "inch" else "metric"

    def needed(self) -> ClearBox:
        """Return the least clear box of the new brief."""
        return clear_box(self.brief, ring_height(self.brief, self.stock))


def outgrow(case: Case, progress: Progress | None = None) -> Outgrow:
    """Return the ways out for a shelter that stands and a brief that says what the plant needs now.

    Args:
        case: Old design, new brief, site, stock, limits and margins.
        progress: Told what is being done and the share done.

    Raises:
        DesignError: Not even an all new shelter can be made.
    """
    say = progress or (lambda text, share: None)
    say("all new, nothing old", 0.05)
    box = case.needed()
    new = build(case.brief, case.site, case.stock, case.limits)
    alone = Pricer(case.stock, case.sheet_work).plans(new)
    all_new, all_new_bound = alone.total_cents, alone.total_cents - gap_of(alone)
    say("a tier", 0.3)
    ways = [tier_way(case, box)]
    say("a wider or taller body", 0.5)
    ways.append(body_way(case, box))
    say("all new with the old shelter as the rack", 0.75)
    ways.append(_never_dearer(case, new_way(case), alone, new))
    ways.sort(key=lambda way: (not way.possible, way.price_cents, way.minutes))
    served = growth(case.brief, case.stock, case.old).first()
    say("done", 1.0)
    return Outgrow(tuple(ways), all_new, all_new_bound, _fits(case.old, box), served[0] if served else None)


def _fits(old: Design, box: ClearBox) -> bool:
    wanted = (box.width, box.depth, box.height)
    return all(have >= want - 1e-6 for have, want in zip(old.clear_mm, wanted, strict=True))


# --- the three ways ------------------------------------------------------------------


def tier_way(case: Case, box: ClearBox) -> Way:
    """Return the way of a tier under the old body, or on top of it under a flat roof."""
    title = tr("a tier added, the old body kept")
    width, depth, height = case.old.clear_mm
    if width < box.width - 1e-6 or depth < box.depth - 1e-6:
        return Way("tier", title, False, tr("the old body is too narrow: a tier gives height only"))
    short = box.height - height
    if short <= 1e-6:
        return Way("tier", title, False, tr("the old body is tall enough"))
    rise = ceil_to(max(short, LEAST_TIER_MM), step_for(case.brief.papers.units))
    feet = feet_of(case.old)
    under = (0.0, *(round(foot + rise, 4) for foot in feet))
    over = (*feet, round(height, 4)) if case.old.roof == "flat" else None
    bigger = _box(case, (width, depth, height + rise))
    under_title = tr("a tier of {height} under the old body").format(height=format_length(rise, case.units))
    over_title = tr("a tier of {height} on top of the old body").format(height=format_length(rise, case.units))
    ways = [_made(case, "tier", under_title, bigger, feet=under, shift=1, stands=True)]
    if over:
        ways.append(_made(case, "tier", over_title, bigger, feet=over, stands=True))
    best, *others = sorted(ways, key=lambda way: (not way.possible, way.price_cents, way.minutes))
    return replace(best, notes=(*best.notes, *(_beside(way) for way in others)))


def _beside(way: Way) -> str:
    """Return a word about the way that was not taken."""
    if not way.possible:
        return f"{way.title}: {way.reason}"
    words = tr("{way} would cost {price} and take about {minutes} minutes")
    return words.format(way=way.title, price=money(way.price_cents), minutes=way.minutes)


def body_way(case: Case, box: ClearBox) -> Way:
    """Return the way of a body that grows only where it must."""
    size = tuple(max(a, b) for a, b in zip(case.old.clear_mm, (box.width, box.depth, box.height), strict=True))
    axes = (tr("wider"), tr("deeper"), tr("taller"))
    grown = [name for name, a, b in zip(axes, case.old.clear_mm, size, strict=True) if b > a + 1e-6]
    title = tr("a {grown} body from old parts and new").format(grown=all_of(grown)) if grown else tr("as it stands")
    box_now = _box(case, (size[0], size[1], size[2]))
    ways = [_made(case, "body", title, box_now)]
    if len(feet_of(case.old)) > 1:
        # an old shelter in tiers keeps them, unless dividing it anew comes cheaper
        ways.append(_made(case, "body", title, box_now, feet=feet_of(case.old), stands=not grown))
    return min(ways, key=lambda way: (not way.possible, way.price_cents, way.minutes))


def feet_of(design: Design) -> tuple[float, ...]:
    """Return the heights at which the frame tiers of a shelter stand, from the ground [mm]."""
    return tuple(sorted({round(f.plane.origin[2], 4) for f in design.frames if f.face in WALLS}))


def new_way(case: Case) -> Way:
    """Return the way of the smallest shelter, with the old one as the rack."""
    return _made(case, "new", tr("all new, the old shelter as the rack"), case.needed(), like_old=False)


def _never_dearer(case: Case, way: Way, alone: Plans, new: Design) -> Way:
    """Return the way, or buying all new where the engine found nothing better for it."""
    if not way.possible or way.price_cents <= alone.total_cents:
        return way
    spare, note = tr("spare, to the rack"), tr("sound")
    fates = tuple(replace(f, end="spare", new=(), words=spare, note=note, sound=True) for f in way.fates)
    labels = tuple((p.mark, tr("new {mark}").format(mark=p.mark)) for p in new.parts)
    return replace(
        way, unused=tuple(old_pieces(case.old)), design=new, plans=alone, price_cents=alone.total_cents,
        fates=fates, kept=0, recut=0, spare=len(fates), labels=labels, reason=tr("nothing old makes it cheaper"),
    )  # fmt: skip


def _box(case: Case, size: tuple[float, float, float]) -> ClearBox:
    """Return a clear box with the clearances that it leaves round the plant at its last winter."""
    plant, years = case.brief.plant, case.brief.winters
    spare = [
        (s - spread - years * plant.growth_spread_mm) / 2
        for s, spread in ((size[0], plant.spread_x_mm), (size[1], plant.spread_y_mm))
    ]
    tall = plant.crown_mm + plant.height_mm + years * plant.growth_height_mm
    return ClearBox(*size, min(spare), size[2] + ring_height(case.brief, case.stock) - tall)


def _made(
    case: Case,
    key: Key,
    title: str,
    box: ClearBox,
    *,
    feet: tuple[float, ...] = (),
    shift: int = 0,
    like_old: bool = True,
    stands: bool = False,
) -> Way:
    """Build one way, match the old parts to it, price it."""
    try:
        brief, design = _built(case, box, feet, like_old)
        twin = _as_drawn(case, brief, design, box, feet)
        matched = match(
            case.old, twin, margin_mm=case.margin_mm, worn=case.worn, shift=shift, drawn=case.drawn, stands=stands
        )
        used = reuse(
            case.old, design, matched, case.stock, margin_mm=case.margin_mm, sheet_work=case.sheet_work
        )
    except DesignError as error:
        return Way(key, title, False, error.message)
    keeps = {k.new: k.old for k in matched.keeps}
    marking = carried(keeps, (*(p.mark for p in case.old.parts), *case.taken))
    final = build(brief, case.site, case.stock, case.limits, box=box, feet=feet, marking=marking)
    final = replace(final, plant=_plant(case.brief))
    moved = sum(not same_place(case.old.part(k.old), design.part(k.new), shift) for k in matched.keeps)
    return _told(case, key, title, design, final, used, moved)


def _as_drawn(case: Case, brief: Brief, design: Design, box: ClearBox, feet: tuple[float, ...]) -> Design:
    """Return the new shelter as it would be had the old one come out as drawn, part for part the same.

    Parts that nobody measured have their drawn sizes; they are found in this twin where the opening
    was measured otherwise. What is cut anew is cut to the measured opening, and so not from here.
    """
    if case.drawn is None or case.drawn.clear_mm == case.old.clear_mm:
        return design
    pairs = zip((box.width, box.depth, box.height), case.old.clear_mm, case.drawn.clear_mm, strict=True)
    size = tuple(drawn if abs(asked - built) < 1e-6 else asked for asked, built, drawn in pairs)
    try:
        twin = build(brief, case.site, case.stock, case.limits, box=_box(case, (size[0], size[1], size[2])), feet=feet)
    except DesignError:
        return design
    same = [_place(p) for p in twin.parts] == [_place(p) for p in design.parts]
    return twin if same else design


def _place(part: Part) -> tuple[object, ...]:
    return (part.mark, part.kind, part.role, part.face, part.level, part.bay, part.tier, part.material)


def _built(case: Case, box: ClearBox, feet: tuple[float, ...], like_old: bool) -> tuple[Brief, Design]:
    """Build with the old shelter's bays where they will do, else with those the grid chooses."""
    briefs = [like(case.brief, case.old), case.brief] if like_old else [case.brief]
    fault: DesignError | None = None
    for brief in briefs:
        try:
            return brief, build(brief, case.site, case.stock, case.limits, box=box, feet=feet)
        except DesignError as error:
            fault = error
    assert fault is not None
    raise fault


def like(brief: Brief, old: Design) -> Brief:
    """Return a brief that asks for the bays of an old shelter wherever it leaves them open."""
    bays: dict[str, int] = {}
    for frame in old.frames:
        face = "roof" if frame.face.startswith("ROOF") else frame.face.lower()
        bays[face] = max(bays.get(face, 0), len(frame.bay_lines_mm) + 1)
    choice = brief.frame.model_copy(update={"bays": bays | dict(brief.frame.bays)})
    return brief.model_copy(update={"frame": choice})


def _plant(brief: Brief) -> Plant:
    p = brief.plant
    return Plant(
        p.name, p.height_mm, p.spread_x_mm, p.spread_y_mm, p.growth_height_mm, p.growth_spread_mm, p.crown_mm,
        brief.winters,
    )  # fmt: skip


def _told(case: Case, key: Key, title: str, first: Design, final: Design, used: Reused, moved: int) -> Way:
    names = renamed(first, final)
    fates = tuple(replace(f, new=tuple(names[m] for m in f.new)) for f in used.fates)
    ends = [f.end for f in fates]
    fresh = len(first.parts) - ends.count("keep")
    served = growth(case.brief, case.stock, final).first()
    return Way(
        key, title, True, "", final, _with_names(used.plans, names), used.price_cents, used.bound_cents, fates,
        ends.count("keep"), ends.count("re-cut"), ends.count("spare"), used.cuts,
        MINUTES_A_CUT * used.cuts + MINUTES_A_NEW_PART * fresh + MINUTES_A_MOVE * moved,
        used.yield_share, served[0] if served else None, labels_for(final, fates, _as_built(case)), _notes(case, final),
        used.unused,
    )  # fmt: skip


def _as_built(case: Case) -> dict[str, str]:
    return differences(case.drawn, case.old) if case.drawn is not None else {}


def _notes(case: Case, final: Design) -> tuple[str, ...]:
    """Return what was measured at the old shelter and matters for this one."""
    if case.measured is None:
        return ()
    return (*ring_words(final, case.old.base), *post_words(final, case.old, case.measured))


def _with_names(plans: Plans, names: dict[str, str]) -> Plans:
    def moved(marks: dict[str, tuple[str, ...]]) -> dict[str, tuple[str, ...]]:
        return {key: tuple(names[m] for m in row) for key, row in marks.items()}

    def olds(found: Mapping[str, OldStock]) -> dict[str, OldStock]:
        return {names[m]: old for m, old in found.items()}

    return replace(
        plans,
        sheet_jobs=tuple(replace(i, marks=moved(dict(i.marks)), olds=olds(i.olds)) for i in plans.sheet_jobs),
        stick_jobs=tuple(replace(i, marks=moved(dict(i.marks)), olds=olds(i.olds)) for i in plans.stick_jobs),
    )


def labels_for(
    design: Design, fates: tuple[Fate, ...], built: Mapping[str, str] | None = None
) -> tuple[tuple[str, str], ...]:
    """Return what to write on each part: ``was 4, now 7, trim 40 mm off the head``.

    Args:
        design: The new shelter.
        fates: What became of the old parts, in the new marks.
        built: For old parts that came out otherwise than drawn, in which way.
    """
    words: dict[str, str] = {}
    for fate in fates:
        for mark in fate.new:
            if fate.end == "keep":
                extra = "; ".join(filter(None, (fate.note, (built or {}).get(fate.old, ""))))
                said = tr("{mark}, as it is").format(mark=mark)
                words[mark] = f"{said}, {extra}" if extra else said
            else:
                words[mark] = tr("was {old}, now {mark}, {cut}").format(old=fate.old, mark=mark, cut=fate.words)
    rows = sorted((p.mark for p in design.parts), key=sort_key)
    return tuple((mark, words.get(mark) or tr("new {mark}").format(mark=mark)) for mark in rows)
