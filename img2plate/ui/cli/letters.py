"""`img2plate letters`: lettering at bead size."""

from __future__ import annotations

from typing import Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.finish import FINISH_OPTIONS
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, headed, with_options
from img2plate.ui.cli.shared.each import echo_json, tell_pack
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import FILES, PLACE

_option = headed("Letters")
LETTERS_OPTIONS = [
    _option(
        "--height",
        type=int,
        default=7,
        show_default=True,
        metavar="N",
        help="Beads of a capital's height: 5 to 16 but for 11, and many beyond.",
    ),
    _option("--colour", default="", metavar="CODE", help="Of the letters; else the darkest."),
    _option("--ground", default="", metavar="CODE", help="Beads round and between the letters."),
    _option(
        "--ground-margin",
        "margin",
        type=int,
        default=2,
        show_default=True,
        metavar="N",
        help="Beads of ground at each side.",
    ),
    _option("--on", type=FILES, metavar="PLATE.png", help="A plate to lay them on."),
    _option(
        "--at",
        type=PLACE,
        metavar="COL,ROW",
        help="Column and row of their upper left corner on it, from 1; else its middle.",
    ),
]


@click.command(cls=Command)
@click.argument("text")
@with_options(LETTERS_OPTIONS, FINISH_OPTIONS, PLATES_PALETTE_OPTION)
@with_options(name_option("Name of the pack; else as the text, or the plate's with -letters."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def letters(text: str, name: str, as_json: bool, margin: int, **values: Any) -> None:
    """Set a text in beads, as a plate of its own or on a plate that is there.

    A | in the text begins a new line.

    \b
    img2plate letters "PIER 7" --height 9 --colour klp --join outline:oak --grow
    img2plate letters "Fish & chips|6 €" --ground oak
    img2plate letters 1897 --on packs/lighthouse/plate.png --at 3,40
    """
    from img2plate.pipeline import letters as job
    from img2plate.pipeline.options import PackOptions

    wishes = gather(job.LettersOptions, values, margin=margin)
    options = gather(PackOptions, with_bags(values))
    with Bar(text) as bar:
        pack = job.run(text, wishes, options, name=name, progress=bar)
    if as_json:
        echo_json(pack)
    tell_pack(pack)
