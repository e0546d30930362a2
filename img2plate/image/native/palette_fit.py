"""The fewest colours that give what a JPEG file stores."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from img2plate.image.native.bounded import RIDGE, BoundedFit
from img2plate.image.native.blocks import Matrix
from img2plate.image.native.palette_loops import reassign

CUTS = (2.0, 3.0, 4.5, 6.5, 9.0, 13.0)
"""Distances at which cells are cut into groups, in deviations of a cell."""
COLOUR_PRICE, EXCESS_PRICE = 16.6, 30.0
"""Nats for a colour of 24 bits, and for a squared step that a coefficient is out of bounds."""
SWEEPS = 6


@dataclass(frozen=True, eq=False)
class PaletteFit:
    """Cells of few colours."""

    cells: Matrix
    """(channels, rows, columns)."""
    labels: NDArray[np.int64]
    colours: int
    cost: float
    """Nats."""
    excess: float
    """See `BoundedFit.excess`."""


def with_palettes(fit: BoundedFit, cells: Matrix) -> PaletteFit:
    """The cheapest solution of few colours, from cells (channels, rows, columns) nearby."""
    flat = cells.reshape(len(cells), -1).T.astype(np.float64)
    scale = [1 / np.sqrt(12 * np.median(square.diagonal())) for square in fit.squares]
    solver = _Palettes(fit)
    tried = [solver.fit(labels, flat) for labels in cuts(flat / scale)]
    return min(tried, key=lambda one: one.cost)


def cuts(points: NDArray[np.float64]) -> list[NDArray[np.int64]]:
    """Groups of points (n, 3) by average linkage, at each cut."""
    from scipy.cluster.hierarchy import fcluster, linkage

    tree = linkage(points, "average")
    out: list[NDArray[np.int64]] = []
    for cut in CUTS:
        labels = fcluster(tree, cut, "distance").astype(np.int64) - 1
        if not any(np.array_equal(labels, other) for other in out):
            out.append(labels)
    return out


class _Palettes:
    """Palette solutions on one fit."""

    def __init__(self, fit: BoundedFit) -> None:
        from scipy.sparse import block_diag, csr_array

        self._fit = fit
        squares = [fit.squares[min(c, len(fit.squares) - 1)] for c in range(3)]
        if len(fit.models) == 1:
            squares[1:] = [csr_array(squares[0].shape)] * 2
        self._squares = squares
        whole = csr_array(block_diag(squares, format="csr"))
        self._sparse = whole.indptr, whole.indices, whole.data.astype(np.float64)
        self._diagonal = whole.diagonal()
        self._entries = [square.tocoo() for square in squares[: len(fit.models)]]
        self._ridges = [RIDGE * np.median(square.diagonal()) for square in squares]

    def fit(self, labels: NDArray[np.int64], flat: NDArray[np.float64]) -> PaletteFit:
        """Solve for colours and move cells to better ones, in turn."""
        fit, sides = self._fit, self._fit.size
        fit.correct(flat.T.reshape(-1, *sides).astype(np.float32))
        for _ in range(SWEEPS):
            labels, palette = self._colours(labels, flat)
            fit.correct(palette[labels].T.reshape(-1, *sides)[: len(fit.models)].astype(np.float32))
            slopes = self._slopes(palette[labels].T)
            if not reassign(labels, palette, slopes, *self._sparse, self._diagonal):
                break
        labels, palette = self._colours(labels, flat)
        cells = palette[labels].T.reshape(-1, *sides)[: len(fit.models)].astype(np.float32)
        excess = fit.excess(fit.encoded(cells))
        count = len(palette)
        cost = len(labels) * np.log(count + 1) + COLOUR_PRICE * count + EXCESS_PRICE * excess
        return PaletteFit(cells, labels, count, float(cost), excess)

    def _colours(
        self, labels: NDArray[np.int64], near: NDArray[np.float64]
    ) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Labels without gaps, and the colours (palette, 3) that fit best."""
        _, labels = np.unique(labels, return_inverse=True)
        labels, count = labels.astype(np.int64), int(labels.max()) + 1
        sizes = np.bincount(labels)
        palette = np.zeros((count, 3))
        for c, model in enumerate(self._fit.models):
            entries = self._entries[c]
            pairs = labels[entries.row] * count + labels[entries.col]
            square = np.bincount(pairs, entries.data, count**2).reshape(count, count)
            square[np.diag_indices(count)] += self._ridges[c] * sizes
            aim = model.back(self._fit.aims[c]).ravel() + self._ridges[c] * near[:, c]
            palette[:, c] = np.linalg.solve(square, np.bincount(labels, aim, count))
        return labels, palette

    def _slopes(self, cells: NDArray[np.float64]) -> NDArray[np.float64]:
        """(3, cells) half the slope of the squares at cells (3, n)."""
        slopes = np.zeros_like(cells)
        for c, model in enumerate(self._fit.models):
            slopes[c] = self._squares[c] @ cells[c] - model.back(self._fit.aims[c]).ravel()
        return slopes
