"""The options that say which colours, and how many beads of them, may be used."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING, Any, TypeVar

import click

from img2plate.ui.cli.shared import FILES

if TYPE_CHECKING:
    from img2plate.plate.limits.choice import ChoiceOptions

Command = TypeVar("Command", bound=Callable[..., Any])

NARROW_OPTIONS = [
    click.option(
        "--only", multiple=True, metavar="CODE", help="Use these colours alone; repeat, or a,b,c."
    ),
    click.option("--without", multiple=True, metavar="CODE", help="Leave these colours out."),
    click.option("--finish", multiple=True, metavar="NAME", help="Use beads of this finish alone."),
]
STOCK_OPTION = click.option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="CSV code,count of the beads you own: no more of a colour is used than there is.",
)
CHOICE_OPTIONS = [
    click.option(
        "--colours", type=int, metavar="N", help="At most so many, chosen for the picture."
    ),
    *NARROW_OPTIONS,
    STOCK_OPTION,
    click.option(
        "--stock-advice", is_flag=True, help="Tell which bags would improve the plate most."
    ),
]


def gather_choice(values: dict[str, Any]) -> ChoiceOptions:
    """What a user wrote, as the pipeline takes it."""
    from img2plate.plate.limits.choice import ChoiceOptions

    return ChoiceOptions(
        values.get("colours"),
        *(split_codes(values[name]) for name in ("only", "without", "finish")),
    )


def split_codes(words: tuple[str, ...]) -> tuple[str, ...]:
    """Words that were repeated, or written with commas."""
    return tuple(part.strip() for word in words for part in word.split(",") if part.strip())
