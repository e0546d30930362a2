"""`img2plate sheets`: the pack of a plate again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, with_options
from img2plate.ui.cli.shared.each import one_name, run_each, tell_pack
from img2plate.ui.cli.shared.gather import gather, given
from img2plate.ui.cli.shared.types import FILES


@click.command(cls=Command)
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@with_options(PLATES_PALETTE_OPTION, name_option("Name of the pack; else as the plate says."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def sheets(plates: tuple[Path, ...], palette: str, name: str, as_json: bool, **values: Any) -> None:
    """Write the pack again from a plate that was touched up in a pixel editor.

    It is laid out as the plate was: boards, seams, front, paper. An option given here overrides it.

    \b
    img2plate sheets packs/gull/plate.png
    img2plate sheets touched.png --palette harbour-48 --name gull-by-night
    """
    from img2plate.pipeline import sheets as job
    from img2plate.pipeline.options import PackOptions

    one_name(name, plates)
    options, said = gather(PackOptions, with_bags(values)), given()
    run_each(
        plates,
        lambda path, _, bar: job.run(
            path, options, palette=palette, name=name, given=said, progress=bar
        ),
        tell_pack,
        as_json=as_json,
    )
