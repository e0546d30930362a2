"""What is left in stock as a picture: a bar for each colour, the fullest first."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from img2plate.base.words import many
from img2plate.colour.palette import Palette
from img2plate.typeset.look import ACCENT, GROUND, INK, PAPER, QUIET, font

if TYPE_CHECKING:
    from PIL import Image

_MARGIN, _HEAD, _LINE = 32, 64, 34
_BAR = 420
_WIDE = 900


def draw_stock(
    palette: Palette, counts: NDArray[np.int64], owned: NDArray[np.bool_]
) -> Image.Image:
    """Draw counts (n,) of a palette's colours; those that are used up follow, in the accent.

    owned: (n,) whether a colour was ever owned; those that never were stand last, in quiet words.
    """
    from PIL import Image, ImageDraw

    order = np.lexsort((-counts, ~owned)).tolist()
    sheet = Image.new("RGB", (_WIDE, 2 * _MARGIN + _HEAD + _LINE * len(order)), PAPER)
    draw = ImageDraw.Draw(sheet)
    bold = font(32, bold=True)
    plain = font(19)
    title = f"{many(int(counts.sum()), 'bead')} of {palette.name}"
    draw.text((_MARGIN, _MARGIN), title, font=bold, fill=INK)
    most = max(1, int(counts.max()))
    for line, index in enumerate(order):
        bead, count, top = palette.beads[index], int(counts[index]), _MARGIN + _HEAD + line * _LINE
        draw.text((_MARGIN, top), bead.code, font=plain, fill=INK)
        name = bead.name if len(bead.name) <= 18 else bead.name[:17] + "…"
        draw.text((_MARGIN + 90, top), name, font=plain, fill=QUIET)
        left = _MARGIN + 270
        draw.rounded_rectangle((left, top, left + _BAR, top + 24), 6, fill=GROUND)
        if count:
            right = left + max(12, round(_BAR * count / most))
            draw.rounded_rectangle((left, top, right, top + 24), 6, fill=bead.hex, outline=QUIET)
        words, colour = f"{count:,}", INK
        if not count:
            words, colour = ("used up", ACCENT) if owned[index] else ("never owned", QUIET)
        draw.text((_WIDE - _MARGIN, top), words, font=plain, fill=colour, anchor="ra")
    return sheet
