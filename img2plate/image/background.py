"""What lies behind the subject: keep it, clear it, or fill the see-through parts with a colour.

An even background is cleared from the border inwards. Of a sprite this is done on its cells, never
on the picture they are taken from: a hard hole in a soft picture would hide its grid.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask, Pixels
from img2plate.base.errors import OptionError
from img2plate.colour.difference import delta_E_CIE1976
from img2plate.colour.spaces import bytes2linear, hex2srgb, linear2lab, srgb2hex

CLEARING = ("clear", "clear-all")
"""Clear what hangs together with the border; or also what the subject encloses."""
LIKE_DE, LIKE_DE_WORN = 6.0, 12.0
"""CIELAB difference under which a pixel counts as background, in a clean picture and after JPEG.

Chosen by trying, no source: of nine sprites on two grounds, saved as JPEG of quality 40 to 85 at 3
to 7 px a cell, 6 leaves 796 cells of halo and takes 6 of the sprites' own, 12 leaves 77, takes 41.
"""
LEAST_BORDER = 0.25
"""Share of the border that an even background takes up at least."""
LEAST_BLEND, MOST_BLEND = -0.15, 0.6
"""A pixel of the rim goes with the background when it has so little of the subject's colour."""
BLEND_OFF = 24.0
"""8-bit steps that a blend may lie off the straight line between its two colours."""


@dataclass(frozen=True, eq=False)
class Cleared:
    """A picture without its background."""

    pixels: Pixels
    ground: str = ""
    """Colour of what was cleared, as #RRGGBB; empty when nothing was."""
    notes: tuple[str, ...] = ()
    """Why nothing was cleared."""


def fill_colour(background: str) -> tuple[int, int, int] | None:
    """The colour to fill with; None for `keep`, `clear` and `clear-all`.

    Raises OptionError for anything else.
    """
    if background in ("keep", *CLEARING):
        return None
    try:
        return hex2srgb(background)
    except ValueError:
        raise OptionError(
            "is not keep, clear, clear-all or #RRGGBB", field="background", value=background
        ) from None


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


def on_ground(pixels: Pixels, grey: float = 233.0) -> NDArray[np.uint8]:
    """(h, w, 3) sRGB of a picture on a light ground, for looking at it."""
    alpha = pixels[..., 3:].astype(np.float32) / 255
    return np.asarray(np.rint(pixels[..., :3] * alpha + grey * (1 - alpha)), np.uint8)


def clear_background(
    pixels: Pixels,
    *,
    enclosed: bool = False,
    like_de: float = LIKE_DE,
    least_border: float = LEAST_BORDER,
    rim: int = 0,
) -> Cleared:
    """Make see-through what is like the border's commonest colour and hangs together with it.

    enclosed: also areas of that colour inside the subject, such as the hole of a key. like_de: what
    counts as that colour. least_border: share of the border that it takes up at least. rim: pixels
    beside what was cleared, so many deep, that are mostly background go too: the soft edges of
    drawings, of which each bead holds many.
    """
    border = _border(pixels.shape[:2])
    edge = border & (pixels[..., 3] > 0)
    if np.count_nonzero(edge) < 0.5 * np.count_nonzero(border):
        return Cleared(pixels, notes=("the border is see-through already: nothing cleared",))
    colours, numbers = np.unique(pixels[edge][:, :3], axis=0, return_counts=True)
    ground = colours[numbers.argmax()]
    like = (_difference(pixels, ground) < like_de) & (pixels[..., 3] > 0)
    if np.count_nonzero(like & edge) < least_border * np.count_nonzero(edge):
        return Cleared(pixels, notes=("no even background along the border: nothing cleared",))
    gone = like if enclosed else _hanging_together(like, edge)
    for _ in range(rim):
        gone = gone | _blends(pixels, gone, ground)
    cleared = pixels.copy()
    cleared[gone, 3] = 0
    if not cleared[..., 3].any():
        return Cleared(pixels, notes=("the whole picture is like its border: nothing cleared",))
    return Cleared(cleared, srgb2hex((int(ground[0]), int(ground[1]), int(ground[2]))))


def _hanging_together(like: Mask, edge: Mask) -> Mask:
    """The parts of a mask that reach the border."""
    from scipy.ndimage import label

    regions, _ = label(like)
    return np.isin(regions, np.unique(regions[edge & like]))


def _blends(pixels: Pixels, gone: Mask, ground: NDArray[np.uint8]) -> Mask:
    """Pixels beside what is gone whose colour lies between the background and their other side.

    Colours are compared as the bytes that resizing and JPEG mix.
    """
    from scipy.ndimage import binary_dilation

    y, x = np.nonzero(binary_dilation(gone, np.ones((3, 3))) & ~gone & (pixels[..., 3] > 0))
    apart = pixels[..., :3].astype(np.float32) - ground
    own = apart[y, x]
    inner = _furthest_neighbour(apart, gone, y, x)
    length = np.maximum((inner**2).sum(axis=1), 1)
    share = (own * inner).sum(axis=1) / length
    off = np.sqrt(((own - share[:, None] * inner) ** 2).sum(axis=1))
    blends = (share > LEAST_BLEND) & (share < MOST_BLEND) & (off < BLEND_OFF)
    found = np.zeros_like(gone)
    found[y[blends], x[blends]] = True
    return found


def _furthest_neighbour(
    apart: NDArray[np.float32], gone: Mask, y: NDArray[np.intp], x: NDArray[np.intp]
) -> NDArray[np.float32]:
    """(n, 3) of the kept ones of eight neighbours, the one that lies furthest from nought."""
    height, width = gone.shape
    furthest = apart[y, x].copy()
    for down, across in np.ndindex(3, 3):
        at_y = np.clip(y + down - 1, 0, height - 1)
        at_x = np.clip(x + across - 1, 0, width - 1)
        other = np.where(gone[at_y, at_x][:, None], 0, apart[at_y, at_x])
        further = (other**2).sum(axis=1) > (furthest**2).sum(axis=1)
        furthest[further] = other[further]
    return furthest


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
