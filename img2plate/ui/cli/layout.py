"""`img2plate layout`: several plates on one set of boards."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, headed, with_options
from img2plate.ui.cli.shared.each import echo_json, tell_pack
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import FILES, PAIR

_option = headed("Layout")
LAYOUT_OPTIONS = [
    _option(
        "--boards",
        type=PAIR,
        default="1x1",
        show_default=True,
        metavar="CxR",
        help="Boards that lie together as one set; plates may lie over their seams.",
    ),
    _option(
        "--gap",
        type=int,
        default=1,
        show_default=True,
        metavar="N",
        help="Empty pegs between plates.",
    ),
    _option("--no-turn", is_flag=True, help="Do not turn a plate where that saves a board."),
]


@click.command(cls=Command)
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@with_options(LAYOUT_OPTIONS, PLATES_PALETTE_OPTION, name_option("Name of the pack; else layout."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def layout(plates: tuple[Path, ...], palette: str, name: str, as_json: bool, **values: Any) -> None:
    """Lay several plates on as few boards as can be, and write one pack of them.

    \b
    img2plate layout packs/*/plate.png --name keyrings
    img2plate layout gull.png puffin.png --boards 2x2 --gap 2
    """
    from img2plate.pipeline import layout as job
    from img2plate.pipeline.options import PackOptions

    wishes = gather(job.LayoutOptions, values)
    options = gather(PackOptions, with_bags(values))
    with Bar("layout") as bar:
        done = job.run(plates, wishes, options, palette=palette, name=name, progress=bar)
    if as_json:
        echo_json(done)
    tell_pack(done.pack)
