"""All colourways of a figure side by side, put together."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import ceil
from pathlib import Path

from img2plate.solid.box.build import Figure
from img2plate.typeset.colourways import stock_words
from img2plate.typeset.figure.drawings import draw_assembled
from img2plate.typeset.look import ACCENT, GROUND, INK, QUIET, font

_SIDE, _MARGIN, _GAP, _HEAD, _CAPTION = 420, 36, 28, 70, 66
_MOST_ACROSS = 4


@dataclass(frozen=True)
class Way:
    """A figure in one of its colourways."""

    name: str
    """Empty for the figure as it is described."""
    figure: Figure
    missing: Mapping[str, int] | None
    """Beads that a stock is missing, by code; None without a stock."""


def write_ways(path: Path, title: str, ways: Sequence[Way]) -> None:
    """Write them as one PNG, each with its name, its colours and what a stock is missing."""
    from PIL import Image, ImageDraw

    across = min(_MOST_ACROSS, len(ways))
    down = ceil(len(ways) / across)
    step = _SIDE + _GAP, _SIDE + _CAPTION + _GAP
    size = across * step[0] - _GAP + 2 * _MARGIN, down * step[1] - _GAP + 2 * _MARGIN + _HEAD
    sheet = Image.new("RGB", size, GROUND)
    pen = ImageDraw.Draw(sheet)
    pen.text((_MARGIN, _MARGIN - 6), title, font=font(32, bold=True), fill=INK)
    for number, way in enumerate(ways):
        left = _MARGIN + number % across * step[0]
        top = _MARGIN + _HEAD + number // across * step[1]
        shown = draw_assembled(way.figure, most=_SIDE)
        shown.thumbnail((_SIDE, _SIDE))
        sheet.paste(shown, (left + (_SIDE - shown.width) // 2, top + _SIDE - shown.height))
        name = way.name or "as it is"
        pen.text((left, top + _SIDE + 10), name, font=font(20, bold=True), fill=INK)
        words, colour = _below(way)
        pen.text((left, top + _SIDE + 38), words, font=font(16), fill=colour)
    sheet.save(path, format="PNG", compress_level=3)


def _below(way: Way) -> tuple[str, str]:
    """How many colours it takes, or what is missing of them."""
    if way.missing is None:
        colours = int((way.figure.counts() > 0).sum())
        return f"{colours} {'colour' if colours == 1 else 'colours'}", QUIET
    return stock_words(way.missing), ACCENT if way.missing else QUIET
