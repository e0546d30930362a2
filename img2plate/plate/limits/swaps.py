"""Beads change places, so that counts stay, while the blurred plate comes nearer to the picture.

Direct binary search with swaps (M. Analoui, J. P. Allebach, Proc. SPIE 1666, 96-108, 1992): the
squared error under the eye's filters (S-CIELAB, see `colour/look_error`), in opponent channels,
weighed by how fast lightness grows at the picture's tone.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Cells, Floats
from img2plate.colour.look_error import PARAMETERS, RGB2OPPONENT, View
from img2plate.colour.palette import Palette

REACH = 4
"""Cells that the filters reach, and that beads change places over."""
_SWEEPS = 8
_CHANNELS = (1.0, 2.0, 1.0)
"""Weights of luminance, red-green, blue-yellow: a* grows faster than L*; by eye."""
_DARKEST = 0.02


def swap_beads(
    cells: Cells, rgb: Floats, palette: Palette, limits: NDArray[np.int64], view: View
) -> Cells:
    """(h, w) int16: the same beads better placed; beads that are left over may come in too.

    cells: (h, w) int16, -1 where no bead is to be; rgb: (h, w, 3) linear light wanted;
    limits: (n,) beads that are there.
    """
    from img2plate.plate.limits.swaps_loops import Field, sweep

    filled = cells >= 0
    scale = np.array(_CHANNELS)[:, None]
    beads = np.ascontiguousarray(((RGB2OPPONENT @ palette.linear.T) * scale).T)
    wanted = rgb.astype(np.float64) @ (RGB2OPPONENT * scale).T
    error = np.where(filled[..., None], beads[cells] - wanted, 0.0)
    kernel = _kernels(view)
    light = np.maximum(rgb.astype(np.float64) @ RGB2OPPONENT[0], _DARKEST)
    weight = light ** (-4 / 3)  # squared slope of the cube root
    found, spare = cells.copy(), limits - np.bincount(cells[filled], minlength=len(palette))
    field = Field(beads, kernel, weight, _gradient(error, kernel), spare)
    for _ in range(_SWEEPS):
        if not sweep(found, field):
            break
    return found


def _kernels(view: View) -> NDArray[np.float64]:
    """(2 r + 1, 2 r + 1, 3) autocorrelation of each channel's filter, on cells."""
    at = np.arange(-REACH, REACH + 1)
    y, x = np.meshgrid(at, at, indexing="ij")
    out = np.zeros((2 * REACH + 1, 2 * REACH + 1, 3))
    for channel, parts in enumerate(PARAMETERS["published-1996"]):
        total = sum(weight for weight, _ in parts)
        for one, spread in parts:
            for two, other in parts:
                # Two Gaussians in a row are one; a cell's own width adds 1/12 twice.
                variance = (spread**2 + other**2) / view.cell_degrees**2 + 1 / 6
                bell = np.exp(-(x**2 + y**2) / (2 * variance)) / (2 * np.pi * variance)
                out[..., channel] += one * two / total**2 * bell
    return out


def _gradient(error: NDArray[np.float64], kernel: NDArray[np.float64]) -> NDArray[np.float64]:
    """(h, w, 3) the error under the autocorrelation."""
    import cv2

    planes = [
        cv2.filter2D(error[..., c], -1, kernel[..., c], borderType=cv2.BORDER_CONSTANT)
        for c in range(3)
    ]
    return np.ascontiguousarray(np.stack(planes, axis=-1))
