"""What is the smallest change in the brief that makes a failing row pass?

Each sort of row has levers: one more transom, one more bay, the next bigger
section, one more frame tier, a stiffer skin, one more person. Every lever is
pulled step by step on a copy of the brief; the shelter is built again and the
row's own family of checks is run on it. The cheapest step that passes is the
way out; when none does, a second step is added to the one that comes nearest. For the
body and its anchors the least set of posts and wires is searched
(`anchor_plan`).

No word here is decided beforehand except how a lever is called.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from enclosure.brief.model import WALLS, Brief
from enclosure.checks.anchor_plan import AnchorPlan, propose
from enclosure.checks.case import Case, case_for
from enclosure.checks.model import Check
from enclosure.checks.span import span_limits
from enclosure.errors import EnclosureError
from enclosure.language import tr, tr_n
from enclosure.shape.bracing import most_screws
from enclosure.shape.build import build
from enclosure.stock.model import Skin, Timber

Family = Callable[[Case], tuple[Check, ...]]

MOST_STEPS = 4


@dataclass(frozen=True, slots=True)
class Change:
    """One changed brief.

    Args:
        words: What changes, with the key of the brief.
        cost: How much trouble, smaller first.
        brief: The changed brief.
    """

    words: str
    cost: float
    brief: Brief


@dataclass(frozen=True, slots=True)
class Found:
    """A change with what it does to a row."""

    change: Change
    utilisation: float


def with_frame(brief: Brief, **values: object) -> Brief:
    """Return the brief with other values in its frame table."""
    return brief.model_copy(update={"frame": brief.frame.model_copy(update=values)})


def with_skin(brief: Brief, **values: str) -> Brief:
    """Return the brief with other skins."""
    return brief.model_copy(update={"skin": brief.skin.model_copy(update=values)})


class WayOut:
    """Searches ways out for the rows of one shelter; buildings already tried are kept."""

    def __init__(self, case: Case, families: dict[str, Family]) -> None:
        self.case = case
        self.families = families
        self._cases: dict[str, Case | None] = {}
        self._rows: dict[tuple[str, str], tuple[Check, ...]] = {}
        self._plan: AnchorPlan | None = None

    def plan(self) -> AnchorPlan:
        """Return the least set of anchors for this shelter."""
        if self._plan is None:
            self._plan = propose(self.case)
        return self._plan

    def change(self, family: str, check: Check) -> Change | None:
        """Return the change that makes a failing row pass or comes nearest, None when nothing tried helps."""
        if family != "body":
            best = self.best(family, check)
            return None if best is None else best.change
        plan = self.plan()
        return Change(plan.words, 0.0, self.case.brief.model_copy(update={"anchors": plan.asked}))

    def words(self, family: str, check: Check) -> str:
        """Return the way out of a failing row."""
        if family == "body":
            plan = self.plan()
            if plan.passes:
                return tr("{words} (worst anchor row then {worst:.2f})").format(words=plan.words, worst=plan.worst)
            return tr("no set of anchors tried holds; nearest: {words} ({worst:.2f})").format(
                words=plan.words, worst=plan.worst
            )
        best = self.best(family, check)
        if best is None:
            return tr("no change of the brief tried helps; a sheltered place or a lower shelter would")
        if best.utilisation <= 1.0:
            return f"{best.change.words}: {best.utilisation:.2f}"
        second = self._after(family, check, best)
        if second is None or second.utilisation >= best.utilisation:
            return tr("no single change tried passes; nearest: {words}: {use:.2f}").format(
                words=best.change.words, use=best.utilisation
            )
        words = tr("{first}, and {second}: {use:.2f}").format(
            first=best.change.words, second=second.change.words, use=second.utilisation
        )
        return (
            words
            if second.utilisation <= 1.0
            else tr("no two changes tried pass; nearest: {words}").format(words=words)
        )

    def _after(self, family: str, check: Check, first: Found) -> Found | None:
        """Return the best second change once the first is made."""
        case = self.built(first.change)
        if case is None:
            return None
        asked = replace(check, utilisation=first.utilisation)
        return WayOut(case, self.families).best(family, asked)

    def best(self, family: str, check: Check) -> Found | None:
        """Return the cheapest change that makes a row pass, else the nearest one that helps."""
        nearest: Found | None = None
        passing: Found | None = None
        for changes in levers(self.case, family, check):
            for change in changes:
                if passing is not None and change.cost >= passing.change.cost:
                    break
                use = self.utilisation(family, check.key, change)
                if use is None:
                    continue
                if use <= 1.0:
                    passing = Found(change, use)
                    break
                if use < check.utilisation - 1e-6 and (nearest is None or use < nearest.utilisation):
                    nearest = Found(change, use)
        return passing or nearest

    def utilisation(self, family: str, key: str, change: Change) -> float | None:
        """Return a row's utilisation after a change; 0 when it is gone, None when nothing can be built."""
        name = change.brief.model_dump_json()
        if (family, name) not in self._rows:
            case = self.built(change)
            if case is None:
                return None
            self._rows[(family, name)] = self.families[family](case)
        prefix = "racking-" if key.startswith("racking") else key
        uses = [c.utilisation for c in self._rows[(family, name)] if c.key == key or c.key.startswith(prefix)]
        return max(uses, default=0.0)

    def built(self, change: Change) -> Case | None:
        """Return the case after a change, None when it cannot be made."""
        name = change.brief.model_dump_json()
        if name not in self._cases:
            site, stock, brief = self.case.site, self.case.stock, change.brief
            try:
                design = build(brief, site, stock, span_limits(brief, site, stock))
                self._cases[name] = case_for(design, brief, site, stock)
            except EnclosureError:
                self._cases[name] = None
        return self._cases[name]


