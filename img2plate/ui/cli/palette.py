"""`img2plate palette`: the colours on offer, and those of your own beads."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from img2plate.base.words import many
from img2plate.ui.cli.shared.command import Group
from img2plate.ui.cli.shared.each import run_each
from img2plate.ui.cli.shared.types import FILE, FILES, PALETTE, PaperType

if TYPE_CHECKING:
    from img2plate.base.lengths import Paper


@click.group(cls=Group)
def palette() -> None:
    """List, show or check palettes."""


@palette.command("list")
def list_palettes() -> None:
    """List the bundled palettes."""
    from img2plate.colour.palette_file import bundled_names, find_palette

    for name in bundled_names():
        found = find_palette(name)
        click.echo(f"{name:<12} {len(found):>4} colours  {found.note}")


@palette.command()
@click.argument("name", type=PALETTE, metavar="NAME|FILE")
@click.option(
    "--out",
    type=FILE,
    metavar="FILE.png",
    help="Where the swatch picture goes; else NAME-swatches.png in this folder.",
)
@click.option(
    "--companions",
    is_flag=True,
    help="Also the lighter and the darker bead that go with each colour.",
)
def show(name: str, out: Path | None, companions: bool) -> None:
    """Print a palette's colours, and draw them as a picture.

    \b
    img2plate palette show harbour-48
    img2plate palette show mine.csv --out mine.png
    img2plate palette show harbour-48 --companions
    """
    from img2plate.base.files import safe_file
    from img2plate.colour.palette_file import find_palette
    from img2plate.typeset.swatches import write_companions, write_swatches
    from img2plate.ui.cli.words.palette import companion_words

    found = find_palette(name)
    code_width = max(len(bead.code) for bead in found.beads)
    name_width = max(len(bead.name) for bead in found.beads)
    pairs = companion_words(found) if companions else [""] * len(found)
    for bead, pair in zip(found.beads, pairs, strict=True):
        click.echo(
            f"{bead.code:<{code_width}}  {bead.hex}  {bead.name:<{name_width}}  {bead.finish}{pair}"
        )
    kind = "companions" if companions else "swatches"
    out = out or Path(f"{found.name.replace('/', '-')}-{kind}.png")
    with safe_file(out) as temporary:
        (write_companions if companions else write_swatches)(temporary, found)
    click.echo(f"{many(len(found), 'colour')}, drawn in {out}", err=True)


@palette.command()
@click.argument("files", nargs=-1, required=True, type=FILES, metavar="FILE...")
@click.option(
    "--gaps",
    is_flag=True,
    help="Also draw which tones of sRGB it cannot reach, as NAME-gaps.png.",
)
@click.option(
    "--picture",
    "pictures",
    multiple=True,
    type=FILES,
    metavar="IMAGE",
    help="Also tell and draw which tones of a picture it cannot reach, as NAME-gaps-IMAGE.png.",
)
def check(files: tuple[Path, ...], gaps: bool, pictures: tuple[Path, ...]) -> None:
    """Check palette files: what is wrong and where, and colours too alike to tell apart.

    \b
    img2plate palette check mine.csv --gaps
    img2plate palette check mine.csv --picture harbour.jpg
    """
    from img2plate.colour.palette import Palette
    from img2plate.colour.palette_file import find_palette, palette_errors
    from img2plate.ui.cli.words.palette import tell_gamut, tell_picture

    def tell(found: Palette) -> None:
        tell_gamut(found, gaps)
        for picture in pictures:
            tell_picture(found, picture)

    def check_one(file: Path) -> Palette:
        if file.exists() and (errors := palette_errors(file)):
            for error in errors[:-1]:
                click.echo(f"img2plate: {error}", err=True)
            raise errors[-1]
        found = find_palette(str(file))
        doubles = len(found) - len(found.by_srgb)
        also = f", {doubles} of them with the colour of an earlier code (the first wins)"
        click.echo(f"{file}: {many(len(found), 'colour')}{also if doubles else ''}: good")
        return found

    run_each(files, lambda path, _name, _bar: check_one(path), tell)


@palette.command()
@click.option(
    "--paper",
    type=PaperType(("A4", "Letter")),
    metavar="A4|Letter",
    default="A4",
    show_default=True,
    help="What the card is printed on.",
)
@click.option(
    "--pitch",
    "pitch_mm",
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
def card(paper: Paper, pitch_mm: float, out: Path) -> None:
    """Print a card to lay your own beads on, to be photographed and measured.

    \b
    img2plate palette card --paper Letter
    img2plate palette card --pitch 2.6 --out small-card.pdf
    """
    from img2plate.pipeline import palette as job

    written = job.write_card(out, paper, pitch_mm)
    click.echo(f"{written}: print at 100% on plain white paper", err=True)


@palette.command()
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
    click.echo(f"{many(len(measured.palette), 'colour')} measured: {files}", err=True)


@palette.command()
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
    type=PALETTE,
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
