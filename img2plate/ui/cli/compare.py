"""`img2plate compare`: variants of one picture side by side."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.options.boards import BAG_OPTIONS, BOARD_OPTION, with_bags
from img2plate.ui.cli.options.colours import ASKED_STOCK_OPTION, NARROW_OPTIONS
from img2plate.ui.cli.options.output import json_option, out_option
from img2plate.ui.cli.options.picture import PICTURE_OPTIONS
from img2plate.ui.cli.options.shading import (
    LOOKS,
    SAME_SHADING,
    SEED_OPTION,
    SHADINGS,
    VIEWING_OPTION,
)
from img2plate.ui.cli.options.size import SIZE_OPTIONS
from img2plate.ui.cli.shared.command import Command, headed, spoken, with_options
from img2plate.ui.cli.shared.each import echo_json
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import FILES, PALETTE

if TYPE_CHECKING:
    from img2plate.pipeline.compare import Comparison

_option = headed("What is compared: each may be given more than once")
_AGAIN = {"multiple": True}


@click.command(cls=Command)
@click.argument("image", type=FILES)
@_option("--palette", "palettes", type=PALETTE, metavar="NAME|FILE", help="A palette.", **_AGAIN)
@_option("--shading", "shadings", type=SHADINGS, metavar="NAME", help="A shading.", **_AGAIN)
@_option("--look", "looks", type=LOOKS, metavar="calm|balanced|true", help="A look.", **_AGAIN)
@_option("--colours", "colours", type=int, metavar="N", help="At most N colours.", **_AGAIN)
@_option("--width", "widths", type=int, metavar="N", help="Beads across.", **_AGAIN)
@with_options(out_option("Folder for the proof sheet and the pack."), json_option(""))
@headed("Output")("--write-pack", type=int, metavar="N", help="Also write the pack of variant N.")
@with_options(PICTURE_OPTIONS, SIZE_OPTIONS, NARROW_OPTIONS, ASKED_STOCK_OPTION)
@with_options(SAME_SHADING, SEED_OPTION, VIEWING_OPTION, BOARD_OPTION, BAG_OPTIONS)
def compare(image: Path, as_json: bool, **values: Any) -> None:
    """Draw a proof sheet: all combinations of palettes, shadings, looks, colours and widths.

    When none of these is given twice, what suits the picture is proposed: a photo calm, balanced
    and true in two palettes, other pictures in two palettes, with many colours also in fewer.

    \b
    img2plate compare harbour.jpg
    img2plate compare harbour.jpg --palette quay-24 --palette sea-96
    img2plate compare harbour.jpg --shading search --shading bayer --colours 8 --colours 16
    img2plate compare harbour.jpg --palette quay-24 --palette sea-96 --write-pack 2
    """
    from img2plate.pipeline import compare as job
    from img2plate.pipeline.options import MakeOptions

    same = {name: value for name, value in with_bags(values).items() if name != "colours"}
    options = gather(job.CompareOptions, values, make=gather(MakeOptions, same))
    with Bar(image.name) as bar:
        done = job.run(image, options, progress=bar)
    if as_json:
        echo_json(done)
    _tell(done)
    if done.proof.failed:
        raise click.exceptions.Exit(1)


def _tell(done: Comparison) -> None:
    """Say a line for each variant, the best on look error first, and where the sheet is."""
    for note in done.notes:
        click.echo(f"  {spoken(note)}", err=True)
    ranked = sorted(done.proof.variants, key=lambda variant: variant.looks.error)
    for variant in ranked:
        figures = ", ".join(f"{f.label.lower()} {f.text}" for f in variant.figures)
        name = f"{variant.palette}, {variant.how}, {variant.size}"
        click.echo(f"  {variant.number}: {name}: {figures}", err=True)
    for name, why in done.proof.failed:
        click.echo(f"img2plate: variant {name}: {spoken(why)}", err=True)
    click.echo(f"{done.files[2]}: open it to choose; then --write-pack N writes one", err=True)
    if done.pack:
        click.echo(f"{done.pack.folder}: the pack of that variant", err=True)
