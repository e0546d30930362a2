"""Least squares along one axis, through a kernel and the halved colour channels of JPEG."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.axis import AxisGrid
from img2plate.image.native.loops import factor_band, sampling, solve_band
from img2plate.image.native.native_grid import kept_range

TIE = 0.01
"""Share of a cell by which a found grid may be off: so near a half counts as half."""


def kept_cells(lines: AxisGrid, length: int) -> tuple[int, int]:
    """First cell and number of cells that are at least half inside the frame."""
    if lines.whole:
        return 0, lines.count(length)
    return kept_range(lines.offset, lines.pitch, length, TIE)


class Solver:
    """Least squares along the first dimension with one axis' sampling matrix."""

    def __init__(
        self, lines: AxisGrid, length: int, kind: int, times: int = 1, halved: bool = False
    ) -> None:
        """Of `length` pixels, seen as averages of so many, or through the halved channels."""
        from scipy.sparse import csr_array

        count = lines.count(length)
        first, weights = sampling(
            length, float(lines.pitch), float(lines.offset), kind, count, lines.whole
        )
        columns = first[:, None] + np.arange(weights.shape[1])
        used = weights != 0
        low = 0 if lines.whole else int(columns[used].min())
        self.cells = count if lines.whole else int(columns[used].max()) - low + 1
        rows = np.broadcast_to(np.arange(length)[:, None], columns.shape)
        entries = (weights[used].astype(np.float32), (rows[used], columns[used] - low))
        self._matrix = csr_array(entries, shape=(length, self.cells))
        self._blur: Any = halved_and_back(length) if halved else None
        if halved:
            self._matrix = self._blur @ self._matrix
        if times > 1:
            self._matrix = _averages(length, times) @ self._matrix
        self._factor = _factor((self._matrix.T @ self._matrix).toarray())
        start, kept = kept_cells(lines, length)
        self.kept = slice(start - low, start - low + kept)

    def solve(self, planes: NDArray[np.float32]) -> NDArray[np.float32]:
        """(length, m, c) to (cells, m, c)."""
        flat = self._matrix.T @ planes.reshape(planes.shape[0], -1)
        solve_band(self._factor, flat)
        return np.asarray(flat.reshape(-1, *planes.shape[1:]))

    def blur(self, planes: NDArray[np.float32]) -> NDArray[np.float32]:
        """(length, m, c) as it is after halving and back."""
        flat = self._blur @ planes.reshape(planes.shape[0], -1)
        return np.asarray(flat, np.float32).reshape(planes.shape)

    def spread(self, cells: NDArray[np.float32]) -> NDArray[np.float32]:
        """(cells, m, c) to (length, m, c): enlarge."""
        flat = self._matrix @ cells.reshape(cells.shape[0], -1)
        return np.asarray(flat, np.float32).reshape(-1, *cells.shape[1:])


def _factor(square: NDArray[np.float32]) -> NDArray[np.float32]:
    """(cells, band) factor of A'A, made a little larger, so that cells nobody sees do no harm."""
    wide = max(d for d in range(len(square)) if square.diagonal(d).any()) + 1
    band = np.zeros((len(square), wide))
    for d in range(wide):
        band[d:, d] = square.diagonal(d)
    band[:, 0] += 1e-3
    factor_band(band)
    return band.astype(np.float32)


def _averages(length: int, times: int) -> Any:
    """Sparse (length / times, length): the mean of each so many pixels."""
    from scipy.sparse import csr_array

    pixels = np.arange(length)
    entries = (np.full(length, 1 / times, np.float32), (pixels // times, pixels))
    return csr_array(entries, shape=(length // times, length))


def halved_and_back(length: int) -> Any:
    """Sparse (length, length): pairs averaged, and smoothed in between again.

    As libjpeg does with chroma of half the size ("h2v2" and its triangle filter).
    """
    from scipy.sparse import csr_array

    pixels, pairs = np.arange(length), (length + 1) // 2
    down = csr_array(
        (np.full(length, 0.5, np.float32), (pixels // 2, pixels)), shape=(pairs, length)
    )
    if length % 2:
        down[pairs - 1, length - 1] = 1.0
    near = np.clip(pixels // 2 + np.where(pixels % 2, 1, -1), 0, pairs - 1)
    weights = np.repeat(np.array([0.75, 0.25], np.float32), length)
    rows, columns = np.tile(pixels, 2), np.concatenate([pixels // 2, near])
    return csr_array((weights, (rows, columns)), shape=(length, pairs)) @ down