def levers(case: Case, family: str, check: Check) -> Iterator[Iterator[Change]]:
    """Yield the levers of a row, each a row of growing changes."""
    if family == "panels":
        if check.key.startswith("panel-roof"):
            yield _bays(case, ("roof",))
            yield _skins(case, ("roof",))
        else:
            faces = _faces(case, check)
            yield _transoms(case)
            yield _bays(case, faces)
            yield _skins(case, faces)
    elif family == "timbers":
        if check.key in (
            "member-rafter",
            "member-purlin",
            "member-ridge",
            "member-top-rail",
            "member-eaves-rail",
        ):
            yield _sections(case, roof=True)
            yield _bays(case, ("roof",))
        else:
            yield _sections(case, roof=False)
            yield _tiers(case)
            if check.key == "member-mullion":
                yield _bays(case, _faces(case, check))
            if check.key == "member-transom":
                yield _transoms(case)
    elif family == "racking":
        yield _screws(case)
        yield _tiers(case)
        yield _sections(case, roof=False)
        yield _diagonals(case)
    elif family == "ties":
        yield _bays(case, ("roof",))
    elif family == "handling":
        yield _people(case)
        yield _tiers(case)


def _faces(case: Case, check: Check) -> tuple[str, ...]:
    """Return the faces, in the brief's words, of the part that governs a row."""
    parts = [p for p in case.design.parts if p.mark in check.governs]
    found = tuple(dict.fromkeys(p.face.lower() for p in parts if p.face.lower() in WALLS))
    return found or WALLS


def _count(number: int, word: str) -> str:
    return f"{number} {word}" if number == 1 else f"{number} {word}s"


def _transoms(case: Case) -> Iterator[Change]:
    now = max((len(f.transom_lines_mm) for f in case.design.frames if not f.face.startswith("ROOF")), default=0)
    for more in range(1, MOST_STEPS + 1):
        yield Change(
            tr_n(
                "{count} transom a wall frame (frame.transoms = {count})",
                "{count} transoms a wall frame (frame.transoms = {count})",
                now + more,
            ).format(count=now + more),
            1.0 * more,
            with_frame(case.brief, transoms=now + more),
        )


def _bays(case: Case, faces: tuple[str, ...]) -> Iterator[Change]:
    for more in range(1, MOST_STEPS + 1):
        bays = dict(case.brief.frame.bays)
        words = []
        for face in faces:
            upper = face.upper()
            now = max((len(f.bay_lines_mm) + 1 for f in case.design.frames if f.face.startswith(upper)), default=1)
            bays[face] = now + more
            words.append(f"{face} = {now + more}")
        yield Change(
            tr("more bays (frame.bays: {words})").format(words=", ".join(words)),
            1.5 * more * len(faces),
            with_frame(case.brief, bays=bays),
        )


