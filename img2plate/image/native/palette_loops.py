"""The compiled loop that gives each cell the colour of a palette that serves the whole best."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.base.compiled import compiled


@compiled
def reassign(
    labels: NDArray[np.int64],
    colours: NDArray[np.float64],
    slopes: NDArray[np.float64],
    starts: NDArray[np.int32],
    columns: NDArray[np.int32],
    values: NDArray[np.float64],
    diagonal: NDArray[np.float64],
) -> int:
    """Move cells to better colours, one after the other, in place; how many were moved.

    The quadratic is that of a sparse matrix by `starts`, `columns` and `values` (three channels one
    after the other, each of so many cells), with its `diagonal` and half its `slopes` (3, cells) at
    the colours (palette, 3) of the `labels` (cells,).
    """
    cells = len(labels)
    moved = 0
    for i in range(cells):
        old = labels[i]
        best, gain = old, -1e-9
        for k in range(len(colours)):
            change = 0.0
            for c in range(3):
                by = colours[k, c] - colours[old, c]
                change += by * (by * diagonal[c * cells + i] + 2 * slopes[c, i])
            if change < gain:
                best, gain = k, change
        if best == old:
            continue
        moved += 1
        labels[i] = best
        for c in range(3):
            by = colours[best, c] - colours[old, c]
            row = c * cells + i
            for at in range(starts[row], starts[row + 1]):
                slopes[c, columns[at] - c * cells] += by * values[at]
    return moved
