"""`img2plate native`: a sprite's own pixels, out of any enlargement."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.options.output import json_option, out_option
from img2plate.ui.cli.options.picture import CELL_OPTIONS, CROP_OPTION, SEVERAL_OPTIONS
from img2plate.ui.cli.shared.command import Command, spoken, with_options
from img2plate.ui.cli.shared.each import run_each, unique_names
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.types import FILES

if TYPE_CHECKING:
    from img2plate.pipeline.native import Recovered


@click.command(cls=Command)
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@with_options(out_option("Folder for the recovered pictures, each STEM.png.", "native"))
@with_options(json_option(" a picture"))
@click.option(
    "--show",
    is_flag=True,
    help="Also STEM-grid.png, the picture with the grid on it (and STEM-part.png for --crop auto).",
)
@with_options(CELL_OPTIONS, CROP_OPTION, SEVERAL_OPTIONS)
def native(images: tuple[Path, ...], out: Path, as_json: bool, show: bool, **values: Any) -> None:
    """Recover the native pixels of sprites that were enlarged, smoothed, cropped or compressed.

    Writes a PNG of one pixel per cell; nothing for a picture without a grid.

    \b
    img2plate native screenshot.png
    img2plate native *.jpg --out sprites --show --json
    img2plate native icon.png --cells 16x16
    img2plate native screenshot.png --crop auto --show
    img2plate native sheet.png --apart
    img2plate native gull.gif --frame all
    """
    from img2plate.image.source_options import SourceOptions
    from img2plate.pipeline import native as job
    from img2plate.pipeline.options import SeveralOptions

    options, several = gather(SourceOptions, values), gather(SeveralOptions, values)
    run_each(
        images,
        lambda path, name, _: job.run(path, out, options, name=name, show=show, several=several),
        _tell,
        names=unique_names(images),
        as_json=as_json,
    )


def _tell(found: Recovered) -> None:
    """Say which grid was found, and what was written."""
    written = ", ".join(str(file) for file in found.files) or "nothing written"
    click.echo(f"{found.image}: {found.native}; {written}", err=True)
    for note in found.notes:
        click.echo(f"  {spoken(note)}", err=True)
