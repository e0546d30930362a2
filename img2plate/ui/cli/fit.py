"""`img2plate fit`: will a tab go into its slot, and how large must an opening be."""

from __future__ import annotations

from typing import Any

import click

from img2plate.ui.cli.options.boards import PAPER_OPTION, PITCH_OPTION
from img2plate.ui.cli.options.output import json_option, out_option
from img2plate.ui.cli.shared.command import Command, headed, spoken, with_options
from img2plate.ui.cli.shared.each import echo_json
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.types import BEAD, FILES, MEASURED, MM_PAIR, PALETTE

_bead = headed("Beads")
_joint = headed("Tab and slot")
_opening = headed("Opening")


@click.command(cls=Command)
@_bead("--palette", type=PALETTE, default="harbour-48", show_default=True, metavar="NAME|FILE",
       help="Its bead and pitch are used, and its colours for the test piece.")  # fmt: skip
@_bead("--bead", type=BEAD, metavar="OUTERxHOLExHEIGHT", help="Your bead, mm.")
@with_options(PITCH_OPTION)
@_joint("--thickness", "thickness_mm", type=float, metavar="MM",
        help="Of the pressed plates; else four fifths of a bead's height.")  # fmt: skip
@_joint("--tab-thickness", "tab_thickness_mm", type=float, metavar="MM",
        help="Of the plate with the tab, where it is pressed otherwise, as a lid.")  # fmt: skip
@_joint("--beads", type=click.IntRange(1, 400), default=3, show_default=True, metavar="N",
        help="Beads of the tab, empty cells of its slot.")  # fmt: skip
@_joint("--measured", type=MEASURED, multiple=True, metavar="T:LONG[:SHORT[:SLOT]][:JOINT]",
        help="What you measured on a test piece, mm. May be given more than once.")  # fmt: skip
@_opening("--opening", type=MM_PAIR, metavar="WxT",
          help="Size an opening for an object so wide and thick, mm.")  # fmt: skip
@_opening("--coin", default="", metavar="NAME", help="Size an opening for a coin: '2 euro'.")
@_opening("--coins", is_flag=True, help="List the coins that are known.")
@_opening("--clearance", "clearance_mm", type=click.FloatRange(0, 20), default=0.5,
          show_default=True, metavar="MM",
          help="Play that an object must have at least, both ways.")  # fmt: skip
@_joint("--plot", type=FILES, metavar="FILE.png", help="Draw clearance over thickness.")
@_joint("--test-piece", is_flag=True, help="Make the test piece's pack, with its form.")
@with_options(out_option("Folder for packs."), PAPER_OPTION, json_option(", all in mm"))
def fit(coins: bool, as_json: bool, **values: Any) -> None:
    """Will it fit? Tabs, slots and openings of pressed plates, computed from the beads.

    The first answer comes from the volume of plastic alone. Make the test piece once, measure it,
    and give what you measured: then it is about your beads, your iron, your hand.

    \b
    img2plate fit --thickness 3.5 --beads 4 --plot fit.png
    img2plate fit --test-piece
    img2plate fit --measured 3.9:75.1:25.2:24.8:holds --measured 3.2:75.6:25.6:24.4:tight
    img2plate fit --opening 28x1.8
    img2plate fit --coin "2 euro"
    """
    from img2plate.pipeline import fit as job
    from img2plate.ui.cli.words.fit import fit_lines

    if coins:
        click.echo("\n".join(job.coin_lines()))
        return
    answer = job.run(
        gather(
            job.FitOptions,
            values,
            how_to_answer="img2plate fit --measured T:LONG:SHORT:SLOT:JOINT",
        )
    )
    if as_json:
        echo_json(answer)
    else:
        click.echo("\n".join(spoken(line) for line in fit_lines(answer)))
    for path in answer.files:
        click.echo(f"written: {path}", err=True)
