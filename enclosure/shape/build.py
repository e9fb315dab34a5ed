"""From what is asked to a Design, read straight down.

    clear box -> grid -> frame + bracing + glazing + base -> marks -> anchors -> hardware -> order of work

No CAD kernel, no load formula: span limits are handed in.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from enclosure.brief.model import Brief
from enclosure.errors import DesignError
from enclosure.language import language, spoken
from enclosure.shape.anchoring import place_of, placed
from enclosure.shape.base import base_ring, lining, ring_height
from enclosure.shape.bracing import bracing
from enclosure.shape.clear_box import ClearBox, clear_box
from enclosure.shape.context import Context, section_of
from enclosure.shape.fit import step_for
from enclosure.shape.frame import frame_members
from enclosure.shape.glazing import glazing
from enclosure.shape.grid import FrameGrid, roof_grids, roof_line, wall_grids
from enclosure.shape.hardware import hardware
from enclosure.shape.lengths import within_stock
from enclosure.shape.lifting import choose_method, closes, most_lifted
from enclosure.shape.limits import SpanLimits
from enclosure.shape.marks import numbered
from enclosure.shape.materials import materials_of
from enclosure.shape.model import SCHEMA, Design, Frame, Part, Plant
from enclosure.shape.order import order_of_work
from enclosure.shape.ridge import ridge_board
from enclosure.shape.space import at, tidy
from enclosure.shape.warnings import warnings_for
from enclosure.site.model import Site
from enclosure.stock.model import Stock

MOST_TIERS = 6


def build(
    brief: Brief,
    site: Site,
    stock: Stock,
    limits: SpanLimits,
    *,
    side_clearance: float | None = None,
    top_clearance: float | None = None,
    box: ClearBox | None = None,
    feet: tuple[float, ...] = (),
    marking: Callable[[list[Part]], tuple[Part, ...]] = numbered,
) -> Design:
    """Return the shelter that a brief asks for.

    Args:
        brief: What is asked.
        site: Where it stands.
        stock: What can be bought.
        limits: How far each skin may span [mm].
        side_clearance: Clearance at the sides within the brief's window [mm]; its least when None.
        top_clearance: The same at the top [mm].
        box: The clear box itself, where a shelter that exists sets it; the clearances are then its own.
        feet: Heights at which the frame tiers stand, from the ground [mm]; left to the grid when empty.
        marking: Gives the parts their marks; `marks.numbered` for a new shelter.

    Returns:
        The design: frames, parts with their cuts, fixings, base, anchors, steps. Lengths in mm from the outer lower
        left corner of the front frame, x to the right, y to the back, z up; masses in kg.

    Raises:
        DesignError: The shelter cannot be made as asked; says why and what would do.

    >>> from enclosure import read_all, span_limits
    >>> from enclosure.templates_home import find_template
    >>> asked = read_all(find_template("briefs", "tree-fern"))
    >>> design = build(*asked, span_limits(*asked))
    >>> all(out > clear for out, clear in zip(design.outside_mm, design.clear_mm))
    True
    >>> {"member", "panel", "track"} <= {part.kind for part in design.parts}
    True
    """
    if box is None:
        box = clear_box(brief, ring_height(brief, stock), side_clearance, top_clearance)
    section = section_of(stock, brief.frame.section, on_edge=brief.frame.on_edge)
    roof_section = section_of(stock, brief.frame.roof_section or brief.frame.section, on_edge=True)
    step = step_for(brief.papers.units)
    ctx = Context(brief, site, stock, limits, box, section, roof_section, step, 0, feet, marking)
    with spoken(brief.papers.language):
        return _within_reach(ctx)


def _within_reach(ctx: Context) -> Design:
    """Split the walls into more tiers until the people there can lift each frame."""
    design = _assemble(ctx)
    if ctx.brief.frame.levels or ctx.feet:
        return design
    most = most_lifted(ctx.brief.people)
    tiers = max(frame.level for frame in design.frames)
    while heaviest_frame(design) > most and tiers < MOST_TIERS:
        tiers += 1
        try:
            split = _assemble(replace(ctx, levels=tiers))
        except DesignError:
            break
        if heaviest_frame(split) >= heaviest_frame(design):
            break
        design = split
    return design


def heaviest_frame(design: Design) -> float:
    """Return the mass of the heaviest bare wall frame [kg]: timber, bracing and fixed track."""
    masses: dict[tuple[str, int], float] = {}
    for part in design.parts:
        fixed_track = part.kind == "track" and not closes(part)
        if part.face in ("FRONT", "RIGHT", "BACK", "LEFT") and (
            part.kind in ("member", "gusset", "diagonal") or fixed_track
        ):
            masses[(part.face, part.level)] = masses.get((part.face, part.level), 0.0) + part.mass_kg
    return max(masses.values(), default=0.0)


def _assemble(ctx: Context) -> Design:
    roof = roof_line(ctx)
    walls, roofs = wall_grids(ctx, roof), roof_grids(ctx, roof)
    drafts: list[Part] = []
    for grid in (*walls, *roofs):
        members = frame_members(ctx, grid)
        drafts += members + bracing(ctx, grid) + glazing(ctx, grid, members)
    drafts += ridge_board(ctx, roof) + lining(ctx)
    parts = ctx.marking([piece for draft in drafts for piece in within_stock(ctx, draft)])
    method = choose_method(ctx, parts)
    plant = ctx.brief.plant
    highest = max(at(g.plane, a, b)[2] for g in roofs for a, b in g.outline)
    outside = (ctx.outside_width, ctx.outside_depth, tidy(highest))
    frames, base = tuple(_frame(grid) for grid in (*walls, *roofs)), base_ring(ctx)
    held_by = placed(ctx.brief.anchors, place_of(outside, frames, parts, base))
    return Design(
        language=language(),
        schema=SCHEMA,
        name=ctx.brief.name,
        plant=Plant(
            plant.name,
            plant.height_mm,
            plant.spread_x_mm,
            plant.spread_y_mm,
            plant.growth_height_mm,
            plant.growth_spread_mm,
            plant.crown_mm,
            ctx.brief.winters,
        ),
        clear_mm=(ctx.box.width, ctx.box.depth, ctx.box.height),
        outside_mm=outside,
        side_clearance_mm=ctx.box.side_clearance,
        top_clearance_mm=ctx.box.top_clearance,
        roof=roof.kind,
        fall_deg=ctx.brief.roof.fall_deg if roof.kind != "flat" else 0.0,
        falls_to=roof.toward,
        drip_edge_mm=ctx.brief.roof.drip_edge_mm,
        front_bearing_deg=ctx.brief.front_bearing_deg,
        units=ctx.brief.papers.units,
        paper=ctx.brief.papers.paper,
        frames=frames,
        parts=parts,
        materials=materials_of(ctx, parts),
        fixings=hardware(ctx, walls, roofs, list(parts), held_by),
        base=base,
        anchors=held_by,
        steps=order_of_work(ctx, parts, held_by, method),
        people=ctx.brief.people.count,
        raising_method=method.name,
        raising_reason=method.reason,
        warnings=warnings_for(ctx, walls, roofs, parts),
    )


def _frame(grid: FrameGrid) -> Frame:
    return Frame(
        grid.face,
        grid.level,
        grid.plane,
        grid.outline,
        grid.glazed,
        grid.bay_lines,
        grid.tier_lines,
        grid.transom_lines,
        grid.skin,
        grid.depth,
    )
