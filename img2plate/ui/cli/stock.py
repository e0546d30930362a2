"""`img2plate stock`: what is left of the beads that are owned."""

from __future__ import annotations

from pathlib import Path

import click

from img2plate.ui.cli.shared import FILES

STOCK = click.option(
    "--stock", "path", type=FILES, required=True, metavar="FILE", help="CSV code,count."
)


@click.group()
def stock() -> None:
    """Show what is left of your beads, or take finished plates out of the file."""


@stock.command()
@STOCK
@click.option(
    "--palette", required=True, metavar="NAME|FILE", help="The colours that the codes stand for."
)
@click.option(
    "--out",
    type=FILES,
    default="stock.png",
    show_default=True,
    metavar="FILE",
    help="The picture to write.",
)
def show(path: Path, palette: str, out: Path) -> None:
    """Draw how many beads of each colour are left.

    \b
    img2plate stock show --stock my-beads.csv --palette sea-96
    """
    from img2plate.pipeline import stock as job

    click.echo(f"{out}: {job.show(path, palette, out):,} beads", err=True)


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
    click.echo(f"{path}: {taken:,} beads taken, {left.beads:,} left", err=True)
