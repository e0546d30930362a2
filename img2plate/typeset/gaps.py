"""The picture of a palette's gaps: slices of sRGB by lightness, bare where beads do not reach."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from img2plate.colour.gamut import GAP, reach
from img2plate.colour.palette import Palette
from img2plate.colour.spaces import lab2linear, linear2bytes, linear2lab
from img2plate.typeset.look import ACCENT, INK, PAPER, QUIET, font

LEVELS = (20, 35, 50, 65, 80, 92)
"""L* of the slices."""
_REACH = 100
"""a* and b* go from minus to plus this."""
_STEP = 2.5
_PIXELS = 4


def write_gaps(path: Path, palette: Palette) -> None:
    """Write the slices as PNG: colours that sRGB has at each L*, bare of those out of reach, and
    the beads of about that lightness as dots."""
    from PIL import Image, ImageDraw

    at = np.arange(-_REACH, _REACH, _STEP) + _STEP / 2
    side, margin, head = len(at) * _PIXELS, 32, 96
    size = 3 * (side + margin) + margin, 2 * (side + margin + 28) + margin + head
    sheet = Image.new("RGB", size, PAPER)
    draw = ImageDraw.Draw(sheet)
    bold = font(32, bold=True)
    plain = font(18)
    draw.text((margin, margin), f"{palette.name}: reach", font=bold, fill=INK)
    said = f"full colour: a bead within {GAP:g} (CIEDE2000). Pale with dots: out of reach."
    draw.text((margin, margin + 42), said, font=plain, fill=QUIET)
    for number, level in enumerate(LEVELS):
        left = margin + number % 3 * (side + margin)
        top = margin + head + number // 3 * (side + margin + 28)
        draw.text((left, top), f"L* {level}", font=plain, fill=INK)
        sheet.paste(Image.fromarray(_slice(palette, level, at)), (left, top + 26))
        near = np.abs(palette.lab[:, 0] - level) < 8
        for _, a, b in palette.lab[near]:
            x = left + (a + _REACH) / (2 * _REACH) * side
            y = top + 26 + (_REACH - b) / (2 * _REACH) * side
            draw.ellipse((x - 4, y - 4, x + 4, y + 4), outline=INK, fill=PAPER, width=2)
    sheet.save(path, format="PNG")


def _slice(palette: Palette, level: float, at: np.ndarray) -> np.ndarray:
    """(s, s, 3) uint8 one slice; b* grows upwards."""
    b, a = np.meshgrid(at[::-1], at, indexing="ij")
    lab = np.stack([np.full_like(a, level), a, b], axis=-1)
    linear = np.asarray(lab2linear(lab))
    inside = ((linear >= -1e-3) & (linear <= 1 + 1e-3)).all(axis=-1)
    pixels = linear2bytes(np.clip(linear, 0, 1).astype(np.float32))
    off = np.zeros(a.shape, np.bool_)
    off[inside] = reach(np.asarray(linear2lab(linear[inside])), palette) > GAP
    pixels[off] = (pixels[off].astype(np.uint16) + 3 * 255) // 4
    pixels[~inside] = 255
    big = pixels.repeat(_PIXELS, axis=0).repeat(_PIXELS, axis=1)
    dots = np.zeros(big.shape[:2], np.bool_)
    dots[1::8, 1::8] = True
    accent = tuple(bytes.fromhex(ACCENT.removeprefix("#")))
    big[dots & off.repeat(_PIXELS, axis=0).repeat(_PIXELS, axis=1)] = accent
    return np.asarray(big)
