"""All colourways of a figure side by side, put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from img2plate.solid.box.build import Figure
from img2plate.typeset.colourways import draw_dots, draw_words, grid_for, stock_words
from img2plate.typeset.figure.drawings import draw_assembled
from img2plate.typeset.look import ACCENT, GROUND, QUIET, font

_MARGIN, _GAP, _HEAD, _CAPTION = 36, 28, 76, 74
_LINE = 26
"""For what a stock is missing."""
_SIDE, _SIDE_OF_MANY = 420, 320
"""Of a figure's picture, pixels; it is drawn larger, so that beads come out clean."""
_FEW = 8


@dataclass(frozen=True)
class Way:
    """A figure in one of its colourways."""

    name: str
    """Empty for the figure as it is described."""
    figure: Figure
    missing: Mapping[str, int] | None
    """Beads that a stock is missing, by code; None without a stock."""
    new: tuple[int, ...] = ()
    """Palette indices of the colours that are shown below it; else those of the figure."""


def write_ways(path: Path, title: str, ways: Sequence[Way]) -> None:
    """Write them as one PNG, each with its name, its colours and what a stock is missing."""
    from PIL import Image, ImageDraw

    side = _SIDE if len(ways) <= _FEW else _SIDE_OF_MANY
    caption = _CAPTION + _LINE * any(way.missing is not None for way in ways)
    step = side + _GAP, side + caption + _GAP
    columns, rows = grid_for(len(ways), step)
    size = columns * step[0] - _GAP + 2 * _MARGIN, rows * step[1] - _GAP + 2 * _MARGIN + _HEAD
    sheet = Image.new("RGB", size, GROUND)
    pen = ImageDraw.Draw(sheet)
    draw_words(pen, (_MARGIN, _MARGIN), title, _said(ways), size[0] - 2 * _MARGIN, size=32)
    for number, way in enumerate(ways):
        left = _MARGIN + number % columns * step[0]
        top = _MARGIN + _HEAD + number // columns * step[1]
        shown = draw_assembled(way.figure, most=2 * side)
        shown.thumbnail((side, side), Image.Resampling.LANCZOS)
        sheet.paste(shown, (left + (side - shown.width) // 2, top + side - shown.height))
        top += side + 12
        beads = way.figure.spec.palette.beads
        code = next((bead.name for bead in beads if bead.code == way.name), "")
        draw_words(pen, (left, top), way.name or "as it is", code, side)
        colours = way.new or np.argsort(-way.figure.counts(), kind="stable").tolist()
        used = [index for index in colours if way.figure.counts()[index]]
        draw_dots(pen, (left, top + 32), [beads[index].hex for index in used])
        if way.missing is not None:
            words, colour = stock_words(way.missing), ACCENT if way.missing else QUIET
            pen.text((left, top + 60), words, font=font(18), fill=colour)
    sheet.save(path, format="PNG", compress_level=3)


def _said(ways: Sequence[Way]) -> str:
    """How many there are, and for how many of them a stock suffices."""
    others = [way for way in ways if way.name]
    said = f"{len(others)} colourway{'' if len(others) == 1 else 's'}"
    if any(way.missing is not None for way in ways):
        said += f", the stock covers {[way.missing for way in others].count({})}"
    return said
