"""`img2plate compare`: variants of one picture side by side."""

from __future__ import annotations

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.ui.cli.choice_options import NARROW_OPTIONS, gather_choice
from img2plate.ui.cli.make import SAME_SHADING
from img2plate.ui.cli.pack_options import BAG_OPTIONS
from img2plate.ui.cli.progress import Bar
from img2plate.ui.cli.shared import (
    FILES,
    PICTURE_OPTIONS,
    SIZE_OPTIONS,
    VIEWING_OPTION,
    gather_size,
    gather_source,
    with_options,
)

if TYPE_CHECKING:
    from img2plate.pipeline.compare import CompareOptions, Comparison


@click.command()
@click.argument("image", type=FILES)
@click.option("--palette", "palettes", multiple=True, metavar="NAME|FILE", help="Repeat it.")
@click.option("--shading", "shadings", multiple=True, metavar="NAME", help="Repeat it.")
@click.option("--colours", multiple=True, type=int, metavar="N", help="At most N; repeat it.")
@click.option("--width", "widths", multiple=True, type=int, metavar="N", help="Beads; repeat it.")
@click.option("--board", default="29x29", show_default=True, metavar="CxR", help="Pegs of a board.")
@click.option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="The beads you own: tells what each variant lacks.",
)
@click.option("--keep", type=int, metavar="N", help="Also write the pack of variant N.")
@click.option(
    "--out",
    type=FILES,
    default="packs",
    show_default=True,
    metavar="DIR",
    help="Folder for the proof sheet and the pack.",
)
@click.option("--json", "as_json", is_flag=True, help="One JSON object on stdout.")
@with_options(SIZE_OPTIONS, PICTURE_OPTIONS, SAME_SHADING, VIEWING_OPTION)
@with_options(NARROW_OPTIONS, BAG_OPTIONS)
def compare(image: Path, **values: Any) -> None:
    """Draw a proof sheet: all combinations of palettes, shadings, colours and widths.

    \b
    img2plate compare harbour.jpg --palette quay-24 --palette sea-96
    img2plate compare harbour.jpg --shading search --shading bayer --colours 8 --colours 16
    img2plate compare harbour.jpg --palette quay-24 --palette sea-96 --keep 2
    """
    from img2plate.pipeline import compare as job

    with Bar(image.name) as bar:
        done = job.run(image, _options(values), progress=bar)
    if values["as_json"]:
        click.echo(json.dumps(done.as_json(), ensure_ascii=False))
    _tell(done)
    if done.proof.failed:
        raise click.exceptions.Exit(1)


_SAME = ("difference", "specks", "keep_apart", "strength", "seed")
"""Of the shading: the same in all variants."""


def _options(values: dict[str, Any]) -> CompareOptions:
    """What a user wrote, as the pipeline takes it."""
    from img2plate.pipeline.compare import CompareOptions
    from img2plate.pipeline.options import MakeOptions, PackOptions
    from img2plate.plate.shade.shading import ShadingOptions
    from img2plate.typeset.pack import SheetOptions

    bags = SheetOptions(bag=values["bag"], bag_price=values["bag_price"])
    make = MakeOptions(
        source=gather_source(values),
        size=gather_size(values),
        shading=ShadingOptions(**{name: values[name] for name in _SAME}),
        choice=gather_choice({**values, "colours": None}),
        stock=values["stock"],
        viewing_distance_m=values["viewing_distance"],
        pack=PackOptions(out=values["out"], board=values["board"], sheets=bags),
    )
    palettes, shadings = values["palettes"], values["shadings"]
    colours, widths, keep = values["colours"], values["widths"], values["keep"]
    return CompareOptions(palettes, shadings, colours, widths, make=make, keep=keep)


def _tell(done: Comparison) -> None:
    """Say a line for each variant, the best on look error first, and where the sheet is."""
    ranked = sorted(done.proof.variants, key=lambda variant: variant.looks.error)
    for variant in ranked:
        figures = ", ".join(f"{f.label.lower()} {f.text}" for f in variant.figures)
        click.echo(f"  {variant.number}: {variant.palette}, {variant.shading}: {figures}", err=True)
    for name, why in done.proof.failed:
        click.echo(f"img2plate: variant {name}: {why}", err=True)
    click.echo(f"{done.files[2]}: open it to choose; then --keep N writes its pack", err=True)
    if done.pack:
        click.echo(f"{done.pack.folder}: the pack of the variant that was kept", err=True)
