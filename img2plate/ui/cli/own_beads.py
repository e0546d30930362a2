"""`img2plate palette` for the user's own beads: a card, measuring them, what would help."""

from __future__ import annotations

from pathlib import Path

import click

from img2plate.ui.cli.shared import FILE, FILES


@click.command()
@click.option(
    "--paper",
    type=click.Choice(["A4", "Letter"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="What the card is printed on.",
)
@click.option(
    "--pitch",
    type=float,
    default=5.0,
    show_default=True,
    metavar="5|2.6",
    help="Size of the beads, mm; the card for 2.6 mm has other markers, so measure knows it.",
)
@click.option(
    "--out",
    type=FILE,
    default="bead-card.pdf",
    show_default=True,
    metavar="FILE.pdf",
    help="Where the card goes.",
)
def card(paper: str, pitch: float, out: Path) -> None:
    """Print a card to lay your own beads on, to be photographed and measured.

    \b
    img2plate palette card --paper Letter
    img2plate palette card --pitch 2.6 --out small-card.pdf
    """
    from img2plate.pipeline import palette as job

    written = job.write_card(out, paper, pitch)
    click.echo(f"{written}: print at 100 % on plain white paper", err=True)


@click.command()
@click.argument("photos", nargs=-1, required=True, type=FILES, metavar="PHOTO...")
@click.option(
    "--names",
    type=FILES,
    metavar="FILE.csv",
    help="Codes and names of the cells, in columns cell, code, name.",
)
@click.option(
    "--out",
    type=FILE,
    default="my-beads.csv",
    show_default=True,
    metavar="FILE.csv",
    help="Where the palette goes; pictures of what was looked at go beside it.",
)
def measure(photos: tuple[Path, ...], names: Path | None, out: Path) -> None:
    """Measure the colours of real beads on the card, from one or more photos of it.

    \b
    img2plate palette measure card.jpg
    img2plate palette measure card-1.jpg card-2.jpg --names mine.csv --out mine-measured.csv
    """
    from img2plate.pipeline import palette as job

    done = job.measure(photos, out, names=names)
    measured = done.measured
    for bead, number, spread in zip(
        measured.palette.beads, measured.cells, measured.spread, strict=True
    ):
        click.echo(f"{number:>3}  {bead.code:<6} {bead.hex}  {bead.name:<24} spread {spread:.1f}")
    for note in measured.notes:
        click.echo(f"  {note}", err=True)
    files = ", ".join(str(path) for path in done.files)
    click.echo(f"{len(measured.palette)} colours measured: {files}", err=True)


@click.command()
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@click.option(
    "--add",
    type=click.IntRange(1, 50),
    default=6,
    show_default=True,
    metavar="N",
    help="How many colours to look for.",
)
@click.option(
    "--palette",
    "name",
    default="harbour-48",
    show_default=True,
    metavar="NAME|FILE",
    help="What you have.",
)
def suggest(images: tuple[Path, ...], add: int, name: str) -> None:
    """Say which colours would help a set of pictures most, best first.

    \b
    img2plate palette suggest harbour.jpg gulls.jpg --palette my-beads.csv --add 4
    """
    import numpy as np

    from img2plate.colour.names import nearest_keywords
    from img2plate.colour.spaces import srgb2hex
    from img2plate.pipeline import palette as job

    gaps = job.suggest(images, name, add)
    names = nearest_keywords(np.array([gap.srgb for gap in gaps], np.uint8).reshape(-1, 3))
    for gap, plain in zip(gaps, names, strict=True):
        click.echo(
            f"{srgb2hex(gap.srgb)}  {plain}: nearest for {gap.share:.0%} of the tones,"
            f" which are {gap.distance:.1f} (CIEDE2000) from a bead now"
        )
    if not gaps:
        click.echo("nothing to suggest: every tone is a bead's own")
