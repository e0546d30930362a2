"""`img2plate native`: a sprite's own pixels, out of any enlargement."""

from __future__ import annotations

import json
from pathlib import Path

import click

from img2plate.ui.cli.run_each import unique_names
from img2plate.ui.cli.shared import FILES


@click.command()
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@click.option(
    "--out",
    type=FILES,
    default="native",
    show_default=True,
    metavar="DIR",
    help="Folder for the recovered pictures, each STEM.png.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a picture, on stdout.")
@click.option("--show", is_flag=True, help="Also STEM-grid.png: the picture with the grid on it.")
@click.option("--cells", default="", metavar="WxH", help="Native cells, when known.")
@click.option("--cell-px", type=float, metavar="P", help="Pixels a native cell, when known.")
def native(
    images: tuple[Path, ...],
    out: Path,
    as_json: bool,
    show: bool,
    cells: str,
    cell_px: float | None,
) -> None:
    """Recover the native pixels of sprites that were enlarged, smoothed, cropped or compressed.

    Writes a PNG of one pixel per cell; nothing for a picture without a grid.

    \b
    img2plate native screenshot.png
    img2plate native *.jpg --out sprites --show --json
    img2plate native icon.png --cells 16x16
    """
    from img2plate.base.errors import Img2PlateError
    from img2plate.image.target import SourceOptions
    from img2plate.pipeline import native as job

    options, failed = SourceOptions(cells=cells, cell_px=cell_px), 0
    for path, name in zip(images, unique_names(p.stem for p in images), strict=True):
        try:
            found = job.run(path, out, options, name=name, show=show)
        except Img2PlateError as error:
            click.echo(f"img2plate: {error}", err=True)
            failed = failed or error.exit_code
            continue
        if as_json:
            click.echo(json.dumps(found.as_json()))
        written = ", ".join(str(file) for file in found.files) or "nothing written"
        click.echo(f"{path}: {found.native}; {written}", err=True)
    if failed:
        raise click.exceptions.Exit(int(failed))
