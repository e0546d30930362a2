"""A palette as a picture: each colour a round bead with its hole, code and name below."""

from __future__ import annotations

from math import ceil
from pathlib import Path
from typing import TYPE_CHECKING

from img2plate.base.words import many
from img2plate.colour.companions import find_companions
from img2plate.colour.palette import Bead, Palette
from img2plate.typeset.beads import loose
from img2plate.typeset.look import INK, PAPER, QUIET, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_BEAD = 64
_CELL = (148, 132)
_COLUMNS = 8
_MARGIN = 32
_HEAD = 64


def write_swatches(path: Path, palette: Palette) -> None:
    """Write the picture of a palette as PNG."""
    draw_swatches(palette).save(path, format="PNG")


def draw_swatches(palette: Palette) -> Image.Image:
    """Draw a palette in its file's order, eight colours a row."""
    from PIL import Image, ImageDraw

    columns = min(_COLUMNS, len(palette))
    rows = ceil(len(palette) / columns)
    size = (
        max(columns, 4) * _CELL[0] + 2 * _MARGIN,
        rows * _CELL[1] + 2 * _MARGIN + _HEAD,
    )
    sheet = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(sheet)
    bold = font(32, bold=True)
    draw.text((_MARGIN, _MARGIN), palette.name, font=bold, fill=INK)
    said = many(len(palette), "colour")
    at = _MARGIN + draw.textlength(palette.name, font=bold) + 16
    draw.text((at, _MARGIN + 12), said, font=font(18), fill=QUIET)
    for number, (bead, picture) in enumerate(zip(palette.beads, _beads(palette), strict=True)):
        left = _MARGIN + number % columns * _CELL[0]
        top = _MARGIN + _HEAD + number // columns * _CELL[1]
        sheet.paste(picture, (left + (_CELL[0] - _BEAD) // 2, top))
        _caption(draw, bead, left + _CELL[0] / 2, top + _BEAD + 6)
    return sheet


def write_companions(path: Path, palette: Palette) -> None:
    """Write the picture of a palette's companions as PNG."""
    draw_companions(palette).save(path, format="PNG")


def draw_companions(palette: Palette) -> Image.Image:
    """Draw each colour between its darker and its lighter companion, four a row."""
    from PIL import Image, ImageDraw

    columns, cell = min(4, len(palette)), (300, 108)
    rows = ceil(len(palette) / columns)
    size = max(columns, 2) * cell[0] + 2 * _MARGIN, rows * cell[1] + 2 * _MARGIN + _HEAD
    sheet = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(sheet)
    draw.text((_MARGIN, _MARGIN), palette.name, font=font(32, bold=True), fill=INK)
    at = _MARGIN + draw.textlength(palette.name, font=font(32, bold=True)) + 16
    said = "darker companion, base, lighter companion"
    draw.text((at, _MARGIN + 12), said, font=font(18), fill=QUIET)
    pictures = _beads(palette)
    for number, pair in enumerate(find_companions(palette)):
        left = _MARGIN + number % columns * cell[0]
        top = _MARGIN + _HEAD + number // columns * cell[1]
        for place, index in enumerate((pair.darker, number, pair.lighter)):
            middle = left + 48 + 90 * place
            code = "-" if index is None else palette.beads[index].code
            if index is not None:
                sheet.paste(pictures[index], (middle - _BEAD // 2, top))
            face = font(16, bold=place == 1)
            colour = INK if place == 1 else QUIET
            draw.text((middle, top + _BEAD + 6), code, font=face, fill=colour, anchor="ma")
    return sheet


def _beads(palette: Palette) -> list[Image.Image]:
    """Each colour as a loose bead on paper."""
    from PIL import Image, ImageDraw

    mask = Image.new("L", (_BEAD * 4, _BEAD * 4), 0)
    draw = ImageDraw.Draw(mask)
    hole = palette.bead_size.hole_mm / palette.bead_size.outer_mm * _BEAD * 2
    draw.ellipse((6, 6, _BEAD * 4 - 6, _BEAD * 4 - 6), fill=255)
    middle = _BEAD * 2
    draw.ellipse((middle - hole, middle - hole, middle + hole, middle + hole), fill=0)
    mask = mask.resize((_BEAD, _BEAD), Image.Resampling.BOX)
    blank = Image.new("RGB", (_BEAD, _BEAD), PAPER)
    return [
        Image.composite(Image.fromarray(stamp), blank, mask)
        for stamp in loose(palette, _BEAD, PAPER)[:-1]
    ]


def _caption(draw: ImageDraw.ImageDraw, bead: Bead, middle: float, top: float) -> None:
    """Code in bold, name below, cut to the cell's width."""
    draw.text((middle, top), bead.code, font=font(16, bold=True), fill=INK, anchor="ma")
    if bead.name != bead.code:
        name = bead.name
        while draw.textlength(name, font=font(15)) > _CELL[0] - 8:
            name = name[:-2].rstrip() + "…"
        draw.text((middle, top + 20), name, font=font(15), fill=QUIET, anchor="ma")
