"""`img2plate palette`: the colours on offer."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from img2plate.ui.cli.own_beads import card, measure, suggest
from img2plate.ui.cli.shared import FILE, FILES

if TYPE_CHECKING:
    from img2plate.colour.palette import Palette


@click.group()
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
@click.argument("name", metavar="NAME|FILE")
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

    found = find_palette(name)
    code_width = max(len(bead.code) for bead in found.beads)
    name_width = max(len(bead.name) for bead in found.beads)
    pairs = _companion_words(found) if companions else [""] * len(found)
    for bead, pair in zip(found.beads, pairs, strict=True):
        click.echo(
            f"{bead.code:<{code_width}}  {bead.hex}  {bead.name:<{name_width}}  {bead.finish}{pair}"
        )
    kind = "companions" if companions else "swatches"
    out = out or Path(f"{found.name.replace('/', '-')}-{kind}.png")
    with safe_file(out) as temporary:
        (write_companions if companions else write_swatches)(temporary, found)
    click.echo(f"{len(found)} colours, drawn in {out}", err=True)


def _tell_health(found: Palette, gaps: bool) -> None:
    """Say which colours are too alike, and what cannot be reached."""
    from img2plate.base.files import safe_file
    from img2plate.colour.gamut import GAP, alike_pairs, reach, srgb_solid
    from img2plate.typeset.gaps import write_gaps

    for one, two, difference in alike_pairs(found):
        codes = found.beads[one].code, found.beads[two].code
        click.echo(f"  {codes[0]} and {codes[1]} are too alike to tell apart: {difference:.1f}")
    if gaps:
        out = Path(f"{found.name.replace('/', '-')}-gaps.png")
        with safe_file(out) as temporary:
            write_gaps(temporary, found)
        far = float((reach(srgb_solid(), found) > GAP).mean())
        click.echo(f"  {far:.0%} of sRGB is over {GAP:g} (CIEDE2000) from any bead: {out}")


def _tell_picture(found: Palette, image: Path) -> None:
    """Say which tones of a picture cannot be reached."""
    import numpy as np

    from img2plate.colour.gamut import GAP
    from img2plate.colour.names import nearest_keywords
    from img2plate.colour.spaces import srgb2hex
    from img2plate.pipeline.palette import gaps_in

    out = Path(f"{found.name.replace('/', '-')}-gaps-{image.stem}.png")
    gaps = gaps_in(image, found, out)
    click.echo(f"  {gaps.share:.0%} of {image.name} is over {GAP:g} from any bead: {out}")
    names = nearest_keywords(np.array([tone.srgb for tone in gaps.tones], np.uint8).reshape(-1, 3))
    for tone, name in zip(gaps.tones, names, strict=True):
        code = found.beads[tone.nearest].code
        click.echo(
            f"    {srgb2hex(tone.srgb)} {name}, {tone.share:.1%} of it:"
            f" nearest is {code}, {tone.distance:.0f} off"
        )


def _companion_words(found: Palette) -> list[str]:
    """What goes with each colour, by code."""
    from img2plate.colour.companions import find_companions

    codes = [bead.code for bead in found.beads]
    return [
        "  lighter: "
        + ("-" if pair.lighter is None else codes[pair.lighter])
        + "  darker: "
        + ("-" if pair.darker is None else codes[pair.darker])
        for pair in find_companions(found)
    ]


@palette.command()
@click.argument("files", nargs=-1, required=True, metavar="FILE...")
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
def check(files: tuple[str, ...], gaps: bool, pictures: tuple[Path, ...]) -> None:
    """Check palette files: what is wrong and where, and colours too alike to tell apart.

    \b
    img2plate palette check mine.csv --gaps
    img2plate palette check mine.csv --picture harbour.jpg
    """
    from img2plate.base.errors import PaletteError
    from img2plate.colour.palette_file import find_palette

    failed = 0
    for file in files:
        try:
            found = find_palette(file)
        except PaletteError as error:
            click.echo(f"img2plate: {error}", err=True)
            failed = failed or error.exit_code
            continue
        doubles = len(found) - len(found.by_srgb)
        also = f", {doubles} of them with the colour of an earlier code (the first wins)"
        click.echo(f"{file}: {len(found)} colours{also if doubles else ''}: good")
        _tell_health(found, gaps)
        for picture in pictures:
            _tell_picture(found, picture)
    if failed:
        raise click.exceptions.Exit(int(failed))


for command in (card, measure, suggest):
    palette.add_command(command)
