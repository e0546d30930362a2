"""`img2plate make` and `img2plate sheets`: both end in a pack."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.choice_options import CHOICE_OPTIONS, gather_choice
from img2plate.ui.cli.pack_options import PACK_OPTIONS, gather_pack
from img2plate.ui.cli.run_each import run_each, unique_names
from img2plate.ui.cli.shared import (
    FILES,
    PALETTE_OPTION,
    PICTURE_OPTIONS,
    SCATTER_OPTIONS,
    SIDE_OPTIONS,
    SIZE_OPTIONS,
    VIEWING_OPTION,
    gather_size,
    gather_source,
    with_options,
)

SAME_SHADING = [
    click.option(
        "--difference",
        default="hyab",
        show_default=True,
        metavar="NAME",
        help="How --shading none compares colours: hyab, ciede2000, cielab or oklab.",
    ),
    click.option(
        "--specks",
        default="auto",
        show_default=True,
        metavar="free|few|none|PERCENT",
        help="Beads without a neighbour of their colour; auto: few with search, else free.",
    ),
    click.option(
        "--keep-apart",
        type=click.FloatRange(min=0),
        default=15.0,
        show_default=True,
        metavar="DE",
        help="How far off a bead may be (CIEDE2000) to keep two colours of a sprite apart.",
    ),
    click.option(
        "--strength",
        type=click.FloatRange(0, 1),
        default=1.0,
        show_default=True,
        help="How much of the shading.",
    ),
    click.option("--seed", type=int, default=0, show_default=True, help="Same seed, same plate."),
]
"""What of the shading is the same in all variants of a comparison."""
SHADING_OPTIONS = [
    click.option(
        "--shading",
        default="auto",
        show_default=True,
        metavar="NAME",
        help="none, search, floyd-steinberg, jarvis-judice-ninke, stucki, burkes, sierra, atkinson,"
        " bayer or blue-noise; auto: none for a sprite, search for a photo.",
    ),
    *SAME_SHADING,
]


@click.command()
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@with_options(PALETTE_OPTION, SIDE_OPTIONS, SIZE_OPTIONS, PICTURE_OPTIONS)
@with_options(SHADING_OPTIONS, VIEWING_OPTION, CHOICE_OPTIONS, SCATTER_OPTIONS)
@with_options(PACK_OPTIONS)
def make(images: tuple[Path, ...], **values: Any) -> None:
    """Make a pack from each picture: plate, preview, sheets, counts, follow-along page.

    A sprite needs no size: its native grid is found, also when it was enlarged, smoothed or
    compressed, and each native pixel is one bead. A photo without a size gets 58 beads on its
    long side.

    \b
    img2plate make gull.png
    img2plate make harbour.jpg --boards 2x2 --palette sea-96
    img2plate make harbour.jpg --size 58x58 --fit cover --specks none --viewing-distance 3
    img2plate make harbour.jpg --colours 16 --stock my-beads.csv
    img2plate make logo.png --width 40 --background clear --json
    """
    from dataclasses import fields

    from img2plate.pipeline import make as job
    from img2plate.plate.scatter import ScatterOptions
    from img2plate.plate.shade.shading import ShadingOptions

    options = job.MakeOptions(
        palette=values["palette"],
        source=gather_source(values),
        size=gather_size(values),
        shading=ShadingOptions(*(values[f.name] for f in fields(ShadingOptions))),
        choice=gather_choice(values),
        stock=values["stock"],
        stock_advice=values["stock_advice"],
        viewing_distance_m=values["viewing_distance"],
        pack=gather_pack(values),
        scatter=ScatterOptions(values["scatter"], values["light"], values["seed"]),
    )
    names = unique_names(path.stem for path in images)
    run_each(
        images,
        lambda path, name, bar: job.run(path, options, name=name, progress=bar),
        names,
        as_json=values["as_json"],
    )


@click.command()
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@click.option(
    "--palette",
    default="",
    metavar="NAME|FILE",
    help="Needed when the editor dropped the plate's own note.",
)
@click.option("--name", default="", help="Name of the pack; else as the plate says.")
@with_options(PACK_OPTIONS)
def sheets(plates: tuple[Path, ...], palette: str, name: str, **values: Any) -> None:
    """Write the pack again from a plate that was touched up in a pixel editor.

    \b
    img2plate sheets packs/gull/plate.png
    img2plate sheets touched.png --palette harbour-48 --name gull-by-night
    """
    from img2plate.pipeline import sheets as job

    if name and len(plates) > 1:
        raise click.UsageError("--name goes with one plate; leave it out for several")
    options = gather_pack(values)
    run_each(
        plates,
        lambda path, _, bar: job.run(path, options, palette=palette, name=name, progress=bar),
        [path.stem for path in plates],
        as_json=values["as_json"],
    )
