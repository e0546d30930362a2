"""`img2plate rebuild`: the same plate in another palette, or from the beads that are owned."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.base.words import many
from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import EXCHANGE_OPTIONS
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, headed, with_options
from img2plate.ui.cli.shared.each import echo_json, tell_pack
from img2plate.ui.cli.shared.gather import gather, given
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import FILES, PALETTE, Suggested

_option = headed("Colours")


@click.command(cls=Command)
@click.argument("plate", type=FILES, metavar="PLATE.png")
@_option(
    "--palette",
    type=PALETTE,
    default="",
    metavar="NAME|FILE",
    help="The other palette: a bundled one, or your own CSV or .gpl file; else the plate's own.",
)
@_option(
    "--stock",
    type=FILES,
    metavar="FILE",
    help="CSV code,count of the beads you own: no more of a colour is used than there is.",
)
@_option(
    "--one-to-one",
    is_flag=True,
    help="No two colours go together, also where that moves one far.",
)
@_option(
    "--difference",
    type=Suggested("difference", "hyab", "ciede2000"),
    default="hyab",
    show_default=True,
    metavar="hyab|ciede2000",
    help="How colours are compared.",
)
@with_options(EXCHANGE_OPTIONS)
@with_options(name_option("Name of the pack; else the plate's, with the palette's."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def rebuild(plate: Path, as_json: bool, **values: Any) -> None:
    """Rebuild a plate in another palette or from the beads you own, colour for colour.

    What was lighter stays lighter, and colours stay apart. Writes the pack, and a picture of both
    plates side by side with what each colour became, the largest difference first.

    \b
    img2plate rebuild packs/puffin/plate.png --palette quay-24
    img2plate rebuild packs/puffin/plate.png --palette sea-96 --stock my-beads.csv
    img2plate rebuild packs/puffin/plate.png --swap buo:prt --merge-rare 5
    """
    from img2plate.pipeline import rebuild as job
    from img2plate.pipeline.options import PackOptions

    options, pack = gather(job.RebuildOptions, values), gather(PackOptions, with_bags(values))
    with Bar(plate.name) as bar:
        done = job.run(plate, options, pack, given=given(), progress=bar)
    if as_json:
        echo_json(done)
    tell_pack(done.pack)
    changes = done.rebuilt.changes
    far = [change for change in changes if change.difference > 0][: job.MOST_TOLD]
    for change in far:
        click.echo(
            f"  {change.old.code} to {change.new.code}: {change.difference:.1f},"
            f" {many(change.beads, 'bead')}",
            err=True,
        )
    click.echo(
        f"  difference {done.rebuilt.difference:.1f} (CIEDE2000, mean of all beads);"
        f" {done.picture} shows both",
        err=True,
    )
