"""`img2plate make` and `img2plate sheets`: both end in a pack."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

from img2plate.ui.cli.choice_options import choice_options, gather_choice
from img2plate.ui.cli.progress import Bar
from img2plate.ui.cli.sheet_options import gather, sheet_options

if TYPE_CHECKING:
    from img2plate.options import PackOptions
    from img2plate.pipeline import Pack

Command = TypeVar("Command", bound=Callable[..., Any])
FILES = click.Path(path_type=Path)


def pack_options(command: Command) -> Command:
    """Add the options that say how a plate is cut, counted and printed."""
    options = [
        click.option(
            "--out",
            type=FILES,
            default="packs",
            show_default=True,
            metavar="DIR",
            help="Folder for the packs; each is a folder in it, named as its picture.",
        ),
        click.option("--json", "as_json", is_flag=True, help="One JSON object a pack, on stdout."),
        click.option(
            "--board", default="29x29", show_default=True, metavar="CxR", help="Pegs of a board."
        ),
        click.option(
            "--pitch", type=float, metavar="MM", help="Peg to peg; else as the palette says."
        ),
        click.option(
            "--paper",
            type=click.Choice(["A4", "A3", "Letter", "Tabloid"], case_sensitive=False),
            default="A4",
            show_default=True,
            help="What the sheets are printed on.",
        ),
        click.option(
            "--thickness",
            type=click.FloatRange(0.5, 20),
            default=4.0,
            show_default=True,
            metavar="MM",
            help="Pressed plate, for the pressed look.",
        ),
        click.option(
            "--spare",
            type=float,
            default=5.0,
            show_default=True,
            metavar="PERCENT",
            help="Beads to have over.",
        ),
        click.option(
            "--seconds-per-bead",
            type=float,
            default=4.0,
            show_default=True,
            help="For the estimate of hours.",
        ),
    ]
    command = sheet_options(command)
    for option in reversed(options):
        command = option(command)
    return command


def scatter_options(command: Command) -> Command:
    """Add the options of scatter."""
    options = [
        click.option(
            "--scatter",
            multiple=True,
            metavar="CODE[:COMPANION[:PERCENT]]",
            help="Strew companion beads over a flat colour; may be given for several colours.",
        ),
        click.option(
            "--light",
            type=float,
            metavar="DEG",
            help="Scatter lighter towards the light, darker away: 0 from the right, 90 the top.",
        ),
    ]
    for option in reversed(options):
        command = option(command)
    return command


@click.command()
@click.argument("images", nargs=-1, required=True, type=FILES, metavar="IMAGE...")
@click.option(
    "--palette",
    default="harbour-48",
    show_default=True,
    metavar="NAME|FILE",
    help="A bundled palette, or your own CSV or .gpl file.",
)
@click.option("--width", type=int, metavar="N", help="Beads across; the height follows.")
@click.option("--height", type=int, metavar="N", help="Beads down; the width follows.")
@click.option("--size", default="", metavar="WxH", help="As large as fits into W x H beads.")
@click.option("--boards", default="", metavar="CxR", help="As large as fits on C x R boards.")
@click.option("--mm", default="", metavar="WxH", help="As large as fits into W x H mm.")
@click.option(
    "--fit",
    type=click.Choice(["cover", "contain", "stretch"]),
    help="Fill the whole size: cut off, leave margins, or distort.",
)
@click.option(
    "--source",
    type=click.Choice(["auto", "sprite", "photo"]),
    default="auto",
    show_default=True,
    help="A sprite keeps its pixels, a photo is averaged.",
)
@click.option("--cells", default="", metavar="WxH", help="Native cells of a sprite, when known.")
@click.option("--cell-px", type=float, metavar="P", help="Pixels a native cell, when known.")
@click.option("--crop", default="", metavar="X,Y,W,H", help="Part of the picture, in pixels.")
@click.option(
    "--background",
    default="keep",
    show_default=True,
    metavar="keep|clear|#RRGGBB",
    help="Keep it, clear an even one, or fill what is see-through.",
)
@click.option(
    "--shading",
    default="auto",
    show_default=True,
    metavar="NAME",
    help="none, search, floyd-steinberg, jarvis-judice-ninke, stucki, burkes, sierra, atkinson,"
    " bayer or blue-noise; auto: none for a sprite, search for a photo.",
)
@click.option(
    "--difference",
    default="hyab",
    show_default=True,
    metavar="NAME",
    help="How --shading none compares colours: hyab, ciede2000, cielab or oklab.",
)
@click.option(
    "--specks",
    default="auto",
    show_default=True,
    metavar="free|few|none|PERCENT",
    help="Beads without a neighbour of their colour; auto: few with search, else free.",
)
@click.option(
    "--keep-apart",
    type=click.FloatRange(min=0),
    default=15.0,
    show_default=True,
    metavar="DE",
    help="How far off a bead may be (CIEDE2000) to keep two colours of a sprite apart.",
)
@click.option(
    "--strength",
    type=click.FloatRange(0, 1),
    default=1.0,
    show_default=True,
    help="How much of the shading.",
)
@click.option(
    "--viewing-distance",
    type=float,
    metavar="M",
    help="Metres, for search and look error; else twice the plate's diagonal, at least 0.5.",
)
@click.option("--seed", type=int, default=0, show_default=True, help="Same seed, same plate.")
@click.option(
    "--most-megapixels",
    type=click.FloatRange(min=0, min_open=True),
    default=120.0,
    show_default=True,
    help="Refuse larger pictures.",
)
@choice_options
@scatter_options
@pack_options
def make(images: tuple[Path, ...], **values: Any) -> None:
    """Make a pack from each picture: plate, preview, sheets, counts, follow-along page.

    A sprite needs no size: its native grid is found, also when it was enlarged, smoothed or
    compressed, and each native pixel is one bead. A photo without a size gets 58 beads on its
    long side.

    \b
    img2plate make gull.png
    img2plate make harbour.jpg --boards 2x2 --palette sea-96
    img2plate make harbour.jpg --size 58x58 --fit cover --specks none --viewing-distance 3
    img2plate make harbour.jpg --colours 16 --stock my-beads.csv
    img2plate make logo.png --width 40 --background clear --json
    """
    from dataclasses import fields

    from img2plate.image.target import SourceOptions
    from img2plate.options import MakeOptions, SizeOptions
    from img2plate.pipeline import make as make_pack
    from img2plate.plate.scatter import ScatterOptions
    from img2plate.plate.shading import ShadingOptions

    options = MakeOptions(
        palette=values["palette"],
        source=SourceOptions(*(values[f.name] for f in fields(SourceOptions))),
        size=SizeOptions(*(values[k] for k in ("width", "height", "size", "boards", "mm", "fit"))),
        shading=ShadingOptions(*(values[f.name] for f in fields(ShadingOptions))),
        choice=gather_choice(values),
        stock=values["stock"],
        stock_advice=values["stock_advice"],
        viewing_distance_m=values["viewing_distance"],
        pack=gather_pack(values),
        scatter=ScatterOptions(values["scatter"], values["light"], values["seed"]),
    )
    names = unique_names(path.stem for path in images)
    run_each(
        images,
        lambda path, name, bar: make_pack(path, options, name=name, progress=bar),
        names,
        as_json=values["as_json"],
    )


@click.command()
@click.argument("plates", nargs=-1, required=True, type=FILES, metavar="PLATE.png...")
@click.option(
    "--palette",
    default="",
    metavar="NAME|FILE",
    help="Needed when the editor dropped the plate's own note.",
)
@click.option("--name", default="", help="Name of the pack; else as the plate says.")
@pack_options
def sheets(plates: tuple[Path, ...], palette: str, name: str, **values: Any) -> None:
    """Write the pack again from a plate that was touched up in a pixel editor.

    \b
    img2plate sheets packs/gull/plate.png
    img2plate sheets touched.png --palette harbour-48 --name gull-by-night
    """
    from img2plate.pipeline import write_again

    if name and len(plates) > 1:
        raise click.UsageError("--name goes with one plate; leave it out for several")
    options = gather_pack(values)
    run_each(
        plates,
        lambda path, _, bar: write_again(path, options, palette=palette, name=name, progress=bar),
        [path.stem for path in plates],
        as_json=values["as_json"],
    )


def gather_pack(values: dict[str, Any]) -> PackOptions:
    """Gather the shared options."""
    from img2plate.options import PackOptions

    return PackOptions(
        out=values["out"],
        board=values["board"],
        pitch_mm=values["pitch"],
        paper=values["paper"],
        thickness_mm=values["thickness"],
        spare_percent=values["spare"],
        seconds_per_bead=values["seconds_per_bead"],
        sheets=gather(values),
    )


def unique_names(stems: Iterable[str]) -> list[str]:
    """Number the later ones of equal names, so that two pictures do not share a pack."""
    taken: set[str] = set()
    names = []
    for stem in stems:
        name, number = stem, 2
        while name in taken:
            name, number = f"{stem}-{number}", number + 1
        taken.add(name)
        names.append(name)
    return names


def run_each(
    paths: tuple[Path, ...],
    run: Callable[[Path, str, Bar], Pack],
    names: list[str],
    *,
    as_json: bool,
) -> None:
    """Run one after the other; one that fails does not lose the others, but sets the exit code."""
    from img2plate.base.errors import PlateError

    failed = 0
    for path, name in zip(paths, names, strict=True):
        try:
            with Bar(path.name) as bar:
                pack = run(path, name, bar)
        except PlateError as error:
            click.echo(f"img2plate: {error}", err=True)
            failed = failed or error.exit_code
            continue
        if as_json:
            click.echo(json.dumps(pack.as_json(), ensure_ascii=False))
        _tell(pack)
    if failed:
        raise click.exceptions.Exit(int(failed))


def _tell(pack: Pack) -> None:
    """Say in a few lines what was made, and where it is."""
    (width, height), (mm_wide, mm_high) = pack.plate.size, pack.plate.size_mm
    counts, across_down = pack.counts, pack.split.map_size
    click.echo(
        f"{pack.folder}: {width} x {height} cells, {mm_wide / 10:g} x {mm_high / 10:g} cm,"
        f" {counts.beads:,} beads in {len(counts.colours)} colours,"
        f" {across_down[0]} x {across_down[1]} boards, about {counts.hours:.1f} hours",
        err=True,
    )
    if looks := pack.looks:
        click.echo(
            f"  look error {looks.error:.1f} from {looks.distance_m:.1f} m,"
            f" SSIM {looks.similarity:.2f}, {looks.specks:.0%} specks",
            err=True,
        )
    for note in pack.notes:
        click.echo(f"  {note}", err=True)
    click.echo("  print sheets.pdf at 100 %, or open follow.html on a phone", err=True)
