"""How large the plate is to be."""

from __future__ import annotations

import click

from img2plate.ui.cli.shared.command import headed
from img2plate.ui.cli.shared.types import MM_PAIR, PAIR

_option = headed("Size")
SIDE_OPTIONS = [
    _option("--width", type=int, metavar="N", help="Beads across; the height follows."),
    _option("--height", type=int, metavar="N", help="Beads down; the width follows."),
]
SIZE_OPTIONS = [
    _option("--size", type=PAIR, metavar="WxH", help="As large as fits into W x H beads."),
    _option(
        "--boards",
        type=PAIR,
        metavar="CxR",
        help="As large as fits on C x R boards.",
    ),
    _option("--mm", type=MM_PAIR, metavar="WxH", help="As large as fits into W x H mm."),
    _option(
        "--fit",
        type=click.Choice(["cover", "contain", "stretch"]),
        help="Fill the whole size: cut off, leave margins, or distort.",
    ),
]
