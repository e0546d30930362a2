"""`img2plate publish`: packs as a folder of pages."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.output import credit_options, json_option, out_option
from img2plate.ui.cli.shared.command import Command, headed, spoken, with_options
from img2plate.ui.cli.shared.each import echo_json
from img2plate.ui.cli.shared.gather import gather
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import FILES

_option = headed("Pages")


@click.command(cls=Command)
@click.argument("packs", nargs=-1, required=True, type=FILES, metavar="PACK...")
@with_options(credit_options("Of all pages, or of the one pattern."))
@_option(
    "--text",
    type=FILES,
    metavar="FILE.md",
    help="Your words in Markdown: on the pattern if it is one, else on the overview."
    " A text.md in a pack is that pattern's.",
)
@_option(
    "--address",
    default="",
    metavar="URL",
    help="Where the pages will lie: previews of links want it.",
)
@with_options(out_option("Folder of the pages.", "site"), json_option(""))
def publish(packs: tuple[Path, ...], as_json: bool, **values: Any) -> None:
    """Publish packs as pages that any web space serves.

    An overview with pictures, and for each pattern a page: finished picture, size, colours with
    counts and companions, level, time, tools, cautions, and everything to download. A PACK is a
    pack's folder or a plate document.

    \b
    img2plate publish packs/gull packs/buoy --title "Museum shop" --author "Maja Holm"
    img2plate publish packs/gull --licence CC-BY-4.0 --text gull.md --out site
    """
    from img2plate.pipeline import publish as job

    options = gather(job.PublishOptions, values)
    with Bar(options.out.name) as bar:
        done = job.run(packs, options, progress=bar)
    if as_json:
        echo_json(done)
    many = "1 pattern" if len(done.patterns) == 1 else f"{len(done.patterns)} patterns"
    click.echo(f"{done.folder}: {many}", err=True)
    for note in done.notes:
        click.echo(f"  {spoken(note)}", err=True)
    click.echo(
        f"  open {done.folder / 'index.html'}, then copy the folder to your web space", err=True
    )
