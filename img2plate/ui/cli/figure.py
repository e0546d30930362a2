"""`img2plate figure`: plates that click together, from a short description."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.base.words import many
from img2plate.ui.cli.options.boards import FIGURE_OPTIONS, with_bags
from img2plate.ui.cli.options.output import (
    ZIP_OPTION,
    credit_options,
    json_option,
    out_option,
)
from img2plate.ui.cli.shared.command import Command, headed, spoken, with_options
from img2plate.ui.cli.shared.each import run_each
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.types import FILES, PALETTE

if TYPE_CHECKING:
    from img2plate.pipeline.figure import FigurePack

_option = headed("Colours")


@click.command(cls=Command)
@click.argument("files", nargs=-1, required=True, type=FILES, metavar="FILE.toml...")
@_option("--palette", type=PALETTE, default="", metavar="NAME|FILE", help="In place of the file's.")
@_option(
    "--colourway",
    default="",
    metavar="NAME",
    help="One of the file's colourways, or all: a pack of each, and a picture of all.",
)
@_option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="The beads you own, code,count: tells what is missing, spare beads included.",
)
@headed("Plates")(
    "--plates",
    type=FILES,
    metavar="DIR",
    help="Plates that you touched up, called as in the pack's plates/; others as described.",
)
@with_options(credit_options("Of the figure, and of its plates with their names."))
@with_options(out_option("Folder for the packs; each is a folder in it, named as its file."))
@with_options(json_option(" a figure"), ZIP_OPTION, FIGURE_OPTIONS)
def figure(files: tuple[Path, ...], as_json: bool, **values: Any) -> None:
    """Make plates that click together: boxes, lids, shelves, strips, from a TOML file.

    Every figure is checked before anything is written: each bead in one plate, plates in one
    piece, joints that hold, and an order in which it all goes together.

    \b
    img2plate figure sample_inputs/figures/harbour-lamp.toml
    img2plate figure harbour-lamp.toml --colourway night --paper Letter
    img2plate figure harbour-lamp.toml --plates packs/harbour-lamp/plates
    """
    from img2plate.pipeline.figure_colourways import run_ways
    from img2plate.pipeline.options import FigureOptions

    options = gather(FigureOptions, with_bags(values))
    if options.plates and len(files) > 1:
        raise click.UsageError("--plates goes with one figure; leave it out for several")
    run_each(
        files, lambda path, _, bar: run_ways(path, options, progress=bar), _tell, as_json=as_json
    )


def _tell(pack: FigurePack) -> None:
    """Say in a few lines what was made, and how it will fit."""
    from img2plate.ui.cli.words.fit import span_words

    figure, model = pack.figure, pack.figure.spec.model
    t, pitch = figure.spec.thickness_mm, model.pitch_mm
    measures = " x ".join(f"{beads * pitch / 10:g}" for beads in figure.size)
    click.echo(
        f"{pack.folder}: {many(len(figure.pieces), 'plate')}, {many(pack.counts.beads, 'bead')} in"
        f" {many(len(pack.counts.colours), 'colour')}, {measures} cm,"
        f" about {pack.counts.effort.number} {pack.counts.effort.words}",
        err=True,
    )
    spans = model.thickness_ranges()
    joins = f", joins {span_words(spans)}" if spans else ""
    how = "measured" if model.is_measured else "estimated: make the test piece"
    click.echo(f"  pressed to {t:g} mm: {model.verdict(t)}{joins} ({how})", err=True)
    for remark in figure.spec.remarks:
        click.echo(f"  {remark}", err=True)
    for note in pack.notes:
        click.echo(f"  {spoken(note)}", err=True)
    for name in figure.loose_parts:
        click.echo(f"  part {name} only stands there, loose", err=True)
    click.echo("  checked: beads, plates, joints, order; print sheets.pdf at 100%", err=True)
