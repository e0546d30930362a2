"""Least squares along one axis, through a kernel and the halved colour channels of JPEG."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import Lines
from img2plate.image.native.loops import sampling


def kept_cells(lines: Lines, length: int) -> tuple[int, int]:
    """First cell and number of cells that are at least half inside the frame."""
    if lines.whole:
        return 0, lines.count(length)
    first = int(np.ceil(-lines.offset / lines.pitch - 0.5 - 1e-6))
    last = int(np.floor((length - lines.offset) / lines.pitch - 0.5 + 1e-6))
    return first, max(1, last - first + 1)


class Solver:
    """Least squares along the first dimension with one axis' sampling matrix."""

    def __init__(self, lines: Lines, length: int, kind: int, halved: bool = False) -> None:
        from scipy.sparse import csr_array
        from scipy.sparse.linalg import splu

        count = lines.count(length)
        first, weights = sampling(length, lines.pitch, lines.offset, kind, count, lines.whole)
        columns = first[:, None] + np.arange(weights.shape[1])
        used = weights != 0
        low = 0 if lines.whole else int(columns[used].min())
        self.cells = count if lines.whole else int(columns[used].max()) - low + 1
        rows = np.broadcast_to(np.arange(length)[:, None], columns.shape)
        entries = (weights[used], (rows[used], columns[used] - low))
        self._matrix = csr_array(entries, shape=(length, self.cells))
        self._blur: Any = halved_and_back(length) if halved else None
        if halved:
            self._matrix = self._blur @ self._matrix
        square = (self._matrix.T @ self._matrix).tolil()
        square.setdiag(square.diagonal() + 1e-3)
        self._factors = splu(square.tocsc())
        start, kept = kept_cells(lines, length)
        self.kept = slice(start - low, start - low + kept)

    def solve(self, planes: NDArray[np.float32]) -> NDArray[np.float32]:
        """(length, m, c) to (cells, m, c)."""
        flat = self._matrix.T @ planes.reshape(planes.shape[0], -1)
        return np.asarray(self._factors.solve(flat), np.float32).reshape(-1, *planes.shape[1:])

    def blur(self, planes: NDArray[np.float32]) -> NDArray[np.float32]:
        """(length, m, c) as it is after halving and back."""
        flat = self._blur @ planes.reshape(planes.shape[0], -1)
        return np.asarray(flat, np.float32).reshape(planes.shape)

    def spread(self, cells: NDArray[np.float32]) -> NDArray[np.float32]:
        """(cells, m, c) to (length, m, c): enlarge."""
        flat = self._matrix @ cells.reshape(cells.shape[0], -1)
        return np.asarray(flat, np.float32).reshape(-1, *cells.shape[1:])


def halved_and_back(length: int) -> Any:
    """Sparse (length, length): pairs averaged, and smoothed in between again.

    As libjpeg does with chroma of half the size ("h2v2" and its triangle filter).
    """
    from scipy.sparse import csr_array

    pixels, pairs = np.arange(length), (length + 1) // 2
    down = csr_array((np.full(length, 0.5), (pixels // 2, pixels)), shape=(pairs, length))
    if length % 2:
        down[pairs - 1, length - 1] = 1.0
    near = np.clip(pixels // 2 + np.where(pixels % 2, 1, -1), 0, pairs - 1)
    weights = np.concatenate([np.full(length, 0.75), np.full(length, 0.25)])
    rows, columns = np.tile(pixels, 2), np.concatenate([pixels // 2, near])
    return csr_array((weights, (rows, columns)), shape=(length, pairs)) @ down
