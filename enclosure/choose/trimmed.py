"""How do old panels that are trimmed whole stand in a cutting plan?

Each becomes a sheet of its own in the job of its material, owned and there once,
with one pattern: the cuts that free the new panel. It is added after the rest is
solved, since nothing else may be cut from a panel with holes.

Units: mm; jobs in 1/10 000 mm.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from enclosure.choose.fates import Source
from enclosure.nesting.demand import sheet_demands_of, to_units
from enclosure.nesting.model import Cut, Node, Pattern, Rest, SheetKind, SheetPlan
from enclosure.nesting.model import Part as Leaf
from enclosure.nesting.plans import MaterialSheets
from enclosure.nesting.verify import verify_sheets
from enclosure.reuse.match import OldPiece
from enclosure.reuse.trims import Trim
from enclosure.shape.model import SheetCut
from enclosure.stock.model import RackSheet, Stock


def trim_source(trim: Trim) -> Source:
    """Return where the new panel lies in the old one."""
    cut = trim.old.cut
    assert isinstance(cut, SheetCut)
    row = RackSheet(
        material=trim.old.material, width_mm=cut.width_mm, height_mm=cut.height_mm, copies=1,
        note=f"old {trim.old.mark}",
    )  # fmt: skip
    return Source(OldPiece(trim.old.mark, row), trim.left_mm, trim.low_mm)


def with_trims(sheets: tuple[MaterialSheets, ...], trims: Iterable[Trim], stock: Stock) -> tuple[MaterialSheets, ...]:
    """Return the plans with those of the trimmed panels."""
    found = {item.material: item for item in sheets}
    for trim in trims:
        (demand,) = sheet_demands_of([trim.new], stock)
        empty = MaterialSheets(
            demand.material, demand.name, replace(demand.job, kinds=()), SheetPlan((), 0, 0, "proved"), {}
        )
        found[demand.material] = _with_trim(found.get(demand.material, empty), trim, demand.job.kinds[0].key, stock)
    return tuple(found[key] for key in sorted(found))


def _with_trim(item: MaterialSheets, trim: Trim, key: str, stock: Stock) -> MaterialSheets:
    (demand,) = sheet_demands_of([trim.new], stock)
    cut = trim.old.cut
    assert isinstance(cut, SheetCut)
    sheet = SheetKind(f"old {trim.old.mark}", to_units(cut.width_mm), to_units(cut.height_mm), 0, 1, 0, owned=True)
    kinds = {kind.key: kind for kind in item.job.kinds}
    before = kinds.get(key)
    kinds[key] = demand.job.kinds[0] if before is None else replace(before, quantity=before.quantity + 1)
    job = replace(item.job, kinds=tuple(kinds.values()), sheets=(sheet, *item.job.sheets))
    kind = demand.job.kinds[0]
    corner = to_units(trim.left_mm), to_units(trim.low_mm)
    root = _freed("y", _freed("x", Leaf(key), corner[0], kind.width, sheet.width, job.kerf), corner[1], kind.height,
                  sheet.height, job.kerf)  # fmt: skip
    plan = replace(item.plan, patterns=(*item.plan.patterns, Pattern(sheet.key, 1, root)))
    marks = {**item.marks, key: (*item.marks.get(key, ()), trim.new.mark)}
    verify_sheets(job, plan)
    return replace(item, job=job, plan=plan, marks=marks)


def _freed(axis: str, inner: Node, start: int, length: int, total: int, kerf: int) -> Node:
    """Return the cuts along an axis that free a piece from `start` on; a rest thinner than the saw is sawn away."""
    along = "x" if axis == "x" else "y"
    beyond = total - start - length
    node: Node = inner
    if beyond > 0:
        node = Cut("x" if along == "x" else "y", length, inner, Rest() if beyond > kerf else None)
    if start > 0:
        node = Cut("x" if along == "x" else "y", max(0, start - kerf), Rest(), node)
    return node
