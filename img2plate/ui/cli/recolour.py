"""`img2plate recolour`: the same plate in other colours."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.choice_options import split_codes
from img2plate.ui.cli.pack_options import PACK_OPTIONS, gather_pack
from img2plate.ui.cli.progress import Bar
from img2plate.ui.cli.shared import FILES, with_options


@click.command()
@click.argument("plate", type=FILES, metavar="PLATE.png")
@click.argument("targets", nargs=-1, metavar="[CODE]...")
@click.option("--every", is_flag=True, help="One colourway for every colour of the palette.")
@click.option(
    "--base",
    default="",
    metavar="CODE",
    help="What is recoloured, with its shades; else the middle shade of the most used hue.",
)
@click.option(
    "--stay", multiple=True, metavar="CODE", help="Leave this colour as it is, though of that hue."
)
@click.option("--keep", is_flag=True, help="Also write a pack of each, NAME-CODE.")
@click.option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="CSV code,count of the beads you own: tells for each whether they suffice.",
)
@click.option("--palette", default="", metavar="NAME|FILE", help="Else as the plate says.")
@click.option("--name", default="", help="Name of the proof sheet; else as the plate says.")
@with_options(PACK_OPTIONS)
def recolour(plate: Path, targets: tuple[str, ...], **values: Any) -> None:
    """Show a plate in other colours on one proof sheet, its light and shade kept.

    A base colour and its shades move together to each CODE and its shades; the rest stays.

    \b
    img2plate recolour packs/trawler/plate.png stb lmp dsk
    img2plate recolour packs/trawler/plate.png --every --stock my-beads.csv
    img2plate recolour packs/trawler/plate.png stb --base prt --stay buo,buo-,oak- --keep
    """
    from img2plate.pipeline import recolour as job

    options = job.RecolourOptions(
        split_codes(targets),
        stay=split_codes(values["stay"]),
        **{k: values[k] for k in ("every", "base", "keep", "stock", "palette", "name")},
    )
    with Bar(plate.name) as bar:
        done = job.run(plate, options, gather_pack(values), progress=bar)
    if values["as_json"]:
        click.echo(json.dumps(done.as_json(), ensure_ascii=False))
    covered = "" if done.lacks is None else f", the stock covers {done.lacks.count({})}"
    click.echo(f"{done.proof}: {len(done.ways)} colourways{covered}", err=True)
    for note in done.notes:
        click.echo(f"  {note}", err=True)
    for pack in done.packs:
        click.echo(f"  kept {pack.folder}", err=True)
