"""`img2plate scatter`: companion beads over the flat areas of a plate."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.options.shading import SCATTER_OPTIONS, SEED_OPTION
from img2plate.ui.cli.shared.command import Command, with_options
from img2plate.ui.cli.shared.each import one_name, run_each, tell_pack
from img2plate.ui.cli.shared.gather import gather, given
from img2plate.ui.cli.shared.types import FILES


@click.command(cls=Command)
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@with_options(SCATTER_OPTIONS, SEED_OPTION, PLATES_PALETTE_OPTION)
@with_options(name_option("Name of the pack; else the plate's with -scatter."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def scatter(
    plates: tuple[Path, ...], palette: str, name: str, as_json: bool, **values: Any
) -> None:
    """Scatter companion beads over flat colours of a plate, and write its pack.

    Never on lines of one bead or small details; no two side by side unless the share forces it.

    \b
    img2plate scatter packs/lighthouse/plate.png --scatter hbr
    img2plate scatter plate.png --scatter hbr:hbr-:15 --scatter stb::8
    img2plate scatter plate.png --scatter hbr --light 135
    """
    from img2plate.pipeline import scatter as job
    from img2plate.pipeline.options import PackOptions

    if not values["scatter"]:
        raise click.UsageError("say what to scatter over: --scatter CODE, a colour of the plate")
    one_name(name, plates)
    wishes = gather(job.ScatterOptions, values)
    options, said = gather(PackOptions, with_bags(values)), given()
    run_each(
        plates,
        lambda path, _, bar: job.run(
            path, wishes, options, palette=palette, name=name, given=said, progress=bar
        ),
        tell_pack,
        as_json=as_json,
    )
