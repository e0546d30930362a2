"""`img2plate count`: what one plate takes, or several together."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.boards import BAG_OPTIONS, PACE_OPTION, with_bags
from img2plate.ui.cli.options.colours import ASKED_STOCK_OPTION, PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.output import json_option, out_option
from img2plate.ui.cli.shared.command import Command, with_options
from img2plate.ui.cli.shared.types import FILES


@click.command(cls=Command)
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@click.option(
    "--spare",
    "spare_percent",
    type=float,
    default=5.0,
    show_default=True,
    metavar="PERCENT",
    help="Spare beads of each colour, on the sum.",
)
@with_options(PLATES_PALETTE_OPTION, ASKED_STOCK_OPTION, BAG_OPTIONS, PACE_OPTION)
@with_options(out_option("Also write a .csv or .xlsx file.", None, "FILE"))
@with_options(json_option(" in place of the table"))
def count(plates: tuple[Path, ...], as_json: bool, **values: Any) -> None:
    """Add up the beads of plates: per colour, per plate, with spares, grams, bags and price.

    \b
    img2plate count packs/gull/plate.png
    img2plate count packs/*/plate.png --spare 10 --bag 1000 --bag-price 2.40 --out shopping.xlsx
    """
    from img2plate.inventory.stock import read_stock
    from img2plate.pipeline import count as job
    from img2plate.pipeline.stock import shortfall
    from img2plate.tally.table import write_as_named
    from img2plate.ui.cli.words import count as words

    stock = read_stock(values["stock"]) if values["stock"] else None
    counts = job.run(
        plates,
        palette=values["palette"],
        spare_percent=values["spare_percent"],
        pace=values["pace"],
        bags=with_bags(values)["bags"],
    )
    if values["out"]:
        write_as_named(values["out"], counts)
    short = None if stock is None else shortfall(counts, stock)
    say = words.as_json if as_json else words.as_text
    click.echo(say(counts, short))
