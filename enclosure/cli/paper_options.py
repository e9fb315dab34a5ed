"""Which options do the commands have that write a folder of papers?"""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any

import click

from enclosure.errors import BriefError

if TYPE_CHECKING:
    from enclosure.pipeline.labels import LabelWish

MOST_SHIFT_MM = 50.0
Command = Callable[..., Any]


def report_options(command: Command) -> Command:
    """Give a command the options of the solid model and of the report."""
    for option in reversed((
        click.option("--no-solids", is_flag=True, help="Leave out the solid model (STEP): much quicker."),
        click.option(
            "--plots", is_flag=True, help="Put pictures of heat, winter, sun and cost into the report (slower)."
        ),
        click.option(
            "--year", type=click.IntRange(1970, 2200), metavar="YEAR",
            help="Year in which the first winter of the calendar begins. Left out: the dates return every year.",
        ),
    )):  # fmt: skip
        command = option(command)
    return command


def label_options(command: Command) -> Command:
    """Give a command the options of the label sheet."""
    for option in reversed((
        click.option("--label-sheet", metavar="NAME", help="Label sheet: a shipped one, your file, or plain."),
        click.option(
            "--first-cell", type=click.IntRange(1), default=1, metavar="N", help="First cell to use; 1 is top left."
        ),
        click.option(
            "--to-right", default="0 mm", metavar="LENGTH", help="Shift the labels to the right: 1.5 mm, -1 mm."
        ),
        click.option("--to-top", default="0 mm", metavar="LENGTH", help="Shift the labels up."),
    )):  # fmt: skip
        command = option(command)
    return command


def label_wish(label_sheet: str | None, first_cell: int, to_right: str, to_top: str) -> LabelWish:
    """Return how labels are to be printed.

    Raises:
        BriefError: A shift is no length, or more than 50 mm.
    """
    from enclosure.pipeline.labels import LabelWish

    return LabelWish(label_sheet or "", first_cell, (_shift(to_right), _shift(to_top)))


def _shift(said: str) -> float:
    """Return an offset [mm]; one beyond the sheet is a slip of the pen.

    Raises:
        BriefError: It is no length, or more than 50 mm.
    """
    from enclosure.units import in_mm, parse_length

    shift = in_mm(parse_length(said))
    if abs(shift) > MOST_SHIFT_MM:
        hint = "measure on the calibration page of labels.pdf"
        raise BriefError(f"a shift of {said} is more than {MOST_SHIFT_MM:.0f} mm", hint)
    return shift
