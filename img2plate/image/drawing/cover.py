"""The flat colour of each cell: by what covers it, with lines and dots before areas."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.arrays import Mask
from img2plate.image.drawing.labels import Labels
from img2plate.image.drawing.paths import line_cells
from img2plate.image.drawing.thin import LEAST_DOT, Thin

_BESIDE = 0.45
"""Weight of a line's pixels in cells that its middle does not run through: it stays one bead."""

_RUN = 0.3
"""Weight of a line's length in a cell beside what it covers, where lines meet in one cell."""
_GROUND = 0.7
"""Weight of lines of the commonest colour: a gap in lettering may close, a stroke may not part."""
_BRUSHED = 0.3
"""Of the most that the colour has of a cell beside it: with less, a line only touches a cell."""


def cell_labels(labels: Labels, thin: Thin, count: int, each: int) -> NDArray[np.int16]:
    """(h, w) label of each cell; `count` labels, the last for what is shaded."""
    from scipy.ndimage import maximum_filter

    area = shares(labels, None, count, each)
    lines = shares(labels, thin.mask & ~thin.dots, count, each)
    middle = shares(labels, thin.middle, count, each) * each
    score = area - (1 - _BESIDE) * lines
    found = score.argmax(axis=0).astype(np.int16)
    brushed = area < _BRUSHED * maximum_filter(area, size=(1, 3, 3))
    taken = line_cells(np.where(brushed, 0, middle))
    first = np.where(taken, _RUN * np.minimum(middle, 1) + area, 0)
    first[area.sum(axis=(1, 2)).argmax()] *= _GROUND
    if thin.dots.any():
        first = np.maximum(first, _dots(shares(labels, thin.dots, count, each)))
    forced = first.max(axis=0) > 0
    found[forced] = first.argmax(axis=0)[forced]
    return np.asarray(found)


def shares(labels: Labels, mask: Mask | None, count: int, each: int) -> NDArray[np.float32]:
    """(count, h, w) share of each cell that each label has, of pixels in a mask."""
    height, width = labels.shape[0] // each, labels.shape[1] // each
    cell = np.arange(height)[:, None] * width + np.arange(width)
    where = cell.repeat(each, axis=0).repeat(each, axis=1) * count + labels
    chosen = where.ravel() if mask is None else where[mask]
    found = np.bincount(chosen, minlength=height * width * count)
    planes = found.reshape(height, width, count).transpose(2, 0, 1)
    return np.asarray(planes / np.float32(each * each), np.float32)


def _dots(share: NDArray[np.float32]) -> NDArray[np.float32]:
    """(k, h, w) over 0 in the cell that a dot covers most, if it covers enough in all."""
    from scipy.ndimage import maximum_filter, uniform_filter

    order = np.arange(share[0].size, dtype=np.float64).reshape(share.shape[1:])
    rank = share + 1e-9 * order
    peak = rank == maximum_filter(rank, size=(1, 3, 3))
    around = 9 * uniform_filter(share, size=(1, 3, 3), mode="constant")
    return np.where(peak & (share > 0) & (around >= LEAST_DOT), 1 + share, 0).astype(np.float32)
