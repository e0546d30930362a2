"""`img2plate figure`: plates that click together, from a short description."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.progress import Bar
from img2plate.ui.cli.shared import FILES

if TYPE_CHECKING:
    from img2plate.pipeline.figure import FigurePack


@click.command()
@click.argument("files", nargs=-1, required=True, type=FILES, metavar="FILE.toml...")
@click.option("--palette", default="", metavar="NAME|FILE", help="In place of the file's.")
@click.option("--colourway", default="", metavar="NAME", help="One of the file's colourways.")
@click.option(
    "--out",
    type=FILES,
    default="packs",
    show_default=True,
    metavar="DIR",
    help="Folder for the packs; each is a folder in it, named as its file.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object a figure, on stdout.")
@click.option("--board", default="29x29", show_default=True, metavar="CxR", help="Pegs of a board.")
@click.option(
    "--paper",
    type=click.Choice(["A4", "A3", "Letter", "Tabloid"], case_sensitive=False),
    default="A4",
    show_default=True,
    help="What the sheets are printed on.",
)
@click.option(
    "--spare", type=float, default=5.0, show_default=True, metavar="PERCENT",
    help="Beads to have over.",
)  # fmt: skip
@click.option(
    "--seconds-per-bead", type=float, default=4.0, show_default=True,
    help="For the estimate of hours.",
)  # fmt: skip
def figure(files: tuple[Path, ...], **values: Any) -> None:
    """Make plates that click together: boxes, lids, shelves, strips, from a TOML file.

    Every figure is checked before anything is written: each bead in one plate, plates in one
    piece, joints that hold, and an order in which it all goes together.

    \b
    img2plate figure sample_inputs/figures/harbour-lamp.toml
    img2plate figure harbour-lamp.toml --colourway night --paper Letter
    """
    from img2plate.base.errors import Img2PlateError
    from img2plate.pipeline import figure as job

    options = job.FigureOptions(
        out=values["out"],
        palette=values["palette"],
        colourway=values["colourway"],
        board=values["board"],
        paper=values["paper"],
        spare_percent=values["spare"],
        seconds_per_bead=values["seconds_per_bead"],
    )
    failed = 0
    for path in files:
        try:
            with Bar(path.name) as bar:
                pack = job.run(path, options, progress=bar)
        except Img2PlateError as error:
            click.echo(f"img2plate: {error}", err=True)
            failed = failed or error.exit_code
            continue
        if values["as_json"]:
            click.echo(json.dumps(pack.as_json(), ensure_ascii=False))
        _tell(pack)
    if failed:
        raise click.exceptions.Exit(int(failed))


def _tell(pack: FigurePack) -> None:
    """Say in a few lines what was made, and how it will fit."""
    figure, model = pack.figure, pack.figure.spec.model
    t, pitch = figure.spec.thickness_mm, model.pitch_mm
    measures = " x ".join(f"{beads * pitch / 10:g}" for beads in figure.size)
    click.echo(
        f"{pack.folder}: {len(figure.pieces)} plates, {pack.counts.beads:,} beads in"
        f" {len(pack.counts.colours)} colours, {measures} cm,"
        f" about {pack.counts.hours:.1f} hours",
        err=True,
    )
    span = model.thickness_range()
    joins = f", joins from {span[1]:.2f} down to {span[0]:.2f} mm" if span else ""
    how = "measured" if model.is_measured else "estimated: make the test piece"
    click.echo(f"  pressed to {t:g} mm: {model.verdict(t)}{joins} ({how})", err=True)
    for name in figure.loose_parts:
        click.echo(f"  part {name} hangs on nothing: no [[join]] with strips ties it", err=True)
    click.echo("  checked: beads, plates, joints, order; print sheets.pdf at 100 %", err=True)
