"""The proof sheet of colourways: the plate and each way to colour it, side by side."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, sqrt
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.plate.plate import Plate
from img2plate.plate.recolour import Colourway
from img2plate.typeset.beads import pressed, stamp
from img2plate.typeset.look import GROUND, INK, QUIET, font_file

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_MARGIN, _GAP, _CAPTION, _HEAD = 36, 28, 74, 76
_SIDE = 320
"""Pixels of a picture's long side, about."""
_DOT = 20
_MOST_DOTS = 10


def write_colourways(path: Path, plate: Plate, ways: Sequence[Colourway]) -> None:
    """Write the plate as it is and all its colourways as one PNG."""
    draw_colourways(plate, ways).save(path, format="PNG", compress_level=3)


def draw_colourways(plate: Plate, ways: Sequence[Colourway]) -> Image.Image:
    """Draw the plate as it is, then each colourway with its target, name and new colours."""
    from PIL import Image, ImageDraw, ImageFont

    pixels = max(2, _SIDE // max(plate.size))
    wide = max(plate.size[0] * pixels, 220)
    step = (wide + _GAP, plate.size[1] * pixels + _CAPTION + _GAP)
    number = len(ways) + 1
    columns = min(number, max(2, round(sqrt(number * step[1] / step[0] * 1.3))))
    rows = ceil(number / columns)
    size = columns * step[0] - _GAP + 2 * _MARGIN, rows * step[1] - _GAP + 2 * _MARGIN + _HEAD
    sheet = Image.new("RGB", size, GROUND)
    draw = ImageDraw.Draw(sheet)
    bold = ImageFont.truetype(str(font_file(bold=True)), 32)
    draw.text((_MARGIN, _MARGIN), f"{plate.name}: {len(ways)} colourways", font=bold, fill=INK)
    stamps = pressed(plate.palette, pixels, 4.0)
    beads = plate.palette.beads
    for place in range(number):
        corner = (
            _MARGIN + place % columns * step[0],
            _MARGIN + _HEAD + place // columns * step[1],
        )
        way = ways[place - 1] if place else None
        shown = way.plate if way else plate
        sheet.paste(Image.fromarray(stamp(shown.cells, stamps)), corner)
        title = beads[way.target].code if way else "as it is"
        rest = beads[way.target].name if way else ""
        below = corner[0], corner[1] + plate.size[1] * pixels + 8
        _caption(draw, below, title, rest, wide)
        used = list(way.changed.values()) if way else np.flatnonzero(plate.counts()).tolist()
        _dots(draw, (below[0], below[1] + 32), [beads[index].hex for index in used])
    return sheet


def _caption(
    draw: ImageDraw.ImageDraw, corner: tuple[int, int], title: str, rest: str, wide: int
) -> None:
    """Code in bold, name beside it, cut to the width."""
    from PIL import ImageFont

    bold = ImageFont.truetype(str(font_file(bold=True)), 20)
    plain = ImageFont.truetype(str(font_file()), 20)
    draw.text(corner, title, font=bold, fill=INK)
    at = corner[0] + draw.textlength(title, font=bold) + 10
    while rest and at + draw.textlength(rest, font=plain) > corner[0] + wide:
        rest = rest.rstrip("…")[:-1].rstrip() + "…" if len(rest) > 1 else ""
    draw.text((at, corner[1]), rest, font=plain, fill=QUIET)


def _dots(draw: ImageDraw.ImageDraw, corner: tuple[int, int], colours: Sequence[str]) -> None:
    """The colours as a row of round swatches with holes, dark to light."""
    for number, colour in enumerate(colours[:_MOST_DOTS]):
        left = corner[0] + number * (_DOT + 4)
        draw.ellipse((left, corner[1], left + _DOT, corner[1] + _DOT), fill=colour)
        hole = _DOT * 0.26
        middle = left + _DOT / 2, corner[1] + _DOT / 2
        draw.ellipse(
            (middle[0] - hole, middle[1] - hole, middle[0] + hole, middle[1] + hole), fill=GROUND
        )
