"""What several commands share: how options are added, and those on pictures, sizes and scatter."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import click

if TYPE_CHECKING:
    from img2plate.image.target import SourceOptions
    from img2plate.pipeline.options import SizeOptions

Command = TypeVar("Command", bound=Callable[..., Any])
FILES = click.Path(path_type=Path)
FILE = click.Path(path_type=Path, dir_okay=False)

PALETTE_OPTION = click.option(
    "--palette",
    default="harbour-48",
    show_default=True,
    metavar="NAME|FILE",
    help="A bundled palette, or your own CSV or .gpl file.",
)
VIEWING_OPTION = click.option(
    "--viewing-distance",
    type=float,
    metavar="M",
    help="Metres, for search and look error; else twice the plate's diagonal, at least 0.5.",
)
SIDE_OPTIONS = [
    click.option("--width", type=int, metavar="N", help="Beads across; the height follows."),
    click.option("--height", type=int, metavar="N", help="Beads down; the width follows."),
]
SIZE_OPTIONS = [
    click.option("--size", default="", metavar="WxH", help="As large as fits into W x H beads."),
    click.option("--boards", default="", metavar="CxR", help="As large as fits on C x R boards."),
    click.option("--mm", default="", metavar="WxH", help="As large as fits into W x H mm."),
    click.option(
        "--fit",
        type=click.Choice(["cover", "contain", "stretch"]),
        help="Fill the whole size: cut off, leave margins, or distort.",
    ),
]
PICTURE_OPTIONS = [
    click.option(
        "--source",
        type=click.Choice(["auto", "sprite", "drawing", "photo"]),
        default="auto",
        show_default=True,
        help="A sprite keeps its pixels, a drawing stays flat, a photo is shaded.",
    ),
    click.option(
        "--cells", default="", metavar="WxH", help="Native cells of a sprite, when known."
    ),
    click.option("--cell-px", type=float, metavar="P", help="Pixels a native cell, when known."),
    click.option("--crop", default="", metavar="X,Y,W,H", help="Part of the picture, in pixels."),
    click.option(
        "--background",
        default="keep",
        show_default=True,
        metavar="keep|clear|#RRGGBB",
        help="Keep it, clear an even one, or fill what is see-through.",
    ),
    click.option(
        "--most-megapixels",
        type=click.FloatRange(min=0, min_open=True),
        default=120.0,
        show_default=True,
        help="Refuse larger pictures.",
    ),
]
SCATTER_OPTIONS = [
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


def with_options(*options: Any) -> Callable[[Command], Command]:
    """Decorate a command with options, in their order; a list stands for all in it."""
    flat = [one for each in options for one in (each if isinstance(each, list) else [each])]

    def decorate(command: Command) -> Command:
        for option in reversed(flat):
            command = option(command)
        return command

    return decorate


def gather_source(values: dict[str, Any]) -> SourceOptions:
    """What a user wrote of the picture, as the pipeline takes it."""
    from dataclasses import fields

    from img2plate.image.target import SourceOptions

    return SourceOptions(*(values[field.name] for field in fields(SourceOptions)))


def gather_size(values: dict[str, Any]) -> SizeOptions:
    """What a user wrote of the size, as the pipeline takes it; None where a command has no such."""
    from dataclasses import fields

    from img2plate.pipeline.options import SizeOptions

    given = {f.name: values[f.name] for f in fields(SizeOptions) if f.name in values}
    return SizeOptions(**given)
