"""What would a greedy rule, or a general-purpose packing library, pay for the same job?

Each peer takes a job and returns a price, or None where it finds no plan. The
price counts the sheets or sticks it opens; kerf is met by adding one kerf to
every part and to every sheet, as everywhere.
"""

from __future__ import annotations

from collections.abc import Callable

from enclosure.nesting.model import SheetJob, SheetKind, StickJob


class PeerMissing(Exception):  # noqa: N818
    """The library of a peer is not installed."""


# --- sticks --------------------------------------------------------------------------


def first_fit_decreasing(job: StickJob) -> int | None:
    """Longest part first into the first open stick that holds it, else a new one: rack, then best price a length."""
    left = {stick.key: stick.copies for stick in job.sticks}
    order = sorted(job.sticks, key=lambda stick: (not stick.owned, stick.price / stick.length, -stick.length))
    rooms: list[int] = []
    price = 0
    for part in sorted(job.parts, key=lambda part: -part.length):
        grown = part.length + job.kerf
        for _ in range(part.quantity):
            at = next((at for at, room in enumerate(rooms) if room >= grown), -1)
            if at < 0:
                stick = next(
                    (
                        stick for stick in order
                        if left[stick.key] != 0 and stick.length - stick.squaring + job.kerf >= grown
                    ),
                    None,
                )  # fmt: skip
                if stick is None:
                    return None
                copies = left[stick.key]
                left[stick.key] = None if copies is None else copies - 1
                rooms.append(stick.length - stick.squaring + job.kerf)
                price += stick.price
                at = len(rooms) - 1
            rooms[at] -= grown
    return price


# --- sheets --------------------------------------------------------------------------


def _room(job: SheetJob, sheet: SheetKind) -> tuple[int, int]:
    return sheet.width - 2 * sheet.trim + job.kerf, sheet.height - 2 * sheet.trim + job.kerf


def greedy_shelves(job: SheetJob) -> int | None:
    """Tallest part first onto shelves; each new sheet is the one with the lowest price for its area."""
    left = {sheet.key: sheet.copies for sheet in job.sheets}
    order = sorted(job.sheets, key=lambda sheet: (not sheet.owned, sheet.price / (sheet.width * sheet.height)))
    parts = sorted(
        (
            (max(kind.width, kind.height), min(kind.width, kind.height), kind.quantity)
            if kind.turnable
            else (kind.height, kind.width, kind.quantity)
            for kind in job.kinds
        ),
        reverse=True,
    )
    # A shelf: [height, width left]; a sheet: [width, height left, shelves].
    sheets: list[tuple[int, list[int], list[list[int]]]] = []
    price = 0
    for height, width, quantity in parts:
        tall, wide = height + job.kerf, width + job.kerf
        for _ in range(quantity):
            if _put(sheets, tall, wide):
                continue
            for sheet in order:
                across, up = _room(job, sheet)
                if left[sheet.key] != 0 and across >= wide and up >= tall:
                    copies = left[sheet.key]
                    left[sheet.key] = None if copies is None else copies - 1
                    price += sheet.price
                    sheets.append((across, [up], []))
                    break
            else:
                return None
            _put(sheets, tall, wide)
    return price


def _put(sheets: list[tuple[int, list[int], list[list[int]]]], tall: int, wide: int) -> bool:
    for across, up, shelves in sheets:
        for shelf in shelves:
            if shelf[0] >= tall and shelf[1] >= wide:
                shelf[1] -= wide
                return True
        if up[0] >= tall and across >= wide:
            up[0] -= tall
            shelves.append([tall, across - wide])
            return True
    return False


def rectpack_guillotine(job: SheetJob) -> int | None:
    """Return the best price over all guillotine heuristics of rectpack; new sheets of one kind at a time."""
    try:
        import rectpack
        from rectpack import guillotine
    except ImportError as error:
        raise PeerMissing("not installed") from error
    heuristics = [
        getattr(guillotine, f"Guillotine{choice}{split}")
        for choice in ("Baf", "Blsf", "Bssf")
        for split in ("Las", "Llas", "Maxas", "Minas", "Sas", "Slas")
    ]
    mixed = {kind.turnable for kind in job.kinds}
    if len(mixed) > 1:
        return None
    best: int | None = None
    for heuristic in heuristics:
        for bought in [sheet for sheet in job.sheets if sheet.copies is None]:
            packer = rectpack.newPacker(
                mode=rectpack.PackingMode.Offline, bin_algo=rectpack.PackingBin.BFF, pack_algo=heuristic,
                sort_algo=rectpack.SORT_AREA, rotation=mixed == {True},
            )  # fmt: skip
            for kind in job.kinds:
                for _ in range(kind.quantity):
                    packer.add_rect(kind.width + job.kerf, kind.height + job.kerf)
            for sheet in job.sheets:
                if sheet.owned and sheet.copies:
                    packer.add_bin(*_room(job, sheet), count=sheet.copies, bid=sheet.price)
            packer.add_bin(*_room(job, bought), count=float("inf"), bid=bought.price)
            packer.pack()
            if len(packer.rect_list()) < sum(kind.quantity for kind in job.kinds):
                continue
            price = sum(abin.bid for abin in packer)
            best = price if best is None else min(best, price)
    return best


SHEET_PEERS: dict[str, Callable[[SheetJob], int | None]] = {
    "greedy shelves": greedy_shelves,
    "rectpack, guillotine": rectpack_guillotine,
}
STICK_PEERS: dict[str, Callable[[StickJob], int | None]] = {"first fit": first_fit_decreasing}
