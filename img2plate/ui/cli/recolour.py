"""`img2plate recolour`: the same plate, or figure, in other colours."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from img2plate.base.errors import OptionError
from img2plate.base.words import many
from img2plate.ui.cli.figure import figure
from img2plate.ui.cli.options.boards import PACK_OPTIONS, with_bags
from img2plate.ui.cli.options.colours import ASKED_STOCK_OPTION, PLATES_PALETTE_OPTION
from img2plate.ui.cli.options.output import PACK_OUTPUT_OPTIONS, name_option
from img2plate.ui.cli.shared.command import Command, headed, spoken, with_options
from img2plate.ui.cli.shared.each import echo_json
from img2plate.ui.cli.shared.gather import gather, given
from img2plate.ui.cli.shared.progress import Bar
from img2plate.ui.cli.shared.types import CODES, FILES, joined

if TYPE_CHECKING:
    from img2plate.pipeline.recolour import Recoloured
    from img2plate.pipeline.recolour_figure import RecolouredFigure

_option = headed("Colours")


@click.command(cls=Command)
@click.argument("plate", type=FILES, metavar="PLATE.png|FIGURE.toml")
@click.argument("targets", nargs=-1, type=CODES, callback=joined, metavar="[CODE]...")
@_option("--all-colours", is_flag=True, help="One colourway for every colour of the palette.")
@_option(
    "--every",
    is_flag=True,
    help="One for each colour that has the shades for it, no two that look alike.",
)
@_option(
    "--base",
    default="",
    metavar="CODE",
    help="What is recoloured, with its shades; else the middle shade of the most used hue.",
)
@_option(
    "--keep-colour",
    "keep_colours",
    type=CODES,
    callback=joined,
    multiple=True,
    metavar="CODE",
    help="Leave this colour as it is, though a shade of it. May be given more than once, or as"
    " a,b,c.",
)
@_option(
    "--also-colour",
    "also_colours",
    type=CODES,
    callback=joined,
    multiple=True,
    metavar="CODE",
    help="Recolour this colour too, though it seems no shade. May be given more than once.",
)
@_option("--write-packs", is_flag=True, help="Also write a pack of each, NAME-CODE.")
@with_options(ASKED_STOCK_OPTION, PLATES_PALETTE_OPTION)
@with_options(name_option("Name of the proof sheet; else as the plate says."))
@with_options(PACK_OPTIONS, PACK_OUTPUT_OPTIONS)
def recolour(plate: Path, as_json: bool, **values: Any) -> None:
    """Show a plate or a figure in other colours on one proof sheet, its light and shade kept.

    A base colour and its shades move together to each CODE and its shades; the rest stays. For a
    figure the colourways are also printed as the tables that its description takes.

    \b
    img2plate recolour packs/trawler/plate.png stb lmp dsk
    img2plate recolour packs/trawler/plate.png --all-colours --stock my-beads.csv
    img2plate recolour packs/trawler/plate.png stb --base prt --keep-colour prt+ --write-packs
    img2plate recolour harbour-lamp.toml --base prt --every --stock my-beads.csv
    img2plate recolour harbour-lamp.toml stb hbr- --base prt >> harbour-lamp.toml
    """
    from img2plate.pipeline import recolour as job
    from img2plate.pipeline.options import PackOptions

    options, pack = gather(job.RecolourOptions, values), gather(PackOptions, with_bags(values))
    done: Recoloured | RecolouredFigure
    if plate.suffix.lower() == ".toml":
        from img2plate.pipeline import recolour_figure

        _refuse_of_plates()
        with Bar(plate.name) as bar:
            done = recolour_figure.run(plate, options, pack, progress=bar)
        if not as_json:
            click.echo(done.tables, nl=False)
    else:
        with Bar(plate.name) as bar:
            done = job.run(plate, options, pack, given=given(), progress=bar)
    if as_json:
        echo_json(done)
    covered = "" if done.missing is None else f", the stock covers {list(done.missing).count({})}"
    click.echo(f"{done.proof}: {many(len(done.ways), 'colourway')}{covered}", err=True)
    for note in done.notes:
        click.echo(f"  {spoken(note)}", err=True)
    for each in done.packs:
        click.echo(f"  written {each.folder}", err=True)


def _refuse_of_plates() -> None:
    """Raise for an option that was given and that a figure's pack does not take."""
    taken = {"name", *(option.name for option in figure.params)}
    for option in recolour.params:
        of_packs = getattr(option, "heading", "") in ("Boards and paper", "Output")
        if of_packs and option.name in given() - taken:
            raise OptionError("is for plates, not for figures", field=str(option.name))