def _depth(timber: Timber, on_edge: bool) -> float:
    return timber.width_mm if on_edge else timber.thickness_mm


def _sections(case: Case, roof: bool) -> Iterator[Change]:
    """Yield bigger sections of the stock in the order of what they weigh, turned on edge first."""
    frame = case.brief.frame
    now_key = (frame.roof_section or frame.section) if roof else frame.section
    now = case.stock.timbers[now_key]
    if not roof and not frame.on_edge and now.width_mm > now.thickness_mm:
        yield Change(tr("the section on edge (frame.on_edge = true)"), 0.8, with_frame(case.brief, on_edge=True))
    edge = True if roof else frame.on_edge
    size = now.thickness_mm * now.width_mm
    bigger = sorted(
        (
            t
            for t in case.stock.timbers.values()
            if t.thickness_mm * t.width_mm > size and t.thickness_mm >= now.thickness_mm - 1.0
        ),
        key=lambda t: (t.thickness_mm * t.width_mm, t.key),
    )
    for step, timber in enumerate(bigger, start=1):
        for on_edge in dict.fromkeys((edge, True)):
            if _depth(timber, on_edge) < _depth(now, edge):
                continue
            turned = "" if on_edge == edge else tr(", on edge (frame.on_edge = true)")
            changed = (
                with_frame(case.brief, roof_section=timber.key)
                if roof
                else with_frame(case.brief, section=timber.key, on_edge=on_edge)
            )
            key = "frame.roof_section" if roof else "frame.section"
            yield Change(f'{timber.name}{turned} ({key} = "{timber.key}")', 2.0 * step, changed)


def _tiers(case: Case) -> Iterator[Change]:
    now = max(f.level for f in case.design.frames)
    for more in (1, 2):
        yield Change(
            tr("{count} frame tiers (frame.levels = {count})").format(count=now + more),
            2.5 * more,
            with_frame(case.brief, levels=now + more),
        )


def _stiffer(case: Case, key: str) -> list[Skin]:
    now = case.stock.skins[key]
    kind = "multiwall" if now.kind in ("film", "foam board") else now.kind
    return sorted(
        (
            s
            for s in case.stock.skins.values()
            if s.kind == kind and (s.stiffness_along_n_m, s.thickness_mm) > (now.stiffness_along_n_m, now.thickness_mm)
        ),
        key=lambda s: (s.stiffness_along_n_m, s.thickness_mm, s.key),
    )


def _skins(case: Case, faces: tuple[str, ...]) -> Iterator[Change]:
    now = getattr(case.brief.skin, faces[0])
    for step, skin in enumerate(_stiffer(case, now), start=1):
        chosen = {face: skin.key for face in faces if getattr(case.brief.skin, face) == now}
        words = ", ".join(f'{face} = "{skin.key}"' for face in chosen)
        yield Change(
            tr("{name} (skin: {words})").format(name=skin.name, words=words),
            3.0 * step,
            with_skin(case.brief, **chosen),
        )


def _diagonals(case: Case) -> Iterator[Change]:
    for step, timber in enumerate(
        sorted(case.stock.timbers.values(), key=lambda t: (t.thickness_mm * t.width_mm, t.key)), start=1
    ):
        if timber.key != case.brief.frame.diagonal and 15.0 <= timber.thickness_mm <= 40.0:
            yield Change(
                tr('diagonals of {name} (frame.diagonal = "{key}")').format(name=timber.name, key=timber.key),
                2.0 + 0.5 * step,
                with_frame(case.brief, diagonal=timber.key),
            )


def _screws(case: Case) -> Iterator[Change]:
    widths = [case.timber(p).width_mm for p in case.design.parts if p.kind == "diagonal"]
    if widths:
        for count in range(case.screws + 1, most_screws(min(widths)) + 1):
            yield Change(
                tr("{count} screws at each end of the diagonals (frame.brace_screws = {count})").format(count=count),
                0.3 * (count - case.screws),
                with_frame(case.brief, brace_screws=count),
            )


def _people(case: Case) -> Iterator[Change]:
    now = case.brief.people.count
    for count in range(now + 1, 7):
        people = case.brief.people.model_copy(update={"count": count})
        yield Change(
            tr("{count} people (people.count = {count})").format(count=count),
            1.0 * (count - now),
            case.brief.model_copy(update={"people": people}),
        )
