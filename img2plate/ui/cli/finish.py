"""`img2plate finish`: a plate turned, repeated, joined, edged, hung."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.finish import FINISH_OPTIONS
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, with_options
from img2plate.ui.cli.shared.each import one_name, run_each, tell_pack
from img2plate.ui.cli.shared.gather import gather, given
from img2plate.ui.cli.shared.types import FILES


@click.command(cls=Command)
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@with_options(FINISH_OPTIONS, PLATES_PALETTE_OPTION)
@with_options(name_option("Name of the pack; else the plate's with -finish."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def finish(plates: tuple[Path, ...], palette: str, name: str, as_json: bool, **values: Any) -> None:
    """Finish a plate and write its pack: in one piece, an outline, a border, a hole to hang it.

    In this order: turned, mirrored, repeated, joined, outlined, bordered, a hole cut. `make` takes
    the same options.

    \b
    img2plate finish packs/lighthouse/plate.png --join bridges
    img2plate finish plate.png --outline kel --loop 2 --grow
    img2plate finish plate.png --repeat 4x3:half
    """
    from img2plate.pipeline import finish as job
    from img2plate.pipeline.options import PackOptions

    one_name(name, plates)
    wishes = gather(job.FinishOptions, values)
    if not wishes.changes:
        raise click.UsageError("say what to do, as --join bridges or --outline CODE")
    options, said = gather(PackOptions, with_bags(values)), given()
    run_each(
        plates,
        lambda path, _, bar: job.run(
            path, wishes, options, palette=palette, name=name, given=said, progress=bar
        ),
        tell_pack,
        as_json=as_json,
    )
