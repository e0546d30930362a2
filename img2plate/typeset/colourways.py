"""The proof sheet of colourways: the plate and each way to colour it, side by side."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil, sqrt
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.plate.plate import Plate
from img2plate.plate.recolour import Colourway
from img2plate.typeset.beads import pressed, stamp_pressed
from img2plate.typeset.ground import ground_for
from img2plate.typeset.look import ACCENT, GROUND, INK, QUIET, contrast, font
from img2plate.typeset.preview import framed

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_MARGIN, _GAP, _CAPTION, _LINE, _HEAD = 36, 28, 74, 26, 76
_SIDE = 320
"""Pixels of a picture's long side, about."""
_PANEL = 8
"""Of the ground round each picture, pixels."""
_CLOSED = 2.0
"""A thickness at which cells are full, mm."""
_DOT = 20
_MOST_DOTS = 10
_PALE = 1.4
"""Contrast to the ground below which a bead has a rim."""


def write_colourways(
    path: Path,
    plate: Plate,
    ways: Sequence[Colourway],
    missing: Sequence[Mapping[str, int]] | None = None,
) -> None:
    """Write the plate as it is and all its colourways as one PNG."""
    draw_colourways(plate, ways, missing).save(path, format="PNG", compress_level=3)


def draw_colourways(
    plate: Plate, ways: Sequence[Colourway], missing: Sequence[Mapping[str, int]] | None = None
) -> Image.Image:
    """Draw the plate as it is, then each colourway with its target, name and new colours.

    `missing` says for each way how many beads of which code the stock is missing: written below it.
    """
    from PIL import Image, ImageDraw

    pixels = max(2, _SIDE // max(plate.size))
    shrink = ceil(pixels * max(plate.size) / (2 * _SIDE))
    picture = [ceil(side * pixels / shrink) for side in plate.size]
    wide, caption = max(picture[0], 220), _CAPTION + (0 if missing is None else _LINE)
    across, down = wide + _GAP, picture[1] + caption + _GAP
    columns, rows = grid_for(len(ways) + 1, (across, down))
    size = columns * across - _GAP + 2 * _MARGIN, rows * down - _GAP + 2 * _MARGIN + _HEAD
    sheet = Image.new("RGB", size, GROUND)
    draw = ImageDraw.Draw(sheet)
    _headline(draw, plate, missing, len(ways), size[0] - 2 * _MARGIN)
    thickness = (
        4.0 if pixels > 4 else _CLOSED
    )  # holes of a pixel or two would only pale the picture
    ground = ground_for(plate, *(way.plate for way in ways))
    stamps, beads = pressed(plate.palette, pixels, thickness, ground), plate.palette.beads
    for place, way in enumerate((None, *ways)):
        left, top = _MARGIN + place % columns * across, _MARGIN + _HEAD + place // columns * down
        shown = Image.fromarray(stamp_pressed((way.plate if way else plate).cells, stamps))
        shown = framed(shown.reduce(shrink) if shrink > 1 else shown, ground, _PANEL)
        sheet.paste(shown, (left - _PANEL, top - _PANEL))
        top += picture[1] + 12
        title, rest = ("as it is", "")
        used = np.flatnonzero(plate.counts()).tolist()
        if way:
            title, rest = beads[way.target].code, beads[way.target].name
            used = list(way.changed.values())
        draw_words(draw, (left, top), title, rest, wide)
        draw_dots(draw, (left, top + 32), [beads[index].hex for index in used])
        if way and missing is not None:
            few = missing[place - 1]
            text, colour = stock_words(few), ACCENT if few else QUIET
            draw.text((left, top + 60), text, font=font(18), fill=colour)
    return sheet


def grid_for(number: int, step: tuple[int, int]) -> tuple[int, int]:
    """Columns and rows for so many pictures, of this size with what is round them.

    A sheet a little wider than high, its last row full, or nearly.
    """
    about = max(3, round(sqrt(number * step[1] / step[0] * 1.3)))
    columns = min(range(about + 1, about - 2, -1), key=lambda columns: -number % columns)
    columns = min(number, columns)
    return columns, ceil(number / columns)


def stock_words(missing: Mapping[str, int], *, most: int = 2) -> str:
    """Whether the stock covers a plate, else how many beads of which codes are missing; names the
    `most` codes of which it is missing the most."""
    if not missing:
        return "the stock covers it"
    named = ", ".join(f"{count:,} {code}" for code, count in list(missing.items())[:most])
    more = len(missing) - most
    return f"missing {named}" + (f" and {more} more" if more > 0 else "")


def _headline(
    draw: ImageDraw.ImageDraw,
    plate: Plate,
    missing: Sequence[Mapping[str, int]] | None,
    ways: int,
    wide: int,
) -> None:
    """Whose colourways these are, and for how many of them the stock suffices."""
    said = f"{ways} colourway{'' if ways == 1 else 's'}"
    if missing is not None:
        said += f", the stock covers {list(missing).count({})}"
    draw_words(draw, (_MARGIN, _MARGIN), plate.name, said, wide, size=32)


def draw_words(
    draw: ImageDraw.ImageDraw,
    corner: tuple[int, int],
    title: str,
    rest: str,
    wide: int,
    size: int = 20,
) -> None:
    """A title in bold, the rest beside it, cut to the width."""
    draw.text(corner, title, font=font(size, bold=True), fill=INK)
    at = corner[0] + draw.textlength(title, font=font(size, bold=True)) + size / 2
    while rest and at + draw.textlength(rest, font=font(size)) > corner[0] + wide:
        rest = rest.rstrip("…")[:-1].rstrip() + "…" if len(rest) > 1 else ""
    draw.text((at, corner[1]), rest, font=font(size), fill=QUIET)


def draw_dots(draw: ImageDraw.ImageDraw, corner: tuple[int, int], colours: Sequence[str]) -> None:
    """The colours as a row of round swatches with holes, dark to light."""
    for number, colour in enumerate(colours[:_MOST_DOTS]):
        left = corner[0] + number * (_DOT + 4)
        is_pale = contrast(colour, GROUND) < _PALE
        rim = QUIET if is_pale else colour
        draw.ellipse((left, corner[1], left + _DOT, corner[1] + _DOT), fill=colour, outline=rim)
        hole = _DOT * 0.26
        middle = left + _DOT / 2, corner[1] + _DOT / 2
        draw.ellipse(
            (middle[0] - hole, middle[1] - hole, middle[0] + hole, middle[1] + hole),
            fill=GROUND,
            outline=QUIET if is_pale else None,
        )
