"""The command line: thin commands over the pipeline.

Only click is imported here, so that `--help` costs little more than importing click; each command
imports what it needs when it runs. Results for programs go to standard output, all that is meant
for people to standard error.
"""

from __future__ import annotations

import sys

import click

from img2plate import __version__
from img2plate.ui.cli.batch import batch
from img2plate.ui.cli.compare import compare
from img2plate.ui.cli.count import count
from img2plate.ui.cli.figure import figure
from img2plate.ui.cli.finish import finish
from img2plate.ui.cli.fit import fit
from img2plate.ui.cli.layout import layout
from img2plate.ui.cli.letters import letters
from img2plate.ui.cli.make import make
from img2plate.ui.cli.native import native
from img2plate.ui.cli.palette import palette
from img2plate.ui.cli.publish import publish
from img2plate.ui.cli.rebuild import rebuild
from img2plate.ui.cli.recolour import recolour
from img2plate.ui.cli.scatter import scatter
from img2plate.ui.cli.shared.command import Group
from img2plate.ui.cli.sheets import sheets
from img2plate.ui.cli.stock import stock
from img2plate.ui.cli.worktable import worktable


@click.group(cls=Group, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="img2plate")
def cli() -> None:
    """Turn a sprite or a photo into a plate of beads to build and iron.

    \b
    img2plate make lighthouse.png              a pack: plate, sheets, counts, pictures
    img2plate make harbour.jpg --boards 2x2    as large as fits on 2 x 2 boards
    img2plate batch pictures --out packs       thousands of pictures, on a cluster
    img2plate compare harbour.jpg --palette quay-24 --palette sea-96   side by side
    img2plate sheets packs/harbour/plate.png   the pack again, after touching up
    img2plate scatter plate.png --scatter hbr  companion beads over a flat colour
    img2plate finish plate.png --join bridges  in one piece, with an outline, a hole to hang
    img2plate letters "PIER 7" --height 9       lettering, by itself or on a plate
    img2plate layout packs/*/plate.png         several plates on as few boards as can be
    img2plate recolour plate.png --all-colours the same plate in other colours
    img2plate rebuild plate.png --palette x    the same plate in another palette
    img2plate count packs/*/plate.png          beads of several plates together
    img2plate publish packs/* --out site       pages for the web, with downloads
    img2plate native screenshot.png            a sprite's own pixels, out of any enlargement
    img2plate palette list                     the colours on offer
    img2plate fit --coin "2 euro"              tabs, slots, openings: will it fit
    img2plate figure lamp.toml                 plates that click together
    img2plate worktable --open                 all of it on a page, by looking and choosing
    """


for command in (
    make, batch, sheets, compare, count, scatter, finish, letters, layout, recolour, rebuild,
    native, palette, stock, fit, figure, publish, worktable,
):  # fmt: skip
    cli.add_command(command)


def main() -> None:
    """Run the command line; known errors are one line, and the exit code tells their kind."""
    try:
        sys.exit(cli.main(standalone_mode=False) or 0)
    except click.exceptions.NoArgsIsHelpError as error:
        error.show()
        sys.exit(error.exit_code)
    except click.exceptions.Abort:
        _leave("stopped; nothing is left half-written", 130)
    except click.ClickException as error:
        _leave(error.format_message(), error.exit_code)
    except MemoryError:
        _leave("not enough memory for this; make the picture or the plate smaller", 1)


def _leave(message: str, code: int) -> None:
    """Say one line and go."""
    click.echo(f"img2plate: {' '.join(message.split())}", err=True)
    sys.exit(code)
