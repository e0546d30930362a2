"""`img2plate fit`: will a tab go into its slot, and how large must an opening be."""

from __future__ import annotations

import json
from typing import Any

import click

from img2plate.ui.cli.shared import FILES


@click.command()
@click.option("--palette", default="harbour-48", show_default=True, metavar="NAME|FILE",
              help="Its bead and pitch are used, and its colours for the test piece.")  # fmt: skip
@click.option("--bead", default="", metavar="OUTERxHOLExHEIGHT", help="Your bead, mm.")
@click.option("--pitch", type=float, metavar="MM", help="Peg to peg; else as the palette says.")
@click.option("--thickness", type=float, metavar="MM",
              help="Of the pressed plates; else four fifths of a bead's height.")  # fmt: skip
@click.option("--beads", type=click.IntRange(1, 400), default=3, show_default=True, metavar="N",
              help="Beads of the tab, empty cells of its slot.")  # fmt: skip
@click.option("--measured", multiple=True, metavar="T:LONG[:SHORT[:FELT]]",
              help="What you measured on a test piece, mm; may be given again.")  # fmt: skip
@click.option("--opening", default="", metavar="WxT",
              help="Size an opening for an object so wide and thick, mm.")  # fmt: skip
@click.option("--coin", default="", metavar="NAME", help="Size an opening for a coin: '2 euro'.")
@click.option("--coins", is_flag=True, help="List the coins that are known.")
@click.option("--clearance", type=click.FloatRange(0, 20), default=0.5, show_default=True,
              metavar="MM", help="Play that an object must have at least, both ways.")  # fmt: skip
@click.option("--plot", type=FILES, metavar="FILE.png", help="Draw clearance over thickness.")
@click.option("--test-piece", is_flag=True, help="Make the test piece's pack, with its form.")
@click.option("--out", type=FILES, default="packs", show_default=True, metavar="DIR",
              help="Folder for packs.")  # fmt: skip
@click.option(
    "--paper",
    type=click.Choice(["A4", "A3", "Letter", "Tabloid"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="What the test piece is printed on.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout, all in mm.")
def fit(**values: Any) -> None:
    """Will it fit? Tabs, slots and openings of pressed plates, computed from the beads.

    The first answer comes from the volume of plastic alone. Make the test piece once, measure it,
    and give what you measured: then it is about your beads, your iron, your hand.

    \b
    img2plate fit --thickness 3.5 --beads 4 --plot fit.png
    img2plate fit --test-piece
    img2plate fit --measured 3.9:75.1:25.2:holds --measured 3.2:75.6:25.6:tight
    img2plate fit --opening 28x1.8
    img2plate fit --coin "2 euro"
    """
    from img2plate.pipeline import fit as job
    from img2plate.ui.cli.fit_words import fit_lines

    if values["coins"]:
        click.echo("\n".join(job.coin_lines()))
        return
    names = ("palette", "bead", "pitch", "thickness", "beads", "measured", "opening", "coin",
             "clearance", "plot", "test_piece", "out", "paper")  # fmt: skip
    answer = job.run(job.FitOptions(**{name: values[name] for name in names}))
    if values["as_json"]:
        click.echo(json.dumps(answer.as_json(), ensure_ascii=False))
    else:
        click.echo("\n".join(fit_lines(answer)))
    for path in answer.files:
        click.echo(f"written: {path}", err=True)
