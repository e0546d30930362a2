"""One clean colour for each cell of a grid whose lines are uneven."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Pixels
from img2plate.image.native.colours import straight
from img2plate.image.native.luma import CLOSE_CHROMA
from img2plate.image.native.merge import merge_like
from img2plate.image.native.parts import premultiplied

MIDDLE, SAMPLES = (0.25, 0.75), 6
"""From where to where of a cell is looked, and at how many places across and down."""
NEAREST_SHARE = 0.6
"""Of the samples, those nearest to their median, that are averaged."""
RADIUS = 7.0
"""8-bit steps within which colours are one: texture tore them apart."""


def drifting_colours(pixels: Pixels, x: NDArray[np.int64], y: NDArray[np.int64]) -> Pixels:
    """(rows, columns, 4) colours of a picture (h, w, 4) on lines (columns + 1,) and (rows + 1,)."""
    down, across = _places(y), _places(x)
    seen = premultiplied(pixels[down.reshape(-1, 1), across.reshape(1, -1)])
    rows, columns = len(down), len(across)
    seen = seen.reshape(rows, SAMPLES, columns, SAMPLES, 4).transpose(0, 2, 1, 3, 4)
    flat = seen.reshape(rows, columns, SAMPLES**2, 4)
    middle = np.median(flat, axis=2, keepdims=True)
    apart = ((flat - middle) ** 2).sum(axis=3)
    kept = round(NEAREST_SHARE * SAMPLES**2)
    nearest = np.argpartition(apart, kept, axis=2)[..., :kept, None]
    cells = np.take_along_axis(flat, nearest, axis=2).mean(axis=2)
    return straight(merge_like(cells.astype(np.float32), RADIUS, CLOSE_CHROMA))


def _places(lines: NDArray[np.int64]) -> NDArray[np.int64]:
    """(cells, SAMPLES) pixels in the middle of each cell."""
    shares = np.linspace(*MIDDLE, SAMPLES)
    return (lines[:-1, None] + shares * np.diff(lines)[:, None]).astype(np.int64)
