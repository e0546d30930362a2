"""The options of boards, counts and sheets, shared by the commands that end in a pack."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from img2plate.typeset.pack import SheetOptions

Command = TypeVar("Command", bound=Callable[..., Any])

BAG_OPTIONS = [
    click.option(
        "--bag", default="", metavar="N|Ng", help="Beads, or grams, in a bag: counts bags to buy."
    ),
    click.option("--bag-price", default="", metavar="P", help="Of one bag: adds up the price."),
]
_OPTIONS = [
    click.option(
        "--seams",
        type=click.Choice(["full", "even", "quiet"]),
        default="full",
        show_default=True,
        help="Full boards first, balanced tiles, or where seams cut the least detail.",
    ),
    click.option(
        "--least",
        type=int,
        default=4,
        show_default=True,
        metavar="N",
        help="Pegs that a tile keeps at least, with --seams quiet.",
    ),
    click.option(
        "--boards-owned",
        type=int,
        metavar="N",
        help="Build in rounds on so many boards; else all are at hand.",
    ),
    click.option(
        "--front",
        type=click.Choice(["iron-side", "board-side"]),
        default="iron-side",
        show_default=True,
        help="The side that will be seen: up from the board, or down on it (mirrors the sheets).",
    ),
    click.option(
        "--printer-measured",
        default="",
        metavar="MM[xMM]",
        help="What the 100 mm rulers measure on paper: short side x long side of the sheet.",
    ),
    click.option(
        "--margin",
        type=float,
        default=8.0,
        show_default=True,
        metavar="MM",
        help="White round tile pages that the printer cannot reach.",
    ),
    click.option("--runs", is_flag=True, help="Pages that read out each row: 12 kelp, 3 foam."),
    *BAG_OPTIONS,
    click.option("--zip", "as_zip", is_flag=True, help="Also the pack as one zip file beside it."),
]


def add_options(command: Command, options: list[Any]) -> Command:
    """Add options to a command, in their order."""
    for option in reversed(options):
        command = option(command)
    return command


def sheet_options(command: Command) -> Command:
    """Add the options of boards, counts and sheets."""
    return add_options(command, _OPTIONS)


def gather(values: dict[str, Any]) -> SheetOptions:
    """What a user wrote, as the pipeline takes it."""
    from img2plate.typeset.pack import SheetOptions

    return SheetOptions(
        seams=values["seams"],
        least=values["least"],
        boards_owned=values["boards_owned"],
        front=values["front"],
        printer_measured=values["printer_measured"],
        margin_mm=values["margin"],
        runs=values["runs"],
        bag=values["bag"],
        bag_price=values["bag_price"],
        zip=values["as_zip"],
    )
