"""Dense matrices that take the cells of one axis to its pixels, and back."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.loops import sampling

Matrix = NDArray[np.float32]
NARROW = 1e-3
"""Added to the squares, so that cells nobody sees do no harm."""


def summed_gram(lines: NDArray[np.float32]) -> NDArray[np.float64]:
    """(length + 1, length + 1) summed Gram matrix of an axis given as (length, samples)."""
    gram = (lines @ lines.T).astype(np.float64)
    return np.pad(gram.cumsum(axis=0).cumsum(axis=1), ((1, 0), (1, 0)))


def box_matrix(edges: NDArray[np.int64], length: int) -> NDArray[np.float32]:
    """(length, cells) of hard cells that begin at these pixels."""
    cell = np.searchsorted(edges, np.arange(length), side="right")
    cell -= cell[0]
    return np.eye(int(cell[-1]) + 1, dtype=np.float32)[cell]


def sampling_matrix(lines: AxisGrid, length: int, kind: int) -> NDArray[np.float32]:
    """(length, cells) weights of the cells that the frame sees in each pixel."""
    count = lines.count(length)
    first, weights = sampling(
        length, float(lines.pitch), float(lines.offset), kind, count, lines.whole
    )
    columns = first[:, None] + np.arange(weights.shape[1])
    used = weights != 0
    low = 0 if lines.whole else int(columns[used].min())
    cells = count if lines.whole else int(columns[used].max()) - low + 1
    out = np.zeros((length, cells), np.float32)
    rows = np.broadcast_to(np.arange(length)[:, None], columns.shape)
    out[rows[used], columns[used] - low] = weights[used]
    return out


def pseudo_inverse(forth: Matrix) -> Matrix:
    """(cells, length) least squares of a sampling matrix (length, cells)."""
    square = (forth.T @ forth).astype(np.float64)
    square[np.diag_indices(len(square))] += NARROW
    return np.linalg.solve(square, forth.T.astype(np.float64)).astype(np.float32)
