"""`img2plate worktable`: a local page that makes plates by looking and choosing."""

from __future__ import annotations

from pathlib import Path

import click

from img2plate.ui.cli.shared.command import Command
from img2plate.ui.cli.shared.types import FILES


@click.command(cls=Command)
@click.option(
    "--port", type=int, default=8417, show_default=True, metavar="N",
    help="Where the page listens, on this machine alone; 0 for any free port.",
)  # fmt: skip
@click.option("--open", "open_it", is_flag=True, help="Also open it in your browser.")
@click.option(
    "--folder", type=FILES, metavar="DIR", help="Where projects are kept; else in your user data."
)
@click.option(
    "--share", is_flag=False, flag_value="", metavar="[ADDRESS]",
    help="Let a phone in your network follow a plate, once you ask for it on the page; at this "
    "address of the machine if it has several.",
)  # fmt: skip
def worktable(port: int, open_it: bool, folder: Path | None, share: str | None) -> None:
    """Start a page to make plates on: drop a picture, choose among proofs, refine, download.

    It says its address, which holds a secret word of this start, and runs until Ctrl-C. Nothing
    leaves this machine unless you say --share. A plate made here is the one that `make` makes with
    the same settings.

    \b
    img2plate worktable --open
    img2plate worktable --port 0 --folder projects
    img2plate worktable --share
    """
    from img2plate.ui.worktable.web.serve import serve

    def ready(address: str) -> None:
        click.echo(address)
        if open_it:
            click.launch(address)

    serve(port, folder, ready, share)
