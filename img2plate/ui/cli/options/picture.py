"""How the picture is read."""

from __future__ import annotations

import click

from img2plate.ui.cli.shared.command import headed
from img2plate.ui.cli.shared.types import BOX, CROP, FRAME, PAIR, Suggested

_option = headed("Picture")
CELL_OPTIONS = [
    _option("--cells", type=PAIR, metavar="WxH", help="Native cells of a sprite, when known."),
    _option("--cell-px", type=float, metavar="P", help="Pixels a native cell, when known."),
]
CROP_OPTION = _option(
    "--crop",
    type=CROP,
    metavar="X,Y,W,H|auto",
    help="Part of the picture, in pixels; auto: the pixel art on a screenshot.",
)
PICTURE_OPTIONS = [
    _option(
        "--source",
        type=click.Choice(["auto", "sprite", "drawing", "photo"]),
        default="auto",
        show_default=True,
        help="A sprite keeps its pixels, a drawing stays flat, a photo is shaded.",
    ),
    *CELL_OPTIONS,
    CROP_OPTION,
    _option(
        "--background",
        type=Suggested("background", "keep", "clear", "clear-all"),
        default="keep",
        show_default=True,
        metavar="keep|clear|clear-all|#RRGGBB",
        help="Keep it, clear it from the border inwards, also what the subject encloses, or fill"
        " what is see-through.",
    ),
    _option(
        "--subject",
        type=BOX,
        metavar="X,Y,W,H",
        help="A box round the subject of a photo, in pixels, for --background clear.",
    ),
    _option("--trim", is_flag=True, help="Cut off empty columns and rows at the sides."),
    _option(
        "--max-megapixels",
        type=click.FloatRange(min=0, min_open=True),
        default=120.0,
        show_default=True,
        help="Refuse larger pictures.",
    ),
]
SEVERAL_OPTIONS = [
    _option("--apart", is_flag=True, help="Each sprite on the picture by itself: NAME-a1, ..."),
    _option(
        "--gap",
        type=click.IntRange(min=0),
        metavar="N",
        help="With --apart: parts up to N empty cells apart are one sprite.",
    ),
    _option(
        "--frame", type=FRAME, metavar="N|all", help="Of an animation, from 1, or all of them."
    ),
]
