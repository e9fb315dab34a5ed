"""From a brief with clearance windows to the cheapest size.

read_all -> variants of the brief (choose.variants, with the checks) -> choose.fit_stock
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from enclosure.brief.model import Brief
from enclosure.brief.read import read_all
from enclosure.checks.span import span_limits
from enclosure.choose.fit_grid import Builder, grid_for
from enclosure.choose.fit_stock import MOST_SOLVES, Fit, Variant, fit_stock
from enclosure.choose.price import Pricer
from enclosure.choose.soundness import Judge, judge_for
from enclosure.choose.variants import Changed, Refused, Trials, variants
from enclosure.errors import DesignError
from enclosure.shape.base import ring_height
from enclosure.shape.build import build
from enclosure.shape.limits import SpanLimits
from enclosure.shape.model import Design
from enclosure.site.model import Site
from enclosure.stock.model import Stock

LOOK_MM = 50.0
"""How far beyond the windows near misses are looked for."""
SEARCH_WORK = 250
"""Work units for one sheet job in the search; the chosen size gets the engine's own limit."""
Progress = Callable[[str, float], None]


@dataclass(frozen=True, slots=True)
class Fitted:
    """The answer with the briefs behind it.

    Args:
        fit: The answer.
        asked: The brief as it stands.
        brief: The same with all that was chosen, the least of its windows moved to the chosen size.
        refused: Tracks and timbers whose metre is cheaper but which do not do.
        excused: Keys of checks that the brief as it stands fails, left out of account.
    """

    fit: Fit
    asked: Brief
    brief: Brief
    refused: tuple[Refused, ...]
    excused: tuple[str, ...]


def fit(
    path: Path, *, bays: bool = True, frame: bool = True, near: bool = True, progress: Progress | None = None
) -> Fitted:
    """Return the cheapest size for a brief.

    Args:
        path: The brief.
        bays: Try one bay fewer and more on each pair of walls and on the roof too.
        frame: Try other timbers and tracks too.
        near: Look for near misses beside the chosen size.
        progress: Told what is being done and the share done.
    """
    return fit_models(*read_all(path), bays=bays, frame=frame, near=near, progress=progress)


def fit_models(
    brief: Brief,
    site: Site,
    stock: Stock,
    *,
    bays: bool = True,
    frame: bool = True,
    near: bool = True,
    most_solves: int = MOST_SOLVES,
    progress: Progress | None = None,
) -> Fitted:
    """Return the cheapest size for models already read; arguments as in `fit`."""
    say = progress or (lambda text, share: None)
    say("bays, timbers and tracks", 0.02)
    stands = _stands(brief, site, stock)
    judge = judge_for(stands, brief, site, stock)
    trials = trials_for(brief, site, stock, judge)
    found = variants(brief, trials, frame=frame, bays=bays)
    look = (LOOK_MM, LOOK_MM) if near else (0.0, 0.0)
    grids = [variant_for(changed, trials, look) for changed in found]
    quick = Pricer(stock, SEARCH_WORK, goods=False)
    fine = Pricer(stock, goods=False, ladder=quick.ladder)
    answer = fit_stock(
        grids, quick, fine=fine, final=Pricer(stock), most_solves=most_solves, near=near, progress=progress
    )
    chosen = sized(found[answer.place].brief, answer.chosen.side_mm, answer.chosen.top_mm)
    return Fitted(answer, brief, chosen, tuple(trials.refused), tuple(sorted(judge.excused)))


def _stands(brief: Brief, site: Site, stock: Stock) -> Design | None:
    """Return the brief as `make` builds it; None when it cannot be made at the least of its windows."""
    try:
        return build(brief, site, stock, span_limits(brief, site, stock))
    except DesignError:
        return None


def trials_for(brief: Brief, site: Site, stock: Stock, judge: Judge) -> Trials:
    """Return what tries changed briefs at the least of the windows."""
    least = brief.clearance.side.least_mm, brief.clearance.top.least_mm
    return Trials(stock, builder_for(brief, site, stock), judge.failing, *least)


def variant_for(changed: Changed, trials: Trials, look: tuple[float, float] = (0.0, 0.0)) -> Variant:
    """Return the sizes of a changed brief, reaching `look` (side, top) beyond its windows [mm]."""
    ring = ring_height(changed.brief, trials.stock)
    return Variant(*grid_for(changed.brief, trials.stock, trials.build, ring, look, changed.label, trials.judge))


def sized(brief: Brief, side: float, top: float) -> Brief:
    """Return the brief with the least of its windows moved to a size [mm]: `make` builds that size."""
    moved = {
        name: window.model_copy(update={"least_mm": least, "most_mm": max(least, window.most_mm)})
        for name, window, least in (("side", brief.clearance.side, side), ("top", brief.clearance.top, top))
    }
    return brief.model_copy(update={"clearance": brief.clearance.model_copy(update=moved)})


def builder_for(brief: Brief, site: Site, stock: Stock) -> Builder:
    """Return what builds a size just as `make` would with the least of the windows moved there.

    How far a skin may span is reckoned for the most of the brief's own windows, and anew for every change of
    the frame.
    """
    known: dict[str, SpanLimits] = {}

    def make(wanted: Brief, side: float, top: float) -> Design:
        key = wanted.frame.model_dump_json()
        if key not in known:
            known[key] = span_limits(brief.model_copy(update={"frame": wanted.frame}), site, stock)
        return build(wanted, site, stock, known[key], side_clearance=side, top_clearance=top)

    return make
