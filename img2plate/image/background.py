"""What lies behind the subject: keep it, clear it, or fill the see-through parts with a colour."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.base.errors import OptionError
from img2plate.colour.difference import delta_E_CIE1976
from img2plate.colour.spaces import bytes2linear, hex2srgb, linear2lab

LIKE_DE = 6.0
"""CIELAB difference under which a pixel counts as background; chosen by trying, no source."""


def apply_background(pixels: Pixels, background: str) -> tuple[Pixels, tuple[str, ...]]:
    """Do what is asked of the background: `keep`, `clear` or `#RRGGBB`. Returns pixels and notes.

    Raises OptionError for anything else.
    """
    if background == "keep":
        return pixels, ()
    if background == "clear":
        return clear_background(pixels)
    try:
        colour = hex2srgb(background)
    except ValueError:
        raise OptionError(
            "is not keep, clear or #RRGGBB", field="background", value=background
        ) from None
    return fill_background(pixels, colour), ()


def fill_background(pixels: Pixels, colour: tuple[int, int, int]) -> Pixels:
    """Put an opaque colour behind the picture, mixed in linear light."""
    from img2plate.colour.spaces import linear2bytes

    clear = pixels[..., 3] < 255
    filled = pixels.copy()
    alpha = (pixels[clear, 3:].astype(np.float32)) / 255
    behind = bytes2linear(np.array(colour, np.uint8))
    filled[clear, :3] = linear2bytes(bytes2linear(pixels[clear, :3]) * alpha + behind * (1 - alpha))
    filled[..., 3] = 255
    return filled


def clear_background(pixels: Pixels) -> tuple[Pixels, tuple[str, ...]]:
    """Make see-through what is like the border's commonest colour and hangs together with it."""
    from scipy.ndimage import label

    edge = _border(pixels.shape[:2]) & (pixels[..., 3] > 0)
    if not edge.any():
        return pixels, ("the border is see-through already: nothing cleared",)
    colours, numbers = np.unique(pixels[edge][:, :3], axis=0, return_counts=True)
    like = (_difference(pixels, colours[numbers.argmax()]) < LIKE_DE) & (pixels[..., 3] > 0)
    if np.count_nonzero(like & edge) < 0.25 * np.count_nonzero(edge):
        return pixels, ("no even background along the border: nothing cleared",)
    regions, _ = label(like)
    outer = np.unique(regions[edge & like])
    cleared = pixels.copy()
    cleared[np.isin(regions, outer), 3] = 0
    if not cleared[..., 3].any():
        return pixels, ("the whole picture is like its border: nothing cleared",)
    return cleared, ()


def _border(shape: tuple[int, ...]) -> Mask:
    """(h, w) bool, the outermost pixels."""
    border = np.zeros(shape, dtype=np.bool_)
    border[[0, -1]] = border[:, [0, -1]] = True
    return border


def _difference(pixels: Pixels, colour: NDArray[np.uint8]) -> NDArray[np.float32]:
    """(h, w) CIELAB difference of each pixel to a colour (3,) uint8."""
    lab = linear2lab(bytes2linear(colour))
    height = pixels.shape[0]
    out = np.empty(pixels.shape[:2], np.float32)
    for top in range(0, height, 256):  # by bands: Lab of a large photo would take gigabytes
        band = slice(top, top + 256)
        out[band] = delta_E_CIE1976(linear2lab(bytes2linear(pixels[band, :, :3])), lab)
    return out
