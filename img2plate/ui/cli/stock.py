"""`img2plate stock`: what is left of the beads that are owned."""

from __future__ import annotations

from pathlib import Path

import click

from img2plate.base.words import many
from img2plate.ui.cli.options.output import out_option
from img2plate.ui.cli.shared.command import Group, with_options
from img2plate.ui.cli.shared.types import FILES, PALETTE

STOCK = click.option(
    "--stock", "path", type=FILES, required=True, metavar="FILE", help="CSV code,count."
)


@click.group(cls=Group)
def stock() -> None:
    """Show what is left of your beads, or take finished plates out of the file."""


@stock.command()
@STOCK
@click.option(
    "--palette",
    type=PALETTE,
    required=True,
    metavar="NAME|FILE",
    help="The colours that the codes stand for.",
)
@with_options(out_option("The picture to write.", "stock.png", "FILE"))
def show(path: Path, palette: str, out: Path) -> None:
    """Draw how many beads of each colour are left.

    \b
    img2plate stock show --stock my-beads.csv --palette sea-96
    """
    from img2plate.pipeline import stock as job

    click.echo(f"{out}: {many(job.show(path, palette, out), 'bead')}", err=True)


@stock.command()
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@STOCK
def take(plates: tuple[Path, ...], path: Path) -> None:
    """Subtract finished plates from the stock file: all of them, or none when beads are missing.

    \b
    img2plate stock take packs/gull/plate.png packs/puffin/plate.png --stock my-beads.csv
    """
    from img2plate.pipeline import stock as job

    left, taken = job.take(path, plates)
    click.echo(f"{path}: {many(taken, 'bead')} taken, {left.beads:,} left", err=True)
