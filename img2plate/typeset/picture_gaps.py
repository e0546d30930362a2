"""The picture of what of a picture a palette cannot reach."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from img2plate.base.arrays import Pixels
from img2plate.colour.gamut import GAP
from img2plate.colour.palette import Palette
from img2plate.colour.picture_gamut import PictureGaps, UnreachedTone
from img2plate.colour.spaces import srgb2hex
from img2plate.typeset.look import GROUND, INK, PAPER, QUIET, font

if TYPE_CHECKING:
    from PIL import Image, ImageDraw

_MARGIN, _GAP, _HEAD = 32, 24, 84
_SIDE = 420
"""Pixels of the long side of each of the two pictures, about."""
_TONE = (_SIDE + _GAP // 2, 64)


def write_picture_gaps(
    path: Path, palette: Palette, title: str, pixels: Pixels, gaps: PictureGaps
) -> None:
    """Write as PNG: the picture (h, w, 4) uint8, beside it only what is out of reach, and below
    the tones missing in it, each with the bead that comes nearest."""
    from PIL import Image, ImageDraw

    both = [_shown(pixels), _shown(_only_far(pixels, gaps))]
    width = max(2 * both[0].width + _GAP, 2 * _TONE[0]) + 2 * _MARGIN
    below = _MARGIN + _HEAD + both[0].height + _GAP
    rows = -(-len(gaps.tones) // 2)
    sheet = Image.new("RGB", (width, below + rows * _TONE[1] + _MARGIN), PAPER)
    draw = ImageDraw.Draw(sheet)
    draw.text((_MARGIN, _MARGIN), f"{title} in {palette.name}", font=font(32, bold=True), fill=INK)
    said = f"Right: the {gaps.share:.0%} that no single bead comes within {GAP:g} of (CIEDE2000)."
    draw.text((_MARGIN, _MARGIN + 42), said, font=font(18), fill=QUIET)
    for number, picture in enumerate(both):
        left = _MARGIN + number * (picture.width + _GAP)
        sheet.paste(picture, (left, _MARGIN + _HEAD))
    for number, tone in enumerate(gaps.tones):
        at = _MARGIN + number % 2 * _TONE[0], below + number // 2 * _TONE[1]
        _tone(draw, at, tone, palette)
    sheet.save(path, format="PNG")


def _shown(pixels: Pixels) -> Image.Image:
    """A picture on the ground of pictures, small ones enlarged in whole pixels."""
    from PIL import Image

    image = Image.fromarray(pixels)
    ground = Image.new("RGBA", image.size, GROUND)
    ground.alpha_composite(image)
    times = max(1, _SIDE // max(image.size))
    size = image.width * times, image.height * times
    return ground.convert("RGB").resize(size, Image.Resampling.NEAREST)


def _only_far(pixels: Pixels, gaps: PictureGaps) -> Pixels:
    """The picture with all that is in reach see-through."""
    only = pixels.copy()
    only[..., 3] = np.where(gaps.far, only[..., 3], 0)
    return only


def _tone(
    draw: ImageDraw.ImageDraw, at: tuple[int, int], tone: UnreachedTone, palette: Palette
) -> None:
    """One tone: its colour, the nearest bead's beside it, and what they are."""
    left, top = at
    bead = palette.beads[tone.nearest]
    draw.rounded_rectangle((left, top, left + 72, top + 48), 6, fill=srgb2hex(tone.srgb))
    draw.ellipse((left + 80, top, left + 128, top + 48), fill=bead.hex)
    draw.ellipse((left + 93, top + 13, left + 115, top + 35), fill=PAPER)
    words = f"{srgb2hex(tone.srgb)}  {tone.share:.1%} of the picture"
    draw.text((left + 142, top), words, font=font(18, bold=True), fill=INK)
    said = f"nearest: {bead.code}, {tone.distance:.0f} off"
    draw.text((left + 142, top + 24), said, font=font(18), fill=QUIET)
