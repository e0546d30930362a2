"""Which colours, and how many beads of them, may be used."""

from __future__ import annotations

import click

from img2plate.ui.cli.shared.command import headed
from img2plate.ui.cli.shared.types import CODES, FILES, PALETTE, joined

_option = headed("Colours")
PALETTE_OPTION = _option(
    "--palette",
    type=PALETTE,
    default="harbour-48",
    show_default=True,
    metavar="NAME|FILE",
    help="A bundled palette, or your own CSV or .gpl file.",
)
PLATES_PALETTE_OPTION = _option(
    "--palette",
    type=PALETTE,
    default="",
    metavar="NAME|FILE",
    help="In place of the plate's own; needed when an editor dropped its note.",
)
NARROW_OPTIONS = [
    _option(
        f"--{name}",
        type=CODES,
        callback=joined,
        multiple=True,
        metavar=metavar,
        help=f"{text} May be given more than once, or as a,b,c.",
    )
    for name, metavar, text in (
        ("only", "CODE", "Use this colour alone."),
        ("without", "CODE", "Leave this colour out."),
        ("finish", "NAME", "Use beads of this finish alone."),
    )
]
STOCK_OPTION = _option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="CSV code,count of the beads you own: no more of a colour is used than there is.",
)
ASKED_STOCK_OPTION = _option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="CSV code,count of the beads you own: tells what is missing.",
)
CHOICE_OPTIONS = [
    _option(
        "--colours",
        type=int,
        metavar="N",
        help="At most so many, chosen for the picture.",
    ),
    *NARROW_OPTIONS,
    STOCK_OPTION,
    _option("--stock-advice", is_flag=True, help="Tell which bags would improve the plate most."),
]
EXCHANGE_OPTIONS = [
    _option(
        "--swap",
        multiple=True,
        metavar="CODE:CODE",
        help="Beads of the first colour become the second. May be given more than once.",
    ),
    _option(
        "--merge-rare",
        type=click.IntRange(min=1),
        metavar="N",
        help="A colour with fewer than N beads goes to the nearest that stays.",
    ),
]
