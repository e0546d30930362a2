"""`img2plate scatter`: companion beads strewn over flat areas of a plate."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import click

from img2plate.ui.cli.pack_options import PACK_OPTIONS, gather_pack
from img2plate.ui.cli.run_each import run_each
from img2plate.ui.cli.shared import FILES, SCATTER_OPTIONS, with_options


@click.command()
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@with_options(SCATTER_OPTIONS)
@click.option("--seed", type=int, default=0, show_default=True, help="Same seed, same beads.")
@click.option("--palette", default="", metavar="NAME|FILE", help="Else as the plate says.")
@click.option("--name", default="", help="Name of the pack; else the plate's with -scatter.")
@with_options(PACK_OPTIONS)
def scatter(plates: tuple[Path, ...], palette: str, name: str, **values: Any) -> None:
    """Strew companion beads over flat colours of a plate, and write its pack.

    Never on lines of one bead or small details; no two side by side unless the share forces it.

    \b
    img2plate scatter packs/lighthouse/plate.png --scatter hbr
    img2plate scatter plate.png --scatter hbr:hbr-:15 --scatter stb::8
    img2plate scatter plate.png --scatter hbr --light 135
    """
    from img2plate.pipeline import scatter as job

    if not values["scatter"]:
        raise click.UsageError("say what to strew: --scatter CODE, a colour of the plate")
    if name and len(plates) > 1:
        raise click.UsageError("--name goes with one plate; leave it out for several")
    wishes = job.ScatterOptions(values["scatter"], values["light"], values["seed"])
    options = gather_pack(values)
    run_each(
        plates,
        lambda path, _, bar: job.run(
            path, wishes, options, palette=palette, name=name, progress=bar
        ),
        [path.stem for path in plates],
        as_json=values["as_json"],
    )
